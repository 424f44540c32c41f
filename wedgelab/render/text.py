"""The chart as plain text of at most 80 columns, and lists."""

from collections.abc import Sequence
from typing import Final

from wedgelab.chart import AirNote, Chart, ChartCell, Today
from wedgelab.choose import Option
from wedgelab.render.layout import WIDTH, display_width, fold, table, wrap
from wedgelab.render.words import (
    DAY_RULES_LINE,
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

_LEAST_COLUMN: Final = 8  # "(10050)" and "12 ±10.0" fit
_SWING_COLUMN: Final = 10
_WEDGE_COLUMN: Final = 16
_BETWEEN: Final = 2
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
        rows.append(["", "8 in 10", *(range_of(cell, unit) for cell in shown)])
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
            rows.append(["", f"drift {unit}", *(drift_text(cell.today, unit) for cell in shown)])
    headers = ["wedge", "", *(fold(chart.swings[j].label, _SWING_COLUMN) for j in block)]
    return table(rows, headers, ["left", "left", *["right"] * len(block)])


def _carry(cell: ChartCell, unit: LengthUnit) -> str:
    return carry_text(cell.carry_m, cell.support, unit)


def _carry_today(today: Today | None, unit: LengthUnit) -> str:
    if today is None or today.carry_today_m is None:
        return "-"
    return f"{format_length(today.carry_today_m, unit)} ±{format_length(today.carry_today_se_m, unit, 1)}"


def range_of(cell: ChartCell | Option, unit: LengthUnit) -> str:
    """Write the likely range of the day that was asked for, else of the reference."""
    if cell.today is None:
        return range_text(cell.carry_p10_m, cell.carry_p90_m, unit)
    low, high = cell.today.carry_today_p10_m, cell.today.carry_today_p90_m
    return "-" if low is None or high is None else range_text(low, high, unit)


def drift_text(today: Today | None, unit: LengthUnit) -> str:
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


def listing(headers: Sequence[str], rows: Sequence[Sequence[str]], empty: str) -> str:
    """Draw a list, or say that it is empty."""
    return table(rows, headers) if rows else empty
