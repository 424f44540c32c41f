"""A fitted player: answers every question of the `Predictor` protocol from the posterior. Needs numpy alone."""

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.errors import TooFewShotsError
from wedgelab.model import mixture
from wedgelab.model.airborne import Airborne, corrected
from wedgelab.model.fit import Fit, fit
from wedgelab.model.monotone import MonotoneCarry
from wedgelab.model.moves import expected_move_variance
from wedgelab.model.observations import SAME_LOFT_DEG, Observations, near_swing, observations_of_shots
from wedgelab.model.prior import prior_surfaces
from wedgelab.model.structure import LIE_SD, Array, Cells
from wedgelab.model.weather import GUST_SHARE, WIND_TOLD_SHARE, Air, Change, air_of
from wedgelab.prediction import NOT_SAID, Day, FlightEstimate, Prediction, ShotKind, SpinSupport, Support
from wedgelab.shots import LIES, STRIKES, TRAJECTORIES, Conditions, Shot, check_limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.model.population import Population

_MOST_KNOWN: Final = 16  # answers kept, of the questions asked last
SOLID_ENOUGH: Final = 0.5  # a ball more likely solid than not counts as solid


@dataclass(frozen=True, slots=True)
class _Median:
    """Posterior of the log medians at n cells; ``*_var`` is how surely they are known, ``cross`` their covariance.

    ``gust_var`` is what gusts add to the variance of one ball's log carry, ``stretch`` by how much its own spread grows
    on the day.
    """

    carry: Array
    spin: Array
    carry_var: Array
    spin_var: Array
    cross: Array
    gust_var: Array
    stretch: Array


class FittedPlayer:
    """What the log says of one player; made by `fit_player`.

    Carries are those of the ``reference`` conditions, or of the ``day`` after `on`.
    """

    def __init__(
        self,
        obs: Observations,
        learnt: Fit,
        reference: Conditions = NOT_SAID,
        day: Day | None = None,
        ball_air: Air | None = None,
    ) -> None:
        self.obs = obs
        self.fit = learnt
        self.reference = reference
        self.day = day
        self._monotone = MonotoneCarry(learnt.structure, learnt.mean)
        self._ball_air = ball_air
        self.airborne = Airborne(obs, learnt, self.solid, reference, day, ball_air)
        self._changes: dict[bytes, Change] = {}
        self._days: dict[Day, FittedPlayer] = {}
        self._covariance_of: tuple[tuple[ShotKind, ...], Array] = (), np.zeros((0, 0))
        self._known: dict[tuple[ShotKind, ...], tuple[Cells, _Median, Array, Array]] = {}

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

    def carry_changes_m(self) -> list[float]:
        """Return how much each logged carry was changed to bring it to the reference air [m], in the log's order."""
        brought = np.exp(self.obs.log_carry)
        return [float(x) for x in brought - np.exp(self.obs.log_carry - self.obs.air.shift)]

    def cells(self, kinds: Sequence[ShotKind]) -> Cells:
        """Turn kinds of shots into arrays; a loft or swing outside the hard limits raises `OutOfRangeError`."""
        find = self.fit.structure.find_club
        return Cells(
            np.array([find(kind.wedge, kind.loft_deg) for kind in kinds], dtype=np.intp),
            np.array([check_limits("loft_deg", kind.loft_deg) for kind in kinds], dtype=np.float64),
            np.array([check_limits("swing_deg", kind.swing_deg) for kind in kinds], dtype=np.float64),
            np.array([TRAJECTORIES.index(kind.trajectory) for kind in kinds], dtype=np.intp),
            np.array([LIES.index(kind.lie) if kind.lie else -1 for kind in kinds], dtype=np.intp),
            np.zeros(len(kinds), dtype=np.intp),
        )

    def on(self, day: Day) -> "FittedPlayer":
        """Return the same player under a day's conditions."""
        if day not in self._days:
            self._days[day] = FittedPlayer(self.obs, self.fit, self.reference, day, self._ball_air)
        return self._days[day]

    def predict(self, kinds: Sequence[ShotKind]) -> list[Prediction]:
        """Return the prediction of each kind of shot, in order."""
        if not kinds:
            return []
        cells, at, carry_sds, spin_sds = self._of_kinds(kinds)
        carry, spin = np.exp(at.carry), np.exp(at.spin)
        carry_sd = np.sqrt(carry_sds**2 @ mixture.WEIGHTS)
        spin_sd = np.sqrt(spin_sds**2 @ mixture.WEIGHTS)
        counted = [self._count(kind, cells, i) for i, kind in enumerate(kinds)]
        return [
            Prediction(
                kind=kind,
                carry_m=float(carry[i]),
                carry_sd_m=mixture.lognormal_sd(carry[i], carry_sd[i]),
                carry_se_m=mixture.lognormal_sd(carry[i], np.sqrt(at.carry_var[i])),
                spin_rpm=float(spin[i]),
                spin_sd_rpm=mixture.lognormal_sd(spin[i], spin_sd[i]),
                spin_se_rpm=mixture.lognormal_sd(spin[i], np.sqrt(at.spin_var[i])),
                n_shots=counted[i][0],
                n_spin=counted[i][1],
                support=self._support(kind, counted[i][0]),
                spin_support=self._spin_support(kind, counted[i][1]),
            )
            for i, kind in enumerate(kinds)
        ]

    def carry_quantiles(self, kinds: Sequence[ShotKind], probabilities: Sequence[float]) -> Array:
        """Return carries [m], shape (kinds, probabilities), that a future solid ball stays below."""
        _, at, carry_sds, _ = self._of_kinds(kinds)
        return np.asarray(np.exp(mixture.quantiles(probabilities, at.carry, carry_sds)))

    def spin_quantiles(self, kinds: Sequence[ShotKind], probabilities: Sequence[float]) -> Array:
        """Return spins [rpm], shape (kinds, probabilities), that a future solid ball stays below."""
        _, at, _, spin_sds = self._of_kinds(kinds)
        return np.asarray(np.exp(mixture.quantiles(probabilities, at.spin, spin_sds)))

    def window_probability(self, kinds: Sequence[ShotKind], low_m: float, high_m: float) -> Array:
        """Return the chance that one future solid ball carries between the two distances, shape (kinds,)."""
        _, at, carry_sds, _ = self._of_kinds(kinds)
        edges = np.tile(np.log([max(low_m, 1e-9), max(high_m, 1e-9)]), (len(kinds), 1))
        below = mixture.cdf(edges, at.carry, carry_sds)
        return np.asarray(below[:, 1] - below[:, 0])

    def ball_speed_mps(self, kinds: Sequence[ShotKind]) -> tuple[Array, Array]:
        """Return the median ball speeds [m/s] of the kinds and how surely they are known, both (kinds,)."""
        rows = self.fit.structure.rows(self.cells(kinds))
        log_speed, of = rows.at(self.fit.mean)[:, 2], rows.of[:, 2]
        log_se = np.sqrt(np.einsum("ij,jk,ik->i", of, self.fit.covariance, of))
        speed = np.exp(log_speed)
        return speed, np.array([mixture.lognormal_sd(v, se) for v, se in zip(speed, log_se, strict=True)])

    def sample(self, kinds: Sequence[ShotKind], n: int, rng: "np.random.Generator") -> tuple[Array, Array]:
        """Return joint draws of carry [m] and spin [rpm] of single future solid balls, each of shape (kinds, n)."""
        cells = self.cells(kinds)
        at = self._median(cells)
        days = self.fit.session_covariance
        rhos = self.fit.correlations(prior_surfaces(cells.loft_deg, cells.swing_deg))[:, 0, 1]
        carry, spin = np.empty((len(kinds), n)), np.empty((len(kinds), n))
        for i in range(len(kinds)):
            carry_var = at.carry_var[i] + at.stretch[i] ** 2 * days[0, 0] + at.gust_var[i]
            cross = at.cross[i] + at.stretch[i] * days[0, 1]
            joint = np.array([[carry_var, cross], [cross, at.spin_var[i] + days[1, 1]]])
            centre = rng.multivariate_normal([at.carry[i], at.spin[i]], joint, size=n, method="eigh")
            one = slice(i, i + 1)
            at_cell = cells.swing_deg[one], cells.loft_deg[one], cells.club[one]
            own = rng.standard_normal((2, n))
            rho = rhos[i]
            own[1] = rho * own[0] + np.sqrt(1.0 - rho**2) * own[1]
            for row, law, out, stretch in (
                (0, self.fit.carry_spread, carry, at.stretch[i]),
                (1, self.fit.spin_spread, spin, 1.0),
            ):
                log_sd = (
                    np.log(stretch)
                    + law.log_sd(*at_cell)
                    + np.sqrt(law.log_sd_variance(*at_cell)) * mixture.draw_point(rng, (n,))
                )
                out[i] = np.exp(centre[:, row] + np.exp(log_sd) * own[row])
        return carry, spin

    def landing(self, kinds: Sequence[ShotKind], green: str = "normal") -> list[FlightEstimate]:
        """Return how each kind of shot flies, lands and runs out on a green of that firmness (soft, normal, firm)."""
        if not kinds:
            return []
        cells = self.cells(kinds)
        return self.airborne.estimates(cells, self._change(cells).flight, green)

    def log_median_covariance(self, kinds: Sequence[ShotKind]) -> Array:
        """Return the covariance of the log median carries between the kinds, shape (kinds, kinds)."""
        asked = tuple(kinds)
        if asked != self._covariance_of[0]:  # plans ask for the same kinds again and again
            cells = self.cells(kinds)
            rows = self.fit.structure.rows(cells).of[:, 0]
            change = self._put_day(cells, rows)
            left = self.fit.structure.left_covariance(cells)
            if change is not None:
                left = left * np.outer(change.stretch, change.stretch)
            joint = rows @ self.fit.covariance @ rows.T + left
            self._covariance_of = asked, np.asarray(joint)
        return self._covariance_of[1].copy()

    def expected_covariance(
        self, kinds: Sequence[ShotKind], extra: Sequence[ShotKind], *, may_move: bool = False
    ) -> Array:
        """Return `log_median_covariance` as it is expected to be after the extra balls, hit in one new session.

        With ``may_move`` the little is counted that a player drifts from session to session.
        """
        if not extra:
            return self.log_median_covariance(kinds)
        every = {kind: i for i, kind in enumerate(dict.fromkeys([*kinds, *extra]))}
        joint = self.log_median_covariance(list(every))
        asked, hit = [every[kind] for kind in kinds], [every[kind] for kind in extra]
        there = self.cells(extra)
        log_sd = self.fit.carry_spread.log_sd(there.swing_deg, there.loft_deg, there.club)
        ball_var = np.exp(2.0 * log_sd) / (1.0 - self.fit.mishit_share)
        seen = joint[np.ix_(hit, hit)] + np.diag(ball_var) + self.fit.session_sd[0] ** 2
        if self.day is not None or self.airborne.still.has_wind:
            wind = self._change(self.cells(extra)).wind_after
            seen += np.diag((GUST_SHARE * wind) ** 2) + WIND_TOLD_SHARE**2 * np.outer(wind, wind)
        # a move is the same for every shot; on a day it is a hair more for some, which is nothing beside its doubt
        move = expected_move_variance(1.0 / float(np.linalg.solve(seen, np.ones(len(hit))).sum())) if may_move else 0.0
        cross = joint[np.ix_(asked, hit)] + move
        return np.asarray(joint[np.ix_(asked, asked)] + move - cross @ np.linalg.solve(seen + move, cross.T))

    def _of_kinds(self, kinds: Sequence[ShotKind]) -> tuple[Cells, _Median, Array, Array]:
        """Return cells, medians and spreads of carry and spin; the same kinds are asked of many windows in a row."""
        asked = tuple(kinds)
        if asked not in self._known:
            cells = self.cells(kinds)
            at = self._median(cells)
            while len(self._known) >= _MOST_KNOWN:
                self._known.pop(next(iter(self._known)))
            self._known[asked] = cells, at, *self._ball_sds(cells, at)
        return self._known[asked]

    def _reference_median(self, cells: Cells) -> tuple[Array, Array]:
        """Log medians of carry and spin under the reference conditions."""
        value = self.fit.structure.rows(cells).at(self.fit.mean)
        return self._monotone.log_carry(cells, value[:, 0]), value[:, 1]

    def _change(self, cells: Cells) -> Change:
        """Tell what the day does to the cells; flown once for the same cells."""
        key = b"".join(np.ascontiguousarray(part).tobytes() for part in dataclasses.astuple(cells))
        if key not in self._changes:
            self._changes[key] = self.airborne.change(cells, self._reference_median(cells))
        return self._changes[key]

    def _put_day(self, cells: Cells, carry_rows: Array) -> Change | None:
        """Turn rows of the reference into rows of the day, with what the correction may be wrong by; None in a calm.

        Without a day only a wind of the reference itself matters: its gusts.
        """
        if self.day is None and not self.airborne.still.has_wind:
            return None
        change = self._change(cells)
        carry_rows *= change.stretch[:, None]
        carry_rows[:, self.fit.structure.blocks["air"]] += change.doubts
        return change

    def _median(self, cells: Cells) -> _Median:
        structure, mean, covariance = self.fit.structure, self.fit.mean, self.fit.covariance
        rows = structure.rows(cells)
        value = rows.at(mean)
        carry = self._monotone.log_carry(cells, value[:, 0])
        gust_var, stretch = np.zeros(len(carry)), np.ones(len(carry))
        change = self._put_day(cells, rows.of[:, 0])
        if change is not None:
            carry = carry + change.log_carry + change.doubts @ mean[structure.blocks["air"]]
            gust_var, stretch = (GUST_SHARE * change.wind_after) ** 2, change.stretch
        pair = rows.of[:, :2]
        joint = pair @ covariance @ pair.transpose(0, 2, 1)
        left = rows.left
        return _Median(
            carry,
            value[:, 1],
            joint[:, 0, 0] + left[:, 0, 0] * stretch**2,
            joint[:, 1, 1] + left[:, 1, 1],
            joint[:, 0, 1] + left[:, 0, 1] * stretch,
            gust_var,
            stretch,
        )

    def _ball_sds(self, cells: Cells, at: _Median) -> tuple[Array, Array]:
        """Spreads of one future ball of a future session, in log carry and log spin, for `mixture`."""
        result = []
        one = np.ones(len(at.stretch))
        for variance, law, tau, stretch in (
            (at.carry_var + at.gust_var, self.fit.carry_spread, self.fit.session_sd[0], at.stretch),
            (at.spin_var, self.fit.spin_spread, self.fit.session_sd[1], one),
        ):
            at_cells = cells.swing_deg, cells.loft_deg, cells.club
            known = variance + (stretch * tau) ** 2
            log_sd = law.log_sd(*at_cells) + np.log(stretch)
            result.append(mixture.mixed_sds(known, log_sd, law.log_sd_variance(*at_cells)))
        return result[0], result[1]

    def _count(self, kind: ShotKind, cells: Cells, i: int) -> tuple[int, int]:
        obs = self.obs
        mine = (obs.club == cells.club[i]) & (obs.trajectory == TRAJECTORIES.index(kind.trajectory)) & self.solid
        mine &= near_swing(obs.swing_deg, kind.swing_deg)
        mine &= _lies_apart(obs.lie) == _lies_apart(cells.lie[i])  # a ball from the rough backs no shot from the mat
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


def _lies_apart(lie: "NDArray[np.intp] | np.intp") -> "NDArray[np.intp]":
    """Return the lies that behave differently as they are, all others as one."""
    return np.where(np.isin(lie, [LIES.index(word) for word in LIE_SD]), lie, -1)


def fit_player(
    shots: Iterable[Shot],
    conditions: Mapping[str, Conditions] | None = None,
    reference: Conditions = NOT_SAID,
    usual_ball: str = "",
    *,
    others: "Population | None" = None,
) -> FittedPlayer:
    """Fit the model to a player's log; without any shot raise `TooFewShotsError`.

    Parameters
    ----------
    shots
        the log.
    conditions
        conditions of the sessions by their names; a session without any counts as one in the reference conditions.
    reference
        conditions that the carries are brought to; what it leaves open is the standard atmosphere without wind.
    usual_ball
        name of the golf ball that the chart is for; otherwise the ball that was hit most.
    """
    log = list(shots)
    said = None if not conditions else [conditions.get(shot.session, NOT_SAID) for shot in log]
    return fit_observations(observations_of_shots(log, usual_ball), said, reference, others=others)


def fit_observations(
    obs: Observations,
    said: Sequence[Conditions] | None = None,
    reference: Conditions = NOT_SAID,
    *,
    others: "Population | None" = None,
    fading: bool = True,
) -> FittedPlayer:
    """Fit the model to arranged balls, ``said`` the conditions of each; without any ball raise `TooFewShotsError`."""
    if len(obs) == 0:
        raise TooFewShotsError("no shots are logged", "log one with: wedgelab log WEDGE SWING CARRY")
    player = FittedPlayer(obs, fit(obs, others=others, fading=fading), reference)
    if said is None or all(one.is_empty for one in said):
        if not player.airborne.still.has_wind:
            return player
        said = [NOT_SAID] * len(obs)
    ball_air = air_of(said, reference)
    if not (ball_air.differs(player.airborne.still) | ball_air.blows).any():
        return player
    # the first fit, of carries as they were, tells how balls started that were not measured; the second is the answer
    obs = corrected(obs, ball_air, player.airborne)
    return FittedPlayer(obs, fit(obs, others=others, fading=fading), reference, ball_air=ball_air)
