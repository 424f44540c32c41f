"""``chart --why`` and the chances of mishits in ``shots``: the planted slip and the fat ball are found and named."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.harness import Cli, process
from tests.cli.test_process import loaded
from wedgelab.model import player as fitted
from wedgelab.model.player import fit_player
from wedgelab.shots import SHOT_COLUMNS, Shot
from wedgelab.units import YARD_M

CLEAN = "\n".join(
    f"{wedge} {swing} {carry + off}"
    for wedge, swing, carry in (("50", "9:00", 78), ("54", "9:00", 68), ("54", "10:00", 80), ("58", "9:00", 57))
    for off in (-2, -1, 0, 1, 2)
)


@pytest.fixture
def odd(bag: Cli) -> Cli:
    """A log with a slip of the decimal point, a fat ball, and one that the player marked."""
    bag.ok("log", "--session", "first", stdin=CLEAN + "\n")
    bag.ok("log", "--session", "second", stdin="54 9:00 6.8\n58 9:00 36\n50 9:00 60 off\n54 9:00 67.5\n")
    return bag


def ids(cli: Cli) -> dict[float, str]:
    """The first signs of the ids, by the carry in yards."""
    return {round(shot["carry_m"] / YARD_M, 1): shot["shot_id"] for shot in cli.shots()}


def row(text: str, start: str) -> list[str]:
    (line,) = [line for line in text.splitlines() if line.startswith(start)]
    return line.split()


def test_why_comes_after_the_chart_and_names_the_slip_and_the_fat_ball_with_their_ids(odd: Cli) -> None:
    plain, shown = odd.ok("chart").out, odd.ok("chart", "--why")
    assert shown.err == ""
    assert shown.out.startswith(plain + "\nWhy the chart says so\n")
    assert max(len(line) for line in shown.out.splitlines()) <= 80
    known = ids(odd)
    for carry, reason in ((6.8, "slip"), (36.0, "short"), (60.0, "marked")):
        found = row(shown.out, known[carry][:8])
        assert found[2:5] == [{36.0: "58", 6.8: "54", 60.0: "50"}[carry], "9:00", f"{carry:.1f}"]
        assert found[-1] == reason


def test_the_advice_can_be_followed(odd: Cli) -> None:
    slip = ids(odd)[6.8][:8]
    odd.ok("shots", "delete", slip)
    odd.ok("log", "54", "9:00", "68", "--session", "second")
    shown = odd.ok("chart", "--why").out
    assert "slip" not in shown
    assert odd.shots()[-1]["session"] == "second"


def test_why_in_json_says_the_same(odd: Cli) -> None:
    assert odd.ok("chart", "--json").document["why"] is None
    why = odd.ok("chart", "--why", "--json").document["why"]
    known = ids(odd)
    reasons = {ball["shot_id"]: ball["reason"] for ball in why["distrusted"]}
    assert reasons == {known[6.8]: "slip", known[36.0]: "short", known[60.0]: "marked"}
    assert (why["n_shots"], why["n_sessions"], why["n_solid"]) == (24, 2, 21)
    cells = {(c["wedge"], c["swing"]): c["carry_m"] for c in odd.ok("chart", "--json").document["cells"]}
    assert [at["carry_m"] for at in why["curve"]] == [cells["54", at["swing"]] for at in why["curve"]]


def test_why_of_a_file_is_for_the_file(odd: Cli, tmp_path: Path) -> None:
    file = tmp_path / "balls.csv"
    file.write_text(odd.ok("export").out, encoding="utf-8")
    listed = odd.ok("shots", "list", "--all", "--json").document["shots"]
    shown = odd.ok("--db", str(tmp_path / "none.db"), "chart", "--why", "--shots", str(file)).out
    assert "24 shots in 2 sessions" in " ".join(shown.split())
    assert "Put it right in the file." in shown
    same = odd.ok("--db", str(tmp_path / "none.db"), "shots", "list", "--all", "--json", "--shots", str(file)).document
    assert [s["mishit_probability"] for s in same["shots"]] == pytest.approx([s["mishit_probability"] for s in listed])
    assert "why" in odd.ok("chart", "--why", "--json", "--shots", str(file)).document


def test_why_needs_a_shot_and_no_csv(bag: Cli) -> None:
    assert bag.fails(2, "chart", "--why", "--csv") == "--why and --csv together; take one of them"
    assert bag.fails(3, "chart", "--why").startswith("no shots are logged; log some")
    empty = bag("chart", "--why", "--json")
    assert (empty.code, empty.document["why"]) == (3, None)


def test_why_in_metres_for_a_player_of_metres(odd: Cli) -> None:
    shown = odd.ok("--units", "m", "chart", "--why").out
    assert "carry m" in shown
    assert "ball m/s" in shown
    assert "yd" not in shown


def test_one_ball_is_enough_for_a_report_that_promises_nothing(bag: Cli) -> None:
    bag.ok("log", "54", "9:00", "68")
    shown = " ".join(bag.ok("chart", "--why").out.split())
    assert "Your 1 shot in 1 session made it yours" in shown
    assert "one session cannot tell more" in shown
    assert "No ball is distrusted." in shown


def test_why_in_a_pipe_and_what_it_loads(odd: Cli) -> None:
    assert "Why the chart says so" in process("chart", "--why").out
    assert loaded(["chart", "--why"]) == {"numpy"}
    assert loaded(["shots"]) == {"numpy"}
    assert loaded(["shots", "delete", "--help"]) == set()
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", f"{sys.executable} -m wedgelab chart --why | head -1"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""


def test_the_chances_in_json_are_the_models_for_every_shot(odd: Cli) -> None:
    listed = odd.shots()
    shots = [Shot(**{name: shot[name] for name in SHOT_COLUMNS}) for shot in listed]
    wanted = 1.0 - fit_player(shots).fit.solid
    assert len(listed) == 24
    assert [shot["mishit_probability"] for shot in listed] == pytest.approx(wanted.tolist(), abs=1e-6)


def test_the_column_is_quiet_where_there_is_nothing_to_say(odd: Cli) -> None:
    shown = odd.ok("shots", "list", "--all").out
    assert shown.splitlines()[0].split()[-2:] == ["strike", "mishit"]  # nobody wrote a note, and the line is full
    at = shown.splitlines()[0].index("mishit")
    chances = {shot["shot_id"][:8]: shot["mishit_probability"] for shot in odd.shots()}
    lines = {line[:8]: line[at : at + 6].strip() for line in shown.splitlines()[2:]}
    assert lines.keys() == chances.keys()
    marked = ids(odd)[60.0][:8]
    for shot_id, chance in chances.items():
        if chance >= 0.05 or shot_id == marked:
            assert lines[shot_id].endswith(" %")
            assert float(lines[shot_id].removesuffix(" %")) == pytest.approx(100.0 * chance, abs=0.51)
        else:
            assert lines[shot_id] == ""
    assert sum(text != "" for text in lines.values()) < len(lines) / 2
    assert lines[ids(odd)[6.8][:8]] == "100 %"


def test_a_marked_ball_shows_its_chance_however_small(bag: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    bag.ok("log", stdin="54 9:00 68 off\n54 9:00 69\n")

    class _Sure:
        def __init__(self, shots: list[Any]) -> None:
            self.fit = self
            self.solid = np.full(len(shots), 0.99)

    monkeypatch.setattr(fitted, "fit_player", lambda shots, *_, **__: _Sure(shots))
    lines = bag.ok("shots").out.splitlines()[2:]
    assert ["1 %" in line for line in lines] == [True, False]


def test_the_last_shots_are_judged_by_the_whole_log(odd: Cli) -> None:
    everything = odd.shots()
    last = odd.ok("shots", "list", "--last", "4", "--json").document["shots"]
    assert last == everything[-4:]
    second = odd.ok("shots", "list", "--session", "second", "--all", "--json").document["shots"]
    assert second == everything[-4:]
    result = odd.ok("shots", "list", "--last", "4")
    assert result.err == "the last 4 of 24; all: wedgelab shots list --all\n"
    assert "slip" not in result.out
    assert "100 %" in result.out


@pytest.mark.parametrize("error", [np.linalg.LinAlgError("Singular matrix"), FloatingPointError("overflow")])
def test_a_log_that_cannot_be_fitted_is_listed_all_the_same(
    odd: Cli, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(fitted, "fit_player", fails)
    result = odd.ok("shots")
    assert len(result.out.splitlines()) == 2 + 20
    assert "%" not in result.out
    assert f"no model could be fitted to this log ({error})" in result.err
    document = odd.ok("shots", "list", "--json").document
    assert {shot["mishit_probability"] for shot in document["shots"]} == {None}


def test_an_empty_list_needs_no_model(bag: Cli) -> None:
    assert bag.ok("shots").out == "no shots\n"
    assert bag.ok("shots", "list", "--json").document["shots"] == []
    assert loaded(["shots"]) == set()
