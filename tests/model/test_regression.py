"""With many clean balls the prior has nothing left to say: plain regression must give the same medians and spread.

Bounds: 2,000 balls in 16 cells with a spread of 2 % leave the mean of a cell a standard error of 0.02 / sqrt(125) =
0.18 %, for OLS and for the model alike and from the same balls; 0.5 % is what the prior's pull and the shape that its
parameters can follow may add. The residual spread of 2,000 balls is known to 1.6 %; the model pools it over a line in
the swing and believes 5 % of balls to be mishits until shown otherwise: 10 %.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from sklearn.linear_model import LinearRegression

from wedgelab.model.observations import observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.model.prior import CARRY, prior_surfaces
from wedgelab.prediction import ShotKind

LOFTS_DEG = np.array([46.0, 50.0, 54.0, 58.0])
SWINGS_DEG = np.array([60.0, 90.0, 120.0, 150.0])
SPREAD = 0.02


@dataclass(frozen=True)
class Clean:
    log_carry: Any
    cell: Any
    loft_deg: Any
    swing_deg: Any
    smooth: Any  # log carry of the average player: "log swing" in the family of physical shapes
    fitted: FittedPlayer


@pytest.fixture(scope="module")
def clean() -> Clean:
    """log carry = a + b loft + c x smooth(loft, swing), the smooth part being the average player's log carry."""
    loft, swing = (x.ravel() for x in np.meshgrid(LOFTS_DEG, SWINGS_DEG, indexing="ij"))
    cell = np.repeat(np.arange(loft.size), 125)
    smooth = prior_surfaces(loft, swing).mean[:, CARRY][cell]
    rng = np.random.default_rng(81)
    log_carry = 0.10 - 0.003 * (loft[cell] - 52.0) + 1.05 * (smooth - 4.2) + 4.2 + rng.normal(0.0, SPREAD, cell.size)
    fitted = fit_observations(observations(carry_m=np.exp(log_carry), loft_deg=loft[cell], swing_deg=swing[cell]))
    return Clean(log_carry, cell, loft, swing, smooth, fitted)


def medians(clean: Clean) -> Any:
    kinds = [ShotKind("", float(a), float(b)) for a, b in zip(clean.loft_deg, clean.swing_deg, strict=True)]
    return np.array([p.carry_m for p in clean.fitted.predict(kinds)])


def test_medians_agree_with_a_free_mean_for_each_cell_statsmodels(clean: Clean) -> None:
    dummies = np.eye(16)[clean.cell]
    ols = sm.OLS(clean.log_carry, dummies).fit()
    np.testing.assert_allclose(medians(clean), np.exp(ols.params), rtol=0.005)
    spread = np.exp(clean.fitted.fit.carry_spread.log_sd(clean.swing_deg))
    np.testing.assert_allclose(spread, np.sqrt(ols.scale), rtol=0.10)


def test_medians_agree_with_the_right_regressors_scikit_learn(clean: Clean) -> None:
    x = np.stack([clean.loft_deg[clean.cell], clean.smooth], axis=1)
    line = LinearRegression().fit(x, clean.log_carry)
    first = np.searchsorted(clean.cell, np.arange(16))
    np.testing.assert_allclose(medians(clean), np.exp(line.predict(x[first])), rtol=0.005)
    residual = np.std(clean.log_carry - line.predict(x), ddof=3)
    spread = np.exp(clean.fitted.fit.carry_spread.log_sd(clean.swing_deg))
    np.testing.assert_allclose(spread, residual, rtol=0.10)


def test_clean_balls_are_all_called_solid(clean: Clean) -> None:
    assert clean.fitted.fit.converged
    assert clean.fitted.fit.mishit_share < 0.01
    assert clean.fitted.solid.mean() > 0.995
