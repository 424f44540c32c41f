"""Small pieces of text that every drawing shares, so that a number reads the same wherever it stands."""

from collections.abc import Collection
from typing import Final

from wedgelab.errors import printable
from wedgelab.prediction import Day, FlightSupport, SpinSupport, Support
from wedgelab.render.layout import shorten
from wedgelab.shots import Conditions
from wedgelab.units import LengthUnit, format_length, format_number

CARRY_SIGNS: Final[dict[Support, str]] = {"measured": "", "between": "~", "beyond": "?"}
CARRY_LEGEND: Final = "~ between the logged shots, ? beyond them"
SPIN_LEGEND: Final = "spin in brackets: none was logged there yet"
SUPPORT_LEGEND: Final = f"{CARRY_LEGEND}; {SPIN_LEGEND}"
MISSING: Final = "-"
RULES_LINE: Final = (
    "Rules: work this out before the round. During a round a player may carry such notes but may not "
    "run a program that recommends a shot (Rules of Golf 4.3a); the committee decides."
)

DAY_RULES_LINE: Final = (
    "Rules: a forecast may be used, and notes made before the round. Measuring the wind, or how far a green lies above "
    "or below, is not allowed during one, nor a program that works it out then (Rules of Golf 4.3a); the committee "
    "decides."
)
CARD_RULES_LINE: Final = "Made before the round; the committee decides (Rules of Golf 4.3a)."
RANGE_SAFETY_LINE: Final = (
    "Range safety: stay behind the line, hit only when nobody is near the target, stop for lightning and ball pickers."
)
_MOST_BOXES: Final = 20
STANDARD_AIR: Final = "standard air (15 C, 1013 hPa, dry, calm)"


def conditions_text(conditions: Conditions) -> str:
    """Say what was given of the air, in words."""
    c = conditions
    parts = [
        (c.air_temp_c, "{} C", 1),
        (c.altitude_m, "{} m above the sea", 0),
        (c.station_pressure_hpa, "{} hPa", 0),
        (c.humidity_pct, "{} % humidity", 0),
    ]
    said = [words.format(format_number(value, n).removesuffix(".0")) for value, words, n in parts if value is not None]
    for value, plus, minus in (
        (c.wind_mps, "tail wind", "head wind"),
        (c.cross_wind_mps, "wind from the left", "wind from the right"),
    ):
        if value is not None:
            speed = format_number(abs(value), 1).removesuffix(".0")
            said.append(f"{plus if value > 0 else minus} {speed} m/s" if value else f"no {plus}")
    return ", ".join(said)


def reference_text(reference: Conditions) -> str:
    """Say what the chart's carries are for; what the player left open is the standard air."""
    return conditions_text(reference) or STANDARD_AIR


def day_text(day: Day, unit: LengthUnit) -> str:
    """Say what day was asked for, in words."""
    said = [conditions_text(day.conditions)] if not day.conditions.is_empty else []
    if day.rise_m:
        rise = target_text(abs(day.rise_m), unit)
        said.append(f"green {rise} {'above' if day.rise_m > 0 else 'below'} the ball")
    return ", ".join(said) or "as in the reference"


def target_text(length_m: float, unit: LengthUnit) -> str:
    """Write a length that was asked for with its unit, to a tenth where it has one."""
    return f"{format_length(length_m, unit, 1).removesuffix('.0')} {unit}"


def worked_out_line(where: str = "this distance") -> str:
    """Say what the star beside a swing means."""
    return f"* worked out for {where}, not one of the named swing lengths"


def boxes_line(lacking: Collection[str]) -> str:
    """Say that a picture or a paper has boxes in the place of signs."""
    what = "a sign" if len(lacking) == 1 else f"{len(lacking)} signs"
    return f"a box stands for {what} that the font lacks: {shorten(printable(''.join(sorted(lacking))), _MOST_BOXES)}"


def span_text(low_m: float, high_m: float, unit: LengthUnit) -> str:
    """Write a span of lengths that may start below nothing."""
    low, high = format_length(low_m, unit), format_length(high_m, unit)
    if low == high == MISSING:
        return MISSING
    return f"{low} to {high}" if low.startswith("-") else f"{low}-{high}"


def estimate_text(shown: str, support: FlightSupport) -> str:
    """Put what was not measured in brackets."""
    return shown if support == "measured" or shown == MISSING else f"({shown})"


def carry_text(carry_m: float, support: Support, unit: LengthUnit, digits: int = 0) -> str:
    """Write a carry in the player's unit, marked where no logged shot stands behind it."""
    return CARRY_SIGNS[support] + format_length(carry_m, unit, digits)


def range_text(low_m: float, high_m: float, unit: LengthUnit) -> str:
    """Write a span of lengths in the player's unit."""
    return f"{format_length(low_m, unit)}-{format_length(high_m, unit)}"


def spin_text(spin_rpm: float, support: SpinSupport) -> str:
    """Write a spin to the next 50 rpm, in brackets where no reading stands behind it."""
    shown = format_number(50 * float(format_number(spin_rpm / 50)))
    return shown if support == "measured" else f"({shown})"


def percent_text(share: float, digits: int = 0) -> str:
    """Write a share as a percentage."""
    return f"{format_number(100.0 * share, digits)} %"


def count_text(n: int, one: str, many: str | None = None) -> str:
    """Write a count with its noun: 1 ball, 2 balls."""
    return f"{n} {one if n == 1 else many or one + 's'}"


def signed_length(length_m: float, unit: LengthUnit, digits: int = 1) -> str:
    """Write a miss with its sign; long is positive."""
    shown = format_length(length_m, unit, digits)
    return shown if shown.startswith("-") or float(shown) == 0 else f"+{shown}"


def wedge_title(label: str, loft_deg: float) -> str:
    """Write a wedge with its loft, once if the label says it already."""
    loft = format_number(loft_deg, 1).removesuffix(".0")
    return label if label == loft else f"{label} ({loft})"
