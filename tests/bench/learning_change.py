"""A golfer who changes: how soon the chart follows, and what it costs those who stay as they are.

Four sessions of 40 balls, then two of 12. The change comes before the fifth, in two ways: every carry is multiplied
and nothing else (the log holds carry and spin), or the golfer swings faster, so that the carries are on average as
much longer and every reading says so (the log holds all).
"""

import dataclasses
from collections.abc import Iterator

import numpy as np

from tests.bench.learning_methods import fitted, said
from tests.bench.learning_parts import Json, Part, Scores, column, mean, short
from tests.bench.learning_players import Array, Case, Index, Log, all_cells, excess, hit_log, make_case, player_of
from wedgelab.model.player import FittedPlayer
from wedgelab.simulate import InventedPlayer, hit, without_noise

ROWS = {"+8 %": 1.08, "-8 %": 0.92, "unchanged": 1.0}
WAYS = {"carry and spin logged": "wedgelab, carry and spin", "all readings logged": "wedgelab"}
SESSIONS, A_SESSION = 4, 40
LATER = (12, 24)  # balls after the change: one session, two
MODELS = {"default": True, "without fading": False}


def changed_speed(player: InventedPlayer, factor: float) -> InventedPlayer:
    """Return the player with the swing speed at which carries are ``factor`` times as long, on average of the cells."""
    wedge, swing = all_cells(player)
    machine = without_noise(player)

    def log_carry(log_speed: float) -> float:
        faster = dataclasses.replace(machine, full_speed_mps=player.full_speed_mps * float(np.exp(log_speed)))
        return float(np.log(hit(faster, wedge, swing, np.random.default_rng(0), mishits=False).carry_m).mean())

    wanted, step = log_carry(0.0) + np.log(factor), np.log(factor) / 1.5
    for _ in range(4):  # carry is nearly a power of speed: a few steps are plenty
        step *= np.log(factor) / (log_carry(step) - wanted + np.log(factor))
    return dataclasses.replace(player, full_speed_mps=player.full_speed_mps * float(np.exp(step)))


def _spread(player: InventedPlayer, sessions: int, each: int, rng: np.random.Generator) -> tuple[Index, Array, Index]:
    """Wedge, swing and session of balls that go round the cells in an order drawn anew each round."""
    wedge, swing = all_cells(player)
    rounds = -(-sessions * each // len(wedge))
    cell = np.concatenate([rng.permutation(len(wedge)) for _ in range(rounds)])[: sessions * each]
    return wedge[cell], swing[cell], np.repeat(np.arange(sessions), each)


def change_player(row: str, number: int) -> Scores:
    """Let one player change; the balls are the same in every row but for the change."""
    player, rng = player_of(number, 4, 11)
    case = make_case(player, rng)
    before = hit_log(player, *_spread(player, SESSIONS, A_SESSION, rng), rng)
    seed = int(rng.integers(2**62))
    scores: Scores = {"log_change": float(np.log(ROWS[row]))}
    for way, later, now in _worlds(player, case, ROWS[row], seed):
        afterwards = dataclasses.replace(later, session=later.session + SESSIONS)
        scores |= {f"{way} {name}": value for name, value in _followed(before, afterwards, now, WAYS[way]).items()}
    return scores


def _worlds(player: InventedPlayer, case: Case, factor: float, seed: int) -> Iterator[tuple[str, Log, Case]]:
    """Yield the way of the change, the later balls and what is asked after it."""

    def later(who: InventedPlayer) -> Log:
        rng = np.random.default_rng(seed)
        return hit_log(who, *_spread(who, len(LATER), LATER[0], rng), rng)

    for way in WAYS:
        if factor == 1.0:
            yield way, later(player), case
        elif way == "carry and spin logged":
            log = later(player)
            yield way, dataclasses.replace(log, carry_m=log.carry_m * factor), case.longer(factor)
        else:
            other = changed_speed(player, factor)
            yield way, later(other), make_case(other, np.random.default_rng([seed, 1]))


def _followed(before: Log, later: Log, now: Case, method: str) -> Scores:
    """Tell how far the chart has moved after the later balls, and how well it does then."""
    scores: Scores = {}
    for name, fading in MODELS.items():
        old = _log_medians(fitted(before, now.player, method, fading=fading), now)
        for balls in LATER:
            log = before.then(later.only(np.arange(balls)))
            model = fitted(log, now.player, method, fading=fading)
            scores[f"{name} {balls} shift"] = float(np.mean(_log_medians(model, now) - old))
            scores[f"{name} {balls} excess"] = excess(now, said(model, now))[0]
    return scores


def _log_medians(model: FittedPlayer, case: Case) -> Array:
    return np.log([cell.carry_m for cell in model.predict(case.kinds)])


def change_row(players: list[Scores]) -> Json:
    """Sum up a row: log shift of the chart (mean over its cells), and the excess of carry after the change."""

    def summed(name: str) -> Json:
        return {what: mean(column(players, f"{name} {what}")) for what in ("shift", "excess")}

    result: Json = {"log_change": short(players[0]["log_change"])}
    for way in WAYS:
        result[way] = {name: {str(balls): summed(f"{way} {name} {balls}") for balls in LATER} for name in MODELS}
    return result


CHANGE = Part("change", tuple(ROWS), change_player, change_row)
