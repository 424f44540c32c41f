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

from wedgelab.model.observations import Observations, observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.prediction import ShotKind
from wedgelab.simulate import hit, invent_player

RUNS = 15
SHOTS = 500
LOGS = [  # shots, sessions, all four readings or carry and spin
    (50, 5, False), (200, 2, False), (200, 5, False), (200, 5, True), (500, 5, False), (5000, 100, False),
    (100_000, 2, False), (100_000, 100, False), (100_000, 1000, False),
]  # fmt: skip


def wall_s(words: list[str], environ: dict[str, str]) -> float:
    """Return the median wall time [s] of a process after one run that does not count."""
    times = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        subprocess.run(words, check=True, capture_output=True, env=environ)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def timed_ms(work: Callable[[], object], runs: int) -> tuple[float, float]:
    """Return the median and the best time [ms] of a call after one that does not count."""
    times = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        work()
        times.append(1000.0 * (time.perf_counter() - start))
    return statistics.median(times[1:]), min(times[1:])


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


def log_of(n: int, sessions: int, *, all_readings: bool = False) -> tuple[Observations, list[ShotKind]]:
    """Return n shots of an invented player over so many sessions, and the cells of the chart."""
    rng = np.random.default_rng(2)
    player = invent_player(rng, skill=0.6)
    which = rng.integers(0, len(player.wedges), n)
    swings = np.array([swing.swing_deg for swing in player.swings])[rng.integers(0, len(player.swings), n)]
    balls = hit(player, which, swings, rng)
    measured = {"ball_speed_mps": balls.ball_speed_mps, "launch_deg": balls.launch_deg} if all_readings else {}
    obs = observations(
        carry_m=np.maximum(balls.carry_m, 0.5), spin_rpm=balls.spin_rpm, swing_deg=swings, measured=measured,
        loft_deg=np.array([wedge.loft_deg for wedge in player.wedges])[which],
        session=list(np.arange(n) * sessions // n),
    )  # fmt: skip
    return obs, [ShotKind("", w.loft_deg, s.swing_deg) for w in player.wedges for s in player.swings]


def predict_anew(fitted: FittedPlayer, kinds: list[ShotKind]) -> object:
    """Ask a player who keeps no earlier answer."""
    fitted._known.clear()
    return fitted.predict(kinds)


def fits() -> None:
    """Print how long a fit and a chart's predictions take."""
    print("\nshots  sessions  readings  fit ms (median, best)  predict ms  rounds")
    for n, sessions, every in LOGS:
        obs, kinds = log_of(n, sessions, all_readings=every)
        fitted = fit_observations(obs)
        fit_ms = timed_ms(lambda obs=obs: fit_observations(obs), RUNS if n < 10000 else 3)  # type: ignore[misc]  # bound now
        predict_ms = timed_ms(lambda f=fitted, k=kinds: predict_anew(f, k), RUNS)  # type: ignore[misc]  # bound now
        print(
            f"{n:6d} {sessions:8d}  {'four' if every else 'two':8s} {fit_ms[0]:8.1f} {fit_ms[1]:8.1f}       "
            f"{predict_ms[0]:5.1f} for {len(kinds)}  {fitted.fit.rounds:3d}"
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
            (f"wedgelab gaps, {SHOTS} shots", [*base, "gaps"]),
            ("wedgelab bag suggest --count 4", [*base, "bag", "suggest", "--count", "4"]),
            ("wedgelab plan", [*base, "plan"]),
            ("wedgelab chart --png", [*base, "chart", "--png", f"{folder}/chart.png"]),
            ("wedgelab report card.pdf", [*base, "report", f"{folder}/card.pdf"]),
            ("wedgelab report page.html", [*base, "report", f"{folder}/page.html"]),
            ("wedgelab report --session last", [*base, "report", f"{folder}/session.pdf", "--session", "last"]),
        ]
        times = {name: wall_s(words, environ) for name, words in rows}
    click = times["bare click"]
    for name, seconds in times.items():
        print(f"{name:32s} {seconds:6.3f} s   {seconds / click:5.2f} x bare click")
    fits()


if __name__ == "__main__":
    main()
