"""A drill held against what the chart expected of its balls, and against an earlier drill of the same calls.

What the chart expected stands in each ball (``chart_*``), so no model is asked here. Intervals are of 80 %.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from wedgelab.drill.intervals import Z80, chi2_quantile, errors_of, freedom_of, mean_of, t_quantile, variance_of
from wedgelab.drill.machine import DrillState, Played

FEWEST_BALLS: Final = 5  # with fewer, one ball decides what an interval says
_Z_LOW: Final = 1.0803193408149558  # at 0.86: what the lower end leaves below it, see `ratio_of`
_MISHIT_SHARE: Final = 0.05  # the share of mishits that is believed before a ball was seen, as the model has it
_MISHIT_SIZE: Final = 14.0  # squared miss of such a ball, in mean squares of the others
_MEDIAN_TO_SD: Final = 0.6744897501960817  # of the absolute value of a standard normal number


@dataclass(frozen=True, slots=True)
class ErrorRatio:
    """E over what the chart expects of the same shots, with its interval."""

    e_ratio: float
    e_ratio_low: float
    e_ratio_high: float


@dataclass(frozen=True, slots=True)
class ErrorSplit:
    """What choice, chart and execution cost; the miss of each ball is their sum.

    Choice: the chart's median of the shot that was hit, minus the call (root mean square). Chart: by how much the balls
    went farther than those medians on average, with its interval, in which the chart's own doubt is not counted.
    Execution: the spread about that. ``together_m2`` is what is left of E^2 after their three squares.
    """

    choice_m: float
    chart_m: float
    chart_low_m: float
    chart_high_m: float
    execution_m: float
    together_m2: float


@dataclass(frozen=True, slots=True)
class DrillComparison:
    """A drill and an earlier one of the same calls, over the ``n`` calls that both answered.

    ``inside`` counts for both days by the windows of the later one. The ratio is E now over E then; it is None under
    five pairs, or where one day had no miss at all.
    """

    n: int
    then_e_m: float
    now_e_m: float
    then_inside: int
    now_inside: int
    e_ratio: float | None
    e_ratio_low: float | None
    e_ratio_high: float | None


def expected_square(ball: Played) -> float | None:
    """Return the squared miss [m2] that the chart expected of a ball."""
    median, sd = ball.ball.chart_carry_m, ball.ball.chart_carry_sd_m
    return None if median is None or sd is None else (median - ball.call_m) ** 2 + sd * sd


def ratio_of(balls: Sequence[Played]) -> ErrorRatio | None:
    """Return E over what the chart expects; None without a chart, under five balls, or without any miss.

    nu E^2 / (true mean square) is about chi-square with nu degrees of freedom. nu is the lesser of two: Satterthwaite's
    of the expected squares (Biometrics Bulletin 2 (1946) 110), as if the balls were normal, and that of the balls' own
    squared misses, which mishits make small. A drill without a mishit says little of the mishits to come, so the upper
    end counts with those believed before: one, and one more in twenty balls. Both ends are not alike because of that.

    Measured on 6,000 drills each of 5 to 100 balls, true chart: normal misses, also of a player better than the chart,
    85-87 %; biased by one standard deviation 88-89 %; 8 % mishits 75-81 % (without the believed ones 42-68 %). Their
    size and the place of the lower end were chosen on other drills of that kind. On 3,600 drills of players of
    `simulate`, whose mishits are worse, 65-78 %, least at 20 balls: a drill that had none of them looks too good.
    """
    squares = [(ball.miss_m**2, square) for ball in balls if (square := expected_square(ball)) is not None]
    if len(squares) < max(len(balls), FEWEST_BALLS) or not any(miss for miss, _ in squares):
        return None
    n = len(squares)
    ratio = math.sqrt(mean_of([miss for miss, _ in squares]) / mean_of([square for _, square in squares]))
    relative = [miss / square for miss, square in squares]
    as_normal = math.fsum(square for _, square in squares) ** 2 / math.fsum(square**2 for _, square in squares)
    extra = 1.0 + _MISHIT_SHARE * n
    size = _MISHIT_SIZE * mean_of(relative)
    weight = n + extra
    mean = (math.fsum(relative) + extra * size) / weight
    spread = (math.fsum((x - mean) ** 2 for x in relative) + extra * (size - mean) ** 2) / (weight - 1.0)
    nu_low = freedom_of(as_normal, mean_of(relative), variance_of(relative), n)
    nu_high = freedom_of(as_normal, mean, spread, weight)
    return ErrorRatio(
        ratio,
        ratio * math.sqrt(nu_low / chi2_quantile(_Z_LOW, nu_low)),
        ratio * math.sqrt(mean / mean_of(relative)) * math.sqrt(nu_high / chi2_quantile(-Z80, nu_high)),
    )


def split_of(balls: Sequence[Played]) -> ErrorSplit | None:
    """Return what choice, chart and execution cost; None without a chart and under five balls."""
    rows = [
        (ball.carry_m - ball.call_m, median - ball.call_m, ball.carry_m - median)
        for ball in balls
        if (median := ball.ball.chart_carry_m) is not None
    ]
    n = len(rows)
    if n < max(len(balls), FEWEST_BALLS):
        return None
    bias = mean_of([beyond for _, _, beyond in rows])
    half = t_quantile(n - 1) * math.sqrt(variance_of([beyond for _, _, beyond in rows]) / n)
    choice2, execution2 = mean_of([choice**2 for _, choice, _ in rows]), mean_of([(x - bias) ** 2 for _, _, x in rows])
    together = mean_of([miss**2 for miss, _, _ in rows]) - choice2 - bias**2 - execution2
    return ErrorSplit(math.sqrt(choice2), bias, bias - half, bias + half, math.sqrt(execution2), together)


def compare(now: DrillState, then: DrillState) -> DrillComparison | None:
    """Return now against then over the calls that both answered, paired by their number; None if there are none.

    log(E now / E then) is about normal with variance 1/(2 nu) of each day. How heavy the tails are is judged from both
    days together, each in units of its own median miss, so that a day without a mishit borrows the doubt of the other;
    the quantile is Student's with that nu.

    Measured on 8,000 pairs of drills each of 5 to 40 balls: normal misses, also where they improved by 40 %, 81-86 %;
    biased by one standard deviation 85-89 %; 8 % mishits 76-78 % (each day's own nu and the normal quantile: 54-63 %);
    on 3,600 pairs of players of `simulate` 76-78 %.
    """
    pairs = [
        (old.miss_m, new.miss_m, new.window_m + 1e-9)
        for old, new in zip(then.answers, now.answers, strict=False)
        if old is not None and new is not None and math.isclose(old.call_m, new.call_m)
    ]
    if not pairs:
        return None
    days = [[pair[i] for pair in pairs] for i in (0, 1)]
    then_e, now_e = (errors_of(day)[2] for day in days)
    then_inside, now_inside = (sum(abs(pair[i]) <= pair[2] for pair in pairs) for i in (0, 1))
    both = DrillComparison(len(pairs), then_e, now_e, then_inside, now_inside, None, None, None)
    if len(pairs) < FEWEST_BALLS or not then_e or not now_e:
        return both
    squares = [x for day in days for x in _in_own_units(day)]
    nu = freedom_of(len(pairs), mean_of(squares), variance_of(squares), len(pairs))
    stretch = math.exp(t_quantile(nu) / math.sqrt(nu))
    ratio = now_e / then_e
    return replace(both, e_ratio=ratio, e_ratio_low=ratio / stretch, e_ratio_high=ratio * stretch)


def _in_own_units(misses: Sequence[float]) -> list[float]:
    """Return squared misses over the square of the standard deviation that the median miss tells of."""
    sizes = sorted(abs(miss) for miss in misses)
    n = len(sizes)
    sd = (sizes[(n - 1) // 2] + sizes[n // 2]) / 2.0 / _MEDIAN_TO_SD or errors_of(misses)[2]
    return [(miss / sd) ** 2 for miss in misses]
