"""What must hold of every flight, whatever the coefficients (another integrator: test_flight_dop853.py)."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wedgelab.physics.aero import AERO_SETS, BEARMAN_HARVEY, BEARMAN_HARVEY_HEXAGONAL, MIDDLE, SMITS_SMITH, AeroSet
from wedgelab.physics.air import STANDARD_DENSITY_KG_M3
from wedgelab.physics.ball import GRAVITY_MPS2, MASS_KG
from wedgelab.physics.flight import Flight, fly
from wedgelab.physics.impact import Launch, strike

FIELDS = tuple(Flight.__dataclass_fields__)
EVERY_SET = pytest.mark.parametrize("aero", [*AERO_SETS, MIDDLE], ids=lambda aero: aero.name)
A_SET = st.sampled_from(AERO_SETS)


def constant(drag: float, lift: float) -> AeroSet:
    everywhere = (0.0, math.inf)
    return AeroSet("constant", lambda s, re: (0 * s * re + drag, 0 * s * re + lift), everywhere, everywhere, "a check")


def wedge_grid() -> Launch:
    # the wedge range: head speeds 8-36 m/s, delivered lofts 30-58 deg, dry contact
    return strike(np.linspace(8.0, 36.0, 15), np.linspace(30.0, 58.0, 15)[:, None])


def same(one: Flight, other: Flight, rel: float = 1e-9, *, but: tuple[str, ...] = ()) -> None:
    for field in FIELDS:
        if field not in but:
            assert getattr(one, field) == pytest.approx(getattr(other, field), rel=rel, abs=1e-11), field


# --- steps


def _halving_changes(aero: AeroSet, steps: int) -> float:
    launch = wedge_grid()
    coarse, fine = (
        fly(launch.ball_speed_mps, launch.launch_deg, launch.spin_rpm, aero=aero, steps=n).carry_m
        for n in (steps, 2 * steps)
    )
    return float(np.abs(coarse - fine).max())


# Measured over the wedge range with the default steps: 0.00011, 0.00011, 0.00060 and 0.00026 m
@pytest.mark.parametrize(
    ("aero", "within_m"),
    [(SMITS_SMITH, 2e-4), (BEARMAN_HARVEY, 2e-4), (BEARMAN_HARVEY_HEXAGONAL, 8e-4), (MIDDLE, 4e-4)],
)
def test_halving_the_step_changes_no_carry(aero: AeroSet, within_m: float) -> None:
    assert _halving_changes(aero, 8) < within_m
    # fourth order would make it 16 times less; the rounded corners of the coefficients leave 5.6 to 11
    assert _halving_changes(aero, 16) < _halving_changes(aero, 8) / 5


def test_order_of_the_integrator_with_smooth_coefficients() -> None:
    flight = [fly(40.0, 30.0, 6000.0, aero=constant(0.35, 0.25), steps=n).carry_m for n in (16, 32, 64)]
    assert abs(flight[0] - flight[1]) / abs(flight[1] - flight[2]) == pytest.approx(16, rel=0.2)


def test_many_short_steps_ran_out_before_a_long_flight_ended() -> None:
    # 40 m/s, 20 deg, 9750 rpm stays up more than twice as long as in a vacuum: 2000 steps were too few
    flight = fly(40.0, 20.0, 9750.0, steps=1024)
    assert flight.carry_m == pytest.approx(float(fly(40.0, 20.0, 9750.0).carry_m), abs=0.001)


# --- identities of the equations


@EVERY_SET
def test_energy_is_never_gained(aero: AeroSet) -> None:
    # on the way down: the same flight, stopped at lower and lower ground
    launch = wedge_grid()
    speed, angle, spin = (part[..., None] for part in (launch.ball_speed_mps, launch.launch_deg, launch.spin_rpm))
    levels = -np.arange(0.0, 41.0, 2.0)
    flight = fly(speed, angle, spin, aero=aero, landing_level_m=levels)
    energy = flight.land_speed_mps**2 / 2 + GRAVITY_MPS2 * levels
    assert (energy < speed**2 / 2).all()
    assert (np.diff(energy, axis=-1) < 0).all()
    assert (flight.apex_m < (speed * np.sin(np.radians(angle))) ** 2 / GRAVITY_MPS2 * 1.1).all()


@pytest.mark.parametrize("factor", [0.5, 0.9, 1.3])
def test_density_and_mass_enter_only_as_their_quotient(factor: float) -> None:
    # exact when the coefficients do not depend on the Reynolds number
    aero = constant(0.40, 0.30)
    plain = fly(30.0, 30.0, 6000.0, aero=aero)
    heavy = fly(30.0, 30.0, 6000.0, aero=aero, mass_kg=MASS_KG * factor)
    scaled = fly(30.0, 30.0, 6000.0, aero=aero, density_kg_m3=STANDARD_DENSITY_KG_M3 * factor, mass_kg=MASS_KG * factor)
    same(scaled, plain, 1e-12)
    assert heavy.carry_m != pytest.approx(plain.carry_m, rel=1e-3)


@settings(max_examples=50, deadline=None)  # the machine may be busy
@given(A_SET, st.floats(10, 45), st.floats(15, 60), st.floats(0, 12_000), st.floats(-8, 8))
def test_wind_is_a_moving_frame(aero: AeroSet, speed: float, launch: float, spin: float, wind: float) -> None:
    # carry = [carry of the launch (vx - w, vy) in still air] + w T
    vx, vy = speed * math.cos(math.radians(launch)), speed * math.sin(math.radians(launch))
    windy = fly(speed, launch, spin, aero=aero, wind_mps=wind)
    still = fly(math.hypot(vx - wind, vy), math.degrees(math.atan2(vy, vx - wind)), spin, aero=aero)
    assert windy.carry_m == pytest.approx(still.carry_m + wind * still.time_s, rel=1e-9, abs=1e-9)
    same(windy, still, but=("carry_m", "land_deg", "land_speed_mps"))


@settings(max_examples=50, deadline=None)  # the machine may be busy
@given(A_SET, st.floats(10, 45), st.floats(15, 60), st.floats(0, 12_000), st.floats(-8, 8), st.floats(-8, 8))
def test_cross_wind_on_a_ball_that_spins_like_a_top_is_a_turned_frame(
    aero: AeroSet, speed: float, launch: float, spin: float, wind: float, cross: float
) -> None:
    # With the axis upright the equations know no direction of the compass. In the frame of the wind the launch points
    # along (vx - w, -c): the flight in still air, turned there and carried along by the wind, with its sideways curve
    vx, vy = speed * math.cos(math.radians(launch)), speed * math.sin(math.radians(launch))
    level = math.hypot(vx - wind, cross)
    ahead, right = (vx - wind) / level, -cross / level
    windy = fly(speed, launch, spin, aero=aero, wind_mps=wind, cross_wind_mps=cross, spin_axis_deg=90)
    still = fly(math.hypot(level, vy), math.degrees(math.atan2(vy, level)), spin, aero=aero, spin_axis_deg=90)
    x, z, time_s = float(still.carry_m), float(still.offline_m), float(still.time_s)
    assert windy.carry_m == pytest.approx(x * ahead - z * right + wind * time_s, rel=1e-8, abs=1e-8)
    assert windy.offline_m == pytest.approx(x * right + z * ahead + cross * time_s, rel=1e-8, abs=1e-8)
    same(windy, still, 1e-8, but=("carry_m", "offline_m", "land_deg", "land_speed_mps"))


@EVERY_SET
@pytest.mark.parametrize("cross", [2.0, 6.0])
def test_cross_wind_without_lift_is_drag_in_the_moving_frame(aero: AeroSet, cross: float) -> None:
    # without lift the flight stays in the plane of its start through the air: offline is c T less what it flies left
    vx, vy = 28.0 * math.cos(math.radians(32)), 28.0 * math.sin(math.radians(32))
    windy = fly(28.0, 32.0, 6000.0, aero=aero, lift_scale=0.0, cross_wind_mps=cross)
    level = math.hypot(vx, cross)
    still = fly(math.hypot(level, vy), math.degrees(math.atan2(vy, level)), 6000.0, aero=aero, lift_scale=0.0)
    assert windy.carry_m == pytest.approx(still.carry_m * vx / level, rel=1e-9)
    assert windy.offline_m == pytest.approx(cross * (still.time_s - still.carry_m / level), rel=1e-8)


@settings(max_examples=50, deadline=None)  # the machine may be busy
@given(
    A_SET, st.floats(8, 45), st.floats(10, 65), st.floats(0, 12_000), st.floats(-10, 10), st.floats(-10, 10),
    st.floats(-80, 80),
)  # fmt: skip
def test_mirror(
    aero: AeroSet, speed: float, launch: float, spin: float, wind: float, cross: float, tilt: float
) -> None:
    right, left = (
        fly(speed, launch, spin, aero=aero, wind_mps=wind, cross_wind_mps=side * cross, spin_axis_deg=side * tilt)
        for side in (1, -1)
    )
    same(right, left, 1e-12, but=("offline_m",))
    assert right.offline_m == pytest.approx(-left.offline_m, rel=1e-12, abs=1e-12)


@settings(max_examples=50, deadline=None)  # the machine may be busy
@given(A_SET, st.floats(15, 40), st.floats(20, 50), st.floats(2000, 10_000), st.floats(1, 60))
def test_a_tilted_axis_curves_the_ball_to_its_side(
    aero: AeroSet, speed: float, launch: float, spin: float, tilt: float
) -> None:
    plain = fly(speed, launch, spin, aero=aero)
    tilted = fly(speed, launch, spin, aero=aero, spin_axis_deg=tilt)
    assert plain.offline_m == 0.0
    assert tilted.offline_m > 0.0
    assert tilted.apex_m < plain.apex_m  # the lift that pulls sideways no longer holds up
    more = fly(speed, launch, spin, aero=aero, spin_axis_deg=tilt + 1)
    assert tilt > 45 or more.offline_m > tilted.offline_m


@settings(max_examples=50, deadline=None)  # the machine may be busy
@given(A_SET, st.floats(15, 40), st.floats(20, 50), st.floats(0, 10_000), st.floats(0.1, 10))
def test_cross_wind_from_the_left_takes_a_ball_to_the_right_slower_than_itself(
    aero: AeroSet, speed: float, launch: float, spin: float, cross: float
) -> None:
    flight = fly(speed, launch, spin, aero=aero, cross_wind_mps=cross)
    assert 0.0 < flight.offline_m < cross * flight.time_s


@EVERY_SET
def test_reversed_spin_reverses_lift_only(aero: AeroSet) -> None:
    top = fly(30.0, 30.0, -6000.0, aero=aero)
    sinking = fly(30.0, 30.0, 6000.0, aero=aero, lift_scale=-1.0)
    same(top, sinking, 1e-12, but=("land_spin_rpm",))
    assert top.land_spin_rpm == pytest.approx(-sinking.land_spin_rpm, rel=1e-12)
    assert top.carry_m < fly(30.0, 30.0, 6000.0, aero=aero).carry_m - 5


@EVERY_SET
def test_no_drag_and_no_lift_is_the_vacuum(aero: AeroSet) -> None:
    flight = fly(30.0, 30.0, 6000.0, aero=aero, drag_scale=0.0, lift_scale=0.0)
    assert flight.carry_m == pytest.approx(30**2 * math.sin(math.radians(60)) / GRAVITY_MPS2, abs=1e-6)


def test_scales_multiply_the_coefficients() -> None:
    scaled = fly(30.0, 30.0, 6000.0, aero=constant(0.20, 0.15), drag_scale=2.0, lift_scale=2.0)
    assert scaled.carry_m == pytest.approx(float(fly(30.0, 30.0, 6000.0, aero=constant(0.40, 0.30)).carry_m), rel=1e-12)


# --- what everybody sees


@settings(max_examples=50, deadline=None)  # the machine may be busy
@given(A_SET, st.floats(10, 40), st.floats(20, 45), st.floats(2000, 11_000), st.floats(0.1, 5))
def test_a_faster_ball_flies_farther_higher_longer_and_steeper(
    aero: AeroSet, speed: float, launch: float, spin: float, more: float
) -> None:
    # true of all three sets in the wedge range and still air: seen on a grid of 12,000 launches
    slow, fast = fly(speed, launch, spin, aero=aero), fly(speed + more, launch, spin, aero=aero)
    for field in ("carry_m", "apex_m", "time_s", "land_deg"):
        assert getattr(fast, field) > getattr(slow, field), field


@settings(max_examples=50, deadline=None)  # the machine may be busy
@given(A_SET, st.floats(10, 40), st.floats(20, 44), st.floats(2000, 11_000))
def test_a_higher_launch_flies_higher_and_comes_down_steeper(
    aero: AeroSet, speed: float, launch: float, spin: float
) -> None:
    low, high = fly(speed, launch, spin, aero=aero), fly(speed, launch + 1, spin, aero=aero)
    assert high.apex_m > low.apex_m
    assert high.time_s > low.time_s
    assert high.land_deg > low.land_deg > launch


@EVERY_SET
@pytest.mark.parametrize("speed", [15.0, 30.0])
def test_the_air_takes_spin_with_the_path_and_no_more(aero: AeroSet, speed: float) -> None:
    flight = fly(speed, 35.0, 7000.0, aero=aero)
    longest_m = speed * float(flight.time_s)  # no ball is faster than at its start
    chord_m = 2 * math.hypot(float(flight.carry_m) / 2, float(flight.apex_m))
    lost = -math.log(float(flight.land_spin_rpm) / 7000.0) * 0.021336 / 2.0e-5
    assert chord_m < lost < longest_m
