"""What the drill's screen says: each part as one line of styled text, a function of what is known and of the width."""

import functools
import math
from dataclasses import dataclass
from typing import Final, Literal

from wedgelab.drill.machine import DrillState, Played
from wedgelab.errors import printable
from wedgelab.render.drill_text import miss_words as miss_in_words
from wedgelab.render.layout import display_width, fold
from wedgelab.render.words import signed_length
from wedgelab.terminal.glyphs import GAP, Fragment, Line, cut, fit, width
from wedgelab.units import LengthUnit, format_clock, format_length

LAST_MISSES: Final = 10
PAUSED: Final = "paused - F6 goes on"
_SIDE: Final = {True: "class:miss.in", False: "class:miss.out"}


@dataclass(frozen=True, slots=True)
class DrillView:
    """What the screen is drawn from.

    ``advice`` is the shot that the chart advises (None: there is no chart), ``bare`` the shot that a number alone will
    be taken for, ``held`` a ball that the log did not take, ``following`` a line about the file that is watched,
    ``notes`` what is to be known before the first ball: it stands where the miss will be.
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
    notes: tuple[str, ...] = ()


def lines_of(view: DrillView, columns: int, *, is_plain: bool) -> dict[str, Line]:
    """Return each part as one line, empty where there is nothing to say."""
    kind = "class:error" if view.message_kind == "error" else "class:message"
    held = f"not in the log yet: {view.held} - Enter tries again, F3 drops it" if view.held else ""
    # what to do stands at the end of an error: a second row for it, if there is one
    message, *rest = fold(printable(view.message), columns).split("\n")
    paused = "paused" if view.paused else ""
    words, side = miss_words(view)
    miss: Line = [(side, fit(words[:1], columns))]
    more = fit(words[1:], columns - display_width(miss[0][1]) - len(GAP), least=0)
    return {
        "head": line_of("class:head", fit(_head(view, is_plain=is_plain), columns)),
        "call": line_of("class:call", cut(call_line(view), columns)),
        "advice": line_of("class:advice", cut(advice_text(view), columns)),
        "miss": [*miss, *line_of("class:ball", f"{GAP}{more}" if more else "")] if words else [],
        "strip": _strip(view, columns),
        "running": line_of("class:running", fit(_running(view), columns)),
        "held": line_of("class:error", cut(held, columns)),
        "message": line_of(kind, message),
        "rest": line_of(kind, cut(" ".join(rest), columns)),
        "hint": line_of("class:hint", fit(_hint(view), columns)),
        "follow": line_of("class:follow", fit([text for text in (paused, view.following) if text], columns)),
        "keys": line_of("class:keys", _keys(view, columns)),
    }


def line_of(style: str, text: str) -> Line:
    """Return a line of one style, without text an empty one."""
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


def call_line(view: DrillView) -> str:
    """Say the call in one line, or what stands in its place."""
    if view.state.is_over:
        return "done"
    if view.paused:
        return PAUSED
    return f"call {call_digits(view.state.call_m, view.unit)} {view.unit}"


def call_digits(call_m: float, unit: LengthUnit) -> str:
    """Return a call as its big digits say it."""
    return format_length(call_m, unit, 1).removesuffix(".0")


def call_columns(view: DrillView) -> int:
    """Return the columns of the widest call of the drill at the smallest scale: digits keep their size all through."""
    return _widest(view.state.plan.calls_m, view.unit)


@functools.lru_cache(maxsize=4)  # hundreds of calls that stay the same, and a picture after every key
def _widest(calls_m: tuple[float, ...], unit: LengthUnit) -> int:
    return max((width(call_digits(call_m, unit), 1) for call_m in set(calls_m)), default=0)


def advice_text(view: DrillView) -> str:
    """Return the line of the advice, empty where there is no chart."""
    if view.advice is None or view.state.is_over or view.paused:
        return ""
    return view.advice if view.advice_shown else "advice hidden (F2)"


def miss_number(view: DrillView, columns: int) -> str:
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


def miss_words(view: DrillView) -> tuple[list[str], str]:
    """Say how the last ball went, most worth knowing first, and the style of it."""
    state, unit = view.state, view.unit
    if not state.answers:
        return list(view.notes[:1]), "class:hint"
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
    return [miss_in_words(ball.miss_m, unit), window, shot, carry, *guess], _SIDE[ball.is_inside]


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


def help_lines(view: DrillView) -> list[str]:
    """Return what the help says."""
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
