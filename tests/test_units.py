"""Conversions are exact, texts are read as a player writes them, and what is refused says why."""

import math
from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab import units
from wedgelab.errors import UnreadableValueError
from wedgelab.units import (
    LengthUnit,
    format_clock,
    format_length,
    format_number,
    from_si,
    from_unit,
    in_unit,
    looks_like_clock,
    parse_length,
    parse_number,
    parse_quantity,
    parse_speed,
    parse_swing_deg,
    rounded,
    to_si,
    unit_kind,
)

ALL_UNIT_WORDS = sorted(units._UNITS)
LENGTH_UNITS: tuple[LengthUnit, ...] = ("yd", "m")


# --- factors: NIST SP 811 (2008), appendix B.8, exact unless said otherwise


@pytest.mark.parametrize(
    ("value", "unit", "si"),
    [
        (1, "yd", 0.9144),
        (1, "ft", 0.3048),
        (1, "in", 0.0254),
        (1, "mm", 0.001),
        (1, "cm", 0.01),
        (1, "m", 1.0),
        (1, "mph", 0.44704),
        (3.6, "km/h", 1.0),
        (3600, "knots", 1852.0),  # 1 nautical mile = 1852 m
        (30, "rad/s", 900 / math.pi),  # 1 rpm = pi/30 rad/s
        (1, "1/min", 1.0),
        (1, "rad", 180 / math.pi),
        (32, "F", 0.0),  # degC = (degF - 32)/1.8
        (212, "F", 100.0),
        (-40, "F", -40.0),
        (273.15, "K", 0.0),  # degC = K - 273.15
        (1, "kPa", 10.0),
        (101325, "Pa", 1013.25),  # 1 standard atmosphere
        (1, "mbar", 1.0),
        (1, "inHg", 33.86389),  # conventional inch of mercury, 3.386389 E+03 Pa
        (7, "%", 7.0),
    ],
)
def test_factor_to_si(value: float, unit: str, si: float) -> None:
    assert to_si(value, unit) == pytest.approx(si, rel=1e-15, abs=1e-13)


def test_the_length_factors_are_exact_decimals() -> None:
    assert Fraction(str(units.YARD_M)) == 3 * Fraction(str(units.FOOT_M)) == 36 * Fraction(str(units.INCH_M))
    assert Fraction(str(units.MPH_MPS)) == 5280 * Fraction(str(units.FOOT_M)) / 3600


@pytest.mark.parametrize(
    ("unit", "kind"),
    [
        ("yd", "length"), ("Yards", "length"), (" m ", "length"), ("feet", "length"),
        ("mph", "speed"), ("m/s", "speed"), ("km/h", "speed"), ("kt", "speed"),
        ("deg", "angle"), ("°", "angle"), ("rad", "angle"),
        ("rpm", "spin"), ("rad/s", "spin"), ("1/min", "spin"),
        ("°C", "temperature"), ("F", "temperature"), ("K", "temperature"),
        ("hPa", "pressure"), ("inHg", "pressure"), ("%", "share"),
        ("furlongs", None), ("", None), ("yd.", None),
    ],
)  # fmt: skip
def test_kind_of_a_unit_word(unit: str, kind: str | None) -> None:
    assert unit_kind(unit) == kind


# --- round trips


@given(st.floats(-1e6, 1e6), st.sampled_from(ALL_UNIT_WORDS))
def test_to_si_and_back(value: float, unit: str) -> None:
    assert from_si(to_si(value, unit), unit) == pytest.approx(value, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("unit", ALL_UNIT_WORDS)
def test_every_unit_word_can_be_typed_after_a_number(unit: str) -> None:
    kind = unit_kind(unit)
    assert kind is not None
    assert parse_quantity(f"12 {unit}", kind, "none", "x", "y") == to_si(12, unit)


@given(st.integers(1, 3000), st.sampled_from(LENGTH_UNITS))
def test_a_typed_length_is_shown_as_typed(tenths: int, unit: LengthUnit) -> None:
    typed = f"{tenths / 10:.1f}"
    length_m = parse_length(f"{typed}{unit}", "m")
    assert format_length(length_m, unit, 1) == typed
    assert from_unit(in_unit(length_m, unit), unit) == pytest.approx(length_m, rel=1e-15)


def test_85_yards_stay_85_yards() -> None:
    assert parse_length("85", "yd") == pytest.approx(77.724)
    assert format_length(parse_length("85", "yd"), "yd") == "85"


@given(st.integers(6 * 60 + 10, 13 * 60))
def test_clock_to_degrees_and_back(minutes: int) -> None:
    clock = f"{minutes // 60}:{minutes % 60:02d}"
    assert format_clock(parse_swing_deg(clock)) == clock


@given(st.integers(10, 420).map(lambda half: half / 2))
def test_degrees_to_clock_and_back(swing_deg: float) -> None:
    assert parse_swing_deg(format_clock(swing_deg)) == pytest.approx(swing_deg, abs=1e-9)


# --- rounding as a reader expects it


@pytest.mark.parametrize(
    ("value", "digits", "shown"),
    [
        (60.5, 0, "61"),
        (61.5, 0, "62"),
        (-60.5, 0, "-61"),
        (60.49999, 0, "60"),
        (2.675, 2, "2.68"),  # its binary value is a little less; a reader sees 2.675
        (0.05, 1, "0.1"),
        (1234.5, -2, "1200"),
        (62, 2, "62.00"),
        (-0.4, 0, "0"),
        (-0.0, 1, "0.0"),
        (-0.04, 1, "0.0"),
        (1e30, 0, "1" + "0" * 30),
        (1e-30, 1, "0.0"),
        (None, 1, "-"),
        (math.nan, 1, "-"),
        (math.inf, 1, "-"),
    ],
)
def test_number_as_shown(value: float | None, digits: int, shown: str) -> None:
    assert format_number(value, digits) == shown


@given(st.floats(-1e300, 1e300), st.integers(0, 4))
def test_a_shown_number_is_near_and_never_minus_zero(value: float, digits: int) -> None:
    shown = format_number(value, digits)
    assert abs(Fraction(shown) - Fraction(value)) <= Fraction(1, 2 * 10**digits) + abs(Fraction(value)) / 10**15
    assert not (shown.startswith("-") and float(shown) == 0)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_stays_so(value: float) -> None:
    assert not rounded(value, 1).is_finite()


def test_missing_word_can_be_chosen() -> None:
    assert format_number(None, 1, missing="none") == "none"
    assert format_length(None, "yd") == "-"


@pytest.mark.parametrize(
    ("swing_deg", "step_minutes", "clock"),
    [(90, 1, "9:00"), (45, 1, "7:30"), (135, 1, "10:30"), (0, 1, "6:00"), (210, 1, "13:00"), (89.9, 1, "9:00"),
     (90.25, 1, "9:01"), (97.5, 30, "9:30"), (97.4, 30, "9:00"), (164.9, 1, "11:30")],
)  # fmt: skip
def test_clock_form(swing_deg: float, step_minutes: int, clock: str) -> None:
    assert format_clock(swing_deg, step_minutes) == clock


# --- reading


@pytest.mark.parametrize(
    ("text", "number"),
    [("62.5", 62.5), ("62,5", 62.5), (" 7 ", 7.0), ("-3", -3.0), ("+3", 3.0), ("\u22123", -3.0), (".5", 0.5),
     ("5.", 5.0), ("1e2", 100.0), ("0,123", 0.123), ("1.234", 1.234), ("1234,5", 1234.5), ("62.5\u00a0", 62.5)],
)  # fmt: skip
def test_number_read(text: str, number: float) -> None:
    assert parse_number(text) == number


@pytest.mark.parametrize(
    ("text", "unit", "metres"),
    [("68", "m", 68.0), ("68", "yd", 62.1792), ("68yd", "m", 62.1792), ("62m", "yd", 62.0), ("62,5 m", "yd", 62.5),
     ("10 FT", "m", 3.048), ("62\u00a0m", "yd", 62.0), (" 68 yards ", "m", 62.1792)],
)  # fmt: skip
def test_length_read(text: str, unit: LengthUnit, metres: float) -> None:
    assert parse_length(text, unit) == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "unit", "mps"),
    [
        ("78mph", "m", 34.86912),
        ("35m/s", "yd", 35.0),
        ("78", "yd", 34.86912),
        ("35", "m", 35.0),
        ("36 km/h", "m", 10.0),
    ],
)
def test_speed_read(text: str, unit: LengthUnit, mps: float) -> None:
    assert parse_speed(text, unit) == pytest.approx(mps, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "swing_deg"),
    [("9:00", 90), ("7:30", 45), ("10:30", 135), ("06:10", 5), ("13:00", 210), (" 9 : 00 ", 90), ("9h00", 90),
     ("90", 90), ("90deg", 90), ("90°", 90), ("92,5", 92.5)],
)  # fmt: skip
def test_swing_read(text: str, swing_deg: float) -> None:
    assert parse_swing_deg(text) == pytest.approx(swing_deg, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "clock"),
    [("9:00", True), ("25:00", True), ("9h30", True), ("90", False), ("9:5", False), ("full", False)],
)
def test_looks_like_clock(text: str, clock: bool) -> None:
    assert looks_like_clock(text) is clock


@pytest.mark.parametrize(
    ("text", "kind", "default", "si"),
    [("12C", "temperature", "c", 12.0), ("50F", "temperature", "c", 10.0), ("1013", "pressure", "hpa", 1013.0),
     ("55 %", "share", "%", 55.0), ("5000 1/min", "spin", "rpm", 5000.0), ("5000rpm", "spin", "rpm", 5000.0)],
)  # fmt: skip
def test_quantity_read(text: str, kind: str, default: str, si: float) -> None:
    assert parse_quantity(text, kind, default, "value", "an example") == pytest.approx(si, abs=1e-12)


# --- refusing, each with its whole sentence

PLAIN = "give a plain number such as 62.5"
COMMA = "it could mean thousands or decimals: write it without the comma"
DISTANCE = "give a distance such as 68, 68yd or 62m"
SPEED = "give a speed such as 78mph or 35m/s"
CLOCK = "give a clock time from 6:10 to 13:00, such as 9:00"
SWING = "give clock form such as 9:00 or degrees such as 90"


def _length(text: str) -> float:
    return parse_length(text, "yd")


def _speed(text: str) -> float:
    return parse_speed(text, "yd")


@pytest.mark.parametrize(
    ("read", "text", "what", "seen", "wanted"),
    [
        (parse_number, "", "number", "''", PLAIN),
        (parse_number, "abc", "number", "'abc'", PLAIN),
        (parse_number, "nan", "number", "'nan'", PLAIN),
        (parse_number, "inf", "number", "'inf'", PLAIN),
        (parse_number, "-inf", "number", "'-inf'", PLAIN),
        (parse_number, "1e999", "number", "'1e999'", PLAIN),  # would become inf
        (parse_number, "1_000", "number", "'1_000'", PLAIN),
        (parse_number, "1 000", "number", "'1 000'", PLAIN),
        (parse_number, "1,234.5", "number", "'1,234.5'", PLAIN),
        (parse_number, "0x10", "number", "'0x10'", PLAIN),
        (parse_number, "--3", "number", "'--3'", PLAIN),
        (parse_number, "\u0663", "number", "'\u0663'", PLAIN),  # a digit of another script
        (parse_number, "\x1b[2J", "number", r"'\x1b[2J'", PLAIN),
        (parse_number, "1,234", "number", "'1,234'", COMMA),
        (parse_number, "-12,345", "number", "'-12,345'", COMMA),
        (_length, "", "distance", "''", DISTANCE),
        (_length, "m", "distance", "'m'", DISTANCE),
        (_length, "nan", "distance", "'nan'", DISTANCE),
        (_length, "inf", "distance", "'inf'", DISTANCE),
        (_length, "1_000", "distance", "'1_000'", DISTANCE),
        (_length, "12 furlongs", "distance", "'12 furlongs'", DISTANCE),
        (_length, "12 mph", "distance", "'12 mph'", DISTANCE),
        (_length, "12 C", "distance", "'12 C'", DISTANCE),
        (_length, "12 yd 3", "distance", "'12 yd 3'", DISTANCE),
        (_length, "1,234 m", "distance", "'1,234'", COMMA),
        (_length, "1e999 m", "distance", "'1e999'", PLAIN),
        (_speed, "78 yd", "speed", "'78 yd'", SPEED),
        (_speed, "fast", "speed", "'fast'", SPEED),
        (parse_swing_deg, "25:00", "swing", "'25:00'", CLOCK),
        (parse_swing_deg, "9:75", "swing", "'9:75'", CLOCK),
        (parse_swing_deg, "5:59", "swing", "'5:59'", CLOCK),
        (parse_swing_deg, "14:00", "swing", "'14:00'", CLOCK),
        (parse_swing_deg, "9:5", "swing", "'9:5'", SWING),
        (parse_swing_deg, "", "swing", "''", SWING),
        (parse_swing_deg, "half", "swing", "'half'", SWING),
        (parse_swing_deg, "90 yd", "swing", "'90 yd'", SWING),
        (parse_swing_deg, "-9:00", "swing", "'-9:00'", SWING),
        (parse_swing_deg, "\u0669:\u0660\u0660", "swing", "'\u0669:\u0660\u0660'", SWING),
    ],
)
def test_refused_text(read: Callable[[str], float], text: str, what: str, seen: str, wanted: str) -> None:
    with pytest.raises(UnreadableValueError) as caught:
        read(text)
    assert str(caught.value) == f"{what} {seen} cannot be read; {wanted}"


def test_a_number_glued_to_a_rate_is_not_guessed() -> None:
    with pytest.raises(UnreadableValueError, match=r"^spin '50001/min' cannot be read; give x$"):
        parse_quantity("50001/min", "spin", "rpm", "spin", "x")
