"""From a player's log to the fitted model, shared by `chart`, `choose` and `drill`."""

import shlex
from typing import TYPE_CHECKING

from wedgelab.cli.app import PlayerLog
from wedgelab.errors import TooFewShotsError
from wedgelab.shots import count_sessions

if TYPE_CHECKING:
    from wedgelab.chart import AirNote
    from wedgelab.model.player import FittedPlayer


def fit_log(log: PlayerLog) -> "FittedPlayer":
    """Fit the model; without any shot raise `TooFewShotsError` that says what to log."""
    if not log.shots:
        raise too_few(log)
    from wedgelab.model.player import fit_player

    others = None
    if log.others:
        from wedgelab.model.population import population

        others = population([fit_player(one.shots, one.conditions, one.reference, one.ball).fit for one in log.others])
    return fit_player(log.shots, log.conditions, log.reference, log.ball, others=others)


def too_few(log: PlayerLog) -> TooFewShotsError:
    """Return the error of a log without shots: it says what to log."""
    wedge = log.bag.wedges[0].label if log.bag.wedges else "54"
    first = "" if log.bag.wedges else f"{log.command} bag add 54 54, then: "
    example = f"{first}{log.command} log {shlex.quote(wedge)} 9:00 68"
    return TooFewShotsError("no shots are logged", f"log some, for example: {example}")


def air_note(log: PlayerLog, predictor: "FittedPlayer") -> "AirNote | None":
    """Tell what bringing the log to the reference air did to its carries; None where nothing was brought."""
    from wedgelab.chart import AirNote

    moved = predictor.carry_changes_m()
    touched = [shot for shot, metres in zip(log.shots, moved, strict=True) if metres]
    if not touched:
        return None
    changes = [metres for metres in moved if metres]
    return AirNote(len(touched), count_sessions(touched), min(changes), max(changes))
