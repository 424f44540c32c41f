"""What an answer does to a drill, whichever way it came: typed, by a key, or from a watched file."""

from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.terminal.desk import ADVICE, BAG, PLAN, Desk
from wedgelab.drill.machine import DrillState
from wedgelab.errors import BadRequestError, StoreError, WedgelabError
from wedgelab.shots import SwingLength, Wedge
from wedgelab.terminal.announce import announcement
from wedgelab.terminal.lines import Entry
from wedgelab.terminal.sitting import Club, Sitting


@dataclass(frozen=True)
class Row:
    """A ball of a file that names no club unless it is given one."""

    carry_m: float
    club: Club | None = None

    def entry(self, club: Club | None) -> Entry:
        hit = self.club or club
        if hit is None:
            raise BadRequestError("the row says no wedge", "type this ball by hand")
        return Entry(hit[0], hit[1], self.carry_m)


def begin(desk: Desk, **plan: object) -> Sitting:
    return Sitting(DrillState.start(replace(PLAN, **plan)), desk, BAG, "m")  # type: ignore[arg-type]  # names of the plan


def carries(sitting: Sitting) -> list[float]:
    return [ball.carry_m for ball in sitting.state.played]


def club_of(sitting: Sitting) -> Club | None:
    return sitting.club  # read anew: the type checker believes what an earlier assert said of a property


def test_a_bare_number_is_a_carry_with_the_advised_shot_and_after_the_last_call_it_is_refused() -> None:
    sitting = begin(Desk())
    assert [sitting.answer(text) for text in ("51", "58 full 60", "70")] == ["ball"] * 3
    assert [(ball.ball.wedge, ball.ball.swing) for ball in sitting.state.played] == [
        ("54", "9:00"), ("58", "full"), ("54", "9:00"),
    ]  # fmt: skip
    with pytest.raises(BadRequestError, match="the drill is over; Enter for the summary"):
        sitting.answer("66")
    assert sitting.answer("") == "quit"


def test_hidden_advice_is_not_taken_for_what_was_hit() -> None:
    sitting = begin(Desk(), advice=False)
    assert sitting.club is None
    with pytest.raises(BadRequestError, match="no wedge and swing to go by"):
        sitting.answer("51")
    sitting.answer("58 full 51")
    assert club_of(sitting) is None  # another distance: the last club would be a guess
    with pytest.raises(BadRequestError, match="no wedge and swing to go by"):
        sitting.answer("61")
    assert sitting.answer("54 9:00") == "club"  # named before the ball
    assert club_of(sitting) == (BAG.wedges[0], BAG.swings[0])
    sitting.answer("61")
    assert [ball.ball.advice_shown for ball in sitting.state.played] == [False, False]
    assert [ball.ball.wedge for ball in sitting.state.played] == ["58", "54"]


def test_without_advice_the_last_shot_stands_for_the_same_call_again() -> None:
    sitting = begin(Desk(advises=False), calls_m=(50.0, 50.0, 60.0))
    sitting.answer("58 full 51")
    assert sitting.answer("49") == "ball"
    assert sitting.club is None


def test_a_named_club_is_for_the_next_ball_only_and_lets_a_waiting_row_in() -> None:
    sitting = begin(Desk(), guess_first=True)
    sitting.offer([Row(50.5)])
    sitting.answer("58 9:00")
    sitting.answer("")
    assert [(ball.ball.wedge, ball.carry_m) for ball in sitting.state.played] == [("58", 50.5)]
    assert sitting.club == ADVICE


@pytest.mark.parametrize("typed", ["guess 48", "g48", "G48", "g48m"])
def test_a_guess_has_a_short_form(typed: str) -> None:
    sitting = begin(Desk())
    assert sitting.answer(typed) == "guess"
    assert sitting.state.guess_m == 48.0


def test_rows_are_balls_in_order_with_the_club_of_each_call() -> None:
    desk = Desk()
    sitting = begin(desk)
    other = (Wedge("58", 58.0), SwingLength("full", 165.0))
    assert sitting.offer([Row(50.5), Row(61.0, other), Row(72.0), Row(99.0)]) == "ball"
    assert [(entry.wedge.label, entry.carry_m) for entry in desk.entries] == [("54", 50.5), ("58", 61.0), ("54", 72.0)]
    assert sitting.state.is_over


def test_a_row_waits_for_the_guess_that_was_asked_for() -> None:
    sitting = begin(Desk(), guess_first=True)
    assert sitting.offer([Row(50.5)]) == "nothing"
    assert carries(sitting) == []
    assert sitting.answer("49") == "ball"  # the guess lets the waiting ball in
    assert [(ball.guess_m, ball.carry_m) for ball in sitting.state.played] == [(49.0, 50.5)]
    sitting.offer([Row(61.5)])
    assert sitting.answer("") == "ball"  # no guess this time
    assert [ball.guess_m for ball in sitting.state.played] == [49.0, None]


def test_a_row_that_the_log_refuses_is_held_and_those_behind_it_wait() -> None:
    sitting = begin(Desk(broken=1))
    with pytest.raises(StoreError):
        sitting.offer([Row(50.5), Row(61.5)])
    assert carries(sitting) == []
    assert sitting.offer([]) == "nothing"
    assert sitting.n_waiting == 1
    assert sitting.answer("") == "ball"  # and what came behind it
    assert carries(sitting) == [50.5, 61.5]


def test_a_row_without_a_club_to_go_by_says_so_and_the_next_one_comes() -> None:
    sitting = begin(Desk(advises=False))
    with pytest.raises(BadRequestError, match="type this ball by hand"):
        sitting.offer([Row(50.5), Row(61.0, ADVICE)])
    assert sitting.offer([]) == "ball"
    assert carries(sitting) == [61.0]


def test_after_a_row_is_undone_the_call_waits_for_the_next_one() -> None:
    sitting = begin(Desk())
    sitting.offer([Row(50.5)])
    sitting.undo()
    assert sitting.state.call_no == 1
    sitting.offer([Row(51.5)])
    assert carries(sitting) == [51.5]


@pytest.mark.parametrize("text", ["fix", "fix abc", "fix 60 guess=61"])
def test_a_correction_that_cannot_be_read_changes_nothing(text: str) -> None:
    sitting = begin(Desk())
    sitting.answer("51")
    before = sitting.state
    with pytest.raises(WedgelabError):
        sitting.answer(text)
    assert sitting.state is before


def test_there_is_nothing_to_correct_before_the_first_ball_and_after_a_skip() -> None:
    sitting = begin(Desk())
    with pytest.raises(BadRequestError, match="there is no ball to correct"):
        sitting.answer("fix 50")
    sitting.answer("skip")
    with pytest.raises(BadRequestError, match="there is no ball to correct"):
        sitting.answer("fix 50")


def test_what_is_read_aloud() -> None:
    sitting = begin(Desk())
    said = [announcement(None, sitting)]
    for text in ("54", "g61", "60", "?", "undo", "skip", "67"):
        before = sitting.state
        sitting.answer(text)
        said.append(announcement(before, sitting))
    assert said == [
        "50 metres, 54, 9 o'clock",
        "4 metres long. 60 metres, 54, 9 o'clock",
        "",
        "on the number. 70 metres, 54, 9 o'clock",
        "",
        "60 metres, 54, 9 o'clock",
        "70 metres, 54, 9 o'clock",
        "3 metres short. that was the last call",
    ]


answers = st.lists(
    st.sampled_from(
        [
            "50",
            "58 full 61",
            "guess 49",
            "g52",
            "skip",
            "undo",
            "fix 47",
            "fix 58 full 44",
            "",
            "pause",
            "advice",
            "58 9:00",
            "quit",
        ]
    ),
    max_size=25,
)


@given(typed=answers, broken=st.sets(st.integers(0, 24)), guess_first=st.booleans())
def test_whatever_is_typed_and_whenever_the_log_refuses_what_is_stored_is_what_is_shown(
    typed: list[str], broken: set[int], guess_first: bool
) -> None:
    from wedgelab.drill.machine import replay

    desk = Desk()
    sitting = begin(desk, guess_first=guess_first)
    for number, text in enumerate(typed):
        desk.broken = int(number in broken)
        before = sitting.state
        try:
            sitting.answer(text)
        except WedgelabError:
            assert sitting.state is before
    assert replay(sitting.state.plan, desk.events) == sitting.state


PLANNED = ((Wedge("58", 58.0), SwingLength("9:00", 90.0)), (Wedge("54", 54.0), SwingLength("full", 165.0)))


def test_the_planned_shot_of_each_call_is_the_advice_and_what_a_bare_number_is_taken_for() -> None:
    desk = Desk()
    sitting = begin(desk, shots=PLANNED)
    for shot in PLANNED:
        assert sitting.advice == shot
        assert club_of(sitting) == shot
        assert sitting.answer("51") == "ball"
    assert [(entry.wedge, entry.swing) for entry in desk.entries] == list(PLANNED)
    assert desk.shown == list(PLANNED)
    assert sitting.advice == ADVICE  # the third call has no planned shot: the chart's
    sitting.answer("undo")
    assert sitting.advice == PLANNED[1]


def test_the_planned_shot_goes_with_the_call_when_one_is_skipped_and_when_two_calls_are_the_same() -> None:
    sitting = begin(Desk(), calls_m=(50.0, 50.0), shots=PLANNED)
    sitting.answer("skip")
    assert sitting.advice == PLANNED[1]
    sitting.answer("60")
    assert sitting.advice is None
