"""The page from the log to the file: the numbers of the other commands, written whole or not at all."""

import json
import os
import re
from pathlib import Path

import pytest

from tests.browser.logs import HOSTILE_PLAYER, HOSTILE_SWINGS, HOSTILE_WEDGES, write_log
from tests.cli.harness import Cli
from tests.render.pages import Outline
from wedgelab.cli.app import App
from wedgelab.cli.chart_pictures import find_dispersions
from wedgelab.cli.fitting import fit_log
from wedgelab.cli.report_page import page_facts
from wedgelab.units import format_length, format_number
from wedgelab.window import DEFAULT_WINDOW


@pytest.fixture
def ada(cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Cli:
    """The command line of a player with a chart, sideways misses and drills."""
    monkeypatch.setenv("WEDGELAB_DB", str(write_log(tmp_path / "ada.db")))
    return cli


def made(cli: Cli, folder: Path, *words: str, player: tuple[str, ...] = ()) -> str:
    path = folder / "page.html"
    result = cli.ok(*player, "report", str(path), *words)
    assert result.out == ""
    assert result.err.splitlines()[-1] in {f"written to {path}", f"replaced {path}"}
    return path.read_text(encoding="utf-8")


def test_the_numbers_are_those_of_chart_choose_and_gaps(ada: Cli, tmp_path: Path) -> None:
    outline = Outline(made(ada, tmp_path))
    cells = ada.ok("chart", "--json").document["cells"]
    assert len(cells) == 9
    for i, cell in enumerate(cells):
        shown = outline.rows[1 + i // 3][1 + i % 3].split()
        assert shown[0] == cell["swing"]
        assert shown[1].lstrip("~?") == format_length(cell["carry_m"], "yd")
        assert shown[2] == f"{format_length(cell['carry_p10_m'], 'yd')}-{format_length(cell['carry_p90_m'], 'yd')}"
        assert float(shown[3].strip("()")) == pytest.approx(cell["spin_rpm"], abs=25.01)  # to the next 50
        assert shown[4] == str(cell["n_shots"])
    rows = {row[0]: row for row in outline.rows if len(row) == 5 and row[0].isdigit()}
    for target in ("50", "85", "110"):
        best = ada.ok("choose", target, "--json").document["options"][0]
        _, shot, carry, _, chance = rows[target]
        assert shot.removesuffix(" *") == f"{best['wedge']} {best['swing']}"
        assert shot.endswith(" *") != best["practised"]
        assert carry.lstrip("~?") == format_length(best["carry_m"], "yd")
        assert chance == f"{format_number(100.0 * best['window_probability'])} %"
    said = " ".join(ada.ok("gaps").out.split())
    for sentence in re.findall(r"Coverage of [^:]*: \d+ %", outline.text):
        assert sentence in said
    assert "Coverage of" in outline.text


def test_sideways_is_that_of_the_dispersion_of_chart(ada: Cli, tmp_path: Path) -> None:
    # air so cold that the carries of one evening are brought to another place
    session = ada.ok("session", "list", "--json").document["sessions"][0]["name"]
    ada.ok("session", "set", session, "--temp", "-10C", "--altitude", "0m")
    document = ada.ok("chart", "--dispersion", "--json").document["dispersion"]
    text = made(ada, tmp_path)
    sides = Outline(text[text.index('<section id="sides"') : text.index('<section id="drills"')])
    swings = [swing for wedge in document["wedges"] for swing in wedge["swings"]]
    rows = [row for row in sides.rows if row[0] != "swing"]
    assert [row[:2] for row in rows] == [[swing["swing"], str(swing["n"])] for swing in swings]
    # the names beside the pictures stand at the mean carries, so only brought ones agree
    assert len(swings) > 5
    log = App(db_option=os.environ["WEDGELAB_DB"]).read()
    player = fit_log(log)
    assert max(abs(metres) for metres in player.carry_changes_m()) > 1.0
    facts = page_facts(log, None, DEFAULT_WINDOW, ())
    assert facts.dispersions == find_dispersions(log, player)
    means = [swing.carry_mean_m for one in facts.dispersions for swing in one.swings]
    assert means == pytest.approx([swing["carry_mean_m"] for swing in swings], abs=1e-5)


def test_the_last_shot_the_drills_and_the_players_unit(ada: Cli, tmp_path: Path) -> None:
    ada.ok("players", "set", "--units", "m")
    outline = Outline(made(ada, tmp_path))
    assert "Wedge carries in m. Last shot 2026-07-01" in outline.text
    cell = ada.ok("chart", "--json").document["cells"][0]
    assert outline.rows[1][1].split()[1].lstrip("~?") == format_length(cell["carry_m"], "m")
    drills = [row[0] for row in outline.rows if row[0].startswith("2026-")]
    assert drills == ["2026-07-01 10 balls, test", "2026-06-24 10 balls, held", "2026-06-17 10 balls"]


@pytest.mark.long
def test_a_day_is_that_of_chart_and_choose(ada: Cli, tmp_path: Path) -> None:
    day = ("--wind", "-3m/s", "--temp", "5C")
    outline = Outline(made(ada, tmp_path, *day))
    assert re.search(r"For \d{4}-\d\d-\d\d only: 5 C, head wind 3 m/s\.", outline.text)
    cell = ada.ok("chart", *day, "--json").document["cells"][4]
    assert outline.rows[2][2].split()[1] == format_length(cell["carry_today_m"], "yd")
    best = ada.ok("choose", "80", *day, "--json").document["options"][0]
    (row,) = [row for row in outline.rows if len(row) == 5 and row[0] == "80"]
    assert row[1].removesuffix(" *") == f"{best['wedge']} {best['swing']}"
    assert row[4] == f"{format_number(100.0 * best['window_probability'])} %"


def test_a_csv_file_in_place_of_the_log_has_no_drills(ada: Cli, tmp_path: Path) -> None:
    ada.ok("export", str(tmp_path / "shots.csv"))
    text = made(ada, tmp_path, "--shots", str(tmp_path / "shots.csv"))
    assert "No drill is logged yet." in text
    assert "102 shots" in text


def test_the_same_log_gives_the_same_bytes(ada: Cli, tmp_path: Path) -> None:
    assert made(ada, tmp_path) == made(ada, tmp_path)


def test_hostile_names_make_no_element_and_the_file_stays_small(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = write_log(
        tmp_path / "h.db", player=HOSTILE_PLAYER, wedges=HOSTILE_WEDGES, swings=HOSTILE_SWINGS, balls=2, drills=1
    )
    monkeypatch.setenv("WEDGELAB_DB", str(log))
    text = made(cli, tmp_path)
    outline = Outline(text)
    assert outline.faults == []
    assert len(outline.scripts) == 2
    assert json.loads(outline.scripts[0])
    assert {tag for tag, _ in outline.elements} & {"img", "i", "iframe"} == set()
    assert len(text.encode()) < 400_000


def test_without_shots_nothing_is_written(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    assert cli.fails(3, "report", str(path)).startswith("no shots are logged; ")
    assert not path.exists()


def test_one_ball_makes_a_page(bag: Cli, tmp_path: Path) -> None:
    bag.ok("log", "54", "9:00", "68")
    outline = Outline(made(bag, tmp_path))
    assert "Learnt from 1 shot in 1 session." in outline.text
    assert outline.faults == []


def test_a_page_that_cannot_be_written_leaves_the_old_one(
    ada: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "page.html"
    path.write_text("old", encoding="utf-8")

    def full(self: Path, text: str, **_: object) -> int:
        with self.open("w", encoding="utf-8") as file:
            file.write(text[:100])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    error = ada.fails(1, "report", str(path))
    assert error == f"{path}: cannot be written (No space left on device); choose another place"
    assert path.read_bytes() == b"old"
    assert [file.name for file in tmp_path.iterdir() if file.name.endswith(".part")] == []
