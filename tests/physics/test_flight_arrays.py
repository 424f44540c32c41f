"""Shapes, missing values, launches that do not rise, and the share of a flight outside the coefficients' range."""

import math

import numpy as np
import pytest

from wedgelab.physics.aero import AERO_SETS, BEARMAN_HARVEY, BEARMAN_HARVEY_HEXAGONAL, MIDDLE, SMITS_SMITH, AeroSet
from wedgelab.physics.flight import Flight, fly

FIELDS = tuple(Flight.__dataclass_fields__)
EVERY_SET = pytest.mark.parametrize("aero", [*AERO_SETS, MIDDLE], ids=lambda aero: aero.name)
EVERYWHERE = (0.0, math.inf)
VACUUM = AeroSet("vacuum", lambda s, re: (0 * s * re, 0 * s * re), EVERYWHERE, EVERYWHERE, "a check")
GRAVITY_MPS2 = 9.80665  # exact by convention, NIST SP 811

PLAIN = {
    "ball_speed_mps": 25.0, "launch_deg": 32.0, "spin_rpm": 6000.0, "density_kg_m3": 1.2, "viscosity_m2_s": 1.5e-5,
    "wind_mps": 1.0, "cross_wind_mps": -2.0, "spin_axis_deg": 4.0, "landing_level_m": -0.5, "drag_scale": 1.0,
    "lift_scale": 1.0,
}  # fmt: skip


@EVERY_SET
def test_one_ball_an_array_and_a_grid_fly_alike(aero: AeroSet) -> None:
    speed, launch, spin = np.array([15.0, 25.0, 35.0]), np.array([[28.0], [40.0]]), 6000.0
    cross, tilt = (0.0, 3.0), (0.0, -7.0)
    grid = fly(
        speed, launch, spin, aero=aero, wind_mps=[[[0.0]], [[-3.0]]],
        cross_wind_mps=np.reshape(cross, (2, 1, 1)), spin_axis_deg=np.reshape(tilt, (2, 1, 1)),
    )  # fmt: skip
    assert grid.carry_m.shape == (2, 2, 3)
    for place in np.ndindex(2, 2, 3):
        w, i, j = place
        one = fly(
            float(speed[j]), float(launch[i, 0]), spin, aero=aero, wind_mps=(0.0, -3.0)[w], cross_wind_mps=cross[w],
            spin_axis_deg=tilt[w],
        )  # fmt: skip
        assert one.carry_m.shape == ()
        for field in FIELDS:
            assert getattr(grid, field)[place] == pytest.approx(float(getattr(one, field)), rel=1e-12, abs=1e-12), field


def test_more_balls_than_one_batch_fly_like_one() -> None:
    n = 40_000
    flight = fly(np.linspace(10, 45, n), 30.0, 6000.0)
    for place in (0, 16_383, 16_384, 32_768, n - 1):
        assert flight.carry_m[place] == fly(np.linspace(10, 45, n)[place], 30.0, 6000.0).carry_m


def test_no_balls_at_all() -> None:
    for field in FIELDS:
        assert getattr(fly([], [], []), field).shape == (0,)


@EVERY_SET
@pytest.mark.parametrize("name", PLAIN)
def test_a_missing_number_gives_nan_and_leaves_the_others_alone(aero: AeroSet, name: str) -> None:
    alone = fly(**PLAIN, aero=aero)  # type: ignore[arg-type]  # a dict of floats stands for the numbers only
    three = fly(**PLAIN | {name: np.array([PLAIN[name], np.nan, PLAIN[name]])}, aero=aero)  # type: ignore[arg-type]  # as above
    for field in FIELDS:
        assert np.isnan(getattr(three, field)).tolist() == [False, True, False], field
        assert getattr(three, field)[[0, 2]] == pytest.approx(float(getattr(alone, field)), rel=1e-13), field


@pytest.mark.parametrize("name", PLAIN)
def test_an_endless_number_gives_nan_without_a_warning(name: str) -> None:
    # warnings are errors here
    flight = fly(**PLAIN | {name: np.array([PLAIN[name], np.inf])})  # type: ignore[arg-type]  # as above
    assert np.isnan(flight.carry_m).tolist() == [False, True]


def test_all_missing() -> None:
    assert np.isnan(fly([np.nan, np.nan], 30.0, 6000.0).outside_share).all()


@pytest.mark.parametrize(("speed", "launch"), [(0.0, 30.0), (30.0, 0.0), (30.0, -5.0)])
@pytest.mark.parametrize("level", [0.0, 0.5])
def test_a_ball_that_does_not_rise_has_no_flight(speed: float, launch: float, level: float) -> None:
    flight = fly(speed, launch, 5000.0, landing_level_m=level)
    for field in FIELDS:
        assert np.isnan(getattr(flight, field)), field


@pytest.mark.parametrize(("speed", "launch"), [(0.0, 30.0), (30.0, 0.0), (30.0, -5.0)])
def test_unless_it_lands_below(speed: float, launch: float) -> None:
    # textbook parabola from the edge of a bank 3 m high
    flight = fly(speed, launch, 5000.0, aero=VACUUM, landing_level_m=-3.0)
    up, ahead = speed * math.sin(math.radians(launch)), speed * math.cos(math.radians(launch))
    time_s = (up + math.sqrt(up**2 + 6 * GRAVITY_MPS2)) / GRAVITY_MPS2
    if up > 0:
        raise AssertionError("none of these rises")
    assert flight.time_s == pytest.approx(time_s, abs=1e-9)
    assert flight.carry_m == pytest.approx(ahead * time_s, abs=1e-8)
    assert flight.land_speed_mps == pytest.approx(math.sqrt(speed**2 + 6 * GRAVITY_MPS2), abs=1e-8)
    assert flight.apex_m == pytest.approx(0.0, abs=1e-9)  # its highest point is where it starts


# lift that exceeds the weight lets a ball swoop down and rise once more, to a second and lower top


@pytest.mark.parametrize("depth", [2.0, 5.0, 10.0])
def test_a_ball_that_starts_downwards_has_its_highest_point_where_it_starts(depth: float) -> None:
    for aero in AERO_SETS:
        assert fly(50.0, -5.0, 9000.0, aero=aero, landing_level_m=-depth).apex_m >= 0.0, aero.name


def test_apex_is_the_highest_top_and_not_the_last() -> None:
    # hardly any drag; how low the ground lies does not change the arc above it
    glider = AeroSet("glider", lambda s, re: (0 * s * re + 0.02, 0 * s * re + 0.6), EVERYWHERE, EVERYWHERE, "a check")
    level, lower = (fly(50.0, 10.0, 8000.0, aero=glider, landing_level_m=-depth) for depth in (0.0, 20.0))
    assert lower.apex_m == pytest.approx(float(level.apex_m), rel=1e-9)


# --- the share outside the range


@pytest.mark.parametrize(
    ("aero", "ball"),
    [
        (SMITS_SMITH, (30.0, 30.0, 6000.0)),
        (BEARMAN_HARVEY, (20.0, 30.0, 3500.0)),
        (BEARMAN_HARVEY_HEXAGONAL, (30.0, 30.0, 5500.0)),
        (MIDDLE, (20.0, 30.0, 5000.0)),
    ],
    ids=lambda part: part.name if isinstance(part, AeroSet) else "",
)
def test_nothing_of_a_flight_inside_is_outside(aero: AeroSet, ball: tuple[float, float, float]) -> None:
    assert fly(*ball, aero=aero).outside_share == 0.0


@pytest.mark.parametrize(
    ("aero", "ball"),
    [
        (SMITS_SMITH, (10.0, 30.0, 6000.0)),  # Re below 40,000 and S above 1.4
        (BEARMAN_HARVEY, (40.0, 30.0, 6000.0)),  # Re above 65,000
        (BEARMAN_HARVEY_HEXAGONAL, (30.0, 30.0, 9000.0)),  # more than 6000 rpm
        (MIDDLE, (40.0, 30.0, 6000.0)),
    ],
    ids=lambda part: part.name if isinstance(part, AeroSet) else "",
)
def test_much_of_a_flight_beyond_is_outside(aero: AeroSet, ball: tuple[float, float, float]) -> None:
    assert 0.25 < fly(*ball, aero=aero).outside_share <= 1.0


def test_the_share_is_that_of_the_time() -> None:
    # only the upper edge of the Reynolds number is asked: 65,000, 22.25 m/s through the air
    fast = AeroSet("fast", BEARMAN_HARVEY.coefficients, EVERYWHERE, (0.0, 6.5e4), "a check")
    flight = fly(23.5, 40.0, 4000.0, aero=fast, steps=256)
    # it slows from 23.5 to 22.25 m/s at about g sin(40 deg) + k V^2 C_D = 6.3 + 0.0191 x 523 x 0.33 = 9.6 m/s2
    assert flight.outside_share * flight.time_s == pytest.approx(1.25 / 9.6, abs=0.02)


def test_every_set_names_the_flight_it_does_not_cover() -> None:
    flight = [fly([12.0, 20.0, 28.0, 45.0], 32.0, [3000.0, 5000.0, 8000.0, 11_000.0], aero=aero) for aero in AERO_SETS]
    share = np.array([f.outside_share for f in flight])
    assert ((share >= 0) & (share <= 1)).all()
    assert (share.max(axis=0) > 0).all()  # no wedge flight lies inside all three


def test_a_crowd_flies_as_each_of_its_balls_does() -> None:
    # more balls than fit into one batch are flown in another order, and come back in their own
    rng = np.random.default_rng(20261125)
    n = 20_000
    speed, launch, spin = rng.uniform(10, 45, n), rng.uniform(-5, 45, n), rng.uniform(2000, 11000, n)
    crowd = fly(speed, launch, spin)
    some = rng.choice(n, 40, replace=False)
    alone = fly(speed[some], launch[some], spin[some])
    assert np.isnan(crowd.carry_m).sum() == (launch <= 0).sum()
    for field in ("carry_m", "apex_m", "time_s", "land_deg", "land_spin_rpm", "outside_share"):
        assert getattr(crowd, field)[some] == pytest.approx(getattr(alone, field), rel=1e-12, nan_ok=True), field
