"""Gaps, and what another bag would cover, as plain text of at most 80 columns."""

from collections.abc import Sequence
from typing import Final

from wedgelab.gaps.bags import Comparison, WhatIf
from wedgelab.gaps.report import GapReport, Overlap, ShotGap
from wedgelab.gaps.stretches import Stretch
from wedgelab.render.layout import fold, table, wrap
from wedgelab.render.words import carry_text, count_text, percent_text, range_text, wedge_title
from wedgelab.shots import Wedge
from wedgelab.units import LengthUnit, format_length, format_number

CARRY_LEGEND: Final = "~ between the logged shots, ? beyond them"
LIKELY_HOLE: Final = 0.8  # under this chance a hole or no hole is marked as not sure
_LABEL_COLUMN: Final = 8
_NOTE_COLUMN: Final = 13
_SHOT_COLUMN: Final = 16
_SPIN_STEP_RPM: Final = 50.0


def gaps_text(report: GapReport, unit: LengthUnit, whose: str = "") -> str:
    """Draw the stock shots with their distances, then what has no answer and what does the same job, in words last."""
    who = whose or (f"{report.player}: " if report.player else "")
    parts = [
        wrap(f"{who}stock shots by carry in {unit}, the range of 8 solid balls in 10, balls logged"),
        _shots_table(report, unit),
        _stretches_part(report, unit),
        _overlaps_part(report, unit),
        "\n".join(wrap(line) for line in (*_legend(report, unit), *sentences(report, unit))),
    ]
    return "\n\n".join(part for part in parts if part)


def sentences(report: GapReport, unit: LengthUnit) -> tuple[str, ...]:
    """Say the answer: the widest stretch, the holes and the coverage."""
    return widest_sentence(report, unit), holes_sentence(report, unit), coverage_sentence(report, unit)


def widest_sentence(report: GapReport, unit: LengthUnit) -> str:
    """Say which is the widest stretch of targets without a stock answer."""
    widest = report.widest
    span = f"{_span(report.low_m, report.high_m, unit)} {unit}"
    if widest is None:
        return f"Every target from {span} has a stock answer: a median inside its window."
    targets = _span(widest.low_m, widest.high_m, unit, _digits(widest, unit))
    sure = "" if _is_sure(widest) else "; the doubt about the carries leaves open whether it is there at all"
    return (
        f"Widest stretch without a stock answer: {targets} {unit}, {beside(widest)}; the best stock shot for its "
        f"middle has a {percent_text(widest.window_probability)} chance{sure}."
    )


def holes_sentence(report: GapReport, unit: LengthUnit) -> str:
    """Say how many gaps are larger than the player's own spread, and which is the largest of them."""
    if not report.holes:
        return "No gap is larger than the player's own spread."
    largest = max(report.holes, key=lambda gap: gap.gap_m - gap.spread_m)
    gap = _give_or_take(largest.gap_m, largest.gap_se_m, unit)
    return (
        f"{count_text(len(report.holes), 'gap is', 'gaps are')} larger than the player's own spread, most of all "
        f"{largest.wedge} {largest.swing} to {largest.longer_wedge} {largest.longer_swing}: {gap} {unit} against "
        f"{format_length(largest.spread_m, unit, 1)} (the chance that it is a hole: "
        f"{chance_text(largest.hole_probability)})."
    )


def coverage_sentence(report: GapReport, unit: LengthUnit) -> str:
    """Say the coverage and what the doubt about the carries makes of it."""
    return (
        f"Coverage of {_span(report.low_m, report.high_m, unit)} {unit}: {percent_text(report.coverage)}, the chance "
        "of the best stock shot to land inside the window, averaged over the targets. Were carries and spread known "
        f"exactly it would be {_share_span(report.known_coverage_p10, report.known_coverage_p90)} (80 % interval)."
    )


def what_if_text(found: WhatIf, unit: LengthUnit) -> str:
    """Draw today's bag and the other side by side, then the other bag's gaps."""
    both = (found.today, found.other)
    rows = [
        ["wedges", *(fold(bag_text(report.wedges), 26) for report in both)],
        [f"reach {unit}", *(_span(r.shots[0].carry_m, r.shots[-1].carry_m, unit) for r in both)],
        ["coverage now", *(percent_text(r.coverage, 1) for r in both)],
        ["  known exactly", *(_known_text(r) for r in both)],
        ["holes", *(str(len(r.holes)) for r in both)],
        [f"widest stretch {unit}", *(_widest_text(r, unit) for r in both)],
    ]
    who = f"{found.today.player}: " if found.today.player else ""
    span = f"{_span(found.today.low_m, found.today.high_m, unit)} {unit}"
    lines = [
        wrap(f"{who}another bag against today's, over targets from {span}, {_window_text(found.today, unit)}"),
        "",
        table(rows, ["", "today", "the other"]),
        "",
        wrap(comparison_sentence(found.comparison)),
        wrap(
            "Known exactly: what coverage would be were every carry and the spread known exactly, with its 80 % "
            "interval; by this the bags are compared."
        ),
        "",
        gaps_text(found.other, unit, "The other bag: "),
    ]
    return "\n".join(lines)


def comparison_sentence(comparison: Comparison, name: str = "The other bag") -> str:
    """Say whether a bag covers the targets better, and how sure that is."""
    words = {
        "better": f"{name} covers these targets better",
        "worse": f"{name} covers these targets worse",
        "open": "Which bag covers these targets better the log cannot tell; the other against today's",
    }[comparison.verdict]
    return f"{words}: {comparison_facts(comparison)}.{never_hit_text(comparison.never_hit)}"


def comparison_facts(comparison: Comparison) -> str:
    """Say the difference of a bag's coverage from today's with its doubt."""
    return (
        f"{_signed(comparison.difference)} points of coverage, 80 % interval {_signed(comparison.difference_p10)} to "
        f"{_signed(comparison.difference_p90)}; the chance that it is the better one is "
        f"{chance_text(comparison.better_probability)}"
    )


def never_hit_text(labels: Sequence[str]) -> str:
    """Say that nothing was logged with some wedges."""
    if not labels:
        return ""
    lofts = "that loft" if len(labels) == 1 else "those lofts"
    which = f"{_listed(labels)} at {lofts}"
    return f" No ball was logged with {which}: the carries there are worked out from the wedges around."


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


def _shots_table(report: GapReport, unit: LengthUnit) -> str:
    gaps: list[ShotGap | None] = [*report.gaps, None]
    redundant = {(overlap.wedge, overlap.swing) for overlap in report.overlaps}
    rows = [
        [
            fold(shot.wedge, _LABEL_COLUMN),
            fold(shot.swing, _LABEL_COLUMN),
            carry_text(shot.carry_m, shot.support, unit),
            range_text(shot.carry_p10_m, shot.carry_p90_m, unit),
            str(shot.n_shots),
            "-" if gap is None else _give_or_take(gap.gap_m, gap.gap_se_m, unit),
            "-" if gap is None else format_length(gap.spread_m, unit, 1),
            fold(_note(gap, is_redundant=(shot.wedge, shot.swing) in redundant), _NOTE_COLUMN),
        ]
        for shot, gap in zip(report.shots, gaps, strict=True)
    ]
    headers = ["wedge", "swing", f"carry\n{unit}", "8 in 10", "balls", "to the\nnext", "own\nspread", ""]
    return table(rows, headers, ["left", "left", *["right"] * 5, "left"])


def _note(gap: ShotGap | None, *, is_redundant: bool) -> str:
    words = ["redundant"] if is_redundant else []
    if gap is not None and gap.is_hole:
        words.append("hole after it" if gap.hole_probability >= LIKELY_HOLE else "maybe hole after it")
    return ", ".join(words)


def _stretches_part(report: GapReport, unit: LengthUnit) -> str:
    if not report.stretches:
        return ""
    rows = [
        [
            _span(one.low_m, one.high_m, unit, 1),
            _give_or_take(one.width_m, one.width_se_m, unit) + ("" if _is_sure(one) else " ?"),
            percent_text(one.window_probability),
            fold(beside(one), 40),
        ]
        for one in report.stretches
    ]
    title = f"Targets without a stock answer, in {unit}, and the best chance at their middle"
    return f"{wrap(title)}\n\n" + table(rows, ["targets", "wide", "chance", ""], ["left", "left", "right", "left"])


def _overlaps_part(report: GapReport, unit: LengthUnit) -> str:
    if not report.overlaps:
        return ""
    rows = [
        [
            fold(f"{one.wedge} {one.swing}", _SHOT_COLUMN),
            fold(f"{one.kept_wedge} {one.kept_swing}", _SHOT_COLUMN),
            f"{one.n_shots} / {one.kept_n_shots}",
            _give_or_take(one.gap_m, one.gap_se_m, unit),
            _spin_difference(one),
            f"{format_number(-100.0 * one.coverage_lost, 1)}",
        ]
        for one in report.overlaps
    ]
    headers = ["redundant", "beside", "balls", f"apart\n{unit}", "spin\nrpm", "coverage,\npoints"]
    title = "Two shots for one distance; redundant is the one with fewer balls, else the one that costs less"
    return f"{wrap(title)}\n\n" + table(rows, headers, ["left", "left", *["right"] * 4])


def _spin_difference(overlap: Overlap) -> str:
    shown = _SPIN_STEP_RPM * float(format_number(overlap.spin_difference_rpm / _SPIN_STEP_RPM))
    return f"{'+' if shown > 0 else ''}{format_number(shown)}"


def _legend(report: GapReport, unit: LengthUnit) -> list[str]:
    spread = (
        "To the next: median to median, give or take one standard error. Own spread: one standard deviation of the one "
        "shot and one of the other, of balls and days, without the doubt about the carries; a larger gap is a hole."
    )
    answer = (
        f"A target has a stock answer if a median lies inside its window ({_window_text(report, unit)}). Swings "
        "between the named ones are not counted: choose works them out."
    )
    lines = [spread, answer]
    if any(not _is_sure(one) for one in report.stretches):
        lines.append("? narrower than its doubt: less sure than nine chances in ten")
    if report.overlaps:
        lines.append(
            "Redundant: a ball of the longer shot flies farther in less than two cases of three. That is said of the "
            "distance alone: spin is what the redundant shot has more (+) or less (-), coverage what is lost without "
            "it."
        )
    if any(shot.support != "measured" for shot in report.shots):
        lines.append(CARRY_LEGEND)
    return lines


def _is_sure(stretch: Stretch) -> bool:
    return stretch.width_m >= 1.2816 * stretch.width_se_m  # nine chances of ten on one side


def _digits(stretch: Stretch, unit: LengthUnit) -> int:
    """Return decimals enough to tell the ends apart."""
    return 0 if float(format_length(stretch.width_m, unit)) >= 2 else 1


def _widest_text(report: GapReport, unit: LengthUnit) -> str:
    widest = report.widest
    return "-" if widest is None else _span(widest.low_m, widest.high_m, unit, 1)


def _known_text(report: GapReport) -> str:
    return (
        f"{percent_text(report.known_coverage, 1)} "
        f"({_share_span(report.known_coverage_p10, report.known_coverage_p90)})"
    )


def _window_text(report: GapReport, unit: LengthUnit) -> str:
    return report.window.describe(unit)


def _give_or_take(length_m: float, se_m: float, unit: LengthUnit) -> str:
    return f"{format_length(length_m, unit, 1)} ±{format_length(se_m, unit, 1)}"


def _span(low_m: float, high_m: float, unit: LengthUnit, digits: int = 0) -> str:
    return f"{format_length(low_m, unit, digits)} to {format_length(high_m, unit, digits)}"


def _share_span(low: float, high: float) -> str:
    first, last = format_number(100.0 * low), format_number(100.0 * high)
    return f"{first} %" if first == last else f"{first} to {last} %"


def _signed(share: float) -> str:
    shown = format_number(100.0 * share, 1)
    return shown if shown.startswith("-") or float(shown) == 0.0 else f"+{shown}"


def _listed(labels: Sequence[str]) -> str:
    return labels[0] if len(labels) == 1 else f"{', '.join(labels[:-1])} and {labels[-1]}"
