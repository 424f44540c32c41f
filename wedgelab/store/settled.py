"""What the rows of a file say about the air of their sessions -> one set of conditions for each session."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from wedgelab.errors import BadRequestError, quoted
from wedgelab.shots import LIMITS, Conditions
from wedgelab.store.rows import ALTITUDE, HEAD_WIND, PRESSURE, SEA_LEVEL, ParsedRow, RowProblem
from wedgelab.units import format_number

_READ_FROM: Final = {PRESSURE: SEA_LEVEL, "wind_mps": HEAD_WIND}
_NOTHING: Final = Conditions()


@dataclass(frozen=True)
class Settled:
    """Rows with the conditions of their whole session, the rows that contradict it, and what was decided."""

    rows: tuple[ParsedRow, ...]
    problems: tuple[RowProblem, ...]
    notices: tuple[str, ...]


def settle_sessions(
    rows: Sequence[ParsedRow], header_of: Mapping[str, str], cells_of: Mapping[int, Mapping[str, str]]
) -> Settled:
    """Give every row the conditions of its session: of each quantity the first value that one of its rows has.

    Values that differ are said in a notice. A pressure that cannot be one at the altitude of another row is a problem.
    ``cells_of`` has the cells of each line by canonical column.
    """
    of: dict[str, Conditions] = {}
    seen: dict[str, dict[str, list[float]]] = {}
    problems = []
    for row in rows:
        said, session = row.conditions.known(), row.shot.session
        before = of.get(session, _NOTHING)
        try:
            of[session] = before.changed(said | before.known())
        except BadRequestError:
            problems.append(_contradiction(row, before, header_of, cells_of[row.line]))
            continue
        for name, value in said.items():
            seen.setdefault(name, {}).setdefault(session, []).append(value)
    at_fault = {problem.line for problem in problems}
    mixed = {name: differing for name, values_of in seen.items() if (differing := _differing(name, values_of))}
    if PRESSURE not in header_of and mixed.keys() & {ALTITUDE, "air_temp_c"}:
        mixed.pop(PRESSURE, None)  # reduced from sea level with values that differ, so of course it differs too
    return Settled(
        tuple(replace(row, conditions=of[row.shot.session]) for row in rows if row.line not in at_fault),
        tuple(problems),
        tuple(_notice(header_of.get(name) or header_of[_READ_FROM[name]], name, mixed[name]) for name in mixed),
    )


def _contradiction(
    row: ParsedRow, before: Conditions, header_of: Mapping[str, str], cells: Mapping[str, str]
) -> RowProblem:
    if before.altitude_m is not None:
        name = PRESSURE if header_of.get(PRESSURE) and cells.get(PRESSURE) else SEA_LEVEL
        wanted = f"the station's pressure at the session's altitude, {format_number(before.altitude_m)} m"
    else:
        name = ALTITUDE
        wanted = f"the altitude of the session's pressure, {format_number(before.station_pressure_hpa, 1)} hPa"
    return RowProblem(row.line, header_of[name], cells.get(name, ""), wanted)


def _differing(name: str, values_of: Mapping[str, Sequence[float]]) -> dict[str, Sequence[float]]:
    """Return the sessions whose values differ by more than what is shown."""
    digits = LIMITS[name][3]
    return {
        session: values
        for session, values in values_of.items()
        if format_number(min(values), digits) != format_number(max(values), digits)
    }


def _notice(header: str, name: str, mixed: Mapping[str, Sequence[float]]) -> str:
    _, _, unit, digits = LIMITS[name]
    session, values = next(iter(mixed.items()))
    low, high, first = (format_number(value, digits) for value in (min(values), max(values), values[0]))
    others = f" and {len(mixed) - 1} other session(s)" if len(mixed) > 1 else ""
    return (
        f"column {quoted(header)} differs within the session {quoted(session)} ({low} to {high} {unit}){others}: "
        f"the first value is noted, here {first} {unit}"
    )
