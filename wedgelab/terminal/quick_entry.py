"""Quick entry: one line a ball until Ctrl-D, each stored before the next is asked for."""

import shlex
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from wedgelab.errors import WedgelabError
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.terminal.ask import Ask
from wedgelab.terminal.lines import HELP, VALUES, Entry, read_entry
from wedgelab.units import LengthUnit


class EntryDesk(Protocol):
    """What quick entry needs done; each call has stored what it says when it returns."""

    def store(self, entry: Entry) -> str:
        """Store a ball and return the line to show."""
        ...

    def undo(self) -> str:
        """Take back the last ball of this sitting and return the line to show."""
        ...


@dataclass(slots=True)
class EntryResult:
    """How a sitting went: balls kept and lines refused."""

    stored: int = 0
    refused: int = 0


def completion_words(bag: Bag) -> list[str]:
    """Return what a line may be completed to."""
    names = [wedge.label for wedge in bag.wedges] + [swing.label for swing in bag.swings]
    return [*map(as_typed, names), "undo", *(f"{name}=" for name in VALUES)]


def as_typed(label: str) -> str:
    """Return a label as a line has to say it: in quotation marks if it has a blank or the like."""
    try:
        is_plain = shlex.split(label) == [label]
    except ValueError:  # an apostrophe
        is_plain = False
    return label if is_plain else shlex.quote(label)


def quick_entry(
    desk: EntryDesk,
    bag: Bag,
    unit: LengthUnit,
    last: tuple[Wedge, SwingLength] | None,
    ask: Ask,
    show: Callable[[str], None],
    complain: Callable[[str], None],
    *,
    somebody_reads: bool = True,
) -> EntryResult:
    """Take lines until the end of input; a line that is refused loses nothing and is asked for again.

    Where nobody reads the complaint, the line after a refused one has to name wedge and swing: a bare carry there was
    meant for the club of the refused line.
    """
    result = EntryResult()
    while True:
        where = f"{last[0].label} {last[1].label}" if last else "wedge swing carry"
        try:
            text = ask(f"{where} ({unit})> ").strip()
        except EOFError:
            return result
        except KeyboardInterrupt:  # Ctrl-C drops the line, as at a shell; Ctrl-D ends
            if not somebody_reads:
                raise
            continue
        try:
            match text.casefold():
                case "":
                    continue
                case "?" | "help":
                    show(HELP)
                case "undo":
                    show(desk.undo())
                    result.stored -= 1
                case _:
                    entry = read_entry(text, bag, unit, last)
                    show(desk.store(entry))
                    last = entry.wedge, entry.swing
                    result.stored += 1
        except WedgelabError as error:
            result.refused += 1
            complain(str(error))
            if not somebody_reads:
                last = None
