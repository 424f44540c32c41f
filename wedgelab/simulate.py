"""Invented players whose truth is known: for the demo's data, for tests, and for planning.

A player here is a swing, a bag and their noise; every ball goes through impact and flight. The forms of the speed
curve and of the noise, and the numbers, differ on purpose from those behind the model's prior, so that a model which
does well here has not been told the answer.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wedgelab.physics.aero import BEARMAN_HARVEY, SMITS_SMITH, AeroSet
from wedgelab.physics.air import STANDARD_DENSITY_KG_M3
from wedgelab.physics.flight import fly
from wedgelab.physics.impact import strike
from wedgelab.shots import DEFAULT_SWINGS, SwingLength, Wedge

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

_FULL_DEG = 165.0
_MIDDLE_LOFT_DEG = 53.0


@dataclass(frozen=True, slots=True)
class InventedPlayer:
    """A player with known truth. Angles in degrees, speeds in m/s, every ``*_sd`` one standard deviation a ball."""

    wedges: tuple[Wedge, ...]
    swings: tuple[SwingLength, ...]
    full_speed_mps: float
    curve_power: float
    curve_wave: tuple[float, float]  # own bend of the speed curve: (size [log], where along the swing [deg])
    lean_deg: float
    lean_short_deg: float
    loft_share: float
    attack_deg: float
    friction: float
    spin_factor: float
    drag_scale: float
    lift_scale: float
    aero: AeroSet
    club_log_speed: tuple[float, ...]  # one a wedge
    club_loft_deg: tuple[float, ...]
    speed_sd: float  # [log], at a full swing
    short_noise: float  # how much more it is at the shortest
    loft_sd_deg: float
    contact_sd: float  # ball speed lost off the middle [log]
    line_sd_deg: float
    session_sd: float  # [log carry], about
    mishit_share: float
    mishit_size: float = 1.0  # how bad a mishit is; 0 is no mishit at all


@dataclass(frozen=True, slots=True)
class Balls:
    """What n balls did: arrays of shape (n,)."""

    carry_m: "Array"
    offline_m: "Array"
    spin_rpm: "Array"
    ball_speed_mps: "Array"
    club_speed_mps: "Array"
    launch_deg: "Array"
    land_deg: "Array"
    apex_m: "Array"
    mishit: "NDArray[np.bool_]"


def invent_player(rng: np.random.Generator, *, skill: float | None = None) -> InventedPlayer:
    """Draw a player with three or four wedges; ``skill`` from 0 (club player) to 1 (professional), drawn if None."""
    able = float(rng.uniform()) if skill is None else skill
    count = int(rng.integers(3, 5))
    first = float(rng.choice([44.0, 46.0, 48.0]))
    steps = rng.choice([4.0, 5.0, 6.0], count - 1) if count == 3 else rng.choice([4.0, 5.0], count - 1)
    lofts = np.minimum(first + np.concatenate([[0.0], np.cumsum(steps)]), 60.0)
    lofts[-1] = max(lofts[-1], lofts[-2] + 2.0)
    return InventedPlayer(
        wedges=tuple(Wedge(f"{loft:.0f}", float(loft)) for loft in lofts),
        swings=DEFAULT_SWINGS,
        full_speed_mps=float(29.0 + 8.5 * able + rng.normal(0.0, 1.2)),
        curve_power=float(rng.uniform(0.45, 0.80)),
        curve_wave=(float(rng.normal(0.0, 0.02)), float(rng.uniform(30.0, 150.0))),
        lean_deg=float(rng.normal(-5.5, 2.0)),
        lean_short_deg=float(rng.normal(1.0, 2.0)),
        loft_share=float(rng.normal(0.97, 0.04)),
        attack_deg=float(rng.normal(-4.5, 1.2)),
        friction=float(np.clip(rng.normal(0.31, 0.04), 0.18, None)),
        spin_factor=float(rng.uniform(1.02, 1.22)),
        drag_scale=float(rng.normal(1.0, 0.04)),
        lift_scale=float(rng.normal(1.0, 0.07)),
        aero=SMITS_SMITH if rng.uniform() < 0.5 else BEARMAN_HARVEY,
        club_log_speed=tuple(float(x) for x in rng.normal(-0.0025 * (lofts - _MIDDLE_LOFT_DEG), 0.006)),
        club_loft_deg=tuple(float(x) for x in rng.normal(0.0, 0.4, len(lofts))),
        speed_sd=float(0.028 - 0.016 * able),
        short_noise=float(rng.uniform(0.1, 0.8)),
        loft_sd_deg=float(1.8 - 1.0 * able),
        contact_sd=float(0.022 - 0.014 * able),
        line_sd_deg=float(3.2 - 1.7 * able),
        session_sd=0.010,
        mishit_share=float(0.10 - 0.08 * able),
    )


def hit(
    player: InventedPlayer,
    wedge: "ArrayLike",
    swing_deg: "ArrayLike",
    rng: np.random.Generator,
    *,
    session: "ArrayLike" = 0.0,
    mishits: bool = True,
    friction_left: float = 1.0,
    noise: float = 1.0,
    density_kg_m3: float = STANDARD_DENSITY_KG_M3,
    wind_mps: float = 0.0,
    rise_m: float = 0.0,
) -> Balls:
    """Hit balls with the wedges of the given indices and swing lengths [deg].

    ``session`` is the day's effect in standard deviations (one for all or one a ball), ``friction_left`` the share of
    friction that a wet or grassy face keeps, ``noise`` scales every spread (0 gives the middle of the middle);
    ``density_kg_m3`` and ``wind_mps`` are the day's air, ``rise_m`` the height of the landing ground.
    """
    which, swing, day = np.broadcast_arrays(
        np.asarray(wedge, dtype=np.intp), np.asarray(swing_deg, dtype=np.float64), np.asarray(session, dtype=np.float64)
    )
    n = which.size
    which, swing, day = which.ravel(), swing.ravel(), day.ravel()
    lofts = np.array([w.loft_deg for w in player.wedges])[which]
    short = np.clip((_FULL_DEG - swing) / _FULL_DEG, 0.0, 1.0)
    size, centre = player.curve_wave
    middle_speed = (
        np.log(player.full_speed_mps)
        + player.curve_power * np.log(_arc(swing) / _arc(np.array(_FULL_DEG)))
        + size * np.exp(-0.5 * ((swing - centre) / 35.0) ** 2)
        + np.array(player.club_log_speed)[which]
        + 0.6 * player.session_sd * day
    )
    speed = np.exp(middle_speed + noise * player.speed_sd * (1.0 + player.short_noise * short) * rng.standard_normal(n))
    delivered = (
        _MIDDLE_LOFT_DEG
        + player.loft_share * (lofts - _MIDDLE_LOFT_DEG)
        + player.lean_deg
        + player.lean_short_deg * short
        + np.array(player.club_loft_deg)[which]
        + noise * player.loft_sd_deg * rng.standard_normal(n)
    )
    lost = np.exp(-np.abs(noise * player.contact_sd * rng.standard_normal(n)))
    grip = friction_left * player.friction * np.exp(noise * 0.06 * rng.standard_normal(n))
    bad = (rng.uniform(size=n) < player.mishit_share) & mishits
    thin = bad & (rng.uniform(size=n) < 0.3)
    fat = bad & ~thin
    delivered = np.where(thin, delivered - player.mishit_size * rng.uniform(10.0, 22.0, n), delivered)
    lost = np.where(fat, 1.0 - player.mishit_size * (1.0 - rng.uniform(0.62, 0.88, n)), lost)
    launch = strike(speed, np.maximum(delivered, 6.0), player.attack_deg, friction=grip)
    spin = (
        launch.spin_rpm
        * player.spin_factor
        * np.where(fat, 1.0 - 0.4 * player.mishit_size, 1.0)
        * np.exp(noise * 0.03 * rng.standard_normal(n))
    )
    ball_speed = launch.ball_speed_mps * lost
    flight = fly(
        ball_speed,
        launch.launch_deg,
        spin,
        aero=player.aero,
        drag_scale=player.drag_scale,
        lift_scale=player.lift_scale,
        density_kg_m3=density_kg_m3,
        wind_mps=wind_mps,
        landing_level_m=rise_m,
    )
    line = np.radians(noise * player.line_sd_deg * rng.standard_normal(n))
    return Balls(
        flight.carry_m * np.cos(line),
        flight.carry_m * np.sin(line),
        np.minimum(spin, 15900.0),
        ball_speed,
        speed,
        launch.launch_deg,
        flight.land_deg,
        flight.apex_m,
        bad,
    )


def true_medians(
    player: InventedPlayer,
    swings_deg: Sequence[float],
    *,
    balls: int = 401,
    density_kg_m3: float = STANDARD_DENSITY_KG_M3,
    wind_mps: float = 0.0,
    rise_m: float = 0.0,
) -> tuple["Array", "Array"]:
    """Return the long-run medians of solid balls, carry [m] and spin [rpm], each of shape (wedges, swings)."""
    rng = np.random.default_rng(7)
    index, swing, _ = np.meshgrid(
        np.arange(len(player.wedges)), np.asarray(swings_deg), np.arange(balls), indexing="ij"
    )
    result = hit(
        player, index, swing, rng, mishits=False, density_kg_m3=density_kg_m3, wind_mps=wind_mps, rise_m=rise_m
    )
    shape = index.shape
    return np.median(result.carry_m.reshape(shape), axis=2), np.median(result.spin_rpm.reshape(shape), axis=2)


def without_noise(player: InventedPlayer) -> InventedPlayer:
    """Return the same player as a machine: no spread, no mishits, no good and bad days."""
    return replace(
        player, speed_sd=0.0, loft_sd_deg=0.0, contact_sd=0.0, line_sd_deg=0.0, session_sd=0.0, mishit_share=0.0
    )


def _arc(swing_deg: "Array") -> "Array":
    """Grow like the height gained by an arm that swings up, without ever turning back [-]."""
    return np.asarray(
        np.sin(np.radians(np.minimum(swing_deg, 150.0)) / 2.0) + 0.0012 * np.maximum(swing_deg - 150.0, 0.0)
    )
