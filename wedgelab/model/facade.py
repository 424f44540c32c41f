"""The model for Python users: DataFrames in, DataFrames out, with the column names of docs/names.md."""

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Self

import numpy as np
import pandas as pd

from wedgelab.errors import BadRequestError, UnknownNameError
from wedgelab.model.observations import MEASURED, observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.prediction import Day, ShotKind
from wedgelab.shots import CONDITION_COLUMNS, LIES, LIMITS, STRIKES, TRAJECTORIES, Conditions, check_limits

_REQUIRED = ("loft_deg", "swing_deg", "carry_m")
_CHOICES = {"trajectory": TRAJECTORIES, "lie": LIES, "strike": STRIKES}
_WORD_COLUMNS = ("wedge", "session", "trajectory", "lie", "strike", "ball")


class PlayerModel:
    """Median carry and spin of one player as smooth functions of loft and swing length, with honest uncertainty.

    Examples
    --------
    >>> import pandas as pd
    >>> shots = pd.DataFrame({"loft_deg": [54.0, 58.0], "swing_deg": [90.0, 90.0], "carry_m": [55.0, 48.0]})
    >>> model = PlayerModel().fit(shots)
    >>> round(float(model.predict(pd.DataFrame({"loft_deg": [56.0], "swing_deg": [90.0]})).carry_m.iloc[0]))
    51

    Parameters
    ----------
    reference
        conditions that the carries are brought to, by column name (``air_temp_c``, ``altitude_m``, ...); what is left
        out is the standard atmosphere without wind.
    usual_ball
        golf ball that the predictions are for; otherwise the one that was hit most.
    """

    def __init__(self, reference: Mapping[str, float] | None = None, usual_ball: str = "") -> None:
        self.reference = _conditions(reference or {})
        self.usual_ball = usual_ball
        self._fitted: FittedPlayer | None = None

    @property
    def fitted(self) -> FittedPlayer:
        """The fitted player, which answers the whole `Predictor` protocol."""
        if self._fitted is None:
            raise BadRequestError("the model has seen no shots", "call fit(shots) first")
        return self._fitted

    def fit(self, shots: pd.DataFrame) -> Self:
        """Learn from logged shots.

        Parameters
        ----------
        shots
            one row a ball; columns ``loft_deg`` [deg], ``swing_deg`` [deg], ``carry_m`` [m], and if there are any
            ``spin_rpm`` [rpm], ``wedge``, ``session``, ``trajectory``, ``lie``, ``strike``, ``ball``,
            ``ball_speed_mps``, ``launch_deg``, ``land_deg``, ``apex_m``, ``hit_at`` (sessions follow each other by it,
            else in the order of their rows), and the conditions ``air_temp_c`` [degC],
            ``station_pressure_hpa`` [hPa], ``humidity_pct`` [%], ``altitude_m`` [m], ``wind_mps``, ``cross_wind_mps``
            [m/s]. NaN where not measured. Carries from other conditions than the reference are brought to it.

        Raises
        ------
        BadRequestError
            a required column is missing or has no number.
        OutOfRangeError
            a value outside the hard limits.
        TooFewShotsError
            no row at all.
        """
        columns: dict[str, Any] = {name: _numbers(shots, name, required=True) for name in _REQUIRED}
        spin = _numbers(shots, "spin_rpm", required=False) if "spin_rpm" in shots else None
        words: dict[str, Any] = {name: _words(shots[name], name) for name in _WORD_COLUMNS if name in shots}
        measured = {name: _numbers(shots, name, required=False) for name in MEASURED if name in shots}
        obs = observations(
            **columns, spin_rpm=spin, **words, usual_ball=self.usual_ball, measured=measured, oldest_first=_days(shots)
        )
        self._fitted = fit_observations(obs, _said(shots), self.reference)
        return self

    def on(self, *, rise_m: float = 0.0, **conditions: float) -> "PlayerModel":
        """Return the same player on a day: ``model.on(air_temp_c=6, wind_mps=-3, rise_m=4).predict(at)``.

        ``rise_m`` is the height of the green over the ball [m]; conditions that are not named are the reference's.
        """
        day = PlayerModel(self.reference.known(), self.usual_ball)
        day._fitted = self.fitted.on(Day(_conditions(conditions), rise_m))
        return day

    def landing(self, at: pd.DataFrame, green: str = "normal") -> pd.DataFrame:
        """Estimate how the median shots fly and land; one column for each field of `FlightEstimate`."""
        estimates = [dataclasses.asdict(estimate) for estimate in self.fitted.landing(_kinds(at), green)]
        return pd.DataFrame(estimates, index=at.index)

    def predict(self, at: pd.DataFrame) -> pd.DataFrame:
        """Predict solid balls.

        Parameters
        ----------
        at
            columns ``loft_deg`` and ``swing_deg`` [deg]; ``wedge``, ``trajectory`` and ``lie`` if wanted.

        Returns
        -------
        DataFrame
            same index: ``carry_m`` (median), ``carry_sd_m`` (one future ball), ``carry_se_m`` (the median itself),
            ``spin_rpm``, ``spin_sd_rpm``, ``spin_se_rpm``, ``n_shots``, ``n_spin``, ``support``, ``spin_support``.
        """
        predictions = self.fitted.predict(_kinds(at))
        names = [
            "carry_m", "carry_sd_m", "carry_se_m", "spin_rpm", "spin_sd_rpm", "spin_se_rpm", "n_shots", "n_spin",
            "support", "spin_support",
        ]  # fmt: skip
        return pd.DataFrame({name: [getattr(p, name) for p in predictions] for name in names}, index=at.index)

    def sample(
        self, at: pd.DataFrame, n: int = 1000, rng: np.random.Generator | int | None = None
    ) -> dict[str, np.ndarray[tuple[int, int], np.dtype[np.float64]]]:
        """Draw single future solid balls; ``carry_m`` [m] and ``spin_rpm`` [rpm] of shape (rows, n), drawn jointly."""
        carry, spin = self.fitted.sample(_kinds(at), n, np.random.default_rng(rng))
        return {"carry_m": carry, "spin_rpm": spin}

    def quantiles(self, at: pd.DataFrame, probabilities: Sequence[float]) -> pd.DataFrame:
        """Return carries [m] that a future solid ball stays below with each probability, one column each."""
        values = self.fitted.carry_quantiles(_kinds(at), probabilities)
        return pd.DataFrame(values, index=at.index, columns=list(probabilities))


def _days(shots: pd.DataFrame) -> list[str]:
    """Return the sessions in the order in which they began; none where the frame has no times."""
    if "hit_at" not in shots or "session" not in shots:
        return []
    moments = pd.to_datetime(shots["hit_at"], utc=True, errors="coerce", format="ISO8601")
    wrong = np.flatnonzero(moments.isna() & shots["hit_at"].notna())
    if len(wrong):
        raise BadRequestError(
            f"hit_at {shots['hit_at'].iloc[wrong[0]]} is no time", "give ISO 8601, or drop the column"
        )
    begun = moments.groupby(_words(shots["session"], "session")).min()
    return [str(name) for name in begun.dropna().sort_values(kind="stable").index]


def _conditions(values: Mapping[str, float]) -> Conditions:
    unknown = next((name for name in values if name not in CONDITION_COLUMNS), None)
    if unknown is not None:
        raise UnknownNameError("condition", unknown, CONDITION_COLUMNS)
    return Conditions(**values)


def _said(shots: pd.DataFrame) -> list[Conditions] | None:
    """Return the conditions of each row, None where the frame has none."""
    names = [name for name in CONDITION_COLUMNS if name in shots]
    if not names:
        return None
    rows = zip(*(_numbers(shots, name, required=False) for name in names), strict=True)
    made: dict[tuple[float, ...], Conditions] = {}
    said = []
    for row in rows:
        known = {name: float(value) for name, value in zip(names, row, strict=True) if not np.isnan(value)}
        said.append(made.setdefault(tuple(known.get(name, np.inf) for name in names), Conditions(**known)))
    return said


def _numbers(frame: pd.DataFrame, name: str, *, required: bool) -> np.ndarray[Any, np.dtype[np.float64]]:
    if name not in frame:
        raise BadRequestError(
            f"the shots have no column {name}", f"give one; there are: {', '.join(map(str, frame.columns))}"
        )
    values = pd.to_numeric(frame[name], errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    missing = np.flatnonzero(np.isnan(values))
    if required and len(missing):
        raise BadRequestError(f"{name} of row {frame.index[missing[0]]} is no number", "drop the row or fill it in")
    low, high = LIMITS[name][:2]
    with np.errstate(invalid="ignore"):
        outside = np.flatnonzero((values < low) | (values > high))
    if len(outside):
        check_limits(name, float(values[outside[0]]))
    return np.asarray(values, dtype=np.float64)


def _words(column: Iterable[Any], name: str) -> list[str]:
    words = ["" if pd.isna(value) else str(value) for value in column]
    for word in dict.fromkeys(words):
        if word and name in _CHOICES and word not in _CHOICES[name]:
            raise UnknownNameError(name, word, _CHOICES[name])
    return words


def _kinds(at: pd.DataFrame) -> list[ShotKind]:
    lofts, swings = (_numbers(at, name, required=True) for name in ("loft_deg", "swing_deg"))
    wedges = _words(at["wedge"], "wedge") if "wedge" in at else [""] * len(at)
    trajectories = [
        word or "stock" for word in (_words(at["trajectory"], "trajectory") if "trajectory" in at else [""] * len(at))
    ]
    lies = _words(at["lie"], "lie") if "lie" in at else [""] * len(at)
    rows = zip(wedges, lofts, swings, trajectories, lies, strict=True)
    return [ShotKind(wedge, float(loft), float(swing), word, lie) for wedge, loft, swing, word, lie in rows]
