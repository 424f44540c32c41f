"""Kill a real drill in a pseudo-terminal, again and again, and look whether anything was lost.

    python -m tests.faults.drill_kills --times 200 --seed 1

Each round starts or resumes a drill, types a few balls, and ends it by SIGKILL, SIGTERM or a hang-up at a moment drawn
over the start, the typing of a number, the commit (from the Enter key on) and the redraw (from its first output on).
Then the log is read: a ball whose miss was on the screen must be there with its carry, its call and its event; a ball
that was typed in full may be there or not; nothing else may be there; and the next round must go on at the right call.
"""

import argparse
import json
import random
import re
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.terminal.pty_screen import LEFT_THE_SCREEN, PtyScreen
from wedgelab.cli.main import run

MOMENTS = ("start", "typing", "commit", "redraw")
CALLS = 400
HEAD = re.compile(rf"call (\d+) of {CALLS}")


@dataclass
class Tally:
    """What the rounds came to; ``lost`` and ``strange`` must stay empty."""

    rounds: Counter[str] = field(default_factory=Counter)
    acknowledged: int = 0
    unacknowledged_stored: int = 0
    restored_screens: int = 0
    lost: list[str] = field(default_factory=list)
    strange: list[str] = field(default_factory=list)


class Round:
    """One life of the program: what it acknowledged before it was killed."""

    def __init__(self, db: Path, rng: random.Random, known: list[float], *, is_new: bool) -> None:
        self._rng, self._known = rng, known
        begin = ["drill", "--balls", str(CALLS), "--from", "40", "--to", "60", "--seed", "4", "--order", "random"]
        words = ["--units", "m", *(begin if is_new else ["drill", "--resume"])]
        self.screen = PtyScreen(db, words)
        self.acknowledged: list[float] = []
        self.pending: float | None = None
        self.first_call: int | None = None

    def _call(self) -> int | None:
        found = HEAD.search("\n".join(self.screen.rows[:3]))
        return int(found[1]) if found else None

    def _carry(self) -> float:
        # every ball of the whole program has a carry of its own, so that none is mistaken for another
        return round(20.0 + 0.1 * (len(self._known) + len(self.acknowledged)), 1)

    def live(self, moment: str) -> None:
        """Play up to the moment of the kill."""
        if moment == "start":
            until = time.monotonic() + self._rng.uniform(0.0, 1.5)
            while time.monotonic() < until and self.screen.feed(0.01):
                pass
            self.first_call = self._call()
            return
        self.screen.wait(lambda _: self._call() is not None)
        self.first_call = self._call()
        for _ in range(self._rng.randint(0, 2)):
            self._ball()
        carry = self._carry()
        keys = f"54 9:00 {carry:.1f}"
        if moment == "typing":
            self.screen.type(keys[: self._rng.randint(1, len(keys))])
            self.screen.feed(self._rng.uniform(0.0, 0.05))
            return
        self.pending = carry
        self.screen.type(keys + "\r")
        until = time.monotonic() + self._rng.uniform(0.0, 0.03)
        if moment == "redraw":
            self.screen.feed(5.0)
            until = time.monotonic() + self._rng.uniform(0.0, 0.01)
        while time.monotonic() < until:
            self.screen.feed(0.001)

    def _ball(self) -> None:
        carry, before = self._carry(), self._call()
        self.screen.type(f"54 9:00 {carry:.1f}\r")
        self.screen.wait(lambda _: self._call() not in {before, None})
        self.acknowledged.append(carry)

    def end(self, how: str) -> bool:
        """End it; return whether it left the other screen of the terminal (asked only where it can)."""
        was_on_screen = "\x1b[?1049h" in self.screen.read
        if how == "hangup":
            self.screen.hang_up()
        else:
            self.screen.send_signal(signal.SIGKILL if how == "kill" else signal.SIGTERM)
        self.screen.wait_dead()
        if self.pending is not None and f"carry {self.pending:.1f} m" in "\n".join(self.screen.rows):
            self.acknowledged.append(self.pending)
            self.pending = None
        self.screen.stop()
        return how != "term" or not was_on_screen or LEFT_THE_SCREEN in self.screen.read


def stored(db: Path) -> tuple[list[tuple[float, int]], list[dict[str, Any]], str]:
    """Read the balls that stand (carry, call), the events of the drill, and what SQLite says of the file."""
    with closing(sqlite3.connect(db)) as connection:
        balls = connection.execute(
            "SELECT carry_m, call_no FROM shot WHERE drill_id <> '' AND shot_id NOT IN (SELECT shot_id FROM void)"
            " ORDER BY seq"
        ).fetchall()
        events = [json.loads(row[0]) for row in connection.execute("SELECT event FROM drill_event ORDER BY seq")]
        (integrity,) = connection.execute("PRAGMA integrity_check").fetchone()
    return [(round(carry, 1), call) for carry, call in balls], events, integrity


def trial(db: Path, rng: random.Random, known: list[float], moment: str, how: str, tally: Tally) -> None:
    """Run one round and hold the log against what was on the screen; ``known`` has the carries that stand."""
    with closing(sqlite3.connect(db)) as connection:
        is_new = connection.execute("SELECT count(*) FROM drill").fetchone()[0] == 0
    life = Round(db, rng, known, is_new=is_new)
    try:
        life.live(moment)
        is_tidy = life.end(how)
    finally:
        life.screen.stop()
    name = f"{moment}, {how}"
    tally.rounds[name] += 1
    tally.restored_screens += is_tidy
    if not is_tidy:
        tally.strange.append(f"{name}: the other screen was left on")
    if life.first_call is not None and life.first_call != len(known) + 1:
        tally.strange.append(f"{name}: went on at call {life.first_call}, not {len(known) + 1}")
    wanted = known + life.acknowledged
    balls, events, integrity = stored(db)
    found = [carry for carry, _ in balls]
    if life.pending is not None and found == [*wanted, life.pending]:
        tally.unacknowledged_stored += 1
        wanted = found
    if found != wanted:
        tally.lost.append(f"{name}: wanted {wanted[-5:]}, the log has {found[-5:]}")
    if [call for _, call in balls] != list(range(1, len(balls) + 1)):
        tally.strange.append(f"{name}: calls {[call for _, call in balls][-5:]}")
    if [round(event["carry_m"], 1) for event in events if event["event"] == "ball"] != found:
        tally.strange.append(f"{name}: the events are not those of the balls")
    if integrity != "ok":
        tally.strange.append(f"{name}: {integrity}")
    tally.acknowledged += len(life.acknowledged)
    known[:] = found


def kills(times: int, seed: int, folder: Path, *, loud: bool = False) -> Tally:
    """Run so many rounds in a folder and return what they came to."""
    db = folder / "log.db"
    for words in (["bag", "add", "54"], ["log", "54", "9:00", "50m"], ["log", "54", "full", "62m"]):
        if run(["--db", str(db), *words]):
            raise RuntimeError("the log could not be made")
    rng = random.Random(seed)  # noqa: S311 - when to kill, no secret
    known: list[float] = []
    tally = Tally()
    for number in range(times):
        moment = MOMENTS[number % len(MOMENTS)]
        how = rng.choices(["kill", "hangup", "term"], [6, 2, 2])[0]
        trial(db, rng, known, moment, how, tally)
        if loud and (number + 1) % 20 == 0:
            print(f"{number + 1} rounds, {len(known)} balls, {len(tally.lost)} lost", flush=True)
    return tally


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    words = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        tally = kills(words.times, words.seed, Path(folder), loud=True)
    for name, count in sorted(tally.rounds.items()):
        print(f"{name:20} {count}")
    print(f"acknowledged balls {tally.acknowledged}, lost {len(tally.lost)}")
    print(f"balls stored whose miss was not seen any more {tally.unacknowledged_stored}")
    for line in (*tally.lost, *tally.strange):
        print(line)
    return int(bool(tally.lost or tally.strange))


if __name__ == "__main__":
    sys.exit(main())
