"""What other players of the same log teach about a newcomer: the belief before the first ball, learnt from them.

The physics says how plausible players differ, widely. Players of one coach are alike in some of this: their means and
spreads along the components of the prior are re-estimated from the others' logs (empirical Bayes), pulled towards the
physics' belief, so that one other player changes little and ten change much.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model.spread import LEVEL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.model.fit import Fit

    Array = NDArray[np.float64]

# how many players the belief about golfers in general counts as: about their mean, and about how they differ
MEAN_COUNT: Final = 1.0
DIFFERENCE_COUNT: Final = 4.0
_ROUNDS: Final = 30


@dataclass(frozen=True, slots=True)
class Population:
    """The belief about a newcomer: mean and covariance of the prior's components, and the levels of the spreads.

    ``spread_level`` (4, 2) holds mean and sd of the logarithm of each reading's spread against the physics'.
    """

    mean: "Array"
    covariance: "Array"
    spread_level: "Array"
    mishit_share: float
    n_players: int


def population(fits: Sequence["Fit"]) -> Population | None:
    """Learn from the fits of other players, each made without any population; None if there is none.

    Expectation and maximisation in turn for the mean and covariance of a normal population (e.g. Gelman et al.,
    Bayesian Data Analysis, 3rd ed., chapter 15, from memory), with an inverse Wishart belief about the covariance.
    """
    if not fits:
        return None
    block = fits[0].structure.blocks["player"]
    n, size = len(fits), block.stop - block.start
    own = [np.linalg.inv(each.covariance[block, block]) for each in fits]
    pull = np.stack([inverse @ each.mean[block] for inverse, each in zip(own, fits, strict=True)])
    seen = np.stack(own) - np.eye(size)  # what each log says beside the belief that it was fitted with
    mean, covariance = np.zeros(size), np.eye(size)
    for _ in range(_ROUNDS):
        precision = np.linalg.inv(covariance)
        known = np.linalg.inv(seen + precision)
        each = (known @ (pull + precision @ mean)[:, :, None])[:, :, 0]
        mean = each.sum(axis=0) / (n + MEAN_COUNT)
        off = each - mean
        spread = off.T @ off + known.sum(axis=0) + MEAN_COUNT * np.outer(mean, mean) + DIFFERENCE_COUNT * np.eye(size)
        covariance = spread / (n + DIFFERENCE_COUNT)
    levels = np.array([[law.coefficients[0] for law in fit.spreads] for fit in fits])
    middle = (levels.sum(axis=0) + MEAN_COUNT * LEVEL[0]) / (n + MEAN_COUNT)
    square = ((levels - middle) ** 2).sum(axis=0) + DIFFERENCE_COUNT * LEVEL[1] ** 2
    shares = [fit.mishit_share for fit in fits]
    return Population(
        mean,
        covariance,
        np.stack([middle, np.sqrt(square / (n + DIFFERENCE_COUNT))], axis=1),
        float(np.mean(shares)),
        n,
    )
