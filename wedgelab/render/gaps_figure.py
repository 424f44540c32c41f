"""The picture of the covered distance line: a row a wedge, and the best chance over the targets below."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from wedgelab.chart import ChartCell
from wedgelab.gaps.report import GapReport
from wedgelab.render.figure import COLOURS, MARKERS
from wedgelab.render.layout import fold, shorten
from wedgelab.render.words import percent_text, wedge_title
from wedgelab.shots import Wedge
from wedgelab.units import LengthUnit, format_length, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

UNCOVERED_COLOUR: Final = "#999999"
_LONGEST_LABEL: Final = 14
_LONGEST_SWING: Final = 8
_ROW_INCHES: Final = 0.5
_EDGE_SHARE: Final = 0.03


def draw_covered(ax: "Axes", report: GapReport, unit: LengthUnit) -> "Axes":
    """Draw a row a wedge: its stock shots as marks at their medians with the range of eight balls of ten.

    Hollow marks have no logged ball behind them. Targets without a stock answer are shaded through all rows.
    """
    shade_uncovered(ax, report, unit)
    for i, wedge in enumerate(report.wedges):
        colour, marker = COLOURS[i % len(COLOURS)], MARKERS[(i + i // len(COLOURS)) % len(MARKERS)]
        mine = [shot for shot in report.shots if (shot.wedge, shot.loft_deg) == (wedge.label, wedge.loft_deg)]
        # the bars of neighbouring swings meet: every other one stands a little lower
        for k, shot in enumerate(mine):
            height = i + (0.13 if k % 2 else -0.13)
            ax.plot(
                [in_unit(shot.carry_p10_m, unit), in_unit(shot.carry_p90_m, unit)], [height, height],
                color=colour, linewidth=2.4, alpha=0.75, solid_capstyle="butt", zorder=2,
            )  # fmt: skip
            ax.plot(
                [in_unit(shot.carry_m, unit)], [height], linestyle="none", marker=marker, markersize=7.0, color=colour,
                markerfacecolor=colour if shot.support == "measured" else "white", markeredgewidth=1.4, zorder=3,
            )  # fmt: skip
            ax.annotate(
                shorten(shot.swing, _LONGEST_SWING), (in_unit(shot.carry_m, unit), height),
                xytext=(0, 6 if k % 2 else -6), textcoords="offset points", ha="center",
                va="bottom" if k % 2 else "top", fontsize=7.5, parse_math=False, zorder=4,
            )  # fmt: skip
    ax.set_yticks(range(len(report.wedges)), [_title(wedge) for wedge in report.wedges], parse_math=False)
    ax.set_ylim(len(report.wedges) - 0.4, -0.6)  # least loft on top, as in the chart
    ax.set_ylabel("wedge")
    _plain(ax)
    return ax


def shade_uncovered(ax: "Axes", report: GapReport, unit: LengthUnit) -> None:
    """Shade the targets without a stock answer; hatched, so that grey print shows it."""
    for one in report.stretches:
        ax.axvspan(
            in_unit(one.low_m, unit), in_unit(one.high_m, unit), facecolor=UNCOVERED_COLOUR, alpha=0.3, hatch="///",
            edgecolor=UNCOVERED_COLOUR, linewidth=0.0, zorder=0,
        )  # fmt: skip


def draw_chances(ax: "Axes", report: GapReport, unit: LengthUnit, before: GapReport | None = None) -> "Axes":
    """Draw the best chance of a stock shot over the targets; ``before`` is today's bag where another was asked for."""
    targets = [in_unit(target, unit) for target in report.targets_m]
    ax.plot(targets, [100.0 * chance for chance in report.best_chances], color="black", linewidth=1.6, label="chance")
    highest = max(report.best_chances)
    if before is not None:
        ax.lines[0].set_label("the other bag")
        ax.plot(
            [in_unit(target, unit) for target in before.targets_m], [100.0 * chance for chance in before.best_chances],
            color=COLOURS[0], linewidth=1.4, linestyle="--", label="today's bag",
        )  # fmt: skip
        highest = max(highest, *before.best_chances)
        ax.legend(fontsize=8, frameon=False, ncols=2, loc="lower right")
    ax.set_ylim(0.0, 100.0 * min(1.0, 1.1 * highest + 0.02))
    ax.set_xlabel(f"target [{unit}]")
    ax.set_ylabel("best chance [%]")
    _plain(ax)
    return ax


def gaps_figure(report: GapReport, unit: LengthUnit, before: GapReport | None = None) -> "Figure":
    """Return the picture of what the stock shots cover; with ``before`` of another bag against today's."""
    from matplotlib.figure import Figure

    height = 2.9 + _ROW_INCHES * max(3, len(report.wedges))
    figure = Figure(figsize=(8.0, height), layout="constrained")
    top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=(height - 2.6, 1.5))
    draw_covered(top, report, unit)
    shade_uncovered(bottom, report, unit)
    draw_chances(bottom, report, unit, before)
    top.set_xlim(*_limits(report, report.shots, unit))
    who = f"{report.player}: " if report.player else ""
    bag = "stock shots and targets" if before is None else "the stock shots of another bag"
    hollow = ", hollow: no ball logged" if any(shot.support != "measured" for shot in report.shots) else ""
    shaded = ", shaded: no median inside the window" if report.stretches else ""
    span = f"{format_length(report.low_m, unit)} to {format_length(report.high_m, unit)} {unit}"
    cover = percent_text(report.coverage) + ("" if before is None else f" (today {percent_text(before.coverage)})")
    top.set_title(
        fold(f"{who}{bag}; coverage of {span}: {cover}", 80)
        + f"\nmark: median, bar: 8 solid balls in 10{hollow}{shaded}",
        fontsize=10.5, loc="left", parse_math=False,
    )  # fmt: skip
    return figure


def _limits(report: GapReport, shots: Sequence[ChartCell], unit: LengthUnit) -> tuple[float, float]:
    low = min(report.low_m, *(shot.carry_p10_m for shot in shots))
    high = max(report.high_m, *(shot.carry_p90_m for shot in shots))
    edge = _EDGE_SHARE * (high - low)
    return in_unit(low - edge, unit), in_unit(high + edge, unit)


def _title(wedge: Wedge) -> str:
    return fold(wedge_title(wedge.label, wedge.loft_deg), _LONGEST_LABEL)


def _plain(ax: "Axes") -> None:
    ax.set_axisbelow(True)
    ax.grid(visible=True, alpha=0.25)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
