"""The player's chart: wedges by swing lengths, with how surely each number is known and what to log next."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wedgelab.errors import BadRequestError
from wedgelab.prediction import (
    NOT_SAID,
    Day,
    FlightEstimate,
    Prediction,
    Predictor,
    ShotKind,
    SpinSupport,
    Support,
    share_of_median,
)
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.showing import Shown

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LIKELY = (0.1, 0.9)  # the likely range holds eight balls of ten
BALLS_TO_LOG_NEXT = 3
LEAST_CARRY_M = 0.5  # as in the log: a ball that never gets up to the green carries nothing


@dataclass(frozen=True, slots=True)
class ChartCell:
    """One wedge at one swing length. ``carry_p10_m`` to ``carry_p90_m`` holds eight solid balls of ten."""

    wedge: str
    loft_deg: float
    swing: str
    swing_deg: float
    carry_m: float
    carry_sd_m: float
    carry_se_m: float
    carry_p10_m: float
    carry_p90_m: float
    spin_rpm: float
    spin_sd_rpm: float
    spin_se_rpm: float
    n_shots: int
    n_spin: int
    support: Support
    spin_support: SpinSupport
    today: "Today | None" = None
    flight: FlightEstimate | None = None

    @property
    def played_m(self) -> float:
        """The median carry when it is played: today's, if a day was asked for; 0 if it never gets up to the green."""
        return self.carry_m if self.today is None else self.today.carry_today_m or 0.0


@dataclass(frozen=True, slots=True)
class Today:
    """The same shot on the day that was asked for; no number where it never gets up to the green.

    ``carry_today_se_m`` holds the doubt of the correction too. ``drift_today_m`` is what the cross wind does.
    """

    carry_today_m: float | None
    carry_today_se_m: float | None
    carry_today_p10_m: float | None
    carry_today_p90_m: float | None
    drift_today_m: float | None


@dataclass(frozen=True, slots=True)
class AirNote:
    """What bringing the log to the reference air did: to how many shots of how many sessions, from what to what."""

    n_shots: int
    n_sessions: int
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class WedgeGap:
    """Carry of one wedge over the next more lofted one at the same swing, and how surely; today's if there is a day."""

    wedge: str
    next_wedge: str
    swing: str
    gap_m: float
    gap_se_m: float


@dataclass(frozen=True, slots=True)
class LogNext:
    """The cell whose balls would make the chart surest; the chart's mean doubt now and after, as shares of carry."""

    wedge: str
    swing: str
    balls: int
    doubt_now: float
    doubt_after: float


@dataclass(frozen=True, slots=True)
class Chart(Shown):
    """Rows of wedges (least loft first), columns of swing lengths (shortest first)."""

    player: str
    swings: tuple[SwingLength, ...]
    wedges: tuple[Wedge, ...]
    rows: tuple[tuple[ChartCell, ...], ...]
    gaps: tuple[tuple[WedgeGap, ...], ...]
    next: LogNext | None
    n_shots: int
    n_sessions: int
    reference: Conditions = NOT_SAID
    day: Day | None = None
    air_note: AirNote | None = None
    green: str | None = None

    @property
    def cells(self) -> tuple[ChartCell, ...]:
        """All cells, row by row."""
        return tuple(itertools.chain.from_iterable(self.rows))


@dataclass(frozen=True, slots=True)
class CarryCurve:
    """One wedge's median carry over the swing length with the range of eight balls of ten, for drawing."""

    wedge: Wedge
    swing_deg: tuple[float, ...]
    carry_m: tuple[float, ...]
    carry_p10_m: tuple[float, ...]
    carry_p90_m: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SpinCurve:
    """One wedge's median spin over the swing length with the range of eight balls of ten, for drawing."""

    wedge: Wedge
    swing_deg: tuple[float, ...]
    spin_rpm: tuple[float, ...]
    spin_p10_rpm: tuple[float, ...]
    spin_p90_rpm: tuple[float, ...]


def build_chart(
    predictor: Predictor,
    bag: Bag,
    *,
    player: str = "",
    lie: str = "",
    reference: Conditions = NOT_SAID,
    day: Day | None = None,
    air_note: AirNote | None = None,
    green: str | None = None,
) -> Chart:
    """Chart a player's bag; a bag without wedges or swing lengths raises `BadRequestError`.

    With a ``day`` every cell tells that day's carry too; with the firmness of a ``green`` how the ball flies and lands.
    """
    _check_bag(bag)
    pairs = list(itertools.product(bag.wedges, bag.swings))
    kinds = [ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg, lie=lie) for wedge, swing in pairs]
    predictions = predictor.predict(kinds)
    likely = predictor.carry_quantiles(kinds, LIKELY)
    cells = [
        chart_cell(prediction, swing.label, float(low), float(high))
        for (_, swing), prediction, (low, high) in zip(pairs, predictions, likely, strict=True)
    ]
    if day is not None:
        todays = carries_today(predictor, kinds, day)
        cells = [replace(cell, today=today) for cell, today in zip(cells, todays, strict=True)]
    if green is not None:
        flights = (predictor if day is None else predictor.on(day)).landing(kinds, green)
        cells = [replace(cell, flight=flight) for cell, flight in zip(cells, flights, strict=True)]
    width = len(bag.swings)
    rows = tuple(tuple(cells[start : start + width]) for start in range(0, len(cells), width))
    played = predictor if day is None else predictor.on(day)
    return Chart(
        player,
        bag.swings,
        bag.wedges,
        rows,
        _gaps(rows, played.log_median_covariance(kinds)),
        log_next(predictor, kinds, cells),
        predictor.n_shots,
        predictor.n_sessions,
        reference,
        day,
        air_note,
        green,
    )


def carries_today(predictor: Predictor, kinds: Sequence[ShotKind], day: Day) -> list[Today]:
    """Return what the kinds of shots carry on the day."""
    today = predictor.on(day)
    likely = today.carry_quantiles(kinds, LIKELY)
    drifts: list[float | None] = [flight.drift_m for flight in today.landing(kinds)]
    # without a cross wind, the day's or the reference's, there is nothing to tell; a ball that never lands drifts NaN
    if not any(drift and math.isfinite(drift) for drift in drifts):
        drifts = [None] * len(kinds)
    return [
        Today(p.carry_m, p.carry_se_m, float(low), float(high), drift)
        if p.carry_m > LEAST_CARRY_M
        else Today(None, None, None, None, None)
        for p, (low, high), drift in zip(today.predict(kinds), likely, drifts, strict=True)
    ]


def chart_cell(prediction: Prediction, swing: str, low_m: float, high_m: float) -> ChartCell:
    """Join a prediction with the swing's label and the likely range."""
    kind = prediction.kind
    return ChartCell(
        wedge=kind.wedge,
        loft_deg=kind.loft_deg,
        swing=swing,
        swing_deg=kind.swing_deg,
        carry_m=prediction.carry_m,
        carry_sd_m=prediction.carry_sd_m,
        carry_se_m=prediction.carry_se_m,
        carry_p10_m=low_m,
        carry_p90_m=high_m,
        spin_rpm=prediction.spin_rpm,
        spin_sd_rpm=prediction.spin_sd_rpm,
        spin_se_rpm=prediction.spin_se_rpm,
        n_shots=prediction.n_shots,
        n_spin=prediction.n_spin,
        support=prediction.support,
        spin_support=prediction.spin_support,
    )


def carry_curves(predictor: Predictor, bag: Bag, *, steps: int = 45) -> tuple[CarryCurve, ...]:
    """Return each wedge's curve from the shortest to the longest swing length of the bag, in ``steps`` >= 2 points."""
    curves = []
    for wedge, kinds in _along(bag, steps):
        low, high = predictor.carry_quantiles(kinds, LIKELY).T.tolist()
        swings, medians = (kind.swing_deg for kind in kinds), (p.carry_m for p in predictor.predict(kinds))
        curves.append(CarryCurve(wedge, tuple(swings), tuple(medians), tuple(low), tuple(high)))
    return tuple(curves)


def spin_curves(predictor: Predictor, bag: Bag, *, steps: int = 45) -> tuple[SpinCurve, ...]:
    """Return each wedge's spin likewise; where none was read it is what the model believes."""
    curves = []
    for wedge, kinds in _along(bag, steps):
        low, high = predictor.spin_quantiles(kinds, LIKELY).T.tolist()
        swings, medians = (kind.swing_deg for kind in kinds), (p.spin_rpm for p in predictor.predict(kinds))
        curves.append(SpinCurve(wedge, tuple(swings), tuple(medians), tuple(low), tuple(high)))
    return tuple(curves)


def _along(bag: Bag, steps: int) -> list[tuple[Wedge, list[ShotKind]]]:
    """Return for each wedge the shots of ``steps`` swing lengths over the bag's."""
    _check_bag(bag)
    first, last = bag.swings[0].swing_deg, bag.swings[-1].swing_deg
    swings = [first + (last - first) * i / (steps - 1) for i in range(steps)]
    return [(wedge, [ShotKind(wedge.label, wedge.loft_deg, swing) for swing in swings]) for wedge in bag.wedges]


def log_next(predictor: Predictor, kinds: Sequence[ShotKind], cells: Sequence[ChartCell]) -> LogNext | None:
    """Find the cell whose next few balls, hit in a new session, are expected to make the whole chart surest."""
    now = _mean_doubt(predictor.log_median_covariance(kinds))
    best: tuple[float, ChartCell] | None = None
    for kind, cell in zip(kinds, cells, strict=True):
        after = _mean_doubt(predictor.expected_covariance(kinds, [kind] * BALLS_TO_LOG_NEXT, may_move=True))
        if best is None or after < best[0] - 1e-12:
            best = after, cell
    if best is None:
        return None
    return LogNext(best[1].wedge, best[1].swing, BALLS_TO_LOG_NEXT, now, best[0])


def _check_bag(bag: Bag) -> None:
    if not bag.wedges:
        raise BadRequestError("the bag has no wedge", "add one with: wedgelab bag add LABEL LOFT")
    if not bag.swings:
        raise BadRequestError("the bag has no swing length", "add one with: wedgelab bag swing LABEL DEGREES")


def _mean_doubt(covariance: "NDArray[np.float64]") -> float:
    shares = [share_of_median(float(covariance[i, i])) for i in range(len(covariance))]
    return sum(shares) / len(shares)


def _gaps(
    rows: tuple[tuple[ChartCell, ...], ...], covariance: "NDArray[np.float64]"
) -> tuple[tuple[WedgeGap, ...], ...]:
    width = len(rows[0])
    result = []
    for i, (row, following) in enumerate(itertools.pairwise(rows)):
        gaps = []
        for j, (cell, lofted) in enumerate(zip(row, following, strict=True)):
            a, b = i * width + j, (i + 1) * width + j
            longer, shorter = cell.played_m, lofted.played_m
            variance = (
                longer**2 * covariance[a, a] + shorter**2 * covariance[b, b] - 2.0 * longer * shorter * covariance[a, b]
            )
            gaps.append(
                WedgeGap(
                    cell.wedge,
                    lofted.wedge,
                    cell.swing,
                    longer - shorter,
                    math.sqrt(max(float(variance), 0.0)),
                )
            )
        result.append(tuple(gaps))
    return tuple(result)
