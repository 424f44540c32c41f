"""Where the balls came down as plain text of at most 80 columns: a small drawing a wedge, the numbers, and in JSON."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from wedgelab.dispersion import SwingDispersion, WedgeDispersion
from wedgelab.dispersion.region import REGION_SHARE, Region
from wedgelab.render.dispersion_words import direction_line, is_told_apart, miss_text, no_region_text
from wedgelab.render.json import plain
from wedgelab.render.layout import WIDTH, display_width, fold, shorten, table, wrap
from wedgelab.render.sparks import Field
from wedgelab.render.words import MISSING, range_text, reference_text, wedge_title
from wedgelab.shots import Conditions
from wedgelab.units import LengthUnit, format_length, format_number, in_unit

SIGNS: Final = "ox+*#%@&"  # of the swing lengths, the shortest first
_LABEL: Final = 7
_AXIS: Final = 5
_GAP: Final = 2
_MOST_IN_A_ROW: Final = 4
_MOST_ROWS: Final = 20
_WIDEST_PANEL: Final = 31
_LETTER: Final = 0.5  # a character is half as wide as it is high
_LEAST_HALF: Final = 3.0
_NICE: Final = (1, 2, 5, 10, 20, 50, 100)
_ROWS_A_NUMBER: Final = 3


def dispersion_text(
    every: Sequence[WedgeDispersion],
    unit: LengthUnit,
    *,
    reference: Conditions,
    mishits: int = 0,
    ascii_only: bool = False,
) -> str:
    """Draw where the balls came down, then say it in numbers; ``mishits`` balls were left out by the caller.

    ``reference`` is the air to which their carries were brought.
    """
    shown = [one for one in every if one.n]
    if not shown:
        return "\n".join(wrap(line) for line in (nothing_line(unit, mishits), *_left_out(every, mishits)))
    signs = _signs(shown)
    parts = [
        wrap(
            f"Where the solid balls came down, in {unit}, seen from behind the ball: carry upwards, the target line in "
            "the middle"
        ),
        *_drawings(shown, unit, signs, ascii_only=ascii_only),
        _numbers(shown, unit, signs),
        "\n".join(
            wrap(line)
            for line in (*_legend(shown, ascii_only=ascii_only), _air_line(reference), *_left_out(every, mishits))
        ),
    ]
    return "\n\n".join(parts)


def dispersion_facts(every: Sequence[WedgeDispersion], *, mishits: int = 0) -> dict[str, Any]:
    """Return what the JSON says: each wedge with its swings, these with their balls and the edges of their region."""
    wedges = [
        {**plain(one), "side_told_apart": is_told_apart(one), "swings": [_swing_facts(swing) for swing in one.swings]}
        for one in every
    ]
    return {"n_mishits": mishits, "wedges": wedges}


def _swing_facts(swing: SwingDispersion) -> dict[str, Any]:
    facts: dict[str, Any] = {**plain(swing), "n": swing.n, "balls": [_point(point) for point in swing.points]}
    del facts["points"]
    facts["region"] = None
    if swing.region is not None:
        left, right, short, far = swing.region.box
        facts["region"] = {
            "is_pooled": swing.region.is_pooled,
            **plain({"offline_low_m": left, "offline_high_m": right, "carry_low_m": short, "carry_high_m": far}),
            "outline": [_point(point) for point in swing.region.outline],
        }
    return facts


def _point(point: tuple[float, float]) -> dict[str, float]:
    found: dict[str, float] = plain({"offline_m": point[0], "carry_m": point[1]})
    return found


def nothing_line(unit: LengthUnit, mishits: int) -> str:
    """Say that no ball counts, and how to have some that do."""
    what = "solid ball near a named swing length has a sideways miss" if mishits else ""
    return (
        f"No {what or 'sideways miss is logged near a named swing length'}. Log one with --offline, in {unit}, right "
        "positive, or import a file that has it."
    )


def _signs(shown: Sequence[WedgeDispersion]) -> dict[float, str]:
    lengths = sorted({swing.swing_deg for one in shown for swing in one.swings})
    return {deg: SIGNS[i % len(SIGNS)] for i, deg in enumerate(lengths)}


@dataclass(frozen=True, slots=True)
class _Scale:
    """What the drawings of all wedges have in common: characters, and how much of the unit a line of them is."""

    columns: int
    rows: int
    low: float
    row: float

    @property
    def half(self) -> float:
        return self.columns * self.row * _LETTER / 2.0


def _scale_of(shown: Sequence[WedgeDispersion], unit: LengthUnit, panels: int) -> _Scale:
    """Choose a scale on which a yard is about as long across as along."""
    points = [point for one in shown for swing in one.swings for point in swing.points]
    points += [
        point for one in shown for swing in one.swings if swing.region is not None for point in swing.region.outline
    ]
    half = max(_LEAST_HALF, *(in_unit(abs(offline), unit) for offline, _ in points))
    low, high = (in_unit(find(carry for _, carry in points), unit) for find in (min, max))
    most = min(_WIDEST_PANEL, (WIDTH - _AXIS) // panels - _GAP)
    row = max((high - low) / _MOST_ROWS, 2.0 * half / (_LETTER * (most - 1)), 0.25)
    # an odd number of columns, so that the target line has the middle one
    columns = min(most - 1 + most % 2, 2 * math.ceil(half / (row * _LETTER)) + 1)
    return _Scale(columns, max(1, math.floor((high - low) / row) + 1), low, row)


def _drawings(
    shown: Sequence[WedgeDispersion], unit: LengthUnit, signs: Mapping[float, str], *, ascii_only: bool
) -> list[str]:
    panels = min(_MOST_IN_A_ROW, len(shown))
    scale = _scale_of(shown, unit, panels)
    return [
        _drawing(shown[start : start + panels], unit, signs, scale, ascii_only=ascii_only)
        for start in range(0, len(shown), panels)
    ]


def _drawing(
    block: Sequence[WedgeDispersion], unit: LengthUnit, signs: Mapping[float, str], scale: _Scale, *, ascii_only: bool
) -> str:
    fields = [_field(one, unit, signs, scale, ascii_only=ascii_only) for one in block]
    gap = " " * _GAP
    titles = [_centred(shorten(wedge_title(one.wedge, one.loft_deg), scale.columns), scale.columns) for one in block]
    numbers = _axis_numbers(scale)
    lines = [" " * _AXIS + gap.join(titles)]
    for i, row in enumerate(zip(*(field.lines for field in fields), strict=True)):
        lines.append(f"{numbers[i]:>{_AXIS - 1}} " + gap.join(row))
    edge = format_number(scale.half)
    feet = f"{edge} L".ljust(scale.columns // 2) + "0" + f"{edge} R".rjust(scale.columns // 2)
    lines.append(" " * _AXIS + gap.join([feet] * len(block)))
    return "\n".join(line.rstrip() for line in lines)


def _field(
    one: WedgeDispersion, unit: LengthUnit, signs: Mapping[float, str], scale: _Scale, *, ascii_only: bool
) -> Field:
    field = Field(scale.columns, scale.rows, (-scale.half, scale.half), (scale.low, scale.low + scale.rows * scale.row))
    field.upright(0.0, "|" if ascii_only else "│")
    for swing in one.swings:
        for offline, carry in () if swing.region is None else swing.region.outline:
            field.mark(in_unit(offline, unit), in_unit(carry, unit), "." if ascii_only else "·")
    for swing in one.swings:
        for offline, carry in swing.points:
            field.mark(in_unit(offline, unit), in_unit(carry, unit), signs[swing.swing_deg])
    return field


def _axis_numbers(scale: _Scale) -> list[str]:
    """Return round carries beside the lines in which they lie, from the top."""
    step = next((nice for nice in _NICE if nice >= _ROWS_A_NUMBER * scale.row), _NICE[-1])
    numbers = []
    for i in range(scale.rows):
        foot = scale.low + (scale.rows - 1 - i) * scale.row
        number = math.ceil(foot / step) * step
        numbers.append(format_number(number) if number < foot + scale.row else "")
    return numbers


def _centred(text: str, width: int) -> str:
    left = max(0, (width - display_width(text)) // 2)
    return " " * left + text + " " * max(0, width - left - display_width(text))


def _numbers(shown: Sequence[WedgeDispersion], unit: LengthUnit, signs: Mapping[float, str]) -> str:
    rows = [
        [
            fold(one.wedge, _LABEL) if i == 0 else "",
            f"{signs[swing.swing_deg]} {fold(swing.swing, _LABEL)}".replace("\n", "\n  "),
            str(swing.n),
            _mean_text(swing, unit),
            MISSING if swing.offline_sd_m is None else f"±{format_length(swing.offline_sd_m, unit, 1)}",
            f"{format_number(100.0 * swing.left_share)}/{format_number(100.0 * swing.right_share)}",
            _across(swing.region, unit),
            MISSING if swing.region is None else range_text(*swing.region.box[2:], unit) + _pooled(swing.region),
        ]
        for one in shown
        for i, swing in enumerate(one.swings)
    ]
    headers = [
        "wedge", "  swing", "balls", f"mean miss\n{unit}", "single\nballs", "left/\nright %",
        "region\nacross", "region\ncarry",
    ]  # fmt: skip
    return table(rows, headers, ["left", "left", *["right"] * 6])


def _mean_text(swing: SwingDispersion, unit: LengthUnit) -> str:
    mean = miss_text(swing.offline_mean_m, unit)
    return mean if swing.offline_se_m is None else f"{mean} ±{format_length(swing.offline_se_m, unit, 1)}"


def _across(region: Region | None, unit: LengthUnit) -> str:
    if region is None:
        return MISSING
    left, right, *_ = region.box
    return f"{miss_text(left, unit)}-{miss_text(right, unit)}"


def _pooled(region: Region) -> str:
    return "*" if region.is_pooled else ""


def _legend(shown: Sequence[WedgeDispersion], *, ascii_only: bool) -> list[str]:
    swings = [swing for one in shown for swing in one.swings]
    lines = [direction_line(one) for one in shown]
    days = ", with what days differ" if any(one.n_sessions > 1 for one in shown) else ""
    lines.append(f"Means: give or take one standard error{days}. Single balls: one standard deviation.")
    regions = [swing.region for swing in swings if swing.region is not None]
    if regions:
        dots = "." if ascii_only else "·"
        times = format_number(10.0 * REGION_SHARE)
        lines.append(
            f"Region ({dots}): one more solid ball comes down inside it {times} times in 10; the columns say how far "
            "it reaches, and either alone holds more."
        )
    if any(region.is_pooled for region in regions):
        lines.append("* few balls of that swing: the spread is that of all the wedge's balls, as a share of the carry.")
    by_reason: dict[str, list[str]] = {}
    for one in shown:
        for swing in one.swings:
            if reason := no_region_text(swing):
                by_reason.setdefault(reason, []).append(f"{one.wedge} {swing.swing}")
    lines += [f"{', '.join(names)}: {reason}." for reason, names in by_reason.items()]
    return lines


def _air_line(reference: Conditions) -> str:
    return f"Carries are for {reference_text(reference)}; sideways misses are as logged, with the wind of their day."


def _left_out(every: Sequence[WedgeDispersion], mishits: int) -> list[str]:
    """Say which balls are not in it."""
    parts = [
        (mishits, "taken for mishits"),
        (sum(one.n_no_offline for one in every), "without a sideways miss"),
        (sum(one.n_other_swing for one in every), "near no named swing length"),
        (sum(one.n_other_flight for one in every), "meant low or high"),
        (sum(one.n_other_lie for one in every), "from rough or sand"),
    ]
    said = [f"{n} {why}" for n, why in parts if n]
    return [f"Balls left out: {', '.join(said)}."] if said else []
