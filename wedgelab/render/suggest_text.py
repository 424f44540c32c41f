"""Suggested bags as plain text of at most 80 columns."""

from typing import Final

from wedgelab.gaps.suggest import APART_DEG, LOFTS_DEG, WORTH_A_WEDGE, SuggestedBag, Suggestion
from wedgelab.render.gaps_text import bag_text, chance_text, comparison_facts, never_hit_text
from wedgelab.render.layout import WIDTH, display_width, fold, table, wrap
from wedgelab.render.words import count_text, percent_text
from wedgelab.units import LengthUnit, format_length, format_number

_BAG_COLUMN: Final = 16
_UNHIT_COLUMN: Final = 8


def suggestion_text(found: Suggestion, unit: LengthUnit) -> str:
    """Draw today's bag and the best ones found, then the verdict."""
    who = f"{found.player}: " if found.player else ""
    count = count_text(len(found.bags[0].wedges), "wedge")
    headers = [
        "", "wedges", f"reach\n{unit}", "cover,\nnow/\nknown", "against today,\npoints", "chance\nbetter", "never\nhit",
    ]  # fmt: skip
    rows = [_row("today", found.today, unit)]
    rows += [_row(str(place), bag, unit) for place, bag in enumerate(found.bags, start=1)]
    align = ["left", "left", *["right"] * 4, "left"]
    drawn = table(rows, headers, align)
    if any(display_width(line) > WIDTH for line in drawn.split("\n")):
        drawn = table([[cell.replace(" (", "\n(") for cell in row] for row in rows], headers, align)
    return "\n".join(
        [
            wrap(
                f"{who}the best bags of {count} for targets from {_span(found, unit)}, at your named swings; window "
                f"{found.window.describe(unit)}"
            ),
            "",
            drawn,
            "",
            wrap(
                "Cover: the chance of the best stock shot to land inside the window, averaged over the targets; with "
                "the doubt about the carries as it is now, and were carries and spread known exactly, by which bags "
                "are ranked and compared (80 % interval)."
            ),
            wrap(
                f"Searched {count_text(found.n_searched, 'bag')}: whole degrees from {LOFTS_DEG[0]:.0f} to "
                f"{LOFTS_DEG[-1]:.0f} and today's wedges, at least {APART_DEG:.0f} deg apart (common practice, no "
                f"source). For less than {format_number(100.0 * WORTH_A_WEDGE, 1)} points no wedge of "
                "today's is changed."
            ),
            wrap(f"Verdict: {suggestion_sentence(found, unit)}"),
        ]
    )


def suggestion_sentence(found: Suggestion, unit: LengthUnit) -> str:
    """Say whether a bag of so many wedges covers the span better than today's."""
    best = found.bags[0]
    if {wedge.label for wedge in best.wedges} == {wedge.label for wedge in found.today.wedges}:
        return (
            f"today's bag is as good as any: no bag of {count_text(len(best.wedges), 'wedge')} covers "
            f"{_span(found, unit)} better by {format_number(100.0 * WORTH_A_WEDGE, 1)} points or more."
        )
    against = best.against_today
    if against is None:
        return ""
    fewer = len(found.today.wedges) - len(best.wedges)
    size = (
        f" It has {count_text(abs(fewer), 'wedge')} {'fewer' if fewer > 0 else 'more'} than today's." if fewer else ""
    )
    name = bag_text(best.wedges)
    words = {
        "better": f"{name} covers these targets better than today's bag",
        "worse": f"no bag found covers these targets as well as today's; the best of them, {name}",
        "open": f"{name} is no better than today's bag as far as the log can tell",
    }[against.verdict]
    return f"{words}: {comparison_facts(against)}.{size}{never_hit_text(against.never_hit)}"


def _row(place: str, bag: SuggestedBag, unit: LengthUnit) -> list[str]:
    against = bag.against_today
    return [
        place,
        fold(bag_text(bag.wedges), _BAG_COLUMN),
        f"{format_length(bag.shortest_m, unit)}-{format_length(bag.longest_m, unit)}",
        f"{format_number(100.0 * bag.coverage)}/{percent_text(bag.known_coverage)}",
        "-" if against is None else _difference(against.difference, against.difference_p10, against.difference_p90),
        "-" if against is None else chance_text(against.better_probability),
        fold(" ".join(bag.never_hit), _UNHIT_COLUMN) or "-",
    ]


def _difference(middle: float, low: float, high: float) -> str:
    first, second, third = (format_number(100.0 * share, 1) for share in (middle, low, high))
    return f"{first} ({second} to {third})"


def _span(found: Suggestion, unit: LengthUnit) -> str:
    return f"{format_length(found.low_m, unit)} to {format_length(found.high_m, unit)} {unit}"
