"""The only conversion factors, and the only place that reads or writes a number together with its unit.

Exact factors: 1 yd = 0.9144 m, 1 ft = 0.3048 m, 1 in = 0.0254 m, 1 mph = 0.44704 m/s (NIST SP 811, appendix B.8).
Everything behind this module is SI, degrees and revolutions a minute.
"""

import math
import re
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Final, Literal

from wedgelab.errors import UnreadableValueError

LengthUnit = Literal["yd", "m"]

YARD_M: Final = 0.9144
FOOT_M: Final = 0.3048
INCH_M: Final = 0.0254
MPH_MPS: Final = 0.44704
KMH_MPS: Final = 1 / 3.6
KNOT_MPS: Final = 1852 / 3600
RPM_RADPS: Final = math.pi / 30
ZERO_CELSIUS_K: Final = 273.15
INCH_OF_MERCURY_HPA: Final = 33.86389  # conventional inch of mercury, NIST SP 811

CLOCK_ADDRESS_HOURS: Final = 6.0  # the lead arm hangs straight down
DEG_PER_HOUR: Final = 30.0
_MINUTES_PER_HOUR: Final = 60

# unit word -> (kind, multiply by, then add) to reach SI
_UNITS: Final[dict[str, tuple[str, float, float]]] = {
    **dict.fromkeys(("yd", "yds", "yard", "yards"), ("length", YARD_M, 0.0)),
    **dict.fromkeys(("m", "meter", "meters", "metre", "metres"), ("length", 1.0, 0.0)),
    **dict.fromkeys(("ft", "feet", "foot"), ("length", FOOT_M, 0.0)),
    **dict.fromkeys(("in", "inch", "inches"), ("length", INCH_M, 0.0)),
    **dict.fromkeys(("mm",), ("length", 0.001, 0.0)),
    **dict.fromkeys(("cm",), ("length", 0.01, 0.0)),
    **dict.fromkeys(("mps", "m/s", "ms"), ("speed", 1.0, 0.0)),
    **dict.fromkeys(("mph", "mi/h"), ("speed", MPH_MPS, 0.0)),
    **dict.fromkeys(("km/h", "kmh", "kph", "kmph"), ("speed", KMH_MPS, 0.0)),
    **dict.fromkeys(("kn", "kt", "kts", "knots"), ("speed", KNOT_MPS, 0.0)),
    **dict.fromkeys(("deg", "°", "degree", "degrees"), ("angle", 1.0, 0.0)),
    **dict.fromkeys(("rad",), ("angle", 180 / math.pi, 0.0)),
    **dict.fromkeys(("rpm", "1/min"), ("spin", 1.0, 0.0)),
    **dict.fromkeys(("rad/s", "radps"), ("spin", 1 / RPM_RADPS, 0.0)),
    **dict.fromkeys(("c", "°c", "degc", "celsius"), ("temperature", 1.0, 0.0)),
    **dict.fromkeys(("f", "°f", "degf", "fahrenheit"), ("temperature", 5 / 9, -32 * 5 / 9)),
    **dict.fromkeys(("k", "kelvin"), ("temperature", 1.0, -ZERO_CELSIUS_K)),
    **dict.fromkeys(("hpa", "mbar", "mb"), ("pressure", 1.0, 0.0)),
    **dict.fromkeys(("pa",), ("pressure", 0.01, 0.0)),
    **dict.fromkeys(("kpa",), ("pressure", 10.0, 0.0)),
    **dict.fromkeys(("inhg",), ("pressure", INCH_OF_MERCURY_HPA, 0.0)),
    **dict.fromkeys(("%", "pct", "percent"), ("share", 1.0, 0.0)),
}

_NUMBER: Final = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?")
_QUANTITY: Final = re.compile(rf"\s*(?P<number>{_NUMBER.pattern})\s*(?P<unit>(?<=\s)1/min|[A-Za-z°%/]*)\s*")
_LAST_HOUR: Final = 13.0
_BARE: Final = re.compile(r"\s*\d+(?:[.,]\d*)?\s*", re.ASCII)
_CLOCK: Final = re.compile(r"\s*(?P<hours>\d{1,2})\s*[:h]\s*(?P<minutes>\d{2})\s*", re.ASCII)
_WIDE: Final = Context(prec=400)  # every float has fewer digits than this when it is written out in full


def unit_kind(unit: str) -> str | None:
    """Return the kind of quantity (``length``, ``speed``, ...) that a unit word measures, or None."""
    found = _UNITS.get(unit.strip().casefold())
    return found[0] if found else None


def to_si(value: float, unit: str) -> float:
    """Return a value given in ``unit`` in this project's unit of its kind (m, m/s, deg, rpm, degC, hPa, %)."""
    _, factor, offset = _UNITS[unit.strip().casefold()]
    return value * factor + offset


def from_si(value: float, unit: str) -> float:
    """Return an SI value in ``unit``; the inverse of `to_si`."""
    _, factor, offset = _UNITS[unit.strip().casefold()]
    return (value - offset) / factor


def parse_number(text: str, what: str = "number") -> float:
    """Read a plain number; a decimal comma is understood, a thousands separator is refused because it is a guess."""
    cleaned = text.strip().replace("\u2212", "-")
    if not cleaned.isascii() or not _NUMBER.fullmatch(cleaned):
        raise UnreadableValueError(what, text, "give a plain number such as 62.5")
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", cleaned):
        raise UnreadableValueError(what, text, "it could mean thousands or decimals: write it without the comma")
    number = float(cleaned.replace(",", "."))
    if not math.isfinite(number):  # "1e999" is too big for a float
        raise UnreadableValueError(what, text, "give a plain number such as 62.5")
    return number


def parse_quantity(text: str, kind: str, default_unit: str, what: str, example: str) -> float:
    """Read ``"85yd"``, ``"62,5 m"``, ``"12C"`` or a bare number in ``default_unit``; return the value in SI.

    Raises
    ------
    UnreadableValueError
        for anything else, a unit of another kind included.
    """
    wanted = f"give {example}"
    match = _QUANTITY.fullmatch(text.replace("\u2212", "-").replace("\u00a0", " "))
    if match is None:
        raise UnreadableValueError(what, text, wanted)
    unit = match["unit"].casefold() or default_unit
    if unit_kind(unit) != kind:
        raise UnreadableValueError(what, text, wanted)
    return to_si(parse_number(match["number"], what), unit)


def parse_length(text: str, default_unit: LengthUnit, what: str = "distance") -> float:
    """Read a distance such as ``68``, ``68yd`` or ``62m``; return metres."""
    return parse_quantity(text, "length", default_unit, what, "a distance such as 68, 68yd or 62m")


def parse_speed(text: str, default_unit: LengthUnit, what: str = "speed") -> float:
    """Read a speed such as ``78mph`` or ``35m/s``; a bare number is mph for yards, m/s for metres. Return m/s."""
    unit = "mph" if default_unit == "yd" else "mps"
    return parse_quantity(text, "speed", unit, what, "a speed such as 78mph or 35m/s")


def parse_swing_deg(text: str, what: str = "swing") -> float:
    """Read a swing length: clock form ``9:00``, or degrees of the lead arm at the top, ``90`` or ``90deg``.

    0 deg is the arm hanging at address, 90 deg level with the ground: ``deg = (hours - 6) * 30``.
    """
    clock = _CLOCK.fullmatch(text)
    if clock is None:
        if _BARE.fullmatch(text) and parse_number(text, what) <= _LAST_HOUR:
            # nine o'clock or nine degrees: the first is likely meant, the second would be believed
            raise UnreadableValueError(what, text, "it could be an hour or degrees: write it like 9:00 or 9deg")
        return parse_quantity(text, "angle", "deg", what, "clock form such as 9:00 or degrees such as 90")
    hours, minutes = int(clock["hours"]), int(clock["minutes"])
    if minutes >= _MINUTES_PER_HOUR or not (6, 10) <= (hours, minutes) <= (13, 0):
        raise UnreadableValueError(what, text, "give a clock time from 6:10 to 13:00, such as 9:00")
    # whole minutes first: 8:10 is 65 deg and not 64.99999999999999
    return ((hours - CLOCK_ADDRESS_HOURS) * _MINUTES_PER_HOUR + minutes) * DEG_PER_HOUR / _MINUTES_PER_HOUR


def looks_like_clock(text: str) -> bool:
    """Tell whether a text has the clock form, whatever its hour."""
    return _CLOCK.fullmatch(text) is not None


def format_clock(swing_deg: float, step_minutes: int = 1) -> str:
    """Write a swing length in clock form, rounded half up to ``step_minutes``: 90 becomes ``9:00``."""
    minutes_exact = (swing_deg / DEG_PER_HOUR + CLOCK_ADDRESS_HOURS) * _MINUTES_PER_HOUR / step_minutes
    minutes = int(rounded(minutes_exact, 0)) * step_minutes
    return f"{minutes // _MINUTES_PER_HOUR}:{minutes % _MINUTES_PER_HOUR:02d}"


def rounded(value: float, digits: int = 0) -> Decimal:
    """Round half away from zero at the decimal that a reader sees (60.5 becomes 61, not 60)."""
    exact = Decimal(repr(float(value)))
    if not exact.is_finite():
        return exact
    return exact.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP, context=_WIDE)


def format_number(value: float | None, digits: int = 0, missing: str = "-") -> str:
    """Write a number with a fixed count of decimals, rounded half up; ``missing`` for None and NaN; never ``-0``."""
    if value is None or not math.isfinite(value):
        return missing
    shown = rounded(value, digits)
    return f"{abs(shown) if shown == 0 else shown:f}"


def in_unit(length_m: float, unit: LengthUnit) -> float:
    """Return metres in the unit that the player reads."""
    return length_m / YARD_M if unit == "yd" else length_m


def from_unit(length: float, unit: LengthUnit) -> float:
    """Return a length in the player's unit in metres; the inverse of `in_unit`."""
    return length * YARD_M if unit == "yd" else length


def format_length(length_m: float | None, unit: LengthUnit, digits: int = 0) -> str:
    """Write a length in the player's unit, without the unit's word."""
    return format_number(None if length_m is None else in_unit(length_m, unit), digits)
