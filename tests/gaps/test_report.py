"""Distances, holes, overlaps, stretches and coverage of a player in closed form."""

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tests.fakes import TYPICAL_BAG, FakePredictor, as_predictor
from wedgelab.errors import BadRequestError, NothingFitsError
from wedgelab.gaps.coverage import SHOT_SPREAD_SD, draw_known, normal_cdf, spread_doubt, stock_of, targets_between
from wedgelab.gaps.report import GapReport, build_gaps
from wedgelab.model.spread import LEVEL
from wedgelab.prediction import ShotKind
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.window import SidedWindow, WindowRule

ONE_YARD = 0.9144  # NIST SP 811, appendix B.8: exact
TWO_M = WindowRule(fixed_m=2.0)
ONE_SWING = (SwingLength("9:00", 90.0),)
FEW = settings(max_examples=25, deadline=None)


def ladder(
    *carries_m: float, sd_m: float = 2.0, se: float = 0.0, balls: Callable[[ShotKind], int] | None = None
) -> tuple[FakePredictor, Bag]:
    """A player whose wedges, most lofted first, carry these distances at the one swing."""
    lofts = [60.0 - i for i in range(len(carries_m))]
    carry = dict(zip(lofts, carries_m, strict=True))
    player = FakePredictor(
        carry_m=lambda kind: carry[kind.loft_deg],
        carry_sd_m=lambda _: sd_m,
        covariance=lambda a, b: se**2 if a == b else 0.0,
    )
    if balls is not None:
        player = replace(player, count=balls)
    return player, Bag(tuple(Wedge(f"{loft:.0f}", loft) for loft in lofts), ONE_SWING)


def report_of(player: FakePredictor, bag: Bag, low_m: float | None = None, high_m: float | None = None) -> GapReport:
    return build_gaps(
        as_predictor(player), bag, window=TWO_M, rng=np.random.default_rng(1), low_m=low_m, high_m=high_m, unit="m"
    )


def test_shots_stand_in_order_of_carry_whatever_their_wedge_and_swing() -> None:
    report = build_gaps(FakePredictor(), TYPICAL_BAG, window=TWO_M, rng=np.random.default_rng(1), player="P1")
    carries = [shot.carry_m for shot in report.shots]
    assert len(carries) == 9
    assert carries == sorted(carries)
    assert [(gap.wedge, gap.swing) for gap in report.gaps] == [(s.wedge, s.swing) for s in report.shots[:-1]]
    assert [(gap.longer_wedge, gap.longer_swing) for gap in report.gaps] == [
        (s.wedge, s.swing) for s in report.shots[1:]
    ]
    assert [gap.gap_m for gap in report.gaps] == [b - a for a, b in itertools.pairwise(carries)]
    assert (report.low_m, report.high_m) == (carries[0], carries[-1])
    assert (report.player, report.n_shots, report.n_sessions) == ("P1", 63, 4)


def test_a_distances_standard_error_by_hand() -> None:
    # medians 60 and 80 m; log SDs 0.04 and 0.03, correlation 0.5:
    # (80 * 0.03)^2 + (60 * 0.04)^2 - 2 * 80 * 60 * 0.5 * 0.03 * 0.04 = 5.76, root 2.4
    player, bag = ladder(60.0, 80.0, sd_m=6.0)
    known = {"6060": 0.0016, "5959": 0.0009}
    player = replace(player, covariance=lambda a, b: known.get(a.wedge + b.wedge, 0.0006))
    (gap,) = report_of(player, bag).gaps
    assert (gap.gap_m, gap.gap_se_m) == pytest.approx((20.0, 2.4), rel=1e-9)


def test_own_spread_is_a_future_balls_without_the_doubt_about_the_median() -> None:
    # log SDs: 0.05 of a ball and 0.12 of the median make 0.13; lognormal: sd = median e^(s^2/2) sqrt(e^(s^2) - 1)
    whole = 80.0 * math.exp(0.13**2 / 2) * math.sqrt(math.expm1(0.13**2))
    player, bag = ladder(80.0, 120.0, sd_m=whole, se=0.12)
    assert stock_of(player, bag).own_sd_m[0] == pytest.approx(80.0 * 0.05, rel=1e-9)


def test_a_hole_is_a_gap_larger_than_one_standard_deviation_on_either_side_together() -> None:
    # spread 2 m each, no doubt: 4.1 m apart is a hole, 3.9 m is none
    player, bag = ladder(60.0, 63.9, 68.0)
    near, far = report_of(player, bag).gaps
    assert near.spread_m == pytest.approx(4.0, rel=2e-3)  # the spread is that of a logarithm
    assert (near.is_hole, far.is_hole) == (False, True)
    assert near.hole_probability < 0.5 < far.hole_probability
    assert report_of(player, bag).holes == (far,)


@pytest.mark.parametrize(("n_shots", "se"), [(1, 0.01), (63, 0.01), (63, 0.0), (4000, 0.02)])
def test_the_chance_of_a_hole_counts_the_doubt_about_the_medians_and_about_the_spread(n_shots: int, se: float) -> None:
    player, bag = ladder(60.0, 68.0, sd_m=3.0, se=se)
    player = replace(player, n_shots=n_shots)
    (gap,) = report_of(player, bag).gaps
    gap_se, doubt, own = math.hypot(60.0 * se, 68.0 * se), spread_doubt(n_shots), stock_of(player, bag).own_sd_m
    assert gap.gap_se_m == pytest.approx(gap_se)
    # source: draws of the two normal and the one lognormal quantity, which has one as the mean of its squares
    rng = np.random.default_rng(5)
    gaps = 8.0 + gap_se * rng.standard_normal(400_000)
    # ... and what each of the two spreads has of its own
    single = np.exp(SHOT_SPREAD_SD * rng.standard_normal((2, 400_000)) - SHOT_SPREAD_SD**2)
    wider = np.exp(doubt * rng.standard_normal(400_000) - doubt**2) * single
    assert np.mean(wider**2, axis=1) == pytest.approx(np.ones(2), abs=0.01)
    # 0.3 points of the draws and half a step of the 200 points
    assert gap.hole_probability == pytest.approx(np.mean(gaps > (own[:, None] * wider).sum(axis=0)), abs=0.005)
    balls = rng.standard_normal((2, 400_000)) * own[:, None] * wider
    assert gap.longer_probability == pytest.approx(np.mean(gaps + balls[1] > balls[0]), abs=0.005)


def test_after_one_ball_no_hole_is_called_sure_that_hangs_on_the_spread() -> None:
    player, bag = ladder(60.0, 68.0)  # 8 m against a spread of 4 m, medians known exactly
    few, many = (report_of(replace(player, n_shots=n), bag).gaps[0] for n in (1, 4000))
    assert (few.is_hole, many.is_hole) == (True, True)
    assert few.hole_probability < 0.99 < many.hole_probability


@pytest.mark.parametrize(
    ("n_shots", "doubt"),
    # 1 / sqrt(n + 6.25) and 3 %: as the invented players of record 20 have it; 0.4 is the model's own belief
    [(0, math.hypot(0.4, 0.03)), (10, math.hypot(1 / math.sqrt(16.25), 0.03)), (10**9, 0.03)],
)
def test_how_surely_the_spread_is_known(n_shots: int, doubt: float) -> None:
    assert spread_doubt(n_shots) == pytest.approx(doubt, rel=1e-3)
    assert LEVEL[1] == 0.4
    assert report_of(*ladder(60.0, 66.0)).spread_doubt == spread_doubt(63)


def test_few_balls_are_mostly_belief() -> None:
    player, bag = ladder(60.0, 68.0)
    assert [report_of(replace(player, n_shots=n), bag).is_mostly_belief for n in (1, 6, 7)] == [True, True, False]
    assert (report_of(player, bag).n_measured, report_of(FakePredictor(), TYPICAL_BAG).n_measured) == (2, 3)


def test_the_draws_of_todays_shots_do_not_depend_on_what_else_is_asked() -> None:
    player, targets = FakePredictor(), (50.0, 60.0, 70.0)
    stock = stock_of(player, TYPICAL_BAG)
    new = [ShotKind("52", 52.0, swing.swing_deg) for swing in TYPICAL_BAG.swings]
    alone = draw_known(player, stock, np.random.default_rng(1))
    among = draw_known(player, stock, np.random.default_rng(1), [*new, *stock.kinds])
    assert np.array_equal(alone.coverages(stock.kinds, targets, TWO_M), among.coverages(stock.kinds, targets, TWO_M))
    assert np.array_equal(alone.log_medians, among.log_medians[: len(stock.kinds)])


def test_the_draws_have_the_predictors_covariance_old_shots_and_new_ones_together() -> None:
    player = FakePredictor()
    stock = stock_of(player, TYPICAL_BAG)
    new = [ShotKind("52", 52.0, swing.swing_deg) for swing in TYPICAL_BAG.swings]
    every = [
        draw_known(player, stock, np.random.default_rng(seed), new).log_medians - np.log(
            [player.carry_m(kind) for kind in [*stock.kinds, *new]]
        )[:, None]
        for seed in range(50)
    ]  # fmt: skip
    drawn = np.concatenate(every, axis=1)
    wanted = player.log_median_covariance([*stock.kinds, *new])
    assert np.cov(drawn) == pytest.approx(
        wanted, abs=0.0001
    )  # 20,000 draws of a variance of 0.003: 3e-5 a standard error
    assert drawn.mean(axis=1) == pytest.approx(np.zeros(12), abs=0.0016)  # four standard errors of the mean


@pytest.mark.parametrize("n_shots", [4, 4000])
def test_the_drawn_spreads_share_what_all_balls_tell_and_have_something_of_their_own(n_shots: int) -> None:
    player = replace(FakePredictor(), n_shots=n_shots)
    stock = stock_of(player, TYPICAL_BAG)
    new = [ShotKind("52", 52.0, swing.swing_deg) for swing in TYPICAL_BAG.swings]
    every = [draw_known(player, stock, np.random.default_rng(seed), new).stretch for seed in range(50)]
    stretch = np.concatenate(every, axis=1)
    shared, single = spread_doubt(n_shots) ** 2, SHOT_SPREAD_SD**2
    assert np.cov(np.log(stretch)) == pytest.approx(shared + single * np.eye(12), rel=0.08, abs=4e-4)
    assert np.mean(stretch**2, axis=1) == pytest.approx(np.ones(12), abs=0.03)
    alone = draw_known(player, stock, np.random.default_rng(7)).stretch
    assert np.array_equal(alone, every[7][: len(stock.kinds)])  # whatever else is asked


def test_shots_that_are_known_alike_are_drawn_alike() -> None:
    player = replace(FakePredictor(), covariance=lambda *_: 0.0004)  # one doubt for all: a matrix of rank one
    stock = stock_of(player, TYPICAL_BAG)
    drawn = draw_known(player, stock, np.random.default_rng(1), [ShotKind("52", 52.0, 90.0)])
    off = drawn.log_medians - drawn.log_medians.mean(axis=1)[:, None]
    assert off == pytest.approx(np.broadcast_to(off[0], off.shape), abs=1e-6)


def test_of_two_shots_for_one_distance_the_one_with_fewer_balls_is_redundant_and_why_is_told() -> None:
    # spread 2 m each: 1 m apart the longer goes farther in cdf(1 / sqrt 8) = 64 % of cases, under two in three
    player, bag = ladder(60.0, 61.0, 75.0, balls=lambda kind: 9 if kind.wedge == "60" else 4)
    (overlap,) = report_of(player, bag).overlaps
    assert (overlap.wedge, overlap.n_shots, overlap.kept_wedge, overlap.kept_n_shots) == ("59", 4, "60", 9)
    # half a percent more with what the spread may be: mostly narrower than the root of its mean square
    assert overlap.longer_probability == pytest.approx(stats.norm.cdf(1.0 / math.sqrt(8.0)), abs=5e-3)
    assert overlap.spin_difference_rpm == -60.0  # the fake's spin grows by 60 rpm a degree
    assert report_of(*ladder(60.0, 61.5, 75.0)).overlaps == ()


def test_what_a_redundant_shot_costs_is_what_coverage_loses_without_it() -> None:
    player, bag = ladder(60.0, 61.0, 75.0, balls=lambda kind: 9 if kind.wedge == "60" else 4)
    with_it = report_of(player, bag)
    without = report_of(player, Bag(tuple(w for w in bag.wedges if w.label != "59"), bag.swings), 60.0, 75.0)
    (overlap,) = with_it.overlaps
    assert overlap.coverage_lost == pytest.approx(with_it.coverage - without.coverage, abs=1e-12)
    assert overlap.coverage_lost > 0.0


def test_of_three_shots_for_one_distance_one_stays() -> None:
    player, bag = ladder(60.0, 60.4, 60.8, balls=lambda kind: {"60": 3, "59": 9, "58": 5}[kind.wedge])
    report = report_of(player, bag)
    assert [(one.wedge, one.kept_wedge) for one in report.overlaps] == [("60", "59"), ("58", "59")]


def test_targets_without_a_stock_answer_are_those_whose_window_holds_no_median() -> None:
    # 2 m each side: 60 answers 58 to 62, 70 answers 68 to 72
    (stretch,) = report_of(*ladder(60.0, 70.0)).stretches
    assert (stretch.low_m, stretch.high_m, stretch.width_m) == pytest.approx((62.0, 68.0, 6.0), abs=1e-9)
    assert (stretch.shorter, stretch.longer) == (("60", "9:00"), ("59", "9:00"))
    # the middle is 5 m from both: cdf(-3 / 2) - cdf(-7 / 2), source scipy.stats.norm
    assert stretch.window_probability == pytest.approx(stats.norm.cdf(-1.5) - stats.norm.cdf(-3.5), abs=1e-9)
    assert report_of(*ladder(60.0, 63.9)).widest is None


def test_a_stretchs_doubt_is_that_of_the_medians_beside_it() -> None:
    (stretch,) = report_of(*ladder(60.0, 70.0, sd_m=3.0, se=0.01)).stretches
    assert stretch.width_se_m == pytest.approx(math.hypot(0.6, 0.7), rel=1e-6)  # a fixed window moves with the median
    share = build_gaps(
        ladder(60.0, 70.0, sd_m=3.0, se=0.01)[0], ladder(60.0, 70.0)[1],
        window=WindowRule(share=0.05, least_m=0.0), rng=np.random.default_rng(1),
    )  # fmt: skip
    # a window of 5 %: the ends are 60 / 0.95 and 70 / 1.05
    (stretch,) = share.stretches
    assert (stretch.low_m, stretch.high_m) == pytest.approx((60.0 / 0.95, 70.0 / 1.05), abs=1e-9)
    assert stretch.width_se_m == pytest.approx(math.hypot(0.6 / 0.95, 0.7 / 1.05), rel=1e-6)


def test_a_span_wider_than_the_reach_leaves_its_ends_without_an_answer() -> None:
    first, last = report_of(*ladder(60.0, 61.9), low_m=50.0, high_m=70.0).stretches
    assert (first.low_m, first.high_m) == pytest.approx((50.0, 58.0))
    assert (first.shorter, first.longer) == (None, ("60", "9:00"))
    assert (last.low_m, last.high_m) == pytest.approx((63.9, 70.0))
    assert (last.shorter, last.longer) == (("59", "9:00"), None)
    (clipped,) = report_of(*ladder(60.0, 70.0, sd_m=3.0, se=0.01), low_m=65.0, high_m=70.0).stretches
    assert (clipped.low_m, clipped.high_m) == pytest.approx((65.0, 68.0))
    assert clipped.width_se_m == pytest.approx(0.7, rel=1e-6)  # the span's own end has no doubt


def test_the_sides_of_a_window_may_differ() -> None:
    window = SidedWindow(WindowRule(fixed_m=1.0), WindowRule(fixed_m=4.0))  # a bunker short
    player, bag = ladder(60.0, 70.0)
    (stretch,) = build_gaps(player, bag, window=window, rng=np.random.default_rng(1)).stretches
    # 60 answers targets from 56 to 61: up to 1 m longer than it, up to 4 m shorter
    assert (stretch.low_m, stretch.high_m) == pytest.approx((61.0, 66.0), abs=1e-9)


def test_coverage_is_the_mean_of_the_best_chances() -> None:
    player, bag = ladder(60.0, 64.0)
    report = report_of(player, bag)
    assert report.targets_m == (60.0, 61.0, 62.0, 63.0, 64.0)
    # source: scipy.stats.norm; the nearer shot is 0, 1, 2, 1, 0 m off
    best = [stats.norm.cdf((2.0 - d) / 2.0) - stats.norm.cdf((-2.0 - d) / 2.0) for d in (0, 1, 2, 1, 0)]
    assert report.best_chances == pytest.approx(best, abs=1e-9)
    assert report.coverage == pytest.approx(np.mean(best), abs=1e-9)


def test_were_all_known_coverage_is_no_worse_and_the_doubt_widens_its_interval() -> None:
    widths = []
    for se in (0.001, 0.03):
        whole = 60.0 * math.sqrt(0.04**2 + se**2)  # the same own spread of 4 % each time
        report = report_of(*ladder(60.0, 66.0, 72.0, sd_m=whole, se=se))
        widths.append(report.known_coverage_p90 - report.known_coverage_p10)
        assert report.known_coverage_p10 < report.known_coverage < report.known_coverage_p90
        assert report.known_coverage > report.coverage - 0.01
    assert widths[1] > 1.5 * widths[0]
    more = [
        replace(ladder(60.0, 66.0, 72.0)[0], n_shots=n) for n in (10, 1000)
    ]  # nothing is open but the spread, and more balls tell it better, but for what each shot has of its own
    bag = ladder(60.0, 66.0, 72.0)[1]
    few, many = (report_of(player, bag) for player in more)
    assert few.known_coverage_p90 - few.known_coverage_p10 > 2.5 * (many.known_coverage_p90 - many.known_coverage_p10)


def test_the_same_draws_give_the_same_report_and_the_order_of_the_bag_does_not_matter() -> None:
    player, bag = ladder(60.0, 66.0, 72.0, se=0.01)
    assert report_of(player, bag) == report_of(player, Bag(bag.wedges[::-1], bag.swings))


def test_one_stock_shot_has_no_gap() -> None:
    report = report_of(*ladder(60.0))
    assert (report.gaps, report.overlaps, report.stretches) == ((), (), ())
    assert report.coverage == pytest.approx(stats.norm.cdf(1.0) - stats.norm.cdf(-1.0), abs=1e-9)


@pytest.mark.parametrize(
    ("low_m", "high_m", "said"),
    [
        (80.0, 90.0, "80 to 90 m is out of reach of the stock shots; the longest is 70 m: 59 9:00"),
        (20.0, 30.0, "20 to 30 m is out of reach of the stock shots; the shortest is 60 m: 60 9:00"),
        (71.0, None, "71 m is out of reach of the stock shots; the longest is 70 m: 59 9:00"),
        (None, 59.0, "59 m is out of reach of the stock shots; the shortest is 60 m: 60 9:00"),
    ],
)
def test_a_span_out_of_reach_names_the_nearest(low_m: float | None, high_m: float | None, said: str) -> None:
    with pytest.raises(NothingFitsError, match=said):
        report_of(*ladder(60.0, 70.0), low_m=low_m, high_m=high_m)


def test_a_bag_without_wedges_or_swings_is_refused() -> None:
    for bag in (Bag((), ONE_SWING), Bag((Wedge("54", 54.0),), ())):
        with pytest.raises(
            BadRequestError, match="the bag has no wedge or no swing length; add with: wedgelab bag add"
        ):
            report_of(FakePredictor(), bag)


def test_the_normal_distribution_function_is_that_of_scipy() -> None:
    z = np.linspace(-9.0, 9.0, 5003)
    assert np.max(np.abs(normal_cdf(z) - stats.norm.cdf(z))) < 4e-6


@FEW
@given(st.floats(5.0, 100.0), st.floats(0.01, 150.0), st.sampled_from([1.0, ONE_YARD]))
def test_targets_hold_both_ends_and_stand_about_a_unit_apart(low_m: float, span_m: float, step_m: float) -> None:
    targets = targets_between(low_m, low_m + span_m, step_m)
    assert (targets[0], targets[-1]) == pytest.approx((low_m, low_m + span_m))
    steps = [b - a for a, b in itertools.pairwise(targets)]
    assert max(steps) <= 1.5 * step_m + 1e-9
    assert min(steps) > 0.0


@FEW
@given(st.lists(st.integers(44, 62), min_size=1, max_size=6, unique=True), st.integers(44, 62))
def test_another_wedge_never_lowers_coverage_and_never_widens_a_stretch(lofts: list[int], more: int) -> None:
    swings = TYPICAL_BAG.swings
    reports = []
    for chosen in (lofts, sorted({*lofts, more})):
        bag = Bag(tuple(Wedge(str(loft), float(loft)) for loft in chosen), swings)
        reports.append(report_of(FakePredictor(), bag, 40.0, 90.0))
    assert reports[1].coverage >= reports[0].coverage - 1e-12
    uncovered = [sum(one.width_m for one in report.stretches) for report in reports]
    assert uncovered[1] <= uncovered[0] + 1e-9
    for report in reports:  # the shading and the rule say the same of every target
        for target in report.targets_m:
            off = min(abs(shot.carry_m - target) for shot in report.shots)
            shaded = any(one.low_m <= target <= one.high_m for one in report.stretches)
            assert shaded == (off > 2.0) or off == pytest.approx(2.0, abs=1e-6)
