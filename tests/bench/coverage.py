"""Do the intervals of coverage, and of differences of it, hold the truth? Invented players. No test: it takes minutes.

Every player (`wedgelab.simulate`) logs so many balls of every wedge at every named swing in so many sessions, mishits
among them. The truth is counted: of 3000 future solid balls of each shot, each of a day of its own, the share that
lands inside the window; of the shots the best at each target, averaged over the targets of the report. Fewer balls will
not do: with 150 of them the truth itself is off by half a point. Of a difference both bags are counted with the same
luck, so that it is counted more finely still.

Two other bags are held against today's: one in which an inner wedge is another club of two degrees more or less, and
the first one that `suggest` finds. Clubs that are not today's have their own peculiarities, as all clubs do. Run it
from the project's root::

    python -m tests.bench.coverage --players 120 --seed 506
    python -m tests.bench.coverage --players 60 --seed 506 --suggest
"""

import os

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_threads] = "1"  # read when numpy is loaded

import argparse  # noqa: E402  # the number of threads must be set before
from collections.abc import Sequence  # noqa: E402  # as above
from dataclasses import dataclass, replace  # noqa: E402  # as above
from typing import Final  # noqa: E402  # as above

import numpy as np  # noqa: E402  # as above
from numpy.typing import NDArray  # noqa: E402  # as above

from wedgelab.gaps.bags import Comparison, what_if  # noqa: E402  # as above
from wedgelab.gaps.coverage import Stock, stock_of  # noqa: E402  # as above
from wedgelab.gaps.report import GapReport, build_gaps  # noqa: E402  # as above
from wedgelab.gaps.suggest import suggest  # noqa: E402  # as above
from wedgelab.model.observations import observations  # noqa: E402  # as above
from wedgelab.model.player import FittedPlayer, fit_observations  # noqa: E402  # as above
from wedgelab.shots import DEFAULT_SWINGS, Bag, Wedge  # noqa: E402  # as above
from wedgelab.simulate import InventedPlayer, hit, invent_player  # noqa: E402  # as above
from wedgelab.window import DEFAULT_WINDOW  # noqa: E402  # as above

Array = NDArray[np.float64]
FUTURE_BALLS: Final = 3000
LOGS: Final = ((1, 1), (2, 3), (9, 3), (30, 3), (120, 6))  # balls a shot, sessions
SWINGS_DEG: Final = np.array([swing.swing_deg for swing in DEFAULT_SWINGS])
MOVED_DEG: Final = 2.0
SAID: Final = ((0.5, 0.7), (0.7, 0.9), (0.9, 0.95), (0.95, 1.01))  # chances of the surer bag


@dataclass(frozen=True)
class Held:
    """A difference of coverages: what was said of it, and the truth."""

    said: Comparison
    truth: float

    @property
    def is_inside(self) -> bool:
        """Whether the 80 % interval holds the truth."""
        return self.said.difference_p10 <= self.truth <= self.said.difference_p90

    @property
    def is_better(self) -> float:
        """Whether the other bag truly is the better one; the same bag counts half, as it does where that is said."""
        return 0.5 if self.truth == 0.0 else float(self.truth > 0.0)


@dataclass(frozen=True)
class Result:
    """Of one player: whether the interval held the truth, its width, how far off what was said, and the differences.

    ``spread_off`` has for each shot the logarithm of its own spread over the true one.
    """

    inside: bool
    width: float
    known_off: float
    now_off: float
    spread_off: Array
    moved: Held
    suggested: Held | None


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


class Truth:
    """What the player's balls come to with any bag: balls of a wedge are hit once, all wedges with the same luck."""

    def __init__(self, player: InventedPlayer, luck: Sequence[int]) -> None:
        self.player, self.luck = player, luck
        self._carries: dict[Wedge, Array] = {}

    def carries_m(self, wedge: Wedge) -> Array:
        """Return the future balls with a wedge at each swing, sorted: (swings, balls)."""
        if wedge not in self._carries:
            rng = np.random.default_rng([*self.luck, 1])
            club, index = self.player, 0
            if wedge in club.wedges:
                index = club.wedges.index(wedge)
            else:  # as `invent_player` draws one
                own = np.random.default_rng([*self.luck, 2, round(10.0 * wedge.loft_deg)])
                club = replace(
                    club,
                    wedges=(wedge,),
                    club_log_speed=(float(own.normal(-0.0025 * (wedge.loft_deg - 53.0), 0.006)),),
                    club_loft_deg=(float(own.normal(0.0, 0.4)),),
                )
            swing = np.repeat(SWINGS_DEG, FUTURE_BALLS)
            day = rng.standard_normal(len(swing))
            balls = hit(club, np.full(len(swing), index), swing, rng, session=day, mishits=False)
            self._carries[wedge] = np.sort(balls.carry_m.reshape(len(SWINGS_DEG), FUTURE_BALLS), axis=1)
        return self._carries[wedge]

    def coverage(self, wedges: Sequence[Wedge], targets_m: Sequence[float]) -> float:
        """Return the coverage of a bag, counted."""
        low, high = np.array([DEFAULT_WINDOW.around(target) for target in targets_m]).T
        shots = [shot for wedge in wedges for shot in self.carries_m(wedge)]
        inside = [np.searchsorted(shot, high, side="right") - np.searchsorted(shot, low) for shot in shots]
        return float(np.max(inside, axis=0).mean() / FUTURE_BALLS)

    def spread_off(self, stock: Stock) -> Array:
        """Return the logarithms of own spread over true one."""
        true = [
            np.log(self.carries_m(Wedge(kind.wedge, kind.loft_deg))[list(SWINGS_DEG).index(kind.swing_deg)]).std()
            for kind in stock.kinds
        ]
        return np.asarray(np.log(stock.own_log_sd / np.array(true)))


def moved_bag(bag: Bag, rng: np.random.Generator) -> Bag:
    """Return the bag with an inner wedge two degrees off, to the side where there is room."""
    wedges = list(bag.wedges)
    i = int(rng.integers(1, len(wedges) - 1))
    below, above = wedges[i].loft_deg - wedges[i - 1].loft_deg, wedges[i + 1].loft_deg - wedges[i].loft_deg
    loft = wedges[i].loft_deg + (MOVED_DEG if above >= below else -MOVED_DEG)
    wedges[i] = Wedge(f"new {loft:.0f}", loft)
    return Bag(tuple(wedges), bag.swings)


def score(seed: int, number: int, balls: int, days: int, *, with_suggestion: bool = False) -> Result:
    """Invent a player, fit the log, and hold what is said against what the player then hits."""
    rng = np.random.default_rng([seed, number])
    player = invent_player(rng)
    truth = Truth(player, [seed, number])
    fitted, bag = log_of(player, balls, days, rng), Bag(player.wedges, DEFAULT_SWINGS)
    report = build_gaps(fitted, bag, window=DEFAULT_WINDOW, rng=np.random.default_rng(1))
    covered = truth.coverage(bag.wedges, report.targets_m)
    other = moved_bag(bag, rng)
    asked = what_if(fitted, bag, other, window=DEFAULT_WINDOW, rng=np.random.default_rng(1))
    return Result(
        report.known_coverage_p10 <= covered <= report.known_coverage_p90,
        report.known_coverage_p90 - report.known_coverage_p10,
        report.known_coverage - covered,
        report.coverage - covered,
        truth.spread_off(stock_of(fitted, bag)),
        Held(asked.comparison, truth.coverage(other.wedges, report.targets_m) - covered),
        suggested(fitted, bag, report, truth) if with_suggestion else None,
    )


def suggested(fitted: FittedPlayer, bag: Bag, report: GapReport, truth: Truth) -> Held | None:
    """Hold the first suggested bag of as many wedges against today's; None where it is today's."""
    found = suggest(fitted, bag, len(bag.wedges), window=DEFAULT_WINDOW, rng=np.random.default_rng(1))
    first = found.bags[0]
    if first.wedges == bag.wedges or first.against_today is None:
        return None
    off = truth.coverage(first.wedges, report.targets_m) - truth.coverage(bag.wedges, report.targets_m)
    return Held(first.against_today, off)


def main() -> None:
    """Print a row a log of what is said of a bag, then two of what is said of another one against it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=120)
    parser.add_argument("--seed", type=int, default=506)
    parser.add_argument("--suggest", action="store_true", help="the suggested bag too: takes longer")
    given = parser.parse_args()
    differences = []
    print(
        "| balls a shot | sessions | interval holds the truth | its width | known: off | now: off | spread: off |",
        end="",
    )
    print(" one shot's against the others': off |\n|" + "--:|" * 8)
    for log in LOGS:
        found = [score(given.seed, number, *log, with_suggestion=given.suggest) for number in range(given.players)]
        print(f"| {log[0]} | {log[1]} | {_coverage_row(found)} |", flush=True)
        differences.append((*log, "moved", [one.moved for one in found]))
        if given.suggest:
            first = [one.suggested for one in found if one.suggested is not None]
            differences.append((*log, "suggested", first))
    print(
        "\n| balls a shot | sessions | other bag | of | interval holds the truth | its width | off | surer bag: ",
        end="",
    )
    print("chance said, and how often right (of so many) |\n|--:|--:|:--|" + "--:|" * 4 + ":--|")
    for balls, days, kind, held in differences:
        print(f"| {balls} | {days} | {kind} | {len(held)} | {_difference_row(held)} |")


def _coverage_row(found: Sequence[Result]) -> str:
    known = [100.0 * one.known_off for one in found]
    now, spread = [100.0 * one.now_off for one in found], [100.0 * float(one.spread_off.mean()) for one in found]
    single = 100.0 * np.sqrt(np.mean([one.spread_off.var(ddof=1) for one in found]))
    return (
        f"{100.0 * np.mean([one.inside for one in found]):.0f} % "
        f"| {100.0 * np.mean([one.width for one in found]):.1f} | {np.mean(known):+.1f} ± {np.std(known):.1f} "
        f"| {np.mean(now):+.1f} ± {np.std(now):.1f} | {np.mean(spread):+.1f} ± {np.std(spread):.1f} % | {single:.1f} %"
    )


def _difference_row(held: Sequence[Held]) -> str:
    chances = np.array([one.said.better_probability for one in held])
    is_better = np.array([one.is_better for one in held])
    said, right = np.maximum(chances, 1.0 - chances), np.where(chances >= 0.5, is_better, 1.0 - is_better)
    off = [100.0 * (one.said.difference - one.truth) for one in held]
    width = [100.0 * (one.said.difference_p90 - one.said.difference_p10) for one in held]
    bins = []
    for low, high in SAID:
        mine = (said >= low) & (said < high)
        if mine.any():
            bins.append(f"{100.0 * said[mine].mean():.0f}: {100.0 * right[mine].mean():.0f} % ({mine.sum()})")
    return (
        f"{100.0 * np.mean([one.is_inside for one in held]):.0f} % | {np.mean(width):.1f} "
        f"| {np.mean(off):+.1f} ± {np.std(off):.1f} | {', '.join(bins)}"
    )


if __name__ == "__main__":
    main()
