"""Bag, sessions, logging, listing, deleting, undoing."""

import re

import pytest

from tests.cli.harness import Cli
from wedgelab.units import YARD_M


def test_a_first_shot_is_stored_with_everything_that_was_said(bag: Cli) -> None:
    words = "log 54 9:00 68 --spin 7800 --speed 67mph --launch 31 --guess 70 --strike solid --lie mat --trajectory low"
    said = bag.ok(*words.split(), "--note", "first of the day", "--ball", "range")
    assert re.fullmatch(
        r"logged 54 9:00 68 yd, 7800 rpm, guess 70 \(2 yd over\), solid, mat, low  \[[0-9a-f]{8}\]\n", said.out
    )
    (shot,) = bag.shots()
    assert shot["carry_m"] == pytest.approx(68 * YARD_M)
    assert shot["guess_m"] == pytest.approx(70 * YARD_M)
    assert shot["ball_speed_mps"] == pytest.approx(67 * 0.44704)
    expected = {
        "player": "me", "wedge": "54", "loft_deg": 54.0, "swing": "9:00", "swing_deg": 90.0, "spin_rpm": 7800.0,
        "launch_deg": 31.0, "strike": "solid", "lie": "mat", "trajectory": "low", "note": "first of the day",
        "ball": "range",
    }  # fmt: skip
    assert {key: shot[key] for key in expected} == expected


@pytest.mark.parametrize(
    ("carry", "metres"), [("68", 68 * YARD_M), ("68yd", 68 * YARD_M), ("62m", 62.0), ("62,5m", 62.5)]
)
def test_the_carry_may_name_its_unit(bag: Cli, carry: str, metres: float) -> None:
    bag.ok("log", "54", "9:00", carry)
    assert bag.shots()[0]["carry_m"] == pytest.approx(metres, abs=1e-6)


def test_the_players_unit_is_what_a_bare_number_means(bag: Cli) -> None:
    bag.ok("players", "set", "--units", "m")
    bag.ok("log", "54", "9:00", "62")
    bag.ok("--units", "yd", "log", "54", "9:00", "62")
    assert [shot["carry_m"] for shot in bag.shots()] == pytest.approx([62.0, 62 * YARD_M], abs=1e-6)
    assert "carry m" in bag.ok("shots").out


@pytest.mark.parametrize(
    ("swing", "label", "degrees"), [("full", "full", 165.0), ("8:30", "8:30", 75.0), ("90", "9:00", 90.0)]
)
def test_a_swing_may_be_a_name_a_clock_or_degrees(bag: Cli, swing: str, label: str, degrees: float) -> None:
    bag.ok("log", "54", swing, "60")
    assert (bag.shots()[0]["swing"], bag.shots()[0]["swing_deg"]) == (label, degrees)


def test_a_bent_wedge_keeps_its_history_and_old_shots_their_loft(bag: Cli) -> None:
    bag.ok("log", "54", "9:00", "68")
    said = bag.ok("bag", "add", "54", "53")
    assert said.err == "wedge 54 is 53.0 deg from now on; shots logged so far keep 54.0 deg\n"
    bag.ok("log", "54", "9:00", "70")
    assert [shot["loft_deg"] for shot in bag.shots()] == [54.0, 53.0]
    history = bag.ok("bag", "history", "--json").document["wedges"]
    entries = [(e["wedge"]["label"], e["wedge"]["loft_deg"], e["retired_at"] is None) for e in history]
    assert ("54", 54.0, False) in entries
    assert ("54", 53.0, True) in entries
    cells = bag.ok("chart", "--json").document["cells"]
    assert {cell["loft_deg"] for cell in cells if cell["wedge"] == "54"} == {53.0}


def test_a_removed_wedge_leaves_the_chart_and_keeps_its_shots(log: Cli) -> None:
    log.ok("bag", "remove", "58")
    assert {cell["wedge"] for cell in log.ok("chart", "--json").document["cells"]} == {"50", "54"}
    assert sum(shot["wedge"] == "58" for shot in log.shots()) == 2


def test_adding_the_same_wedge_again_says_so(bag: Cli) -> None:
    assert bag.ok("bag", "add", "54").err == "wedge 54 is in the bag already, with that loft and bounce\n"


def test_lines_through_a_pipe_take_over_what_they_leave_out(bag: Cli) -> None:
    result = bag.ok("log", stdin="54 9:00 67\n65.5\n66 7900 guess=64\nundo\nfull 84 rough\n58 60\n\n?\n")
    assert result.err.splitlines()[-1] == "4 logged, 4 in the log"
    told = [(s["wedge"], s["swing"], round(s["carry_m"] / YARD_M, 1), s["lie"]) for s in bag.shots()]
    assert told == [
        ("54", "9:00", 67.0, ""),
        ("54", "9:00", 65.5, ""),
        ("54", "full", 84.0, "rough"),
        ("58", "full", 60.0, ""),
    ]
    assert "[WEDGE] [SWING] CARRY" in result.out


def test_a_bad_line_in_a_pipe_is_named_the_others_are_stored_and_the_code_says_so(bag: Cli) -> None:
    result = bag("log", stdin="54 9:00 67\n54 9:00 xx\n99 9:00 50\n66\n")
    assert result.code == 2
    assert "carry 'xx' cannot be read" in result.err
    assert "unknown wedge '99'" in result.err
    # the bare 66 came after a line that named another wedge: nobody can tell which one it was hit with
    assert result.error == "3 line(s) were refused; mend them and log them again; the others are stored"
    assert len(bag.shots()) == 1


def test_quick_entry_goes_on_with_the_last_wedge_and_swing_of_the_log(log: Cli) -> None:
    log.ok("log", stdin="97\n")
    assert (log.shots()[-1]["wedge"], log.shots()[-1]["swing"]) == ("50", "full")


def test_shots_of_a_day_go_into_one_session_until_another_is_started(bag: Cli) -> None:
    assert "begins" in bag.ok("log", "54", "9:00", "68").err
    assert bag.ok("log", "54", "9:00", "69").err == ""
    bag.ok("session", "new", "evening", "--temp", "54F", "--wind", "-2m/s", "--note", "wet")
    bag.ok("log", "54", "9:00", "70")
    bag.ok("log", "54", "9:00", "71", "--session", "other")
    sessions = bag.ok("session", "list", "--json").document["sessions"]
    assert [s["n_shots"] for s in sessions] == [2, 1, 1]
    evening = next(s for s in sessions if s["name"] == "evening")
    assert evening["conditions"]["air_temp_c"] == pytest.approx(12.222, abs=1e-3)
    assert (evening["conditions"]["wind_mps"], evening["note"]) == (-2.0, "wet")
    bag.ok("session", "set", "evening", "--ball", "own")
    assert "own" in bag.ok("session", "list").out
    assert "'evening'" in bag.fails(1, "session", "new", "evening")


def test_delete_by_the_beginning_of_the_id_and_undo_the_rest(log: Cli) -> None:
    ids = [shot["shot_id"] for shot in log.shots()]
    assert log.ok("shots", "delete", ids[2][:8]).err.startswith("deleted 54 10:30 80 yd")
    assert [shot["shot_id"] for shot in log.shots()] == ids[:2] + ids[3:]
    assert log.fails(1, "shots", "delete", ids[2][:8])  # gone is gone
    assert log.ok("shots", "undo").err == "taken back: the deletion of 54 10:30 80 yd, 8900 rpm\n"
    assert len(log.shots()) == 6
    again = next(s["shot_id"] for s in log.shots() if s["swing"] == "10:30")
    log.ok("shots", "delete", again)
    assert log.ok("shots", "restore", again[:8]).err.startswith("restored 54 10:30 80 yd")
    again = next(s["shot_id"] for s in log.shots() if s["swing"] == "10:30")
    log.ok("shots", "delete", again)
    assert log.fails(1, "shots", "delete", ids[0], "ffffffff").startswith("unknown shot 'ffffffff'")
    log.ok("shots", "undo")
    log.ok("shots", "delete", next(s["shot_id"] for s in log.shots() if s["swing"] == "10:30"))
    log.ok("shots", "undo")
    assert log.ok("shots", "undo").err == "taken back: 50 full 96 yd\n"
    assert [shot["shot_id"] for shot in log.shots() if shot["swing"] != "10:30"] == [*ids[:2], *ids[3:5]]
    for _ in range(5):
        log.ok("shots", "undo")
    assert log.shots() == []
    assert "left to undo" in log.fails(1, "shots", "undo")


def test_a_writing_command_makes_an_unknown_player_and_says_so_a_reading_one_names_the_nearest(log: Cli) -> None:
    assert log.ok("--player", "Robin", "bag", "add", "56").err.startswith("new player Robin\n")
    assert log.fails(1, "--player", "robyn", "chart") == "unknown player 'robyn'; did you mean 'Robin'?"
    assert log.fails(2, "chart") == "the log has 2 players; say whose: --player me (or Robin)"
    assert len(log.ok("--player", "ME", "shots", "list", "--json").document["shots"]) == 6
    assert [p["player"] for p in log.ok("players", "--json").document["players"]] == ["me", "Robin"]


def test_hostile_words_are_refused_or_harmless(bag: Cli) -> None:
    assert "control and invisible" in bag.fails(1, "bag", "add", "5\x1b[31m4", "54")
    assert "\x1b" not in bag.fails(1, "log", "5\x1b[31m4", "9:00", "68")
    assert "invisible" in bag.fails(1, "log", "54", "9:00", "68", "--note", "a\u202eb")
    assert "40 characters" in bag.fails(1, "bag", "add", "x" * 41, "54")
    bag.ok("log", "54", "9:00", "68", "--note", "=cmd()")
    bag.ok("bag", "add", "<script>", "56")
    assert "'=cmd()" in bag.ok("export").out
    assert bag.shots()[0]["note"] == "=cmd()"


def test_a_carry_far_from_the_others_is_said_and_kept(bag: Cli) -> None:
    bag.ok("log", stdin="58 full 72\n73\n")
    said = bag.ok("log", "58", "full", "7")
    assert said.err == "that is far from your other 58 full (about 73 yd); wedgelab shots undo takes it back\n"
    assert "(that is far from your other 58 full" in bag.ok("log", stdin="58 full 140\n").out
    assert bag.ok("log", "58", "full", "70").err == ""
    assert len(bag.shots()) == 5


def test_a_second_name_for_a_length_takes_the_place_of_the_first(log: Cli) -> None:
    said = log.ok("bag", "swing", "half", "90").err
    assert "it takes the place of 9:00, which has the same length" in said
    assert [s["label"] for s in log.ok("bag", "--json").document["swings"]] == ["8:00", "half", "10:00", "full"]
    cells = log.ok("chart", "--json").document["cells"]
    assert [c["n_shots"] for c in cells if c["swing"] == "half"] == [1, 1, 1]
