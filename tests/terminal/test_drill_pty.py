"""The drill in a pseudo-terminal, read back from its screen: what a player at the mat sees, and what is stored."""

import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.terminal.pty_screen import CTRL_C, LEFT_THE_SCREEN, PtyScreen, on_screen, quiet
from tests.terminal.test_glyphs import decoded
from wedgelab.terminal.glyphs import BLOCK, width

DRILL = ("--units", "m", "drill", "--from", "40", "--to", "60", "--seed", "4", "--order", "random")
HEAD = re.compile(r"call (\d+) of (\d+)")


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "log.db"
    quiet(path, "bag", "add", "54", "54")
    return path


def stored(db: Path) -> list[tuple[float, int, float | None]]:
    """Read the balls that stand (carry, call number, guess), straight from the file."""
    with closing(sqlite3.connect(db)) as connection:
        rows = connection.execute(
            "SELECT carry_m, call_no, guess_m FROM shot WHERE shot_id NOT IN (SELECT shot_id FROM void) ORDER BY seq"
        ).fetchall()
    return [(round(carry, 6), call, guess) for carry, call, guess in rows]


def is_call(number: int, rows: list[str]) -> bool:
    found = HEAD.search(rows[0])
    return found is not None and int(found[1]) == number


def play(screen: PtyScreen, call: int, *lines: str) -> list[str]:
    """Wait for a call, then type lines; return what the screen shows when the next call is up."""
    screen.wait(lambda rows: is_call(call, rows))
    for line in lines:
        screen.type(f"{line}\r")
    return screen.wait(lambda rows: is_call(call + 1, rows))


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (60, 16)])
def test_a_drill_is_played_stopped_and_resumed(db: Path, columns: int, rows: int) -> None:
    with on_screen(db, *DRILL, "--balls", "3", columns=columns, rows=rows) as screen:
        shown = screen.wait_for("Range safety")
        assert is_call(1, shown)
        digits = [row.ljust(columns)[: width("44", 1)] for row in shown if "█" in row]
        assert decoded(digits, 1, BLOCK) == "44"  # seven rows high, to be read from afar
        play(screen, 1, "54 9:00 90")
        screen.wait_for("outside the window")
        play(screen, 2, "g45", "54 9:00 51.5")
        screen.wait_for("guess 6.5 m under" if columns == 80 else "carry 51.5 m")
        screen.type(CTRL_C)
        assert screen.finish() == 0
        assert LEFT_THE_SCREEN in screen.read
        ended = " ".join(screen.lines)
        assert "stopped at call 3" in ended
        assert "Drill of 2 balls" in ended
    with on_screen(db, "--units", "m", "drill", "--resume", columns=columns, rows=rows) as screen:
        screen.wait(lambda rows: is_call(3, rows))
        screen.type("54 9:00 52\r")
        screen.wait_for("Enter: summary>")
        screen.type("\r")
        assert screen.finish() == 0
        assert "Drill of 3 balls" in " ".join(screen.lines)
    assert stored(db) == [(90.0, 1, None), (51.5, 2, 45.0), (52.0, 3, None)]


def test_every_key_does_what_the_last_line_says(db: Path) -> None:
    with on_screen(db, *DRILL, "--balls", "4") as screen:
        play(screen, 1, "54 9:00 50")
        screen.type("\x1bOR")  # F3: undo
        screen.wait(lambda rows: is_call(1, rows))
        play(screen, 1, "54 9:00 51")
        screen.type("\x1bOS")  # F4: correct
        screen.wait_for("> fix")
        screen.type("52\r")
        screen.wait_for("carry 52.0 m")
        screen.type("\x1b[15~")  # F5: skip
        screen.wait(lambda rows: is_call(3, rows))
        screen.type("\x1b[17~")  # F6: pause
        screen.wait_for("paused")
        screen.type("\r")
        screen.wait(lambda rows: is_call(3, rows) and not any("paused" in row for row in rows))
        screen.type("?")
        screen.wait_for("fix 64")
        screen.type("?")
        screen.wait(lambda rows: not any("fix 64" in row for row in rows))
        screen.type("sixty\r")
        screen.wait_for("carry 'sixty' cannot be read")
        screen.type("\x1b[21~")  # F10: quit
        assert screen.finish() == 0
    assert stored(db) == [(52.0, 1, None)]


def test_the_advice_is_the_default_and_can_be_hidden(db: Path) -> None:
    for carry in (50, 51, 52):
        quiet(db, "--units", "m", "log", "54", "9:00", str(carry))
    with on_screen(db, "--units", "m", "drill", "--balls", "3", "--seed", "2") as screen:
        shown = screen.wait(lambda rows: is_call(1, rows))
        assert any(row.startswith("54 ") for row in shown)
        play(screen, 1, "50")  # a bare number
        screen.type("\x1bOQ")  # F2
        screen.wait_for("advice hidden")
        play(screen, 2, "54 9:00 55")
        screen.type("\x14")  # Ctrl-T brings it back
        screen.wait(lambda rows: not any("advice hidden" in row for row in rows))
        screen.type("56\r")
        screen.wait_for("Enter: summary>")
        screen.type("\r")
        assert screen.finish() == 0
    with closing(sqlite3.connect(db)) as connection:
        shown_with = connection.execute("SELECT advice_shown FROM shot WHERE drill_id <> '' ORDER BY seq").fetchall()
    # it stood there when the second call came up, before it was hidden: that ball was hit with advice
    assert [row[0] for row in shown_with] == [1, 1, 1]


def test_a_smaller_and_a_larger_window_are_drawn_anew(db: Path) -> None:
    with on_screen(db, *DRILL, "--balls", "3") as screen:
        screen.wait(lambda rows: is_call(1, rows))
        for columns, rows, said in ((60, 16, "1 of 3"), (30, 6, "call 44 m"), (120, 40, "1 of 3"), (80, 24, "1 of 3")):
            screen.resize(columns, rows)
            screen.wait_for(said)
            assert len(screen.rows) == rows
        play(screen, 1, "54 9:00 50")
        screen.type(CTRL_C)
        assert screen.finish() == 0
    assert stored(db) == [(50.0, 1, None)]


@pytest.mark.parametrize(("environ", "has_colour"), [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "vt100"}, None)])
def test_without_colour_the_same_words_are_there(db: Path, environ: dict[str, str], has_colour: bool | None) -> None:
    with on_screen(db, *DRILL, "--balls", "2", environ=environ) as screen:
        play(screen, 1, "54 9:00 90")
        screen.wait_for("outside the window")
        if has_colour is not None:
            assert (screen.columns_with_style != {"default"}) is has_colour
        screen.type(CTRL_C)
        assert screen.finish() == 0


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_leaves_the_terminal_as_it_was(db: Path, number: signal.Signals) -> None:
    with on_screen(db, *DRILL, "--balls", "2") as screen:
        play(screen, 1, "54 9:00 50")
        screen.send_signal(number)
        assert screen.finish() == 130
        assert LEFT_THE_SCREEN in screen.read
    assert stored(db) == [(50.0, 1, None)]


def test_a_log_that_is_locked_holds_the_ball_on_the_screen(db: Path) -> None:
    with on_screen(db, *DRILL, "--balls", "2") as screen:
        screen.wait(lambda rows: is_call(1, rows))
        with closing(sqlite3.connect(db, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            screen.type("54 9:00 50\r")
            shown = screen.wait_for("is locked by another program")
            assert any("54 9:00 50.0 m" in row for row in shown)
            other.execute("ROLLBACK")
        assert stored(db) == []
        play(screen, 1, "")  # Enter tries again
        screen.type(CTRL_C)
        assert screen.finish() == 0
    assert stored(db) == [(50.0, 1, None)]


def test_a_ball_that_is_still_held_at_the_end_is_kept_beside_the_log(db: Path) -> None:
    with on_screen(db, *DRILL, "--balls", "2") as screen:
        screen.wait(lambda rows: is_call(1, rows))
        with closing(sqlite3.connect(db, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            screen.type("54 9:00 50\r")
            screen.wait_for("is locked by another program")
            screen.type(CTRL_C)
            screen.wait_for("leaves, and it is kept beside the log")  # asked once more while a ball is held
            screen.type(CTRL_C)
            screen.finish()
            assert "it is safe in" in " ".join(screen.lines)
            other.execute("ROLLBACK")
    with on_screen(db, "--units", "m", "drill", "--resume") as screen:
        screen.wait(lambda rows: is_call(2, rows))  # the ball went in when the log was opened
        screen.type(CTRL_C)
        assert screen.finish() == 0
    assert stored(db) == [(50.0, 1, None)]


# what a device's program does: rows in pieces, a pause, the whole file anew
WRITER = """
import os, sys, time
path, rows = sys.argv[1], sys.argv[2:]
with open(path, "ab", buffering=0) as file:
    for row in rows:
        for part in (row[:4], row[4:], "\\n"):
            file.write(part.encode())
            time.sleep(0.03)
"""


@pytest.fixture
def writer(tmp_path: Path) -> Iterator[list[subprocess.Popen[bytes]]]:
    started: list[subprocess.Popen[bytes]] = []
    yield started
    for process in started:
        process.kill()
        process.wait()


def test_balls_come_from_a_file_that_another_program_writes(
    db: Path, tmp_path: Path, writer: list["subprocess.Popen[bytes]"]
) -> None:
    file = tmp_path / "range.csv"
    file.write_text("wedge,swing,carry_m,spin_rpm\n54,9:00,44.1,7000\n", encoding="utf-8")

    def write(*rows: str) -> None:
        writer.append(subprocess.Popen([sys.executable, "-c", WRITER, str(file), *rows]))

    with on_screen(db, *DRILL, "--balls", "6", "--follow", str(file)) as screen:
        screen.wait(lambda rows: is_call(1, rows))
        write("54,9:00,50.1,7100", "54,9:00,51.1,7200")
        screen.wait(lambda rows: is_call(3, rows))
        play(screen, 3, "54 9:00 52")  # by hand in between
        screen.type("\x1b[17~")
        screen.wait_for("paused")
        write("54,9:00,77.7,7300")  # hit during the pause: no ball of the drill
        writer[-1].wait()
        time.sleep(0.5)
        screen.type("\r")
        screen.wait(lambda rows: is_call(4, rows) and not any("paused" in row for row in rows))
        whole = file.read_text(encoding="utf-8") + "54,9:00,53.1,7400\n"
        anew = tmp_path / "anew.csv"
        anew.write_text(whole, encoding="utf-8")
        os.replace(anew, file)  # noqa: PTH105 - what such programs do
        screen.wait(lambda rows: is_call(5, rows))
        screen.type("undo\r")
        screen.wait(lambda rows: is_call(4, rows))
        write("54,9:00,abc,7500", "54,9:00,54.1,7600")
        screen.wait(lambda rows: is_call(5, rows))
        screen.type(CTRL_C)
        assert screen.finish() == 0
    assert [carry for carry, _, _ in stored(db)] == [50.1, 51.1, 52.0, 54.1]
    quiet(db, "import", str(file), "--skip-bad")
    # the rows from before the drill and from the pause come in, and no other
    assert sorted(carry for carry, _, _ in stored(db)) == [44.1, 50.1, 51.1, 52.0, 54.1, 77.7]


def test_keys_of_an_editor_do_no_harm(db: Path) -> None:
    with on_screen(db, *DRILL, "--balls", "3") as screen:
        screen.wait(lambda rows: is_call(1, rows))
        screen.type("54 9:00 99")
        screen.wait_for("54 9:00 99")
        screen.type("\x1b")  # Esc clears the line, and the next digits are digits
        screen.wait(lambda rows: not any("99" in row for row in rows))
        play(screen, 1, "54 9:00 50")
        screen.type("\x1b[A\r")  # the line before does not come back as the next ball
        screen.type("\x1a\x00\x13")
        play(screen, 2, "54 9:00 6\x000")
        screen.type(CTRL_C)
        assert screen.finish() == 0
    assert [carry for carry, _, _ in stored(db)] == [50.0, 60.0]
