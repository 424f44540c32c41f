"""The program in a pseudo-terminal, read back from its screen: what a player at the mat sees and what is stored."""

import os
import sqlite3
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pexpect
import pyte
import pytest

WAIT_S = 20.0
CTRL_C, CTRL_D = "\x03", "\x04"


class Terminal:
    """One run of wedgelab, and the screen that it paints (pyte plays the terminal)."""

    def __init__(self, db: Path, args: list[str], columns: int, rows: int, term: str) -> None:
        self._screen = pyte.HistoryScreen(columns, rows, history=500)
        self._stream = pyte.Stream(self._screen)
        self._child = pexpect.spawn(
            sys.executable, ["-m", "wedgelab", "--db", str(db), *args], dimensions=(rows, columns),
            encoding="utf-8", timeout=WAIT_S,
            env={**os.environ, "TERM": term, "PROMPT_TOOLKIT_NO_CPR": "1", "PYTHONIOENCODING": "utf-8"},
        )  # fmt: skip

    def type(self, keys: str) -> None:
        self._child.send(keys)

    @property
    def lines(self) -> list[str]:
        gone = ["".join(row[x].data for x in range(self._screen.columns)) for row in self._screen.history.top]
        return [line.rstrip() for line in (*gone, *self._screen.display) if line.strip()]

    @property
    def rows(self) -> list[str]:
        return list(self._screen.display)

    def wait(self, done: Callable[[list[str]], bool]) -> list[str]:
        """Read until the screen is as wanted; fail with what it showed instead."""
        until = time.monotonic() + WAIT_S
        while not done(self.lines):
            assert time.monotonic() < until, "\n".join(self.lines)
            try:
                self._stream.feed(self._child.read_nonblocking(4096, timeout=0.1))
            except pexpect.TIMEOUT:
                continue
            except pexpect.EOF:
                assert done(self.lines), "\n".join(self.lines)
        return self.lines

    def wait_for(self, text: str) -> list[str]:
        return self.wait(lambda lines: any(text in line for line in lines))

    def wait_for_last(self, text: str) -> list[str]:
        return self.wait(lambda lines: bool(lines) and lines[-1].startswith(text))

    def finish(self) -> int:
        """Read to the end; return the exit code."""
        self._stream.feed(self._child.read())
        self._child.close()
        return int(self._child.exitstatus if self._child.exitstatus is not None else -1)

    def stop(self) -> None:
        self._child.close(force=True)


@contextmanager
def running(
    db: Path, *args: str, columns: int = 80, rows: int = 24, term: str = "xterm-256color"
) -> Iterator[Terminal]:
    terminal = Terminal(db, list(args), columns, rows, term)
    try:
        yield terminal
    finally:
        terminal.stop()


def quiet(db: Path, *args: str) -> None:
    pexpect.run(" ".join([sys.executable, "-m", "wedgelab", "--db", str(db), *args]), timeout=int(WAIT_S))


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "log.db"
    quiet(path, "bag", "add", "54", "54")
    quiet(path, "bag", "add", "58", "58")
    return path


def balls(db: Path) -> list[tuple[str, str, float, float | None]]:
    """Read the balls that stand, straight from the file."""
    with closing(sqlite3.connect(db)) as connection:
        rows = connection.execute(
            "SELECT wedge, swing, carry_m, spin_rpm FROM shot"
            " WHERE shot_id NOT IN (SELECT shot_id FROM void) ORDER BY hit_at"
        ).fetchall()
    return [(wedge, swing, round(carry, 6), spin) for wedge, swing, carry, spin in rows]


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 15)])
def test_log_at_a_terminal(db: Path, columns: int, rows: int) -> None:
    with running(db, "--units", "m", "log", columns=columns, rows=rows) as screen:
        screen.wait_for_last("wedge swing carry (m)>")
        screen.type("54 fu\t 70 7800\r")
        screen.wait_for("1: 54 full 70 m, 7800 rpm")
        screen.wait_for_last("54 full (m)>")
        screen.type("71.5\r")
        screen.wait_for("2: 54 full 71.5 m")
        screen.type("72\r")
        screen.wait_for("3: 54 full 72 m")
        screen.type("undo\r")
        screen.wait_for("taken back: 54 full 72 m")
        screen.type("sixty\r")
        screen.wait_for("carry 'sixty' cannot be read")
        screen.type("1234567")
        screen.wait_for("54 full (m)> 1234567")
        screen.type(CTRL_C)
        screen.wait_for_last("54 full (m)>")
        screen.type("58 9:00 50\r")
        lines = screen.wait_for("3: 58 9:00 50 m")
        assert sum("1: 54 full 70 m" in line for line in lines) == 1
        screen.wait_for_last("58 9:00 (m)>")
        screen.type(CTRL_D)
        assert screen.finish() == 0
        assert "3 logged, 3 in the log" in screen.lines
    assert balls(db) == [("54", "full", 70.0, 7800.0), ("54", "full", 71.5, None), ("58", "9:00", 50.0, None)]


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 15)])
def test_a_drill_at_a_terminal_stopped_and_resumed(db: Path, columns: int, rows: int) -> None:
    drill = ("--units", "m", "drill", "--balls", "3", "--from", "40", "--to", "60", "--seed", "4")
    with running(db, *drill, columns=columns, rows=rows) as screen:
        screen.wait_for_last("carry (m)>")
        assert sum(line.startswith("Call 1 of 3: ") for line in screen.lines) == 1
        screen.type("guess 45\r")
        screen.wait(lambda lines: lines[-2:] == ["carry (m)> guess 45", "carry (m)>"])
        screen.type("5\t")
        screen.wait(lambda lines: "58" in " ".join(lines[-2:]))
        screen.type("8 9:0\t 50\r")
        screen.wait_for("the guess was 5.0 m under" if columns == 80 else "5.0")
        screen.wait_for_last("carry (m)>")
        assert "Call 2 of 3: " in "".join(screen.rows)  # still in sight, in a small window too
        screen.type("51\r")
        screen.wait_for("Call 3 of 3: ")
        screen.wait_for_last("carry (m)>")
        screen.type(CTRL_C)
        assert screen.finish() == 0
        assert "stopped at call 3" in " ".join(screen.lines)
        assert "Drill of 2 balls" in " ".join(screen.lines)
    with running(db, "--units", "m", "drill", "--resume", columns=columns, rows=rows) as screen:
        screen.wait_for("Call 3 of 3: ")
        screen.wait_for_last("carry (m)>")
        assert not any("Call 1 of 3" in line for line in screen.lines)
        screen.type("54 9:00 52\r")
        assert screen.finish() == 0
        assert "Drill of 3 balls" in " ".join(screen.lines)
    assert balls(db) == [("58", "9:00", 50.0, None), ("58", "9:00", 51.0, None), ("54", "9:00", 52.0, None)]


def test_a_dumb_terminal_is_read_line_by_line(db: Path) -> None:
    with running(db, "--units", "m", "log", term="dumb") as screen:
        screen.wait_for_last("wedge swing carry (m)>")
        screen.type("54 9:00 60\r")
        screen.wait_for("1: 54 9:00 60 m")
        screen.wait_for_last("54 9:00 (m)>")
        screen.type("61\r")
        screen.wait_for("2: 54 9:00 61 m")
        screen.wait_for_last("54 9:00 (m)>")
        screen.type(CTRL_D)
        assert screen.finish() == 0
    assert balls(db) == [("54", "9:00", 60.0, None), ("54", "9:00", 61.0, None)]
