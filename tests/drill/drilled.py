"""Drills that never were, for the tests of what a drill comes to."""

from collections.abc import Callable, Sequence

import numpy as np

from wedgelab.drill.machine import Ball, DrillPlan, DrillState, Event, replay
from wedgelab.drill.scores import DrillSummary, summarise
from wedgelab.window import WindowRule

Row = tuple[float, float, float]  # call, the chart's median of the shot that was hit, carry
Law = Callable[[np.random.Generator], float]
THREE_M = WindowRule(fixed_m=3.0)
SD_SHARE = 0.06  # of the call: the spread that the chart expects


def state_of(
    rows: Sequence[Row],
    *,
    sd_m: float | None = None,
    se_m: Sequence[float] | float = 1.0,
    window: WindowRule = THREE_M,
    advice_shown: Sequence[bool] | None = None,
) -> DrillState:
    """Return a drill of these balls; the chart expects `SD_SHARE` of the call as spread unless it is told."""
    calls = tuple(call for call, _, _ in rows)
    plan = DrillPlan(calls, min(calls), max(calls), 1, window)
    doubts = [se_m] * len(rows) if isinstance(se_m, float) else list(se_m)
    shown = [True] * len(rows) if advice_shown is None else advice_shown
    events: list[Event] = [
        Ball(
            f"s{i}", "A", 50.0, 90.0, carry, "", shown[i], median, SD_SHARE * call if sd_m is None else sd_m,
            doubts[i], 0.5,
        )
        for i, (call, median, carry) in enumerate(rows)
    ]  # fmt: skip
    return replay(plan, events)


def summary_of(state: DrillState, earlier: DrillState | None = None) -> DrillSummary:
    summary = summarise(state, lambda low, high: f"{low:g}-{high:g}", earlier=earlier)
    assert summary is not None
    return summary


def misses_of(*misses: float, sd_m: float | None = None) -> DrillState:
    """Return a drill at 60 m whose shots the chart put on the call."""
    return state_of([(60.0, 60.0, 60.0 + miss) for miss in misses], sd_m=sd_m)


def drawn(law: Law, calls: Sequence[float], rng: np.random.Generator) -> DrillState:
    """Return a drill of misses that a law gives in spreads of the chart."""
    return state_of([(call, call, call * (1.0 + SD_SHARE * law(rng))) for call in calls])


# Misses in standard deviations of what the chart expects of a ball.
def normal(rng: np.random.Generator) -> float:
    return float(rng.normal(0.0, 1.0))


def better(rng: np.random.Generator) -> float:
    return float(rng.normal(0.0, 0.6))


def biased(rng: np.random.Generator) -> float:
    return float(rng.normal(1.0, 1.0))


def mishit(share: float) -> Law:
    """Return solid balls, of which a share comes short by two and a half to seven spreads."""

    def law(rng: np.random.Generator) -> float:
        return float(-rng.uniform(2.5, 7.0) if rng.random() < share else rng.normal(0.0, 1.0))

    return law


def with_wild_mishits(rng: np.random.Generator) -> float:
    """Draw 8 % mishits, most of them some standard deviations short, the rest long."""
    if rng.random() > 0.08:
        return float(rng.normal(0.0, 1.0))
    return float(rng.normal(-4.0, 3.65) if rng.random() < 0.6 else rng.normal(3.33, 3.0))
