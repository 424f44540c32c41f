"""How exact a flight is: against scipy's DOP853 (order 8, rtol 1e-10) of the same equations, written out once more.

Here the equations stand in the frame of the ground, in vectors, with the wind as a vector; `fly` works in the frame of
the air, in components. Thousands of flights are integrated as one system, each on its own clock so that all end
together; a dozen of them are integrated one by one, with scipy's own events, to check that.

Worst differences seen over the plane grid below (1152 flights a set: 3-70 deg, 5-50 m/s, 0-14,000 rpm, wind 15 m/s
either way and none; Smits & Smith, conventional, hexagonal ball) and, in brackets, over four times 6000 random flights
a set in the same ranges, without and with landing level -10 to 5 m, cross wind to 15 m/s and spin axis to 60 deg:
carry 0.0008, 0.0006, 0.0043 (0.0014, 0.0009, 0.0052) m; apex 0.0002, 0.0002, 0.0008 (0.0004, 0.0002, 0.0008) m;
time 0.00002, 0.00002, 0.00006 (0.0001 at most) s; landing angle 0.0006, 0.0003, 0.0009 (0.0022 at most) deg;
landing spin 0.12, 0.04, 0.03 (0.18 at most) rpm; offline (0.0003, 0.0003, 0.0020) m.
"""

import math
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from wedgelab.physics.aero import AERO_SETS, MIDDLE, AeroSet
from wedgelab.physics.flight import Flight, fly

Array = NDArray[np.float64]

# the ball at both limits of the R&A/USGA Equipment Rules, ISO 2533 air at sea level, Smits & Smith's decay of the spin
MASS_KG, RADIUS_M = 1.620 * 0.028349523125, 1.680 * 0.0254 / 2
DENSITY_KG_M3, VISCOSITY_M2_S, GRAVITY_MPS2, DECAY = 1.225, 1.4607e-5, 9.80665, 2.0e-5

pytestmark = pytest.mark.long

PROMISE = {
    "carry_m": 0.01, "offline_m": 0.01, "apex_m": 0.01, "time_s": 0.01, "land_deg": 0.01, "land_spin_rpm": 1.0,
    "land_speed_mps": 0.01,
}  # fmt: skip
SAMPLES = 200
EVERY_SET = pytest.mark.parametrize("aero", [*AERO_SETS, MIDDLE], ids=lambda aero: aero.name)


@dataclass(frozen=True)
class Launches:
    """Flights to be checked, arrays of one length."""

    speed: Array
    launch: Array
    spin: Array
    wind: Array
    cross: Array
    tilt: Array
    level: Array

    @staticmethod
    def grid(*axes: "Array | list[float]") -> "Launches":
        rows = [part.ravel().astype(float) for part in np.meshgrid(*axes, indexing="ij")]
        return Launches(*rows, *(np.zeros_like(rows[0]) for _ in range(7 - len(rows))))

    def fly(self, aero: AeroSet) -> Flight:
        return fly(
            self.speed, self.launch, self.spin, aero=aero, wind_mps=self.wind, cross_wind_mps=self.cross,
            spin_axis_deg=self.tilt, landing_level_m=self.level,
        )  # fmt: skip

    def only(self, chosen: "NDArray[np.bool_] | NDArray[np.intp]") -> "Launches":
        return Launches(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))

    def state(self) -> Array:
        """Place, velocity over the ground (ahead, up, right) and size of the spin [rad/s]: shape (7, n)."""
        up = np.radians(self.launch)
        velocity = self.speed * np.stack([np.cos(up), np.sin(up), np.zeros_like(up)])
        return np.concatenate([np.zeros_like(velocity), velocity, np.abs(self.spin)[None] * math.pi / 30])

    def rate(self, at: Array, aero: AeroSet) -> Array:
        """Newton's second law for every flight at once."""
        tilt = np.radians(self.tilt)
        axis = np.sign(self.spin) * np.stack([np.zeros_like(tilt), -np.sin(tilt), np.cos(tilt)])
        through_air = at[3:6] - np.stack([self.wind, np.zeros_like(tilt), self.cross])
        airspeed = np.linalg.norm(through_air, axis=0)
        drag, lift = aero.coefficients(at[6] * RADIUS_M / airspeed, 2 * RADIUS_M * airspeed / VISCOSITY_M2_S)
        push = 0.5 * DENSITY_KG_M3 * math.pi * RADIUS_M**2 * airspeed / MASS_KG
        pull = np.array([[0.0], [-GRAVITY_MPS2], [0.0]])
        force = push * (lift * np.cross(axis, through_air, axis=0) - drag * through_air) + pull
        return np.concatenate([at[3:6], force, -DECAY * airspeed * at[6:] / RADIUS_M])

    def advance(self, at: Array, lasting_s: Array, aero: AeroSet, samples: int = 1) -> Array:
        """Fly on, each flight for its own time; shape (7, n, samples + 1)."""

        def slope(_: float, flat: Array) -> Array:
            return (lasting_s * self.rate(flat.reshape(at.shape), aero)).ravel()

        done = solve_ivp(
            slope, (0.0, 1.0), at.ravel(), "DOP853", t_eval=np.linspace(0, 1, samples + 1), rtol=1e-10, atol=1e-10
        )
        return np.asarray(done.y.reshape(*at.shape, samples + 1))


def reference(those: Launches, aero: AeroSet, horizon_s: Array) -> dict[str, Array]:
    """Land every flight: sample the path, find the step of the crossing, then Newton on the length of one last leg."""
    path = those.advance(those.state(), horizon_s, aero, SAMPLES)
    height, climb = path[1], path[4]
    crosses = (height[:, 1:] <= those.level[:, None]) & (climb[:, 1:] <= 0)
    assert crosses.any(axis=1).all(), "a flight that has landed is still in the air here"
    turns = (climb[:, :-1] > 0) & (climb[:, 1:] <= 0)
    tick = horizon_s / SAMPLES
    # a green nearly as high as the arc is met a whisker behind the top, which may be in the same step: start at its end
    landed, lasting = _last_leg(those, aero, path, crosses.argmax(axis=1), tick, those.level)
    top, _ = _last_leg(those, aero, path, turns.argmax(axis=1), tick, None)
    level_speed = np.hypot(landed[3], landed[5])
    return {
        "carry_m": landed[0],
        "offline_m": landed[2],
        "apex_m": top[1],
        "time_s": crosses.argmax(axis=1) * tick + lasting,
        "land_deg": np.degrees(np.arctan2(-landed[4], level_speed)),
        "land_speed_mps": np.linalg.norm(landed[3:6], axis=0),
        "land_spin_rpm": np.sign(those.spin) * landed[6] * 30 / math.pi,
    }


def _last_leg(
    those: Launches, aero: AeroSet, path: Array, step: "NDArray[np.intp]", tick_s: Array, level: "Array | None"
) -> tuple[Array, Array]:
    """Fly on from the start of a step until the ball is at the level, or until it rises no more."""
    start = path[:, np.arange(len(step)), step]
    lasting = tick_s.copy()
    for _ in range(20):
        at = those.advance(start, lasting, aero)[..., -1]
        rate = those.rate(at, aero)
        off, slope = (at[4], rate[4]) if level is None else (at[1] - level, rate[1])
        if float(np.abs(off).max()) < 1e-10:
            return at, lasting
        lasting = lasting - off / slope
    raise AssertionError("Newton's method has not settled")


def worst(those: Launches, aero: AeroSet) -> dict[str, float]:
    flight = those.fly(aero)
    other = reference(those, aero, 1.03 * flight.time_s + 0.02)
    return {name: float(np.abs(getattr(flight, name) - other[name]).max()) for name in other}


def keeps_the_promise(seen: dict[str, float]) -> bool:
    return all(seen[name] < bound for name, bound in PROMISE.items())


PLANE = Launches.grid(
    np.linspace(5, 50, 8), [3, 8, 15, 25, 35, 45, 57, 70], [0, 1000, 3000, 6000, 10_000, 14_000], [-15, 0, 15]
)


@EVERY_SET
def test_flights_in_the_plane(aero: AeroSet) -> None:
    seen = worst(PLANE, aero)
    assert keeps_the_promise(seen), seen
    # and half of it, which the defaults were made for, so that a loss of order is noticed before the promise breaks
    assert seen["carry_m"] < 0.005, seen
    assert seen["apex_m"] < 0.001, seen


@EVERY_SET
def test_flights_with_cross_wind_tilted_axis_and_topspin(aero: AeroSet) -> None:
    those = Launches.grid([8, 20, 35, 50], [12, 30, 60], [-3000, 2500, 9000], [-15, 6], [-15, 4], [-50, 15])
    seen = worst(those, aero)
    assert keeps_the_promise(seen), seen


@EVERY_SET
def test_flights_to_higher_and_lower_ground(aero: AeroSet) -> None:
    some = Launches.grid([8, 20, 35, 50], [12, 30, 60], [2500, 9000], [-15, 9], [0, 8], [20], [-10, -3, -0.2, 2, 5])
    high_enough = some.fly(aero).apex_m - some.level > 0.25  # see the last test
    those = some.only(high_enough)
    assert 320 < len(those.speed) < 480
    seen = worst(those, aero)
    assert keeps_the_promise(seen), seen


def test_steps_twice_as_long_break_the_promise(monkeypatch: pytest.MonkeyPatch) -> None:
    # so that the tests above can fail: their bounds lie between the steps of now and steps of twice that length
    fine = [PLANE.fly(aero).carry_m for aero in AERO_SETS]
    monkeypatch.setattr("wedgelab.physics.flight._STEP_S", (0.08, 0.36))
    launches = (PLANE.speed, PLANE.launch, PLANE.spin)
    coarse = [fly(*launches, aero=aero, wind_mps=PLANE.wind, steps=4).carry_m for aero in AERO_SETS]
    assert max(float(np.abs(a - b).max()) for a, b in zip(fine, coarse, strict=True)) > 0.01


# --- the check of the check


def alone(aero: AeroSet, speed: float, launch: float, spin: float, wind: float) -> tuple[float, float, float, float]:
    """Carry, time, apex and landing spin of one flight by scipy's events, in the plane and in scalars."""

    def slope(_: float, at: Array) -> list[float]:
        ux, uy = float(at[2]) - wind, float(at[3])
        v = math.hypot(ux, uy)
        s, re = float(at[4]) * RADIUS_M / v, 2 * RADIUS_M * v / VISCOSITY_M2_S
        drag, lift = (float(c) for c in aero.coefficients(np.array(s), np.array(re)))
        k = DENSITY_KG_M3 * math.pi * RADIUS_M**2 / (2 * MASS_KG)
        along, up = -k * v * (drag * ux + lift * uy), k * v * (lift * ux - drag * uy) - GRAVITY_MPS2
        return [float(at[2]), float(at[3]), along, up, -DECAY * v * float(at[4]) / RADIUS_M]

    def ground(_: float, at: Array) -> float:
        return float(at[1]) if at[3] < 0 else 1.0

    def top(_: float, at: Array) -> float:
        return float(at[3])

    ground.terminal = True  # type: ignore[attr-defined]  # scipy reads this attribute of the function
    angle = math.radians(launch)
    start = [0.0, 0.0, speed * math.cos(angle), speed * math.sin(angle), spin * math.pi / 30]
    done = solve_ivp(slope, (0.0, 20.0), start, "DOP853", events=(ground, top), rtol=1e-10, atol=1e-10)
    landed = done.y_events[0][0]
    return float(landed[0]), float(done.t_events[0][0]), float(done.y_events[1][0][1]), float(landed[4]) * 30 / math.pi


@pytest.mark.parametrize("aero", AERO_SETS, ids=lambda aero: aero.name)
def test_many_flights_in_one_system_are_as_exact_as_each_alone(aero: AeroSet) -> None:
    some = PLANE.only(np.random.default_rng(5).choice(len(PLANE.speed), 12, replace=False))
    # integrated in the company of a thousand others, as above; these come out of the whole grid
    company = Launches(*(np.concatenate([getattr(some, n), getattr(PLANE, n)]) for n in PLANE.__dataclass_fields__))
    together = reference(company, aero, 1.03 * company.fly(aero).time_s + 0.02)
    one_by_one = np.array(
        [alone(aero, *row) for row in zip(some.speed, some.launch, some.spin, some.wind, strict=True)]
    )
    for column, (name, within) in enumerate(
        [("carry_m", 2e-6), ("time_s", 2e-6), ("apex_m", 2e-6), ("land_spin_rpm", 1e-4)]
    ):
        assert together[name][:12] == pytest.approx(one_by_one[:, column], abs=within), name


# --- the known limit


def test_a_flight_that_grazes_the_landing_level_is_only_as_exact_as_its_apex_allows() -> None:
    # A ground d below the apex is met at a vertical speed of about sqrt(2 g d), so that a small error of the height is
    # multiplied by (level speed / vertical speed). A quarter of a metre below the apex the promise holds again.
    speed, launch, spin = np.array([25.0, 30.0, 40.0, 50.0]), np.array([20.0, 30.0, 35.0, 12.0]), np.full(4, 7000.0)
    zero = np.zeros(4)
    level_ground = Launches(speed, launch, spin, zero, zero, zero, zero)
    grazing = []
    for aero in AERO_SETS:
        flat = level_ground.fly(aero)
        apex = reference(level_ground, aero, 1.03 * flat.time_s + 0.02)["apex_m"]
        height_off = np.abs(flat.apex_m - apex) + 2e-5
        for below in (0.002, 0.05, 0.25, 2.0):
            those = Launches(speed, launch, spin, zero, zero, zero, apex - below)
            flight = those.fly(aero)
            off = np.abs(flight.carry_m - reference(those, aero, 1.03 * flight.time_s + 0.02)["carry_m"])
            assert (off < 3 * height_off * speed / math.sqrt(2 * GRAVITY_MPS2 * below)).all(), (below, off)
            if below >= 0.25:
                assert off.max() < PROMISE["carry_m"], (below, off)
            else:
                grazing.append(float(off.max()))
    assert PROMISE["carry_m"] < max(grazing) < 0.12  # 50 m/s at 12 deg onto ground 2 mm below the apex, seen: 0.113 m
