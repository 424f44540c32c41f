"""Rows that are known by the line on which they stood when they were taken, not by their neighbours alone.

Of a file that was watched during a drill, or imported in parts, any scattered rows may be in the log: runs of equal
rows in equal order say little then, but each row that was taken has its line.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil
from pathlib import PurePath
from typing import Final

from wedgelab.store.records import FollowedRow
from wedgelab.store.rows import had_time

SAME_FILE_SHARE: Final = 0.9  # of the rows of the shorter one, found again in the same order
SAME_FILE_ROWS: Final = 5  # so many at least when the name of the file differs
# of a watched file with another name; on just these lines it is rarer by chance than five rows anywhere in the file
_PLACED_ROWS: Final = 3


@dataclass(frozen=True)
class EarlierImport:
    """A file that was imported or watched before: (row_key, had a time) of its rows in file order.

    ``row_nos`` has the line of each row, below 0 the line from the end; empty if nobody knows. ``is_followed`` tells
    that the rows were taken one by one from a file that was watched.
    """

    file_name: str
    rows: tuple[tuple[str, bool], ...]
    row_nos: tuple[int, ...] = ()
    is_followed: bool = False

    def is_named(self, file_name: str) -> bool:
        """Tell whether a file has this one's name, whatever its folder."""
        return PurePath(self.file_name).name.casefold() == PurePath(file_name).name.casefold()


@dataclass(frozen=True)
class UndatedRows:
    """The rows of a file that have neither an id nor a time: keys and lines in file order, and the file's last line."""

    keys: tuple[str, ...]
    lines: tuple[int, ...]
    last_line: int

    @cached_property
    def index_of(self) -> dict[int, int]:
        """The place among these rows by line."""
        return {line: index for index, line in enumerate(self.lines)}


def followed_imports(rows: Iterable[FollowedRow]) -> list[EarlierImport]:
    """Return rows of watched files as earlier imports: one for each drill, file and writing of that file anew.

    The rows come in the order of taking.
    """
    files: dict[tuple[str, str], list[FollowedRow]] = {}
    for row in rows:
        files.setdefault((row.drill_id, row.file_name), []).append(row)
    return [
        EarlierImport(
            file_name,
            tuple((row.row_key, had_time(row.row_key)) for row in part),
            tuple(row.row_no for row in part),
            is_followed=True,
        )
        for (_, file_name), taken in files.items()
        for part in _writings(taken)
    ]


def _writings(rows: Sequence[FollowedRow]) -> list[list[FollowedRow]]:
    """Part the rows where the lines begin again: the file was emptied and begun anew there."""
    parts: list[list[FollowedRow]] = [[]]
    for row in rows:
        before = parts[-1][-1].row_no if parts[-1] else 0
        if before * row.row_no > 0 and abs(row.row_no) <= abs(before):
            parts.append([])
        parts[-1].append(row)
    return [part for part in parts if part]


def lines_of(one: EarlierImport, last_line: int) -> list[tuple[int, str]]:
    """Return (line now, key) of the undated rows of an earlier import, for a file that ends on ``last_line``.

    In a file that has its newest row first, rows that were there before any other counted from the top, because
    nothing showed the order yet: they are its last rows.
    """
    from_below = [number < 0 for number in one.row_nos]
    newest_first = any(from_below) and from_below == sorted(from_below)
    top = max(one.row_nos, default=0)
    places = []
    for number, (key, is_dated) in zip(one.row_nos, one.rows, strict=True):
        from_end = number - top - 1 if newest_first and number > 0 else number
        if not is_dated:
            places.append((from_end if from_end > 0 else last_line + 1 + from_end, key))
    return places


def placed_rows(
    now: UndatedRows, earlier: Sequence[EarlierImport], file_name: str
) -> tuple[set[int], list[EarlierImport]]:
    """Return the places of rows that stand where an earlier import had them, and the imports that tell nothing so."""
    known: set[int] = set()
    # those that know that the file has its newest row first come before those that could not tell yet
    waiting = sorted(
        (one for one in earlier if any(not is_dated for _, is_dated in one.rows)),
        key=lambda one: not any(number < 0 for number in one.row_nos),
    )
    for may_move in (False, True):  # on their very lines first: what is known by then may vouch for a few rows beside
        grown = True
        while grown:
            grown = False
            for one in list(waiting):
                found = in_place(one, now, known, same_name=one.is_named(file_name), may_move=may_move)
                if found:
                    known |= found
                    waiting.remove(one)
                    grown = True
    return known, waiting


def in_place(
    one: EarlierImport, now: UndatedRows, known: set[int], *, same_name: bool, may_move: bool = True
) -> set[int]:
    """Return the places of the rows of an earlier import by their lines; empty if they tell nothing."""
    wanted = lines_of(one, now.last_line) if one.row_nos else []
    if not wanted:
        return set()
    need = ceil(SAME_FILE_SHARE * len(wanted))
    least = SAME_FILE_ROWS if not one.is_followed else 1 if same_name else _PLACED_ROWS
    # all that the file had then may be its last rows now: nothing showed yet that it has its newest first
    likely = {0, now.last_line - max(one.row_nos)} if one.is_followed else {0}
    for by in _moves(wanted, now) if may_move else (0,):
        found = _found(wanted, by, now, misses=len(wanted) - need)
        if one.is_followed and found & known:
            continue  # another ball was taken from that very line: these rows must be others
        enough = least if by in likely else SAME_FILE_ROWS
        if len(found) >= max(need, enough) or (len(found) == len(wanted) and _continues(found, known)):
            return found
    return set()


def _moves(wanted: Sequence[tuple[int, str]], now: UndatedRows) -> Iterator[int]:
    """Yield by how many lines all rows may have moved: not at all, or a title came above them, or old rows went."""
    yield 0
    for line, key in {wanted[0], wanted[-1]}:
        for index, other in enumerate(now.keys):
            if other == key and now.lines[index] != line:
                yield now.lines[index] - line


def _continues(found: set[int], known: set[int]) -> bool:
    """Tell whether a few rows lie beside rows that are known by now, and are others."""
    return not found & known and any({index - 1, index + 1} & known for index in found)


def _found(wanted: Sequence[tuple[int, str]], by: int, now: UndatedRows, *, misses: int) -> set[int]:
    """Return the places of the wanted rows that stand ``by`` lines further down; none if more than that are missing."""
    found = set()
    for line, key in wanted:
        index = now.index_of.get(line + by)
        if index is not None and now.keys[index] == key:
            found.add(index)
        elif misses == 0:
            return set()
        else:
            misses -= 1
    return found
