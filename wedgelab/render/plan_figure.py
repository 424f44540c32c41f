"""The picture of a practice plan: how surely each shot is known now and after the session, and its balls."""

from typing import TYPE_CHECKING, Final

from wedgelab.plan.session import PlannedShot, SessionPlan
from wedgelab.render.figure import COLOURS, lay_out, plain_axes, title_that_fits
from wedgelab.render.layout import left_to_right, shorten
from wedgelab.render.words import count_text, percent_text, wedge_title
from wedgelab.units import LengthUnit, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NOW_COLOUR: Final = "#767676"
AFTER_COLOUR: Final = COLOURS[0]
_LONGEST_LABEL: Final = 24
_ROW_INCHES: Final = 0.24


def draw_plan(ax: "Axes", plan: SessionPlan, unit: LengthUnit) -> "Axes":
    """Draw a row a shot, in the order to hit them, the others below: hollow its standard error now, filled after.

    A bar joins both; the number at the right is that of the balls, a dash where none is planned.
    """
    rows = _rows(plan)
    now = [in_unit(shot.se_now_m, unit) for shot in rows]
    after = [in_unit(shot.se_after_m, unit) for shot in rows]
    places = range(len(rows))
    ax.hlines(places, after, now, colors=AFTER_COLOUR, linewidth=1.6, alpha=0.6, zorder=1)
    ax.plot(
        now, places, linestyle="none", marker="o", markersize=6.5, color=NOW_COLOUR, markerfacecolor="white",
        markeredgewidth=1.3, label="now", zorder=2,
    )  # fmt: skip
    ax.plot(after, places, linestyle="none", marker="s", markersize=6.0, color=AFTER_COLOUR, label="after", zorder=3)
    right = 1.08 * max([*now, *after])
    for place, shot in zip(places, rows, strict=True):
        ax.annotate(
            count_text(shot.balls, "ball") if shot.balls else "-", (right, place), xytext=(4, 0),
            textcoords="offset points", va="center", fontsize=8, annotation_clip=False,
        )  # fmt: skip
    if plan.rest and plan.shots and len(rows) > len(plan.shots):
        ax.axhline(len(plan.shots) - 0.5, color="black", linewidth=0.6, linestyle=":")
    labels = [shorten(f"{wedge_title(shot.wedge, shot.loft_deg)} {shot.swing}", _LONGEST_LABEL) for shot in rows]
    ax.set_yticks(places, labels, fontsize=8.5, parse_math=False)
    ax.set_ylim(len(rows) - 0.4, -0.6)
    ax.set_xlim(0.0, right)
    ax.set_xlabel(f"standard error of the charted carry [{unit}]")
    plain_axes(ax, grid="x")
    return ax


def plan_figure(plan: SessionPlan, unit: LengthUnit) -> "Figure":
    """Return the picture of a plan."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 1.7 + _ROW_INCHES * max(6, len(_rows(plan)))), layout="constrained")
    ax = draw_plan(figure.add_subplot(), plan, unit)
    who = f"{left_to_right(shorten(plan.player, _LONGEST_LABEL))}: " if plan.player else ""
    said = f"{who}{count_text(plan.balls, 'ball')} of the next session, in the order to hit them"
    if len(_rows(plan)) > len(plan.shots):
        said += "; below the line: not hit"
    figure.legend(fontsize=8.5, frameon=False, loc="outside lower right", ncols=2)
    lay_out(ax)
    known = f"{percent_text(plan.doubt_now, 1)} now, {percent_text(plan.doubt_after, 1)} after"
    title_that_fits(ax, said, f"mean standard error: {known}")
    return figure


def _rows(plan: SessionPlan) -> list[PlannedShot]:
    return [*plan.shots, *(shot for shot in plan.rest if shot.weight > 0.0)]
