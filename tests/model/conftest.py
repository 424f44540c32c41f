"""Invented players, their logs and what the model makes of them, shared by the tests of the model.

Seeds were written down before the first run and belong to the tests alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from wedgelab.model.observations import observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.prediction import ShotKind
from wedgelab.simulate import InventedPlayer, hit, invent_player, true_medians

Array = NDArray[np.float64]
SWINGS_DEG = (45.0, 90.0, 135.0, 165.0)
LEAGUE_SEED = 20260603
LEAGUE_PLAYERS = 25
FRESH_SESSIONS = 20


def log_of(
    player: InventedPlayer, rng: np.random.Generator, *, balls: int = 3, sessions: int = 2, mishits: bool = True
) -> dict[str, Any]:
    """Columns of a log with as many balls of every cell in every session."""
    shape = (sessions, len(player.wedges), len(SWINGS_DEG), balls)
    day, wedge, swing, _ = np.indices(shape)
    form = rng.standard_normal(sessions)
    hits = hit(player, wedge, np.array(SWINGS_DEG)[swing], rng, session=form[day], mishits=mishits)
    which = wedge.ravel()
    return {
        "carry_m": hits.carry_m,
        "spin_rpm": hits.spin_rpm,
        "loft_deg": np.array([player.wedges[i].loft_deg for i in which]),
        "swing_deg": np.array(SWINGS_DEG)[swing.ravel()],
        "wedge": [player.wedges[i].label for i in which],
        "session": [f"day {i}" for i in day.ravel()],
    }


def fit_log(log: dict[str, Any], rows: "NDArray[Any] | Sequence[int] | None" = None) -> FittedPlayer:
    """Fit the model to the columns of a log, or to some of its rows in the order given."""
    if rows is None:
        return fit_observations(observations(**log))
    index = np.asarray(rows)
    picked: dict[str, Any] = {
        name: np.asarray(column)[index] if isinstance(column, np.ndarray) else [column[i] for i in index]
        for name, column in log.items()
    }
    return fit_observations(observations(**picked))


def kinds_of(player: InventedPlayer, swings_deg: Sequence[float] = SWINGS_DEG) -> list[ShotKind]:
    """Every wedge with every swing, wedge by wedge."""
    return [ShotKind(wedge.label, wedge.loft_deg, swing) for wedge in player.wedges for swing in swings_deg]


class Tools:
    """The functions above, for tests that build logs of their own (tests cannot import each other)."""

    log_of = staticmethod(log_of)
    fit_log = staticmethod(fit_log)
    kinds_of = staticmethod(kinds_of)


@dataclass(frozen=True)
class Entry:
    """One invented player: the log, the fit, the truth, and balls of sessions that the fit never saw."""

    player: InventedPlayer
    log: dict[str, Any]
    fitted: FittedPlayer
    kinds: list[ShotKind]
    true_carry_m: Array  # (kinds,)
    true_spin_rpm: Array
    fresh_carry_m: Array  # (kinds, sessions)
    fresh_spin_rpm: Array


def _entry(number: int) -> Entry:
    rng = np.random.default_rng([LEAGUE_SEED, number])
    player = invent_player(rng)
    log = log_of(player, rng)
    wedge, swing, day = np.indices((len(player.wedges), len(SWINGS_DEG), FRESH_SESSIONS))
    form = rng.standard_normal(FRESH_SESSIONS)
    fresh = hit(player, wedge, np.array(SWINGS_DEG)[swing], rng, session=form[day], mishits=False)
    carry, spin = true_medians(player, SWINGS_DEG, balls=201)
    return Entry(
        player, log, fit_log(log), kinds_of(player), carry.ravel(), spin.ravel(),
        fresh.carry_m.reshape(-1, FRESH_SESSIONS), fresh.spin_rpm.reshape(-1, FRESH_SESSIONS),
    )  # fmt: skip


@pytest.fixture(scope="session")
def league() -> list[Entry]:
    return [_entry(number) for number in range(LEAGUE_PLAYERS)]


@pytest.fixture(scope="session")
def tools() -> Tools:
    return Tools()
