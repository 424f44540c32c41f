"""Suggested bags as plain text of at most 80 columns."""

from typing import Final

from wedgelab.gaps.suggest import APART_DEG, LOFTS_DEG, WORTH_A_WEDGE, SuggestedBag, Suggestion
from wedgelab.render.gaps_words import (
    bag_text,
    believed_sentence,
    better_text,
    comparison_sentence,
    difference_text,
    never_hit_sentence,
    points_text,
    reach_sentence,
    span_text,
)
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
                f"{who}the best bags of {count} for targets from {span_text(found.low_m, found.high_m, unit)} {unit}, "
                f"at your named swings; window {found.window.describe(unit)}"
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
    """Say whether a bag of so many wedges covers the span better than today's, and what it gives up."""
    best, half_a_point = found.bags[0], format_number(100.0 * WORTH_A_WEDGE, 1)
    believed = believed_sentence(found.n_shots) if found.is_mostly_belief else ""
    against, name = best.against_today, bag_text(best.wedges)
    if against is None or set(best.wedges) == set(found.today.wedges):
        none = (
            f"today's bag is as good as any: no bag of {count_text(len(best.wedges), 'wedge')} covers "
            f"{span_text(found.low_m, found.high_m, unit)} {unit} better by {half_a_point} points or more."
        )
        said = [
            none,
            _more_but_new(found, "The best one found"),
            believed,
        ]
    else:
        words = {
            "better": f"{name} covers these targets better than today's bag",
            "worse": f"no bag found covers these targets as well as today's; the best of them, {name}",
            "open": f"{name} is no better than today's bag as far as the log can tell",
        }[against.verdict]
        said = [
            comparison_sentence(against, name, words),
            _more_but_new(found, "It stands first because it keeps more of today's wedges;"),
            reach_sentence(against, unit),
            never_hit_sentence(against.never_hit),
            believed,
        ]
    return " ".join(part for part in said if part)


def _more_but_new(found: Suggestion, lead: str) -> str:
    """Say which bag covers more than the first one and why it does not stand first, as far as the numbers show it."""
    more, first = found.better_but_new, found.bags[0].against_today
    if more is None or more.against_today is None or first is None:
        return ""
    # the difference of what the table shows: a reader subtracts
    shown = points_text(_shown(more.against_today.difference) - _shown(first.difference))
    if float(shown) <= 0.0:
        return ""
    return f"{lead} {bag_text(more.wedges)} covers {shown.removeprefix('+')} points more."


def _shown(share: float) -> float:
    return float(points_text(share)) / 100.0


def _row(place: str, bag: SuggestedBag, unit: LengthUnit) -> list[str]:
    against = bag.against_today
    return [
        place,
        fold(bag_text(bag.wedges), _BAG_COLUMN),
        f"{format_length(bag.shortest_m, unit)}-{format_length(bag.longest_m, unit)}",
        f"{format_number(100.0 * bag.coverage)}/{percent_text(bag.known_coverage)}",
        "-" if against is None else difference_text(against),
        "-" if against is None else better_text(against),
        fold(" ".join(bag.never_hit), _UNHIT_COLUMN) or "-",
    ]
