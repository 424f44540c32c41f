"""One distance low, stock and high, on a player in closed form."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import a_shot
from tests.fakes import TYPICAL_BAG, FakePredictor, as_predictor, fake_carry_m
from wedgelab.choose import Limits, OutOfReachError, find_flights, swings_for
from wedgelab.choose.limits import LimitsFailError
from wedgelab.errors import BadRequestError, NothingFitsError
from wedgelab.prediction import Day, ShotKind
from wedgelab.shots import TRAJECTORIES, Bag, Conditions, SwingLength, Wedge
from wedgelab.window import DEFAULT_WINDOW, WindowRule

STRETCH = {"low": 1.1, "stock": 1.0, "high": 0.9}


def by_flight(kind: ShotKind) -> float:
    return STRETCH[kind.trajectory] * fake_carry_m(kind)


PLAYER = as_predictor(FakePredictor(carry_m=by_flight))
ORDER = [(wedge.label, flight) for wedge in TYPICAL_BAG.wedges for flight in TRAJECTORIES]


@settings(max_examples=40, deadline=None, derandomize=True)
@given(target_m=st.floats(34.0, 114.0))
def test_each_wedge_and_flight_has_one_shot_near_the_target_or_is_said_not_to_reach_it(target_m: float) -> None:
    try:
        found = find_flights(PLAYER, TYPICAL_BAG, target_m, window=DEFAULT_WINDOW)
    except OutOfReachError:
        assert not 37.0 < target_m < 110.0
        return
    here = [(o.wedge, o.trajectory) for o in found.flights]
    missing = [(one.wedge, one.trajectory) for one in found.out_of_reach]
    assert sorted(here + missing) == sorted(ORDER)
    assert [pair for pair in ORDER if pair in here] == here
    for option in found.flights:
        kind = ShotKind(option.wedge, option.loft_deg, option.swing_deg, option.trajectory)
        assert option.carry_m == by_flight(kind)
        (exact,) = swings_for(
            PLAYER, [Wedge(option.wedge, option.loft_deg)], target_m, TYPICAL_BAG.swings, trajectory=option.trajectory
        )
        if exact is None:
            assert option.practised
            assert found.window_low_m <= option.carry_m <= found.window_high_m
        else:
            assert option.swing_deg == pytest.approx(exact, abs=1.26)
    for one in found.out_of_reach:
        assert not one.low_m <= target_m <= one.high_m


def test_the_same_carry_takes_a_shorter_swing_low_and_a_longer_one_high() -> None:
    found = find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW)
    for wedge in TYPICAL_BAG.wedges:
        swings = [o.swing_deg for o in found.flights if o.wedge == wedge.label]
        assert len(swings) == 3
        assert swings == sorted(swings)
        assert swings[0] < swings[2]
    carries = [o.carry_m for o in found.flights]
    assert carries == pytest.approx([70.0] * 9, abs=1.8)  # swings are named to five minutes


def test_a_named_swing_stands_for_one_as_near_as_anybody_swings() -> None:
    exact = by_flight(ShotKind("55", 55.0, 90.0))
    found = find_flights(PLAYER, TYPICAL_BAG, exact + 0.2, window=DEFAULT_WINDOW)
    (stock,) = [o for o in found.flights if (o.wedge, o.trajectory) == ("55", "stock")]
    assert (stock.swing, stock.practised) == ("9:00", True)


def test_a_bag_of_one_swing_reaches_only_what_lies_inside_the_window() -> None:
    bag = Bag((Wedge("55", 55.0),), (SwingLength("9:00", 90.0),))  # 74.2 m stock, 81.7 low, 66.8 high
    found = find_flights(PLAYER, bag, 74.0, window=WindowRule(fixed_m=2.0))
    assert [(o.wedge, o.trajectory) for o in found.flights] == [("55", "stock")]
    assert [one.trajectory for one in found.out_of_reach] == ["low", "high"]
    assert [one.low_m for one in found.out_of_reach] == pytest.approx([81.67, 66.82], abs=0.01)
    with pytest.raises(OutOfReachError) as caught:
        find_flights(PLAYER, bag, 70.0, window=WindowRule(fixed_m=1.0), unit="m")
    assert str(caught.value) == "70 m is out of reach; the nearest is 67 m: 55 9:00 high"


def test_out_of_reach_names_the_nearest_with_its_flight() -> None:
    with pytest.raises(OutOfReachError) as caught:
        find_flights(PLAYER, TYPICAL_BAG, 140.0, window=DEFAULT_WINDOW, unit="m")
    assert str(caught.value) == "140 m is out of reach; the nearest is 114 m: 50 10:30 low"
    with pytest.raises(BadRequestError):
        find_flights(PLAYER, Bag(), 60.0, window=DEFAULT_WINDOW)


def test_which_flights_were_never_logged_is_told_by_the_log() -> None:
    ask = find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, shots=[a_shot(), a_shot(trajectory="high")])
    assert ask.unlogged == ("low",)
    rough = find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, lie="rough", shots=[a_shot()])
    assert rough.unlogged == ("low", "high", "rough")
    assert {(o.lie, o.flight.flight_support) for o in rough.flights} == {("rough", "estimate")}


def test_flights_over_a_limit_are_left_out_and_all_of_them_are_told() -> None:
    # the fake's apex is a quarter of the carry, its landing angle the loft less 8 deg
    free = find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW)
    assert (free.limits, free.left_out, free.shots) == (Limits(), (), free.flights)
    steep = find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, limits=Limits(min_land_deg=45.0))
    assert [o.wedge for o in steep.flights] == ["55"] * 3 + ["60"] * 3
    assert [(o.wedge, o.trajectory) for o in steep.left_out] == [("50", flight) for flight in TRAJECTORIES]
    assert steep.shots == free.flights
    apexes = sorted(o.flight.apex_m for o in free.flights)
    low = find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, limits=Limits(max_apex_m=apexes[3]))
    assert [o for o in free.flights if o.flight.apex_m <= apexes[3]] == list(low.flights)
    assert len(low.flights) == 4


def test_limits_that_no_flight_keeps_name_the_nearest_and_it_has_an_answer() -> None:
    with pytest.raises(LimitsFailError) as caught:
        find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, unit="m", limits=Limits(max_apex_m=10.0))
    assert str(caught.value).startswith("no shot for 70 m stays under 10 m; the lowest apex is 17.")
    again = Limits(**caught.value.nearest)
    assert find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, limits=again).flights
    with pytest.raises(LimitsFailError, match=r"lands at 60 deg or more; the steepest landing is 52\.0 deg"):
        find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, limits=Limits(min_land_deg=60.0))


def test_on_a_day_it_is_the_days_carry_that_is_the_target() -> None:
    day = Day(Conditions(wind_mps=-10.0))  # the fake carries a tenth less against it
    found = find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, day=day, green="firm")
    assert (found.day, found.green) == (day, "firm")
    for option in found.flights:
        assert option.played_m == pytest.approx(70.0, abs=1.8)
        assert option.carry_m == pytest.approx(option.played_m / 0.9, rel=1e-9)
        assert option.flight.run_out_m == 4.0


def test_where_nothing_gets_up_to_the_green_it_says_so() -> None:
    flat = FakePredictor(carry_m=lambda _: 0.3)
    with pytest.raises(NothingFitsError, match="gets up to the green"):
        find_flights(flat, TYPICAL_BAG, 50.0, window=DEFAULT_WINDOW)
