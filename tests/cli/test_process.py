"""What only a whole process shows: imports, streams, signals, the demo, our own faults."""

import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.harness import Cli, process
from wedgelab.cli.app import App

HEAVY = ("numpy", "pandas", "scipy", "sklearn", "matplotlib", "clevercsv", "prompt_toolkit")


def loaded(words: list[str], stdin: str = "") -> set[str]:
    """Return which of the heavy packages a command has imported when it ends."""
    code = (
        "import sys\nfrom wedgelab.cli.main import run\n"
        f"code = run({words!r})\nprint('LOADED', code, *[n for n in {HEAVY!r} if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], input=stdin, capture_output=True, text=True, check=True)
    line = done.stdout.splitlines()[-1].split()
    assert line[:2] == ["LOADED", "0"], done
    return set(line[2:])


def test_the_everyday_commands_load_nothing_heavy(log: Cli) -> None:
    assert loaded(["--help"]) == set()
    assert loaded(["log", "54", "9:00", "66"]) == set()
    assert loaded(["log"], "54 9:00 67\n") == set()
    assert loaded(["shots"]) == {"numpy"}  # the chances of mishits
    assert loaded(["chart"]) == {"numpy"}
    assert loaded(["choose", "65"]) == {"numpy"}
    assert loaded(["drill", "--balls", "1"], "65\n") == {"numpy"}


def test_python_dash_m_and_version() -> None:
    result = process("--version")
    assert result.code == 0
    assert re.fullmatch(r"wedgelab, version \d+\.\d+\.\d+\n", result.out)


def test_a_reader_that_goes_away_is_no_failure(log: Cli, tmp_path: Path) -> None:
    file = tmp_path / "many.csv"  # more than a pipe holds
    file.write_text("wedge,swing,carry_yd\n" + "54,9:00,66\n" * 900, encoding="utf-8")
    log.ok("import", str(file))
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", f"{sys.executable} -m wedgelab shots list --all --json | head -1"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.stdout, done.stderr) == ("{\n", "")


def test_a_full_disk_behind_stdout_is_one_line(log: Cli) -> None:
    done = subprocess.run(
        ["bash", "-c", f"{sys.executable} -m wedgelab chart > /dev/full"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith("wedgelab: error: ")


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "utf-8"])
def test_an_old_code_page_does_not_break_a_chart(log: Cli, encoding: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONIOENCODING", encoding)
    done = subprocess.run([sys.executable, "-m", "wedgelab", "chart"], capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Learnt from 6 shots" in done.stdout


def test_no_terminal_is_no_failure(bag: Cli) -> None:
    assert process("log").code == 0  # nothing to read, nothing to log
    assert process("log", stdin="54 9:00 68\n").out == "  1: 54 9:00 68 yd\n"


def test_ctrl_c_is_exit_130_and_what_was_stored_stays(bag: Cli) -> None:
    # a shell starts what it sends to the background with Ctrl-C ignored, and so all that comes from there
    listening = (
        "import os, signal, sys; signal.signal(signal.SIGINT, signal.SIG_DFL); os.execv(sys.argv[1], sys.argv[1:])"
    )
    wedgelab = [sys.executable, "-u", "-m", "wedgelab"]
    running = subprocess.Popen(
        [sys.executable, "-c", listening, *wedgelab, "drill", "--balls", "5", "--from", "50", "--to", "70"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert running.stdin is not None
    assert running.stdout is not None
    running.stdin.write("54 9:00 60\n")
    running.stdin.flush()
    while not running.stdout.readline().startswith("  "):
        pass
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=20)
    assert running.returncode == 130
    assert "Traceback" not in err
    assert "go on with: wedgelab drill --resume" in err
    assert err.endswith("\nwedgelab: error: interrupted; what was stored stays stored\n")
    assert len(bag.shots()) == 1


def test_ctrl_c_outside_a_conversation_is_exit_130(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(App, "read", interrupted)
    assert cli.fails(130, "chart") == "interrupted; what was stored stays stored"


def test_a_fault_of_ours_is_exit_70_and_one_line(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        message = "bad\x1b[31m luck"
        raise ZeroDivisionError(message)

    monkeypatch.setattr(App, "read", broken)
    said = cli.fails(70, "chart")
    assert "ZeroDivisionError: bad\\x1b[31m luck" in said
    assert "--debug" in said


def test_a_ball_that_the_log_does_not_take_is_kept_aside_and_goes_in_later(bag: Cli, tmp_path: Path) -> None:
    db = tmp_path / "own-log.db"
    bag.ok("log", "54", "9:00", "60")
    holder = sqlite3.connect(db, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    start = time.monotonic()
    line = bag.fails(1, "log", "54", "9:00", "68")
    assert time.monotonic() - start > 3  # it waited for the other program first
    holder.execute("ROLLBACK")
    holder.close()
    assert "the shot is safe in" in line
    result = bag.ok("log", "54", "9:00", "69")
    assert "stored 1 shot(s) that had been kept aside" in result.err
    assert sorted(round(shot["carry_m"] / 0.9144) for shot in bag.shots()) == [60, 68, 69]


def test_the_demo_shows_the_whole_job_elsewhere_and_throws_its_log_away(tmp_path: Path) -> None:
    result = process("demo", cwd=tmp_path)
    assert result.code == 0
    for sign in ("$ wedgelab import", "$ wedgelab chart", "$ wedgelab choose 70yd --want spin", "$ wedgelab drill"):
        assert sign in result.out
    assert "Learnt from 150 shots in 4 sessions." in result.out
    assert "Drill of 12 balls" in result.out
    assert list(tmp_path.iterdir()) == []
    assert not os.path.exists(os.environ["WEDGELAB_DB"])  # noqa: PTH110 - a plain question


def test_the_demo_may_be_kept_to_play_with(cli: Cli, tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    cli.ok("demo", "--keep", str(folder))
    assert {path.suffix for path in folder.iterdir()} == {".csv", ".db"}
    assert len(cli.ok("--db", str(folder / "demo.db"), "shots", "list", "--all", "--json").document["shots"]) == 162
    assert "not an empty folder" in cli.fails(1, "demo", "--keep", str(folder))
