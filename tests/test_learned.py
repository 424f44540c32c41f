"""What a session taught the chart: changes held against what was to be expected; and the sums of its balls."""

import math

import numpy as np
import pytest
from scipy import stats

from tests.conftest import a_shot
from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.learned import Known, hit_groups, is_as_expected, known_carries, what_was_learned
from wedgelab.model.player import fit_player
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.simulate import hit, invent_player

BAG = Bag((Wedge("50", 50.0), Wedge("58", 58.0)), (SwingLength("9:00", 90.0), SwingLength("full", 165.0)))
BEFORE = (Known(60.0, 2.0), Known(80.0, 4.0, "between"), Known(50.0, 1.0), Known(70.0, 2.0))
AFTER = (Known(61.0, 1.0), Known(74.0, 2.0), Known(50.0, 0.5), Known(67.4, 1.0))


def test_the_largest_change_comes_first_with_both_doubts() -> None:
    learned = what_was_learned(BAG, BEFORE, AFTER)
    assert [(cell.wedge, cell.swing, cell.change_m) for cell in learned.cells] == [
        ("50", "full", -6.0), ("58", "full", pytest.approx(-2.6)), ("50", "9:00", 1.0), ("58", "9:00", 0.0),
    ]  # fmt: skip
    first = learned.cells[0]
    assert (first.carry_before_m, first.carry_before_se_m, first.carry_m, first.carry_se_m) == (80.0, 4.0, 74.0, 2.0)
    assert (first.support_before, first.support) == ("between", "measured")
    assert (first.loft_deg, first.swing_deg, first.n_balls) == (50.0, 165.0, 0)
    assert learned.doubt_before == pytest.approx((2 / 60 + 4 / 80 + 1 / 50 + 2 / 70) / 4)
    assert learned.doubt_after == pytest.approx((1 / 61 + 2 / 74 + 0.5 / 50 + 1 / 67.4) / 4)
    assert not learned.from_others


def test_a_change_is_as_expected_up_to_what_a_session_makes_19_times_in_20() -> None:
    # the law of total variance: a median known to 5 % before and to 3 % after moved by sqrt(5^2 - 3^2) = 4 %
    then = Known(80.0, 4.0)
    sd = math.sqrt(0.05**2 + 0.003**2 - 0.03**2)  # beside what a player drifts
    edge = float(stats.t.ppf(0.975, 4)) * sd
    for change, expected in ((edge - 1e-6, True), (edge + 1e-6, False), (1e-6 - edge, True), (-edge - 1e-6, False)):
        carry_m = 80.0 * math.exp(change)
        now = Known(carry_m, 0.03 * carry_m)
        assert is_as_expected(then, now) == expected
        cells = what_was_learned(BAG, (BEFORE[0], then, *BEFORE[2:]), (AFTER[0], now, *AFTER[2:])).cells
        assert next(c for c in cells if (c.wedge, c.swing) == ("50", "full")).is_as_expected == expected


@pytest.mark.parametrize("after", [0.005, 0.01, 0.02, 0.3])
def test_where_nothing_was_learned_a_player_may_still_drift_and_a_third_of_the_doubt_is_nothing(after: float) -> None:
    # as well known after as before, or less well, as a suspected move makes it
    edge = 100.0 * math.exp(float(stats.t.ppf(0.975, 4)) * max(0.003, after / 3.0))
    assert is_as_expected(Known(100.0, 0.5), Known(edge - 0.01, after * edge))
    assert not is_as_expected(Known(100.0, 0.5), Known(edge + 0.01, after * edge))


def test_a_session_of_few_balls_is_not_judged() -> None:
    learned = what_was_learned(BAG, BEFORE, AFTER, can_tell=False)
    assert {cell.is_as_expected for cell in learned.cells} == {None}
    assert learned.unexpected == ()


def test_what_was_known_well_may_change_less_than_what_was_not() -> None:
    assert is_as_expected(Known(60.0, 6.0), Known(66.0, 1.0))
    assert not is_as_expected(Known(60.0, 1.0), Known(66.0, 1.0))


def changed_share(seed: int, change: float) -> float:
    """Share of cells that a fourth session of 20 balls changed by more than expected; it carried by ``change`` more."""
    rng = np.random.default_rng([20261126, seed])
    player = invent_player(rng)
    shots = []
    for day in range(4):
        wedge, swing = rng.integers(len(player.wedges), size=20), rng.integers(len(player.swings), size=20)
        swing_deg = np.array([player.swings[i].swing_deg for i in swing])
        hits = hit(player, wedge, swing_deg, rng, session=float(rng.standard_normal()))
        shots += [
            a_shot(
                session=f"day {day}", hit_at=f"2026-06-{day + 1:02d}T12:00:{i:02d}+02:00", wedge=player.wedges[w].label,
                loft_deg=player.wedges[w].loft_deg, swing=player.swings[s].label, swing_deg=player.swings[s].swing_deg,
                carry_m=float(carry) * (1.0 + change * (day == 3)),
            )
            for i, (w, s, carry) in enumerate(zip(wedge, swing, hits.carry_m, strict=True))
        ]  # fmt: skip
    bag = Bag(player.wedges, player.swings)
    before, after = (known_carries(fit_player(some), bag) for some in (shots[:60], shots))
    learned = what_was_learned(bag, before, after)
    return len(learned.unexpected) / len(learned.cells)


@pytest.mark.long
def test_a_player_who_stays_the_same_is_as_expected_and_one_who_hits_farther_often_is_not() -> None:
    same = [changed_share(seed, 0.0) for seed in range(60)]
    longer = [changed_share(seed, 0.04) for seed in range(60)]
    assert 0.01 < np.mean(same) < 0.10
    assert np.mean(longer) > 0.25
    assert np.mean([share > 0.0 for share in longer]) > 0.5


def test_balls_are_counted_as_the_model_counts_them() -> None:
    balls = [
        a_shot(wedge="50", loft_deg=50.0, swing_deg=95.0),
        a_shot(wedge="50", loft_deg=50.0, swing_deg=95.5),  # between the lengths
        a_shot(wedge="50", loft_deg=50.0, swing_deg=90.0, trajectory="low"),
        a_shot(wedge="50", loft_deg=52.0, swing_deg=90.0),  # bent since
        a_shot(wedge="58", loft_deg=58.0, swing_deg=160.0),
        a_shot(wedge="58", loft_deg=58.0, swing_deg=160.0, lie="sand"),
        a_shot(wedge="58", loft_deg=58.0, swing_deg=160.0, lie="tight"),
    ]
    cells = what_was_learned(BAG, BEFORE, AFTER, solid=balls).cells
    assert {(cell.wedge, cell.swing): cell.n_balls for cell in cells} == {
        ("50", "9:00"): 1, ("50", "full"): 0, ("58", "9:00"): 0, ("58", "full"): 2,
    }  # fmt: skip


def test_known_carries_are_the_predictors_row_by_row() -> None:
    predictor = FakePredictor()
    known = known_carries(predictor, TYPICAL_BAG)
    assert len(known) == 9
    # 50 deg at 7:30 comes first: 100 m x 1.125 x sin 22.5 deg; the fake's doubt is the root of 0.003
    assert known[0].carry_m == pytest.approx(112.5 * math.sin(math.radians(22.5)))
    assert known[0].carry_se_m == pytest.approx(known[0].carry_m * math.sqrt(0.003))
    assert [one.support for one in known[:3]] == ["between", "measured", "between"]
    assert [one.carry_m for one in known[:3]] == sorted(one.carry_m for one in known[:3])


def test_a_session_of_the_same_chart_teaches_nothing() -> None:
    learned = what_was_learned(BAG, BEFORE, BEFORE, from_others=True)
    assert learned.unexpected == ()
    assert learned.doubt_before == learned.doubt_after
    assert learned.from_others


SWINGS = (SwingLength("9:00", 90.0), SwingLength("full", 165.0))


def test_balls_of_a_named_length_are_summed_up() -> None:
    shots = [
        a_shot(carry_m=60.0, spin_rpm=8000.0),
        a_shot(carry_m=64.0, swing="9:10", swing_deg=94.0, spin_rpm=9000.0),
        a_shot(carry_m=70.0),
        a_shot(carry_m=20.0),
    ]
    (group,) = hit_groups(shots, [True, True, True, False], SWINGS)
    assert (group.wedge, group.swing, group.n_balls, group.n_solid) == ("54", "9:00", 4, 3)
    assert group.median_m == 64.0
    assert group.mean_m == pytest.approx(64.6667, abs=1e-3)
    assert group.sd_m == pytest.approx(5.0332, abs=1e-3)  # sqrt((4.667^2 + 0.667^2 + 5.333^2) / 2)
    assert (group.low_m, group.high_m, group.spin_rpm) == (20.0, 70.0, 8500.0)


def test_balls_between_the_named_lengths_have_no_median() -> None:
    shots = [a_shot(carry_m=60.0, swing_deg=100.0), a_shot(carry_m=70.0, swing_deg=130.0, spin_rpm=8000.0)]
    (group,) = hit_groups(shots, [True, True], SWINGS)
    assert (group.swing, group.n_solid, group.low_m, group.high_m) == ("", 2, 60.0, 70.0)
    assert (group.median_m, group.mean_m, group.sd_m, group.spin_rpm) == (None, None, None, None)
    assert hit_groups(shots, [True, True], ())[0].swing == ""  # a bag without any named length


def test_one_ball_has_no_spread_and_mishits_alone_no_median() -> None:
    (one,) = hit_groups([a_shot(carry_m=60.0)], [True], SWINGS)
    assert (one.median_m, one.sd_m) == (60.0, None)
    (off,) = hit_groups([a_shot(carry_m=60.0, strike="off")], [False], SWINGS)
    assert (off.median_m, off.n_solid, off.low_m) == (None, 0, 60.0)


def test_what_behaves_otherwise_stands_apart_in_order() -> None:
    shots = [
        a_shot(wedge="58", loft_deg=58.0, swing_deg=165.0),
        a_shot(wedge="58", loft_deg=58.0, swing_deg=120.0),
        a_shot(trajectory="low"),
        a_shot(lie="rough"),
        a_shot(lie="mat"),
        a_shot(),
    ]
    groups = hit_groups(shots, [True] * 6, SWINGS)
    assert [(g.wedge, g.swing, g.trajectory, g.lie, g.n_balls) for g in groups] == [
        ("54", "9:00", "low", "", 1), ("54", "9:00", "stock", "", 2), ("54", "9:00", "stock", "rough", 1),
        ("58", "full", "stock", "", 1), ("58", "", "stock", "", 1),
    ]  # fmt: skip
