"""Where the balls of a wedge come down: carry by sideways miss, with the region of eight balls of ten.

Spread is worked out in shares of the carry, ``offline_m / carry_m`` (the tangent of the direction) and the logarithm of
the carry: in these a short and a long swing of one player spread about alike, so that they can lend each other balls.

Measured with invented normal balls, six a swing length and so with a shared spread: 80 % of future balls inside where
the swing lengths do spread alike; where one spreads 1.25 times as wide as the others, 71 % of its balls and 84 % of
theirs; at 1.5 times 64 % and 88 %. One session says nothing of how days differ: with days that move by half of what
balls spread sideways, and a third of it along, the region of twelve balls of one day holds 72 % of the balls of other
days, that of twelve balls of four days 79 %.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from wedgelab.shots import MEASURED_SWING_DEG, Bag, Shot, SwingLength, Wedge

REGION_SHARE: Final = 0.8
FEWEST_OWN: Final = 12  # balls of one swing length that tell their spread better alone than with the wedge's others
FEWEST_FREEDOM: Final = 4  # balls beyond the means; with fewer the region would be as wide as the range
_FLAT: Final = 1e-9  # of the product of the variances: balls on one line have no region
_OUTLINE_POINTS: Final = 72

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Region:
    """The 80 % prediction region of one future solid ball, in the shares of this module.

    The ellipse of all points with ``(x - mean)' S^-1 (x - mean) <= reach^2``, where ``S = L L'`` has the lower triangle
    ``side_sd``, ``lean``, ``log_sd``. ``is_pooled`` tells that the spread is that of all swing lengths of the wedge.
    """

    side: float
    log_carry: float
    side_sd: float
    lean: float
    log_sd: float
    reach: float
    is_pooled: bool

    @property
    def outline(self) -> tuple[Point, ...]:
        """The edge as points of (``offline_m``, ``carry_m``), the last of them the first again."""
        turns = [2.0 * math.pi * i / _OUTLINE_POINTS for i in range(_OUTLINE_POINTS)]
        points = [self._point(math.cos(turn), math.sin(turn)) for turn in turns]
        return (*points, points[0])

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Leftmost and rightmost ``offline_m``, shortest and longest ``carry_m`` of the edge."""
        offline, carry = zip(*self.outline, strict=True)
        return min(offline), max(offline), min(carry), max(carry)

    def holds(self, offline_m: float, carry_m: float) -> bool:
        """Tell whether a ball came down inside the region."""
        across = (offline_m / carry_m - self.side) / self.side_sd
        along = (math.log(carry_m) - self.log_carry - self.lean * across) / self.log_sd
        return across * across + along * along <= self.reach * self.reach

    def _point(self, u: float, v: float) -> Point:
        carry_m = math.exp(self.log_carry + self.reach * (self.lean * u + self.log_sd * v))
        return carry_m * (self.side + self.reach * self.side_sd * u), carry_m


@dataclass(frozen=True, slots=True)
class SwingDispersion:
    """Where the balls of one wedge and swing length came down; ``points`` are (``offline_m``, ``carry_m``).

    ``offline_se_m`` and ``offline_sd_m`` are None for one ball. Where there is no ``region``, ``no_region`` says why.
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

    @property
    def n(self) -> int:
        """How many balls there are."""
        return len(self.points)


@dataclass(frozen=True, slots=True)
class WedgeDispersion:
    """Where a wedge's balls came down, swing length by swing length, and its direction over all of them.

    ``side_mean_deg`` is the mean angle to the target line, right positive, with its standard error and the standard
    deviation of single balls (None for one ball). ``n`` balls are counted; left out were ``n_no_offline`` without a
    sideways miss, ``n_other_swing`` near none of the bag's swing lengths and ``n_other_flight`` meant low or high.
    """

    wedge: str
    loft_deg: float
    swings: tuple[SwingDispersion, ...]
    n: int
    side_mean_deg: float | None
    side_se_deg: float | None
    side_sd_deg: float | None
    left_share: float | None
    right_share: float | None
    n_no_offline: int
    n_other_swing: int
    n_other_flight: int


def dispersions(shots: Sequence[Shot], bag: Bag) -> tuple[WedgeDispersion, ...]:
    """Return the dispersion of each wedge of the bag, least loft first; ``shots`` are the solid ones.

    A ball counts for the nearest named swing length within `MEASURED_SWING_DEG`. Wedges of the same label and another
    loft are other clubs. Wind and the player's days are in the spread as they are in the log.
    """
    return tuple(_wedge(wedge, [shot for shot in shots if _is_of(shot, wedge)], bag.swings) for wedge in bag.wedges)


def f_quantile_of_two(freedom: float, share: float = REGION_SHARE) -> float:
    """Return the quantile of Fisher's F with 2 and ``freedom`` degrees of freedom, in closed form.

    Its distribution function is ``1 - (1 + 2 x / m)^(-m / 2)`` (Johnson, Kotz & Balakrishnan, Continuous Univariate
    Distributions, vol. 2, ch. 27), which is solved for x.
    """
    return 0.5 * freedom * (math.pow(1.0 - share, -2.0 / freedom) - 1.0)


def reach_of_one_ball(n: int, freedom: int, share: float = REGION_SHARE) -> float:
    """Return how many standard deviations from the mean of ``n`` balls one future ball stays with that chance.

    ``freedom`` are the degrees of freedom m of the covariance. Hotelling: the squared distance of a new ball is
    ``(1 + 1/n) p m / (m - p + 1) F(p, m - p + 1)`` with p = 2; for m = n - 1 that is the known
    ``p (n - 1)(n + 1) / (n (n - p)) F(p, n - p)`` (Johnson & Wichern, Applied Multivariate Statistical Analysis, 6th
    ed., result 5.6; NIST/SEMATECH e-Handbook of Statistical Methods, 6.5.4.3).
    """
    last = freedom - 1
    return math.sqrt((1.0 + 1.0 / n) * 2.0 * freedom / last * f_quantile_of_two(last, share))


def _is_of(shot: Shot, wedge: Wedge) -> bool:
    return shot.wedge.casefold() == wedge.label.casefold() and shot.loft_deg == wedge.loft_deg


def _wedge(wedge: Wedge, shots: Sequence[Shot], swings: Sequence[SwingLength]) -> WedgeDispersion:
    balls: dict[SwingLength, list[Point]] = {swing: [] for swing in swings}
    missing = elsewhere = other_flight = 0
    for shot in shots:
        swing = min(swings, key=lambda one: abs(one.swing_deg - shot.swing_deg), default=None)
        if shot.trajectory != "stock":
            other_flight += 1
        elif swing is None or abs(swing.swing_deg - shot.swing_deg) > MEASURED_SWING_DEG:
            elsewhere += 1
        elif shot.offline_m is None:
            missing += 1
        else:
            balls[swing].append((shot.offline_m, shot.carry_m))
    groups = {swing: points for swing, points in balls.items() if points}
    every = [point for points in groups.values() for point in points]
    pooled = _Spread(groups.values())
    counts = missing, elsewhere, other_flight
    if not every:
        return WedgeDispersion(wedge.label, wedge.loft_deg, (), 0, None, None, None, None, None, *counts)
    mean, se, sd = _summary([math.degrees(math.atan2(offline, carry)) for offline, carry in every])
    return WedgeDispersion(
        wedge.label,
        wedge.loft_deg,
        tuple(_swing(swing, points, pooled) for swing, points in groups.items()),
        len(every),
        mean,
        se,
        sd,
        *_sides(every),
        *counts,
    )


def _swing(swing: SwingLength, points: list[Point], pooled: "_Spread") -> SwingDispersion:
    own = _Spread([points])
    spread, is_pooled = (own, False) if len(points) >= FEWEST_OWN else (pooled, pooled.freedom > own.freedom)
    region, why_none = spread.region(points, is_pooled=is_pooled)
    offline_mean_m, offline_se_m, offline_sd_m = _summary([point[0] for point in points])
    return SwingDispersion(
        swing.label,
        swing.swing_deg,
        tuple(points),
        _mean([point[1] for point in points]),
        offline_mean_m,
        offline_se_m,
        offline_sd_m,
        *_sides(points),
        region,
        why_none,
    )


class _Spread:
    """The covariance of balls about the mean of their own swing length, over one swing length or several."""

    def __init__(self, groups: Iterable[Sequence[Point]]) -> None:
        # sums of squares and products of what is left after each group's mean
        self.side2 = self.both = self.log2 = 0.0
        self.freedom = 0
        for points in groups:
            rows = [_shares(point) for point in points]
            side, log_carry = _mean([row[0] for row in rows]), _mean([row[1] for row in rows])
            self.side2 += math.fsum((row[0] - side) ** 2 for row in rows)
            self.both += math.fsum((row[0] - side) * (row[1] - log_carry) for row in rows)
            self.log2 += math.fsum((row[1] - log_carry) ** 2 for row in rows)
            self.freedom += len(rows) - 1

    def region(self, points: Sequence[Point], *, is_pooled: bool) -> tuple[Region | None, str]:
        """Return the region about the mean of some of the balls, or None and the sentence that says why."""
        if self.freedom < FEWEST_FREEDOM:
            more = FEWEST_FREEDOM - self.freedom
            balls = f"{more} more {'ball' if more == 1 else 'balls'}"
            return None, f"too few balls for a region: {balls} with a sideways miss would make one"
        if self.side2 * self.log2 - self.both**2 <= _FLAT * self.side2 * self.log2:
            return None, "the balls lie on one line, as rounded numbers may: no region can be drawn"
        side_sd = math.sqrt(self.side2 / self.freedom)
        lean = self.both / self.freedom / side_sd
        rows = [_shares(point) for point in points]
        region = Region(
            _mean([row[0] for row in rows]),
            _mean([row[1] for row in rows]),
            side_sd,
            lean,
            math.sqrt(self.log2 / self.freedom - lean * lean),
            reach_of_one_ball(len(points), self.freedom),
            is_pooled,
        )
        return region, ""


def _shares(point: Point) -> Point:
    offline_m, carry_m = point
    return offline_m / carry_m, math.log(carry_m)


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _summary(values: Sequence[float]) -> tuple[float, float | None, float | None]:
    """Return the mean with its standard error and the standard deviation of single values, these None for one value."""
    mean = _mean(values)
    if len(values) < 2:
        return mean, None, None
    sd = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))
    return mean, sd / math.sqrt(len(values)), sd


def _sides(points: Sequence[Point]) -> tuple[float, float]:
    """Return the shares of balls left and right of the target line; the rest was on it."""
    left, right = (sum(sign * offline > 0 for offline, _ in points) for sign in (-1, 1))
    return left / len(points), right / len(points)
