"""Wall time of whole processes and of a fit, printed beside what a bare import costs in the same run. Not a test.

Run ``python tests/bench/speed.py`` on an idle machine; each figure is the median of several runs.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations
from wedgelab.prediction import ShotKind
from wedgelab.simulate import hit, invent_player

RUNS = 15
SHOTS = 500


def wall_s(words: list[str], environ: dict[str, str]) -> float:
    """Return the median wall time [s] of a process after one run that does not count."""
    times = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        subprocess.run(words, check=True, capture_output=True, env=environ)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def median_ms(work: Callable[[], object]) -> float:
    """Return the median time [ms] of a call after one that does not count."""
    times = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1000.0 * statistics.median(times[1:])


def csv_of_shots(path: Path, n: int) -> None:
    """Write n shots of an invented player."""
    rng = np.random.default_rng(1)
    player = invent_player(rng, skill=0.6)
    which = rng.integers(0, len(player.wedges), n)
    swings = [player.swings[i] for i in rng.integers(0, len(player.swings), n)]
    balls = hit(player, which, [swing.swing_deg for swing in swings], rng)
    rows = ["wedge,loft_deg,swing,swing_deg,carry_m,spin_rpm,session"]
    for i in range(n):
        wedge = player.wedges[which[i]]
        ball = f"{balls.carry_m[i]:.2f},{balls.spin_rpm[i]:.0f}"
        rows.append(f"{wedge.label},{wedge.loft_deg},{swings[i].label},{swings[i].swing_deg},{ball},day {i * 5 // n}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def fits() -> None:
    """Print how long a fit and a chart's predictions take."""
    for n in (50, 200, SHOTS):
        rng = np.random.default_rng(2)
        player = invent_player(rng, skill=0.6)
        which = rng.integers(0, len(player.wedges), n)
        swings = np.array([swing.swing_deg for swing in player.swings])[rng.integers(0, len(player.swings), n)]
        balls = hit(player, which, swings, rng)
        lofts = np.array([wedge.loft_deg for wedge in player.wedges])[which]
        obs = observations(
            carry_m=balls.carry_m,
            loft_deg=lofts,
            swing_deg=swings,
            spin_rpm=balls.spin_rpm,
            session=list(np.arange(n) * 5 // n),
        )
        fitted = fit_observations(obs)
        kinds = [ShotKind("", w.loft_deg, s.swing_deg) for w in player.wedges for s in player.swings]
        print(
            f"fit of {n:4d} shots {median_ms(lambda obs=obs: fit_observations(obs)):6.1f} ms, "  # type: ignore[misc]  # bound now
            f"predict {len(kinds)} cells {median_ms(lambda f=fitted, k=kinds: f.predict(k)):5.1f} ms, "  # type: ignore[misc]  # bound now
            f"{fitted.fit.rounds} rounds"
        )


def main() -> None:
    """Print the table."""
    python = sys.executable
    with tempfile.TemporaryDirectory() as folder:
        # bytecode is cached where pip put the package; a checkout run without it would time the compiler
        environ = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        environ["WEDGELAB_DB"] = f"{folder}/bench.db"
        csv_of_shots(Path(folder, "shots.csv"), SHOTS)
        base = [python, "-m", "wedgelab"]
        subprocess.run([*base, "import", f"{folder}/shots.csv"], check=True, capture_output=True, env=environ)
        label = subprocess.run([*base, "bag"], check=True, capture_output=True, text=True, env=environ).stdout.split()[
            8
        ]
        rows = [
            ("python -c pass", [python, "-c", "pass"]),
            ("bare click", [python, "-c", "import click"]),
            ("bare numpy", [python, "-c", "import numpy"]),
            ("wedgelab --help", [*base, "--help"]),
            ("wedgelab log", [*base, "log", label, "9:00", "55"]),
            (f"wedgelab chart, {SHOTS} shots", [*base, "chart"]),
            (f"wedgelab choose, {SHOTS} shots", [*base, "choose", "60"]),
        ]
        times = {name: wall_s(words, environ) for name, words in rows}
    click = times["bare click"]
    for name, seconds in times.items():
        print(f"{name:32s} {seconds:6.3f} s   {seconds / click:5.2f} x bare click")
    fits()


if __name__ == "__main__":
    main()
