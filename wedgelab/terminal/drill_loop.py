"""The drill as a conversation of lines: a call, an answer, the miss. For pipes, plain terminals and screen readers."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from wedgelab.drill.machine import DrillState
from wedgelab.errors import StoreError, WedgelabError
from wedgelab.render.drill_lines import block_lines, feedback_line
from wedgelab.render.drill_text import call_line
from wedgelab.terminal.announce import announcement
from wedgelab.terminal.ask import Ask
from wedgelab.terminal.sitting import Leaving, Outcome, Sitting
from wedgelab.terminal.watch import Watch

HELP: Final = (
    "Type the carry; before it wedge and swing, if they were others than shown:\n"
    "[WEDGE] [SWING] CARRY [SPIN]. On a line of their own: WEDGE SWING says what\n"
    "comes next, guess N before the carry keeps your own estimate, fix N corrects\n"
    "the last ball, undo takes back what came last, skip leaves a call out, advice\n"
    "hides or shows the chart's shot, pause stops taking balls from a file, quit\n"
    "stops (go on later with: wedgelab drill --resume)."
)


@dataclass(slots=True)
class DrillResult:
    """Where a drill was left, how many lines were refused, and what became of a ball that the log did not take."""

    state: DrillState
    refused: int = 0
    leaving: Leaving = field(default_factory=Leaving)
    failure: StoreError | None = None
    was_interrupted: bool = False


def drill_loop(
    sitting: Sitting,
    ask: Ask,
    show: Callable[[str], None],
    complain: Callable[[str], None],
    *,
    somebody_reads: bool = True,
    watch: Watch | None = None,
    speak: Callable[[str], None] | None = None,
) -> DrillResult:
    """Call targets and take answers until the drill is over, is quit, or the input ends.

    A ball that cannot be stored is held for another try. Where nobody reads, the failure ends the drill, or the next
    answer would be taken for this call; the ball is kept beside the log. ``ask`` raises TimeoutError when it is time to
    look at the watched file.
    """
    talk = _Talk(sitting, show, speak)
    result = DrillResult(sitting.state)
    talk.begin()
    while not sitting.state.is_over and result.failure is None:
        try:
            if talk.turn(ask, watch, complain) == "quit":
                break
        except EOFError:
            break
        except KeyboardInterrupt:
            result.was_interrupted = True
            break
        except WedgelabError as error:
            result.refused += 1
            if isinstance(error, StoreError) and not somebody_reads:
                result.failure = error
                continue
            complain(str(error))
            if isinstance(error, StoreError) and sitting.held is not None:
                complain("the ball is held: Enter tries again, undo drops it")
    result.leaving = sitting.leave()
    result.state = sitting.state
    return result


class _Talk:
    """Says what an answer did; a call is said once."""

    def __init__(self, sitting: Sitting, show: Callable[[str], None], speak: Callable[[str], None] | None) -> None:
        self._sitting, self._show, self._speak = sitting, show, speak
        self._waiting = ""

    def turn(self, ask: Ask, watch: Watch | None, complain: Callable[[str], None]) -> Outcome:
        """Ask for a line, or look at the watched file; say what came of it."""
        sitting = self._sitting
        what = "your guess" if sitting.asks == "guess" else "carry"
        before = sitting.state
        try:
            outcome = sitting.answer(ask(f"{what} ({sitting.unit})> "))
        except TimeoutError:
            outcome = self._look(watch, complain)
        self._say(before, outcome)
        self._announce(before)
        return outcome

    def begin(self) -> None:
        """Say the first call."""
        self.call()
        self._announce(None)

    def call(self) -> None:
        """Say the present call."""
        state = self._sitting.state
        if state.is_over:
            return
        advised = self._sitting.advice if self._sitting.advice_is_on else None
        said = f"{advised[0].label} {advised[1].label}" if advised else ""
        self._show(call_line(state.call_no, len(state.plan.calls_m), state.call_m, self._sitting.unit, said))

    def _look(self, watch: Watch | None, complain: Callable[[str], None]) -> Outcome:
        if watch is None:
            return "nothing"
        if self._sitting.is_paused:
            watch.pass_over()
            return "nothing"
        news = watch.look()
        for problem in news.problems:
            complain(problem)
        if news.waiting and news.waiting != self._waiting:
            complain(news.waiting)
        self._waiting = news.waiting
        return self._sitting.offer(news.balls)

    def _say(self, before: DrillState, outcome: Outcome) -> None:
        state = self._sitting.state
        match outcome:
            case "help":
                self._show(HELP)
            case "club" if self._sitting.club is not None:
                wedge, swing = self._sitting.club
                self._show(f"  next: {wedge.label} {swing.label}")
            case "pause":
                self._show("  paused; Enter goes on" if self._sitting.is_paused else "  on again")
            case "ball" | "call":
                self._balls(before)
            case _:
                pass
        if outcome in {"advice", "call"} or state.call_no != before.call_no:
            self.call()

    def _balls(self, before: DrillState) -> None:
        """Say the balls that came in, as the plan's feedback has it."""
        state, unit = self._sitting.state, self._sitting.unit
        if len(state.answers) < len(before.answers) or state.answers == before.answers:
            return
        for ball in state.answers[min(len(before.answers), len(state.answers) - 1) :]:
            if ball is not None:
                self._show(feedback_line(state, ball, unit))
        if state.plan.feedback == "block" and state.n_shown == len(state.answers):
            for line in block_lines(state, unit):
                self._show(line)

    def _announce(self, before: DrillState | None) -> None:
        if self._speak is not None and (text := announcement(before, self._sitting)):
            self._speak(text)
