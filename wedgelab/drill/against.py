"""A drill held against what the chart expected of its balls, and against an earlier drill of the same calls.

What the chart expected stands in each ball (``chart_*``), so no model is asked here. Intervals are of 80 %.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from wedgelab.drill.intervals import Z80, chi2_quantile, errors_of, freedom_of, mean_of, t_quantile, variance_of
from wedgelab.drill.machine import DrillState, Played

FEWEST_BALLS: Final = 5  # with fewer, one ball decides what an interval says
DAY_SHARE: Final = 0.0125  # of the carry: by how much a player's days differ, as the model believes before a ball
_FAR_OFF: Final = 3.0  # spreads of the chart off the middle of the drill: taken for a mishit
_MOST_FAR_OFF: Final = 0.25  # of the balls; more cannot all be mishits
_MAD_TO_SD: Final = 1.4826022185056018  # of a normal number
_MEDIAN_TO_SD: Final = 0.6744897501960817  # of the absolute value of a standard normal number


@dataclass(frozen=True, slots=True)
class ErrorRatio:
    """E of the solid balls over what the chart expects of them, with its interval; ``n_far_off`` were left out."""

    e_ratio: float
    e_ratio_low: float
    e_ratio_high: float
    n_far_off: int


@dataclass(frozen=True, slots=True)
class ErrorSplit:
    """What choice, chart and execution cost over ``n_split`` solid balls of which the chart knows enough.

    The miss of each ball is the sum of the three. Choice: the chart's median of the shot that was hit, minus the call
    (root mean square). Chart: by how much the balls went farther than those medians on average; its interval holds the
    chart's own doubt and what one day differs from another. Execution: the spread about that, and what the chart
    expected of it. ``together_m2`` is what is left of ``split_e_m`` squared after the squares of the three.
    """

    n_split: int
    split_e_m: float
    choice_m: float
    chart_m: float
    chart_low_m: float
    chart_high_m: float
    execution_m: float
    expected_execution_m: float
    together_m2: float


@dataclass(frozen=True, slots=True)
class DrillComparison:
    """A drill and an earlier one of the same calls, over the ``n`` calls that were answered on both days.

    ``n_advised`` of them were hit with the chart's advice in sight on the earlier day and without it now.
    ``inside`` counts for both days by the windows of the later one. The ratio is E now over E then; it is None under
    five pairs, or where one day had no miss at all.
    """

    n: int
    n_advised: int
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


def solid_of(balls: Sequence[Played]) -> list[Played]:
    """Return the balls that are not far off: within three of the chart's spreads of the middle of the drill.

    The chart speaks of solid balls, so it is held against those. A player whose balls spread more than the chart says
    is measured by that larger spread; where more than a quarter would be left out none is. Without a chart all count.
    """
    off = [
        (ball.carry_m - ball.ball.chart_carry_m) / ball.ball.chart_carry_sd_m
        for ball in balls
        if ball.ball.chart_carry_m is not None and ball.ball.chart_carry_sd_m
    ]
    if len(off) < len(balls) or not balls:
        return list(balls)
    middle = statistics.median(off)
    spread = max(1.0, _MAD_TO_SD * statistics.median(abs(x - middle) for x in off))
    kept = [ball for ball, x in zip(balls, off, strict=True) if abs(x - middle) <= _FAR_OFF * spread]
    return kept if len(balls) - len(kept) <= _MOST_FAR_OFF * len(balls) else list(balls)


def ratio_of(balls: Sequence[Played]) -> ErrorRatio | None:
    """Return E over what the chart expects, of the solid balls; None without a chart, under five balls, or no miss.

    nu E^2 / (true mean square) is about chi-square with nu degrees of freedom. nu is the lesser of two: Satterthwaite's
    of the expected squares (Biometrics Bulletin 2 (1946) 110), as if the balls were normal, and that of the balls' own
    squared misses, which smaller mishits make small.

    By ``tests/bench/drill_stats.py`` (docs/coaches.md has the figures of a whole run) the interval holds the truth in
    about 80 % of drills without mishits and with a few, in 60-72 % with 8 % mishits: a ball that is a little off stays
    in.
    """
    solid = solid_of(balls)
    squares = [(ball.miss_m**2, square) for ball in solid if (square := expected_square(ball)) is not None]
    if len(squares) < max(len(solid), FEWEST_BALLS) or not any(miss for miss, _ in squares):
        return None
    n = len(squares)
    ratio = math.sqrt(mean_of([miss for miss, _ in squares]) / mean_of([square for _, square in squares]))
    relative = [miss / square for miss, square in squares]
    as_normal = math.fsum(square for _, square in squares) ** 2 / math.fsum(square**2 for _, square in squares)
    nu = freedom_of(as_normal, mean_of(relative), variance_of(relative), n)
    low, high = (math.sqrt(nu / chi2_quantile(z, nu)) for z in (Z80, -Z80))
    return ErrorRatio(ratio, ratio * low, ratio * high, len(balls) - n)


def split_of(balls: Sequence[Played]) -> ErrorSplit | None:
    """Return what choice, chart and execution cost; None without a chart and under five balls to tell.

    Balls whose chart median is doubted by more than their window are left out: of a flight or a lie that was hardly
    ever logged the chart says too little to split by.
    """
    rows = [
        (ball, median, sd, se)
        for ball in solid_of(balls)
        if (median := ball.ball.chart_carry_m) is not None
        and (sd := ball.ball.chart_carry_sd_m) is not None
        and (se := ball.ball.chart_carry_se_m) is not None
        and se <= ball.window_m
    ]
    n = len(rows)
    if n < FEWEST_BALLS:
        return None
    beyond = [ball.carry_m - median for ball, median, _, _ in rows]
    bias = mean_of(beyond)
    of_balls = t_quantile(n - 1) * math.sqrt(variance_of(beyond) / n)
    of_chart = Z80 * mean_of([se for _, _, _, se in rows])
    of_day = Z80 * DAY_SHARE * mean_of([median for _, median, _, _ in rows])
    half = math.hypot(of_balls, of_chart, of_day)
    e2 = mean_of([ball.miss_m**2 for ball, _, _, _ in rows])
    choice2 = mean_of([(median - ball.call_m) ** 2 for ball, median, _, _ in rows])
    execution2 = mean_of([(x - bias) ** 2 for x in beyond])
    expected2 = mean_of([sd * sd for _, _, sd, _ in rows])
    return ErrorSplit(
        n, math.sqrt(e2), math.sqrt(choice2), bias, bias - half, bias + half, math.sqrt(execution2),
        math.sqrt(expected2), e2 - choice2 - bias**2 - execution2,
    )  # fmt: skip


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
        (old.miss_m, new.miss_m, new.window_m + 1e-9, old.ball.advice_shown and not new.ball.advice_shown)
        for old, new in zip(then.answers, now.answers, strict=False)
        if old is not None and new is not None and math.isclose(old.call_m, new.call_m)
    ]
    if not pairs:
        return None
    days = [[pair[i] for pair in pairs] for i in (0, 1)]
    then_e, now_e = (errors_of(day)[2] for day in days)
    then_inside, now_inside = (sum(abs(pair[i]) <= pair[2] for pair in pairs) for i in (0, 1))
    advised = sum(pair[3] for pair in pairs)
    both = DrillComparison(len(pairs), advised, then_e, now_e, then_inside, now_inside, None, None, None)
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
