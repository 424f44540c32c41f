"""How a player's log is built: a linear model of four readings with a Gaussian prior on its parameters.

``reading(club, swing) = prior mean + plausible differences between players + this player's own bends of club speed and
delivered loft over the swing + what is special about this club + trajectory + lie + golf ball``, for log carry, log
spin, log ball speed and launch angle, plus a session effect and the spread of single balls. Most parts act through club
speed and delivered loft, so that every reading tells of them. Each part is a block of parameters;
docs/method/model.md has the formulas. The constants below are beliefs about golfers in general, wide, and tuned to no
log.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from wedgelab.model.observations import SAME_LOFT_DEG, Club
from wedgelab.model.prior import BALL_SPEED, CARRY, LAUNCH, SPIN, PriorSurfaces, prior_surfaces
from wedgelab.model.weather import N_DOUBTS
from wedgelab.shots import LIES, TRAJECTORIES

if TYPE_CHECKING:
    from wedgelab.model.population import Population

Array = NDArray[np.float64]

READINGS: Final = (CARRY, SPIN, BALL_SPEED, LAUNCH)  # what a ball can tell, as indices into the prior's outputs
N_READINGS: Final = len(READINGS)

KNOTS_DEG: Final = np.arange(0.0, 211.0, 30.0)
# a player's own bends along the swing: sd, and over how much swing they fade
SPEED_BEND: Final = (0.03, 45.0)  # of club speed [log m/s]
LOFT_BEND: Final = (1.0, 60.0)  # of delivered loft [deg]
CLUB_KNOTS_DEG: Final = np.array([20.0, 75.0, 120.0, 175.0])
CLUB_LENGTH_DEG: Final = 60.0
# what is special about a club, (whole club, along the swing): its speed [log], its delivered loft [deg], and its own
# part of log carry and log spin, where also stands what the components leave out of a plausible player
CLUB_SD: Final = {"speed": (0.008, 0.004), "loft": (0.5, 0.25), "carry": (0.006, 0.006), "spin": (0.025, 0.015)}
CLUB_LOFT_LENGTH_DEG: Final = 3.0  # how far a club's peculiarity reaches to other lofts
TWIN_SHARE: Final = 0.6  # what two clubs of the same loft have in common
TRAJECTORY_LOFT_DEG: Final = {"low": (-4.0, 2.5), "high": (4.0, 2.5)}  # change of delivered loft: mean, sd
# what the rest may do to log carry, log spin, log ball speed and launch [deg], one standard deviation
TRAJECTORY_SD: Final = (0.05, 0.10, 0.03, 1.5)  # beyond the changed loft
LIE_SD: Final = {"rough": (0.08, 0.30, 0.06, 2.0), "sand": (0.15, 0.30, 0.12, 3.0)}  # the others: the ordinary lie
# by how much what a flight or a lie does to log carry and log spin may differ a step of swing or of loft away, as a
# share of its sd above; in the middle of both nothing is added
KIND_SLOPE_SHARE: Final = 0.5
KIND_STEPS: Final = ((90.0, 60.0), (54.0, 8.0))  # swing [deg], loft [deg]: middle, step
KINDS: Final = {**dict.fromkeys(TRAJECTORY_LOFT_DEG, TRAJECTORY_SD), **LIE_SD}
N_SLOPED: Final = 2  # readings: log carry, log spin
BALL_SD: Final = (0.04, 0.10, 0.03, 0.7)  # another golf ball than the usual one
TIED: Final = ("player", "speed", "loft")  # blocks whose parameters are all told by any ball, as those of the clubs
DEVICE_SD: Final = (0.02, 1.0)  # how far a device may read ball speed [log] and launch [deg] off, always the same


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
    """The linear model at n cells: ``mean`` (n, 4) and ``of`` (n, 4, parameters), the readings in their order.

    ``left`` (n, 2, 2) is the covariance of log carry and log spin that no logged club tells of another loft.
    """

    mean: "Array"
    of: "Array"
    left: "Array"

    def at(self, parameters: "Array") -> "Array":
        """Return the readings (n, 4) that the parameters make."""
        return np.asarray(self.mean + self.of @ parameters)


class Structure:
    """The parameters for a set of clubs: where each block lies, its prior, and the rows of cells."""

    def __init__(self, clubs: Sequence[Club], n_balls: int = 1) -> None:
        self.clubs = tuple(clubs)
        self.n_components = prior_surfaces(np.array([50.0]), np.array([90.0])).components.shape[1]
        counts = {
            "player": self.n_components,
            "speed": len(KNOTS_DEG),
            "loft": len(KNOTS_DEG),
            **{f"club_{part}": len(clubs) * len(CLUB_KNOTS_DEG) for part in CLUB_SD},
            "trajectory": (1 + N_READINGS) * len(TRAJECTORY_LOFT_DEG),
            "lie": N_READINGS * len(LIE_SD),
            "kind_slope": N_SLOPED * len(KIND_STEPS) * len(KINDS),
            "ball": N_READINGS * (n_balls - 1),
            "device": len(DEVICE_SD),
            "air": N_DOUBTS,
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

    def prior(self, others: "Population | None" = None) -> tuple["Array", "Array"]:
        """Return prior mean (size,) and precision (size, size) of the parameters, learnt from ``others`` if any."""
        mean = np.zeros(self.size)
        precision = np.zeros((self.size, self.size))
        blocks = self.blocks
        for name in ("player", "air"):
            precision[blocks[name], blocks[name]] = np.eye(blocks[name].stop - blocks[name].start)
        if others is not None:
            mean[blocks["player"]] = others.mean
            precision[blocks["player"], blocks["player"]] = np.linalg.inv(others.covariance)
        for name, (sd, length) in (("speed", SPEED_BEND), ("loft", LOFT_BEND)):
            precision[blocks[name], blocks[name]] = _inverse(sd**2 * _bell(KNOTS_DEG, KNOTS_DEG, length))
        for part in CLUB_SD:
            knots = _inverse(club_knot_covariance(CLUB_KNOTS_DEG, CLUB_KNOTS_DEG, part))
            precision[blocks[f"club_{part}"], blocks[f"club_{part}"]] = np.kron(self._club_kernel_inverse, knots)
        sds = {
            "trajectory": [sd for _, own in TRAJECTORY_LOFT_DEG.values() for sd in (own, *TRAJECTORY_SD)],
            "lie": [sd for each in LIE_SD.values() for sd in each],
            "kind_slope": [
                KIND_SLOPE_SHARE * sd for each in KINDS.values() for sd in each[:N_SLOPED] for _ in KIND_STEPS
            ],
            "ball": BALL_SD * ((blocks["ball"].stop - blocks["ball"].start) // N_READINGS),
            "device": DEVICE_SD,
        }
        for name, each in sds.items():
            precision[blocks[name], blocks[name]] = np.diag(1.0 / np.square(np.array(each, dtype=np.float64)))
        for i, (loft, _) in enumerate(TRAJECTORY_LOFT_DEG.values()):
            mean[blocks["trajectory"].start + (1 + N_READINGS) * i] = loft
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
        """Return the linear model at the cells, what a device reads off and the doubts of the air left at zero."""
        surfaces = prior_surfaces(cells.loft_deg, cells.swing_deg)
        readings = list(READINGS)
        per_speed, per_loft = surfaces.per_log_speed[:, readings], surfaces.per_loft_deg[:, readings]
        n = len(cells.loft_deg)
        of = np.zeros((n, N_READINGS, self.size))
        of[:, :, self.blocks["player"]] = surfaces.components[:, :, readings].transpose(0, 2, 1)
        hats = hat_weights(cells.swing_deg, KNOTS_DEG)
        of[:, :, self.blocks["speed"]] = per_speed[:, :, None] * hats[:, None, :]
        of[:, :, self.blocks["loft"]] = per_loft[:, :, None] * hats[:, None, :]
        weights, cross = self._club_weights(cells)
        by_club = (weights[:, :, None] * hat_weights(cells.swing_deg, CLUB_KNOTS_DEG)[:, None, :]).reshape(n, -1)
        of[:, :, self.blocks["club_speed"]] = per_speed[:, :, None] * by_club[:, None, :]
        of[:, :, self.blocks["club_loft"]] = per_loft[:, :, None] * by_club[:, None, :]
        of[:, 0, self.blocks["club_carry"]] = by_club
        of[:, 1, self.blocks["club_spin"]] = by_club
        for i, word in enumerate(TRAJECTORY_LOFT_DEG):
            chosen = np.flatnonzero(cells.trajectory == TRAJECTORIES.index(word))
            at = self.blocks["trajectory"].start + (1 + N_READINGS) * i
            of[chosen, :, at] = per_loft[chosen]
            _each_its_own(of, chosen, at + 1)
        for i, word in enumerate(LIE_SD):
            chosen = np.flatnonzero(cells.lie == LIES.index(word))
            _each_its_own(of, chosen, self.blocks["lie"].start + N_READINGS * i)
        self._add_kind_slopes(of, cells)
        other = np.flatnonzero(cells.ball > 0)
        _each_its_own(of, other, self.blocks["ball"].start + N_READINGS * (cells.ball[other] - 1))
        open_share = np.clip(1.0 - np.einsum("ij,ij->i", weights, cross), 0.0, 1.0)
        open_share[cells.club >= 0] = 0.0
        return Rows(surfaces.mean[:, readings], of, open_share[:, None, None] * _club_covariance(surfaces))

    def _add_kind_slopes(self, of: "Array", cells: Cells) -> None:
        """Let a flight or a lie do something else at other swings and lofts: balls of one shot do not tell of all."""
        at = self.blocks["kind_slope"].start
        for word in KINDS:
            is_lie = word in LIE_SD
            said = cells.lie == LIES.index(word) if is_lie else cells.trajectory == TRAJECTORIES.index(word)
            chosen = np.flatnonzero(said)
            for reading in range(N_SLOPED):
                for where, (middle, step) in zip((cells.swing_deg, cells.loft_deg), KIND_STEPS, strict=True):
                    of[chosen, reading, at] = (where[chosen] - middle) / step
                    at += 1

    def touched(self, rows: "Array") -> "NDArray[np.intp]":
        """Return the parameters that rows (n, readings, size) tell of: those touched, and those tied to them."""
        whole = np.zeros(self.size, dtype=np.bool_)
        for name in (*TIED, *(f"club_{part}" for part in CLUB_SD)):
            whole[self.blocks[name]] = True
        return np.flatnonzero(whole | np.any(rows, axis=(0, 1)))

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
            surfaces = prior_surfaces(loft, swing)
            slopes = {
                "speed": surfaces.per_log_speed[:, CARRY], "loft": surfaces.per_loft_deg[:, CARRY], "carry": one
            }  # fmt: skip
            open_part = sum(
                np.outer(slope, slope) * club_knot_covariance(swing, swing, part) for part, slope in slopes.items()
            )
            result[np.ix_(unknown, unknown)] = share * open_part
        return result


def club_knot_covariance(swing_a: "Array", swing_b: "Array", part: str) -> "Array":
    """Covariance of one club's peculiarity between swing lengths [deg]; the parts are those of `CLUB_SD`."""
    whole, along = CLUB_SD[part]
    return whole**2 + along**2 * _bell(swing_a, swing_b, CLUB_LENGTH_DEG)


def hat_weights(swing_deg: "Array", knots_deg: "Array") -> "Array":
    """Weights of linear interpolation between knots, shape (n, knots); constant beyond the ends."""
    position = np.interp(swing_deg, knots_deg, np.arange(len(knots_deg), dtype=np.float64))
    return np.asarray(np.clip(1.0 - np.abs(position[:, None] - np.arange(len(knots_deg))[None, :]), 0.0, 1.0))


def _each_its_own(of: "Array", chosen: "NDArray[np.intp]", start: "int | NDArray[np.intp]") -> None:
    """Give every reading of the chosen rows a parameter of its own, from ``start`` on."""
    for reading in range(N_READINGS):
        of[chosen, reading, start + reading] = 1.0


def _club_covariance(surfaces: PriorSurfaces) -> "Array":
    """Prior covariance (n, 2, 2) of log carry and log spin from what is special about a club."""
    variance = {part: whole**2 + along**2 for part, (whole, along) in CLUB_SD.items()}
    pair = [CARRY, SPIN]
    speed, loft = surfaces.per_log_speed[:, pair], surfaces.per_loft_deg[:, pair]
    shared = variance["speed"] * speed[:, :, None] * speed[:, None, :]
    shared += variance["loft"] * loft[:, :, None] * loft[:, None, :]
    return np.asarray(shared + np.diag([variance["carry"], variance["spin"]]))


def _bell(a: "Array", b: "Array", length: float) -> "Array":
    return np.asarray(np.exp(-0.5 * ((a[:, None] - b[None, :]) / length) ** 2))


def _inverse(covariance: "Array") -> "Array":
    # smooth curves have almost singular covariances; a millionth of the variance on the diagonal changes no answer
    jitter = 1e-6 * np.trace(covariance) / len(covariance)
    return np.asarray(np.linalg.inv(covariance + jitter * np.eye(len(covariance))))
