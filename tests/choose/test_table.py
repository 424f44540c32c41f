"""The table of choices against the question that it stands for, target by target."""

import pytest

from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.choose import choose
from wedgelab.choose.table import choice_table
from wedgelab.errors import BadRequestError
from wedgelab.prediction import Day, ShotKind
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.window import DEFAULT_WINDOW, WindowRule

PLAYER = FakePredictor()
YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
TWO_SWINGS = (SwingLength("short", 45.0), SwingLength("long", 135.0))


def test_a_row_for_every_step_from_the_shortest_median_to_the_longest_rounded_outwards() -> None:
    rows = choice_table(PLAYER, TYPICAL_BAG, window=DEFAULT_WINDOW, step_m=5.0)
    # the bag reaches from 60 at 45 deg to 50 at 135 deg
    reach = fake_carry_m(ShotKind("60", 60.0, 45.0)), fake_carry_m(ShotKind("50", 50.0, 135.0))
    assert 35.0 < reach[0] < 40.0
    assert 100.0 < reach[1] < 105.0
    assert [row.target_m for row in rows] == pytest.approx([5.0 * k for k in range(7, 22)])
    assert (rows[1].window_low_m, rows[1].window_high_m) == pytest.approx((38.0, 42.0))  # 5 %, at least 2 m


def test_a_reach_that_ends_on_a_target_ends_there() -> None:
    even = FakePredictor(carry_m=lambda kind: 40.0 if kind.swing_deg < 90.0 else 90.0)
    rows = choice_table(even, Bag(TYPICAL_BAG.wedges, TWO_SWINGS), window=WindowRule(fixed_m=60.0), step_m=10.0)
    assert (rows[0].target_m, rows[-1].target_m) == pytest.approx((40.0, 90.0))


@pytest.mark.parametrize("day", [None, Day(Conditions(wind_mps=3.0))])
def test_best_is_what_choose_ranks_first_and_other_what_it_ranks_first_of_the_other_wedges(day: Day | None) -> None:
    steady = FakePredictor(carry_sd_m=lambda kind: 0.01 * fake_carry_m(kind))
    rows = choice_table(
        steady if day is None else steady.on(day), TYPICAL_BAG, window=DEFAULT_WINDOW, step_m=7.0 * YARD_M
    )
    assert len(rows) > 8
    for row in rows:
        wanted = choose(steady, TYPICAL_BAG, row.target_m, window=DEFAULT_WINDOW, day=day).best
        assert row.best is not None
        best = row.best
        assert (best.wedge.label, best.swing.label) == (wanted.wedge, wanted.swing)
        assert best.window_probability == pytest.approx(wanted.window_probability)
        assert best.prediction.carry_m == pytest.approx(wanted.played_m)
        assert best.prediction.spin_rpm == wanted.spin_rpm
        left = Bag(tuple(w for w in TYPICAL_BAG.wedges if w != best.wedge), TYPICAL_BAG.swings)
        ranked = [
            option
            for option in choose(steady, TYPICAL_BAG, row.target_m, window=DEFAULT_WINDOW, day=day).options
            if option.wedge != wanted.wedge
        ]
        if not ranked:
            assert row.other is None
            continue
        second = choose(steady, left, row.target_m, window=DEFAULT_WINDOW, day=day).best
        assert row.other is not None
        assert (row.other.wedge.label, row.other.swing.label) == (second.wedge, second.swing)
        assert row.other.window_probability == pytest.approx(ranked[0].window_probability)
    assert any(row.other is not None for row in rows)
    assert any(row.other is None for row in rows)


def test_two_wedges_of_one_label_are_two_wedges() -> None:
    bag = Bag((Wedge("50", 50.0), Wedge("55", 55.0)), TYPICAL_BAG.swings)
    rows = choice_table(PLAYER, bag, window=WindowRule(fixed_m=8.0), step_m=5.0)
    both = [row for row in rows if row.best is not None and row.other is not None]
    assert both
    assert all(row.best is not None and row.other is not None and row.best.wedge != row.other.wedge for row in both)


def test_one_wedge_has_no_other() -> None:
    rows = choice_table(PLAYER, Bag(TYPICAL_BAG.wedges[:1], TYPICAL_BAG.swings), window=DEFAULT_WINDOW, step_m=2.0)
    assert rows
    assert all(row.best is not None and row.other is None for row in rows)


def test_a_target_in_a_hole_stays_in_the_table_without_a_shot_and_unanswered_ends_do_not() -> None:
    # 60 always 42 m, 50 always 101 m, each within 1 %: nothing between, nothing at 40 and 105
    far_apart = FakePredictor(carry_m=lambda kind: 42.0 if kind.loft_deg == 60.0 else 101.0, carry_sd_m=lambda _: 0.4)
    bag = Bag((Wedge("60", 60.0), Wedge("50", 50.0)), TWO_SWINGS)
    rows = choice_table(far_apart, bag, window=WindowRule(fixed_m=1.2), step_m=1.0)
    answered = [row.target_m for row in rows if row.best is not None]
    # the reach is 42 to 101; 43 and 100 have a median inside the window of 1.2 m
    assert answered == pytest.approx([42.0, 43.0, 100.0, 101.0])
    assert rows[0].target_m == pytest.approx(answered[0])
    assert rows[-1].target_m == pytest.approx(answered[-1])
    assert [row.best for row in rows if 50.0 < row.target_m < 90.0] == [None] * 39


def test_nothing_that_gets_up_to_the_green_is_an_empty_table() -> None:
    never = FakePredictor(carry_m=lambda _: 0.0, carry_sd_m=lambda _: 0.1)
    assert choice_table(never, TYPICAL_BAG, window=DEFAULT_WINDOW, step_m=5.0) == ()


def test_the_share_done_rises_to_one() -> None:
    told: list[float] = []
    choice_table(PLAYER, TYPICAL_BAG, window=DEFAULT_WINDOW, step_m=5.0, on_step=told.append)
    assert told == sorted(told)
    assert len(told) > 2
    assert told[-1] == pytest.approx(1.0)


@pytest.mark.parametrize(("step_m", "shown"), [(0.0, "0.0"), (-5.0, "-5.0"), (float("nan"), "nan")])
def test_a_step_that_leads_nowhere_is_refused(step_m: float, shown: str) -> None:
    with pytest.raises(BadRequestError) as caught:
        choice_table(PLAYER, TYPICAL_BAG, window=DEFAULT_WINDOW, step_m=step_m)
    assert str(caught.value) == f"a step of {shown} m; give one above 0"


def test_an_empty_bag_says_what_it_lacks() -> None:
    with pytest.raises(BadRequestError, match="no wedge or no swing length"):
        choice_table(PLAYER, Bag((), TWO_SWINGS), window=DEFAULT_WINDOW, step_m=5.0)
