"""Cases beside the table: cells never logged, spoilt balls, and sessions."""

import dataclasses

import numpy as np

from tests.bench.learning_methods import fitted, said
from tests.bench.learning_parts import Json, Part, Scores, column, mean, pooled, ratio, short
from tests.bench.learning_players import (
    EIGHTY,
    LEVELS,
    Array,
    Case,
    Log,
    Rows,
    excess,
    held,
    long_run_medians_m,
    make_case,
    make_log,
    player_of,
)
from wedgelab.simulate import hit

# --- cells never logged: three balls in every other cell

UNLOGGED_ROWS = (
    "a swing between", "the shortest swing", "the longest swing",
    "a wedge between", "the strongest wedge", "the most lofted wedge",
)  # fmt: skip
LIKE_IT = 250  # wedges drawn like one that was never hit


def unlogged_player(row: str, number: int) -> Scores:
    """Score the cells that were left out of one player's log; the players of all rows are the same."""
    player, rng = player_of(number, 3, 7)
    case = make_case(player, rng)
    gone = {
        "a swing between": case.swing_deg == 90.0,
        "the shortest swing": case.swing_deg == case.swing_deg.min(),
        "the longest swing": case.swing_deg == case.swing_deg.max(),
        "a wedge between": case.wedge == 1,
        "the strongest wedge": case.wedge == 0,
        "the most lofted wedge": case.wedge == case.wedge.max(),
    }[row]
    model = fitted(make_log(player, 3, rng, ~gone), player)
    carry, spin = excess(case, said(model, case), gone)
    floor = excess(case, _without_its_own(case, gone, rng), gone) if "wedge" in row else (np.nan, np.nan)
    return {
        "carry": carry,
        "spin": spin,
        "carry floor": floor[0],
        "spin floor": floor[1],
        "cells": float(gone.sum()),
        "held carry": held(model.carry_quantiles(case.kinds, EIGHTY)[gone], case.carry_m[gone]),
        "held spin": held(model.spin_quantiles(case.kinds, EIGHTY)[gone], case.spin_rpm[gone]),
    }


def _without_its_own(case: Case, gone: Array, rng: np.random.Generator) -> tuple[Array, Array]:
    """Say what somebody says who knows all of the player but what is this one wedge's own, as it is for any wedge.

    Nobody can know more of a wedge that was never hit: many wedges of that loft are drawn as players' wedges are.
    """
    player = case.player
    (club,) = np.unique(case.wedge[gone])
    loft = player.wedges[club].loft_deg
    many = dataclasses.replace(
        player,
        wedges=(player.wedges[club],) * LIKE_IT,
        club_log_speed=tuple(rng.normal(-0.0025 * (loft - 53.0), 0.006, LIKE_IT).tolist()),
        club_loft_deg=tuple(rng.normal(0.0, 0.4, LIKE_IT).tolist()),
    )
    swings = case.swing_deg[gone]
    result = case.oracle_carry_m.copy(), case.oracle_spin_rpm.copy()
    for cell, swing in zip(np.flatnonzero(gone), swings, strict=True):
        form = np.tile(rng.standard_normal(8), LIKE_IT)
        balls = hit(many, np.repeat(np.arange(LIKE_IT), 8), swing, rng, session=form, mishits=False)
        for quantiles, values in zip(result, (balls.carry_m, balls.spin_rpm), strict=True):
            quantiles[cell] = np.quantile(values, LEVELS)
    return result


def unlogged_row(players: list[Scores]) -> Json:
    """Sum up a row."""
    return {
        "carry": mean(column(players, "carry")),
        "spin": mean(column(players, "spin")),
        "carry_floor": mean(column(players, "carry floor")),
        "spin_floor": mean(column(players, "spin floor")),
        "carry_held": pooled(players, "held carry"),
        "spin_held": pooled(players, "held spin"),
    }


# --- a tenth of the balls of a player who never mishits, replaced

SPOILT_ROWS = ("1", "3", "10")
SPOILT_SHARE = 0.1
SPOILT_KINDS = ("short", "long", "slip", "mixed")
SHOWN = {"all readings": "wedgelab", "carry and spin": "wedgelab, carry and spin"}


def spoilt(log: Log, rows: Rows, kind: str, rng: np.random.Generator) -> Log:
    """Return the log with the carries of some balls replaced; what else was read of them stays.

    ``short`` carries 0.5-0.7 of what it was, ``long`` 1.3-1.5, ``slip`` ten times that: a decimal point left out.
    """
    n = len(rows)
    factors = {"short": rng.uniform(0.5, 0.7, n), "long": rng.uniform(1.3, 1.5, n), "slip": np.full(n, 10.0)}
    factors["mixed"] = np.choose(rng.integers(0, 3, n), list(factors.values()))
    carry_m = log.carry_m.copy()
    carry_m[rows] *= factors[kind]
    return dataclasses.replace(log, carry_m=carry_m)


def spoilt_player(row: str, number: int) -> Scores:
    """Score one player's log as it was, spoilt in each way, and without the spoilt balls."""
    per_cell = int(row)
    player, rng = player_of(number, per_cell, 8)
    case = make_case(player, rng)
    log = make_log(dataclasses.replace(player, mishit_share=0.0), per_cell, rng)
    n = len(log.carry_m)
    rows = rng.choice(n, max(round(SPOILT_SHARE * n), 1), replace=False)
    logs = {"clean": log, "deleted": log.only(np.delete(np.arange(n), rows))}
    seed = int(rng.integers(2**62))
    logs |= {kind: spoilt(log, rows, kind, np.random.default_rng(seed)) for kind in SPOILT_KINDS}
    return {
        f"{shown} {name}": _carry_excess(one, case, method)
        for shown, method in SHOWN.items()
        for name, one in logs.items()
    }


def _carry_excess(log: Log, case: Case, method: str) -> float:
    return excess(case, said(fitted(log, case.player, method), case))[0]


def spoilt_row(players: list[Scores]) -> Json:
    """Sum up a row: excess of carry, and its ratio to that of the log as it was."""
    result: Json = {}
    for shown in SHOWN:
        clean = column(players, f"{shown} clean")
        result[shown] = {"clean": {"carry": mean(clean)}}
        for kind in ("deleted", *SPOILT_KINDS):
            values = column(players, f"{shown} {kind}")
            result[shown][kind] = {"carry": mean(values), "ratio": ratio(values, clean)}
    return result


# --- is the standard error of the chart right, and does it know what a single session can tell?

DAYS_ROWS = {  # balls a cell, sessions
    "1 ball, one session": (1, 1),
    "3 balls, two sessions": (3, 2),
    "10 balls, one session": (10, 1),
    "10 balls, two sessions": (10, 2),
    "10 balls, five sessions": (10, 5),
}
WITHIN = 1.2815515655446004  # standard errors: 80 % of a normal


def days_player(row: str, number: int) -> Scores:
    """Hold the chart of one player against the long-run medians; rows of as many balls share their players."""
    per_cell, sessions = DAYS_ROWS[row]
    player, rng = player_of(number, per_cell, 9)
    truth = long_run_medians_m(player, rng)
    case = make_case(player, rng)
    chart = fitted(make_log(player, per_cell, rng, sessions=sessions), player).predict(case.kinds)
    se: Array = np.array([cell.carry_se_m for cell in chart])
    z = (np.array([cell.carry_m for cell in chart]) - truth) / se
    return {
        "cells": float(len(z)),
        "se_m": float(se.mean()),
        "within": float(np.mean(np.abs(z) < WITHIN)),
        "z_squared": float(np.mean(z**2)),
    }


def days_row(players: list[Scores]) -> Json:
    """Sum up a row."""
    squared = float(np.average(column(players, "z_squared"), weights=column(players, "cells")))
    return {
        "carry_se_m": mean(column(players, "se_m")),
        "within": pooled(players, "within"),
        "within_players": mean(column(players, "within")),  # cells of a player stray together: this one's error counts
        "rms_z": short(squared**0.5),
    }


UNLOGGED = Part("unlogged", UNLOGGED_ROWS, unlogged_player, unlogged_row)
SPOILT = Part("spoilt", SPOILT_ROWS, spoilt_player, spoilt_row)
DAYS = Part("days", tuple(DAYS_ROWS), days_player, days_row)
