"""Two players of one log at once, for `--compare NAME NAME`: whose logs, in which unit, in one air."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.fitting import fit_log
from wedgelab.errors import BadRequestError, TooFewShotsError, UnknownNameError, quoted

if TYPE_CHECKING:
    from wedgelab.compare import Side
    from wedgelab.prediction import Day


def check_pair(app: App, names: tuple[str, str], others: Sequence[str] = ()) -> None:
    """Refuse what does not go with --compare before anything is read; ``others`` are the options given beside it."""
    if others:
        raise BadRequestError(f"--compare and {others[0]} together", "take one of them")
    if names[0].strip().casefold() == names[1].strip().casefold():
        raise BadRequestError(f"--compare {names[0]} {names[1]} names one player twice", "name two players")
    if app.player_option is not None and app.player_option.strip().casefold() not in {
        name.strip().casefold() for name in names
    }:
        raise BadRequestError(
            f"--player {app.player_option} and --compare {names[0]} {names[1]} together", "name both after --compare"
        )


def read_pair(app: App, names: tuple[str, str]) -> tuple[PlayerLog, PlayerLog]:
    """Return both players' logs, shown in the first one's unit."""
    if not app.path.exists():
        raise UnknownNameError("player", names[0], [])
    with app.open(create=False) as store:
        settings = [store.player(name) for name in names]
        logs = [app.player_log(store, one) for one in settings]
        first, second = (replace(log, others=app.others(store, log)) for log in logs)
    for log in (first, second):
        if log.shots and not (log.bag.wedges and log.bag.swings):
            lacking = "swing length" if log.bag.wedges else "wedge"
            add = "bag swing 9:00 90" if log.bag.wedges else "bag add 54 54"
            raise BadRequestError(f"the bag of {quoted(log.name)} has no {lacking}", f"add one: {log.command} {add}")
    return first, replace(second, unit=first.unit)


def fit_pair(first: PlayerLog, second: PlayerLog, day: "Day | None") -> "tuple[Side, Side]":
    """Fit both players, and bring them to one air: the day's, else the first player's reference.

    `TooFewShotsError` says whose shots are missing.
    """
    from wedgelab.compare import Side
    from wedgelab.model.weather import conditions_in_full
    from wedgelab.prediction import NOT_SAID, Day

    for log in (first, second):
        if not log.shots:
            raise TooFewShotsError(
                f"no shots of {quoted(log.name)} are logged", f"log some with: wedgelab --player {log.name} log"
            )
    sides = [Side(log.name, fit_log(log), log.bag) for log in (first, second)]
    said, rise_m = (NOT_SAID, 0.0) if day is None else (day.conditions, day.rise_m)
    air = conditions_in_full(said, first.reference)
    same = Day(air, rise_m)
    return (
        sides[0] if day is None else replace(sides[0], predictor=sides[0].predictor.on(same)),
        sides[1]
        if day is None and conditions_in_full(NOT_SAID, second.reference) == air
        else replace(sides[1], predictor=sides[1].predictor.on(same)),
    )


def pair_notes(first: PlayerLog, second: PlayerLog) -> list[str]:
    """Say what should be known before two players' numbers are held against each other."""
    notes = []
    for log, other in ((first, second), (second, first)):
        if any(one.name == other.name for one in log.others):
            notes.append(
                f"{log.name}'s chart leans on {other.name}'s shots too, which draws both together; not so with --alone."
            )
    if first.ball != second.ball:
        balls = " and ".join(f"{log.name}'s for {log.ball or 'the ball that was hit most'}" for log in (first, second))
        notes.append(f"The charts are for different golf balls: {balls}.")
    return notes
