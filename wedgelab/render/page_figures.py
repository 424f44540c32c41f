"""The pictures of the page, drawn at the size of a phone: 3.5 inches across, letters of eight points and more."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from wedgelab.chart import CarryCurve, Chart
from wedgelab.dispersion import WedgeDispersion
from wedgelab.drill.history import DrillPoint
from wedgelab.gaps.report import GapReport
from wedgelab.render.figure import COLOURS, draw_carry_curves, lay_out, plain_axes, spread_apart
from wedgelab.render.layout import left_to_right, shorten
from wedgelab.render.words import wedge_title
from wedgelab.shots import Shot
from wedgelab.units import LengthUnit, format_length, in_unit

if TYPE_CHECKING:
    from collections.abc import Container

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_INCHES: Final = 3.5
SIDE_INCHES: Final = 2.45  # of a tall strip; page.css gives it less room likewise
_MOST_LEVEL: Final = 6  # swing lengths whose names stand side by side
_LONGEST_LEVEL: Final = 6
_LONGEST_SWING: Final = 14
_LONGEST_NAME: Final = 10
_LEFT_OUT: Final = "…"
_LEFT_TO_RIGHT: Final = "\N{LEFT-TO-RIGHT MARK}"
_LETTER_INCHES: Final = 0.07
_SIDE_TALLEST: Final = 3.9  # inches of a strip with its axis
_SIDE_PANEL: Final = 1.15  # inches that the names leave across
_AXIS_INCHES: Final = 0.6
_NAME_INCHES: Final = 0.31  # two lines
_FEWEST_NAMES: Final = 4  # of which a strip is always as tall
_ROW_INCHES: Final = 0.62
_LABEL_SIZE: Final = 8.0
_HEADROOM: Final = 1.12
_NAMED_DATES: Final = 6


def curves_figure(
    chart: Chart, curves: Sequence[CarryCurve], shots: Sequence[Shot], unit: LengthUnit, mishits: "Container[str]"
) -> "Figure":
    """Draw the carry over the swing length."""
    labels = [shorten(swing.label, _LONGEST_SWING) for swing in chart.swings]
    longest = max(len(label) for label in labels)
    is_upright = len(labels) > _MOST_LEVEL or longest > _LONGEST_LEVEL
    figure = _figure(3.6 + (_LETTER_INCHES * longest if is_upright else 0.0))
    ax = _small(draw_carry_curves(figure.add_subplot(), chart, curves, shots, unit, mishits))
    _shorten_names(ax, ": ")
    if is_upright:
        ax.set_xticks(ax.get_xticks(), labels, rotation=90, parse_math=False)
    return figure


def _shorten_names(ax: "Axes", end: str) -> None:
    """Leave out the middle of long names in the texts of a picture; ``end`` parts a name from its number.

    A name that is written from right to left keeps the marks without which it would draw the number to its other side.
    """
    for text in ax.texts:
        name, mark, number = text.get_text().rpartition(end)
        if len(name.strip(_LEFT_TO_RIGHT)) > _LONGEST_NAME:
            short = _short_title(name.strip(_LEFT_TO_RIGHT))
            text.set_text(f"{left_to_right(short)}{mark}{number}")


def _short_title(title: str) -> str:
    """Leave out the middle of a wedge's name, and nothing of the loft behind it."""
    name, mark, loft = title.rpartition(" (")
    if not mark or not loft.endswith(")"):
        return shorten(title, _LONGEST_NAME)
    short = shorten(name, _LONGEST_NAME - len(loft) - len(mark))
    return f"{short.replace(_LEFT_OUT * 2, _LEFT_OUT)}{mark}{loft}"  # it may have been shortened before


def covered_figure(report: GapReport, unit: LengthUnit) -> "Figure":
    """Draw the covered distances: a row a wedge, and the best chance below."""
    from wedgelab.render.gaps_figure import draw_chances, draw_covered, shade_uncovered

    rows = _ROW_INCHES * max(3, len(report.wedges))
    figure = _figure(rows + 1.7)
    top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=(rows, 1.2))
    draw_covered(top, report, unit)
    titles = [left_to_right(_short_title(wedge_title(wedge.label, wedge.loft_deg))) for wedge in report.wedges]
    top.set_yticks(range(len(titles)), titles, parse_math=False)
    shade_uncovered(bottom, report, unit)
    draw_chances(bottom, report, unit)
    top.set_ylabel("")
    for ax in (top, bottom):
        _small(ax)
    return figure


def side_figure(one: WedgeDispersion, unit: LengthUnit, every: Sequence[WedgeDispersion] = ()) -> "Figure":
    """Draw where one wedge's balls came down, on a strip as tall as its scale asks for.

    ``every`` has all wedges of the page: a swing length looks the same on each.
    """
    from wedgelab.render.dispersion_figure import draw_dispersion

    figure = _figure(_SIDE_TALLEST, SIDE_INCHES)
    ax = _small(draw_dispersion(figure.add_subplot(), one, unit, every=every))
    ax.set_title("", loc="left")  # the page says it
    _shorten_names(ax, " (")
    across, along = (high - low for low, high in (ax.get_xlim(), ax.get_ylim()))
    panel = min(_SIDE_TALLEST - _AXIS_INCHES, _SIDE_PANEL * along / across)
    figure.set_figheight(max(panel, _NAME_INCHES * max(_FEWEST_NAMES, len(one.swings))) + _AXIS_INCHES)
    _part_names(ax, _NAME_INCHES / panel * along)
    _keep_left(figure, ax)
    return figure


def _keep_left(figure: "Figure", ax: "Axes") -> None:
    """Push a strip right whose axis would leave the picture: wide names beside it take more room than is set apart."""
    lay_out(ax)
    box = ax.get_tightbbox()
    beyond = -box.x0 / figure.bbox.width if box is not None else 0.0
    if beyond > 0.0:
        figure.set_layout_engine("none")
        place = ax.get_position()
        ax.set_position((place.x0 + beyond, place.y0, place.width, place.height))


def _part_names(ax: "Axes", least: float) -> None:
    """Push the names beside a strip apart: it is less tall here than where they were placed."""
    from matplotlib.text import Annotation

    from wedgelab.render.dispersion_figure import NAME_SIGN

    signs = [line for line in ax.lines if line.get_gid() == NAME_SIGN]
    names = [text for text in ax.texts if isinstance(text, Annotation)]
    heights = spread_apart([float(name.xy[1]) for name in names], least)
    for sign, name, height in zip(signs, names, heights, strict=True):
        sign.set_ydata([height])
        name.xy = (name.xy[0], height)


def history_figure(drills: Sequence[DrillPoint], unit: LengthUnit) -> "Figure":
    """Draw the errors of the drills one after the other, and below them the share inside the window."""
    figure = _figure(3.3)
    top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=(1.3, 1.0))
    draw_errors(top, drills, unit)
    draw_shares(bottom, drills)
    return figure


def draw_errors(ax: "Axes", drills: Sequence[DrillPoint], unit: LengthUnit) -> "Axes":
    """Draw E of each drill with its number, and what the chart expected at the time as a bar across.

    No line joins them: drills of other calls are not one quantity that rises or falls.
    """
    places = range(len(drills))
    errors = [in_unit(one.e_m, unit) for one in drills]
    expected = [(i, in_unit(one.expected_e_m, unit)) for i, one in enumerate(drills) if one.expected_e_m is not None]
    for is_test, marker in ((False, "o"), (True, "D")):
        chosen = [i for i in places if drills[i].is_test == is_test]
        if chosen:
            ax.plot(
                chosen, [errors[i] for i in chosen], linestyle="none", marker=marker, markersize=6.0, color=COLOURS[0],
                zorder=3,
            )  # fmt: skip
    if expected:
        ax.plot(
            [i for i, _ in expected], [e for _, e in expected], linestyle="none", marker="_", markersize=16.0,
            markeredgewidth=2.2, color="black", zorder=2,
        )  # fmt: skip
    for i, error in enumerate(errors):
        ax.annotate(
            format_length(drills[i].e_m, unit, 1), (i, error), xytext=(0, 7), textcoords="offset points", ha="center",
            fontsize=_LABEL_SIZE, zorder=4,
        )  # fmt: skip
    ax.set_ylim(0.0, _HEADROOM * 1.1 * max([*errors, *(e for _, e in expected), 0.1]))
    ax.set_ylabel(f"E [{unit}]")
    return _plain(ax)


def draw_shares(ax: "Axes", drills: Sequence[DrillPoint]) -> "Axes":
    """Draw the share inside with its interval, hollow where the window was held, and what the chart expected."""
    for i, one in enumerate(drills):
        ax.plot([i, i], [100.0 * one.share_low, 100.0 * one.share_high], color=COLOURS[0], linewidth=1.6, zorder=2)
        ax.plot(
            [i], [100.0 * one.share], linestyle="none", marker="o", markersize=6.0, color=COLOURS[0],
            markerfacecolor="white" if one.is_held else COLOURS[0], zorder=3,
        )  # fmt: skip
    expected = [(i, 100.0 * one.expected_share) for i, one in enumerate(drills) if one.expected_share is not None]
    if expected:
        ax.plot(
            [i for i, _ in expected], [e for _, e in expected], linestyle="none", marker="_", markersize=16.0,
            markeredgewidth=2.2, color="black", zorder=2,
        )  # fmt: skip
    ax.set_ylim(0.0, 100.0)
    ax.set_yticks([0, 50, 100])
    ax.set_ylabel("inside [%]")
    ax.set_xlim(-0.5, max(len(drills) - 0.5, 0.5))
    step = -(-len(drills) // _NAMED_DATES)
    named = list(range(len(drills)))[::-step][::-1]  # the last one always
    ax.set_xticks(named, [drills[i].began_at[5:10] for i in named])
    return _plain(ax)


def _figure(height: float, width: float = WIDTH_INCHES) -> "Figure":
    from matplotlib.figure import Figure

    return Figure(figsize=(width, height), layout="constrained")


def _small(ax: "Axes") -> "Axes":
    """Set the axis' letters in the sizes of a phone."""
    ax.tick_params(labelsize=_LABEL_SIZE)
    for label in (ax.xaxis.label, ax.yaxis.label):
        label.set_fontsize(_LABEL_SIZE)
    return ax


def _plain(ax: "Axes") -> "Axes":
    plain_axes(ax, grid="y")
    return _small(ax)
