"""The drill by a pipe: calls, answers, what is stored, stopping and going on."""

import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from itertools import pairwise
from pathlib import Path

import pytest

from tests.cli.harness import Cli
from wedgelab.store.store import SqliteStore
from wedgelab.units import YARD_M

CALL = re.compile(r"^Call (\d+) of (\d+): (\d+) yd(?:   \((\S+) (\S+)\))?$", re.MULTILINE)


def calls(text: str) -> list[int]:
    return [int(match[3]) for match in CALL.finditer(text)]


def test_every_ball_is_a_shot_with_its_call_and_the_summary_adds_up(log: Cli) -> None:
    result = log.ok(
        "drill",
        "--balls",
        "4",
        "--seed",
        "5",
        "--from",
        "60",
        "--to",
        "90",
        stdin="70\nguess 66\n64\nskip\n58 full 75\n",
    )
    called = calls(result.out)
    assert len(called) == 4
    assert all(60 <= call <= 90 for call in called)
    balls = [shot for shot in log.shots() if shot["drill_id"]]
    assert [shot["call_no"] for shot in balls] == [1, 2, 4]
    assert [round(shot["target_m"] / YARD_M, 6) for shot in balls] == [called[0], called[1], called[3]]
    assert [shot["carry_m"] / YARD_M for shot in balls] == pytest.approx([70, 64, 75])
    assert [shot["guess_m"] and round(shot["guess_m"] / YARD_M, 6) for shot in balls] == [None, 66.0, None]
    assert (balls[2]["wedge"], balls[2]["swing"]) == ("58", "full")
    assert all(shot["advice_shown"] and shot["advised_wedge"] and shot["window_m"] >= 2.0 for shot in balls)
    misses = [70 - called[0], 64 - called[1], 75 - called[3]]
    assert f"{sum(misses) / 3:+.1f}" in result.out
    assert "Skipped: 1 call." in result.out
    assert "the guess was 2.0 yd over" in result.out
    assert "Range safety" in result.err


def test_the_same_seed_gives_the_same_calls_and_another_one_others(log: Cli) -> None:
    first, again, other = (
        calls(log.ok("drill", "--balls", "12", "--seed", seed, "--from", "45", "--to", "85", stdin="skip\n" * 12).out)
        for seed in ("5", "5", "6")
    )
    assert first == again != other


def test_calls_stay_in_reach_and_inside_the_range(log: Cli) -> None:
    result = log.ok("drill", "--balls", "30", "--seed", "1", "--from", "5", "--to", "200", stdin="skip\n" * 30)
    assert "the chart reaches" in result.err
    assert max(calls(result.out)) < 110
    log.ok("players", "set", "--range-limit", "70yd")
    assert max(calls(log.ok("drill", "--balls", "30", "--seed", "1", stdin="skip\n" * 30).out)) <= 70
    assert "beyond the range limit of 70 yd" in log.fails(2, "drill", "--to", "80")


def test_steps(log: Cli) -> None:
    result = log.ok(
        "drill", "--balls", "9", "--seed", "2", "--from", "40", "--to", "80", "--step", "5", stdin="skip\n" * 9
    )
    assert all(call % 5 == 0 for call in calls(result.out))
    assert "not above 0" in log.fails(2, "drill", "--step", "0")


def test_a_drill_that_is_stopped_goes_on_at_the_same_call_with_the_same_calls_to_come(log: Cli) -> None:
    words = ("drill", "--balls", "5", "--seed", "9", "--order", "random")
    whole = calls(log.ok(*words, stdin="skip\n" * 5).out)
    first = log.ok(*words, stdin="70\n60\nquit\n")
    assert "stopped at call 3; go on with: wedgelab drill --resume" in first.err
    second = log.ok("drill", "--resume", stdin="61\n")  # the input ends: stopped again
    assert calls(second.out) == whole[2:4]
    third = log.ok("drill", "--resume", stdin="62\n63\n")
    assert calls(third.out) == whole[3:]
    assert "Drill of 5 balls" in third.out
    again = log.ok("drill", "--resume")  # asks nothing, and says once more what it came to
    assert "is over; another one: wedgelab drill" in again.err
    assert again.out == third.out[third.out.index("\nDrill of 5 balls") :]


def test_undo_takes_the_ball_out_of_the_log_and_calls_again(log: Cli) -> None:
    before = len(log.shots())
    result = log("drill", "--balls", "2", "--seed", "3", "--order", "random", stdin="70\nundo\nundo\n71\n60\n")
    first, second, *rest = calls(result.out)
    assert rest == [first, second]  # the undo goes back to the first call
    assert result.code == 2  # the second undo had nothing to take back
    assert "there is nothing to undo yet; hit the first ball" in result.err
    assert [round(shot["carry_m"] / YARD_M) for shot in log.shots()[before:]] == [71, 60]


def test_a_ball_deleted_from_the_log_is_a_skipped_call_when_the_drill_goes_on(log: Cli) -> None:
    log.ok("drill", "--balls", "3", "--seed", "3", stdin="70\n60\n")
    log.ok("shots", "undo")
    document = log.ok("drill", "--resume", "--json", stdin="65\n").document
    assert [ball["call_no"] for ball in document["balls"]] == [1, 3]
    assert document["summary"]["skipped"] == 1
    assert document["is_over"] is True


def test_bad_answers_are_named_keep_the_call_and_make_the_exit_code_2(log: Cli) -> None:
    result = log(
        "drill", "--balls", "1", "--seed", "3", stdin="abc\n99 9:00 60\nguess far\n54 9:00 900\n70 guess=60\n70\n"
    )
    assert result.code == 2
    assert result.error == "5 line(s) were refused; the lines above say why; the other balls are stored"
    assert len(calls(result.out)) == 1
    assert sum(bool(shot["drill_id"]) for shot in log.shots()) == 1


def test_without_a_chart_it_needs_a_span_and_the_wedge(bag: Cli) -> None:
    assert "give --from and --to" in bag.fails(3, "drill")
    result = bag("drill", "--balls", "2", "--from", "50", "--to", "60", stdin="55\n54 9:00 55\n54 9:00 57\n")
    assert "no wedge and swing to go by" in result.err
    assert [shot["wedge"] for shot in bag.shots()] == ["54", "54"]
    assert "There is no chart yet" in " ".join(result.out.split())


def test_no_advice_is_not_shown_and_stored_as_not_shown(log: Cli) -> None:
    result = log.ok("drill", "--balls", "1", "--seed", "3", "--no-advice", stdin="54 9:00 70\n")
    assert "(" not in result.out.splitlines()[0]
    assert log.shots()[-1]["advice_shown"] is False


def test_json_is_the_only_thing_on_stdout(log: Cli) -> None:
    result = log.ok("drill", "--balls", "2", "--seed", "4", "--json", stdin="70\n60\n")
    document = result.document
    assert [ball["miss_m"] for ball in document["balls"]] == [
        pytest.approx(ball["carry_m"] - ball["target_m"], abs=2e-6) for ball in document["balls"]
    ]
    total = document["summary"]["total"]
    assert total["e_m"] ** 2 == pytest.approx(total["ce_m"] ** 2 + total["ve_m"] ** 2, abs=1e-4)  # exact identity
    assert "Call 1 of 2" in result.err


@pytest.mark.parametrize("moment", ["after the miss", "while typing"])
def test_a_killed_drill_has_every_ball_whose_miss_was_shown(log: Cli, tmp_path: Path, moment: str) -> None:
    db = tmp_path / "own-log.db"
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "wedgelab", "drill", "--balls", "9", "--seed", "3"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    shown = 0
    for carry in (70, 60, 65):
        process.stdin.write(f"{carry}\n")
        process.stdin.flush()
        while not (line := process.stdout.readline()).startswith("  "):
            assert line, "the drill ended early"
        shown += 1
    if moment == "while typing":
        process.stdin.write("5")
        process.stdin.flush()
    process.send_signal(signal.SIGKILL)
    process.wait(timeout=20)
    process.stdin.close()
    process.stdout.close()
    with SqliteStore.open(db, create=False) as store:
        assert store.check() == []
        assert [round(s.carry_m / YARD_M) for s in store.shots("me") if s.drill_id] == [70, 60, 65][:shown]
    assert calls(log.ok("drill", "--resume", stdin="quit\n").out)[0] > 0


# --- orders, aim, window


def test_the_first_three_drills_rise_and_later_ones_are_random(log: Cli) -> None:
    rising = log.ok("drill", "--balls", "9", "--seed", "1", stdin="skip\n" * 9)
    assert "order: rising" in rising.err
    called = calls(rising.out)
    assert called[0] == called[1] == called[2]
    for _ in range(3):
        log.ok("drill", "--balls", "2", "--seed", "1", stdin="70\nquit\n")
    later = log.ok("drill", "--balls", "12", "--seed", "1", stdin="skip\n" * 12)
    assert "order" not in later.err
    assert all(a != b for a, b in pairwise(calls(later.out)))


def test_threes_are_three_of_each(log: Cli) -> None:
    called = calls(log.ok("drill", "--balls", "9", "--seed", "1", "--order", "threes", stdin="skip\n" * 9).out)
    assert [called[i] == called[i + 1] for i in range(8)] == [True, True, False] * 2 + [True, True]


def test_focus_calls_more_where_the_chart_is_in_doubt_and_never_drops_the_rest(log: Cli) -> None:
    # a swing that nobody hit lies between the short and the long ones of this log
    words = ("drill", "--balls", "60", "--seed", "1", "--order", "random", "--step", "3")
    even = calls(log.ok(*words, stdin="skip\n" * 60).out)
    aimed = calls(log.ok(*words, "--focus", "weak", stdin="skip\n" * 60).out)
    edges = sorted(even)[15], sorted(even)[30], sorted(even)[45]

    def counts(called: list[int]) -> list[int]:
        return [sum(low < call <= high for call in called) for low, high in pairwise((0, *edges, 999))]

    assert min(counts(aimed)) >= 5
    assert counts(aimed) != counts(even)


def test_focus_needs_a_chart(bag: Cli) -> None:
    assert "there is no chart to find what is weak by" in bag.fails(
        3, "drill", "--from", "40", "--to", "60", "--focus", "weak"
    )


def test_a_window_that_holds_a_share_widens_after_misses_and_is_stored_with_each_ball(log: Cli) -> None:
    log.ok("drill", "--balls", "4", "--seed", "1", "--hold", "60%", "--order", "threes", stdin="5\n5\n5\n5\n")
    balls = [shot for shot in log.shots() if shot["drill_id"]]
    shares = [ball["window_m"] / max(2.0, 0.05 * ball["target_m"]) for ball in balls]
    assert shares == sorted(shares)
    assert shares[-1] > 1.4 * shares[0]


@pytest.mark.parametrize("share", ["5%", "95%", "most"])
def test_a_share_that_no_window_can_hold(log: Cli, share: str) -> None:
    assert "a share from 20% to 90%" in log.fails(2, "drill", "--hold", share)


# --- words that do not go together


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--resume", "--balls", "5"), "--resume with --balls; a drill goes on as it was begun"),
        (("--resume", "--guess"), "--resume with --guess; a drill goes on as it was begun"),
        (("--resume", "--test"), "--resume with --test; a drill goes on as it was begun"),
        (("--test", "--from", "40"), "--test with --from; a test has the calls of the earlier drill"),
        (("--test", "--no-advice"), "--test with --no-advice; a test has the calls of the earlier drill"),
        (("--of", "2026"), "--of without --test; say both"),
        (("--mapping", "x"), "a mapping without a file; give --follow FILE too"),
        (("--png", "drill.txt"), "--png 'drill.txt' does not end in .png; name a .png file"),
        (("--pdf", "no-such-folder/drill.pdf"), "--pdf 'no-such-folder/drill.pdf' is no place for a picture"),
        (("--follow", "x.csv", "--mapping", "none"), "unknown mapping 'none'; none is known yet"),
    ],
)
def test_words_that_a_drill_cannot_heed(log: Cli, words: tuple[str, ...], sentence: str) -> None:
    result = log("drill", *words)
    assert (result.code, result.out) in {(2, ""), (1, "")}
    assert result.error.startswith(sentence)


# --- a later test


def test_a_test_has_the_calls_of_the_earlier_drill_without_advice_and_compares(log: Cli) -> None:
    words = ("drill", "--balls", "8", "--seed", "2", "--order", "random")
    first = log.ok(*words, stdin="".join(f"54 9:00 {60 + i}\n" for i in range(8)))
    result = log.ok("drill", "--test", stdin="".join(f"54 9:00 {70 + i}\n" for i in range(8)))
    assert calls(result.out) == calls(first.out)
    assert "(" not in result.out.splitlines()[0]
    assert "a test on a later day says more" in result.err
    assert [shot["advice_shown"] for shot in log.shots()][-8:] == [False] * 8
    document = log.ok("drill", "--test", "--json", stdin="".join(f"54 9:00 {60 + i}\n" for i in range(8))).document
    comparison = document["summary"]["comparison"]
    # the latest drill that was no test is repeated, and was played just as well
    assert comparison["then_e_m"] == pytest.approx(comparison["now_e_m"])
    assert comparison["e_ratio"] == pytest.approx(1.0)


def test_a_test_is_told_which_drill(log: Cli) -> None:
    log.ok("drill", "--balls", "5", "--seed", "2", stdin="60\n" * 5)
    log.ok("drill", "--balls", "5", "--seed", "3", stdin="60\n" * 5)
    ids = {shot["drill_id"]: None for shot in log.shots() if shot["drill_id"]}
    first, _ = ids
    wanted = [round(shot["target_m"] / YARD_M) for shot in log.shots() if shot["drill_id"] == first]
    assert calls(log.ok("drill", "--test", "--of", first[:8], stdin="quit\n").out) == wanted[:1]
    message = log.fails(1, "drill", "--test", "--of", "1999")
    assert message.startswith("unknown drill '1999'; known: ")


def test_there_must_be_a_drill_to_repeat(log: Cli) -> None:
    log.ok("drill", "--balls", "4", "--seed", "2", stdin="60\n" * 4)
    assert "no earlier drill has 5 balls or more" in log.fails(3, "drill", "--test")


# --- correcting, the split, the picture


def test_a_corrected_ball_stands_once_with_all_that_was_not_typed_again(log: Cli) -> None:
    before = len(log.shots())
    log.ok(
        "drill",
        "--balls",
        "2",
        "--seed",
        "3",
        "--no-advice",
        stdin="guess 66\n54 9:00 70 7900 rough\nfix 71.5\n54 9:00 50\n",
    )
    first, second = log.shots()[before:]
    assert (round(first["carry_m"] / YARD_M, 6), first["spin_rpm"], first["lie"]) == (71.5, 7900.0, "rough")
    assert (first["call_no"], round(first["guess_m"] / YARD_M, 6), second["call_no"]) == (1, 66.0, 2)


def test_the_error_is_split_and_held_against_the_chart(log: Cli) -> None:
    document = log.ok("drill", "--balls", "6", "--seed", "4", "--json", stdin="70\n60\n65\n72\n58\n66\n").document
    summary = document["summary"]
    split = summary["split"]
    parts = split["choice_m"] ** 2 + split["chart_m"] ** 2 + split["execution_m"] ** 2 + split["together_m2"]
    assert parts == pytest.approx(split["split_e_m"] ** 2, abs=1e-3)
    assert summary["ratio"]["e_ratio_low"] <= summary["ratio"]["e_ratio"] <= summary["ratio"]["e_ratio_high"]
    assert all(ball["chart_carry_m"] > 0 for ball in document["balls"])


def test_pictures_are_saved_in_each_format(log: Cli, tmp_path: Path) -> None:
    paths = [tmp_path / f"drill.{ending}" for ending in ("png", "svg", "pdf")]
    words = [word for path in paths for word in (f"--{path.suffix[1:]}", str(path))]
    said = log.ok("drill", "--balls", "2", "--seed", "4", *words, stdin="70\n60\n").err
    assert [path.read_bytes()[:5] for path in paths] == [b"\x89PNG\r", b"<?xml", b"%PDF-"]
    assert said.endswith("".join(f"drawn into {path}\n" for path in paths))


def test_the_misses_are_drawn_ball_by_ball_and_the_errors_of_each_five_balls_stand_in_the_json_too(log: Cli) -> None:
    words = ("drill", "--balls", "7", "--seed", "4", "--from", "60", "--to", "60")
    carries = "64\n58\n60\n66\n52\n61\n60\n"  # misses of 4, -2, 0, 6, -8, 1, 0 yd
    text = log.ok(*words, stdin=carries).out
    assert "\n  long  ▄  ▆ ▁   3 balls, at most 6.0\n  short  ▂  █    2 balls, at most 8.0\n" in text
    blocks = log.ok(*words, "--json", stdin=carries).document["error_blocks"]
    # E of (4, -2, 0, 6, -8) is sqrt(120 / 5), of (1, 0) sqrt(1 / 2)
    assert [(block["call_no"], block["n"]) for block in blocks] == [(1, 5), (6, 2)]
    assert [block["e_m"] / YARD_M for block in blocks] == pytest.approx([24.0**0.5, 0.5**0.5], abs=1e-5)
    assert "  E of each five balls: █▂  4.9, 0.7 yd (2 balls)\n" in text


def test_what_is_said_of_a_first_drill_fits_the_width(log: Cli) -> None:
    said = log.ok("drill", "--balls", "2", "--seed", "4", stdin="60\n70\n").err.splitlines()
    assert any(line.startswith("order: rising") for line in said)
    assert max(map(len, said)) <= 80


def test_a_drill_without_a_ball_has_no_picture_and_says_so(log: Cli, tmp_path: Path) -> None:
    result = log.ok("drill", "--balls", "2", "--png", str(tmp_path / "drill.png"), stdin="quit\n")
    assert "no ball, so no picture" in result.err
    assert not (tmp_path / "drill.png").exists()


# --- read aloud


def test_without_a_speech_program_one_line_says_what_to_install(log: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    result = log.ok("drill", "--balls", "1", "--speak", stdin="70\n")
    assert sum("no speech program was found" in line for line in result.err.splitlines()) == 1


def test_the_calls_and_misses_are_handed_to_the_speech_program(
    log: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard = tmp_path / "heard.txt"
    program = tmp_path / "bin" / "espeak-ng"
    program.parent.mkdir()
    program.write_text(f"#!/bin/sh\n/bin/cat >> {heard}\n", encoding="utf-8")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(program.parent))
    log.ok("drill", "--balls", "1", "--seed", "4", "--speak", stdin="70\n")
    assert "that was the last call" in heard.read_text(encoding="utf-8")


# --- a watched file, line by line


def test_rows_of_a_watched_file_are_balls_in_the_line_mode_too(log: Cli, tmp_path: Path) -> None:
    file = tmp_path / "range.csv"
    file.write_text("carry_yd,spin_rpm\n", encoding="utf-8")  # a device that knows no clubs
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "wedgelab", "drill", "--balls", "3", "--seed", "3", "--follow", str(file)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline().startswith("Call 1 of 3")
    with file.open("a", encoding="utf-8") as device:
        device.write("70.5,7800\n")
    while not process.stdout.readline().startswith("Call 2 of 3"):
        pass
    process.stdin.write("66\n")
    process.stdin.flush()
    while not process.stdout.readline().startswith("Call 3 of 3"):
        pass
    process.stdin.write("quit\n")
    process.stdin.flush()
    _, err = process.communicate(timeout=30)
    assert process.returncode == 0, err
    balls = [shot for shot in log.shots() if shot["drill_id"]]
    assert [(round(ball["carry_m"] / YARD_M, 3), ball["spin_rpm"]) for ball in balls] == [(70.5, 7800.0), (66.0, None)]
    assert all(ball["wedge"] == ball["advised_wedge"] for ball in balls)


def test_a_drill_of_skipped_calls_says_that_there_is_nothing_to_sum_up(log: Cli) -> None:
    result = log.ok("drill", "--balls", "2", "--seed", "3", stdin="skip\nskip\n")
    assert result.err.splitlines()[-1] == "every call was skipped: there is nothing to sum up"


# --- others at work


def test_a_drill_that_another_program_went_on_with_takes_nothing_more(log: Cli, tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "wedgelab", "drill", "--balls", "3", "--seed", "3", "--order", "random"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline().startswith("Call 1 of 3")
    log.ok("drill", "--resume", stdin="70\n")
    _, err = process.communicate("71\nquit\n", timeout=30)
    assert process.returncode == 2
    assert "another program went on with this drill, so nothing was stored here; quit, then go on with" in err
    assert [round(shot["carry_m"] / YARD_M) for shot in log.shots() if shot["drill_id"]] == [70]


def test_a_ball_that_was_deleted_elsewhere_meanwhile_cannot_be_corrected_and_does_not_count(log: Cli) -> None:
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "wedgelab", "drill", "--balls", "2", "--seed", "3", "--order", "random"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("70\n")
    process.stdin.flush()
    while not process.stdout.readline().startswith("Call 2"):
        pass
    log.ok("shots", "undo")
    out, err = process.communicate("fix 71\n66\n", timeout=30)
    assert "that ball is no longer in the log; undo, and the call comes again" in err
    assert "Drill of 1 ball:" in out


def test_a_row_that_was_imported_before_the_drill_took_it_is_not_taken_twice(log: Cli, tmp_path: Path) -> None:
    file = tmp_path / "range.csv"
    file.write_text("wedge,swing,carry_yd\n", encoding="utf-8")
    process = subprocess.Popen(
        [
            sys.executable, "-u", "-m", "wedgelab", "drill", "--balls", "2", "--seed", "3", "--guess", "--follow",
            str(file),
        ],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline().startswith("Call 1")
    with file.open("a", encoding="utf-8") as device:
        device.write("54,9:00,70\n")
    time.sleep(1.0)  # the row is seen, and waits for the guess
    log.ok("import", str(file))
    _, err = process.communicate("68\n54 9:00 66\nquit\n", timeout=30)
    assert "line 2 of the file was imported meanwhile, so it is in the log already" in err
    carries = [round(shot["carry_m"] / YARD_M) for shot in log.shots()]
    assert (carries.count(70), carries.count(66)) == (1, 1)


@pytest.mark.parametrize("kind", ["folder", "pipe"])
def test_only_an_ordinary_file_is_followed(log: Cli, tmp_path: Path, kind: str) -> None:
    path = tmp_path / "thing"
    if kind == "folder":
        path.mkdir()
    else:
        os.mkfifo(path)
    assert "is no ordinary file; give the CSV file that the device writes" in log.fails(
        2, "drill", "--follow", str(path)
    )


def test_a_ball_that_a_pipe_brings_to_a_locked_log_is_kept_beside_it(log: Cli, tmp_path: Path) -> None:
    log.ok("drill", "--balls", "2", "--seed", "3", stdin="70\n")
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "wedgelab", "drill", "--resume"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline().startswith("Call 2")
    with closing(sqlite3.connect(tmp_path / "own-log.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        _, err = process.communicate("66\n", timeout=30)
        other.execute("ROLLBACK")
    assert process.returncode == 1
    assert "the log did not take the last ball: it is safe in" in err
    done = log.ok("drill", "--resume")  # it goes in, and was the last one
    assert "stored 1 shot(s) that had been kept aside" in done.err
    assert "Drill of 2 balls" in done.out
