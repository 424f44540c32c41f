"""The picture of suggested bags: what each covers against today's, and where the first one gains and loses."""

from typing import TYPE_CHECKING, Final

from wedgelab.gaps.bags import Comparison
from wedgelab.gaps.suggest import SuggestedBag, Suggestion
from wedgelab.render.figure import COLOURS, lay_out, title_that_fits, wedge_look
from wedgelab.render.gaps_figure import plain_axes
from wedgelab.render.gaps_words import bag_text, better_text, known_text, points_text, span_text
from wedgelab.render.layout import fold, shorten
from wedgelab.render.words import count_text, range_text
from wedgelab.units import LengthUnit, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_BAG_COLUMNS: Final = 18
_LONGEST_BAG: Final = 54
_ROW_INCHES: Final = 0.55
_LINE_INCHES: Final = 0.16
_LEGEND_COLUMNS: Final = 30


def draw_suggested(ax: "Axes", found: Suggestion, unit: LengthUnit) -> "Axes":
    """Draw a row a bag: how many points more than today's it covers were all known, with the 80 % interval.

    The line at nothing is today's bag. Beside each row stand the coverage, the chance that the bag is the better one,
    and its reach.
    """
    ax.axvline(0.0, color=COLOURS[0], linewidth=1.4, linestyle="--", zorder=1)
    for row, bag in enumerate(found.bags):
        against = bag.against_today
        if against is not None:
            _draw_bag(ax, row, bag, against, unit)
    ax.set_yticks(range(len(found.bags)), _names(found), parse_math=False, fontsize=9.0)
    ax.set_ylim(len(found.bags) - 0.4, -0.6)
    ax.set_xlabel("coverage against today's bag, were all known [points]")
    plain_axes(ax)
    return ax


def _names(found: Suggestion) -> list[str]:
    titles = (shorten(bag_text(bag.wedges), _LONGEST_BAG) for bag in found.bags)
    return [fold(f"{place}: {title}", _BAG_COLUMNS) for place, title in enumerate(titles, start=1)]


def _draw_bag(ax: "Axes", row: int, bag: SuggestedBag, against: Comparison, unit: LengthUnit) -> None:
    low, middle, high = (
        100.0 * share for share in (against.difference_p10, against.difference, against.difference_p90)
    )
    colour, marker, _ = ("black", "o", None) if row == 0 else wedge_look(row)
    ax.plot([low, high], [row, row], color=colour, linewidth=2.4, alpha=0.75, solid_capstyle="butt", zorder=2)
    ax.plot([middle], [row], linestyle="none", marker=marker, markersize=7.0, color=colour, zorder=3)
    ax.annotate(
        f"{points_text(against.difference)} points, chance better {better_text(against)}; covers {known_text(bag)}; "
        f"reach {range_text(bag.shortest_m, bag.longest_m, unit)} {unit}",
        (0.0, row), xycoords=("axes fraction", "data"), xytext=(3.0, -7.0), textcoords="offset points", va="top",
        fontsize=8.0, parse_math=False, zorder=4,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 0.8},
    )  # fmt: skip


def draw_gained(ax: "Axes", found: Suggestion, unit: LengthUnit) -> "Axes":
    """Draw the best chance of a stock shot over the targets, of the first bag and of today's, as it is now."""
    targets = [in_unit(target, unit) for target in found.targets_m]
    first = found.bags[0]
    ax.plot(
        targets, [100.0 * chance for chance in first.best_chances], color="black", linewidth=1.6,
        label=f"1: {shorten(bag_text(first.wedges), _LEGEND_COLUMNS)}",
    )  # fmt: skip
    ax.plot(
        targets, [100.0 * chance for chance in found.today.best_chances], color=COLOURS[0], linewidth=1.4,
        linestyle="--", label=f"today: {shorten(bag_text(found.today.wedges), _LEGEND_COLUMNS)}",
    )  # fmt: skip
    for text in ax.legend(fontsize=8, frameon=False, ncols=2, loc="lower right").get_texts():
        text.set_parse_math(False)
    ax.set_ylim(0.0, 100.0 * min(1.0, 1.1 * max(*first.best_chances, *found.today.best_chances) + 0.02))
    ax.set_xlabel(f"target [{unit}]")
    ax.set_ylabel("best chance [%]")
    plain_axes(ax)
    return ax


def suggestion_figure(found: Suggestion, unit: LengthUnit) -> "Figure":
    """Return the picture of the suggested bags: the bags above, the first one's chances against today's below."""
    from matplotlib.figure import Figure

    lines = max(name.count("\n") + 1 for name in _names(found))
    rows = max(_ROW_INCHES, _LINE_INCHES * (lines + 1)) * max(2, len(found.bags))
    figure = Figure(figsize=(8.0, 3.4 + rows), layout="constrained")
    top, bottom = figure.subplots(2, 1, height_ratios=(rows + 0.3, 1.7))
    draw_suggested(top, found, unit)
    draw_gained(bottom, found, unit)
    who = f"{found.player}: " if found.player else ""
    span = f"{span_text(found.low_m, found.high_m, unit)} {unit}"
    count = count_text(len(found.bags[0].wedges), "wedge")
    lay_out(top)
    title_that_fits(
        top,
        f"{who}the best bags of {count} for {span}; today's covers {known_text(found.today)}",
        "mark: were all known exactly, bar: 80 % interval, broken line: today's bag",
    )
    return figure
