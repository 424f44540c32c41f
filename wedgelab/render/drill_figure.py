"""The picture of a drill: every ball against its call, and the error by band of distance."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from wedgelab.drill.machine import DrillState, Played
from wedgelab.drill.scores import DrillSummary, MissSummary
from wedgelab.render.figure import plain_axes, wedge_look
from wedgelab.render.layout import fold, shorten
from wedgelab.render.words import count_text, percent_text, wedge_title
from wedgelab.units import LengthUnit, format_length, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

WINDOW_COLOUR: Final = "#BBBBBB"
BAR_COLOUR: Final = "#56B4E9"
_LONGEST_LABEL: Final = 18
_BAND_LABEL: Final = 7
_EDGE_SHARE: Final = 0.06  # of the span of calls and carries, kept free around them
_LEAST_EDGE: Final = 2.0


def draw_drill(ax: "Axes", state: DrillState, unit: LengthUnit) -> "Axes":
    """Draw carry against call: a diagonal, the window of each ball in grey, and the balls.

    Wedges differ by colour and marker. A ball outside its window is hollow; one hit without advice has a cross through
    it.
    """
    balls = state.played
    calls = [in_unit(ball.call_m, unit) for ball in balls]
    carries = [in_unit(ball.carry_m, unit) for ball in balls]
    halves = [in_unit(ball.window_m, unit) for ball in balls]
    ax.vlines(
        calls,
        [call - half for call, half in zip(calls, halves, strict=True)],
        [call + half for call, half in zip(calls, halves, strict=True)],
        colors=WINDOW_COLOUR, linewidth=7.0, alpha=0.45, capstyle="butt", zorder=1,
    )  # fmt: skip
    ends = [min(calls, default=0.0), max(calls, default=1.0)]
    edge = max(_LEAST_EDGE, _EDGE_SHARE * (max([*carries, *ends]) - min([*carries, *ends])))
    ax.plot(
        [ends[0] - edge, ends[1] + edge], [ends[0] - edge, ends[1] + edge],
        color="black", linewidth=0.8, linestyle="--", zorder=2,
    )  # fmt: skip
    for i, club in enumerate(_clubs(balls)):
        colour, marker, _ = wedge_look(i)
        for is_inside in (True, False):
            chosen = [j for j, ball in enumerate(balls) if _club(ball) == club and ball.is_inside == is_inside]
            if chosen:
                ax.plot(
                    [calls[j] for j in chosen], [carries[j] for j in chosen], linestyle="none", marker=marker,
                    markersize=6.5, color=colour, markerfacecolor=colour if is_inside else "white",
                    markeredgewidth=1.3, zorder=3,
                )  # fmt: skip
    bare = [j for j, ball in enumerate(balls) if not ball.ball.advice_shown]
    if bare:
        ax.plot(
            [calls[j] for j in bare], [carries[j] for j in bare], linestyle="none", marker="x", markersize=9.0,
            color="black", markeredgewidth=0.9, zorder=4,
        )  # fmt: skip
    ax.set_xlim(ends[0] - edge, ends[1] + edge)
    ax.set_xlabel(f"call [{unit}]")
    ax.set_ylabel(f"carry [{unit}]")
    plain_axes(ax)
    return ax


def draw_bands(ax: "Axes", groups: Sequence[MissSummary], unit: LengthUnit) -> "Axes":
    """Draw the total error of groups as bars, and what the chart expected as a mark across each."""
    errors = [in_unit(group.e_m, unit) for group in groups]
    ax.bar(range(len(groups)), errors, width=0.6, color=BAR_COLOUR, edgecolor="black", linewidth=0.6)
    expected = [
        (i, in_unit(group.expected_e_m, unit)) for i, group in enumerate(groups) if group.expected_e_m is not None
    ]
    if expected:
        ax.plot(
            [i for i, _ in expected], [e for _, e in expected], linestyle="none", marker="_", markersize=26.0,
            markeredgewidth=2.5, color="black",
        )  # fmt: skip
    for i, group in enumerate(groups):  # at the foot: above the bar it would stand at the chart's mark
        ax.annotate(
            format_length(group.e_m, unit, 1), (i, 0.0), xytext=(0, 4), textcoords="offset points", ha="center",
            va="bottom", fontsize=9,
        )  # fmt: skip
    labels = [f"{fold(group.label, _BAND_LABEL)}\n({group.n})" for group in groups]
    ax.set_xticks(range(len(groups)), labels, fontsize=8, parse_math=False)
    ax.set_xlim(-0.6, len(groups) - 0.4)
    ax.set_ylim(0.0, 1.1 * max([*errors, *(e for _, e in expected), 0.1]))
    ax.set_xlabel("calls (balls)")
    ax.set_ylabel(f"total error E [{unit}]")
    plain_axes(ax, grid="y")
    return ax


def drill_figure(state: DrillState, summary: DrillSummary, unit: LengthUnit) -> "Figure":
    """Return the picture of a drill: the balls at the left, the errors by band at the right, the legend below."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 5.0), layout="constrained")
    left, right = figure.subplots(1, 2, width_ratios=(1.55, 1.0))
    draw_drill(left, state, unit)
    left.set_title("every ball", fontsize=10, loc="left")
    groups = [summary.total, *(summary.bands if len(summary.bands) > 1 else ())]
    draw_bands(right, groups, unit)
    right.set_title("E by distance", fontsize=10, loc="left")
    total = summary.total
    figure.suptitle(
        f"Drill of {count_text(total.n, 'ball')}: E {format_length(total.e_m, unit, 1)} {unit}, inside the window "
        f"{total.inside} of {total.n} ({percent_text(total.share)})",
        fontsize=11, x=0.01, ha="left",
    )  # fmt: skip
    named = _legend(state.played, has_expected=total.expected_e_m is not None)
    legend = figure.legend(
        [line for line, _ in named], [""] * len(named), loc="outside lower center", ncols=4, fontsize=8, frameon=False,
    )  # fmt: skip
    for text, (_, label) in zip(legend.get_texts(), named, strict=True):
        text.set_parse_math(False)  # a player's label is no formula
        text.set_text(label)
    return figure


def _legend(balls: Sequence[Played], *, has_expected: bool) -> "list[tuple[Line2D, str]]":
    """Return what the signs of the picture mean, only of those that are in it."""
    from matplotlib.lines import Line2D

    def sign(marker: str, colour: str, **more: object) -> Line2D:
        return Line2D([], [], linestyle="none", marker=marker, color=colour, markersize=7.0, **more)  # type: ignore[arg-type]

    named = [
        (sign(wedge_look(i)[1], wedge_look(i)[0]), shorten(wedge_title(label, loft), _LONGEST_LABEL))
        for i, (loft, label) in enumerate(_clubs(balls))
    ]
    if any(not ball.is_inside for ball in balls):
        named.append((sign("o", "black", markerfacecolor="white"), "hollow: outside the window"))
    if any(not ball.ball.advice_shown for ball in balls):
        named.append((sign("x", "black"), "hit without advice"))
    named.append((sign("s", WINDOW_COLOUR), "window"))
    named.append((Line2D([], [], color="black", linewidth=0.8, linestyle="--"), "on the number"))
    if has_expected:
        named.append((sign("_", "black", markeredgewidth=2.5), "E that the chart expects of solid balls"))
    return named


def _club(ball: Played) -> tuple[float, str]:
    return ball.ball.loft_deg, ball.ball.wedge


def _clubs(balls: Sequence[Played]) -> list[tuple[float, str]]:
    return sorted({_club(ball) for ball in balls})
