"""Distributions of a known centre whose spread is itself uncertain: normals of one mean mixed over several sds."""

import math
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.polynomial.hermite_e import hermegauss

from wedgelab.errors import BadRequestError
from wedgelab.prediction import share_of_median

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_POINTS, _WEIGHTS = hermegauss(7)
WEIGHTS: Final = _WEIGHTS / _WEIGHTS.sum()
_erf: Final = np.vectorize(math.erf, otypes=[np.float64])


def mixed_sds(known_variance: "Array", log_sd: "Array", log_sd_variance: "Array") -> "Array":
    """Return standard deviations (n, 7) of ``known_variance + exp(2 L)`` with L normal, at Gauss-Hermite points."""
    spread = np.exp(log_sd[:, None] + np.sqrt(log_sd_variance)[:, None] * _POINTS[None, :])
    return np.asarray(np.sqrt(known_variance[:, None] + spread**2))


def draw_point(rng: "np.random.Generator", size: tuple[int, ...]) -> "Array":
    """Draw the standardised logarithm of the spread that `mixed_sds` integrates over."""
    return np.asarray(rng.choice(_POINTS, size=size, p=WEIGHTS))


def cdf(x: "Array", mean: "Array", sds: "Array") -> "Array":
    """Return the chance to stay below x: x (n, k), mean (n,), sds (n, 7); result (n, k)."""
    z = (x - mean[:, None])[:, :, None] / sds[:, None, :]
    return np.asarray((0.5 * (1.0 + _erf(z / math.sqrt(2.0)))) @ WEIGHTS)


def quantiles(probabilities: "Sequence[float]", mean: "Array", sds: "Array") -> "Array":
    """Return the values (n, k) below which a draw falls with each probability, strictly between 0 and 1.

    Newton steps from the centre: the upper half of the distribution function is concave, so they never overshoot.
    """
    p = np.asarray(probabilities, dtype=np.float64)
    if not np.all((p > 0.0) & (p < 1.0)):
        raise BadRequestError(
            f"probabilities {list(probabilities)} are not all between 0 and 1", "ask strictly between"
        )
    upper = np.maximum(p, 1.0 - p)[None, :]
    x = np.zeros((len(mean), len(p)))
    zero = np.zeros(len(mean))
    for _ in range(60):
        density = np.exp(-0.5 * (x[:, :, None] / sds[:, None, :]) ** 2) / (sds[:, None, :] * math.sqrt(2.0 * math.pi))
        step = (upper - cdf(x, zero, sds)) / np.maximum(density @ WEIGHTS, 1e-300)
        x = x + np.maximum(step, 0.0)
        if float(np.max(step / sds.min(axis=1)[:, None], initial=0.0)) < 1e-10:
            break
    return mean[:, None] + np.where(p[None, :] >= 0.5, x, -x)


def lognormal_sd(median: float, log_sd: float) -> float:
    """Return the standard deviation of a quantity whose logarithm is normal about the logarithm of the median."""
    return float(median) * share_of_median(float(log_sd) ** 2)
