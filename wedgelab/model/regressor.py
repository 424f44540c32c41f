"""The same model as a scikit-learn estimator, for those who compare, cross-validate and pipeline."""

from typing import TYPE_CHECKING, Any, Self

import numpy as np
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.utils import check_random_state
from sklearn.utils.validation import check_is_fitted, validate_data

from wedgelab.model.observations import observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.prediction import ShotKind
from wedgelab.shots import LIMITS

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


class WedgeRegressor(RegressorMixin, BaseEstimator):  # type: ignore[misc]  # scikit-learn ships no types
    """Median carry as a smooth, monotone function of loft and swing length.

    Columns of X: loft [deg], swing length [deg], and if wanted the spin of the ball [rpm] (learnt from, ignored when
    predicting; 0 where not read) and the number of the session, growing with time. y is the carry [m], above 0. Lofts
    outside 20 to 75 deg and swings outside 5 to 210 deg are taken as the nearest in range; ``n_out_of_range_`` counts
    them.

    Attributes
    ----------
    player_ : FittedPlayer
        the fitted model.
    n_out_of_range_ : int
        rows of X that were moved into range while fitting.
    n_features_in_ : int
        columns of X.
    """

    def __init__(self, *, learn_spin: bool = True) -> None:
        self.learn_spin = learn_spin

    def __sklearn_tags__(self) -> Any:
        tags = super().__sklearn_tags__()
        tags.target_tags.positive_only = True
        tags.input_tags.allow_nan = False
        return tags

    def fit(self, X: "ArrayLike", y: "ArrayLike") -> Self:  # noqa: N803 - scikit-learn's name
        """Learn from n balls; X of shape (n, 2 to 4), y of shape (n,) and above 0."""
        data, carry = validate_data(self, X, y, y_numeric=True, dtype=np.float64, ensure_min_features=2)
        if np.any(carry <= 0):
            message = f"carries must be above 0 m, the smallest is {np.min(carry):g}; drop balls that did not fly"
            raise ValueError(message)
        loft, swing, self.n_out_of_range_ = _in_range(data)
        spin = data[:, 2] if self.learn_spin and data.shape[1] > 2 else None
        session = list(data[:, 3]) if data.shape[1] > 3 else None
        obs = observations(
            carry_m=carry, loft_deg=loft, swing_deg=swing, spin_rpm=spin, session=session,
            oldest_first=sorted(set(session or ())),
        )  # fmt: skip
        self.player_: FittedPlayer = fit_observations(obs)
        return self

    def predict(
        self,
        X: "ArrayLike",  # noqa: N803
        return_std: bool = False,
    ) -> "NDArray[np.float64] | tuple[NDArray[np.float64], NDArray[np.float64]]":
        """Return median carries [m] of shape (n,), with ``return_std`` also the spread of one future ball [m]."""
        check_is_fitted(self)
        predictions = self.player_.predict(self._kinds(X))
        median = np.array([p.carry_m for p in predictions], dtype=np.float64)
        if not return_std:
            return median
        return median, np.array([p.carry_sd_m for p in predictions], dtype=np.float64)

    def sample_y(
        self,
        X: "ArrayLike",  # noqa: N803
        n_samples: int = 1,
        random_state: "int | np.random.RandomState | None" = 0,
    ) -> "NDArray[np.float64]":
        """Draw carries [m] of single future balls, shape (n, n_samples)."""
        check_is_fitted(self)
        seed = check_random_state(random_state).randint(0, 2**31 - 1)
        return self.player_.sample(self._kinds(X), n_samples, np.random.default_rng(seed))[0]

    def _kinds(self, X: "ArrayLike") -> list[ShotKind]:  # noqa: N803
        data = validate_data(self, X, reset=False, dtype=np.float64)
        loft, swing, _ = _in_range(data)
        return [ShotKind("", float(a), float(b)) for a, b in zip(loft, swing, strict=True)]


def _in_range(X: "NDArray[np.float64]") -> "tuple[NDArray[np.float64], NDArray[np.float64], int]":  # noqa: N803
    columns = []
    moved = np.zeros(len(X), dtype=bool)
    for column, name in ((X[:, 0], "loft_deg"), (X[:, 1], "swing_deg")):
        low, high = LIMITS[name][:2]
        moved |= (column < low) | (column > high)
        columns.append(np.clip(column, low, high))
    return columns[0], columns[1], int(moved.sum())
