"""What weather does to a stock wedge flight: facts that everybody on a range knows, for every coefficient set."""

import math
from typing import TypedDict

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from wedgelab.physics.aero import AERO_SETS, BEARMAN_HARVEY_HEXAGONAL, MIDDLE, SMITS_SMITH, AeroSet
from wedgelab.physics.air import kinematic_viscosity_m2_s, moist_air_density_kg_m3, pressure_at_altitude_hpa
from wedgelab.physics.flight import fly

Array = NDArray[np.float64]
EVERY_SET = pytest.mark.parametrize("aero", [*AERO_SETS, MIDDLE], ids=lambda aero: aero.name)


class Air(TypedDict):
    density_kg_m3: float
    viscosity_m2_s: float


def air(celsius: float = 15.0, height_m: float = 0.0) -> Air:
    density = float(moist_air_density_kg_m3(celsius, pressure_at_altitude_hpa(height_m), 50.0))
    return Air(density_kg_m3=density, viscosity_m2_s=float(kinematic_viscosity_m2_s(celsius, density)))


# stock flights: 28-40 m/s, 28-40 deg, 5000-9500 rpm
STOCK = tuple(np.meshgrid(np.linspace(28, 40, 7), np.linspace(28, 40, 7), np.linspace(5000, 9500, 7), indexing="ij"))


def carry(
    aero: AeroSet, launch: "tuple[Array, ...]", *, wind: float = 0.0, celsius: float = 15.0, height_m: float = 0.0
) -> Array:
    speed, angle, spin = launch
    return fly(speed, angle, spin, aero=aero, wind_mps=wind, **air(celsius, height_m)).carry_m


def one(speed: float, angle: float, spin: float) -> "tuple[Array, ...]":
    return np.array(speed), np.array(angle), np.array(spin)


# --- facts: common practice of the trade, no source; the physics is that thin air drags less


@EVERY_SET
def test_a_stock_shot_carries_farther_the_higher_the_place(aero: AeroSet) -> None:
    by_height = np.array([carry(aero, STOCK, height_m=h) for h in (0, 500, 1000, 2000, 3000)])
    assert (np.diff(by_height, axis=0) > 0.05).all()


@EVERY_SET
def test_a_stock_shot_carries_less_in_the_cold_and_farther_in_the_heat(aero: AeroSet) -> None:
    flies = np.array([carry(aero, STOCK, celsius=t) for t in (-5, 5, 15, 25, 35)])
    gains = np.diff(flies, axis=0) > 0
    if aero is not BEARMAN_HARVEY_HEXAGONAL:
        assert gains.all()
        return
    # The drag of the hexagonal ball climbs steeply as the air gets thicker to it (lower Reynolds number), and warm air
    # is both thinner and thicker in that sense: for flights that are slow and low the second wins. They make up a
    # small corner of the stock range, at up to 35 m/s and up to 38 deg, and what is lost is small.
    speed, angle, _ = STOCK
    assert gains[:, (speed > 35) | (angle > 38)].all()
    assert 0.005 < np.mean(~gains) < 0.06
    assert np.diff(flies, axis=0).min() > -0.5


@EVERY_SET
@pytest.mark.parametrize("wind", [1.0, 2.0, 4.0, 6.0])
def test_a_head_wind_costs_a_stock_shot_more_than_the_same_tail_wind_gives(aero: AeroSet, wind: float) -> None:
    still = carry(aero, STOCK)
    lost, gained = still - carry(aero, STOCK, wind=-wind), carry(aero, STOCK, wind=wind) - still
    assert (lost > 0).all()
    # a parabola in the wind: the difference grows with its square (seen: 0.07 to 0.23 of it)
    assert (lost - gained > 0.06 * wind**2).all()
    # 6 m/s from behind give nothing at the corner of 28 m/s and 28 deg in the set that has most lift: see below
    corner = (STOCK[0] == 28) & (STOCK[1] == 28) & (aero is SMITS_SMITH) & (wind == 6)
    assert (gained[~corner] > 0).all()


# --- and where they end: low flights, which lift carries. Each line is one flight whose sign turns.


@pytest.mark.parametrize("aero", AERO_SETS, ids=lambda aero: aero.name)
def test_a_low_flight_carries_less_in_thin_air_and_in_the_heat(aero: AeroSet) -> None:
    # it lives on its lift: denser air holds it up for longer than it brakes it
    low, stock = one(25.0, 15.0, 4000.0), one(32.0, 34.0, 7000.0)
    assert carry(aero, low, height_m=2000) < carry(aero, low) - 0.3
    assert carry(aero, stock, height_m=2000) > carry(aero, stock) + 0.3
    assert carry(aero, low, celsius=35) < carry(aero, low)


@pytest.mark.parametrize("aero", AERO_SETS, ids=lambda aero: aero.name)
def test_a_low_flight_with_much_spin_carries_less_with_the_wind_and_farther_against_it(aero: AeroSet) -> None:
    low = one(25.0, 15.0, 6000.0)
    assert carry(aero, low, wind=-4.0) > carry(aero, low) + 0.3 > carry(aero, low, wind=4.0) + 0.3


@pytest.mark.parametrize("aero", AERO_SETS, ids=lambda aero: aero.name)
def test_a_slow_and_low_flight_gains_more_with_the_wind_than_it_loses_against_it(aero: AeroSet) -> None:
    slow = one(20.0, 15.0, 2000.0)
    still = carry(aero, slow)
    assert still - carry(aero, slow, wind=-4.0) < carry(aero, slow, wind=4.0) - still


# --- size of the corrections for 70 yards, 64.0 m: a band over four coefficient sets, computed (references, section 3).
# They were four other variants of the published coefficients than the three here, which alone reach beyond it, each on
# its own side; the mean of the three lies inside.

BANDS = {  # weather, and the change of carry [m]
    "5 C": (-0.6, -0.3),
    "35 C": (0.7, 1.2),
    "1000 m": (1.0, 1.9),
    "2000 m": (1.9, 3.5),
    "head wind 4 m/s": (-4.9, -2.4),
    "tail wind 4 m/s": (0.8, 3.1),
}
SEVENTY_YD_M = 70 * 0.9144
LAUNCHES = [(angle, spin) for angle in (30.0, 32.0, 34.0) for spin in (5500.0, 6750.0, 8000.0)]


def speed_for(carry_m: float, aero: AeroSet, angle: float, spin: float) -> float:
    return float(brentq(lambda v: float(carry(aero, one(v, angle, spin))) - carry_m, 5.0, 60.0, xtol=1e-9))


def changes(aero: AeroSet, angle: float, spin: float) -> list[float]:
    ball = one(speed_for(SEVENTY_YD_M, aero, angle, spin), angle, spin)
    flies = [
        carry(aero, ball, celsius=5.0), carry(aero, ball, celsius=35.0), carry(aero, ball, height_m=1000.0),
        carry(aero, ball, height_m=2000.0), carry(aero, ball, wind=-4.0), carry(aero, ball, wind=4.0),
    ]  # fmt: skip
    return [float(c) - SEVENTY_YD_M for c in flies]


@pytest.fixture(scope="module")
def by_set_and_launch() -> Array:
    return np.array([[changes(aero, *launch) for launch in LAUNCHES] for aero in AERO_SETS])


def test_the_mean_of_the_corrections_lies_in_the_published_band(by_set_and_launch: Array) -> None:
    # seen: -0.49, +0.97, +1.61, +3.10, -3.89, +2.23 m over all launches; in the middle of them -0.50, +0.81, +1.48,
    # +2.91, -3.90, +2.22 m. Launches at the rim of the nine have means up to 0.13 m outside a band (2000 m, 34 deg).
    for mean in (
        by_set_and_launch.mean(axis=(0, 1)),
        by_set_and_launch[:, LAUNCHES.index((32.0, 6750.0))].mean(axis=0),
    ):
        for (what, (low, high)), seen in zip(BANDS.items(), mean, strict=True):
            assert low < seen < high, (what, seen)


def test_each_set_has_corrections_of_the_published_size(by_set_and_launch: Array) -> None:
    # Means over the launches, one set at a time, in the order of BANDS:
    # Smits & Smith  -0.62 +1.08 +1.45 +2.56 -2.64 +0.82; conventional  -0.73 +1.40 +2.19 +4.17 -4.91 +3.32;
    # hexagonal  -0.13 +0.42 +1.19 +2.55 -4.11 +2.56. The first leaves one band, the second all, the third both of
    # temperature, none by as much as the band is wide.
    for rows in by_set_and_launch.mean(axis=1):
        for (what, (low, high)), seen in zip(BANDS.items(), rows, strict=True):
            assert low - (high - low) < seen < high + (high - low), (what, seen)
            assert math.copysign(1, low) == math.copysign(1, seen), (what, seen)


def test_one_percent_of_ball_speed_is_about_one_and_a_half_of_carry_at_70_yards() -> None:
    # d ln R / d ln V at 64 m is 1.5-1.7, computed over coefficient sets
    exponents = np.array([[exponent(SEVENTY_YD_M, aero, *launch) for launch in LAUNCHES] for aero in AERO_SETS])
    assert (exponents.mean(axis=0) > 1.5).all()
    assert (exponents.mean(axis=0) < 1.7).all()
    assert ((exponents > 1.4) & (exponents < 1.77)).all()  # one set and one launch at a time


def exponent(carry_m: float, aero: AeroSet, angle: float, spin: float) -> float:
    speed = speed_for(carry_m, aero, angle, spin)
    slow, fast = (float(carry(aero, one(speed * k, angle, spin))) for k in (0.99, 1.01))
    return math.log(fast / slow) / math.log(1.01 / 0.99)


@pytest.mark.parametrize(("yards", "published"), [(15, 1.95), (41, 1.86), (60, 1.74), (81, 1.57), (100, 1.32)])
def test_carry_exponent_of_smits_smith_falls_with_distance(yards: float, published: float) -> None:
    # R ~ V^n, computed with the Smits & Smith form; its launches are not told. Those of stock shots lie around it.
    seen = [exponent(yards * 0.9144, SMITS_SMITH, angle, 8000.0) for angle in (30.0, 35.0, 40.0)]
    assert min(seen) - 0.01 < published < max(seen) + 0.01
    assert np.mean(seen) == pytest.approx(published, abs=0.15)
