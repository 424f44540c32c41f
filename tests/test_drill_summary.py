"""What a drill comes to: errors by hand, the interval against statsmodels, what the chart expected."""

import math
import statistics
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from tests.fakes import FakePredictor
from wedgelab.drill import (
    Ball,
    DrillPlan,
    DrillSummary,
    Event,
    Guess,
    MissSummary,
    Skip,
    make_calls,
    replay,
    summarise,
    wilson,
)
from wedgelab.prediction import Predictor
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
) -> tuple[DrillPlan, list[Event]]:
    every = [*calls, *[calls[-1]] * more_calls]
    lofts = {"A": 50.0, "B": 58.0}
    events: list[Event] = [
        Ball(f"shot-{i}", wedge, lofts[wedge], 90.0, carry)
        for i, (carry, wedge) in enumerate(zip(carries, wedges or "A" * len(carries), strict=True))
    ]
    return DrillPlan(tuple(every), min(every), max(every), 1, window), events


def summary_of(plan: DrillPlan, events: list[Event], predictor: Predictor | None = None) -> DrillSummary:
    summary = summarise(replay(plan, events), predictor, label)
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


def test_the_summary_holds_the_interval() -> None:
    total = summary_of(*played([50] * 10, [50] * 7 + [60] * 3)).total
    assert (total.share_low, total.share_high) == pytest.approx(
        proportion_confint(7, 10, alpha=0.2, method="wilson"), abs=1e-12
    )


def test_a_ball_on_the_windows_edge_is_inside() -> None:
    assert summary_of(*played([50, 50, 50, 50], [53, 47, 53.001, 46.999])).total.inside == 2
    usual = played([80, 80, 80, 80], [84, 76, 84.01, 75.99], window=WindowRule())
    assert summary_of(*usual).total.inside == 2


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


def test_a_guess_is_held_against_the_carry_not_the_call() -> None:
    plan, _ = played([50, 60, 55], [0, 0, 0])
    events: list[Event] = [
        Guess(58.0), Ball("a", "A", 50.0, 90.0, 54.0),  # guessed 4 too long
        Ball("b", "A", 50.0, 90.0, 61.0),
        Guess(50.0), Ball("c", "A", 50.0, 90.0, 52.0),  # guessed 2 too short
    ]  # fmt: skip
    guess = summary_of(plan, events).guess
    assert guess is not None
    assert (guess.label, guess.n, guess.ce_m, guess.ve_m, guess.inside) == ("guess", 2, 1.0, 3.0, 1)
    assert guess.e_m == pytest.approx(math.sqrt(10.0), rel=1e-15)
    assert summary_of(plan, [event for event in events if not isinstance(event, Guess)]).guess is None


def expecting() -> FakePredictor:
    return FakePredictor(
        carry_m=lambda kind: {50.0: 52.0, 58.0: 59.0}[kind.loft_deg],
        carry_sd_m=lambda kind: {50.0: 3.0, 58.0: 4.0}[kind.loft_deg],
    )


def test_what_the_chart_expected_by_hand() -> None:
    # A carries 52 +- 3 at a call of 50: 2^2 + 3^2 = 13; B 59 +- 4 at 60: 1 + 16 = 17; E = sqrt((13 + 17) / 2)
    summary = summary_of(*played([50, 60], [53, 60], "AB"), expecting())
    assert summary.total.expected_e_m == pytest.approx(math.sqrt(15.0), rel=1e-15)
    # chances from the table of the normal distribution: A between -5/3 and 1/3 SD: 0.63056 - 0.04779 = 0.58277;
    # B between -2/4 and 4/4 SD: 0.84134 - 0.30854 = 0.53281
    assert summary.total.expected_share == pytest.approx((0.58277 + 0.53281) / 2, abs=1e-5)
    a, b = summary.wedges
    assert (a.expected_e_m, b.expected_e_m) == pytest.approx((math.sqrt(13), math.sqrt(17)), rel=1e-15)
    assert (a.expected_share, b.expected_share) == pytest.approx((0.58277, 0.53281), abs=1e-5)


def test_what_was_expected_does_not_depend_on_what_was_hit() -> None:
    good = summary_of(*played([50, 60], [50, 60], "AB"), expecting()).total
    poor = summary_of(*played([50, 60], [20, 90], "AB"), expecting()).total
    assert (good.expected_e_m, good.expected_share) == (poor.expected_e_m, poor.expected_share)


@given(seed=st.integers(0, 1000))
def test_a_player_who_hits_as_expected_meets_the_expected_numbers(seed: int) -> None:
    # balls placed on the quantiles of what the chart expects: no luck left in them
    n = 400
    calls = list(make_calls(4, 45.0, 60.0, 1.0, seed))[:1] * n
    carries = [float(stats.norm.ppf((i + 0.5) / n, 52.0, 3.0)) for i in range(n)]
    total = summary_of(*played(calls, carries), expecting()).total
    assert total.expected_e_m is not None
    assert total.expected_share is not None
    assert total.e_m == pytest.approx(total.expected_e_m, rel=0.01)
    assert total.share == pytest.approx(total.expected_share, abs=1.5 / n)


def test_skipped_calls_and_calls_not_yet_made_are_counted_and_change_no_error() -> None:
    plan, events = played([50, 60], [54, 62], more_calls=3)
    done = summary_of(plan, events)
    assert (done.skipped, done.left) == (0, 3)
    with_skips = summary_of(DrillPlan((50.0, 55.0, 60.0, 60.0), 50.0, 60.0, 1, THREE_M), [events[0], Skip(), events[1]])
    assert (with_skips.skipped, with_skips.left) == (1, 1)
    assert with_skips.total == done.total


def test_no_ball_no_summary() -> None:
    plan, _ = played([50, 60], [50, 60])
    assert summarise(replay(plan, []), None, label) is None
    assert summarise(replay(plan, [Skip(), Skip()]), None, label) is None


def test_a_single_ball_has_no_spread() -> None:
    total = summary_of(*played([50], [54])).total
    low, high = proportion_confint(0, 1, alpha=0.2, method="wilson")
    assert (total.share_low, total.share_high) == pytest.approx((low, high), abs=1e-12)
    assert total == MissSummary("all", 1, 4.0, 0.0, 4.0, 0, 0.0, total.share_low, total.share_high, None, None)
