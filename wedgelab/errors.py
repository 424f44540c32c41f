"""Every failure that a user can cause or must hear of: a class whose sentence is built from the values seen.

A sentence has two halves, ``<what happened, with the value seen>; <what to do>``. Only the command line turns an
error into a printed line and an exit code.
"""

from collections.abc import Iterable
from difflib import SequenceMatcher

EXIT_FAILURE = 1
EXIT_USAGE = 2
EXIT_TOO_FEW_SHOTS = 3
EXIT_OUR_BUG = 70
EXIT_INTERRUPTED = 130

_LIKE_ENOUGH = 0.5


class WedgelabError(Exception):
    """A failure with one line for the user; ``exit_code`` says what the process returns."""

    exit_code = EXIT_FAILURE

    def __init__(self, sentence: str) -> None:
        super().__init__(printable(sentence))


class UnreadableValueError(WedgelabError, ValueError):
    """A text that should be a number, a length, a swing or a time is not one."""

    exit_code = EXIT_USAGE

    def __init__(self, what: str, seen: object, wanted: str) -> None:
        self.what, self.seen, self.wanted = what, seen, wanted
        super().__init__(f"{what} {quoted(seen)} cannot be read; {wanted}")


class OutOfRangeError(WedgelabError, ValueError):
    """A number lies outside the hard limits of its quantity."""

    def __init__(self, what: str, seen: str, low: str, high: str) -> None:
        self.what, self.seen, self.low, self.high = what, seen, low, high
        super().__init__(f"{what} {seen} is outside {low} to {high}; check the number and its unit")


class BadNameError(WedgelabError, ValueError):
    """A label or a name is empty, too long or has characters that cannot be shown."""

    def __init__(self, what: str, seen: str, wanted: str) -> None:
        super().__init__(f"{what} {quoted(seen)} cannot be used; {wanted}")


class UnknownNameError(WedgelabError, LookupError):
    """A wedge, swing, player, session or shot that nobody has heard of."""

    def __init__(
        self, what: str, seen: str, known: Iterable[str], how_to_add: str = "", *, meant: str | None = None
    ) -> None:
        """``meant`` is the nearest name where something else than its letters tells it: the loft of a wedge."""
        names = list(dict.fromkeys(known))
        self.seen, self.known = seen, names
        nearest = meant if meant is not None else _nearest(seen, names)
        if nearest is not None:
            hint = f"did you mean {quoted(nearest)}?"
        elif names:
            shown = ", ".join(quoted(name) for name in names[:8]) + (" ..." if len(names) > 8 else "")
            hint = f"known: {shown}"
        else:
            hint = "none is known yet"
        if how_to_add:
            hint = f"{hint} - {how_to_add}"
        super().__init__(f"unknown {what} {quoted(seen)}; {hint}")


class TooFewShotsError(WedgelabError):
    """The log holds too little to answer."""

    exit_code = EXIT_TOO_FEW_SHOTS

    def __init__(self, have: str, what_to_log: str) -> None:
        super().__init__(f"{have}; {what_to_log}")


class NothingFitsError(WedgelabError):
    """A question has no answer within what the player can do; the nearest is offered."""

    def __init__(self, what: str, nearest: str) -> None:
        super().__init__(f"{what}; {nearest}")


class FileProblemError(WedgelabError):
    """A file cannot be read or written, or is not what it should be."""

    def __init__(self, path: object, problem: str, what_to_do: str) -> None:
        self.path = str(path)
        super().__init__(f"{path}: {problem}; {what_to_do}")


class StoreError(WedgelabError):
    """The database cannot be opened, read or written."""

    def __init__(self, path: object, problem: str, what_to_do: str) -> None:
        self.path = str(path)
        self.brief = printable(f"the log: {problem}; {what_to_do}")  # where there is no room for the path
        super().__init__(f"database {path}: {problem}; {what_to_do}")


class NeedsTerminalError(WedgelabError):
    """A prompt was asked for where there is no terminal."""

    exit_code = EXIT_USAGE

    def __init__(self, what: str, instead: str) -> None:
        super().__init__(f"{what} needs a terminal and there is none; {instead}")


class BadRequestError(WedgelabError):
    """The words of a request do not fit together."""

    exit_code = EXIT_USAGE

    def __init__(self, what: str, what_to_do: str) -> None:
        super().__init__(f"{what}; {what_to_do}")


def printable(text: str) -> str:
    """Return a text with every sign that could disturb a terminal or break the line written as an escape."""
    return "".join(char if char.isprintable() else ascii(char)[1:-1] for char in text)


def quoted(value: object) -> str:
    """Return a value as the user wrote it, in quotes, with nothing in it that could disturb a terminal."""
    shown = printable(str(value))
    return f"'{shown[:80]}{'...' if len(shown) > 80 else ''}'"


def _nearest(seen: str, names: list[str]) -> str | None:
    """Return the name most like the seen one: the same letters swapped count as nearest; None if none is like it."""
    wanted = seen.casefold()

    def likeness(name: str) -> float:
        other = name.casefold()
        return 1.0 if sorted(other) == sorted(wanted) else SequenceMatcher(None, wanted, other).ratio()

    best = max(names, key=likeness, default=None)
    return best if best is not None and likeness(best) >= _LIKE_ENOUGH else None
