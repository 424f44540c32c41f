"""Where a ball lands: the equations of flight, integrated for thousands of balls at once."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.physics.aero import SMITS_SMITH
from wedgelab.physics.air import STANDARD_DENSITY_KG_M3, STANDARD_VISCOSITY_M2_S
from wedgelab.physics.ball import GRAVITY_MPS2, MASS_KG, RADIUS_M
from wedgelab.units import RPM_RADPS

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from wedgelab.physics.aero import AeroSet

    Array = NDArray[np.float64]

SPIN_DECAY: Final = 2.0e-5  # Smits & Smith 1994: d(omega)/dt = -SPIN_DECAY * V * omega / r
STEPS_IN_VACUUM_FLIGHT: Final = 8
_STEP_S: Final = (0.04, 0.18)  # a step is never shorter nor longer, whatever the vacuum flight ...
_LONGEST_FLIGHT_S: Final = 60.0  # steps enough for this even if all are the shortest; a ball still up then gives NaN
_BATCH: Final = 8192  # balls at a time: more would not stay in the processor's cache
_WORTH_KEEPING: Final = 0.85  # rows of balls that have landed are dropped when fewer than this share still fly
_SLOWEST_MPS: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Flight:
    """What a flight came to; every field has the shape of the broadcast inputs, NaN where an input is NaN.

    ``outside_share`` is the share of the flight in which the coefficients were held at an edge of their range.
    """

    carry_m: "Array"
    apex_m: "Array"
    time_s: "Array"
    land_deg: "Array"
    land_speed_mps: "Array"
    land_spin_rpm: "Array"
    offline_m: "Array"
    outside_share: "Array"


_N_RESULTS: Final = 8


@dataclass(frozen=True, slots=True)
class _Balls:
    """What does not change in flight; arrays of shape (n,)."""

    drag_force: "Array"  # rho A / 2m, times the scale on drag
    lift_force: "Array"  # the same for lift, negative for topspin
    reynolds_per_mps: "Array"
    axis_up: "Array"  # spin axis (0, axis_up, axis_right) for x ahead, y up, z to the right
    axis_right: "Array"
    level: "Array"
    wind: "Array"  # (2, n): along, across
    step: "Array"

    def take(self, chosen: "NDArray[np.intp] | NDArray[np.bool_] | slice") -> "_Balls":
        return _Balls(
            self.drag_force[chosen], self.lift_force[chosen], self.reynolds_per_mps[chosen], self.axis_up[chosen],
            self.axis_right[chosen], self.level[chosen], self.wind[:, chosen], self.step[chosen],
        )  # fmt: skip


def fly(
    ball_speed_mps: "ArrayLike",
    launch_deg: "ArrayLike",
    spin_rpm: "ArrayLike",
    *,
    aero: "AeroSet" = SMITS_SMITH,
    drag_scale: "ArrayLike" = 1.0,
    lift_scale: "ArrayLike" = 1.0,
    density_kg_m3: "ArrayLike" = STANDARD_DENSITY_KG_M3,
    viscosity_m2_s: "ArrayLike" = STANDARD_VISCOSITY_M2_S,
    wind_mps: "ArrayLike" = 0.0,
    cross_wind_mps: "ArrayLike" = 0.0,
    spin_axis_deg: "ArrayLike" = 0.0,
    landing_level_m: "ArrayLike" = 0.0,
    spin_decay: float = SPIN_DECAY,
    mass_kg: float = MASS_KG,
    radius_m: float = RADIUS_M,
    steps: int = STEPS_IN_VACUUM_FLIGHT,
) -> Flight:
    """Fly balls until they come down to the landing level.

    Parameters
    ----------
    ball_speed_mps, launch_deg, spin_rpm
        launch speed [m/s] above 0, launch angle above the horizon [deg] and backspin [rpm]; broadcast together with all
        the following. Negative spin is topspin. A ball that starts level or downwards gives NaN unless it lands below.
    aero
        lift and drag coefficients.
    drag_scale, lift_scale
        factors on the coefficients [-].
    density_kg_m3, viscosity_m2_s
        air density [kg/m3] and kinematic viscosity [m2/s].
    wind_mps, cross_wind_mps
        uniform wind along the line and across it [m/s]; tail wind and wind from the left are positive.
    spin_axis_deg
        tilt of the spin axis out of the horizontal [deg]; positive curves the ball to the right.
    landing_level_m
        height of the landing ground over the launch point [m]; a ball that never reaches it gives NaN.
    spin_decay
        dimensionless decay rate, ``d(omega)/dt = -spin_decay V omega / r`` [-].
    mass_kg, radius_m
        the ball [kg, m].
    steps
        integration steps in the time of the same flight in a vacuum, as far as that makes them 0.04 to 0.18 s long;
        another number than `STEPS_IN_VACUUM_FLIGHT` shortens or lengthens these bounds in proportion.

    Returns
    -------
    Flight
        carry along the line [m], apex over the launch point [m], time [s], landing angle below the horizon [deg],
        landing speed [m/s], landing spin [rpm], sideways miss [m] (right positive), and the share of the flight outside
        the range of the coefficients.

    Notes
    -----
    ``dv/dt = -k V (C_D u - C_L a x u) - g`` with u the velocity relative to the air, a the unit vector of the spin axis
    and ``k = rho A / 2m``; the axis keeps its direction in space. In the frame of a uniform wind the air is still, so
    the wind only changes the start and carries the frame along. Classical Runge-Kutta of fourth order; the moment of
    landing is the root of the cubic Hermite curve of the last step. Against an integration of order 8 the default steps
    stay within 0.01 m, 0.01 s, 0.01 deg and 1 rpm for 5-50 m/s, 3-70 deg, 0-14,000 rpm and 15 m/s of wind either way
    (tests/physics/test_flight_dop853.py). Valid as far as ``aero`` is; the ball is a sphere, the wind has no gusts.
    """
    given = (
        ball_speed_mps, launch_deg, spin_rpm, density_kg_m3, viscosity_m2_s, wind_mps, cross_wind_mps, spin_axis_deg,
        landing_level_m, drag_scale, lift_scale,
    )  # fmt: skip
    together = np.broadcast_arrays(*given)
    shape = together[0].shape
    flat = np.stack([np.asarray(part, dtype=np.float64).ravel() for part in together])
    result = np.full((_N_RESULTS, flat.shape[1]), np.nan)
    starts = np.asarray(np.isfinite(flat).all(axis=0))
    starts[starts] = (flat[0, starts] * np.sin(np.radians(flat[1, starts])) > 0.0) | (flat[8, starts] < 0.0)
    lateral = bool(np.any(flat[6:8, starts]))
    chosen = np.flatnonzero(starts)
    if len(chosen) > _BATCH:  # balls that stay up alike share a batch, so that few wait for the last
        chosen = chosen[np.argsort(flat[0, chosen] * np.sin(np.radians(flat[1, chosen])))]
    shorter = STEPS_IN_VACUUM_FLIGHT / steps
    for first in range(0, len(chosen), _BATCH):
        batch = chosen[first : first + _BATCH]
        speed, launch, spin, rho, nu, along, across, tilt, level, k_drag, k_lift = flat[:, batch]
        force = rho * (np.pi * radius_m**2 / (2.0 * mass_kg))
        up = speed * np.sin(np.radians(launch))
        fall = np.sqrt(up**2 - 2.0 * GRAVITY_MPS2 * np.minimum(level, 0.0))
        balls = _Balls(
            force * k_drag,
            force * k_lift * np.sign(spin),
            2.0 * radius_m / nu,
            -np.sin(np.radians(tilt)),
            np.cos(np.radians(tilt)),
            level,
            np.stack([along, across]),
            np.clip((up + fall) / (GRAVITY_MPS2 * steps), _STEP_S[0] * shorter, _STEP_S[1] * shorter),
        )
        ahead = speed * np.cos(np.radians(launch)) - along
        rows = [ahead, up, -across] if lateral else [ahead, up]
        moving = np.stack([*rows, np.abs(spin) * RPM_RADPS])
        most = int(_LONGEST_FLIGHT_S / (_STEP_S[0] * shorter))
        result[:, batch] = _Batch(moving, balls, aero, radius_m, spin_decay).fly(most)
        result[5, batch] *= np.sign(spin)
    return Flight(*(row.reshape(shape) for row in result))


@dataclass(slots=True)
class _InAir:
    """The balls of a batch that are still computed; a row stays for a while after its ball has landed."""

    going: "NDArray[np.intp]"  # row in the batch
    open: "NDArray[np.bool_]"  # not landed yet
    balls: _Balls
    place: "Array"  # (axes, n), in the frame of the wind
    moving: "Array"  # (axes + 1, n): velocity through the air, and the size of the spin [rad/s]
    rate: "Array"  # of change of ``moving``
    time: "Array"
    spin_parameter: "Array"
    reynolds: "Array"

    def drop_landed(self) -> None:
        keep = np.flatnonzero(self.open)
        self.going, self.open, self.balls = self.going[keep], self.open[keep], self.balls.take(keep)
        self.place, self.moving, self.rate = self.place[:, keep], self.moving[:, keep], self.rate[:, keep]
        self.time, self.spin_parameter, self.reynolds = self.time[keep], self.spin_parameter[keep], self.reynolds[keep]


class _Batch:
    """A batch of balls in flight, and what is kept of each: its apex, its last step, how often it was out of range."""

    def __init__(self, moving: "Array", balls: _Balls, aero: "AeroSet", radius_m: float, spin_decay: float) -> None:
        self.aero, self.balls = aero, balls
        self.radius_m, self.decay_per_m = radius_m, spin_decay / radius_m
        self.n_axes, n = len(moving) - 1, moving.shape[1]
        rate, spin_parameter, reynolds = self._change(moving, balls)
        self.air = _InAir(
            np.arange(n), np.ones(n, dtype=np.bool_), balls, np.zeros((self.n_axes, n)), moving, rate, np.zeros(n),
            spin_parameter, reynolds,
        )  # fmt: skip
        self.apex, self.outside, self.stepped = np.zeros(n), np.zeros(n), np.zeros(n)
        # the last step of each ball: place, motion and rate of change at its two ends, and its start
        self.last = np.full((2, self.n_axes + 2 * len(moving), n), np.nan)
        self.last_start = np.full(n, np.nan)

    def fly(self, most_steps: int) -> "Array":
        """Step until all balls are down, and return their results."""
        for _ in range(most_steps):
            self._step()
            left = np.count_nonzero(self.air.open)
            if not left:
                break
            if left < _WORTH_KEEPING * len(self.air.open):
                self.air.drop_landed()
        landed = np.flatnonzero(np.isfinite(self.last_start))
        result = np.full((_N_RESULTS, len(self.apex)), np.nan)
        result[:, landed] = _touchdown(
            self.last[..., landed], self.last_start[landed], self.balls.take(landed), self.n_axes
        )
        result[1, landed] = self.apex[landed]
        result[7, landed] = self.outside[landed] / self.stepped[landed]
        return result

    def _change(self, at: "Array", balls: _Balls) -> tuple["Array", "Array", "Array"]:
        """Rate of change of ``moving``, and spin parameter and Reynolds number on the way."""
        ux, uy = at[0], at[1]
        airspeed = ux * ux
        airspeed += uy * uy
        if self.n_axes == 3:
            airspeed += at[2] * at[2]
        np.maximum(np.sqrt(airspeed, out=airspeed), _SLOWEST_MPS, out=airspeed)
        spin_parameter = at[-1] / airspeed
        spin_parameter *= self.radius_m
        reynolds = airspeed * balls.reynolds_per_mps
        drag, lift = self.aero.coefficients(spin_parameter, reynolds)
        drag = drag * balls.drag_force
        drag *= airspeed
        lift = lift * balls.lift_force
        lift *= airspeed
        rate = np.empty_like(at)
        if self.n_axes == 3:
            uz = at[2]
            rate[0] = lift * (balls.axis_up * uz - balls.axis_right * uy) - drag * ux
            rate[1] = lift * balls.axis_right * ux - drag * uy - GRAVITY_MPS2
            rate[2] = -lift * balls.axis_up * ux - drag * uz
        else:
            ahead, up = rate[0], rate[1]
            np.multiply(drag, ux, out=ahead)
            ahead += lift * uy
            np.negative(ahead, out=ahead)
            np.multiply(lift, ux, out=up)
            up -= drag * uy
            up -= GRAVITY_MPS2
        np.multiply(airspeed, at[-1], out=rate[-1])
        rate[-1] *= -self.decay_per_m
        return rate, spin_parameter, reynolds

    def _step(self) -> None:
        """One step of the classical Runge-Kutta method for every ball."""
        air, axes = self.air, self.n_axes
        h = air.balls.step
        half, sixth = 0.5 * h, h * (1.0 / 6.0)
        second = half * air.rate
        second += air.moving
        rate2, _, _ = self._change(second, air.balls)
        third = half * rate2
        third += air.moving
        rate3, _, _ = self._change(third, air.balls)
        fourth = h * rate3
        fourth += air.moving
        rate4, _, _ = self._change(fourth, air.balls)
        moved = _weighted(air.rate, rate2, rate3, rate4, sixth)
        moved += air.moving
        placed = _weighted(air.moving[:axes], second[:axes], third[:axes], fourth[:axes], sixth)
        placed += air.place
        self.outside[air.going] += ~self.aero.covers(air.spin_parameter, air.reynolds) & air.open
        self.stepped[air.going] += air.open
        rate, spin_parameter, reynolds = self._change(moved, air.balls)
        self._note(placed, moved, rate)
        air.place, air.moving, air.rate, air.time = placed, moved, rate, air.time + h
        air.spin_parameter, air.reynolds = spin_parameter, reynolds

    def _note(self, placed: "Array", moved: "Array", rate: "Array") -> None:
        """Keep what this step says of apexes and landings."""
        air, h = self.air, self.air.balls.step
        turns = np.flatnonzero((air.moving[1] > 0) & (moved[1] <= 0))
        if len(turns):  # the top of the arc lies inside this step
            share = air.moving[1, turns] / (air.moving[1, turns] - moved[1, turns])
            top = _hermite(
                air.place[1, turns], placed[1, turns], air.moving[1, turns], moved[1, turns], h[turns], share
            )
            rows = air.going[turns]
            self.apex[rows] = np.maximum(self.apex[rows], top)  # lift can raise a ball more than once
        down = np.flatnonzero((moved[1] <= 0) & (placed[1] <= air.balls.level) & air.open)
        if len(down):
            air.open[down] = False
            # a ball whose whole arc stays below the level never meets it: its row stays NaN
            met = down[self.apex[air.going[down]] >= air.balls.level[down]]
            done = air.going[met]
            self.last[0][:, done] = np.concatenate([air.place[:, met], air.moving[:, met], air.rate[:, met]])
            self.last[1][:, done] = np.concatenate([placed[:, met], moved[:, met], rate[:, met]])
            self.last_start[done] = air.time[met]


def _weighted(k1: "Array", k2: "Array", k3: "Array", k4: "Array", sixth: "Array") -> "Array":
    """Sum the four stages of a Runge-Kutta step with their weights."""
    total = k2 + k3
    total += total
    total += k1
    total += k4
    total *= sixth
    return total


def _hermite(y0: "Array", y1: "Array", v0: "Array", v1: "Array", h: "Array", s: "Array") -> "Array":
    """Cubic through two values with two slopes, at the share ``s`` of the step ``h``."""
    rest = 1.0 - s
    return np.asarray(
        rest * rest * ((1.0 + 2.0 * s) * y0 + s * h * v0) + s * s * ((3.0 - 2.0 * s) * y1 - rest * h * v1)
    )


def _touchdown(last: "Array", start_s: "Array", balls: _Balls, n_axes: int) -> "Array":
    """Find when the cubic of the last step meets the landing level on its way down, and what the ball does then."""
    h, level = balls.step, balls.level
    y0, y1 = last[0, 1], last[1, 1]
    v0, v1 = last[0, n_axes + 1], last[1, n_axes + 1]
    # on its way up at the start of the step (a green that is nearly as high as the arc), it meets it behind the top
    low = np.where(v0 > 0, np.clip(v0 / np.where(v0 > 0, v0 - v1, 1.0), 0.0, 1.0), 0.0)
    high = np.ones_like(h)
    s = high.copy()
    for _ in range(30):
        off = _hermite(y0, y1, v0, v1, h, s) - level
        low, high = np.where(off > 0, s, low), np.where(off > 0, high, s)
        slope = 6.0 * s * (1.0 - s) * (y1 - y0) + h * ((1.0 - s) * (1.0 - 3.0 * s) * v0 + s * (3.0 * s - 2.0) * v1)
        newton = s - off / np.where(slope < 0, slope, -np.inf)
        nearer = np.where((slope < 0) & (newton >= low) & (newton <= high), newton, 0.5 * (low + high))
        moved = np.abs(nearer - s)
        s = nearer
        if not moved.size or float(moved.max()) < 1e-12:
            break
    ends = [np.split(end, [n_axes, 2 * n_axes + 1]) for end in last]  # place, motion (velocity first), rate of change
    (place0, moving0, rate0), (place1, moving1, rate1) = ends
    place = _hermite(place0, place1, moving0[:n_axes], moving1[:n_axes], h, s)
    moving = _hermite(moving0, moving1, rate0, rate1, h, s)
    time = start_s + s * h
    vx, vy = moving[0] + balls.wind[0], moving[1]
    vz = (moving[2] if n_axes == 3 else 0.0) + balls.wind[1]
    level_speed = (
        np.hypot(vx, vz) if n_axes == 3 else np.abs(vx)
    )  # a ball blown back comes down at less than 90 deg too
    return np.stack(
        [
            place[0] + balls.wind[0] * time,
            np.zeros_like(time),
            time,
            np.degrees(np.arctan2(-vy, level_speed)),
            np.hypot(level_speed, vy),
            moving[-1] / RPM_RADPS,
            (place[2] if n_axes == 3 else 0.0) + balls.wind[1] * time,
            np.zeros_like(time),
        ]
    )
