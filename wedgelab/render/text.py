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
_NARROWEST: Final = 8  # of a folded column of a list
_WORTH_LOGGING: Final = 0.05  # a smaller share of the doubt is no advice
_FIRST_COLUMNS: Final = _WEDGE_COLUMN + _BETWEEN + len("lands deg")


def chart_text(chart: Chart, unit: LengthUnit) -> str:
    """Draw the chart: rows of wedges, columns of swing lengths, then gaps and what to log next."""
    lines = [*(wrap(line) for line in title_lines(chart, unit)), ""]
    for block in _blocks(chart, unit):
        lines += [_chart_block(chart, block, unit), ""]
    if chart.gaps:
        lines += [wrap(gaps_title(chart, unit)), ""]
        for block in _blocks(chart, unit):
            lines += [_gap_block(chart, block, unit), ""]
    return "\n".join([*lines, *(wrap(line) for line in chart_notes(chart, unit))])


def title_lines(chart: Chart, unit: LengthUnit) -> list[str]:
    """Say what the numbers of the chart are."""
    whose = f"{chart.player}: " if chart.player else ""
    lines = [f"{whose}carry in {unit}, the range of 8 solid balls in 10, spin in rpm, balls logged"]
    if chart.day is not None:
        lines.append(
            f"Carry: for {reference_text(chart.reference)}. Today, give or take one standard error, and the range: "
            f"for {day_text(chart.day, unit)}."
        )
    return lines


def gaps_title(chart: Chart, unit: LengthUnit) -> str:
    """Say what the numbers of the gaps are."""
    today = "Today's gaps" if chart.day is not None else "Gaps"
    return f"{today} to the next wedge at the same swing, in {unit}, give or take one standard error"


def chart_notes(chart: Chart, unit: LengthUnit) -> list[str]:
    """Say what the chart rests on, what to log next, and what its signs mean."""
    lines = [learnt_line(chart)]
    if chart.air_note is not None:
        lines.append(air_line(chart.air_note, chart.reference, unit))
    if chart.next is not None:
        lines.append(next_line(chart))
    if any(cell.support != "measured" or cell.spin_support != "measured" for cell in chart.cells):
        lines.append(SUPPORT_LEGEND)
    if chart.green is not None:
        lines.append(landing_legend(chart.green, unit))
    if chart.day is not None:
        if any(cell.today is not None and cell.today.carry_today_m is None for cell in chart.cells):
            lines.append("- today: the ball does not get up to the green, or is blown back.")
        lines.append(DAY_RULES_LINE)
    return lines


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
        if i:
            rows.append([""] * (len(block) + 2))
        title = fold(wedge_title(wedge.label, wedge.loft_deg), _WEDGE_COLUMN)
        for j, (what, texts) in enumerate(cell_rows([cells[k] for k in block], unit)):
            rows.append(["" if j else title, what, *texts])
    headers = ["wedge", "", *(fold(chart.swings[j].label, _SWING_COLUMN) for j in block)]
    return table(rows, headers, ["left", "left", *["right"] * len(block)])


def cell_rows(cells: Sequence[ChartCell], unit: LengthUnit) -> list[tuple[str, list[str]]]:
    """Write what the chart says of one wedge: of each kind of number its name, and the number of each cell."""
    rows = [(f"carry {unit}", [_carry(cell, unit) for cell in cells])]
    if any(cell.today is not None for cell in cells):
        rows.append((f"today {unit}", [_carry_today(cell.today, unit) for cell in cells]))
    rows += [
        ("8 in 10", [range_of(cell, unit) for cell in cells]),
        ("spin rpm", [spin_text(cell.spin_rpm, cell.spin_support) for cell in cells]),
        ("balls", [str(cell.n_shots) for cell in cells]),
    ]
    flights = [cell.flight for cell in cells if cell.flight is not None]
    if flights:
        rows += [
            ("lands deg", [estimate_text(format_number(f.land_deg), f.flight_support) for f in flights]),
            (f"apex {unit}", [estimate_text(format_length(f.apex_m, unit), f.flight_support) for f in flights]),
            (f"runs {unit}", [span_text(f.run_out_low_m, f.run_out_high_m, unit) for f in flights]),
        ]
    if any(cell.today is not None and cell.today.drift_today_m is not None for cell in cells):
        rows.append((f"drift {unit}", [drift_text(cell.today, unit) for cell in cells]))
    return rows


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
    rows = [[fold(label, _FIRST_COLUMNS), *(texts[j] for j in block)] for label, texts in gap_rows(chart, unit)]
    headers = ["", *(fold(chart.swings[j].label, _SWING_COLUMN) for j in block)]
    return table(rows, headers, ["left", *["right"] * len(block)])


def gap_rows(chart: Chart, unit: LengthUnit) -> list[tuple[str, list[str]]]:
    """Write the gap of each wedge to the next one at each swing length."""
    return [
        (
            f"{gaps[0].wedge} over {gaps[0].next_wedge}",
            [f"{format_length(gap.gap_m, unit)} ±{format_length(gap.gap_se_m, unit, 1)}" for gap in gaps],
        )
        for gaps in chart.gaps
    ]


def listing(headers: Sequence[str], rows: Sequence[Sequence[str]], empty: str) -> str:
    """Draw a list, or say that it is empty.

    What is wider than a terminal loses the columns without a word, then has its headers folded, then its widest cells.
    """
    if not rows:
        return empty
    columns = [[header, *(row[i] for row in rows)] for i, header in enumerate(headers)]
    if _list_width(columns) > WIDTH:
        columns = [column for column in columns if any(column[1:])]
    if _list_width(columns) > WIDTH:
        columns = [[column[0].replace(" ", "\n"), *column[1:]] for column in columns]
    widths = [_widest(column) for column in columns]
    while sum(widths) + _BETWEEN * (len(widths) - 1) > WIDTH and max(widths) > _NARROWEST:
        widths[widths.index(max(widths))] -= 1
    if widths != [_widest(column) for column in columns]:
        columns = [[fold(cell, width) for cell in column] for column, width in zip(columns, widths, strict=True)]
    first, *others = zip(*columns, strict=True)
    return table(others, first)


def _widest(cells: Sequence[str]) -> int:
    return max(display_width(line) for cell in cells for line in cell.split("\n"))


def _list_width(columns: Sequence[Sequence[str]]) -> int:
    return sum(map(_widest, columns)) + _BETWEEN * (len(columns) - 1)
