"""What one could do with a log: each method turns it into quantiles of carry and spin of a solid ball of a new day."""

import importlib
import importlib.util
import warnings
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from scipy.stats import norm

from tests.bench.learning_players import LEVELS, Array, Case, Log, lofts_of
from wedgelab.model.observations import observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.model.population import Population
from wedgelab.simulate import InventedPlayer

Method = Callable[[Log, Case], tuple[Array, Array]]  # quantiles of carry and of spin, each (cells, levels)
ONE_BALL_SD: Final = 0.10  # a single ball has no standard deviation: the paper chart takes this share of its carry
READINGS: Final = {  # what the model is shown of each ball, beside its carry
    "wedgelab": ("spin_rpm", "ball_speed_mps", "launch_deg"),
    "wedgelab, carry and spin": ("spin_rpm",),
    "wedgelab, carry alone": (),
}


def paper_chart(log: Log, case: Case) -> tuple[Array, Array]:
    """Mean and standard deviation of each cell; every cell must hold as many balls."""
    result = []
    for values in (log.carry_m, log.spin_rpm):
        by_cell = values.reshape(-1, len(case.wedge)).T
        mean = by_cell.mean(axis=1)
        sd = by_cell.std(axis=1, ddof=1) if by_cell.shape[1] > 1 else ONE_BALL_SD * mean
        result.append(mean[:, None] + sd[:, None] * norm.ppf(LEVELS))
    return result[0], result[1]


def _unit(loft: Array, swing: Array) -> Array:
    return np.stack([(loft - 52.0) / 6.0, (swing - 100.0) / 60.0], axis=1)


def quadratic(log: Log, case: Case) -> tuple[Array, Array]:
    """Least squares of the logarithm on a quadratic in loft and swing, with its own residual spread."""

    def design(at: Array) -> Array:
        u, v = at.T
        return np.stack([np.ones_like(u), u, v, u * u, v * v, u * v], axis=1)

    x = design(_unit(lofts_of(case.player)[log.wedge], log.swing_deg))
    at = design(_unit(case.loft_deg, case.swing_deg))
    result = []
    for values in (log.carry_m, log.spin_rpm):
        y = np.log(values)
        beta, *_ = np.linalg.lstsq(x, y, rcond=None)
        left = max(len(y) - x.shape[1], 1)
        variance = float(np.sum((y - x @ beta) ** 2)) / left
        known = np.einsum("ij,jk,ik->i", at, np.linalg.pinv(x.T @ x), at)
        result.append(np.exp((at @ beta)[:, None] + np.sqrt(variance * (1.0 + known))[:, None] * norm.ppf(LEVELS)))
    return result[0], result[1]


def gaussian_process(log: Log, case: Case) -> tuple[Array, Array]:
    """A general Gaussian process on loft and swing, as scikit-learn ships it."""
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel

    x = _unit(lofts_of(case.player)[log.wedge], log.swing_deg)
    at = _unit(case.loft_deg, case.swing_deg)
    result = []
    for values in (log.carry_m, log.spin_rpm):
        kernel = ConstantKernel(1.0) * RBF([1.0, 1.0], (0.1, 30.0)) + WhiteKernel(0.1, (1e-4, 1.0))
        model = GaussianProcessRegressor(kernel, normalize_y=True, n_restarts_optimizer=1, random_state=1)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of an optimiser that stops at a bound
            model.fit(x, np.log(values))
        mean, sd = model.predict(at, return_std=True)
        result.append(np.exp(mean[:, None] + sd[:, None] * norm.ppf(LEVELS)))
    return result[0], result[1]


def fitted(
    log: Log,
    player: InventedPlayer,
    name: str = "wedgelab",
    *,
    fading: bool = True,
    others: Population | None = None,
) -> FittedPlayer:
    """Fit this project's model to the readings that the named method is shown."""
    shown = READINGS[name]
    return fit_observations(
        observations(
            carry_m=log.carry_m,
            loft_deg=lofts_of(player)[log.wedge],
            swing_deg=log.swing_deg,
            spin_rpm=log.spin_rpm if "spin_rpm" in shown else None,
            session=log.session.tolist(),
            measured={one: getattr(log, one) for one in shown if one != "spin_rpm"},
        ),
        fading=fading,
        others=others,
    )


def said(model: FittedPlayer, case: Case) -> tuple[Array, Array]:
    """Ask a fitted model for the whole distributions."""
    kinds, levels = case.kinds, list(LEVELS)
    return model.carry_quantiles(kinds, levels), model.spin_quantiles(kinds, levels)


def _wedgelab(name: str) -> Method:
    return lambda log, case: said(fitted(log, case.player, name), case)


METHODS: Final[dict[str, Method]] = {
    "paper chart": paper_chart,
    "Gaussian process": gaussian_process,
    "quadratic": quadratic,
    **{name: _wedgelab(name) for name in READINGS},
}


def nuts_is_there() -> bool:
    """Tell whether the sampled peer can be run: it needs PyMC, which the other methods do not."""
    return all(importlib.util.find_spec(name) is not None for name in ("pymc", "tests.bench.nuts"))


def sampled(log: Log, case: Case, seed: int) -> Any:
    """Ask the sampled peer; quantiles with the seconds that sampling took, and what the sampler complains about."""
    peer = importlib.import_module("tests.bench.nuts")  # PyMC takes seconds to load
    return peer.nuts(
        peer.Data(
            loft_deg=lofts_of(case.player)[log.wedge], swing_deg=log.swing_deg, club=log.wedge, session=log.session,
            carry_m=log.carry_m, spin_rpm=log.spin_rpm,
            asked_loft_deg=case.loft_deg, asked_swing_deg=case.swing_deg, asked_club=case.wedge, levels=LEVELS,
        ),
        seed,
    )  # fmt: skip
