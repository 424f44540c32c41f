"""The drill as a conversation: a scripted player, and a desk that steps the real machine and remembers."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import pytest

from wedgelab.drill import Ball, DrillPlan, DrillState, Event, Guess, Skip, Undo, step
from wedgelab.errors import StoreError
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.terminal.drill_loop import HELP, DrillResult, drill_loop
from wedgelab.terminal.lines import Entry
from wedgelab.window import WindowRule

BAG = Bag((Wedge("54", 54.0), Wedge("58", 58.0)), (SwingLength("9:00", 90.0), SwingLength("full", 165.0)))
PLAN = DrillPlan((50.0, 60.0, 70.0), 40.0, 80.0, 1, WindowRule(fixed_m=3.0))
ADVICE = (Wedge("54", 54.0), SwingLength("9:00", 90.0))


@dataclass
class Desk:
    advises: bool = True
    broken: int = 0
    events: list[Event] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    advised: list[tuple[Wedge, SwingLength] | None] = field(default_factory=list)

    def _put(self, state: DrillState, event: Event) -> DrillState:
        after = step(state, event)
        if self.broken:
            self.broken -= 1
            raise StoreError("log.db", "it is locked", "try again")
        self.events.append(event)
        return after

    def advice(self, call_m: float) -> tuple[Wedge, SwingLength] | None:
        return ADVICE if self.advises and call_m in PLAN.calls_m else None

    def store_ball(self, state: DrillState, entry: Entry, advised: tuple[Wedge, SwingLength] | None) -> DrillState:
        shot_id = f"s{len(self.events)}"
        ball = Ball(shot_id, entry.wedge.label, entry.wedge.loft_deg, entry.swing.swing_deg, entry.carry_m)
        after = self._put(state, ball)
        self.entries.append(entry)
        self.advised.append(advised)
        return after

    def store_event(self, state: DrillState, event: Guess | Skip) -> DrillState:
        return self._put(state, event)

    def undo(self, state: DrillState) -> DrillState:
        return self._put(state, Undo())


@dataclass
class Talk:
    result: DrillResult
    shown: list[str]
    complained: list[str]

    @property
    def calls(self) -> list[str]:
        return [line for line in self.shown if line.startswith("Call")]


def talk(desk: Desk, lines: Sequence[str | BaseException], state: DrillState | None = None) -> Talk:
    rest = iter(lines)
    shown, complained = list[str](), list[str]()

    def ask(prompt: str) -> str:
        assert prompt == "carry (m)> "
        line = next(rest, EOFError())
        if isinstance(line, BaseException):
            raise line
        return line

    result = drill_loop(state or DrillState(PLAN), desk, BAG, "m", ask, shown.append, complained.append)
    return Talk(result, shown, complained)


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
    assert desk.advised == [ADVICE] * 3


def test_without_a_chart_what_is_left_out_is_as_before() -> None:
    desk = Desk(advises=False)
    said = talk(desk, ["50", "58 full 52", "61"])
    assert said.complained == ["no wedge and swing to go by; name both once, for example: 54 9:00 68"]
    assert said.calls == ["Call 1 of 3: 50 m", "Call 2 of 3: 60 m", "Call 3 of 3: 70 m"]
    assert [(e.wedge.label, e.carry_m) for e in desk.entries] == [("58", 52.0), ("58", 61.0)]


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


@pytest.mark.parametrize("line", ["52", "skip", "guess 52"])
def test_a_log_that_fails_keeps_the_call(line: str) -> None:
    desk = Desk(broken=1)
    said = talk(desk, [line, "51"])
    assert said.complained == ["database log.db: it is locked; try again"]
    assert said.calls == CALLS[:2]
    assert [(ball.call_no, ball.carry_m, ball.guess_m) for ball in said.result.state.played] == [(1, 51.0, None)]


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
    assert said.result == DrillResult(DrillState(PLAN))
