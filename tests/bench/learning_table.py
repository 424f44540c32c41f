"""The main table: the excess of every method by balls a cell, whether the ranges hold, and how long a fit takes."""

import time

import numpy as np

from tests.bench.learning_methods import METHODS, fitted, sampled
from tests.bench.learning_parts import Json, Part, Scores, column, mean, pooled, short
from tests.bench.learning_players import EIGHTY, case_and_log, excess, held

PER_CELL = ("1", "2", "3", "5", "10")
ASKED = 16  # kinds of shots in the timed prediction: four wedges by four swings
HOLDS = (0.7, 0.9)  # a range that is to hold 80 % holds about that for a player


def table_player(row: str, number: int) -> Scores:
    """Score every method on one player."""
    case, log = case_and_log(number, int(row))
    scores: Scores = {"cells": float(len(case.wedge))}
    for name, method in METHODS.items():
        scores[f"carry {name}"], scores[f"spin {name}"] = excess(case, method(log, case))
    begin = time.process_time()  # not the clock: whatever else the machine does would be in it
    model = fitted(log, case.player)
    scores["fit_s"] = time.process_time() - begin
    kinds = (case.kinds * 2)[:ASKED]
    begin = time.process_time()
    model.predict(kinds)
    scores["predict_s"] = time.process_time() - begin
    scores["held carry"] = held(model.carry_quantiles(case.kinds, EIGHTY), case.carry_m)
    scores["held spin"] = held(model.spin_quantiles(case.kinds, EIGHTY), case.spin_rpm)
    return scores


def table_row(players: list[Scores]) -> Json:
    """Sum up a row of players."""
    result: Json = {}
    for what in ("carry", "spin"):
        own = np.array(column(players, f"{what} wedgelab"))
        excesses = {name: column(players, f"{what} {name}") for name in METHODS}
        inside = np.array(column(players, f"held {what}"))
        result[what] = {name: mean(values) for name, values in excesses.items()}
        result[f"{what}_over_wedgelab"] = {  # of the same players: surer than the difference of two means
            name: mean((np.array(values) - own).tolist()) for name, values in excesses.items() if name != "wedgelab"
        }
        result[f"{what}_held"] = pooled(players, f"held {what}")
        result[f"{what}_players_held"] = short(float(np.mean((HOLDS[0] <= inside) & (inside <= HOLDS[1]))))
    result["fit_ms"] = short(1000.0 * float(np.median(column(players, "fit_s"))))
    result["predict_ms"] = short(1000.0 * float(np.median(column(players, "predict_s"))))
    return result


def nuts_player(row: str, number: int) -> Scores:
    """Score the sampled peer and this project's model on one player of the table."""
    case, log = case_and_log(number, int(row))
    answer = sampled(log, case, number)
    scores = {
        "seconds": float(answer.seconds),
        "divergences": float(answer.divergences),
        "r_hat_max": float(answer.r_hat_max),
    }
    for name in ("wedgelab", "wedgelab, carry and spin"):
        scores[f"carry {name}"], scores[f"spin {name}"] = excess(case, METHODS[name](log, case))
    scores["carry NUTS"], scores["spin NUTS"] = excess(case, (answer.carry, answer.spin))
    return scores


def nuts_row(players: list[Scores]) -> Json:
    """Sum up a row of players of the sampled peer."""
    result: Json = {}
    for what in ("carry", "spin"):
        theirs = np.array(column(players, f"{what} NUTS"))
        names = ("NUTS", "wedgelab, carry and spin", "wedgelab")
        result[what] = {name: mean(column(players, f"{what} {name}")) for name in names}
        result[f"{what}_nuts_over"] = {
            name: mean((theirs - np.array(column(players, f"{what} {name}"))).tolist()) for name in names[1:]
        }
    result["seconds"] = short(float(np.median(column(players, "seconds"))))
    result["divergences"] = int(sum(column(players, "divergences")))
    result["r_hat_max"] = short(max(column(players, "r_hat_max")))
    return result


TABLE = Part("table", PER_CELL, table_player, table_row)
NUTS = Part("nuts", PER_CELL, nuts_player, nuts_row)
