"""A practice session: warm-up, blocks of balls in the order to hit them, time, and what it is expected to teach."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from wedgelab.errors import BadRequestError
from wedgelab.plan.allocate import DEFAULT_CAP, Budget, allocate
from wedgelab.plan.wanted import Wanted
from wedgelab.prediction import Prediction, Predictor, Support, share_of_median
from wedgelab.showing import Shown

MOST_BALLS: Final = 200
MOST_MINUTES: Final = 240.0
MOST_WARM_UP: Final = 60
BALL_SECONDS: Final = (5.0, 600.0)
CHANGE_SECONDS: Final = (0.0, 900.0)
FEWEST_MEASURED: Final = 4  # what is left for these is no session
# common practice, no source: a ball every 45 s, a few easy ones first, a minute to change clubs and aim anew
BALL_MIN: Final = 0.75
CHANGE_MIN: Final = 1.0
WARM_UP: Final = 6
WARM_UP_SHARE: Final = 0.25  # at most, where the number was not asked for


@dataclass(frozen=True, slots=True)
class Limits:
    """What the player can give: balls, minutes or both, and what each thing takes; None for the usual warm-up."""

    balls: int | None = None
    minutes: float | None = None
    warm_up: int | None = None
    cap: int = DEFAULT_CAP
    ball_min: float = BALL_MIN
    change_min: float = CHANGE_MIN


@dataclass(frozen=True, slots=True)
class PlannedShot:
    """One wedge and swing: how many balls, its charted median, and its standard error now and as expected after.

    ``share_now`` and ``share_after`` are standard errors as shares of the carry, ``weight`` how much the shot matters
    to what is wanted (the weights of a plan sum to 1).
    """

    wedge: str
    loft_deg: float
    swing: str
    swing_deg: float
    balls: int
    carry_m: float
    share_now: float
    share_after: float
    weight: float
    n_shots: int
    support: Support

    @property
    def se_now_m(self) -> float:
        """Standard error of the charted median now [m]."""
        return self.carry_m * self.share_now

    @property
    def se_after_m(self) -> float:
        """Standard error expected after the session [m]."""
        return self.carry_m * self.share_after


@dataclass(frozen=True, slots=True)
class WarmUp:
    """Easy balls before the first one that counts."""

    balls: int
    wedge: str
    swing: str


@dataclass(frozen=True, slots=True)
class SessionPlan(Shown):
    """What to hit, in order, and the expected chart error before and after.

    ``doubt_now`` and ``doubt_after`` are mean standard errors of the wanted medians as shares of the carry, ``shots``
    those with balls in the order to hit them, ``rest`` the others. ``is_full`` tells that every shot has its most
    balls, ``wanted_is_full`` that every one has that matters to what was asked for, ``beyond_range`` how many shots
    carry beyond the range's limit.
    """

    player: str
    shots: tuple[PlannedShot, ...]
    rest: tuple[PlannedShot, ...]
    warm_up: WarmUp | None
    minutes: float
    changeovers: int
    is_full: bool
    wanted_is_full: bool
    beyond_range: int
    doubt_now: float
    doubt_after: float
    wanted: Wanted
    limits: Limits
    n_shots: int
    n_sessions: int

    @property
    def balls(self) -> int:
        """The balls that count."""
        return sum(shot.balls for shot in self.shots)

    @property
    def has_outsiders(self) -> bool:
        """Whether shots are hit that nobody asked to be surer of, for what they teach of those that were."""
        return any(shot.balls and not shot.weight for shot in self.shots)


def plan_session(
    predictor: Predictor,
    wanted: Wanted,
    limits: Limits,
    *,
    player: str = "",
    range_limit_m: float | None = None,
    on_step: Callable[[float], None] | None = None,
) -> SessionPlan:
    """Plan one new session; limits that make none raise `BadRequestError`.

    ``on_step`` is told as the work goes on what share of it is done.

    A shot whose median lies beyond the range's limit is not planned: nobody can see where it lands.
    """
    check_limits(limits)
    warm_up = _warm_up_balls(limits)
    kinds = wanted.kinds
    budget = Budget(
        (MOST_BALLS if limits.balls is None else limits.balls) - warm_up,
        None if limits.minutes is None else limits.minutes - warm_up * limits.ball_min,
        limits.cap, limits.ball_min, limits.change_min,
    )  # fmt: skip
    predicted = predictor.predict(kinds)
    seen = [range_limit_m is None or prediction.carry_m <= range_limit_m for prediction in predicted]
    if not any(seen):
        raise BadRequestError(
            "every charted shot carries beyond the range's limit",
            "change it: wedgelab players set --range-limit, or add a shorter swing",
        )
    counts = allocate(predictor, kinds, wanted.weights, budget, seen, on_step=on_step)
    extra = [kind for kind, n in zip(kinds, counts, strict=True) for _ in range(n)]
    before = [share_of_median(float(v)) for v in predictor.log_median_covariance(kinds).diagonal()]
    after = [share_of_median(float(v)) for v in predictor.expected_covariance(kinds, extra, may_move=True).diagonal()]
    every = [_planned(wanted, i, counts[i], prediction, before[i], after[i]) for i, prediction in enumerate(predicted)]
    shots = tuple(sorted((shot for shot in every if shot.balls), key=_easy_first))
    changeovers = len({shot.wedge for shot in shots})
    return SessionPlan(
        player=player,
        shots=shots,
        rest=tuple(sorted((shot for shot in every if not shot.balls), key=_easy_first)),
        warm_up=_warm_up(warm_up, shots[0], every),
        minutes=limits.ball_min * (warm_up + len(extra)) + limits.change_min * changeovers,
        changeovers=changeovers,
        is_full=all(n == limits.cap for n, can in zip(counts, seen, strict=True) if can),
        wanted_is_full=all(
            n == limits.cap for n, can, weight in zip(counts, seen, wanted.weights, strict=True) if can and weight
        ),
        beyond_range=seen.count(False),
        doubt_now=_mean(wanted, before),
        doubt_after=_mean(wanted, after),
        wanted=wanted,
        limits=limits,
        n_shots=predictor.n_shots,
        n_sessions=predictor.n_sessions,
    )


def check_limits(limits: Limits) -> None:
    """Refuse what makes no session, with the value seen."""
    if limits.balls is None and limits.minutes is None:
        raise BadRequestError("neither balls nor minutes are given", "say --balls 40 or --minutes 45")
    _within(limits.balls, "balls make no session", 1, MOST_BALLS, "balls")
    _within(limits.minutes, "minutes make no session", 1, MOST_MINUTES, "minutes")
    _within(limits.warm_up, "balls are no warm-up", 0, MOST_WARM_UP, "balls")
    _within(limits.cap, "balls a shot are no limit", 1, MOST_BALLS, "balls")
    _within(60.0 * limits.ball_min, "seconds are no time for a ball", *BALL_SECONDS, "seconds")
    _within(60.0 * limits.change_min, "seconds are no time for a change of wedge", *CHANGE_SECONDS, "seconds")
    warm_up = _warm_up_balls(limits)
    if limits.balls is not None and warm_up >= limits.balls:
        raise BadRequestError(
            f"{warm_up} balls to warm up leave none of {limits.balls}", "give more balls or a shorter --warm-up"
        )
    least = (warm_up + FEWEST_MEASURED) * limits.ball_min + limits.change_min
    if limits.minutes is not None and limits.minutes < least - 1e-9:
        first = f"{warm_up} balls to warm up and " if warm_up else ""
        raise BadRequestError(
            f"{limits.minutes:g} minutes are too short for {first}{FEWEST_MEASURED} balls that count",
            f"give {math.ceil(least - 1e-9)} minutes or more",
        )


def _within(value: float | None, what: str, low: float, high: float, unit: str) -> None:
    # asked this way round a NaN is refused too
    if value is not None and not low <= value <= high:
        raise BadRequestError(f"{value:g} {what}", f"give {low:g} to {high:g} {unit}")


def _warm_up_balls(limits: Limits) -> int:
    if limits.warm_up is not None:
        return limits.warm_up
    balls = MOST_BALLS if limits.balls is None else limits.balls
    if limits.minutes is not None and math.isfinite(limits.minutes):
        balls = min(balls, math.floor((limits.minutes - limits.change_min) / limits.ball_min + 1e-9))
        return max(0, min(WARM_UP, math.floor(WARM_UP_SHARE * balls), balls - FEWEST_MEASURED))
    return min(WARM_UP, math.floor(WARM_UP_SHARE * balls))


def _warm_up(balls: int, first: PlannedShot, every: list[PlannedShot]) -> WarmUp | None:
    """Warm up with the wedge that comes first and the shortest swing there is."""
    if not balls:
        return None
    shortest = min((shot for shot in every if shot.wedge == first.wedge), key=lambda shot: shot.swing_deg)
    return WarmUp(balls, shortest.wedge, shortest.swing)


def _planned(
    wanted: Wanted, i: int, balls: int, prediction: Prediction, share_now: float, share_after: float
) -> PlannedShot:
    wedge, swing = wanted.shots[i]
    return PlannedShot(
        wedge.label, wedge.loft_deg, swing.label, swing.swing_deg, balls, prediction.carry_m,
        share_now, share_after, wanted.weights[i], prediction.n_shots, prediction.support,
    )  # fmt: skip


def _easy_first(shot: PlannedShot) -> tuple[float, str, float]:
    """Order by wedge, the most lofted first, and within it from the shortest swing to the longest."""
    return -shot.loft_deg, shot.wedge, shot.swing_deg


def _mean(wanted: Wanted, shares: list[float]) -> float:
    return sum(weight * share for weight, share in zip(wanted.weights, shares, strict=True))
