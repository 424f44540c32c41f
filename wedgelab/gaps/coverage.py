"""Stock shots, and the chances that they give over targets: now, and were carries and spread known exactly."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.chart import LIKELY, ChartCell, chart_cell
from wedgelab.errors import BadRequestError
from wedgelab.prediction import Prediction, Predictor, ShotKind
from wedgelab.shots import Bag

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.window import Window

    Array = NDArray[np.float64]

DRAWS: Final = (
    400  # of all medians together: a chance of one in two is good to 2.5 points, a mean to a twentieth of its sd
)
INTERVAL: Final = (0.1, 0.9)  # what is called the 80 % interval
_LEAST_OWN_SHARE: Final = 0.01  # of the whole variance: rounding must not leave a shot without any spread
_LEAST_EDGE_M: Final = 1e-9
_SPREAD_DOUBT_BEFORE: Final = 0.4  # of its logarithm, before any ball: as the model believes of golfers in general
# of that logarithm, by one ball. Nothing but normal balls of one law would give a half; but the law over swing, loft
# and club is learnt from the same balls, and which of them were mishits: measured, decisions/0020
_SPREAD_VARIANCE_OF_A_BALL: Final = 1.0
_SPREAD_MISFIT: Final = 0.03  # what no number of balls takes away: balls wrongly taken for mishits or for solid ones
# what each shot's spread has of its own beside the law of them all, in its logarithm, however many balls: measured
# likewise. What all shots share cancels in the difference of two bags, this does not
SHOT_SPREAD_SD: Final = 0.08
_BELIEF_BALLS: Final = _SPREAD_VARIANCE_OF_A_BALL / _SPREAD_DOUBT_BEFORE**2  # what is believed counts as so many
_NARROWEST: Final = 1e-12  # of the largest variance: a direction that is known better is known exactly

# the normal distribution function by interpolation: numpy has none for arrays, and 4e-6 off is near enough
_STEP: Final = 0.01
_AT: Final = np.arange(-6.0, 6.0 + _STEP / 2, _STEP)
_BELOW: Final = np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in _AT])


@dataclass(frozen=True, slots=True, eq=False)
class Stock:
    """The stock shots of a bag, every wedge at every named swing, shortest median first.

    ``covariance`` is that of the log medians. ``own_log_sd`` is the player's own spread of log carry from ball to ball
    and day to day: what is left of a future ball's when the doubt about the median is taken out.
    """

    shots: tuple[ChartCell, ...]
    kinds: tuple[ShotKind, ...]
    covariance: "Array"
    own_log_sd: "Array"

    @property
    def carries_m(self) -> "Array":
        """The median carries [m]."""
        return np.array([shot.carry_m for shot in self.shots])

    @property
    def own_sd_m(self) -> "Array":
        """The player's own spread [m] about each median."""
        return np.asarray(self.carries_m * self.own_log_sd)

    def difference_se_m(self, i: int, j: int, left: float = 1.0, right: float = 1.0) -> float:
        """Return the standard error [m] of ``right`` times the j-th median less ``left`` times the i-th."""
        a, b, c = left * self.shots[i].carry_m, right * self.shots[j].carry_m, self.covariance
        return math.sqrt(max(float(a**2 * c[i, i] + b**2 * c[j, j] - 2.0 * a * b * c[i, j]), 0.0))


def stock_of(predictor: Predictor, bag: Bag) -> Stock:
    """Return the bag's stock shots; a bag without wedges or swing lengths raises `BadRequestError`."""
    if not bag.wedges or not bag.swings:
        raise BadRequestError(
            "the bag has no wedge or no swing length", "add with: wedgelab bag add LABEL LOFT, bag swing LABEL DEGREES"
        )
    pairs = [(wedge, swing) for wedge in bag.wedges for swing in bag.swings]
    kinds = [ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg) for wedge, swing in pairs]
    predicted = predictor.predict(kinds)
    likely = predictor.carry_quantiles(kinds, LIKELY)
    order = sorted(range(len(kinds)), key=lambda i: (predicted[i].carry_m, -kinds[i].loft_deg, kinds[i].wedge))
    covariance = predictor.log_median_covariance(kinds)[np.ix_(order, order)]
    return Stock(
        tuple(chart_cell(predicted[i], pairs[i][1].label, float(likely[i, 0]), float(likely[i, 1])) for i in order),
        tuple(kinds[i] for i in order),
        covariance,
        own_log_sds([predicted[i] for i in order], covariance),
    )


def own_log_sds(predicted: Sequence[Prediction], covariance: "Array") -> "Array":
    """Return the log spread of balls about their median: a future ball's, less the doubt about the median."""
    whole = np.array([_log_variance(p.carry_sd_m / p.carry_m) for p in predicted])
    return np.asarray(np.sqrt(np.maximum(whole - np.diag(covariance), _LEAST_OWN_SHARE * whole)))


def _log_variance(ratio: float) -> float:
    """Return the variance of a logarithm from standard deviation over median of a lognormal: x^2 - x = ratio^2."""
    return math.log(0.5 * (1.0 + math.sqrt(1.0 + 4.0 * ratio**2)))


def targets_between(low_m: float, high_m: float, step_m: float) -> tuple[float, ...]:
    """Return targets about ``step_m`` apart, both ends among them."""
    steps = max(1, round((high_m - low_m) / step_m))
    return (*(low_m + (high_m - low_m) * i / steps for i in range(steps)), high_m)


def chances_now(
    predictor: Predictor, kinds: Sequence[ShotKind], targets_m: Sequence[float], window: "Window"
) -> "Array":
    """Return the chance of each shot at each target, the doubt about the medians included: shape (kinds, targets)."""
    return np.stack([predictor.window_probability(kinds, *window.around(target)) for target in targets_m], axis=1)


def spread_doubt(n_shots: int) -> float:
    """Return how surely so many balls tell the spread: one standard error of its logarithm.

    The spread is one thing that all balls tell of together, and what is believed before the first ball counts as a few
    more. What a single shot has of its own, `SHOT_SPREAD_SD`, comes on top.
    """
    return math.hypot(math.sqrt(_SPREAD_VARIANCE_OF_A_BALL / (n_shots + _BELIEF_BALLS)), _SPREAD_MISFIT)


def pair_spread_doubt(n_shots: int) -> float:
    """Return how surely the spreads of two shots together are known: what each has of its own is half made up for."""
    return math.hypot(spread_doubt(n_shots), SHOT_SPREAD_SD / math.sqrt(2.0))


def mostly_believed(n_shots: int) -> bool:
    """Return whether the spread is more what is believed of golfers before the first ball than what was seen."""
    return n_shots < _BELIEF_BALLS


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """Joint draws of what the log leaves open: log medians, and how much wider the own spread is, both (kinds, n)."""

    rows: Mapping[ShotKind, int]
    log_medians: "Array"
    own_log_sd: "Array"
    stretch: "Array"

    def best_chances(self, kinds: Sequence[ShotKind], targets_m: Sequence[float], window: "Window") -> "Array":
        """Return the best chance of some shots at each target for each draw, taken as known: (draws, targets)."""
        edges = np.log([[max(edge, _LEAST_EDGE_M) for edge in window.around(target)] for target in targets_m])
        best = np.zeros((DRAWS, len(targets_m)))
        for kind in kinds:  # all shots together would be hundreds of MB
            row = self.rows[kind]
            medians, sds = self.log_medians[row][:, None], (self.own_log_sd[row] * self.stretch[row])[:, None]
            low, high = (normal_cdf((edges[:, side][None, :] - medians) / sds) for side in (0, 1))
            np.maximum(best, high - low, out=best)
        return best

    def coverages(self, kinds: Sequence[ShotKind], targets_m: Sequence[float], window: "Window") -> "Array":
        """Return what the coverage would be were all known, for each draw: (draws,)."""
        return np.asarray(self.best_chances(kinds, targets_m, window).mean(axis=1))


def draw_known(predictor: Predictor, today: Stock, rng: np.random.Generator, more: Sequence[ShotKind] = ()) -> Draws:
    """Draw what the carries and the spread may be, as far as the log can tell.

    The draws of today's shots are the same whatever ``more`` is asked for: a bag has one coverage, whatever it is held
    against. The others are drawn given them.
    """
    doubt = spread_doubt(predictor.n_shots)
    common = _stretch(doubt, rng.standard_normal(DRAWS))
    root, inverse = _square_roots(today.covariance)
    normal = rng.standard_normal((len(today.kinds), DRAWS))
    medians = [np.log(today.carries_m)[:, None] + root @ normal]
    single = [_stretch(SHOT_SPREAD_SD, rng.standard_normal(normal.shape))]
    own = [today.own_log_sd]
    new = [kind for kind in dict.fromkeys(more) if kind not in today.kinds]
    if new:
        joint = predictor.log_median_covariance([*today.kinds, *new])
        predicted, n = predictor.predict(new), len(today.kinds)
        tie = joint[n:, :n] @ inverse
        left, _ = _square_roots(joint[n:, n:] - tie @ tie.T)
        carries = np.log([p.carry_m for p in predicted])
        medians.append(carries[:, None] + tie @ normal + left @ rng.standard_normal((len(new), DRAWS)))
        single.append(_stretch(SHOT_SPREAD_SD, rng.standard_normal((len(new), DRAWS))))
        own.append(own_log_sds(predicted, joint[n:, n:]))
    rows = {kind: row for row, kind in enumerate([*today.kinds, *new])}
    return Draws(rows, np.concatenate(medians), np.concatenate(own), common * np.concatenate(single))


def _stretch(doubt: float, normal: "Array") -> "Array":
    """Return factors on the spread, one in the mean of their squares.

    The own spread is already the root of the mean square of what it may be.
    """
    return np.asarray(np.exp(doubt * normal - doubt**2))


def _square_roots(covariance: "Array") -> "tuple[Array, Array]":
    """Return the symmetric square root and its inverse: unlike other roots they hardly move where the matrix does."""
    values, vectors = np.linalg.eigh(covariance)
    known = values <= _NARROWEST * max(float(values[-1]), _NARROWEST)
    roots = np.sqrt(np.where(known, 0.0, values))
    inverses = np.where(known, 0.0, 1.0 / np.where(known, 1.0, roots))
    return np.asarray((vectors * roots) @ vectors.T), np.asarray((vectors * inverses) @ vectors.T)


def normal_cdf(z: "Array") -> "Array":
    """Return the chance that a standard normal variable stays below z."""
    return np.asarray(np.interp(z, _AT, _BELOW, left=0.0, right=1.0))
