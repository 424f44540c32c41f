"""From a player's log to the fitted model, shared by `chart`, `choose` and `drill`."""

from typing import TYPE_CHECKING

from wedgelab.cli.app import PlayerLog
from wedgelab.errors import TooFewShotsError

if TYPE_CHECKING:
    from wedgelab.model.player import FittedPlayer


def fit_log(log: PlayerLog) -> "FittedPlayer":
    """Fit the model; without any shot raise `TooFewShotsError` that says what to log."""
    if not log.shots:
        wedge = log.bag.wedges[0].label if log.bag.wedges else "54"
        first = "" if log.bag.wedges else "wedgelab bag add 54 54, then: "
        raise TooFewShotsError("no shots are logged", f"log some, for example: {first}wedgelab log {wedge} 9:00 68")
    from wedgelab.model.player import fit_player

    return fit_player(log.shots)
