"""The database's own rules, tried with raw SQL past all of the program's checks; and the way up from old versions."""

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest

from wedgelab.errors import FileProblemError
from wedgelab.shots import CONDITION_COLUMNS, LIMITS, SHOT_COLUMNS, Conditions, Shot, SwingLength, Wedge
from wedgelab.store import schema
from wedgelab.store.records import RANGE_LIMIT_M, FollowedRow, ImportBatch, ImportRow, PlayerSettings, Session
from wedgelab.store.store import SqliteStore

DATA = Path(__file__).parent / "data"
NEXT = schema.newest_version() + 1  # of an upgrade that the tests make up
COPY = f"old.db.before-v{NEXT}"


@pytest.fixture
def raw(store: SqliteStore, full_shot: Shot) -> Iterator[sqlite3.Connection]:
    """A bare connection to a log with a row in every table; nothing but the file's own rules guards it."""
    store.ensure_player("Ada")
    store.start_drill("Ada", "d1", {})
    row = FollowedRow("d1", "range.csv", 5, "k")
    store.add_drill_events("d1", [{}], shot=full_shot.replace(shot_id="followed"), row=row)
    batch = ImportBatch("imp", "Ada", "a.csv", "00", 1)
    store.add_shots([full_shot], import_batch=batch, row_keys=["k"])
    store.add_wedge("Ada", Wedge("54", 54.0, 10.0))
    store.add_wedge("Ada", Wedge("54", 55.0, 10.0))
    store.retire_swing("Ada", "full")
    store.undo("Ada")
    store.restore_shot("Ada", full_shot.shot_id)
    with closing(sqlite3.connect(store.path, isolation_level=None)) as connection:
        connection.execute("PRAGMA recursive_triggers = ON")
        yield connection


def try_value(raw: sqlite3.Connection, table: str, column: str, value: float) -> bool:
    """Tell whether the table takes a copy of its first row with another value in one column."""
    cursor = raw.execute(f"SELECT * FROM {table} LIMIT 1")  # noqa: S608 - the table names are the test's own
    row = dict(zip((entry[0] for entry in cursor.description), cursor.fetchone(), strict=True))
    row.pop("seq", None)
    unique = {"shot": "shot_id", "wedge": "wedge_id", "swing": "swing_id", "player": "name_key", "session": "name"}
    row[unique[table]] = "another"
    if table == "player":
        row["name"] = "another"
    row[column] = value
    names, marks = ", ".join(row), ", ".join("?" * len(row))
    raw.execute("BEGIN")
    try:
        raw.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(row.values()))  # noqa: S608 - as above
    except sqlite3.IntegrityError as error:
        assert f"CHECK constraint failed: {column}" in str(error)  # noqa: PT017 - that another rule spoke is a failure
        return False
    finally:
        raw.execute("ROLLBACK")
    return True


RANGES = [
    *(("shot", name) for name in SHOT_COLUMNS if name in LIMITS),
    ("wedge", "loft_deg"),
    ("wedge", "bounce_deg"),
    ("swing", "swing_deg"),
    *(("session", name) for name in CONDITION_COLUMNS),
    *(("player", name) for name in CONDITION_COLUMNS),
    ("player", "range_limit_m"),
]


def test_every_limit_is_tried() -> None:
    # a sea-level pressure is only ever read, and becomes the station's before it is kept
    assert {column for _, column in RANGES} == (set(LIMITS) - {"sea_level_pressure_hpa", "head_wind_mps"}) | {
        "range_limit_m"
    }


@pytest.mark.parametrize(("table", "column"), RANGES)
def test_the_ranges_are_those_of_the_limits(raw: sqlite3.Connection, table: str, column: str) -> None:
    low, high = LIMITS[column][:2] if column in LIMITS else RANGE_LIMIT_M
    assert try_value(raw, table, column, low)
    assert try_value(raw, table, column, high)
    assert not try_value(raw, table, column, low - 1e-6)
    assert not try_value(raw, table, column, high + 1e-6)


def test_every_table_is_strict(raw: sqlite3.Connection) -> None:
    tables = raw.execute("SELECT name, strict FROM pragma_table_list WHERE name NOT LIKE 'sqlite_%'").fetchall()
    assert {name for name, strict in tables if not strict} == set()
    mutable = {"player", "session", "column_mapping"}
    assert {name for name, _ in tables} == mutable | set(schema.APPEND_ONLY_TABLES)
    with pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT value in REAL column"):
        raw.execute("UPDATE player SET range_limit_m = 'far'")


def test_every_shot_column_is_a_column_of_that_name(raw: sqlite3.Connection) -> None:
    columns = {row[1] for row in raw.execute("PRAGMA table_info(shot)")}
    assert columns - set(SHOT_COLUMNS) == {"seq", "hit_epoch_us", "logged_at", "import_id", "row_no", "row_key"}
    assert set(SHOT_COLUMNS) <= columns


@pytest.mark.parametrize("table", schema.APPEND_ONLY_TABLES)
def test_no_row_is_changed_removed_or_replaced(raw: sqlite3.Connection, table: str) -> None:
    before = raw.execute(f"SELECT * FROM {table}").fetchall()  # noqa: S608 - the schema's own table names
    assert before, "the fixture puts a row into every table"
    column = raw.execute(f"PRAGMA table_info({table})").fetchone()[1]
    for statement, refusal in (
        (f"UPDATE {table} SET {column} = {column}", "changed"),  # noqa: S608 - as above
        (f"DELETE FROM {table}", "removed"),  # noqa: S608 - as above
        (f"REPLACE INTO {table} SELECT * FROM {table}", "removed"),  # noqa: S608 - as above
    ):
        with pytest.raises(sqlite3.IntegrityError, match=f"^{table} rows are never {refusal}$"):
            raw.execute(statement)
    assert raw.execute(f"SELECT * FROM {table}").fetchall() == before  # noqa: S608 - as above


def test_the_stores_own_connection_refuses_replace_and_orphans(store: SqliteStore, full_shot: Shot) -> None:
    store.add_shot(full_shot)
    run = store._connection.execute
    with pytest.raises(sqlite3.IntegrityError, match=r"^shot rows are never removed$"):
        run("REPLACE INTO shot SELECT * FROM shot")
    with pytest.raises(sqlite3.IntegrityError, match=r"^FOREIGN KEY constraint failed$"):
        run("INSERT INTO void (shot_id, voided_at, reason, after_shot_seq) VALUES ('nobody', '', '', 1)")
    assert store.shots("Ada") == [full_shot]


def test_each_event_of_a_correction_names_its_own_shot(store: SqliteStore, full_shot: Shot) -> None:
    store.ensure_player("Ada")
    store.start_drill("Ada", "d1", {})
    old, new = (full_shot.replace(shot_id=name, drill_id="d1") for name in ("old", "new"))
    store.add_drill_events("d1", [{"event": "ball"}], shot=old)
    events = [{"event": "undo"}, {"event": "undo"}, {"event": "ball"}, {"event": "guess"}]
    store.add_drill_events("d1", events, shot=new, void_shot_id="old")
    named = store._rows("SELECT seq, shot_id FROM drill_event ORDER BY seq")
    assert named == [(1, "old"), (2, "old"), (3, None), (4, "new"), (5, None)]


def test_a_missing_reference_is_found_by_the_check(store: SqliteStore, raw: sqlite3.Connection) -> None:
    assert store.check() == []
    raw.execute("INSERT INTO void (shot_id, voided_at, reason, after_shot_seq) VALUES ('nobody', '', '', 1)")
    assert store.check() == ["row 2 of table void refers to a missing row of shot"]
    assert store.check(quick=True) == []


# ---- the way up from old versions --------------------------------------------------------------------------------


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return Path(shutil.copy(DATA / "v1.sqlite", tmp_path / "old.db"))


def check_v1_content(store: SqliteStore) -> None:
    """Hold what the log says against v1.json, from which version 1 wrote it."""
    content = json.loads((DATA / "v1.json").read_text(encoding="utf-8"))
    made_at = "2026-06-05T08:00:00+02:00"
    assert store.players() == [
        PlayerSettings(**entry | {"created_at": made_at, "conditions": Conditions(**entry["conditions"])})
        for entry in content["players"]
    ]
    assert store.bag("Ada").wedges == (Wedge("54", 53.5, 9.5),)
    assert store.bag("Bo \u00c4").wedges == (Wedge("pw", 46.0),)
    history = [(e.wedge.label, e.wedge.loft_deg, e.wedge.bounce_deg) for e in store.wedge_history("Ada")]
    assert history == [("54", 54.0, 10.0), ("54", 53.5, 9.5), ("60", 60.0, None)]
    assert SwingLength("hip", 70.0) in store.bag("Ada").swings
    (entry,) = content["sessions"]
    air = Conditions(**entry.pop("conditions"))
    assert store.session("Ada", "morning") == Session(**entry, conditions=air, n_shots=3)
    shots, rows = ([Shot(**values) for values in part] for part in (content["shots"], content["imported"]["shots"]))
    copy = store.shots("Ada", last=1)[0]
    assert copy == shots[3].replace(shot_id=copy.shot_id)
    assert store.shots("Ada", include_void=True) == [*rows, *shots[:2], shots[3], copy]
    assert store.shots("Ada") == [rows[0], *shots[:2], copy]
    assert store.shots("Bo \u00c4") == [shots[2]]
    assert [batch.file_name for batch in store.imports("Ada")] == ["range.csv"]
    assert store.import_rows("Ada") == [ImportRow("import-1", 1, "k1"), ImportRow("import-1", 2, "k2")]
    assert store.mappings() == dict([content["mapping"]])
    assert store.drill("drill-1").settings == content["drill"]["settings"]
    assert store.drill_events("drill-1") == content["drill"]["events"]
    assert store.check() == []


def test_the_first_version_reads_back_exactly(old: Path) -> None:
    with SqliteStore.open(old) as store:
        check_v1_content(store)
        assert store.followed_rows("Ada") == []
        shot = store.shots("Ada")[-1].replace(shot_id="new", drill_id="drill-1")
        row = FollowedRow("drill-1", "range.csv", -1, "u1")
        store.add_drill_events("drill-1", [{"event": "ball"}], shot=shot, row=row)
    with SqliteStore.open(old, read_only=True) as store:
        assert store.followed_rows("Ada") == [row]
        assert store.check() == []
    with SqliteStore.open(old.with_name("old.db.before-v2")) as store:
        check_v1_content(store)


def test_the_first_version_is_what_a_new_log_is_made_as(old: Path, store: SqliteStore) -> None:
    """The migration that made the committed file was not edited afterwards."""
    query = "SELECT type, name, sql FROM sqlite_master ORDER BY name"
    new = sqlite3.connect(":memory:")
    new.execute("PRAGMA recursive_triggers = ON")
    schema.MIGRATIONS[1](new)
    with closing(new), closing(sqlite3.connect(old)) as committed:
        assert committed.execute(query).fetchall() == new.execute(query).fetchall()


def add_mood(connection: sqlite3.Connection) -> None:
    connection.execute("ALTER TABLE session ADD COLUMN mood TEXT NOT NULL DEFAULT ''")
    connection.execute("CREATE TABLE mood_scale (mood TEXT PRIMARY KEY) STRICT")


def fail_half_way(connection: sqlite3.Connection) -> None:
    add_mood(connection)
    connection.execute("UPDATE session SET mood = 'calm'")
    raise RuntimeError("half way")


def state(path: Path) -> tuple[object, ...]:
    with closing(sqlite3.connect(path)) as raw:
        return (
            raw.execute("PRAGMA user_version").fetchone(),
            raw.execute("SELECT version FROM migration ORDER BY 1").fetchall(),
            raw.execute("SELECT type, name, sql FROM sqlite_master ORDER BY name").fetchall(),
        )


def next_version(monkeypatch: pytest.MonkeyPatch, step: Callable[[sqlite3.Connection], None]) -> None:
    monkeypatch.setattr(schema, "MIGRATIONS", {**schema.MIGRATIONS, NEXT: step})


def test_an_upgrade_is_recorded_and_the_file_copied_before(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = state(old)
    next_version(monkeypatch, add_mood)
    moment = datetime.fromisoformat("2027-01-01T00:00:00+00:00")
    with SqliteStore.open(old, now=lambda: moment) as store:
        check_v1_content(store)
    copy = old.with_name(COPY)
    assert state(copy) == before
    assert sorted(path.name for path in old.parent.iterdir()) == ["old.db", COPY]
    with closing(sqlite3.connect(old)) as raw:
        assert raw.execute("PRAGMA user_version").fetchone() == (NEXT,)
        assert raw.execute("SELECT * FROM migration ORDER BY 1").fetchall() == [
            (1, "2026-06-05T08:00:00+02:00"),
            *((number, "2027-01-01T00:00:00+00:00") for number in range(2, NEXT + 1)),
        ]
        assert raw.execute("SELECT mood FROM session").fetchall() == [("",), ("",), ("",)]
    SqliteStore.open(old).close()
    assert len(list(old.parent.iterdir())) == 2, "an upgraded log is not copied again"
    with SqliteStore.open(copy) as store:  # the copy can be upgraded in its turn
        check_v1_content(store)


def test_a_failed_upgrade_leaves_the_log_as_it_was(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = state(old)
    with monkeypatch.context() as patch:
        next_version(patch, fail_half_way)
        for _ in range(2):
            with pytest.raises(RuntimeError, match="half way"):
                SqliteStore.open(old)
            assert state(old) == before
    copies = sorted(path.name for path in old.parent.iterdir())
    assert copies == ["old.db", COPY, f"{COPY}-2"], "no copy is overwritten"
    with SqliteStore.open(old) as store:
        check_v1_content(store)


def test_without_a_copy_there_is_no_upgrade(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = state(old)
    old.with_name(f"{COPY}.part").mkdir()  # in the way of the copy
    next_version(monkeypatch, add_mood)
    with pytest.raises(FileProblemError, match=rf"{COPY}: the copy of the log cannot be written \(.*make room"):
        SqliteStore.open(old)
    assert state(old) == before


def test_a_new_log_goes_through_all_versions_without_a_copy(db: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    next_version(monkeypatch, add_mood)
    SqliteStore.open(db).close()
    with closing(sqlite3.connect(db)) as raw:
        assert raw.execute("SELECT version FROM migration ORDER BY 1").fetchall() == [
            (number,) for number in range(1, NEXT + 1)
        ]
    assert [path.name for path in db.parent.iterdir()] == ["log.db"]
