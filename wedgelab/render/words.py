"""Small pieces of text that every drawing shares, so that a number reads the same wherever it stands."""

from typing import Final

from wedgelab.prediction import SpinSupport, Support
from wedgelab.units import LengthUnit, format_length, format_number

CARRY_SIGNS: Final[dict[Support, str]] = {"measured": "", "between": "~", "beyond": "?"}
SUPPORT_LEGEND: Final = "~ between the logged shots, ? beyond them; spin in brackets: none was logged there yet"
RULES_LINE: Final = (
    "Rules: work this out before the round. During a round a player may carry such notes but may not "
    "run a program that recommends a shot (Rules of Golf 4.3a); the committee decides."
)


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
