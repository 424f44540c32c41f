"""The region in which one more ball comes down eight times in ten, from the balls that came down before."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

REGION_SHARE: Final = 0.8
FEWEST_OWN: Final = 12  # balls of one swing length that tell their spread better alone than with the wedge's others
FEWEST_FREEDOM: Final = 4  # balls beyond the means; with fewer the region would be as wide as the range
READING_STEP_M: Final = 0.9144  # a yard: many read no finer, and a log does not say who does
# a value known to a step lies anywhere within it alike: JCGM 100:2008 (GUM), 4.3.7
READING_VARIANCE_M2: Final = READING_STEP_M**2 / 12.0
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


class Spread:
    """The covariance of balls about the mean of their own swing length, over one swing length or several."""

    def __init__(self, groups: Iterable[Sequence[Point]]) -> None:
        # sums of squares and products of what is left after each group's mean, and of what rounding may have done
        self.side2 = self.both = self.log2 = self.reading = 0.0
        self.n = self.freedom = 0
        for points in groups:
            rows = [_shares(point) for point in points]
            side, log_carry = mean_of([row[0] for row in rows]), mean_of([row[1] for row in rows])
            self.side2 += math.fsum((row[0] - side) ** 2 for row in rows)
            self.both += math.fsum((row[0] - side) * (row[1] - log_carry) for row in rows)
            self.log2 += math.fsum((row[1] - log_carry) ** 2 for row in rows)
            self.reading += math.fsum(READING_VARIANCE_M2 / carry_m**2 for _, carry_m in points)
            self.n += len(rows)
            self.freedom += len(rows) - 1

    def region(self, points: Sequence[Point], *, is_pooled: bool) -> Region | None:
        """Return the region about the mean of some of the balls, or None where there are too few of them."""
        if self.freedom < FEWEST_FREEDOM:
            return None
        reading = self.reading / self.n  # in shares of the carry it is the same across and along
        side_sd = math.sqrt(self.side2 / self.freedom + reading)
        lean = self.both / self.freedom / side_sd
        rows = [_shares(point) for point in points]
        return Region(
            mean_of([row[0] for row in rows]),
            mean_of([row[1] for row in rows]),
            side_sd,
            lean,
            math.sqrt(self.log2 / self.freedom + reading - lean * lean),
            reach_of_one_ball(len(points), self.freedom),
            is_pooled,
        )


def mean_of(values: Sequence[float]) -> float:
    """Return the mean, summed without rounding on the way."""
    return math.fsum(values) / len(values)


def _shares(point: Point) -> Point:
    offline_m, carry_m = point
    return offline_m / carry_m, math.log(carry_m)
