"""DataFrames in, DataFrames out."""

import doctest
from typing import Any

import numpy as np
import pandas as pd
import pytest

import wedgelab
from wedgelab.errors import BadRequestError, OutOfRangeError, TooFewShotsError, UnknownNameError
from wedgelab.model import PlayerModel, facade

COLUMNS = [
    "carry_m", "carry_sd_m", "carry_se_m", "spin_rpm", "spin_sd_rpm", "spin_se_rpm", "n_shots", "n_spin", "support",
    "spin_support",
]  # fmt: skip


def shots(**changes: Any) -> pd.DataFrame:
    columns: dict[str, Any] = {
        "loft_deg": [54.0, 54.0, 60.0], "swing_deg": [90.0, 120.0, 90.0], "carry_m": [62.0, 80.0, 50.0],
    } | changes  # fmt: skip
    return pd.DataFrame(columns, index=["a", "b", "c"])


def test_the_example_of_the_documentation_works(tmp_path: Any) -> None:
    path = tmp_path / "shots.csv"
    shots(spin_rpm=[8000.0, np.nan, 8300.0], wedge=["54", "54", "60"]).to_csv(path, index=False)
    model = wedgelab.PlayerModel().fit(wedgelab.read_shots(path))
    at = pd.DataFrame({"loft_deg": [54, 60], "swing_deg": [90, 120]})
    rng = np.random.default_rng(1)
    assert list(model.predict(at).columns) == COLUMNS
    draws = model.sample(at, n=2000, rng=rng)
    assert {name: values.shape for name, values in draws.items()} == {"carry_m": (2, 2000), "spin_rpm": (2, 2000)}
    quantiles = model.quantiles(at, [0.1, 0.5, 0.9])
    assert quantiles.columns.to_numpy().tolist() == [0.1, 0.5, 0.9]
    np.testing.assert_allclose(quantiles[0.5], model.predict(at)["carry_m"], rtol=1e-9)
    assert (quantiles[0.1] < quantiles[0.5]).all()
    assert (quantiles[0.5] < quantiles[0.9]).all()


def test_the_docstring_example_is_true() -> None:
    results = doctest.testmod(facade)
    assert results.attempted >= 4
    assert results.failed == 0


def test_the_index_is_kept_and_wedges_are_told_apart() -> None:
    log = pd.concat([shots(wedge="old")] * 4 + [shots(wedge="new", carry_m=[66.0, 85.0, 53.0])] * 4)
    model = PlayerModel().fit(log)
    at = pd.DataFrame({"loft_deg": [54.0, 54.0], "swing_deg": 90.0, "wedge": ["old", "new"]}, index=[7, 3])
    found = model.predict(at)
    assert list(found.index) == [7, 3]
    assert list(model.quantiles(at, [0.5]).index) == [7, 3]
    assert found["carry_m"].loc[3] > found["carry_m"].loc[7]
    assert found["n_shots"].tolist() == [4, 4]


def test_trajectory_and_lie_are_heard() -> None:
    model = PlayerModel().fit(shots())
    at = pd.DataFrame(
        {"loft_deg": 54.0, "swing_deg": 90.0, "trajectory": ["stock", "low", "high"], "lie": ["", "rough", ""]}
    )
    found = model.predict(at)
    assert found["n_shots"].tolist() == [1, 0, 0]
    assert found["carry_se_m"].iloc[1] > found["carry_se_m"].iloc[0]


@pytest.mark.parametrize(
    ("frame", "error", "message"),
    [
        (
            shots().drop(columns="carry_m"),
            BadRequestError,
            "the shots have no column carry_m; give one; there are: loft_deg, swing_deg",
        ),
        (
            shots(carry_m=[62.0, np.nan, 50.0]),
            BadRequestError,
            "carry_m of row b is no number; drop the row or fill it in",
        ),
        (
            shots(carry_m=[62.0, 80.0, 400.0]),
            OutOfRangeError,
            "carry 400.0 m is outside 0.5 to 250.0 m; check the number and its unit",
        ),
        (
            shots(loft_deg=[54.0, 12.0, 60.0]),
            OutOfRangeError,
            "loft 12.0 deg is outside 20.0 to 75.0 deg; check the number and its unit",
        ),
        (
            shots(spin_rpm=[8000.0, np.nan, 99999.0]),
            OutOfRangeError,
            "spin 99999 rpm is outside 0 to 16000 rpm; check the number and its unit",
        ),
        (shots().iloc[:0], TooFewShotsError, "no shots are logged; log one with: wedgelab log WEDGE SWING CARRY"),
    ],
)
def test_bad_shots_are_refused_in_one_sentence(frame: pd.DataFrame, error: type[Exception], message: str) -> None:
    with pytest.raises(error) as caught:
        PlayerModel().fit(frame)
    assert str(caught.value) == message


def test_asks_for_a_fit_first() -> None:
    with pytest.raises(BadRequestError) as caught:
        PlayerModel().predict(shots())
    assert str(caught.value) == "the model has seen no shots; call fit(shots) first"


def test_a_word_that_means_nothing_is_refused_in_fit_and_in_predict() -> None:
    shots = pd.DataFrame({"loft_deg": [54.0], "swing_deg": [90.0], "carry_m": [55.0]})
    with pytest.raises(UnknownNameError, match="unknown trajectory 'hihg'; did you mean 'high'"):
        PlayerModel().fit(shots.assign(trajectory="hihg"))
    model = PlayerModel().fit(shots)
    with pytest.raises(UnknownNameError, match="unknown lie 'snad'; did you mean 'sand'"):
        model.predict(shots[["loft_deg", "swing_deg"]].assign(lie="snad"))


def test_sessions_follow_each_other_by_their_times_whatever_the_order_of_the_rows() -> None:
    rng = np.random.default_rng(71)
    day = np.repeat(np.arange(4), 20)
    carry = 60.0 * np.exp(0.04 * rng.standard_normal(80)) * np.where(day == 3, 1.15, 1.0)
    shots = pd.DataFrame(
        {
            "loft_deg": 54.0, "swing_deg": 90.0, "carry_m": carry, "session": [f"s{d}" for d in day],
            "hit_at": [f"2026-06-0{d + 1}T18:00:00+02:00" for d in day],
        }
    )  # fmt: skip
    at = pd.DataFrame({"loft_deg": [54.0], "swing_deg": [90.0]})

    def median(frame: pd.DataFrame) -> float:
        return float(PlayerModel().fit(frame).predict(at).carry_m.iloc[0])

    back = shots.iloc[::-1]
    assert median(back) == pytest.approx(median(shots), rel=1e-6)
    assert median(back.drop(columns="hit_at")) < median(shots) - 3.0  # then the long day would be the oldest
    some = shots.assign(hit_at=shots.hit_at.where(shots.index % 2 == 0))  # times that nobody noted are no obstacle
    assert median(some) == pytest.approx(median(shots), rel=1e-6)
    with pytest.raises(BadRequestError, match="hit_at yesterday is no time; give ISO 8601, or drop the column"):
        median(shots.assign(hit_at="yesterday"))
