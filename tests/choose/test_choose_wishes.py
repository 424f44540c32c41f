"""Trajectories, lies, unbeaten options, and practised swings that are no option, on a player in closed form."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import a_shot
from tests.fakes import TYPICAL_BAG, FakePredictor, as_predictor, fake_carry_m
from wedgelab.choose import WANTS, WORTH_OFFERING, Choice, OutOfReachError, Want, choose, find_reach, swings_for
from wedgelab.prediction import ShotKind
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.window import DEFAULT_WINDOW, SidedWindow, WindowRule

STRETCH = {"low": 1.1, "stock": 1.0, "high": 0.9}


def by_flight(kind: ShotKind) -> float:
    return STRETCH[kind.trajectory] * fake_carry_m(kind)


PLAYER = as_predictor(FakePredictor(carry_m=by_flight))
ALL = ("low", "stock", "high")


@settings(max_examples=40, deadline=None, derandomize=True)
@given(target_m=st.floats(40.0, 100.0), want=st.sampled_from(WANTS))
def test_unbeaten_is_what_no_other_option_beats_and_there_is_always_one(target_m: float, want: Want) -> None:
    choice = choose(PLAYER, TYPICAL_BAG, target_m, window=DEFAULT_WINDOW, want=want, trajectories=ALL)
    sign = -1.0 if want == "low-spin" else 1.0
    unbeaten = [o for o in choice.options if o.is_unbeaten]
    for option in choice.options:
        better = [
            o
            for o in choice.options
            if o.chance >= option.chance
            and sign * o.spin_rpm >= sign * option.spin_rpm
            and (o.chance, o.spin_rpm) != (option.chance, option.spin_rpm)
        ]
        assert option.is_unbeaten == (not better)
    front = sorted(unbeaten, key=lambda o: (-o.chance, -sign * o.spin_rpm))
    assert front[0].chance == max(o.chance for o in choice.options)
    assert [sign * o.spin_rpm for o in front] == sorted(sign * o.spin_rpm for o in front)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(target_m=st.floats(42.0, 90.0))
def test_every_asked_trajectory_has_its_own_swing_for_the_target(target_m: float) -> None:
    choice = choose(PLAYER, TYPICAL_BAG, target_m, window=DEFAULT_WINDOW, trajectories=ALL)
    assert {o.trajectory for o in choice.options} <= set(ALL)
    for option in choice.options:
        kind = ShotKind(option.wedge, option.loft_deg, option.swing_deg, option.trajectory)
        assert option.carry_m == by_flight(kind)
        if not option.practised:
            (exact,) = swings_for(
                PLAYER, [Wedge(option.wedge, option.loft_deg)], target_m, TYPICAL_BAG.swings,
                trajectory=option.trajectory,
            )  # fmt: skip
            assert exact is not None
            assert option.swing_deg == pytest.approx(exact, abs=1.26)
            # source: the fake's own inverse
            full = STRETCH[option.trajectory] * 100.0 * (1.875 - 0.015 * option.loft_deg)
            assert exact == pytest.approx(2 * math.degrees(math.asin(target_m / full)), abs=0.25)


def test_stock_alone_unless_asked_and_one_flight_changes_nothing_of_another() -> None:
    stock = choose(PLAYER, TYPICAL_BAG, 60.0, window=DEFAULT_WINDOW)
    assert {o.trajectory for o in stock.options} == {"stock"}
    every = choose(PLAYER, TYPICAL_BAG, 60.0, window=DEFAULT_WINDOW, trajectories=ALL)

    def heart(choice: Choice) -> set[tuple[object, ...]]:
        return {(o.wedge, o.swing, o.window_probability) for o in choice.options if o.trajectory == "stock"}

    assert heart(every) == heart(stock)
    assert len(every.options) > len(stock.options)


def test_the_reach_is_that_of_the_asked_flights_and_the_error_says_which() -> None:
    longest = by_flight(ShotKind("50", 50.0, 135.0, "low"))
    assert longest > find_reach(PLAYER, TYPICAL_BAG).high_m + 5.0
    low = choose(PLAYER, TYPICAL_BAG, 112.0, window=DEFAULT_WINDOW, trajectories=("low",))
    assert low.best.wedge == "50"
    assert low.best.carry_m == pytest.approx(longest, rel=0.03)
    with pytest.raises(OutOfReachError) as caught:
        choose(PLAYER, TYPICAL_BAG, 130.0, window=DEFAULT_WINDOW, unit="m", trajectories=ALL)
    assert str(caught.value) == "130 m is out of reach; the nearest is 114 m: 50 10:30 low"


# --- from a lie that behaves differently


def from_rough(**changes: object) -> Choice:
    shots = [
        a_shot(wedge="55", loft_deg=55.0, swing_deg=90.0, lie="rough", **changes),
        a_shot(wedge="50", loft_deg=50.0, swing_deg=90.0, lie="fairway"),
    ]
    return choose(PLAYER, TYPICAL_BAG, 75.0, window=DEFAULT_WINDOW, lie="rough", shots=shots)


def test_a_flight_is_measured_by_balls_of_the_asked_lie_where_it_behaves_differently() -> None:
    choice = from_rough(spin_rpm=6000.0, land_deg=44.0)
    found = {(o.wedge, o.swing): o for o in choice.options}
    assert choice.unlogged == ()
    mine, other = found["55", "9:00"], found["50", "9:00"]
    assert (mine.lie, mine.flight.flight_support) == ("rough", "measured")
    # the fake says "measured" of every flight at 9:00, whatever the lie
    assert other.flight.flight_support == "estimate"
    unread = {o.flight.flight_support for o in from_rough(spin_rpm=6000.0).options}
    assert unread == {"estimate"}


def test_a_lie_never_logged_is_named_and_backs_nothing() -> None:
    shots = [a_shot(lie="mat"), a_shot(trajectory="low")]
    ask = {"window": DEFAULT_WINDOW, "shots": shots}
    choice = choose(PLAYER, TYPICAL_BAG, 75.0, lie="sand", trajectories=ALL, **ask)  # type: ignore[arg-type]
    assert choice.unlogged == ("high", "sand")
    assert {o.flight.flight_support for o in choice.options} == {"estimate"}
    ordinary = choose(PLAYER, TYPICAL_BAG, 75.0, lie="fairway", **ask)  # type: ignore[arg-type]
    assert ordinary.unlogged == ()
    assert "measured" in {o.flight.flight_support for o in ordinary.options}
    unknown = choose(PLAYER, TYPICAL_BAG, 75.0, window=DEFAULT_WINDOW, lie="sand")
    assert unknown.unlogged == ()  # no log to hold it against
    assert "measured" in {o.flight.flight_support for o in unknown.options}


# --- the nearest practised swing of each wedge


@settings(max_examples=40, deadline=None, derandomize=True)
@given(target_m=st.floats(42.0, 100.0))
def test_every_wedge_has_its_exact_swing_and_its_nearest_practised_one_somewhere(target_m: float) -> None:
    sharp = FakePredictor(carry_sd_m=lambda _: 1.5, covariance=lambda *_: 0.0)
    choice = choose(sharp, TYPICAL_BAG, target_m, window=WindowRule(fixed_m=2.0))
    for wedge in TYPICAL_BAG.wedges:
        exact = [o for o in choice.options if o.wedge == wedge.label and not o.practised]
        if not exact:
            continue
        (right,) = swings_for(sharp, [wedge], target_m, TYPICAL_BAG.swings)
        assert right is not None
        nearest = min(TYPICAL_BAG.swings, key=lambda s: abs(s.swing_deg - right))
        listed = [o for o in (*choice.options, *choice.left_out) if o.wedge == wedge.label and o.practised]
        assert nearest.label in {o.swing for o in listed}
    for one in choice.left_out:
        assert one.window_probability < WORTH_OFFERING or abs(choice.outside_m(one)) > 1.5
    assert not set(choice.left_out) & set(choice.options)


# --- a window whose sides differ


def test_room_on_one_side_moves_the_choice_to_that_side() -> None:
    bag = Bag(TYPICAL_BAG.wedges, (SwingLength("9:00", 90.0),))  # they carry 68.9, 74.2 and 79.5 m
    narrow, wide = WindowRule(fixed_m=1.0), WindowRule(fixed_m=10.0)
    past = choose(PLAYER, bag, 74.2, window=SidedWindow(narrow, wide))
    before = choose(PLAYER, bag, 74.2, window=SidedWindow(wide, narrow))
    assert (past.window_low_m, past.window_high_m) == pytest.approx((73.2, 84.2))
    assert (past.best.wedge, before.best.wedge) == ("50", "60")
    same = choose(PLAYER, bag, 74.2, window=SidedWindow(narrow, narrow))
    assert same.options == choose(PLAYER, bag, 74.2, window=narrow).options
