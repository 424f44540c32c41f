"""The drill as a pure machine: calls, a ball for each, one event after another.

``DrillState(plan)`` is the start, ``step`` moves it by one event, ``replay`` brings back the state from the stored
events. The caller stores each event (and its ball) before it shows anything.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

from wedgelab.drill.calls import Order
from wedgelab.errors import BadRequestError
from wedgelab.shots import LIMITS, SwingLength, Wedge
from wedgelab.window import WindowRule

Feedback = Literal["every", "outside", "block"]
FEEDBACKS: Final[tuple[Feedback, ...]] = ("every", "outside", "block")
USUAL_BLOCK: Final = 10
HOLD_STEP: Final = 0.3  # [log], shared between a widening after a miss and a narrowing after a hit
_WIDEST: Final = math.log(8.0)
_EDGE: Final = 1e-9  # a carry on the edge is inside, whatever the rounding of yards


@dataclass(frozen=True, slots=True)
class DrillPlan:
    """What a drill asks for; stored when it starts.

    ``hold`` is the share of balls that the window is to hold by widening and narrowing (None: it stays as the rule
    says), ``scale`` what the rule's window is multiplied with at the start. ``feedback`` tells when the number is
    shown, ``block`` after how many calls if at the end of a block. ``test_of`` is the drill whose calls are repeated.
    ``shots`` has the shot to hit for each call where a practice plan says it (order ``planned``), else none.
    """

    calls_m: tuple[float, ...]
    low_m: float
    high_m: float
    seed: int
    window: WindowRule = field(default_factory=WindowRule)
    order: Order | Literal["planned"] = "random"
    focus: str = ""
    hold: float | None = None
    scale: float = 1.0
    feedback: Feedback = "every"
    block: int = USUAL_BLOCK
    guess_first: bool = False
    advice: bool = True
    test_of: str = ""
    shots: tuple[tuple[Wedge, SwingLength], ...] = ()

    def shot_for(self, call_no: int) -> tuple[Wedge, SwingLength] | None:
        """Return the planned shot of a call, counted from 1; None where no plan says one."""
        return self.shots[call_no - 1] if 1 <= call_no <= len(self.shots) else None

    def to_dict(self) -> dict[str, Any]:
        """Return the plan as plain data for the store."""
        rule = {name: getattr(self.window, name) for name in WindowRule.__slots__}
        shots = [[wedge.label, wedge.loft_deg, swing.label, swing.swing_deg] for wedge, swing in self.shots]
        own = {"calls_m": list(self.calls_m), "window": rule, "shots": shots}
        return {name: getattr(self, name) for name in self.__slots__} | own

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "DrillPlan":
        """Return the plan that `to_dict` wrote, an older one of fewer words too."""
        known = {name: data[name] for name in cls.__slots__ if name in data}
        calls = tuple(float(call) for call in known.pop("calls_m"))
        shots = tuple(
            (Wedge(str(label), float(loft)), SwingLength(str(name), float(angle)))
            for label, loft, name, angle in known.pop("shots", ())
        )
        return cls(calls, **known | {"window": WindowRule(**known["window"]), "shots": shots})


@dataclass(frozen=True, slots=True)
class Guess:
    """The player says how far the ball went before the number is shown."""

    guess_m: float


@dataclass(frozen=True, slots=True)
class Ball:
    """The ball for the present call, with the advice and the chart of that moment.

    ``chart_*`` is what the chart expected of that wedge and swing when the drill began (None without a chart): the
    median carry, the spread of one ball, the doubt about the median, and the chance inside the window of the call;
    ``best_window_probability`` is that chance for the shot that the chart puts first, shown or not.
    """

    shot_id: str
    wedge: str
    loft_deg: float
    swing_deg: float
    carry_m: float
    swing: str = ""
    advice_shown: bool = True
    chart_carry_m: float | None = None
    chart_carry_sd_m: float | None = None
    chart_carry_se_m: float | None = None
    chart_window_probability: float | None = None
    best_window_probability: float | None = None


@dataclass(frozen=True, slots=True)
class Skip:
    """The present call is left out."""


@dataclass(frozen=True, slots=True)
class Undo:
    """The last event that was not undone is taken back, exactly: what was before it is again."""


Event = Guess | Ball | Skip | Undo
_EVENTS: Final[dict[str, type[Guess] | type[Ball] | type[Skip] | type[Undo]]] = {
    "guess": Guess,
    "ball": Ball,
    "skip": Skip,
    "undo": Undo,
}


@dataclass(frozen=True, slots=True)
class Played:
    """The ball that answered a call, and the half width [m] of the window that it was played to."""

    call_no: int
    call_m: float
    window_m: float
    guess_m: float | None
    ball: Ball

    @property
    def carry_m(self) -> float:
        """The carry [m]."""
        return self.ball.carry_m

    @property
    def miss_m(self) -> float:
        """Carry minus call [m]; long is positive."""
        return self.ball.carry_m - self.call_m

    @property
    def is_inside(self) -> bool:
        """True when the ball was played to the call."""
        return abs(self.miss_m) <= self.window_m + _EDGE


@dataclass(frozen=True, slots=True)
class DrillState:
    """Where a drill stands: ``answers`` has one entry for each call so far, None where it was skipped.

    ``log_scale`` is the log of what the rule's window is multiplied with; ``before`` the state that an undo leads to.
    """

    plan: DrillPlan
    answers: tuple[Played | None, ...] = ()
    guess_m: float | None = None
    log_scale: float = 0.0
    before: "DrillState | None" = field(default=None, compare=False, repr=False)

    @classmethod
    def start(cls, plan: DrillPlan) -> "DrillState":
        """Return the state before the first call."""
        return cls(plan, log_scale=math.log(plan.scale))

    @property
    def is_over(self) -> bool:
        """True when every call has its answer."""
        return len(self.answers) >= len(self.plan.calls_m)

    @property
    def call_no(self) -> int:
        """Number of the present call, from 1."""
        return len(self.answers) + 1

    @property
    def call_m(self) -> float:
        """The present call [m]."""
        return self.plan.calls_m[len(self.answers)]

    @property
    def window_m(self) -> float:
        """Half width [m] of the window around the present call."""
        low, high = LIMITS["window_m"][:2]
        return min(max(self.plan.window.half_m(self.call_m) * math.exp(self.log_scale), low), high)

    @property
    def played(self) -> tuple[Played, ...]:
        """The balls so far."""
        return tuple(answer for answer in self.answers if answer is not None)

    @property
    def last(self) -> Played | None:
        """The last answer, None at the start or after a skip."""
        return self.answers[-1] if self.answers else None

    @property
    def n_shown(self) -> int:
        """Number of answers whose results may be shown: all, or those of the blocks that are over."""
        done = len(self.answers)
        return done if self.plan.feedback != "block" or self.is_over else done - done % self.plan.block

    def shows_number_of(self, ball: Played) -> bool:
        """Tell whether the player sees how far a ball missed, as the plan has it."""
        if self.plan.feedback == "outside":
            return not ball.is_inside or self.is_over
        return ball.call_no <= self.n_shown


def step(state: DrillState, event: Event) -> DrillState:
    """Return the state after an event; an event that does not fit raises `BadRequestError` and changes nothing."""
    if isinstance(event, Undo):
        if state.before is None:
            raise BadRequestError("there is nothing to undo yet", "hit the first ball")
        return state.before
    if state.is_over:
        raise BadRequestError("the drill is over", "undo the last ball, or start another drill")
    if isinstance(event, Guess):
        return replace(state, guess_m=event.guess_m, before=state)
    if isinstance(event, Skip):
        return replace(state, answers=(*state.answers, None), guess_m=None, before=state)
    if any(event.shot_id == ball.ball.shot_id for ball in state.played):
        raise BadRequestError(f"ball {event.shot_id} is in the drill already", "give every ball an id of its own")
    played = Played(state.call_no, state.call_m, state.window_m, state.guess_m, event)
    return replace(
        state,
        answers=(*state.answers, played),
        guess_m=None,
        log_scale=_adapted(state.plan.hold, state.log_scale, is_inside=played.is_inside),
        before=state,
    )


def _adapted(hold: float | None, log_scale: float, *, is_inside: bool) -> float:
    """Return the log scale of the window after a ball.

    Weighted up-down rule: a hit narrows by 1 - hold parts, a miss widens by hold parts, so that the steps cancel when
    just the share ``hold`` is hit (Kaernbach 1991, Perception & Psychophysics 49, 227; the fixed point is exact).
    """
    if hold is None:
        return log_scale
    moved = log_scale + HOLD_STEP * (hold - 1.0 if is_inside else hold)
    return min(max(moved, -_WIDEST), _WIDEST)


def correction(state: DrillState, ball: Ball) -> tuple[Event, ...]:
    """Return the events that put another ball in the place of the last one; its guess stays, and a newer one too.

    Afterwards an undo takes back the corrected ball, as it takes back any ball.
    """
    if state.last is None:
        raise BadRequestError("there is no ball to correct", "the last call has none")
    newer: list[Event] = []
    first: list[Event] = [Undo()]
    while (before := state.before) is not None and len(before.answers) == len(state.answers):
        if state.guess_m is not None and not newer:
            newer.append(Guess(state.guess_m))
        first.append(Undo())
        state = before
    return (*first, ball, *newer)


def replay(plan: DrillPlan, events: Iterable[Event]) -> DrillState:
    """Return the state that a sequence of events leads to."""
    state = DrillState.start(plan)
    for event in events:
        state = step(state, event)
    return state


def with_shots(events: Iterable[Event], live: Mapping[str, str]) -> list[Event]:
    """Return the events with each ball under the id that it has in the log now, and a skip where it is there no more.

    ``live`` leads from the id that the event has to the one in the log: another one if the shot was deleted and
    restored meanwhile.
    """
    return [
        event
        if not isinstance(event, Ball)
        else replace(event, shot_id=live[event.shot_id])
        if event.shot_id in live
        else Skip()
        for event in events
    ]


def event_to_dict(event: Event) -> dict[str, Any]:
    """Return an event as plain data for the store."""
    name = next(name for name, kind in _EVENTS.items() if isinstance(event, kind))
    fields: Sequence[str] = type(event).__slots__
    return {"event": name, **{key: getattr(event, key) for key in fields}}


def event_from_dict(data: Mapping[str, Any]) -> Event:
    """Return the event that `event_to_dict` wrote, an older one of fewer words too."""
    return _EVENTS[data["event"]](**{key: value for key, value in data.items() if key != "event"})
