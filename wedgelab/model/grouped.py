"""The log gathered for the fit: balls of one cell, day and kind of readings become one group."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model import spread as spreads
from wedgelab.model.linear import Design
from wedgelab.model.observations import BALL_SPEED, LAUNCH
from wedgelab.model.prior import prior_surfaces
from wedgelab.model.structure import Array, Cells, Structure
from wedgelab.shots import STRIKES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.model.moves import Moves
    from wedgelab.model.observations import Observations

MARKED_SHARE: Final = {"off": 0.95, "solid": 0.01}  # mishit share of balls that bear the player's own mark
_SWING_STEPS: Final = 10  # swings are told apart to a tenth of a degree


@dataclass(frozen=True, slots=True)
class Grouped:
    """n balls in G groups. Readings are those that the log has at all, ``seen`` (k,), in the order of `READINGS`."""

    seen: "NDArray[np.intp]"
    off: Array  # (n, k): readings less the prior mean of their cell, zero where there is none
    told: "NDArray[np.bool_]"  # (n, k)
    which: "NDArray[np.intp]"  # (n,) group of each ball
    marked_share: Array  # (n,) mishit share from the player's own mark, NaN without one
    design: Design
    active: "NDArray[np.intp]"  # which parameters of the structure the design's cells know
    group_told: "NDArray[np.bool_]"  # (G, k)
    law: Array  # (G, ...) rows of the law of the spread
    log_sd: Array  # (G, k): the spread as the physics has it ...
    correlations: Array  # (G, k, k): ... and how the readings of a ball go together
    gust_var: Array  # (G,): variance of a ball's log carry from gusts of wind
    day_var: Array  # (J,): variance of a day's log carries from a wind told wrongly

    def total(self, values: Array) -> Array:
        """Sum over the balls of each group; values (n,) or (n, m)."""
        n = len(self.group_told)
        if values.ndim == 1:
            return np.asarray(np.bincount(self.which, values, n))
        return np.stack([np.bincount(self.which, column, n) for column in values.T], axis=1)

    @property
    def pairs(self) -> "NDArray[np.bool_]":
        """Which pairs of readings the groups have, (G, k, k)."""
        return np.asarray(self.group_told[:, :, None] & self.group_told[:, None, :])


def grouped(obs: "Observations", structure: Structure, moves: "Moves") -> Grouped:
    """Gather the balls."""
    readings = np.column_stack(
        [obs.log_carry, obs.log_spin, np.log(obs.measured[:, BALL_SPEED]), obs.measured[:, LAUNCH]]
    )
    seen = np.flatnonzero(np.isfinite(readings).any(axis=0))
    readings = readings[:, seen]
    told = np.isfinite(readings)
    swing = np.round(obs.swing_deg * _SWING_STEPS).astype(np.intp)
    cell_codes = np.stack([obs.club, obs.trajectory, obs.lie, obs.ball, swing], axis=1)
    codes, first, which = _unique(np.column_stack([obs.session, cell_codes, told @ (1 << np.arange(len(seen)))]))
    _, first_cell, which_cell = _unique(codes[:, 1:6])
    chosen = first[first_cell]
    cells = Cells(
        obs.club[chosen], obs.loft_deg[chosen], obs.swing_deg[chosen], obs.trajectory[chosen], obs.lie[chosen],
        obs.ball[chosen],
    )  # fmt: skip
    model = structure.rows(cells)
    device = structure.blocks["device"].start
    model.of[:, 2, device] = model.of[:, 3, device + 1] = 1.0
    rows = model.of[:, seen]
    sessions, first_group, day = np.unique(codes[:, 0], return_index=True, return_inverse=True)
    count = np.bincount(which)
    # a carry that was brought to the reference air is the true one less what the correction is wrong by
    air = -np.stack([np.bincount(which, doubts) / count for doubts in obs.air.doubts.T], axis=1)
    active = structure.touched(rows)
    log_sd, correlations = spreads.physical(prior_surfaces(cells.loft_deg, cells.swing_deg))
    law = spreads.law_rows(cells.swing_deg, cells.loft_deg, cells.club, len(structure.clubs))
    return Grouped(
        seen,
        np.where(told, readings - model.mean[:, seen][which_cell[which]], 0.0),
        told,
        which,
        _marked_shares(obs),
        Design(
            np.ascontiguousarray(rows[:, :, active]), moves.rows(sessions)[:, seen], air if air.any() else air[:, :0],
            which_cell, day.reshape(-1), first_group,
        ),
        active,
        told[first],
        law[which_cell],
        log_sd[:, seen][which_cell],
        correlations[:, seen][:, :, seen][which_cell],
        np.bincount(which, obs.air.gust_var) / count,
        obs.air.session_var[sessions],
    )  # fmt: skip


def _unique(codes: "NDArray[np.intp]") -> "tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]":
    """Return the different rows in order, where each is first, and which each row is; one number a row sorts fast."""
    low = codes.min(axis=0)
    spans = codes.max(axis=0) - low + 1
    number = np.zeros(len(codes), dtype=np.int64)
    for column, start, span in zip(codes.T, low, spans, strict=True):
        number = number * span + (column - start)
    _, first, which = np.unique(number, return_index=True, return_inverse=True)
    return codes[first], first, which.reshape(-1)


def _marked_shares(obs: "Observations") -> Array:
    shares = np.full(len(obs), np.nan)
    for word, share in MARKED_SHARE.items():
        shares[obs.strike == STRIKES.index(word)] = share
    return shares
