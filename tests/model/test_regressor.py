"""The scikit-learn face of the model, held against scikit-learn's own estimator checks."""

import pickle
from typing import Any

import numpy as np
import pytest
from sklearn.base import clone
from sklearn.exceptions import NotFittedError
from sklearn.model_selection import cross_val_score
from sklearn.pipeline import Pipeline
from sklearn.preprocessing import FunctionTransformer
from sklearn.utils.estimator_checks import estimator_checks_generator

from wedgelab.model import WedgeRegressor
from wedgelab.simulate import invent_player

NOT_APPLICABLE = {
    # X of this check is standardised: "lofts" and "swings" around 0, all of which are moved to 20 and 5 deg
    "check_regressors_train": "a score on nameless standardised columns means nothing to a model of lofts and swings",
    # skipped by scikit-learn itself unless SCIPY_ARRAY_API is set; the model is numpy alone and claims no other
    "check_array_api_input": "array API support is not claimed",
}


def checks() -> list[Any]:
    return list(estimator_checks_generator(WedgeRegressor()))


def name_of(check: Any) -> str:
    return str(getattr(check, "func", check).__name__)


def test_every_check_left_out_exists() -> None:
    assert "check_regressors_train" in {name_of(check) for _, check in checks()}
    assert len(checks()) > 40  # scikit-learn 1.6 has no check of the array API yet


@pytest.mark.parametrize(
    ("estimator", "check"),
    [
        pytest.param(e, c, id=f"{name_of(c)}-{i}")
        for i, (e, c) in enumerate(checks())
        if name_of(c) not in NOT_APPLICABLE
    ],
)
def test_scikit_learn_check(estimator: Any, check: Any) -> None:
    check(estimator)


@pytest.fixture(scope="module")
def data(tools: Any) -> tuple[Any, Any]:
    rng = np.random.default_rng(91)
    player = invent_player(rng, skill=0.7)
    log = tools.log_of(player, rng, mishits=False)
    return np.stack([log["loft_deg"], log["swing_deg"], log["spin_rpm"]], axis=1), log["carry_m"]


def test_cross_validation_pipeline_and_clone(data: Any) -> None:
    X, y = data  # noqa: N806 - scikit-learn's name
    order = np.random.default_rng(92).permutation(len(y))
    assert cross_val_score(WedgeRegressor(), X[order], y[order], cv=4).min() > 0.9
    line = Pipeline([("same", FunctionTransformer()), ("wedge", WedgeRegressor(learn_spin=False))]).fit(X, y)
    plain = clone(line["wedge"]).fit(X, y)
    assert plain.learn_spin is False
    np.testing.assert_array_equal(line.predict(X), plain.predict(X))


def test_pickled_model_gives_the_same_answers(data: Any) -> None:
    X, y = data  # noqa: N806 - scikit-learn's name
    model = WedgeRegressor().fit(X, y)
    again = pickle.loads(pickle.dumps(model))  # noqa: S301 - our own bytes
    np.testing.assert_array_equal(again.predict(X), model.predict(X))
    player = pickle.loads(pickle.dumps(model.player_))  # noqa: S301 - our own bytes
    kinds = model._kinds(X[:5])
    assert player.predict(kinds) == model.player_.predict(kinds)


def test_predicts_with_spread_and_draws(data: Any) -> None:
    X, y = data  # noqa: N806 - scikit-learn's name
    model = WedgeRegressor().fit(X, y)
    median, sd = model.predict(X[::3], return_std=True)
    np.testing.assert_array_equal(median, model.predict(X[::3]))
    draws = model.sample_y(X[::3], 4000, random_state=1)
    assert draws.shape == (len(median), 4000)
    np.testing.assert_array_equal(draws, model.sample_y(X[::3], 4000, random_state=1))
    np.testing.assert_allclose(np.median(draws, axis=1), median, rtol=0.01)
    np.testing.assert_allclose(draws.std(axis=1), sd, rtol=0.12)


def test_spin_is_learnt_from_the_third_column_and_sessions_from_the_fourth(data: Any) -> None:
    X, y = data  # noqa: N806 - scikit-learn's name
    assert np.isfinite(WedgeRegressor().fit(X, y).player_.obs.log_spin).all()
    assert np.isnan(WedgeRegressor(learn_spin=False).fit(X, y).player_.obs.log_spin).all()
    days = np.arange(len(y)) % 3
    assert WedgeRegressor().fit(np.column_stack([X, days]), y).player_.n_sessions == 3


def test_what_is_out_of_range_is_counted_and_moved(data: Any) -> None:
    X, y = data  # noqa: N806 - scikit-learn's name
    far = X.copy()
    far[0, 0], far[1, 1], far[2, :2] = 80.0, 300.0, (10.0, 1.0)
    model = WedgeRegressor().fit(far, y)
    assert model.n_out_of_range_ == 3
    assert WedgeRegressor().fit(X, y).n_out_of_range_ == 0
    assert model.predict([[90.0, 400.0, 0.0]])[0] == model.predict([[75.0, 210.0, 0.0]])[0]


def test_refuses_balls_that_did_not_fly_and_answers_before_fit(data: Any) -> None:
    X, y = data  # noqa: N806 - scikit-learn's name
    with pytest.raises(
        ValueError, match=r"^carries must be above 0 m, the smallest is -1; drop balls that did not fly$"
    ):
        WedgeRegressor().fit(X, np.where(np.arange(len(y)) == 3, -1.0, y))
    with pytest.raises(NotFittedError):
        WedgeRegressor().predict(X)
