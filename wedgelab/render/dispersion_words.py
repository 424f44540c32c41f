"""What a dispersion says in words, shared by its picture, its table and the page."""

import math
from typing import Final

from wedgelab.dispersion import SwingDispersion, WedgeDispersion
from wedgelab.drill.intervals import t_quantile
from wedgelab.render.words import count_text, percent_text, wedge_title
from wedgelab.units import LengthUnit, format_length, format_number

SURE: Final = 0.9  # of the interval that must leave out straight
FEWEST_TO_SAY: Final = 5  # with fewer, one ball decides what an interval says
_Z_SURE: Final = 1.6448536269514722  # normal quantile at 0.95: half of the rest at either side


def miss_text(offline_m: float | None, unit: LengthUnit) -> str:
    """Write a sideways miss with its side: 1.2 R, 0.8 L, 0.0."""
    return _sided(format_length(offline_m, unit, 1))


def angle_text(side_deg: float | None) -> str:
    """Write a direction with its side: 1.2 R."""
    return _sided(format_number(side_deg, 1))


def no_region_text(swing: SwingDispersion) -> str:
    """Say why a swing length has no region, nothing where it has one."""
    if not swing.no_region:
        return ""
    balls = count_text(swing.n_missing, "more ball")
    return f"too few balls for a region: {balls} with a sideways miss would make one"


def is_told_apart(one: WedgeDispersion) -> bool:
    """Tell whether the 90 % interval of a wedge's mean direction leaves out straight; never of a few balls."""
    if one.n < FEWEST_TO_SAY or one.side_se_deg is None or one.side_mean_deg is None:
        return False
    return abs(one.side_mean_deg) > _quantile(_freedom(one)) * one.side_se_deg


def told_text(one: WedgeDispersion) -> str:
    """Say whether a wedge's mean direction can be told from straight, and how surely."""
    if one.n < FEWEST_TO_SAY or one.side_mean_deg is None:
        return "too few balls to say whether that is straight"
    sure = f"({percent_text(SURE)} interval)"
    if not is_told_apart(one):
        return f"cannot be told from straight {sure}"
    side = "left" if one.side_mean_deg < 0.0 else "right"
    day = ", but all of one day: the day may be the reason" if one.n_sessions == 1 else ""
    return f"{side} of straight {sure}{day}"


def direction_line(one: WedgeDispersion) -> str:
    """Say to which side a wedge's balls go on average, and whether that can be told from straight."""
    title = wedge_title(one.wedge, one.loft_deg)
    if one.side_se_deg is None or one.side_sd_deg is None or one.side_mean_deg is None:
        return f"{title}: {angle_text(one.side_mean_deg)} deg, one ball."
    balls = f"over {count_text(one.n, 'ball')} of {count_text(one.n_sessions, 'session')}"
    return (
        f"{title}: {angle_text(one.side_mean_deg)} ±{format_number(one.side_se_deg, 1)} deg on average {balls}; "
        f"{told_text(one)}. Single balls ±{format_number(one.side_sd_deg, 1)} deg."
    )


def _freedom(one: WedgeDispersion) -> int:
    """Return the degrees of freedom of a mean: from two sessions on they are what there is to judge days by."""
    return one.n_sessions - 1 if one.n_sessions > 1 else one.n - 1


def _quantile(freedom: int) -> float:
    """Return Student's t at 0.95: in closed form where its series would be some percent too low."""
    if freedom == 1:
        return math.tan(0.45 * math.pi)
    if freedom == 2:
        return SURE * math.sqrt(2.0 / (1.0 - SURE**2))
    return t_quantile(freedom, _Z_SURE)


def _sided(shown: str) -> str:
    if shown == "-" or float(shown) == 0.0:
        return shown
    return f"{shown.removeprefix('-')} {'L' if shown.startswith('-') else 'R'}"
