"""Median carry grows with the swing and falls with the loft, whatever a few odd balls suggest.

Where the fitted medians cross, they are replaced by the mean of the two monotone envelopes (the highest value among all
smaller shots, the lowest among all greater ones). Where nothing crosses, nothing changes.
"""

from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model.observations import SAME_LOFT_DEG
from wedgelab.model.structure import Array, Cells, Structure
from wedgelab.shots import LIMITS

if TYPE_CHECKING:
    from numpy.typing import NDArray

SWING_STEP_DEG: Final = 2.5
LOFTS_DEG: Final = np.arange(40.0, 64.1, 2.0)  # where wedges are; a loft below is only ordered when it was logged
_STRICTLY: Final = 1e-9


class MonotoneCarry:
    """The correction of a fitted player's log carries; grids are made when a trajectory and lie is first asked for."""

    def __init__(self, structure: Structure, mean: Array) -> None:
        self._structure = structure
        self._mean = mean
        self._swings = np.arange(LIMITS["swing_deg"][0], LIMITS["swing_deg"][1] + 0.01, SWING_STEP_DEG)
        lofts = np.array(sorted({*LOFTS_DEG.tolist(), *structure.lofts_deg.tolist()}))
        self._generic_lofts = lofts
        self._lofts = np.concatenate([structure.lofts_deg, lofts])  # one row a logged club, then one a loft
        self._grids: dict[tuple[int, int], Array | None] = {}

    def log_carry(self, cells: Cells, fitted: Array) -> Array:
        """Return the log carries of the cells, made monotone; ``fitted`` holds the model's own."""
        result = fitted.copy()
        for trajectory, lie in sorted(set(zip(cells.trajectory.tolist(), cells.lie.tolist(), strict=True))):
            chosen = np.flatnonzero((cells.trajectory == trajectory) & (cells.lie == lie))
            grid = self._grid(trajectory, lie)
            if grid is not None:
                result[chosen] = self._read(grid, cells, chosen, fitted)
        return result

    def _grid(self, trajectory: int, lie: int) -> Array | None:
        """Return the monotone values on the grid (rows, swings), or None where the fit was monotone by itself."""
        key = (trajectory, lie)
        if key not in self._grids:
            n_clubs, n_rows, n_swings = len(self._structure.clubs), len(self._lofts), len(self._swings)
            club = np.concatenate([np.arange(n_clubs), np.full(n_rows - n_clubs, -1)])
            cells = Cells(
                np.repeat(club, n_swings),
                np.repeat(self._lofts, n_swings),
                np.tile(self._swings, n_rows),
                np.full(n_rows * n_swings, trajectory),
                np.full(n_rows * n_swings, lie),
                np.zeros(n_rows * n_swings, dtype=np.intp),
            )
            rows = self._structure.rows(cells)
            values = rows.at(self._mean)[:, 0].reshape(n_rows, n_swings)
            self._grids[key] = _monotone(values, self._lofts)
        return self._grids[key]

    def _read(self, grid: Array, cells: Cells, chosen: "NDArray[np.intp]", fitted: Array) -> Array:
        n_clubs = len(self._structure.clubs)
        columns = np.interp(cells.swing_deg[chosen], self._swings, np.arange(len(self._swings), dtype=np.float64))
        generic = np.interp(
            cells.loft_deg[chosen], self._generic_lofts, n_clubs + np.arange(len(self._generic_lofts), dtype=np.float64)
        )
        rows = np.where(cells.club[chosen] >= 0, cells.club[chosen], generic)
        row, column = np.floor(rows).astype(int), np.floor(columns).astype(int)
        next_row, next_column = np.minimum(row + 1, len(grid) - 1), np.minimum(column + 1, grid.shape[1] - 1)
        down, right = rows - row, columns - column
        value = (1 - down) * ((1 - right) * grid[row, column] + right * grid[row, next_column]) + down * (
            (1 - right) * grid[next_row, column] + right * grid[next_row, next_column]
        )
        # a loft outside the grid keeps the model's own slope as long as it stays on its side of the edge
        loft = cells.loft_deg[chosen]
        value = np.where(loft < self._generic_lofts[0], np.maximum(fitted[chosen], value), value)
        return np.asarray(np.where(loft > self._generic_lofts[-1], np.minimum(fitted[chosen], value), value))


def _monotone(values: Array, lofts_deg: Array) -> Array | None:
    """Return the mean of the monotone envelopes over rows of lofts and growing swings; None if nothing is to do."""
    order = np.argsort(-lofts_deg, kind="stable")
    lower, upper = np.empty_like(values), np.empty_like(values)
    highest = np.full(values.shape[1], -np.inf)
    lowest = np.full(values.shape[1], np.inf)
    groups = _runs(lofts_deg[order])
    for group in groups:  # from the most lofted: everything seen so far is a smaller shot
        at = order[group]
        lower[at] = np.maximum(np.maximum.accumulate(values[at], axis=1), highest)
        highest = np.maximum(highest, lower[at].max(axis=0))
    for group in reversed(groups):
        at = order[group]
        upper[at] = np.minimum(np.minimum.accumulate(values[at][:, ::-1], axis=1)[:, ::-1], lowest)
        lowest = np.minimum(lowest, upper[at].min(axis=0))
    if float(np.max(lower - upper)) <= _STRICTLY:
        return None
    return np.asarray(0.5 * (lower + upper))


def _runs(sorted_lofts: Array) -> "list[NDArray[np.intp]]":
    """Split descending lofts into groups of the same loft: two clubs of one loft may differ either way."""
    breaks = np.flatnonzero(np.abs(np.diff(sorted_lofts)) > SAME_LOFT_DEG) + 1
    return list(np.split(np.arange(len(sorted_lofts)), breaks))
