"""Where a ball lands: the equations of flight in the vertical plane, integrated for thousands of balls at once."""

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

SPIN_DECAY: Final = 2.0e-5  # Smits & Smith 1994: d(omega)/dt = -SPIN_DECAY * V * omega / r
_STEPS_IN_VACUUM_FLIGHT: Final = 64
_SHORTEST_STEP_S: Final = 1e-4
_MOST_STEPS: Final = 2000
_LONGEST_IN_VACUUM_FLIGHTS: Final = 32  # lift holds a ball up longer than a vacuum flight, but not this long


@dataclass(frozen=True, slots=True)
class Flight:
    """What a flight came to; every field has the shape of the broadcast inputs, NaN where an input is NaN."""

    carry_m: "NDArray[np.float64]"
    apex_m: "NDArray[np.float64]"
    time_s: "NDArray[np.float64]"
    land_deg: "NDArray[np.float64]"
    land_speed_mps: "NDArray[np.float64]"
    land_spin_rpm: "NDArray[np.float64]"


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
    landing_level_m: "ArrayLike" = 0.0,
    spin_decay: float = SPIN_DECAY,
    mass_kg: float = MASS_KG,
    radius_m: float = RADIUS_M,
    steps: int = _STEPS_IN_VACUUM_FLIGHT,
) -> Flight:
    """Fly balls until they come down to the landing level.

    Parameters
    ----------
    ball_speed_mps, launch_deg, spin_rpm
        launch speed [m/s] above 0, launch angle above the horizon [deg] above 0 and backspin [rpm]; broadcast together
        with all the following. Negative spin is topspin.
    aero
        lift and drag coefficients.
    drag_scale, lift_scale
        factors on the coefficients [-].
    density_kg_m3, viscosity_m2_s
        air density [kg/m3] and kinematic viscosity [m2/s].
    wind_mps
        uniform wind along the line [m/s], tail wind positive.
    landing_level_m
        height of the landing ground over the launch point [m]; a ball that never reaches it gives NaN.
    spin_decay
        dimensionless decay rate, ``d(omega)/dt = -spin_decay V omega / r`` [-].
    mass_kg, radius_m
        the ball [kg, m].
    steps
        integration steps in the time of the same flight in a vacuum; at 64 the carry of a wedge shot is within 0.001 m
        of a fine integration, within 0.002 m for coefficients with kinks (piecewise-linear tables).

    Returns
    -------
    Flight
        carry [m], apex over the launch point [m], time [s], landing angle below the horizon [deg], landing speed [m/s]
        and landing spin [rpm].

    Notes
    -----
    ``dv/dt = -k V (C_D u - C_L u_perp) - g`` with u the velocity relative to the air and ``k = rho A / 2m``; classical
    Runge-Kutta of fourth order; the moment of landing is the root of the cubic Hermite curve of the last step.
    """
    given = (
        ball_speed_mps,
        launch_deg,
        spin_rpm,
        density_kg_m3,
        viscosity_m2_s,
        wind_mps,
        landing_level_m,
        drag_scale,
        lift_scale,
    )
    together = np.broadcast_arrays(*given)
    shape = together[0].shape
    speed, launch, spin, rho, nu, wind, level, k_drag, k_lift = (
        np.array(part, dtype=np.float64).ravel() for part in together
    )
    angle = np.radians(launch)
    k = rho * (np.pi * radius_m**2) / (2.0 * mass_kg)
    state = np.stack(
        [np.zeros_like(speed), np.zeros_like(speed), speed * np.cos(angle), speed * np.sin(angle), spin * RPM_RADPS]
    )
    rise = state[3] ** 2 - 2.0 * GRAVITY_MPS2 * np.minimum(level, 0.0)
    dt = np.maximum((state[3] + np.sqrt(rise)) / GRAVITY_MPS2 / steps, _SHORTEST_STEP_S)
    fixed = np.stack([k, nu, wind, k_drag, k_lift])

    def slope(at: "NDArray[np.float64]", par: "NDArray[np.float64]") -> "NDArray[np.float64]":
        ux = at[2] - par[2]
        uy = at[3]
        airspeed = np.maximum(np.hypot(ux, uy), 1e-9)
        drag, lift = aero.coefficients(np.abs(at[4]) * radius_m / airspeed, 2.0 * radius_m * airspeed / par[1])
        drag = drag * par[3]
        lift = lift * par[4] * np.sign(at[4])
        force = par[0] * airspeed
        out = np.empty_like(at)
        out[0] = at[2]
        out[1] = at[3]
        out[2] = -force * (drag * ux + lift * uy)
        out[3] = force * (lift * ux - drag * uy) - GRAVITY_MPS2
        out[4] = -spin_decay * airspeed * at[4] / radius_m
        return out

    result = np.full((6, speed.size), np.nan)
    apex = np.zeros_like(speed)
    going = np.flatnonzero(np.isfinite(state).all(axis=0) & np.isfinite(fixed).all(axis=0) & (state[3] > 0))
    now, par, h = state[:, going], fixed[:, going], dt[going]
    time = np.zeros(going.size)
    for _ in range(max(_MOST_STEPS, _LONGEST_IN_VACUUM_FLIGHTS * steps)):
        if going.size == 0:
            break
        k1 = slope(now, par)
        k2 = slope(now + 0.5 * h * k1, par)
        k3 = slope(now + 0.5 * h * k2, par)
        k4 = slope(now + h * k3, par)
        after = now + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
        # the top of the arc lies inside the step in which the climb turns into a fall
        turns = (now[3] > 0) & (after[3] <= 0)
        if turns.any():
            share = now[3, turns] / (now[3, turns] - after[3, turns])
            apex[going[turns]] = _hermite(
                now[1, turns], after[1, turns], now[3, turns], after[3, turns], h[turns], share
            )
        landed = (after[3] <= 0) & (after[1] <= level[going])
        if landed.any():
            # a ball whose whole arc stays below the level never meets it: its row stays NaN
            met = landed & (apex[going] >= level[going])
            done = going[met]
            result[:, done] = _touchdown(now[:, met], after[:, met], h[met], time[met], level[done])
        keep = ~landed
        going, now, par, h, time = going[keep], after[:, keep], par[:, keep], h[keep], (time + h)[keep]
    result[1] = np.where(np.isfinite(result[0]), apex, np.nan)
    carry, top, seconds, land, land_speed, land_spin = (row.reshape(shape) for row in result)
    return Flight(carry, top, seconds, land, land_speed, land_spin)


def _hermite(
    y0: "NDArray[np.float64]",
    y1: "NDArray[np.float64]",
    v0: "NDArray[np.float64]",
    v1: "NDArray[np.float64]",
    h: "NDArray[np.float64]",
    s: "NDArray[np.float64]",
) -> "NDArray[np.float64]":
    """Cubic through two heights with two speeds, at the share ``s`` of the step ``h``."""
    return (
        (2 * s**3 - 3 * s**2 + 1) * y0
        + (s**3 - 2 * s**2 + s) * h * v0
        + (3 * s**2 - 2 * s**3) * y1
        + (s**3 - s**2) * h * v1
    )


def _touchdown(
    now: "NDArray[np.float64]",
    after: "NDArray[np.float64]",
    h: "NDArray[np.float64]",
    time: "NDArray[np.float64]",
    level: "NDArray[np.float64]",
) -> "NDArray[np.float64]":
    """Bisect the cubic of the last step for the moment at which the landing level is met."""
    low, high = np.zeros_like(h), np.ones_like(h)
    # a ball that starts its step below the level (a green above the launch point) meets it at the top of the step
    low = np.where((now[1] < level) & (now[3] > 0), np.clip(now[3] / (now[3] - after[3]), 0.0, 1.0), low)
    for _ in range(40):
        middle = 0.5 * (low + high)
        above = _hermite(now[1], after[1], now[3], after[3], h, middle) > level
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    s = 0.5 * (low + high)
    x = _hermite(now[0], after[0], now[2], after[2], h, s)
    # straight lines are enough here: at 64 steps within 0.005 deg, 0.003 m/s and 0.1 rpm of a fine integration
    vx, vy, omega = (now[i] + s * (after[i] - now[i]) for i in (2, 3, 4))
    return np.stack(
        [x, np.zeros_like(x), time + s * h, np.degrees(np.arctan2(-vy, vx)), np.hypot(vx, vy), omega / RPM_RADPS]
    )
