"""Where practice is needed most: calls weighted by the miss that is expected and by the doubt of the chart."""

import math
from collections.abc import Sequence

from wedgelab.choose import Advice
from wedgelab.window import WindowRule

_SMALLEST: float = 1e-6


def needs(calls_m: Sequence[float], advised: Sequence[Advice | None], window: WindowRule) -> dict[float, float]:
    """Return a weight above 0 for each call: how much its expected miss or the chart's doubt stands out.

    Both are measured in half windows, so that long calls do not win by their length alone; each is compared with its
    mean over the calls, and the larger of the two counts. A call without a shot counts as much as the neediest.
    """
    misses, doubts = [], []
    for call, advice in zip(calls_m, advised, strict=True):
        if advice is not None:
            p, half = advice.prediction, window.half_m(call)
            misses.append(math.hypot(p.carry_m - call, p.carry_sd_m) / half)
            doubts.append(p.carry_se_m / half)
    if not misses:
        return dict.fromkeys(calls_m, 1.0)
    miss, doubt = (max(math.fsum(values) / len(values), _SMALLEST) for values in (misses, doubts))
    found = iter([max(m / miss, d / doubt, _SMALLEST) for m, d in zip(misses, doubts, strict=True)])
    weights = [None if advice is None else next(found) for advice in advised]
    most = max(weight for weight in weights if weight is not None)
    return {call: most if weight is None else weight for call, weight in zip(calls_m, weights, strict=True)}
