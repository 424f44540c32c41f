"""How much a log of few balls teaches, against what else one could do with it, in one run. Not a test: minutes.

Invented players (`wedgelab.simulate`, whose speed curves, noise and mishits are not those of the prior) hit the same
number of balls in every cell over two days. Each method then says the whole distribution of a solid ball of a new day
in every cell, for carry and for spin. That is scored by CRPS (Gneiting & Raftery 2007, JASA 102, 359) on fresh balls of
new days, divided by the CRPS of an oracle that knows the player; what is above 1 is the excess, and it is shown in per
cent with its standard error over the players. Run with the project's Python, a part of the players first if you like::

    python tests/bench/learning.py [PLAYERS] [table|cases|all]
"""

import dataclasses
import sys
import time
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from wedgelab.model.observations import observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.prediction import ShotKind
from wedgelab.simulate import Balls, InventedPlayer, hit, invent_player

Array = NDArray[np.float64]
SEED: Final = 411
MISHIT_SIZE: Final = 0.6  # so that the paper chart scores as in the published comparison that this one is held against
ONE_BALL_SD: Final = 0.10  # a single ball has no standard deviation: the paper chart takes this share of its carry
LEVELS: Final = (np.arange(100) + 0.5) / 100
NEW_DAYS: Final = 16
BALLS_A_DAY: Final = 40
PER_CELL: Final = (1, 3, 10)


@dataclass(frozen=True)
class Log:
    """The balls of a log, and the cells that they are of; arrays of shape (balls,)."""

    wedge: NDArray[np.intp]
    swing_deg: Array
    session: NDArray[np.intp]
    carry_m: Array
    spin_rpm: Array


@dataclass(frozen=True)
class Case:
    """One player: the asked cells, fresh balls of new days there, and the oracle's score."""

    player: InventedPlayer
    loft_deg: Array  # (cells,)
    swing_deg: Array
    wedge: NDArray[np.intp]
    carry_m: Array  # (cells, balls)
    spin_rpm: Array
    oracle: tuple[float, float]
    carry_median_m: Array  # long-run medians, as the oracle knows them


def crps(quantiles: Array, fresh: Array) -> float:
    """Mean CRPS of predictive quantiles (cells, levels) on fresh values (cells, balls): twice the mean pinball loss."""
    off = fresh[:, :, None] - quantiles[:, None, :]
    return float(2.0 * np.mean(np.maximum(LEVELS * off, (LEVELS - 1.0) * off)))


def all_cells(player: InventedPlayer) -> tuple[NDArray[np.intp], Array]:
    """Return wedge and swing of every cell."""
    swings = np.array([swing.swing_deg for swing in player.swings], dtype=np.float64)
    return np.repeat(np.arange(len(player.wedges)), len(swings)), np.tile(swings, len(player.wedges))


def hit_days(
    player: InventedPlayer, wedge: NDArray[np.intp], swing: Array, days: int, each: int, rng: np.random.Generator
) -> Iterator[Balls]:
    """Hit solid balls in the cells on new days."""
    for _ in range(days):
        yield hit(
            player, np.tile(wedge, each), np.tile(swing, each), rng, session=float(rng.standard_normal()), mishits=False
        )


def make_case(player: InventedPlayer, rng: np.random.Generator) -> Case:
    """Hit the fresh balls and let the oracle speak: the player's own balls of many other days."""
    wedge, swing = all_cells(player)

    def gathered(days: int, each: int) -> tuple[Array, Array]:
        balls = list(hit_days(player, wedge, swing, days, each, rng))
        shape = (-1, len(wedge))
        return (
            np.concatenate([b.carry_m.reshape(shape) for b in balls]).T,
            np.concatenate([b.spin_rpm.reshape(shape) for b in balls]).T,
        )

    known, fresh = gathered(64, 30), gathered(NEW_DAYS, BALLS_A_DAY)
    scores = [crps(np.quantile(a, LEVELS, axis=1).T, b) for a, b in zip(known, fresh, strict=True)]
    lofts = np.array([club.loft_deg for club in player.wedges])
    return Case(
        player, lofts[wedge], swing, wedge, fresh[0], fresh[1], (scores[0], scores[1]), np.median(known[0], axis=1)
    )


def make_log(
    player: InventedPlayer, per_cell: int, rng: np.random.Generator, keep: NDArray[np.bool_] | None = None
) -> Log:
    """Hit a log, evenly over two days; ``keep`` says in which cells."""
    cell_wedge, cell_swing = all_cells(player)
    if keep is not None:
        cell_wedge, cell_swing = cell_wedge[keep], cell_swing[keep]
    wedge, swing = np.tile(cell_wedge, per_cell), np.tile(cell_swing, per_cell)
    session = np.repeat(np.arange(per_cell), len(cell_wedge)) * 2 // max(per_cell, 2)
    carry, spin = np.empty(len(wedge)), np.empty(len(wedge))
    for day in np.unique(session):
        today = session == day
        balls = hit(player, wedge[today], swing[today], rng, session=float(rng.standard_normal()))
        carry[today], spin[today] = np.maximum(balls.carry_m, 0.5), balls.spin_rpm
    return Log(wedge, swing, session, carry, spin)


# --- the methods: a log and a case in, quantiles of carry and spin out, each (cells, levels)

Method = Callable[[Log, Case], tuple[Array, Array]]


def paper_chart(log: Log, case: Case) -> tuple[Array, Array]:
    """Mean and standard deviation of each cell."""
    result = []
    for values in (log.carry_m, log.spin_rpm):
        by_cell = values.reshape(-1, len(case.wedge)).T
        mean = by_cell.mean(axis=1)
        sd = by_cell.std(axis=1, ddof=1) if by_cell.shape[1] > 1 else ONE_BALL_SD * mean
        result.append(mean[:, None] + sd[:, None] * norm.ppf(LEVELS))
    return result[0], result[1]


def _unit(loft: Array, swing: Array) -> Array:
    return np.stack([(loft - 52.0) / 6.0, (swing - 100.0) / 60.0], axis=1)


def quadratic(log: Log, case: Case) -> tuple[Array, Array]:
    """Least squares of the logarithm on a quadratic in loft and swing, with its own residual spread."""

    def design(at: Array) -> Array:
        u, v = at.T
        return np.stack([np.ones_like(u), u, v, u * u, v * v, u * v], axis=1)

    lofts = np.array([club.loft_deg for club in case.player.wedges])
    x, at = design(_unit(lofts[log.wedge], log.swing_deg)), design(_unit(case.loft_deg, case.swing_deg))
    result = []
    for values in (log.carry_m, log.spin_rpm):
        y = np.log(values)
        beta, *_ = np.linalg.lstsq(x, y, rcond=None)
        left = max(len(y) - x.shape[1], 1)
        variance = float(np.sum((y - x @ beta) ** 2)) / left
        known = np.einsum("ij,jk,ik->i", at, np.linalg.pinv(x.T @ x), at)
        result.append(np.exp((at @ beta)[:, None] + np.sqrt(variance * (1.0 + known))[:, None] * norm.ppf(LEVELS)))
    return result[0], result[1]


def gaussian_process(log: Log, case: Case) -> tuple[Array, Array]:
    """A general Gaussian process on loft and swing, as scikit-learn ships it."""
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel

    lofts = np.array([club.loft_deg for club in case.player.wedges])
    x, at = _unit(lofts[log.wedge], log.swing_deg), _unit(case.loft_deg, case.swing_deg)
    result = []
    for values in (log.carry_m, log.spin_rpm):
        kernel = ConstantKernel(1.0) * RBF([1.0, 1.0], (0.1, 30.0)) + WhiteKernel(0.1, (1e-4, 1.0))
        model = GaussianProcessRegressor(kernel, normalize_y=True, n_restarts_optimizer=1, random_state=1)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of an optimiser that stops at a bound
            model.fit(x, np.log(values))
        mean, sd = model.predict(at, return_std=True)
        result.append(np.exp(mean[:, None] + sd[:, None] * norm.ppf(LEVELS)))
    return result[0], result[1]


def fitted(log: Log, player: InventedPlayer, *, with_spin: bool = True) -> FittedPlayer:
    """Fit this project's model."""
    lofts = np.array([club.loft_deg for club in player.wedges])
    return fit_observations(
        observations(
            carry_m=log.carry_m, loft_deg=lofts[log.wedge], swing_deg=log.swing_deg,
            spin_rpm=log.spin_rpm if with_spin else None, session=list(log.session),
        )
    )  # fmt: skip


def kinds_of(case: Case) -> list[ShotKind]:
    """Return the cells as the model asks for them."""
    return [ShotKind("", float(a), float(b)) for a, b in zip(case.loft_deg, case.swing_deg, strict=True)]


def wedgelab(log: Log, case: Case) -> tuple[Array, Array]:
    """Ask this project's model."""
    model, kinds = fitted(log, case.player), kinds_of(case)
    return model.carry_quantiles(kinds, list(LEVELS)), model.spin_quantiles(kinds, list(LEVELS))


def wedgelab_without_spin(log: Log, case: Case) -> tuple[Array, Array]:
    """Ask this project's model, which has seen the carries alone."""
    model, kinds = fitted(log, case.player, with_spin=False), kinds_of(case)
    return model.carry_quantiles(kinds, list(LEVELS)), model.spin_quantiles(kinds, list(LEVELS))


METHODS: Final[dict[str, Method]] = {
    "paper chart": paper_chart,
    "Gaussian process": gaussian_process,
    "quadratic": quadratic,
    "wedgelab": wedgelab,
    "wedgelab, carries alone": wedgelab_without_spin,
}


def players(count: int, *labels: int) -> Iterator[tuple[InventedPlayer, np.random.Generator]]:
    """Draw the players of a row, each with a generator of its own."""
    for number in range(count):
        rng = np.random.default_rng([SEED, *labels, number])
        yield dataclasses.replace(invent_player(rng), mishit_size=MISHIT_SIZE), rng


def shown(values: list[float]) -> str:
    """Write a mean with its standard error, in per cent."""
    return f"{100.0 * np.mean(values):6.1f} ±{100.0 * np.std(values, ddof=1) / np.sqrt(len(values)):4.1f}"


def table(count: int) -> None:
    """Print the excess CRPS of every method at 1, 3 and 10 balls a cell, and how well the 80 % ranges hold."""
    print(f"excess CRPS over the oracle's, %, mean over {count} invented players ± standard error; carry, then spin")
    for per_cell in PER_CELL:
        scores: dict[str, list[tuple[float, float]]] = {name: [] for name in METHODS}
        held, by_player, seconds = [], [], []
        for player, rng in players(count, per_cell):
            case, log = make_case(player, rng), make_log(player, per_cell, rng)
            for name, method in METHODS.items():
                start = time.perf_counter()
                carry, spin = method(log, case)
                if name == "wedgelab":
                    seconds.append(time.perf_counter() - start)
                    inside = (carry[:, [10]] < case.carry_m) & (case.carry_m < carry[:, [89]])
                    held.append(float(inside.mean()))
                    by_player.append(0.7 <= inside.mean() <= 0.9)
                scores[name].append(
                    (crps(carry, case.carry_m) / case.oracle[0] - 1.0, crps(spin, case.spin_rpm) / case.oracle[1] - 1.0)
                )
        print(f"\n{per_cell} ball(s) a cell")
        for name, pairs in scores.items():
            carries, spins = (list(column) for column in zip(*pairs, strict=True))
            print(f"  {name:26s} {shown(carries)}   {shown(spins)}")
        print(
            f"  79 % ranges of wedgelab hold {100.0 * np.mean(held):.1f} % of fresh carries, between 70 and 90 % for "
            f"{100.0 * np.mean(by_player):.0f} % of the players; fit and answer {1000.0 * np.median(seconds):.0f} ms"
        )


def cases(count: int) -> None:
    """Print what is asked beside the table: cells never logged, mishits put in, the long-run median."""
    print(f"\nexcess CRPS of carry where nothing was logged, %, 3 balls in every other cell, {count} players")
    for name in (
        "a swing between",
        "the shortest swing",
        "the longest swing",
        "a wedge between",
        "the most lofted wedge",
    ):
        scores, held = [], []
        for player, rng in players(count, 3, 7):
            case = make_case(player, rng)
            last = len(player.wedges) - 1
            gone = {
                "a swing between": case.swing_deg == 90.0,
                "the shortest swing": case.swing_deg == 60.0,
                "the longest swing": case.swing_deg == 165.0,
                "a wedge between": case.wedge == 1,
                "the most lofted wedge": case.wedge == last,
            }[name]
            carry, _ = wedgelab(make_log(player, 3, rng, ~gone), case)
            mine, fresh = carry[gone], case.carry_m[gone]
            wedge, swing = case.wedge[gone], case.swing_deg[gone]
            known = np.concatenate(
                [b.carry_m.reshape(-1, len(wedge)) for b in hit_days(player, wedge, swing, 64, 30, rng)]
            ).T
            scores.append(crps(mine, fresh) / crps(np.quantile(known, LEVELS, axis=1).T, fresh) - 1.0)
            held.append(float(np.mean((mine[:, [10]] < fresh) & (fresh < mine[:, [89]]))))
        print(f"  {name:24s} {shown(scores)}   79 % ranges hold {100.0 * np.mean(held):.1f} %")
    print("\nthe same log with a tenth of the solid balls spoilt, over the log as it was: ratio of the excess")
    for per_cell in PER_CELL:
        clean, spoilt = [], []
        for player, rng in players(count, per_cell, 8):
            case = make_case(player, rng)
            log = make_log(dataclasses.replace(player, mishit_share=0.0), per_cell, rng)
            clean.append(crps(wedgelab(log, case)[0], case.carry_m) / case.oracle[0] - 1.0)
            bad = rng.uniform(size=len(log.carry_m)) < 0.1
            way = rng.integers(0, 3, len(bad))
            factor = np.where(way == 0, rng.uniform(0.5, 0.7, len(bad)), rng.uniform(1.3, 1.5, len(bad)))
            factor = np.where(way == 2, 10.0, factor)
            worse = dataclasses.replace(log, carry_m=np.where(bad, log.carry_m * factor, log.carry_m))
            spoilt.append(crps(wedgelab(worse, case)[0], case.carry_m) / case.oracle[0] - 1.0)
        ratio = float(np.mean(spoilt) / np.mean(clean))
        print(f"  {per_cell:2d} balls a cell: {shown(spoilt)} over {shown(clean)}, ratio {ratio:.2f}")
    print(
        "\nthe long-run median of solid balls inside carry_m ± 1.28 carry_se_m, % (80 if the standard error is right)"
    )
    for per_cell in PER_CELL:
        held, off = [], []
        for player, rng in players(count, per_cell, 9):
            case = make_case(player, rng)
            said = fitted(make_log(player, per_cell, rng), player).predict(kinds_of(case))
            z = np.array([(p.carry_m - m) / p.carry_se_m for p, m in zip(said, case.carry_median_m, strict=True)])
            held.append(float(np.mean(np.abs(z) < 1.2816)))
            off.append(float(np.mean(z**2)))
        rms = float(np.sqrt(np.mean(off)))
        print(f"  {per_cell:2d} balls a cell: {100.0 * np.mean(held):.1f}, rms of error over standard error {rms:.2f}")


def main(count: int = 60, part: str = "all") -> None:
    """Print the tables."""
    if part in {"table", "all"}:
        table(count)
    if part in {"cases", "all"}:
        cases(count)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60, sys.argv[2] if len(sys.argv) > 2 else "all")
