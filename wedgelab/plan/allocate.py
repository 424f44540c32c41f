"""How many balls of which shot: one ball after the other, each where it is expected to take away most doubt.

The expected covariance of the log medians does not depend on what the balls will do (the model is linear and Gaussian),
so a session can be planned before it is hit. Doubt is the weighted mean of the variances of the log medians: the
"A-optimal" design of experiments (Chaloner & Verdinelli 1995, Statistical Science 10, 273, from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from wedgelab.prediction import Predictor, ShotKind

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

DEFAULT_CAP: Final = 6
_TINY: Final = 1e-9  # of a gain: a tie goes to the shot that comes first


@dataclass(frozen=True, slots=True)
class Budget:
    """What a session may cost: at most so many measured balls, so many minutes (None: no limit), ``cap`` balls a shot.

    The minutes are those left after the warm-up; the first ball of every wedge costs ``change_min`` on top.
    """

    balls: int | None
    minutes: float | None
    cap: int = DEFAULT_CAP
    ball_min: float = 0.75
    change_min: float = 1.0

    def cost(self, kind: ShotKind, in_hand: set[str]) -> float:
        """Return what one more ball of the shot costs: minutes where they are short, else 1."""
        if self.minutes is None:
            return 1.0
        return self.ball_min + (0.0 if kind.wedge in in_hand else self.change_min)

    def share(self, spent: float, balls: int) -> float:
        """Return what share of the budget is spent: of the balls or of the minutes, whichever is nearer to its end."""
        of_balls = balls / self.balls if self.balls else 0.0
        return max(of_balls, spent / self.minutes if self.minutes else 0.0)

    def allows(self, spent: float, balls: int, cost: float) -> bool:
        """Tell whether one more ball of that cost fits."""
        if self.balls is not None and balls >= self.balls:
            return False
        return self.minutes is None or spent + cost <= self.minutes + 1e-9


def allocate(
    predictor: Predictor,
    kinds: Sequence[ShotKind],
    weights: Sequence[float],
    budget: Budget,
    can_be_hit: Sequence[bool] | None = None,
    *,
    on_step: Callable[[float], None] | None = None,
) -> tuple[int, ...]:
    """Return how many balls of each kind to hit in one new session; all kinds can be hit unless told otherwise.

    ``on_step`` is told after each ball what share of the budget is spent.

    Notes
    -----
    What a ball takes away mostly shrinks as others are hit, so an old gain stands for an upper bound: only the kinds
    whose old gain could still be the best are asked for again (lazy greedy; Minoux 1978, from memory). Where a ball
    makes another one worth more, which a day's shared effect can do a little, the bound is not exact.
    """
    balls: list[ShotKind] = []
    counts = [0] * len(kinds)
    in_hand: set[str] = set()
    spent = 0.0
    doubt = _doubt(predictor.log_median_covariance(kinds), weights)
    gains = [float("inf")] * len(kinds)
    while True:
        costs = [budget.cost(kind, in_hand) for kind in kinds]
        able = [
            i
            for i, cost in enumerate(costs)
            if counts[i] < budget.cap
            and budget.allows(spent, len(balls), cost)
            and (can_be_hit is None or can_be_hit[i])
        ]
        if not able:
            return tuple(counts)
        best = _best(predictor, kinds, weights, balls, doubt, able, costs, gains)
        balls.append(kinds[best])
        counts[best] += 1
        spent += costs[best]
        in_hand.add(kinds[best].wedge)
        doubt -= gains[best]
        if on_step is not None:
            on_step(budget.share(spent, len(balls)))


def _best(
    predictor: Predictor,
    kinds: Sequence[ShotKind],
    weights: Sequence[float],
    balls: list[ShotKind],
    doubt: float,
    able: list[int],
    costs: list[float],
    gains: list[float],
) -> int:
    """Return the kind whose next ball takes away most doubt for its cost; ``gains`` are brought up to date."""
    best, best_rate = -1, -float("inf")
    for i in sorted(able, key=lambda i: (-gains[i] / costs[i], i)):
        if best >= 0 and gains[i] / costs[i] <= best_rate * (1.0 + _TINY):
            break
        gains[i] = doubt - _doubt(predictor.expected_covariance(kinds, [*balls, kinds[i]]), weights)
        rate = gains[i] / costs[i]
        if rate > best_rate + _TINY * abs(best_rate) or best < 0:
            best, best_rate = i, rate
    return best


def _doubt(covariance: "NDArray[np.float64]", weights: Sequence[float]) -> float:
    return sum(weight * float(covariance[i, i]) for i, weight in enumerate(weights) if weight)
