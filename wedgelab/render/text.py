"""The chart and the choice as plain text of at most 80 columns."""

from collections.abc import Sequence
from typing import Final

from wedgelab.chart import AirNote, Chart, ChartCell, Today
from wedgelab.choose import Choice, Option
from wedgelab.render.layout import WIDTH, display_width, fold, table, wrap
from wedgelab.render.words import (
    DAY_RULES_LINE,
    RULES_LINE,
    SUPPORT_LEGEND,
    carry_text,
    count_text,
    day_text,
    estimate_text,
    percent_text,
    range_text,
    reference_text,
    signed_length,
    span_text,
    spin_text,
    wedge_title,
)
from wedgelab.shots import Conditions
from wedgelab.units import LengthUnit, format_length, format_number
from wedgelab.window import WindowRule

_LEAST_COLUMN: Final = 8  # "(10050)" and "12 ±10.0" fit
_SWING_COLUMN: Final = 10
_WEDGE_COLUMN: Final = 16
_BETWEEN: Final = 2
_CHOICE_WEDGE_COLUMN: Final = 10
_WORTH_LOGGING: Final = 0.05  # a smaller share of the doubt is no advice
_FIRST_COLUMNS: Final = _WEDGE_COLUMN + _BETWEEN + len("lands deg")


def chart_text(chart: Chart, unit: LengthUnit) -> str:
    """Draw the chart: rows of wedges, columns of swing lengths, then gaps and what to log next."""
    title = f"{chart.player}: " if chart.player else ""
    lines = [wrap(f"{title}carry in {unit}, the range of 8 solid balls in 10, spin in rpm, balls logged")]
    if chart.day is not None:
        lines.append(
            wrap(
                f"Carry: for {reference_text(chart.reference)}. Today, give or take one standard error, and the range: "
                f"for {day_text(chart.day, unit)}."
            )
        )
    lines.append("")
    for block in _blocks(chart, unit):
        lines += [_chart_block(chart, block, unit), ""]
    if chart.gaps:
        today = "Today's gaps" if chart.day is not None else "Gaps"
        gaps = f"{today} to the next wedge at the same swing, in {unit}, give or take one standard error"
        lines += [wrap(gaps), ""]
        for block in _blocks(chart, unit):
            lines += [_gap_block(chart, block, unit), ""]
    lines.append(learnt_line(chart))
    if chart.air_note is not None:
        lines.append(wrap(air_line(chart.air_note, chart.reference, unit)))
    if chart.next is not None:
        lines.append(wrap(next_line(chart)))
    if any(cell.support != "measured" or cell.spin_support != "measured" for cell in chart.cells):
        lines.append(wrap(SUPPORT_LEGEND))
    if chart.green is not None:
        lines.append(wrap(landing_legend(chart.green, unit)))
    if chart.day is not None:
        lines += _day_lines(chart)
    return "\n".join(lines)


def _day_lines(chart: Chart) -> list[str]:
    missing = any(cell.today is not None and cell.today.carry_today_m is None for cell in chart.cells)
    legend = ["- today: the ball does not get up to the green, or is blown back."] if missing else []
    return [*legend, wrap(DAY_RULES_LINE)]


def air_line(note: AirNote, reference: Conditions, unit: LengthUnit) -> str:
    """Say what bringing the log to the reference air did."""
    carries, sessions = count_text(note.n_shots, "carry", "carries"), count_text(note.n_sessions, "session")
    low, high = signed_length(note.low_m, unit), signed_length(note.high_m, unit)
    changes = f"{low} {unit}" if low == high else f"{low} to {high} {unit}"
    were = "was" if note.n_shots == 1 else "were"
    return (
        f"{carries} of {sessions} {were} brought to {reference_text(reference)} ({changes}); the log keeps what was "
        "measured."
    )


def landing_legend(green: str, unit: LengthUnit) -> str:
    """Say what landing and run-out mean, and how little they promise."""
    return (
        f"Runs: {unit} from the pitch mark on a level {green} green; a rough frame, negative where it may come back. "
        "Landing angles in brackets are the model's estimates: no launch angle and ball speed were logged there."
    )


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


def _blocks(chart: Chart, unit: LengthUnit) -> list[range]:
    """Split the swing lengths so that each block of columns fits the width."""
    columns = len(chart.swings)
    widest = max(display_width(line) for swing in chart.swings for line in fold(swing.label, _SWING_COLUMN).split("\n"))
    for cell in chart.cells:
        runs = "" if cell.flight is None else span_text(cell.flight.run_out_low_m, cell.flight.run_out_high_m, unit)
        widest = max(widest, len(_carry_today(cell.today, unit)), len(runs))
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
        if chart.day is not None:
            rows.append(["", f"today {unit}", *(_carry_today(cell.today, unit) for cell in shown)])
        rows.append(["", "8 in 10", *(_range(cell, unit) for cell in shown)])
        rows.append(["", "spin rpm", *(spin_text(cell.spin_rpm, cell.spin_support) for cell in shown)])
        rows.append(["", "balls", *(str(cell.n_shots) for cell in shown)])
        flights = [cell.flight for cell in shown if cell.flight is not None]
        if flights:
            rows.append(
                ["", "lands deg", *(estimate_text(format_number(f.land_deg), f.flight_support) for f in flights)]
            )
            rows.append(
                ["", f"apex {unit}", *(estimate_text(format_length(f.apex_m, unit), f.flight_support) for f in flights)]
            )
            rows.append(["", f"runs {unit}", *(span_text(f.run_out_low_m, f.run_out_high_m, unit) for f in flights)])
        if any(cell.today is not None and cell.today.drift_today_m is not None for cell in shown):
            rows.append(["", f"drift {unit}", *(_drift(cell.today, unit) for cell in shown)])
    headers = ["wedge", "", *(fold(chart.swings[j].label, _SWING_COLUMN) for j in block)]
    return table(rows, headers, ["left", "left", *["right"] * len(block)])


def _carry(cell: ChartCell, unit: LengthUnit) -> str:
    return carry_text(cell.carry_m, cell.support, unit)


def _carry_today(today: Today | None, unit: LengthUnit) -> str:
    if today is None or today.carry_today_m is None:
        return "-"
    return f"{format_length(today.carry_today_m, unit)} ±{format_length(today.carry_today_se_m, unit, 1)}"


def _range(cell: ChartCell | Option, unit: LengthUnit) -> str:
    """Write the likely range of the day that was asked for, else of the reference."""
    if cell.today is None:
        return range_text(cell.carry_p10_m, cell.carry_p90_m, unit)
    low, high = cell.today.carry_today_p10_m, cell.today.carry_today_p90_m
    return "-" if low is None or high is None else range_text(low, high, unit)


def _drift(today: Today | None, unit: LengthUnit) -> str:
    """Write what the cross wind does: how far, and to which side."""
    if today is None or today.drift_today_m is None:
        return "-"
    shown = format_length(abs(today.drift_today_m), unit)
    return f"{shown} {'R' if today.drift_today_m > 0 else 'L'}" if float(shown) else "0"


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
            rows.append([""] * 10)  # from here on by chance
        rows.append(
            [
                str(i),
                fold(wedge_title(option.wedge, option.loft_deg), _CHOICE_WEDGE_COLUMN),
                fold(option.swing + ("" if option.practised else " *"), 8),
                _carry_or_both(option, unit),
                _range(option, unit),
                percent_text(option.window_probability),
                f"{spin_text(option.spin_rpm, option.spin_support)} ±{spin_text(option.spin_sd_rpm, 'measured')}",
                estimate_text(format_number(option.flight.land_deg), option.flight.flight_support),
                span_text(option.flight.run_out_low_m, option.flight.run_out_high_m, unit),
                str(option.n_shots),
            ]
        )
    carry = f"carry\n{unit}" if choice.day is None else "today/\nchart"
    headers = ["", "wedge", "swing", carry, "8 in 10", "inside", "spin\nrpm", "lands\ndeg", f"runs\n{unit}", "balls"]
    lines = [wrap(f"{target}, window {edges} ({window.describe(unit)}); wanted: {wants[choice.want]}")]
    if choice.day is not None:
        lines.append(wrap(f"Today: {day_text(choice.day, unit)}. Chart: {reference_text(choice.reference)}."))
    align = ["right", "left", "left", *["right"] * 7]
    drawn = table(rows, headers, align)
    if any(display_width(line) > WIDTH for line in drawn.split("\n")):
        for mark, broken in (("/", "/\n"), (" ±", "\n±"), (" to ", "\nto ")):
            rows = [row[:3] + [cell.replace(mark, broken) for cell in row[3:]] for row in rows]
        drawn = table(rows, headers, align)
    lines += ["", drawn, ""]
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
    lines += [wrap(landing_legend(choice.green, unit)), apex_line(choice, unit)]
    if choice.day is not None:
        lines.append(wrap(today_line(choice, unit)))
    lines += [wrap(f"Verdict: {verdict(choice)}"), wrap(RULES_LINE if choice.day is None else DAY_RULES_LINE)]
    return "\n".join(lines)


def _carry_or_both(option: Option, unit: LengthUnit) -> str:
    chart = carry_text(option.carry_m, option.support, unit)
    return chart if option.today is None else f"{format_length(option.today.carry_today_m, unit)}/{chart}"


def apex_line(choice: Choice, unit: LengthUnit) -> str:
    """Say how high the best option flies; the others' apexes are in the JSON."""
    best = choice.best
    apex = estimate_text(format_length(best.flight.apex_m, unit), best.flight.flight_support)
    return wrap(f"Apex of {best.wedge} {best.swing}: {apex} {unit} above the ball.")


def today_line(choice: Choice, unit: LengthUnit) -> str:
    """Say how surely the best option's carry of the day is known, and where the cross wind takes it."""
    today = choice.best.today
    if today is None or today.carry_today_m is None:
        return ""
    shown = format_length(today.carry_today_se_m, unit, 1)
    aim = f"; the cross wind takes it about {_drift(today, unit)}" if today.drift_today_m is not None else ""
    return (
        f"Today's carry of {choice.best.wedge} {choice.best.swing} is known to ±{shown} {unit} (one standard error: "
        f"the chart's own, and what the published figures on drag and lift leave open){aim}."
    )


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


def listing(headers: Sequence[str], rows: Sequence[Sequence[str]], empty: str) -> str:
    """Draw a list, or say that it is empty."""
    return table(rows, headers) if rows else empty
