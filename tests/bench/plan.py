"""Does a planned session teach more than others? Invented players, in one run. Not a test: it takes minutes.

Every player (`wedgelab.simulate`) has a log of 40 balls in two sessions. Lopsided: "most of them full swings with two
wedges" is taken as 80, 90 and 95 %, the rest falls anywhere else, and as all of them; or even: as many in every cell as
can be. Then come 12 more balls in one new session of the same form, hit by the plan for the chart, by the plan for the
span of 45 to 75 yd, evenly (where there are 16 cells, three balls a wedge and a swing), or by the old habit. What is
scored is the root mean square error of the charted median against `simulate.true_medians`, in per cent of the carry and
in yards, over the cells whose true median lies in the span and over the whole chart. Ratios are of means over the
players, standard errors from a jackknife over them. Only carries are logged, the least that a log can have. Run it from
the project's root::

    python -m tests.bench.plan --players 500 --jobs 2 --save FILE.json
"""

import os

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_threads] = "1"  # read when numpy is loaded, here and in the processes that this one starts

import argparse  # noqa: E402  # the number of threads must be set before
import json  # noqa: E402  # as above
import multiprocessing  # noqa: E402  # as above
from collections.abc import Sequence  # noqa: E402  # as above
from concurrent.futures import ProcessPoolExecutor  # noqa: E402  # as above
from functools import partial  # noqa: E402  # as above
from pathlib import Path  # noqa: E402  # as above
from typing import Final, Literal  # noqa: E402  # as above

import numpy as np  # noqa: E402  # as above
from numpy.typing import NDArray  # noqa: E402  # as above

from tests.bench.learning_players import Log, all_cells, lofts_of  # noqa: E402  # as above
from wedgelab.model.observations import observations  # noqa: E402  # as above
from wedgelab.model.player import FittedPlayer, fit_observations  # noqa: E402  # as above
from wedgelab.plan.allocate import Budget, allocate  # noqa: E402  # as above
from wedgelab.plan.wanted import Wanted, span, whole_chart  # noqa: E402  # as above
from wedgelab.shots import Bag  # noqa: E402  # as above
from wedgelab.simulate import InventedPlayer, hit, invent_player, true_medians  # noqa: E402  # as above

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Kind = Literal["lopsided", "even"]
Errors = dict[str, list[float]]  # plan -> the errors named by SCORES

SEED: Final = 6606  # of the evaluation; other seeds were for looking
LOGGED: Final = 40
MORE: Final = 12
SESSIONS: Final = 2
LOGS: Final[dict[str, tuple[Kind, float]]] = {  # name -> kind, share of full swings with the two wedges
    "80 % full": ("lopsided", 0.80),
    "90 % full": ("lopsided", 0.90),
    "95 % full": ("lopsided", 0.95),
    "even": ("even", 0.0),
    "all full": ("lopsided", 1.0),
}
YARD_M: Final = 0.9144
SPAN_M: Final = (45.0 * YARD_M, 75.0 * YARD_M)
TRUTH_BALLS: Final = 1001
SCORES: Final = ("span %", "chart %", "span yd", "chart yd")
# what is promised: (log, plan, against, score) -> at most
GOALS: Final[tuple[tuple[Kind, str, str, str, float], ...]] = (
    ("lopsided", "plan for the span", "even", "span", 0.85),
    ("lopsided", "plan for the span", "habit", "span", 0.50),
    ("lopsided", "plan for the chart", "even", "chart", 0.95),
    ("lopsided", "plan for the chart", "habit", "chart", 0.55),
    ("even", "plan for the span", "even", "span", 1.05),
    ("even", "plan for the chart", "even", "chart", 1.05),
)


def habit(player: InventedPlayer, two: Index, n: int, share: float, rng: np.random.Generator) -> tuple[Index, Array]:
    """Return wedge and swing of n balls, the share of them full with the two wedges and the others anywhere else."""
    swings = np.array([swing.swing_deg for swing in player.swings])
    wedge, swing = rng.choice(two, n), np.full(n, swings[-1])
    others = np.flatnonzero(np.arange(n) >= round(share * n))
    wedge[others] = rng.integers(len(player.wedges), size=len(others))
    swing[others] = rng.choice(swings[:-1], len(others))
    order = rng.permutation(n)
    return wedge[order], swing[order]


def evenly(player: InventedPlayer, n: int, rng: np.random.Generator) -> tuple[Index, Array]:
    """Return n balls, as many with each wedge and each swing as can be, in an order of their own."""
    wedges, swings = len(player.wedges), np.array([swing.swing_deg for swing in player.swings])
    # the cells by diagonals of a shuffled table: whatever part of them comes first is spread over rows and columns
    rows, columns = rng.permutation(wedges), rng.permutation(len(swings))
    cells = [(rows[i], columns[(i + k) % len(swings)]) for k in range(len(swings)) for i in range(wedges)]
    chosen = [cells[i % len(cells)] for i in range(n)]
    order = rng.permutation(n)
    return np.array([chosen[i][0] for i in order], dtype=np.intp), swings[[chosen[i][1] for i in order]]


def hit_session(
    player: InventedPlayer, wedge: Index, swing_deg: Array, session: int, form: float, rng: np.random.Generator
) -> Log:
    """Hit one session, mishits and all."""
    balls = hit(player, wedge, swing_deg, rng, session=form)
    return Log(
        wedge, swing_deg, np.full(len(wedge), session), np.maximum(balls.carry_m, 0.5), balls.spin_rpm,
        balls.ball_speed_mps, balls.launch_deg,
    )  # fmt: skip


def fitted(player: InventedPlayer, log: Log) -> FittedPlayer:
    """Fit the carries of a log."""
    return fit_observations(
        observations(
            carry_m=log.carry_m,
            loft_deg=lofts_of(player)[log.wedge],
            swing_deg=log.swing_deg,
            session=log.session.tolist(),
            wedge=[player.wedges[i].label for i in log.wedge],
        )
    )


def one_player(number: int, *, logs: Sequence[str], seed: int = SEED) -> dict[str, Errors] | None:
    """Return the errors by log and by what was hit after it, None for a player without a cell in the span."""
    player = invent_player(np.random.default_rng([seed, number]))
    truth = true_medians(player, [swing.swing_deg for swing in player.swings], balls=TRUTH_BALLS)[0].ravel()
    inside = (SPAN_M[0] <= truth) & (truth <= SPAN_M[1])
    if not inside.any():
        return None
    order = list(LOGS)
    return {
        name: one_log(player, truth, inside, *LOGS[name], np.random.default_rng([seed, number, order.index(name)]))
        for name in logs
    }


def one_log(
    player: InventedPlayer, truth: Array, inside: NDArray[np.bool_], kind: Kind, share: float, rng: np.random.Generator
) -> Errors:
    """Hit a log, then 12 more balls by each plan: the same day and the same stream of chance for all."""
    two = rng.choice(len(player.wedges), 2, replace=False)
    log = first_log(player, two, kind, share, rng)
    before, bag = fitted(player, log), Bag(player.wedges, player.swings)
    sessions = {
        "plan for the span": planned(before, player, span(before, bag, *SPAN_M, "yd")),
        "plan for the chart": planned(before, player, whole_chart(bag)),
        "even": evenly(player, MORE, rng),
    }
    if kind == "lopsided":
        sessions["habit"] = habit(player, two, MORE, share, rng)
    form, luck = rng.standard_normal(), int(rng.integers(2**31))
    result = {"no more balls": errors(before, player, truth, inside)}
    for name, (with_wedge, with_swing) in sessions.items():
        new = hit_session(player, with_wedge, with_swing, SESSIONS, form, np.random.default_rng(luck))
        result[name] = errors(fitted(player, log.then(new)), player, truth, inside)
    return result


def first_log(player: InventedPlayer, two: Index, kind: Kind, share: float, rng: np.random.Generator) -> Log:
    """Hit the log that is there before the plan."""
    wedge, swing = habit(player, two, LOGGED, share, rng) if kind == "lopsided" else evenly(player, LOGGED, rng)
    half = LOGGED // SESSIONS
    log = hit_session(player, wedge[:half], swing[:half], 0, rng.standard_normal(), rng)
    return log.then(hit_session(player, wedge[half:], swing[half:], 1, rng.standard_normal(), rng))


def planned(before: FittedPlayer, player: InventedPlayer, wanted: Wanted) -> tuple[Index, Array]:
    """Return wedge and swing of the planned balls."""
    counts = allocate(before, wanted.kinds, wanted.weights, Budget(MORE, None))
    wedge, swing = all_cells(player)
    return np.repeat(wedge, counts), np.repeat(swing, counts)


def errors(model: FittedPlayer, player: InventedPlayer, truth: Array, inside: NDArray[np.bool_]) -> list[float]:
    """Return the errors of the charted medians; see `SCORES`."""
    charted = np.array([p.carry_m for p in model.predict(whole_chart(Bag(player.wedges, player.swings)).kinds)])
    share, yards = 100.0 * (charted / truth - 1.0), (charted - truth) / YARD_M
    return [float(np.sqrt(np.mean(np.square(values)))) for values in (share[inside], share, yards[inside], yards)]


def ratio(over: Array, under: Array) -> tuple[float, float]:
    """Return the ratio of the means and its standard error, by a jackknife over the players."""
    n = len(over)
    each = (over.sum() - over) / (under.sum() - under)
    error = np.sqrt((n - 1) / n * np.sum(np.square(each - each.mean())))
    return float(over.mean() / under.mean()), float(error)


def evaluate(
    players: int, jobs: int = 1, *, seed: int = SEED, logs: Sequence[str] = tuple(LOGS)
) -> dict[str, dict[str, Array]]:
    """Return log -> plan -> errors of shape (players, scores); the numbers do not depend on the jobs."""
    task = partial(one_player, logs=logs, seed=seed)
    if jobs == 1:
        found = list(map(task, range(players)))
    else:
        with ProcessPoolExecutor(jobs, mp_context=multiprocessing.get_context("spawn")) as pool:
            found = list(pool.map(task, range(players), chunksize=4))
    kept = [one for one in found if one is not None]
    return {log: {name: np.array([one[log][name] for one in kept]) for name in kept[0][log]} for log in logs}


def lines(log: str, found: dict[str, Array]) -> list[str]:
    """Say the errors and the ratios that were promised."""
    said = [f"log {log}, {len(found['even'])} players: mean RMSE ({', '.join(SCORES)})"]
    said += [f"  {name:20}" + "".join(f"{value:8.2f}" for value in each.mean(axis=0)) for name, each in found.items()]
    for kind, plan, against, score, goal in GOALS:
        if kind == LOGS[log][0]:
            parts = []
            for unit in ("%", "yd"):
                at = SCORES.index(f"{score} {unit}")
                value, error = ratio(found[plan][:, at], found[against][:, at])
                parts.append(f"{value:.3f} +- {error:.3f} in {unit}")
            said.append(f"  {plan} / {against}, {score}: {', '.join(parts)}; goal {goal:.2f}")
    return said


def main(arguments: list[str] | None = None) -> None:
    """Run what is asked for and print it."""
    parser = argparse.ArgumentParser(description="Does a planned session teach more than others?")
    parser.add_argument("--players", type=int, default=500)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--save", type=Path, metavar="FILE.json")
    asked = parser.parse_args(arguments)
    every = evaluate(asked.players, asked.jobs, seed=asked.seed)
    said = {log: lines(log, found) for log, found in every.items()}
    print("\n".join(line for each in said.values() for line in each), flush=True)
    if asked.save:
        errors_of = {log: {name: each.tolist() for name, each in found.items()} for log, found in every.items()}
        body = {"seed": asked.seed, "scores": SCORES, "lines": said, "errors": errors_of}
        asked.save.write_text(json.dumps(body, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
