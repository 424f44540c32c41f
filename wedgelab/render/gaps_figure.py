"""The picture of the covered distance line: a row a wedge, and the best chance over the targets below."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from wedgelab.chart import ChartCell
from wedgelab.gaps.report import GapReport
from wedgelab.render.figure import COLOURS, lay_out, spread_apart, title_that_fits, wedge_look
from wedgelab.render.gaps_words import span_text
from wedgelab.render.layout import fold, shorten
from wedgelab.render.words import percent_text, wedge_title
from wedgelab.shots import Wedge
from wedgelab.units import LengthUnit, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Annotation

UNCOVERED_COLOUR: Final = "#999999"
_LONGEST_LABEL: Final = 14
_LONGEST_SWING: Final = 8
_ROW_INCHES: Final = 0.62
_EDGE_SHARE: Final = 0.03
_OFF_ROW: Final = 0.14  # the bars of neighbouring swings meet: every other one stands a little lower
_LABEL_POINTS: Final = 7.0  # from a mark to its label
_BETWEEN_POINTS: Final = 6.0  # two labels at least


def draw_covered(ax: "Axes", report: GapReport, unit: LengthUnit) -> "Axes":
    """Draw a row a wedge: its stock shots as marks at their medians with the range of eight balls of ten.

    Hollow marks have no logged ball behind them. Targets without a stock answer are shaded through all rows.
    """
    lanes = _draw_rows(ax, report, unit)
    lay_out(ax)
    _part_labels(ax, lanes)
    return ax


def _draw_rows(ax: "Axes", report: GapReport, unit: LengthUnit) -> "list[list[Annotation]]":
    """Draw the rows, and return the labels above and below each: where they may stand the finished layout says."""
    shade_uncovered(ax, report, unit)
    lanes = []
    for i, wedge in enumerate(report.wedges):
        mine = [shot for shot in report.shots if (shot.wedge, shot.loft_deg) == (wedge.label, wedge.loft_deg)]
        above, below = mine[::2], mine[1::2]
        lanes.append([_draw_shot(ax, shot, i, -1, unit) for shot in above])
        lanes.append([_draw_shot(ax, shot, i, 1, unit) for shot in below])
    ax.set_yticks(range(len(report.wedges)), [_title(wedge) for wedge in report.wedges], parse_math=False)
    ax.set_ylim(len(report.wedges) - 0.4, -0.6)  # least loft on top, as in the chart
    ax.set_xlim(*_limits(report, report.shots, unit))
    ax.set_ylabel("wedge")
    plain_axes(ax)
    return lanes


def _draw_shot(ax: "Axes", shot: ChartCell, row: int, side: int, unit: LengthUnit) -> "Annotation":
    (colour, marker, _), height = wedge_look(row), row + side * _OFF_ROW
    ax.plot(
        [in_unit(shot.carry_p10_m, unit), in_unit(shot.carry_p90_m, unit)], [height, height],
        color=colour, linewidth=2.4, alpha=0.75, solid_capstyle="butt", zorder=2,
    )  # fmt: skip
    ax.plot(
        [in_unit(shot.carry_m, unit)], [height], linestyle="none", marker=marker, markersize=7.0, color=colour,
        markerfacecolor=colour if shot.support == "measured" else "white", markeredgewidth=1.4, zorder=3,
    )  # fmt: skip
    label = ax.annotate(
        shorten(shot.swing, _LONGEST_SWING), (in_unit(shot.carry_m, unit), height),
        xytext=(0.0, -side * _LABEL_POINTS), textcoords="offset points", ha="center",
        va="bottom" if side < 0 else "top", fontsize=7.5, parse_math=False, zorder=4,
        arrowprops={"arrowstyle": "-", "linewidth": 0.5, "color": "#666666", "shrinkA": 0.0, "shrinkB": 4.0},
    )  # fmt: skip
    label.set_in_layout(False)  # it is put where the layout has room, not the other way round
    return label


def _part_labels(ax: "Axes", lanes: "Sequence[Sequence[Annotation]]") -> None:
    """Push the labels of each lane apart where they would touch, as little as it takes, and keep them on the axes.

    The figure must have been laid out.
    """
    points, frame = 72.0 / ax.figure.dpi, ax.get_window_extent()
    for labels in lanes:
        widths = [label.get_window_extent().width + _BETWEEN_POINTS / points for label in labels]
        before = [sum(widths[:i]) + 0.5 * width for i, width in enumerate(widths)]  # where each stood in a tight row
        at = [float(ax.transData.transform(label.xy)[0]) for label in labels]
        starts = spread_apart([x - own for x, own in zip(at, before, strict=True)], 0.0)
        # from the left edge on, and then from the right one
        starts = [min(max(start, frame.x0), frame.x1 - sum(widths)) for start in starts]
        places = [start + own for start, own in zip(starts, before, strict=True)]
        for label, place, mark in zip(labels, places, at, strict=True):
            label.set_position(((place - mark) * points, label.get_position()[1]))


def shade_uncovered(ax: "Axes", report: GapReport, unit: LengthUnit) -> None:
    """Shade the targets without a stock answer; hatched, so that grey print shows it."""
    for one in report.stretches:
        ax.axvspan(
            in_unit(one.low_m, unit), in_unit(one.high_m, unit), facecolor=UNCOVERED_COLOUR, alpha=0.3, hatch="///",
            edgecolor=UNCOVERED_COLOUR, linewidth=0.0, zorder=0,
        )  # fmt: skip


def draw_chances(ax: "Axes", report: GapReport, unit: LengthUnit, before: GapReport | None = None) -> "Axes":
    """Draw the best chance of a stock shot over the targets; ``before`` is today's bag where another was asked for."""
    _draw_curve(ax, report, unit, color="black", linewidth=1.6, label="chance")
    highest = max(report.best_chances)
    if before is not None:
        ax.lines[0].set_label("the other bag")
        _draw_curve(ax, before, unit, color=COLOURS[0], linewidth=1.4, linestyle="--", label="today's bag")
        highest = max(highest, *before.best_chances)
        ax.legend(fontsize=8, frameon=False, ncols=2, loc="lower right")
    ax.set_ylim(0.0, 100.0 * min(1.0, 1.1 * highest + 0.02))
    ax.set_xlabel(f"target [{unit}]")
    ax.set_ylabel("best chance [%]")
    plain_axes(ax)
    return ax


def _draw_curve(ax: "Axes", report: GapReport, unit: LengthUnit, **look: Any) -> None:
    targets, chances = zip(*report.curve, strict=True)
    ax.plot([in_unit(target, unit) for target in targets], [100.0 * chance for chance in chances], **look)


def gaps_figure(report: GapReport, unit: LengthUnit, before: GapReport | None = None) -> "Figure":
    """Return the picture of what the stock shots cover; with ``before`` of another bag against today's."""
    from matplotlib.figure import Figure

    height = 2.9 + _ROW_INCHES * max(3, len(report.wedges))
    figure = Figure(figsize=(8.0, height), layout="constrained")
    top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=(height - 2.6, 1.5))
    lanes = _draw_rows(top, report, unit)
    shade_uncovered(bottom, report, unit)
    draw_chances(bottom, report, unit, before)
    who = f"{report.player}: " if report.player else ""
    bag = "stock shots and targets" if before is None else "the stock shots of another bag"
    key = ["mark: median", "bar: 8 solid balls in 10"]
    key += ["hollow: no ball logged"] if any(shot.support != "measured" for shot in report.shots) else []
    key += ["shaded: no stock answer"] if report.stretches else []
    span = f"{span_text(report.low_m, report.high_m, unit)} {unit}"
    cover = percent_text(report.coverage) + ("" if before is None else f" (today {percent_text(before.coverage)})")
    lay_out(top)  # once: neither title nor labels move the axes sideways
    title_that_fits(top, f"{who}{bag}; coverage of {span}: {cover}", ", ".join(key))
    _part_labels(top, lanes)
    return figure


def _limits(report: GapReport, shots: Sequence[ChartCell], unit: LengthUnit) -> tuple[float, float]:
    low = min(report.low_m, *(shot.carry_p10_m for shot in shots))
    high = max(report.high_m, *(shot.carry_p90_m for shot in shots))
    edge = _EDGE_SHARE * (high - low)
    return in_unit(low - edge, unit), in_unit(high + edge, unit)


def _title(wedge: Wedge) -> str:
    return fold(wedge_title(wedge.label, wedge.loft_deg), _LONGEST_LABEL)


def plain_axes(ax: "Axes") -> None:
    """Leave the grid and the two axes that are read."""
    ax.set_axisbelow(True)
    ax.grid(visible=True, alpha=0.25)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
