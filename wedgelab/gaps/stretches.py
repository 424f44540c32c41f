"""Targets in a row that no stock shot answers: none of the medians lies inside their window."""

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from wedgelab.gaps.coverage import Stock
from wedgelab.prediction import Predictor
from wedgelab.shots import LIMITS

if TYPE_CHECKING:
    from wedgelab.window import Window

_HALVINGS: Final = 60


@dataclass(frozen=True, slots=True)
class Stretch:
    """Targets in a row without a stock answer: no median lies inside their window.

    The shots beside it, None at an end of the span; the standard errors are those of the medians there.
    ``window_probability`` is the best chance of any stock shot at its middle.
    """

    low_m: float
    high_m: float
    width_m: float
    width_se_m: float
    window_probability: float
    shorter: tuple[str, str] | None
    longer: tuple[str, str] | None


def find_stretches(
    predictor: Predictor, stock: Stock, low_m: float, high_m: float, window: "Window"
) -> tuple[Stretch, ...]:
    """Return the targets between neighbouring medians, and before and behind them, that no window joins to one."""
    ends = [answered(shot.carry_m, window) for shot in stock.shots]
    found = []
    for i, j in itertools.pairwise([None, *range(len(ends)), None]):
        start = low_m if i is None else max(low_m, ends[i][1])
        stop = high_m if j is None else min(high_m, ends[j][0])
        if stop <= start:
            continue
        left = 0.0 if i is None or start != ends[i][1] else _slope(stock.shots[i].carry_m, window, 1)
        right = 0.0 if j is None or stop != ends[j][0] else _slope(stock.shots[j].carry_m, window, 0)
        at = (i if i is not None else 0), (j if j is not None else 0)
        middle = window.around(0.5 * (start + stop))
        found.append(
            Stretch(
                low_m=start,
                high_m=stop,
                width_m=stop - start,
                width_se_m=stock.difference_se_m(*at, left, right),
                window_probability=float(predictor.window_probability(stock.kinds, *middle).max()),
                shorter=None if i is None else (stock.shots[i].wedge, stock.shots[i].swing),
                longer=None if j is None else (stock.shots[j].wedge, stock.shots[j].swing),
            )
        )
    return tuple(found)


def answered(carry_m: float, window: "Window") -> tuple[float, float]:
    """Return the shortest and the longest target whose window holds the carry: edges grow with the target."""
    return _target_with_edge(carry_m, window, 1), _target_with_edge(carry_m, window, 0)


def _slope(carry_m: float, window: "Window", end: int) -> float:
    """Return by how much an end of `answered` moves with the carry."""
    step = 1e-4 * carry_m
    return (answered(carry_m + step, window)[end] - answered(carry_m - step, window)[end]) / (2.0 * step)


def _target_with_edge(carry_m: float, window: "Window", side: int) -> float:
    low, high = 0.0, 4.0 * LIMITS["carry_m"][1]
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if window.around(middle)[side] < carry_m:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
