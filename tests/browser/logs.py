"""Logs of invented players for the page: an ordinary one, and one whose names are as hostile as a log allows."""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path

from wedgelab.drill.machine import Ball, DrillPlan, event_to_dict
from wedgelab.shots import Shot, SwingLength, Wedge
from wedgelab.store.store import SqliteStore

EVENING = datetime(2026, 6, 3, 18, 0, tzinfo=timezone(timedelta(hours=2)))
WEDGES = (Wedge("46", 46.0), Wedge("52", 52.0), Wedge("58", 58.0))
SWINGS = (SwingLength("7:30", 45.0), SwingLength("9:00", 90.0), SwingLength("10:30", 135.0))
HOSTILE_PLAYER = ("<script>alert(1)</script> \u05d0\u05d1\u05d2 $x^2$ {{ 7*7 }} </style> " + "W" * 200)[:200]
HOSTILE_WEDGES = (
    Wedge("=cmd()", 46.0),
    Wedge("<img src=x onerror=alert(1)>", 50.0),
    Wedge("$\\frac{1}{0}$ \"quoted\" 'twice' & co", 54.0),
    Wedge("W" * 40, 58.0),
    Wedge("\u05d0\u05d1\u05d2 \u0645\u0631\u062d\u0628\u0627", 60.0),
    Wedge("</script><b>64", 64.0),
)
HOSTILE_SWINGS = tuple(
    SwingLength(label, 30.0 + 18.0 * i)
    for i, label in enumerate(("</td>", "M" * 40, "half", "a b c d e f g h", "full", "\u05d0\u05d1", "$\\alpha", "'\""))
)


@dataclass
class _Clock:
    moment: datetime = EVENING

    def __call__(self) -> datetime:
        return self.moment


def carry_of(wedge: Wedge, swing: SwingLength) -> float:
    """Less loft and a longer arc carry farther [m]."""
    return 100.0 * (1.2 - 0.016 * (wedge.loft_deg - 45.0)) * math.sin(math.radians(swing.swing_deg / 2.0))


def write_log(
    path: Path,
    *,
    player: str = "Ada",
    wedges: Sequence[Wedge] = WEDGES,
    swings: Sequence[SwingLength] = SWINGS,
    balls: int = 4,
    offline: bool = True,
    drills: int = 3,
) -> Path:
    """Write a log of two evenings of chart balls, then an evening a week with a drill of ten calls."""
    rng, clock = random.Random(7), _Clock()  # noqa: S311  the same player every time
    with SqliteStore.open(path, now=clock) as store:
        store.ensure_player(player)
        for wedge in wedges:
            store.add_wedge(player, wedge)
        for swing in store.bag(player).swings:
            store.retire_swing(player, swing.label)
        for swing in swings:
            store.add_swing(player, swing)
        for evening in range(2):
            clock.moment = EVENING + timedelta(days=7 * evening)
            store.ensure_session(player, f"evening {evening}", started_at=clock.moment.isoformat())
            shots = [
                _shot(rng, clock.moment + timedelta(seconds=n), player, f"evening {evening}", wedge, swing, offline)
                for n, (wedge, swing) in enumerate((w, s) for w in wedges for s in swings for _ in range(balls))
            ]
            store.add_shots(shots)
        for number in range(drills):
            clock.moment = EVENING + timedelta(days=14 + 7 * number)
            _drill(store, rng, clock, player, wedges[-1], swings[-1], number)
    return path


def _shot(
    rng: random.Random, when: datetime, player: str, session: str, wedge: Wedge, swing: SwingLength, offline: bool
) -> Shot:
    return Shot(
        shot_id=f"{session}-{when.timestamp():.0f}",
        player=player,
        session=session,
        hit_at=when.isoformat(),
        wedge=wedge.label,
        loft_deg=wedge.loft_deg,
        swing=swing.label,
        swing_deg=swing.swing_deg,
        carry_m=carry_of(wedge, swing) * rng.gauss(1.0, 0.05),
        offline_m=rng.gauss(0.5, 2.0) if offline else None,
        spin_rpm=4000.0 + 60.0 * (wedge.loft_deg - 46.0) + 30.0 * swing.swing_deg + rng.gauss(0.0, 300.0),
    )


def _drill(
    store: SqliteStore, rng: random.Random, clock: _Clock, player: str, wedge: Wedge, swing: SwingLength, number: int
) -> None:
    middle = carry_of(wedge, swing)
    calls = tuple(round(middle - 3.0 + 6.0 * rng.random(), 1) for _ in range(10))
    plan = DrillPlan(calls, min(calls), max(calls), 1, hold=0.6 if number == 1 else None, test_of="x" * (number == 2))
    session, drill = f"drill evening {number}", f"drill-{number}"
    store.ensure_session(player, session, started_at=clock.moment.isoformat())
    store.start_drill(player, drill, plan.to_dict())
    for n, call in enumerate(calls, 1):
        shot = _shot(rng, clock.moment + timedelta(seconds=40 * n), player, session, wedge, swing, offline=False)
        shot = shot.replace(target_m=call, drill_id=drill, call_no=n, window_m=plan.window.half_m(call))
        ball = Ball(
            shot.shot_id, wedge.label, wedge.loft_deg, swing.swing_deg, shot.carry_m, swing.label, True, middle,
            0.05 * middle, 0.5, 0.55, 0.6,
        )  # fmt: skip
        store.add_drill_events(drill, [event_to_dict(ball)], shot=shot)
