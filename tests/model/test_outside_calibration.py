"""Simulation-based calibration of the Gaussian core (Talts, Betancourt, Simpson, Vehtari & Gelman 2018,
arXiv:1804.06788; method from memory): where truth is drawn from the prior and a log from truth, the truth's place in
its posterior is uniform. Replications differ in the log's size, cells, days and readings.

The posterior is normal, so the place is its distribution function at the truth instead of a rank among draws. Seeds
were written down before the first run; every one of the 28 checks has p > 0.001 as its bound, and a posterior that is
too sure by a sixth must fail by far.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from wedgelab.model import spread
from wedgelab.model.fit import SESSION_CORRELATION, SESSION_SD, fit
from wedgelab.model.observations import Club, observations
from wedgelab.model.prior import prior_surfaces
from wedgelab.model.structure import Cells, Structure

Array = NDArray[np.float64]
REPLICATIONS = 400
BINS = 20
CHANCE = 1e-3
SEEDS = {"carry": 20260711, "all": 20260712}
LOFTS_DEG = (46.0, 52.0, 58.0)
SWINGS_DEG = np.array([60.0, 90.0, 120.0, 150.0])
# asked cells: in the log and between, beyond its swings, and a loft of which no ball was hit
ASKED = ((46.0, 90.0), (52.0, 105.0), (58.0, 60.0), (58.0, 190.0), (52.0, 30.0), (55.0, 120.0))
SESSION_COVARIANCE = SESSION_CORRELATION * np.outer(SESSION_SD, SESSION_SD)


pytestmark = pytest.mark.long


def cells_at(structure: Structure, lofts_deg: Array, swings_deg: Array) -> Cells:
    n = len(lofts_deg)
    club = np.array([structure.find_club("", float(loft)) for loft in lofts_deg], dtype=np.intp)
    return Cells(
        club, lofts_deg, swings_deg, np.ones(n, dtype=np.intp), np.full(n, -1), np.zeros(n, dtype=np.intp)
    )  # fmt: skip


@dataclass(frozen=True)
class World:
    """What truth is drawn from: the prior of a bag that holds the asked clubs too."""

    structure: Structure
    mean: Array
    root: Array  # of the prior covariance

    @classmethod
    def of_the_prior(cls) -> "World":
        structure = Structure([Club("", loft) for loft in (*LOFTS_DEG, 55.0)])
        mean, precision = structure.prior()
        return cls(structure, mean, np.linalg.cholesky(np.linalg.inv(precision)))

    def hit(self, player: Array, lofts_deg: Array, swings_deg: Array, day: Any, rng: np.random.Generator) -> Array:
        """Return the readings (n, 4) of balls: the player's, the day's, the device's and the ball's own part."""
        rows = self.structure.rows(cells_at(self.structure, lofts_deg, swings_deg))
        device = self.structure.blocks["device"].start
        rows.of[:, 2, device] = rows.of[:, 3, device + 1] = 1.0
        form = rng.multivariate_normal(np.zeros(4), SESSION_COVARIANCE, day.max() + 1)
        log_sd, correlations = spread.physical(prior_surfaces(lofts_deg, swings_deg))
        log_sd += spread.LEVEL[0] + spread.SWING_SLOPE[0] * (swings_deg[:, None] - 90.0) / 60.0
        own = (np.linalg.cholesky(correlations) @ rng.standard_normal((len(day), 4, 1)))[:, :, 0]
        return np.asarray(rows.at(player) + form[day] + np.exp(log_sd) * own)


def replication(world: World, rng: np.random.Generator, *, alone: bool) -> tuple[Array, Array]:
    """Return by how much the truth misses its posterior mean in log carry and log spin of the asked cells, and the
    posterior covariance of that, of a random log."""
    n, n_days = int(rng.integers(3, 25)), int(rng.integers(1, 4))
    loft = np.append(LOFTS_DEG, rng.choice(LOFTS_DEG, n - 3))
    swing, day = rng.choice(SWINGS_DEG, n), rng.integers(0, n_days, n)
    player = world.mean + world.root @ rng.standard_normal(world.structure.size)
    values = world.hit(player, loft, swing, day, rng)
    values[:, 1:][rng.random((n, 3)) < (1.0 if alone else 0.3)] = np.nan
    log = observations(
        carry_m=np.exp(values[:, 0]), loft_deg=loft, swing_deg=swing, spin_rpm=np.exp(values[:, 1]),
        session=day.tolist(), measured={"ball_speed_mps": np.exp(values[:, 2]), "launch_deg": values[:, 3]},
    )  # fmt: skip
    learnt = fit(log, fading=False, learning=False)
    asked = np.array(ASKED).T
    truth = world.structure.rows(cells_at(world.structure, *asked)).at(player)[:, :2]
    rows = learnt.structure.rows(cells_at(learnt.structure, *asked))
    of = rows.of[:, :2].reshape(-1, learnt.structure.size)
    covariance = of @ learnt.covariance @ of.T
    for i, left in enumerate(rows.left):
        covariance[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] += left
    return (truth - rows.at(learnt.mean)[:, :2]).ravel(), covariance


@dataclass(frozen=True)
class Ensemble:
    off: Array  # (replications, asked x 2)
    covariance: Array


@pytest.fixture(scope="module", params=list(SEEDS))
def ensemble(request: pytest.FixtureRequest) -> Ensemble:
    world = World.of_the_prior()
    every = [
        replication(world, np.random.default_rng([SEEDS[request.param], i]), alone=request.param == "carry")
        for i in range(REPLICATIONS)
    ]
    return Ensemble(np.array([off for off, _ in every]), np.array([covariance for _, covariance in every]))


def p_uniform(places: Array) -> float:
    """Chi-square of the counts in equal bins against even ones."""
    counts, _ = np.histogram(places, BINS, (0.0, 1.0))
    return float(stats.chisquare(counts).pvalue)


def standing_alone(of: Ensemble, scale: float) -> Array:
    """Place of each truth in its own posterior; the standard deviation times ``scale``."""
    sd = scale * np.sqrt(np.diagonal(of.covariance, axis1=1, axis2=2))
    return np.asarray(stats.norm.cdf(of.off / sd))


def together(of: Ensemble, scale: float) -> Array:
    """Independent standard normals, if the posterior covariance is right: the truths one after the other, each given
    the ones before it (Rosenblatt 1952)."""
    return np.linalg.solve(scale * np.linalg.cholesky(of.covariance), of.off[:, :, None])[:, :, 0]


def p_distance(of: Ensemble, scale: float) -> float:
    """Kolmogorov-Smirnov of the squared Mahalanobis distances of the truths against chi-square."""
    distance = (together(of, scale) ** 2).sum(axis=1)
    return float(stats.kstest(distance, stats.chi2(of.off.shape[1]).cdf).pvalue)


def test_each_median_has_a_uniform_place_in_its_posterior(ensemble: Ensemble) -> None:
    places = standing_alone(ensemble, 1.0)
    assert places.shape == (REPLICATIONS, 2 * len(ASKED))
    values = [p_uniform(column) for column in places.T]
    assert min(values) > CHANCE, values


def test_all_medians_together_have_the_posterior_covariance(ensemble: Ensemble) -> None:
    z = together(ensemble, 1.0)
    assert p_uniform(stats.norm.cdf(z).ravel()) > CHANCE
    assert p_distance(ensemble, 1.0) > CHANCE


@pytest.mark.parametrize("scale", [0.8, 0.85])
def test_a_posterior_that_is_too_sure_is_found_out(ensemble: Ensemble, scale: float) -> None:
    z = together(ensemble, scale)
    assert p_uniform(stats.norm.cdf(z).ravel()) < 1e-6
    assert p_distance(ensemble, scale) < 1e-6


def test_a_posterior_without_its_correlations_is_found_out(ensemble: Ensemble) -> None:
    """Cells share what is not known; a covariance with the diagonal alone must fail the check of the distances."""
    alone = ensemble.covariance * np.eye(ensemble.off.shape[1])
    assert p_distance(Ensemble(ensemble.off, alone), 1.0) < CHANCE
