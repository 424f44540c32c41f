"""Means, spreads and 80 % intervals of a few numbers, in plain Python: importing scipy would take longer than a fit."""

import math
from collections.abc import Sequence
from typing import Final

from wedgelab.prediction import NORMAL_P90

Z80: Final = NORMAL_P90  # standard errors on either side of an 80 % interval
_FEWEST_TO_CORRELATE: Final = 3
_FEWEST_FOR_FISHER: Final = 4
_LEAST_NU: Final = 1.5  # one ball decides: the approximations below hold down to here


def wilson(hits: int, n: int, z: float = Z80) -> tuple[float, float]:
    """Return the Wilson interval of a share (Wilson, J. Am. Stat. Assoc. 22 (1927) 209); z for 80 % if not given."""
    if n == 0:
        return 0.0, 1.0
    share = hits / n
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    return max(0.0, middle - half), min(1.0, middle + half)


def chi2_quantile(z: float, nu: float) -> float:
    """Return the chi-square quantile at the place of a normal ``z`` (Wilson and Hilferty, PNAS 17 (1931) 684).

    At 0.1 and 0.86 it is within 0.5 % from nu = 4 on, within 7 % at 2 and 19 % at 1.5. Importing scipy takes long.
    """
    part = 2.0 / (9.0 * nu)
    return float(nu * max(1.0 - part + z * math.sqrt(part), 0.0) ** 3)


def t_quantile(nu: float, z: float = Z80) -> float:
    """Return Student's t quantile at the place of a normal ``z``, by its series in 1/nu.

    Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5. At 0.9 it is within 0.1 % from nu = 3 on
    and within 0.5 % down to nu = 1.5.
    """
    z2 = z * z
    terms = (
        z,
        z * (z2 + 1) / 4,
        z * (5 * z2**2 + 16 * z2 + 3) / 96,
        z * (3 * z2**3 + 19 * z2**2 + 17 * z2 - 15) / 384,
        z * (79 * z2**4 + 776 * z2**3 + 1482 * z2**2 - 1920 * z2 - 945) / 92160,
    )
    return float(sum(term / nu**i for i, term in enumerate(terms)))


def mean_of(values: Sequence[float]) -> float:
    """Return the mean, summed without rounding on the way."""
    return math.fsum(values) / len(values)


def variance_of(values: Sequence[float]) -> float:
    """Return the variance about the own mean, with n - 1."""
    mean = mean_of(values)
    return math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)


def errors_of(misses: Sequence[float]) -> tuple[float, float, float]:
    """Return CE, VE and E of misses."""
    ce = mean_of(misses)
    ve = math.sqrt(mean_of([(miss - ce) ** 2 for miss in misses]))
    return ce, ve, math.hypot(ce, ve)


def freedom_of(most: float, mean: float, variance: float, n: float) -> float:
    """Return the degrees of freedom of the mean of ``n`` squares with that variance, at most ``most``."""
    return max(min(most, 2.0 * n * mean * mean / variance) if variance > 0.0 else most, _LEAST_NU)


def correlation_of(pairs: Sequence[tuple[float, float]]) -> tuple[float | None, float | None, float | None]:
    """Return the correlation of pairs and its interval (Fisher, Metron 1 (1921) 3: atanh r is about normal)."""
    n = len(pairs)
    means = [mean_of(values) for values in zip(*pairs, strict=True)]
    rows = [(x - means[0], y - means[1]) for x, y in pairs]
    spread = math.sqrt(math.fsum(x * x for x, _ in rows)) * math.sqrt(math.fsum(y * y for _, y in rows))
    if n < _FEWEST_TO_CORRELATE or spread <= 0.0:
        return None, None, None
    r = min(max(math.fsum(x * y for x, y in rows) / spread, -1.0), 1.0)
    if n < _FEWEST_FOR_FISHER:
        return r, None, None
    if abs(r) > 1.0 - 1e-12:
        return r, r, r
    half = Z80 / math.sqrt(n - 3)
    return r, math.tanh(math.atanh(r) - half), math.tanh(math.atanh(r) + half)
