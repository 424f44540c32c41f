"""Two players beside each other: what both can hit, how far apart it lies, and whether the logs can tell."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeVar

from wedgelab.chart import LEAST_CARRY_M, LIKELY, ChartCell, chart_cell
from wedgelab.choose import CHEAP_TRADE, Choice, Option
from wedgelab.errors import BadRequestError
from wedgelab.prediction import NORMAL_P90, NOT_SAID, Day, Predictor, ShotKind, share_of_median
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

TOLD_APART: Final = 0.80  # an interval of this much of the chance has to leave out 0 ...
_TOLD_APART_SES: Final = NORMAL_P90  # ... that is so many standard errors
MATCHED_LOFT_DEG: Final = 1.0  # two players' wedges that are held against each other
SAME_SWING_DEG: Final = 5.0  # as near as a ball must be to count for a cell of the chart
_Named = TypeVar("_Named", Wedge, SwingLength)


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two players; both predictors speak of the same air."""

    name: str
    predictor: Predictor
    bag: Bag


@dataclass(frozen=True, slots=True)
class Difference:
    """The first player's number minus the second's, its standard error, and whether the two are told apart (80 %)."""

    value: float
    se: float

    @property
    def is_told_apart(self) -> bool:
        """True when the 80 % interval of the difference leaves out 0."""
        return abs(self.value) > _TOLD_APART_SES * self.se


@dataclass(frozen=True, slots=True)
class ComparedShot:
    """A shot of both players; no difference of carry where one of the balls never gets up to the green."""

    first: ChartCell
    second: ChartCell
    carry_difference_m: float | None
    carry_difference_se_m: float | None
    carry_told_apart: bool
    spin_difference_rpm: float
    spin_difference_se_rpm: float
    spin_told_apart: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two players' charts: rows of the wedges that both have, columns of the swing lengths that both have.

    ``carry_ratio`` is the first player's carries over the second's, over all these shots, None without any.
    ``first_doubt_now`` and ``second_doubt_now`` are the mean standard errors of the charted medians as shares of carry,
    each over that player's own bag.
    """

    first: str
    second: str
    wedges: tuple[tuple[Wedge, Wedge], ...]
    swings: tuple[tuple[SwingLength, SwingLength], ...]
    rows: tuple[tuple[ComparedShot, ...], ...]
    only_first: Bag
    only_second: Bag
    carry_ratio: float | None
    carry_ratio_se: float | None
    carry_ratio_told_apart: bool
    first_doubt_now: float
    second_doubt_now: float
    first_n_shots: int
    second_n_shots: int
    reference: Conditions = NOT_SAID
    day: Day | None = None

    @property
    def shots(self) -> tuple[ComparedShot, ...]:
        """All shots of both, row by row."""
        return tuple(shot for row in self.rows for shot in row)


@dataclass(frozen=True, slots=True)
class ChoiceComparison:
    """Each player's best shot for one target; ``better`` is empty where less than five points of chance lie between."""

    target_m: float
    first: Option
    second: Option
    chance_difference: float
    better: Literal["first", "second", ""]


def compare_charts(
    first: Side, second: Side, *, reference: Conditions = NOT_SAID, day: Day | None = None
) -> Comparison:
    """Compare two players' charts, shot by shot; ``reference`` and ``day`` say what air the predictors speak of.

    Wedges are the same within a degree of loft, else by their label; swing lengths within 5 deg, else by their label.
    The players' standard errors are taken as independent. What both charts share (the belief about golfers in general,
    the correction for the air) would make a difference surer than that.
    """
    wedges = match(first.bag.wedges, second.bag.wedges, lambda wedge: wedge.loft_deg, MATCHED_LOFT_DEG)
    swings = match(first.bag.swings, second.bag.swings, lambda swing: swing.swing_deg, SAME_SWING_DEG)
    ours = _cells(first.predictor, [w for w, _ in wedges], [s for s, _ in swings])
    theirs = _cells(second.predictor, [w for _, w in wedges], [s for _, s in swings])
    shots = [_compared(a, b) for a, b in zip(ours, theirs, strict=True)]
    width = len(swings)
    ratio = _ratio(first, second, shots)
    return Comparison(
        first.name,
        second.name,
        tuple(wedges),
        tuple(swings),
        tuple(tuple(shots[i : i + width]) for i in range(0, len(shots), width or 1)),
        _left_over(first.bag, [w for w, _ in wedges], [s for s, _ in swings]),
        _left_over(second.bag, [w for _, w in wedges], [s for _, s in swings]),
        None if ratio is None else math.exp(ratio.value),
        None if ratio is None else math.exp(ratio.value) * ratio.se,
        ratio is not None and ratio.is_told_apart,
        chart_doubt(first.predictor, first.bag),
        chart_doubt(second.predictor, second.bag),
        first.predictor.n_shots,
        second.predictor.n_shots,
        reference,
        day,
    )


def compare_choices(first: Choice, second: Choice) -> ChoiceComparison:
    """Say who has the better chance for a target, and with which shot; both must be choices for the same.

    With a least spin it is the chance of a ball inside the window and over that spin.
    """
    asked = [(c.target_m, c.window_low_m, c.window_high_m, c.limits, c.lie) for c in (first, second)]
    if asked[0] != asked[1]:
        raise BadRequestError("the two choices are for different targets, windows or limits", "ask both for the same")
    difference = first.best.chance - second.best.chance
    better: Literal["first", "second", ""] = "first" if difference > 0 else "second"
    return ChoiceComparison(
        first.target_m, first.best, second.best, difference, better if abs(difference) >= CHEAP_TRADE else ""
    )


def chart_doubt(predictor: Predictor, bag: Bag) -> float:
    """Return the mean standard error of the charted medians over the bag's cells, as a share of carry; NaN for none."""
    variances = _variances(predictor.log_median_covariance(_kinds(bag.wedges, bag.swings)))
    return sum(share_of_median(variance) for variance in variances) / len(variances) if variances else math.nan


def match(
    ours: Sequence[_Named], theirs: Sequence[_Named], number: Callable[[_Named], float], near: float
) -> list[tuple[_Named, _Named]]:
    """Return pairs that are the same: the nearest numbers first, labels where the numbers are apart; each used once."""

    def order(pair: tuple[_Named, _Named]) -> tuple[bool, float, bool]:
        one, other = pair
        apart = abs(number(one) - number(other))
        return apart > near, apart, not _same_label(one, other)

    pairs = [(one, other) for one in ours for other in theirs]
    matched: list[tuple[_Named, _Named]] = []
    for one, other in sorted(pairs, key=order):
        is_same = abs(number(one) - number(other)) <= near or _same_label(one, other)
        if is_same and all(one is not a and other is not b for a, b in matched):
            matched.append((one, other))
    return sorted(matched, key=lambda pair: number(pair[0]))


def _same_label(one: Wedge | SwingLength, other: Wedge | SwingLength) -> bool:
    return one.label.casefold() == other.label.casefold()


def _left_over(bag: Bag, wedges: Sequence[Wedge], swings: Sequence[SwingLength]) -> Bag:
    return Bag(
        tuple(wedge for wedge in bag.wedges if wedge not in wedges),
        tuple(swing for swing in bag.swings if swing not in swings),
    )


def _kinds(wedges: Sequence[Wedge], swings: Sequence[SwingLength]) -> list[ShotKind]:
    return [ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg) for wedge in wedges for swing in swings]


def _cells(predictor: Predictor, wedges: Sequence[Wedge], swings: Sequence[SwingLength]) -> list[ChartCell]:
    kinds = _kinds(wedges, swings)
    if not kinds:
        return []
    labels = [swing.label for _ in wedges for swing in swings]
    parts = zip(predictor.predict(kinds), labels, predictor.carry_quantiles(kinds, LIKELY), strict=True)
    return [chart_cell(prediction, label, float(low), float(high)) for prediction, label, (low, high) in parts]


def _compared(first: ChartCell, second: ChartCell) -> ComparedShot:
    carry = Difference(first.carry_m - second.carry_m, math.hypot(first.carry_se_m, second.carry_se_m))
    spin = Difference(first.spin_rpm - second.spin_rpm, math.hypot(first.spin_se_rpm, second.spin_se_rpm))
    both_fly = min(first.carry_m, second.carry_m) > LEAST_CARRY_M
    return ComparedShot(
        first,
        second,
        carry.value if both_fly else None,
        carry.se if both_fly else None,
        both_fly and carry.is_told_apart,
        spin.value,
        spin.se,
        spin.is_told_apart,
    )


def _ratio(first: Side, second: Side, shots: Sequence[ComparedShot]) -> Difference | None:
    """Return the mean log ratio of the carries: cells of one chart are known together, so their covariance counts."""
    flown = [shot for shot in shots if shot.carry_difference_m is not None]
    if not flown:
        return None
    mean = sum(math.log(shot.first.carry_m / shot.second.carry_m) for shot in flown) / len(flown)
    variance = 0.0
    for side, cells in ((first, [s.first for s in flown]), (second, [s.second for s in flown])):
        kinds = [ShotKind(cell.wedge, cell.loft_deg, cell.swing_deg) for cell in cells]
        variance += float(side.predictor.log_median_covariance(kinds).mean())
    return Difference(mean, math.sqrt(max(variance, 0.0)))


def _variances(covariance: "NDArray[np.float64]") -> list[float]:
    return [max(float(covariance[i, i]), 0.0) for i in range(len(covariance))]
