"""The advice of a drill: for each call the shot with the best chance."""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter

from wedgelab.chart import LEAST_CARRY_M
from wedgelab.choose.options import WORTH_OFFERING, kind_of
from wedgelab.choose.swings import crossing, find_reach, grid_carries, swing_grid, worked_out
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
    reach = find_reach(predictor, bag)
    grid = swing_grid(bag.swings)
    carries = grid_carries(predictor, bag.wedges, grid)
    named = [(wedge, swing, True) for wedge in bag.wedges for swing in bag.swings]
    at_named = predictor.predict([kind_of(wedge, swing.swing_deg) for wedge, swing, _ in named])
    result: list[Advice | None] = []
    for target in targets_m:
        low, high = window.around(target)
        if LEAST_CARRY_M < reach.high_m < low or reach.low_m > high:
            result.append(None)
            continue
        exact = [worked_out(crossing(grid, row, target), bag.swings) for row in carries]
        between = [(w, s, False) for w, s in zip(bag.wedges, exact, strict=True) if s is not None]
        predicted = [*at_named, *predictor.predict([kind_of(wedge, swing.swing_deg) for wedge, swing, _ in between])]
        chances = predictor.window_probability([p.kind for p in predicted], low, high)
        offered = [
            ((-float(chance), not practised, -p.n_shots), Advice(wedge, swing, p, float(chance)))
            for (wedge, swing, practised), p, chance in zip([*named, *between], predicted, chances, strict=True)
            if p.carry_m > LEAST_CARRY_M and (chance >= WORTH_OFFERING or low <= p.carry_m <= high)
        ]
        result.append(min(offered, key=itemgetter(0))[1] if offered else None)
    return result
