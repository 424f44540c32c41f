"""Where balls come down: the region of one future ball against scipy, by simulation, and what is counted."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from tests.conftest import a_shot
from wedgelab.dispersion import TOO_FEW, SwingDispersion, WedgeDispersion, dispersions
from wedgelab.dispersion.region import FEWEST_FREEDOM, FEWEST_OWN, f_quantile_of_two, reach_of_one_ball
from wedgelab.shots import Bag, Shot, SwingLength, Wedge

Floats = NDArray[np.float64]
BAG = Bag((Wedge("54", 54.0),), (SwingLength("8:00", 60.0), SwingLength("9:00", 90.0), SwingLength("full", 165.0)))
READING_M2 = 0.9144**2 / 12.0  # variance of a number rounded to a yard (JCGM 100:2008, 4.3.7)
CARRY_M = {60.0: 40.0, 90.0: 62.0, 165.0: 90.0}


def balls(points: Sequence[tuple[float, float | None]], swing_deg: float = 90.0, **changes: object) -> list[Shot]:
    """Shots of (carry, sideways miss)."""
    return [
        a_shot(swing_deg=swing_deg, carry_m=float(carry), offline_m=None if side is None else float(side), **changes)
        for carry, side in points
    ]


def only(shots: Sequence[Shot], bag: Bag = BAG) -> WedgeDispersion:
    (one,) = dispersions(shots, bag)
    return one


def normal_shots(rng: np.random.Generator, n: int, swing_deg: float = 90.0) -> tuple[Floats, Floats]:
    """Sideways misses and carries [m] of balls that spread normally, the longer ones to the left."""
    carry = CARRY_M[swing_deg]
    covariance = np.array([[0.04**2, -0.0012], [-0.0012, 0.06**2]]) * carry**2
    drawn = rng.multivariate_normal([0.02 * carry, carry], covariance, n)
    return drawn[:, 0], drawn[:, 1]


def invented(rng: np.random.Generator, counts: dict[float, int]) -> list[Shot]:
    return [
        shot
        for swing_deg, n in counts.items()
        for shot in balls([(c, s) for s, c in zip(*normal_shots(rng, n, swing_deg), strict=True)], swing_deg)
    ]


@pytest.mark.parametrize("freedom", [1, 2, 3, 5, 9, 30, 400])
@pytest.mark.parametrize("share", [0.5, 0.8, 0.99])
def test_the_quantile_of_f_is_scipys(freedom: int, share: float) -> None:
    assert f_quantile_of_two(freedom, share) == pytest.approx(float(stats.f.ppf(share, 2, freedom)), rel=1e-9)


@pytest.mark.parametrize("n", [5, 12, 40])
def test_the_reach_is_the_textbook_formula_of_one_sample(n: int) -> None:
    # Johnson & Wichern, Applied Multivariate Statistical Analysis, result 5.6, with p = 2
    p = 2
    wanted = p * (n - 1) * (n + 1) / (n * (n - p)) * float(stats.f.ppf(0.8, p, n - p))
    assert reach_of_one_ball(n, n - 1) ** 2 == pytest.approx(wanted, rel=1e-9)


def test_with_very_many_balls_the_reach_is_that_of_a_known_covariance() -> None:
    assert reach_of_one_ball(10**7, 10**7) ** 2 == pytest.approx(float(stats.chi2.ppf(0.8, 2)), rel=1e-5)


def test_the_region_is_the_ellipse_of_the_sample_covariance_and_of_the_rounding_of_a_reading() -> None:
    shots = invented(np.random.default_rng(1), {90.0: 20})
    (swing,) = only(shots).swings
    assert swing.region is not None
    rows = np.array([[s.offline_m / s.carry_m, math.log(s.carry_m)] for s in shots if s.offline_m is not None])
    rounding = np.mean([READING_M2 / s.carry_m**2 for s in shots]) * np.eye(2)
    inverse, reach2 = np.linalg.inv(np.cov(rows, rowvar=False) + rounding), reach_of_one_ball(20, 19) ** 2
    for offline, carry in swing.region.outline:
        off = np.array([offline / carry, math.log(carry)]) - rows.mean(axis=0)
        assert off @ inverse @ off == pytest.approx(reach2)
    assert swing.region.outline[0] == swing.region.outline[-1]
    for shot, row in zip(shots, rows, strict=True):
        off = row - rows.mean(axis=0)
        assert shot.offline_m is not None
        assert swing.region.holds(shot.offline_m, shot.carry_m) == (
            off @ inverse @ off <= reach_of_one_ball(20, 19) ** 2
        )
    left, right, short, far = swing.region.box
    assert left < swing.offline_mean_m < right
    assert short < swing.carry_mean_m < far


def coverage(counts: dict[float, int], swing_deg: float, rounds: int, seed: int) -> tuple[float, bool]:
    """Return the share of future balls inside the region drawn from earlier ones, and whether it was pooled."""
    rng = np.random.default_rng(seed)
    inside, pooled = 0.0, False
    for _ in range(rounds):
        swing = next(s for s in only(invented(rng, counts)).swings if s.swing_deg == swing_deg)
        assert swing.region is not None
        pooled = swing.region.is_pooled
        inside += sum(swing.region.holds(s, c) for s, c in zip(*normal_shots(rng, 8, swing_deg), strict=True)) / 8
    return inside / rounds, pooled


@pytest.mark.parametrize(
    ("counts", "swing_deg", "is_pooled"),
    [
        pytest.param({90.0: 5}, 90.0, False, id="five balls of one swing"),
        pytest.param({90.0: 25}, 90.0, False, id="many balls of one swing"),
        pytest.param({60.0: 3, 90.0: 4, 165.0: 2}, 90.0, True, id="few of each, pooled"),
        pytest.param({60.0: 20, 90.0: 1}, 90.0, True, id="one ball and the spread of another swing"),
    ],
)
@pytest.mark.parametrize(
    "rounds", [pytest.param(150, id="short"), pytest.param(3000, id="long", marks=pytest.mark.long)]
)
def test_eight_future_balls_of_ten_come_down_inside(
    counts: dict[float, int], swing_deg: float, is_pooled: bool, rounds: int
) -> None:
    share, pooled = coverage(counts, swing_deg, rounds, seed=rounds)
    assert pooled == is_pooled
    # the balls of one round share their region: at the most as far apart as one yes or no a round
    assert share == pytest.approx(0.8, abs=3.5 * math.sqrt(0.8 * 0.2 / rounds) + 0.005)


def test_a_region_that_took_the_estimate_for_the_truth_would_be_seen_to_hold_too_little() -> None:
    # the same simulation with the chi-square of a known covariance: what the test above must be able to find
    rng = np.random.default_rng(5)
    inside = []
    for _ in range(400):
        (swing,) = only(invented(rng, {90.0: 5})).swings
        assert swing.region is not None
        sides, carries = normal_shots(rng, 8)
        off = np.array([sides / carries - swing.region.side, np.log(carries) - swing.region.log_carry])
        lower = np.array([[swing.region.side_sd, 0.0], [swing.region.lean, swing.region.log_sd]])
        inside.append(float((np.sum(np.linalg.solve(lower, off) ** 2, axis=0) <= stats.chi2.ppf(0.8, 2)).mean()))
    assert np.mean(inside) < 0.68


def test_the_numbers_of_a_swing_are_those_of_its_balls() -> None:
    sides = [-3.0, 0.0, 1.0, 2.0, 5.0]
    one = only(balls([(60.0 + i, side) for i, side in enumerate(sides)]))
    (swing,) = one.swings
    assert (swing.n, swing.swing, swing.swing_deg) == (5, "9:00", 90.0)
    assert swing.points == tuple((side, 60.0 + i) for i, side in enumerate(sides))
    assert swing.carry_mean_m == pytest.approx(62.0)
    assert swing.offline_mean_m == pytest.approx(np.mean(sides))
    assert swing.offline_sd_m == pytest.approx(math.sqrt(np.var(sides, ddof=1) + READING_M2))
    assert swing.offline_se_m == pytest.approx(math.sqrt((np.var(sides, ddof=1) + READING_M2) / 5))
    assert (swing.left_share, swing.right_share) == (0.2, 0.6)
    angles = np.degrees(np.arctan2(sides, [60.0 + i for i in range(5)]))
    assert one.side_mean_deg == pytest.approx(np.mean(angles))
    rounding = np.mean([READING_M2 * math.degrees(1.0 / (60.0 + i)) ** 2 for i in range(5)])
    assert one.side_sd_deg == pytest.approx(math.sqrt(np.var(angles, ddof=1) + rounding))
    assert one.side_se_deg == pytest.approx(math.sqrt((np.var(angles, ddof=1) + rounding) / 5))
    assert (one.n, one.n_sessions, one.left_share, one.right_share) == (5, 1, 0.2, 0.6)


def test_a_mean_over_sessions_is_as_doubtful_as_their_differences_make_it() -> None:
    days = {"a": [1.0, 1.2, 0.8], "b": [-3.0, -3.2, -2.8], "c": [2.0, 2.1, 1.9]}
    one = only([shot for day, sides in days.items() for shot in balls([(60.0, s) for s in sides], session=day)])
    every = np.concatenate(list(days.values()))
    beyond = [len(sides) * (np.mean(sides) - every.mean()) for sides in days.values()]
    # Cameron & Miller 2015 (from memory): G / (G - 1) times the sum of squares of what each session leaves, over N^2
    wanted = math.sqrt(3 / 2 * sum(x * x for x in beyond)) / 9
    assert one.n_sessions == 3
    assert one.swings[0].offline_se_m == pytest.approx(wanted)
    assert wanted > math.sqrt((np.var(every, ddof=1) + READING_M2) / 9)


def test_the_doubt_of_a_mean_is_right_on_average_where_days_alone_differ() -> None:
    rng = np.random.default_rng(3)
    counts = (12, 2, 4)
    errors, variances = [], []
    for _ in range(1500):
        days = rng.normal(0.0, 5.0, len(counts))
        shots = [
            shot
            for i, (day, n) in enumerate(zip(days, counts, strict=True))
            for shot in balls([(60.0, day)] * n, session=str(i))
        ]
        (swing,) = only(shots).swings
        assert swing.offline_se_m is not None
        errors.append(swing.offline_mean_m)
        variances.append(swing.offline_se_m**2)
    # by chance 3 % off; the usual factor G / (G - 1) would give less than half
    assert 0.9 < np.mean(variances) / np.mean(np.square(errors)) < 1.25


def test_sessions_that_agree_by_chance_make_a_mean_no_surer_than_its_balls_do() -> None:
    sides = [1.0, -1.0, 3.0, -3.0]
    one = only([shot for day in "ab" for shot in balls([(60.0, s) for s in sides], session=day)])
    assert one.swings[0].offline_se_m == pytest.approx(math.sqrt((np.var(sides * 2, ddof=1) + READING_M2) / 8))


def test_equal_rounded_misses_are_no_certain_ones() -> None:
    # five balls all read as 1 yd right of 68 yd: each may be half a yard off
    one = only(balls([(62.179, 0.9144)] * 5))
    (swing,) = one.swings
    assert swing.offline_sd_m == pytest.approx(0.264, abs=1e-3)  # a yard over the root of twelve
    assert one.side_se_deg is not None
    assert one.side_se_deg > 0.05
    assert swing.region is not None
    left, right, short, far = swing.region.box
    assert left < 0.5 * 0.9144 < 1.5 * 0.9144 < right
    assert far - short > 0.9144


@pytest.mark.parametrize("lie", ["rough", "sand"])
def test_balls_from_rough_and_sand_change_nothing_and_are_counted(lie: str) -> None:
    rng = np.random.default_rng(7)
    mat = [shot.replace(lie="mat") for shot in invented(rng, {90.0: 16})]
    bunker = [shot.replace(lie=lie, carry_m=0.5 * shot.carry_m) for shot in invented(rng, {90.0: 5})]
    plain, mixed = only(mat), only([*mat, *bunker])
    assert mixed.swings == plain.swings
    assert (plain.n_other_lie, mixed.n_other_lie, mixed.n) == (0, 5, 16)
    assert mixed.side_mean_deg == plain.side_mean_deg
    # the same balls off grass are like those off the mat
    turf = [shot.replace(lie="fairway") for shot in bunker]
    assert (only([*mat, *turf]).n, only([*mat, *turf]).n_other_lie) == (21, 0)


def test_a_ball_counts_for_the_nearest_swing_length_within_five_degrees() -> None:
    near = [balls([(60.0, 1.0)], swing_deg=deg)[0] for deg in (85.0, 95.0, 60.0)]
    far = [balls([(60.0, 1.0)], swing_deg=deg)[0] for deg in (84.9, 95.1, 120.0)]
    one = only([*near, *far])
    assert {swing.swing: swing.n for swing in one.swings} == {"8:00": 1, "9:00": 2}
    assert (one.n, one.n_other_swing) == (3, 3)


def test_what_is_left_out_is_counted() -> None:
    shots = [
        *balls([(60.0, 1.0), (61.0, None), (62.0, None)]),
        *balls([(50.0, 2.0)], trajectory="low"),
        *balls([(70.0, None)], trajectory="high"),
        *balls([(60.0, 1.0)], loft_deg=56.0),  # the club before it was bent
        *balls([(60.0, 1.0)], wedge="58", loft_deg=58.0),
        *balls([(60.0, None)], lie="sand"),
    ]
    one = only(shots)
    assert (one.n, one.n_no_offline, one.n_other_flight, one.n_other_swing, one.n_other_lie) == (1, 2, 2, 0, 1)


def test_labels_are_matched_without_their_case() -> None:
    bag = Bag((Wedge("Gap", 50.0),), BAG.swings)
    assert only(balls([(60.0, 1.0)], wedge="GAP", loft_deg=50.0), bag).n == 1


def test_no_ball_is_an_empty_record_and_one_ball_has_no_spread() -> None:
    nothing = only([])
    assert (nothing.swings, nothing.n) == ((), 0)
    assert nothing.side_mean_deg is nothing.side_se_deg is nothing.side_sd_deg is nothing.left_share is None
    (swing,) = only(balls([(60.0, 0.0)])).swings
    assert (swing.offline_mean_m, swing.offline_se_m, swing.offline_sd_m) == (0.0, None, None)
    assert (swing.left_share, swing.right_share) == (0.0, 0.0)
    assert swing.region is None
    assert (swing.no_region, swing.n_missing) == (TOO_FEW, 4)


def swings_of(counts: dict[float, int]) -> dict[float, SwingDispersion]:
    return {swing.swing_deg: swing for swing in only(invented(np.random.default_rng(2), counts)).swings}


def test_the_wedges_other_swings_lend_their_spread_where_there_are_few_balls() -> None:
    few = swings_of({60.0: FEWEST_OWN - 1, 90.0: FEWEST_OWN})
    assert few[60.0].region is not None
    assert few[60.0].region.is_pooled
    assert few[90.0].region is not None
    assert not few[90.0].region.is_pooled
    alone = swings_of({60.0: FEWEST_OWN - 1})
    assert alone[60.0].region is not None
    assert not alone[60.0].region.is_pooled  # nobody there to lend


@pytest.mark.parametrize(
    ("counts", "missing"), [({90.0: FEWEST_FREEDOM}, 1), ({60.0: 2, 90.0: 2}, 2), ({60.0: 20, 90.0: 1}, 0)]
)
def test_with_too_few_balls_there_is_no_region_and_it_is_told_how_many_are_missing(
    counts: dict[float, int], missing: int
) -> None:
    swings = swings_of(counts)
    assert len(swings) == len(counts)
    for swing in swings.values():
        assert (swing.region is None) == (missing > 0)
        assert (swing.no_region, swing.n_missing) == (TOO_FEW if missing else "", missing)


@pytest.mark.parametrize(
    "points",
    [[(60.0, 1.0)] * 6, [(60.0 + i, 0.0) for i in range(6)], [(60.0, float(i)) for i in range(6)]],
    ids=["one place", "on the target line", "one carry"],
)
def test_balls_on_a_line_have_a_region_as_wide_as_their_rounding(points: list[tuple[float, float | None]]) -> None:
    (swing,) = only(balls(points)).swings
    assert swing.region is not None
    left, right, short, far = swing.region.box
    assert min(right - left, far - short) > 0.9144
    assert all(swing.region.holds(side, carry) for carry, side in points[1:5] if side is not None)
