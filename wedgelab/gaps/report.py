"""Where the gaps are: distances between neighbouring stock shots, holes, overlaps, targets without a stock answer."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.chart import ChartCell
from wedgelab.errors import NothingFitsError
from wedgelab.gaps.coverage import (
    INTERVAL,
    Stock,
    chances_now,
    draw_known,
    mostly_believed,
    normal_cdf,
    pair_spread_doubt,
    spread_doubt,
    stock_of,
    targets_between,
)
from wedgelab.gaps.stretches import Stretch, answered, find_stretches
from wedgelab.prediction import Predictor
from wedgelab.shots import Bag, Wedge
from wedgelab.showing import Shown
from wedgelab.units import LengthUnit, format_length, from_unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.window import Window

    Array = NDArray[np.float64]

SAME_JOB: Final = 2.0 / 3.0  # a ball of the longer shot goes farther less often than this: the two do the same job
_LEAST_SD_M: Final = 1e-9  # so that what is known exactly is above zero or is not
# what the spread may be, in standard errors of its logarithm: points of equal weight, fine enough for half a percent
_SPREAD_POINTS: Final = np.array([NormalDist().inv_cdf((i + 0.5) / 200) for i in range(200)])


@dataclass(frozen=True, slots=True)
class ShotGap:
    """The distance from one stock shot to the next longer one, whatever their wedges and swings.

    It is a hole when it is more than ``spread_m``, one standard deviation of the player's own spread on either side
    together; ``hole_probability`` is the chance of that, the doubt about both medians and about the spread counted.
    ``longer_probability`` is the chance that a ball of the longer shot flies farther than one of the shorter, counted
    likewise.
    """

    wedge: str
    swing: str
    longer_wedge: str
    longer_swing: str
    gap_m: float
    gap_se_m: float
    spread_m: float
    is_hole: bool
    hole_probability: float
    longer_probability: float


@dataclass(frozen=True, slots=True)
class Overlap:
    """Two stock shots for one distance: the redundant one has fewer balls, or for as many costs less coverage.

    ``coverage_lost`` is what the span loses without the redundant one, ``spin_difference_rpm`` how much more it spins.
    """

    wedge: str
    swing: str
    n_shots: int
    kept_wedge: str
    kept_swing: str
    kept_n_shots: int
    gap_m: float
    gap_se_m: float
    longer_probability: float
    coverage_lost: float
    spin_difference_rpm: float


@dataclass(frozen=True, slots=True)
class GapReport(Shown):
    """What the stock shots of a bag cover between two targets.

    ``best_chances`` has the best chance at each of ``targets_m``, ``coverage`` is their mean: with the doubt about the
    medians. ``known_coverage`` and its 80 % interval are what it would be were medians and spread known exactly.
    ``spread_doubt`` is one standard error of the logarithm of the player's own spread.
    """

    player: str
    wedges: tuple[Wedge, ...]
    low_m: float
    high_m: float
    window: "Window"
    shots: tuple[ChartCell, ...]
    own_sd_m: tuple[float, ...]
    gaps: tuple[ShotGap, ...]
    overlaps: tuple[Overlap, ...]
    stretches: tuple[Stretch, ...]
    targets_m: tuple[float, ...]
    best_chances: tuple[float, ...]
    coverage: float
    known_coverage: float
    known_coverage_p10: float
    known_coverage_p90: float
    spread_doubt: float
    n_shots: int
    n_sessions: int

    @property
    def is_mostly_belief(self) -> bool:
        """Whether the spread is more what is believed of golfers before the first ball than what was seen."""
        return mostly_believed(self.n_shots)

    @property
    def n_measured(self) -> int:
        """Stock shots with a logged ball."""
        return sum(shot.support == "measured" for shot in self.shots)

    @property
    def widest(self) -> Stretch | None:
        """The widest stretch without a stock answer, None if every target has one."""
        return max(self.stretches, key=lambda stretch: stretch.width_m, default=None)

    @property
    def curve(self) -> tuple[tuple[float, float], ...]:
        """Targets and the best chance there, for a picture: the middles of stretches too, which no target may meet."""
        middles = {0.5 * (one.low_m + one.high_m): one.window_probability for one in self.stretches}
        return tuple(sorted((middles | dict(zip(self.targets_m, self.best_chances, strict=True))).items()))

    @property
    def holes(self) -> tuple[ShotGap, ...]:
        """The gaps larger than the player's own spread."""
        return tuple(gap for gap in self.gaps if gap.is_hole)


def build_gaps(
    predictor: Predictor,
    bag: Bag,
    *,
    window: "Window",
    rng: np.random.Generator,
    player: str = "",
    low_m: float | None = None,
    high_m: float | None = None,
    unit: LengthUnit = "yd",
) -> GapReport:
    """Report on a bag between two targets, where one is not given from the shortest to the longest median.

    Targets stand a ``unit`` apart. A span that no stock shot comes near raises `NothingFitsError`.
    """
    stock = stock_of(predictor, bag)
    span = span_of(stock, low_m, high_m, window, unit)
    targets = targets_between(*span, from_unit(1.0, unit))
    known = draw_known(predictor, stock, rng).coverages(stock.kinds, targets, window)
    return report_on(predictor, stock, bag, targets, known, window=window, player=player)


def report_on(
    predictor: Predictor,
    stock: Stock,
    bag: Bag,
    targets: tuple[float, ...],
    known: "Array",
    *,
    window: "Window",
    player: str = "",
) -> GapReport:
    """Report on the stock shots of a bag over targets, reached or not; ``known`` are draws of its known coverage."""
    low, high = targets[0], targets[-1]
    chances = chances_now(predictor, stock.kinds, targets, window)
    best = chances.max(axis=0)
    of_two = pair_spread_doubt(predictor.n_shots)
    p10, p90 = np.quantile(known, INTERVAL)
    return GapReport(
        player=player,
        wedges=bag.wedges,
        low_m=low,
        high_m=high,
        window=window,
        shots=stock.shots,
        own_sd_m=tuple(stock.own_sd_m.tolist()),
        gaps=tuple(_gap(stock, i, i + 1, of_two) for i in range(len(stock.shots) - 1)),
        overlaps=_overlaps(stock, chances, of_two),
        stretches=find_stretches(predictor, stock, low, high, window),
        targets_m=targets,
        best_chances=tuple(best.tolist()),
        coverage=float(best.mean()),
        known_coverage=float(known.mean()),
        known_coverage_p10=float(p10),
        known_coverage_p90=float(p90),
        spread_doubt=spread_doubt(predictor.n_shots),
        n_shots=predictor.n_shots,
        n_sessions=predictor.n_sessions,
    )


def span_of(
    stock: Stock, low_m: float | None, high_m: float | None, window: "Window", unit: LengthUnit
) -> tuple[float, float]:
    """Return the span of targets, the reach of the stock shots where an end is not given.

    Raises
    ------
    NothingFitsError
        when every target is out of reach, or the reach ends before the one end that was given.
    """
    first, last = stock.shots[0], stock.shots[-1]
    low, high = first.carry_m if low_m is None else low_m, last.carry_m if high_m is None else high_m
    too_long = low > answered(last.carry_m, window)[1] or (low > high and high_m is None)
    too_short = high < answered(first.carry_m, window)[0] or (low > high and low_m is None)
    if too_long or too_short:
        near, end = (last, "longest") if too_long else (first, "shortest")
        given = " to ".join(format_length(edge, unit) for edge in (low_m, high_m) if edge is not None)
        raise NothingFitsError(
            f"{given} {unit} is out of reach of the stock shots",
            f"the {end} is {format_length(near.carry_m, unit)} {unit}: {near.wedge} {near.swing}",
        )
    return low, high


def _gap(stock: Stock, i: int, j: int, doubt: float) -> ShotGap:
    """Compare a shot with a longer one; ``doubt`` is that about the logarithm of their spreads."""
    shorter, longer = stock.shots[i], stock.shots[j]
    gap, se, own = longer.carry_m - shorter.carry_m, stock.difference_se_m(i, j), stock.own_sd_m
    spread, balls = float(own[i] + own[j]), math.hypot(own[i], own[j])
    wider = np.exp(doubt * _SPREAD_POINTS - doubt**2)  # as in `draw_known`
    return ShotGap(
        wedge=shorter.wedge,
        swing=shorter.swing,
        longer_wedge=longer.wedge,
        longer_swing=longer.swing,
        gap_m=gap,
        gap_se_m=se,
        spread_m=spread,
        is_hole=gap > spread,
        hole_probability=_chance_above(gap - wider * spread, np.full(len(wider), se)),
        longer_probability=_chance_above(np.full(len(wider), gap), np.hypot(se, wider * balls)),
    )


def _chance_above(value: "Array", sd: "Array") -> float:
    """Return the chance that a normal quantity of one of these values and doubts, all as likely, is above zero."""
    return float(normal_cdf(value / np.maximum(sd, _LEAST_SD_M)).mean())


def _overlaps(stock: Stock, chances: "Array", doubt: float) -> tuple[Overlap, ...]:
    """Walk up the carries and hold each shot against the last one that was kept."""
    found = []
    left = list(range(len(stock.shots)))  # not found redundant so far
    kept = 0
    for i in range(1, len(stock.shots)):
        gap = _gap(stock, kept, i, doubt)
        if gap.longer_probability >= SAME_JOB:
            kept = i
            continue
        lost = {k: _lost(chances, left, k) for k in (kept, i)}
        redundant = min((kept, i), key=lambda k: (stock.shots[k].n_shots, lost[k], k))
        other = i if redundant == kept else kept
        found.append(_overlap(stock.shots[redundant], stock.shots[other], gap, lost[redundant]))
        left.remove(redundant)
        kept = other
    return tuple(found)


def _lost(chances: "Array", left: Sequence[int], k: int) -> float:
    """Return what the mean best chance of the shots that are left loses without one of them."""
    without = [i for i in left if i != k]
    return float(np.mean(chances[list(left)].max(axis=0) - chances[without].max(axis=0)))


def _overlap(redundant: ChartCell, kept: ChartCell, gap: ShotGap, lost: float) -> Overlap:
    return Overlap(
        wedge=redundant.wedge,
        swing=redundant.swing,
        n_shots=redundant.n_shots,
        kept_wedge=kept.wedge,
        kept_swing=kept.swing,
        kept_n_shots=kept.n_shots,
        gap_m=gap.gap_m,
        gap_se_m=gap.gap_se_m,
        longer_probability=gap.longer_probability,
        coverage_lost=lost,
        spin_difference_rpm=redundant.spin_rpm - kept.spin_rpm,
    )
