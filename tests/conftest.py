"""No test can touch a real log: every one gets a database path of its own.

And what tests of more than one folder share: shots, and an open store whose clock stands still unless it is moved.
(One conftest for all, because mypy refuses two modules of one name.)
"""

import os
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from tests.cli.harness import Cli
from wedgelab.shots import Shot, new_id
from wedgelab.store.store import SqliteStore

# one thread of linear algebra a test process: two processes with two threads each wait for each other on two cores
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

# HYPOTHESIS_PROFILE=thorough looks ten times as hard as the normal run has time for
settings.register_profile("normal", max_examples=50, deadline=None)
settings.register_profile("thorough", max_examples=500, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "normal"))

NOON = datetime(2026, 6, 3, 12, 0, tzinfo=timezone(timedelta(hours=2)))


class Clock:
    """A clock that moves only when it is told to."""

    def __init__(self) -> None:
        self.moment = NOON

    def __call__(self) -> datetime:
        return self.moment

    def move(self, **step: float) -> None:
        self.moment += timedelta(**step)


def a_shot(**changes: Any) -> Shot:
    values: dict[str, Any] = {
        "shot_id": new_id(),
        "player": "Ada",
        "session": "morning",
        "hit_at": "2026-06-03T12:00:00+02:00",
        "wedge": "54",
        "loft_deg": 54.0,
        "swing": "9:00",
        "swing_deg": 90.0,
        "carry_m": 62.5,
    }
    return Shot(**values | changes)


FULL_SHOT: dict[str, Any] = {
    "trajectory": "low",
    "lie": "tight",
    "total_m": 66.25,
    "offline_m": -2.5,
    "ball_speed_mps": 29.5,
    "club_speed_mps": 28.0,
    "launch_deg": 31.0,
    "spin_rpm": 8250.0,
    "land_deg": 46.0,
    "apex_m": 12.0,
    "target_m": 60.0,
    "guess_m": 61.0,
    "drill_id": "",
    "call_no": 7,
    "window_m": 3.0,
    "advice_shown": True,
    "advised_wedge": "54",
    "advised_swing_deg": 88.0,
    "strike": "solid",
    "ball": "soft, cover worn",
    "note": "Wind came up; 'quoted', \"twice\" \u2013 \u00e4\u00f6\u6f22",
}


@pytest.fixture(autouse=True)
def _own_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WEDGELAB_DB", str(tmp_path / "own-log.db"))
    # the platform's data folder too, for code that looks past the variable
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "own-data"))
    # a program that a test starts runs this checkout, whatever was installed
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).resolve().parents[1]))
    for name in ("NO_COLOR", "FORCE_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def make_shot() -> Callable[..., Shot]:
    return a_shot


@pytest.fixture
def full_shot() -> Shot:
    return a_shot(**FULL_SHOT)


@pytest.fixture
def db(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


@pytest.fixture
def store(db: Path, clock: Clock) -> Iterator[SqliteStore]:
    with SqliteStore.open(db, now=clock) as opened:
        yield opened


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Cli:
    return Cli(capsys, monkeypatch)


@pytest.fixture
def bag(cli: Cli) -> Cli:
    """The command line of a player with three wedges and nothing logged."""
    for loft in ("50", "54", "58"):
        cli.ok("bag", "add", loft)
    return cli


@pytest.fixture
def log(bag: Cli) -> Cli:
    """The command line of a player with a few balls in one session."""
    lines = [
        "50 9:00 78 7400",
        "54 9:00 68 7800",
        "54 10:30 80 8900",
        "58 9:00 57 8000",
        "58 full 73 9600",
        "50 full 96",
    ]
    bag.ok("log", "--session", "first", stdin="\n".join(lines) + "\n")
    return bag
