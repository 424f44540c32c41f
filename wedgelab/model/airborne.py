"""How a player's shots start, fly and land: launches from the log and the fitted model, flights in a given air."""

import dataclasses
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model.fit import Fit
from wedgelab.model.observations import MEASURED, AirCorrection, Observations, near_swing
from wedgelab.model.structure import Array, Cells
from wedgelab.model.weather import GUST_SHARE, WIND_TOLD_SHARE, Air, Change, Launches, air_of, change
from wedgelab.physics.ball import RADIUS_M
from wedgelab.physics.bounce import run_out
from wedgelab.physics.flight import Flight
from wedgelab.prediction import Day, FlightEstimate
from wedgelab.shots import Conditions
from wedgelab.units import RPM_RADPS

if TYPE_CHECKING:
    from numpy.typing import NDArray

MOST_RUN_OUT_SLIP: Final = 1.3  # backspin as a share of the landing speed: `run_out` holds for less
RUN_OUT_LAND_DEG: Final = (15.0, 60.0)
_LAUNCH_DEG: Final = (3.0, 75.0)  # whatever a device says, a charted shot gets off the ground
# how many measured balls the fitted model's own estimate is worth: against all balls, and against those of one cell
_PLAYER_COUNT: Final = 2.0
_CELL_COUNT: Final = 2.0


class Airborne:
    """The flights of one fitted player, in the reference air or on a day."""

    def __init__(
        self,
        obs: Observations,
        learnt: Fit,
        solid: "NDArray[np.bool_]",
        reference: Conditions,
        day: Day | None,
        ball_air: Air | None,
    ) -> None:
        self.obs, self.fit, self.solid = obs, learnt, solid
        self.still = air_of([reference], reference)
        self._ball_air = ball_air
        self.today = self.still if day is None else air_of([day.conditions], reference)
        self.rise_m = 0.0 if day is None else day.rise_m

    def change(self, cells: Cells, median: tuple[Array, Array]) -> Change:
        """Tell what the day does to the median shots of the cells (log carry and log spin in the reference air)."""
        log_carry, log_spin = median
        one = np.zeros(len(log_carry), dtype=np.intp)
        launches = self._launches(cells, log_spin)
        return change(
            launches, np.exp(log_carry), self.still.take(one), self.today.take(one), rise_m=self.rise_m, is_logged=False
        )

    def estimates(self, cells: Cells, flight: Flight, green: str) -> list[FlightEstimate]:
        """Set the flights of the cells' median shots right by what was measured, and let them run out on a green."""
        land = np.clip(flight.land_deg + self._pulled(cells, self._land_offs), 1.0, 89.0)
        apex = flight.apex_m * np.exp(self._pulled(cells, self._apex_offs))
        # the run-out is held at the edges of the range in which it says anything
        most_spin = MOST_RUN_OUT_SLIP * flight.land_speed_mps / (RADIUS_M * RPM_RADPS)
        ground = run_out(
            flight.land_speed_mps, np.clip(land, *RUN_OUT_LAND_DEG), np.minimum(flight.land_spin_rpm, most_spin), green
        )
        measured = np.any(self._near(cells)[:, self._is_measured], axis=1)
        return [
            FlightEstimate(
                land_deg=float(land[i]),
                apex_m=float(apex[i]),
                air_time_s=float(flight.time_s[i]),
                land_speed_mps=float(flight.land_speed_mps[i]),
                land_spin_rpm=float(flight.land_spin_rpm[i]),
                run_out_low_m=float(ground.low_m[i]),
                run_out_m=float(ground.mid_m[i]),
                run_out_high_m=float(ground.high_m[i]),
                drift_m=float(flight.offline_m[i]),
                flight_support="measured" if measured[i] else "estimate",
            )
            for i in range(len(land))
        ]

    def launches_of_balls(self) -> Launches:
        """How every logged ball started: what was measured, else the fitted model's estimate for its shot."""
        cells = self._ball_cells
        estimate = self._launches(cells)
        speed, launch = (self._measured(name) for name in ("ball_speed_mps", "launch_deg"))
        spin = np.exp(self.obs.log_spin)
        return Launches(
            np.where(np.isfinite(speed), speed, estimate.ball_speed_mps),
            np.where(np.isfinite(launch), launch, estimate.launch_deg),
            np.where(np.isfinite(spin), spin, estimate.spin_rpm),
            np.isfinite(speed),
        )

    def _launches(self, cells: Cells, log_spin: Array | None = None) -> Launches:
        """Return how the median shots start as the fitted player makes them, with another spin if one is given."""
        value = self.fit.structure.rows(cells).at(self.fit.mean)
        launch = np.clip(value[:, 3], *_LAUNCH_DEG)
        spin = np.exp(value[:, 1] if log_spin is None else log_spin)
        return Launches(np.exp(value[:, 2]), launch, spin, np.zeros(len(launch), dtype=np.bool_))

    @cached_property
    def _ball_cells(self) -> Cells:
        obs = self.obs
        return Cells(obs.club, obs.loft_deg, obs.swing_deg, obs.trajectory, obs.lie, obs.ball)

    def _measured(self, name: str) -> Array:
        """Return a measured column, NaN where nothing was measured."""
        return np.asarray(self.obs.measured[:, MEASURED.index(name)])

    @cached_property
    def _is_measured(self) -> "NDArray[np.bool_]":
        """Which solid balls tell how they flew."""
        speed, launch, land = (np.isfinite(self._measured(n)) for n in ("ball_speed_mps", "launch_deg", "land_deg"))
        return np.asarray(((speed & launch) | land) & self.solid)

    @cached_property
    def _flown(self) -> Flight:
        """The flights of the logged balls in the air in which they were hit."""
        air = self._ball_air or self.still.take(np.zeros(len(self.obs), dtype=np.intp))
        launches = self.launches_of_balls()
        # flights that carry what the ball did, as those of the median shots do, whatever the device said of the speed
        free = dataclasses.replace(launches, is_measured=np.zeros(len(self.obs), dtype=np.bool_))
        return change(free, np.exp(self.obs.log_carry - self.obs.air.shift), air, air).flight

    @cached_property
    def _land_offs(self) -> Array:
        """Measured less computed landing angle of every ball [deg]."""
        measured = self._measured("land_deg")
        return measured - self._flown.land_deg if np.isfinite(measured).any() else measured

    @cached_property
    def _apex_offs(self) -> Array:
        """Logarithm of measured over computed apex of every ball."""
        measured = self._measured("apex_m")
        if not np.isfinite(measured).any():
            return measured
        return np.log(np.where(measured > 0, measured, np.nan)) - np.log(self._flown.apex_m)

    def _near(self, cells: Cells) -> "NDArray[np.bool_]":
        """Tell which logged balls are of each cell's shot, shape (cells, balls)."""
        obs = self.obs
        same = (cells.club[:, None] == obs.club) & (cells.trajectory[:, None] == obs.trajectory)
        return np.asarray(same) & near_swing(cells.swing_deg[:, None], obs.swing_deg)

    def _pulled(self, cells: Cells, offs: Array) -> Array:
        """Return how far measured balls pull an estimate: all of the player's, and those of the cell beyond that."""
        told = np.isfinite(offs) & self.solid
        if not told.any():
            return np.zeros(len(cells.loft_deg))
        player = offs[told].sum() / (told.sum() + _PLAYER_COUNT)
        near = self._near(cells)[:, told].astype(np.float64)
        own = (near @ (offs[told] - player)) / (near.sum(axis=1) + _CELL_COUNT)
        return np.asarray(player + own)


def corrected(obs: Observations, ball_air: Air, airborne: Airborne) -> Observations:
    """Bring the carries to the reference air; those hit in it stay as they are, but for what the wind adds of doubt."""
    one = np.zeros(len(obs), dtype=np.intp)
    reference = airborne.still.take(one)
    chosen = np.flatnonzero(ball_air.differs(reference) | ball_air.blows)
    launches = airborne.launches_of_balls()
    part = Launches(
        launches.ball_speed_mps[chosen], launches.launch_deg[chosen], launches.spin_rpm[chosen],
        launches.is_measured[chosen],
    )  # fmt: skip
    done = change(part, np.exp(obs.log_carry[chosen]), ball_air.take(chosen), reference.take(chosen))
    air = AirCorrection.none(len(obs), obs.n_sessions)
    air.shift[chosen] = done.log_carry
    air.doubts[chosen] = done.doubts
    air.gust_var[chosen] = (GUST_SHARE * done.wind_before) ** 2
    wind = np.zeros(len(obs))
    wind[chosen] = (WIND_TOLD_SHARE * done.wind_before) ** 2
    count = np.maximum(np.bincount(obs.session, minlength=obs.n_sessions), 1)
    air.session_var[:] = np.bincount(obs.session, wind, obs.n_sessions) / count
    return dataclasses.replace(obs, log_carry=obs.log_carry + air.shift, air=air)
