"""What the air does to a carry: differences of the flight model between conditions, with how surely they are known.

The published coefficient sets disagree where wedges fly, so a flight is never taken for the carry itself: each set
flies the ball in both airs, and only the *difference* is used. The mean of the sets' differences is the correction,
their disagreement its doubt. docs/method/flight.md has the formulas and the figures.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wedgelab.physics.aero import AERO_SETS, MIDDLE, AeroSet
from wedgelab.physics.air import kinematic_viscosity_m2_s, moist_air_density_kg_m3, pressure_at_altitude_hpa
from wedgelab.physics.flight import Flight, fly
from wedgelab.shots import Conditions

Array = NDArray[np.float64]

# what holds where neither a session nor the player's reference says anything: the standard atmosphere (ISO 2533), calm
STANDARD: Final = Conditions(15.0, 1013.25, 0.0, 0.0, 0.0, 0.0)
# Turbulence intensity 10 m over open grass, 1 / ln(10 m / 0.03 m) of the logarithmic wind profile (value from memory):
# how far the wind of one ball's flight is off the mean wind, as a share
GUST_SHARE: Final = 0.17
# How far a wind that was noted is off the mean wind: what differs from session to session, and what is this player's
# way of reading the wind, the same every time (own judgement, no source; together a quarter)
WIND_TOLD_SHARE: Final = 0.18
WIND_HABIT_SHARE: Final = 0.18
OUTSIDE_SHARE: Final = 0.3  # doubt of a correction whose flight lies outside the measured ranges (own judgement)
N_DOUBTS: Final = len(AERO_SETS) + 2  # one a set, one for being outside their ranges, one for how the wind is read
_MOST_CHANGE: Final = 0.6  # no correction of a logged carry takes away or adds more than this share of it
_LEAST_LEFT: Final = 0.05  # a day that leaves less than this share of a carry leaves no number
_WRONG_SPEED: Final = 1.25  # a measured speed whose flight misses the carry by more than this factor is a slip
_SPEED_POWER: Final = 1.6  # carry grows with about this power of the ball speed
NEVER_UP: Final = -7.0  # log carry of a ball whose arc stays below the green, against that on level ground
_CARRY_STEP: Final = 0.06  # step of the derivative by the log carry
_MOST_STRETCH: Final = 5.0
_STEPS: Final = 5  # longer than usual: differences of carries stay right to a centimetre
_MORE_WIND: Final = 0.2  # step of the derivative by the wind


@dataclass(frozen=True, slots=True)
class Air:
    """Air for n balls, or one for all: density [kg/m3], kinematic viscosity [m2/s], wind along and across [m/s]."""

    density_kg_m3: Array
    viscosity_m2_s: Array
    wind_mps: Array
    cross_wind_mps: Array

    def take(self, chosen: "NDArray[np.intp]") -> "Air":
        """Return the air of some of the balls, or of one ball many times."""
        return Air(
            self.density_kg_m3[chosen], self.viscosity_m2_s[chosen], self.wind_mps[chosen], self.cross_wind_mps[chosen]
        )

    @property
    def blows(self) -> "NDArray[np.bool_]":
        """For which balls there is wind."""
        return np.asarray((self.wind_mps != 0.0) | (self.cross_wind_mps != 0.0))

    @property
    def has_wind(self) -> bool:
        """True when it blows for any ball."""
        return bool(self.blows.any())

    def with_more_wind(self, share: float) -> "Air":
        """Return the same air with more wind, as a share of what there is."""
        more = 1.0 + share
        return Air(self.density_kg_m3, self.viscosity_m2_s, more * self.wind_mps, more * self.cross_wind_mps)

    def differs(self, other: "Air") -> "NDArray[np.bool_]":
        """Tell which balls fly in another air than the other's."""
        names = ("density_kg_m3", "viscosity_m2_s", "wind_mps", "cross_wind_mps")
        same = [np.isclose(getattr(self, name), getattr(other, name), rtol=1e-9, atol=1e-12) for name in names]
        return np.asarray(~np.logical_and.reduce(same))


@dataclass(frozen=True, slots=True)
class Launches:
    """How n balls start: speed [m/s], launch [deg], spin [rpm]; ``is_measured`` tells which speeds were measured."""

    ball_speed_mps: Array
    launch_deg: Array
    spin_rpm: Array
    is_measured: "NDArray[np.bool_]"


@dataclass(frozen=True, slots=True)
class Change:
    """What another air does to n balls.

    ``log_carry`` is what to add to the logarithm of the carry; ``doubts`` (n, `N_DOUBTS`) are its standard errors from
    independent causes that are the same for every ball and every air (signed: causes can cancel). ``wind_before`` and
    ``wind_after`` are the size of the change of log carry for twice the wind in each air (root mean square over the
    sets). ``stretch`` is by how much differences in log carry grow on the way. ``flight`` is the mean of the sets in
    the second air.
    """

    log_carry: Array
    doubts: Array
    wind_before: Array
    wind_after: Array
    stretch: Array
    flight: Flight


def conditions_in_full(said: Conditions, reference: Conditions) -> Conditions:
    """Fill in what was not said from the reference conditions, and those from the standard atmosphere.

    A station pressure goes before an altitude; an altitude that was said goes before the pressure of the reference.
    """

    def known(name: str) -> float:
        for source in (said, reference, STANDARD):
            value = getattr(source, name)
            if value is not None:
                return float(value)
        raise AssertionError(name)  # STANDARD says everything

    pressure: float | None = None
    for source in (said, reference):
        if source.station_pressure_hpa is not None:
            pressure = source.station_pressure_hpa
        elif source.altitude_m is not None:
            pressure = float(pressure_at_altitude_hpa(source.altitude_m))
        if pressure is not None:
            break
    return Conditions(
        known("air_temp_c"),
        1013.25 if pressure is None else pressure,
        known("humidity_pct"),
        None,
        known("wind_mps"),
        known("cross_wind_mps"),
    )


def air_of(said: Sequence[Conditions], reference: Conditions) -> Air:
    """Return the air of each of the conditions; what they leave open is as in the reference."""
    full = [conditions_in_full(one, reference) for one in said]
    temperature, pressure, humidity, along, across = (
        np.array([getattr(one, name) for one in full], dtype=np.float64)
        for name in ("air_temp_c", "station_pressure_hpa", "humidity_pct", "wind_mps", "cross_wind_mps")
    )
    density = moist_air_density_kg_m3(temperature, pressure, humidity)
    return Air(density, kinematic_viscosity_m2_s(temperature, density), along, across)


def change(
    launches: Launches, carry_m: Array, before: Air, after: Air, *, rise_m: float = 0.0, is_logged: bool = True
) -> Change:
    """Tell how the carries change from one air to another.

    Parameters
    ----------
    launches
        n balls; a speed that was not measured is first moved so that the flight in ``before`` carries ``carry_m``.
    carry_m
        carry of each ball in ``before`` [m], shape (n,).
    before, after
        air for n balls.
    rise_m
        height of the landing ground over the ball in ``after`` [m]; in ``before`` it is level.
    is_logged
        the carries are single logged balls, some of them slips: no correction is larger than 60 % of the carry.

    Returns
    -------
    Change
        a ball without a flight (it starts downwards) gets no correction, one that never gets up to the green, or is
        blown back, keeps next to nothing of its carry (`NEVER_UP`).
    """
    airs = [(before, 0.0)]
    if rise_m or after.differs(before).any():
        airs.append((after, rise_m))
    windy = [k for k, (air, _) in enumerate(airs) if air.has_wind]
    more_wind = [(airs[k][0].with_more_wind(_MORE_WIND), airs[k][1]) for k in windy]
    speed = _speed_that_carries(launches, carry_m, before)
    changes, ends, outside = [], [], []
    effects = np.zeros((2, len(AERO_SETS), len(carry_m)))
    for number, aero in enumerate(AERO_SETS):
        flights = _fly(aero, speed, launches, airs + more_wind)
        start, end = flights[0], flights[len(airs) - 1]
        changes.append(end.carry_m - start.carry_m)
        ends.append(end)
        outside.append(0.5 * (start.outside_share + end.outside_share))
        for k, more in zip(windy, flights[len(airs) :], strict=True):
            effects[k, number] = _log_ratio(carry_m, more.carry_m - flights[k].carry_m) / _MORE_WIND
    if len(airs) == 1:
        effects[1] = effects[0]
    each = np.stack([_log_ratio(carry_m, metres) for metres in changes], axis=1)
    mean = each.mean(axis=1)
    flight = _mean(ends)
    never = np.isfinite(start.carry_m) & np.isnan(flight.carry_m)
    if not is_logged:
        left = 1.0 + np.mean(changes, axis=0) / carry_m
        never |= left < _LEAST_LEFT
        with np.errstate(invalid="ignore", divide="ignore"):
            mean = np.where(np.isfinite(left) & ~never, np.log(np.where(left > 0, left, 1.0)), mean)
    doubts = np.column_stack(
        [
            (each - each.mean(axis=1, keepdims=True)) / np.sqrt(len(AERO_SETS) - 1),
            OUTSIDE_SHARE * np.nan_to_num(np.mean(outside, axis=0)) * mean,
            WIND_HABIT_SHARE * (effects[1] - effects[0]).mean(axis=0),
        ]
    )
    return Change(
        np.where(never, NEVER_UP, mean),
        np.where(never[:, None], 0.0, doubts),
        np.sqrt(np.mean(effects[0] ** 2, axis=0)),
        np.sqrt(np.mean(effects[1] ** 2, axis=0)),
        _stretch(launches, carry_m, before, after, rise_m) if rise_m else np.ones(len(carry_m)),
        flight,
    )


def _stretch(launches: Launches, carry_m: Array, before: Air, after: Air, rise_m: float) -> Array:
    """Slope of log carry to ground that is not level against log carry on level ground.

    Near the top of the arc a little less speed costs far more carry than on level ground.
    """
    logs = []
    for step in (-_CARRY_STEP, _CARRY_STEP):
        speed = _speed_that_carries(launches, carry_m * np.exp(step), before)
        start, end = _fly(MIDDLE, speed, launches, [(before, 0.0), (after, rise_m)])
        share = np.where(np.isfinite(end.carry_m), end.carry_m, 0.0) / np.where(start.carry_m > 0, start.carry_m, 1.0)
        logs.append(np.log(np.maximum(share, _LEAST_LEFT)))
    slope = 1.0 + (logs[1] - logs[0]) / (2.0 * _CARRY_STEP)
    return np.clip(np.where(np.isfinite(slope), slope, 1.0), 0.5, _MOST_STRETCH)


def _mean(flights: Sequence[Flight]) -> Flight:
    names = Flight.__dataclass_fields__
    return Flight(**{name: np.mean([getattr(flight, name) for flight in flights], axis=0) for name in names})


def _speed_that_carries(launches: Launches, carry_m: Array, air: Air) -> Array:
    """Move the speeds that were not measured to where the mean of the sets carries as far as the ball did.

    So is a measured one that cannot belong to the carry: another unit, another ball.
    """
    (flight,) = _fly(MIDDLE, launches.ball_speed_mps, launches, [(air, 0.0)])
    ratio = np.where(flight.carry_m > 0, carry_m / np.where(flight.carry_m > 0, flight.carry_m, 1.0), 1.0)
    wrong = np.abs(np.log(ratio)) > np.log(_WRONG_SPEED)
    moved = launches.ball_speed_mps * np.clip(ratio ** (1.0 / _SPEED_POWER), 0.5, 2.0)
    return np.where(~launches.is_measured | wrong, moved, launches.ball_speed_mps)


def _fly(aero: AeroSet, speed: Array, launches: Launches, airs: Sequence[tuple[Air, float]]) -> list[Flight]:
    """Fly the same balls in several airs, each with the rise of its landing ground [m], in one call."""
    flight = fly(
        speed,
        launches.launch_deg,
        launches.spin_rpm,
        aero=aero,
        steps=_STEPS,
        density_kg_m3=np.stack([air.density_kg_m3 for air, _ in airs]),
        viscosity_m2_s=np.stack([air.viscosity_m2_s for air, _ in airs]),
        wind_mps=np.stack([air.wind_mps for air, _ in airs]),
        cross_wind_mps=np.stack([air.cross_wind_mps for air, _ in airs]),
        landing_level_m=np.array([[rise] for _, rise in airs]),
    )
    fields = Flight.__dataclass_fields__
    return [Flight(**{name: getattr(flight, name)[i] for name in fields}) for i in range(len(airs))]


def _log_ratio(carry_m: Array, more_m: Array) -> Array:
    share = np.clip(np.nan_to_num(more_m) / carry_m, -_MOST_CHANGE, _MOST_CHANGE)
    return np.asarray(np.log1p(share))
