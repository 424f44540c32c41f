"""The mixture of normals against scipy, numerical integration and Monte Carlo; scores against scoringrules."""

from typing import Any

import numpy as np
import pytest
import scoringrules
from scipy import integrate, stats

from wedgelab.model import mixture
from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations
from wedgelab.prediction import ShotKind

PROBABILITIES = [0.001, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.999]


def known() -> tuple[Any, Any]:
    mean, log_sd = np.array([0.0, 4.1, -2.0]), np.log([0.05, 1.0, 0.2])
    return mean, mixture.mixed_sds(np.array([0.0, 0.3, 0.01]), log_sd, np.zeros(3))


def test_a_known_spread_gives_the_normal_of_scipy() -> None:
    mean, sds = known()
    sd = np.sqrt([0.0025, 1.3, 0.05])
    x = mean[:, None] + sd[:, None] * np.linspace(-6.0, 6.0, 25)
    np.testing.assert_allclose(mixture.cdf(x, mean, sds), stats.norm.cdf(x, mean[:, None], sd[:, None]), atol=1e-10)
    expected = stats.norm.ppf(PROBABILITIES, mean[:, None], sd[:, None])
    np.testing.assert_allclose(mixture.quantiles(PROBABILITIES, mean, sds), expected, rtol=1e-10, atol=1e-10)


@pytest.mark.parametrize("log_sd_sd", [0.1, 0.3, 0.45])
def test_an_uncertain_spread_gives_the_integral_over_it(log_sd_sd: float) -> None:
    """Seven points of Gauss-Hermite against adaptive quadrature (scipy.integrate.quad)."""
    variance, log_sd = 0.0004, float(np.log(0.05))
    sds = mixture.mixed_sds(np.array([variance]), np.array([log_sd]), np.array([log_sd_sd**2]))
    for x in (-0.2, -0.1, -0.03, 0.0, 0.05, 0.15):

        def part(u: float, x: float = x) -> float:
            sd = np.sqrt(variance + np.exp(2.0 * (log_sd + log_sd_sd * u)))
            return float(stats.norm.cdf(x / sd) * stats.norm.pdf(u))

        exact = integrate.quad(part, -9.0, 9.0, epsabs=1e-11)[0]
        assert float(mixture.cdf(np.array([[x]]), np.zeros(1), sds)[0, 0]) == pytest.approx(exact, abs=2e-5)


def test_draws_of_the_spread_fill_the_same_distribution() -> None:
    rng, n = np.random.default_rng(71), 40000
    sds = mixture.mixed_sds(np.array([0.0]), np.array([0.0]), np.array([0.16]))
    draws = np.exp(0.4 * mixture.draw_point(rng, (n,))) * rng.standard_normal(n)
    limits = mixture.quantiles(PROBABILITIES, np.zeros(1), sds)[0]
    below = (draws[:, None] < limits).mean(axis=0)
    np.testing.assert_allclose(below, PROBABILITIES, atol=4.0 * 0.5 / np.sqrt(n))


def test_quantiles_undo_the_distribution_function() -> None:
    mean = np.array([3.0, -1.0])
    sds = mixture.mixed_sds(np.array([0.01, 1.0]), np.log([0.05, 2.0]), np.array([0.2, 0.01]))
    values = mixture.quantiles(PROBABILITIES, mean, sds)
    np.testing.assert_allclose(mixture.cdf(values, mean, sds), np.tile(PROBABILITIES, (2, 1)), atol=1e-9)
    assert (np.diff(values, axis=1) > 0).all()


def test_crps_of_scoringrules_is_the_one_of_the_reference_table() -> None:
    """Gneiting & Raftery 2007, JASA 102, 359: the scores below speak the same language as the reference values."""
    assert float(scoringrules.crps_normal(70.0, 64.0, 3.2)) == pytest.approx(4.2700691568, abs=1e-9)
    assert float(scoringrules.crps_normal(46.3, 45.0, 2.0)) == pytest.approx(0.7931103835, abs=1e-9)


def test_forecasts_score_no_worse_than_the_normal_of_the_mean_and_sd_of_each_cell() -> None:
    model, plain = [], []
    truth = {(50.0, 90.0): 68.0, (54.0, 90.0): 61.0, (58.0, 90.0): 54.0, (54.0, 120.0): 79.0}
    for seed in range(10):
        rng = np.random.default_rng([72, seed])
        rows = [(cell, carry) for cell, median in truth.items() for carry in median * np.exp(rng.normal(0, 0.05, 5))]
        fitted = fit_observations(
            observations(
                carry_m=np.array([r[1] for r in rows]),
                loft_deg=np.array([r[0][0] for r in rows]),
                swing_deg=np.array([r[0][1] for r in rows]),
            )
        )
        draws = fitted.sample([ShotKind("", *cell) for cell in truth], 400, rng)[0]
        for i, (cell, median) in enumerate(truth.items()):
            seen = np.array([carry for at, carry in rows if at == cell])
            for ball in median * np.exp(rng.normal(0.0, 0.05, 10)):
                model.append(float(scoringrules.crps_ensemble(ball, draws[i])))
                plain.append(float(scoringrules.crps_normal(ball, seen.mean(), seen.std(ddof=1))))
    assert len(model) == 400
    assert np.mean(model) <= np.mean(plain)
