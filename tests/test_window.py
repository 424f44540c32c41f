"""The band around a call: what is read, what is refused, and how wide it comes out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.errors import EXIT_USAGE, UnreadableValueError
from wedgelab.shots import LIMITS, Shot
from wedgelab.units import YARD_M, LengthUnit
from wedgelab.window import DEFAULT_WINDOW, SidedWindow, WindowRule, parse_sides, parse_window

ALLOWED = "give a share such as 4% (0.5 to 50) or a distance such as 3yd"


@pytest.mark.parametrize(("call_m", "half_m"), [(10.0, 2.0), (40.0, 2.0), (60.0, 3.0), (100.0, 5.0)])
def test_the_usual_window_is_five_percent_and_at_least_two_metres(call_m: float, half_m: float) -> None:
    rule = parse_window("", "yd")
    assert rule == DEFAULT_WINDOW == WindowRule(share=0.05, least_m=2.0, fixed_m=None)
    assert rule.half_m(call_m) == pytest.approx(half_m, rel=1e-15)
    assert rule.around(call_m) == pytest.approx((call_m - half_m, call_m + half_m), rel=1e-15)


@pytest.mark.parametrize("text", ["4%", " 4 % ", "4,0%", "4.0%"])
def test_an_explicit_share_has_no_least_width(text: str) -> None:
    rule = parse_window(text, "yd")
    assert rule.half_m(20.0) == pytest.approx(0.8, rel=1e-15)
    assert rule.half_m(100.0) == pytest.approx(4.0, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "unit", "half_m"),
    [("3yd", "m", 3 * 0.9144), ("3", "yd", 3 * 0.9144), ("3", "m", 3.0), ("2.5 m", "yd", 2.5), ("6ft", "yd", 1.8288)],
)
def test_an_explicit_distance_is_the_same_for_every_call(text: str, unit: LengthUnit, half_m: float) -> None:
    rule = parse_window(text, unit)
    assert rule.half_m(30.0) == rule.half_m(150.0) == pytest.approx(half_m, rel=1e-15)


@pytest.mark.parametrize(
    "text",
    ["0.4%", "51%", "0%", "-4%", "%", "abc%", "4%%", "nan%", "0yd", "-3yd", "60yd", "0.05 m", "abc", "3kg", "4 pct"],
)
def test_refused_text_says_what_was_typed_and_both_allowed_forms(text: str) -> None:
    with pytest.raises(UnreadableValueError) as caught:
        parse_window(text, "yd")
    assert str(caught.value) == f"window '{text}' cannot be read; {ALLOWED}"
    assert caught.value.exit_code == EXIT_USAGE


def test_a_share_that_could_mean_thousands_is_refused() -> None:
    with pytest.raises(UnreadableValueError) as caught:
        parse_window("1,234%", "yd")
    assert str(caught.value) == (
        "window '1,234' cannot be read; it could mean thousands or decimals: write it without the comma"
    )


@pytest.mark.parametrize("edge", ["0.5%", "50%", "0.1m", "50m"])
def test_the_limits_themselves_are_allowed(edge: str) -> None:
    assert parse_window(edge, "m").half_m(60.0) == pytest.approx(
        {"0.5%": 0.3, "50%": 30.0, "0.1m": 0.1, "50m": 50.0}[edge]
    )


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("", "yd", "5 % each side, at least 2.2 yd"),
        ("", "m", "5 % each side, at least 2.0 m"),
        ("4%", "yd", "4 % each side"),
        ("7%", "yd", "7 % each side"),
        ("10%", "yd", "10 % each side"),
        ("2.5%", "m", "2.5 % each side"),
        ("3yd", "yd", "3.0 yd each side"),
        ("3yd", "m", "2.7 m each side"),
    ],
)
def test_the_rule_in_words(text: str, unit: LengthUnit, words: str) -> None:
    assert parse_window(text, unit).describe(unit) == words


@given(share_pct=st.floats(0.5, 50.0), call_m=st.floats(*LIMITS["target_m"][:2]))
def test_a_ball_can_be_stored_with_every_window_that_can_be_asked_for(share_pct: float, call_m: float) -> None:
    # half a percent of 10 m, and half of 150 m, once lay outside what a shot may hold: the ball was refused
    rule = parse_window(f"{share_pct:.6f}%", "m")
    half = rule.half_m(call_m)
    shot = Shot(
        shot_id="a", player="P", session="s", hit_at="2026-06-03T18:30:00+02:00", wedge="54", loft_deg=54.0,
        swing="9:00", swing_deg=90.0, carry_m=60.0, target_m=call_m, window_m=half,
    )  # fmt: skip
    assert shot.window_m == half
    assert half == pytest.approx(min(max(round(share_pct, 6) / 100.0 * call_m, 0.1), 50.0), rel=1e-12)


@given(half_yd=st.floats(0.2, 54.0))
def test_a_distance_in_yards_comes_back_in_yards(half_yd: float) -> None:
    rule = parse_window(f"{half_yd:.4f}yd", "m")
    assert rule.half_m(80.0) / YARD_M == pytest.approx(half_yd, abs=1e-4)


# --- sides apart


@pytest.mark.parametrize(
    ("short", "long", "usual", "edges"),
    [
        ("2m", "6m", DEFAULT_WINDOW, (58.0, 66.0)),
        ("2m", None, DEFAULT_WINDOW, (58.0, 63.0)),  # the other side as usual: 5 % of 60
        (None, "10%", WindowRule(fixed_m=1.0), (59.0, 66.0)),
        ("4%", "4%", DEFAULT_WINDOW, (57.6, 62.4)),
    ],
)
def test_each_side_is_as_wide_as_it_says(
    short: str | None, long: str | None, usual: WindowRule, edges: tuple[float, float]
) -> None:
    assert parse_sides(short, long, "yd", usual).around(60.0) == pytest.approx(edges, rel=1e-12)


@given(call_m=st.floats(5.0, 150.0), short_m=st.floats(0.2, 50.0), long_m=st.floats(0.2, 50.0))
def test_two_equal_sides_are_the_plain_window_and_the_sides_do_not_touch_each_other(
    call_m: float, short_m: float, long_m: float
) -> None:
    short, long = WindowRule(fixed_m=short_m), WindowRule(fixed_m=long_m)
    assert SidedWindow(short, short).around(call_m) == short.around(call_m)
    assert SidedWindow(short, long).around(call_m) == (short.around(call_m)[0], long.around(call_m)[1])


@pytest.mark.parametrize(
    ("short", "long", "unit", "words"),
    [
        ("3yd", None, "yd", "short 3.0 yd; long 5 %, at least 2.2 yd"),
        ("3yd", "4%", "m", "short 2.7 m; long 4 %"),
    ],
)
def test_the_sides_in_words(short: str, long: str | None, unit: LengthUnit, words: str) -> None:
    assert parse_sides(short, long, unit, DEFAULT_WINDOW).describe(unit) == words


@pytest.mark.parametrize(("short", "long", "side"), [("0%", None, "short side"), (None, "60yd", "long side")])
def test_a_side_that_cannot_be_read_is_named(short: str | None, long: str | None, side: str) -> None:
    with pytest.raises(UnreadableValueError) as caught:
        parse_sides(short, long, "yd", DEFAULT_WINDOW)
    assert str(caught.value) == f"{side} '{short or long}' cannot be read; {ALLOWED}"
