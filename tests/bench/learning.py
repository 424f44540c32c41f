"""How well a log of few balls is learnt, against averages and a quadratic regression, in one run. Not a test.

Invented players hit the same number of balls in every cell, over two sessions; each method then says the median carry
of every cell, and the model also an 80 % range for the next ball of a new session. Run with the project's Python:
``python tests/bench/learning.py [PLAYERS]``.
"""

import sys
import time

import numpy as np
from numpy.typing import NDArray

from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations
from wedgelab.prediction import ShotKind
from wedgelab.simulate import InventedPlayer, hit, invent_player, true_medians

Array = NDArray[np.float64]
SEED = 411


def one_log(
    player: InventedPlayer, per_cell: int, rng: np.random.Generator
) -> "tuple[NDArray[np.intp], Array, NDArray[np.intp], Array, Array]":
    """Return wedge, swing, session, carry and spin of the balls of a log."""
    swings = np.array([swing.swing_deg for swing in player.swings], dtype=np.float64)
    cells = len(player.wedges) * len(swings)
    wedge = np.tile(np.repeat(np.arange(len(player.wedges)), len(swings)), per_cell)
    swing = np.tile(swings, len(player.wedges) * per_cell)
    session = np.repeat(np.arange(per_cell), cells) * 2 // max(per_cell, 2)
    carry, spin = np.empty(len(wedge)), np.empty(len(wedge))
    for day in np.unique(session):
        balls = hit(player, wedge[session == day], swing[session == day], rng, session=float(rng.standard_normal()))
        carry[session == day], spin[session == day] = balls.carry_m, balls.spin_rpm
    return wedge, swing, session, carry, spin


def quadratic(loft: Array, swing: Array, log_carry: Array, at_loft: Array, at_swing: Array) -> Array:
    """Least squares of log carry on a quadratic in loft and swing."""

    def design(x: Array, s: Array) -> Array:
        u, v = (x - 52.0) / 6.0, (s - 100.0) / 60.0
        return np.stack([np.ones_like(u), u, v, u * u, v * v, u * v], axis=1)

    fit, *_ = np.linalg.lstsq(design(loft, swing), log_carry, rcond=None)
    return np.asarray(design(at_loft, at_swing) @ fit)


def main(players: int = 60) -> None:
    """Print the table."""
    print(f"{players} invented players, seed {SEED}; RMSE of the median carry in % of it, mishits included in the logs")
    print("balls a cell   averages   quadratic   wedgelab   80 % ranges hold   ms a fit")
    for per_cell in (1, 3, 10):
        rng = np.random.default_rng([SEED, per_cell])
        off: dict[str, list[Array]] = {"averages": [], "quadratic": [], "wedgelab": []}
        inside, times = [], []
        for _ in range(players):
            player = invent_player(rng)
            wedge, swing, session, carry, spin = one_log(player, per_cell, rng)
            lofts = np.array([club.loft_deg for club in player.wedges])
            truth, _ = true_medians(player, [s.swing_deg for s in player.swings])
            cell_loft = np.repeat(lofts, len(player.swings))
            cell_swing = np.tile([s.swing_deg for s in player.swings], len(lofts))
            obs = observations(
                carry_m=carry, loft_deg=lofts[wedge], swing_deg=swing, spin_rpm=spin, session=list(session)
            )
            start = time.perf_counter()
            fitted = fit_observations(obs)
            times.append(time.perf_counter() - start)
            kinds = [ShotKind("", float(a), float(b)) for a, b in zip(cell_loft, cell_swing, strict=True)]
            said = np.log([p.carry_m for p in fitted.predict(kinds)])
            goal = np.log(truth.ravel())
            off["wedgelab"].append(said - goal)
            means = np.log(carry.reshape(per_cell, -1).mean(axis=0))
            off["averages"].append(means - goal)
            smooth = quadratic(lofts[wedge], swing, np.log(carry), cell_loft, cell_swing)
            off["quadratic"].append(smooth - goal)
            low, high = fitted.carry_quantiles(kinds, [0.1, 0.9]).T
            index = np.repeat(np.arange(len(lofts)), len(player.swings))
            for _ in range(8):  # new days
                day = float(rng.standard_normal())
                fresh = hit(player, np.tile(index, 60), np.tile(cell_swing, 60), rng, session=day, mishits=False)
                new = fresh.carry_m.reshape(60, -1)
                inside.append(float(np.mean((new >= low) & (new <= high))))
        rmse = {name: 100.0 * float(np.sqrt(np.mean(np.concatenate(parts) ** 2))) for name, parts in off.items()}
        print(
            f"{per_cell:12d} {rmse['averages']:9.1f} % {rmse['quadratic']:9.1f} % {rmse['wedgelab']:8.1f} %"
            f"{100.0 * float(np.mean(inside)):15.1f} % {1000.0 * float(np.median(times)):13.1f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
