"""The picture of a dispersion: where a wedge's balls came down, seen from above, with the region of eight in ten."""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from wedgelab.dispersion import SwingDispersion, WedgeDispersion
from wedgelab.render.dispersion_words import miss_text
from wedgelab.render.figure import spread_apart, wedge_look
from wedgelab.render.layout import fold, left_to_right, shorten
from wedgelab.render.words import count_text, wedge_title
from wedgelab.units import LengthUnit, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NAME_SIGN: Final = "sign of a name"
_PALE: Final = "#BBBBBB"
_POOLED_STYLE: Final = (0, (4, 2))
_LONGEST_LABEL: Final = 12
_LONGEST_NAME: Final = 40
_NAME_ROOM: Final = 1.05  # inches right of a panel, for the names of its swing lengths
_PANEL_HEIGHT: Final = 4.6
_LEAST_PANEL: Final = 1.2  # inches across
_LABEL_INCHES: Final = 0.36  # two lines of the names
_MOST_IN_A_ROW: Final = 4
_LETTERS_AN_INCH: Final = 11  # of the title's size
_EDGE: Final = 0.05  # of the span, kept free around what is drawn
_LEAST_HALF: Final = 4.0  # in the unit: a narrower strip would make three yards look like a slice


def draw_dispersion(
    ax: "Axes", one: WedgeDispersion, unit: LengthUnit, *, every: Sequence[WedgeDispersion] = (),
    is_shared: bool = False,
) -> "Axes":  # fmt: skip
    """Draw a wedge's balls from above: carry upwards, sideways miss across, the target line in the middle.

    A swing length has its colour and marker, its region an unbroken edge, or a broken one where the spread is that of
    all the wedge's swing lengths. Its name stands beside it, with the balls and the mean sideways miss. With ``every``
    wedge that is drawn beside it a swing length looks alike in all of them, and with ``is_shared`` a yard too.
    """
    places = swing_places(every or [one])
    half, low, high = _span(every if is_shared else [one], unit)
    _frame(ax, half, low, high)
    ax.axvline(0.0, color="black", linewidth=0.8, linestyle=":", zorder=1)
    for swing in one.swings:
        _draw_swing(ax, swing, places[swing.swing_deg], unit)
    _name_swings(ax, one.swings, unit, places)
    ax.xaxis.set_major_formatter(lambda x, _: f"{abs(x):g}")  # the axis says which side is which
    ax.set_xlabel(f"left | right [{unit}]")
    ax.set_ylabel(f"carry [{unit}]")
    title = left_to_right(wedge_title(shorten(one.wedge, _LONGEST_LABEL), one.loft_deg))
    ax.set_title(f"{title}: {count_text(one.n, 'ball')}", fontsize=10, loc="left", parse_math=False)
    ax.set_axisbelow(True)
    ax.grid(visible=True, alpha=0.25)
    ax.spines["top"].set_visible(False)
    ax.spines["right"].set_color(_PALE)  # what stands beyond it is a name, and no ball
    return ax


def dispersion_figure(every: Sequence[WedgeDispersion], unit: LengthUnit, *, player: str = "") -> "Figure":
    """Return the picture of the wedges side by side, all on one scale; those without balls are named in the title."""
    from matplotlib.figure import Figure

    shown = [one for one in every if one.n]
    if not shown:
        figure = Figure(figsize=(8.0, 2.0), layout="constrained")
        figure.text(0.02, 0.5, fold("No solid ball with a sideways miss is logged near a named swing length.", 90))
        return figure
    half, low, high = _span(shown, unit)
    columns = min(_MOST_IN_A_ROW, len(shown))
    rows = math.ceil(len(shown) / columns)
    across = max(_LEAST_PANEL, _PANEL_HEIGHT * 2.0 * half / (high - low)) + _NAME_ROOM
    figure = Figure(
        figsize=(max(7.0, columns * across + 0.7), rows * (_PANEL_HEIGHT + 0.8) + 0.6), layout="constrained"
    )
    for i, one in enumerate(shown):
        ax = draw_dispersion(figure.add_subplot(rows, columns, i + 1), one, unit, every=shown, is_shared=True)
        if i % columns:
            ax.set_ylabel("")
    letters = int(_LETTERS_AN_INCH * figure.get_figwidth())
    title = "\n".join(fold(line, letters) for line in _title(every, player))
    figure.suptitle(title, fontsize=11, x=0.01, ha="left", parse_math=False)
    return figure


def swing_places(every: Sequence[WedgeDispersion]) -> dict[float, int]:
    """Return the place of each swing length among those of all the wedges, the shortest first."""
    return {deg: i for i, deg in enumerate(sorted({swing.swing_deg for one in every for swing in one.swings}))}


def _title(every: Sequence[WedgeDispersion], player: str) -> list[str]:
    """Say what is drawn, as far as it is drawn."""
    swings = [swing for one in every for swing in one.swings]
    lines = [f"{shorten(player, _LONGEST_NAME)}: where the balls came down" if player else "Where the balls came down"]
    regions = [swing.region for swing in swings if swing.region is not None]
    meaning = "+ mean" if not regions else "+ mean, edge: one more solid ball stays inside 8 times in 10"
    if any(region.is_pooled for region in regions):
        meaning += " (broken: by all the wedge's balls)"
    lines.append(meaning)
    missing = [wedge_title(one.wedge, one.loft_deg) for one in every if not one.n]
    if missing:
        lines.append(f"no sideways miss logged: {', '.join(missing)}")
    return lines


def _draw_swing(ax: "Axes", swing: SwingDispersion, i: int, unit: LengthUnit) -> None:
    colour, marker, _ = wedge_look(i)
    ax.plot(
        [in_unit(offline, unit) for offline, _ in swing.points],
        [in_unit(carry, unit) for _, carry in swing.points],
        linestyle="none", marker=marker, markersize=4.5, color=colour, alpha=0.7, markeredgewidth=0, zorder=3,
    )  # fmt: skip
    if swing.region is not None:
        edge = swing.region.outline
        ax.plot(
            [in_unit(offline, unit) for offline, _ in edge],
            [in_unit(carry, unit) for _, carry in edge],
            color=colour, linewidth=1.4, linestyle=_POOLED_STYLE if swing.region.is_pooled else "-", zorder=2,
        )  # fmt: skip
    if swing.n == 1:
        return  # its mean is the ball itself, and would hide it
    ax.plot(
        [in_unit(swing.offline_mean_m, unit)], [in_unit(swing.carry_mean_m, unit)], linestyle="none", marker="+",
        markersize=10.0, markeredgewidth=1.6, color="black", zorder=4,
    )  # fmt: skip


def _name_swings(ax: "Axes", swings: Sequence[SwingDispersion], unit: LengthUnit, places: Mapping[float, int]) -> None:
    """Write beside each swing length, right of the panel, its name, its balls and its mean sideways miss."""
    low, high = ax.get_ylim()
    order = sorted(swings, key=lambda swing: swing.carry_mean_m)
    line = _LABEL_INCHES / _PANEL_HEIGHT * (high - low)
    heights = spread_apart([in_unit(swing.carry_mean_m, unit) for swing in order], line)
    for swing, y in zip(order, heights, strict=True):
        name = left_to_right(shorten(swing.swing, _LONGEST_LABEL))
        text = f"{name} ({swing.n})\n{miss_text(swing.offline_mean_m, unit)}"
        colour, marker, _ = wedge_look(places[swing.swing_deg])
        # the marker again: without colours it is what tells whose name this is
        ax.plot(
            [1.05], [y], transform=ax.get_yaxis_transform(), linestyle="none", marker=marker, markersize=4.5,
            markeredgewidth=0, color=colour, clip_on=False, gid=NAME_SIGN,
        )  # fmt: skip
        ax.annotate(
            text, (1.05, y), xycoords=("axes fraction", "data"), xytext=(5, 0), textcoords="offset points", va="center",
            color=colour, fontsize=8, annotation_clip=False, parse_math=False,
        )  # fmt: skip


def _span(every: Sequence[WedgeDispersion], unit: LengthUnit) -> tuple[float, float, float]:
    """Return how far to either side the drawing reaches, and from what carry to what carry."""
    points = [point for one in every for swing in one.swings for point in swing.points]
    points += [
        point for one in every for swing in one.swings if swing.region is not None for point in swing.region.outline
    ]
    if not points:
        return _LEAST_HALF, 0.0, 2.0 * _LEAST_HALF
    half = max(_LEAST_HALF, *(in_unit(abs(offline), unit) for offline, _ in points))
    low, high = (in_unit(find(carry for _, carry in points), unit) for find in (min, max))
    middle, reach = (low + high) / 2.0, max((high - low) / 2.0, _LEAST_HALF)
    return half * (1.0 + _EDGE), middle - reach * (1.0 + _EDGE), middle + reach * (1.0 + _EDGE)


def _frame(ax: "Axes", half: float, low: float, high: float) -> None:
    ax.set_aspect("equal", adjustable="box")
    ax.set_xlim(-half, half)
    ax.set_ylim(low, high)
