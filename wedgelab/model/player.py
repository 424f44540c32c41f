"""A fitted player: answers every question of the `Predictor` protocol from the posterior. Needs numpy alone."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.errors import TooFewShotsError
from wedgelab.model import mixture
from wedgelab.model.fit import Fit, fit
from wedgelab.model.monotone import MonotoneCarry
from wedgelab.model.observations import SAME_LOFT_DEG, Observations, near_swing, observations_of_shots
from wedgelab.model.prior import AIR_TIME, APEX, CARRY, LAND, SPIN, prior_surfaces
from wedgelab.model.structure import (
    CLUB_SD,
    SPEED_KNOTS_DEG,
    TRAJECTORY_LOFT_DEG,
    Array,
    Cells,
    hat_weights,
)
from wedgelab.prediction import FlightEstimate, Prediction, ShotKind, SpinSupport, Support
from wedgelab.shots import LIES, STRIKES, TRAJECTORIES, Shot, check_limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

SOLID_ENOUGH: Final = 0.5  # a ball more likely solid than not counts as solid


@dataclass(frozen=True, slots=True)
class _Median:
    """Posterior of the log medians at n cells; ``*_var`` is how surely they are known, ``cross`` their covariance."""

    carry: Array
    spin: Array
    carry_var: Array
    spin_var: Array
    cross: Array


class FittedPlayer:
    """What the log says of one player; made by `fit_player`."""

    def __init__(self, obs: Observations, learnt: Fit) -> None:
        self.obs = obs
        self.fit = learnt
        self._monotone = MonotoneCarry(learnt.structure, learnt.mean)
        self._covariance_of: tuple[tuple[ShotKind, ...], Array] = (), np.zeros((0, 0))

    @property
    def n_shots(self) -> int:
        """Balls that the model learnt from."""
        return len(self.obs)

    @property
    def n_sessions(self) -> int:
        """Practice sessions that these balls come from."""
        return self.obs.n_sessions

    @cached_property
    def solid(self) -> "NDArray[np.bool_]":
        """Which balls count as solid: likely so, and not marked otherwise by the player."""
        return np.asarray((self.fit.solid >= SOLID_ENOUGH) & (self.obs.strike != STRIKES.index("off")))

    def cells(self, kinds: Sequence[ShotKind]) -> Cells:
        """Turn kinds of shots into arrays; a loft or swing outside the hard limits raises `OutOfRangeError`."""
        find = self.fit.structure.find_club
        return Cells(
            np.array([find(kind.wedge, kind.loft_deg) for kind in kinds], dtype=np.intp),
            np.array([check_limits("loft_deg", kind.loft_deg) for kind in kinds], dtype=np.float64),
            np.array([check_limits("swing_deg", kind.swing_deg) for kind in kinds], dtype=np.float64),
            np.array([TRAJECTORIES.index(kind.trajectory) for kind in kinds], dtype=np.intp),
            np.array([LIES.index(kind.lie) if kind.lie else -1 for kind in kinds], dtype=np.intp),
        )

    def predict(self, kinds: Sequence[ShotKind]) -> list[Prediction]:
        """Return the prediction of each kind of shot, in order."""
        if not kinds:
            return []
        cells = self.cells(kinds)
        at = self._median(cells)
        carry, spin = np.exp(at.carry), np.exp(at.spin)
        carry_sds, spin_sds = self._ball_sds(cells, at)
        carry_sd = np.sqrt(carry_sds**2 @ mixture.WEIGHTS)
        spin_sd = np.sqrt(spin_sds**2 @ mixture.WEIGHTS)
        counted = [self._count(kind, cells, i) for i, kind in enumerate(kinds)]
        return [
            Prediction(
                kind=kind,
                carry_m=float(carry[i]),
                carry_sd_m=_lognormal_sd(carry[i], carry_sd[i]),
                carry_se_m=_lognormal_sd(carry[i], np.sqrt(at.carry_var[i])),
                spin_rpm=float(spin[i]),
                spin_sd_rpm=_lognormal_sd(spin[i], spin_sd[i]),
                spin_se_rpm=_lognormal_sd(spin[i], np.sqrt(at.spin_var[i])),
                n_shots=counted[i][0],
                n_spin=counted[i][1],
                support=self._support(kind, counted[i][0]),
                spin_support=self._spin_support(kind, counted[i][1]),
            )
            for i, kind in enumerate(kinds)
        ]

    def carry_quantiles(self, kinds: Sequence[ShotKind], probabilities: Sequence[float]) -> Array:
        """Return carries [m], shape (kinds, probabilities), that a future solid ball stays below."""
        cells = self.cells(kinds)
        at = self._median(cells)
        return np.asarray(np.exp(mixture.quantiles(probabilities, at.carry, self._ball_sds(cells, at)[0])))

    def spin_quantiles(self, kinds: Sequence[ShotKind], probabilities: Sequence[float]) -> Array:
        """Return spins [rpm], shape (kinds, probabilities), that a future solid ball stays below."""
        cells = self.cells(kinds)
        at = self._median(cells)
        return np.asarray(np.exp(mixture.quantiles(probabilities, at.spin, self._ball_sds(cells, at)[1])))

    def window_probability(self, kinds: Sequence[ShotKind], low_m: float, high_m: float) -> Array:
        """Return the chance that one future solid ball carries between the two distances, shape (kinds,)."""
        cells = self.cells(kinds)
        at = self._median(cells)
        edges = np.tile(np.log([max(low_m, 1e-9), max(high_m, 1e-9)]), (len(kinds), 1))
        below = mixture.cdf(edges, at.carry, self._ball_sds(cells, at)[0])
        return np.asarray(below[:, 1] - below[:, 0])

    def sample(self, kinds: Sequence[ShotKind], n: int, rng: "np.random.Generator") -> tuple[Array, Array]:
        """Return joint draws of carry [m] and spin [rpm] of single future solid balls, each of shape (kinds, n)."""
        cells = self.cells(kinds)
        at = self._median(cells)
        tau_carry, tau_spin = self.fit.session_sd
        carry, spin = np.empty((len(kinds), n)), np.empty((len(kinds), n))
        for i in range(len(kinds)):
            joint = np.array(
                [[at.carry_var[i] + tau_carry**2, at.cross[i]], [at.cross[i], at.spin_var[i] + tau_spin**2]]
            )
            centre = rng.multivariate_normal([at.carry[i], at.spin[i]], joint, size=n, method="eigh")
            swing = cells.swing_deg[i : i + 1]
            own = rng.standard_normal((2, n))
            rho = self.fit.correlation
            own[1] = rho * own[0] + np.sqrt(1.0 - rho**2) * own[1]
            for row, law, out in ((0, self.fit.carry_spread, carry), (1, self.fit.spin_spread, spin)):
                log_sd = law.log_sd(swing) + np.sqrt(law.log_sd_variance(swing)) * mixture.draw_point(rng, (n,))
                out[i] = np.exp(centre[:, row] + np.exp(log_sd) * own[row])
        return carry, spin

    def landing(self, kinds: Sequence[ShotKind]) -> list[FlightEstimate]:
        """Return landing angle, apex and time in the air of each kind of shot, as the fitted player implies them."""
        if not kinds:
            return []
        cells = self.cells(kinds)
        surfaces = prior_surfaces(cells.loft_deg, cells.swing_deg)
        blocks, mean = self.fit.structure.blocks, self.fit.mean
        value = surfaces.mean + np.einsum("nkm,k->nm", surfaces.components, mean[blocks["player"]])
        faster = hat_weights(cells.swing_deg, SPEED_KNOTS_DEG) @ mean[blocks["speed"]]
        value += faster[:, None] * surfaces.per_log_speed
        for i, word in enumerate(TRAJECTORY_LOFT_DEG):
            chosen = cells.trajectory == TRAJECTORIES.index(word)
            value[chosen] += mean[blocks["trajectory"].start + 3 * i] * surfaces.per_loft_deg[chosen]
        return [
            FlightEstimate(float(row[LAND]), float(np.exp(row[APEX])), float(np.exp(row[AIR_TIME]))) for row in value
        ]

    def log_median_covariance(self, kinds: Sequence[ShotKind]) -> Array:
        """Return the covariance of the log median carries between the kinds, shape (kinds, kinds)."""
        asked = tuple(kinds)
        if asked != self._covariance_of[0]:  # plans ask for the same kinds again and again
            cells = self.cells(kinds)
            rows = self.fit.structure.rows(cells).carry
            joint = rows @ self.fit.covariance @ rows.T + self.fit.structure.left_covariance(cells)
            self._covariance_of = asked, np.asarray(joint)
        return self._covariance_of[1].copy()

    def expected_covariance(self, kinds: Sequence[ShotKind], extra: Sequence[ShotKind]) -> Array:
        """Return `log_median_covariance` as it is expected to be after the extra balls, hit in one new session."""
        if not extra:
            return self.log_median_covariance(kinds)
        every = {kind: i for i, kind in enumerate(dict.fromkeys([*kinds, *extra]))}
        joint = self.log_median_covariance(list(every))
        asked, hit = [every[kind] for kind in kinds], [every[kind] for kind in extra]
        swing = np.array([kind.swing_deg for kind in extra], dtype=np.float64)
        ball_var = np.exp(2.0 * self.fit.carry_spread.log_sd(swing)) / (1.0 - self.fit.mishit_share)
        seen = joint[np.ix_(hit, hit)] + np.diag(ball_var) + self.fit.session_sd[0] ** 2
        cross = joint[np.ix_(asked, hit)]
        return np.asarray(joint[np.ix_(asked, asked)] - cross @ np.linalg.solve(seen, cross.T))

    def _median(self, cells: Cells) -> _Median:
        structure, mean, covariance = self.fit.structure, self.fit.mean, self.fit.covariance
        rows = structure.rows(cells)
        half_carry, half_spin = rows.carry @ covariance, rows.spin @ covariance
        open_carry, open_spin = (whole**2 + along**2 for whole, along in (CLUB_SD[CARRY], CLUB_SD[SPIN]))
        return _Median(
            self._monotone.log_carry(cells, rows.mean_carry + rows.carry @ mean),
            rows.mean_spin + rows.spin @ mean,
            np.einsum("ij,ij->i", half_carry, rows.carry) + rows.club_left * open_carry,
            np.einsum("ij,ij->i", half_spin, rows.spin) + rows.club_left * open_spin,
            np.einsum("ij,ij->i", half_carry, rows.spin),
        )

    def _ball_sds(self, cells: Cells, at: _Median) -> tuple[Array, Array]:
        """Spreads of one future ball of a future session, in log carry and log spin, for `mixture`."""
        result = []
        for variance, law, tau in (
            (at.carry_var, self.fit.carry_spread, self.fit.session_sd[0]),
            (at.spin_var, self.fit.spin_spread, self.fit.session_sd[1]),
        ):
            swing = cells.swing_deg
            result.append(mixture.mixed_sds(variance + tau**2, law.log_sd(swing), law.log_sd_variance(swing)))
        return result[0], result[1]

    def _count(self, kind: ShotKind, cells: Cells, i: int) -> tuple[int, int]:
        obs = self.obs
        mine = (obs.club == cells.club[i]) & (obs.trajectory == TRAJECTORIES.index(kind.trajectory)) & self.solid
        mine &= near_swing(obs.swing_deg, kind.swing_deg)
        return int(mine.sum()), int((mine & np.isfinite(obs.log_spin)).sum())

    def _support(self, kind: ShotKind, n: int) -> Support:
        return "measured" if n else ("between" if self._inside(kind, self.solid) else "beyond")

    def _spin_support(self, kind: ShotKind, n: int) -> SpinSupport:
        read = self.solid & np.isfinite(self.obs.log_spin)
        if not read.any():
            return "none"
        return "measured" if n else ("between" if self._inside(kind, read) else "beyond")

    def _inside(self, kind: ShotKind, balls: "NDArray[np.bool_]") -> bool:
        if not balls.any():
            return False
        loft, swing = self.obs.loft_deg[balls], self.obs.swing_deg[balls]
        return bool(
            loft.min() - SAME_LOFT_DEG <= kind.loft_deg <= loft.max() + SAME_LOFT_DEG
            and swing.min() - 1e-6 <= kind.swing_deg <= swing.max() + 1e-6
        )


def fit_player(shots: Iterable[Shot]) -> FittedPlayer:
    """Fit the model to a player's log; without any shot raise `TooFewShotsError`."""
    return fit_observations(observations_of_shots(shots))


def fit_observations(obs: Observations) -> FittedPlayer:
    """Fit the model to arranged balls; without any raise `TooFewShotsError`."""
    if len(obs) == 0:
        raise TooFewShotsError("no shots are logged", "log one with: wedgelab log WEDGE SWING CARRY")
    return FittedPlayer(obs, fit(obs))


def _lognormal_sd(median: float, log_sd: float) -> float:
    """Return the standard deviation of a quantity whose logarithm is normal about the logarithm of the median."""
    variance = float(log_sd) ** 2
    return float(median * np.exp(0.5 * variance) * np.sqrt(np.expm1(variance)))
