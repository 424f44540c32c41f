"""Import, export, and a file in place of the log."""

import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.harness import Cli
from wedgelab.units import YARD_M

ROWS = "wedge;loft (deg);swing;Carry (m);Strike\n54;54;9:00;62,5;\n58;58;9:00;52,0;off\n54;54;10:30;73,5;\n"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "range.csv"
    path.write_text(ROWS, encoding="utf-8-sig")
    return path


def test_a_file_comes_in_with_its_wedges(cli: Cli, file: Path) -> None:
    result = cli.ok("import", str(file))
    assert result.out == "range.csv: 3 shot(s) stored\n"
    assert "added wedge 54, 54 deg" in result.err
    assert [shot["carry_m"] for shot in cli.shots()] == [62.5, 52.0, 73.5]
    assert [w["label"] for w in cli.ok("bag", "--json").document["wedges"]] == ["54", "58"]


def test_the_same_file_adds_nothing_and_a_longer_one_only_its_new_rows(cli: Cli, file: Path) -> None:
    cli.ok("import", str(file))
    assert cli.ok("import", str(file)).out == "range.csv: 0 shot(s) stored, 3 in the log already\n"
    file.write_text(ROWS + "54;54;9:00;62,5;\n", encoding="utf-8")  # the same numbers once more: another ball
    assert cli.ok("import", str(file)).out == "range.csv: 1 shot(s) stored, 3 in the log already\n"
    assert len(cli.shots()) == 4


def test_undo_takes_the_whole_file_back_and_it_may_come_again(cli: Cli, file: Path) -> None:
    cli.ok("import", str(file))
    said = cli.ok("shots", "undo").err.splitlines()
    assert said[0] == "taken back: the import of range.csv with 3 shot(s)"
    assert said[1] == "wedge 54 stays in the bag; take it out with: wedgelab bag remove 54"
    assert cli.shots() == []
    assert cli.ok("import", str(file)).out == "range.csv: 3 shot(s) stored\n"


def test_an_export_that_was_undone_may_come_again_too(log: Cli, tmp_path: Path) -> None:
    own = tmp_path / "own.csv"
    log.ok("export", str(own))
    other = str(tmp_path / "other.db")
    assert log.ok("--db", other, "import", str(own)).out == "own.csv: 6 shot(s) stored\n"
    log.ok("--db", other, "shots", "undo")
    assert log.ok("--db", other, "import", str(own)).out == "own.csv: 6 shot(s) stored\n"
    assert log.ok("--db", other, "import", str(own)).out == "own.csv: 0 shot(s) stored, 6 in the log already\n"


def test_one_bad_row_stops_everything_and_every_bad_cell_is_named(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("wedge,swing,carry (yd)\n54,9:00,68\n54,25:00,70\n54,9:00,sixty\n", encoding="utf-8")
    result = cli("import", str(path))
    assert (result.code, result.out) == (1, "")
    assert "line 3" in result.err
    assert "'25:00'" in result.err
    assert "line 4" in result.err
    assert "'sixty'" in result.err
    assert result.error.endswith("2 cell(s) cannot be read; nothing was stored; mend them or use --skip-bad")
    assert cli.ok("shots", "list", "--json").document["shots"] == []
    assert cli.ok("import", str(path), "--skip-bad").out == "bad.csv: 1 shot(s) stored, 2 bad row(s) left out\n"
    assert len(cli.shots()) == 1


def test_a_dry_run_with_bad_rows_says_that_nothing_would_be_stored(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("wedge,swing,carry (yd)\n54,9:00,68\n54,9:00,sixty\n", encoding="utf-8")
    result = cli("import", str(path), "--dry-run")
    assert result.code == 1
    assert result.error.endswith(
        "1 cell(s) cannot be read; nothing would be stored; with --skip-bad 1 of 2 rows would be"
    )
    assert "'sixty'" in result.err
    assert cli.ok("import", str(path), "--dry-run", "--skip-bad").out.endswith(
        "1 shot(s) would be stored, 1 bad row(s) left out\n"
    )


def test_a_refused_file_or_shot_makes_no_log_and_no_player(cli: Cli, tmp_path: Path) -> None:
    cli.fails(1, "import", str(tmp_path / "none.csv"))
    cli.fails(1, "log", "54", "9:00", "68")
    cli.fails(2, "log")
    cli.fails(2, "drill")
    assert cli.ok("doctor", "--json").document["exists"] is False
    cli.ok("bag", "add", "54")
    cli.fails(1, "--player", "Bobb", "log", "54", "9:00", "68")
    cli.fails(1, "--player", "Bobb", "import", str(tmp_path / "none.csv"))
    assert [p["player"] for p in cli.ok("players", "--json").document["players"]] == ["me"]


def test_files_go_to_stdout_in_utf8_whatever_the_terminal_says(
    log: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log.ok("log", "54", "9:00", "66", "--note", "\u00e9 \u6f22")
    monkeypatch.setenv("PYTHONIOENCODING", "cp1252")
    done = subprocess.run([sys.executable, "-m", "wedgelab", "export"], capture_output=True, check=True)
    assert "\u00e9 \u6f22" in done.stdout.decode("utf-8")


def test_a_dry_run_shows_what_would_be_read_and_stores_nothing(cli: Cli, file: Path) -> None:
    shown = cli.ok("import", str(file), "--dry-run")
    assert "'Carry (m)' is carry_m, given in m" in shown.out
    assert "semicolon" in shown.out
    assert shown.out.endswith("range.csv: 3 shot(s) would be stored\n")
    assert cli.ok("doctor", "--json").document["exists"] is False
    cli.ok("bag", "add", "54")
    cli.ok("import", str(file), "--dry-run")
    assert cli.shots() == []


def test_a_mapping_is_saved_used_and_extended(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("Which,Arm,Flew\n54,9:00,68\n", encoding="utf-8")
    assert "carry" in cli.fails(1, "import", str(path))
    maps = ["--map", "wedge=Which", "--map", "swing=Arm", "--map", "carry_yd=Flew"]
    cli.ok("import", str(path), *maps, "--save-mapping", "mine")
    assert cli.shots()[0]["carry_m"] == pytest.approx(68 * YARD_M, abs=1e-6)
    path.write_text("Which,Arm,Flew,Turns\n54,9:00,70,7900\n", encoding="utf-8")
    cli.ok("import", str(path), "--mapping", "mine", "--map", "spin=Turns")
    assert cli.shots()[-1]["spin_rpm"] == 7900.0
    assert cli.fails(1, "import", str(path), "--mapping", "mien") == "unknown mapping 'mien'; did you mean 'mine'?"
    assert cli.fails(2, "import", str(path), "--map", "Flew").startswith("--map 'Flew' is no pair; ")


def test_a_wrong_unit_stops_the_import_until_it_is_meant(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "feet.csv"
    path.write_text("wedge,swing,carry (yd)\n" + "54,9:00,240\n" * 4, encoding="utf-8")
    assert "carr" in cli.fails(1, "import", str(path))
    assert cli.ok("import", str(path), "--odd-carries").out.startswith("feet.csv: 4 shot(s) stored")


def test_export_import_export_is_the_same_text(log: Cli, tmp_path: Path) -> None:
    log.ok("log", "54", "9:00", "66", "--note", "=1+1; \"quoted\", 'single'", "--lie", "rough")
    log.ok("session", "set", "first", "--temp", "12C", "--wind", "2m/s")
    first = log.ok("export").out
    path = tmp_path / "log.csv"
    assert "7 shot(s) written" in log.ok("export", str(path)).err
    assert path.read_text("utf-8") == first
    assert "exists already" in log.fails(1, "export", str(path))
    other = str(tmp_path / "other.db")
    log.ok("--db", other, "import", str(path))
    assert log.ok("--db", other, "export").out == first


def test_another_players_export_needs_a_word(log: Cli, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    log.ok("export", str(path))
    assert "--as-player" in log.fails(1, "--player", "Robin", "import", str(path))
    other = str(tmp_path / "other.db")
    assert "6 shot(s) stored" in log.ok("--db", other, "--player", "Robin", "import", str(path), "--as-player").out


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("empty.csv", b"", "the file is empty"),
        ("picture.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", ""),
        ("header.csv", b"wedge,swing,carry_m\n", ""),
    ],
)
def test_a_file_that_is_no_table_is_one_line(cli: Cli, tmp_path: Path, name: str, content: bytes, said: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    assert said in cli.fails(1, "import", str(path))
    assert cli.fails(1, "import", str(tmp_path))  # a folder
    assert cli.fails(1, "import", str(path / "below"))


def test_shots_in_place_of_the_log_store_nothing(cli: Cli, file: Path) -> None:
    chart = cli.ok("chart", "--shots", str(file), "--json").document
    assert (chart["n_shots"], chart["n_sessions"]) == (3, 1)
    assert cli.ok("choose", "68", "--shots", str(file)).out.startswith("68 yd, window ")
    assert len(cli.ok("shots", "list", "--shots", str(file), "--json").document["shots"]) == 3
    assert cli.ok("doctor", "--json").document["exists"] is False


@pytest.mark.parametrize("content", [b"not a database, just words\n" * 100, b"\x89PNG\r\n\x1a\n" + b"\0" * 2000])
def test_a_database_that_is_none_is_refused_and_left_alone(cli: Cli, tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "thing.db"
    path.write_bytes(content)
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    for words in (("chart",), ("log", "54", "9:00", "68"), ("shots", "undo"), ("doctor",)):
        assert str(path) in cli.fails(1, "--db", str(path), *words)
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before


def test_shots_in_place_of_the_log_may_use_the_labels_and_the_unit_of_the_bag(cli: Cli, tmp_path: Path) -> None:
    cli.ok("bag", "add", "lob", "60")
    cli.ok("players", "set", "--units", "m")
    path = tmp_path / "lob.csv"
    path.write_text("wedge,swing,carry\nlob,9:00,50\n", encoding="utf-8")
    cells = cli.ok("chart", "--shots", str(path), "--json").document["cells"]
    assert {(cell["wedge"], cell["loft_deg"]) for cell in cells} == {("lob", 60.0)}
    assert next(cell["carry_m"] for cell in cells if cell["swing"] == "9:00") == pytest.approx(50.0, abs=3.0)
    assert cli.shots() == []
