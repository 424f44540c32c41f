"""What must hold of every flight, and an independent integration of the same equations."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from wedgelab.physics.aero import AERO_SETS, BEARMAN_HARVEY, SMITS_SMITH, AeroSet
from wedgelab.physics.air import STANDARD_DENSITY_KG_M3, STANDARD_VISCOSITY_M2_S
from wedgelab.physics.ball import GRAVITY_MPS2, MASS_KG, RADIUS_M
from wedgelab.physics.flight import SPIN_DECAY, Flight, fly
from wedgelab.physics.impact import Launch, strike

FIELDS = ("carry_m", "apex_m", "time_s", "land_deg", "land_speed_mps", "land_spin_rpm")
BOTH_SETS = pytest.mark.parametrize("aero", AERO_SETS, ids=lambda aero: aero.name)


def constant(drag: float, lift: float) -> AeroSet:
    everywhere = (0.0, math.inf)
    return AeroSet("constant", lambda s, re: (0 * s * re + drag, 0 * s * re + lift), everywhere, everywhere, "a check")


def wedge_grid() -> Launch:
    # the wedge range: head speeds 8-36 m/s, delivered lofts 30-58 deg, dry contact
    return strike(np.linspace(8.0, 36.0, 15), np.linspace(30.0, 58.0, 15)[:, None])


def _fly_grid(aero: AeroSet, steps: int = 64) -> Flight:
    launch = wedge_grid()
    return fly(launch.ball_speed_mps, launch.launch_deg, launch.spin_rpm, aero=aero, steps=steps)


# --- against another integrator


def _dop853(aero: AeroSet, speed: float, launch: float, spin: float, wind: float) -> tuple[float, float, float]:
    """Carry, time and apex by scipy's DOP853 of the same equations, written out again in components."""

    def slope(_: float, at: np.ndarray) -> list[float]:
        ux, uy, omega = at[2] - wind, at[3], at[4]
        v = math.hypot(ux, uy)
        drag, lift = (
            float(c)
            for c in aero.coefficients(
                np.array(omega * RADIUS_M / v), np.array(2 * RADIUS_M * v / STANDARD_VISCOSITY_M2_S)
            )
        )
        pressure_area = 0.5 * STANDARD_DENSITY_KG_M3 * math.pi * RADIUS_M**2 * v
        ax = pressure_area * (-drag * ux - lift * uy) / MASS_KG
        ay = pressure_area * (-drag * uy + lift * ux) / MASS_KG - GRAVITY_MPS2
        return [at[2], at[3], ax, ay, -SPIN_DECAY * v * omega / RADIUS_M]

    def ground(_: float, at: np.ndarray) -> float:
        return float(at[1]) if at[3] < 0 else 1.0

    def top(_: float, at: np.ndarray) -> float:
        return float(at[3])

    ground.terminal = True  # type: ignore[attr-defined]  # scipy reads this attribute of the function
    angle = math.radians(launch)
    start = [0.0, 0.0, speed * math.cos(angle), speed * math.sin(angle), spin * math.pi / 30]
    done = solve_ivp(slope, (0.0, 20.0), start, "DOP853", events=(ground, top), rtol=1e-10, atol=1e-10)
    return float(done.y_events[0][0][0]), float(done.t_events[0][0]), float(done.y_events[1][0][1])


@BOTH_SETS
def test_an_independent_integration_gives_the_same_flight(aero: AeroSet) -> None:
    # scipy's DOP853, rtol 1e-10. Worst carry of the 30, measured: 0.0005 m for the smooth set,
    # 0.0011 m for the piecewise-linear one, whose kinks cost the integrator its fourth order
    rng = np.random.default_rng(20260603)
    speed, launch = rng.uniform(10, 40, 30), rng.uniform(22, 45, 30)
    spin, wind = rng.uniform(2000, 10000, 30), rng.uniform(-6, 6, 30)
    flight = fly(speed, launch, spin, aero=aero, wind_mps=wind)
    other = np.array([_dop853(aero, *row) for row in zip(speed, launch, spin, wind, strict=True)])
    assert np.abs(flight.carry_m - other[:, 0]).max() < 0.01
    assert np.abs(flight.time_s - other[:, 1]).max() < 0.001
    assert np.abs(flight.apex_m - other[:, 2]).max() < 0.01


@pytest.mark.parametrize(
    ("aero", "steps", "within_m"),
    [
        (SMITS_SMITH, 64, 0.001),
        # The set is piecewise linear: each kink that a step crosses costs the integrator its fourth order. Measured:
        # 0.0014 m at worst over the finer grid of 841 launches, above 0.001 m only for some carries beyond 68 m.
        (BEARMAN_HARVEY, 64, 0.002),
        (BEARMAN_HARVEY, 96, 0.001),
    ],
)
def test_halving_the_step_changes_no_carry(aero: AeroSet, steps: int, within_m: float) -> None:
    change_m = np.abs(_fly_grid(aero, steps).carry_m - _fly_grid(aero, 2 * steps).carry_m)
    assert change_m.max() < within_m


def test_many_short_steps_ran_out_before_a_long_flight_ended() -> None:
    # 40 m/s, 20 deg, 9750 rpm stays up more than twice as long as in a vacuum: 2000 steps were too few
    flight = fly(40.0, 20.0, 9750.0, steps=1024)
    assert flight.carry_m == pytest.approx(float(fly(40.0, 20.0, 9750.0).carry_m), abs=0.001)


# --- identities of the equations


@BOTH_SETS
def test_energy_is_never_gained(aero: AeroSet) -> None:
    launch, flight = wedge_grid(), _fly_grid(aero)
    assert (flight.land_speed_mps < launch.ball_speed_mps).all()
    assert (flight.apex_m < (launch.ball_speed_mps**2) / (2 * GRAVITY_MPS2)).all()


@pytest.mark.parametrize("factor", [0.5, 0.9, 1.3])
def test_density_and_mass_enter_only_as_their_quotient(factor: float) -> None:
    # exact when the coefficients do not depend on the Reynolds number
    aero = constant(0.40, 0.30)
    plain = fly(30.0, 30.0, 6000.0, aero=aero)
    scaled = fly(30.0, 30.0, 6000.0, aero=aero, density_kg_m3=STANDARD_DENSITY_KG_M3 * factor, mass_kg=MASS_KG * factor)
    for field in FIELDS:
        assert getattr(scaled, field) == pytest.approx(getattr(plain, field), rel=1e-12), field
    assert fly(30.0, 30.0, 6000.0, aero=aero, mass_kg=MASS_KG * factor).carry_m != pytest.approx(
        plain.carry_m, rel=1e-3
    )


@BOTH_SETS
@pytest.mark.parametrize("wind_mps", [-6.0, -2.0, 3.0, 6.0])
def test_wind_is_a_moving_frame(aero: AeroSet, wind_mps: float) -> None:
    # carry = [carry of the launch (vx - w, vy) in still air] + w T
    speed, launch = 27.0, 31.0
    vx, vy = speed * math.cos(math.radians(launch)), speed * math.sin(math.radians(launch))
    windy = fly(speed, launch, 7000.0, aero=aero, wind_mps=wind_mps)
    still = fly(math.hypot(vx - wind_mps, vy), math.degrees(math.atan2(vy, vx - wind_mps)), 7000.0, aero=aero)
    assert windy.carry_m == pytest.approx(still.carry_m + wind_mps * still.time_s, rel=1e-9)
    assert windy.apex_m == pytest.approx(still.apex_m, rel=1e-9)
    assert windy.time_s == pytest.approx(still.time_s, rel=1e-9)
    assert windy.land_spin_rpm == pytest.approx(still.land_spin_rpm, rel=1e-9)


@BOTH_SETS
def test_reversed_spin_reverses_lift_only(aero: AeroSet) -> None:
    top = fly(30.0, 30.0, -6000.0, aero=aero)
    sinking = fly(30.0, 30.0, 6000.0, aero=aero, lift_scale=-1.0)
    for field in FIELDS[:-1]:
        assert getattr(top, field) == pytest.approx(getattr(sinking, field), rel=1e-12), field
    assert top.land_spin_rpm == pytest.approx(-sinking.land_spin_rpm, rel=1e-12)
    assert top.carry_m < fly(30.0, 30.0, 6000.0, aero=aero).carry_m - 5


@BOTH_SETS
def test_no_drag_and_no_lift_is_the_vacuum(aero: AeroSet) -> None:
    flight = fly(30.0, 30.0, 6000.0, aero=aero, drag_scale=0.0, lift_scale=0.0)
    assert flight.carry_m == pytest.approx(30**2 * math.sin(math.radians(60)) / GRAVITY_MPS2, abs=1e-6)


def test_scales_multiply_the_coefficients() -> None:
    scaled = fly(30.0, 30.0, 6000.0, aero=constant(0.20, 0.15), drag_scale=2.0, lift_scale=2.0)
    assert scaled.carry_m == pytest.approx(float(fly(30.0, 30.0, 6000.0, aero=constant(0.40, 0.30)).carry_m), rel=1e-12)


# --- arrays


@BOTH_SETS
def test_one_ball_an_array_and_a_grid_fly_alike(aero: AeroSet) -> None:
    speed, launch, spin = np.array([15.0, 25.0, 35.0]), np.array([[28.0], [40.0]]), 6000.0
    grid = fly(speed, launch, spin, aero=aero, wind_mps=[[[0.0]], [[-3.0]]])
    assert grid.carry_m.shape == (2, 2, 3)
    for place in np.ndindex(2, 2, 3):
        w, i, j = place
        one = fly(float(speed[j]), float(launch[i, 0]), spin, aero=aero, wind_mps=(0.0, -3.0)[w])
        assert one.carry_m.shape == ()
        for field in FIELDS:
            assert getattr(grid, field)[place] == pytest.approx(float(getattr(one, field)), rel=1e-13), field


def test_no_balls_at_all() -> None:
    assert fly([], [], []).carry_m.shape == (0,)


@BOTH_SETS
@pytest.mark.parametrize(
    "name",
    ["ball_speed_mps", "launch_deg", "spin_rpm", "density_kg_m3", "viscosity_m2_s", "wind_mps", "landing_level_m",
     "drag_scale", "lift_scale"],
)  # fmt: skip
def test_nan_gives_nan_and_leaves_the_others_alone(aero: AeroSet, name: str) -> None:
    plain = {
        "ball_speed_mps": 25.0, "launch_deg": 32.0, "spin_rpm": 6000.0, "density_kg_m3": 1.2, "viscosity_m2_s": 1.5e-5,
        "wind_mps": 1.0, "landing_level_m": -0.5, "drag_scale": 1.0, "lift_scale": 1.0,
    }  # fmt: skip
    alone = fly(**plain, aero=aero)  # type: ignore[arg-type]  # a dict of floats stands for the numbers only
    three = fly(**plain | {name: np.array([plain[name], np.nan, plain[name]])}, aero=aero)  # type: ignore[arg-type]  # as above
    for field in FIELDS:
        assert np.isnan(getattr(three, field)).tolist() == [False, True, False], field
        assert getattr(three, field)[[0, 2]] == pytest.approx(float(getattr(alone, field)), rel=1e-13), field


@pytest.mark.parametrize(("speed", "launch"), [(0.0, 30.0), (30.0, 0.0), (30.0, -5.0)])
def test_a_ball_that_does_not_rise_has_no_flight(speed: float, launch: float) -> None:
    assert np.isnan(fly(speed, launch, 5000.0).carry_m)
