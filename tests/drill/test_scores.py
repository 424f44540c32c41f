"""What a drill comes to: errors by hand, the share's interval against statsmodels, what the chart expected, guesses."""

import math
import statistics
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from wedgelab.drill.calls import make_calls
from wedgelab.drill.intervals import chi2_quantile, t_quantile, wilson
from wedgelab.drill.machine import Ball, DrillPlan, DrillState, Event, Guess, Skip, replay, step
from wedgelab.drill.scores import DrillSummary, GuessSummary, MissSummary, summarise
from wedgelab.window import WindowRule

THREE_M = WindowRule(fixed_m=3.0)


def label(low_m: float, high_m: float) -> str:
    return f"{low_m:.0f}-{high_m:.0f}"


def played(
    calls: Sequence[float],
    carries: Sequence[float],
    wedges: str = "",
    window: WindowRule = THREE_M,
    more_calls: int = 0,
    **words: Any,
) -> tuple[DrillPlan, list[Event]]:
    every = [*calls, *[calls[-1]] * more_calls]
    lofts = {"A": 50.0, "B": 58.0}
    events: list[Event] = [
        Ball(f"shot-{i}", wedge, lofts[wedge], 90.0, carry, **words)
        for i, (carry, wedge) in enumerate(zip(carries, wedges or "A" * len(carries), strict=True))
    ]
    return DrillPlan(tuple(every), min(every), max(every), 1, window), events


def summary_of(plan: DrillPlan, events: Sequence[Event]) -> DrillSummary:
    summary = summarise(replay(plan, events), label)
    assert summary is not None
    return summary


def test_errors_by_hand_long_is_positive() -> None:
    # misses 4, 2, -1, 3: mean 2; deviations 2, 0, -3, 1, squares 14, VE sqrt(14/4); E sqrt(30/4); three within 3 m
    total = summary_of(*played([50, 60, 50, 60], [54, 62, 49, 63])).total
    assert (total.label, total.n, total.inside, total.share) == ("all", 4, 3, 0.75)
    assert total.ce_m == 2.0
    assert total.ve_m == pytest.approx(math.sqrt(3.5), rel=1e-15)
    assert total.e_m == pytest.approx(math.sqrt(7.5), rel=1e-15)
    assert (total.expected_e_m, total.expected_share) == (None, None)
    assert summary_of(*played([50, 60], [46, 58])).total.ce_m == -3.0


pairs = st.lists(st.tuples(st.integers(30, 120), st.floats(1.0, 200.0)), min_size=1, max_size=40)


@given(pairs)
def test_the_square_of_e_is_that_of_ce_plus_that_of_ve(rows: list[tuple[int, float]]) -> None:
    calls, carries = [float(call) for call, _ in rows], [carry for _, carry in rows]
    total = summary_of(*played(calls, carries)).total
    misses = [carry - call for call, carry in zip(calls, carries, strict=True)]
    # identity: Henry 1974 [memory]; E and VE from their own definitions, by the standard library
    assert total.e_m**2 == pytest.approx(total.ce_m**2 + total.ve_m**2, rel=1e-12, abs=1e-18)
    assert total.e_m == pytest.approx(math.sqrt(statistics.fmean(m * m for m in misses)), rel=1e-9, abs=1e-9)
    assert total.ve_m == pytest.approx(statistics.pstdev(misses), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("n", [1, 2, 5, 20, 137])
def test_the_interval_of_a_share_is_wilsons(n: int) -> None:
    for hits in range(n + 1):
        # source: statsmodels, an independent program
        low, high = proportion_confint(hits, n, alpha=0.2, method="wilson")
        assert wilson(hits, n) == pytest.approx((low, high), abs=1e-12)
        low95, high95 = proportion_confint(hits, n, alpha=0.05, method="wilson")
        assert wilson(hits, n, z=stats.norm.ppf(0.975)) == pytest.approx((low95, high95), abs=1e-12)


def test_no_ball_says_nothing_about_the_share() -> None:
    assert wilson(0, 0) == (0.0, 1.0)


# source: scipy, an independent program; the tolerances are those that the docstrings promise
@pytest.mark.parametrize(
    ("nu", "chi2_within", "t_within"),
    [(1.5, 0.19, 0.005), (2, 0.07, 0.002), (3, 0.02, 0.001), (4, 0.005, 1e-4), (5.5, 0.005, 1e-4), (10, 0.002, 1e-5)]
    + [(nu, 0.001, 1e-6) for nu in (20, 77.7, 500)],
)
def test_the_quantiles_are_near_scipys(nu: float, chi2_within: float, t_within: float) -> None:
    for share in (0.1, 0.86):
        exact = stats.chi2.ppf(share, nu)
        assert chi2_quantile(stats.norm.ppf(share), nu) == pytest.approx(exact, rel=chi2_within)
    assert t_quantile(nu) == pytest.approx(stats.t.ppf(0.9, nu), rel=t_within)


def test_the_summary_holds_the_interval() -> None:
    total = summary_of(*played([50] * 10, [50] * 7 + [60] * 3)).total
    assert (total.share_low, total.share_high) == pytest.approx(
        proportion_confint(7, 10, alpha=0.2, method="wilson"), abs=1e-12
    )


def test_a_ball_on_the_windows_edge_is_inside() -> None:
    assert summary_of(*played([50, 50, 50, 50], [53, 47, 53.001, 46.999])).total.inside == 2
    usual = played([80, 80, 80, 80], [84, 76, 84.01, 75.99], window=WindowRule())
    assert summary_of(*usual).total.inside == 2


def test_each_ball_is_judged_by_the_window_that_it_was_played_to() -> None:
    # held at 60 %: a miss widens by exp(0.18), so 3 m becomes 3.59 m: the second ball is inside, by the rule it is not
    plan, events = played([50, 50, 50], [60, 53.5, 50])
    adapting = DrillPlan(plan.calls_m, 50.0, 50.0, 1, THREE_M, hold=0.6)
    assert summary_of(plan, events).total.inside == 1
    summary = summary_of(adapting, events)
    assert summary.total.inside == 2
    assert summary.window_call_m == 50.0
    assert summary.window_now_m == pytest.approx(3.0 * math.exp(0.18 - 0.12 - 0.12), rel=1e-12)
    assert (summary_of(plan, events).window_now_m, summary_of(plan, events).window_call_m) == (None, None)


@given(pairs)
def test_bands_and_wedges_each_part_the_balls(rows: list[tuple[int, float]]) -> None:
    calls, carries = [float(call) for call, _ in rows], [carry for _, carry in rows]
    wedges = "".join("AB"[(call + i) % 2] for i, (call, _) in enumerate(rows))
    summary = summary_of(*played(calls, carries, wedges))
    for parts in (summary.bands, summary.wedges):
        assert sum(part.n for part in parts) == summary.total.n == len(rows)
        assert all(part.n > 0 for part in parts)
        assert sum(part.inside for part in parts) == summary.total.inside
        assert sum(part.n * part.ce_m for part in parts) == pytest.approx(
            len(rows) * summary.total.ce_m, rel=1e-9, abs=1e-9
        )
        assert sum(part.n * part.e_m**2 for part in parts) == pytest.approx(
            len(rows) * summary.total.e_m**2, rel=1e-9, abs=1e-9
        )
    assert 1 <= len(summary.bands) <= 4
    assert [part.label for part in summary.wedges] == sorted(set(wedges))


def test_bands_by_hand() -> None:
    # 40 to 64 m are two bands: 40 to under 52, and 52 to 64
    summary = summary_of(*played([40, 51, 52, 64], [41, 54, 50, 64], "ABAB"))
    assert [(b.label, b.n, b.ce_m) for b in summary.bands] == [("40-51", 2, 2.0), ("52-64", 2, -1.0)]
    assert [(w.label, w.n, w.ce_m) for w in summary.wedges] == [("A", 2, -0.5), ("B", 2, 1.5)]


@given(
    seed=st.integers(0, 2**31 - 1), low_m=st.floats(20.0, 50.0), wide_m=st.floats(1.0, 80.0), balls=st.integers(1, 60)
)
def test_the_summarys_bands_are_those_that_the_calls_were_spread_over(
    seed: int, low_m: float, wide_m: float, balls: int
) -> None:
    # once: 20 calls from 41.3 to 90.5 m were summed up as 7, 3 and 10
    high_m = low_m + wide_m
    calls = make_calls(balls, low_m, high_m, 0.9144, seed)
    plan = DrillPlan(calls, low_m, high_m, seed, THREE_M)
    counts = [band.n for band in summary_of(plan, played(calls, calls)[1]).bands]
    assert sum(counts) == balls
    assert max(counts) - min(counts) <= 1


def test_a_band_without_a_ball_is_left_out() -> None:
    plan, _ = played([40, 64], [40, 64])
    summary = summary_of(plan, [Skip(), Ball("a", "A", 50.0, 90.0, 64.0)])
    assert [band.label for band in summary.bands] == ["64-64"]


def test_one_label_on_two_lofts_is_two_wedges() -> None:
    plan, _ = played([50, 50], [50, 50])
    summary = summary_of(plan, [Ball("a", "A", 50.0, 90.0, 51.0), Ball("b", "A", 52.0, 90.0, 49.0)])
    assert [(wedge.label, wedge.n, wedge.ce_m) for wedge in summary.wedges] == [("A", 1, 1.0), ("A", 1, -1.0)]


def test_balls_with_and_without_advice_are_apart_only_where_some_had_none() -> None:
    plan, events = played([50, 60, 50], [51, 62, 47])
    assert summary_of(plan, events).advice == ()
    bare = Ball("bare", "A", 50.0, 90.0, 47.0, advice_shown=False)
    parts = summary_of(plan, [*events[:2], bare]).advice
    assert [(part.label, part.n, part.ce_m) for part in parts] == [("with advice", 2, 1.5), ("without advice", 1, -3.0)]
    plan, events = played([50, 60], [51, 62], advice_shown=False)
    assert [(part.label, part.n) for part in summary_of(plan, events).advice] == [("without advice", 2)]


# --- guesses


def guessed(rows: Sequence[tuple[float, float | None]]) -> GuessSummary | None:
    """Sum up balls of (carry, guess)."""
    plan, _ = played([50] * len(rows), [50] * len(rows))
    state = DrillState.start(plan)
    for i, (carry, guess) in enumerate(rows):
        state = state if guess is None else step(state, Guess(guess))
        state = step(state, Ball(f"s{i}", "A", 50.0, 90.0, carry))
    summary = summarise(state, label)
    assert summary is not None
    return summary.guess


def test_a_guess_is_held_against_the_carry_not_the_call() -> None:
    guess = guessed([(54.0, 58.0), (61.0, None), (52.0, 50.0)])  # 4 too long, none, 2 too short
    assert guess is not None
    assert (guess.n, guess.ce_m, guess.ve_m) == (2, 1.0, 3.0)
    assert guess.e_m == pytest.approx(math.sqrt(10.0), rel=1e-15)
    assert (guess.miss_correlation, guess.miss_correlation_low, guess.miss_correlation_high) == (None, None, None)
    assert guessed([(54.0, None)]) is None


@given(st.lists(st.tuples(st.floats(1.0, 200.0), st.floats(1.0, 200.0)), min_size=4, max_size=30))
def test_the_correlation_and_its_interval_are_scipys(rows: list[tuple[float, float]]) -> None:
    carries, guesses = [round(carry, 1) for carry, _ in rows], [round(guess, 1) for _, guess in rows]
    found = guessed(list(zip(carries, guesses, strict=True)))
    assert found is not None
    if len(set(carries)) < 2 or len(set(guesses)) < 2:
        assert found.correlation is None
        return
    exact = stats.pearsonr(guesses, carries)  # source: an independent program
    assert found.correlation == pytest.approx(exact.statistic, abs=1e-9)
    if abs(exact.statistic) < 0.999999:
        interval = exact.confidence_interval(0.8)
        assert (found.miss_correlation_low, found.miss_correlation_high) == pytest.approx(
            (interval.low, interval.high), abs=1e-6
        )


def test_the_spread_of_the_calls_is_no_feel_for_the_miss() -> None:
    plan, _ = played([40, 60, 80, 100], [50] * 4)
    state = DrillState.start(plan)
    # guesses always the call itself, misses +1, -1, -1, +1
    for i, (call, miss) in enumerate(zip(plan.calls_m, (1.0, -1.0, -1.0, 1.0), strict=True)):
        state = step(step(state, Guess(call)), Ball(f"s{i}", "A", 50.0, 90.0, call + miss))
    summary = summarise(state, label)
    assert summary is not None
    assert summary.guess is not None
    assert summary.guess.correlation == pytest.approx(20.0 / math.sqrt(20.0**2 + 0.8), rel=1e-3)
    assert summary.guess.miss_correlation is None  # a guess that is always the call says nothing of long and short


def test_three_guesses_have_a_correlation_and_no_interval() -> None:
    guess = guessed([(50.0, 51.0), (60.0, 58.0), (55.0, 57.0)])
    assert guess is not None
    # deviations: carries -5, 5, 0; guesses -13/3, 8/3, 5/3; products 35, squares 50 and 86/3
    assert guess.correlation == pytest.approx(35.0 / math.sqrt(50.0 * 86.0 / 3.0), rel=1e-12)
    assert (guess.miss_correlation_low, guess.miss_correlation_high) == (None, None)


def test_guesses_on_a_line_are_as_sure_as_they_can_be() -> None:
    guess = guessed([(50.0, 51.0), (60.0, 61.0), (55.0, 56.0), (57.0, 58.0)])
    assert guess is not None
    assert (guess.miss_correlation, guess.miss_correlation_low, guess.miss_correlation_high) == pytest.approx(
        (1.0, 1.0, 1.0)
    )


# --- what the chart expected


def expecting(rows: Sequence[tuple[float, float, float, float]], chance: float = 0.5) -> list[Event]:
    """Balls of (carry, chart's median, its spread)."""
    return [
        Ball(f"s{i}", "A", loft, 90.0, carry, "", True, median, sd, 1.0, chance + 0.1 * i)
        for i, (carry, median, sd, loft) in enumerate(rows)
    ]


def test_what_the_chart_expected_by_hand() -> None:
    # a median of 52 +- 3 at a call of 50: 2^2 + 3^2 = 13; 59 +- 4 at 60: 1 + 16 = 17; E = sqrt((13 + 17) / 2)
    plan, _ = played([50, 60], [50, 60])
    summary = summary_of(plan, expecting([(53, 52, 3, 50.0), (60, 59, 4, 58.0)]))
    assert summary.total.expected_e_m == pytest.approx(math.sqrt(15.0), rel=1e-15)
    assert summary.total.expected_share == pytest.approx(0.55, rel=1e-15)
    a, b = summary.wedges
    assert (a.expected_e_m, b.expected_e_m) == pytest.approx((math.sqrt(13), math.sqrt(17)), rel=1e-15)
    assert (a.expected_share, b.expected_share) == pytest.approx((0.5, 0.6), rel=1e-15)
    poor = summary_of(plan, expecting([(20, 52, 3, 50.0), (90, 59, 4, 58.0)])).total
    assert poor.expected_e_m == summary.total.expected_e_m  # not what was hit


def test_the_share_that_the_charts_own_shots_would_have_is_the_mean_over_the_balls() -> None:
    plan, events = played([50, 60], [50, 60], best_window_probability=0.7)
    assert summary_of(plan, events).best_share == pytest.approx(0.7, rel=1e-15)
    better = Ball("b", "A", 50.0, 90.0, 61.0, best_window_probability=0.9)
    assert summary_of(plan, [events[0], better]).best_share == pytest.approx(0.8, rel=1e-15)
    # one ball of which it is not known, and it is not known of the drill
    assert summary_of(plan, [events[0], Ball("b", "A", 50.0, 90.0, 61.0)]).best_share is None
    assert summary_of(*played([50, 60], [50, 60])).best_share is None


def test_the_worst_ball_and_its_part_of_the_square_of_e_by_hand() -> None:
    # squares 1, 4, 49, 9: 49 of 63
    summary = summary_of(*played([50, 60, 50, 60], [51, 62, 43, 57]))
    assert (summary.worst_m, summary.worst_share) == pytest.approx((-7.0, 49.0 / 63.0), rel=1e-15)
    long = summary_of(*played([50, 60], [51, 64]))
    assert (long.worst_m, long.worst_share) == pytest.approx((4.0, 16.0 / 17.0), rel=1e-15)
    without = summary_of(*played([50, 60], [50, 60]))
    assert (without.worst_m, without.worst_share) == (None, None)


@given(pairs)
def test_no_ball_is_worse_than_the_worst_and_none_counts_for_more(rows: list[tuple[int, float]]) -> None:
    calls, carries = [float(call) for call, _ in rows], [carry for _, carry in rows]
    summary = summary_of(*played(calls, carries))
    misses = [carry - call for call, carry in zip(calls, carries, strict=True)]
    if summary.worst_m is None or summary.worst_share is None:
        assert math.fsum(miss**2 for miss in misses) == 0.0
        return
    assert summary.worst_m in misses
    assert abs(summary.worst_m) == max(abs(miss) for miss in misses)
    assert 1.0 / len(misses) - 1e-12 <= summary.worst_share <= 1.0 + 1e-12


def test_one_ball_without_a_chart_and_nothing_is_expected_of_the_drill() -> None:
    plan, _ = played([50, 60, 50], [50, 60, 50])
    events = [*expecting([(53, 52, 3, 50.0), (60, 59, 4, 50.0)]), Ball("bare", "B", 58.0, 90.0, 51.0)]
    summary = summary_of(plan, events)
    assert (summary.total.expected_e_m, summary.total.expected_share) == (None, None)
    assert summary.wedges[0].expected_e_m is not None
    assert (summary.ratio, summary.split) == (None, None)


def test_skipped_calls_and_calls_not_yet_made_are_counted_and_change_no_error() -> None:
    plan, events = played([50, 60], [54, 62], more_calls=3)
    done = summary_of(plan, events)
    assert (done.skipped, done.left) == (0, 3)
    with_skips = summary_of(DrillPlan((50.0, 55.0, 60.0, 60.0), 50.0, 60.0, 1, THREE_M), [events[0], Skip(), events[1]])
    assert (with_skips.skipped, with_skips.left) == (1, 1)
    assert with_skips.total == done.total


def test_no_ball_no_summary() -> None:
    plan, _ = played([50, 60], [50, 60])
    assert summarise(replay(plan, []), label) is None
    assert summarise(replay(plan, [Skip(), Skip()]), label) is None


def test_a_single_ball_has_no_spread() -> None:
    total = summary_of(*played([50], [54])).total
    low, high = proportion_confint(0, 1, alpha=0.2, method="wilson")
    assert (total.share_low, total.share_high) == pytest.approx((low, high), abs=1e-12)
    assert total == MissSummary("all", 1, 4.0, 0.0, 4.0, 0, 0.0, total.share_low, total.share_high, None, None)
