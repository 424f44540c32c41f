"""How far the summary of a drill can be trusted: drills with known truth. Printed, not a test.

Run ``python -m tests.bench.drill_stats --players 60``. First misses drawn from a law (a true chart, spread, bias and
mishits known), then whole players of `wedgelab.simulate`: four sessions of 40 balls logged, the chart fitted
from them, drills of 20 advised balls on new days, and a test of the same calls by the same player, nothing learnt
between.
"""

import argparse
import math
from collections import Counter

import numpy as np

from wedgelab.choose import advise_each, find_reach
from wedgelab.drill.against import compare, ratio_of, split_of
from wedgelab.drill.calls import make_calls
from wedgelab.drill.machine import Ball, DrillPlan, DrillState, Played, replay
from wedgelab.model.player import FittedPlayer, fit_player
from wedgelab.shots import Bag, Shot, new_id
from wedgelab.simulate import InventedPlayer, hit, invent_player
from wedgelab.window import DEFAULT_WINDOW

SEED = 20261126
LAWS = (  # name, spread in the chart's, bias in the chart's spreads, share of mishits
    ("as the chart says", 1.0, 0.0, 0.0), ("better by 0.7", 0.7, 0.0, 0.0), ("biased by 1", 1.0, 1.0, 0.0),
    ("3 % mishits", 1.0, 0.0, 0.03), ("8 % mishits", 1.0, 0.0, 0.08),
)  # fmt: skip
BALLS = (6, 12, 20, 50)


def invented(rng: np.random.Generator, n: int, spread: float, bias: float, mishits: float) -> list[Played]:
    balls = []
    for number in range(n):
        call = rng.uniform(35.0, 95.0)
        median, sd = call * (1.0 + rng.normal(0.0, 0.01)), 0.05 * call
        carry = median + sd * (bias + spread * rng.standard_normal())
        if rng.uniform() < mishits:
            carry = median - sd * rng.uniform(2.5, 7.0)
        ball = Ball(f"s{number}", "54", 54.0, 90.0, carry, "", True, median, sd, 0.01 * call, 0.6)
        balls.append(Played(number + 1, call, max(2.0, 0.05 * call), None, ball))
    return balls


def by_law(times: int) -> None:
    print(f"ratio of the solid balls: its 80 % interval holds the truth, {times} drills each")
    print(f"{'':20}" + "".join(f"{n:>10} balls" for n in BALLS))
    for name, spread, bias, mishits in LAWS:
        rng = np.random.default_rng(SEED)
        truth = math.sqrt((0.01**2 + 0.05**2 * (bias**2 + spread**2)) / (0.01**2 + 0.05**2))
        shares = []
        for n in BALLS:
            found = [ratio_of(invented(rng, n, spread, bias, mishits)) for _ in range(times)]
            shares.append(
                sum(one is not None and one.e_ratio_low <= truth <= one.e_ratio_high for one in found) / times
            )
        print(f"{name:20}" + "".join(f"{100 * share:14.0f} %" for share in shares))


def logged(player: InventedPlayer, rng: np.random.Generator) -> list[Shot]:
    shots = []
    for session in range(4):
        which = rng.integers(0, len(player.wedges), 40)
        swings = [player.swings[i] for i in rng.integers(0, len(player.swings), 40)]
        balls = hit(player, which, [s.swing_deg for s in swings], rng, session=rng.standard_normal())
        for i in range(40):
            wedge = player.wedges[which[i]]
            shots.append(
                Shot(
                    shot_id=new_id(),
                    player="p",
                    session=f"day {session}",
                    hit_at=f"2026-05-{session + 1:02d}T10:{i:02d}:00+00:00",
                    wedge=wedge.label,
                    loft_deg=wedge.loft_deg,
                    swing=swings[i].label,
                    swing_deg=swings[i].swing_deg,
                    carry_m=max(float(balls.carry_m[i]), 0.5),
                    spin_rpm=float(balls.spin_rpm[i]),
                )
            )
    return shots


def drill_of(
    player: InventedPlayer, predictor: FittedPlayer, bag: Bag, plan: DrillPlan, rng: np.random.Generator
) -> DrillState:
    day = rng.standard_normal()
    events = []
    for number, advice in enumerate(advise_each(predictor, bag, plan.calls_m, plan.window)):
        if advice is None:
            raise RuntimeError("a call out of reach")
        p = advice.prediction
        wedge = next(i for i, club in enumerate(player.wedges) if club.label == advice.wedge.label)
        carry = max(float(hit(player, wedge, advice.swing.swing_deg, rng, session=day).carry_m[0]), 0.5)
        events.append(
            Ball(
                f"s{number}",
                advice.wedge.label,
                advice.wedge.loft_deg,
                advice.swing.swing_deg,
                carry,
                advice.swing.label,
                True,
                p.carry_m,
                p.carry_sd_m,
                p.carry_se_m,
                advice.window_probability,
            )
        )
    return replay(plan, events)


def whole_players(count: int) -> None:
    said: Counter[str] = Counter()
    drills = 0
    for number in range(count):
        rng = np.random.default_rng([SEED, number])
        player = invent_player(rng)
        bag = Bag(player.wedges, player.swings)
        predictor = fit_player(logged(player, rng))
        reach = find_reach(predictor, bag)
        for again in range(4):
            calls = make_calls(20, reach.low_m, reach.high_m, 1.0, again)
            plan = DrillPlan(calls, reach.low_m, reach.high_m, again, DEFAULT_WINDOW)
            then, now = (drill_of(player, predictor, bag, plan, rng) for _ in range(2))
            ratio, split, both = ratio_of(then.played), split_of(then.played), compare(now, then)
            drills += 1
            if ratio is not None:
                said["ratio above 1 (interval)"] += ratio.e_ratio_low > 1.0
                said["ratio below 1 (interval)"] += ratio.e_ratio_high < 1.0
            if split is not None:
                said["bias told"] += split.chart_low_m > 0.0 or split.chart_high_m < 0.0
            if both is not None and both.e_ratio_low is not None and both.e_ratio_high is not None:
                said["test: E smaller, told"] += both.e_ratio_high < 1.0
                said["test: E larger, told"] += both.e_ratio_low > 1.0
    print(f"\n{count} players of the simulator, {drills} drills of 20 balls with their own chart, nothing changed:")
    for name, n in said.items():
        print(f"{name:28} {100 * n / drills:4.0f} %")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=2000)
    parser.add_argument("--players", type=int, default=60)
    words = parser.parse_args()
    by_law(words.times)
    whole_players(words.players)


if __name__ == "__main__":
    main()
