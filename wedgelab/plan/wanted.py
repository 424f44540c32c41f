"""What a session is to make surer: the shots that could be hit, and how much each one's carry matters."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

from wedgelab.choose.advice import advise_each
from wedgelab.choose.swings import find_reach
from wedgelab.errors import BadRequestError, NothingFitsError
from wedgelab.prediction import Prediction, Predictor, ShotKind
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import LengthUnit, format_length
from wedgelab.window import WindowRule

if TYPE_CHECKING:
    from wedgelab.choose.options import Reach

LEAST_SHARE: Final = 0.05  # a shot less likely to carry into the span does not matter to it
_SURE_ENOUGH: Final = 0.5  # some shot at least should be likelier inside the span than not


@dataclass(frozen=True, slots=True)
class Wanted:
    """The shots that could be hit, and the weight of each one's doubt; the weights sum to 1.

    ``low_m`` to ``high_m`` is the span that the weights are for, ``targets_m`` the distances; neither: the whole chart.
    """

    shots: tuple[tuple[Wedge, SwingLength], ...]
    weights: tuple[float, ...]
    low_m: float | None = None
    high_m: float | None = None
    targets_m: tuple[float, ...] = ()

    @property
    def kinds(self) -> list[ShotKind]:
        """The shots as a predictor is asked for them."""
        return [kind_of(wedge, swing) for wedge, swing in self.shots]


def kind_of(wedge: Wedge, swing: SwingLength) -> ShotKind:
    """Return the stock shot of a wedge and a swing."""
    return ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg)


def whole_chart(bag: Bag) -> Wanted:
    """Weigh every charted shot alike; an empty bag raises `BadRequestError`."""
    if not bag.wedges or not bag.swings:
        raise BadRequestError(
            "the bag has no wedge or no swing length", "add with: wedgelab bag add LABEL LOFT, bag swing LABEL DEGREES"
        )
    shots = tuple(itertools.product(bag.wedges, bag.swings))
    return Wanted(shots, tuple(1.0 / len(shots) for _ in shots))


def span(predictor: Predictor, bag: Bag, low_m: float | None, high_m: float | None, unit: LengthUnit) -> Wanted:
    """Weigh each charted shot by the chance that its long-run median lies in the span; an open end has no limit."""
    if low_m is not None and high_m is not None and low_m >= high_m:
        asked = f"--from {format_length(low_m, unit)} --to {format_length(high_m, unit)}"
        raise BadRequestError(f"{asked} is no span", "give the shorter distance first")
    chart = whole_chart(bag)
    predicted = predictor.predict(chart.kinds)
    shares = [_share_inside(one, low_m or 0.0, math.inf if high_m is None else high_m) for one in predicted]
    if max(shares) < _SURE_ENOUGH:
        raise _nothing_inside(chart, predicted, low_m or 0.0, math.inf if high_m is None else high_m, unit)
    kept = [share if share >= LEAST_SHARE else 0.0 for share in shares]
    return Wanted(chart.shots, tuple(share / sum(kept) for share in kept), low_m, high_m)


def targets(predictor: Predictor, bag: Bag, targets_m: Sequence[float], window: WindowRule, unit: LengthUnit) -> Wanted:
    """Weigh the shots that the chart advises for the targets; a target named twice counts twice.

    A shot that is no charted one (a swing worked out for its target) can be hit too.
    """
    chart = whole_chart(bag)
    shots, counts = list(chart.shots), [0] * len(chart.shots)
    for target_m, advice in zip(targets_m, advise_each(predictor, bag, targets_m, window), strict=True):
        if advice is None:
            raise _out_of_reach(target_m, find_reach(predictor, bag), unit)
        shot = advice.wedge, advice.swing
        if shot not in shots:
            shots.append(shot)
            counts.append(0)
        counts[shots.index(shot)] += 1
    return Wanted(tuple(shots), tuple(n / sum(counts) for n in counts), targets_m=tuple(targets_m))


def _share_inside(prediction: Prediction, low_m: float, high_m: float) -> float:
    """Chance that the true median lies inside, its logarithm being normal about the charted one."""
    log_se = prediction.carry_se_m / prediction.carry_m
    if log_se <= 0.0:
        return float(low_m <= prediction.carry_m <= high_m)
    law = NormalDist(math.log(prediction.carry_m), log_se)
    below = law.cdf(math.log(low_m)) if low_m > 0.0 else 0.0
    return (law.cdf(math.log(high_m)) if math.isfinite(high_m) else 1.0) - below


def _nothing_inside(
    chart: Wanted, predicted: Sequence[Prediction], low_m: float, high_m: float, unit: LengthUnit
) -> NothingFitsError:
    def off_m(prediction: Prediction) -> float:
        return max(low_m - prediction.carry_m, prediction.carry_m - high_m)

    at = min(range(len(predicted)), key=lambda i: off_m(predicted[i]))
    wedge, swing = chart.shots[at]
    asked = f"{format_length(low_m, unit)} {unit} and more"
    if math.isfinite(high_m):
        asked = f"{format_length(low_m, unit)} to {format_length(high_m, unit)} {unit}"
    nearest = f"{format_length(predicted[at].carry_m, unit)} {unit} ({wedge.label} {swing.label})"
    return NothingFitsError(
        f"no charted shot carries {asked} as far as is known",
        f"the nearest carries {nearest}: widen the span, or name distances with --targets",
    )


def _out_of_reach(target_m: float, reach: "Reach", unit: LengthUnit) -> NothingFitsError:
    near = reach.low_m if target_m < reach.low_m else reach.high_m
    return NothingFitsError(
        f"target {format_length(target_m, unit)} {unit} is out of reach",
        f"the nearest charted carry is {format_length(near, unit)} {unit}",
    )
