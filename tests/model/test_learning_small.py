"""A small fixed part of the evaluation in `tests/bench/learning.py`, so that a change that unlearns is noticed at once.

Its bounds were chosen from eight other seeds, 9201-9208; what those gave stands beside each bound.
"""

import numpy as np
import pytest
import scoringrules
from scipy.stats import norm

from tests.bench.learning_methods import METHODS, fitted
from tests.bench.learning_players import EIGHTY, LEVELS, crps, excess, held, make_case, make_log, player_of

SEED = 5150  # belongs to this file alone; written down before the first run
PLAYERS = 6
PEERS = ("paper chart", "Gaussian process", "quadratic")

pytestmark = pytest.mark.long


def mean_excess(per_cell: int, seed: int = SEED) -> dict[str, tuple[float, float]]:
    """Mean excess of carry and spin by method; fewer balls for oracle and score than the evaluation takes."""
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in (*PEERS, "wedgelab")}
    for number in range(PLAYERS):
        player, rng = player_of(number, per_cell, seed=seed)
        case = make_case(player, rng, (24, 20), (16, 12))
        log = make_log(player, per_cell, rng)
        for name, each in found.items():
            each.append(excess(case, METHODS[name](log, case)))
    return {name: (float(np.mean([c for c, _ in each])), float(np.mean([s for _, s in each])))
            for name, each in found.items()}  # fmt: skip


def share_held(players: int, seed: int = SEED) -> tuple[float, float]:
    """Share of fresh carries and spins inside the 80 % ranges, one and three balls a cell together."""
    inside = []
    for per_cell in (1, 3):
        for number in range(players):
            player, rng = player_of(number, per_cell, 1, seed=seed)
            case = make_case(player, rng, (1, 1), (16, 3))
            model = fitted(make_log(player, per_cell, rng), player)
            carry = held(model.carry_quantiles(case.kinds, EIGHTY), case.carry_m)
            inside.append((carry, held(model.spin_quantiles(case.kinds, EIGHTY), case.spin_rpm), len(case.wedge)))
    carries, spins, cells = np.array(inside).T
    return float(np.average(carries, weights=cells)), float(np.average(spins, weights=cells))


@pytest.mark.parametrize("per_cell", [1, 3])
def test_the_excess_is_below_half_of_that_of_paper_and_below_that_of_general_methods(per_cell: int) -> None:
    found = mean_excess(per_cell)
    for what in (0, 1):
        own = found["wedgelab"][what]
        assert own < 0.5 * found["paper chart"][what]  # other seeds: 0.11-0.35 of it
        assert own < found["Gaussian process"][what]  # 0.16-0.65 of the better of these two
        assert own < found["quadratic"][what]
        assert own > 0.0  # nobody knows the player better than the player's own balls


def test_of_ten_balls_eight_fall_into_the_ranges_that_are_to_hold_eight() -> None:
    carry, spin = share_held(20)
    assert 0.74 < carry < 0.86  # other seeds: 0.784-0.823
    assert 0.74 < spin < 0.86  # 0.821-0.844


def test_the_score_is_that_of_an_independent_library() -> None:
    rng = np.random.default_rng(SEED)
    quantiles, fresh = np.sort(rng.normal(70.0, 5.0, (6, len(LEVELS))), axis=1), rng.normal(69.0, 6.0, (6, 9))
    theirs = scoringrules.crps_quantile(fresh, np.repeat(quantiles[:, None, :], 9, axis=1), LEVELS)
    assert crps(quantiles, fresh) == pytest.approx(float(np.mean(theirs)), rel=1e-12)


@pytest.mark.parametrize(("value", "exact"), [(70.0, 4.2700691568), (64.0, None), (60.0, None), (55.0, None)])
def test_a_hundred_levels_score_a_normal_as_the_closed_formula_does(value: float, exact: float | None) -> None:
    # CRPS of N(64, 3.2) after Gneiting & Raftery 2007, JASA 102, 359
    closed = float(scoringrules.crps_normal(value, 64.0, 3.2))
    assert exact is None or closed == pytest.approx(exact, abs=1e-10)
    seen = crps(64.0 + 3.2 * norm.ppf(LEVELS)[None, :], np.array([[value]]))
    assert seen == pytest.approx(closed, rel=5e-4)  # largest seen with 100 levels: 2.9e-4, at the middle


def test_the_players_of_a_row_do_not_depend_on_how_many_there_are() -> None:
    one, _ = player_of(3, 1, seed=SEED)
    again, _ = player_of(3, 1, seed=SEED)
    other, _ = player_of(4, 1, seed=SEED)
    assert one == again != other
