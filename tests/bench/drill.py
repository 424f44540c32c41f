"""From a key to the screen in a real drill, with a short and a long log, printed side by side. Not a test.

Run ``python -m tests.bench.drill`` on an idle machine. Two times are taken in a pseudo-terminal of 80 x 24: from a
digit to its echo, and from Enter (the ball is committed in between) to the screen that has the miss and the next call.
"""

import re
import statistics
import tempfile
import time
from pathlib import Path

from tests.bench.speed import csv_of_shots
from tests.terminal.pty_screen import PtyScreen
from wedgelab.cli.main import run

BALLS = 60
LOGS = (100, 1000, 10_000)
HEAD = re.compile(r"call (\d+) of")


def prepared(folder: Path, shots: int) -> Path:
    """Make a log of so many shots."""
    db, file = folder / f"{shots}.db", folder / f"{shots}.csv"
    csv_of_shots(file, shots)
    if run(["--db", str(db), "import", str(file)]):
        raise RuntimeError("the shots could not be imported")
    return db


def ms_since(start: float) -> float:
    return 1000.0 * (time.perf_counter() - start)


def times_of(db: Path) -> tuple[float, list[float], list[float]]:
    """Return the time [s] until the first call is on the screen, and those [ms] of the digits and of the balls."""
    start = time.perf_counter()
    screen = PtyScreen(db, ["drill", "--balls", str(BALLS + 5), "--seed", "1", "--order", "random"])

    def call() -> int:
        found = HEAD.search(screen.rows[0])
        return int(found[1]) if found else 0

    digits: list[float] = []
    balls: list[float] = []
    try:
        screen.wait(lambda _: call() > 0)
        began = time.perf_counter() - start
        for number in range(BALLS):
            before = call()
            for typed, key in (("6", "6"), ("62", "2")):
                pressed = time.perf_counter()
                screen.type(key)
                while not any(f"> {typed}" in row for row in screen.rows):
                    screen.feed(0.001)
                digits.append(ms_since(pressed))
            pressed = time.perf_counter()
            screen.type("\r")
            while call() != before + 1:
                screen.feed(0.001)
            if number >= 5:  # the first ones find the disk and the caches cold
                balls.append(ms_since(pressed))
    finally:
        screen.stop()
    return began, digits, balls


def main() -> None:
    print(f"{'shots':>7}  {'first call':>10}  {'digit':>22}  {'Enter to miss and call':>24}  x the shortest log")
    first = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for shots in LOGS:
            began, digits, balls = times_of(prepared(Path(folder), shots))
            first = first or statistics.median(balls)
            print(
                f"{shots:7}  {began:8.2f} s  {statistics.median(digits):5.1f} (most {max(digits):5.1f}) ms  "
                f"{statistics.median(balls):6.1f} (most {max(balls):5.1f}) ms  {statistics.median(balls) / first:.2f}"
            )


if __name__ == "__main__":
    main()
