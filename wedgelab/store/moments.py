"""Cells with dates and times -> moments; whether 03/04 is in March or in April is decided from the whole column."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, tzinfo
from typing import Final

from wedgelab.errors import FileProblemError, quoted

WANTED: Final = "a date and time such as 2026-06-03 18:30"
_SLASHED: Final = re.compile(r"(\d{1,2})([/-])(\d{1,2})\2(\d{4})(?:,?\s+(.*))?")
_DOTTED: Final = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})(?:,?\s+(.*))?")
_ISO_SLASHED: Final = re.compile(r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})(?:,?\s+(.*))?")
_ISO_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_ISO_MOMENT: Final = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[Tt]|,?\s+)(\d{1,2}:\d{2}.*)")
_CLOCK: Final = re.compile(
    r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,6}))?)?\s*(?P<half>[ap]\.?m\.?)?\s*(?P<zone>z|[+-]\d{2}(?::?\d{2})?)?",
    re.IGNORECASE,
)
_NOON: Final = time(12)


@dataclass(frozen=True, slots=True)
class Moment:
    """What the cells of a row say about when: a day, a time of day, both or neither."""

    day: date | None = None
    clock: time | None = None
    text: str = ""  # the cell itself when it is already a full ISO 8601 moment with an offset

    @property
    def is_full(self) -> bool:
        """True when both the day and the time of day are known."""
        return self.day is not None and self.clock is not None

    def hit_at(self, otherwise: datetime) -> str:
        """Return ISO 8601 with an offset; what the file does not say comes from ``otherwise``."""
        if self.text:
            return self.text
        if self.day is None and self.clock is None:
            return otherwise.isoformat()
        clock = self.clock or _NOON  # a day alone is put at noon, where no change of zone moves it to another day
        zone: tzinfo | None = clock.tzinfo or otherwise.tzinfo
        return datetime.combine(self.day or otherwise.date(), clock.replace(tzinfo=None), zone).isoformat()

    def key(self) -> str:
        """Return what the file itself says, the same for the same moment however it is written."""
        if self.day is not None and self.clock is not None and self.clock.tzinfo is not None:
            return datetime.combine(self.day, self.clock).astimezone(UTC).isoformat()
        return f"{self.day or ''} {self.clock or ''}".strip()


def decide_date_order(path: str, header: str, cells: Iterable[str], settled: str) -> str:
    """Return ``dmy`` or ``mdy`` for a column with dates such as 03/04/2026, "" for one without.

    Raises
    ------
    FileProblemError
        when every date can be read both ways, or some only the one way and some only the other.
    """
    pairs = {(int(m[1]), int(m[3])): cell for cell in cells if (m := _SLASHED.fullmatch(" ".join(cell.split())))}
    if settled or not pairs:
        return settled
    day_first = next((cell for (first, _), cell in pairs.items() if first > 12), None)
    month_first = next((cell for (_, second), cell in pairs.items() if second > 12), None)
    if day_first and month_first:
        problem = f"{quoted(day_first)} puts the day first and {quoted(month_first)} the month, in {quoted(header)}"
        raise FileProblemError(path, problem, "write all dates as 2026-06-03")
    if day_first or month_first:
        return "dmy" if day_first else "mdy"
    unsure = next((cell for (first, second), cell in pairs.items() if first != second), None)
    if unsure is None:
        return "dmy"
    problem = f"dates such as {quoted(unsure)} in the column {quoted(header)} can be read in two ways"
    raise FileProblemError(path, problem, "say --map dates=dmy (day first) or --map dates=mdy (month first)")


def read_moment(cell: str, order: str) -> Moment | None:
    """Read a date, a time of day or both; None if the cell is neither."""
    text = " ".join(cell.split())
    moment = _read_any(text, order)
    # Years before 1900 are a spreadsheet's idea of an empty date.
    return None if moment is not None and moment.day is not None and moment.day.year < 1900 else moment


def _read_any(text: str, order: str) -> Moment | None:
    try:
        if full := _full_iso(text):
            return Moment(full.date(), full.timetz(), text)
        if _ISO_DATE.fullmatch(text):
            return Moment(day=date.fromisoformat(text))
        if match := _ISO_MOMENT.fullmatch(text):
            return _with_clock(date.fromisoformat(match[1]), match[2])
        if match := _ISO_SLASHED.fullmatch(text):
            return _with_clock(date(int(match[1]), int(match[2]), int(match[3])), match[4])
        if match := _DOTTED.fullmatch(text):
            return _with_clock(date(int(match[3]), int(match[2]), int(match[1])), match[4])
        if match := _SLASHED.fullmatch(text):
            day, month = (match[1], match[3]) if order == "dmy" else (match[3], match[1])
            return _with_clock(date(int(match[4]), int(month), int(day)), match[5])
        clock = read_clock(text)
        return None if clock is None else Moment(clock=clock)
    except ValueError:  # the 31st of June
        return None


def _full_iso(text: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None


def _with_clock(day: date, clock_text: str | None) -> Moment | None:
    if not clock_text:
        return Moment(day=day)
    clock = read_clock(clock_text)
    return None if clock is None else Moment(day, clock)


def read_clock(text: str) -> time | None:
    """Read a time of day such as 18:30, 6:30:05 PM or 18:30Z; None if it is none."""
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return None
    hour = int(match[1])
    if match["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match["half"][0] in "pP" else 0)
    zone_text = (match["zone"] or "").upper()
    plain = time(hour, int(match[2]), int(match[3] or 0), int((match[4] or "0").ljust(6, "0")))
    if not zone_text:
        return plain
    zone = time.fromisoformat("00:00" + zone_text.replace("Z", "+00:00")).tzinfo
    return plain.replace(tzinfo=zone)


def join(parts: Iterable[Moment]) -> Moment:
    """Put together what the date and the time column of one row say; the fuller cell wins."""
    joined = Moment()
    for part in parts:
        if part.is_full:
            return part
        joined = Moment(joined.day or part.day, joined.clock or part.clock)
    return joined
