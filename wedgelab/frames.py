"""DataFrames in and out, with the canonical column names; pandas is imported only when a function needs it."""

import dataclasses
from collections.abc import Callable, Hashable, Iterable, Mapping
from datetime import datetime
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from wedgelab.errors import BadRequestError, FileProblemError, UnreadableValueError, WedgelabError, quoted
from wedgelab.shots import (
    CONDITION_COLUMNS,
    DEFAULT_SWINGS,
    LIMITS,
    SHOT_COLUMNS,
    Bag,
    Conditions,
    Shot,
    new_id,
)
from wedgelab.store.columns import plan_columns
from wedgelab.store.csvfile import read_table
from wedgelab.store.exchange import parse_shots, players_in
from wedgelab.units import LengthUnit, format_clock

if TYPE_CHECKING:
    import os

    import pandas as pd

REQUIRED: Final = ("loft_deg", "swing_deg", "carry_m")
UNKNOWN_TIME: Final = "2000-01-01T12:00:00+00:00"  # for a frame that does not say when: fixed, so the same every time
_PARTS: Final = ("today", "flight")  # None where nobody asked for a day or a landing
_TEXTS: Final = tuple(name for name in SHOT_COLUMNS if name not in LIMITS and name not in {"call_no", "advice_shown"})


def read_shots(
    path: "str | os.PathLike[str]",
    *,
    mapping: Mapping[str, str] | None = None,
    units: LengthUnit = "yd",
    player: str = "me",
) -> "pd.DataFrame":
    """Read a CSV file of shots as a DataFrame with the canonical columns; nothing is stored.

    ``units`` holds for lengths whose header names none; ``mapping`` is explained at `plan_columns`; ``player`` is the
    one who hit the shots where the file does not say.

    Raises
    ------
    WedgelabError
        with the first problem and the number of problems, when any row cannot be used.
    """
    table = read_table(Path(path))
    plan = plan_columns(table, mapping or {}, default_unit=units)
    players = players_in(table, plan)
    if len(players) > 1:
        shown = " and ".join(quoted(name) for name in players[:2])
        raise FileProblemError(
            path, f"it holds shots of {len(players)} players, {shown} among them", "split it by player"
        )
    imported_at = datetime.fromisoformat(UNKNOWN_TIME)
    bag = Bag(swings=DEFAULT_SWINGS)
    parsed = parse_shots(
        table, plan, player=(*players, player)[0], bag=bag, default_unit=units, imported_at=imported_at
    )
    if parsed.problems:
        count = len(parsed.problems)
        problem = str(parsed.problems[0]).replace("; ", ", ")
        raise FileProblemError(path, problem, f"{count} {'problem' if count == 1 else 'problems'} in all")
    said = {row.shot.session: row.conditions for row in parsed.rows if not row.conditions.is_empty}
    return shots_to_frame((row.shot for row in parsed.rows), said)


def shots_to_frame(shots: Iterable[Shot], conditions: Mapping[str, Conditions] | None = None) -> "pd.DataFrame":
    """Return shots as a DataFrame: one row a shot, the canonical columns, NaN where nothing was measured.

    ``conditions`` of sessions, by name, stand in columns of their own in each row of the session; without any there are
    no such columns.
    """
    import pandas as pd

    rows = list(shots)
    columns: dict[str, pd.Series[Any]] = {}
    for name in SHOT_COLUMNS:
        values = [getattr(shot, name) for shot in rows]
        kind = "float64" if name in LIMITS else {"call_no": "Int64", "advice_shown": "boolean"}.get(name, "object")
        columns[name] = pd.Series(values, dtype=kind)
    if conditions:
        airs = [conditions.get(shot.session, Conditions()) for shot in rows]
        for name in CONDITION_COLUMNS:
            columns[name] = pd.Series([getattr(air, name) for air in airs], dtype="float64")
    return pd.DataFrame(columns)


def frame_to_shots(df: "pd.DataFrame", player: str = "me") -> list[Shot]:
    """Return the rows of a DataFrame as shots; only ``loft_deg``, ``swing_deg`` and ``carry_m`` are required.

    Raises
    ------
    WedgelabError
        naming the row's index, for a value that is missing, no number, no known word or outside the hard limits.
    """
    missing = [name for name in REQUIRED if name not in df.columns]
    if missing:
        have = ", ".join(str(name) for name in df.columns[:12])
        what_to_do = "the names and units are those of docs/names.md"
        raise BadRequestError(f"the frame has no column {', '.join(missing)} (it has: {have})", what_to_do)
    twice = df.columns[df.columns.duplicated()]
    if len(twice):
        raise BadRequestError(f"the frame has the column {quoted(twice[0])} twice", "drop one of the two")
    names = [name for name in SHOT_COLUMNS if name in df.columns]
    frame = df[names].astype(object)
    frame = frame.where(frame.notna(), None)
    records = zip(df.index, frame.itertuples(index=False, name=None), strict=True)
    return [_shot(index, dict(zip(names, values, strict=True)), player) for index, values in records]


def answer_to_frame(answer: Any) -> "pd.DataFrame":
    """Return the rows of an answer as a DataFrame: the columns of docs/names.md, SI, NaN where there is no number.

    A chart has a row a wedge and swing, a choice and three flights one an option, gaps one a stock shot (with its gap
    to the next longer one), a drill one a group (``part`` says of which kind), a plan one a shot, those to hit first.
    """
    import pandas as pd

    return pd.DataFrame(_ROWS_OF[type(answer).__name__](answer))


def _flat(record: Any) -> dict[str, Any]:
    """Return a record with what it says of the day and of the flight beside its own values."""
    row: dict[str, Any] = {}
    for field in dataclasses.fields(record):
        value = getattr(record, field.name)
        if dataclasses.is_dataclass(value):
            row |= _flat(value)
        elif field.name not in _PARTS:
            row[field.name] = value
    row.pop("drift_m", None)  # stands as drift_today_m where a cross wind was asked for
    return row


def _rows_of_gaps(report: Any) -> list[dict[str, Any]]:
    names = ("gap_m", "gap_se_m", "spread_m", "is_hole", "hole_probability", "longer_probability")
    return [
        {**_flat(shot), "own_sd_m": sd, **{name: getattr(gap, name, None) for name in names}}
        for shot, sd, gap in zip_longest(report.shots, report.own_sd_m, report.gaps)
    ]


def _rows_of_drill(summary: Any) -> list[dict[str, Any]]:
    parts = {"total": (summary.total,), **{name: getattr(summary, name) for name in ("bands", "wedges", "advice")}}
    return [{"part": name, **_flat(group)} for name, groups in parts.items() for group in groups]


def _rows_of_plan(plan: Any) -> list[dict[str, Any]]:
    names = ("wedge", "loft_deg", "swing", "swing_deg", "balls", "carry_m")
    return [
        {
            **{name: getattr(shot, name) for name in names},
            "carry_se_m": shot.se_now_m,
            "carry_se_after_m": shot.se_after_m,
            **{name: getattr(shot, name) for name in ("weight", "n_shots", "support")},
        }
        for shot in (*plan.shots, *plan.rest)
    ]


# by name: the answers stand in modules that need not be loaded for this one
_ROWS_OF: Final[dict[str, Callable[[Any], list[dict[str, Any]]]]] = {
    "Chart": lambda chart: [_flat(cell) for cell in chart.cells],
    "Choice": lambda choice: [_flat(option) for option in choice.options],
    "Flights": lambda flights: [_flat(option) for option in flights.flights],
    "GapReport": _rows_of_gaps,
    "DrillSummary": _rows_of_drill,
    "SessionPlan": _rows_of_plan,
}


def _shot(index: Hashable, given: Mapping[str, Any], player: str) -> Shot:
    try:
        values = {name: _value(name, value) for name, value in given.items() if value is not None}
        for name in REQUIRED:
            if name not in values:
                raise UnreadableValueError(name, "", "every row needs it")
        defaults = {
            "shot_id": new_id(),
            "player": player,
            "session": "1",
            "hit_at": UNKNOWN_TIME,
            "wedge": f"{values['loft_deg']:g}",
            "swing": format_clock(values["swing_deg"]),
        }
        values = {name: value for name, value in values.items() if value != ""}
        return Shot(**(defaults | values))
    except WedgelabError as error:
        raise BadRequestError(f"row {index}: {str(error).replace('; ', ', ')}", "correct it or drop the row") from error


def _value(name: str, value: Any) -> Any:
    """Return a cell as the plain Python value that `Shot` wants."""
    if name in _TEXTS:
        if isinstance(value, datetime):
            return value.isoformat()
        return f"{value:g}" if isinstance(value, float) else str(value)
    if name == "advice_shown":
        if value not in (0, 1):  # True and False are 1 and 0
            raise UnreadableValueError(name, value, "give True, False or nothing")
        return bool(value)
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise UnreadableValueError(name, value, "give a number") from None
    if name != "call_no":
        return number
    if not number.is_integer():
        raise UnreadableValueError(name, value, "give a whole number")
    return int(number)
