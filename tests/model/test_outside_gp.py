"""The Gaussian core against scikit-learn's Gaussian process regression (its `GaussianProcessRegressor`).

Without mishits, and with spreads, days and moves as believed, the fit is one linear solve; the same answer must come
from a Gaussian process with the same kernel, which never forms a parameter: Rasmussen & Williams 2006, section 2.1 (the
two views) and formulas 2.25 and 2.26. Here the kernel is a scalar product of features: a row times a root of the prior
covariance, the day's and the ball's effects beside it. The prior covariance is the inverse of the model's own
precision, so that the millionth of the variance which keeps smooth blocks invertible is in both; one test builds the
kernel from scikit-learn's RBF and Matern instead and allows for that.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, DotProduct, Matern

from wedgelab.model import moves
from wedgelab.model.fit import SESSION_CORRELATION, SESSION_SD, Fit, fit
from wedgelab.model.observations import AirCorrection, Observations, observations
from wedgelab.model.prior import CARRY, SPIN, prior_surfaces
from wedgelab.model.structure import (
    CLUB_KNOTS_DEG,
    CLUB_LENGTH_DEG,
    CLUB_LOFT_LENGTH_DEG,
    CLUB_SD,
    KNOTS_DEG,
    LOFT_BEND,
    SPEED_BEND,
    Cells,
    Structure,
)  # fmt: skip
from wedgelab.model.weather import N_DOUBTS

Array = NDArray[np.float64]
LOFTS_DEG = np.array([46.0, 52.0, 56.0, 60.0])
SWINGS_DEG = np.array([45.0, 90.0, 120.0, 165.0])
SESSION_COVARIANCE = SESSION_CORRELATION * np.outer(SESSION_SD, SESSION_SD)
EQUAL = 1e-9  # relative; asked of means, standard deviations, and covariances in units of those


@dataclass(frozen=True)
class Answer:
    mean: Array  # (asked cells x readings)
    covariance: Array


def a_log(seed: int, n: int, sessions: int, *, readings: int = 4, plain: bool = False, missing: float = 0.0) -> Any:
    """n balls in random cells, with readings far from what the model expects: it is the arithmetic that is compared."""
    rng = np.random.default_rng([94, seed])
    loft, swing = rng.choice(LOFTS_DEG, n), rng.choice(SWINGS_DEG, n)
    mean = prior_surfaces(loft, swing).mean
    values = mean[:, [0, 1, 2, 3]] + rng.normal(0.0, [0.2, 0.2, 0.1, 3.0], (n, 4))
    values[:, 1:][rng.random((n, 3)) < missing] = np.nan
    values[:, readings:] = np.nan
    session = np.append(np.arange(sessions), rng.integers(0, sessions, n - sessions))

    def words(known: list[str]) -> list[str]:
        return [str(word) for word in rng.choice(known, n)]

    kinds: dict[str, Any] = {} if plain else {
        "trajectory": words(["stock", "low", "high"]),
        "lie": words(["", "mat", "rough", "sand"]),
        "ball": words(["usual", "usual", "usual", "soft", "range"]),
    }  # fmt: skip
    return observations(
        carry_m=np.exp(values[:, 0]),
        loft_deg=loft,
        swing_deg=swing,
        spin_rpm=np.exp(values[:, 1]),
        session=session.tolist(),
        measured={"ball_speed_mps": np.exp(values[:, 2]), "launch_deg": values[:, 3]},
        **kinds,
    )


def cells_of(obs: Observations) -> Cells:
    return Cells(obs.club, obs.loft_deg, obs.swing_deg, obs.trajectory, obs.lie, obs.ball)


def asked_cells(learnt: Fit) -> Cells:
    """Every logged club with logged and other swings, a low ball and one from sand."""
    swing = np.tile([45.0, 75.0, 120.0, 190.0], len(learnt.structure.clubs))
    club = np.repeat(np.arange(len(learnt.structure.clubs)), 4)
    trajectory, lie = np.full(len(club), 1), np.full(len(club), -1)
    trajectory[1], lie[2] = 0, 3
    return Cells(club, learnt.structure.lofts_deg[club], swing, trajectory, lie, np.zeros(len(club), dtype=np.intp))


def of_the_model(learnt: Fit, cells: Cells, readings: list[int]) -> Answer:
    rows = learnt.structure.rows(cells)
    of = rows.of[:, readings].reshape(-1, learnt.structure.size)
    return Answer(rows.at(learnt.mean)[:, readings].ravel(), of @ learnt.covariance @ of.T)


def effects(which: NDArray[np.intp], covariances: Array) -> Array:
    """Features (n, 4, 4 groups) of what all balls of a group share, with the groups' covariances (groups, 4, 4)."""
    n_groups = len(covariances)
    result = np.zeros((len(which), 4, n_groups, 4))
    result[np.arange(len(which)), :, which] = np.linalg.cholesky(covariances)[which]
    return np.asarray(result.reshape(len(which), 4, -1))


def ball_covariances(obs: Observations, learnt: Fit) -> Array:
    """Covariance (n, 4, 4) of the readings of a single ball about its day: the fit's own law, and gusts."""
    sd = np.stack([np.exp(law.log_sd(obs.swing_deg, obs.loft_deg, obs.club)) for law in learnt.spreads], axis=1)
    correlations = learnt.correlations(prior_surfaces(obs.loft_deg, obs.swing_deg))
    result = correlations * sd[:, :, None] * sd[:, None, :]
    result[:, 0, 0] += obs.air.gust_var
    return np.asarray(result)


def moved(obs: Observations) -> Array:
    """Features (n, 4, 3 moves): a place between sessions moves carry, spin and club speed of all that was before it."""
    places = moves.Moves.believed(obs.n_sessions)
    sd = np.sqrt(places.count)[:, None] * moves.SMALL_SD  # all are small until balls say otherwise
    ways = np.column_stack([np.eye(4)[0], np.eye(4)[1], moves.OF_SPEED])  # club speed is in every reading
    older = obs.session[:, None] < places.at[None, :]
    return np.asarray(-np.einsum("nm,rw,mw->nrmw", older, ways, sd).reshape(len(obs), 4, -1))


def of_the_process(obs: Observations, learnt: Fit, cells: Cells, readings: list[int], *, fading: bool) -> Answer:
    structure = learnt.structure
    prior_mean, precision = structure.prior()
    root = np.linalg.cholesky(np.linalg.inv(precision))
    rows, asked = structure.rows(cells_of(obs)), structure.rows(cells)
    device = structure.blocks["device"].start
    rows.of[:, 2, device] = rows.of[:, 3, device + 1] = 1.0
    rows.of[:, 0, structure.blocks["air"]] = -obs.air.doubts
    session = np.tile(SESSION_COVARIANCE, (obs.n_sessions, 1, 1))
    session[:, 0, 0] += obs.air.session_var
    parts = [rows.of @ root, effects(obs.session, session), effects(np.arange(len(obs)), ball_covariances(obs, learnt))]
    if fading:
        parts.append(moved(obs))
    values = np.column_stack([obs.log_carry, obs.log_spin, np.log(obs.measured[:, 0]), obs.measured[:, 1]])
    told = np.isfinite(values)
    seen = np.concatenate(parts, axis=2)[told]
    there = (asked.of[:, readings] @ root).reshape(-1, structure.size)
    there = np.pad(there, ((0, 0), (0, seen.shape[1] - structure.size)))  # medians: no day, no ball, no move
    process = GaussianProcessRegressor(DotProduct(0.0, "fixed"), alpha=0.0, optimizer=None)
    process.fit(seen, (values - rows.at(prior_mean))[told])
    mean, covariance = process.predict(there, return_cov=True)
    return Answer(mean + asked.at(prior_mean)[:, readings].ravel(), covariance)


def assert_equal(ours: Answer, theirs: Answer) -> None:
    sd = np.sqrt(np.diag(theirs.covariance))
    np.testing.assert_allclose(ours.mean, theirs.mean, rtol=EQUAL)
    np.testing.assert_allclose(np.sqrt(np.diag(ours.covariance)), sd, rtol=EQUAL)
    np.testing.assert_allclose(ours.covariance / np.outer(sd, sd), theirs.covariance / np.outer(sd, sd), atol=EQUAL)


def test_carry_alone_is_the_process_with_the_balls_spread_as_its_noise() -> None:
    """Noise on the diagonal is scikit-learn's ``alpha``; means, and covariances of all cells."""
    obs = a_log(1, 24, 1, readings=1, plain=True)
    learnt = fit(obs, fading=False, learning=False)
    cells = asked_cells(learnt)
    structure = learnt.structure
    _, precision = structure.prior()
    root = np.linalg.cholesky(np.linalg.inv(precision))
    rows, asked = structure.rows(cells_of(obs)), structure.rows(cells)
    prior_mean = structure.prior()[0]
    day = np.full((len(obs), 1), SESSION_SD[0])
    process = GaussianProcessRegressor(
        DotProduct(0.0, "fixed"), alpha=ball_covariances(obs, learnt)[:, 0, 0], optimizer=None
    ).fit(np.hstack([rows.of[:, 0] @ root, day]), obs.log_carry - rows.mean[:, 0])
    mean, covariance = process.predict(np.pad(asked.of[:, 0] @ root, ((0, 0), (0, 1))), return_cov=True)
    assert_equal(of_the_model(learnt, cells, [0]), Answer(mean + asked.at(prior_mean)[:, 0], covariance))


@pytest.mark.parametrize(
    ("seed", "n", "sessions", "readings", "missing"),
    [(2, 1, 1, 4, 0.0), (3, 30, 1, 2, 0.0), (4, 40, 5, 2, 0.3), (5, 60, 4, 4, 0.0), (6, 60, 6, 4, 0.4)],
)
def test_all_readings_together_are_the_process_of_several_outputs(
    seed: int, n: int, sessions: int, readings: int, missing: float
) -> None:
    """Clubs, days, low and high balls, lies and golf balls; a ball's readings correlate; some are missing."""
    obs = a_log(seed, n, sessions, readings=readings, missing=missing)
    learnt = fit(obs, fading=False, learning=False)
    cells = asked_cells(learnt)
    every = [0, 1, 2, 3]
    assert_equal(of_the_model(learnt, cells, every), of_the_process(obs, learnt, cells, every, fading=False))


def test_doubts_of_the_air_and_gusts_are_features_like_any_other() -> None:
    """Two sessions of four were hit in another air: causes shared by all balls, gusts by ball, a wind by session."""
    obs = a_log(7, 40, 4)
    rng = np.random.default_rng(95)
    away = obs.session > 1
    # balls of one cell and day have one correction
    doubts = rng.normal(0.0, 0.02, (4, 1, N_DOUBTS)) * (1.0 + obs.swing_deg[None, :, None] / 100.0)
    air = AirCorrection(
        np.zeros(len(obs)), np.where(away[:, None], doubts[obs.session, np.arange(len(obs))], 0.0),
        np.where(away, 0.02**2, 0.0), np.array([0.0, 0.0, 0.015**2, 0.03**2]),
    )  # fmt: skip
    obs = replace(obs, air=air)
    learnt = fit(obs, fading=False, learning=False)
    cells = asked_cells(learnt)
    ours, theirs = of_the_model(learnt, cells, [0, 1]), of_the_process(obs, learnt, cells, [0, 1], fading=False)
    assert_equal(ours, theirs)
    calm = of_the_model(fit(replace(obs, air=AirCorrection.none(40, 4)), fading=False, learning=False), cells, [0, 1])
    assert (np.diag(ours.covariance) > np.diag(calm.covariance)).all()


def test_old_days_fade_as_a_process_whose_values_have_moved_since() -> None:
    obs = a_log(8, 50, 12, missing=0.2)
    learnt = fit(obs, learning=False)
    cells = asked_cells(learnt)
    ours = of_the_model(learnt, cells, [0, 1, 2, 3])
    assert_equal(ours, of_the_process(obs, learnt, cells, [0, 1, 2, 3], fading=True))
    still = of_the_model(fit(obs, fading=False, learning=False), cells, [0, 1, 2, 3])
    assert (np.diag(ours.covariance) > np.diag(still.covariance) * (1.0 + 1e-4)).mean() > 0.5


def stated_covariance(loft: Array, swing: Array) -> Array:
    """Prior covariance (2 n, 2 n) of log carry and log spin, as the method is described, of scikit-learn's kernels."""
    surfaces = prior_surfaces(loft, swing)

    def pair(values: Array) -> Array:
        return np.asarray(values[:, [CARRY, SPIN]].reshape(-1, 1))

    def along(knots: Array, length: float, floor: float = 0.0) -> Array:
        hats = np.array([np.interp(swing, knots, one) for one in np.eye(len(knots))]).T
        knot_kernel = floor + RBF(length)(knots[:, None])
        return np.repeat(np.repeat(hats @ knot_kernel @ hats.T, 2, axis=0), 2, axis=1)

    def own(reading: int) -> Array:
        return np.tile(np.eye(2)[reading], len(loft))[:, None]

    components = surfaces.components[:, :, [CARRY, SPIN]].transpose(0, 2, 1).reshape(2 * len(loft), -1)
    result = components @ components.T
    speed, per_loft = pair(surfaces.per_log_speed), pair(surfaces.per_loft_deg)
    for (
        slope,
        (sd, length),
    ) in ((speed, SPEED_BEND), (per_loft, LOFT_BEND)):
        result += sd**2 * (slope @ slope.T) * along(KNOTS_DEG, length)
    clubs = Matern(CLUB_LOFT_LENGTH_DEG, nu=0.5)(np.repeat(loft, 2)[:, None])  # nu = 1/2: exp(-difference / length)
    for part, slope in {"speed": speed, "loft": per_loft, "carry": own(0), "spin": own(1)}.items():
        whole, bend = CLUB_SD[part]
        result += clubs * (slope @ slope.T) * bend**2 * along(CLUB_KNOTS_DEG, CLUB_LENGTH_DEG, (whole / bend) ** 2)
    return np.asarray(result)


def test_the_kernel_is_the_one_described_and_fills_in_a_club_never_logged() -> None:
    """The asked lofts include 49 and 63 deg, of which no ball was hit: kriging is conditioning (R & W section 2.2).

    Swings asked there are knots of the clubs' own curve, where what is left open is stated exactly. Bounds: the jitter
    of a millionth of a block's variance may change a variance by 1e-5 of it, and a median by a ten-thousandth of a %.
    """
    obs = a_log(9, 40, 1, readings=2, plain=True)
    learnt = fit(obs, fading=False, learning=False)
    structure: Structure = learnt.structure
    loft, swing = (x.ravel() for x in np.meshgrid([46.0, 49.0, 56.0, 63.0], [75.0, 120.0, 175.0]))
    club = np.array([structure.find_club("", float(x)) for x in loft])
    assert (club < 0).sum() == 6
    stock, lie, ball = np.full(12, 1), np.full(12, -1), np.zeros(12, dtype=np.intp)
    rows = structure.rows(Cells(club, loft, swing, stock, lie, ball))
    n = len(obs)
    covariance = stated_covariance(np.append(obs.loft_deg, loft), np.append(obs.swing_deg, swing))
    noise = np.zeros((2 * n, 2 * n))
    for i, one in enumerate(ball_covariances(obs, learnt)):
        noise[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] = one[:2, :2]
    noise += np.kron(np.ones((n, n)), SESSION_COVARIANCE[:2, :2])
    covariance[: 2 * n, : 2 * n] += noise
    features = np.linalg.cholesky(covariance + 1e-12 * np.eye(len(covariance)))
    prior = prior_surfaces(obs.loft_deg, obs.swing_deg).mean[:, [CARRY, SPIN]]
    process = GaussianProcessRegressor(DotProduct(0.0, "fixed"), alpha=0.0, optimizer=None)
    process.fit(features[: 2 * n], (np.column_stack([obs.log_carry, obs.log_spin]) - prior).ravel())
    mean, sd = process.predict(features[2 * n :], return_std=True)
    np.testing.assert_allclose(rows.at(learnt.mean)[:, :2].ravel(), mean + rows.mean[:, :2].ravel(), atol=1e-6)
    pair = rows.of[:, :2]
    joint = pair @ learnt.covariance @ pair.transpose(0, 2, 1) + rows.left
    np.testing.assert_allclose(np.diagonal(joint, axis1=1, axis2=2).ravel(), sd**2, rtol=1e-5)
