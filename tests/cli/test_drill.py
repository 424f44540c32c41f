"""The drill by a pipe: calls, answers, what is stored, stopping and going on."""

import re
import signal
import subprocess
import sys
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
    whole = calls(log.ok("drill", "--balls", "5", "--seed", "9", stdin="skip\n" * 5).out)
    first = log.ok("drill", "--balls", "5", "--seed", "9", stdin="70\n60\nquit\n")
    assert "stopped at call 3; go on with: wedgelab drill --resume" in first.err
    second = log.ok("drill", "--resume", stdin="61\n")  # the input ends: stopped again
    assert calls(second.out) == whole[2:4]
    third = log.ok("drill", "--resume", stdin="62\n63\n")
    assert calls(third.out) == whole[3:]
    assert "Drill of 5 balls" in third.out
    assert "is over" in log.fails(2, "drill", "--resume")


def test_undo_takes_the_ball_out_of_the_log_and_calls_again(log: Cli) -> None:
    before = len(log.shots())
    result = log("drill", "--balls", "2", "--seed", "3", stdin="70\nundo\nundo\n71\n60\n")
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
    result = bag("drill", "--balls", "2", "--from", "50", "--to", "60", stdin="55\n54 9:00 55\n57\n")
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
