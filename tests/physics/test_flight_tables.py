"""The flight model against closed forms and computed tables (ball 45.93 g, 42.67 mm; density 1.225 kg/m3)."""

import math
from typing import TYPE_CHECKING, Final, TypedDict

import numpy as np
import pytest
from scipy.special import lambertw

from wedgelab.physics.aero import AeroSet
from wedgelab.physics.flight import fly

if TYPE_CHECKING:
    from numpy.typing import NDArray

G = 9.80665
MASS_KG: Final = 0.04593
RADIUS_M: Final = 0.04267 / 2
AREA_M2: Final = math.pi * RADIUS_M**2
DENSITY_KG_M3: Final = 1.225
VISCOSITY_M2_S: Final = 1.46e-5
EVERYWHERE: Final = ((0.0, math.inf), (0.0, math.inf))


def constant(drag: float, lift: float) -> AeroSet:
    return AeroSet("constant", lambda s, re: (0 * s * re + drag, 0 * s * re + lift), *EVERYWHERE, "made for a check")


def linear_drag(rate_per_s: float) -> AeroSet:
    # drag of -rate v: C_D = 2 m rate / (rho A V), with the speed V = Re nu / (2 r)

    def coefficients(
        s: "NDArray[np.float64]", re: "NDArray[np.float64]"
    ) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
        speed = re * VISCOSITY_M2_S / (2 * RADIUS_M)
        return 2 * MASS_KG * rate_per_s / (DENSITY_KG_M3 * AREA_M2 * speed), np.zeros_like(speed)

    return AeroSet("linear drag", coefficients, *EVERYWHERE, "made for a check")


SMITS_SMITH_WITHOUT_RE: Final = AeroSet(
    "Smits & Smith without the Reynolds term",
    lambda s, re: (0.24 + 0.18 * s + 0.0 * re, 0.54 * s**0.4 + 0.0 * re),
    *EVERYWHERE,
    "made for a check",
)


class _Ball(TypedDict):
    mass_kg: float
    radius_m: float
    density_kg_m3: float
    viscosity_m2_s: float


BALL = _Ball(mass_kg=MASS_KG, radius_m=RADIUS_M, density_kg_m3=DENSITY_KG_M3, viscosity_m2_s=VISCOSITY_M2_S)


# vacuum, R = v^2 sin(2 theta)/g and its kin: speed, launch, carry, apex, time; closed form, computed
@pytest.mark.parametrize(
    ("speed", "launch", "carry_m", "apex_m", "time_s"),
    [(30, 30, 79.479013, 11.471807, 3.059149), (20, 40, 40.168977, 8.426444, 2.621844)],
)
def test_vacuum(speed: float, launch: float, carry_m: float, apex_m: float, time_s: float) -> None:
    flight = fly(speed, launch, 5000, aero=constant(0, 0), spin_decay=0, **BALL)
    assert flight.carry_m == pytest.approx(carry_m, abs=1e-6)
    assert flight.apex_m == pytest.approx(apex_m, abs=1e-6)
    assert flight.time_s == pytest.approx(time_s, abs=1e-6)
    assert flight.land_deg == pytest.approx(launch, abs=1e-9)  # a parabola comes down as it went up
    assert flight.land_speed_mps == pytest.approx(speed, abs=1e-9)
    assert flight.land_spin_rpm == pytest.approx(5000)


def test_vacuum_landing_3_m_below() -> None:
    # closed form, computed
    flight = fly(30, 30, 0, aero=constant(0, 0), landing_level_m=-3.0, **BALL)
    assert flight.carry_m == pytest.approx(84.373725, abs=1e-6)
    assert flight.time_s == pytest.approx(3.247546, abs=1e-6)
    assert flight.land_speed_mps == pytest.approx(math.sqrt(30**2 + 2 * G * 3), abs=1e-9)  # energy is kept


@pytest.mark.parametrize("level_m", [0.1, 5.0, 11.4, 11.4718])
def test_vacuum_landing_on_higher_ground(level_m: float) -> None:
    time_s = (15 + math.sqrt(15**2 - 2 * G * level_m)) / G  # closed form
    flight = fly(30, 30, 0, aero=constant(0, 0), landing_level_m=level_m, **BALL)
    assert flight.time_s == pytest.approx(time_s, abs=1e-6)
    assert flight.carry_m == pytest.approx(30 * math.cos(math.pi / 6) * time_s, abs=1e-5)


def test_a_ball_whose_arc_stays_below_the_landing_level_gave_a_carry_and_is_nan_now() -> None:
    # the vacuum apex of 30 m/s at 30 deg is 11.4718 m
    flight = fly(30, 30, 0, aero=constant(0, 0), landing_level_m=[5.0, 11.48, 50.0], **BALL)
    for field in ("carry_m", "apex_m", "time_s", "land_deg", "land_speed_mps", "land_spin_rpm"):
        assert np.isnan(getattr(flight, field)).tolist() == [False, True, True], field


@pytest.mark.parametrize(
    ("speed", "launch", "rate", "time_s", "carry_m", "apex_m"),
    [(30, 30, 0.2, 2.79930033, 55.69119237, 9.56418637), (20, 45, 0.3, 2.55975192, 25.26848203, None)],
)
def test_linear_drag(
    speed: float, launch: float, rate: float, time_s: float, carry_m: float, apex_m: float | None
) -> None:
    # a = -k v - g j; closed form with Lambert W, here with scipy's: u = 1 + k vy0/g, kT = u + W0(-u e^-u)
    vx, vy = speed * math.cos(math.radians(launch)), speed * math.sin(math.radians(launch))
    u = 1 + rate * vy / G
    closed_time_s = (u + float(lambertw(-u * math.exp(-u)).real)) / rate
    closed_carry_m = vx * (1 - math.exp(-rate * closed_time_s)) / rate
    closed_apex_m = vy / rate - G / rate**2 * math.log(u)
    flight = fly(speed, launch, 0, aero=linear_drag(rate), **BALL)
    assert flight.time_s == pytest.approx(closed_time_s, abs=1e-6)
    assert flight.carry_m == pytest.approx(closed_carry_m, abs=1e-5)
    assert flight.apex_m == pytest.approx(closed_apex_m, abs=1e-5)
    # the same as printed numbers, computed
    assert flight.time_s == pytest.approx(time_s, abs=1e-6)
    assert flight.carry_m == pytest.approx(carry_m, abs=1e-5)
    assert apex_m is None or flight.apex_m == pytest.approx(apex_m, abs=1e-5)


# constant coefficients, no spin decay: scipy DOP853, rtol 1e-10 (Radau and LSODA agree to 4 decimals); computed
CONSTANT_ROWS = [
    # C_D, C_L, v, theta, carry m, apex m, T s, descent deg, v_land
    (0.25, 0.00, 30, 30, 63.3553, 10.1467, 2.8737, 35.4277, 23.1147),
    (0.30, 0.20, 20, 35, 35.5074, 6.8860, 2.4738, 39.2559, 16.9614),
    (0.40, 0.30, 30, 30, 67.1687, 13.1109, 3.6435, 41.9267, 20.0748),
    (0.40, 0.30, 40, 25, 99.8801, 19.1612, 4.5917, 43.8138, 22.2036),
    (0.45, 0.40, 30, 30, 66.7980, 14.0952, 3.8565, 44.1008, 19.4104),
]


@pytest.mark.parametrize(
    ("drag", "lift", "speed", "launch", "carry_m", "apex_m", "time_s", "land_deg", "land_mps"), CONSTANT_ROWS
)
# velocities are read off straight lines inside the last step: exact to the table's last digit only with short steps
@pytest.mark.parametrize(("steps", "within_deg", "within_mps"), [(64, 0.002, 5e-4), (1024, 1e-4, 1e-4)])
def test_constant_coefficients(
    drag: float, lift: float, speed: float, launch: float, carry_m: float, apex_m: float, time_s: float,
    land_deg: float, land_mps: float, steps: int, within_deg: float, within_mps: float,
) -> None:  # fmt: skip
    flight = fly(speed, launch, 5000, aero=constant(drag, lift), spin_decay=0, steps=steps, **BALL)
    assert flight.carry_m == pytest.approx(carry_m, abs=1e-4)
    assert flight.apex_m == pytest.approx(apex_m, abs=1e-4)
    assert flight.time_s == pytest.approx(time_s, abs=1e-4)
    assert flight.land_deg == pytest.approx(land_deg, abs=within_deg)
    assert flight.land_speed_mps == pytest.approx(land_mps, abs=within_mps)


@pytest.mark.parametrize(("wind_mps", "carry_m"), [(-5, 61.4995), (0, 67.1687), (5, 70.7067)])
def test_wind(wind_mps: float, carry_m: float) -> None:
    # C_D 0.40, C_L 0.30, 30 m/s, 30 deg; computed, as the table above
    flight = fly(30, 30, 5000, aero=constant(0.40, 0.30), spin_decay=0, wind_mps=wind_mps, **BALL)
    assert flight.carry_m == pytest.approx(carry_m, abs=1e-4)


# Smits & Smith 1994 (as quoted in later literature) without its Reynolds term, lambda 2e-5: a check of the program
# only, outside the range for which it was stated; computed: speed, launch, spin, carry, apex, landing spin
@pytest.mark.parametrize(
    ("speed", "launch", "spin", "carry_m", "apex_m", "land_rpm"),
    [
        (38, 28, 9000, 102.8721, 26.3400, 8056.7),
        (30, 30, 8000, 74.0404, 16.2577, 7405.1),
        (25, 32, 7000, 55.0453, None, None),
        (20, 35, 6000, 37.0896, None, None),
        (15, 40, 4500, 21.7744, None, None),
    ],
)
def test_smits_smith_without_reynolds_term(
    speed: float, launch: float, spin: float, carry_m: float, apex_m: float | None, land_rpm: float | None
) -> None:
    flight = fly(speed, launch, spin, aero=SMITS_SMITH_WITHOUT_RE, spin_decay=2.0e-5, **BALL)
    assert flight.carry_m == pytest.approx(carry_m, abs=1e-4)
    assert apex_m is None or flight.apex_m == pytest.approx(apex_m, abs=1e-4)
    assert land_rpm is None or flight.land_spin_rpm == pytest.approx(land_rpm, abs=0.05)


def test_spin_decay_at_a_known_speed() -> None:
    # omega = omega0 exp(-lambda L / r) for the length of path L through the air: in a vacuum parabola L is known.
    # At a constant 30 m/s for 1 s the same law gives 8000 -> 7778.15 rpm (r 0.021335 m), computed
    assert 8000 * math.exp(-2.0e-5 * 30 * 1 / 0.021335) == pytest.approx(7778.15, abs=0.005)
    vx, vy = 30 * math.cos(math.radians(30)), 30 * math.sin(math.radians(30))
    half = (vx**2 / (2 * G)) * (vy / vx * math.sqrt(1 + (vy / vx) ** 2) + math.asinh(vy / vx))
    flight = fly(30, 30, 8000, aero=constant(0, 0), spin_decay=2.0e-5, **BALL)
    assert flight.land_spin_rpm == pytest.approx(8000 * math.exp(-2.0e-5 * 2 * half / RADIUS_M), abs=0.01)


def test_spin_decay_time_constant() -> None:
    # tau = r/(lambda V) = 23.82 s at 44.704 m/s and r 0.0213 m, computed; a flat, fast vacuum flight keeps its speed
    flight = fly(44.704, 1.0, 8000, aero=constant(0, 0), spin_decay=2.0e-5, radius_m=0.0213)
    assert -flight.time_s / np.log(flight.land_spin_rpm / 8000) == pytest.approx(23.82, abs=0.01)
