"""``wedgelab plan``: the words that shape it, what it refuses, and the drill that it starts."""

import json
import math
from pathlib import Path
from typing import Any

import pytest

from tests.cli.harness import Cli


def shots(cli: Cli, *words: str) -> dict[str, int]:
    found = cli.ok("plan", *words, "--json").document["shots"]
    return {f"{shot['wedge']} {shot['swing']}": shot["balls"] for shot in found}


def test_without_words_it_plans_forty_balls_for_the_whole_chart(log: Cli) -> None:
    document = log.ok("plan", "--json").document
    assert document["balls"] + document["warm_up"]["balls"] == 40
    assert document["limits"]["balls"] == 40
    assert len(document["shots"]) + len(document["rest"]) == 12  # 3 wedges by 4 swings
    assert document["doubt_after"] < document["doubt_now"]
    shown = log.ok("plan").out
    assert shown.startswith("Practice plan for me: 40 balls, about ")
    assert max(len(line) for line in shown.splitlines()) <= 80
    assert document["verdict"] == " ".join(shown[shown.index("Expected:") :].split())


def test_a_span_draws_the_balls_to_its_shots(log: Cli) -> None:
    document = log.ok("plan", "--balls", "24", "--from", "40", "--to", "70yd", "--json").document
    assert (document["low_m"], document["high_m"]) == pytest.approx((40 * 0.9144, 70 * 0.9144), abs=1e-6)
    inside = [shot["balls"] for shot in document["shots"] if document["low_m"] < shot["carry_m"] < document["high_m"]]
    assert sum(inside) > document["balls"] / 2
    whole = log.ok("plan", "--balls", "24", "--json").document

    def doubt(plan: dict[str, Any]) -> float:
        within = [
            one for one in (*plan["shots"], *plan["rest"]) if document["low_m"] < one["carry_m"] < document["high_m"]
        ]
        return math.fsum((one["carry_se_after_m"] / one["carry_m"]) ** 2 for one in within)

    assert doubt(document) < doubt(whole)


def test_targets_are_read_in_the_players_unit_and_may_stand_in_any_list(log: Cli) -> None:
    one = log.ok("plan", "--balls", "10", "--targets", "45,62,70", "--json").document
    assert one["targets_m"] == pytest.approx([45 * 0.9144, 62 * 0.9144, 70 * 0.9144], abs=1e-6)
    assert log.ok("plan", "--balls", "10", "--targets", "45yd; 62 70", "--json").document == one
    assert "to be surest at 45, 62 and 70 yd" in " ".join(log.ok("plan", "--targets", "45,62,70").out.split())


def test_minutes_count_the_balls_the_warm_up_and_the_wedges(log: Cli) -> None:
    document = log.ok("plan", "--minutes", "30", "--ball-seconds", "60", "--change-seconds", "120", "--json").document
    spent = document["balls"] + document["warm_up"]["balls"] + 2 * document["changeovers"]
    assert document["minutes"] == pytest.approx(spent)
    assert 29 <= spent <= 30
    without = log.ok("plan", "--minutes", "30", "--warm-up", "0", "--json").document
    assert without["warm_up"] is None


def test_most_holds_every_shot(log: Cli) -> None:
    assert max(shots(log, "--balls", "30", "--most", "2").values()) == 2
    assert "more would come with --most" in log.ok("plan", "--balls", "60", "--most", "2").out


def test_nothing_is_planned_beyond_the_range_limit(log: Cli) -> None:
    log.ok("players", "set", "--range-limit", "70yd")
    document = log.ok("plan", "--json").document
    assert all(shot["carry_m"] <= 70 * 0.9144 for shot in document["shots"])
    assert document["beyond_range"] > 0


REFUSED = [
    ("--balls 0", 2, "0 balls make no session; give 1 to 200 balls"),
    ("--balls 10000", 2, "10000 balls make no session; give 1 to 200 balls"),
    ("--minutes 3", 2, "3 minutes are too short for 4 balls that count; give 4 minutes or more"),
    ("--minutes nan", 2, "nan minutes make no session; give 1 to 240 minutes"),
    ("--from 75 --to 45", 2, "--from 75 --to 45 is no span; give the shorter distance first"),
    ("--targets 45,900", 1, "target '900' is outside 0.5 to 273.4 yd; check the number and its unit"),
    ("--targets ,", 2, "--targets has 0 distances; give 1 to 40, for example: --targets 45,62,70"),
    ("--targets 45 --to 60", 2, "--targets with --from or --to; name distances or a span, not both"),
    ("--targets 45,x", 2, "target 'x' cannot be read; give a distance such as 68, 68yd or 62m"),
    ("--lines", 2, "--lines without --drill; a plan is lines already; leave that out"),
    ("--session evening", 2, "--session without --drill; a plan stores nothing; leave that out"),
    ("--drill --shots x.csv", 2, "--drill with --shots; a drill goes into the log; import the file first"),
]


@pytest.mark.parametrize(("words", "code", "said"), REFUSED)
def test_what_cannot_be_planned_is_refused(log: Cli, words: str, code: int, said: str) -> None:
    assert log.fails(code, "plan", *words.split()) == said


@pytest.mark.parametrize("words", ["--targets 200", "--from 200"])
def test_out_of_reach_the_nearest_is_named_and_the_document_stays_valid(log: Cli, words: str) -> None:
    assert "the nearest c" in log.fails(1, "plan", *words.split())
    result = log("plan", *words.split(), "--json")
    assert result.code == 1
    assert result.document["shots"] == []


def test_too_few_shots_gives_an_empty_document(bag: Cli) -> None:
    result = bag("plan", "--json")
    assert result.code == 3
    assert result.document["shots"] == []
    assert result.error == "no shots are logged; log some, for example: wedgelab log 50 9:00 68"


def test_the_drill_calls_the_planned_shots_and_advises_them(log: Cli) -> None:
    planned = log.ok("plan", "--balls", "4", "--warm-up", "0", "--json").document["shots"]
    calls = [round(shot["carry_m"] / 0.9144) for shot in planned for _ in range(shot["balls"])]
    said = log.ok("plan", "--balls", "4", "--warm-up", "0", "--drill", stdin="\n".join(map(str, calls)) + "\n")
    assert said.out.startswith("Practice plan for me: 4 balls")
    assert "as planned" in said.err
    for number, call in enumerate(calls, 1):
        assert f"Call {number} of 4: {call} yd" in said.out
    logged = log.shots()[-4:]
    hit = [(shot["wedge"], shot["swing"]) for shot in logged]
    assert hit == [(shot["wedge"], shot["swing"]) for shot in planned for _ in range(shot["balls"])]
    assert [shot["advised_wedge"] for shot in logged] == [wedge for wedge, _ in hit]
    assert all(shot["advice_shown"] for shot in logged)


def test_a_planned_drill_goes_on_with_its_own_shots(log: Cli) -> None:
    log.ok("plan", "--balls", "5", "--warm-up", "0", "--drill", "--session", "evening", stdin="60\nquit\n")
    planned = log.ok("drill", "--resume", stdin="quit\n").out
    assert "Call 2 of 5: " in planned
    document = log.ok("drill", "--resume", "--json", stdin="61\n62\n63\n64\n").document
    assert document["is_over"] is True
    assert document["order"] == "planned"
    assert len(document["balls"]) == 5
    assert all(ball["advice_shown"] for ball in document["balls"])
    wedges = [float(ball["loft_deg"]) for ball in document["balls"]]
    assert wedges == sorted(wedges, reverse=True)


def test_with_json_the_drill_is_the_only_document(log: Cli) -> None:
    result = log.ok("plan", "--balls", "2", "--drill", "--json", stdin="60\n60\n")
    assert json.loads(result.out)["kind"] == "drill"
    assert "Practice plan" in result.err


def test_a_planned_drill_can_be_played_again_as_a_test(log: Cli) -> None:
    log.ok("plan", "--balls", "5", "--warm-up", "0", "--drill", stdin="60\n" * 5)
    again = log.ok("drill", "--test", "--json", stdin="54 9:00 60\n" * 5).document
    assert len(again["balls"]) == 5
    assert not any(ball["advice_shown"] for ball in again["balls"])


def test_a_file_can_be_planned_from(log: Cli, tmp_path_factory: pytest.TempPathFactory) -> None:
    file = tmp_path_factory.mktemp("csv") / "balls.csv"
    file.write_text("wedge,loft_deg,swing,carry_yd\n54,54,9:00,68\n54,54,full,90\n58,58,full,80\n", encoding="utf-8")
    document = log.ok("plan", "--shots", str(file), "--balls", "8", "--json").document
    assert document["n_shots"] == 3
    assert {shot["wedge"] for shot in document["shots"]} <= {"54", "58"}


def test_the_document_of_a_planned_drill_names_its_shots(log: Cli) -> None:
    planned = log.ok("plan", "--balls", "4", "--warm-up", "0", "--json").document["shots"]
    log.ok("plan", "--balls", "4", "--warm-up", "0", "--drill", "--lines", stdin="skip\nquit\n")
    told = log.ok("drill", "--resume", "--json", stdin="quit\n").document["planned_shots"]
    assert [(shot["wedge"], shot["swing_deg"]) for shot in told] == [
        (shot["wedge"], shot["swing_deg"]) for shot in planned for _ in range(shot["balls"])
    ]


def test_a_plan_is_drawn_in_each_format_and_a_wrong_ending_is_refused(log: Cli, tmp_path: Path) -> None:
    files = [f"--{ending}={tmp_path / 'plan'}.{ending}" for ending in ("png", "svg", "pdf")]
    said = log.ok("plan", "--balls", "8", *files)
    assert [line.rpartition(".")[2] for line in said.err.splitlines() if line.startswith("drawn into")] == [
        "png", "svg", "pdf",
    ]  # fmt: skip
    assert (tmp_path / "plan.pdf").read_bytes().startswith(b"%PDF")
    assert b"<svg" in (tmp_path / "plan.svg").read_bytes()
    assert (tmp_path / "plan.png").read_bytes().startswith(b"\x89PNG")
    assert log.fails(2, "plan", "--svg", "plan.png") == "--svg 'plan.png' does not end in .svg; name a .svg file"
    nowhere = tmp_path / "none" / "plan.pdf"
    assert log.fails(2, "plan", "--pdf", str(nowhere)).endswith("give a FILE.pdf in a folder that is there")
