"""The band around a call that counts as played to it; the same rule in choose, drill and report."""

from dataclasses import dataclass
from typing import Final

from wedgelab.errors import UnreadableValueError
from wedgelab.shots import LIMITS
from wedgelab.units import LengthUnit, format_length, format_number, parse_quantity


@dataclass(frozen=True, slots=True)
class WindowRule:
    """Half width of the window: a share of the call with a least width, or a fixed width where ``fixed_m`` is given."""

    share: float = 0.05
    least_m: float = 2.0
    fixed_m: float | None = None

    def half_m(self, call_m: float) -> float:
        """Return the half width [m] of the window around a call [m], within the hard limits of ``window_m``."""
        half = max(self.share * call_m, self.least_m) if self.fixed_m is None else self.fixed_m
        low, high = LIMITS["window_m"][
            :2
        ]  # half a percent of a short call would be refused by `Shot`, and the ball lost
        return min(max(half, low), high)

    def around(self, call_m: float) -> tuple[float, float]:
        """Return the lower and upper edge [m] of the window around a call [m]."""
        half = self.half_m(call_m)
        return call_m - half, call_m + half

    def describe(self, unit: LengthUnit) -> str:
        """Say the rule in words a player reads, in their unit."""
        size, least = self.parts(unit)
        return f"{size} each side{least}"

    def parts(self, unit: LengthUnit) -> tuple[str, str]:
        """Return the size in words, and what is said of the least one."""
        if self.fixed_m is not None:
            return f"{format_length(self.fixed_m, unit, 1)} {unit}", ""
        least = f", at least {format_length(self.least_m, unit, 1)} {unit}" if self.least_m else ""
        return f"{format_number(100.0 * self.share, 1).removesuffix('.0')} %", least


DEFAULT_WINDOW: Final = WindowRule()


@dataclass(frozen=True, slots=True)
class SidedWindow:
    """A window whose sides differ: a bunker short, water long. Each side is as wide as its rule's half."""

    short: WindowRule = DEFAULT_WINDOW
    long: WindowRule = DEFAULT_WINDOW

    def around(self, call_m: float) -> tuple[float, float]:
        """Return the lower and upper edge [m] of the window around a call [m]."""
        return call_m - self.short.half_m(call_m), call_m + self.long.half_m(call_m)

    def describe(self, unit: LengthUnit) -> str:
        """Say the rule in words a player reads, in their unit."""
        sides = zip((self.short, self.long), ("short", "long"), strict=True)
        return "; ".join(f"{name} {''.join(side.parts(unit))}" for side, name in sides)


Window = WindowRule | SidedWindow


def parse_window(text: str, unit: LengthUnit, what: str = "window") -> WindowRule:
    """Read ``4%`` or ``3yd``; an empty text is the default of 5 %, at least 2 m each side."""
    cleaned = text.strip()
    if not cleaned:
        return DEFAULT_WINDOW
    example = "a share such as 4% (0.5 to 50) or a distance such as 3yd"
    wanted = f"give {example}"
    if cleaned.endswith("%"):
        share = parse_quantity(cleaned, "share", "%", what, example)
        if not 0.5 <= share <= 50.0:
            raise UnreadableValueError(what, text, wanted)
        return WindowRule(share=share / 100.0, least_m=0.0)
    half = parse_quantity(cleaned, "length", unit, what, example)
    low, high = LIMITS["window_m"][:2]
    if not low <= half <= high:
        raise UnreadableValueError(what, text, wanted)
    return WindowRule(fixed_m=half)


def parse_sides(short: str | None, long: str | None, unit: LengthUnit, usual: WindowRule) -> SidedWindow:
    """Read the sizes of the two sides; one that is not given is as the usual window's."""
    return SidedWindow(
        usual if short is None else parse_window(short, unit, "short side"),
        usual if long is None else parse_window(long, unit, "long side"),
    )
