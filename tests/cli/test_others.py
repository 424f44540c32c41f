"""A newcomer's chart learns from the other players of the log, says so, and can be told not to."""

from pathlib import Path
from typing import Any

import pytest

from tests.cli.harness import Cli
from wedgelab.cli.app import FEWEST_OF_ANOTHER, NEWCOMER_SHOTS

DEMO = Path(__file__).parents[2] / "demo/2026-05-12-chart.csv"
NOTE = "what is believed before the first ball is learnt from another player of this log; --alone leaves them out\n"


@pytest.fixture
def two(cli: Cli) -> Cli:
    """The log of a coach: Robin with 48 balls, Kim with four that fly far for so slow a swing."""
    cli.ok("--player", "Robin", "import", str(DEMO))
    cli.ok("--player", "Kim", "bag", "add", "54", "54")
    cli.ok("--player", "Kim", "log", stdin="54 9:00 71\n54 9:00 73\n54 10:00 84\n54 full 92\n")
    return cli


def carries(document: Any) -> list[float]:
    return [cell["carry_m"] for cell in document["cells"]]


def test_the_chart_of_a_newcomer_learns_from_the_other_player_and_says_so(two: Cli) -> None:
    among = two.ok("--player", "Kim", "chart", "--json")
    alone = two.ok("--player", "Kim", "chart", "--json", "--alone")
    assert among.err == NOTE
    assert alone.err == ""
    off = [abs(a / b - 1.0) for a, b in zip(carries(among.document), carries(alone.document), strict=True)]
    assert 1e-4 < max(off) < 0.06  # it is a belief, not Robin's chart


def test_choose_and_drill_learn_and_say_so_too(two: Cli) -> None:
    assert two.ok("--player", "Kim", "choose", "75yd").err == NOTE
    assert NOTE not in two.ok("--player", "Kim", "choose", "75yd", "--alone").err
    drill = ("--player", "Kim", "drill", "--from", "70yd", "--to", "80yd", "--balls", "1", "--seed", "1")
    assert NOTE in two(*drill, stdin="54 9:00 72\n").err
    assert NOTE not in two(*drill, "--alone", stdin="54 9:00 72\n").err


def test_a_player_with_many_balls_and_one_without_company_learn_alone(two: Cli) -> None:
    few = "54 9:00 70\n" * (FEWEST_OF_ANOTHER - 5)
    assert two.ok("--player", "Robin", "chart").err == ""  # Kim's four balls are too few to teach
    two.ok("--player", "Kim", "log", stdin=few)
    assert two.ok("--player", "Robin", "chart").err == ""
    two.ok("--player", "Kim", "log", stdin="54 9:00 70\n")
    assert two.ok("--player", "Robin", "chart").err == NOTE
    two.ok("--player", "Robin", "log", stdin="54 9:00 62\n" * (NEWCOMER_SHOTS - 48))
    assert two.ok("--player", "Robin", "chart").err == ""  # enough of one's own


def test_a_file_in_place_of_the_log_and_a_player_without_balls_learn_from_nobody(two: Cli) -> None:
    assert NOTE not in two.ok("--player", "Kim", "chart", "--shots", str(DEMO)).err
    two.ok("--player", "Alex", "bag", "add", "54", "54")
    assert NOTE not in two("--player", "Alex", "chart").err


def test_why_says_from_whom_the_belief_was_learnt(two: Cli) -> None:
    told = "moved towards what another player of this log showed"
    among, alone = (
        " ".join(two.ok("--player", "Kim", "chart", "--why", *more).out.split()) for more in ((), ("--alone",))
    )
    assert told in among
    assert told not in alone
    assert two.ok("--player", "Kim", "chart", "--why", "--json").document["why"]["n_others"] == 1
