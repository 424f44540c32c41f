"""A player in closed form for the tests of chart, choose and drill: what `Predictor` asks for, and nothing learnt.

Carry and spin of a future ball are independent and normal; the covariance of the log medians is whatever the test says.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from wedgelab.prediction import Day, FlightEstimate, Prediction, Predictor, ShotKind
from wedgelab.shots import Bag, SwingLength, Wedge

Floats = NDArray[np.float64]
FAKE_SPIN_SD_RPM = 400.0
FAKE_SPREAD = 0.06

TYPICAL_BAG = Bag(
    (Wedge("60", 60.0), Wedge("50", 50.0), Wedge("55", 55.0)),
    (SwingLength("10:30", 135.0), SwingLength("7:30", 45.0), SwingLength("9:00", 90.0)),
)


def fake_carry_m(kind: ShotKind) -> float:
    """Less loft and a longer arc carry farther."""
    return 100.0 * (1.2 - 0.015 * (kind.loft_deg - 45.0)) * math.sin(math.radians(kind.swing_deg / 2.0))


def fake_carry_sd_m(kind: ShotKind) -> float:
    return FAKE_SPREAD * fake_carry_m(kind)


def fake_spin_rpm(kind: ShotKind) -> float:
    """More loft and a longer arc spin more."""
    return 60.0 * kind.loft_deg + 25.0 * kind.swing_deg


def fake_covariance(a: ShotKind, b: ShotKind) -> float:
    """Neighbouring shots are known together."""
    return 0.003 * math.exp(-abs(a.loft_deg - b.loft_deg) / 10.0 - abs(a.swing_deg - b.swing_deg) / 60.0)


def fake_count(kind: ShotKind) -> int:
    return 7


@dataclass(frozen=True)
class FakePredictor:
    """A player whose every property is a function of the kind of shot; see `Predictor`."""

    carry_m: Callable[[ShotKind], float] = fake_carry_m
    carry_sd_m: Callable[[ShotKind], float] = fake_carry_sd_m
    spin_rpm: Callable[[ShotKind], float] = fake_spin_rpm
    covariance: Callable[[ShotKind, ShotKind], float] = fake_covariance
    count: Callable[[ShotKind], int] = fake_count
    ball_log_variance: float = 0.01
    n_shots: int = 63
    n_sessions: int = 4
    drift_m: float = 0.0

    def predict(self, kinds: Sequence[ShotKind]) -> list[Prediction]:
        return [
            Prediction(
                kind=kind,
                carry_m=self.carry_m(kind),
                carry_sd_m=self.carry_sd_m(kind),
                carry_se_m=self.carry_m(kind) * math.sqrt(self.covariance(kind, kind)),
                spin_rpm=self.spin_rpm(kind),
                spin_sd_rpm=FAKE_SPIN_SD_RPM,
                spin_se_rpm=90.0,
                n_shots=self.count(kind),
                n_spin=2,
                support="measured" if kind.swing_deg == 90.0 else "between",
                spin_support="between",
            )
            for kind in kinds
        ]

    def _ball(self, kind: ShotKind) -> NormalDist:
        return NormalDist(self.carry_m(kind), self.carry_sd_m(kind))

    def carry_quantiles(self, kinds: Sequence[ShotKind], probabilities: Sequence[float]) -> Floats:
        return np.array([[self._ball(kind).inv_cdf(p) for p in probabilities] for kind in kinds])

    def spin_quantiles(self, kinds: Sequence[ShotKind], probabilities: Sequence[float]) -> Floats:
        spins = [NormalDist(self.spin_rpm(kind), FAKE_SPIN_SD_RPM) for kind in kinds]
        return np.array([[spin.inv_cdf(p) for p in probabilities] for spin in spins])

    def window_probability(self, kinds: Sequence[ShotKind], low_m: float, high_m: float) -> Floats:
        return np.array([self._ball(kind).cdf(high_m) - self._ball(kind).cdf(low_m) for kind in kinds])

    def sample(self, kinds: Sequence[ShotKind], n: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
        carry = [rng.normal(self.carry_m(kind), self.carry_sd_m(kind), n) for kind in kinds]
        spin = [rng.normal(self.spin_rpm(kind), FAKE_SPIN_SD_RPM, n) for kind in kinds]
        return np.array(carry), np.array(spin)

    def landing(self, kinds: Sequence[ShotKind], green: str = "normal") -> list[FlightEstimate]:
        mid_m = {"soft": 1.0, "normal": 2.0, "firm": 4.0}[green]
        return [
            FlightEstimate(
                land_deg=kind.loft_deg - 8.0,
                apex_m=self.carry_m(kind) / 4.0,
                air_time_s=3.5,
                land_speed_mps=20.0,
                land_spin_rpm=0.9 * self.spin_rpm(kind),
                run_out_low_m=mid_m - 1.5,
                run_out_m=mid_m,
                run_out_high_m=2.0 * mid_m,
                drift_m=self.drift_m,
                flight_support="measured" if kind.swing_deg == 90.0 else "estimate",
            )
            for kind in kinds
        ]

    def on(self, day: Day) -> "FakePredictor":
        """Tail wind and a green below carry farther, in round numbers; the correction adds doubt."""
        share = 1.0 + 0.01 * (day.conditions.wind_mps or 0.0) - 0.01 * day.rise_m
        return replace(
            self,
            carry_m=lambda kind: share * self.carry_m(kind),
            covariance=lambda a, b: self.covariance(a, b) + 0.0004,
            drift_m=day.conditions.cross_wind_mps or 0.0,
        )

    def _between(self, rows: Sequence[ShotKind], columns: Sequence[ShotKind]) -> Floats:
        return np.array([[self.covariance(a, b) for b in columns] for a in rows])

    def log_median_covariance(self, kinds: Sequence[ShotKind]) -> Floats:
        return self._between(kinds, kinds)

    def expected_covariance(
        self, kinds: Sequence[ShotKind], extra: Sequence[ShotKind], *, may_move: bool = False
    ) -> Floats:
        """Condition a joint normal on the extra balls, each read with the noise of one ball; the fake never moves."""
        del may_move
        balls = self._between(extra, extra) + self.ball_log_variance * np.eye(len(extra))
        across = self._between(kinds, extra)
        return self._between(kinds, kinds) - across @ np.linalg.solve(balls, across.T)


def as_predictor(fake: FakePredictor) -> Predictor:
    """Have the type checker hold the fake against the protocol."""
    return fake
