"""The program in a pseudo-terminal, read back from its screen: what a player at the mat sees and what is stored."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.terminal.pty_screen import CTRL_C, CTRL_D, PtyScreen, on_screen, quiet


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


def wait_for_last(screen: PtyScreen, text: str) -> None:
    screen.wait(lambda _: bool(screen.lines) and screen.lines[-1].startswith(text))


def wait_for(screen: PtyScreen, text: str) -> list[str]:
    screen.wait(lambda _: any(text in line for line in screen.lines))
    return screen.lines


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 15)])
def test_log_at_a_terminal(db: Path, columns: int, rows: int) -> None:
    with on_screen(db, "--units", "m", "log", columns=columns, rows=rows) as screen:
        wait_for_last(screen, "wedge swing carry (m)>")
        screen.type("54 fu\t 70 7800\r")
        wait_for(screen, "1: 54 full 70 m, 7800 rpm")
        wait_for_last(screen, "54 full (m)>")
        screen.type("71.5\r")
        wait_for(screen, "2: 54 full 71.5 m")
        screen.type("72\r")
        wait_for(screen, "3: 54 full 72 m")
        screen.type("undo\r")
        wait_for(screen, "taken back: 54 full 72 m")
        screen.type("sixty\r")
        wait_for(screen, "carry 'sixty' cannot be read")
        screen.type("1234567")
        wait_for(screen, "54 full (m)> 1234567")
        screen.type(CTRL_C)
        wait_for_last(screen, "54 full (m)>")
        screen.type("58 9:00 50\r")
        lines = wait_for(screen, "3: 58 9:00 50 m")
        assert sum("1: 54 full 70 m" in line for line in lines) == 1
        wait_for_last(screen, "58 9:00 (m)>")
        screen.type(CTRL_D)
        assert screen.finish() == 0
        assert "3 logged, 3 in the log" in screen.lines
    assert balls(db) == [("54", "full", 70.0, 7800.0), ("54", "full", 71.5, None), ("58", "9:00", 50.0, None)]


def test_a_dumb_terminal_is_read_line_by_line(db: Path) -> None:
    with on_screen(db, "--units", "m", "log", environ={"TERM": "dumb"}) as screen:
        wait_for_last(screen, "wedge swing carry (m)>")
        screen.type("54 9:00 60\r")
        wait_for(screen, "1: 54 9:00 60 m")
        wait_for_last(screen, "54 9:00 (m)>")
        screen.type("61\r")
        wait_for(screen, "2: 54 9:00 61 m")
        wait_for_last(screen, "54 9:00 (m)>")
        screen.type(CTRL_D)
        assert screen.finish() == 0
    assert balls(db) == [("54", "9:00", 60.0, None), ("54", "9:00", 61.0, None)]


@pytest.mark.long
def test_a_long_import_shows_a_bar_and_leaves_only_the_answer(tmp_path: Path) -> None:
    file = tmp_path / "many.csv"

    def moment(i: int) -> str:
        return f"20{10 + i // 20160:02d}-{1 + i // 1680 % 12:02d}-{1 + i // 60 % 28:02d}T10:{i % 60:02d}:00Z"

    rows = [f"{moment(i)},54,54,9:00,{60 + i % 7}" for i in range(30_000)]
    file.write_text("\n".join(["hit_at,wedge,loft_deg,swing,carry_m", *rows]), encoding="utf-8")
    with on_screen(tmp_path / "log.db", "import", str(file)) as screen:
        lines = wait_for(screen, "30000 shot(s) stored")
        assert "reading  [" in screen.read
        assert not [line for line in lines if "reading" in line]
