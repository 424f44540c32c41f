"""Learn a player's parameters from a log: Gaussian regression, repeated while mishits and spreads are re-judged.

Each round solves the linear model with the weights at hand, then asks of every ball how likely it was a mishit (seen
from the others, so that a lone ball cannot vouch for itself), then re-estimates how far balls spread, how far sessions
differ and how often the player mishits, each pulled towards a common belief. Milliseconds for a few hundred balls.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model.structure import Array, Cells, Rows, Structure
from wedgelab.shots import STRIKES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.model.observations import Observations

# beliefs about golfers in general: (mean, sd) of the logarithm of the spread of single balls at 9:00, and of its change
# over 60 deg more swing; the session effects; the share of mishits. Equivalent counts say how firmly.
CARRY_SPREAD: Final = ((np.log(0.052), 0.40), (-0.10, 0.15))
SPIN_SPREAD: Final = ((np.log(0.070), 0.40), (0.0, 0.15))
SESSION_SD: Final = (0.012, 0.015)
SESSION_COUNT: Final = 6.0
CORRELATION_COUNT: Final = 12.0
MISHIT_SHARE: Final = 0.05
MISHIT_COUNT: Final = 20.0
SWING_UNIT_DEG: Final = 60.0
SWING_CENTRE_DEG: Final = 90.0

# where mishits land, in log carry against the solid ball: mostly short, some anywhere (a typing slip included)
_MISHIT_KINDS: Final = ((0.7, -0.25, 0.35), (0.3, 0.0, 0.9))
_MARKED_SHARE: Final = {"off": 0.95, "solid": 0.01}
_SPIN_FAULT_SHARE: Final = 0.02
_SPIN_FAULT_SD: Final = 0.6
_WIDENING: Final = (2.5, 1.7, 1.3)  # first rounds forgive more, so that gross slips do not choose the company they keep
_MOST_ROUNDS: Final = 40
_CLOSE_ENOUGH: Final = 2e-5


@dataclass(frozen=True, slots=True)
class Spread:
    """Law of the spread of single balls: ``log sd = level + slope (swing - 90 deg) / 60 deg``, with its covariance."""

    level: float
    slope: float
    covariance: Array

    def log_sd(self, swing_deg: Array) -> Array:
        """Return the logarithm of the spread at the swings."""
        return self.level + self.slope * _swing_unit(swing_deg)

    def log_sd_variance(self, swing_deg: Array) -> Array:
        """Return how surely that logarithm is known, as a variance."""
        x = np.stack([np.ones_like(swing_deg), _swing_unit(swing_deg)], axis=1)
        return np.asarray(np.einsum("ij,jk,ik->i", x, self.covariance, x))


@dataclass(frozen=True, slots=True)
class Fit:
    """What the log taught: the posterior of the parameters and of the spreads, and what was made of each ball."""

    structure: Structure
    mean: Array  # (parameters,)
    covariance: Array  # (parameters, parameters)
    carry_spread: Spread
    spin_spread: Spread
    correlation: float  # of log carry and log spin of the same ball
    session_sd: tuple[float, float]
    mishit_share: float
    solid: Array  # (balls,) chance that the ball was solid
    rounds: int
    converged: bool
    notes: tuple[str, ...]


@dataclass(slots=True)
class _State:
    """What the rounds change."""

    carry: Spread
    spin: Spread
    correlation: float
    session_sd: tuple[float, float]
    mishit_share: float
    solid: Array
    spin_good: Array


def fit(obs: "Observations") -> Fit:
    """Fit the model to at least one ball; deterministic given the data."""
    structure = Structure(obs.clubs, obs.n_sessions, obs.n_balls)
    cells, which = _cells_of(obs)
    cell, session = cells
    rows = structure.rows(cell)
    index = np.arange(len(session))
    rows.carry[index, structure.blocks["session_carry"].start + session] = 1.0
    rows.spin[index, structure.blocks["session_spin"].start + session] = 1.0
    # a carry that was brought to the reference air is the true one less what the correction is wrong by
    count = np.bincount(which, minlength=len(session))
    for cause, doubts in enumerate(obs.air.doubts.T):
        rows.carry[:, structure.blocks["air"].start + cause] = -np.bincount(which, doubts, len(session)) / count
    has_spin = np.isfinite(obs.log_spin)
    carry_off = obs.log_carry - rows.mean_carry[which]
    spin_off = np.where(has_spin, obs.log_spin - rows.mean_spin[which], 0.0)
    ball = _Balls(
        which, len(session), carry_off, spin_off, has_spin, _marked_shares(obs),
        np.bincount(which, obs.air.gust_var, len(session)) / count, obs.air.session_var,
    )  # fmt: skip
    state = _State(
        _prior_spread(CARRY_SPREAD), _prior_spread(SPIN_SPREAD), 0.0, SESSION_SD, MISHIT_SHARE,
        np.full(len(obs), 1.0 - MISHIT_SHARE), np.full(len(obs), 1.0 - _SPIN_FAULT_SHARE),
    )  # fmt: skip
    at = np.full(len(session), np.inf)
    converged = False
    rounds = 0
    for rounds in range(1, _MOST_ROUNDS + 1):
        widening = _WIDENING[rounds - 1] if rounds <= len(_WIDENING) else 1.0
        mean, covariance = _solve(structure, rows, cell.swing_deg, ball, state, widening)
        now = rows.carry @ mean
        converged = rounds > len(_WIDENING) and bool(np.max(np.abs(now - at)) < _CLOSE_ENOUGH)
        at = now
        moments = _Moments.of(rows, mean, covariance)
        _judge_balls(ball, moments, cell.swing_deg, state, widening)
        _judge_spreads(ball, moments, cell.swing_deg, state)
        state.session_sd = _session_sds(structure, mean, covariance, state.session_sd, ball.session_var)
        bad = float(np.sum(1.0 - state.solid)) + MISHIT_SHARE * MISHIT_COUNT
        state.mishit_share = bad / (len(obs) + MISHIT_COUNT)
        if converged:
            break
    mean, covariance = _solve(structure, rows, cell.swing_deg, ball, state, 1.0)
    notes = () if converged else (f"the fit was stopped after {rounds} rounds while still moving a little",)
    return Fit(
        structure, mean, covariance, state.carry, state.spin, state.correlation, state.session_sd, state.mishit_share,
        state.solid, rounds, converged, notes,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Balls:
    """The balls against the prior mean; ``which`` is the group (a cell in a session) of each."""

    which: "NDArray[np.intp]"
    n_groups: int
    carry: Array
    spin: Array
    has_spin: "NDArray[np.bool_]"
    marked_share: Array  # mishit share from the player's own mark, NaN without one
    gust_var: Array  # (groups,): variance of a ball's log carry from gusts of wind
    session_var: Array  # (sessions,): variance of a session's log carries from a wind told wrongly

    def total(self, values: Array) -> Array:
        """Sum over the balls of each group."""
        return np.asarray(np.bincount(self.which, weights=values, minlength=self.n_groups), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class _Moments:
    """Posterior of log carry and log spin of each group, session effect included."""

    carry: Array
    spin: Array
    carry_var: Array
    spin_var: Array
    cross: Array

    @classmethod
    def of(cls, rows: Rows, mean: Array, covariance: Array) -> "_Moments":
        half_carry, half_spin = rows.carry @ covariance, rows.spin @ covariance
        return cls(
            rows.carry @ mean,
            rows.spin @ mean,
            np.einsum("ij,ij->i", half_carry, rows.carry),
            np.einsum("ij,ij->i", half_spin, rows.spin),
            np.einsum("ij,ij->i", half_carry, rows.spin),
        )


def _cells_of(obs: "Observations") -> tuple[tuple[Cells, "NDArray[np.intp]"], "NDArray[np.intp]"]:
    """Group the balls by cell and session, so that the cost of a round grows with the cells, not with the balls."""
    coded = np.stack(
        [obs.club, obs.session, obs.trajectory, obs.lie, obs.ball, np.round(obs.swing_deg * 1000.0).astype(np.intp)],
        axis=1,
    )
    groups, first, which = np.unique(coded, axis=0, return_index=True, return_inverse=True)
    cells = Cells(groups[:, 0], obs.loft_deg[first], obs.swing_deg[first], groups[:, 2], groups[:, 3], groups[:, 4])
    return (cells, groups[:, 1]), which.reshape(-1)


def _marked_shares(obs: "Observations") -> Array:
    shares = np.full(len(obs), np.nan)
    for word, share in _MARKED_SHARE.items():
        shares[obs.strike == STRIKES.index(word)] = share
    return shares


def _swing_unit(swing_deg: Array) -> Array:
    return (swing_deg - SWING_CENTRE_DEG) / SWING_UNIT_DEG


def _prior_spread(belief: tuple[tuple[float, float], tuple[float, float]]) -> Spread:
    (level, level_sd), (slope, slope_sd) = belief
    return Spread(float(level), float(slope), np.diag([level_sd**2, slope_sd**2]))


def _solve(
    structure: Structure, rows: Rows, swing_deg: Array, ball: _Balls, state: _State, widening: float
) -> tuple[Array, Array]:
    """Posterior of the parameters; spin enters as what it adds to the carry of its ball, as their errors correlate."""
    mean, precision = structure.prior(state.session_sd, ball.session_var)
    carry_var, ratio, own_var = _ball_variances(ball, state, swing_deg, widening)
    with_spin = np.where(ball.has_spin, state.solid * state.spin_good, 0.0)
    carry_weight = ball.total(state.solid) / carry_var
    spin_weight = ball.total(with_spin) / own_var
    spin_rows = rows.spin - ratio[:, None] * rows.carry
    carry_sum = ball.total(state.solid * ball.carry) / carry_var
    spin_sum = (ball.total(with_spin * ball.spin) - ratio * ball.total(with_spin * ball.carry)) / own_var
    rhs = precision @ mean + rows.carry.T @ carry_sum + spin_rows.T @ spin_sum
    full = precision + (rows.carry.T * carry_weight) @ rows.carry + (spin_rows.T * spin_weight) @ spin_rows
    covariance = np.asarray(np.linalg.inv(full))
    covariance = 0.5 * (covariance + covariance.T)
    return covariance @ rhs, covariance


def _judge_balls(ball: _Balls, at: _Moments, swing_deg: Array, state: _State, widening: float) -> None:
    """Chance of each ball to be solid, and of its spin reading to be right, given all the other balls."""
    which = ball.which
    carry_var, ratio, own_var = _ball_variances(ball, state, swing_deg, widening)
    variance = carry_var[which]
    # the posterior without this ball: a ball must not be judged by an average that it pulled to itself
    pull = np.minimum(at.carry_var[which] * state.solid / variance, 0.999)
    left = 1.0 - pull
    off = (ball.carry - at.carry[which]) / left
    known = at.carry_var[which] / left
    share = np.where(np.isnan(ball.marked_share), state.mishit_share, ball.marked_share)
    log_solid = np.log1p(-share) + _log_normal(off, known + variance)
    kinds = [np.log(weight) + _log_normal(off - shift, known + sd**2) for weight, shift, sd in _MISHIT_KINDS]
    log_mishit = np.log(share) + np.logaddexp(kinds[0], kinds[1])
    state.solid = _share_of(log_solid, log_mishit)
    if not ball.has_spin.any():
        return
    spin_off = (ball.spin - at.spin[which]) - ratio[which] * (ball.carry - at.carry[which])
    spin_known = np.maximum(at.spin_var - 2.0 * ratio * at.cross + ratio**2 * at.carry_var, 0.0)[which]
    pull = np.minimum(spin_known * state.spin_good / own_var[which], 0.999)
    spin_off, spin_known = spin_off / (1.0 - pull), spin_known / (1.0 - pull)
    good = np.log1p(-_SPIN_FAULT_SHARE) + _log_normal(spin_off, spin_known + own_var[which])
    fault = np.log(_SPIN_FAULT_SHARE) + _log_normal(spin_off, spin_known + _SPIN_FAULT_SD**2)
    state.spin_good = np.where(ball.has_spin, _share_of(good, fault), 1.0)


def _judge_spreads(ball: _Balls, at: _Moments, swing_deg: Array, state: _State) -> None:
    """Re-estimate how far balls spread and how carry and spin of a ball go together."""
    which = ball.which
    carry_off = ball.carry - at.carry[which]
    carry_count = ball.total(state.solid)
    # what gusts did to a ball is not the player's spread: take out the share of it that they explain
    own = np.exp(2.0 * state.carry.log_sd(swing_deg))
    share = own / (own + ball.gust_var)
    carry_square = share**2 * ball.total(state.solid * (carry_off**2 + at.carry_var[which]))
    carry_square += share * ball.gust_var * carry_count
    state.carry = _spread(CARRY_SPREAD, state.carry, swing_deg, carry_count, carry_square)
    if not ball.has_spin.any():
        return
    weight = np.where(ball.has_spin, state.solid * state.spin_good, 0.0)
    spin_off = ball.spin - at.spin[which]
    spin_square = ball.total(weight * (spin_off**2 + at.spin_var[which]))
    state.spin = _spread(SPIN_SPREAD, state.spin, swing_deg, ball.total(weight), spin_square)
    scale = np.exp(state.carry.log_sd(swing_deg) + state.spin.log_sd(swing_deg))
    product = share * ball.total(weight * (carry_off * spin_off + at.cross[which])) / scale
    together = float(product.sum()) / (float(weight.sum()) + CORRELATION_COUNT)
    state.correlation = float(np.clip(together, -0.9, 0.9))


def _spread(
    belief: tuple[tuple[float, float], tuple[float, float]], now: Spread, swing_deg: Array, count: Array, square: Array
) -> Spread:
    """Most probable level and slope of the log spread, with the curvature there as their precision (Laplace)."""
    centre = np.array([belief[0][0], belief[1][0]])
    firmness = np.diag([belief[0][1] ** -2, belief[1][1] ** -2])
    x = np.stack([np.ones_like(swing_deg), _swing_unit(swing_deg)], axis=1)
    at = np.array([now.level, now.slope])
    information = firmness + 2.0 * (x.T * count) @ x
    for _ in range(8):
        scaled = square * np.exp(-2.0 * (x @ at))
        gradient = x.T @ (scaled - count) - firmness @ (at - centre)
        # the larger of expected and observed curvature: a step never overshoots on surprising balls
        curvature = firmness + 2.0 * (x.T * np.maximum(scaled, count)) @ x
        step = np.linalg.solve(curvature, gradient)
        at = at + step
        if np.max(np.abs(step)) < 1e-6:
            break
    return Spread(float(at[0]), float(at[1]), np.asarray(np.linalg.inv(information)))


def _session_sds(
    structure: Structure, mean: Array, covariance: Array, now: tuple[float, float], session_var: Array
) -> tuple[float, float]:
    sds = []
    parts = zip(("session_carry", "session_spin"), SESSION_SD, now, (session_var, 0.0 * session_var), strict=True)
    for name, belief, sd, added in parts:
        block = structure.blocks[name]
        share = sd**2 / (sd**2 + added)  # of a session's effect, beside a wind that was told wrongly
        square = float(np.sum(share**2 * (mean[block] ** 2 + np.diag(covariance)[block]) + share * added))
        sds.append(float(np.sqrt((SESSION_COUNT * belief**2 + square) / (SESSION_COUNT + structure.n_sessions))))
    return sds[0], sds[1]


def _ball_variances(ball: _Balls, state: _State, swing_deg: Array, widening: float) -> tuple[Array, Array, Array]:
    """Variance of a ball's log carry (gusts included), slope of its log spin on it, variance left to the spin."""
    carry_sd, spin_sd = np.exp(state.carry.log_sd(swing_deg)), np.exp(state.spin.log_sd(swing_deg))
    carry_var = carry_sd**2 + ball.gust_var
    shared = state.correlation * carry_sd * spin_sd
    return carry_var * widening**2, shared / carry_var, (spin_sd**2 - shared**2 / carry_var) * widening**2


def _log_normal(off: Array, variance: Array) -> Array:
    return -0.5 * (np.log(2.0 * np.pi * variance) + off**2 / variance)


def _share_of(log_this: Array, log_other: Array) -> Array:
    return np.asarray(1.0 / (1.0 + np.exp(np.clip(log_other - log_this, -700.0, 700.0))))
