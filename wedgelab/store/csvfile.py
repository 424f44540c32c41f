"""A file of unknown make -> a table of text cells: encoding, separator, header and units row are found.

Every cell stays text: what "62,5" or "007" means is decided later, from a whole column.
"""

import csv
import hashlib
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wedgelab.errors import FileProblemError, quoted
from wedgelab.units import unit_kind

MAX_FILE_BYTES: Final = 50_000_000  # half a million shots; as Python text it is already a gigabyte
MAX_COLUMNS: Final = 1000
_DELIMITERS: Final = (",", ";", "\t", "|")
_SAMPLE_CHARS: Final = 20_000
_BLANK: Final = " \t\r\n\f\v\u00a0\u2007\u2009\u202f\ufeff\u200b"
_BOMS: Final = (  # the long one first: a UTF-16 mark is the start of a UTF-32 mark
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_TEXT_CONTROLS: Final = frozenset("\t\n\r\f\v\x1a")
_SAVE_AS_CSV: Final = "save the table as CSV (text) and import that file"


@dataclass(frozen=True)
class Table:
    """A file as text cells; each row knows the physical line on which it begins."""

    path: str
    headers: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    encoding: str
    delimiter: str
    content_sha256: str
    units_row: tuple[str, ...] = ()


class NoRowsError(FileProblemError):
    """The file is a table without a row, or nothing yet."""


def read_table(path: Path, data: bytes | None = None) -> Table:
    """Read a file of delimited text, or ``data`` as what that file holds.

    Raises
    ------
    FileProblemError
        when there is no such file, it cannot be read, or it is no table of text with a header and rows.
    """
    data = read_bytes(path) if data is None else data
    text, encoding = _decode(path, data)
    if not text.strip(_BLANK):
        raise NoRowsError(path, "the file is empty", "export the shots again or name another file")
    start, delimiter = _find_delimiter(text)
    records = [(line, cells) for line, cells in _records(path, text, delimiter, start) if any(cells)]
    if not records:  # separators alone, or nothing but a hint line
        raise NoRowsError(path, "the file is empty", "export the shots again or name another file")
    headers, records = _take_header(records)
    units_row: tuple[str, ...] = ()
    if records and _is_units_row(records[0][1]):
        units_row, records = tuple(_bare_unit(cell) for cell in records[0][1]), records[1:]
    if not records:
        raise NoRowsError(path, "there is a header but no row below it", "name a file that has shots in it")
    digest = hashlib.sha256(data).hexdigest()
    return Table(str(path), headers, tuple(records), encoding, delimiter, digest, units_row)


def read_bytes(path: Path) -> bytes:
    """Return what a file holds, or raise `FileProblemError`."""
    try:
        if path.is_dir():
            raise FileProblemError(path, "this is a folder", "name one CSV file in it")
        with path.open("rb") as stream:
            data = stream.read(MAX_FILE_BYTES + 1)
    except FileNotFoundError:
        raise FileProblemError(path, "there is no such file", "check the name and the folder") from None
    except PermissionError:
        raise FileProblemError(path, "reading it is not permitted", "change its permissions or copy it") from None
    except (OSError, ValueError) as error:  # a name with a NUL in it is a ValueError
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise FileProblemError(path, f"it cannot be read ({reason})", "check the name and the disk") from error
    if len(data) > MAX_FILE_BYTES:
        limit = f"{MAX_FILE_BYTES // 1_000_000} MB"
        raise FileProblemError(path, f"it is longer than {limit}", "split it into smaller files")
    return data


def _decode(path: Path, data: bytes) -> tuple[str, str]:
    """Decode by byte-order mark, else strict UTF-8, else cp1252; refuse what is no text."""
    if data.startswith(b"PK\x03\x04"):
        raise FileProblemError(path, "this is a spreadsheet or archive, not a text file", _SAVE_AS_CSV)
    binary = FileProblemError(path, "this is a binary file, not text", _SAVE_AS_CSV)
    for encoding in likely_encodings(data):
        try:
            text = data.decode(encoding)
        except UnicodeError:
            continue
        if any(char < " " and char not in _TEXT_CONTROLS for char in set(text)):
            raise binary
        return text.rstrip("\x1a"), encoding  # 0x1A: the end-of-file mark of very old programs
    raise binary


def likely_encodings(data: bytes) -> list[str]:
    """Return the encodings to try, from the mark at the beginning or the zeros of UTF-16."""
    marked = [name for mark, name in _BOMS if data.startswith(mark)][:1]
    if marked:
        return marked
    return _utf16_without_mark(data) if b"\0" in data else ["utf-8", "cp1252"]


def _utf16_without_mark(data: bytes) -> list[str]:
    """Western text in UTF-16 has a zero in nearly every second byte, always on the same side."""
    head = data[:4096]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    half = len(head) // 2
    if odd > 0.8 * half and even == 0:
        return ["utf-16-le"]
    return ["utf-16-be"] if even > 0.8 * half and odd == 0 else []


def _find_delimiter(text: str) -> tuple[int, str]:
    """Return the offset at which the table begins and its separator; clevercsv settles what the header leaves open."""
    first = text.split("\n", 1)[0].strip(_BLANK)
    if first.casefold()[:4] == "sep=" and first[4:] in _DELIMITERS:  # a spreadsheet's own hint line
        return text.index("\n") + 1 if "\n" in text else 0, first[4]
    if text.startswith("sep=\t"):
        return text.find("\n") + 1, "\t"
    sample = text[:_SAMPLE_CHARS]
    if len(text) > _SAMPLE_CHARS:
        sample = sample[: sample.rfind("\n") + 1] or sample
    widths = {delimiter: _widths(sample, delimiter) for delimiter in (*_DELIMITERS, " ")}
    wide = [d for d in _DELIMITERS if widths[d] and min(widths[d][:2]) > 1]
    if not wide:  # a title above the table, or a single column
        wide = [d for d in _DELIMITERS if max(widths[d], default=0) > 1]
        widths = {d: widths[d][next((n for n, w in enumerate(widths[d]) if w > 1), 0) :] for d in widths}
    if not wide:  # a space counts only when nothing else does, and when it splits every line alike
        same = len(widths[" "]) > 1 and len(set(widths[" "])) == 1 and widths[" "][0] > 2
        return 0, " " if same else ","
    even = [d for d in wide if len(set(widths[d])) == 1]
    for choice in (wide, even):
        if len(choice) == 1:
            return 0, choice[0]
    from clevercsv import Detector

    dialect = Detector().detect(sample, delimiters=wide)
    found = dialect.delimiter if dialect is not None else None
    return 0, found if found in wide else max(wide, key=lambda d: widths[d][0])


def _widths(sample: str, delimiter: str) -> list[int]:
    reader = csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter, skipinitialspace=True)
    try:
        return [_width(cells) for cells in reader if any(cell.strip(_BLANK) for cell in cells)]
    except csv.Error:
        return []


def _width(cells: list[str]) -> int:
    """Count cells up to the last one that is not empty: trailing separators mean nothing."""
    return max((number for number, cell in enumerate(cells, 1) if cell.strip(_BLANK)), default=0)


def _records(path: Path, text: str, delimiter: str, start: int) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield (physical line on which the record begins, stripped cells); ``strict`` catches a quote left open."""
    skipped = text.count("\n", 0, start)
    reader = csv.reader(io.StringIO(text[start:], newline=""), delimiter=delimiter, skipinitialspace=True, strict=True)
    line = skipped + 1
    try:
        for cells in reader:
            if len(cells) > MAX_COLUMNS:
                raise FileProblemError(path, f"line {line} has {len(cells)} columns", "check the separator")
            yield line, tuple(cell.strip(_BLANK) for cell in cells)
            line = skipped + reader.line_num + 1
    except csv.Error as error:
        what = f"the row that begins on line {line} has a quotation mark that is not closed properly"
        if "field larger" in str(error):
            what = f"the row that begins on line {line} has an endless cell"
        raise FileProblemError(path, what, 'close it, and double a " inside a quoted cell') from error


def _take_header(
    records: list[tuple[int, tuple[str, ...]]],
) -> tuple[tuple[str, ...], list[tuple[int, tuple[str, ...]]]]:
    """Split off the header; lines of a single cell above a wider table are a title."""
    widths = [_width(list(cells)) for _, cells in records]
    first = next((number for number, width in enumerate(widths) if width > 1), 0)
    headers = tuple(" ".join(cell.split()) for cell in records[first][1][: widths[first]])
    return headers, records[first + 1 :]


def _bare_unit(cell: str) -> str:
    return "" if cell in {"-", "--"} else cell.strip("()[]{} ")


def _is_units_row(cells: tuple[str, ...]) -> bool:
    units = [unit for unit in map(_bare_unit, cells) if unit]
    return bool(units) and all(unit_kind(unit) is not None for unit in units)


def as_argument(text: str) -> str:
    """Return a header or a name as a user would type it on a command line, with nothing that disturbs a terminal."""
    return f'"{quoted(text)[1:-1]}"'


def delimiter_name(table: Table) -> str:
    """Return the separator in words, for the preview."""
    return {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "space"}.get(
        table.delimiter, quoted(table.delimiter)
    )
