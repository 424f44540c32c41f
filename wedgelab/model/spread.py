"""How far single balls spread: what the physics makes of an ordinary swing's scatter, times a law that the log teaches.

A swing scatters in club speed and delivered loft; their effect on a reading changes with loft and swing length, and so
does its spread, before any ball: short swings and high lofts spread more of their carry. The law then scales that, by a
level, a slope over the swing, a slope over the loft, and something of each club's own.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model.prior import PriorSurfaces, prior_surfaces
from wedgelab.model.structure import READINGS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# the scatter of an ordinary player's balls: club speed and strike [log], delivered loft [deg], and what each reading
# has of its own (friction of the face, the device)
SPEED_SD: Final = 0.025
LOFT_SD_DEG: Final = 1.0
OWN_SD: Final = (0.015, 0.05, 0.008, 0.35)
SWING_UNIT_DEG: Final = 60.0
SWING_CENTRE_DEG: Final = 90.0
LOFT_UNIT_DEG: Final = 6.0
LOFT_CENTRE_DEG: Final = 53.0
# beliefs: sd of the change of the logarithm of the spread by 6 deg more loft, and of what a club has of its own
LOFT_SLOPE_SD: Final = 0.08
CLUB_SD: Final = 0.12
N_COMMON: Final = 3
_NEWTON_STEPS: Final = 8

LEVEL: Final = (0.0, 0.40)  # (mean, sd) of the logarithm of the scale at 9:00 ...
SWING_SLOPE: Final = (-0.05, 0.15)  # ... and of its change over 60 deg more swing


@dataclass(frozen=True, slots=True)
class Spread:
    """``log sd = physics + level + slope (swing - 90 deg) / 60 deg + slope (loft - 53 deg) / 6 deg + the club's own``.

    ``reading`` says of what (its place in `structure.READINGS`); the most probable ``coefficients`` (3 + clubs,) are in
    that order, with their ``covariance``; ``skew`` is how far their mean lies beyond.
    """

    reading: int
    coefficients: "Array"
    covariance: "Array"
    skew: "Array"

    def log_sd(
        self, swing_deg: "Array", loft_deg: "Array | None" = None, club: "NDArray[np.intp] | None" = None
    ) -> "Array":
        """Return the logarithm of the spread (its mean); without loft and club those of the middle of a bag."""
        loft = np.full(len(swing_deg), LOFT_CENTRE_DEG) if loft_deg is None else loft_deg
        base, _ = physical(prior_surfaces(loft, swing_deg))
        return np.asarray(base[:, self.reading] + self._rows(swing_deg, loft, club) @ (self.coefficients + self.skew))

    def log_sd_variance(
        self, swing_deg: "Array", loft_deg: "Array | None" = None, club: "NDArray[np.intp] | None" = None
    ) -> "Array":
        """Return how surely that logarithm is known, as a variance."""
        x = self._rows(swing_deg, loft_deg, club)
        variance = np.einsum("ij,jk,ik->i", x, self.covariance, x)
        return np.asarray(variance if club is None else variance + np.where(club < 0, CLUB_SD**2, 0.0))

    def _rows(self, swing_deg: "Array", loft_deg: "Array | None", club: "NDArray[np.intp] | None") -> "Array":
        n = len(swing_deg)
        loft = np.full(n, LOFT_CENTRE_DEG) if loft_deg is None else loft_deg
        return law_rows(swing_deg, loft, np.full(n, -1) if club is None else club, len(self.coefficients) - N_COMMON)


def law_rows(swing_deg: "Array", loft_deg: "Array", club: "NDArray[np.intp]", n_clubs: int) -> "Array":
    """Return the rows (n, 3 + clubs) of the law; a club of -1 has nothing of its own."""
    x = np.zeros((len(swing_deg), N_COMMON + n_clubs))
    x[:, 0] = 1.0
    x[:, 1] = (swing_deg - SWING_CENTRE_DEG) / SWING_UNIT_DEG
    x[:, 2] = (loft_deg - LOFT_CENTRE_DEG) / LOFT_UNIT_DEG
    known = np.flatnonzero(club >= 0)
    x[known, N_COMMON + club[known]] = 1.0
    return x


def physical(surfaces: PriorSurfaces) -> tuple["Array", "Array"]:
    """Return logarithms of the spread (n, 4) of an ordinary swing's readings, and their correlations (n, 4, 4)."""
    speed, loft = (slopes[:, list(READINGS)] for slopes in (surfaces.per_log_speed, surfaces.per_loft_deg))
    covariance = SPEED_SD**2 * speed[:, :, None] * speed[:, None, :]
    covariance += LOFT_SD_DEG**2 * loft[:, :, None] * loft[:, None, :]
    covariance += np.diag(np.square(OWN_SD))
    sd = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2))
    return np.log(sd), covariance / (sd[:, :, None] * sd[:, None, :])


def believed(n_clubs: int, levels: "Array | None" = None) -> tuple[Spread, ...]:
    """Return the laws of the four readings before any ball; ``levels`` (4, 2) are other means and sds of the levels."""
    laws = []
    for reading in range(len(READINGS)):
        level, level_sd = LEVEL if levels is None else levels[reading]
        mean = np.array([level, SWING_SLOPE[0], 0.0] + [0.0] * n_clubs)
        sds = np.array([level_sd, SWING_SLOPE[1], LOFT_SLOPE_SD] + [CLUB_SD] * n_clubs)
        laws.append(Spread(reading, mean, np.diag(sds**2), np.zeros(len(mean))))
    return tuple(laws)


def learnt(prior: Spread, now: Spread, x: "Array", count: "Array", square: "Array", free: "Array") -> Spread:
    """Return the most probable law, with the curvature there as its precision (Laplace).

    ``count`` (n,) balls with a sum of squared deviations ``square`` (n,) were seen at the rows ``x`` of the law;
    ``now`` is where the search begins; all deviations are measured against the physics' spread. ``free`` (n,) is what
    the balls tell of the spread: their count less what went into their middles.
    """
    firmness = np.diag(1.0 / np.diag(prior.covariance))
    at = now.coefficients
    for _ in range(_NEWTON_STEPS):
        scaled = square * np.exp(-2.0 * (x @ at))
        gradient = x.T @ (scaled - count) - firmness @ (at - prior.coefficients)
        # the larger of expected and observed curvature: a step never overshoots on surprising balls
        curvature = firmness + 2.0 * (x.T * np.maximum(scaled, count)) @ x
        step = np.linalg.solve(curvature, gradient)
        at = at + step
        if np.max(np.abs(step)) < 1e-4:
            break
    covariance = np.asarray(np.linalg.inv(firmness + 2.0 * (x.T * free) @ x))
    # the third derivative of the likelihood: few balls leave more room above the most probable spread than below it
    variance = np.einsum("ij,jk,ik->i", x, covariance, x)
    return Spread(prior.reading, at, covariance, 2.0 * covariance @ (x.T @ (free * variance)))
