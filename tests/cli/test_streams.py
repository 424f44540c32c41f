"""Streams that are closed, full or left by their reader: nothing is lost, and the exit code says what happened."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import click
import pytest

from tests.cli.harness import Cli
from wedgelab.cli.app import App
from wedgelab.store.schema import newest_version

PROGRAM = f"{sys.executable} -m wedgelab"


def shell(line: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["bash", "-o", "pipefail", "-c", line.replace("wedgelab ", f"{PROGRAM} ", 1)],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("line", "code", "out", "err"),
    [
        ("wedgelab --version >&-", 0, "", ""),
        ("wedgelab chrt 2>&-", 2, "", ""),
        ("wedgelab chrt 2>/dev/full", 2, "", ""),
        ("wedgelab log <&-", 0, "", "0 logged, 0 in the log\n"),
        ("wedgelab players <&- >&- 2>&-", 0, "", ""),
    ],
)
def test_a_closed_or_full_stream_is_no_traceback_and_keeps_the_code(
    bag: Cli, line: str, code: int, out: str, err: str
) -> None:
    done = shell(line)
    assert (done.returncode, done.stdout, done.stderr) == (code, out, err)


def test_a_drill_without_stdin_is_stopped_at_its_first_call(bag: Cli) -> None:
    done = shell("wedgelab drill --balls 2 --from 50 --to 60 <&-")
    assert done.returncode == 0
    assert "stopped at call 1; go on with: wedgelab drill --resume" in done.stderr


def test_closed_streams_do_not_put_words_into_the_log_file(bag: Cli) -> None:
    # with descriptors 0 to 2 free, the log would be opened under one of them and be written over by a message
    assert shell("wedgelab log 54 9:00 68 --session new <&- >&- 2>&-").returncode == 0
    assert len(bag.shots()) == 1
    assert bag.ok("doctor", "--json").document["problems"] == []


@pytest.mark.parametrize("place", ["2>/dev/full", "2> >(exec <&-)", ">/dev/full", "| exec true"])
def test_a_shot_is_stored_although_nobody_takes_the_message(bag: Cli, place: str) -> None:
    done = shell(f"wedgelab log 54 9:00 68 --session new {place}")  # "session new begins" comes before the shot
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert len(bag.shots()) == 1
    if place == ">/dev/full":
        assert done.stderr.splitlines()[-1] == (
            "the output cannot be written (No space left on device); what was logged is stored all the same"
        )


@pytest.mark.parametrize("place", ["| head -1", ">/dev/full"])
def test_every_line_of_a_pipe_is_stored_although_the_reader_went_away(bag: Cli, place: str) -> None:
    done = shell(f"seq -f '54 9:00 %g' 41 80 | wedgelab log {place}")
    assert done.returncode == 0
    assert done.stdout in ("", "  1: 54 9:00 41 yd\n")
    assert done.stderr.splitlines()[-1] == "40 logged, 40 in the log"
    assert [round(shot["carry_m"] / 0.9144) for shot in bag.shots()] == list(range(41, 81))


def test_a_byte_order_mark_and_windows_line_ends_are_no_part_of_a_ball(bag: Cli, tmp_path: Path) -> None:
    path = tmp_path / "balls.txt"
    path.write_bytes(b"\xef\xbb\xbf54 9:00 68\r\n58 9:00 55\r\n")
    done = shell(f"wedgelab log <'{path}'")
    assert (done.returncode, done.stderr.splitlines()[-1]) == (0, "2 logged, 2 in the log")
    assert [shot["wedge"] for shot in bag.shots()] == ["54", "58"]


def test_bytes_that_are_no_text_are_refused_line_by_line(bag: Cli) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "wedgelab", "log"], input=b"54 9:00 6\xff8\n\x00\n54 9:00 66\n", capture_output=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.decode().endswith(
        "wedgelab: error: 2 line(s) were refused; mend them and log them again; the others are stored\n"
    )
    assert len(bag.shots()) == 1


def test_bytes_that_are_no_text_in_an_argument_are_refused(bag: Cli) -> None:
    done = shell("wedgelab log 54 9:00 68 --note $'\\xff\\x1b'")
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "wedgelab: error: note '\\udcff\\x1b' cannot be used; leave out control and invisible characters\n"
    )
    assert bag.shots() == []
    assert bag.ok("session", "list", "--json").document["sessions"] == []  # no session for a shot that was refused


def test_with_debug_a_fault_of_ours_shows_the_traceback_and_is_still_exit_70(
    cli: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        message = "luck"
        raise ZeroDivisionError(message)

    monkeypatch.setattr(App, "read", broken)
    result = cli("--debug", "chart")
    assert (result.code, result.out) == (70, "")
    assert result.err.startswith("Traceback (most recent call last):\n")
    assert result.err.splitlines()[-1] == (
        "wedgelab: error: this is a fault of wedgelab (ZeroDivisionError: luck); report it with the lines above"
    )


def test_an_older_click_without_a_class_for_no_words_still_names_a_mistake(
    cli: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    # click 8.1.8 is allowed by pyproject.toml; it has no click.exceptions.NoArgsIsHelpError
    monkeypatch.delattr(click.exceptions, "NoArgsIsHelpError", raising=False)
    assert cli.fails(2, "choose") == "Missing argument 'TARGET'; see: wedgelab choose --help"
    assert cli.fails(2, "log", "--lie", "water").startswith("Invalid value for '--lie': ")


def test_a_failed_export_leaves_the_old_file_and_no_half_one(
    log: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = tmp_path / "old.csv", tmp_path / "new.csv"
    old.write_text("precious\n")
    before = sorted(tmp_path.iterdir())
    for words in (("export", str(old), "--force"), ("export", str(new))):
        # the limit stands for a disk that gets full: the file may not grow beyond 1024 bytes
        done = shell(f"ulimit -f 1; wedgelab {' '.join(words)}")
        assert (done.returncode, done.stdout) == (1, "")
        assert done.stderr == (
            f"wedgelab: error: {words[1]}: cannot be written (File too large); choose another place\n"
        )
    assert old.read_text() == "precious\n"
    assert sorted(tmp_path.iterdir()) == before


def test_export_with_force_replaces_the_file_behind_a_link(log: Cli, tmp_path: Path) -> None:
    real, link = tmp_path / "real.csv", tmp_path / "link.csv"
    real.write_text("old\n")
    link.symlink_to(real)
    log.ok("export", str(link), "--force")
    assert link.is_symlink()
    assert real.read_text("utf-8") == log.ok("export").out
    assert shell("wedgelab export /dev/stdout --force").stdout == log.ok("export").out
    assert "cannot be written" in log.fails(1, "export", str(tmp_path), "--force")


def test_export_json_goes_to_stdout_only(log: Cli, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    assert log.fails(2, "export", str(path), "--json") == "--json and a FILE together; take one of them"
    assert not path.exists()


def test_a_data_folder_that_cannot_be_made_is_named(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("WEDGELAB_DB")
    monkeypatch.setenv("XDG_DATA_HOME", "/dev/null/data")
    assert cli.fails(1, "bag", "add", "54") == (
        "database /dev/null/data/wedgelab/wedgelab.db: its folder cannot be made (Not a directory); "
        "give another file with --db"
    )


def test_an_empty_player_is_no_player(log: Cli) -> None:
    before = log.shots()
    assert log.fails(1, "--player", "", "log", "54", "9:00", "68").startswith("player '' cannot be used; ")
    assert log.fails(1, "--player", "", "chart").startswith("player '' cannot be used; ")
    assert log.shots() == before


def test_a_mistyped_database_is_said_before_the_advice_for_beginners(log: Cli, tmp_path: Path) -> None:
    typo = tmp_path / "typo.db"
    result = log("--db", str(typo), "choose", "70")
    assert result.code == 3
    assert result.err.splitlines()[0] == f"database {typo} does not exist yet"
    assert result.error.startswith("no shots are logged; ")
    assert not typo.exists()


def test_a_database_of_a_newer_version_is_refused_and_left_alone(log: Cli, tmp_path: Path) -> None:
    path = tmp_path / "own-log.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA user_version = 99")
    before = path.read_bytes()
    for words in (("chart",), ("log", "54", "9:00", "68"), ("doctor", "--json"), ("drill", "--balls", "1")):
        assert (
            f"was written by a newer wedgelab (schema 99, this one knows {newest_version()}); update wedgelab"
            in log.fails(1, *words)
        )
    assert path.read_bytes() == before
