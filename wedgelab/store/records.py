"""What the store hands out: small frozen records, and the way from a row to a `Shot`."""

import json
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final, TypedDict

from wedgelab.errors import BadNameError, OutOfRangeError
from wedgelab.shots import (
    MAX_LABEL,
    MAX_NAME,
    MAX_NOTE,
    SHOT_COLUMNS,
    Conditions,
    Shot,
    SwingLength,
    Wedge,
    check_moment,
    clean_text,
)
from wedgelab.units import LengthUnit, format_number

RANGE_LIMIT_M: Final = (0.5, 300.0)
NOT_SAID: Final = Conditions()
_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND: Final = timedelta(microseconds=1)


class ConditionChanges(TypedDict, total=False):
    """The columns of the air; None takes a value back to unknown."""

    air_temp_c: float | None
    station_pressure_hpa: float | None
    humidity_pct: float | None
    altitude_m: float | None
    wind_mps: float | None
    cross_wind_mps: float | None


def filled_in(noted: Conditions, more: Conditions) -> Conditions:
    """Return noted conditions with what nobody had said filled in; what does not fit together is refused."""
    return noted.changed(more.known() | noted.known())


class PlayerChanges(ConditionChanges, total=False):
    """What `ShotStore.set_player` can change; the conditions are the player's reference conditions."""

    units: LengthUnit
    window: str
    range_limit_m: float | None
    ball: str


class SessionChanges(ConditionChanges, total=False):
    """What `ShotStore.update_session` can change."""

    started_at: str
    ball: str
    note: str


@dataclass(frozen=True, slots=True)
class PlayerSettings:
    """A player and what `players set` holds for them; an empty window means the usual one."""

    name: str
    units: LengthUnit = "yd"
    window: str = ""
    range_limit_m: float | None = None
    ball: str = ""
    created_at: str = ""
    conditions: Conditions = NOT_SAID

    def __post_init__(self) -> None:
        put = object.__setattr__
        put(self, "name", clean_text("player", self.name, MAX_NAME))
        put(self, "window", clean_text("window", self.window, MAX_LABEL, required=False))
        put(self, "ball", clean_text("ball", self.ball, MAX_NAME, required=False))
        if self.units not in {"yd", "m"}:
            raise BadNameError("unit", self.units, "use yd or m")
        if self.range_limit_m is not None:
            low, high = RANGE_LIMIT_M
            if not low <= self.range_limit_m <= high:
                shown = format_number(self.range_limit_m, 1, missing=str(self.range_limit_m))
                raise OutOfRangeError("range limit", f"{shown} m", str(low), f"{high} m")


@dataclass(frozen=True, slots=True)
class Session:
    """One practice session; ``n_shots`` counts the shots in it that are not deleted."""

    player: str
    name: str
    started_at: str
    ball: str = ""
    note: str = ""
    conditions: Conditions = NOT_SAID
    n_shots: int = 0

    def __post_init__(self) -> None:
        put = object.__setattr__
        put(self, "name", clean_text("session", self.name, MAX_NAME))
        put(self, "ball", clean_text("ball", self.ball, MAX_NAME, required=False))
        put(self, "note", clean_text("note", self.note, MAX_NOTE, required=False))
        check_moment(self.started_at, "start of the session")


@dataclass(frozen=True, slots=True)
class WedgeEntry:
    """A line of the bag's history; ``retired_at`` is None while the wedge is in the bag."""

    wedge_id: str
    wedge: Wedge
    added_at: str
    retired_at: str | None


@dataclass(frozen=True, slots=True)
class SwingEntry:
    """A line of the history of named swing lengths; ``retired_at`` is None while it is in use."""

    swing_id: str
    swing: SwingLength
    added_at: str
    retired_at: str | None


@dataclass(frozen=True, slots=True)
class ImportBatch:
    """One file that was taken in for one player; an empty ``imported_at`` is filled in when it is stored."""

    import_id: str
    player: str
    file_name: str
    content_sha256: str
    row_count: int
    imported_at: str = ""


@dataclass(frozen=True, slots=True)
class ImportRow:
    """A row of an imported file that became a shot, whether or not that shot was deleted later."""

    import_id: str
    row_no: int
    row_key: str


@dataclass(frozen=True, slots=True)
class FollowedRow:
    """A row of a watched file that was taken as a ball of a drill, whether or not that ball was taken back later.

    ``row_no`` is the line on which the row began, or below 0 its line from the end (-1: the last row).
    """

    drill_id: str
    file_name: str
    row_no: int
    row_key: str


@dataclass(frozen=True, slots=True)
class UndoResult:
    """What an undo took back: one shot, or all that was left of an imported file; or a deletion.

    ``restored`` means that the last action was a deletion: the shot is in the log again, under the id given here.
    """

    shots: tuple[Shot, ...]
    import_batch: ImportBatch | None = None
    restored: bool = False


@dataclass(frozen=True, slots=True)
class DrillRecord:
    """A drill that was started, with the settings it was started with."""

    drill_id: str
    player: str
    started_at: str
    settings: dict[str, Any]


def name_key(name: str) -> str:
    """Return the form of a name by which two spellings count as the same."""
    return clean_text("player", name, MAX_NAME).casefold()


def epoch_us(moment: str) -> int:
    """Return an ISO 8601 time with offset as microseconds since 1970, UTC."""
    return (datetime.fromisoformat(moment) - _EPOCH) // _MICROSECOND


def as_json(value: Mapping[str, Any]) -> str:
    """Return the text of a JSON object; a number that JSON does not know (NaN) is our bug and raises ValueError."""
    return json.dumps(dict(value), ensure_ascii=False, allow_nan=False)


def with_conditions(conditions: Conditions, changes: Mapping[str, Any]) -> tuple[Conditions, dict[str, Any]]:
    """Return the conditions after the changes that concern them, and the other changes."""
    others = {name: value for name, value in changes.items() if name not in ConditionChanges.__annotations__}
    return conditions.changed(changes), others


_SETTERS: Final = {name: getattr(Shot, name).__set__ for name in SHOT_COLUMNS}


def shots_from_rows(rows: Sequence[tuple[Any, ...]]) -> list[Shot]:
    """Build shots from rows in the order of ``SHOT_COLUMNS`` without validating them a second time.

    `Shot` takes 30 us to validate, 15 ms for 500 of them; the rows were validated when they were written and are
    held by the table's CHECKs. So the slots are filled directly, column by column because that runs in C (2 ms); a
    test holds the result equal to `Shot`'s own.
    """
    made = [object.__new__(Shot) for _ in rows]
    for (name, put), column in zip(_SETTERS.items(), zip(*rows, strict=True), strict=bool(rows)):
        values = column if name != "advice_shown" else (None if value is None else bool(value) for value in column)
        deque(map(put, made, values), maxlen=0)
    return made


def row_from_shot(shot: Shot) -> tuple[Any, ...]:
    """Return a shot's values in the order of ``SHOT_COLUMNS``; truth values as 0 and 1."""
    return tuple(int(v) if isinstance(v, bool) else v for v in (getattr(shot, name) for name in SHOT_COLUMNS))
