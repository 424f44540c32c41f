"""Quick entry with a scripted player and a desk that remembers."""

import shlex
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import pytest
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from wedgelab.errors import BadRequestError, StoreError
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.terminal.ask import Ask, prompt_ask
from wedgelab.terminal.lines import HELP, Entry
from wedgelab.terminal.quick_entry import EntryResult, as_typed, completion_words, quick_entry

BAG = Bag((Wedge("54", 54.0), Wedge("58", 58.0)), (SwingLength("9:00", 90.0), SwingLength("full", 165.0)))
LAST = (Wedge("54", 54.0), SwingLength("9:00", 90.0))


@dataclass
class Desk:
    balls: list[Entry] = field(default_factory=list)
    is_broken: bool = False

    def store(self, entry: Entry) -> str:
        if self.is_broken:
            raise StoreError("log.db", "it is locked", "try again")
        self.balls.append(entry)
        return f"stored {entry.carry_m:g}"

    def undo(self) -> str:
        if not self.balls:
            raise BadRequestError("no ball to undo", "hit one")
        return f"back {self.balls.pop().carry_m:g}"


def scripted(lines: Sequence[str | BaseException], prompts: list[str]) -> Ask:
    rest = iter(lines)

    def ask(prompt: str) -> str:
        prompts.append(prompt)
        line = next(rest, EOFError())
        if isinstance(line, BaseException):
            raise line
        return line

    return ask


@dataclass
class Sitting:
    result: EntryResult
    shown: list[str]
    complained: list[str]
    prompts: list[str]


def sit(desk: Desk, *lines: str | BaseException, last: tuple[Wedge, SwingLength] | None = LAST) -> Sitting:
    shown, complained, prompts = list[str](), list[str](), list[str]()
    result = quick_entry(desk, BAG, "m", last, scripted(lines, prompts), shown.append, complained.append)
    return Sitting(result, shown, complained, prompts)


def test_balls_are_stored_in_order_and_shown_after_they_are_stored() -> None:
    desk = Desk()
    sitting = sit(desk, "54 9:00 60", " 61 ", "58 50", "full 70")
    assert [(e.wedge.label, e.swing.label, e.carry_m) for e in desk.balls] == [
        ("54", "9:00", 60.0), ("54", "9:00", 61.0), ("58", "9:00", 50.0), ("58", "full", 70.0),
    ]  # fmt: skip
    assert sitting.shown == ["stored 60", "stored 61", "stored 50", "stored 70"]
    assert (sitting.result, sitting.complained) == (EntryResult(stored=4), [])


def test_the_prompt_says_what_a_bare_number_would_mean() -> None:
    assert sit(Desk(), "58 full 60").prompts == ["54 9:00 (m)> ", "58 full (m)> "]
    assert sit(Desk(), last=None).prompts == ["wedge swing carry (m)> "]


def test_undo_takes_back_the_last_ball_only() -> None:
    desk = Desk()
    sitting = sit(desk, "60", "61", "UNDO", "62")
    assert [e.carry_m for e in desk.balls] == [60.0, 62.0]
    assert sitting.result == EntryResult(stored=2)
    assert sitting.shown[2] == "back 61"


def test_undo_with_nothing_to_undo_is_a_refusal_and_counts_no_ball() -> None:
    sitting = sit(Desk(), "undo")
    assert (sitting.result, sitting.complained) == (EntryResult(refused=1), ["no ball to undo; hit one"])


@pytest.mark.parametrize("bad", ["sixty", "99 9:00 60", "60 guess=x", "'", "9999"])
def test_a_refused_line_loses_nothing_and_is_asked_for_again(bad: str) -> None:
    desk = Desk()
    sitting = sit(desk, "58 full 60", bad, "61")
    assert [(e.wedge.label, e.swing.label, e.carry_m) for e in desk.balls] == [
        ("58", "full", 60.0),
        ("58", "full", 61.0),
    ]
    assert sitting.result == EntryResult(stored=2, refused=1)
    assert len(sitting.complained) == 1
    assert sitting.prompts[1] == sitting.prompts[2] == "58 full (m)> "


def test_a_log_that_does_not_take_a_ball_does_not_end_the_sitting_nor_move_the_default() -> None:
    sitting = sit(Desk(is_broken=True), "58 full 60")
    assert sitting.result == EntryResult(stored=0, refused=1)
    assert sitting.complained == ["database log.db: it is locked; try again"]
    assert sitting.prompts == ["54 9:00 (m)> "] * 2


def test_ctrl_c_drops_the_line_and_ctrl_d_ends() -> None:
    desk = Desk()
    sitting = sit(desk, "60", KeyboardInterrupt(), "61", EOFError(), "62")
    assert [e.carry_m for e in desk.balls] == [60.0, 61.0]
    assert sitting.result == EntryResult(stored=2)


def test_blank_lines_ask_again_and_a_question_mark_helps() -> None:
    sitting = sit(Desk(), "", "   ", "?")
    assert (sitting.shown, sitting.result) == ([HELP], EntryResult())
    assert all(len(line) <= 80 for line in HELP.splitlines())


def test_at_a_real_prompt_with_completion() -> None:
    desk, shown = Desk(), list[str]()
    with create_pipe_input() as keyboard:
        ask = prompt_ask(completion_words(BAG), terminal_input=keyboard, terminal_output=DummyOutput())
        keyboard.send_text("58 fu\t 60\r61\runwanted\x0362 7800\rundo\r63 sol\x7f\x7f\x7foff\r\x04")
        result = quick_entry(desk, BAG, "m", None, ask, shown.append, shown.append)
    assert [(e.wedge.label, e.swing.label, e.carry_m, e.columns) for e in desk.balls] == [
        ("58", "full", 60.0, {}), ("58", "full", 61.0, {}), ("58", "full", 63.0, {"strike": "off"}),
    ]  # fmt: skip
    assert result == EntryResult(stored=3)


@pytest.mark.parametrize("label", ["54", "9:00", "größe", "sand wedge", "coach's", 'the "new" one', "a\\b", "50°"])
def test_a_completed_label_is_read_back_as_that_label(label: str) -> None:
    typed = as_typed(label)
    assert shlex.split(typed) == [label]
    bag = Bag((Wedge(label, 54.0),), (SwingLength("9:00", 90.0),))
    assert typed in completion_words(bag)
    desk = Desk()
    noted: list[str] = []
    note: Callable[[str], None] = noted.append
    quick_entry(desk, bag, "m", None, scripted([f"{typed} 9:00 60"], []), note, note)
    assert [e.wedge.label for e in desk.balls] == [label]
