"""A table with a plan for its columns -> shots, checked as a whole before anything is stored; and shots -> CSV.

How a file comes in: ``csvfile.read_table`` -> ``columns.plan_columns`` -> `parse_shots` -> `fresh_rows` -> the store.
"""

from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from wedgelab.errors import FileProblemError, OutOfRangeError, quoted
from wedgelab.shots import Bag, SwingLength, Wedge, check_limits
from wedgelab.store.cells import EMPTY, NumberColumn, decide_decimals, limits_in, take_apart
from wedgelab.store.clubs import ClubFinder
from wedgelab.store.columns import NUMBER_UNITS, Column, ColumnPlan
from wedgelab.store.csvfile import Table, as_argument
from wedgelab.store.csvout import EXPORT_COLUMNS, write_shots
from wedgelab.store.duplicates import fresh_rows
from wedgelab.store.moments import decide_date_order
from wedgelab.store.placed import EarlierImport
from wedgelab.store.rows import (
    ALTITUDE,
    PRESSURE,
    SEA_LEVEL,
    ParsedRow,
    RowDefaults,
    RowProblem,
    RowReader,
    had_time,
    plain_text,
)
from wedgelab.store.settled import settle_sessions
from wedgelab.units import LengthUnit, to_si

__all__ = [
    "EXPORT_COLUMNS",
    "EarlierImport",
    "ParsedFile",
    "ParsedRow",
    "RowProblem",
    "fresh_rows",
    "had_time",
    "parse_shots",
    "players_in",
    "write_shots",
]

PLAUSIBLE_CARRY_M: Final = (5.0, 200.0)
MOST_IMPLAUSIBLE: Final = 0.05  # share of the rows
_ROWS_A_STEP: Final = 500
_BEFORE_ROWS, _AFTER_ROWS = 0.35, 0.9  # of the work of reading, in a file of 40,000 rows
_OTHER_LENGTHS: Final = {"yd": "yards", "m": "metres", "ft": "feet"}


@dataclass(frozen=True)
class ParsedFile:
    """A whole file, read and checked. With any problem in it nothing may be stored."""

    table: Table
    plan: ColumnPlan
    rows: tuple[ParsedRow, ...]
    problems: tuple[RowProblem, ...]
    new_wedges: tuple[Wedge, ...]
    new_swings: tuple[SwingLength, ...]
    notices: tuple[str, ...]


def parse_shots(
    table: Table,
    plan: ColumnPlan,
    *,
    player: str,
    bag: Bag,
    default_unit: LengthUnit,
    imported_at: datetime,
    default_session: str | None = None,
    as_player: bool = False,
    odd_carries: bool = False,
    club: tuple[Wedge, SwingLength] | None = None,
    lines: Container[int] | None = None,
    on_step: Callable[[float], None] | None = None,
) -> ParsedFile:
    """Read every row of a table; each cell that cannot be used becomes a problem with its line, column and value.

    ``imported_at`` lends its date, time and zone to rows that have none. ``as_player`` takes rows of another player as
    ``player``'s; ``odd_carries`` takes a file in which more than 5 % of the carries lie outside 5-200 m. ``club`` is
    what a row that names no wedge or no swing was hit with. With ``lines`` only the rows that begin there become shots
    or problems; what the whole file decides (decimal sign, order of dates) is still decided by all of it.

    Raises
    ------
    FileProblemError
        when the file as a whole is in doubt: another player's, ambiguous numbers or dates, carries in a wrong unit.
    """
    moment = imported_at if imported_at.tzinfo is not None else imported_at.astimezone()
    if not as_player:
        _check_player(table, plan, player)
    columns = _number_columns(table, plan)
    signs = decide_decimals(table.path, columns, plan.decimal)
    read = {column.name: column.readings(signs.get(column.name, ".")) for column in columns}
    if not (odd_carries or plan.own_export):
        _check_carries(table, columns, read)
    problems = [problem for column in columns for problem in _check_numbers(column, read[column.name])]
    by_line: dict[int, dict[str, float]] = {line: {} for line, _ in table.rows}
    for name, values in read.items():
        for line, value in values.items():
            by_line[line][name] = value
    clubs = ClubFinder(bag, club)
    header_of = {column.name: column.header for column in plan.columns}
    defaults = RowDefaults(player, moment, default_session, table.path, _date_orders(table, plan))
    reader = RowReader(clubs, defaults, header_of)
    rows_of_cells = [(line, _named_cells(plan, cells)) for line, cells in table.rows]
    for line, cells in rows_of_cells:
        wedge, swing = (plain_text(cells.get(name, "")) for name in ("wedge", "swing"))
        clubs.learn(wedge, by_line[line].get("loft_deg"), swing, by_line[line].get("swing_deg"))
    _check_sea_level(table, plan)
    rows = []
    for count, (line, cells) in enumerate(rows_of_cells):
        if lines is None or line in lines:
            rows.append(reader.read(line, cells, by_line[line]))
        if on_step is not None and count % _ROWS_A_STEP == 0:
            on_step(_BEFORE_ROWS + (_AFTER_ROWS - _BEFORE_ROWS) * count / len(rows_of_cells))
    problems += reader.problems + _overlong(table)
    problems = [problem for problem in problems if lines is None or problem.line in lines]
    at_fault = {problem.line for problem in problems}
    good = [row for row in rows if row is not None and row.line not in at_fault]
    settled = settle_sessions(good, header_of, dict(rows_of_cells))
    problems += settled.problems
    places = {column.header: column.index for column in plan.columns}
    problems.sort(key=lambda problem: (problem.line, places.get(problem.column, len(table.headers))))
    return ParsedFile(
        table,
        plan,
        settled.rows,
        tuple(problems),
        clubs.new_wedges,
        clubs.new_swings,
        (*_unit_notices(plan, default_unit), *plan.notices, *clubs.notices(), *settled.notices),
    )


def _named_cells(plan: ColumnPlan, cells: tuple[str, ...]) -> dict[str, str]:
    named = {column.name: cells[column.index] if column.index < len(cells) else "" for column in plan.columns}
    return {name: "" if name in NUMBER_UNITS and cell in EMPTY else cell for name, cell in named.items()}


def _number_columns(table: Table, plan: ColumnPlan) -> list[NumberColumn]:
    return [
        take_apart(column.name, column.header, column.unit, _filled(table, column))
        for column in plan.columns
        if column.name in NUMBER_UNITS
    ]


def _filled(table: Table, column: Column) -> list[tuple[int, str]]:
    index = column.index
    return [(line, cells[index]) for line, cells in table.rows if index < len(cells) and cells[index] not in EMPTY]


def _check_numbers(column: NumberColumn, values: dict[int, float]) -> list[RowProblem]:
    """Name the cells that are no number or lie outside the hard limits; the latter are taken out of ``values``."""
    problems = []
    for cell in column.cells:
        value = values.get(cell.line)
        if value is None:
            example = "a number such as 3.5, -3.5 or 3.5 L" if column.name == "offline_m" else "a number such as 62.5"
            problems.append(RowProblem(cell.line, column.header, cell.text, example))
            continue
        try:
            check_limits(column.name, value)
        except OutOfRangeError:
            del values[cell.line]
            problems.append(RowProblem(cell.line, column.header, cell.text, limits_in(column.name, cell.unit)))
    return problems


def _check_carries(table: Table, columns: list[NumberColumn], read: Mapping[str, dict[int, float]]) -> None:
    """Stop when too many carries are no carries: the unit is wrong, or the column is."""
    column = next(column for column in columns if column.name == "carry_m")
    low, high = PLAUSIBLE_CARRY_M
    values = read["carry_m"]
    odd = [cell for cell in column.cells if cell.line in values and not low <= values[cell.line] <= high]
    if len(odd) <= MOST_IMPLAUSIBLE * len(values):
        return
    problem = (
        f"{len(odd)} of {len(values)} carries in {quoted(column.header)} lie outside 5 to 200 m when read in "
        f"{column.unit}, such as {quoted(odd[0].text)}"
    )
    for unit, word in _OTHER_LENGTHS.items():
        # what was read in one unit, read again in another
        again = [value * to_si(1.0, unit) / to_si(1.0, column.unit) for value in values.values()]
        outside = sum(not low <= value <= high for value in again)
        if unit != column.unit and outside <= MOST_IMPLAUSIBLE * len(again):
            how = (
                f"they may be {word}: --map carry_{unit}={as_argument(column.header)}; if they are right, --odd-carries"
            )
            raise FileProblemError(table.path, problem, how)
    how = "check that this column is the carry and what its unit is; if they are right, --odd-carries"
    raise FileProblemError(table.path, problem, how)


def _check_player(table: Table, plan: ColumnPlan, player: str) -> None:
    column = next((column for column in plan.columns if column.name == "player"), None)
    if column is None:
        return
    for line, cell in _filled(table, column):
        if (name := plain_text(cell)).casefold() != player.casefold():
            problem = f"line {line} is a shot of the player {quoted(name)}, not of {quoted(player)}"
            raise FileProblemError(
                table.path, problem, f"say --player {as_argument(name)}, or take them as yours: --as-player"
            )


def players_in(table: Table, plan: ColumnPlan) -> tuple[str, ...]:
    """Return the players that the file names, each once, in the order of the file."""
    cells = (cell for column in plan.columns if column.name == "player" for _, cell in _filled(table, column))
    return tuple({name.casefold(): name for name in map(plain_text, cells)}.values())


def _check_sea_level(table: Table, plan: ColumnPlan) -> None:
    """Stop at pressures of sea level that no column can bring to where the balls were hit."""
    columns = {column.name: column for column in plan.columns}
    column = columns.get(SEA_LEVEL)
    if column is None or columns.keys() & {ALTITUDE, PRESSURE} or not _filled(table, column):
        return
    header = quoted(column.header)
    raise FileProblemError(
        table.path,
        f"the pressures of the column {header} are reduced to sea level and no column tells the altitude",
        f"add a column altitude_m, or leave the pressures out: --map ignore={as_argument(column.header)}",
    )


def _date_orders(table: Table, plan: ColumnPlan) -> dict[str, str]:
    return {
        column.name: decide_date_order(
            table.path, column.header, (cell for _, cell in _filled(table, column)), plan.date_order
        )
        for column in plan.columns
        if column.name in {"hit_at", "hit_date"}
    }


def _overlong(table: Table) -> list[RowProblem]:
    """Name the rows that have more cells than the header: a comma in a number or a text splits a cell in two."""
    width = len(table.headers)
    wanted = f"one cell for each of the {width} headers; put a cell with the separator in it in quotes"
    return [
        RowProblem(line, "beyond the last header", next(cell for cell in cells[width:] if cell), wanted)
        for line, cells in table.rows
        if any(cells[width:])
    ]


def _unit_notices(plan: ColumnPlan, default_unit: LengthUnit) -> list[str]:
    assumed = [column for column in plan.columns if column.unit_was_assumed]
    shown = ", ".join(f"{quoted(column.header)} in {column.unit}" for column in assumed)
    if not assumed:
        return []
    return [f"no unit in the header, so read as for a player who uses {default_unit}: {shown}; if wrong, use --map"]
