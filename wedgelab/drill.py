"""A drill: random calls, a ball for each, and what came of it. A pure machine that steps from event to event.

``start`` makes the state, ``step`` moves it by one event, ``replay`` brings back the state from the stored events. The
caller stores each event (and the ball) before it shows anything.
"""

import itertools
import math
import random
from collections.abc import Callable, Container, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from wedgelab.errors import BadRequestError
from wedgelab.prediction import Predictor, ShotKind
from wedgelab.window import WindowRule

MOST_BALLS: Final = 500
LEAST_STEP_M: Final = 0.1
_BAND_WIDTH_M: Final = 12.0
_MOST_BANDS: Final = 4


@dataclass(frozen=True, slots=True)
class DrillPlan:
    """What a drill asks for: its calls [m] in order, and the rule for the window. Stored when the drill starts."""

    calls_m: tuple[float, ...]
    low_m: float
    high_m: float
    seed: int
    window: WindowRule = field(default_factory=WindowRule)

    def to_dict(self) -> dict[str, Any]:
        """Return the plan as plain data for the store."""
        rule = {"share": self.window.share, "least_m": self.window.least_m, "fixed_m": self.window.fixed_m}
        return {
            "calls_m": list(self.calls_m),
            "low_m": self.low_m,
            "high_m": self.high_m,
            "seed": self.seed,
            "window": rule,
        }

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> "DrillPlan":
        """Return the plan that `to_dict` wrote."""
        return cls(
            tuple(float(call) for call in data["calls_m"]),
            float(data["low_m"]),
            float(data["high_m"]),
            int(data["seed"]),
            WindowRule(**data["window"]),
        )


@dataclass(frozen=True, slots=True)
class Played:
    """The answer to one call: a ball, or None in its place when the call was skipped."""

    call_no: int
    call_m: float
    shot_id: str
    wedge: str
    loft_deg: float
    swing_deg: float
    carry_m: float
    guess_m: float | None

    @property
    def miss_m(self) -> float:
        """Carry minus call; long is positive."""
        return self.carry_m - self.call_m


@dataclass(frozen=True, slots=True)
class Guess:
    """The player says how far the ball went before the number is shown."""

    guess_m: float


@dataclass(frozen=True, slots=True)
class Ball:
    """The ball for the present call."""

    shot_id: str
    wedge: str
    loft_deg: float
    swing_deg: float
    carry_m: float


@dataclass(frozen=True, slots=True)
class Skip:
    """The present call is left out."""


@dataclass(frozen=True, slots=True)
class Undo:
    """What came last is taken back: a lone guess, a ball (its guess stays) or a skip; its call comes again."""


Event = Guess | Ball | Skip | Undo
_EVENTS: Final[dict[str, type[Guess] | type[Ball] | type[Skip] | type[Undo]]] = {
    "guess": Guess,
    "ball": Ball,
    "skip": Skip,
    "undo": Undo,
}


@dataclass(frozen=True, slots=True)
class DrillState:
    """Where a drill stands: ``answers`` has one entry for each call so far, None where it was skipped."""

    plan: DrillPlan
    answers: tuple[Played | None, ...] = ()
    guess_m: float | None = None

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
    def played(self) -> tuple[Played, ...]:
        """The balls so far."""
        return tuple(answer for answer in self.answers if answer is not None)

    @property
    def last(self) -> Played | None:
        """The last answer, None at the start or after a skip."""
        return self.answers[-1] if self.answers else None


def make_calls(balls: int, low_m: float, high_m: float, step_m: float, seed: int) -> tuple[float, ...]:
    """Draw calls [m] on the grid of ``step_m`` within the limits: every distance band as often, no call twice in a row.

    The same arguments give the same calls.
    """
    if not 1 <= balls <= MOST_BALLS:
        raise BadRequestError(f"{balls} balls is no drill", f"ask for 1 to {MOST_BALLS}")
    if not step_m >= LEAST_STEP_M:
        raise BadRequestError(f"a step of {step_m:g} m makes no calls", f"give a step of {LEAST_STEP_M:g} m or more")
    first, last = max(1, math.ceil(low_m / step_m - 1e-9)), math.floor(high_m / step_m + 1e-9)
    grid = [i * step_m for i in range(first, last + 1)]
    if not grid:
        raise BadRequestError("no call lies between the two distances", "take a wider span or a smaller step")
    bands = [[call for call in grid if low <= call < high] for low, high in _bands_of(grid, low_m, high_m)]
    bands = [band for band in bands if band]
    rng = random.Random(seed)  # noqa: S311 - calls to practise, not a secret
    calls: list[float] = []
    while len(calls) < balls:
        turn = bands.copy()
        rng.shuffle(turn)
        if len(turn) > 1 and calls and turn[0] == [calls[-1]]:  # a band of one call would repeat it
            turn.append(turn.pop(0))
        for band in turn:
            others = [call for call in band if not calls or call != calls[-1]]
            calls.append(rng.choice(others or band))
    return tuple(calls[:balls])


def band_edges(low_m: float, high_m: float) -> list[tuple[float, float]]:
    """Split a span of calls into one to four bands of equal width; the last one includes its end."""
    count = max(1, min(_MOST_BANDS, int((high_m - low_m) / _BAND_WIDTH_M)))
    width = (high_m - low_m) / count
    edges = [low_m + i * width for i in range(count)] + [math.nextafter(high_m, math.inf)]
    return list(itertools.pairwise(edges))


def _bands_of(calls: Sequence[float], low_m: float, high_m: float) -> list[tuple[float, float]]:
    """Return the bands of a drill's limits: drawing and summing up part the calls alike. No call falls outside."""
    return band_edges(min(low_m, *calls), max(high_m, *calls))


def step(state: DrillState, event: Event) -> DrillState:
    """Return the state after an event; an event that does not fit raises `BadRequestError` and changes nothing."""
    if isinstance(event, Undo):
        if state.guess_m is not None:
            return replace(state, guess_m=None)
        if not state.answers:
            raise BadRequestError("there is nothing to undo yet", "hit the first ball")
        # a guess made before the number was seen stays good for the corrected ball
        guess = None if state.last is None else state.last.guess_m
        return replace(state, answers=state.answers[:-1], guess_m=guess)
    if state.is_over:
        raise BadRequestError("the drill is over", "undo the last ball, or start another drill")
    if isinstance(event, Guess):
        return replace(state, guess_m=event.guess_m)
    if isinstance(event, Skip):
        return replace(state, answers=(*state.answers, None), guess_m=None)
    ball = Played(
        state.call_no,
        state.call_m,
        event.shot_id,
        event.wedge,
        event.loft_deg,
        event.swing_deg,
        event.carry_m,
        state.guess_m,
    )
    return replace(state, answers=(*state.answers, ball), guess_m=None)


def replay(plan: DrillPlan, events: Iterable[Event]) -> DrillState:
    """Return the state that a sequence of events leads to."""
    state = DrillState(plan)
    for event in events:
        state = step(state, event)
    return state


def without_shots(state: DrillState, kept: Container[str]) -> DrillState:
    """Return the state with balls whose shot is no longer in the log turned into skipped calls."""
    answers = tuple(a if a is not None and a.shot_id in kept else None for a in state.answers)
    return replace(state, answers=answers)


def event_to_dict(event: Event) -> dict[str, Any]:
    """Return an event as plain data for the store."""
    name = next(name for name, kind in _EVENTS.items() if isinstance(event, kind))
    fields: Sequence[str] = type(event).__slots__
    return {"event": name, **{key: getattr(event, key) for key in fields}}


def event_from_dict(data: dict[str, Any]) -> Event:
    """Return the event that `event_to_dict` wrote."""
    return _EVENTS[data["event"]](**{key: value for key, value in data.items() if key != "event"})


@dataclass(frozen=True, slots=True)
class MissSummary:
    """Errors of a set of calls: constant error CE, variable error VE about the own mean, total error E, all in metres.

    ``E^2 = CE^2 + VE^2`` (standard terms of motor-learning research). ``inside`` counts balls inside the window and
    ``share_low`` to ``share_high`` is the Wilson 80 % interval of that share. ``expected_*`` is what the chart expected
    of the same shots at the same calls, None without a chart.
    """

    label: str
    n: int
    ce_m: float
    ve_m: float
    e_m: float
    inside: int
    share: float
    share_low: float
    share_high: float
    expected_e_m: float | None
    expected_share: float | None


@dataclass(frozen=True, slots=True)
class DrillSummary:
    """What a drill came to: over all, by distance band, by wedge, and how good the guesses were."""

    total: MissSummary
    bands: tuple[MissSummary, ...]
    wedges: tuple[MissSummary, ...]
    guess: MissSummary | None
    skipped: int
    left: int


def summarise(
    state: DrillState, predictor: Predictor | None, label_band: Callable[[float, float], str]
) -> DrillSummary | None:
    """Sum up a drill, finished or not; None before the first ball. ``label_band`` names a span of calls [m]."""
    balls = state.played
    if not balls:
        return None
    plan = state.plan
    expected = _expected(balls, plan.window, predictor)
    rows = list(zip(balls, expected, strict=True))
    bands = []
    for low, high in _bands_of(plan.calls_m, plan.low_m, plan.high_m):
        inside = [row for row in rows if low <= row[0].call_m < high]
        if inside:
            called = [ball.call_m for ball, _ in inside]
            bands.append(_misses(label_band(min(called), max(called)), inside, plan.window))
    names = sorted({(ball.loft_deg, ball.wedge) for ball in balls})
    wedges = [
        _misses(name, [row for row in rows if (row[0].loft_deg, row[0].wedge) == (loft, name)], plan.window)
        for loft, name in names
    ]
    guessed = [(replace(ball, call_m=ball.carry_m, carry_m=ball.guess_m), None) for ball in balls if ball.guess_m]
    return DrillSummary(
        total=_misses("all", rows, plan.window),
        bands=tuple(bands),
        wedges=tuple(wedges),
        guess=_misses("guess", guessed, plan.window) if guessed else None,
        skipped=sum(answer is None for answer in state.answers),
        left=len(plan.calls_m) - len(state.answers),
    )


def wilson(hits: int, n: int, z: float = 1.2815515655446004) -> tuple[float, float]:
    """Return the Wilson interval of a share (Wilson, J. Am. Stat. Assoc. 22 (1927) 209); z for 80 % if not given."""
    if n == 0:
        return 0.0, 1.0
    share = hits / n
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    return max(0.0, middle - half), min(1.0, middle + half)


def _expected(
    balls: Sequence[Played], window: WindowRule, predictor: Predictor | None
) -> list[tuple[float, float] | None]:
    """Return expected squared miss [m2] and chance inside the window of each ball, as the chart saw that shot."""
    if predictor is None:
        return [None] * len(balls)
    kinds = [ShotKind(ball.wedge, ball.loft_deg, ball.swing_deg) for ball in balls]
    result: list[tuple[float, float] | None] = []
    for ball, kind, prediction in zip(balls, kinds, predictor.predict(kinds), strict=True):
        low, high = window.around(ball.call_m)
        square = (prediction.carry_m - ball.call_m) ** 2 + prediction.carry_sd_m**2
        result.append((square, float(predictor.window_probability([kind], low, high)[0])))
    return result


def _misses(label: str, rows: Sequence[tuple[Played, tuple[float, float] | None]], window: WindowRule) -> MissSummary:
    n = len(rows)
    if n == 0:
        return MissSummary(label, 0, 0.0, 0.0, 0.0, 0, 0.0, 0.0, 1.0, None, None)
    misses = [ball.miss_m for ball, _ in rows]
    ce = math.fsum(misses) / n
    ve = math.sqrt(math.fsum((miss - ce) ** 2 for miss in misses) / n)
    inside = sum(abs(ball.miss_m) <= window.half_m(ball.call_m) + 1e-9 for ball, _ in rows)
    low, high = wilson(inside, n)
    expected = [pair for _, pair in rows if pair is not None]
    return MissSummary(
        label,
        n,
        ce,
        ve,
        math.hypot(ce, ve),
        inside,
        inside / n,
        low,
        high,
        math.sqrt(math.fsum(square for square, _ in expected) / n) if len(expected) == n else None,
        math.fsum(chance for _, chance in expected) / n if len(expected) == n else None,
    )
