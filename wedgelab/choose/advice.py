"""The advice of a drill: for each call the shot with the best chance."""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter

from wedgelab.chart import LEAST_CARRY_M
from wedgelab.choose.options import is_offered, kind_of
from wedgelab.choose.swings import crossing, grid_carries, require_shots, swing_grid, worked_out
from wedgelab.prediction import Prediction, Predictor
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.window import Window


@dataclass(frozen=True, slots=True)
class Advice:
    """The shot with the best chance for a target, and what the chart says of it."""

    wedge: Wedge
    swing: SwingLength
    prediction: Prediction
    window_probability: float


def advise_each(predictor: Predictor, bag: Bag, targets_m: Sequence[float], window: Window) -> list[Advice | None]:
    """Return for each target the shot that `choose` ranks first for the window, None out of reach.

    Asked for all calls of a drill at once, and without what a landing takes to work out.
    """
    require_shots(bag)
    grid = swing_grid(bag.swings)
    carries = grid_carries(predictor, bag.wedges, grid)
    named = [(wedge, swing) for wedge in bag.wedges for swing in bag.swings]
    between = [
        [(wedge, swing) for wedge, row in zip(bag.wedges, carries, strict=True)
         if (swing := worked_out(crossing(grid, row, target), bag.swings)) is not None]
        for target in targets_m
    ]  # fmt: skip
    # asked all together: the same kinds again and again are worked out once, and on a day flown once
    shots = list(dict.fromkeys([*named, *(shot for found in between for shot in found)]))
    kinds = [kind_of(wedge, swing.swing_deg) for wedge, swing in shots]
    predicted = predictor.predict(kinds)
    place = {shot: i for i, shot in enumerate(shots)}
    result: list[Advice | None] = []
    for target, exact in zip(targets_m, between, strict=True):
        low, high = window.around(target)
        chances = predictor.window_probability(kinds, low, high)
        offered = []
        for shot in (*named, *exact):
            p, chance = predicted[place[shot]], float(chances[place[shot]])
            if p.carry_m > LEAST_CARRY_M and is_offered(p, chance, low, high):
                offered.append(((-chance, shot in exact, -p.n_shots), Advice(*shot, p, chance)))
        result.append(min(offered, key=itemgetter(0))[1] if offered else None)
    return result
