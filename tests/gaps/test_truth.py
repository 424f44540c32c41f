"""Invented players with known truth: what is said to be covered is covered, and of two bags the better one is found.

Seeds were written down before the first run.
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from tests.bench.coverage import Result, score
from wedgelab.gaps.bags import WhatIf, changed_bag, what_if
from wedgelab.gaps.report import GapReport, build_gaps
from wedgelab.model.observations import observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.prediction import ShotKind
from wedgelab.shots import DEFAULT_SWINGS, Bag
from wedgelab.simulate import InventedPlayer, hit, invent_player
from wedgelab.window import DEFAULT_WINDOW

SEED = 20261126
PLAYERS = 4
FUTURE_BALLS = 1000  # with 150 the truth itself would be off by half a point
SWINGS_DEG = np.array([swing.swing_deg for swing in DEFAULT_SWINGS])
Array = NDArray[np.float64]

pytestmark = pytest.mark.long


def log_of(player: InventedPlayer, wedges: list[int], rng: np.random.Generator) -> FittedPlayer:
    """Fit what the player hits in three sessions: three balls with each of these wedges at every swing."""
    day, wedge, swing, _ = np.indices((3, len(wedges), len(SWINGS_DEG), 3))
    wedge = np.array(wedges)[wedge]
    balls = hit(player, wedge, SWINGS_DEG[swing], rng, session=rng.standard_normal(3)[day])
    columns: dict[str, Any] = {
        "carry_m": balls.carry_m,
        "spin_rpm": balls.spin_rpm,
        "loft_deg": np.array([player.wedges[i].loft_deg for i in wedge.ravel()]),
        "swing_deg": SWINGS_DEG[swing.ravel()],
        "wedge": [player.wedges[i].label for i in wedge.ravel()],
        "session": [f"day {i}" for i in day.ravel()],
    }
    return fit_observations(observations(**columns))


@dataclass(frozen=True)
class Case:
    player: InventedPlayer
    log_medians: Array  # (wedges, swings), of balls of as many sessions
    log_sds: Array
    report: GapReport
    hidden: int  # the wedge that `what_if` adds without a ball of it, for the one that it takes out
    removed: int
    what_if: WhatIf

    def coverage(self, wedges: list[int], targets_m: tuple[float, ...]) -> float:
        """The truth: source scipy.stats.norm."""
        medians, sds = self.log_medians[wedges].ravel()[:, None], self.log_sds[wedges].ravel()[:, None]
        low, high = np.log([DEFAULT_WINDOW.around(target) for target in targets_m]).T
        return float(
            (stats.norm.cdf((high - medians) / sds) - stats.norm.cdf((low - medians) / sds)).max(axis=0).mean()
        )


@cache
def cases() -> list[Case]:
    found = []
    for number in range(PLAYERS):
        rng = np.random.default_rng([SEED, number])
        player = invent_player(rng)
        wedge, swing, _ = np.indices((len(player.wedges), len(SWINGS_DEG), FUTURE_BALLS))
        future = hit(player, wedge, SWINGS_DEG[swing], rng, session=rng.standard_normal(wedge.shape), mishits=False)
        logs = np.log(future.carry_m).reshape(wedge.shape)
        every = list(range(len(player.wedges)))
        fitted = log_of(player, every, rng)
        report = build_gaps(fitted, Bag(player.wedges, DEFAULT_SWINGS), window=DEFAULT_WINDOW, rng=rng)
        hidden = int(rng.integers(1, len(every)))
        have = [i for i in every if i != hidden]
        removed = int(rng.choice(have))
        today = Bag(tuple(player.wedges[i] for i in have), DEFAULT_SWINGS)
        other = changed_bag(today, without=[player.wedges[removed].label], add=[player.wedges[hidden]])
        compared = what_if(log_of(player, have, rng), today, other, window=DEFAULT_WINDOW, rng=rng)
        found.append(Case(player, np.median(logs, axis=2), logs.std(axis=2), report, hidden, removed, compared))
    return found


def test_the_coverage_of_a_well_logged_player_is_the_true_one() -> None:
    errors, inside = [], 0
    for case in cases():
        truth = case.coverage(list(range(len(case.player.wedges))), case.report.targets_m)
        errors.append(case.report.coverage - truth)
        inside += case.report.known_coverage_p10 <= truth <= case.report.known_coverage_p90
    assert max(abs(error) for error in errors) < 0.07
    assert abs(float(np.mean(errors))) < 0.03
    assert inside >= 2  # eight in ten are promised: two or more of four but for one case in 37


def test_targets_without_a_stock_answer_are_mostly_truly_without() -> None:
    shares = []
    for case in cases():
        targets = np.linspace(case.report.low_m, case.report.high_m, 200)
        medians = np.exp(case.log_medians.ravel())
        truth = [bool(np.any(np.abs(medians - t) <= DEFAULT_WINDOW.half_m(t))) for t in targets]
        said = [not any(one.low_m <= t <= one.high_m for one in case.report.stretches) for t in targets]
        shares.append(float(np.mean(np.array(truth) == np.array(said))))
    assert float(np.mean(shares)) > 0.85
    assert min(shares) > 0.75


def test_where_the_log_calls_a_bag_with_a_wedge_never_hit_better_or_worse_it_is() -> None:
    errors, decided = [], 0
    for case in cases():
        targets, one = case.what_if.today.targets_m, case.what_if.comparison
        every = range(len(case.player.wedges))
        today, other = [i for i in every if i != case.hidden], [i for i in every if i != case.removed]
        truth = case.coverage(other, targets) - case.coverage(today, targets)
        errors.append(one.difference - truth)
        assert one.never_hit == (case.player.wedges[case.hidden].label,)
        if one.verdict != "open":
            decided += 1
            assert (one.verdict == "better") == (truth > 0.0)
    assert decided >= 2
    assert max(abs(error) for error in errors) < 0.05


def test_a_wedge_never_hit_is_known_less_surely_than_its_neighbours() -> None:
    case = cases()[0]
    middle = next(i for i in range(1, len(case.player.wedges) - 1))
    have = [i for i in range(len(case.player.wedges)) if i != middle]
    fitted = log_of(case.player, have, np.random.default_rng([SEED, 99]))
    kinds = [ShotKind(wedge.label, wedge.loft_deg, 90.0) for wedge in case.player.wedges[middle - 1 : middle + 2]]
    below, new, above = (p.carry_se_m / p.carry_m for p in fitted.predict(kinds))
    assert new > 1.1 * max(below, above)
    assert fitted.predict(kinds)[1].support == "between"


@cache
def scored(number: int, balls: int, days: int) -> Result:
    return score(SEED, number, balls, days)


def test_the_interval_holds_the_truth_of_about_eight_players_in_ten_after_a_ball_a_shot_and_after_many() -> None:
    players, inside = 24, 0
    for number in range(players):
        few, many = (scored(number, *log) for log in ((1, 1), (120, 6)))
        inside += few.inside + many.inside
    # 38 of 48 are promised, give or take 3 (more: a player counts twice); they were 32 before the doubt about the
    # spread was measured
    assert 35 <= inside <= 46


def test_the_interval_of_a_difference_of_bags_holds_it_for_about_eight_players_in_ten() -> None:
    # an inner wedge two degrees off. It held 15 of 24 with 120 balls a shot while the doubt about the spread was one
    # for all shots, which cancels in a difference; record 20
    for log in ((9, 3), (120, 6)):
        moved = [scored(number, *log).moved for number in range(24)]
        assert 17 <= sum(one.is_inside for one in moved) <= 24  # 19 or more are promised, give or take two
        sure = [one for one in moved if max(one.said.better_probability, 1.0 - one.said.better_probability) > 0.9]
        assert len(sure) >= 4
        right = [(one.said.better_probability > 0.5) == (one.truth > 0.0) for one in sure]
        assert np.mean(right) > 0.7
