"""Where the balls of a wedge come down: carry by sideways miss, with the region of eight balls of ten.

Spread is worked out in shares of the carry, ``offline_m / carry_m`` (the tangent of the direction) and the logarithm of
the carry: in these a short and a long swing of one player spread about alike, so that they can lend each other balls.

Measured with invented normal balls, six a swing length and so with a shared spread: 80 % of future balls inside where
the swing lengths do spread alike; where one spreads 1.25 times as wide as the others, 71 % of its balls and 84 % of
theirs; at 1.5 times 64 % and 88 %. One session says nothing of how days differ: with days that move by half of what
balls spread sideways, and a third of it along, the region of twelve balls of one day holds 72 % of the balls of other
days, that of twelve balls of four days 79 %. The region asks for both at once: its reach across alone
holds more than eight balls of ten, and its reach along alone too.

A mean's standard error counts days: balls of one session share what that day did to the player. And readings are
rounded, so every one has the variance of a whole yard's rounding beside what the balls themselves spread.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

from wedgelab.dispersion.region import (
    FEWEST_FREEDOM,
    FEWEST_OWN,
    READING_VARIANCE_M2,
    Point,
    Region,
    Spread,
    mean_of,
)
from wedgelab.shots import Bag, Shot, SwingLength, Wedge, counts_for

TOO_FEW: Final = "few"

Session = tuple[str, str]


@dataclass(frozen=True, slots=True)
class SwingDispersion:
    """Where the balls of one wedge and swing length came down; ``points`` are (``offline_m``, ``carry_m``).

    ``offline_se_m`` and ``offline_sd_m`` are None for one ball. Where there is no ``region``, ``no_region`` is
    `TOO_FEW` and ``n_missing`` how many more balls would make one.
    """

    swing: str
    swing_deg: float
    points: tuple[Point, ...]
    carry_mean_m: float
    offline_mean_m: float
    offline_se_m: float | None
    offline_sd_m: float | None
    left_share: float
    right_share: float
    region: Region | None
    no_region: str
    n_missing: int

    @property
    def n(self) -> int:
        """How many balls there are."""
        return len(self.points)


@dataclass(frozen=True, slots=True)
class WedgeDispersion:
    """Where a wedge's balls came down, swing length by swing length, and its direction over all of them.

    ``side_mean_deg`` is the mean angle to the target line, right positive, with its standard error and the standard
    deviation of single balls (None for one ball). ``n`` balls of ``n_sessions`` are counted; left out were
    ``n_no_offline`` without a sideways miss, ``n_other_swing`` near none of the bag's swing lengths, ``n_other_flight``
    meant low or high and ``n_other_lie`` hit from rough or sand.
    """

    wedge: str
    loft_deg: float
    swings: tuple[SwingDispersion, ...]
    n: int
    n_sessions: int
    side_mean_deg: float | None
    side_se_deg: float | None
    side_sd_deg: float | None
    left_share: float | None
    right_share: float | None
    n_no_offline: int
    n_other_swing: int
    n_other_flight: int
    n_other_lie: int


def dispersions(shots: Sequence[Shot], bag: Bag) -> tuple[WedgeDispersion, ...]:
    """Return the dispersion of each wedge of the bag, least loft first; ``shots`` are the solid ones.

    A ball counts for the nearest named swing length, if `counts_for` has it count for that at all. Wedges of the same
    label and another loft are other clubs. Wind and the player's days are in the spread as they are in the log.
    """
    return tuple(_wedge(wedge, [shot for shot in shots if _is_of(shot, wedge)], bag.swings) for wedge in bag.wedges)


def _is_of(shot: Shot, wedge: Wedge) -> bool:
    """Tell whether a ball was hit with a club, whatever else it was."""
    return counts_for(
        shot, wedge=wedge.label, loft_deg=wedge.loft_deg, swing_deg=shot.swing_deg, trajectory=shot.trajectory,
        lie=shot.lie,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Ball:
    point: Point
    session: Session


@dataclass(frozen=True, slots=True)
class _LeftOut:
    """How many balls of a wedge are not in its dispersion, and why."""

    n_no_offline: int = 0
    n_other_swing: int = 0
    n_other_flight: int = 0
    n_other_lie: int = 0


def _why_not(shot: Shot, wedge: Wedge, swing: SwingLength | None) -> str:
    """Return under which name of `_LeftOut` a ball is left out, nothing where it counts."""
    if shot.trajectory != "stock":
        return "n_other_flight"
    if swing is None:
        return "n_other_swing"
    counts = partial(
        counts_for, shot, wedge=wedge.label, loft_deg=wedge.loft_deg, swing_deg=swing.swing_deg, trajectory="stock"
    )
    if not counts(lie=shot.lie):
        return "n_other_swing"
    if not counts(lie=""):
        return "n_other_lie"
    return "n_no_offline" if shot.offline_m is None else ""


def _sorted_out(
    wedge: Wedge, shots: Sequence[Shot], swings: Sequence[SwingLength]
) -> tuple[dict[SwingLength, list[_Ball]], _LeftOut]:
    """Return the balls of each named swing length that has any, and how many are left out."""
    balls: dict[SwingLength, list[_Ball]] = {swing: [] for swing in swings}
    left_out: Counter[str] = Counter()
    for shot in shots:
        swing = min(swings, key=lambda one: abs(one.swing_deg - shot.swing_deg), default=None)
        why = _why_not(shot, wedge, swing)
        if why:
            left_out[why] += 1
        elif swing is not None and shot.offline_m is not None:
            balls[swing].append(_Ball((shot.offline_m, shot.carry_m), (shot.player, shot.session)))
    return {swing: found for swing, found in balls.items() if found}, _LeftOut(**left_out)


def _wedge(wedge: Wedge, shots: Sequence[Shot], swings: Sequence[SwingLength]) -> WedgeDispersion:
    groups, left_out = _sorted_out(wedge, shots, swings)
    every = [ball for found in groups.values() for ball in found]
    points = [ball.point for ball in every]
    pooled = Spread([[ball.point for ball in found] for found in groups.values()])
    angles = [math.degrees(math.atan2(*point)) for point in points]
    reading = mean_of([(math.degrees(1.0) / carry) ** 2 for _, carry in points]) if points else 0.0
    sessions = [ball.session for ball in every]
    mean, se, sd = _summary(angles, sessions, reading * READING_VARIANCE_M2) if every else (None, None, None)
    left, right = _sides(points) if every else (None, None)
    return WedgeDispersion(
        wedge=wedge.label,
        loft_deg=wedge.loft_deg,
        swings=tuple(_swing(swing, found, pooled) for swing, found in groups.items()),
        n=len(every),
        n_sessions=len(set(sessions)),
        side_mean_deg=mean,
        side_se_deg=se,
        side_sd_deg=sd,
        left_share=left,
        right_share=right,
        n_no_offline=left_out.n_no_offline,
        n_other_swing=left_out.n_other_swing,
        n_other_flight=left_out.n_other_flight,
        n_other_lie=left_out.n_other_lie,
    )


def _swing(swing: SwingLength, balls: Sequence[_Ball], pooled: Spread) -> SwingDispersion:
    points = [ball.point for ball in balls]
    own = Spread([points])
    is_pooled = len(points) < FEWEST_OWN and pooled.freedom > own.freedom
    spread = pooled if is_pooled else own
    region = spread.region(points, is_pooled=is_pooled)
    mean, se, sd = _summary([offline for offline, _ in points], [ball.session for ball in balls], READING_VARIANCE_M2)
    left, right = _sides(points)
    return SwingDispersion(
        swing=swing.label,
        swing_deg=swing.swing_deg,
        points=tuple(points),
        carry_mean_m=mean_of([carry for _, carry in points]),
        offline_mean_m=mean,
        offline_se_m=se,
        offline_sd_m=sd,
        left_share=left,
        right_share=right,
        region=region,
        no_region=TOO_FEW if region is None else "",
        n_missing=max(FEWEST_FREEDOM - spread.freedom, 0),
    )


def _summary(
    values: Sequence[float], sessions: Sequence[Session], reading: float
) -> tuple[float, float | None, float | None]:
    """Return the mean with its standard error and the standard deviation of single values, these None for one value.

    ``reading`` is the variance that rounding adds to a value. The standard error is the larger of the one of balls that
    know nothing of each other and, from two sessions on, the one that takes a session's balls together.
    """
    n = len(values)
    mean = mean_of(values)
    if n < 2:
        return mean, None, None
    variance = math.fsum((value - mean) ** 2 for value in values) / (n - 1) + reading
    return mean, math.sqrt(max(variance / n, _of_sessions(values, sessions, mean))), math.sqrt(variance)


def _of_sessions(values: Sequence[float], sessions: Sequence[Session], mean: float) -> float:
    """Return the variance of a mean that takes what a session's values have in common into account; 0 for one session.

    ``factor * sum over sessions of (n_g (mean_g - mean))^2 / N^2``, the cluster-robust variance of a mean (Cameron &
    Miller, J. Human Resources 50 (2015) 317, from memory). Its usual factor G / (G - 1) is for sessions of as many
    balls each; this one is equal to it there and makes the variance unbiased where the days alone differ. Measured with
    a straight player's days that move by as much as single balls spread, of 20, 2 and 2 balls: the 90 % interval
    (Student's t of G - 1) left out straight in 6 %, by the usual factor in 33 %.
    """
    beyond: dict[Session, float] = defaultdict(float)
    for value, session in zip(values, sessions, strict=True):
        beyond[session] += value - mean
    if len(beyond) < 2:
        return 0.0
    n = len(values)
    counts = Counter(sessions).values()
    squares = math.fsum(count * count for count in counts)
    factor = squares / math.fsum(count * count * (1.0 - 2.0 * count / n + squares / (n * n)) for count in counts)
    return factor * math.fsum(total * total for total in beyond.values()) / (n * n)


def _sides(points: Sequence[Point]) -> tuple[float, float]:
    """Return the shares of balls left and right of the target line; the rest was on it."""
    left, right = (sum(sign * offline > 0 for offline, _ in points) for sign in (-1, 1))
    return left / len(points), right / len(points)
