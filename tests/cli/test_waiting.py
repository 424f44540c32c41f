"""The bar for long work: only at a terminal, only after a second, and gone when the answer comes."""

import io
import sys
from pathlib import Path

import pytest

from tests.cli.harness import Cli
from wedgelab.cli.waiting import PATIENCE_S, waiting


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


class Clock:
    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


def at_terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """Put a terminal in the place of stderr; no fixture, because pytest's own capture comes between."""
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    return screen


def test_short_work_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal, clock = at_terminal(monkeypatch), Clock()
    with waiting("reading", clock=clock) as tell:
        for share in (0.0, 0.5, 1.0):
            clock.now += 0.3 * PATIENCE_S
            tell(share)
    assert terminal.getvalue() == ""


def test_long_work_shows_how_far_it_has_come_and_wipes_it(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal, clock = at_terminal(monkeypatch), Clock()
    with waiting("reading", clock=clock) as tell:
        tell(0.1)
        clock.now += PATIENCE_S
        tell(0.25)
        tell(0.2)  # never back
        tell(7.0)  # no more than all
    shown = terminal.getvalue()
    assert "reading" in shown
    assert " 25%" in shown
    assert "100%" in shown
    assert " 20%" not in shown
    assert shown.endswith("\x1b[A\x1b[2K\r")  # the line of the bar is empty, and the answer begins there


def test_an_error_takes_the_bar_away_too(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal, clock = at_terminal(monkeypatch), Clock()

    def work() -> None:
        with waiting("reading", clock=clock) as tell:
            clock.now += PATIENCE_S
            tell(0.5)
            raise ValueError("the work failed")

    with pytest.raises(ValueError, match="the work failed"):
        work()
    assert terminal.getvalue().endswith("\x1b[A\x1b[2K\r")


def test_a_pipe_gets_not_one_byte(monkeypatch: pytest.MonkeyPatch) -> None:
    pipe, clock = io.StringIO(), Clock()
    monkeypatch.setattr(sys, "stderr", pipe)
    with waiting("reading", clock=clock) as tell:
        clock.now += 10.0 * PATIENCE_S
        tell(0.5)
    assert pipe.getvalue() == ""


def test_a_large_import_tells_its_progress(cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "many.csv"
    rows = [f"2026-05-{1 + i // 60:02d}T10:{i % 60:02d}:00+00:00,54,54,9:00,{60 + i % 7}" for i in range(1200)]
    file.write_text("\n".join(["hit_at,wedge,loft_deg,swing,carry_m", *rows]), encoding="utf-8")
    told: list[float] = []
    monkeypatch.setattr("wedgelab.cli.waiting._nothing", told.append)
    result = cli.ok("import", str(file))
    assert "1200 shot(s) stored" in result.out
    assert told == sorted(told)
    assert len(told) == 3  # every 500 rows, and the file is read once
    assert 0.0 < told[0] < told[-1] < 1.0
