"""The choice for every target of a reach, in one table: for a card, a page, a notebook."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from wedgelab.chart import LEAST_CARRY_M
from wedgelab.choose.advice import Advice, advise_each
from wedgelab.choose.swings import find_reach
from wedgelab.errors import BadRequestError
from wedgelab.prediction import Predictor
from wedgelab.shots import Bag
from wedgelab.units import format_number
from wedgelab.window import Window

_ROUNDING: Final = 1e-9  # of a step: a reach that ends on a target ends there
_BEST_SHARE: Final = 0.5  # of the work


@dataclass(frozen=True, slots=True)
class TableRow:
    """The shot that `choose` puts first for a target, and the best one of another wedge; None where there is none."""

    target_m: float
    window_low_m: float
    window_high_m: float
    best: Advice | None
    other: Advice | None


def choice_table(
    predictor: Predictor,
    bag: Bag,
    *,
    window: Window,
    step_m: float,
    on_step: Callable[[float], None] | None = None,
) -> tuple[TableRow, ...]:
    """Return a row for each multiple of ``step_m`` [m] from the shortest median of the bag to the longest.

    Either end is rounded outwards to the next target, which is left out where no shot answers it. Ask
    ``predictor.on(day)`` for the table of a day: that takes seconds, and ``on_step`` is told the share done. A bag
    without a wedge or a swing length raises `BadRequestError`.
    """
    if not 0.0 < step_m < math.inf:
        raise BadRequestError(f"a step of {format_number(step_m, 1, missing=str(step_m))} m", "give one above 0")
    reach = find_reach(predictor, bag)
    first = max(1, math.floor(max(reach.low_m, LEAST_CARRY_M) / step_m + _ROUNDING))
    last = math.ceil(reach.high_m / step_m - _ROUNDING)
    targets = [k * step_m for k in range(first, last + 1)]
    tell = on_step or (lambda _share: None)
    best = advise_each(predictor, bag, targets, window)
    tell(_BEST_SHARE)
    others = _others(predictor, bag, targets, window, best, tell)
    rows = [
        TableRow(target, *window.around(target), one, two)
        for target, one, two in zip(targets, best, others, strict=True)
    ]
    answered = [i for i, row in enumerate(rows) if row.best is not None]
    return tuple(rows[answered[0] : answered[-1] + 1]) if answered else ()


def _others(
    predictor: Predictor,
    bag: Bag,
    targets_m: Sequence[float],
    window: Window,
    best: Sequence[Advice | None],
    tell: Callable[[float], None],
) -> list[Advice | None]:
    """Return for each target the best shot of the bag without the wedge that is best."""
    found: list[Advice | None] = [None] * len(targets_m)
    for k, wedge in enumerate(bag.wedges, 1):
        mine = [i for i, advice in enumerate(best) if advice is not None and advice.wedge == wedge]
        left = tuple(other for other in bag.wedges if other != wedge)
        if mine and left:
            advised = advise_each(predictor, Bag(left, bag.swings), [targets_m[i] for i in mine], window)
            for i, advice in zip(mine, advised, strict=True):
                found[i] = advice
        tell(_BEST_SHARE + (1.0 - _BEST_SHARE) * k / len(bag.wedges))
    return found
