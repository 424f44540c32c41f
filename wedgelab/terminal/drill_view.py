"""What the drill's screen shows: a function of what is known and of the size of the window; styled text, no terminal.

Rows are given out by worth. The call always stays, as text if need be, and the entry line, which is drawn by others.
Then come what has to be heard of now, the call in big digits, the last miss, the advice, the keys and the rest; last of
all come big digits for the miss, larger digits, and air between the parts.
"""

import functools
import math
from dataclasses import dataclass
from typing import Final, Literal

from wedgelab.drill.machine import DrillState, Played
from wedgelab.errors import printable
from wedgelab.render.layout import display_width, fold
from wedgelab.render.words import signed_length
from wedgelab.terminal.glyphs import (
    BLOCK,
    GAP,
    ROWS,
    Fragment,
    Line,
    big,
    cut,
    fit,
    largest,
    side_by_side,
    width,
    with_words,
)
from wedgelab.units import LengthUnit, format_clock, format_length

__all__ = ["DrillView", "Fragment", "Line", "Picture", "picture"]

LAST_MISSES: Final = 10
_ROWS_FOR_BIG: Final = 10  # below, big digits would leave nothing but themselves
_COLUMNS_FOR_TWO: Final = 100  # from here on the miss may stand beside the call
_MISS_MODEL: Final = "+00.0"  # the room that is kept for a miss, so that the screen does not jump from ball to ball
_SHORT_MISS_MODEL: Final = "+00"  # on a narrow screen: whole numbers, the words beside say the rest
_LEAST_BESIDE: Final = 15  # columns for the words beside the miss
_PAUSED: Final = "paused - F6 goes on"
_WORTH: Final = ("miss", "rest", "advice", "keys", "head", "strip", "hint", "running", "follow")
_ABOVE: Final = ("head", "", "call", "advice", "", "miss", "", "strip", "running")
_BELOW: Final = ("held", "message", "rest", "hint", "follow", "keys")
_SIDE: Final = {True: "class:miss.in", False: "class:miss.out"}


@dataclass(frozen=True, slots=True)
class DrillView:
    """What the screen is drawn from.

    ``advice`` is the shot that the chart advises (None: there is no chart), ``bare`` the shot that a number alone will
    be taken for, ``held`` a ball that the log did not take, ``following`` a line about the file that is watched.
    """

    state: DrillState
    unit: LengthUnit = "yd"
    advice: str | None = None
    advice_shown: bool = True
    bare: str = ""
    asks: Literal["carry", "guess"] = "carry"
    message: str = ""
    message_kind: Literal["info", "error"] = "info"
    paused: bool = False
    following: str = ""
    helping: bool = False
    held: str = ""


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
    lines = _lines(view, columns, is_plain=dot.isascii())
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
        beside = "" if "advice" in room.parts else _advice(view)
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
    return (columns - len(view.unit) - 1) // max(1, _call_columns(view))


def _most_miss(columns: int) -> int:
    """Return the largest scale of the miss that leaves room for its words."""
    most = (columns - _LEAST_BESIDE) // width(_MISS_MODEL, 1)
    return max(most, min(1, (columns - _LEAST_BESIDE) // width(_SHORT_MISS_MODEL, 1)))


def _fits_beside(view: DrillView, columns: int) -> bool:
    free = columns - _left_of_miss(view, 1)
    return columns >= _COLUMNS_FOR_TWO and free - _LEAST_BESIDE >= width(_MISS_MODEL, 1)


def _left_of_miss(view: DrillView, scale: int) -> int:
    """Return the column at which a miss begins that stands beside the call."""
    return max(_call_columns(view) * scale + len(view.unit) + 5, len(_PAUSED) + 2)


def _lines(view: DrillView, columns: int, *, is_plain: bool) -> dict[str, Line]:
    """Return each part as one line, empty where there is nothing to say."""
    kind = "class:error" if view.message_kind == "error" else "class:message"
    held = f"not in the log yet: {view.held}" if view.held else ""
    # what to do stands at the end of an error: a second row for it, if there is one
    message, *rest = fold(printable(view.message), columns).split("\n")
    paused = "paused" if view.paused else ""
    words, side = _miss_words(view)
    miss: Line = [(side, fit(words[:1], columns))]
    more = fit(words[1:], columns - display_width(miss[0][1]) - len(GAP), least=0)
    return {
        "head": _line("class:head", fit(_head(view, is_plain=is_plain), columns)),
        "call": _line("class:call", cut(_call_line(view), columns)),
        "advice": _line("class:advice", cut(_advice(view), columns)),
        "miss": [*miss, *_line("class:ball", f"{GAP}{more}" if more else "")] if words else [],
        "strip": _strip(view, columns),
        "running": _line("class:running", fit(_running(view), columns)),
        "held": _line("class:error", cut(held, columns)),
        "message": _line(kind, message),
        "rest": _line(kind, cut(" ".join(rest), columns)),
        "hint": _line("class:hint", fit(_hint(view), columns)),
        "follow": _line("class:follow", fit([text for text in (paused, view.following) if text], columns)),
        "keys": _line("class:keys", _keys(view, columns)),
    }


def _line(style: str, text: str) -> Line:
    return [(style, text)] if text else []


def _head(view: DrillView, *, is_plain: bool) -> list[str]:
    state, plan = view.state, view.state.plan
    calls, name = len(plan.calls_m), "test" if plan.test_of else "drill"
    if state.is_over:
        return [f"{name} of {calls} calls", plan.order]
    said = [f"{name}: call {state.call_no} of {calls}"]
    if plan.hold is None or len(state.answers) <= state.n_shown:  # a window that moved would tell of hidden balls
        said.append(f"window {'+-' if is_plain else '±'} {format_length(state.window_m, view.unit, 1)} {view.unit}")
    if plan.feedback == "block":
        said.append(f"block {(state.call_no - 1) // plan.block + 1} of {math.ceil(calls / plan.block)}")
    return [*said, plan.order, *[f"focus {plan.focus}"] * bool(plan.focus)]


def _call_line(view: DrillView) -> str:
    if view.state.is_over:
        return "done"
    if view.paused:
        return _PAUSED
    return f"call {_call_text(view.state.call_m, view.unit)} {view.unit}"


def _call_text(call_m: float, unit: LengthUnit) -> str:
    return format_length(call_m, unit, 1).removesuffix(".0")


def _call_columns(view: DrillView) -> int:
    """Return the columns of the widest call of the drill at the smallest scale: digits keep their size all through."""
    return _widest(view.state.plan.calls_m, view.unit)


@functools.lru_cache(maxsize=4)  # hundreds of calls that stay the same, and a picture after every key
def _widest(calls_m: tuple[float, ...], unit: LengthUnit) -> int:
    return max((width(_call_text(call_m, unit), 1) for call_m in set(calls_m)), default=0)


def _advice(view: DrillView) -> str:
    if view.advice is None or view.state.is_over or view.paused:
        return ""
    return view.advice if view.advice_shown else "advice hidden (F2)"


def _big_call(view: DrillView, scale: int, columns: int, dot: str, beside: str) -> list[Line]:
    """Return the call in big digits with the unit at its foot; the words that take its place stand in the middle."""
    if view.paused or view.state.is_over:
        said = _line("class:call", cut(_call_line(view), columns))
        return [said if row == ROWS * scale // 2 else [] for row in range(ROWS * scale)]
    digits = big(_call_text(view.state.call_m, view.unit), scale, dot=dot)
    words = [("class:advice", beside), *[("", "")] * (len(digits) - 2), ("class:unit", view.unit)]
    return with_words(digits, "class:call", words, columns)


def _big_miss(view: DrillView, scale: int, columns: int, dot: str) -> list[Line]:
    """Return the miss in big digits with the words beside it, or the words alone where no number is to be shown."""
    words, side = _miss_words(view)
    styled = [(side, words[0]), *[("class:ball", word) for word in words[1:]]] if words else []
    number = _miss_number(view, columns - _LEAST_BESIDE)
    digits = big(number, min(scale, largest(number, columns - _LEAST_BESIDE, ROWS * scale)), dot=dot) if number else []
    lines = with_words(digits, side, styled, columns)
    return lines + [[] for _ in range(ROWS * scale - len(lines))]


def _miss_number(view: DrillView, columns: int) -> str:
    """Return the last miss as its big digits say it; empty where none is shown or none fits."""
    ball = _told_ball(view)
    if ball is None or not view.state.shows_number_of(ball):
        return ""
    texts = [signed_length(ball.miss_m, view.unit, digits) for digits in (1, 0)]
    return next((text for text in texts if width(text, 1) <= columns), "")


def _told_ball(view: DrillView) -> Played | None:
    """Return the last ball if its result may be told by now, as number or in words."""
    state = view.state
    return state.last if len(state.answers) <= state.n_shown else None


def _miss_words(view: DrillView) -> tuple[list[str], str]:
    """Say how the last ball went, most worth knowing first, and the style of it."""
    state, unit = view.state, view.unit
    if not state.answers:
        return [], ""
    if len(state.answers) > state.n_shown:
        end = min(state.n_shown + state.plan.block, len(state.plan.calls_m))
        return [f"results after call {end}"], "class:wait"
    ball = state.last
    if ball is None:
        return ["skipped"], "class:wait"
    shot = f"{ball.ball.wedge} {ball.ball.swing or format_clock(ball.ball.swing_deg)}"
    if not state.shows_number_of(ball):
        return ["inside", shot], _SIDE[True]
    window = "inside the window" if ball.is_inside else "outside the window"
    carry = f"carry {format_length(ball.carry_m, unit, 1)} {unit}"
    guess = [] if ball.guess_m is None else [_guess_words(ball.guess_m - ball.carry_m, unit)]
    return [_long_or_short(ball.miss_m, unit), window, shot, carry, *guess], _SIDE[ball.is_inside]


def _long_or_short(miss_m: float, unit: LengthUnit) -> str:
    shown = format_length(abs(miss_m), unit, 1)
    return "on the number" if float(shown) == 0 else f"{shown} {unit} {'long' if miss_m > 0 else 'short'}"


def _guess_words(error_m: float, unit: LengthUnit) -> str:
    shown = format_length(abs(error_m), unit, 1)
    return "guess right" if float(shown) == 0 else f"guess {shown} {unit} {'over' if error_m > 0 else 'under'}"


def _strip(view: DrillView, columns: int) -> Line:
    """Draw the last misses in fixed columns, newest last: ``o`` inside the window, ``x`` outside."""
    answers = list(enumerate(view.state.answers))[-LAST_MISSES:]
    if not answers:
        return []
    ways = (("misses", 1, 7), ("", 1, 7), ("misses", 0, 6), ("", 0, 6))  # label, digits, columns of a miss
    label, digits, cell = next((way for way in ways if len(way[0]) + way[2] * LAST_MISSES <= columns), ways[-1])
    answers = answers[-max(1, (columns - len(label)) // cell) :]
    line: Line = [("class:label", label)] if label else []
    return line + [_cell(view, number, answer, digits, cell) for number, answer in answers]


def _cell(view: DrillView, number: int, answer: Played | None, digits: int, cell: int) -> Fragment:
    if answer is None:
        return "class:wait", f"{'skip':>{cell}}"
    if number >= view.state.n_shown:
        return "class:wait", f"{'?':>{cell - 1}} "
    if not view.state.shows_number_of(answer):
        return _SIDE[True], f"{'in':>{cell - 1}} "
    text = signed_length(answer.miss_m, view.unit, digits)
    text = text if len(text) < cell - 1 else signed_length(answer.miss_m, view.unit, 0)
    return _SIDE[answer.is_inside], f"{text + ('o' if answer.is_inside else 'x'):>{cell}}"


def _running(view: DrillView) -> list[str]:
    """Say E and the share inside of the balls that were shown; E not where it would give hidden numbers away."""
    state = view.state
    balls = [answer for answer in state.answers[: state.n_shown] if answer is not None]
    if not balls:
        return []
    inside = f"inside {sum(ball.is_inside for ball in balls)} of {len(balls)}"
    legend = "(o inside, x outside)"
    if not all(state.shows_number_of(ball) for ball in balls):
        return [inside, legend]
    e_m = math.sqrt(math.fsum(ball.miss_m**2 for ball in balls) / len(balls))
    return [f"E {format_length(e_m, view.unit, 1)} {view.unit}", inside, legend]


def _hint(view: DrillView) -> list[str]:
    """Say what the entry line is waiting for."""
    if view.state.is_over or view.paused:
        return []
    if view.asks == "guess":
        return ["first your guess: how far did it carry?"]
    kept = view.state.guess_m
    guess = [] if kept is None else [f"guess {format_length(kept, view.unit, 1)} {view.unit}"]
    bare = f"a number alone: the carry with {view.bare}" if view.bare else "type WEDGE SWING CARRY"
    return [*guess, bare]


def _keys(view: DrillView, columns: int) -> str:
    """Name the keys; on a narrow screen only those that are hardest to do without."""
    over = view.state.is_over
    keys = {
        "F2 advice": 5 if view.advice is not None and not over else None,
        "F3 undo": 3,
        "F4 correct": 6,
        "F5 skip": None if over else 4,
        ("F6 go on" if view.paused else "F6 pause"): None if over else (1 if view.paused else 7),
        "F10 quit": 2,
        "? help": 0,
    }
    shown = {key: worth for key, worth in keys.items() if worth is not None}
    while display_width(GAP.join(shown)) > columns and len(shown) > 1:
        del shown[max(shown, key=lambda key: shown[key])]
    return cut(GAP.join(shown), columns)


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
    for text in _help_lines(view):
        said.extend([text] if display_width(text) <= columns else fold(text, columns).split("\n"))
    if len(said) > left > 2:
        said[left - 1] = "a taller window shows more"
    return Picture([*head, lines["call"], *(_line("class:help", cut(text, columns)) for text in said[:left])], below)


def _help_lines(view: DrillView) -> list[str]:
    return [
        f"62          the carry in {view.unit}{f', hit with {view.bare}' if view.bare else ''}",
        "54 9:00 62  wedge, swing and carry",
        "guess 62    your own guess, before the carry",
        "F2  ^T          shows or hides the advice",
        "F3  ^B  undo    takes back the last ball",
        "F4  ^F  fix 64  corrects the last ball",
        "F5  ^N  skip    leaves this call out",
        "F6  ^P  pause   stops for a while, and goes on",
        "F10 ^Q  quit    ends; the drill can go on later",
        "A key, or the word typed; ^T is Ctrl and T. ? closes this.",
        "o inside the window, x outside, ? not told yet",
    ]


def _plain(line: Line) -> Line:
    return [(style, text.replace("…", "~")) for style, text in line]
