"""What the drill's screen shows: a function of what is known and of the size of the window; styled text, no terminal.

Rows are given out by worth. The call always stays, as text if need be, and the entry line, which is drawn by others.
Then come what has to be heard of now, the call in big digits, the last miss, the advice, the keys and the rest; last of
all come big digits for the miss, larger digits, and air between the parts.
"""

from dataclasses import dataclass
from typing import Final

from wedgelab.errors import printable
from wedgelab.render.layout import display_width, fold
from wedgelab.terminal.drill_words import (
    PAUSED,
    DrillView,
    advice_text,
    call_columns,
    call_digits,
    call_line,
    help_lines,
    line_of,
    lines_of,
    miss_number,
    miss_words,
)
from wedgelab.terminal.glyphs import BLOCK, ROWS, Line, big, cut, largest, side_by_side, width, with_words

_ROWS_FOR_BIG: Final = 10  # below, big digits would leave nothing but themselves
_COLUMNS_FOR_TWO: Final = 100  # from here on the miss may stand beside the call
_MISS_MODEL: Final = "+00.0"  # the room that is kept for a miss, so that the screen does not jump from ball to ball
_SHORT_MISS_MODEL: Final = "+00"  # on a narrow screen: whole numbers, the words beside say the rest
_LEAST_BESIDE: Final = 15  # columns for the words beside the miss
_WORTH: Final = ("miss", "rest", "advice", "keys", "head", "strip", "hint", "running", "follow")
_ABOVE: Final = ("head", "", "call", "advice", "", "miss", "", "strip", "running")
_BELOW: Final = ("held", "message", "rest", "hint", "follow", "keys")


@dataclass(frozen=True, slots=True)
class Picture:
    """The lines above and below the entry line."""

    above: list[Line]
    below: list[Line]


@dataclass(frozen=True, slots=True)
class _Room:
    """What found its place: parts of one line each, the scales of the big digits (0: text), and rows left over."""

    parts: frozenset[str]
    call_scale: int
    miss_scale: int
    is_beside: bool
    left: int


def picture(view: DrillView, columns: int, rows: int, *, dot: str = BLOCK) -> Picture:
    """Draw the screen: no line is wider than the columns, and with the entry line there are no more than the rows."""
    lines = lines_of(view, columns, is_plain=dot.isascii())
    if view.helping:
        drawn = _help_picture(view, lines, columns, rows)
    else:
        drawn = _drill_picture(view, lines, columns, rows, dot)
    if not dot.isascii():
        return drawn
    return Picture(*([_plain(line) for line in part] for part in (drawn.above, drawn.below)))


def _drill_picture(view: DrillView, lines: dict[str, Line], columns: int, rows: int, dot: str) -> Picture:
    room = _room(view, lines, columns, rows)
    blocks = {name: [line] for name, line in lines.items() if name in room.parts or name == "call"}
    if room.call_scale:
        beside = "" if "advice" in room.parts else advice_text(view)
        blocks["call"] = _big_call(view, room.call_scale, columns, dot, beside)
    if room.miss_scale:
        left = _left_of_miss(view, room.call_scale) if room.is_beside else 0
        blocks["miss"] = _big_miss(view, room.miss_scale, columns - left, dot)
        if room.is_beside:
            blocks["call"] = side_by_side(blocks["call"], blocks.pop("miss"), left)
    gaps, last = room.left, ""
    above: list[Line] = []
    for name in _ABOVE:
        if name:
            above.extend(blocks.get(name, []))
            last = name
        elif gaps > 0 and last in blocks:
            above.append([])
            gaps -= 1
    return Picture(above, [line for name in _BELOW for line in blocks.get(name, [])])


def _room(view: DrillView, lines: dict[str, Line], columns: int, rows: int) -> _Room:
    """Give out the rows by worth; a part without content comes last, its row is kept so that nothing jumps later."""
    parts = {name for name in ("held", "message") if lines[name]}
    left = rows - 2 - len(parts)
    has_big_call = rows >= _ROWS_FOR_BIG and left >= ROWS - 1 and _most_call(view, columns) > 0
    left -= (ROWS - 1) * has_big_call
    wanted = [name for name in sorted(_WORTH, key=lambda name: not lines[name]) if _is_wanted(name, view, lines, rows)]
    # beside the call only where it cannot stand below it
    is_beside = has_big_call and left < len(wanted) + ROWS - 1 and _fits_beside(view, columns)
    for name in wanted:
        if is_beside and name == "miss":
            parts.add(name)  # in rows that the call takes anyway
        elif left > 0:
            parts.add(name)
            left -= 1
    if is_beside or not has_big_call:
        return _Room(frozenset(parts), int(has_big_call), int(is_beside), is_beside, left)
    return _enlarged(frozenset(parts), _most_call(view, columns), _most_miss(columns), left)


def _enlarged(parts: frozenset[str], most_call: int, most_miss: int, left: int) -> _Room:
    """Spend the rows that are left on larger digits, the call and the miss in turn."""
    call, miss = 1, 0
    is_growing = True
    while is_growing:
        is_growing = False
        cost = ROWS - 1 if miss == 0 else ROWS  # the words that were there move beside the digits
        if "miss" in parts and miss < min(call, most_miss) and left >= cost:
            miss, left, is_growing = miss + 1, left - cost, True
        if call < most_call and left >= ROWS and miss in {call, most_miss}:
            call, left, is_growing = call + 1, left - ROWS, True
    return _Room(parts, call, miss, is_beside=False, left=left)


def _is_wanted(name: str, view: DrillView, lines: dict[str, Line], rows: int) -> bool:
    """Tell whether a part asks for a row: if it says something, or is to say something later on."""
    if name == "hint" and lines["message"]:  # they share a row
        return False
    never = {"rest", "follow"} if view.advice is not None else {"rest", "follow", "advice"}
    return bool(lines[name]) or (rows >= _ROWS_FOR_BIG and name not in never)


def _most_call(view: DrillView, columns: int) -> int:
    """Return the largest scale of the call that leaves room for the unit."""
    return (columns - len(view.unit) - 1) // max(1, call_columns(view))


def _most_miss(columns: int) -> int:
    """Return the largest scale of the miss that leaves room for its words."""
    most = (columns - _LEAST_BESIDE) // width(_MISS_MODEL, 1)
    return max(most, min(1, (columns - _LEAST_BESIDE) // width(_SHORT_MISS_MODEL, 1)))


def _fits_beside(view: DrillView, columns: int) -> bool:
    free = columns - _left_of_miss(view, 1)
    return columns >= _COLUMNS_FOR_TWO and free - _LEAST_BESIDE >= width(_MISS_MODEL, 1)


def _left_of_miss(view: DrillView, scale: int) -> int:
    """Return the column at which a miss begins that stands beside the call."""
    return max(call_columns(view) * scale + len(view.unit) + 5, len(PAUSED) + 2)


def _big_call(view: DrillView, scale: int, columns: int, dot: str, beside: str) -> list[Line]:
    """Return the call in big digits with the unit at its foot; the words that take its place stand in the middle."""
    if view.paused or view.state.is_over:
        said = line_of("class:call", cut(call_line(view), columns))
        return [said if row == ROWS * scale // 2 else [] for row in range(ROWS * scale)]
    digits = big(call_digits(view.state.call_m, view.unit), scale, dot=dot)
    words = [("class:advice", beside), *[("", "")] * (len(digits) - 2), ("class:unit", view.unit)]
    return with_words(digits, "class:call", words, columns)


def _big_miss(view: DrillView, scale: int, columns: int, dot: str) -> list[Line]:
    """Return the miss in big digits with the words beside it, or the words alone where no number is to be shown."""
    if not view.state.answers:
        notes = [line for note in view.notes for line in fold(printable(note), columns).split("\n")]
        lines = [line_of("class:hint", note) for note in notes[: ROWS * scale]]
        return lines + [[] for _ in range(ROWS * scale - len(lines))]
    words, side = miss_words(view)
    styled = [(side, words[0]), *[("class:ball", word) for word in words[1:]]] if words else []
    number = miss_number(view, columns - _LEAST_BESIDE)
    digits = big(number, min(scale, largest(number, columns - _LEAST_BESIDE, ROWS * scale)), dot=dot) if number else []
    lines = with_words(digits, side, styled, columns)
    return lines + [[] for _ in range(ROWS * scale - len(lines))]


def _help_picture(view: DrillView, lines: dict[str, Line], columns: int, rows: int) -> Picture:
    """Draw the help in the place of the middle; the call stays, as text."""
    below = [lines[name] for name in ("held", "message") if lines[name]][: rows - 2]
    left = rows - 2 - len(below)
    if left > 6:
        below.append(lines["keys"])
        left -= 1
    head = [lines["head"]] if left > 12 else []
    left -= len(head)
    said: list[str] = []
    for text in help_lines(view):
        said.extend([text] if display_width(text) <= columns else fold(text, columns).split("\n"))
    if len(said) > left > 2:
        said[left - 1] = "a taller window shows more"
    return Picture([*head, lines["call"], *(line_of("class:help", cut(text, columns)) for text in said[:left])], below)


def _plain(line: Line) -> Line:
    return [(style, text.replace("…", "~")) for style, text in line]
