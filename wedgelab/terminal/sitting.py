"""A drill being played: what an answer does, the same on a full screen, at a prompt and in a pipe. Draws nothing."""

import re
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final, Literal, Protocol

from wedgelab.drill.machine import DrillState, Guess, Skip
from wedgelab.errors import BadRequestError, StoreError, WedgelabError
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.terminal.lines import Entry, read_carry, read_entry, read_swing
from wedgelab.units import LengthUnit, format_length, looks_like_clock

Club = tuple[Wedge, SwingLength]
Outcome = Literal["nothing", "help", "quit", "ball", "call", "guess", "club", "advice", "pause"]

_SHORT_GUESS: Final = re.compile(r"g[\d.,]+\S*", re.IGNORECASE)


class FollowedBall(Protocol):
    """A ball that another program wrote into a file: what is known of it, given the club for what is not."""

    def entry(self, club: Club | None) -> Entry:
        """Return the ball; ``club`` is what was hit if the file does not say."""
        ...


class DrillDesk(Protocol):
    """What the drill needs done; a ball is on disk when a method that stores it returns."""

    def advice(self, call_m: float) -> Club | None:
        """Return the shot that the chart advises for a call, None without a chart."""
        ...

    def store_ball(
        self, state: DrillState, entry: Entry, shown: Club | None, source: FollowedBall | None
    ) -> DrillState:
        """Store the ball for the present call, hit with that advice on the screen, and return the new state."""
        ...

    def correct_ball(self, state: DrillState, entry: Entry) -> DrillState:
        """Store another ball in the place of the last one and return the new state."""
        ...

    def store_event(self, state: DrillState, event: Guess | Skip) -> DrillState:
        """Store a guess or a skip and return the new state."""
        ...

    def undo(self, state: DrillState) -> DrillState:
        """Take back the last event, its ball too, and return the new state."""
        ...

    def keep_aside(self, state: DrillState, entry: Entry, shown: Club | None, source: FollowedBall | None) -> str:
        """Keep a ball that the log does not take beside it; return where."""
        ...


@dataclass(frozen=True, slots=True)
class HeldBall:
    """A ball that the log did not take, kept for another try."""

    entry: Entry
    source: FollowedBall | None = None


@dataclass(frozen=True, slots=True)
class Leaving:
    """What became of a ball that was held to the end: where it is kept, or the sentence that says that it is lost."""

    kept_in: str = ""
    lost: str = ""


class Sitting:
    """One sitting of a drill: its state, whether the advice is on the screen, and what waits."""

    def __init__(self, state: DrillState, desk: DrillDesk, bag: Bag, unit: LengthUnit) -> None:
        self.state = state
        self.unit = unit
        self.is_paused = False
        self.held: HeldBall | None = None
        self.advice_is_on = state.plan.advice
        self._desk, self._bag = desk, bag
        self._last_club: Club | None = None
        self._rows: deque[FollowedBall] = deque()
        self._seen_calls = {state.call_no} if self.advice_is_on else set()  # calls whose advice stood on the screen
        self._guess_declined = False
        self._was_warned = False
        self._named_club: Club | None = None

    # --- what the screen shows

    @property
    def advice(self) -> Club | None:
        """The planned shot for the present call, else the chart's, whether it is shown or not."""
        if self.state.is_over:
            return None
        return self.state.plan.shot_for(self.state.call_no) or self._desk.advice(self.state.call_m)

    @property
    def club(self) -> Club | None:
        """What a bare number is taken for: the shot that was named for this call, else the advised one if it was shown.

        Without advice the last shot stands only for the same call again: for another distance it would be a guess.
        """
        last = self.state.last
        is_same_call = last is not None and not self.state.is_over and last.call_m == self.state.call_m
        return self._named_club or self._shown_advice or (self._last_club if is_same_call else None)

    @property
    def n_waiting(self) -> int:
        """How many balls of a watched file wait to be taken."""
        return len(self._rows)

    @property
    def asks(self) -> Literal["guess", "carry"]:
        """What a bare number is."""
        plan, state = self.state.plan, self.state
        if plan.guess_first and state.guess_m is None and not self._guess_declined and not state.is_over:
            return "guess"
        return "carry"

    @property
    def _shown_advice(self) -> Club | None:
        return self.advice if self.state.call_no in self._seen_calls else None

    # --- what the player does

    def answer(self, text: str) -> Outcome:
        """Take one line; a line that cannot be used raises and changes nothing."""
        text = text.strip()
        if not text:
            return self._enter()
        word, *others = text.split(maxsplit=1)
        rest = others[0] if others else ""
        actions: dict[str, Callable[[], Outcome]] = {
            "?": lambda: "help",
            "help": lambda: "help",
            "quit": self.quit,
            "undo": self.undo,
            "pause": self.pause,
            "advice": self.toggle_advice,
            "skip": self.skip,
            "fix": lambda: self.correct(rest),
            "correct": lambda: self.correct(rest),
            "guess": lambda: self._guess(rest),
        }
        action = actions.get(word.casefold())
        return self._number(text) if action is None else action()

    def undo(self) -> Outcome:
        """Drop the held ball, else take back the last guess, ball or skip."""
        if self.held is not None:
            self.held = None
            return "call"
        before = self.state.call_no
        self.state = self._desk.undo(self.state)
        if self.state.call_no != before:
            self._call_begins()
        self._guess_declined = False
        return "call"

    def skip(self) -> Outcome:
        """Leave the present call out."""
        self._nothing_held()
        self.state = self._desk.store_event(self.state, Skip())
        self._call_begins()
        return "call"

    def correct(self, text: str) -> Outcome:
        """Put another ball in the place of the last one: its carry, or wedge, swing and carry."""
        self._nothing_held()
        last = self.state.last
        if last is None:
            raise BadRequestError("there is no ball to correct", "the last call has none")
        if not text.strip():
            raise BadRequestError("no carry to correct to", "type for example: fix 64")
        ball = last.ball
        swing = ball.swing or self._bag.swing_named(ball.swing_deg).label  # older drills kept the angle alone
        hit = Wedge(ball.wedge, ball.loft_deg), SwingLength(swing, ball.swing_deg)
        self.state = self._desk.correct_ball(self.state, _checked(read_entry(text, self._bag, self.unit, hit)))
        return "ball"

    def toggle_advice(self) -> Outcome:
        """Hide or show the advice; a look at it counts as advice for the ball of this call."""
        if self.state.plan.test_of:
            raise BadRequestError("a test is played without advice", "the summary tells how it went")
        self.advice_is_on = not self.advice_is_on
        self._note_advice()
        return "advice"

    def pause(self) -> Outcome:
        """Stop taking balls from a watched file, or go on."""
        self.is_paused = not self.is_paused
        return "pause"

    def offer(self, balls: Iterable[FollowedBall]) -> Outcome:
        """Take balls that came from a watched file, in order, as far as they can be taken now."""
        self._rows.extend(balls)
        outcome: Outcome = "nothing"
        while self._rows and self.held is None and not self.state.is_over and self.asks == "carry":
            ball = self._rows.popleft()
            outcome = self._store(HeldBall(ball.entry(self.club), ball))
        return outcome

    def drop_offered(self) -> None:
        """Forget the balls of a watched file that were not taken: they came during a pause or after the last call."""
        self._rows.clear()

    def quit(self) -> Outcome:
        """Leave; with a ball held, only when asked a second time."""
        if self.held is not None and not self._was_warned:
            self._was_warned = True
            raise BadRequestError(
                f"the ball {self._held_text(self.held)} is not in the log yet",
                "Enter tries again; quit again leaves, and it is kept beside the log",
            )
        return "quit"

    def leave(self) -> Leaving:
        """End the sitting; a ball that is still held is tried once more, else kept aside."""
        if self.held is None:
            return Leaving()
        held, self.held = self.held, None
        try:
            self._store(held)
        except StoreError:
            self.held = None
            return self._aside(held)
        return Leaving()

    def _aside(self, held: HeldBall) -> Leaving:
        try:
            return Leaving(kept_in=self._desk.keep_aside(self.state, held.entry, self._shown_advice, held.source))
        except WedgelabError as error:
            call = format_length(self.state.call_m, self.unit)
            ball = f"{self._held_text(held)} for the call of {call} {self.unit}"
            return Leaving(lost=f"the ball {ball} could be stored nowhere ({error})")

    def _held_text(self, held: HeldBall) -> str:
        entry = held.entry
        carry = f"{format_length(entry.carry_m, self.unit, 1)} {self.unit}"
        return f"{entry.wedge.label} {entry.swing.label} {carry}"

    # --- how

    def _enter(self) -> Outcome:
        if self.held is not None:
            self._store(self.held)
            self.offer(())  # what came behind it
            return "ball"
        if self.state.is_over:
            return "quit"
        if self.is_paused:
            return self.pause()
        if self.asks == "guess":
            self._guess_declined = True
            return self.offer(())
        return "nothing"

    def _guess(self, text: str) -> Outcome:
        self._nothing_held()
        guess = Guess(read_carry(text, self.unit, "guess_m"))
        self.state = self._desk.store_event(self.state, guess)
        return "ball" if self.offer(()) == "ball" else "guess"

    def _number(self, text: str) -> Outcome:
        self._nothing_held()
        if self.state.is_over:
            raise BadRequestError("the drill is over", "Enter for the summary, or undo the last ball")
        if (named := self._club_in(text)) is not None:
            self._named_club = named
            return "ball" if self.offer(()) == "ball" else "club"
        is_bare = len(text.split()) == 1
        if is_bare and _SHORT_GUESS.fullmatch(text) and self._bag.find_wedge(text) is None:
            return self._guess(text[1:])
        if is_bare and self.asks == "guess":
            return self._guess(text)
        entry = read_entry(text, self._bag, self.unit, self.club)
        return self._store(HeldBall(_checked(entry)))

    def _club_in(self, text: str) -> Club | None:
        """Return the wedge and swing of a line that names just these, before the ball: `58 full` or `54 9:00`."""
        words = text.split()
        if len(words) != 2 or self._bag.find_wedge(words[0]) is None:
            return None
        if looks_like_clock(words[1]) or self._bag.find_swing(words[1]) is not None:
            return self._bag.wedge(words[0]), read_swing(words[1], self._bag)
        return None

    def _store(self, ball: HeldBall) -> Outcome:
        try:
            self.state = self._desk.store_ball(self.state, ball.entry, self._shown_advice, ball.source)
        except StoreError:
            self.held, self._was_warned = ball, False
            raise
        self.held = None
        self._last_club = ball.entry.wedge, ball.entry.swing
        self._call_begins()
        return "ball"

    def _note_advice(self) -> None:
        if self.advice_is_on:
            self._seen_calls.add(self.state.call_no)

    def _call_begins(self) -> None:
        self._note_advice()
        self._guess_declined = False
        self._named_club = None

    def _nothing_held(self) -> None:
        if self.held is not None:
            raise BadRequestError(
                f"the ball {self._held_text(self.held)} is not in the log yet", "Enter tries again, undo drops it"
            )


def _checked(entry: Entry) -> Entry:
    if "guess_m" in entry.columns:
        raise BadRequestError("a guess comes before the number", "type guess N on a line of its own, then the carry")
    return entry
