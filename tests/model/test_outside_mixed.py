"""Days as random effects: the linear solve against statsmodels' `MixedLM`, and against the textbook.

The solver takes variance components as given; MixedLM estimates them. So MixedLM is fitted first and its components are
handed to the solver, whose prior on the cell means is then almost flat: the posterior means are the generalised least
squares estimates, their standard deviations the standard errors with the components known, and the days' effects the
best linear unbiased predictors (Henderson 1975, Biometrics 31, 423; Robinson 1991, Statistical Science 6, 15; formulas
from memory). The solver has one noise variance for all here, as MixedLM has.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import optimize, stats
from statsmodels.regression.mixed_linear_model import MixedLM

from wedgelab.model import fit as fitting
from wedgelab.model import judge, spread
from wedgelab.model.linear import Design, Posterior, solve
from wedgelab.model.observations import Observations, observations

Array = NDArray[np.float64]
EQUAL = 1e-8  # relative
FLAT = 1e-10  # prior precision of a cell mean whose data are of the size of one
# A one-way experiment laid out as in ISO 5725-2 (basic method for repeatability and reproducibility): 4 sessions of 3
# carries [m]. The expected values were computed by its formulas; MixedLM agrees with them below.
SESSIONS_M = np.array([[62.1, 63.0, 61.4], [64.2, 65.1, 64.9], [61.0, 62.2, 61.6], [63.3, 62.8, 64.0]])
ISO_S_R, ISO_S_L, ISO_S_BIG_R = 0.630476, 1.340571, 1.481428

# one-way logs: seed, days, balls of a day, standard deviation between and within days
ONE_CELL = [(6, 60, 8, 0.03, 0.05), (7, 30, 6, 0.03, 0.05), (8, 100, 10, 0.02, 0.05), (9, 60, 8, 0.03, 0.05)]


@dataclass(frozen=True)
class Balls:
    """n balls: their day and cell, and k readings each."""

    day: Any
    cell: Any
    values: Array  # (n, k)


def solved(balls: Balls, between: Array, within: Array) -> Posterior:
    """Ask the solver, the components (k, k) held: cells as free means, a group for every cell of a day."""
    n_days, n_cells, k = balls.day.max() + 1, balls.cell.max() + 1, balls.values.shape[1]
    codes, which = np.unique(balls.day * n_cells + balls.cell, return_inverse=True)
    day, cell = np.divmod(codes, n_cells)
    rows = np.eye(n_cells * k).reshape(n_cells, k, n_cells * k)
    first = np.searchsorted(day, np.arange(n_days))
    design = Design(rows, np.zeros((n_days, k, 0)), np.zeros((len(codes), 0)), cell, day, first)
    weight = np.bincount(which)[:, None, None] * np.linalg.inv(within)
    sums = np.stack([np.bincount(which, column) for column in balls.values.T], axis=1)
    prior = np.zeros(n_cells * k), FLAT * np.eye(n_cells * k)
    return solve(prior, design, weight, sums @ np.linalg.inv(within), np.tile(np.linalg.inv(between), (n_days, 1, 1)))


def invented(seed: int, n: int, n_days: int, n_cells: int, between: Array, within: Array) -> Balls:
    """An unbalanced log: balls fall on days and cells by chance, every one at least once."""
    rng = np.random.default_rng([96, seed])
    day = np.append(np.arange(n_days), rng.integers(0, n_days, n - n_days))
    cell = np.append(rng.integers(0, n_cells, n - n_cells), np.arange(n_cells))
    mean = rng.normal(0.0, 0.5, (n_cells, len(between)))
    form = rng.multivariate_normal(np.zeros(len(between)), between, n_days)
    ball = rng.multivariate_normal(np.zeros(len(within)), within, n)
    return Balls(day, cell, mean[cell] + form[day] + ball)


def one_way(table: Array) -> Balls:
    n_days, n = table.shape
    return Balls(np.repeat(np.arange(n_days), n), np.zeros(n_days * n, dtype=np.intp), table.reshape(-1, 1))


def mixed(balls: Balls, *, reml: bool, method: str = "bfgs") -> Any:
    """Fit free cell means and a random effect a day and reading; readings of a ball stand below each other."""
    n, k = balls.values.shape
    cells = np.eye(balls.cell.max() + 1)[balls.cell]
    reading = np.tile(np.eye(k), (n, 1))
    fixed = np.kron(cells, np.eye(k))
    model = MixedLM(balls.values.ravel(), fixed, np.repeat(balls.day, k), exog_re=reading)
    return model.fit(reml=reml, method=[method])


def standard_errors(theirs: Any) -> Array:
    """Of the cell means with the components known: MixedLM's own add up to 0.1 % for having estimated those.

    They are in the block of the fixed effects of its Hessian; the rest of the inverse is what estimating adds.
    """
    n = len(theirs.fe_params)
    hessian, _ = theirs.model.hessian(theirs.params_object)
    return np.asarray(np.sqrt(np.diag(np.linalg.inv(-hessian[:n, :n]))))


def assert_agree(ours: Posterior, theirs: Any) -> None:
    effects = np.array([np.asarray(theirs.random_effects[day]) for day in range(len(ours.day_mean))])
    errors = np.sqrt(np.diag(ours.covariance))
    np.testing.assert_allclose(ours.mean, theirs.fe_params, rtol=EQUAL)
    np.testing.assert_allclose(errors, standard_errors(theirs), rtol=EQUAL)
    np.testing.assert_allclose(errors, theirs.bse_fe, rtol=2e-3)
    np.testing.assert_allclose(ours.day_mean, effects, atol=EQUAL * float(effects.std()))


@pytest.mark.parametrize("reml", [True, False])
@pytest.mark.parametrize(("seed", "n", "n_days", "n_cells"), [(1, 120, 12, 4), (2, 300, 25, 9), (3, 60, 8, 2)])
def test_days_and_cells_agree_with_statsmodels(seed: int, n: int, n_days: int, n_cells: int, reml: bool) -> None:
    balls = invented(seed, n, n_days, n_cells, np.array([[0.04]]), np.array([[0.09]]))
    theirs = mixed(balls, reml=reml)
    ours = solved(balls, np.asarray(theirs.cov_re), np.array([[theirs.scale]]))
    assert_agree(ours, theirs)


def test_two_readings_whose_days_go_together_agree_with_statsmodels() -> None:
    """Carry and spin of a day correlate, by the components that MixedLM found; a ball's readings do not here."""
    between = np.array([[0.05, 0.03], [0.03, 0.04]])
    balls = invented(4, 400, 30, 3, between, 0.06 * np.eye(2))
    theirs = mixed(balls, reml=True)
    ours = solved(balls, np.asarray(theirs.cov_re), theirs.scale * np.eye(2))
    assert abs(theirs.cov_re[0, 1]) > 0.01
    assert_agree(ours, theirs)


def test_errors_of_days_and_groups_are_those_of_hendersons_equations() -> None:
    """The mixed model equations whole, with numpy alone: what is predicted of days, and how surely, all at once."""
    between, within = np.array([[0.05, 0.03], [0.03, 0.04]]), np.array([[0.06, -0.02], [-0.02, 0.09]])
    balls = invented(5, 90, 7, 4, between, within)
    ours = solved(balls, between, within)
    n_cells, n_days = 4, 7
    x = np.kron(np.hstack([np.eye(n_cells)[balls.cell], np.eye(n_days)[balls.day]]), np.eye(2))
    penalty = np.zeros((2 * (n_cells + n_days),) * 2)
    penalty[: 2 * n_cells, : 2 * n_cells] = FLAT * np.eye(2 * n_cells)
    penalty[2 * n_cells :, 2 * n_cells :] = np.kron(np.eye(n_days), np.linalg.inv(between))
    noise = np.kron(np.eye(len(balls.day)), np.linalg.inv(within))
    whole = np.linalg.inv(x.T @ noise @ x + penalty)
    mean = whole @ x.T @ noise @ balls.values.ravel()
    np.testing.assert_allclose(np.append(ours.mean, ours.day_mean), mean, rtol=1e-8)
    np.testing.assert_allclose(ours.covariance, whole[: 2 * n_cells, : 2 * n_cells], rtol=1e-8)
    codes, first = np.unique(balls.day * n_cells + balls.cell, return_index=True)
    for day in range(n_days):
        at = slice(2 * (n_cells + day), 2 * (n_cells + day + 1))
        np.testing.assert_allclose(ours.day_covariance[day], whole[at, at], rtol=1e-8)
    for group, ball in enumerate(first):
        rows = x[2 * ball : 2 * ball + 2]
        np.testing.assert_allclose(ours.group_mean[group], rows @ mean, rtol=1e-8)
        np.testing.assert_allclose(ours.group_covariance[group], rows @ whole @ rows.T, rtol=1e-8)
    assert len(codes) == len(ours.group_mean)


def components_of(table: Array) -> tuple[float, float]:
    """Variance between and within sessions of a balanced table: ISO 5725-2, the analysis of variance of one way."""
    n = table.shape[1]
    within = float(table.var(axis=1, ddof=1).mean())
    return float(table.mean(axis=1).var(ddof=1)) - within / n, within


def test_the_worked_example_of_repeatability_and_reproducibility() -> None:
    """ISO 5725-2: s_r^2 is the mean variance within, s_L^2 that of the means less s_r^2 / n, s_R^2 their sum."""
    between, within = components_of(SESSIONS_M)
    assert np.sqrt(within) == pytest.approx(ISO_S_R, abs=1e-6)
    assert np.sqrt(between) == pytest.approx(ISO_S_L, abs=1e-6)
    assert np.sqrt(between + within) == pytest.approx(ISO_S_BIG_R, abs=1e-6)
    f, _ = stats.f_oneway(*SESSIONS_M)
    assert 1.0 + 3.0 * between / within == pytest.approx(float(f), rel=1e-9)
    theirs = mixed(one_way(SESSIONS_M), reml=True)  # of a balanced table REML is the analysis of variance
    assert np.sqrt(theirs.scale) == pytest.approx(ISO_S_R, abs=1e-5)
    assert np.sqrt(theirs.cov_re[0, 0]) == pytest.approx(ISO_S_L, abs=1e-5)


def test_sessions_of_the_worked_example_shrink_as_the_textbook_says() -> None:
    """Balanced: u_j = n s_L^2 / (n s_L^2 + s_r^2) (mean_j - mean); var of the mean = (s_L^2 + s_r^2 / n) / J."""
    n_days, n = SESSIONS_M.shape
    ours = solved(one_way(SESSIONS_M), np.array([[ISO_S_L**2]]), np.array([[ISO_S_R**2]]))
    share = n * ISO_S_L**2 / (n * ISO_S_L**2 + ISO_S_R**2)
    means = SESSIONS_M.mean(axis=1)
    assert ours.mean[0] == pytest.approx(means.mean(), rel=1e-8)
    assert ours.covariance[0, 0] == pytest.approx((ISO_S_L**2 + ISO_S_R**2 / n) / n_days, rel=1e-8)
    np.testing.assert_allclose(ours.day_mean[:, 0], share * (means - means.mean()), rtol=1e-6)
    # how surely: what the session's own balls leave, and the share of the mean's error that the session takes over
    left = (1.0 - share) * ISO_S_L**2 + share**2 * ours.covariance[0, 0]
    np.testing.assert_allclose(ours.day_covariance[:, 0, 0], left, rtol=1e-8)


def logged(balls: Balls) -> Observations:
    """Return the balls as a log of one cell, their values as changes of the logarithm of a carry of 60 m."""
    n = len(balls.day)
    return observations(
        carry_m=60.0 * np.exp(balls.values[:, 0]),
        loft_deg=np.full(n, 54.0),
        swing_deg=np.full(n, 90.0),
        session=balls.day.tolist(),
    )


def spreads_by_reml(balls: Balls) -> tuple[float, float]:
    """Standard deviations between and within days, by MixedLM.

    It takes a variance far below one for none, hence the unit; its gradient descents are lost on some of these logs,
    and say so, hence the search without gradients.
    """
    unit = 0.03
    theirs = mixed(Balls(balls.day, balls.cell, balls.values / unit), reml=True, method="powell")
    return unit * float(np.sqrt(theirs.cov_re[0, 0])), unit * float(np.sqrt(theirs.scale))


def of_one_cell(seed: int, n_days: int, n: int, between: float, within: float) -> Balls:
    return invented(seed, n_days * n, n_days, 1, np.array([[between**2]]), np.array([[within**2]]))


@pytest.mark.parametrize("shape", ONE_CELL)
def test_without_belief_the_rounds_come_to_the_reml_estimates(
    shape: tuple[int, int, int, float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the rounds do for days and spread is expectation maximisation; what is left of belief is put out of weight.

    Laird & Ware 1982, Biometrics 38, 963. The mean is integrated out with its wide prior, so REML is the match. Bound:
    0.1 % of the estimates, where forty rounds of a linear convergence end; they are known to 10 % themselves.
    """
    monkeypatch.setattr(fitting, "SESSION_COUNT", 1e-9)
    monkeypatch.setattr(fitting, "MISHIT_SHARE", 1e-9)
    monkeypatch.setattr(judge, "FAULT_SHARE", np.full(4, 1e-12))
    monkeypatch.setattr(fitting, "RESOLUTION", np.zeros(4))
    monkeypatch.setattr(spread, "LEVEL", (0.0, 100.0))
    monkeypatch.setattr(fitting, "_CLOSE_ENOUGH", 0.0)  # all the rounds there may be
    balls = of_one_cell(*shape)
    learnt = fitting.fit(logged(balls), fading=False)
    of_days, of_balls = spreads_by_reml(balls)
    assert learnt.session_sd[0] == pytest.approx(of_days, rel=1e-3)
    most_probable = replace(learnt.carry_spread, skew=0.0 * learnt.carry_spread.skew)
    own = np.exp(most_probable.log_sd(np.array([90.0]), np.array([54.0]), np.array([0])))
    assert float(own[0]) == pytest.approx(of_balls, rel=1e-3)


def most_probable(balls: Balls, within: float) -> float:
    """Standard deviation between days with the belief in it, by a search of its own.

    The restricted likelihood of the days' means, and the scaled inverse chi-square that says as much as
    `SESSION_COUNT` days of `SESSION_SD` (Gelman and others, Bayesian Data Analysis, sections 2.6 and 5.4, from memory).
    """
    count = np.bincount(balls.day)
    mean = np.bincount(balls.day, balls.values[:, 0]) / count
    believed, firmness = fitting.SESSION_SD[0] ** 2, fitting.SESSION_COUNT

    def deviance(log_sd: float) -> float:
        between = np.exp(2.0 * log_sd)
        weight = 1.0 / (between + within**2 / count)
        off = mean - weight @ mean / weight.sum()
        reml = float(weight @ off**2 - np.log(weight).sum() + np.log(weight.sum()))
        return reml + firmness * float(np.log(between) + believed / between)

    found = optimize.minimize_scalar(deviance, bounds=np.log([1e-3, 0.2]), method="bounded", options={"xatol": 1e-6})
    return float(np.exp(found.x))


@pytest.mark.parametrize("shape", ONE_CELL)
def test_days_that_differ_more_than_believed_are_noticed_in_a_log_of_one_cell(
    shape: tuple[int, int, int, float, float],
) -> None:
    """The carry of a single cell hardly moves from round to round; the rounds must not end before days are learnt.

    Bound: a tenth, for where the rounds may end and for the balls taken for mishits.
    """
    balls = of_one_cell(*shape)
    learnt = fitting.fit(logged(balls), fading=False)
    within = float(np.exp(learnt.carry_spread.log_sd(np.array([90.0]), np.array([54.0]), np.array([0])))[0])
    assert learnt.session_sd[0] == pytest.approx(most_probable(balls, within), rel=0.1)
