"""Where practice is needed most: calls weighted by the miss that is expected and by the doubt of the chart."""

import math
from collections.abc import Sequence
from typing import Final

from wedgelab.choose import Advice
from wedgelab.window import WindowRule

# what is expected differs little along a chart, so that its own size would aim at nothing
_STEEPNESS: Final = 4
_DOUBT: Final = 2.0  # the chart's doubt is in the expected miss already; it counts twice because balls there teach most
_SMALLEST: Final = 1e-6


def needs(calls_m: Sequence[float], advised: Sequence[Advice | None], window: WindowRule) -> dict[float, float]:
    """Return a weight above 0 for each call that grows steeply with how much practice it needs.

    That is the miss expected of the advised shot (its median off the call, the spread of a ball, and the doubt about
    the median once more), in half windows, so that long calls do not win by their length alone. A call without a shot
    counts as much as the neediest.
    """
    weights: list[float | None] = []
    for call, advice in zip(calls_m, advised, strict=True):
        if advice is None:
            weights.append(None)
            continue
        p = advice.prediction
        need = math.hypot(p.carry_m - call, p.carry_sd_m, _DOUBT * p.carry_se_m) / window.half_m(call)
        weights.append(max(need**_STEEPNESS, _SMALLEST))
    most = max((weight for weight in weights if weight is not None), default=1.0)
    return {call: most if weight is None else weight for call, weight in zip(calls_m, weights, strict=True)}
