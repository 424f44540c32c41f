"""Which lofts would cover a span of targets best, with the player's own named swings."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.errors import BadRequestError, NothingFitsError
from wedgelab.gaps.bags import Comparison, comparison, never_hit
from wedgelab.gaps.coverage import (
    chances_known,
    chances_now,
    draw_known,
    own_log_sds,
    stock_of,
    targets_between,
)
from wedgelab.gaps.report import span_of
from wedgelab.prediction import Predictor, ShotKind
from wedgelab.shots import Bag, Wedge
from wedgelab.units import LengthUnit, format_number, from_unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.window import Window

    Array = NDArray[np.float64]

LOFTS_DEG: Final = tuple(float(loft) for loft in range(44, 63))
APART_DEG: Final = 3.0  # closer wedges would hardly be carried: common practice, no source
COUNTS: Final = (1, 6)
SHOWN: Final = 3
WORTH_A_WEDGE: Final = 0.005  # of coverage: for less than half a point nobody changes a wedge that is there
_SAME_LOFT_DEG: Final = 0.5


@dataclass(frozen=True, slots=True)
class SuggestedBag:
    """A bag, its reach and its coverage: with the doubt as it is now, and were carries and spread known exactly.

    ``against_today`` compares it with today's bag.
    """

    wedges: tuple[Wedge, ...]
    shortest_m: float
    longest_m: float
    coverage: float
    known_coverage: float
    known_coverage_p10: float
    known_coverage_p90: float
    never_hit: tuple[str, ...]
    against_today: Comparison | None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """The bags that cover the targets between two distances best, best first, and today's.

    Among bags within half a point of the best the one with most of today's wedges comes first.
    """

    player: str
    low_m: float
    high_m: float
    window: "Window"
    today: SuggestedBag
    bags: tuple[SuggestedBag, ...]
    n_searched: int
    n_shots: int
    n_sessions: int


@dataclass(frozen=True, slots=True, eq=False)
class _Club:
    """A wedge that could be in the bag, and its best chances over its swings for each draw: (draws, targets)."""

    wedge: Wedge
    is_todays: bool
    known: "Array"


def suggest(
    predictor: Predictor,
    bag: Bag,
    count: int,
    *,
    window: "Window",
    rng: np.random.Generator,
    keep: Sequence[Wedge] = (),
    low_m: float | None = None,
    high_m: float | None = None,
    player: str = "",
    unit: LengthUnit = "yd",
) -> Suggestion:
    """Search all bags of ``count`` wedges of whole degrees, the kept ones among them, for the best coverage.

    A bag is judged by its coverage were all known exactly, over joint draws of what it may be: a new wedge is
    bought to be practised, and the doubt about it says how sure the answer is, not how good the wedge. The bags found
    are judged anew with other draws, so that the luck of the first ones flatters none.
    """
    _check_count(count, keep)
    stock = stock_of(predictor, bag)
    low, high = span_of(stock, low_m, high_m, window, unit)
    targets = targets_between(low, high, from_unit(1.0, unit))
    wedges = candidates(bag, keep)
    clubs = _clubs(predictor, wedges, bag, targets, window, rng)
    scored = [(float(score), chosen) for chosen, score in _search(clubs, count, {w.label for w in keep})]
    if not scored:
        raise NothingFitsError(
            f"no bag of {count} wedges at least {format_number(APART_DEG)} deg apart holds the kept ones",
            "take fewer wedges, or keep fewer",
        )
    fresh = {club.wedge: club for club in _clubs(predictor, wedges, bag, targets, window, rng)}
    today = [fresh[wedge] for wedge in bag.wedges]
    ranked = _ranked(scored, clubs)[:SHOWN]
    shown = {clubs[i].wedge for _, chosen in ranked for i in chosen}
    now = _now(predictor, [w for w in wedges if w in shown or w in bag.wedges], bag, targets, window)

    def told(chosen: Sequence[_Club], *, is_today: bool = False) -> SuggestedBag:
        known = _together(chosen).mean(axis=1)
        own = stock_of(predictor, Bag(tuple(club.wedge for club in chosen), bag.swings))
        unhit = never_hit(own)
        p10, p90 = np.quantile(known, (0.1, 0.9))
        return SuggestedBag(
            wedges=tuple(club.wedge for club in chosen),
            shortest_m=own.shots[0].carry_m,
            longest_m=own.shots[-1].carry_m,
            coverage=float(np.max([now[club.wedge] for club in chosen], axis=0).mean()),
            known_coverage=float(known.mean()),
            known_coverage_p10=float(p10),
            known_coverage_p90=float(p90),
            never_hit=unhit,
            against_today=None if is_today else comparison(_together(today).mean(axis=1), known, unhit),
        )

    best = [[fresh[clubs[i].wedge] for i in chosen] for _, chosen in ranked]
    return Suggestion(
        player, low, high, window, told(today, is_today=True), tuple(told(chosen) for chosen in best),
        len(scored), predictor.n_shots, predictor.n_sessions,
    )  # fmt: skip


def candidates(bag: Bag, keep: Sequence[Wedge]) -> list[Wedge]:
    """Return today's wedges and one of every whole degree that none of today's has, in loft order.

    Of today's wedges with a loft outside the searched ones only the kept can be in a suggested bag.
    """
    own = list(bag.wedges)
    new = [
        Wedge(f"{loft:.0f}", loft)
        for loft in LOFTS_DEG
        if all(abs(loft - w.loft_deg) >= _SAME_LOFT_DEG and w.label != f"{loft:.0f}" for w in own)
    ]
    return sorted([*own, *new, *(w for w in keep if w not in own)], key=lambda w: (w.loft_deg, w.label))


def _check_count(count: int, keep: Sequence[Wedge]) -> None:
    low, high = COUNTS
    if not low <= count <= high:
        raise BadRequestError(f"a bag of {count} wedges", f"ask for {low} to {high}: --count 3")
    if len(keep) > count:
        raise BadRequestError(f"{len(keep)} wedges to keep in a bag of {count}", "keep fewer, or raise --count")


def _clubs(
    predictor: Predictor,
    wedges: Sequence[Wedge],
    bag: Bag,
    targets: Sequence[float],
    window: "Window",
    rng: np.random.Generator,
) -> list[_Club]:
    kinds = [ShotKind(w.label, w.loft_deg, s.swing_deg) for w in wedges for s in bag.swings]
    predicted, covariance = predictor.predict(kinds), predictor.log_median_covariance(kinds)
    own = own_log_sds(predicted, covariance)
    drawn = draw_known(predictor, [p.carry_m for p in predicted], covariance, rng)
    width = len(bag.swings)
    rows = [slice(i * width, (i + 1) * width) for i in range(len(wedges))]
    return [
        _Club(wedge, wedge in bag.wedges, chances_known(drawn.of(row), own[row], targets, window))
        for wedge, row in zip(wedges, rows, strict=True)
    ]


def _search(clubs: Sequence[_Club], count: int, keep: set[str]) -> Iterator[tuple[tuple[int, ...], float]]:
    """Yield every allowed bag, as indices in loft order, with its mean coverage over the draws.

    Kept wedges may stand as close as they do; every other one keeps its distance.
    """
    kept = tuple(i for i, club in enumerate(clubs) if club.wedge.label in keep)
    free = [
        i
        for i, club in enumerate(clubs)
        if i not in kept and LOFTS_DEG[0] - _SAME_LOFT_DEG <= club.wedge.loft_deg <= LOFTS_DEG[-1] + _SAME_LOFT_DEG
    ]

    def grow(chosen: tuple[int, ...], best: "Array", start: int) -> Iterator[tuple[tuple[int, ...], float]]:
        if len(chosen) == count:
            yield tuple(sorted(chosen)), float(best.mean())
            return
        for position in range(start, len(free)):
            i = free[position]
            loft = clubs[i].wedge.loft_deg
            if all(abs(loft - clubs[j].wedge.loft_deg) >= APART_DEG - 1e-9 for j in chosen):
                yield from grow((*chosen, i), np.maximum(best, clubs[i].known), position + 1)

    nothing = np.zeros_like(clubs[0].known)
    yield from grow(kept, np.max([nothing, *(clubs[i].known for i in kept)], axis=0), 0)


def _ranked(
    scored: Sequence[tuple[float, tuple[int, ...]]], clubs: Sequence[_Club]
) -> list[tuple[float, tuple[int, ...]]]:
    """Order by coverage, and put first what is as good as the best and changes least."""
    by_score = sorted(scored, key=lambda one: (-one[0], one[1]))
    as_good = [one for one in by_score if one[0] >= by_score[0][0] - WORTH_A_WEDGE]
    first = max(as_good, key=lambda one: (sum(clubs[i].is_todays for i in one[1]), one[0]))
    return [first, *(one for one in by_score if one is not first)]


def _now(
    predictor: Predictor, wedges: Sequence[Wedge], bag: Bag, targets: Sequence[float], window: "Window"
) -> "dict[Wedge, Array]":
    """Return the best chance of each wedge at each target with the doubt as it is now; all asked at once."""
    kinds = [ShotKind(w.label, w.loft_deg, swing.swing_deg) for w in wedges for swing in bag.swings]
    chances = chances_now(predictor, kinds, targets, window).reshape(len(wedges), len(bag.swings), len(targets))
    return dict(zip(wedges, chances.max(axis=1), strict=True))


def _together(clubs: Sequence[_Club]) -> "Array":
    return np.asarray(np.max([club.known for club in clubs], axis=0))
