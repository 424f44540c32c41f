"""The linear solve: the posterior of the parameters when the effects of many sessions are taken out one by one.

Balls are gathered in groups (one cell on one day, with the same readings). A group's readings are ``cell rows @ what
the player is + day rows @ what has moved since + doubts of the air + the day's own effect``, plus errors. The days'
effects are eliminated by block elimination (the Schur complement), so that the cost grows with the groups and the days,
never with their square.
"""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_NO_SIZE: Final = 1e-13  # of the greatest variance: directions without any
_CHUNK: Final = 2048  # groups at a time: what is worked on stays in the cache


@dataclass(frozen=True, slots=True)
class Design:
    """G groups sorted by day, over C cells and J days, with k readings.

    ``cell_rows`` (C, k, p) and ``day_rows`` (J, k, q) hold the linear model; ``air`` (G, a) is what the first reading
    of a group takes of the doubts of the air. ``cell``, ``day`` (G,) and ``first`` (J,), the first group of each day.
    The parameters are the p, the q and the a, in this order.
    """

    cell_rows: "Array"
    day_rows: "Array"
    air: "Array"
    cell: "NDArray[np.intp]"
    day: "NDArray[np.intp]"
    first: "NDArray[np.intp]"

    def by_day(self, values: "Array") -> "Array":
        """Sum over the groups of each day."""
        return np.asarray(np.add.reduceat(values, self.first, axis=0))

    def by_cell(self, values: "Array") -> "Array":
        """Sum over the groups of each cell."""
        flat = values.reshape(len(values), -1)
        n = len(self.cell_rows)
        summed = np.stack([np.bincount(self.cell, column, n) for column in flat.T], axis=1)
        return np.asarray(summed.reshape(n, *values.shape[1:]))


@dataclass(frozen=True, slots=True)
class Posterior:
    """Means and covariances: of the parameters, of the days' effects (J, k), and of the groups' readings (G, k)."""

    mean: "Array"
    covariance: "Array"
    day_mean: "Array"
    day_covariance: "Array"
    group_mean: "Array"
    group_covariance: "Array"


def solve(
    prior: tuple["Array", "Array"], design: Design, weight: "Array", pull: "Array", day_precision: "Array"
) -> Posterior:
    """Return the posterior.

    Parameters
    ----------
    prior
        mean (p + q + a,) and precision of the parameters.
    design
        what was hit when.
    weight, pull
        precision (G, k, k) of what the balls of each group say of its readings, and that precision times what they say
        (G, k), summed over the balls; zero for a reading that they do not have.
    day_precision
        prior precision (J, k, k) of the days' effects, whose mean is zero.

    Notes
    -----
    Gaussian linear regression (e.g. Rasmussen & Williams 2006, section 2.1), with the inverse of a block matrix (their
    appendix A.3), formulas from memory.
    """
    p, q = design.cell_rows.shape[2], design.day_rows.shape[2]
    full, right, coupling = _normal_equations(prior, design, weight, pull)
    own = np.asarray(np.linalg.inv(design.by_day(weight) + day_precision), dtype=np.float64)
    day_pull = design.by_day(pull)
    carried = own @ coupling
    full -= _flat(coupling).T @ _flat(carried)
    right -= _flat(carried).T @ day_pull.reshape(-1)
    covariance = np.asarray(np.linalg.inv(full))
    covariance = 0.5 * (covariance + covariance.T)
    mean = covariance @ right
    day_mean = (own @ day_pull[:, :, None])[:, :, 0] - carried @ mean
    of_day = -carried  # how the mean of a group hangs on the parameters through its day
    day_covariance = own + of_day @ covariance @ of_day.transpose(0, 2, 1)
    of_day[:, :, p : p + q] += design.day_rows
    cell_mean = design.cell_rows @ mean[:p]
    group_mean = cell_mean[design.cell] + (day_mean + design.day_rows @ mean[p : p + q])[design.day]
    group_mean[:, 0] += design.air @ mean[p + q :]
    return Posterior(
        mean, covariance, day_mean, day_covariance, group_mean, _group_covariances(design, covariance, of_day, own)
    )


def narrowed(prior: tuple["Array", "Array"], design: Design) -> tuple[tuple["Array", "Array"], Design]:
    """Return prior and design in the few directions of the p parameters that the cells tell of.

    What is asked of the cells is the same; with many cells nothing is to be gained, and nothing is changed.
    """
    rows = _flat(design.cell_rows)
    if len(rows) >= rows.shape[1]:
        return prior, design
    unit = np.linalg.solve(np.linalg.cholesky(prior[1]), rows.T).T
    sizes, ways = np.linalg.eigh(unit @ unit.T)
    kept = sizes > _NO_SIZE * sizes[-1]
    scale, ways = np.sqrt(sizes[kept]), ways[:, kept]
    mean = (ways / scale).T @ (rows @ prior[0])
    cell_rows = (ways * scale).reshape(*design.cell_rows.shape[:2], -1)
    return (mean, np.eye(len(mean))), replace(design, cell_rows=cell_rows)


def _normal_equations(
    prior: tuple["Array", "Array"], design: Design, weight: "Array", pull: "Array"
) -> tuple["Array", "Array", "Array"]:
    """Return the precision of the parameters, that times their mean, and how they go with the days' effects."""
    p, q = design.cell_rows.shape[2], design.day_rows.shape[2]
    n_days, k = design.day_rows.shape[:2]
    cells, moved, air = slice(0, p), slice(p, p + q), slice(p + q, None)
    full = prior[1].copy()
    right = prior[1] @ prior[0]
    of_cell = design.by_cell(weight)
    full[cells, cells] += _flat(design.cell_rows).T @ _flat(of_cell @ design.cell_rows)
    right[cells] += _flat(design.cell_rows).T @ design.by_cell(pull).reshape(-1)
    coupling = np.zeros((n_days, k, len(right)))
    coupling[:, :, cells] = _summed_by_day(design, weight)
    coupling[:, :, moved] = design.by_day(weight) @ design.day_rows
    if q:
        together = _flat(coupling[:, :, cells]).T @ _flat(design.day_rows)
        full[cells, moved] += together
        full[moved, cells] += together.T
        full[moved, moved] += _flat(design.day_rows).T @ _flat(coupling[:, :, moved])
        right[moved] += _flat(design.day_rows).T @ design.by_day(pull).reshape(-1)
    if design.air.shape[1]:
        doubted = weight[:, :, :1] * design.air[:, None, :]
        coupling[:, :, air] = design.by_day(doubted)
        for others, rows, sums in (
            (cells, design.cell_rows, design.by_cell(doubted)), (moved, design.day_rows, coupling[:, :, air])
        ):  # fmt: skip
            together = _flat(rows).T @ _flat(sums)
            full[others, air] += together
            full[air, others] += together.T
        full[air, air] += design.air.T @ doubted[:, 0]
        right[air] += design.air.T @ pull[:, 0]
    return full, right, coupling


def _summed_by_day(design: Design, weight: "Array") -> "Array":
    """Return the sum of weight times cell rows over the groups of each day, (J, k, p)."""
    if len(design.cell) <= _CHUNK:
        return design.by_day(weight @ design.cell_rows[design.cell])
    result = np.zeros((len(design.first), *design.cell_rows.shape[1:]))
    for start in range(0, len(design.cell), _CHUNK):
        part = slice(start, start + _CHUNK)
        days, first = np.unique(design.day[part], return_index=True)
        result[days] += np.add.reduceat(weight[part] @ design.cell_rows[design.cell[part]], first, axis=0)
    return result


def _group_covariances(design: Design, covariance: "Array", of_day: "Array", own: "Array") -> "Array":
    """Return the posterior covariance (G, k, k) of the groups' readings."""
    p, q = design.cell_rows.shape[2], design.day_rows.shape[2]
    half_cell = design.cell_rows @ covariance[:p]
    half_day = of_day @ covariance
    of_cells = half_cell[:, :, :p] @ design.cell_rows.transpose(0, 2, 1)
    of_days = half_day @ of_day.transpose(0, 2, 1) + own
    result = of_cells[design.cell] + of_days[design.day]
    turned = np.ascontiguousarray(of_day.transpose(0, 2, 1))
    for start in range(0, len(design.cell), _CHUNK):
        part = slice(start, start + _CHUNK)
        cross = half_cell[design.cell[part]] @ turned[design.day[part]]
        result[part] += cross + cross.transpose(0, 2, 1)
    if design.air.shape[1]:
        aside = half_cell[:, :, p + q :][design.cell] + half_day[:, :, p + q :][design.day]
        shared = (aside @ design.air[:, :, None])[:, :, 0]
        result[:, 0, :] += shared
        result[:, :, 0] += shared
        result[:, 0, 0] += np.einsum("gi,ij,gj->g", design.air, covariance[p + q :, p + q :], design.air)
    return np.asarray(result)


def _flat(rows: "Array") -> "Array":
    """Put the readings of all rows below each other."""
    return rows.reshape(rows.shape[0] * rows.shape[1], rows.shape[2])
