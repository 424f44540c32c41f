"""What gaps, another bag and suggested bags say in words: sentences shared by text, JSON and pictures."""

from collections.abc import Sequence
from typing import Final

from wedgelab.gaps.bags import Comparison, WhatIf
from wedgelab.gaps.report import GapReport
from wedgelab.gaps.stretches import Stretch
from wedgelab.gaps.suggest import SuggestedBag
from wedgelab.prediction import NORMAL_P90
from wedgelab.render.words import count_text, percent_text, wedge_title
from wedgelab.shots import Wedge
from wedgelab.units import LengthUnit, format_length, format_number

SUREST: Final = 0.95  # of a comparison: what lies above was not found right more often, docs/decisions/0020
LIKELY_HOLE: Final = 0.8  # under this chance a hole or no hole is marked as not sure


def sentences(report: GapReport, unit: LengthUnit) -> tuple[str, ...]:
    """Say the answer: the widest stretch, the holes and the coverage, and what it rests on where that is little."""
    said = widest_sentence(report, unit), holes_sentence(report, unit), coverage_sentence(report, unit)
    rests_on = belief_sentence(report)
    return (*said, rests_on) if rests_on else said


def widest_sentence(report: GapReport, unit: LengthUnit) -> str:
    """Say which is the widest stretch of targets without a stock answer."""
    widest = report.widest
    span = f"{span_text(report.low_m, report.high_m, unit)} {unit}"
    if widest is None:
        return f"Every target from {span} has a stock answer: a median inside its window."
    targets = span_text(widest.low_m, widest.high_m, unit, _digits(widest, unit))
    sure = "" if is_sure(widest) else "; the doubt about the carries leaves open whether it is there at all"
    return (
        f"Widest stretch without a stock answer: {targets} {unit}, {beside(widest)}; the best stock shot for its "
        f"middle has a {percent_text(widest.window_probability)} chance{sure}."
    )


def spread_name(report: GapReport) -> str:
    """Name the spread that gaps are held against: before a few balls are logged it is not the player's own."""
    return "the spread believed of golfers in general" if report.is_mostly_belief else "the player's own spread"


def holes_sentence(report: GapReport, unit: LengthUnit) -> str:
    """Say how many gaps are larger than the player's own spread, and which is the largest of them."""
    if not report.holes:
        return f"No gap is larger than {spread_name(report)}."
    largest = max(report.holes, key=lambda gap: gap.gap_m - gap.spread_m)
    gap = give_or_take(largest.gap_m, largest.gap_se_m, unit)
    return (
        f"{count_text(len(report.holes), 'gap is', 'gaps are')} larger than {spread_name(report)}, most of all "
        f"{largest.wedge} {largest.swing} to {largest.longer_wedge} {largest.longer_swing}: {gap} {unit} against "
        f"{format_length(largest.spread_m, unit, 1)} (the chance that it is a hole: "
        f"{chance_text(largest.hole_probability)})."
    )


def coverage_sentence(report: GapReport, unit: LengthUnit) -> str:
    """Say the coverage and what the doubt about the carries makes of it."""
    return (
        f"Coverage of {span_text(report.low_m, report.high_m, unit)} {unit}: {percent_text(report.coverage)}, the "
        "chance of the best stock shot to land inside the window, averaged over the targets. Were carries and spread "
        f"known exactly it would be {share_span(report.known_coverage_p10, report.known_coverage_p90)} (80 % interval)."
    )


def belief_sentence(report: GapReport) -> str:
    """Say how little the answer rests on, where it is little; else nothing."""
    if report.is_mostly_belief:
        return believed_sentence(report.n_shots)
    if 2 * report.n_measured >= len(report.shots):
        return ""
    has = "has" if report.n_measured == 1 else "have"
    return (
        f"{report.n_measured} of {len(report.shots)} stock shots {has} a logged ball; the other carries are worked out "
        "from the logged ones and from what is believed of golfers in general."
    )


def believed_sentence(n_shots: int) -> str:
    """Say that hardly anything is logged."""
    logged = "1 ball is logged" if n_shots == 1 else f"{n_shots} balls are logged"
    return (
        f"{logged}: carries and spread are mostly what is believed of golfers in general, hardly yet what this player "
        "does; log more before a bag or a swing is changed for them."
    )


def what_if_sentence(found: WhatIf, unit: LengthUnit) -> str:
    """Say whether another bag covers the targets better, what it gives up, and how little that may rest on."""
    one = found.comparison
    words = {
        "better": "The other bag covers these targets better",
        "worse": "The other bag covers these targets worse",
        "open": "Which bag covers these targets better the log cannot tell; the other against today's",
    }[one.verdict]
    said = [
        comparison_sentence(one, "The other bag", words),
        reach_sentence(one, unit),
        never_hit_sentence(one.never_hit),
        believed_sentence(found.today.n_shots) if found.today.is_mostly_belief else "",
    ]
    return " ".join(part for part in said if part)


def comparison_sentence(one: Comparison, name: str, words: str) -> str:
    """Say how a bag compares with today's; of two of which one holds all wedges of the other no chance decides."""
    more = count_text(abs(one.wedges_more), "wedge")
    if one.contains == "other":
        return f"{name} is today's with {more} more and so cannot cover less: {difference_facts(one)}."
    if one.contains == "today":
        return f"{name} is today's with {more} fewer and so cannot cover more: {difference_facts(one)}."
    size = f" It has {more} {'more' if one.wedges_more > 0 else 'fewer'} than today's." if one.wedges_more else ""
    return (
        f"{words}: {difference_facts(one)}; the chance that it is the better one is "
        f"{decided_text(one.better_probability)}.{size}"
    )


def difference_facts(one: Comparison) -> str:
    """Say the difference of a bag's coverage from today's with its doubt, and how much it is in balls."""
    low, high = points_text(one.difference_p10), points_text(one.difference_p90)
    return (
        f"{points_text(one.difference)} points of coverage, 80 % interval {low} to {high} ({size_text(one.difference)})"
    )


def size_text(difference: float) -> str:
    """Say what a difference of coverages comes to in balls: a point of it is one ball in a hundred."""
    balls = abs(int(format_number(100.0 * difference)))
    if not balls:
        return "less than one ball in a hundred"
    return f"about {count_text(balls, 'ball')} in a hundred {'more' if difference > 0 else 'fewer'} inside the window"


def difference_text(one: Comparison) -> str:
    """Write the same for a cell of a table."""
    low, high = points_text(one.difference_p10), points_text(one.difference_p90)
    return f"{points_text(one.difference)} ({low} to {high})"


def better_text(one: Comparison) -> str:
    """Write the chance that a bag is better than today's; where no chance decides, all or nothing."""
    sure = {"other": 1.0, "today": 0.0}.get(one.contains)
    return decided_text(one.better_probability) if sure is None else percent_text(sure)


def decided_text(chance: float) -> str:
    """Write the chance that a bag is the better one: never surer than it was found right of invented players."""
    if chance > SUREST:
        return f"over {percent_text(SUREST)}"
    return f"under {percent_text(1.0 - SUREST)}" if 1.0 - chance > SUREST else percent_text(chance)


def reach_sentence(one: Comparison, unit: LengthUnit) -> str:
    """Say which ends of today's reach a bag gives up."""
    said = []
    for lost in one.lost_reach:
        end = "short" if lost.end == "shortest" else "long"
        said.append(
            f"It gives up the {end} end: its {lost.end} stock shot carries {format_length(lost.other_m, unit)} {unit}, "
            f"today's {format_length(lost.today_m, unit)}."
        )
    return " ".join(said)


def never_hit_sentence(labels: Sequence[str]) -> str:
    """Say that nothing was logged with some wedges."""
    if not labels:
        return ""
    which = labels[0] if len(labels) == 1 else f"{', '.join(labels[:-1])} and {labels[-1]}"
    lofts = "that loft" if len(labels) == 1 else "those lofts"
    return f"No ball was logged with {which} at {lofts}: the carries there are worked out from the wedges around."


def beside(stretch: Stretch) -> str:
    """Say between which shots a stretch lies."""
    if stretch.shorter is None or stretch.longer is None:
        shot = stretch.longer or stretch.shorter or ("", "")
        return f"{'shorter' if stretch.shorter is None else 'longer'} than {' '.join(shot)}"
    return f"between {' '.join(stretch.shorter)} and {' '.join(stretch.longer)}"


def chance_text(chance: float) -> str:
    """Write a chance that was found by drawing: never quite none and never quite certain."""
    return "over 99 %" if chance > 0.99 else "under 1 %" if chance < 0.01 else percent_text(chance)


def bag_text(wedges: Sequence[Wedge]) -> str:
    """Write the wedges of a bag in a row."""
    return " ".join(wedge_title(wedge.label, wedge.loft_deg) for wedge in wedges)


def is_sure(stretch: Stretch) -> bool:
    """Return whether a stretch is there in nine cases of ten, as far as the doubt about the carries goes."""
    return stretch.width_m >= NORMAL_P90 * stretch.width_se_m


def give_or_take(length_m: float, se_m: float, unit: LengthUnit) -> str:
    """Write a length with its standard error."""
    return f"{format_length(length_m, unit, 1)} ±{format_length(se_m, unit, 1)}"


def span_text(low_m: float, high_m: float, unit: LengthUnit, digits: int = 0) -> str:
    """Write a span of distances."""
    return f"{format_length(low_m, unit, digits)} to {format_length(high_m, unit, digits)}"


def share_span(low: float, high: float) -> str:
    """Write a span of shares in whole percents."""
    first, last = format_number(100.0 * low), format_number(100.0 * high)
    return f"{first} %" if first == last else f"{first} to {last} %"


def known_text(report: GapReport | SuggestedBag) -> str:
    """Write the known coverage with its interval."""
    return f"{percent_text(report.known_coverage)} ({share_span(report.known_coverage_p10, report.known_coverage_p90)})"


def points_text(share: float) -> str:
    """Write a difference of coverages in points, with its sign."""
    shown = format_number(100.0 * share, 1)
    return shown if shown.startswith("-") or float(shown) == 0.0 else f"+{shown}"


def _digits(stretch: Stretch, unit: LengthUnit) -> int:
    """Return decimals enough to tell the ends apart."""
    return 0 if float(format_length(stretch.width_m, unit)) >= 2 else 1
