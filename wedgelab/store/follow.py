"""A CSV file that another program writes while a drill runs: each new row is the next ball, exactly once.

The file may not be there yet, be appended to in pieces, be written anew as a whole, be emptied. So a row is known by
what it says, not by where it stands: the rows of the file are held against those that were seen, equal ones counted.
"""

from collections import Counter
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Final

from wedgelab.errors import WedgelabError, quoted
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.store.columns import plan_columns
from wedgelab.store.csvfile import Table
from wedgelab.store.exchange import ParsedFile, ParsedRow, parse_shots
from wedgelab.store.watched import Cells, Tail, View, view_of
from wedgelab.units import LengthUnit

SETTLE_S: Final = 0.25  # a file that was not merely appended to counts only when it has stood still so long
SHORT_S: Final = 2.0  # a file that stands so long with fewer rows than were seen is a new beginning
MOST_FILLED_UP: Final = 50  # rows that are gone, among which one is sought that lacked only what a new one says

Parse = Callable[[Table, Container[int]], ParsedFile]


@dataclass(frozen=True, slots=True)
class Polled:
    """What came since the last look: rows in the order of hitting, and what keeps others back.

    ``row_nos`` has the number to store for each row: its line, or below 0 its line from the end where the file has its
    newest row first. ``problems`` has a line for each row that cannot be read, said once; ``waiting`` tells of a last
    line without an end (``is_unfinished``) or why the file cannot be read now.
    """

    rows: tuple[ParsedRow, ...] = ()
    row_nos: tuple[int, ...] = ()
    problems: tuple[str, ...] = ()
    waiting: str = ""
    is_unfinished: bool = False


def row_parser(
    mapping: Mapping[str, str],
    *,
    player: str,
    bag: Bag,
    unit: LengthUnit,
    club: tuple[Wedge, SwingLength],
    now: Callable[[], datetime],
    as_player: bool = False,
) -> Parse:
    """Return what reads the rows of a followed file as `import` does with that mapping.

    Beyond that, ``club`` stands in where a row says no wedge or no swing, and many short carries are no wrong unit.
    """

    def parse(table: Table, lines: Container[int]) -> ParsedFile:
        plan = plan_columns(table, mapping, default_unit=unit, needs_clubs=False)
        return parse_shots(
            table,
            plan,
            player=player,
            bag=bag,
            default_unit=unit,
            imported_at=now(),
            as_player=as_player,
            odd_carries=True,
            club=club,
            lines=lines,
        )

    return parse


@dataclass(slots=True)
class _Seen:
    """The rows that are no new balls: how often each was seen, and its key (empty for a row that cannot be read)."""

    rows: Counter[Cells] = field(default_factory=Counter)
    keys: dict[Cells, str] = field(default_factory=dict)
    newest_first: bool = False
    before: tuple[Cells, ...] = ()  # what the file held when it was last taken in

    def replace(self, old: Cells, new: Cells) -> None:
        """Note that a row is written in another way now."""
        self.rows[old] -= 1
        self.rows[new] += 1
        self.rows = +self.rows

    def new_places(self, rows: tuple[Cells, ...]) -> tuple[list[int], Counter[Cells], bool]:
        """Return the places of the rows that are new, the seen rows that are gone, and whether the new ones are on top.

        Of equal rows the last is the new one, unless the new rows came above all others.
        """
        new, gone = self._unmatched(rows)
        size, old = len(rows), len(self.before)
        grew_on_top = 0 < old < size and rows[-old:] == self.before != rows[:old]
        self.before = rows
        if not new:
            return new, gone, False
        at_end = new[0] == size - len(new)
        top = sorted(size - 1 - place for place in self._unmatched(rows[::-1])[0])
        at_top = len(top) < size and top[-1] == len(top) - 1
        if at_top and (self.newest_first or grew_on_top or not (at_end or gone)):
            self.newest_first = True
            return top, gone, True
        return new, gone, False

    def _unmatched(self, rows: Sequence[Cells]) -> tuple[list[int], Counter[Cells]]:
        left = self.rows.copy()
        new = []
        for place, row in enumerate(rows):
            if left[row] > 0:
                left[row] -= 1
            else:
                new.append(place)
        return new, +left

    def earlier_form(self, cells: Cells, gone: Counter[Cells]) -> Cells | None:
        """Return the seen row of which this one is another spelling, or which it fills up; None if it is a new ball."""
        key = self.keys[cells]
        same = next((old for old in gone if self.keys.get(old) == key), None)
        if same is not None or len(gone) > MOST_FILLED_UP:
            return same
        return next((old for old in gone if self.keys.get(old) and _fills_up(old, cells)), None)


def _fills_up(old: Cells, new: Cells) -> bool:
    return len(new) >= len(old) and all(after == before or not before for before, after in zip(old, new, strict=False))


class FollowedFile:
    """The file, and what is known of it. One call at a time; every time [s] is handed in and comes from one clock."""

    def __init__(self, path: Path, parse: Parse) -> None:
        self._path, self._parse = path, parse
        self._seen = _Seen()
        self._stamp: tuple[int, int, int] | None = None
        self._changed_s = 0.0
        self._is_final = False
        self._present: tuple[Cells, ...] | None = None  # the rows of the last reading; None while there is none
        self._ended = b""
        self._tail: Tail | None = None
        self._was_utf8 = False
        self._passes_over = False
        self._waiting = ""
        self._is_unfinished = False

    def start(self, now_s: float) -> None:
        """Begin to watch: rows that are there already are no balls."""
        self.skip_waiting(now_s)

    def skip_waiting(self, now_s: float) -> None:
        """Leave out the rows that came until now, a half-written one included."""
        self._passes_over = True
        self._stamp = None
        self.poll(now_s)

    def take_unfinished(self, now_s: float) -> Polled:
        """Take a last line without a line end as whole, and return what is new."""
        self._stamp = None
        return self._look(now_s, all_of_it=True)

    def poll(self, now_s: float) -> Polled:
        """Return what is new; while the file does not change that costs a look at its size and time."""
        return self._look(now_s, all_of_it=False)

    def _look(self, now_s: float, *, all_of_it: bool) -> Polled:
        polled = Polled()
        try:
            found = self._path.stat()
            stamp = (found.st_size, found.st_mtime_ns, found.st_ino)
            if stamp != self._stamp:
                self._stamp, self._changed_s, self._is_final = stamp, now_s, False
                polled = self._read(all_of_it=all_of_it)
            elif not self._is_final and now_s - self._changed_s >= SETTLE_S:
                # once more when it stands still: a change in the clock tick of the last one leaves the same stamp
                self._is_final = True
                polled = self._read(all_of_it=False)
        except FileNotFoundError:
            self._cannot_look("there is no such file yet")
            self._passes_over = False  # what comes with it is new
        except (OSError, ValueError) as error:
            self._cannot_look(f"it cannot be read now ({error})")
        except WedgelabError as error:
            self._cannot_look(str(error))
        if self._is_final and now_s - self._changed_s >= SHORT_S:
            self._begin_anew_if_short()
        return replace(polled, waiting=self._waiting, is_unfinished=self._is_unfinished and bool(self._waiting))

    def _cannot_look(self, why: str) -> None:
        """Note what stands in the way; the next look tries again, whatever the file's size and time are then."""
        self._stamp = self._present = None
        self._is_unfinished = False
        self._is_final = False
        self._waiting = why if why.startswith(str(self._path)) else f"{self._path.name}: {why}"

    def _begin_anew_if_short(self) -> None:
        if self._present is not None and len(self._present) < self._seen.rows.total():
            self._seen.rows = Counter(self._present)

    def _read(self, *, all_of_it: bool) -> Polled:
        """Read the file and take what counts."""
        view = view_of(self._path, self._tail, all_of_it=all_of_it)
        self._present = tuple(cells for _, cells in view.rows)
        self._waiting, self._is_unfinished = "" if all_of_it else self._hindrance(view), False
        if self._waiting:
            return Polled()
        if self._tail is not None:
            self._follow_tail(self._tail, view)
        self._ended = view.ended
        self._was_utf8 = self._was_utf8 or (view.is_utf8 and not view.ended.isascii())
        polled = self._take(view)
        if view.tail is not None:
            self._note_tail(view.tail, view, all_of_it=all_of_it)
        self._passes_over = False
        return polled

    def _hindrance(self, view: View) -> str:
        """Say why a reading does not count yet; empty when it does."""
        if self._was_utf8 and not view.is_utf8:
            return f"{self._path.name}: its letters are not UTF-8 any more"
        is_longer = view.ended.startswith(self._ended)
        if self._is_final or (is_longer and (view.is_utf8 or self._passes_over)):
            return ""
        return f"{self._path.name}: it is being written"

    def _follow_tail(self, tail: Tail, view: View) -> None:
        """Know a line again that was unfinished when it was passed over or taken: it is no new ball."""
        cells = next((cells for line, cells in view.rows if line == tail.line), None)
        if not tail.begins(view.data):
            self._tail = None
        elif cells is not None and (view.tail is None or view.tail.offset > tail.offset):
            if tail.cells is None or not self._seen.rows[tail.cells]:
                self._seen.rows[cells] += 1
            else:
                self._seen.replace(tail.cells, cells)
            self._tail = None

    def _note_tail(self, tail: Tail, view: View, *, all_of_it: bool) -> None:
        if all_of_it:
            cells = next((cells for line, cells in view.rows if line == tail.line), None)
            self._tail = replace(tail, cells=cells) if cells is not None and self._seen.rows[cells] else None
        elif self._passes_over:
            self._tail = tail
        elif self._tail is None:
            shown = quoted(tail.text.decode(errors="replace").strip())
            self._is_unfinished = not self._waiting
            self._waiting = self._waiting or f"{self._path.name}: the last line has no end yet: {shown}"

    def _take(self, view: View) -> Polled:
        """Return the new rows of a reading and count all of its rows as seen, unless the file cannot be understood."""
        seen = self._seen
        cells_of = dict(view.rows)
        places, gone, on_top = seen.new_places(tuple(cells for _, cells in view.rows))
        new = [view.rows[place][0] for place in places]
        asked = {line for line, cells in view.rows if cells not in seen.keys}.union(new)
        if view.table is None or not asked:
            return Polled()
        try:
            parsed = self._parse(view.table, asked)
        except WedgelabError as error:
            self._waiting = str(error)
            if self._passes_over:
                seen.rows.update(cells_of[line] for line in new)
            return Polled()
        by_line = {row.line: row for row in parsed.rows}
        seen.keys |= {cells_of[line]: by_line[line].row_key if line in by_line else "" for line in asked}
        rows = []
        for line in new:
            old = seen.earlier_form(cells_of[line], gone) if line in by_line else None
            if old is None:
                seen.rows[cells_of[line]] += 1
                rows += [by_line[line]] if line in by_line else []
            else:
                gone = gone - Counter([old])
                seen.replace(old, cells_of[line])
        if self._passes_over:
            return Polled()
        said = {problem.line: str(problem) for problem in reversed(parsed.problems) if problem.line in set(new)}
        below = view.rows[-1][0] + 1 if on_top else 0
        rows = rows[::-1] if on_top else rows
        return Polled(tuple(rows), tuple(row.line - below for row in rows), tuple(said[line] for line in sorted(said)))
