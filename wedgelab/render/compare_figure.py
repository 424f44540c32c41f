"""Two players in one picture: their charted carries shot by shot, and their chances for one target."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from wedgelab.chart import ChartCell
from wedgelab.choose import Choice, Option
from wedgelab.compare import ComparedShot, Comparison
from wedgelab.render.choice_text import limit_words
from wedgelab.render.figure import COLOURS, MARKERS
from wedgelab.render.layout import fold, shorten
from wedgelab.render.words import (
    carry_text,
    count_text,
    day_text,
    percent_text,
    reference_text,
    signed_length,
    wedge_title,
)
from wedgelab.units import LengthUnit, format_length, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

OPTIONS_SHOWN: Final = 5
_PLAYER_COLOURS: Final = COLOURS[:2]
_HATCHES: Final = ("", "///")
_LONGEST_NAME: Final = 24
_LONGEST_LABEL: Final = 12
_BETWEEN: Final = 0.6  # of a row, between two wedges or players
_APART: Final = 0.16  # of a row, between the two players' marks
_ROW_IN: Final = 0.3
_HEAD_IN: Final = 1.4


def draw_comparison(ax: "Axes", comparison: Comparison, unit: LengthUnit) -> "Axes":
    """Draw both players' median carries, a row for each shot that both have, with one standard error to each side.

    The first player's marks are round, the second's square; hollow ones rest on no logged ball. At the right stand both
    numbers and the difference, with a star where it is told apart.
    """
    shots, heights = comparison.shots, _row_heights([len(row) for row in comparison.rows])
    for which, (colour, marker) in enumerate(zip(_PLAYER_COLOURS, MARKERS, strict=False)):
        shift = _APART * (2 * which - 1)
        for shot, y in zip(shots, heights, strict=True):
            cell = (shot.first, shot.second)[which]
            ax.errorbar(
                [in_unit(cell.carry_m, unit)], [y + shift], xerr=[in_unit(cell.carry_se_m, unit)], fmt=marker,
                markersize=6.5, color=colour, markerfacecolor=colour if cell.n_shots else "white",
                markeredgewidth=1.3, linewidth=1.2, zorder=3,
            )  # fmt: skip
    for shot, y in zip(shots, heights, strict=True):
        ax.annotate(
            _difference(shot, unit), (1.0, y), xycoords=("axes fraction", "data"), xytext=(6, 0),
            textcoords="offset points", va="center", fontsize=9, parse_math=False, annotation_clip=False,
        )  # fmt: skip
    ax.set_yticks(heights, [_shot_title(shot) for shot in shots], parse_math=False, fontsize=9)
    ax.set_ylim(max(heights, default=0.0) + 0.7, -0.7)
    ax.set_xlabel(f"median carry [{unit}]; at the right: both, and first minus second")
    _tidy(ax)
    return ax


def comparison_figure(comparison: Comparison, unit: LengthUnit) -> "Figure":
    """Return the picture of two charts."""
    from matplotlib.figure import Figure

    heights = _row_heights([len(row) for row in comparison.rows])
    figure = Figure(figsize=(8.0, _HEAD_IN + _ROW_IN * (1.4 + max(heights, default=0.0))), layout="constrained")
    ax = draw_comparison(figure.add_subplot(), comparison, unit)
    first, second = (shorten(name, _LONGEST_NAME) for name in (comparison.first, comparison.second))
    air = reference_text(comparison.reference)
    if comparison.day is not None:
        air = f"{day_text(comparison.day, unit)}, else {air}"
    balls = f"{count_text(comparison.first_n_shots, 'shot')} and {count_text(comparison.second_n_shots, 'shot')}"
    said = [f"{first} (round) and {second} (square): median carries, from {balls}", f"both for {air}"]
    signs = ["line: one standard error each side"]
    if any(not cell.n_shots for shot in comparison.shots for cell in (shot.first, shot.second)):
        signs.append("hollow: no ball logged there")
    if any(cell.support != "measured" for shot in comparison.shots for cell in (shot.first, shot.second)):
        signs.append("~ between the logged shots, ? beyond them")
    signs.append("* told apart (80 %)")
    if not comparison.shots:
        signs = ["there is no shot that both have"]
    _head(ax, "; ".join(said), "; ".join(signs))
    return figure


def draw_choices(ax: "Axes", names: Sequence[str], choices: Sequence[Choice], unit: LengthUnit) -> "Axes":
    """Draw the chances of each player's first options as bars, with the median carry; white ones rest on no ball."""
    shown = [choice.options[:OPTIONS_SHOWN] for choice in choices]
    heights = _row_heights([len(options) for options in shown])
    rows = [(which, option) for which, options in enumerate(shown) for option in options]
    for (which, option), y in zip(rows, heights, strict=True):
        colour = _PLAYER_COLOURS[which]
        ax.barh(
            [y], [100.0 * option.chance], height=0.66, edgecolor=colour, linewidth=1.2, zorder=2,
            facecolor="white" if not option.n_shots else colour, alpha=0.85, hatch=_HATCHES[which],
        )  # fmt: skip
        ax.annotate(
            f"{percent_text(option.chance)}, {format_length(option.played_m, unit)} {unit}",
            (100.0 * option.chance, y), xytext=(5, 0), textcoords="offset points", va="center", fontsize=9,
            parse_math=False, annotation_clip=False,
        )  # fmt: skip
    labels = [_option_title(names[which], option) for which, option in rows]
    ax.set_yticks(heights, labels, parse_math=False, fontsize=9)
    ax.set_ylim(max(heights, default=0.0) + 0.7, -0.7)
    ax.set_xlim(0.0, 128.0 * max(option.chance for _, option in rows))
    drawn = any(choice.n_draws for choice in choices)
    ax.set_xlabel("chance inside the window and of the spin [%]" if drawn else "chance inside the window [%]")
    _tidy(ax)
    return ax


def choices_figure(names: Sequence[str], choices: Sequence[Choice], unit: LengthUnit) -> "Figure":
    """Return the picture of two players' chances for one target."""
    from matplotlib.figure import Figure

    counts = [min(len(choice.options), OPTIONS_SHOWN) for choice in choices]
    figure = Figure(figsize=(8.0, _HEAD_IN + _ROW_IN * (1.4 + max(_row_heights(counts)))), layout="constrained")
    ax = draw_choices(figure.add_subplot(), names, choices, unit)
    one, limits = choices[0], limit_words(choices[0].limits, unit)
    edges = f"{format_length(one.window_low_m, unit, 1)} to {format_length(one.window_high_m, unit, 1)} {unit}"
    title = f"{format_length(one.target_m, unit, 1).removesuffix('.0')} {unit}: chance of {edges}"
    signs = ["beside each bar: chance and median carry"]
    if any(not option.n_shots for choice in choices for option in choice.options[:OPTIONS_SHOWN]):
        signs.append("white: no ball logged there")
    if any(len(choice.options) > OPTIONS_SHOWN for choice in choices):
        signs.append(f"the first {OPTIONS_SHOWN} options of each player")
    _head(ax, title + (f"; {limits}" if limits else ""), "; ".join(signs))
    return figure


def _row_heights(counts: Sequence[int]) -> list[float]:
    """Return where the rows stand, downwards, with a gap between two groups of them."""
    heights: list[float] = []
    for count in counts:
        start = heights[-1] + 1.0 + _BETWEEN if heights else 0.0
        heights += [start + i for i in range(count)]
    return heights


def _difference(shot: ComparedShot, unit: LengthUnit) -> str:
    both = ", ".join(carry_text(cell.carry_m, cell.support, unit) for cell in (shot.first, shot.second))
    if shot.carry_difference_m is None:
        return both
    return f"{both}: {'*' if shot.carry_told_apart else ''}{signed_length(shot.carry_difference_m, unit, 0)}"


def _shot_title(shot: ComparedShot) -> str:
    first, second = _cell_title(shot.first), _cell_title(shot.second)
    return first if first == second else f"{first} / {second}"


def _cell_title(cell: ChartCell) -> str:
    title = shorten(wedge_title(cell.wedge, cell.loft_deg), _LONGEST_LABEL)
    return f"{title} {shorten(cell.swing, _LONGEST_LABEL)}"


def _option_title(name: str, option: Option) -> str:
    flight = "" if option.trajectory == "stock" else f" {option.trajectory}"
    shot = f"{shorten(option.wedge, _LONGEST_LABEL)} {shorten(option.swing, _LONGEST_LABEL)}{flight}"
    return f"{shorten(name, _LONGEST_NAME)}: {shot}"


def _tidy(ax: "Axes") -> None:
    ax.tick_params(axis="y", length=0)
    ax.grid(visible=True, axis="x", alpha=0.25)
    ax.set_axisbelow(True)
    for edge in ("top", "right", "left"):
        ax.spines[edge].set_visible(False)


def _head(ax: "Axes", title: str, signs: str) -> None:
    """Write what the picture shows above it, from the left edge of the whole figure."""
    figure = ax.figure
    figure.suptitle(f"{fold(title, 105)}\n{fold(signs, 105)}", fontsize=9.5, x=0.01, ha="left", parse_math=False)
