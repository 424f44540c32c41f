"""What is said where the air of a file or a session may be read wrongly, and the drill in the air of its session."""

from pathlib import Path

import pytest

from tests.cli.harness import Cli
from wedgelab.physics.bounce import GREENS
from wedgelab.units import format_length

START = "session,club,loft,swing,carry_m"


@pytest.mark.parametrize(
    ("winds", "told"), [(("3", "2"), True), (("3", "-2"), False), (("-3", "-2"), False), (("0", "0"), False)]
)
def test_winds_that_are_all_positive_are_said_to_be_tail_winds(
    cli: Cli, tmp_path: Path, winds: tuple[str, str], told: bool
) -> None:
    rows = "".join(f"{name},54,54,9:00,60,{wind}\n" for name, wind in zip("ab", winds, strict=True))
    path = tmp_path / "range.csv"
    path.write_text(f"{START},wind m/s\n{rows}", encoding="utf-8")
    assert ("read as a tail wind" in cli.ok("import", str(path)).err) is told


def test_a_file_that_contradicts_a_session_of_the_log_says_so(cli: Cli, tmp_path: Path) -> None:
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    first.write_text(f"{START},wind m/s,temp (C)\na,54,54,9:00,60,-3,10\n", encoding="utf-8")
    second.write_text(f"{START},wind m/s,temp (C)\na,54,54,9:00,61,-5,10\n", encoding="utf-8")
    cli.ok("import", str(first))
    said = cli.ok("import", str(second)).err
    assert "session 'a' has wind -3.0 m/s already, and keeps it; the file says -5.0 m/s" in said
    assert "temp" not in said
    sessions = cli.ok("session", "list", "--json").document["sessions"]
    assert [s["conditions"]["wind_mps"] for s in sessions] == [-3.0]


def test_a_drill_calls_and_advises_in_the_air_of_its_session(log: Cli) -> None:
    words = ("drill", "--balls", "3", "--seed", "5", "--json")
    calm = log.ok(*words, stdin="quit\n")
    assert "for the air of session" not in calm.err
    log.ok("session", "new", "gale", "--wind", "-8m/s")
    windy = log.ok(*words, stdin="quit\n")
    assert "calls and advice are for the air of session gale: head wind 8 m/s" in windy.err
    longest = log.ok("chart", "--wind", "-8m/s", "--json").document["cells"]
    reach = max(cell["carry_today_m"] for cell in longest)
    plain = max(cell["carry_m"] for cell in longest)
    assert reach < plain - 3
    assert max(windy.document["calls_m"]) <= reach + 1
    assert max(calm.document["calls_m"]) <= plain + 1
    assert windy.document["calls_m"] != calm.document["calls_m"]


def test_a_shot_that_never_gets_up_makes_nobody_speak_of_drift(log: Cli) -> None:
    high = log.ok("chart", "--rise", "15m", "--json").document["cells"]
    assert any(cell["carry_today_m"] is None for cell in high)
    assert all(cell["drift_today_m"] is None for cell in high)
    assert "drift" not in log.ok("chart", "--rise", "15m").out
    assert "cross wind" not in log.ok("choose", "70", "--rise", "5m").out


def test_the_greens_that_can_be_asked_for_are_those_that_physics_knows(log: Cli) -> None:
    assert f"--green [{'|'.join(GREENS)}]" in log.ok("choose", "--help").out
    for green in GREENS:
        assert log.ok("choose", "70", "--green", green, "--json").document["green"] == green


def test_the_choice_says_how_high_its_best_option_flies(log: Cli) -> None:
    best = log.ok("choose", "70", "--json").document["options"][0]
    apex = format_length(best["apex_m"], "yd")
    shown = apex if best["flight_support"] == "measured" else f"({apex})"
    assert f"Apex of {best['wedge']} {best['swing']}: {shown} yd above the ball." in log.ok("choose", "70").out


def test_a_pressure_of_a_day_is_not_held_against_the_altitude_of_the_reference(log: Cli) -> None:
    log.ok("players", "set", "--altitude", "30m")
    by_pressure = log.ok("chart", "--pressure", "877.16hPa", "--json").document["cells"]
    by_altitude = log.ok("chart", "--altitude", "1200m", "--json").document["cells"]
    for one, other in zip(by_pressure, by_altitude, strict=True):
        assert one["carry_today_m"] == pytest.approx(other["carry_today_m"], abs=1e-3)
        assert one["carry_today_m"] != one["carry_m"]
