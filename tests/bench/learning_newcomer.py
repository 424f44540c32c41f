"""A newcomer whose coach has the logs of others: what the belief that is learnt from them is worth."""

import functools

import numpy as np

from tests.bench.learning_methods import fitted, said
from tests.bench.learning_parts import Json, Part, Scores, column, mean, pooled
from tests.bench.learning_players import EIGHTY, excess, held, make_case, make_log, player_of
from wedgelab.model.fit import Fit
from wedgelab.model.population import Population, population

ROWS = {"nobody": 0, "1 other": 1, "5 others": 5, "10 others": 10, "40 others": 40}
PER_CELL = 1  # balls of the newcomer, one day
OF_ANOTHER = 6  # balls in each cell of each of the others, over three days


@functools.cache
def _other(number: int) -> Fit:
    """Fit one of the others, the same for every newcomer."""
    player, rng = player_of(number, OF_ANOTHER, 13)
    return fitted(make_log(player, OF_ANOTHER, rng, sessions=3), player).fit


@functools.cache
def _others(count: int) -> Population | None:
    return population([_other(number) for number in range(count)])


def newcomer_player(row: str, number: int) -> Scores:
    """Score one newcomer; the newcomers of all rows are the same, and hit the same balls."""
    player, rng = player_of(number, PER_CELL, 12)
    case = make_case(player, rng)
    model = fitted(make_log(player, PER_CELL, rng), player, others=_others(ROWS[row]))
    carry, spin = excess(case, said(model, case))
    return {
        "carry": carry,
        "spin": spin,
        "cells": float(len(case.kinds)),
        "held carry": held(np.asarray(model.carry_quantiles(case.kinds, EIGHTY)), case.carry_m),
        "held spin": held(np.asarray(model.spin_quantiles(case.kinds, EIGHTY)), case.spin_rpm),
    }


def newcomer_row(players: list[Scores]) -> Json:
    """Sum up a row."""
    return {
        "carry": mean(column(players, "carry")),
        "spin": mean(column(players, "spin")),
        "carry_held": pooled(players, "held carry"),
        "spin_held": pooled(players, "held spin"),
    }


NEWCOMER = Part("newcomer", tuple(ROWS), newcomer_player, newcomer_row)
