"""The tables, as numbered migrations. A migration that was released is never edited: a change is a new number.

Shots and what voids them are append-only: triggers refuse to change or remove a row. The CHECK ranges repeat
``shots.LIMITS`` as literals, because version 1 must stay version 1; a test compares the two.
"""

import sqlite3
from collections.abc import Callable
from typing import Final

APPLICATION_ID: Final = 0x57444C42  # "WDLB"; tells our files from other programs' databases

_APPEND_ONLY_1: Final = (
    "shot",
    "void",
    "restored",
    "wedge",
    "wedge_retired",
    "swing",
    "swing_retired",
    "import_batch",
    "import_void",
    "drill",
    "drill_event",
    "migration",
)
APPEND_ONLY_TABLES: Final = (*_APPEND_ONLY_1, "followed_row")

_CONDITIONS = """
    air_temp_c           REAL CHECK (air_temp_c BETWEEN -40.0 AND 60.0),
    station_pressure_hpa REAL CHECK (station_pressure_hpa BETWEEN 500.0 AND 1100.0),
    humidity_pct         REAL CHECK (humidity_pct BETWEEN 0.0 AND 100.0),
    altitude_m           REAL CHECK (altitude_m BETWEEN -450.0 AND 5000.0),
    wind_mps             REAL CHECK (wind_mps BETWEEN -30.0 AND 30.0),
    cross_wind_mps       REAL CHECK (cross_wind_mps BETWEEN -30.0 AND 30.0)"""

_VERSION_1: Final = (
    """
    CREATE TABLE migration (
        version    INTEGER PRIMARY KEY,
        applied_at TEXT NOT NULL
    ) STRICT""",
    # name_key is the case-folded name: SQLite's own NOCASE knows only the letters A to Z
    f"""
    CREATE TABLE player (
        name          TEXT PRIMARY KEY CHECK (length(name) BETWEEN 1 AND 200),
        name_key      TEXT NOT NULL UNIQUE,
        units         TEXT NOT NULL DEFAULT 'yd' CHECK (units IN ('yd', 'm')),
        window        TEXT NOT NULL DEFAULT '' CHECK (length(window) <= 40),
        range_limit_m REAL CHECK (range_limit_m BETWEEN 0.5 AND 300.0),
        ball          TEXT NOT NULL DEFAULT '' CHECK (length(ball) <= 200),
        created_at    TEXT NOT NULL,{_CONDITIONS}
    ) STRICT""",
    """
    CREATE TABLE wedge (
        seq        INTEGER PRIMARY KEY AUTOINCREMENT,
        wedge_id   TEXT NOT NULL UNIQUE,
        player     TEXT NOT NULL REFERENCES player (name),
        label      TEXT NOT NULL CHECK (length(label) BETWEEN 1 AND 40),
        loft_deg   REAL NOT NULL CHECK (loft_deg BETWEEN 20.0 AND 75.0),
        bounce_deg REAL CHECK (bounce_deg BETWEEN -5.0 AND 30.0),
        added_at   TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX wedge_of_player ON wedge (player)",
    """
    CREATE TABLE wedge_retired (
        wedge_id   TEXT PRIMARY KEY REFERENCES wedge (wedge_id),
        retired_at TEXT NOT NULL
    ) STRICT""",
    """
    CREATE TABLE swing (
        seq       INTEGER PRIMARY KEY AUTOINCREMENT,
        swing_id  TEXT NOT NULL UNIQUE,
        player    TEXT NOT NULL REFERENCES player (name),
        label     TEXT NOT NULL CHECK (length(label) BETWEEN 1 AND 40),
        swing_deg REAL NOT NULL CHECK (swing_deg BETWEEN 5.0 AND 210.0),
        added_at  TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX swing_of_player ON swing (player)",
    """
    CREATE TABLE swing_retired (
        swing_id   TEXT PRIMARY KEY REFERENCES swing (swing_id),
        retired_at TEXT NOT NULL
    ) STRICT""",
    f"""
    CREATE TABLE session (
        seq        INTEGER PRIMARY KEY AUTOINCREMENT,
        player     TEXT NOT NULL REFERENCES player (name),
        name       TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
        started_at TEXT NOT NULL,
        ball       TEXT NOT NULL DEFAULT '' CHECK (length(ball) <= 200),
        note       TEXT NOT NULL DEFAULT '' CHECK (length(note) <= 1000),{_CONDITIONS},
        UNIQUE (player, name)
    ) STRICT""",
    """
    CREATE TABLE import_batch (
        seq            INTEGER PRIMARY KEY AUTOINCREMENT,
        import_id      TEXT NOT NULL UNIQUE,
        player         TEXT NOT NULL REFERENCES player (name),
        file_name      TEXT NOT NULL,
        content_sha256 TEXT NOT NULL,
        imported_at    TEXT NOT NULL,
        row_count      INTEGER NOT NULL CHECK (row_count >= 0)
    ) STRICT""",
    """
    CREATE TABLE import_void (
        import_id TEXT PRIMARY KEY REFERENCES import_batch (import_id),
        voided_at TEXT NOT NULL
    ) STRICT""",
    # seq is the order of logging, hit_epoch_us (microseconds since 1970 UTC) the order of hitting whatever the offsets
    """
    CREATE TABLE shot (
        seq               INTEGER PRIMARY KEY AUTOINCREMENT,
        shot_id           TEXT NOT NULL UNIQUE CHECK (shot_id <> ''),
        player            TEXT NOT NULL REFERENCES player (name),
        session           TEXT NOT NULL,
        hit_at            TEXT NOT NULL,
        wedge             TEXT NOT NULL CHECK (length(wedge) BETWEEN 1 AND 40),
        loft_deg          REAL NOT NULL CHECK (loft_deg BETWEEN 20.0 AND 75.0),
        swing             TEXT NOT NULL CHECK (length(swing) BETWEEN 1 AND 40),
        swing_deg         REAL NOT NULL CHECK (swing_deg BETWEEN 5.0 AND 210.0),
        carry_m           REAL NOT NULL CHECK (carry_m BETWEEN 0.5 AND 250.0),
        trajectory        TEXT NOT NULL CHECK (trajectory IN ('low', 'stock', 'high')),
        lie               TEXT NOT NULL CHECK (lie IN ('', 'mat', 'fairway', 'rough', 'sand', 'tight')),
        total_m           REAL CHECK (total_m BETWEEN 0.0 AND 300.0),
        offline_m         REAL CHECK (offline_m BETWEEN -150.0 AND 150.0),
        ball_speed_mps    REAL CHECK (ball_speed_mps BETWEEN 1.0 AND 80.0),
        club_speed_mps    REAL CHECK (club_speed_mps BETWEEN 1.0 AND 70.0),
        launch_deg        REAL CHECK (launch_deg BETWEEN -10.0 AND 80.0),
        spin_rpm          REAL CHECK (spin_rpm BETWEEN 0.0 AND 16000.0),
        land_deg          REAL CHECK (land_deg BETWEEN 0.0 AND 90.0),
        apex_m            REAL CHECK (apex_m BETWEEN 0.0 AND 100.0),
        target_m          REAL CHECK (target_m BETWEEN 0.5 AND 250.0),
        guess_m           REAL CHECK (guess_m BETWEEN 0.5 AND 250.0),
        drill_id          TEXT NOT NULL,
        call_no           INTEGER,
        window_m          REAL CHECK (window_m BETWEEN 0.1 AND 50.0),
        advice_shown      INTEGER CHECK (advice_shown IN (0, 1)),
        advised_wedge     TEXT NOT NULL,
        advised_swing_deg REAL CHECK (advised_swing_deg BETWEEN 5.0 AND 210.0),
        strike            TEXT NOT NULL CHECK (strike IN ('', 'solid', 'off')),
        ball              TEXT NOT NULL CHECK (length(ball) <= 200),
        note              TEXT NOT NULL CHECK (length(note) <= 1000),
        hit_epoch_us      INTEGER NOT NULL,
        logged_at         TEXT NOT NULL,
        import_id         TEXT REFERENCES import_batch (import_id),
        row_no            INTEGER CHECK (row_no >= 0),
        row_key           TEXT,
        FOREIGN KEY (player, session) REFERENCES session (player, name)
    ) STRICT""",
    "CREATE INDEX shot_in_hit_order ON shot (player, hit_epoch_us, seq)",
    "CREATE INDEX shot_in_log_order ON shot (player, seq)",
    "CREATE INDEX shot_of_session ON shot (player, session)",
    "CREATE INDEX shot_of_import ON shot (import_id) WHERE import_id IS NOT NULL",
    # after_shot_seq is the newest shot of the log at that moment: it puts deletions among the shots without a clock
    """
    CREATE TABLE void (
        seq            INTEGER PRIMARY KEY AUTOINCREMENT,
        shot_id        TEXT NOT NULL UNIQUE REFERENCES shot (shot_id),
        voided_at      TEXT NOT NULL,
        reason         TEXT NOT NULL,
        after_shot_seq INTEGER NOT NULL REFERENCES shot (seq)
    ) STRICT""",
    # as_shot_id is the copy that was brought back, place_seq the first original's seq: the copy stands in its place
    """
    CREATE TABLE restored (
        shot_id     TEXT PRIMARY KEY REFERENCES void (shot_id),
        as_shot_id  TEXT NOT NULL UNIQUE REFERENCES shot (shot_id) CHECK (as_shot_id <> shot_id),
        restored_at TEXT NOT NULL,
        place_seq   INTEGER NOT NULL REFERENCES shot (seq)
    ) STRICT""",
    """
    CREATE TABLE column_mapping (
        name     TEXT PRIMARY KEY CHECK (length(name) BETWEEN 1 AND 200),
        mapping  TEXT NOT NULL CHECK (json_valid(mapping)),
        saved_at TEXT NOT NULL
    ) STRICT""",
    """
    CREATE TABLE drill (
        seq        INTEGER PRIMARY KEY AUTOINCREMENT,
        drill_id   TEXT NOT NULL UNIQUE CHECK (drill_id <> ''),
        player     TEXT NOT NULL REFERENCES player (name),
        started_at TEXT NOT NULL,
        settings   TEXT NOT NULL CHECK (json_valid(settings))
    ) STRICT""",
    """
    CREATE TABLE drill_event (
        drill_id TEXT NOT NULL REFERENCES drill (drill_id),
        seq      INTEGER NOT NULL CHECK (seq >= 1),
        event    TEXT NOT NULL CHECK (json_valid(event)),
        shot_id  TEXT REFERENCES shot (shot_id),
        at       TEXT NOT NULL,
        PRIMARY KEY (drill_id, seq)
    ) STRICT""",
)


def _append_only(table: str) -> tuple[str, str]:
    # REPLACE deletes before it inserts; it meets the second trigger because every connection sets recursive_triggers
    changed = f"CREATE TRIGGER {table}_never_changed BEFORE UPDATE ON {table}"
    removed = f"CREATE TRIGGER {table}_never_removed BEFORE DELETE ON {table}"
    return (
        f"{changed} BEGIN SELECT RAISE(ABORT, '{table} rows are never changed'); END",
        f"{removed} BEGIN SELECT RAISE(ABORT, '{table} rows are never removed'); END",
    )


def _to_version_1(connection: sqlite3.Connection) -> None:
    for statement in _VERSION_1:
        connection.execute(statement)
    for table in _APPEND_ONLY_1:
        for statement in _append_only(table):
            connection.execute(statement)


# A ball of a drill that came as a row of a file while the file was watched: no import_batch, so that an undo takes back
# this one ball. row_no is the line on which the row began, or below 0 its line from the end (-1: the last row) in a
# file that has its newest row first.
_FOLLOWED_ROW: Final = """
    CREATE TABLE followed_row (
        shot_id   TEXT PRIMARY KEY REFERENCES shot (shot_id),
        file_name TEXT NOT NULL CHECK (file_name <> ''),
        row_no    INTEGER NOT NULL CHECK (row_no <> 0),
        row_key   TEXT NOT NULL CHECK (row_key <> '')
    ) STRICT"""


def _to_version_2(connection: sqlite3.Connection) -> None:
    connection.execute(_FOLLOWED_ROW)
    for statement in _append_only("followed_row"):
        connection.execute(statement)


# version -> what leads to it from the version before; the caller owns the transaction
MIGRATIONS: Final[dict[int, Callable[[sqlite3.Connection], None]]] = {1: _to_version_1, 2: _to_version_2}


def newest_version() -> int:
    """Return the schema version that this program writes."""
    return max(MIGRATIONS)


def upgrade(connection: sqlite3.Connection, applied_at: str) -> None:
    """Bring a database to the newest version, inside the caller's transaction, recording each step with it."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    for number in range(version + 1, newest_version() + 1):
        MIGRATIONS[number](connection)
        connection.execute("INSERT INTO migration (version, applied_at) VALUES (?, ?)", (number, applied_at))
        connection.execute(f"PRAGMA user_version = {number}")
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
