"""What a drill knows of a file that another program appends balls to."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from wedgelab.terminal.sitting import FollowedBall

POLL_S: Final = 0.2


@dataclass(frozen=True, slots=True)
class News:
    """What came since the last look: balls in order, lines that cannot be used, and what the file waits for.

    ``is_unfinished`` tells that it waits for the end of its last line, which the player may take as it is.
    """

    balls: Sequence[FollowedBall] = ()
    problems: Sequence[str] = ()
    waiting: str = ""
    is_unfinished: bool = False


class Watch(Protocol):
    """A watched file."""

    @property
    def name(self) -> str:
        """The file's name, to be shown."""
        ...

    def look(self) -> News:
        """Return what is new."""
        ...

    def pass_over(self) -> None:
        """Leave out what came until now: it is no ball of this drill."""
        ...

    def take_unfinished(self) -> News:
        """Take a last line that has no line end yet as it is."""
        ...
