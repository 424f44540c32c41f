"""Draws of single future balls are joint in carry and spin: a wish for both is answered by the right chance.

What the draws must be is worked out here from the fit's parts by another way: covariances in closed form, chances by
scipy's bivariate normal, mixed over what the spreads may be.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import NDArray
from scipy import stats

from wedgelab.model.observations import observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.model.prior import prior_surfaces
from wedgelab.prediction import ShotKind

Array = NDArray[np.float64]
N = 100_000
CHANCE = 1e-3  # of a true check to fail; seeds are fixed
SEED = 97
# logged cells, a swing between, and a loft of which no ball was hit
KINDS = [ShotKind("", 54.0, 60.0), ShotKind("", 58.0, 90.0), ShotKind("", 54.0, 75.0), ShotKind("", 61.0, 90.0)]
POINTS, WEIGHTS = hermegauss(7)
WEIGHTS = WEIGHTS / WEIGHTS.sum()


@dataclass(frozen=True)
class Parts:
    """Of one kind of shot: the log medians, the covariance of what all balls of a day share, and the ball's own."""

    centre: Array  # (2,)
    shared: Array  # (2, 2)
    log_sd: Array  # (2,)
    log_sd_sd: Array  # (2,)
    rho: float

    @property
    def covariance(self) -> Array:
        """Covariance (2, 2) of log carry and log spin of a ball, with the moments of a lognormal in closed form."""
        mean = np.exp(self.log_sd + 0.5 * self.log_sd_sd**2)
        own = self.rho * np.outer(mean, mean)
        np.fill_diagonal(own, np.exp(2.0 * self.log_sd + 2.0 * self.log_sd_sd**2))
        return np.asarray(self.shared + own)

    @property
    def correlation(self) -> float:
        (carry, cross), (_, spin) = self.covariance
        return float(cross / np.sqrt(carry * spin))

    def chance(self, low: float, high: float, limit: float) -> float:
        """Chance of a log carry between two values with a log spin over a limit."""
        total = 0.0
        for one, one_weight in zip(POINTS, WEIGHTS, strict=True):
            for other, other_weight in zip(POINTS, WEIGHTS, strict=True):
                sd = np.exp(self.log_sd + self.log_sd_sd * np.array([one, other]))
                own = np.array([[1.0, self.rho], [self.rho, 1.0]]) * np.outer(sd, sd)
                normal = stats.multivariate_normal(self.centre, self.shared + own)
                inside = [float(normal.cdf(np.array([edge, limit]))) for edge in (low, high)]
                below = [float(stats.norm.cdf(edge, self.centre[0], np.sqrt(normal.cov[0, 0]))) for edge in (low, high)]
                total += float(one_weight * other_weight) * ((below[1] - below[0]) - (inside[1] - inside[0]))
        return total


def a_player(rho: float) -> FittedPlayer:
    """25 balls at each of four cells on three days, scattering by 5 and 7 % with the correlation rho."""
    rng = np.random.default_rng([SEED, 1])
    cell = np.repeat(np.arange(4), 25)
    day = rng.integers(0, 3, 100)
    one, two = rng.standard_normal((2, 100))
    form = rng.normal(0.0, 0.02, 3)[day]
    carry = np.array([40.0, 62.0, 35.0, 54.0])[cell] * np.exp(0.05 * one + form)
    spin = np.array([6800.0, 8000.0, 7000.0, 8300.0])[cell] * np.exp(0.07 * (rho * one + np.sqrt(1 - rho**2) * two))
    return fit_observations(
        observations(
            carry_m=carry,
            spin_rpm=spin,
            loft_deg=np.array([54.0, 54.0, 58.0, 58.0])[cell],
            swing_deg=np.array([60.0, 90.0, 60.0, 90.0])[cell],
            session=day.tolist(),
        )
    )


def parts_of(player: FittedPlayer, kind: ShotKind) -> Parts:
    learnt, cells = player.fit, player.cells([kind])
    rows = learnt.structure.rows(cells)
    pair = rows.of[0, :2]
    shared = pair @ learnt.covariance @ pair.T + rows.left[0] + learnt.session_covariance[:2, :2]
    at = cells.swing_deg, cells.loft_deg, cells.club
    laws = learnt.carry_spread, learnt.spin_spread
    predicted = player.predict([kind])[0]
    return Parts(
        np.log([predicted.carry_m, predicted.spin_rpm]),
        shared,
        np.array([float(law.log_sd(*at)[0]) for law in laws]),
        np.sqrt([float(law.log_sd_variance(*at)[0]) for law in laws]),
        float(learnt.correlations(prior_surfaces(cells.loft_deg, cells.swing_deg))[0, 0, 1]),
    )


@dataclass(frozen=True)
class Drawn:
    player: FittedPlayer
    carry_m: Array  # (kinds, N)
    spin_rpm: Array
    parts: list[Parts]
    sign: float


@pytest.fixture(scope="module", params=[-0.8, 0.8])
def drawn(request: pytest.FixtureRequest) -> Drawn:
    rho = float(request.param)
    player = a_player(rho)
    carry, spin = player.sample(KINDS, N, np.random.default_rng([SEED, 2]))
    return Drawn(player, carry, spin, [parts_of(player, kind) for kind in KINDS], float(np.sign(rho)))


def test_the_correlation_is_that_of_medians_days_and_balls_together(drawn: Drawn) -> None:
    """Covariances add: of what is not known, of days, and of a ball. Fisher's z has a standard error of N^-1/2."""
    for carry, spin, parts in zip(drawn.carry_m, drawn.spin_rpm, drawn.parts, strict=True):
        seen = float(np.corrcoef(np.log(carry), np.log(spin))[0, 1])
        # a mixture's tails are heavier than the normal's that Fisher had: twice as much
        assert abs(np.arctanh(seen) - np.arctanh(parts.correlation)) < 2.0 * stats.norm.isf(CHANCE / 2) / np.sqrt(N)
    logged = drawn.parts[:2]
    assert all(drawn.sign * parts.correlation > 0.3 for parts in logged)


def test_each_margin_is_the_distribution_of_its_quantiles(drawn: Drawn) -> None:
    """Kolmogorov-Smirnov, with a bound of 1.95 / sqrt(N) = 0.006; the quantiles are read off in steps of 0.0005."""
    probabilities = np.linspace(0.0, 1.0, 2001)[1:-1]
    for draws, quantiles in (
        (drawn.carry_m, drawn.player.carry_quantiles),
        (drawn.spin_rpm, drawn.player.spin_quantiles),
    ):
        for one, limits in zip(draws, quantiles(KINDS, probabilities.tolist()), strict=True):
            inside = one[(one > limits[0]) & (one < limits[-1])]
            places = (np.interp(inside, limits, probabilities) - probabilities[0]) / (
                probabilities[-1] - probabilities[0]
            )
            assert stats.kstest(places, "uniform").pvalue > CHANCE
            outside = N - len(inside)
            assert stats.binomtest(outside, N, 2.0 * float(probabilities[0])).pvalue > CHANCE


def test_a_window_with_a_wish_for_spin_has_its_own_chance_not_the_product(drawn: Drawn) -> None:
    """A window beyond the median and a spin over its upper third: more likely together when they go together."""
    for i, (kind, parts) in enumerate(zip(KINDS, drawn.parts, strict=True)):
        low, high = drawn.player.carry_quantiles([kind], [0.6, 0.95])[0]
        limit = float(drawn.player.spin_quantiles([kind], [0.7])[0, 0])
        window, over = (drawn.carry_m[i] > low) & (drawn.carry_m[i] < high), drawn.spin_rpm[i] > limit
        both = int((window & over).sum())
        expected = parts.chance(np.log(low), np.log(high), np.log(limit))
        assert stats.binomtest(both, N, expected).pvalue > CHANCE
        product = 0.35 * 0.3
        assert np.sign(expected - product) == np.sign(parts.correlation)
        assert stats.binomtest(both, N, product).pvalue < 1e-6
        assert np.sign(both / N - product) == np.sign(parts.correlation)


def test_draws_of_carry_and_of_spin_alone_would_be_found_out(drawn: Drawn) -> None:
    """The control: the same margins put together at random have neither the correlation nor the chance."""
    spin = np.random.default_rng([SEED, 3]).permuted(drawn.spin_rpm, axis=1)
    for carry, mixed, parts in zip(drawn.carry_m[:2], spin[:2], drawn.parts[:2], strict=True):
        seen = float(np.corrcoef(np.log(carry), np.log(mixed))[0, 1])
        assert abs(np.arctanh(seen) - np.arctanh(parts.correlation)) > 40.0 / np.sqrt(N)
