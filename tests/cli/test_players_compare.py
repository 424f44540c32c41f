"""More than one player: who is in the log, how surely each is charted, and two charts side by side."""

import re
from pathlib import Path
from typing import Any

import pytest
from wcwidth import wcswidth

from tests.cli.harness import Cli

DEMO = Path(__file__).parents[2] / "demo/2026-05-12-chart.csv"


@pytest.fixture
def three(cli: Cli) -> Cli:
    """The log of a coach: Robin with 48 balls, Kim with four, Alex with none."""
    cli.ok("--player", "Robin", "import", str(DEMO))
    cli.ok("--player", "Kim", "bag", "add", "SW", "54.5")
    cli.ok("--player", "Kim", "log", stdin="SW 9:00 71\nSW 9:00 73\nSW 10:00 84\nSW full 92\n")
    cli.ok("--player", "Alex", "bag", "add", "54", "54")
    return cli


@pytest.fixture
def names(cli: Cli) -> Cli:
    """The same three without Robin's file: for what is refused before any chart is worked out."""
    for name in ("Robin", "Kim", "Alex"):
        cli.ok("--player", name, "bag", "add", "54", "54")
    cli.ok("--player", "Kim", "log", "54", "9:00", "71")
    return cli


def rows(document: Any) -> dict[str, dict[str, Any]]:
    return {row["player"]: row for row in document["players"]}


# the list


def test_players_lists_shots_sessions_last_day_and_how_surely_each_is_charted(three: Cli) -> None:
    listed = rows(three.ok("players", "--json").document)
    assert list(listed) == ["Alex", "Kim", "Robin"]
    assert [(row["n_shots"], row["n_sessions"]) for row in listed.values()] == [(0, 0), (4, 1), (48, 1)]
    assert listed["Robin"]["last_session"] == "2026-05-12"
    assert (listed["Alex"]["last_session"], listed["Alex"]["doubt_now"]) == ("", None)
    assert 0.0 < listed["Robin"]["doubt_now"] < listed["Kim"]["doubt_now"] < 0.2
    result = three.ok("players")
    lines = [line.split() for line in result.out.splitlines()]
    shown = {line[0]: line for line in lines if line}
    assert shown["Alex"][:5] == ["Alex", "0", "0", "-", "-"]
    doubt = f"±{100 * listed['Robin']['doubt_now']:.1f}"
    assert shown["Robin"][:6] == ["Robin", "48", "1", "2026-05-12", doubt, "%"]
    assert "chart: how surely a charted carry is known" in result.out
    assert result.err == ""


@pytest.mark.parametrize("alone", [(), ("--alone",)])
def test_the_list_and_the_chart_say_the_same_doubt(three: Cli, alone: tuple[str, ...]) -> None:
    listed = rows(three.ok("players", "--json", *alone).document)
    for name in ("Kim", "Robin"):  # Kim's chart learns from Robin's, unless it is to stand alone
        chart = three.ok("--player", name, "chart", "--json", *alone).document
        assert listed[name]["doubt_now"] == pytest.approx(chart["next"]["doubt_now"], abs=2e-6)


def test_quick_works_out_no_chart(three: Cli) -> None:
    listed = rows(three.ok("players", "--quick", "--json").document)
    assert [row["doubt_now"] for row in listed.values()] == [None, None, None]
    assert listed["Robin"]["n_shots"] == 48
    assert "surely" not in three.ok("players", "--quick").out


def test_a_player_with_shots_and_an_empty_bag_has_no_chart(three: Cli) -> None:
    three.ok("--player", "Kim", "bag", "remove", "SW")
    kim = rows(three.ok("players", "--json").document)["Kim"]
    assert (kim["n_shots"], kim["doubt_now"]) == (4, None)


def test_player_picks_one_of_the_list_and_an_unknown_one_is_refused(three: Cli) -> None:
    assert list(rows(three.ok("--player", "kim", "players", "--json").document)) == ["Kim"]
    assert three.fails(1, "--player", "Robbin", "players") == "unknown player 'Robbin'; did you mean 'Robin'?"


def test_an_empty_log_has_no_player(cli: Cli) -> None:
    assert cli.ok("players").out == "no player yet; the first shot you log makes one\n"
    assert cli.fails(1, "--player", "Kim", "players") == "unknown player 'Kim'; none is known yet"


def test_long_names_fit_80_columns(names: Cli) -> None:
    long = "Anna Maria Magdalena of the upper field"
    names.ok("--player", long, "bag", "add", "54", "54")
    names.ok("--player", long, "players", "set", "--ball", "the soft one with the long name", "--range-limit", "110m")
    assert max(wcswidth(line) for line in names.ok("players").out.splitlines()) <= 80


# whose: --player on every command

READING = (
    "bag", "bag history", "session list", "shots list", "export", "chart", "choose 65yd", "gaps", "plan --balls 10",
    "players", "doctor",
)  # fmt: skip


@pytest.mark.parametrize("words", READING)
def test_every_reading_command_refuses_an_unknown_player_with_the_nearest(names: Cli, words: str) -> None:
    assert names.fails(1, "--player", "Robbin", *words.split()) == "unknown player 'Robbin'; did you mean 'Robin'?"


@pytest.mark.parametrize("words", ["drill --balls 1", "log 54 9:00 60", "shots undo", "session set morning --temp 9C"])
def test_a_writing_command_that_cannot_write_makes_nobody(names: Cli, words: str) -> None:
    assert names("--player", "Robbin", *words.split()).code in {1, 2}
    assert list(rows(names.ok("players", "--quick", "--json").document)) == ["Alex", "Kim", "Robin"]


# side by side


def test_two_charts_side_by_side(three: Cli) -> None:
    document = three.ok("chart", "--compare", "kim", "ROBIN", "--json").document
    assert document["players"] == ["Kim", "Robin"]
    assert {(shot["first"]["wedge"], shot["second"]["wedge"]) for shot in document["shots"]} == {("SW", "54")}
    for which, name in (("first", "Kim"), ("second", "Robin")):
        cells = {(c["wedge"], c["swing"]): c for c in three.ok("--player", name, "chart", "--json").document["cells"]}
        for shot in document["shots"]:
            assert shot[which] == cells[shot[which]["wedge"], shot[which]["swing"]]  # what each one's own chart says
    for shot in document["shots"]:
        difference = shot["first"]["carry_m"] - shot["second"]["carry_m"]
        assert shot["carry_difference_m"] == pytest.approx(difference, abs=2e-6)
        assert shot["carry_told_apart"] == (difference > 1.28155 * shot["carry_difference_se_m"])
    assert document["carry_ratio"] > 1.05  # 72 yd against about 57 at 9:00
    assert [wedge["label"] for wedge in document["only_second"]["wedges"]] == ["46", "50", "58"]


def test_the_text_names_both_says_the_bags_and_what_leans_on_what(three: Cli) -> None:
    result = three.ok("chart", "--compare", "Kim", "Robin")
    said = " ".join(result.out.split())
    assert said.startswith("Kim and Robin: median carry in yd and spin in rpm, give or take one standard error;")
    assert "Only in Robin's bag: 46, 50, 58." in said
    assert "Compared as the same, Kim's first: SW (54.5) with 54." in said
    assert re.search(r"Kim's carries are \d+\.\d % longer than Robin's, ±\d\.\d \(told apart\)", said)
    assert said.endswith("Kim's chart leans on Robin's shots too, which draws both together; not so with --alone.")
    assert max(wcswidth(line) for line in result.out.splitlines()) <= 80
    alone = three.ok("chart", "--compare", "Kim", "Robin", "--alone")
    assert "leans on" not in alone.out
    assert alone.err == ""


def test_both_are_brought_to_the_first_players_air_or_to_the_days(three: Cli) -> None:
    def second() -> list[float]:
        shots = three.ok("chart", "--compare", "Kim", "Robin", "--json").document["shots"]
        return [shot["second"]["carry_m"] for shot in shots]

    before = second()
    three.ok("--player", "Kim", "players", "set", "--altitude", "1500m", "--temp", "30C")
    high = second()
    assert all(b > a for a, b in zip(before, high, strict=True))  # thin air: Robin's balls fly farther there
    into = three.ok("chart", "--compare", "Kim", "Robin", "--json", "--wind", "-5m/s").document
    assert into["day"]["wind_mps"] == -5.0
    assert all(shot["second"]["carry_m"] < a for shot, a in zip(into["shots"], high, strict=True))


def test_the_air_of_both_is_said(three: Cli) -> None:
    three.ok("--player", "Kim", "players", "set", "--altitude", "1500m", "--temp", "30C")
    said = " ".join(three.ok("chart", "--compare", "Kim", "Robin").out.split())
    assert "both for 30 C, 1500 m above the sea" in said
    said = " ".join(three.ok("chart", "--compare", "Kim", "Robin", "--wind", "-5m/s").out.split())
    assert "both for head wind 5 m/s, else 30 C, 1500 m above the sea" in said


def test_the_first_players_unit_and_another_ball_are_said(three: Cli) -> None:
    three.ok("--player", "Robin", "players", "set", "--units", "m")
    three.ok("--player", "Kim", "players", "set", "--ball", "soft")
    assert "carry m" in three.ok("chart", "--compare", "Robin", "Kim").out
    assert "carry yd" in three.ok("--units", "yd", "chart", "--compare", "Robin", "Kim").out
    notes = three.ok("chart", "--compare", "Kim", "Robin", "--json", "--alone").document["notes"]
    assert notes == [
        "The charts are for different golf balls: Kim's for soft and Robin's for the ball that was hit most."
    ]


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ("chart --compare Kim Robbin", 1, "unknown player 'Robbin'; did you mean 'Robin'?"),
        ("chart --compare Kim kim", 2, "--compare Kim kim names one player twice; name two players"),
        ("chart --compare Kim", 2, None),
        ("chart --compare Kim Robin --csv", 2, "--compare and --csv together; take one of them"),
        ("chart --compare Kim Robin --more", 2, "--compare and --more together; take one of them"),
        ("chart --compare Kim Robin --shots x.csv", 2, "--compare and --shots together; take one of them"),
        (
            "--player Alex chart --compare Kim Robin",
            2,
            "--player Alex and --compare Kim Robin together; name both after --compare",
        ),
        ("chart --compare Kim Alex", 3, "no shots of 'Alex' are logged; log some with: wedgelab --player Alex log"),
    ],
)
def test_what_cannot_be_compared_is_one_line(names: Cli, words: str, code: int, said: str | None) -> None:
    line = names.fails(code, *words.split())
    assert ";" in line
    if said is not None:
        assert line == said


def test_too_few_shots_leaves_a_valid_empty_document(names: Cli) -> None:
    result = names("chart", "--compare", "Kim", "Alex", "--json")
    assert result.code == 3
    assert (result.document["players"], result.document["shots"]) == ([], [])
    assert result.error.startswith("no shots of 'Alex'")


def test_without_any_log_both_are_unknown(cli: Cli) -> None:
    assert cli.fails(1, "chart", "--compare", "Kim", "Robin") == "unknown player 'Kim'; none is known yet"


# --- the same question for two players


def two_players(cli: Cli) -> None:
    for name, carry in (("Ada", 68), ("Bo", 60)):
        for loft in ("54", "58"):
            cli.ok("--player", name, "bag", "add", loft)
        lines = "".join(
            f"54 9:00 {carry + i}\n54 full {carry + 20 + i}\n58 9:00 {carry - 11 + i}\n" for i in (-1, 0, 1)
        )
        cli.ok("--player", name, "log", stdin=lines)


def test_two_players_are_asked_the_same(cli: Cli) -> None:
    two_players(cli)
    result = cli.ok("choose", "68", "--compare", "Ada", "Bo", "--alone")
    lines = result.out.splitlines()
    assert lines[0].startswith("Ada: 54 at 9:00: ")
    assert any(line.startswith("Bo: ") for line in lines)
    assert "Inside the window at 68 yd: Ada with 54 9:00" in " ".join(lines).replace(" at 9:00", " 9:00")
    assert all(len(line) <= 80 for line in lines)
    document = cli.ok("choose", "68", "--compare", "Ada", "Bo", "--alone", "--json").document
    best = [document[side]["options"][0]["window_probability"] for side in ("first", "second")]
    assert document["chance_difference"] == pytest.approx(best[0] - best[1], abs=2e-6)
    single = cli.ok("--player", "Ada", "choose", "68", "--alone", "--json").document
    assert single["options"][0]["window_probability"] == pytest.approx(best[0], abs=1e-6)  # the same as asked alone
    assert document["first"]["warnings"] == single["warnings"]
    assert document["first"]["verdict"] == single["verdict"]


def test_an_answer_that_rests_on_no_ball_of_that_shot_is_said_of_both(cli: Cli) -> None:
    two_players(cli)
    target = "80"  # between 9:00 and full of Ada, the full swing of Bo
    said = " ".join(cli.ok("choose", target, "--compare", "Ada", "Bo", "--alone").out.split())
    document = cli.ok("choose", target, "--compare", "Ada", "Bo", "--alone", "--json").document
    for side, name in (("first", "Ada"), ("second", "Bo")):
        best = document[side]["options"][0]
        bare = best["n_shots"] == 0
        assert (f"{name} with {best['wedge']} at {best['swing']} (no ball logged there) " in said) == bare
        assert all(warning in said for warning in document[side]["warnings"])
        assert any("No ball was logged near it" in warning for warning in document[side]["warnings"]) == bare
    assert {document[side]["options"][0]["n_shots"] == 0 for side in ("first", "second")} == {True, False}
    chart = " ".join(cli.ok("chart", "--compare", "Ada", "Bo", "--alone").out.split())
    assert re.search(r"Of these \d+ shots Ada has logged 3: the other numbers are worked out", chart)


def test_both_players_chances_are_drawn(cli: Cli, tmp_path: Path) -> None:
    two_players(cli)
    path = tmp_path / "both.svg"
    words = ("choose", "68", "--compare", "Ada", "Bo", "--alone")
    result = cli.ok(*words, "--svg", str(path))
    assert (result.out, result.err) == (cli.ok(*words).out, f"drawn into {path}\n")
    assert "<svg" in path.read_text("utf-8")


def test_who_cannot_reach_is_named(cli: Cli) -> None:
    two_players(cli)
    assert cli.fails(1, "choose", "140", "--compare", "Ada", "Bo", "--alone").startswith(
        "Ada: 140 yd is out of reach; "
    )
    result = cli("choose", "140", "--compare", "Ada", "Bo", "--alone", "--json")
    assert (result.code, result.document["first"]) == (1, None)


@pytest.mark.parametrize("words", [("--flights",), ("--wedge", "54"), ("--shots", "x.csv")])
def test_what_does_not_go_with_two_players(cli: Cli, words: tuple[str, ...]) -> None:
    two_players(cli)
    assert cli.fails(2, "choose", "68", "--compare", "Ada", "Bo", *words) == (
        f"--compare and {words[0]} together; take one of them"
    )


def test_the_players_are_drawn_and_a_picture_of_nothing_is_refused(cli: Cli, tmp_path: Path) -> None:
    picture = tmp_path / "players.svg"
    assert "no player, so no picture" in cli.ok("players", "--svg", str(picture)).err
    assert not picture.exists()
    cli.ok("--player", "Ada", "bag", "add", "54")
    cli.ok("--player", "Ada", "log", "54", "9:00", "68")
    assert f"drawn into {picture}" in cli.ok("players", "--svg", str(picture)).err
    assert picture.read_text(encoding="utf-8").count("<svg") == 1
    assert cli.fails(2, "players", "--quick", "--png", "p.png").startswith("a picture with --quick; ")
