"""Gaps, and what another bag would cover, as plain text of at most 80 columns."""

from typing import Final

from wedgelab.gaps.bags import WhatIf
from wedgelab.gaps.report import GapReport, Overlap, ShotGap
from wedgelab.prediction import Support
from wedgelab.render.gaps_words import (
    LIKELY_HOLE,
    bag_text,
    beside,
    difference_text,
    give_or_take,
    is_sure,
    known_text,
    sentences,
    span_text,
    what_if_sentence,
)
from wedgelab.render.layout import fold, table, wrap
from wedgelab.render.strips import Mark, Row, distance_strip, signs, signs_shown
from wedgelab.render.words import CARRY_SIGNS, carry_text, percent_text, range_text, wedge_title
from wedgelab.units import LengthUnit, format_length, format_number

_LABEL_COLUMN: Final = 8
_NOTE_COLUMN: Final = 13
_SHOT_COLUMN: Final = 16
_SPIN_STEP_RPM: Final = 50.0


def gaps_text(report: GapReport, unit: LengthUnit, whose: str = "", *, ascii_only: bool = False) -> str:
    """Draw the stock shots, the line that they cover, what has no answer, what does the same job, in words last."""
    who = whose or (f"{report.player}: " if report.player else "")
    parts = [
        wrap(f"{who}stock shots by carry in {unit}, the range of 8 solid balls in 10, balls logged"),
        _shots_table(report, unit),
        _strip_part(report, unit, ascii_only=ascii_only),
        _stretches_part(report, unit),
        _overlaps_part(report, unit),
        "\n".join(wrap(line) for line in (*_legend(report, unit), *sentences(report, unit))),
    ]
    return "\n\n".join(part for part in parts if part)


def what_if_text(found: WhatIf, unit: LengthUnit, *, ascii_only: bool = False) -> str:
    """Draw today's bag and the other side by side, then the other bag's gaps."""
    both, one = (found.today, found.other), found.comparison
    rows = [
        ["wedges", *(fold(bag_text(report.wedges), 26) for report in both)],
        [f"reach {unit}", *(span_text(r.shots[0].carry_m, r.shots[-1].carry_m, unit) for r in both)],
        ["coverage now", *(percent_text(r.coverage) for r in both)],
        ["  known exactly", *(known_text(r) for r in both)],
        ["  difference, points", "-", difference_text(one)],
        ["holes", *(str(len(r.holes)) for r in both)],
        [f"widest stretch {unit}", *(_widest_text(r, unit) for r in both)],
    ]
    who = f"{found.today.player}: " if found.today.player else ""
    span = f"{span_text(found.today.low_m, found.today.high_m, unit)} {unit}"
    lines = [
        wrap(f"{who}another bag against today's, over targets from {span}, {found.today.window.describe(unit)}"),
        "",
        table(rows, ["", "today", "the other"]),
        "",
        wrap(what_if_sentence(found, unit)),
        wrap(
            "Known exactly: what coverage would be were every carry and the spread known exactly, with its 80 % "
            "interval; by this the bags are compared."
        ),
        "",
        gaps_text(found.other, unit, "The other bag: ", ascii_only=ascii_only),
    ]
    return "\n".join(lines)


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
            "-" if gap is None else give_or_take(gap.gap_m, gap.gap_se_m, unit),
            "-" if gap is None else format_length(gap.spread_m, unit, 1),
            fold(_note(gap, is_redundant=(shot.wedge, shot.swing) in redundant), _NOTE_COLUMN),
        ]
        for shot, gap in zip(report.shots, gaps, strict=True)
    ]
    spread = "believed\nspread" if report.is_mostly_belief else "own\nspread"
    headers = ["wedge", "swing", f"carry\n{unit}", "8 in 10", "balls", "to the\nnext", spread, ""]
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
            span_text(one.low_m, one.high_m, unit, 1),
            give_or_take(one.width_m, one.width_se_m, unit),
            percent_text(one.window_probability),
            fold(beside(one) if is_sure(one) else f"maybe {beside(one)}", 40),
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
            give_or_take(one.gap_m, one.gap_se_m, unit),
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
    """Explain what is shown, and nothing else."""
    lines = []
    if report.gaps:
        lines += [_gap_legend(report)]
    lines.append(
        f"A target has a stock answer if a median lies inside its window ({report.window.describe(unit)}). Swings "
        "between the named ones are not counted: choose works them out."
    )
    if any(not is_sure(one) for one in report.stretches):
        lines.append("Maybe between: the stretch is narrower than its doubt, less sure than nine chances in ten.")
    if report.overlaps:
        lines.append(
            "Redundant: a ball of the longer shot flies farther in less than two cases of three. That is said of the "
            "distance alone: spin is what the redundant shot has more (+) or less (-), coverage what is lost without "
            "it."
        )
    return [*lines, *_carry_legend({shot.support for shot in report.shots})]


def _carry_legend(shown: set[Support]) -> list[str]:
    said = []
    if "between" in shown:
        said.append(f"{CARRY_SIGNS['between']} between the logged shots")
    if "beyond" in shown:
        said.append(f"{CARRY_SIGNS['beyond']} beyond {'them' if said else 'the logged shots'}")
    return [", ".join(said)] if said else []


def _gap_legend(report: GapReport) -> str:
    name = "Spread: as believed of golfers in general," if report.is_mostly_belief else "Own spread:"
    holes = "; a larger gap is a hole" if report.holes else ""
    if any(gap.is_hole and gap.hole_probability < LIKELY_HOLE for gap in report.gaps):
        holes += f", maybe one where that is less than {percent_text(LIKELY_HOLE)} sure"
    return (
        f"To the next: median to median, give or take one standard error. {name} one standard deviation of the one "
        "shot and one of the other, of balls and days, without the doubt about the carries, known to about "
        f"{percent_text(report.spread_doubt)}{holes}."
    )


def _strip_part(report: GapReport, unit: LengthUnit, *, ascii_only: bool) -> str:
    """Draw the covered line: a row a wedge, and below them the targets without an answer."""
    rows = []
    for wedge in report.wedges:
        mine = [shot for shot in report.shots if (shot.wedge, shot.loft_deg) == (wedge.label, wedge.loft_deg)]
        marks = [Mark(s.carry_m, s.carry_p10_m, s.carry_p90_m, s.support != "measured") for s in mine]
        rows.append(Row(wedge_title(wedge.label, wedge.loft_deg), tuple(marks)))
    if report.stretches:
        rows.append(Row("no answer", shaded_m=tuple((one.low_m, one.high_m) for one in report.stretches)))
    low = min(report.low_m, *(shot.carry_p10_m for shot in report.shots))
    high = max(report.high_m, *(shot.carry_p90_m for shot in report.shots))
    use, shown = signs(ascii_only=ascii_only), signs_shown(rows, low, high, ascii_only=ascii_only)
    legend = [
        (use.mark, "median"),
        (use.hollow, "median, no ball logged"),
        (use.bar, "8 solid balls in 10"),
        (use.double, "those of two swings"),
        (use.shade, "no median inside the window"),
    ]
    told = ", ".join(f"{sign} {what}" for sign, what in legend if sign in shown)
    drawn = distance_strip(rows, low, high, unit, ascii_only=ascii_only)
    return "\n".join([*drawn, "", wrap(f"Distances in {unit}: {told}")])


def _widest_text(report: GapReport, unit: LengthUnit) -> str:
    widest = report.widest
    return "-" if widest is None else span_text(widest.low_m, widest.high_m, unit, 1)
