"""What if the bag were different: wedges added, taken out and bent, and how the two bags cover the same targets."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from wedgelab.errors import BadRequestError, NothingFitsError, quoted
from wedgelab.gaps.coverage import INTERVAL, Stock, draw_known, stock_of, targets_between
from wedgelab.gaps.report import GapReport, report_on, span_of
from wedgelab.gaps.stretches import answered
from wedgelab.prediction import Predictor
from wedgelab.shots import SAME_LOFT_DEG, Bag, Wedge
from wedgelab.units import LengthUnit, format_number, from_unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.window import Window

    Array = NDArray[np.float64]

SURE: Final = 0.9  # from this chance on the one bag is called better


@dataclass(frozen=True, slots=True)
class LostReach:
    """An end of today's reach that another bag gives up: none of its stock shots goes as far, or as short."""

    end: Literal["shortest", "longest"]
    today_m: float
    other_m: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """How much better another bag would cover the targets than today's, were carries and spread known exactly.

    From joint draws of all medians: the mean difference of coverage, its 80 % interval, and the chance that the other
    bag is the better one. ``never_hit`` are its wedges without a logged ball at any named swing. ``wedges_more`` may
    be negative; ``contains`` says which of the two holds all wedges of the other one, and so cannot cover less.
    """

    difference: float
    difference_p10: float
    difference_p90: float
    better_probability: float
    never_hit: tuple[str, ...] = ()
    wedges_more: int = 0
    contains: Literal["", "other", "today"] = ""
    lost_reach: tuple[LostReach, ...] = ()

    @property
    def verdict(self) -> str:
        """``better``, ``worse``, or ``open`` where the doubt leaves both possible."""
        if self.better_probability >= SURE:
            return "better"
        return "worse" if 1.0 - self.better_probability >= SURE else "open"


def changed_bag(
    bag: Bag, *, without: Sequence[str] = (), bend: Mapping[str, float] | None = None, add: Sequence[Wedge] = ()
) -> Bag:
    """Return the bag after wedges were taken out, then bent to another loft, then added.

    Raises
    ------
    WedgelabError
        for a wedge that is not there, one that is there already, and a bag that would be empty or the same.
    """
    left = list(bag.wedges)
    for label in without:
        left.remove(Bag(tuple(left)).wedge(label, may_be_new=False))
    for label, loft_deg in (bend or {}).items():
        old = Bag(tuple(left)).wedge(label, may_be_new=False)
        if abs(old.loft_deg - loft_deg) <= SAME_LOFT_DEG:
            raise BadRequestError(f"wedge {quoted(label)} has {_loft(loft_deg)} deg already", "bend it to another loft")
        left.remove(old)
        _refuse_twin(Wedge(old.label, loft_deg), left)
        left.append(Wedge(old.label, loft_deg, old.bounce_deg))
    for wedge in add:
        _refuse_twin(wedge, left)
        left.append(wedge)
    if not left:
        raise BadRequestError("no wedge is left in the bag", "leave one in, or add one with: --with 52")
    new = Bag(tuple(left), bag.swings)
    if _lofts(new) == _lofts(bag):
        raise BadRequestError("the bag stays as it is", "name another wedge for: --with, --without, --bend")
    return new


@dataclass(frozen=True, slots=True)
class WhatIf:
    """Today's bag and another over the same targets."""

    today: GapReport
    other: GapReport
    comparison: Comparison


def what_if(
    predictor: Predictor,
    today: Bag,
    other: Bag,
    *,
    window: "Window",
    rng: np.random.Generator,
    player: str = "",
    low_m: float | None = None,
    high_m: float | None = None,
    unit: LengthUnit = "yd",
) -> WhatIf:
    """Report on two bags and compare them; an end of the span that is not given is that of today's reach.

    Only a span that neither bag reaches raises `NothingFitsError`. Shots that are in both bags share their draws, and
    shots of neighbouring lofts what is known of both.
    """
    stocks = [stock_of(predictor, bag) for bag in (today, other)]
    try:
        span = span_of(stocks[0], low_m, high_m, window, unit)
    except NothingFitsError:
        if low_m is None or high_m is None:
            raise
        span = span_of(stocks[1], low_m, high_m, window, unit)
    targets = targets_between(*span, from_unit(1.0, unit))
    drawn = draw_known(predictor, stocks[0], rng, stocks[1].kinds)
    known = drawn.coverages(stocks[0].kinds, targets, window), drawn.coverages(stocks[1].kinds, targets, window)
    reports = [
        report_on(predictor, stock, bag, targets, draws, window=window, player=player)
        for stock, bag, draws in zip(stocks, (today, other), known, strict=True)
    ]
    return WhatIf(reports[0], reports[1], compare_bags((today, other), (stocks[0], stocks[1]), known, window))


def compare_bags(
    bags: tuple[Bag, Bag], stocks: tuple[Stock, Stock], known: "tuple[Array, Array]", window: "Window"
) -> Comparison:
    """Compare another bag with today's, the first of each pair, draw by draw."""
    today, other = (_lofts(bag) for bag in bags)
    return replace(
        comparison(*known),
        never_hit=never_hit(stocks[1]),
        wedges_more=len(other) - len(today),
        contains="other" if today < other else "today" if other < today else "",
        lost_reach=lost_reach(*stocks, window),
    )


def comparison(today: "Array", other: "Array") -> Comparison:
    """Compare the coverages of two bags, draw by draw; a draw without a difference counts half."""
    difference = other - today
    low, high = np.quantile(difference, INTERVAL)
    better = float(np.mean(difference > 0.0) + 0.5 * np.mean(difference == 0.0))
    return Comparison(float(difference.mean()), float(low), float(high), better)


def lost_reach(today: Stock, other: Stock, window: "Window") -> tuple[LostReach, ...]:
    """Return the ends of today's reach that lie beyond the windows of all the other bag's stock shots."""
    (shortest, *_), longest = today.shots, today.shots[-1]
    first, last = other.shots[0].carry_m, other.shots[-1].carry_m
    lost: list[LostReach] = []
    if answered(first, window)[0] > shortest.carry_m:
        lost.append(LostReach("shortest", shortest.carry_m, first))
    if answered(last, window)[1] < longest.carry_m:
        lost.append(LostReach("longest", longest.carry_m, last))
    return tuple(lost)


def never_hit(stock: Stock) -> tuple[str, ...]:
    """Return the wedges without a logged ball at any of the swings, in loft order."""
    balls: dict[tuple[float, str], int] = {}
    for shot in stock.shots:
        key = shot.loft_deg, shot.wedge
        balls[key] = balls.get(key, 0) + shot.n_shots
    return tuple(label for (_, label), n in sorted(balls.items()) if not n)


def _refuse_twin(wedge: Wedge, others: Sequence[Wedge]) -> None:
    for other in others:
        if other.label.casefold() == wedge.label.casefold():
            raise BadRequestError(
                f"a wedge {quoted(wedge.label)} is in the bag already", "take another label, or bend it: --bend 54=53"
            )
        if abs(other.loft_deg - wedge.loft_deg) <= SAME_LOFT_DEG:
            raise BadRequestError(
                f"a wedge of {_loft(wedge.loft_deg)} deg is in the bag already ({other.label})", "name another loft"
            )


def _lofts(bag: Bag) -> set[tuple[str, float]]:
    return {(wedge.label.casefold(), wedge.loft_deg) for wedge in bag.wedges}


def _loft(loft_deg: float) -> str:
    return format_number(loft_deg, 1).removesuffix(".0")
