"""``wedgelab report``: the right thing under the right ending, whole or not at all, and refusals in one line."""

import os
import re
from pathlib import Path

import pypdf
import pytest

from tests.cli.harness import Cli, process
from tests.render.papers import media_mm, words_of
from wedgelab.errors import FileProblemError
from wedgelab.render.paper import PAPER_MM, PaperSize

NAME_A_FILE = "name a FILE.pdf for a card or a session sheet, a FILE.html for a page"
OWN_AIR = "a day's conditions with a session sheet; leave them out: the session's own are noted with session set"


def pdf_words(path: Path) -> list[str]:
    return words_of(path).split()


@pytest.mark.parametrize(
    ("words", "size"),
    [
        ("", "pocket"), ("--kind card", "pocket"), ("--size credit", "credit"), ("--size a4", "a4"),
        ("--size letter", "letter"),
    ],
)  # fmt: skip
def test_a_pdf_is_a_card_at_its_size(log: Cli, tmp_path: Path, words: str, size: PaperSize) -> None:
    place = tmp_path / "card.pdf"
    result = log.ok("report", str(place), *words.split(), "--json")
    assert result.document | {"cells": []} == {
        "schema": 1, "kind": "report", "report": "card", "path": str(place), "size": size,
        "size_mm": [pytest.approx(length) for length in PAPER_MM[size]], "pages": len(media_mm(place)), "cells": [],
    }  # fmt: skip
    assert result.document["cells"] == log.ok("chart", "--json").document["cells"]
    assert result.err.splitlines()[-1] == f"written to {place}"
    assert media_mm(place) == [pytest.approx(PAPER_MM[size], abs=1e-4)] * len(media_mm(place))
    assert log.ok("report", str(place), *words.split()).out == ""


def chart_numbers(log: Cli, *words: str) -> set[str]:
    """Return the carries and ranges that `chart` writes; today's carries without their standard errors."""
    shown = set()
    for line in log.ok(*words).out.splitlines():
        told = line.split()
        if told[:3] == ["8", "in", "10"]:
            shown |= set(told[3:])
        if "carry" in told[:4] and told[-1][-1].isdigit():
            shown |= set(told[told.index("carry") + 2 :])
    return shown


@pytest.mark.parametrize("unit", ["yd", "m"])
def test_the_cards_numbers_are_those_of_the_chart(log: Cli, tmp_path: Path, unit: str) -> None:
    wanted = chart_numbers(log, "--units", unit, "chart")
    assert len(wanted) > 15
    log.ok("--units", unit, "report", str(tmp_path / "card.pdf"))
    assert wanted <= set(pdf_words(tmp_path / "card.pdf"))


def test_a_day_and_rows_that_are_asked_for_stand_on_the_card(log: Cli, tmp_path: Path) -> None:
    place = tmp_path / "card.pdf"
    log.ok("report", str(place), "--temp", "6C", "--wind", "-3m/s", "--spin", "--trajectories", "--window", "4%")
    words = words_of(place)
    assert re.search(r"For \d{4}-\d\d-\d\d only: 6 C, head wind 3 m/s", words)
    cells = log.ok("chart", "--temp", "6C", "--wind", "-3m/s", "--json").document["cells"]
    first = cells[0]["carry_today_m"] / 0.9144
    assert f"{int(first + 0.5)}" in words.replace("~", " ").replace("?", " ").split()
    assert {"spin", "low", "high", "inside", "%"} <= set(words.split())
    assert "within 4 % each side of the carry" in words


def test_a_card_of_a_file_stores_nothing(cli: Cli, tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_text("wedge,swing,carry_m\n54,9:00,60\n54,9:00,62\n58,full,70\n", encoding="utf-8")
    cli.ok("report", str(tmp_path / "card.pdf"), "--shots", str(tmp_path / "shots.csv"))
    assert "Learnt from 3 shots in 1 session" in words_of(tmp_path / "card.pdf")
    assert cli.ok("players", "--json").document["players"] == []


@pytest.fixture
def two_sessions(log: Cli) -> Cli:
    """A log with a second session, of balls that all went farther, and its note."""
    log.ok("session", "new", "second", "--temp", "9C", "--ball", "range", "--note", "wet mats")
    log.ok("log", "--session", "second", stdin="54 9:00 80\n54 9:00 81\n54 9:00 82\n54 8:00 60\n")
    return log


def test_a_session_sheet_holds_the_chart_before_against_the_one_after(two_sessions: Cli, tmp_path: Path) -> None:
    place = tmp_path / "session.pdf"
    document = two_sessions.ok("report", str(place), "--session", "last", "--json").document
    assert (document["report"], document["size"], document["pages"]) == ("session", "a4", 1)
    after = {(c["wedge"], c["swing"]): c for c in two_sessions.ok("chart", "--json").document["cells"]}
    for cell in document["cells"]:
        of_chart = after[cell["wedge"], cell["swing"]]
        assert (cell["carry_m"], cell["carry_se_m"]) == (of_chart["carry_m"], of_chart["carry_se_m"])
        assert cell["change_m"] == pytest.approx(cell["carry_m"] - cell["carry_before_m"], abs=2e-6)
    changes = [abs(cell["change_m"]) for cell in document["cells"]]
    assert changes == sorted(changes, reverse=True)
    assert {(c["wedge"], c["swing"]): c["n_balls"] for c in document["cells"] if c["n_balls"]} == {
        ("54", "9:00"): 3, ("54", "8:00"): 1,
    }  # fmt: skip
    words = words_of(place)
    for said in ("me second", "4 balls, 4 solid · 9 C · ball: range", "Note: wet mats", "3 of 3 81 81 1.0 80-82"):
        assert said in words


def test_before_is_the_chart_without_the_session_and_what_came_later(two_sessions: Cli, tmp_path: Path) -> None:
    first = two_sessions.ok("report", str(tmp_path / "a.pdf"), "--session", "first", "--json").document["cells"]
    second = two_sessions.ok("report", str(tmp_path / "b.pdf"), "--session", "second", "--json").document["cells"]
    after_first = {(c["wedge"], c["swing"]): c["carry_m"] for c in first}
    assert {(c["wedge"], c["swing"]): c["carry_before_m"] for c in second} == after_first
    assert "Before this session the chart was that of golfers in general." in words_of(tmp_path / "a.pdf")
    assert "golfers in general" not in words_of(tmp_path / "b.pdf")
    priors = {(c["wedge"], c["swing"]): c["carry_before_m"] for c in first}
    curve = two_sessions.ok("chart", "--why", "--json").document["why"]["curve"]
    assert [priors["54", at["swing"]] for at in curve] == [at["carry_prior_m"] for at in curve]


def test_a_drill_of_the_session_is_on_its_sheet(log: Cli, tmp_path: Path) -> None:
    log.ok("drill", "--session", "later", "--balls", "3", "--seed", "1", "--lines", stdin="70\n60\n65\n")
    place = tmp_path / "session.pdf"
    log.ok("report", str(place))  # a card
    log.ok("report", str(place), "--session", "last", "--size", "letter")
    words = words_of(place)
    assert "Drill of 3 balls" in words
    assert "call [yd]" in words
    log.ok("report", str(place), "--session", "first")
    assert "Drill" not in words_of(place)


def test_a_path_whose_bytes_are_no_text_is_named_in_valid_json(log: Cli, tmp_path: Path) -> None:
    place = os.fsencode(tmp_path) + b"/card\xff.pdf"
    result = log.ok("report", os.fsdecode(place), "--json")
    assert result.out.isascii()
    assert os.fsencode(result.document["path"]) == place
    assert Path(os.fsdecode(place)).exists()


def test_an_empty_name_is_no_session(log: Cli, tmp_path: Path) -> None:
    assert log.fails(1, "report", str(tmp_path / "x.pdf"), "--session", "").startswith("unknown session ''; known: ")


def test_an_empty_session_that_is_passed_over_is_named(two_sessions: Cli, tmp_path: Path) -> None:
    two_sessions.ok("session", "new", "third")
    said = two_sessions.ok("report", str(tmp_path / "x.pdf"), "--session", "last").err
    assert "session 'third' has no shots: this is the sheet of 'second', the last that has some" in said
    assert "Planned from the log as it was" not in words_of(tmp_path / "x.pdf")
    quiet = two_sessions.ok("report", str(tmp_path / "y.pdf"), "--session", "first").err
    assert "has no shots" not in quiet
    assert "Planned from the log as it was after this session" in words_of(tmp_path / "y.pdf")


def test_a_plan_that_cannot_be_made_is_said_and_the_rest_of_the_sheet_stays(log: Cli, tmp_path: Path) -> None:
    log.ok("players", "set", "--range-limit", "10yd")
    log.ok("report", str(tmp_path / "x.pdf"), "--session", "last")
    words = words_of(tmp_path / "x.pdf")
    assert "No plan: every charted shot carries beyond the range's limit" in words
    assert "What the chart learned" in words


def test_a_fault_of_ours_in_the_plan_is_not_taken_for_a_sentence(
    log: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise FileProblemError(Path("x"), "is broken", "mend it")

    monkeypatch.setattr("wedgelab.plan.session.plan_session", broken)
    assert log.fails(1, "report", str(tmp_path / "x.pdf"), "--session", "last") == "x: is broken; mend it"
    assert not (tmp_path / "x.pdf").exists()


def test_a_newcomers_card_sheet_and_page_name_the_other_players(log: Cli, tmp_path: Path) -> None:
    log.ok("--player", "Kim", "bag", "add", "54", "54")
    log.ok("--player", "Kim", "log", stdin="".join(f"54 {hour}:00 {60 + i}\n" for i in range(8) for hour in (8, 9, 10)))
    for name, words in (("card.pdf", []), ("sheet.pdf", ["--session", "last"])):
        log.ok("--player", "me", "report", str(tmp_path / name), *words)
        assert "1 other player" in words_of(tmp_path / name)
        log.ok("--player", "me", "report", str(tmp_path / name), *words, "--alone")
        assert "other player" not in words_of(tmp_path / name)
    log.ok("--player", "me", "report", str(tmp_path / "page.html"))
    assert "It leans on 1 other player of the log too." in (tmp_path / "page.html").read_text(encoding="utf-8")


def test_one_ball_alone_makes_a_card_and_a_sheet(bag: Cli, tmp_path: Path) -> None:
    bag.ok("log", "54", "9:00", "68")
    bag.ok("report", str(tmp_path / "card.pdf"))
    bag.ok("report", str(tmp_path / "sheet.pdf"), "--session", "last")
    assert "Learnt from 1 shot in 1 session" in words_of(tmp_path / "card.pdf")
    assert "1 ball, 1 solid" in words_of(tmp_path / "sheet.pdf")


def test_a_session_called_last_is_that_one(log: Cli, tmp_path: Path) -> None:
    log.ok("session", "new", "last")
    assert log.fails(3, "report", str(tmp_path / "x.pdf"), "--session", "last") == (
        "session 'last' has no shots; log some, or name another: wedgelab session list"
    )


@pytest.mark.parametrize("words", ["card.pdf", "sheet.pdf --session last", "page.html"])
def test_too_few_shots_write_nothing_and_json_stays_valid(bag: Cli, tmp_path: Path, words: str) -> None:
    name, *more = words.split()
    said = "no shots are logged; log some, for example: wedgelab log 50 9:00 68"
    assert bag.fails(3, "report", str(tmp_path / name), *more) == said
    result = bag("report", str(tmp_path / name), *more, "--json")
    assert (result.code, result.error) == (3, said)
    document = result.document
    assert (document["path"], document["size"], document["size_mm"], document["pages"]) == (None,) * 4
    assert document["cells"] == []
    assert not (tmp_path / name).exists()


def test_no_log_at_all_makes_no_file(cli: Cli, tmp_path: Path) -> None:
    for words in (["card.pdf"], ["sheet.pdf", "--session", "last"]):
        cli.fails(3, "report", str(tmp_path / words[0]), *words[1:])
    assert not [path for path in tmp_path.iterdir() if path.suffix in (".pdf", ".db")]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("card.txt", f"'card.txt' ends in neither .pdf nor .html; {NAME_A_FILE}"),
        ("card", f"'card' ends in neither .pdf nor .html; {NAME_A_FILE}"),
        ("card.pdf --kind page", "--kind page and 'card.pdf' together; name a FILE.html"),
        ("page.html --kind card", "--kind card and 'page.html' together; name a FILE.pdf"),
        ("page.html --kind session", "--kind session and 'page.html' together; name a FILE.pdf"),
        ("page.html --size a4", "--size a4 with a page; leave it out"),
        ("page.html --session last", "--session with a page; leave it out"),
        ("card.pdf --kind card --session last", "--session with a card; leave it out"),
        ("s.pdf --session last --size pocket", "--size pocket with a session sheet; take --size a4 or --size letter"),
        ("s.pdf --session last --spin", "--spin with a session sheet; leave it out"),
        ("s.pdf --session last --window 4%", "--window with a session sheet; leave it out"),
        ("s.pdf --session last --temp 6C", OWN_AIR),
        (
            "s.pdf --session last --shots x.csv",
            "--shots with a session sheet; import the file first: wedgelab import FILE.csv",
        ),
        ("page.html --spin", "--spin with a page; leave it out: the page has the spin"),
        ("gone/card.pdf", "'gone/card.pdf' is no place for a card; give a FILE.pdf in a folder that is there"),
        ("card.pdf --temp hot", None),
        ("card.pdf --window 0%", None),
        ("card.pdf --size a5", None),
        ("", "Missing argument 'FILE'; see: wedgelab report --help"),
    ],
)  # fmt: skip
def test_what_does_not_fit_together_is_refused_in_one_line(
    log: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: str, said: str | None
) -> None:
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.iterdir())
    line = log.fails(2, "report", *words.split())
    assert ";" in line
    if said is not None:
        assert line == said
    assert sorted(tmp_path.iterdir()) == before


def test_an_unknown_session_is_refused_with_the_nearest(log: Cli, tmp_path: Path) -> None:
    said = log.fails(1, "report", str(tmp_path / "x.pdf"), "--session", "frist")
    assert said == "unknown session 'frist'; did you mean 'first'?"


def test_a_folder_is_no_place(log: Cli, tmp_path: Path) -> None:
    (tmp_path / "x.pdf").mkdir()
    assert "is no place for a card" in log.fails(2, "report", str(tmp_path / "x.pdf"))


def test_a_file_that_is_there_is_replaced_and_the_same_log_gives_the_same_bytes(log: Cli, tmp_path: Path) -> None:
    place = tmp_path / "card.pdf"
    place.write_bytes(b"old")
    assert log.ok("report", str(place)).err.splitlines()[-1] == f"replaced {place}"
    first = place.read_bytes()
    assert len(pypdf.PdfReader(place).pages) == 1
    place.unlink()
    assert log.ok("report", str(place)).err.splitlines()[-1] == f"written to {place}"
    assert place.read_bytes() == first
    assert not list(tmp_path.glob(".card*"))


def test_names_of_many_letters_and_marks_do_no_harm(log: Cli, tmp_path: Path) -> None:
    name = "<script>alert(1)</script> $x$ " + "N" * 170
    log.ok("--player", name, "bag", "add", "=cmd()", "54")
    log.ok("--player", name, "log", "=cmd()", "9:00", "68", "--session", "$\\frac{1$")
    for words in (["card.pdf"], ["sheet.pdf", "--session", "last"]):
        log.ok("--player", name, "report", str(tmp_path / words[0]), *words[1:])
        found = words_of(tmp_path / words[0])
        assert "=cmd() (54)" in found
        assert "<script>alert(1)</script>" in found


def test_several_pages_are_said(log: Cli, tmp_path: Path) -> None:
    result = log.ok("report", str(tmp_path / "card.pdf"), "--size", "credit", "--spin", "--trajectories")
    n = len(media_mm(tmp_path / "card.pdf"))
    assert n > 1
    assert result.err.splitlines() == [
        f"the card has {n} sides, each on a page of its own", f"written to {tmp_path / 'card.pdf'}",
    ]  # fmt: skip


def test_the_page_is_written_by_its_own_command(log: Cli, tmp_path: Path) -> None:
    place = tmp_path / "page.html"
    document = log.ok("report", str(place), "--json").document
    assert (document["report"], document["path"], document["size"]) == ("page", str(place), None)
    assert place.read_text(encoding="utf-8").lstrip().casefold().startswith("<!doctype html>")


def test_the_help_loads_nothing_heavy() -> None:
    done = process("report", "--help")
    assert done.code == 0
    assert "Example: wedgelab report card.pdf --size a4" in done.out
