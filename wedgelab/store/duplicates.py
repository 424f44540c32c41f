"""Which rows of a file are new: by id, by time, by their line, or by their order in an earlier version of the file."""

from collections import Counter
from collections.abc import Container, Sequence
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Final

from wedgelab.store.placed import (
    SAME_FILE_ROWS,
    SAME_FILE_SHARE,
    EarlierImport,
    UndatedRows,
    in_place,
    lines_of,
    placed_rows,
)

if TYPE_CHECKING:
    from wedgelab.store.exchange import ParsedFile
    from wedgelab.store.rows import ParsedRow

_ROWS_IN_A_RUN: Final = 5  # on average; shorter runs are what two days of rounded carries share by chance


def fresh_rows(
    parsed: "ParsedFile", *, file_name: str, earlier: Sequence[EarlierImport], known_shot_ids: Container[str]
) -> "tuple[ParsedRow, ...]":
    """Return the rows that are not in the log yet, in file order.

    A row with an id is known by it, or by a ball that was taken from it in a drill. A row with a time is known as often
    as earlier imports had it. Rows without either are known only if the file is another version of an earlier one,
    because two days may well have equal rows.
    """
    left = Counter(key for one in earlier for key, had_time in one.rows if had_time)
    taken = Counter(key for one in earlier if one.is_followed for key, _ in one.rows)
    undated = [row for row in parsed.rows if not row.had_id and not row.has_time]
    last_line = parsed.table.rows[-1][0] if parsed.table.rows else 0
    now = UndatedRows(tuple(row.row_key for row in undated), tuple(row.line for row in undated), last_line)
    known = _known_places(now, file_name, earlier)
    known_lines = {undated[place].line for place in known}
    fresh = []
    for row in parsed.rows:
        if row.had_id:
            is_new = row.shot.shot_id not in known_shot_ids
            if is_new and taken[row.row_key] > 0:
                is_new = False
                taken[row.row_key] -= 1
        elif row.has_time:
            is_new = left[row.row_key] <= 0
            left[row.row_key] -= 1
        else:
            is_new = row.line not in known_lines
        if is_new:
            fresh.append(row)
    return tuple(fresh)


def _known_places(now: UndatedRows, file_name: str, earlier: Sequence[EarlierImport]) -> set[int]:
    known, others = placed_rows(now, earlier, file_name)
    for one in others:
        old = [key for key, had_time in one.rows if not had_time]
        if one.is_followed:  # taken in the order of hitting: the file may have them the other way round
            old = [key for _, key in sorted(lines_of(one, now.last_line), key=lambda place: place[0])]
        same_name = one.is_named(file_name)
        placed = in_place(one, now, known, same_name=same_name)  # beside what is known by now
        matched = placed or _matched(old, now.keys, same_name=same_name)
        known |= matched or _continued(old, now.keys, known)
    return known


def _continued(old: list[str], new: Sequence[str], known: set[int]) -> set[int]:
    """Return the places of a few rows that an earlier import added to rows known by now, under another name."""
    size = len(old)
    for start in range(len(new) - size + 1) if known and 0 < size < SAME_FILE_ROWS else ():
        places = set(range(start, start + size))
        if {start - 1, start + size} & known and not places & known and list(new[start : start + size]) == old:
            return places
    return set()


def _matched(old: Sequence[str], new: Sequence[str], *, same_name: bool) -> set[int]:
    """Return the places in ``new`` that an earlier version of the file has too; empty if it is no earlier version."""
    shorter, longer = sorted((len(old), len(new)))
    need = max(SAME_FILE_SHARE * shorter, 1 if same_name else SAME_FILE_ROWS)
    if (Counter(old) & Counter(new)).total() < need:  # order can only lower this; spares the comparison
        return set()
    # A few rounded carries turn up somewhere in a long file by chance, all the more so in pieces.
    comparable = same_name and longer <= 2 * shorter
    runs = _common_runs(old, new, 1 + shorter // _ROWS_IN_A_RUN)
    matched = {place for _, start, length in runs for place in range(start, start + length)}
    most_runs = max(1, len(matched) // _ROWS_IN_A_RUN + comparable)
    if len(matched) < need or len(runs) > most_runs:
        return set()
    at_an_end = any(a == b == 0 or (a + n, b + n) == (len(old), len(new)) for a, b, n in runs)
    return matched if at_an_end or comparable or len(matched) >= SAME_FILE_ROWS else set()


def _common_runs(old: Sequence[str], new: Sequence[str], most: int) -> list[tuple[int, int, int]]:
    """Return runs (start in ``old``, start in ``new``, length) of rows that both have in the same order.

    As soon as there are more than ``most`` of them the search is given up.
    """
    shorter = min(len(old), len(new))
    head = next((n for n in range(shorter) if old[n] != new[n]), shorter)
    rest = shorter - head
    tail = next((n for n in range(rest) if old[-1 - n] != new[-1 - n]), rest)
    runs = [(0, 0, head), (len(old) - tail, len(new) - tail, tail)]
    runs = [run for run in runs if run[2]]
    # With equal ends cut off, little is left to compare for a file that was merely extended.
    matcher = SequenceMatcher(None, old, new, autojunk=False)
    open_ends = [(head, len(old) - tail, head, len(new) - tail)]
    while open_ends and len(runs) <= most:
        old_start, old_end, new_start, new_end = open_ends.pop()
        if old_start == old_end or new_start == new_end:
            continue
        found = matcher.find_longest_match(old_start, old_end, new_start, new_end)
        if found.size:
            runs.append((found.a, found.b, found.size))
            open_ends.append((old_start, found.a, new_start, found.b))
            open_ends.append((found.a + found.size, old_end, found.b + found.size, new_end))
    return runs
