"""One row of text cells -> one `Shot`, or the problems that keep it from being one."""

import hashlib
import re
import unicodedata
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath
from typing import Any, Final

from wedgelab.errors import WedgelabError, quoted
from wedgelab.shots import (
    CONDITION_COLUMNS,
    LIES,
    MAX_LABEL,
    MAX_NAME,
    MAX_NOTE,
    SHOT_COLUMNS,
    STRIKES,
    TRAJECTORIES,
    Conditions,
    Shot,
    clean_text,
    new_id,
    station_pressure_range_hpa,
)
from wedgelab.spreadsheet import unguard_text
from wedgelab.store.clubs import CellRefusedError, ClubFinder, swing_deg_in, tidy_wedge
from wedgelab.store.columns import NUMBER_UNITS
from wedgelab.store.csvfile import as_argument
from wedgelab.store.moments import WANTED as WANTED_MOMENT
from wedgelab.store.moments import Moment, join, read_moment
from wedgelab.store.pressure import to_station_pressure_hpa

PRESSURE: Final = "station_pressure_hpa"
ALTITUDE: Final = "altitude_m"
SEA_LEVEL: Final = "sea_level_pressure_hpa"
HEAD_WIND: Final = "head_wind_mps"
_ONLY_READ: Final = {SEA_LEVEL, HEAD_WIND}
_UUID: Final = re.compile(r"[0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")
_LINE_BREAKS: Final = re.compile(r"\s*[\t\r\n\v\f\x85\u2028\u2029]\s*")
_CHOICES: Final[Mapping[str, tuple[str, ...]]] = {"trajectory": TRAJECTORIES, "lie": LIES, "strike": STRIKES}
_LENGTHS: Final = {
    "session": MAX_NAME,
    "wedge": MAX_LABEL,
    "swing": MAX_LABEL,
    "advised_wedge": MAX_LABEL,
    "drill_id": MAX_NAME,
    "ball": MAX_NAME,
    "note": MAX_NOTE,
}
_BOOLEANS: Final = {
    **dict.fromkeys(("true", "yes", "y", "1"), True),
    **dict.fromkeys(("false", "no", "n", "0"), False),
}
_CLUBS: Final = (("wedge", "loft_deg"), ("swing", "swing_deg"))
_KEY_TEXTS: Final = ("trajectory", "lie", "strike", "drill_id", "advised_wedge", "ball", "note")


@dataclass(frozen=True)
class RowProblem:
    """A cell that keeps the file from being stored: where, what was seen, what is wanted."""

    line: int
    column: str
    value: str
    wanted: str

    def __str__(self) -> str:
        """Return one line for the user."""
        seen = f"{quoted(self.value)} cannot be used" if self.value else "the cell is empty"
        return f"line {self.line}, column {quoted(self.column)}: {seen}; wanted: {self.wanted}"


@dataclass(frozen=True)
class ParsedRow:
    """A row that became a shot; ``row_key`` is the same wherever the same values come from.

    ``lacks`` names what the row did not say and was given for it: ``wedge``, ``swing``.
    """

    line: int
    shot: Shot
    conditions: Conditions
    row_key: str
    has_time: bool
    had_id: bool
    lacks: tuple[str, ...] = ()


@dataclass(frozen=True)
class RowDefaults:
    """What holds for rows that do not say it themselves."""

    player: str
    imported_at: datetime
    session: str | None
    file_stem: str
    date_order: Mapping[str, str]


def session_name(day: str, path: str) -> str:
    """Return the name of a file's session on a day: the day and the file's name, fit to be a name."""
    stem = "".join(char if unicodedata.category(char)[0] != "C" else " " for char in PurePath(path).stem)
    return f"{day} {' '.join(stem.split()) or 'import'}"[:MAX_NAME].strip()


class RowReader:
    """Reads row after row of one file; gathers the problems."""

    def __init__(self, clubs: ClubFinder, defaults: RowDefaults, header_of: Mapping[str, str]) -> None:
        self._clubs, self._defaults, self._header_of = clubs, defaults, header_of
        self.problems: list[RowProblem] = []
        self._ids: set[str] = set()

    def read(self, line: int, cells: Mapping[str, str], numbers: Mapping[str, float]) -> ParsedRow | None:
        """Return the row as a shot; None if it is none, with a problem for each text cell that is at fault.

        ``cells`` has the text of each canonical column, ``numbers`` the SI values that were read from them; a filled
        cell without its number has been named as a problem already.
        """
        before = len(self.problems)
        texts = {name: plain_text(cell) for name, cell in cells.items()}

        def refuse(name: str, wanted: str) -> None:
            if name == "wedge" and name not in self._header_of:
                name = "loft_deg"
            elif name == "swing" and name not in self._header_of:
                name = "swing_deg"
            header = self._header_of.get(name, name)
            self.problems.append(RowProblem(line, header, cells.get(name, ""), wanted))

        if "carry_m" not in numbers and not cells.get("carry_m"):
            refuse("carry_m", "a carry; leave the row out if the ball was not measured")
        values: dict[str, Any] = {name: value for name, value in numbers.items() if name in SHOT_COLUMNS}
        values |= self._read_texts(texts, refuse)
        moment = self._read_moments(texts, refuse)
        shot_id = self._read_id(cells.get("shot_id", ""), refuse)
        values |= self._read_clubs(texts, numbers, refuse, verbatim=bool(shot_id))
        conditions = self._read_air(cells, numbers, refuse)
        unread = any(cells[name] and name not in numbers for name in cells.keys() & NUMBER_UNITS.keys())
        if len(self.problems) > before or unread or conditions is None:
            return None
        hit_at = moment.hit_at(self._defaults.imported_at)
        day = datetime.fromisoformat(hit_at).date().isoformat()
        session = texts.get("session") or self._defaults.session or session_name(day, self._defaults.file_stem)
        values |= {"session": session, "hit_at": hit_at, "player": self._defaults.player}
        shot = Shot(shot_id=shot_id or new_id(), **values)
        key = _row_key(texts, numbers, shot, moment)
        lacks = tuple(label for label, angle in _CLUBS if not texts[label] and angle not in numbers)
        return ParsedRow(line, shot, conditions, key, moment.is_full, bool(shot_id), lacks)

    def _read_air(
        self, cells: Mapping[str, str], numbers: Mapping[str, float], refuse: Callable[[str, str], None]
    ) -> Conditions | None:
        """Return the conditions of a row; None for a pressure that cannot be used."""
        values = {name: numbers[name] for name in CONDITION_COLUMNS if name in numbers}
        if HEAD_WIND in numbers:
            values.setdefault("wind_mps", 0.0 - numbers[HEAD_WIND])
        altitude_m = values.get(ALTITUDE)
        if SEA_LEVEL in numbers and PRESSURE not in values:
            if altitude_m is None:
                if not cells.get(ALTITUDE):  # else that cell is a problem already
                    refuse(SEA_LEVEL, f"an altitude in that row too, or {self._map('ignore', SEA_LEVEL)}")
                return None
            values[PRESSURE] = to_station_pressure_hpa(numbers[SEA_LEVEL], altitude_m, values.get("air_temp_c"))
        if altitude_m is not None and PRESSURE in values:
            low, high = station_pressure_range_hpa(altitude_m)
            if not low <= values[PRESSURE] <= high:
                wanted = f"the station's pressure, from {low:.0f} to {high:.0f} hPa at {altitude_m:.0f} m"
                if PRESSURE in numbers:  # without a unit, so that the header's or the player's stays
                    wanted += f" (if it is reduced to sea level: {self._map('sea_level_pressure', PRESSURE)})"
                refuse(PRESSURE if PRESSURE in numbers else SEA_LEVEL, wanted)
                return None
        return Conditions(**values)

    def _map(self, meaning: str, name: str) -> str:
        return f"--map {meaning}={as_argument(self._header_of[name])}"

    def _read_texts(self, texts: dict[str, str], refuse: Callable[[str, str], None]) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for name, longest in _LENGTHS.items():
            try:
                texts[name] = clean_text(name, texts.get(name, ""), longest, required=False)
            except WedgelabError:
                refuse(name, f"at most {longest} visible characters")
        values |= {name: texts[name] for name in ("drill_id", "advised_wedge", "ball", "note")}
        for name, allowed in _CHOICES.items():
            word = texts.get(name, "").casefold()
            if word and word not in allowed:
                refuse(name, f"{', '.join(allowed)} or nothing")
            elif word:
                values[name] = word
        if call := texts.get("call_no", ""):
            if re.fullmatch(r"-?\d{1,9}", call, re.ASCII):
                values["call_no"] = int(call)
            else:
                refuse("call_no", "a whole number")
        if shown := texts.get("advice_shown", "").casefold():
            values["advice_shown"] = _BOOLEANS.get(shown)
            if shown not in _BOOLEANS:
                refuse("advice_shown", "true, false or nothing")
        return values

    def _read_moments(self, texts: Mapping[str, str], refuse: Callable[[str, str], None]) -> Moment:
        parts = []
        for name in ("hit_at", "hit_date", "hit_time"):
            cell = texts.get(name, "")
            if not cell:
                continue
            moment = read_moment(cell, self._defaults.date_order.get(name, ""))
            if moment is None:
                refuse(name, WANTED_MOMENT)
            else:
                parts.append(moment)
        return join(parts)

    def _read_id(self, cell: str, refuse: Callable[[str, str], None]) -> str:
        """Return the id of a row that an export of ours wrote, else nothing: a foreign number is no id."""
        if not _UUID.fullmatch(cell):
            return ""
        if (same := str(uuid.UUID(cell))) in self._ids:
            refuse("shot_id", "an id that no other row has")
        self._ids.add(same)
        return cell

    def _read_clubs(
        self,
        texts: Mapping[str, str],
        numbers: Mapping[str, float],
        refuse: Callable[[str, str], None],
        *,
        verbatim: bool,
    ) -> dict[str, Any]:
        values: dict[str, Any] = {}
        finders = (("wedge", "loft_deg", self._clubs.wedge), ("swing", "swing_deg", self._clubs.swing))
        for label, angle, find in finders:
            if texts.get(angle) and angle not in numbers:
                continue  # that cell is a problem already
            try:
                values[label], values[angle] = find(texts[label], numbers.get(angle), verbatim=verbatim)
            except CellRefusedError as error:
                refuse(error.name, error.wanted)
        return values


def plain_text(cell: str) -> str:
    """Return a text cell on one line, without the apostrophe that an export put before it."""
    return _LINE_BREAKS.sub(" ", unguard_text(cell)).strip()


def had_time(row_key: str) -> bool:
    """Tell from its key whether a row said both the day and the time of day."""
    return row_key.startswith("t")


def _row_key(texts: Mapping[str, str], numbers: Mapping[str, float], shot: Shot, moment: Moment) -> str:
    """Hash what the file says about a ball, before the bag, the player or the day of the import have a say."""
    # without the sea-level pressure: files that were imported before it was understood must stay known
    parts = {name: repr(round(value, 4) + 0.0) for name, value in numbers.items() if name not in _ONLY_READ}
    parts |= {name: value for name in _KEY_TEXTS if (value := getattr(shot, name))}
    swing = texts["swing"]
    try:
        stated = swing_deg_in(swing)
    except CellRefusedError:  # the bag knows it by that very name
        stated = None
    parts |= {
        "wedge": tidy_wedge(texts["wedge"]).casefold(),
        "swing": swing.casefold() if stated is None else f"{stated:g} deg",
        "session": texts["session"],
        "when": moment.key(),
    }
    parts |= {name: str(value) for name in ("call_no", "advice_shown") if (value := getattr(shot, name)) is not None}
    canonical = "\x1f".join(f"{name}={value}" for name, value in sorted(parts.items()) if value)
    return ("t" if moment.is_full else "u") + hashlib.sha256(canonical.encode()).hexdigest()[:16]
