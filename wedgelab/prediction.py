"""What a model of a player can be asked: the `Predictor` protocol that chart, choose, plan and drill speak to.

A predictor stands for one player under one set of conditions: the player's reference, until `Predictor.on` names a day.
Arrays have one row for each asked `ShotKind`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, Protocol

from wedgelab.shots import Conditions

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Support = Literal["measured", "between", "beyond"]
FlightSupport = Literal["measured", "estimate"]
SpinSupport = Literal["measured", "between", "beyond", "none"]

NOT_SAID: Final = Conditions()
NORMAL_P90: Final = 1.2815515655446004  # of the standard normal distribution: nine chances of ten lie below it


def share_of_median(log_variance: float) -> float:
    """Return standard deviation over median where the logarithm is normal about the median's, with that variance."""
    variance = max(log_variance, 0.0)
    return math.exp(0.5 * variance) * math.sqrt(math.expm1(variance))


@dataclass(frozen=True, slots=True)
class ShotKind:
    """What would be hit: which wedge, how long a swing, which flight, from where."""

    wedge: str
    loft_deg: float
    swing_deg: float
    trajectory: str = "stock"
    lie: str = ""


@dataclass(frozen=True, slots=True)
class Prediction:
    """What the log says of one kind of shot, for solid balls.

    ``carry_m`` is the median carry, ``carry_se_m`` how surely that median is known over the player's sessions,
    ``carry_sd_m`` the spread of one future ball with every uncertainty included; likewise spin. ``n_shots`` counts
    the solid balls within 5 deg of the swing with that wedge, ``n_spin`` those of them with a spin reading.
    """

    kind: ShotKind
    carry_m: float
    carry_sd_m: float
    carry_se_m: float
    spin_rpm: float
    spin_sd_rpm: float
    spin_se_rpm: float
    n_shots: int
    n_spin: int
    support: Support
    spin_support: SpinSupport


@dataclass(frozen=True, slots=True)
class Day:
    """What a shot is to be played in: the air, and how far the green lies above the ball (below: negative).

    What ``conditions`` leaves open is as in the player's reference conditions.
    """

    conditions: Conditions = NOT_SAID
    rise_m: float = 0.0


@dataclass(frozen=True, slots=True)
class FlightEstimate:
    """How the median shot flies and comes down.

    ``flight_support`` is ``measured`` where launch angle and ball speed, or the landing angle, of such a ball were
    logged, else the numbers are the fitted model's ``estimate``. The ball ends between ``run_out_low_m`` and
    ``run_out_high_m`` behind the pitch mark (negative: before it), as far as a green's firmness alone can tell.
    ``drift_m`` is how far the day's cross wind moves it, right positive.
    """

    land_deg: float
    apex_m: float
    air_time_s: float
    land_speed_mps: float
    land_spin_rpm: float
    run_out_low_m: float
    run_out_m: float
    run_out_high_m: float
    drift_m: float
    flight_support: FlightSupport


class Predictor(Protocol):
    """A fitted model of one player."""

    @property
    def n_shots(self) -> int:
        """Balls that the model learnt from."""
        ...

    @property
    def n_sessions(self) -> int:
        """Practice sessions that these balls come from."""
        ...

    def predict(self, kinds: Sequence[ShotKind]) -> list[Prediction]:
        """Return the prediction of each kind of shot, in order."""
        ...

    def carry_quantiles(self, kinds: Sequence[ShotKind], probabilities: Sequence[float]) -> "NDArray[np.float64]":
        """Return carries [m], shape (kinds, probabilities), that a future solid ball stays below."""
        ...

    def spin_quantiles(self, kinds: Sequence[ShotKind], probabilities: Sequence[float]) -> "NDArray[np.float64]":
        """Return spins [rpm], shape (kinds, probabilities), that a future solid ball stays below."""
        ...

    def window_probability(self, kinds: Sequence[ShotKind], low_m: float, high_m: float) -> "NDArray[np.float64]":
        """Return the chance that one future solid ball carries between the two distances, shape (kinds,)."""
        ...

    def sample(
        self, kinds: Sequence[ShotKind], n: int, rng: "np.random.Generator"
    ) -> tuple["NDArray[np.float64]", "NDArray[np.float64]"]:
        """Return joint draws of carry [m] and spin [rpm] of single future solid balls, each of shape (kinds, n)."""
        ...

    def landing(self, kinds: Sequence[ShotKind], green: str = "normal") -> list[FlightEstimate]:
        """Return how each kind of shot flies, lands and runs out on a green of that firmness."""
        ...

    def on(self, day: Day) -> "Predictor":
        """Return the same player under a day's conditions; every carry it speaks of is that day's."""
        ...

    def log_median_covariance(self, kinds: Sequence[ShotKind]) -> "NDArray[np.float64]":
        """Return the covariance of the log median carries between the kinds, shape (kinds, kinds)."""
        ...

    def expected_covariance(
        self, kinds: Sequence[ShotKind], extra: Sequence[ShotKind], *, may_move: bool = False
    ) -> "NDArray[np.float64]":
        """Return `log_median_covariance` as it is expected to be after the extra balls, hit in one new session.

        With ``may_move`` the little is counted that a player drifts from session to session.
        """
        ...
