"""A small fixed part of `tests/bench/plan.py`, so that a plan that teaches less is noticed at once.

The bounds were chosen from other seeds, 8801-8804; what those gave stands beside each bound. Against an even spread a
few players cannot tell a twentieth, so that is asked of what the model expects.
"""

import numpy as np
import pytest

from tests.bench.plan import MORE, SCORES, SPAN_M, evaluate, evenly, first_log, fitted, planned, ratio
from wedgelab.plan.wanted import span, whole_chart
from wedgelab.prediction import ShotKind
from wedgelab.shots import Bag
from wedgelab.simulate import invent_player

SEED = 7707  # belongs to this file alone
PLAYERS = 8
LOG = "95 % full"

pytestmark = pytest.mark.long


def test_after_a_lopsided_log_planned_balls_beat_the_old_habit_by_far() -> None:
    found = evaluate(PLAYERS, seed=SEED, logs=(LOG,))[LOG]

    def of(plan: str, against: str, score: str) -> float:
        at = SCORES.index(score)
        return ratio(found[plan][:, at], found[against][:, at])[0]

    assert of("plan for the span", "habit", "span %") < 0.95  # other seeds: 0.43-0.82
    assert of("plan for the chart", "habit", "chart %") < 0.85  # 0.39-0.54
    assert of("plan for the chart", "even", "chart %") < 1.20  # 0.73-1.08
    assert of("plan for the chart", "no more balls", "chart %") < 0.65  # 0.33-0.47


def test_planned_balls_are_expected_to_teach_more_than_as_many_spread_evenly() -> None:
    for number in range(3):
        rng = np.random.default_rng([SEED, 1, number])
        player = invent_player(rng)
        model = fitted(player, first_log(player, np.array([0, 1]), "lopsided", 0.95, rng))
        bag = Bag(player.wedges, player.swings)
        for wanted in (whole_chart(bag), span(model, bag, *SPAN_M, "yd")):
            weights = np.array(wanted.weights)
            doubts = []
            for wedge, swing in (planned(model, player, wanted), evenly(player, MORE, rng)):
                clubs = [player.wedges[i] for i in wedge]
                balls = [ShotKind(c.label, c.loft_deg, float(s)) for c, s in zip(clubs, swing, strict=True)]
                assert len(balls) == MORE
                doubts.append(float(np.diag(model.expected_covariance(wanted.kinds, balls)) @ weights))
            assert doubts[0] < 0.97 * doubts[1]  # of the variance
