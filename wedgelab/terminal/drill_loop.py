"""The drill as a conversation: a call, an answer, the miss. The same at a prompt and in a pipe."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Protocol

from wedgelab.drill import DrillState, Guess, Skip
from wedgelab.errors import BadRequestError, StoreError, WedgelabError
from wedgelab.render.text import call_line, miss_line
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.terminal.ask import Ask
from wedgelab.terminal.lines import Entry, read_carry, read_entry
from wedgelab.units import LengthUnit

HELP: Final = (
    "Type the carry; before it wedge and swing, if they were others than advised:\n"
    "[WEDGE] [SWING] CARRY [SPIN]. On a line of their own: guess N before the carry\n"
    "keeps your own estimate, undo takes back the last ball, skip leaves a call out,\n"
    "quit stops (go on later with: wedgelab drill --resume)."
)


class DrillDesk(Protocol):
    """What the drill needs done; a ball is on disk when ``store_ball`` returns."""

    def advice(self, call_m: float) -> tuple[Wedge, SwingLength] | None:
        """Return the shot that the chart advises for a call, None without a chart."""
        ...

    def store_ball(self, state: DrillState, entry: Entry, advised: tuple[Wedge, SwingLength] | None) -> DrillState:
        """Store the ball for the present call and return the new state."""
        ...

    def store_event(self, state: DrillState, event: Guess | Skip) -> DrillState:
        """Store a guess or a skip and return the new state."""
        ...

    def undo(self, state: DrillState) -> DrillState:
        """Take back the last answer, its ball too, and return the new state."""
        ...


@dataclass(slots=True)
class DrillResult:
    """Where a drill was left, and how many lines were refused."""

    state: DrillState
    refused: int = 0


def drill_loop(
    state: DrillState,
    desk: DrillDesk,
    bag: Bag,
    unit: LengthUnit,
    ask: Ask,
    show: Callable[[str], None],
    complain: Callable[[str], None],
    *,
    somebody_reads: bool = True,
) -> DrillResult:
    """Call targets and take answers until the drill is over, is quit, or the input ends.

    A ball that cannot be stored keeps its call, to be typed again; where nobody reads, the error ends the drill, or the
    next answer would be taken for this call.
    """
    talk = _Talk(desk, bag, unit, show)
    result = DrillResult(state)
    while not result.state.is_over:
        talk.call(result.state)
        try:
            text = ask(f"carry ({unit})> ").strip()
        except (EOFError, KeyboardInterrupt):
            break
        if text.casefold() == "quit":
            break
        try:
            result.state = talk.answer(result.state, text)
        except WedgelabError as error:
            if isinstance(error, StoreError) and not somebody_reads:
                raise
            result.refused += 1
            complain(str(error))
    return result


class _Talk:
    """One line of the player turned into the next state; remembers what was called and hit last."""

    def __init__(self, desk: DrillDesk, bag: Bag, unit: LengthUnit, show: Callable[[str], None]) -> None:
        self._desk, self._bag, self._unit, self._show = desk, bag, unit, show
        self._called = 0
        self._last: tuple[Wedge, SwingLength] | None = None

    def call(self, state: DrillState) -> None:
        """Say the present call, once."""
        if self._called == state.call_no:
            return
        advised = self._desk.advice(state.call_m)
        said = f"{advised[0].label} {advised[1].label}" if advised else ""
        self._show(call_line(state.call_no, len(state.plan.calls_m), state.call_m, self._unit, said))
        self._called = state.call_no

    def answer(self, state: DrillState, text: str) -> DrillState:
        """Return the state after one line; a line that cannot be used raises and changes nothing."""
        if not text:
            return state
        word, *others = text.split(maxsplit=1)
        rest = others[0] if others else ""
        match word.casefold():
            case "?" | "help":
                self._show(HELP)
                return state
            case "skip":
                return self._desk.store_event(state, Skip())
            case "guess":
                return self._desk.store_event(state, Guess(read_carry(rest, self._unit, "guess_m")))
            case "undo":
                return self._desk.undo(state)
            case _:
                return self._ball(state, text)

    def _ball(self, state: DrillState, text: str) -> DrillState:
        advised = self._desk.advice(state.call_m)
        entry = read_entry(text, self._bag, self._unit, advised or self._last)
        _check_columns(entry)
        after = self._desk.store_ball(state, entry, advised)
        self._last = entry.wedge, entry.swing
        if after.last is not None:
            self._show(miss_line(after.last, self._unit, state.plan.window))
        return after


def _check_columns(entry: Entry) -> None:
    if "guess_m" in entry.columns:
        raise BadRequestError("a guess comes before the number", "type guess N on a line of its own, then the carry")
