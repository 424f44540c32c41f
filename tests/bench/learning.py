"""How much a log of few balls teaches, against what else one could do with it, in one run. Not a test: minutes.

Invented players (`wedgelab.simulate`, whose speed curves, noise and mishits are not those of the prior) hit the same
number of balls in every cell over two days. Each method then says the whole distribution of a solid ball of a new day
in every cell, for carry and for spin. That is scored by CRPS (Gneiting & Raftery 2007, JASA 102, 359) on fresh balls of
new days, divided by the CRPS of an oracle that knows the player; what is above 1 is the excess, and it is shown in per
cent with its standard error over the players. Cases beside the table are described in the files beside this one.
Run it from the project's root, with a part of the players first if you like; ``--save`` is what the page on learning is
made from::

    python -m tests.bench.learning --players 60 --jobs 2 --save docs/method/learning.json
    python docs/learning_page.py
"""

import os

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_threads] = "1"  # read when numpy is loaded, here and in the processes that this one starts

import argparse  # noqa: E402  # the number of threads must be set before
import json  # noqa: E402  # as above
import multiprocessing  # noqa: E402  # as above
import subprocess  # noqa: E402  # as above
from collections.abc import Iterator  # noqa: E402  # as above
from concurrent.futures import ProcessPoolExecutor  # noqa: E402  # as above
from datetime import UTC, datetime  # noqa: E402  # as above
from pathlib import Path  # noqa: E402  # as above
from typing import Final  # noqa: E402  # as above

from tests.bench.learning_cases import DAYS, SPOILT, UNLOGGED  # noqa: E402  # as above
from tests.bench.learning_change import CHANGE  # noqa: E402  # as above
from tests.bench.learning_methods import nuts_is_there  # noqa: E402  # as above
from tests.bench.learning_newcomer import NEWCOMER  # noqa: E402  # as above
from tests.bench.learning_parts import Json, Part, Scores  # noqa: E402  # as above
from tests.bench.learning_players import SEED  # noqa: E402  # as above
from tests.bench.learning_table import NUTS, TABLE  # noqa: E402  # as above
from tests.bench.learning_text import lines  # noqa: E402  # as above

ROOT: Final = Path(__file__).resolve().parents[2]
PARTS: Final = {part.name: part for part in (TABLE, NUTS, UNLOGGED, NEWCOMER, SPOILT, DAYS, CHANGE)}
CASES: Final = (UNLOGGED.name, NEWCOMER.name, SPOILT.name, DAYS.name, CHANGE.name)
Task = tuple[str, str, int]  # part, row, player


def done(task: Task) -> Scores:
    """Score one player."""
    part, row, number = task
    return PARTS[part].player(row, number)


def scored(tasks: list[Task], jobs: int) -> Iterator[Scores]:
    """Score the players in order, in several processes or in this one; the scores do not depend on which."""
    if jobs == 1:
        yield from map(done, tasks)
        return
    # fresh processes: they load numpy themselves, with the number of threads set above
    with ProcessPoolExecutor(jobs, mp_context=multiprocessing.get_context("spawn")) as pool:
        yield from pool.map(done, tasks)


def run(part: Part, players: int, jobs: int) -> Json:
    """Score all rows of a part."""
    results = scored([(part.name, row, number) for row in part.rows for number in range(players)], jobs)
    rows = {row: part.row([next(results) for _ in range(players)]) for row in part.rows}
    return {"players": players, **stamp(), "rows": rows}


def stamp() -> Json:
    """Return the day, and the commit of the code; changes elsewhere in the tree cannot change a number."""

    def git(*words: str) -> str:
        return subprocess.run(["git", *words], cwd=ROOT, check=True, capture_output=True, text=True).stdout.strip()

    changed = git("status", "--porcelain", "--", "wedgelab", "tests/bench")
    commit = git("rev-parse", "--short", "HEAD") + (" + changes" if changed else "")
    return {"date": datetime.now(UTC).date().isoformat(), "commit": commit}


def save(path: Path, fresh: Json) -> None:
    """Put the parts into the file and leave what else is there."""
    kept = json.loads(path.read_text("utf-8")) if path.exists() else {}
    merged = {**kept, "seed": SEED, **fresh}
    ordered = {name: merged[name] for name in ("seed", *PARTS) if name in merged}
    path.write_text(json.dumps(ordered, indent=1, ensure_ascii=False, allow_nan=False) + "\n", encoding="utf-8")


def wanted(part: str, nuts: int) -> list[str]:
    """Return the names of the parts to run."""
    names = [TABLE.name] if part in {"table", "all"} else []
    if nuts and part in {"table", "all", NUTS.name}:
        names.append(NUTS.name)
    return names + [name for name in CASES if part in {"cases", "all", name}]


def main(arguments: list[str] | None = None) -> None:
    """Run what is asked for and print it."""
    parser = argparse.ArgumentParser(description="How much a log of few balls teaches.")
    parser.add_argument("--players", type=int, default=60, help="invented players a row (default 60)")
    parser.add_argument("--part", choices=("all", "cases", *PARTS), default="all", help="default: all")
    parser.add_argument("--nuts", type=int, default=0, help="players of each row for the sampled peer (default 0)")
    parser.add_argument("--jobs", type=int, default=1, help="processes (default 1)")
    parser.add_argument("--save", type=Path, metavar="FILE.json", help="merge the results into this file")
    asked = parser.parse_args(arguments)
    if asked.part == NUTS.name and not asked.nuts:
        parser.error("--part nuts needs --nuts N, the number of players")
    for name in wanted(asked.part, asked.nuts):
        if name == NUTS.name and not nuts_is_there():
            print("NUTS left out: PyMC is not installed; pip install pymc\n")
            continue
        result = run(PARTS[name], asked.nuts if name == NUTS.name else asked.players, asked.jobs)
        print("\n".join(lines(name, result)), flush=True)
        if asked.save:  # at once: a long run that is broken off keeps what it has
            save(asked.save, {name: result})


if __name__ == "__main__":
    main()
