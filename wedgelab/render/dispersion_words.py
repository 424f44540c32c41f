"""Small pieces of text for a dispersion, shared by its picture and its table."""

from wedgelab.units import LengthUnit, format_length, format_number


def miss_text(offline_m: float | None, unit: LengthUnit) -> str:
    """Write a sideways miss with its side: 1.2 R, 0.8 L, 0.0."""
    return _sided(format_length(offline_m, unit, 1))


def angle_text(side_deg: float | None) -> str:
    """Write a direction with its side: 1.2 R."""
    return _sided(format_number(side_deg, 1))


def _sided(shown: str) -> str:
    if shown == "-" or float(shown) == 0.0:
        return shown
    return f"{shown.removeprefix('-')} {'L' if shown.startswith('-') else 'R'}"
