"""The chart, the choice and the drill as plain text of at most 80 columns."""

from collections.abc import Sequence
from typing import Final

from wedgelab.chart import Chart, ChartCell
from wedgelab.choose import Choice, Option
from wedgelab.drill import DrillSummary, MissSummary, Played
from wedgelab.render.layout import WIDTH, display_width, fold, table, wrap
from wedgelab.render.words import (
    RULES_LINE,
    SUPPORT_LEGEND,
    carry_text,
    count_text,
    percent_text,
    range_text,
    signed_length,
    spin_text,
    wedge_title,
)
from wedgelab.units import LengthUnit, format_length, format_number
from wedgelab.window import WindowRule

_LEAST_COLUMN: Final = 8  # "(10050)" and "12 ±10.0" fit
_SWING_COLUMN: Final = 10
_WEDGE_COLUMN: Final = 16
_BETWEEN: Final = 2
_FEWEST_TO_COMPARE: Final = 5  # with fewer, one ball decides between better and worse
_WORTH_LOGGING: Final = 0.05  # a smaller share of the doubt is no advice
_FIRST_COLUMNS: Final = _WEDGE_COLUMN + _BETWEEN + len("spin rpm")


def chart_text(chart: Chart, unit: LengthUnit) -> str:
    """Draw the chart: rows of wedges, columns of swing lengths, then gaps and what to log next."""
    title = f"{chart.player}: " if chart.player else ""
    lines = [wrap(f"{title}carry in {unit}, the range of 8 solid balls in 10, spin in rpm, balls logged"), ""]
    for block in _blocks(chart):
        lines += [_chart_block(chart, block, unit), ""]
    if chart.gaps:
        lines += [f"Gaps to the next wedge at the same swing, in {unit}, give or take one standard error", ""]
        for block in _blocks(chart):
            lines += [_gap_block(chart, block, unit), ""]
    lines.append(learnt_line(chart))
    if chart.next is not None:
        lines.append(wrap(next_line(chart)))
    if any(cell.support != "measured" or cell.spin_support != "measured" for cell in chart.cells):
        lines.append(wrap(SUPPORT_LEGEND))
    return "\n".join(lines)


def learnt_line(chart: Chart) -> str:
    """Say what the chart rests on."""
    return f"Learnt from {count_text(chart.n_shots, 'shot')} in {count_text(chart.n_sessions, 'session')}."


def next_line(chart: Chart) -> str:
    """Say which balls would make the chart surest."""
    if chart.next is None:
        return ""
    doubt = chart.next
    now = percent_text(doubt.doubt_now, 1)
    if doubt.doubt_after > (1.0 - _WORTH_LOGGING) * doubt.doubt_now:
        return (
            f"A carry is known to about {now} on average. A few more balls change that little now; if any, with "
            f"{doubt.wedge} {doubt.swing} on another day."
        )
    return (
        f"To make it surer, log {count_text(doubt.balls, 'ball')} with {doubt.wedge} {doubt.swing} in another session: "
        f"a carry is known to about {now} on average now, to {percent_text(doubt.doubt_after, 1)} then."
    )


def _blocks(chart: Chart) -> list[range]:
    """Split the swing lengths so that each block of columns fits the width."""
    columns = len(chart.swings)
    widest = max(display_width(line) for swing in chart.swings for line in fold(swing.label, _SWING_COLUMN).split("\n"))
    most = max(1, (WIDTH - _FIRST_COLUMNS) // (max(_LEAST_COLUMN, widest) + _BETWEEN))
    return [range(start, min(start + most, columns)) for start in range(0, columns, most)]


def _chart_block(chart: Chart, block: range, unit: LengthUnit) -> str:
    rows: list[list[str]] = []
    for i, (wedge, cells) in enumerate(zip(chart.wedges, chart.rows, strict=True)):
        shown = [cells[j] for j in block]
        if i:
            rows.append([""] * (len(shown) + 2))
        rows.append(
            [
                fold(wedge_title(wedge.label, wedge.loft_deg), _WEDGE_COLUMN),
                f"carry {unit}",
                *(_carry(cell, unit) for cell in shown),
            ]
        )
        rows.append(["", "8 in 10", *(range_text(cell.carry_p10_m, cell.carry_p90_m, unit) for cell in shown)])
        rows.append(["", "spin rpm", *(spin_text(cell.spin_rpm, cell.spin_support) for cell in shown)])
        rows.append(["", "balls", *(str(cell.n_shots) for cell in shown)])
    headers = ["wedge", "", *(fold(chart.swings[j].label, _SWING_COLUMN) for j in block)]
    return table(rows, headers, ["left", "left", *["right"] * len(block)])


def _carry(cell: ChartCell, unit: LengthUnit) -> str:
    return carry_text(cell.carry_m, cell.support, unit)


def _gap_block(chart: Chart, block: range, unit: LengthUnit) -> str:
    rows = [
        [
            fold(f"{gaps[0].wedge} over {gaps[0].next_wedge}", _FIRST_COLUMNS),
            *(f"{format_length(gaps[j].gap_m, unit)} ±{format_length(gaps[j].gap_se_m, unit, 1)}" for j in block),
        ]
        for gaps in chart.gaps
    ]
    headers = ["", *(fold(chart.swings[j].label, _SWING_COLUMN) for j in block)]
    return table(rows, headers, ["left", *["right"] * len(block)])


def choice_text(choice: Choice, unit: LengthUnit, window: WindowRule) -> str:
    """Draw the options for a target, best first, and the verdict."""
    wants = {"window": "the best chance inside it", "spin": "high spin", "low-spin": "low spin"}
    edges = f"{format_length(choice.window_low_m, unit, 1)} to {format_length(choice.window_high_m, unit, 1)} {unit}"
    target = f"{format_length(choice.target_m, unit, 1).removesuffix('.0')} {unit}"
    rows: list[list[str]] = []
    for i, option in enumerate(choice.options, 1):
        if i > 1 and option.window_probability < choice.least_probability <= choice.options[i - 2].window_probability:
            rows.append([""] * 9)  # from here on by chance
        rows.append(
            [
                str(i),
                fold(wedge_title(option.wedge, option.loft_deg), 12),
                fold(option.swing + ("" if option.practised else " *"), 9),
                carry_text(option.carry_m, option.support, unit),
                range_text(option.carry_p10_m, option.carry_p90_m, unit),
                percent_text(option.window_probability),
                f"{spin_text(option.spin_rpm, option.spin_support)} ±{spin_text(option.spin_sd_rpm, 'measured')}",
                f"{format_number(option.land_deg)}",
                str(option.n_shots),
            ]
        )
    headers = ["", "wedge", "swing", f"carry\n{unit}", "8 in 10", "inside", "spin\nrpm", "lands\ndeg", "balls"]
    lines = [
        wrap(f"{target}, window {edges} ({window.describe(unit)}); wanted: {wants[choice.want]}"),
        "",
        table(rows, headers, ["right", "left", "left", *["right"] * 6]),
        "",
    ]
    if choice.want != "window":
        lines.append(
            wrap(
                f"Ranked by spin among chances of {percent_text(choice.least_probability)} or more (three quarters of "
                "the best), then by chance."
            )
        )
    lines.append("Spin: median, give or take one standard deviation of a single ball.")
    if any(not option.practised for option in choice.options):
        lines.append("* worked out for this distance, not one of the named swing lengths")
    if any(o.support != "measured" or o.spin_support != "measured" for o in choice.options):
        lines.append(wrap(SUPPORT_LEGEND))
    lines += [wrap(f"Verdict: {verdict(choice)}"), wrap(RULES_LINE)]
    return "\n".join(lines)


def verdict(choice: Choice) -> str:
    """Say the best option in one plain sentence, with what it gives up and what it rests on."""
    best, rival = choice.best, choice.rival
    read = "" if best.spin_support == "measured" else " (not measured)"
    text = (
        f"{best.wedge} at {best.swing}: {percent_text(best.window_probability)} inside the window, "
        f"about {spin_text(best.spin_rpm, 'measured')} rpm{read}"
    )
    if rival is not None:
        points = _points(abs(best.window_probability - rival.window_probability))
        rpm = spin_text(abs(best.spin_rpm - rival.spin_rpm), "measured")
        rpm = rpm if rpm != "0" else "hardly any"
        other = f"{rival.wedge} at {rival.swing}{'' if rival.support == 'measured' else ' (no ball logged there)'}"
        if choice.want == "window":
            text += f"; {other} would give {rpm} rpm more for {points} of that chance"
        else:
            sign = "more" if choice.want == "spin" else "less"
            text += f", {rpm} rpm {sign} than {other}, and gives up {points} of chance for it"
    elif len(choice.options) > 1:
        text += (
            "; nothing is given up: no other option is better at chance or at spin"
            if choice.want == "window"
            else "; nothing is given up: no other option has a better chance"
        )
    return f"{text}.{_doubts(best, choice)}"


def _points(share: float) -> str:
    shown = int(format_number(100.0 * share))
    return count_text(shown, "point") if shown else "less than a point"


def _doubts(best: Option, choice: Choice) -> str:
    doubts = ""
    if best.support == "beyond":
        doubts += " It lies beyond every logged shot: try it on the range first."
    elif best.support == "between":
        doubts += " No ball was logged near it: it is worked out from the shots around."
    if best.spin_support == "none":
        doubts += " No spin was ever logged: the spins are physics, not this player."
    elif choice.want != "window" and best.spin_support != "measured":
        doubts += " No spin was read near it."
    return doubts


def call_line(call_no: int, calls: int, call_m: float, unit: LengthUnit, advice: str) -> str:
    """Say the next call, with the chart's advice if there is any."""
    digits = (
        0 if abs(round(float(format_length(call_m, unit, 3))) - float(format_length(call_m, unit, 3))) < 1e-3 else 1
    )
    said = f"Call {call_no} of {calls}: {format_length(call_m, unit, digits)} {unit}"
    if not advice:
        return said
    line = f"{said}   ({advice})"
    return line if display_width(line) <= WIDTH else wrap(f"{said} ({advice})", indent="  ")


def miss_line(ball: Played, unit: LengthUnit, window: WindowRule) -> str:
    """Say what the last ball did."""
    miss = signed_length(ball.miss_m, unit)
    word = "long" if ball.miss_m > 0 else "short"
    where = "on the number" if float(miss) == 0 else f"{miss.lstrip('+-')} {unit} {word}"
    low, high = window.around(ball.call_m)
    inside = low - 1e-9 <= ball.carry_m <= high + 1e-9
    edges = f"{format_length(low, unit, 1)} to {format_length(high, unit, 1)}"
    text = f"  {where}, {'inside' if inside else 'outside'} the window ({edges})"
    if ball.guess_m is not None:
        off = signed_length(ball.guess_m - ball.carry_m, unit)
        side = "over" if ball.guess_m > ball.carry_m else "under"
        text += f"; the guess was {off.lstrip('+-')} {unit} {side}" if float(off) else "; the guess was right"
    return wrap(text, indent="  ")


def drill_text(summary: DrillSummary, unit: LengthUnit, window: WindowRule) -> str:
    """Sum up a drill: errors, share inside the window, against what the chart expects."""
    groups = [summary.total]
    if len(summary.bands) > 1:
        groups += summary.bands
    if len(summary.wedges) > 1:
        groups += summary.wedges
    has_chart = summary.total.expected_e_m is not None
    headers = ["", "balls", "CE", "VE", "E", "inside", "80 %\ninterval"]
    rows = [_group_row(group, unit, has_chart=has_chart) for group in groups]
    if has_chart:
        headers += ["chart\nE", "chart\ninside"]
    lines = [
        wrap(
            f"Drill of {count_text(summary.total.n, 'ball')}: misses in {unit} (long is +), "
            f"window {window.describe(unit)}"
        ),
        "",
        table(rows, headers, ["left", *["right"] * (len(headers) - 1)]),
        "",
        "CE mean miss, VE spread about it, E both together (E^2 = CE^2 + VE^2).",
    ]
    if summary.guess is not None:
        guess = summary.guess
        lines.append(
            f"Guesses against the number ({guess.n}): CE {signed_length(guess.ce_m, unit)}, "
            f"VE {format_length(guess.ve_m, unit, 1)}, E {format_length(guess.e_m, unit, 1)} {unit}."
        )
    if summary.skipped:
        lines.append(f"Skipped: {count_text(summary.skipped, 'call')}.")
    lines.append(wrap(reading(summary, unit)))
    return "\n".join(lines)


def _group_row(group: MissSummary, unit: LengthUnit, *, has_chart: bool) -> list[str]:
    row = [
        fold(group.label, 20),
        str(group.n),
        signed_length(group.ce_m, unit),
        format_length(group.ve_m if group.n > 1 else None, unit, 1),  # one ball has no spread
        format_length(group.e_m, unit, 1),
        percent_text(group.share),
        f"{format_number(100 * group.share_low)}-{percent_text(group.share_high)}",
    ]
    if has_chart and group.expected_e_m is not None and group.expected_share is not None:
        row += [format_length(group.expected_e_m, unit, 1), percent_text(group.expected_share)]
    return row


def reading(summary: DrillSummary, unit: LengthUnit) -> str:
    """Say in one sentence how the drill went against what the chart expects."""
    total = summary.total
    if total.expected_e_m is None or total.expected_share is None:
        return "There is no chart yet to compare with: the balls of this drill are its first shots."
    lean = (
        f" Most of it is one-sided: {format_length(abs(total.ce_m), unit, 1)} {unit} "
        f"{'long' if total.ce_m > 0 else 'short'} on average."
        if abs(total.ce_m) > total.ve_m and total.n >= _FEWEST_TO_COMPARE
        else ""
    )
    if total.n < _FEWEST_TO_COMPARE:
        return (
            f"Inside the window {total.inside} of {total.n}: too few balls to compare with "
            f"the {percent_text(total.expected_share)} that the chart expects."
        )
    if total.expected_share < total.share_low:
        said = "better than the chart expects"
    elif total.expected_share > total.share_high:
        said = "worse than the chart expects"
    else:
        said = f"about what the chart expects; {count_text(total.n, 'ball')} cannot tell more"
    return (
        f"Inside the window {total.inside} of {total.n}, {said} ({percent_text(total.expected_share)} of solid balls "
        f"with these shots).{lean}"
    )


def band_label(unit: LengthUnit, low_m: float, high_m: float) -> str:
    """Name a span of calls."""
    if low_m == high_m:
        return f"{format_length(low_m, unit)} {unit}"
    return f"{format_length(low_m, unit)}-{format_length(high_m, unit)} {unit}"


def listing(headers: Sequence[str], rows: Sequence[Sequence[str]], empty: str) -> str:
    """Draw a list, or say that it is empty."""
    return table(rows, headers) if rows else empty
