"""How a player's log carry and log spin are built: a linear model with a Gaussian prior on its parameters.

``log carry(club, swing) = prior mean + plausible differences between players + a smooth speed curve of this player's
own + what is special about this club + trajectory + lie + golf ball``, plus a session effect and the spread of single
balls; log spin likewise, sharing the player and the speed curve. Each part is a block of parameters;
docs/method/model.md has the formulas. The constants below are beliefs about golfers in general, wide, and tuned to no
log.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wedgelab.model.observations import SAME_LOFT_DEG, Club
from wedgelab.model.prior import CARRY, SPIN, prior_surfaces
from wedgelab.model.weather import N_DOUBTS
from wedgelab.shots import LIES, TRAJECTORIES

Array = NDArray[np.float64]

SPEED_KNOTS_DEG: Final = np.arange(0.0, 211.0, 30.0)
SPEED_SD: Final = 0.03  # a player's own bends of the speed curve [log m/s] ...
SPEED_LENGTH_DEG: Final = 45.0  # ... and over how much swing they fade
CLUB_KNOTS_DEG: Final = np.array([20.0, 75.0, 120.0, 175.0])
CLUB_LENGTH_DEG: Final = 60.0
# (whole club, along the swing) for log carry, log spin: half a degree of loft is 1.8 % of carry, and along the swing
# stands what the 12 components leave out of a plausible player (0.8 % and 1.9 %) beside a little of the club's own
CLUB_SD: Final = ((0.018, 0.011), (0.03, 0.027))
CLUB_LOFT_LENGTH_DEG: Final = 3.0  # how far a club's peculiarity reaches to other lofts
TWIN_SHARE: Final = 0.6  # what two clubs of the same loft have in common
TRAJECTORY_LOFT_DEG: Final = {"low": (-4.0, 2.5), "high": (4.0, 2.5)}  # change of delivered loft: mean, sd
TRAJECTORY_SD: Final = (0.05, 0.10)  # and what that does not explain, log carry and log spin
LIE_SD: Final = {"rough": (0.08, 0.30), "sand": (0.15, 0.30)}  # the other lies count as the ordinary one
BALL_SD: Final = (0.04, 0.10)  # another golf ball than the usual one, log carry and log spin


@dataclass(frozen=True, slots=True)
class Cells:
    """n asked or logged cells as arrays; ``club`` is an index into the structure's clubs, -1 for another loft."""

    club: "NDArray[np.intp]"
    loft_deg: "Array"
    swing_deg: "Array"
    trajectory: "NDArray[np.intp]"
    lie: "NDArray[np.intp]"
    ball: "NDArray[np.intp]"  # 0 for the golf ball that the chart is for


@dataclass(frozen=True, slots=True)
class Rows:
    """The linear model at n cells: means (n,), rows (n, parameters) and the club part that no logged club tells."""

    mean_carry: "Array"
    mean_spin: "Array"
    carry: "Array"
    spin: "Array"
    club_left: "Array"  # (n,): share of the club effect's variance that the logged clubs do not tell


class Structure:
    """The parameters for a set of clubs and sessions: where each block lies, its prior, and the rows of cells."""

    def __init__(self, clubs: Sequence[Club], n_sessions: int, n_balls: int = 1) -> None:
        self.clubs = tuple(clubs)
        self.n_sessions = n_sessions
        self.n_components = prior_surfaces(np.array([50.0]), np.array([90.0])).components.shape[1]
        counts = {
            "player": self.n_components,
            "speed": len(SPEED_KNOTS_DEG),
            "club_carry": len(clubs) * len(CLUB_KNOTS_DEG),
            "club_spin": len(clubs) * len(CLUB_KNOTS_DEG),
            "trajectory": 3 * len(TRAJECTORY_LOFT_DEG),
            "lie": 2 * len(LIE_SD),
            "ball": 2 * (n_balls - 1),
            "air": N_DOUBTS,
            "session_carry": n_sessions,
            "session_spin": n_sessions,
        }
        self.blocks: dict[str, slice] = {}
        at = 0
        for name, count in counts.items():
            self.blocks[name] = slice(at, at + count)
            at += count
        self.size = at
        self.lofts_deg = np.array([club.loft_deg for club in clubs], dtype=np.float64)
        twins = [sum(abs(c.loft_deg - other.loft_deg) <= SAME_LOFT_DEG for other in clubs) > 1 for c in clubs]
        self._share = np.where(np.array(twins, dtype=bool), TWIN_SHARE, 1.0)

    @cached_property
    def club_kernel(self) -> "Array":
        """Correlation of the peculiarities of the clubs, shape (clubs, clubs)."""
        kernel = self._kernel(self.lofts_deg, self._share, self.lofts_deg, self._share)
        np.fill_diagonal(kernel, 1.0)
        return kernel

    @cached_property
    def _club_kernel_inverse(self) -> "Array":
        return np.asarray(np.linalg.inv(self.club_kernel))

    @staticmethod
    def _kernel(loft_a: "Array", share_a: "Array", loft_b: "Array", share_b: "Array") -> "Array":
        distance = np.abs(loft_a[:, None] - loft_b[None, :])
        return np.asarray(np.sqrt(share_a[:, None] * share_b[None, :]) * np.exp(-distance / CLUB_LOFT_LENGTH_DEG))

    def prior(self, session_sd: tuple[float, float], session_var: "Array") -> tuple["Array", "Array"]:
        """Return prior mean (size,) and prior precision (size, size) of the parameters.

        ``session_var`` (sessions,) is what the correction of its wind adds to the variance of a session's carries.
        """
        mean = np.zeros(self.size)
        precision = np.zeros((self.size, self.size))
        blocks = self.blocks
        precision[blocks["player"], blocks["player"]] = np.eye(self.n_components)
        speed = SPEED_SD**2 * _bell(SPEED_KNOTS_DEG, SPEED_KNOTS_DEG, SPEED_LENGTH_DEG)
        precision[blocks["speed"], blocks["speed"]] = _inverse(speed)
        for name, output in (("club_carry", CARRY), ("club_spin", SPIN)):
            knots = _inverse(club_knot_covariance(CLUB_KNOTS_DEG, CLUB_KNOTS_DEG, output))
            precision[blocks[name], blocks[name]] = np.kron(self._club_kernel_inverse, knots)
        for i, (loft, sd) in enumerate(TRAJECTORY_LOFT_DEG.values()):
            start = blocks["trajectory"].start + 3 * i
            mean[start] = loft
            np.fill_diagonal(
                precision[start : start + 3, start : start + 3],
                1.0 / np.square([sd, *TRAJECTORY_SD]),
            )
        lie_sds = [sd for pair in LIE_SD.values() for sd in pair]
        precision[blocks["lie"], blocks["lie"]] = np.diag(1.0 / np.square(lie_sds))
        ball_sds = BALL_SD * ((blocks["ball"].stop - blocks["ball"].start) // 2)
        precision[blocks["ball"], blocks["ball"]] = np.diag(1.0 / np.square(ball_sds))
        precision[blocks["air"], blocks["air"]] = np.eye(N_DOUBTS)
        precision[blocks["session_carry"], blocks["session_carry"]] = np.diag(1.0 / (session_sd[0] ** 2 + session_var))
        precision[blocks["session_spin"], blocks["session_spin"]] = np.eye(self.n_sessions) / session_sd[1] ** 2
        return mean, precision

    def find_club(self, label: str, loft_deg: float) -> int:
        """Return the index of the logged club, -1 if this loft was never logged under that label.

        An empty label means the only club of that loft.
        """
        same = [i for i, club in enumerate(self.clubs) if abs(club.loft_deg - loft_deg) <= SAME_LOFT_DEG]
        if label:
            same = [i for i in same if self.clubs[i].label == label.casefold()] or (
                same if len(same) == 1 and not self.clubs[same[0]].label else []
            )
        return same[0] if len(same) == 1 else -1

    def rows(self, cells: Cells) -> Rows:
        """Return the linear model at the cells, session effects and the doubts of the air left at zero."""
        surfaces = prior_surfaces(cells.loft_deg, cells.swing_deg)
        n = len(cells.loft_deg)
        carry, spin = np.zeros((n, self.size)), np.zeros((n, self.size))
        hats = hat_weights(cells.swing_deg, SPEED_KNOTS_DEG)
        for rows, output in ((carry, CARRY), (spin, SPIN)):
            rows[:, self.blocks["player"]] = surfaces.components[:, :, output]
            rows[:, self.blocks["speed"]] = surfaces.per_log_speed[:, output, None] * hats
        weights, cross = self._club_weights(cells)
        knots = hat_weights(cells.swing_deg, CLUB_KNOTS_DEG)
        by_club = (weights[:, :, None] * knots[:, None, :]).reshape(n, -1)
        carry[:, self.blocks["club_carry"]] = by_club
        spin[:, self.blocks["club_spin"]] = by_club
        for i, word in enumerate(TRAJECTORY_LOFT_DEG):
            chosen = cells.trajectory == TRAJECTORIES.index(word)
            at = self.blocks["trajectory"].start + 3 * i
            for rows, output, own in ((carry, CARRY, at + 1), (spin, SPIN, at + 2)):
                rows[chosen, at] = surfaces.per_loft_deg[chosen, output]
                rows[chosen, own] = 1.0
        for i, word in enumerate(LIE_SD):
            chosen = cells.lie == LIES.index(word)
            at = self.blocks["lie"].start + 2 * i
            carry[chosen, at] = 1.0
            spin[chosen, at + 1] = 1.0
        other = np.flatnonzero(cells.ball > 0)
        at_ball = self.blocks["ball"].start + 2 * (cells.ball[other] - 1)
        carry[other, at_ball] = 1.0
        spin[other, at_ball + 1] = 1.0
        left = np.clip(1.0 - np.einsum("ij,ij->i", weights, cross), 0.0, 1.0)
        left[cells.club >= 0] = 0.0
        return Rows(surfaces.mean[:, CARRY], surfaces.mean[:, SPIN], carry, spin, left)

    def _club_weights(self, cells: Cells) -> tuple["Array", "Array"]:
        """Return what each logged club says of each cell's club, and their correlations, both (n, clubs)."""
        known = cells.club >= 0
        share = np.where(known, self._share[cells.club], 1.0)
        cross = self._kernel(cells.loft_deg, share, self.lofts_deg, self._share)
        cross[known] = self.club_kernel[cells.club[known]]
        weights = cross @ self._club_kernel_inverse
        weights[known] = np.eye(len(self.clubs))[cells.club[known]]
        return weights, cross

    def left_covariance(self, cells: Cells) -> "Array":
        """Return what the logged clubs leave open of the log carry covariance between cells, shape (n, n)."""
        weights, cross = self._club_weights(cells)
        n = len(cells.loft_deg)
        result = np.zeros((n, n))
        unknown = np.flatnonzero(cells.club < 0)
        if len(unknown):
            loft, one = cells.loft_deg[unknown], np.ones(len(unknown))
            share = self._kernel(loft, one, loft, one) - weights[unknown] @ cross[unknown].T
            swing = cells.swing_deg[unknown]
            result[np.ix_(unknown, unknown)] = share * club_knot_covariance(swing, swing, CARRY)
        return result


def club_knot_covariance(swing_a: "Array", swing_b: "Array", output: int) -> "Array":
    """Covariance of one club's peculiarity between swing lengths [deg], for log carry or log spin."""
    whole, along = CLUB_SD[output]
    return whole**2 + along**2 * _bell(swing_a, swing_b, CLUB_LENGTH_DEG)


def hat_weights(swing_deg: "Array", knots_deg: "Array") -> "Array":
    """Weights of linear interpolation between knots, shape (n, knots); constant beyond the ends."""
    position = np.interp(swing_deg, knots_deg, np.arange(len(knots_deg), dtype=np.float64))
    return np.asarray(np.clip(1.0 - np.abs(position[:, None] - np.arange(len(knots_deg))[None, :]), 0.0, 1.0))


def _bell(a: "Array", b: "Array", length: float) -> "Array":
    return np.asarray(np.exp(-0.5 * ((a[:, None] - b[None, :]) / length) ** 2))


def _inverse(covariance: "Array") -> "Array":
    # smooth curves have almost singular covariances; a millionth of the variance on the diagonal changes no answer
    jitter = 1e-6 * np.trace(covariance) / len(covariance)
    return np.asarray(np.linalg.inv(covariance + jitter * np.eye(len(covariance))))
