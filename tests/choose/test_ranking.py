"""The order under a wish: which options it looks at, what it cannot tell apart, and who is the one to weigh against."""

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.choose import WANTS, Choice, Option, Want, choose
from wedgelab.choose.options import near_best
from wedgelab.choose.ranking import find_rival, least_chance, rank
from wedgelab.prediction import FlightEstimate, ShotKind
from wedgelab.window import DEFAULT_WINDOW

FLIGHT = FlightEstimate(46.0, 15.0, 3.5, 20.0, 7000.0, 1.0, 2.0, 4.0, 0.0, "measured")


def an_option(wedge: str, chance: float, spin_rpm: float = 8000.0, **changes: Any) -> Option:
    values: dict[str, Any] = {
        "wedge": wedge, "loft_deg": 54.0, "swing": "9:00", "swing_deg": 90.0, "practised": True, "carry_m": 60.0,
        "carry_sd_m": 3.0, "carry_se_m": 1.0, "carry_p10_m": 56.0, "carry_p90_m": 64.0, "window_probability": chance,
        "spin_rpm": spin_rpm, "spin_sd_rpm": 400.0, "spin_se_rpm": 100.0, "n_shots": 4, "support": "measured",
        "spin_support": "measured", "flight": FLIGHT,
    }  # fmt: skip
    return Option(**values | changes)


def flying(apex_m: float = 15.0, land_deg: float = 46.0) -> FlightEstimate:
    return replace(FLIGHT, apex_m=apex_m, land_deg=land_deg)


def order(want: Want, *options: Option) -> list[str]:
    near = near_best(options, least_chance(options), 57.0, 63.0)
    return [option.wedge for option in rank(options, want, near)]


def test_a_median_outside_the_window_is_never_put_first_by_a_wish_while_another_lies_inside() -> None:
    # a soft landing once put a shot first whose median was short of the window
    short = an_option("58", 0.45, 9500.0, carry_m=56.0, flight=flying(20.0, 52.0))
    inside = an_option("54", 0.50)
    for want in ("spin", "soft", "high"):
        assert order(want, short, inside) == ["54", "58"]
    assert order("soft", short, replace(inside, carry_m=64.0)) == ["58", "54"]  # without any inside the chance is all


@pytest.mark.parametrize("want", [want for want in WANTS if want != "window"])
@given(target_m=st.floats(37.0, 110.0))
def test_the_first_of_a_wish_lies_inside_the_window_if_a_good_chance_does(want: Want, target_m: float) -> None:
    wide = FakePredictor(carry_sd_m=lambda kind: 0.12 * fake_carry_m(kind))
    choice = choose(wide, TYPICAL_BAG, target_m, window=DEFAULT_WINDOW, want=want)
    best = max(o.window_probability for o in choice.options)
    good = [o for o in choice.options if o.window_probability >= 0.75 * best + 0.005]
    if any(choice.outside_m(o) == 0.0 for o in good):
        assert choice.outside_m(choice.best) == 0.0
        assert all(choice.outside_m(o) == 0.0 for o in choice.wished)


@pytest.mark.parametrize(
    ("want", "changes", "first"),
    [
        ("spin", {"spin_rpm": 8049.0}, "54"),
        ("spin", {"spin_rpm": 8051.0}, "58"),
        ("spin", {"spin_rpm": 8249.0, "spin_se_rpm": 1000.0}, "54"),  # a quarter of what the median is known to
        ("spin", {"spin_rpm": 8251.0, "spin_se_rpm": 1000.0}, "58"),
        ("low-spin", {"spin_rpm": 7951.0}, "54"),
        ("low-spin", {"spin_rpm": 7949.0}, "58"),
        ("high", {"flight": flying(apex_m=15.49)}, "54"),
        ("high", {"flight": flying(apex_m=15.51)}, "58"),
        ("low", {"flight": flying(apex_m=14.51)}, "54"),
        ("low", {"flight": flying(apex_m=14.49)}, "58"),
        ("soft", {"flight": flying(land_deg=46.9)}, "54"),
        ("soft", {"flight": flying(land_deg=47.1)}, "58"),
    ],
)
def test_what_the_wish_cannot_tell_apart_is_decided_by_the_chance(
    want: Want, changes: dict[str, Any], first: str
) -> None:
    assert order(want, an_option("54", 0.50), an_option("58", 0.45, **changes))[0] == first


def test_the_next_after_a_tie_is_told_from_the_best_of_the_rest() -> None:
    # 54, 52, 50 and 48 deg by 0.6: each equals its neighbour and no farther one
    row = [an_option(name, 0.50 + 0.01 * i, flight=flying(land_deg=50.0 - 0.6 * i)) for i, name in enumerate("abcd")]
    assert order("soft", *row) == ["b", "a", "d", "c"]
    assert order("soft", *reversed(row)) == ["b", "a", "d", "c"]


def test_a_flight_that_never_comes_down_is_the_last_of_a_wish() -> None:
    nowhere = an_option("58", 0.9, flight=flying(math.nan, math.nan))
    for want in ("high", "low", "soft"):
        assert order(want, nowhere, an_option("54", 0.8)) == ["54", "58"]


@given(best=st.floats(0.02, 1.0), other=st.floats(0.01, 1.0))
def test_the_least_chance_agrees_with_the_percentages_that_are_shown(best: float, other: float) -> None:
    # from the rough "30 % or more" was said of a list whose next option showed 30 % too
    least = least_chance([an_option("54", best)])
    shown = [math.floor(100.0 * share + 0.5) for share in (other, 0.75 * best)]
    assert (other >= least) == (shown[0] >= shown[1])


def test_nearly_equal_spin_is_no_trade() -> None:
    best, more = an_option("54", 0.60, 8000.0), an_option("58", 0.58, 8040.0)
    assert find_rival([best, more], "window") is None
    assert find_rival([best, replace(more, spin_rpm=8060.0)], "window") is not None


def test_the_choice_knows_how_far_a_median_lies_outside() -> None:
    choice = Choice(60.0, 57.0, 63.0, "window", 0.0, (an_option("54", 0.5),), None)
    off = [choice.outside_m(an_option("54", 0.5, carry_m=carry)) for carry in (55.5, 57.0, 60.0, 63.0, 64.0)]
    assert off == [-1.5, 0.0, 0.0, 0.0, 1.0]


def test_the_standard_error_of_the_spin_is_the_predictors() -> None:
    choice = choose(FakePredictor(), TYPICAL_BAG, 60.0, window=DEFAULT_WINDOW)
    (prediction,) = FakePredictor().predict([ShotKind("50", 50.0, 90.0)])
    assert {option.spin_se_rpm for option in choice.options} == {prediction.spin_se_rpm}
