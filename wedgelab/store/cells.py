"""Columns of text cells -> numbers: the decimal sign is decided from all values of a column, never from one cell."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from wedgelab.errors import FileProblemError, quoted
from wedgelab.shots import LIMITS
from wedgelab.units import format_number, from_si, to_si, unit_kind

EMPTY: Final = frozenset({"", "-", "--", "\u2013", "\u2014"})
_SPACES: Final = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u202f", " ") | {"\u2212": "-", "\u2019": "'"})
_TAIL: Final = re.compile(
    r"(?P<number>[^A-Za-z°%]*\d[.,]?(?:[eE][+-]?\d{1,3})?)\s*(?P<unit>[A-Za-z°%][A-Za-z°%/]*|1/min)"
)
_SIDE: Final = re.compile(
    r"(?:(?P<before>left|right|[lr])\s*)?(?P<rest>[+\-\d].*?)\s*(?P<after>left|right|[lr])?", re.IGNORECASE
)
_SAME_NUMBER: Final = 1e-9
# A spin below this never leaves a wedge: "8,500" in a spin column is thousands.
_LEAST: Final[Mapping[str, float]] = {"spin_rpm": 100.0}


def _pattern(decimal: str) -> re.Pattern[str]:
    thousands = "," if decimal == "." else "."
    grouped = "|".join(rf"[1-9]\d{{0,2}}(?:{sign}\d{{3}})+" for sign in (re.escape(thousands), " ", "'"))
    point = re.escape(decimal)
    return re.compile(
        rf"[+-]?(?:(?:{grouped})(?:{point}\d*)?|\d+(?:{point}\d*)?|{point}\d+)(?:[eE][+-]?\d{{1,3}})?", re.ASCII
    )


_PATTERNS: Final = {".": _pattern("."), ",": _pattern(",")}


def read_number(text: str, decimal: str) -> float | None:
    """Read a number, or None if it is none; the sign that is not ``decimal``, a blank or ' may group thousands."""
    if not _PATTERNS[decimal].fullmatch(text):
        return None
    thousands = "," if decimal == "." else "."
    number = float(text.replace(thousands, "").replace(" ", "").replace("'", "").replace(decimal, "."))
    return number if math.isfinite(number) else None


def plain_spaces(cell: str) -> str:
    """Return a cell with ordinary blanks and an ordinary minus sign."""
    return cell.translate(_SPACES).strip()


def carries_unit(cell: str, kind: str | None) -> bool:
    """Tell whether a cell names its own unit of that kind, as ``85 yd`` does."""
    match = _TAIL.fullmatch(plain_spaces(cell))
    return match is not None and kind is not None and unit_kind(match["unit"]) == kind


@dataclass(frozen=True, slots=True)
class NumberCell:
    """A cell taken apart: the digits as written, the unit that holds for it, and -1 for a side called left."""

    line: int
    text: str
    digits: str
    unit: str
    sign: float


@dataclass(frozen=True)
class NumberColumn:
    """All filled cells of one numeric column."""

    name: str
    header: str
    unit: str
    cells: tuple[NumberCell, ...]

    def readings(self, decimal: str) -> dict[int, float]:
        """Return the SI values that can be read with that decimal sign, by line."""
        found = {}
        for cell in self.cells:
            number = read_number(cell.digits, decimal)
            if number is not None:
                found[cell.line] = to_si(number * cell.sign, cell.unit)
        return found


def take_apart(name: str, header: str, unit: str, cells: Iterable[tuple[int, str]]) -> NumberColumn:
    """Split units and side words off the filled cells of a column."""
    kind = unit_kind(unit)
    parts = []
    for line, text in cells:
        digits, sign = plain_spaces(text), 1.0
        if name == "offline_m" and (side := _SIDE.fullmatch(digits)) and (side["before"] or side["after"]):
            word = (side["before"] or side["after"]).casefold()
            both = side["before"] and side["after"]
            digits = "" if both or side["rest"][0] in "+-" else side["rest"]
            sign = -1.0 if word.startswith("l") else 1.0
        own_unit = unit
        if (tail := _TAIL.fullmatch(digits)) and unit_kind(tail["unit"]) == kind:
            digits, own_unit = tail["number"].rstrip(), tail["unit"]
        parts.append(NumberCell(line, text, digits, own_unit, sign))
    return NumberColumn(name, header, unit, tuple(parts))


def _plausible(column: NumberColumn, values: Mapping[int, float]) -> bool:
    low, high, *_ = LIMITS[column.name]
    return all(max(low, _LEAST.get(column.name, low)) <= value <= high for value in values.values())


def decide_decimals(path: str, columns: Sequence[NumberColumn], settled: str) -> dict[str, str]:
    """Return the decimal sign of each column, by canonical name.

    A column's own values come first, then the hard limits of its quantity, then the other columns of the file.

    Raises
    ------
    FileProblemError
        when "1,234" could be either and nothing in the file tells which.
    """
    if settled:
        return dict.fromkeys((column.name for column in columns), settled)
    decided: dict[str, str] = {}
    undecided: list[NumberColumn] = []
    for column in columns:
        point, comma = column.readings("."), column.readings(",")
        if len(point) != len(comma):
            decided[column.name] = "." if len(point) > len(comma) else ","
        elif all(abs(value - comma.get(line, math.inf)) <= _SAME_NUMBER for line, value in point.items()):
            continue  # whole numbers: either sign reads the same
        elif point.keys() != comma.keys():
            decided[column.name] = "."  # as many cells speak for the one as for the other; the rest is named as bad
        else:
            undecided.append(column)
    evidence = set(decided.values())
    for column in undecided:
        likely = [sign for sign in ".," if _plausible(column, column.readings(sign))]
        if len(likely) == 1:
            decided[column.name] = likely[0]
        elif len(evidence) == 1:
            decided[column.name] = next(iter(evidence))
        elif not any("," in cell.digits for cell in column.cells):
            decided[column.name] = "."  # 62.512: the way computers write
        else:
            example = next(cell.text for cell in column.cells if "," in cell.digits)
            problem = f"numbers such as {quoted(example)} in the column {quoted(column.header)} can be read in two ways"
            how = "say --map decimal=, if the comma is the decimal sign, --map decimal=. if it groups thousands"
            raise FileProblemError(path, problem, how)
    return decided


def limits_in(name: str, unit: str) -> str:
    """Return the hard limits of a quantity in the unit of its column, in words."""
    low, high, _, digits = LIMITS[name]
    shown = (format_number(from_si(limit, unit), digits) for limit in (low, high))
    return " to ".join(shown) + f" {unit}"
