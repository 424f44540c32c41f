"""A file that was watched in drills and is imported afterwards: every row of it is in the log exactly once."""

import tempfile
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import hypothesis.strategies as st
import pytest
from hypothesis import example, given, settings

from tests.cli.harness import Cli
from wedgelab.cli import imports
from wedgelab.cli.reading import read_file
from wedgelab.shots import DEFAULT_SWINGS, Bag, SwingLength, Wedge, new_id
from wedgelab.store.follow import FollowedFile, Polled, row_parser
from wedgelab.store.records import FollowedRow
from wedgelab.store.store import SqliteStore

AT = datetime(2026, 6, 3, 18, 30, tzinfo=UTC)
HEAD = "club,swing,carry_m,hit_at\n"
BAG = Bag((Wedge("54", 54.0),), DEFAULT_SWINGS)
CLUB = (Wedge("54", 54.0), SwingLength("9:00", 90.0))


class Practice:
    """A file that a device writes, and a player who drills with it and imports it."""

    def __init__(self, folder: Path, *, dated: bool = False, newest_first: bool = False) -> None:
        self.store = SqliteStore.open(folder / "log.db")
        self.store._connection.execute("PRAGMA synchronous = OFF")  # no power fails here
        self.store.ensure_player("me")
        self.path, self.dated, self.newest_first = folder / "range.csv", dated, newest_first
        self.rows: list[str] = []
        self.now_s = 0.0
        self.write([])
        self.begin()

    def begin(self) -> None:
        """Begin a drill."""
        self.drill_id = new_id()
        self.store.start_drill("me", self.drill_id, {})
        parse = row_parser({}, player="me", bag=BAG, unit="m", club=CLUB, now=lambda: AT)
        self.file = FollowedFile(self.path, parse)
        self.file.start(self.now_s)
        self.live: list[str] = []

    def write(self, new: list[int]) -> None:
        """Add rows to the file, as the device does."""
        for carry in new:
            moment = f"2026-06-03 10:{len(self.rows) // 2:02d}" if self.dated else ""
            self.rows.append(f"54,9:00,{carry},{moment}\n")
        other = self.path.with_name("part")
        other.write_text(HEAD + "".join(self.rows[::-1] if self.newest_first else self.rows), encoding="utf-8")
        other.replace(self.path)

    def look(self) -> Polled:
        self.now_s += 1.0
        return self.file.poll(self.now_s)

    def take(self, new: list[int]) -> None:
        """Hit balls of the drill."""
        self.write(new)
        taken = 0
        for polled in (self.look(), self.look()):
            for row, number in zip(polled.rows, polled.row_nos, strict=True):
                shot = row.shot.replace(shot_id=new_id(), drill_id=self.drill_id)
                where = FollowedRow(self.drill_id, self.path.name, number, row.row_key)
                self.store.add_drill_events(self.drill_id, [{"event": "ball"}], shot=shot, row=where)
                self.live.append(shot.shot_id)
                taken += 1
        assert taken == len(new)

    def pause(self, new: list[int]) -> None:
        """Hit balls that are no part of the drill."""
        self.write(new)
        self.file.skip_waiting(self.now_s)
        assert self.look().rows == self.look().rows == ()

    def undo(self) -> None:
        if self.live:
            self.store.add_drill_events(self.drill_id, [{"event": "undo"}], void_shot_id=self.live.pop())

    def new_rows(self, name: str = "") -> list[float]:
        """Import the file; return the carries that came in."""
        path = self.path
        if name:
            path = self.path.with_name(name)
            path.write_bytes(self.path.read_bytes())
        settings = self.store.player("me")
        parsed = read_file(path, {}, "me", BAG, "m", AT)
        fresh = imports._fresh(self.store, settings, path, parsed)
        if fresh:
            imports._store(self.store, "me", path, parsed, fresh)
        return [row.shot.carry_m for row in fresh]

    def check(self) -> None:
        """Every row of the file is in the log once, taken back or not; a further import finds nothing."""
        logged = Counter(shot.carry_m for shot in self.store.shots("me", include_void=True))
        assert logged == Counter(float(row.split(",")[2]) for row in self.rows)
        if self.rows:
            assert self.new_rows() == []


@pytest.fixture
def practice(tmp_path: Path) -> Practice:
    return Practice(tmp_path)


def test_only_the_rows_that_were_no_balls_come_in(practice: Practice) -> None:
    practice.write([60, 60])
    practice.begin()
    practice.take([61, 62])
    practice.pause([60, 60])
    practice.take([60, 61])
    practice.undo()
    practice.write([63, 60])
    assert practice.new_rows() == [60.0, 60.0, 60.0, 60.0, 63.0, 60.0]
    practice.check()
    assert len(practice.store.shots("me")) == 9


def test_equal_rows_are_told_apart_by_their_lines(practice: Practice) -> None:
    practice.write([60] * 2)
    practice.begin()
    practice.take([60] * 2)
    practice.pause([60] * 2)
    practice.take([60] * 2)
    practice.write([60] * 2)
    assert practice.new_rows() == [60.0] * 6
    practice.write([60] * 3)
    assert practice.new_rows() == [60.0] * 3
    practice.check()


def test_the_rest_of_the_file_is_not_doubled_by_a_later_import(practice: Practice) -> None:
    """Rows 1, 2, 5 and 6 came in by an import, the others as balls: alone they look like no version of the file."""
    practice.write([60, 61])
    practice.begin()
    practice.take([62, 63])
    practice.pause([64, 65])
    practice.take([66, 67])
    assert practice.new_rows() == [60.0, 61.0, 64.0, 65.0]
    practice.write([68, 69])
    assert practice.new_rows() == [68.0, 69.0]
    practice.check()


@pytest.mark.parametrize("newest_first", [False, True])
@pytest.mark.parametrize("dated", [False, True])
def test_a_file_with_another_name(tmp_path: Path, dated: bool, newest_first: bool) -> None:
    practice = Practice(tmp_path, dated=dated, newest_first=newest_first)
    practice.write([60, 61])
    practice.begin()
    practice.take([60, 62])
    practice.pause([61])
    practice.take([60])
    assert sorted(practice.new_rows("monday.csv")) == [60.0, 61.0, 61.0]
    assert practice.new_rows("tuesday.csv") == []


def test_a_title_above_the_rows(practice: Practice) -> None:
    practice.write([60, 61, 62, 63])
    practice.begin()
    practice.take([64, 65, 66])
    practice.pause([67])
    practice.take([68, 69])
    text = practice.path.read_text(encoding="utf-8")
    practice.path.write_text("Monday\n\n" + text, encoding="utf-8")
    assert practice.new_rows() == [60.0, 61.0, 62.0, 63.0, 67.0]
    practice.path.write_text(text, encoding="utf-8")
    assert practice.new_rows() == []


def test_old_rows_that_are_gone(practice: Practice) -> None:
    practice.write([60, 61, 62, 63])
    practice.begin()
    practice.take([64, 65, 66])
    practice.pause([67])
    practice.take([68, 69])
    del practice.rows[:2]
    practice.write([70])
    assert practice.new_rows() == [62.0, 63.0, 67.0, 70.0]
    assert practice.new_rows() == []


def test_imports_between_the_drills_of_a_file_with_its_newest_row_first(tmp_path: Path) -> None:
    practice = Practice(tmp_path, newest_first=True)
    practice.write([60, 61, 62])
    practice.begin()
    practice.take([63, 64])
    practice.pause([65])
    assert practice.new_rows() == [65.0, 62.0, 61.0, 60.0]
    practice.take([66, 67])
    practice.write([68])
    assert practice.new_rows() == [68.0]
    practice.check()


def test_a_row_that_was_struck_out_by_hand(tmp_path: Path) -> None:
    practice = Practice(tmp_path, newest_first=True)
    for carry in range(60, 72):
        practice.take([carry])
    del practice.rows[6]
    practice.write([72])
    assert practice.new_rows() == [72.0]


def test_balls_that_repeat_the_rows_of_an_import_do_not_stand_for_them(tmp_path: Path) -> None:
    practice = Practice(tmp_path, newest_first=True)
    practice.write([61, 60])
    assert practice.new_rows() == [60.0, 61.0]
    practice.begin()
    practice.take([61])
    practice.take([60])
    assert practice.new_rows() == []


def test_equal_rows_that_come_in_one_by_one(practice: Practice) -> None:
    for _ in range(4):
        practice.write([60])
        assert practice.new_rows() == [60.0]
    practice.check()


def test_a_file_begun_anew_within_a_drill(practice: Practice) -> None:
    practice.take([60, 61, 62])
    practice.rows.clear()
    practice.write([])
    for _ in range(4):
        assert practice.look().rows == ()
    practice.take([60, 63])
    practice.write([64])
    assert practice.new_rows() == [64.0]
    assert practice.new_rows() == []


def test_another_days_file_of_that_name_comes_in_whole(practice: Practice) -> None:
    practice.take([60, 61, 62, 63, 64, 65])
    practice.rows.clear()
    practice.write([61, 60, 62, 65, 64, 63, 66, 60])  # two of six on their lines
    assert len(practice.new_rows()) == 8


def test_two_rows_on_their_lines_under_another_name_are_chance(practice: Practice) -> None:
    practice.write([60])
    practice.begin()
    practice.take([61, 62])
    assert practice.new_rows("monday.csv") == [60.0, 61.0, 62.0]


def test_a_row_with_an_id_that_became_a_ball_under_another(practice: Practice) -> None:
    one, two = new_id(), new_id()
    head = "shot_id,club,swing,carry_m,hit_at\n"
    practice.path.write_text(head, encoding="utf-8")
    practice.begin()
    practice.path.write_text(
        head + "".join(f"{which},54,9:00,60,2026-06-03 10:00\n" for which in (one, two)), encoding="utf-8"
    )
    row = practice.look().rows[0]
    where = FollowedRow(practice.drill_id, "range.csv", 2, row.row_key)
    shot = row.shot.replace(shot_id=new_id(), drill_id=practice.drill_id)
    practice.store.add_drill_events(practice.drill_id, [{"event": "ball"}], shot=shot, row=where)
    assert practice.new_rows() == [60.0]
    assert practice.new_rows() == []


def test_the_command_itself(cli: Cli, bag: Cli, tmp_path: Path) -> None:
    path = tmp_path / "range.csv"
    path.write_text(HEAD + "54,9:00,60,\n54,9:00,61,\n", encoding="utf-8")
    cli.ok("log", "54", "9:00", "68")
    with SqliteStore.open(tmp_path / "own-log.db") as store:
        store.start_drill("me", "d1", {})
        (row, _) = read_file(path, {}, "me", store.bag("me"), "yd", AT).rows
        where = FollowedRow("d1", path.name, row.line, row.row_key)
        store.add_drill_events("d1", [{"event": "ball"}], shot=replace(row.shot, drill_id="d1"), row=where)
    assert bag.ok("import", str(path)).out == "range.csv: 1 shot(s) stored, 1 in the log already\n"


CARRIES = st.lists(st.sampled_from([60, 61, 62]), min_size=1, max_size=4)
STEPS = st.lists(
    st.tuples(st.sampled_from(["write", "take", "take", "pause", "undo", "begin", "import"]), CARRIES), max_size=9
)


@settings(deadline=None, max_examples=40)
@example(steps=[("take", [60, 60]), ("take", [61])], dated=False, newest_first=True)
@example(steps=[("take", [60, 61]), ("take", [60])], dated=False, newest_first=True)
@example(steps=[("take", [60, 61]), ("write", [61])], dated=False, newest_first=True)
@example(steps=[("take", [61]), ("write", [60]), ("take", [61])], dated=False, newest_first=True)
@example(
    steps=[("write", [60]), ("write", [60] * 4), ("take", [61]), ("import", []), ("write", [61])],
    dated=False,
    newest_first=False,
)
@given(steps=STEPS, dated=st.booleans(), newest_first=st.booleans())
def test_whatever_was_done_each_row_is_in_the_log_once(
    steps: list[tuple[str, list[int]]], dated: bool, newest_first: bool
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        practice = Practice(Path(folder), dated=dated, newest_first=newest_first)
        with practice.store:
            for step, carries in steps:
                if step == "write":  # between two drills
                    practice.write(carries)
                    practice.begin()
                elif step in {"take", "pause"}:
                    getattr(practice, step)(carries)
                elif step in {"undo", "begin"}:
                    getattr(practice, step)()
                elif practice.rows and not newest_first:  # equal rows of imports alone have no lines to go by there
                    practice.new_rows()
                    practice.check()
            if practice.rows:
                practice.new_rows()
            practice.check()
