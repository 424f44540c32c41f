"""The bytes of a file that somebody is writing -> its complete lines as a table, and what is left unfinished."""

import codecs
import contextlib
from dataclasses import dataclass
from pathlib import Path

from wedgelab.store.csvfile import NoRowsError, Table, likely_encodings, read_bytes, read_table

Cells = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tail:
    """A last line without a line end: where it begins and what stood there; ``cells`` if it was taken as whole."""

    offset: int
    line: int
    text: bytes
    cells: Cells | None = None

    def begins(self, data: bytes) -> bool:
        """Tell whether the line is still there, perhaps longer by now."""
        return data.startswith(self.text, self.offset)


@dataclass(frozen=True, slots=True)
class View:
    """What a file held at one moment: all of it, the part with a line end, the rows, and the line without an end."""

    data: bytes
    ended: bytes
    table: Table | None
    tail: Tail | None

    @property
    def rows(self) -> tuple[tuple[int, Cells], ...]:
        """The rows: the line on which each begins, its cells."""
        return () if self.table is None else self.table.rows

    @property
    def is_utf8(self) -> bool:
        """True unless there are letters in another encoding, or in the middle of being written."""
        try:
            self.ended.decode()
        except UnicodeDecodeError:
            return False
        return True


def view_of(path: Path, taken: Tail | None, *, all_of_it: bool = False) -> View:
    """Read a file. Only lines with a line end count, and a last one that was ``taken`` as whole and is as it was then.

    With ``all_of_it`` the last line counts in any case.

    Raises
    ------
    FileProblemError
        when it cannot be read now, or is no table.
    """
    data = _as_utf8(read_bytes(path))
    # files with the line end of very old programs have no other; a half-written CR LF is no end yet
    end = b"\n" if b"\n" in data else b"\r"
    cut = data.rfind(end) + 1
    tail = Tail(cut, data.count(end) + 1, data[cut:]) if data[cut:].strip() else None
    is_taken = tail is not None and taken is not None and taken.cells is not None and taken.text == data[taken.offset :]
    try:
        table = read_table(path, data + end if tail is not None and (all_of_it or is_taken) else data[:cut])
    except NoRowsError:
        table = None
    return View(data, data[:cut], table, tail)


def _as_utf8(data: bytes) -> bytes:
    """Return a text of two or four bytes a sign as UTF-8, so that a line end is one byte; half a sign is left out."""
    encoding = next(iter(likely_encodings(data)), "")
    if encoding.startswith(("utf-16", "utf-32")):
        with contextlib.suppress(UnicodeError):
            return codecs.getincrementaldecoder(encoding)().decode(data).encode()
    return data
