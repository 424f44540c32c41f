"""What a drill came to: errors of its balls, against what the chart expected and against an earlier drill.

What the chart expected stands in each ball (``chart_*``), so no model is asked here. Intervals are of 80 %.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from wedgelab.drill.against import (
    DrillComparison,
    ErrorRatio,
    ErrorSplit,
    compare,
    expected_square,
    ratio_of,
    split_of,
)
from wedgelab.drill.calls import bands_of
from wedgelab.drill.intervals import correlation_of, errors_of, mean_of, wilson
from wedgelab.drill.machine import DrillState, Played
from wedgelab.shots import LIMITS
from wedgelab.showing import Shown

WITH_ADVICE: Final = "with advice"
WITHOUT_ADVICE: Final = "without advice"
BALLS_A_BLOCK: Final = 5


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
class GuessSummary:
    """Errors of the player's guesses (guess minus carry), and how they go together with what the balls did.

    ``correlation`` is that of guess and carry; most of it is the spread of the calls. ``miss_correlation`` is that of
    the guessed miss and the miss, both from the call: whether the player feels that a ball goes long or short. Either
    is None under three guesses or without spread, the interval (Fisher's z, of the second) under four.
    """

    n: int
    ce_m: float
    ve_m: float
    e_m: float
    correlation: float | None
    miss_correlation: float | None
    miss_correlation_low: float | None
    miss_correlation_high: float | None


@dataclass(frozen=True, slots=True)
class DrillSummary(Shown):
    """What a drill came to: over all, by band of distance, by wedge and by advice, and what that says.

    ``best_share`` is what the chart expected inside the window of the shots that it puts first itself (None without a
    chart). ``worst_m`` is the largest miss, ``worst_share`` its part of E squared (None without any miss).
    ``window_now_m`` is the half width of an adapting window now, at the call ``window_call_m`` that was played
    last; both None where the window stays as the rule says.
    """

    total: MissSummary
    bands: tuple[MissSummary, ...]
    wedges: tuple[MissSummary, ...]
    advice: tuple[MissSummary, ...]
    guess: GuessSummary | None
    ratio: ErrorRatio | None
    split: ErrorSplit | None
    comparison: DrillComparison | None
    best_share: float | None
    worst_m: float | None
    worst_share: float | None
    window_now_m: float | None
    window_call_m: float | None
    skipped: int
    left: int


@dataclass(frozen=True, slots=True)
class BlockError:
    """Total error of ``n`` balls hit one after the other, the first of them at call ``call_no``."""

    call_no: int
    n: int
    e_m: float


def errors_in_turn(balls: Sequence[Played], size: int = BALLS_A_BLOCK) -> tuple[BlockError, ...]:
    """Return E of the first ``size`` balls, of the next, and so on; the last may be of fewer."""
    blocks = [balls[start : start + size] for start in range(0, len(balls), size)]
    return tuple(
        BlockError(block[0].call_no, len(block), errors_of([ball.miss_m for ball in block])[2]) for block in blocks
    )


def summarise(
    state: DrillState, label_band: Callable[[float, float], str], *, earlier: DrillState | None = None
) -> DrillSummary | None:
    """Sum up a drill, finished or not; None before the first ball. ``label_band`` names a span of calls [m]."""
    balls = state.played
    if not balls:
        return None
    plan = state.plan
    bands = []
    for low, high in bands_of(plan.calls_m, plan.low_m, plan.high_m):
        within = [ball for ball in balls if low <= ball.call_m < high]
        if within:
            called = [ball.call_m for ball in within]
            bands.append(_misses(label_band(min(called), max(called)), within))
    worst = max((ball.miss_m for ball in balls), key=abs)
    squares = math.fsum(ball.miss_m**2 for ball in balls)
    clubs = sorted({(ball.ball.loft_deg, ball.ball.wedge) for ball in balls})
    last = balls[-1].call_m
    return DrillSummary(
        total=_misses("all", balls),
        bands=tuple(bands),
        wedges=tuple(
            _misses(club[1], [ball for ball in balls if (ball.ball.loft_deg, ball.ball.wedge) == club])
            for club in clubs
        ),
        advice=_by_advice(balls),
        guess=_guesses(balls),
        ratio=ratio_of(balls),
        split=split_of(balls),
        comparison=None if earlier is None else compare(state, earlier),
        best_share=_best_share(balls),
        worst_m=worst if squares else None,
        worst_share=worst**2 / squares if squares else None,
        window_now_m=None if plan.hold is None else _window_now(state, last),
        window_call_m=None if plan.hold is None else last,
        skipped=sum(answer is None for answer in state.answers),
        left=len(plan.calls_m) - len(state.answers),
    )


def _window_now(state: DrillState, call_m: float) -> float:
    """Return the half width [m] that the window has by now around a call, within the hard limits."""
    low, high = LIMITS["window_m"][:2]
    return min(max(state.plan.window.half_m(call_m) * math.exp(state.log_scale), low), high)


def _misses(label: str, balls: Sequence[Played]) -> MissSummary:
    n = len(balls)
    inside = sum(ball.is_inside for ball in balls)
    squares = [square for ball in balls if (square := expected_square(ball)) is not None]
    chances = [chance for ball in balls if (chance := ball.ball.chart_window_probability) is not None]
    return MissSummary(
        label,
        n,
        *errors_of([ball.miss_m for ball in balls]),
        inside,
        inside / n,
        *wilson(inside, n),
        math.sqrt(mean_of(squares)) if len(squares) == n else None,
        mean_of(chances) if len(chances) == n else None,
    )


def _best_share(balls: Sequence[Played]) -> float | None:
    chances = [chance for ball in balls if (chance := ball.ball.best_window_probability) is not None]
    return mean_of(chances) if len(chances) == len(balls) else None


def _by_advice(balls: Sequence[Played]) -> tuple[MissSummary, ...]:
    """Return balls with and without advice apart, nothing where all were hit with it."""
    parts = [(WITH_ADVICE, True), (WITHOUT_ADVICE, False)]
    groups = [(label, [ball for ball in balls if ball.ball.advice_shown == shown]) for label, shown in parts]
    return tuple(_misses(label, group) for label, group in groups if group) if groups[1][1] else ()


def _guesses(balls: Sequence[Played]) -> GuessSummary | None:
    rows = [(ball.guess_m, ball.carry_m, ball.call_m) for ball in balls if ball.guess_m is not None]
    if not rows:
        return None
    return GuessSummary(
        len(rows),
        *errors_of([guess - carry for guess, carry, _ in rows]),
        correlation_of([(guess, carry) for guess, carry, _ in rows])[0],
        *correlation_of([(guess - call, carry - call) for guess, carry, call in rows]),
    )
