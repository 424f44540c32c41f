"""Does the interval of coverage hold the truth? Invented players, in one run. Not a test: it takes minutes.

Every player (`wedgelab.simulate`) logs so many balls of every wedge at every named swing in so many sessions, mishits
among them. The truth is counted: of 3000 future solid balls of each shot, each of a day of its own, the share that
lands inside the window; of the shots the best at each target, averaged over the targets of the report. Fewer balls will
not do: with 150 of them the truth itself is off by half a point. Run it from the project's root::

    python -m tests.bench.coverage --players 120 --seed 506
"""

import os

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_threads] = "1"  # read when numpy is loaded

import argparse  # noqa: E402  # the number of threads must be set before
from dataclasses import dataclass  # noqa: E402  # as above
from typing import Final  # noqa: E402  # as above

import numpy as np  # noqa: E402  # as above
from numpy.typing import NDArray  # noqa: E402  # as above

from wedgelab.gaps.coverage import stock_of  # noqa: E402  # as above
from wedgelab.gaps.report import build_gaps  # noqa: E402  # as above
from wedgelab.model.observations import observations  # noqa: E402  # as above
from wedgelab.model.player import FittedPlayer, fit_observations  # noqa: E402  # as above
from wedgelab.shots import DEFAULT_SWINGS, Bag  # noqa: E402  # as above
from wedgelab.simulate import InventedPlayer, hit, invent_player  # noqa: E402  # as above
from wedgelab.window import DEFAULT_WINDOW  # noqa: E402  # as above

Array = NDArray[np.float64]
FUTURE_BALLS: Final = 3000
LOGS: Final = ((1, 1), (2, 3), (9, 3), (40, 3), (120, 6))  # balls a shot, sessions
SWINGS_DEG: Final = np.array([swing.swing_deg for swing in DEFAULT_SWINGS])


@dataclass(frozen=True)
class Result:
    """Of one player: whether the interval held the truth, its width, and how far off what was said."""

    inside: bool
    width: float
    known_off: float
    now_off: float
    spread_off: float  # mean over the shots of the logarithm of own spread over the true one


def log_of(player: InventedPlayer, balls: int, days: int, rng: np.random.Generator) -> FittedPlayer:
    """Fit what the player hits; fewer balls than days are a ball a day."""
    days, each = min(balls, days), max(1, balls // days)
    day, wedge, swing, _ = np.indices((days, len(player.wedges), len(SWINGS_DEG), each))
    hits = hit(player, wedge, SWINGS_DEG[swing], rng, session=rng.standard_normal(days)[day])
    which = wedge.ravel()
    return fit_observations(
        observations(
            carry_m=hits.carry_m,
            spin_rpm=hits.spin_rpm,
            loft_deg=np.array([player.wedges[i].loft_deg for i in which]),
            swing_deg=SWINGS_DEG[swing.ravel()],
            wedge=[player.wedges[i].label for i in which],
            session=[f"day {i}" for i in day.ravel()],
        )
    )


def counted(carries_m: Array, targets_m: tuple[float, ...]) -> float:
    """Return the coverage of balls (shots, balls)."""
    low, high = np.array([DEFAULT_WINDOW.around(target) for target in targets_m]).T
    shots = np.sort(carries_m, axis=1)
    inside = [np.searchsorted(shot, high, side="right") - np.searchsorted(shot, low) for shot in shots]
    return float(np.max(inside, axis=0).mean() / carries_m.shape[1])


def score(seed: int, number: int, balls: int, days: int) -> Result:
    """Invent a player, fit the log, and hold what is said against what the player then hits."""
    rng = np.random.default_rng([seed, number])
    player = invent_player(rng)
    wedge, swing, _ = np.indices((len(player.wedges), len(SWINGS_DEG), FUTURE_BALLS))
    days_of_balls = rng.standard_normal(wedge.shape)
    future = hit(player, wedge, SWINGS_DEG[swing], rng, session=days_of_balls, mishits=False)
    carries = future.carry_m.reshape(-1, FUTURE_BALLS)
    fitted, bag = log_of(player, balls, days, rng), Bag(player.wedges, DEFAULT_SWINGS)
    report = build_gaps(fitted, bag, window=DEFAULT_WINDOW, rng=np.random.default_rng(1))
    truth = counted(carries, report.targets_m)
    stock, sds = stock_of(fitted, bag), np.log(carries).std(axis=1)
    true_sds = {
        (one.label, float(deg)): sds[i * len(SWINGS_DEG) + j]
        for i, one in enumerate(player.wedges)
        for j, deg in enumerate(SWINGS_DEG)
    }
    off = [
        float(np.log(own / true_sds[kind.wedge, kind.swing_deg]))
        for own, kind in zip(stock.own_log_sd, stock.kinds, strict=True)
    ]
    return Result(
        report.known_coverage_p10 <= truth <= report.known_coverage_p90,
        report.known_coverage_p90 - report.known_coverage_p10,
        report.known_coverage - truth,
        report.coverage - truth,
        float(np.mean(off)),
    )


def main() -> None:
    """Print a row a log."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=120)
    parser.add_argument("--seed", type=int, default=506)
    given = parser.parse_args()
    print("| balls a shot | sessions | interval holds the truth | its width | known: off | now: off | spread: off |")
    print("|--:|--:|--:|--:|--:|--:|--:|")
    for balls, days in LOGS:
        found = [score(given.seed, number, balls, days) for number in range(given.players)]
        known = [100.0 * one.known_off for one in found]
        now, spread = [100.0 * one.now_off for one in found], [100.0 * one.spread_off for one in found]
        print(
            f"| {balls} | {days} | {100.0 * np.mean([one.inside for one in found]):.0f} % "
            f"| {100.0 * np.mean([one.width for one in found]):.1f} | {np.mean(known):+.1f} ± {np.std(known):.1f} "
            f"| {np.mean(now):+.1f} ± {np.std(now):.1f} | {np.mean(spread):+.1f} ± {np.std(spread):.1f} % |",
            flush=True,
        )


if __name__ == "__main__":
    main()
