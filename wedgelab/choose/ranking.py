"""The order of the options, the one to weigh the best against, and those that no other beats."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from wedgelab.choose.options import CHEAP_TRADE, NEAR_BEST, Option, Want
from wedgelab.units import rounded

# What a wish cannot tell apart, so that the chance decides. Spins: a step in which they are shown, or a part of the
# standard error of their median; a small part, because what is not known of one shot (the ball, the lie, the air) is
# mostly the same for its neighbour. Apex and landing angle carry no standard error: common sense, no source.
SPIN_TIE_RPM: Final = 50.0
SPIN_TIE_SHARE: Final = 0.25
APEX_TIE_M: Final = 0.5
LAND_TIE_DEG: Final = 1.0
_HALF_PERCENT: Final = 0.005 - 1e-9  # a float's last bit must not decide what is shown as the same percentage


@dataclass(frozen=True, slots=True)
class Wish:
    """What is looked at, the sign that makes more of it better, and by how much two options must differ in it."""

    value: Callable[[Option], float]
    sign: float
    tie: Callable[[Option, Option], float]

    def goodness(self, option: Option) -> float:
        """Return what is larger the better the wish is met; a flight that has no such number is the worst."""
        value = self.sign * self.value(option)
        return -math.inf if math.isnan(value) else value


def _spin_tie(one: Option, other: Option) -> float:
    return max(SPIN_TIE_RPM, SPIN_TIE_SHARE * max(one.spin_se_rpm, other.spin_se_rpm))


def _apex_tie(_: Option, __: Option) -> float:
    return APEX_TIE_M


def _land_tie(_: Option, __: Option) -> float:
    return LAND_TIE_DEG


WISHES: Final[dict[Want, Wish]] = {  # every wish but the window's
    "spin": Wish(lambda o: o.spin_rpm, 1.0, _spin_tie),
    "low-spin": Wish(lambda o: o.spin_rpm, -1.0, _spin_tie),
    "high": Wish(lambda o: o.flight.apex_m, 1.0, _apex_tie),
    "low": Wish(lambda o: o.flight.apex_m, -1.0, _apex_tie),
    "soft": Wish(lambda o: o.flight.land_deg, 1.0, _land_tie),
}


def least_chance(options: Sequence[Option]) -> float:
    """Return the least chance that a wish looks at: three quarters of the best.

    Moved to the edge of a whole percentage, so that two options that show the same one are treated alike.
    """
    shown = float(rounded(100.0 * NEAR_BEST * max(option.chance for option in options)))
    return max(0.0, shown / 100.0 - _HALF_PERCENT)


def rank(options: Sequence[Option], want: Want, near: Sequence[Option]) -> list[Option]:
    """Order by chance, or the near ones by the wish and the others behind them by chance.

    Of near ones that the wish cannot tell from the best of them the better chance comes first; then on from the best
    of the rest.
    """
    by_chance = sorted(options, key=lambda o: (-o.chance, not o.practised, -o.n_shots))
    if want == "window":
        return by_chance
    wish = WISHES[want]
    rest = [option for option in by_chance if option in near]
    others = [option for option in by_chance if option not in near]
    ranked: list[Option] = []
    while rest:
        leader = max(rest, key=wish.goodness)
        least = wish.goodness(leader)
        tied = [o for o in rest if o is leader or wish.goodness(o) >= least - wish.tie(o, leader)]
        ranked += tied
        rest = [option for option in rest if option not in tied]
    return ranked + others


def find_rival(ranked: Sequence[Option], want: Want) -> Option | None:
    """Return the option that is better at what the wish did not ask for, or None when the best is best at both."""
    best, others = ranked[0], ranked[1:]
    if want != "window":
        rival = max(others, key=lambda o: o.chance, default=None)
        return rival if rival is not None and rival.chance > best.chance else None
    more_spin = [
        o
        for o in others
        if o.spin_rpm > best.spin_rpm + _spin_tie(o, best) and (o.support != "beyond" or best.support == "beyond")
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
