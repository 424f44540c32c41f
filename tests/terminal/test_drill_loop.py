"""The drill as a conversation: a scripted player, and a desk that steps the real machine and remembers."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import pytest

from tests.terminal.desk import ADVICE, BAG, PLAN, Desk
from wedgelab.drill.machine import Ball, DrillState, Skip, Undo
from wedgelab.errors import StoreError
from wedgelab.terminal.drill_loop import HELP, DrillResult, drill_loop
from wedgelab.terminal.sitting import Leaving, Sitting


@dataclass
class Talk:
    result: DrillResult
    shown: list[str]
    complained: list[str]

    @property
    def calls(self) -> list[str]:
        return [line for line in self.shown if line.startswith("Call ")]


def talk(
    desk: Desk, lines: Sequence[str | BaseException], state: DrillState | None = None, *, reads: bool = True
) -> Talk:
    rest = iter(lines)
    shown, complained = list[str](), list[str]()

    def ask(prompt: str) -> str:
        assert prompt in {"carry (m)> ", "your guess (m)> "}
        line = next(rest, EOFError())
        if isinstance(line, BaseException):
            raise line
        return line

    sitting = Sitting(state or DrillState.start(PLAN), desk, BAG, "m")
    return Talk(drill_loop(sitting, ask, shown.append, complained.append, somebody_reads=reads), shown, complained)


CALLS = ["Call 1 of 3: 50 m   (54 9:00)", "Call 2 of 3: 60 m   (54 9:00)", "Call 3 of 3: 70 m   (54 9:00)"]


def test_a_whole_drill() -> None:
    desk = Desk()
    said = talk(desk, ["52", "58 full 64.5", "70", "71"])
    assert said.shown == [
        CALLS[0],
        "  2.0 m long, inside the window (47.0 to 53.0)",
        CALLS[1],
        "  4.5 m long, outside the window (57.0 to 63.0)",
        CALLS[2],
        "  on the number, inside the window (67.0 to 73.0)",
    ]
    assert said.result.state.is_over
    assert [(e.wedge.label, e.swing.label, e.carry_m) for e in desk.entries] == [
        ("54", "9:00", 52.0), ("58", "full", 64.5), ("54", "9:00", 70.0),  # left out: as advised, not as before
    ]  # fmt: skip
    assert desk.shown == [ADVICE] * 3


def test_without_a_chart_a_ball_needs_its_club() -> None:
    desk = Desk(advises=False)
    said = talk(desk, ["50", "58 full 52", "61", "54 9:00", "62"])
    assert said.complained == ["no wedge and swing to go by; name both once, for example: 54 9:00 68"] * 2
    assert said.calls == ["Call 1 of 3: 50 m", "Call 2 of 3: 60 m", "Call 3 of 3: 70 m"]
    assert "  next: 54 9:00" in said.shown
    assert [(e.wedge.label, e.carry_m) for e in desk.entries] == [("58", 52.0), ("54", 62.0)]


def test_a_guess_is_kept_for_the_ball_and_shown_with_it() -> None:
    desk = Desk()
    said = talk(desk, ["guess 48", "Guess\t49", "51", "guess 62", "60"])
    assert said.shown[1] == "  1.0 m long, inside the window (47.0 to 53.0); the guess was 2.0 m under"
    assert said.shown[3] == "  on the number, inside the window (57.0 to 63.0); the guess was 2.0 m over"
    assert [ball.guess_m for ball in said.result.state.played] == [49.0, 62.0]


def test_skip_leaves_a_call_out_and_undo_brings_it_back_and_says_it_again() -> None:
    desk = Desk()
    said = talk(desk, ["skip", "undo", "51", "undo", "52", "quit"])
    assert said.calls == [CALLS[0], CALLS[1], CALLS[0], CALLS[1], CALLS[0], CALLS[1]]
    assert [ball.carry_m for ball in said.result.state.played] == [52.0]
    assert [type(event) for event in desk.events] == [Skip, Undo, Ball, Undo, Ball]


@pytest.mark.parametrize(
    ("line", "complaint"),
    [
        ("far", "carry 'far' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("guess", "guess '' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("guess far", "guess 'far' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("51 guess=50", "a guess comes before the number; type guess N on a line of its own, then the carry"),
        ("undo", "there is nothing to undo yet; hit the first ball"),
        ("9999", "carry '9999' is outside 0.5 to 250 m; check the number and its unit"),
    ],
)
def test_a_refused_line_changes_nothing_and_the_call_stands(line: str, complaint: str) -> None:
    desk = Desk()
    said = talk(desk, [line, "", "52", "quit"])
    assert (said.complained, said.result.refused) == ([complaint], 1)
    assert said.calls == CALLS[:2]  # said once each
    assert [ball.carry_m for ball in said.result.state.played] == [52.0]
    assert len(desk.events) == 1


@pytest.mark.parametrize("line", ["skip", "guess 52"])
def test_an_event_that_the_log_refuses_keeps_the_call(line: str) -> None:
    desk = Desk(broken=1)
    said = talk(desk, [line, "51"])
    assert said.complained == ["database log.db: it is locked; try again"]
    assert said.calls == CALLS[:2]
    assert [(ball.call_no, ball.carry_m, ball.guess_m) for ball in said.result.state.played] == [(1, 51.0, None)]


def test_a_ball_that_the_log_refuses_is_held_and_stored_by_enter() -> None:
    desk = Desk(broken=2)
    said = talk(desk, ["52", "", "53", "skip", ""])
    assert said.complained == [
        "database log.db: it is locked; try again",
        "the ball is held: Enter tries again, undo drops it",
        "database log.db: it is locked; try again",
        "the ball is held: Enter tries again, undo drops it",
        "the ball 54 9:00 52.0 m is not in the log yet; Enter tries again, undo drops it",
        "the ball 54 9:00 52.0 m is not in the log yet; Enter tries again, undo drops it",
    ]
    assert [ball.carry_m for ball in said.result.state.played] == [52.0]
    assert said.result.leaving == Leaving()


def test_a_held_ball_is_dropped_by_undo_and_only_it() -> None:
    desk = Desk()
    state = talk(desk, ["51"]).result.state
    desk.broken = 1
    said = talk(desk, ["66", "undo", "61"], state)
    assert [ball.carry_m for ball in said.result.state.played] == [51.0, 61.0]


def test_a_held_ball_is_tried_once_more_at_the_end_and_then_kept_aside() -> None:
    desk = Desk(broken=1)
    said = talk(desk, ["52", "quit", "quit"])
    assert said.complained[2].startswith("the ball 54 9:00 52.0 m is not in the log yet; Enter tries again; quit again")
    assert len(said.complained) == 3
    assert ([ball.carry_m for ball in said.result.state.played], said.result.leaving) == ([52.0], Leaving())
    desk = Desk(broken=2)
    said = talk(desk, ["52", EOFError()])
    assert said.result.state.played == ()
    assert (said.result.leaving.kept_in, [entry.carry_m for entry in desk.aside]) == ("log.db.pending.jsonl", [52.0])


def test_a_held_ball_that_can_be_kept_nowhere_is_named() -> None:
    desk = Desk(broken=2, has_room=False)
    said = talk(desk, ["52", EOFError()])
    assert said.result.leaving.lost == (
        "the ball 54 9:00 52.0 m for the call of 50 m could be stored nowhere (log.db.pending.jsonl: full; make room)"
    )


def test_where_nobody_reads_a_ball_that_the_log_refuses_ends_the_drill_and_is_kept_beside_it() -> None:
    desk = Desk(broken=2)
    said = talk(desk, ["52", "53"], reads=False)
    assert isinstance(said.result.failure, StoreError)
    assert (said.result.leaving.kept_in, [entry.carry_m for entry in desk.aside]) == ("log.db.pending.jsonl", [52.0])
    assert said.complained == []  # the command says it when it ends


def test_correct_puts_another_ball_in_the_place_of_the_last() -> None:
    desk = Desk()
    said = talk(desk, ["guess 48", "51", "guess 63", "fix 58 full 54", "correct 53.5", "61", "quit"])
    assert [(ball.ball.wedge, ball.carry_m, ball.guess_m) for ball in said.result.state.played] == [
        ("58", 53.5, 48.0),  # the second correction keeps the club of the first
        ("54", 61.0, 63.0),
    ]
    assert said.shown[2:5] == [
        CALLS[1],
        "  4.0 m long, outside the window (47.0 to 53.0); the guess was 6.0 m under",
        "  3.5 m long, outside the window (47.0 to 53.0); the guess was 5.5 m under",
    ]


def test_guess_first_asks_for_the_guess_and_takes_no_for_an_answer() -> None:
    desk = Desk()
    state = DrillState.start(replace(PLAN, guess_first=True))
    said = talk(desk, ["48", "51", "", "62", "71", "58 full 70"], state)
    assert [(ball.guess_m, ball.carry_m) for ball in said.result.state.played] == [
        (48.0, 51.0),
        (None, 62.0),
        (71.0, 70.0),
    ]


def test_advice_is_hidden_and_shown_and_a_look_at_it_counts() -> None:
    desk = Desk()
    state = DrillState.start(replace(PLAN, advice=False))
    said = talk(desk, ["58 9:00 50", "advice", "advice", "61", "advice", "70"], state)
    assert desk.shown == [None, ADVICE, ADVICE]
    assert said.calls == [
        "Call 1 of 3: 50 m",
        "Call 2 of 3: 60 m",
        "Call 2 of 3: 60 m   (54 9:00)",
        "Call 2 of 3: 60 m",
        "Call 3 of 3: 70 m",
        "Call 3 of 3: 70 m   (54 9:00)",
    ]


def test_a_test_has_no_advice() -> None:
    said = talk(Desk(), ["advice"], DrillState.start(replace(PLAN, advice=False, test_of="d1")))
    assert said.complained == ["a test is played without advice; the summary tells how it went"]


def test_feedback_outside_tells_only_the_misses() -> None:
    said = talk(Desk(), ["51", "65"], DrillState.start(replace(PLAN, feedback="outside")))
    assert [line for line in said.shown if not line.startswith("Call ")] == [
        "  inside the window",
        "  5.0 m long, outside the window (57.0 to 63.0)",
    ]


def test_feedback_of_a_block_comes_at_its_end_and_at_the_end_of_the_drill() -> None:
    said = talk(Desk(), ["51", "skip", "76"], DrillState.start(replace(PLAN, feedback="block", block=2)))
    assert [line for line in said.shown if not line.startswith("Call ")] == [
        "  stored; results after call 2",
        "  block 1, misses in m: +1.0, skip",
        "  E 1.0 m, inside 1 of 1 ball",
        "  6.0 m long, outside the window (67.0 to 73.0)",
        "  block 2, misses in m: +6.0",
        "  E 6.0 m, inside 0 of 1 ball",
    ]


def test_an_undo_that_the_log_refuses_keeps_the_ball() -> None:
    desk = Desk()
    state = talk(desk, ["51"]).result.state
    desk.broken = 1
    said = talk(desk, ["undo"], state)
    assert said.result.state == state
    assert said.calls == CALLS[1:2]


@pytest.mark.parametrize("end", ["quit", "QUIT", EOFError(), KeyboardInterrupt()])
def test_it_stops_where_it_is(end: str | BaseException) -> None:
    desk = Desk()
    said = talk(desk, ["51", end, "61"])
    assert (said.result.state.call_no, said.result.refused, len(desk.events)) == (2, 0, 1)


def test_a_drill_that_is_resumed_goes_on_at_its_call_and_one_that_is_over_asks_nothing() -> None:
    state = talk(Desk(), ["51", "61"]).result.state
    said = talk(Desk(), ["71"], state)
    assert said.calls == CALLS[2:]
    assert talk(Desk(), ["1"], said.result.state).shown == []


def test_blank_lines_and_help_keep_the_call() -> None:
    said = talk(Desk(), ["", "  ", "?"])
    assert said.shown == [CALLS[0], HELP]
    assert all(len(line) <= 80 for line in HELP.splitlines())
    assert said.result == DrillResult(DrillState.start(PLAN), 0, Leaving(), None)
