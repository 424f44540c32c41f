"""The small language of one line a ball, the same at a prompt and in a pipe. No terminal needed.

``[WEDGE] [SWING] CARRY [SPIN] [words] [name=value ...]``: what is left out is as on the line before.
"""

import re
import shlex
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from wedgelab.errors import BadRequestError, OutOfRangeError, UnknownNameError, UnreadableValueError, quoted
from wedgelab.shots import LIES, LIMITS, STRIKES, TRAJECTORIES, Bag, SwingLength, Wedge, check_limits
from wedgelab.units import (
    LengthUnit,
    in_unit,
    looks_like_clock,
    parse_length,
    parse_quantity,
    parse_speed,
    parse_swing_deg,
)

LEAST_SPIN_SAID_RPM: Final = 1000.0  # a second bare number this large is a spin, no carry

_Reader = Callable[[str, LengthUnit], float]
VALUES: Final[dict[str, tuple[str, _Reader]]] = {
    "spin": ("spin_rpm", lambda text, _: parse_quantity(text, "spin", "rpm", "spin", "a spin such as 7800")),
    "guess": ("guess_m", lambda text, unit: parse_length(text, unit, "guess")),
    "speed": ("ball_speed_mps", lambda text, unit: parse_speed(text, unit, "ball speed")),
    "launch": ("launch_deg", lambda text, _: parse_quantity(text, "angle", "deg", "launch", "an angle such as 31")),
    "total": ("total_m", lambda text, unit: parse_length(text, unit, "total")),
    "offline": ("offline_m", lambda text, unit: parse_length(text, unit, "offline")),
}
_WORDS: Final = {
    **dict.fromkeys(TRAJECTORIES, "trajectory"),
    **dict.fromkeys(LIES, "lie"),
    **dict.fromkeys(STRIKES, "strike"),
}
HELP: Final = (
    "One line a ball: [WEDGE] [SWING] CARRY [SPIN].\n"
    "What is left out is as on the line before.\n"
    f"Words: {', '.join(_WORDS)}.\n"
    f'Values: {", ".join(f"{name}=" for name in VALUES)}, note="...".\n'
    "undo takes back the last ball, ? shows this, Ctrl-D ends."
)
_NUMBER: Final = re.compile(r"[+-]?[\d.,]+\s*(?:deg|°)?")  # 3/4 is a name, 9.5 a number gone wrong


@dataclass(frozen=True, slots=True)
class Entry:
    """One ball as typed: what was hit, its carry, and the other columns that were given."""

    wedge: Wedge
    swing: SwingLength
    carry_m: float
    columns: dict[str, Any] = field(default_factory=dict)


def read_swing(text: str, bag: Bag) -> SwingLength:
    """Read a swing length by its name in the bag, its clock form or its degrees."""
    named = bag.find_swing(text)
    if named is not None:
        return named
    try:
        degrees = check_limits("swing_deg", parse_swing_deg(text), text)
    except UnreadableValueError as error:
        if looks_like_clock(text) or _NUMBER.fullmatch(text):
            raise
        how = f"add it with: wedgelab bag swing {text} DEGREES"
        raise UnknownNameError("swing", text, (s.label for s in bag.swings), how) from error
    return bag.swing_named(degrees)


def read_carry(text: str, unit: LengthUnit, name: str = "carry_m") -> float:
    """Read a carry, a guess or another distance within its hard limits; return metres."""
    what = name.removesuffix("_m")
    length = parse_length(text, unit, what)
    low, high = LIMITS[name][:2]
    if not low <= length <= high:
        shown = [f"{in_unit(edge, unit):.1f}".removesuffix(".0") for edge in (low, high)]
        raise OutOfRangeError(what, quoted(text), shown[0], f"{shown[1]} {unit}")
    return length


def read_value(name: str, text: str, unit: LengthUnit) -> tuple[str, float]:
    """Read one of the `VALUES`; return its column and its value in SI, within the hard limits."""
    column, read = VALUES[name]
    return column, check_limits(column, read(text, unit), text)


def read_entry(text: str, bag: Bag, unit: LengthUnit, last: tuple[Wedge, SwingLength] | None) -> Entry:
    """Read one line; ``last`` is the wedge and swing to take when the line names none."""
    places, columns = _take_apart(text, bag, unit)
    if not places:
        raise BadRequestError("the line has no carry", "type for example: 54 9:00 68")
    if len(places) > 1 and _is_spin(places[-1]):
        _put(columns, *read_value("spin", places.pop(), unit))
    if len(places) == 4:
        raise BadRequestError(
            f"the fourth number {quoted(places[-1])} is no spin of 1000 rpm or more", "write spin=N or guess=N"
        )
    if len(places) > 3:
        raise BadRequestError(f"the line has {len(places)} numbers and names", "type: [WEDGE] [SWING] CARRY [SPIN]")
    carry_m = read_carry(places.pop(), unit)
    wedge, swing = _which(places, bag, last)
    return Entry(wedge, swing, carry_m, columns)


def _put(columns: dict[str, Any], column: str, value: object) -> None:
    if column in columns:
        what = column.rsplit("_", 1)[0] if "_" in column else column
        raise BadRequestError(f"{what.replace('_', ' ')} is given twice", "leave one out")
    columns[column] = value


def _take_apart(text: str, bag: Bag, unit: LengthUnit) -> tuple[list[str], dict[str, Any]]:
    try:
        tokens = shlex.split(text)
    except ValueError as error:
        raise UnreadableValueError("line", text, "close the quotation mark") from error
    places: list[str] = []
    columns: dict[str, Any] = {}
    for token in tokens:
        name, equals, value = token.partition("=")
        if _names_club(token, places, bag):
            places.append(token)
        elif token.casefold() in _WORDS:
            _put(columns, _WORDS[token.casefold()], token.casefold())
        elif not equals:
            places.append(token)
        elif name.casefold() == "note":
            _put(columns, "note", value)
        elif name.casefold() in VALUES:
            _put(columns, *read_value(name.casefold(), value, unit))
        else:
            raise UnknownNameError("value", name, [*VALUES, "note"])
    return places, columns


def _names_club(token: str, places: Sequence[str], bag: Bag) -> bool:
    """Tell a label in its place from a word of the same sign: a bag may well hold a wedge that is called sand."""
    if not places and bag.find_wedge(token) is not None:
        return True
    return len(places) <= 1 and bag.find_swing(token) is not None


def _is_spin(text: str) -> bool:
    """Tell a spin from a carry or a guess: it is far too large for one."""
    try:
        return float(text.casefold().removesuffix("rpm")) >= LEAST_SPIN_SAID_RPM
    except ValueError:
        return False


def _which(places: Sequence[str], bag: Bag, last: tuple[Wedge, SwingLength] | None) -> tuple[Wedge, SwingLength]:
    if len(places) == 2:
        return bag.wedge(places[0]), read_swing(places[1], bag)
    if last is None:
        raise BadRequestError("no wedge and swing to go by", "name both once, for example: 54 9:00 68")
    if not places:
        return last
    if looks_like_clock(places[0]) or bag.find_swing(places[0]) is not None:
        return last[0], read_swing(places[0], bag)
    return bag.wedge(places[0]), last[1]
