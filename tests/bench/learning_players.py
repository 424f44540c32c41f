"""Invented players, their logs, and how what is said of their next balls is scored."""

import dataclasses
import functools
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from wedgelab.prediction import ShotKind
from wedgelab.simulate import InventedPlayer, hit, invent_player

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Rows = NDArray[np.bool_] | Index
SEED: Final = 411
MISHIT_SIZE: Final = 0.6  # so that the paper chart scores as in the published comparison that this one is held against
LEVELS: Final = (np.arange(100) + 0.5) / 100
EIGHTY: Final = (0.1, 0.9)  # the ends of the range that is to hold eight balls of ten
KNOWN: Final = (64, 30)  # what the oracle has seen of each cell: days, balls a day
NEW_DAYS: Final = 16
NEW: Final = (NEW_DAYS, 40)  # what everybody is scored on


@dataclass(frozen=True)
class Log:
    """The balls of a log; arrays of shape (balls,), sessions in the order of time."""

    wedge: Index
    swing_deg: Array
    session: Index
    carry_m: Array
    spin_rpm: Array
    ball_speed_mps: Array
    launch_deg: Array

    def only(self, rows: Rows) -> "Log":
        """Return some of the balls."""
        return Log(**{field.name: getattr(self, field.name)[rows] for field in dataclasses.fields(self)})

    def then(self, later: "Log") -> "Log":
        """Return this log with later balls after it."""
        return Log(
            **{
                field.name: np.concatenate([getattr(self, field.name), getattr(later, field.name)])
                for field in dataclasses.fields(self)
            }
        )


@dataclass(frozen=True)
class Case:
    """One player: the asked cells, fresh solid balls of new days there, and what an oracle says of them."""

    player: InventedPlayer
    loft_deg: Array  # (cells,)
    swing_deg: Array
    wedge: Index
    carry_m: Array  # (cells, balls)
    spin_rpm: Array
    oracle_carry_m: Array  # (cells, levels): quantiles of the player's own balls of many other days
    oracle_spin_rpm: Array

    @property
    def kinds(self) -> list[ShotKind]:
        """The cells as the model asks for them; clubs are told apart by their lofts."""
        return [ShotKind("", float(a), float(b)) for a, b in zip(self.loft_deg, self.swing_deg, strict=True)]

    def longer(self, factor: float) -> "Case":
        """Return the case of a player whose every ball flies ``factor`` times as far."""
        return dataclasses.replace(self, carry_m=self.carry_m * factor, oracle_carry_m=self.oracle_carry_m * factor)


def crps(quantiles: Array, fresh: Array) -> float:
    """Mean CRPS of predictive quantiles (cells, levels) on fresh values (cells, balls): twice the mean pinball loss."""
    off = fresh[:, :, None] - quantiles[:, None, :]
    return float(2.0 * np.mean(np.maximum(LEVELS * off, (LEVELS - 1.0) * off)))


def excess(case: Case, said: tuple[Array, Array], cells: Any = slice(None)) -> tuple[float, float]:
    """How much larger than the oracle's the CRPS of carry and of spin is in the cells; ``said`` holds all cells."""
    carry = crps(said[0][cells], case.carry_m[cells]) / crps(case.oracle_carry_m[cells], case.carry_m[cells])
    spin = crps(said[1][cells], case.spin_rpm[cells]) / crps(case.oracle_spin_rpm[cells], case.spin_rpm[cells])
    return carry - 1.0, spin - 1.0


def held(ends: Array, fresh: Array) -> float:
    """Share of the fresh values (cells, balls) between the two ends (cells, 2)."""
    return float(np.mean((ends[:, :1] < fresh) & (fresh < ends[:, 1:])))


def all_cells(player: InventedPlayer) -> tuple[Index, Array]:
    """Return wedge and swing of every cell."""
    swings = np.array([swing.swing_deg for swing in player.swings], dtype=np.float64)
    return np.repeat(np.arange(len(player.wedges)), len(swings)), np.tile(swings, len(player.wedges))


def lofts_of(player: InventedPlayer) -> Array:
    """Return the loft of each wedge [deg]."""
    return np.array([club.loft_deg for club in player.wedges], dtype=np.float64)


def hit_solid(player: InventedPlayer, form: Array, each: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Hit solid balls in every cell, ``each`` on each day of the given form: carries and spins, (balls, cells)."""
    wedge, swing = all_cells(player)
    times = len(form) * each
    days = np.repeat(form, each * len(wedge))
    balls = hit(player, np.tile(wedge, times), np.tile(swing, times), rng, session=days, mishits=False)
    return balls.carry_m.reshape(times, -1), balls.spin_rpm.reshape(times, -1)


def hit_day_by_day(player: InventedPlayer, days: int, each: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Do the same on days of random form, one after the other."""
    balls = [hit_solid(player, rng.standard_normal(1), each, rng) for _ in range(days)]
    return np.concatenate([carry for carry, _ in balls]), np.concatenate([spin for _, spin in balls])


def make_case(
    player: InventedPlayer,
    rng: np.random.Generator,
    known_balls: tuple[int, int] = KNOWN,
    new_balls: tuple[int, int] = NEW,
    *,
    day_by_day: bool = False,
) -> Case:
    """Hit the fresh balls and let the oracle speak; both of so many days and balls a day."""
    wedge, swing = all_cells(player)
    (known_carry, known_spin), (carry, spin) = (
        hit_day_by_day(player, days, each, rng)
        if day_by_day
        else hit_solid(player, rng.standard_normal(days), each, rng)
        for days, each in (known_balls, new_balls)
    )
    return Case(
        player, lofts_of(player)[wedge], swing, wedge, carry.T, spin.T,
        np.quantile(known_carry, LEVELS, axis=0).T, np.quantile(known_spin, LEVELS, axis=0).T,
    )  # fmt: skip


def long_run_medians_m(player: InventedPlayer, rng: np.random.Generator) -> Array:
    """Return the median carry of solid balls of 200 days in each cell; evenly spread forms leave no luck of days."""
    carry, _ = hit_solid(player, norm.ppf((np.arange(200) + 0.5) / 200), 20, rng)
    return np.asarray(np.median(carry, axis=0))


def hit_log(player: InventedPlayer, wedge: Index, swing_deg: Array, session: Index, rng: np.random.Generator) -> Log:
    """Hit a log, mishits and all, sessions ascending; every one has a form of its own."""
    logs = []
    for day in np.unique(session):
        mine = np.flatnonzero(session == day)
        form = float(rng.standard_normal())
        balls = hit(player, wedge[mine], swing_deg[mine], rng, session=form)
        logs.append(
            Log(
                wedge[mine], swing_deg[mine], session[mine], np.maximum(balls.carry_m, 0.5), balls.spin_rpm,
                balls.ball_speed_mps, balls.launch_deg,
            )
        )  # fmt: skip
    return functools.reduce(Log.then, logs)


def make_log(
    player: InventedPlayer,
    per_cell: int,
    rng: np.random.Generator,
    keep: NDArray[np.bool_] | None = None,
    sessions: int = 2,
) -> Log:
    """Hit a log of as many balls in every cell, in turn; ``keep`` says in which cells.

    The balls are shared evenly over the sessions, so one ball a cell is one session.
    """
    wedge, swing = all_cells(player)
    if keep is not None:
        wedge, swing = wedge[keep], swing[keep]
    session = np.repeat(np.arange(per_cell), len(wedge)) * sessions // max(per_cell, sessions)
    return hit_log(player, np.tile(wedge, per_cell), np.tile(swing, per_cell), session, rng)


def player_of(number: int, *labels: int, seed: int = SEED) -> tuple[InventedPlayer, np.random.Generator]:
    """Draw one player of a row, with a generator of its own, whoever else is drawn."""
    rng = np.random.default_rng([seed, *labels, number])
    return dataclasses.replace(invent_player(rng), mishit_size=MISHIT_SIZE), rng


def case_and_log(number: int, per_cell: int) -> tuple[Case, Log]:
    """Return one player of a row of the table: what is asked, and the log.

    Days are hit one after the other, which takes longer: these are the balls of the table's earlier figures too.
    """
    player, rng = player_of(number, per_cell)
    case = make_case(player, rng, day_by_day=True)
    return case, make_log(player, per_cell, rng)
