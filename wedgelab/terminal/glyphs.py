"""Digits of blocks, to be read from three metres, and the small text that is fitted beside them.

A digit is a pattern of 5 x 7 dots, enlarged by whole numbers. A dot is ``scale`` rows by twice as many columns,
because a cell of a terminal is about twice as high as it is wide.
"""

from collections.abc import Sequence
from typing import Final

from wedgelab.errors import printable
from wedgelab.render.layout import display_width

Fragment = tuple[str, str]  # a style and a text
Line = list[Fragment]

ROWS: Final = 7
BLOCK: Final = "█"
GAP: Final = "  "  # between parts of a line
PLAIN_DOT: Final = "#"  # for terminals that cannot draw a block
_COLUMNS_A_DOT: Final = 2
_GAP_DOTS: Final = 1

# Open shapes for 3, 6 and 9, a foot under the 1 and a slanted 7: neighbours differ in more than one stroke.
GLYPHS: Final[dict[str, tuple[str, ...]]] = {
    "0": (".###.", "#...#", "#...#", "#...#", "#...#", "#...#", ".###."),
    "1": ("..#..", ".##..", "#.#..", "..#..", "..#..", "..#..", "#####"),
    "2": (".###.", "#...#", "....#", "..##.", ".#...", "#....", "#####"),
    "3": ("#####", "....#", "...#.", "..##.", "....#", "#...#", ".###."),
    "4": ("...#.", "..##.", ".#.#.", "#..#.", "#####", "...#.", "...#."),
    "5": ("#####", "#....", "####.", "....#", "....#", "#...#", ".###."),
    "6": ("..##.", ".#...", "#....", "####.", "#...#", "#...#", ".###."),
    "7": ("#####", "....#", "...#.", "...#.", "..#..", "..#..", "..#.."),
    "8": (".###.", "#...#", "#...#", ".###.", "#...#", "#...#", ".###."),
    "9": (".###.", "#...#", "#...#", ".####", "....#", "...#.", ".##.."),
    "-": (".....", ".....", ".....", "#####", ".....", ".....", "....."),
    "+": (".....", "..#..", "..#..", "#####", "..#..", "..#..", "....."),
    ".": ("..", "..", "..", "..", "..", "##", "##"),
    ":": ("..", "##", "##", "..", "##", "##", ".."),
    " ": (".....", ".....", ".....", ".....", ".....", ".....", "....."),
}


def big(text: str, scale: int, *, dot: str = BLOCK) -> list[str]:
    """Draw a number as lines of equal width; a sign without a glyph is a KeyError."""
    lines = []
    for row in range(ROWS):
        dots = ("." * _GAP_DOTS).join(GLYPHS[char][row] for char in text)
        line = "".join((dot if on == "#" else " ") * (_COLUMNS_A_DOT * scale) for on in dots)
        lines.extend([line] * scale)
    return lines


def width(text: str, scale: int) -> int:
    """Return how many columns a number takes."""
    dots = sum(len(GLYPHS[char][0]) for char in text) + _GAP_DOTS * max(0, len(text) - 1)
    return dots * _COLUMNS_A_DOT * scale


def largest(text: str, columns: int, rows: int) -> int:
    """Return the largest scale at which a number fits; 0 when not even the smallest does."""
    return max(0, min(columns // max(1, width(text, 1)), rows // ROWS))


def with_words(digits: Sequence[str], style: str, words: Sequence[Fragment], columns: int) -> list[Line]:
    """Put words at the right of big digits, a line of words a row; there are always as many lines as either has."""
    lines: list[Line] = []
    for row in range(max(len(digits), len(words))):
        line: Line = [(style, digits[row])] if row < len(digits) else []
        taken = display_width(digits[row]) + 1 if line else 0
        word_style, word = words[row] if row < len(words) else ("", "")
        said = cut(word, columns - taken) if columns > taken else ""
        lines.append(line + ([("", " ")] * bool(line) + [(word_style, said)] if said else []))
    return lines


def side_by_side(first: Sequence[Line], second: Sequence[Line], left: int) -> list[Line]:
    """Put two blocks of as many rows next to each other, the second from column ``left`` on."""
    joined = []
    for one, other in zip(first, second, strict=True):
        taken = sum(display_width(text) for _, text in one)
        joined.append([*one, ("", " " * (left - taken)), *other] if taken <= left else list(one))
    return joined


def fit(parts: Sequence[str], columns: int, *, least: int = 1) -> str:
    """Join as many parts as fit, the first ones first; the ``least`` that must stay is cut if need be."""
    kept = [printable(part) for part in parts]
    while len(kept) > least and display_width(GAP.join(kept)) > columns:
        kept.pop()
    return cut(GAP.join(kept), columns)


def cut(text: str, columns: int) -> str:
    """Cut a text to the columns, with nothing in it that could disturb a terminal."""
    text = printable(text)
    if display_width(text) <= columns:
        return text
    taken, used = "", 1
    for char in text:
        used += display_width(char)
        if used > columns:
            break
        taken += char
    return f"{taken}…" if columns > 0 else ""
