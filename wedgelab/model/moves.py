"""Have the numbers moved? Between sessions a player drifts a little, and now and then changes for good.

The present is the reference: what was hit before a move is off by it. A move is small or, rarely, large; which, the
data decide (a scale mixture, judged from the posterior without the prior of the move, so that neither answer feeds
itself). Old sessions fade by what may have happened since.
"""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.model.linear import Posterior

    Array = NDArray[np.float64]

# What moves: log carry alone, log spin alone, and club speed, which every reading tells of. One standard deviation of
# the small moves from session to session and of the large ones, and how often one is large.
SMALL_SD: Final = np.array([0.002, 0.003, 0.0015])
LARGE_SD: Final = np.array([0.08, 0.10, 0.05])
LARGE_SHARE: Final = 0.04
# what a change of club speed does to log carry (a full range of swings: 1.1 to 1.8, as the physics has it), log spin,
# log ball speed and launch
OF_SPEED: Final = np.array([1.4, 1.0, 1.0, 0.0])
_SINGLE: Final = 7  # so many boundaries back each has a place of its own, older ones share places
_N: Final = 3
_POINTS: Final = 15  # of the quadrature: within half a per cent of brute force; 3 points were 15 % off
_HARDLY: Final = 1e-6  # of the prior's precision: what readings that nobody took say of a move


@dataclass(frozen=True, slots=True)
class Moves:
    """Places between sessions where the numbers may have moved.

    ``at`` (m,) holds the index of the session that follows each place, the latest first; ``count`` (m,) how many
    boundaries between sessions it stands for. Of what moves, each (m, 3): ``large`` the chance of a large move,
    ``size`` what it is found to be, ``variance`` its prior variance at present.
    """

    at: "NDArray[np.intp]"
    count: "Array"
    large: "Array"
    size: "Array"
    variance: "Array"

    @classmethod
    def believed(cls, n_sessions: int) -> "Moves":
        """Return the places before any ball."""
        back = [*range(1, _SINGLE + 2)]
        while back[-1] < n_sessions:
            back.append(back[-1] + max(back[-1] // 2, 1))
        at = np.array([n_sessions - b for b in back if b < n_sessions], dtype=np.intp)
        count = -np.diff(np.append(at, 0)).astype(np.float64)
        small = count[:, None] * SMALL_SD**2
        return cls(at, count, np.full(small.shape, LARGE_SHARE), np.zeros(small.shape), small)

    def rows(self, sessions: "NDArray[np.intp]") -> "Array":
        """Return what each move adds to the readings of the sessions, (sessions, 4, 3 moves)."""
        before = np.where(sessions[:, None] < self.at[None, :], -1.0, 0.0)
        return np.asarray(np.einsum("jm,ri->jrmi", before, _ways()).reshape(len(sessions), 4, -1))

    @property
    def shift(self) -> "Array":
        """What the moves are found to be in log carry, log spin and log ball speed, (m, 3)."""
        return np.asarray(self.size @ _ways()[:3].T)

    @property
    def chance(self) -> "Array":
        """Chance that log carry, log spin and log ball speed made a large move, (m, 3)."""
        still = 1.0 - self.large
        return 1.0 - np.column_stack([still[:, 0] * still[:, 2], still[:, 1] * still[:, 2], still[:, 2]])

    def joined(self, mean: "Array", precision: "Array", n_doubts: int) -> tuple["Array", "Array"]:
        """Return prior mean and precision of the parameters, those of the moves and the doubts of the air behind."""
        n, more = len(mean), _N * len(self.at)
        own = np.append(1.0 / self.variance.reshape(-1), np.ones(n_doubts))
        whole = np.diag(np.append(np.ones(n), own))
        whole[:n, :n] = precision
        return np.append(mean, np.zeros(more + n_doubts)), whole

    def judged(self, posterior: "Posterior", start: int) -> "Moves":
        """Judge anew whether each move was large; the moves' parameters begin at ``start``.

        The prior variance that it then gets makes its posterior mean that of the mixture of both.
        """
        if not len(self.at):
            return self
        mine = slice(start, start + self.size.size)
        size = posterior.mean[mine].reshape(self.size.shape)
        known = np.diag(posterior.covariance)[mine].reshape(self.size.shape)
        # what the balls alone say of the move: a value with a variance
        seen = np.maximum(1.0 / known - 1.0 / self.variance, _HARDLY / self.variance)
        value, variance = size / known / seen, 1.0 / seen
        small, large = self.count[:, None] * SMALL_SD**2, np.broadcast_to(LARGE_SD**2, size.shape)
        gain = _log_normal(value, large + variance) - _log_normal(value, small + variance)
        odds = np.log(LARGE_SHARE / (1.0 - LARGE_SHARE)) + gain
        chance = 1.0 / (1.0 + np.exp(-np.clip(odds, -500.0, 500.0)))
        chance = 0.5 * (chance + self.large)  # neighbours that could each be the one that moved would take turns
        kept = chance * large / (large + variance) + (1.0 - chance) * small / (small + variance)
        return replace(self, large=chance, size=size, variance=variance * kept / (1.0 - kept))


def expected_move_variance(seen_variance: float) -> float:
    """Return the variance of log carry that the fit is expected to leave for a move before a session to come.

    That session's balls tell where all carries are to within ``seen_variance`` (of log carry). The player is taken to
    have drifted by no more than the small moves; the mean is over what may then be seen (Gauss-Hermite quadrature:
    NIST DLMF 3.5(v), from memory).
    """
    points, weights = np.polynomial.hermite_e.hermegauss(_POINTS)
    weights = weights / weights.sum()
    total = 0.0
    for kind, way in ((0, 1.0), (2, float(OF_SPEED[0]))):  # of carry alone, and of club speed
        small, large = SMALL_SD[kind] ** 2, LARGE_SD[kind] ** 2
        known = seen_variance / way**2
        value = points * np.sqrt(known + small)
        gain = _log_normal(value, large + known) - _log_normal(value, small + known)
        chance = 1.0 / (1.0 + np.exp(-(np.log(LARGE_SHARE / (1.0 - LARGE_SHARE)) + gain)))
        kept = chance * large / (large + known) + (1.0 - chance) * small / (small + known)
        total += way**2 * float(weights @ (known * kept / (1.0 - kept)))
    return total


def _ways() -> "Array":
    """Return what each kind of move does to the four readings, (4, 3)."""
    ways = np.zeros((4, _N))
    ways[0, 0] = ways[1, 1] = 1.0
    ways[:, 2] = OF_SPEED
    return ways


def _log_normal(off: "Array", variance: "Array") -> "Array":
    return np.asarray(-0.5 * (np.log(variance) + off**2 / variance))
