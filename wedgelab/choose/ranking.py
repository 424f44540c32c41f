"""The order of the options, the one to weigh the best against, and those that no other beats."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from wedgelab.choose.options import CHEAP_TRADE, NEAR_BEST, Option, Want

# of every wish but the window's: what is looked at, and the sign that makes more of it better
WISHES: Final[dict[Want, tuple[Callable[[Option], float], float]]] = {
    "spin": (lambda o: o.spin_rpm, 1.0),
    "low-spin": (lambda o: o.spin_rpm, -1.0),
    "high": (lambda o: o.flight.apex_m, 1.0),
    "low": (lambda o: o.flight.apex_m, -1.0),
    "soft": (lambda o: o.flight.land_deg, 1.0),
}


def rank(options: Sequence[Option], want: Want, least: float) -> list[Option]:
    """Order by chance, or by the wish among the options with at least the least chance; the others follow by chance."""
    by_chance = sorted(options, key=lambda o: (-o.chance, not o.practised, -o.n_shots))
    if want == "window":
        return by_chance
    value, sign = WISHES[want]

    def least_wanted(option: Option) -> float:
        wished = value(option)
        return math.inf if math.isnan(wished) else -sign * wished

    near = sorted((o for o in by_chance if o.chance >= least), key=least_wanted)
    return near + [o for o in by_chance if o.chance < least]


def find_rival(ranked: Sequence[Option], want: Want) -> Option | None:
    """Return the option that is better at what the wish did not ask for, or None when the best is best at both."""
    best, others = ranked[0], ranked[1:]
    if want != "window":
        rival = max(others, key=lambda o: o.chance, default=None)
        return rival if rival is not None and rival.chance > best.chance else None
    more_spin = [
        o for o in others if o.spin_rpm > best.spin_rpm and (o.support != "beyond" or best.support == "beyond")
    ]
    # a trade that costs next to nothing first, then the most spin among the good chances
    for least in (best.chance - CHEAP_TRADE, NEAR_BEST * best.chance):
        rival = max((o for o in more_spin if o.chance >= least), key=lambda o: o.spin_rpm, default=None)
        if rival is not None:
            return rival
    return None


def mark_unbeaten(options: Sequence[Option], want: Want) -> list[Option]:
    """Mark the options that no other beats on chance and spin: none is better at one and as good at the other.

    More spin counts as better, but for a wish of low spin.
    """
    sign = -1.0 if want == "low-spin" else 1.0
    points = [(option.chance, sign * option.spin_rpm) for option in options]
    return [
        replace(option, is_unbeaten=not any(_beats(other, mine) for other in points))
        for option, mine in zip(options, points, strict=True)
    ]


def _beats(other: tuple[float, float], mine: tuple[float, float]) -> bool:
    return other != mine and other[0] >= mine[0] and other[1] >= mine[1]
