"""Headers -> canonical columns and units: our own names, the plain words of the trade, or a mapping by the player."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from wedgelab.errors import BadRequestError, FileProblemError, UnknownNameError, quoted
from wedgelab.shots import SHOT_COLUMNS
from wedgelab.store.cells import carries_unit
from wedgelab.store.csvfile import Table, as_argument
from wedgelab.units import LengthUnit, unit_kind

# canonical column -> further spellings; the column's own name, with or without its unit, is always understood
_NUMBERS: Final[dict[str, tuple[str, ...]]] = {
    "loft_deg": ("club loft", "wedge loft"),
    "swing_deg": ("swing angle", "arm angle"),
    "carry_m": ("carry distance", "carry length"),
    "total_m": ("total distance", "total length"),
    "offline_m": ("side", "off line", "side distance"),
    "ball_speed_mps": (),
    "club_speed_mps": ("club head speed", "clubhead speed"),
    "launch_deg": ("launch angle",),
    "spin_rpm": ("spin rate",),
    "land_deg": ("landing angle", "land angle", "landing", "descent angle"),
    "apex_m": ("apex height", "height", "peak height", "max height"),
    "target_m": ("target distance", "target carry", "call"),
    "guess_m": ("guess distance", "guessed carry"),
    "window_m": (),
    "advised_swing_deg": (),
    "air_temp_c": ("temperature", "temp", "air temperature"),
    "station_pressure_hpa": ("pressure", "air pressure"),
    "humidity_pct": ("relative humidity",),
    "altitude_m": ("elevation",),
    "wind_mps": ("tail wind", "tailwind"),
    "cross_wind_mps": ("crosswind",),
    "head_wind_mps": ("head wind", "headwind"),  # becomes wind_mps with the other sign; never kept itself
    # becomes the station's where the altitude is known; never kept itself
    "sea_level_pressure_hpa": ("mean sea level pressure", "pressure at sea level", "sea level air pressure"),
}
# hit_date and hit_time are halves of hit_at that many tables keep apart
_TEXTS: Final[dict[str, tuple[str, ...]]] = {
    "shot_id": (),
    "player": ("golfer",),
    "session": ("session name",),
    "hit_at": ("date time", "datetime", "timestamp", "date and time"),
    "hit_date": ("date", "day"),
    "hit_time": ("time", "time of day"),
    "wedge": ("club",),
    "swing": ("swing length",),
    "trajectory": (),
    "lie": (),
    "drill_id": ("drill",),
    "call_no": ("call number",),
    "advice_shown": (),
    "advised_wedge": (),
    "strike": (),
    "ball": ("golf ball",),
    "note": ("notes", "comment", "comments", "remark"),
}
NUMBER_UNITS: Final = {name: name.rsplit("_", 1)[1] for name in _NUMBERS}
_PHRASES: Final = {
    **{phrase: name for name, more in _TEXTS.items() for phrase in (name.replace("_", " "), *more)},
    **{
        phrase: name
        for name, more in _NUMBERS.items()
        for phrase in (name.rsplit("_", 1)[0].replace("_", " "), *more)
        if name not in {"swing_deg", "advised_swing_deg"} or phrase in more
    },
}
_IN_DEGREES: Final = {"swing": "swing_deg", "advised swing": "advised_swing_deg"}
_BRACKETS: Final = re.compile(r"(?P<base>.+?)\s*[(\[{]\s*(?P<unit>[^()\[\]{}]*?)\s*[)\]}]")
_SETTINGS: Final = {"decimal": (".", ","), "dates": ("dmy", "mdy")}


@dataclass(frozen=True)
class Column:
    """One column of the file that is used: where it is, what it is, and in which unit."""

    index: int
    header: str
    name: str
    unit: str
    unit_was_assumed: bool

    def __str__(self) -> str:
        """Return one line for the preview."""
        if self.name not in NUMBER_UNITS:
            return f"{quoted(self.header)} is {self.name}"
        assumed = " (assumed: the header names no unit)" if self.unit_was_assumed else ""
        return f"{quoted(self.header)} is {self.name}, given in {self.unit}{assumed}"


@dataclass(frozen=True)
class ColumnPlan:
    """How a table is read: the columns in use, those left out, and what the player settled beforehand."""

    columns: tuple[Column, ...]
    ignored: tuple[str, ...]
    notices: tuple[str, ...] = ()
    decimal: str = ""
    date_order: str = ""
    own_export: bool = False


def read_header(header: str) -> tuple[str, str] | None:
    """Return (canonical column, unit or ""), or None for a header that means nothing here.

    Raises
    ------
    BadRequestError
        for a unit in brackets that measures something else, such as ``Carry (mph)``.
    """
    for text in (header, re.sub(r"(?<=[a-z])(?=[A-Z])", " ", header)):
        bracket = _BRACKETS.fullmatch(text.strip())
        if bracket is not None:
            found = _name_with_unit(_words(bracket["base"]), "".join(bracket["unit"].casefold().split()))
            if found is None and _words(bracket["base"]) in _PHRASES and unit_kind(bracket["unit"]) is not None:
                problem = f"the header {quoted(header)} gives a unit that does not fit its quantity"
                raise BadRequestError(problem, "correct the header or map the column with its true unit")
        else:
            phrase = _words(text)
            base, _, unit = phrase.rpartition(" ")
            found = (_PHRASES[phrase], "") if phrase in _PHRASES else _name_with_unit(base, unit)
            if found is None and "/" in phrase:  # "carry / m", the way physicists write it
                base, _, unit = phrase.rpartition("/")
                found = _name_with_unit(base.strip(), unit.strip())
        if found is not None:
            return found
    return None


def _words(text: str) -> str:
    return " ".join(re.split(r"[\s_,;:\-]+", text.casefold().strip(" _,;:-."))).strip()


def _name_with_unit(base: str, unit: str) -> tuple[str, str] | None:
    base = base.removesuffix(" in")
    name = _IN_DEGREES.get(base) if unit_kind(unit) == "angle" else None
    name = name or _PHRASES.get(base)
    if name is None or name not in NUMBER_UNITS or unit_kind(unit) != unit_kind(NUMBER_UNITS[name]):
        return None
    return name, unit


def plan_columns(
    table: Table, mapping: Mapping[str, str], *, default_unit: LengthUnit, needs_clubs: bool = True
) -> ColumnPlan:
    """Decide what each column of a table is.

    ``mapping`` says canonical quantity (with its unit if the header has none) = header in the file, as in
    ``{"carry_yd": "Strange header"}``; a header that occurs twice is told apart as ``Header#2``. Further keys settle
    what a file can leave open: ``decimal`` is ``.`` or ``,``, ``dates`` is ``dmy`` or ``mdy``, and ``ignore``
    (``ignore2``, ...) is a column that is not what its header seems to say. Without ``needs_clubs`` a table may do
    without a column for the wedge or the swing.

    Raises
    ------
    FileProblemError, BadRequestError, UnknownNameError
        when a needed column is missing, meant twice, or a mapping does not fit the file.
    """
    chosen, settings, unwanted = _read_mapping(table, mapping)
    mapped = {index for index, _ in chosen.values()} | unwanted
    meanings: dict[str, list[tuple[int, str]]] = {}
    for index, header in enumerate(table.headers):
        found = None if index in mapped else read_header(header)
        if found is not None and found[0] not in chosen:
            meanings.setdefault(found[0], []).append((index, found[1]))
    for name, places in meanings.items():
        chosen[name] = places[0] if _all_alike(table, places) else _refuse_twice(table, name, places)
    columns, notices = [], []
    for name, (index, unit) in sorted(chosen.items(), key=lambda item: item[1][0]):
        column = _with_unit(table, index, name, unit, default_unit)
        if column is None:
            how = f"give it one with --map air_temp_c={as_argument(table.headers[index])} or air_temp_f"
            notices.append(f"column {quoted(table.headers[index])} is left out because it names no unit; {how}")
        else:
            columns.append(column)
    _check_needed(table, {column.name for column in columns}, needs_clubs=needs_clubs)
    used = {column.index for column in columns}
    ignored = tuple(header for index, header in enumerate(table.headers) if index not in used and header)
    own = set(SHOT_COLUMNS) <= set(table.headers) and not mapping
    return ColumnPlan(
        tuple(columns),
        ignored,
        tuple(notices),
        # with another separator a spreadsheet has saved it again, perhaps with its own decimal sign
        "." if own and table.delimiter == "," else settings.get("decimal", ""),
        settings.get("dates", ""),
        own,
    )


def _read_mapping(
    table: Table, mapping: Mapping[str, str]
) -> tuple[dict[str, tuple[int, str]], dict[str, str], set[int]]:
    """Return the mapped columns (index and unit by canonical name), the settings, and the columns to ignore."""
    chosen: dict[str, tuple[int, str]] = {}
    settings: dict[str, str] = {}
    unwanted: set[int] = set()
    for key, header in mapping.items():
        if key in _SETTINGS:
            if header not in _SETTINGS[key]:
                allowed = " or ".join(f"{key}={choice}" for choice in _SETTINGS[key])
                raise BadRequestError(f"the mapping {key}={quoted(header)} is not understood", f"give {allowed}")
            settings[key] = header
            continue
        if re.fullmatch(r"ignore\d*", key):
            unwanted.add(_find_header(table, header))
            continue
        meaning = read_header(key)
        if meaning is None:
            raise UnknownNameError("quantity in a mapping", key, (*NUMBER_UNITS, *_TEXTS))
        name, unit = meaning
        index = _find_header(table, header)
        if name in chosen:
            raise BadRequestError(f"{name} is mapped twice", "keep one of the two")
        if index in {place for place, _ in chosen.values()}:
            raise BadRequestError(f"the column {quoted(header)} is mapped twice", "keep one of the two")
        chosen[name] = (index, unit or _unit_at_end(table.headers[index], name))
    return chosen, settings, unwanted


def _unit_at_end(header: str, name: str) -> str:
    """Return the unit that a strange header nevertheless names, such as the m in ``Weite [m]``."""
    words = re.split(r"[\s_()\[\]{}]+", header.casefold().strip(" ()[]{}"))
    kind = unit_kind(NUMBER_UNITS.get(name, ""))
    return words[-1] if kind is not None and len(words) > 1 and unit_kind(words[-1]) == kind else ""


def _find_header(table: Table, header: str) -> int:
    wanted = " ".join(header.split())
    places = [index for index, seen in enumerate(table.headers) if seen == wanted]
    places = places or [index for index, seen in enumerate(table.headers) if seen.casefold() == wanted.casefold()]
    if not places and (numbered := re.fullmatch(r"(.+)#(\d{1,3})", wanted)):
        same = [index for index, seen in enumerate(table.headers) if seen.casefold() == numbered[1].casefold()]
        places = same[int(numbered[2]) - 1 : int(numbered[2])]
    if not places:
        raise UnknownNameError("column", header, (seen for seen in table.headers if seen))
    if len(places) > 1:
        what_to_do = f"say which one, as in {quoted(wanted + '#2')}"
        raise BadRequestError(f"the file has {len(places)} columns named {quoted(wanted)}", what_to_do)
    return places[0]


def _all_alike(table: Table, places: list[tuple[int, str]]) -> bool:
    """Tell whether columns with one meaning are mere copies of each other, so that any will do."""
    if len({unit for _, unit in places}) > 1:
        return False
    first = places[0][0]
    return all(
        cells[first : first + 1] == cells[index : index + 1] for _, cells in table.rows for index, _ in places[1:]
    )


def _refuse_twice(table: Table, name: str, places: list[tuple[int, str]]) -> tuple[int, str]:
    headers = [table.headers[index] for index, _ in places]
    named = [f"{seen}#{headers[: place + 1].count(seen)}" if headers.count(seen) > 1 else seen
             for place, seen in enumerate(headers)]  # fmt: skip
    shown = " and ".join(quoted(header) for header in named)
    plain = name.rsplit("_", 1)[0] if name in NUMBER_UNITS and name not in _IN_DEGREES.values() else name
    raise FileProblemError(
        table.path, f"columns {shown} both mean {name}", f"choose with --map {plain}={as_argument(named[0])}"
    )


def _with_unit(table: Table, index: int, name: str, unit: str, default_unit: LengthUnit) -> Column | None:
    """Settle the unit: from mapping or header, else the units row, else the player's; None if nobody can know."""
    header = table.headers[index]
    if name not in NUMBER_UNITS:
        return Column(index, header, name, "", unit_was_assumed=False)
    kind = unit_kind(NUMBER_UNITS[name])
    below = table.units_row[index] if index < len(table.units_row) else ""
    if below and unit_kind(below) != kind:
        problem = f"the units row says {quoted(below)} for the column {quoted(header)}"
        raise FileProblemError(table.path, problem, "correct the units row")
    if unit and below and unit.casefold() != below.casefold():
        problem = f"the column {quoted(header)} is in {unit}, but the units row says {quoted(below)}"
        raise FileProblemError(table.path, problem, "correct one of the two")
    unit = unit or below
    if unit:
        return Column(index, header, name, unit.casefold(), unit_was_assumed=False)
    cells = [row[index] for _, row in table.rows if index < len(row) and row[index]]
    in_cells = bool(cells) and all(carries_unit(cell, kind) for cell in cells)
    if kind == "temperature" and not in_cells:
        return None  # 45 is a warm day or a cold one, and no limit would catch it
    feet = name == "altitude_m" and default_unit == "yd"
    usual = {"length": "ft" if feet else default_unit, "speed": "mph" if default_unit == "yd" else "mps"}
    assumed = not in_cells and kind in {"length", "speed", "pressure"}
    return Column(index, header, name, usual.get(kind or "", NUMBER_UNITS[name]), assumed)


def _check_needed(table: Table, names: set[str], *, needs_clubs: bool) -> None:
    needed = (
        ({"carry_m"}, "carry", "carry_yd"),
        ({"wedge", "loft_deg"}, "wedge or loft", "wedge"),
        ({"swing", "swing_deg"}, "swing length", "swing"),
    )
    for any_of, what, example in needed if needs_clubs else needed[:1]:
        if not any_of & names:
            seen = ", ".join(quoted(header) for header in table.headers[:12] if header)
            more = " ..." if len(table.headers) > 12 else ""
            problem = f"no column for the {what} among {seen}{more}"
            raise FileProblemError(table.path, problem, f'say which it is: --map {example}="HEADER"')
