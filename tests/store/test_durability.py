"""What was acknowledged is on disk: killed writers, two writers at once, shots kept aside from a locked log."""

import json
import os
import random
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import Any, TypeAlias

import pytest

from wedgelab.errors import FileProblemError, StoreError
from wedgelab.shots import Shot
from wedgelab.store.pending import PendingResult, keep_aside, pending_path
from wedgelab.store.records import FollowedRow
from wedgelab.store.store import SqliteStore

MakeShot: TypeAlias = Callable[..., Shot]

# logs shots and prints each id once the store has acknowledged it: argv is the log, how many (0: no end), the player
WRITER = """
import itertools, sys
from wedgelab.shots import Shot, new_id
from wedgelab.store.store import SqliteStore
path, count, player = sys.argv[1], int(sys.argv[2]), sys.argv[3]
with SqliteStore.open(path) as store:
    store.ensure_player(player)
    store.start_drill(player, drill := new_id(), {})
    for number in range(count) if count else itertools.count():
        shot = Shot(shot_id=new_id(), player=player, session="s", hit_at="2026-06-03T12:00:00+02:00", wedge="54",
                    loft_deg=54.0, swing="9:00", swing_deg=90.0, carry_m=60.0, drill_id=drill)
        store.add_drill_events(drill, [{"event": "ball", "ball": shot.shot_id}], shot=shot)
        print(shot.shot_id, flush=True)
"""


def writer(db: Path, count: int, player: str) -> "subprocess.Popen[str]":
    arguments = [sys.executable, "-c", WRITER, str(db), str(count), player]
    return subprocess.Popen(arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_a_killed_writer_loses_nothing_that_was_acknowledged(db: Path) -> None:
    rng = random.Random(20260603)  # noqa: S311 - when to kill, no secret
    acknowledged: list[str] = []
    for _ in range(10):
        with writer(db, 0, "Ada") as process:
            assert process.stdout is not None
            acknowledged += [process.stdout.readline().strip() for _ in range(rng.randint(1, 25))]
            process.kill()
            acknowledged += process.stdout.read().split()
        assert process.returncode == -9
        assert "" not in acknowledged, "the writer stopped by itself"
        with SqliteStore.open(db) as store:
            assert store.check() == []
            stored = {shot.shot_id for shot in store.shots("Ada")}
            # the ball that was being stored when the kill came may be there or not, but never without its event
            events = [event["ball"] for drill in store.drills("Ada") for event in store.drill_events(drill.drill_id)]
        assert set(acknowledged) <= stored
        assert sorted(events) == sorted(stored)
    assert len(acknowledged) >= 10


@pytest.mark.parametrize("players", [("Ada", "Ada"), ("Ada", "Bo")], ids=["same-player", "two-players"])
def test_two_writers_at_once_lose_nothing(db: Path, players: tuple[str, str]) -> None:
    # both begin with no file, so making the tables is contested too
    with writer(db, 50, players[0]) as one, writer(db, 50, players[1]) as two:
        results = [process.communicate() for process in (one, two)]
    assert [errors for _, errors in results] == ["", ""]
    acknowledged = [shot_id for output, _ in results for shot_id in output.split()]
    assert len(set(acknowledged)) == 100
    with SqliteStore.open(db) as store:
        assert {shot.shot_id for name in set(players) for shot in store.shots(name)} == set(acknowledged)
        assert store.check() == []


def test_another_programs_shot_is_noticed(db: Path, store: SqliteStore, make_shot: MakeShot) -> None:
    before = store.data_version()
    assert store.data_version() == before
    with SqliteStore.open(db) as other:
        other.add_shot(make_shot())
    assert store.data_version() != before


def test_a_full_disk_is_one_line_and_stores_nothing(store: SqliteStore, make_shot: MakeShot) -> None:
    store.add_shot(make_shot(session="first"))
    run = store._connection.execute
    (pages,) = run("PRAGMA page_count").fetchone()
    # SQLite answers SQLITE_FULL at this limit too, sqlite.org/pragma.html#pragma_max_page_count
    run(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StoreError) as caught:
        store.add_shots([make_shot() for _ in range(500)])
    assert str(caught.value) == f"database {store.path}: the disk is full, nothing was stored; make room and try again"
    assert store.count_shots("Ada") == 1
    assert [session.name for session in store.sessions("Ada")] == ["first"]


class TestKeptAside:
    def test_a_shot_survives_a_lock(self, db: Path, full_shot: Shot) -> None:
        with SqliteStore.open(db, timeout_s=0.01) as store:
            with closing(sqlite3.connect(db, isolation_level=None)) as other:
                other.execute("BEGIN IMMEDIATE")
                with pytest.raises(StoreError, match="is locked by another program"):
                    store.add_shot(full_shot)
                assert keep_aside(db, full_shot) == db.with_name("log.db.pending.jsonl")
                with pytest.raises(StoreError, match="is locked by another program"):
                    store.take_pending()
            assert store.take_pending() == PendingResult(stored=(full_shot,))
        with SqliteStore.open(db) as store:
            assert store.shots("Ada") == [full_shot]
            assert store.take_pending() == PendingResult()
        assert [path.name for path in db.parent.iterdir()] == ["log.db"]

    def test_each_shot_is_stored_once(self, db: Path, store: SqliteStore, make_shot: MakeShot) -> None:
        one, two = make_shot(), make_shot()
        store.add_shot(one)
        for shot in (one, two, two):
            keep_aside(db, shot)
        assert store.take_pending() == PendingResult(stored=(two,), already_there=2)
        assert store.shots("Ada") == [one, two]

    def test_the_drills_event_comes_with_its_shot(self, db: Path, store: SqliteStore, make_shot: MakeShot) -> None:
        store.ensure_player("Ada")
        store.start_drill("Ada", "d1", {})
        with_event, without_drill = make_shot(drill_id="d1"), make_shot(drill_id="never stored")
        row = FollowedRow("never stored", "range.csv", 7, "t1")
        keep_aside(db, with_event, drill_events=[{"event": "ball"}])
        keep_aside(db, without_drill, drill_events=[{"event": "ball"}], row=row)
        assert store.take_pending().stored == (with_event, without_drill)
        assert store.drill_events("d1") == [{"event": "ball"}]
        assert store.followed_rows("Ada") == [row]

    def test_a_correction_comes_as_a_whole(self, db: Path, store: SqliteStore, make_shot: MakeShot) -> None:
        store.ensure_player("Ada")
        store.start_drill("Ada", "d1", {})
        old, new = make_shot(drill_id="d1"), make_shot(drill_id="d1", carry_m=64.0)
        store.add_drill_events("d1", [{"event": "ball", "n": 1}], shot=old)
        events: list[dict[str, Any]] = [{"event": "undo"}, {"event": "ball", "n": 2}, {"event": "guess"}]
        row = FollowedRow("d1", "range.csv", -3, "u1")
        keep_aside(db, new, drill_events=events, void_shot_id=old.shot_id, row=row)
        assert store.take_pending().stored == (new,)
        assert store.drill_events("d1") == [{"event": "ball", "n": 1}, *events]
        assert store.shots("Ada") == [new]
        assert store.live_drill_shots("Ada", "d1") == {new.shot_id: new.shot_id}
        assert store.followed_rows("Ada") == [row]

    def test_lines_of_the_first_version_are_still_read(self, db: Path, store: SqliteStore, make_shot: MakeShot) -> None:
        store.ensure_player("Ada")
        store.start_drill("Ada", "d1", {})
        logged, hit = make_shot(), make_shot(drill_id="d1")
        lines = [(logged, None), (hit, {"event": "ball"})]
        text = "".join(json.dumps({"shot": asdict(shot), "drill_event": event}) + "\n" for shot, event in lines)
        pending_path(db).write_text(text, encoding="utf-8")
        assert store.take_pending() == PendingResult(stored=(logged, hit))
        assert store.drill_events("d1") == [{"event": "ball"}]
        assert store.live_drill_shots("Ada", "d1") == {hit.shot_id: hit.shot_id}

    def test_a_torn_line_is_moved_aside_and_hides_no_other(
        self, db: Path, store: SqliteStore, make_shot: MakeShot
    ) -> None:
        one, two = make_shot(), make_shot()
        path = keep_aside(db, one)
        with path.open("a", encoding="utf-8") as file:
            file.write('{"shot": {"shot_id": "torn')  # no line end: the program was killed here
        keep_aside(db, two)
        with path.open("a", encoding="utf-8") as file:
            file.write(json.dumps({"shot": {"shot_id": "x", "carry_m": 9999}, "drill_event": None}))
        kept = db.with_name("log.db.pending.jsonl.unreadable")
        assert store.take_pending() == PendingResult((one, two), 0, 2, kept)
        assert kept.read_text(encoding="utf-8").splitlines()[0] == '{"shot": {"shot_id": "torn'
        assert not path.exists()

    def test_what_a_stopped_program_had_taken_is_finished(
        self, db: Path, store: SqliteStore, make_shot: MakeShot, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        one, two, three = make_shot(), make_shot(), make_shot()
        keep_aside(db, one)
        keep_aside(db, two)
        real, calls = store._insert_shots, []

        def stop_at_second(connection: sqlite3.Connection, shots: list[Shot]) -> None:
            calls.append(shots)
            if len(calls) == 2:
                raise KeyboardInterrupt
            real(connection, shots)

        with monkeypatch.context() as patch:
            patch.setattr(store, "_insert_shots", stop_at_second)
            with pytest.raises(KeyboardInterrupt):
                store.take_pending()
        keep_aside(db, three)
        result = store.take_pending()
        assert (set(result.stored), result.already_there) == ({two, three}, 1)
        assert store.count_shots("Ada") == 3
        assert [path.name for path in db.parent.iterdir()] == ["log.db"]

    def test_it_is_flushed_to_the_disk(self, db: Path, make_shot: MakeShot, monkeypatch: pytest.MonkeyPatch) -> None:
        flushed: list[int] = []
        real = os.fsync

        def noted(descriptor: int) -> None:
            flushed.append(os.fstat(descriptor).st_ino)
            real(descriptor)

        monkeypatch.setattr(os, "fsync", noted)
        path = keep_aside(db, make_shot())
        assert flushed == [path.stat().st_ino, path.parent.stat().st_ino]

    def test_no_room_beside_the_log_is_said(self, make_shot: MakeShot) -> None:
        db = Path("/proc/wedgelab.db")  # /proc refuses new files to everybody
        with pytest.raises(FileProblemError) as caught:
            keep_aside(db, make_shot())
        assert str(caught.value).startswith(f"{pending_path(db)}: the shot cannot be kept here either (")
        assert str(caught.value).endswith("); note it down and make room")
