"""Which balls to believe: of each ball the chance that it was solid, and of each of its readings that it is right.

A ball is judged from the posterior without it, so that a lone ball cannot vouch for itself (the cavity of expectation
propagation, Minka 2001, from memory). It was either solid with every reading right, or solid with one reading wrong (a
slip of the pen, a device that lost the ball), or a mishit.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# How mishits come out against the solid ball: share among them, how many times as far they scatter, and the way they
# go: change of log carry, log spin, log ball speed and launch [deg] by one unit of severity, and its mean and sd.
# Mostly the ground comes before the ball (a unit is all ball speed), some are struck low with the leading edge (a
# degree of loft), some do anything. Plausible figures without a source.
MISHIT_KINDS: Final = (
    (0.60, 2.5, (-1.6, -1.3, -1.0, 0.0), 0.15, 0.10),
    (0.25, 2.5, (0.02, -0.02, 0.01, -0.6), 10.0, 5.0),
    (0.15, 8.0, (0.0, 0.0, 0.0, 0.0), 0.0, 0.0),
)
# wrong readings of a solid ball: how often, and by how much (sd)
FAULT_SHARE: Final = np.array([0.01, 0.02, 0.01, 0.01])
FAULT_SD: Final = np.array([0.9, 0.6, 0.3, 8.0])
_MOST_PULL: Final = 0.999


@dataclass(frozen=True, slots=True)
class Verdicts:
    """Chances of each ball, the rest being a mishit: every reading right (n,), or only this one wrong (n, k)."""

    right: "Array"
    faulty: "Array"

    @property
    def solid(self) -> "Array":
        """Chance (n,) that the ball was solid and its carry is what it was."""
        return np.asarray(self.right + self.faulty[:, 1:].sum(axis=1))

    def weights(self) -> "Array":
        """Return how much each reading of each ball counts, (n, k)."""
        return np.asarray(self.right[:, None] + self.faulty.sum(axis=1)[:, None] - self.faulty)


def first_verdicts(told: "NDArray[np.bool_]", seen: "NDArray[np.intp]", mishit_share: float) -> Verdicts:
    """Return what is believed of balls of which nothing is known yet; ``told`` (n, k) are the readings they have."""
    faulty = (1.0 - mishit_share) * np.where(told, FAULT_SHARE[seen], 0.0)
    return Verdicts(1.0 - mishit_share - faulty.sum(axis=1), faulty)


def no_doubt(told: "NDArray[np.bool_]") -> Verdicts:
    """Return what would be believed if no ball were a mishit and no reading wrong; ``told`` (n, k)."""
    return Verdicts(np.ones(len(told)), np.zeros(told.shape))


def judge(
    off: "Array",
    told: "NDArray[np.bool_]",
    seen: "NDArray[np.intp]",
    which: "NDArray[np.intp]",
    spread: "Array",
    doubt: "Array",
    before: Verdicts,
    mishit_share: "Array",
) -> Verdicts:
    """Judge n balls anew.

    Parameters
    ----------
    off
        readings less the posterior mean of their group, shape (n, k); zero where a ball has none.
    told, seen
        which readings there are, shape (n, k), the same for all balls of a group; and what the k are of, as places in
        `structure.READINGS`, carry first.
    which
        group of each ball, shape (n,).
    spread, doubt
        covariance of single balls and posterior covariance of each group's readings, both (G, k, k); a reading that a
        group does not have has spread 1, doubt 0 and no covariances.
    before
        the verdicts that the posterior rests on.
    mishit_share
        chance of a mishit before the ball is seen, shape (n,).
    """
    k = len(seen)
    fault_share, fault_sd = FAULT_SHARE[seen], FAULT_SD[seen]
    # coordinates in which single balls spread by one and the doubt is diagonal
    lower = np.linalg.cholesky(spread)
    to_unit = np.linalg.inv(lower)
    sizes, turn = np.linalg.eigh(to_unit @ doubt @ to_unit.transpose(0, 2, 1))
    into = to_unit.transpose(0, 2, 1) @ turn  # z = into.T @ off
    log_det = np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
    z = np.einsum("nij,ni->nj", into[which], off)
    size = np.maximum(sizes[which], 0.0)
    left = 1.0 - np.minimum(size * before.right[:, None], _MOST_PULL)
    z, size = z / left, size / left
    total = 1.0 + size
    log_right = -0.5 * np.sum(z**2 / total + np.log(total), axis=1) - log_det[which] - 0.5 * k * _LOG_TWO_PI
    # a reading given the others: mean 0 and variance 1 / precision of ``unexpected``
    precision = np.einsum("nij,nj->ni", into[which] ** 2, 1.0 / total)
    unexpected = np.einsum("nij,nj->ni", into[which], z / total) / precision
    other = _log_normal(unexpected, 1.0 / precision + fault_sd**2) - _log_normal(unexpected, 1.0 / precision)
    log_fault = np.where(told, np.log(fault_share) + other, -np.inf)
    n_told_share = 1.0 - np.where(told, fault_share, 0.0).sum(axis=1)
    missing = k - told.sum(axis=1)
    kinds = []
    for part, times, way, mean, sd in MISHIT_KINDS:
        along = np.einsum("nij,ni->nj", into[which], np.where(told, np.array(way)[seen], 0.0))
        total = times**2 + size
        rest = z - mean * along
        extra = 1.0 + sd**2 * np.sum(along**2 / total, axis=1)  # a rank-one update: Sherman & Morrison
        square = np.sum(rest**2 / total, axis=1) - sd**2 * np.sum(along * rest / total, axis=1) ** 2 / extra
        log_size = np.log(total).sum(axis=1) - missing * np.log(times**2) + np.log(extra)
        kinds.append(np.log(part) - 0.5 * (square + log_size) - log_det[which] - 0.5 * k * _LOG_TWO_PI)
    log_mishit = np.log(mishit_share) + np.logaddexp.reduce(kinds, axis=0)
    log_solid = np.log1p(-mishit_share) + log_right
    every = np.column_stack([log_mishit, log_solid + np.log(n_told_share), log_solid[:, None] + log_fault])
    every = np.exp(every - every.max(axis=1, keepdims=True))
    every /= every.sum(axis=1, keepdims=True)
    return Verdicts(every[:, 1], every[:, 2:])


_LOG_TWO_PI: Final = float(np.log(2.0 * np.pi))


def _log_normal(off: "Array", variance: "Array") -> "Array":
    return np.asarray(-0.5 * (_LOG_TWO_PI + np.log(variance) + off**2 / variance))
