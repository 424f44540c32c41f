"""One number wherever it stands, and names that do no harm wherever they are shown."""

import csv
import io
import re
import unicodedata
from pathlib import Path

import pytest

from tests.browser.logs import HOSTILE_PLAYER, HOSTILE_SWINGS, HOSTILE_WEDGES, write_log
from tests.cli.harness import Cli
from tests.render.pages import Outline
from tests.render.papers import words_of
from wedgelab.render.layout import display_width
from wedgelab.render.words import carry_text, range_text, spin_text
from wedgelab.units import LengthUnit

HARMLESS_COMMANDS = (
    ("chart",), ("chart", "--more", "--why"), ("chart", "--dispersion"), ("choose", "60"),
    ("choose", "60", "--want", "soft"), ("choose", "--flights", "60"), ("gaps",),
    ("gaps", "--with", "56", "--without", "=cmd()"), ("plan", "--balls", "12"), ("players",), ("bag",),
    ("session", "list"), ("shots", "list"), ("doctor",),
)  # fmt: skip


def log_of(folder: Path, monkeypatch: pytest.MonkeyPatch, *, is_hostile: bool = False) -> None:
    path = folder / "log.db"
    if is_hostile:
        write_log(path, player=HOSTILE_PLAYER, wedges=HOSTILE_WEDGES, swings=HOSTILE_SWINGS[:4], balls=2)
    else:
        write_log(path)
    monkeypatch.setenv("WEDGELAB_DB", str(path))


@pytest.mark.parametrize("unit", ["yd", "m"])
def test_a_number_is_the_same_in_text_json_csv_card_and_page(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, unit: LengthUnit
) -> None:
    log_of(tmp_path, monkeypatch)
    asked = ("--units", unit)
    cells = cli.ok(*asked, "chart", "--json").document["cells"]
    text = cli.ok(*asked, "chart").out
    rows = list(csv.DictReader(io.StringIO(cli.ok(*asked, "chart", "--csv").out)))
    card, page = tmp_path / "card.pdf", tmp_path / "page.html"
    cli.ok(*asked, "report", str(card), "--spin")
    cli.ok(*asked, "report", str(page))
    on_card, on_page = words_of(card).split(), Outline(page.read_text(encoding="utf-8")).rows
    assert len(cells) == len(rows) == 9
    for i, (cell, row) in enumerate(zip(cells, rows, strict=True)):
        for key in ("carry_m", "carry_se_m", "carry_p10_m", "carry_p90_m", "spin_rpm", "n_shots"):
            assert float(row[key]) == cell[key], key
        shown = [
            carry_text(cell["carry_m"], cell["support"], unit),
            range_text(cell["carry_p10_m"], cell["carry_p90_m"], unit),
            spin_text(cell["spin_rpm"], cell["spin_support"]),
        ]
        wedge, swing = divmod(i, 3)
        block = text.split("\n\n")[1 + wedge].splitlines()[2 if wedge == 0 else 0 :]
        assert [re.split(r"\s{2,}", line.strip())[-3:][swing] for line in block[:3]] == shown
        assert set(shown) <= set(on_card)
        assert set(shown) <= set(on_page[1 + wedge][1 + swing].split())


def harmful(text: str) -> set[str]:
    """Return signs that a terminal or a spreadsheet may act on: all but line ends and printable ones."""
    return {char for char in text if unicodedata.category(char) in {"Cc", "Cf", "Cs"} and char != "\n"}


@pytest.mark.parametrize("words", HARMLESS_COMMANDS, ids=" ".join)
def test_hostile_names_disturb_no_terminal_and_stay_within_80_columns(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    log_of(tmp_path, monkeypatch, is_hostile=True)
    result = cli.ok(*words)
    assert result.out
    assert not harmful(result.out + result.err)
    if words[0] != "doctor":  # a path is as long as it is
        assert max(map(display_width, result.out.splitlines())) <= 80


def test_hostile_names_are_no_formulas_in_a_spreadsheet(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log_of(tmp_path, monkeypatch, is_hostile=True)
    for words in (("chart", "--csv"), ("export",)):
        cells = [cell for row in csv.reader(io.StringIO(cli.ok(*words).out)) for cell in row]
        assert any(cell == "'=cmd()" for cell in cells)
        numbers = re.compile(r"-?\d+(\.\d+)?(e-?\d+)?")
        assert not [cell for cell in cells if cell[:1] in set("=+-@\t\r") and not numbers.fullmatch(cell)]


def test_hostile_names_come_back_as_they_are_in_json(cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log_of(tmp_path, monkeypatch, is_hostile=True)
    cells = cli.ok("chart", "--json").document["cells"]
    assert {cell["wedge"] for cell in cells} == {wedge.label for wedge in HOSTILE_WEDGES}
    assert {cell["swing"] for cell in cells} == {swing.label for swing in HOSTILE_SWINGS[:4]}


@pytest.mark.parametrize("label", ["54\u202e45", "54\x1b[31m", "54\n55", "5\x004", "\u200b"])
def test_names_that_would_turn_or_hide_text_do_not_get_into_a_log(cli: Cli, label: str) -> None:
    error = cli.fails(1, "bag", "add", label, "54")
    assert "cannot be used; " in error
    assert not harmful(error)


@pytest.mark.long
@pytest.mark.parametrize(
    "words",
    [
        ("chart",), ("chart", "--draw", "spin"), ("chart", "--draw", "dispersion"), ("choose", "60"),
        ("choose", "--flights", "60"), ("gaps",), ("plan", "--balls", "12"), ("bag", "suggest", "--count", "3"),
    ],
    ids=" ".join,
)  # fmt: skip
def test_every_picture_takes_hostile_names_in_every_format(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    log_of(tmp_path, monkeypatch, is_hostile=True)
    files = {ending: tmp_path / f"picture.{ending}" for ending in ("png", "svg", "pdf")}
    cli.ok(*words, *(f"--{ending}={file}" for ending, file in files.items()))
    assert files["png"].read_bytes().startswith(b"\x89PNG")
    assert files["pdf"].read_bytes().startswith(b"%PDF")
    svg = files["svg"].read_text(encoding="utf-8")
    assert "<script" not in svg
    assert "<img" not in svg
