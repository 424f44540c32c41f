"""How text is fitted into the columns of a terminal: folding, wrapping, tables."""

import unicodedata
from collections.abc import Sequence
from typing import Final

from tabulate import tabulate

WIDTH: Final = 80
_LEFT_TO_RIGHT: Final = "\u200e"  # no sign, but it counts as a letter that is written so


def display_width(text: str) -> int:
    """Return how many columns of a terminal a text takes: wide signs take two, combining ones none."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in {"W", "F"} else 1
        for char in text
    )


def fold(text: str, width: int) -> str:
    """Break a label into lines of at most that many columns, between words where it can; nothing is left out."""
    lines = [""]
    for word in text.split():
        joined = f"{lines[-1]} {word}".strip()
        if display_width(joined) <= width:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        for char in word:
            if display_width(lines[-1] + char) > width:
                lines.append("")
            lines[-1] += char
    return "\n".join(lines)


def shorten(text: str, longest: int) -> str:
    """Leave out the middle of a label that is too long: two long labels often differ at one of their ends."""
    if len(text) <= longest:
        return text
    tail = longest // 3
    return f"{text[: longest - tail - 1].rstrip()}…{text[-tail:].lstrip()}"


def left_to_right(label: str) -> str:
    """Hold a label in its place: in front of numbers one that is written from right to left would change the side."""
    turns = any(unicodedata.bidirectional(char) in {"R", "AL"} for char in label)
    return f"{_LEFT_TO_RIGHT}{label}{_LEFT_TO_RIGHT}" if turns else label


def wrap(sentence: str, indent: str = "") -> str:
    """Break a sentence into lines of the width; ``indent`` stands before every line but the first."""
    lead = sentence[: len(sentence) - len(sentence.lstrip())]
    folded = fold(sentence, WIDTH - max(len(lead), len(indent)))
    return lead + folded.replace("\n", f"\n{indent}")


def table(rows: Sequence[Sequence[str]], headers: Sequence[str], align: Sequence[str] | None = None) -> str:
    """Draw aligned columns under their headers; nothing in a cell is taken for a number."""
    # the header goes in as a row: as a header it would be given two blanks more a column than it needs
    widths = [
        max(display_width(line) for row in (headers, *rows) for line in row[i].split("\n")) for i in range(len(headers))
    ]
    rule = ["-" * width for width in widths]
    drawn = tabulate(
        [headers, rule, *rows],
        tablefmt="plain",
        colalign=align or ["left"] * len(headers),
        disable_numparse=True,
    )
    return "\n".join(line.rstrip() for line in drawn.split("\n"))
