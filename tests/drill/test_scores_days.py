"""A drill against an earlier one of the same calls: by hand, against scipy's quantiles, and by simulation."""

import math

import numpy as np
import pytest
from scipy import stats

from tests.drill.drilled import (
    Law,
    better,
    biased,
    drawn,
    misses_of,
    normal,
    state_of,
    summary_of,
    with_wild_mishits,
)
from wedgelab.drill.against import DrillComparison, compare
from wedgelab.drill.machine import Ball, DrillPlan, DrillState, Skip, replay
from wedgelab.window import WindowRule


def compared(now: DrillState, then: DrillState) -> DrillComparison:
    comparison = summary_of(now, then).comparison
    assert comparison is not None
    return comparison


def test_two_days_by_hand() -> None:
    then, now = misses_of(4, -4, 4, -4, 4), misses_of(2, -2, 2, -2, 2)
    found = compared(now, then)
    assert (found.n, found.then_e_m, found.now_e_m, found.then_inside, found.now_inside) == (5, 4.0, 2.0, 0, 5)
    # all misses of a day alike: no tails, so nu is the number of pairs; the quantile by scipy
    stretch = math.exp(stats.t.ppf(0.9, 5) * math.sqrt(1 / 10 + 1 / 10))
    assert (found.e_ratio, found.e_ratio_low, found.e_ratio_high) == pytest.approx(
        (0.5, 0.5 / stretch, 0.5 * stretch), rel=1e-4
    )
    assert summary_of(now).comparison is None


def test_a_day_without_a_mishit_borrows_the_doubt_of_the_other() -> None:
    # in units of the median miss, 2 and 1, the squares are 1 nine times and 16: mean 2.5, variance (n - 1) 22.5, so
    # nu is 2 * 5 * 2.5^2 / 22.5 = 2.78 for each day, in whichever the mishit was
    stretch = math.exp(stats.t.ppf(0.9, 25 / 9) * math.sqrt(9 / 25))
    for then, now in (((2, 2, 2, 2, 8), (1, 1, 1, 1, 1)), ((1, 1, 1, 1, 1), (2, 2, 2, 2, 8))):
        found = compared(misses_of(*now), misses_of(*then))
        assert found.e_ratio is not None
        assert found.e_ratio_low == pytest.approx(found.e_ratio / stretch, rel=2e-3)
        assert found.e_ratio_high == pytest.approx(found.e_ratio * stretch, rel=2e-3)


def test_only_calls_that_both_days_answered_are_compared() -> None:
    plan = DrillPlan((50.0, 60.0, 70.0), 50.0, 70.0, 1, WindowRule(fixed_m=3.0))

    def day(*carries: float | None) -> DrillState:
        return replay(
            plan,
            [Skip() if x is None else Ball(f"s{i}", "A", 50.0, 90.0, x) for i, x in enumerate(carries)],
        )

    found = compared(day(51.0, 62.0, None), day(None, 64.0, 71.0))
    assert (found.n, found.then_e_m, found.now_e_m, found.then_inside, found.now_inside) == (1, 4.0, 2.0, 0, 1)
    assert (found.e_ratio, found.e_ratio_low, found.e_ratio_high) == (None, None, None)
    assert summary_of(day(51.0, None, None), day(None, 64.0, 71.0)).comparison is None


def test_shots_that_the_chart_advised_then_and_not_now_are_counted() -> None:
    rows = [(60.0, 60.0, 62.0)] * 5
    then = state_of(rows, advice_shown=[True, True, True, False, False])
    now = state_of(rows, advice_shown=[False, False, True, True, False])
    assert compared(now, then).n_advised == 2
    assert compared(then, now).n_advised == 1
    assert compared(then, then).n_advised == 0
    # of the calls that both answered only
    assert compared(state_of(rows[:1], advice_shown=[False]), then).n_advised == 1


def test_a_drill_that_was_stopped_is_compared_as_far_as_it_went() -> None:
    assert compared(misses_of(1, 1, 1), misses_of(2, 2, 2, 2, 2)).n == 3


def test_calls_that_are_not_the_same_are_no_pairs() -> None:
    other = state_of([(61.0, 61.0, 62.0), (60.0, 60.0, 62.0)])
    assert compared(other, misses_of(3, 3)).n == 1


def test_both_days_are_judged_by_the_windows_of_the_later_one() -> None:
    then = state_of([(60.0, 60.0, 64.0)], window=WindowRule(fixed_m=5.0))
    assert summary_of(then).total.inside == 1
    assert compared(misses_of(2), then).then_inside == 0  # 3 m each side


@pytest.mark.parametrize("days", [([0.0] * 6, [1.0] * 6), ([1.0] * 6, [0.0] * 6)])
def test_a_day_without_any_miss_has_no_ratio(days: tuple[list[float], list[float]]) -> None:
    found = compared(misses_of(*days[0]), misses_of(*days[1]))
    assert (found.n, found.e_ratio) == (6, None)


def test_more_than_half_of_a_day_on_the_number_breaks_nothing() -> None:
    found = compared(misses_of(0, 0, 0, 0, 3, -3), misses_of(1, 2, 3, -2, 1, 4))
    assert found.e_ratio_low is not None
    assert found.e_ratio_high is not None
    assert 0.0 < found.e_ratio_low < found.e_ratio_high < math.inf


@pytest.mark.parametrize(
    ("then", "now", "truth"),
    [(normal, normal, 1.0), (normal, better, 0.6), (biased, biased, 1.0), (with_wild_mishits, with_wild_mishits, 1.0)],
)
@pytest.mark.parametrize("balls", [6, 20])
def test_the_interval_of_two_days_holds_the_truth_about_as_often_as_it_says(
    then: Law, now: Law, truth: float, balls: int
) -> None:
    # 80 % is said; 8,000 pairs of drills gave 76 to 89 %; a standard error here is 2.3 points
    rng = np.random.default_rng([balls, len(then.__name__), len(now.__name__)])
    hits, pairs = 0, 300
    for _ in range(pairs):
        calls = rng.uniform(40.0, 90.0, balls).tolist()
        found = compare(drawn(now, calls, rng), drawn(then, calls, rng))
        assert found is not None
        assert found.e_ratio_low is not None
        assert found.e_ratio_high is not None
        hits += found.e_ratio_low <= truth <= found.e_ratio_high
    assert 0.70 <= hits / pairs <= 0.94
