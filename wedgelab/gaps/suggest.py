"""Which lofts would cover a span of targets best, with the player's own named swings."""

import copy
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.errors import BadRequestError, NothingFitsError
from wedgelab.gaps.bags import Comparison, compare_bags
from wedgelab.gaps.coverage import (
    INTERVAL,
    Stock,
    chances_now,
    draw_known,
    mostly_believed,
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
_SAME_DEGREE_DEG: Final = 0.5  # a wedge of today's stands for the whole degree that it is nearest to
_FINALISTS: Final = 6  # judged anew: more than are shown, so that the shown ones stand in their order
_CLUBS_SHARE: Final = 0.5  # of the work, about: what every wedge could cover, then the search, then the judging anew
_SEARCHED_SHARE: Final = 0.7


@dataclass(frozen=True, slots=True)
class SuggestedBag:
    """A bag, its reach and its coverage: with the doubt as it is now, and were carries and spread known exactly.

    ``best_chances`` has the best chance at each of the suggestion's targets. ``against_today`` compares it with
    today's bag, as `what_if` does.
    """

    wedges: tuple[Wedge, ...]
    shortest_m: float
    longest_m: float
    best_chances: tuple[float, ...]
    coverage: float
    known_coverage: float
    known_coverage_p10: float
    known_coverage_p90: float
    never_hit: tuple[str, ...]
    against_today: Comparison | None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """The bags that cover the targets between two distances best, and today's.

    The first is the one to take: among bags within half a point of the best the one with most of today's wedges. The
    others follow by coverage.
    """

    player: str
    low_m: float
    high_m: float
    window: "Window"
    targets_m: tuple[float, ...]
    today: SuggestedBag
    bags: tuple[SuggestedBag, ...]
    n_searched: int
    n_shots: int
    n_sessions: int

    @property
    def better_but_new(self) -> SuggestedBag | None:
        """The bag that covers most, if the first one stands before it because it keeps more of today's wedges."""
        most = max(self.bags, key=lambda bag: bag.known_coverage)
        return most if most.known_coverage > self.bags[0].known_coverage else None

    @property
    def is_mostly_belief(self) -> bool:
        """Whether the spread is more what is believed of golfers before the first ball than what was seen."""
        return mostly_believed(self.n_shots)


@dataclass(frozen=True, slots=True, eq=False)
class _Club:
    """A wedge that could be in the bag, and its best chances over its swings for each draw: (draws, targets)."""

    wedge: Wedge
    known: "Array"


@dataclass(frozen=True, slots=True, eq=False)
class _Today:
    """Today's bag with draws of what it would cover were all known: (draws,)."""

    bag: Bag
    stock: Stock
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
    on_step: Callable[[float], None] | None = None,
) -> Suggestion:
    """Search all bags of ``count`` wedges of whole degrees, the kept ones among them, for the best coverage.

    A bag is judged by its coverage were all known exactly, over joint draws of what it may be: a new wedge is
    bought to be practised, and the doubt about it says how sure the answer is, not how good the wedge. The bags found
    are judged anew with other draws, so that the luck of the first ones flatters none: those that `build_gaps` and
    `what_if` make with the same ``rng``, so that all three say the same of a bag. ``on_step`` is told the share that
    is done.
    """
    _check_count(count, keep)
    tell = on_step or (lambda _: None)
    stock = stock_of(predictor, bag)
    low, high = span_of(stock, low_m, high_m, window, unit)
    targets = targets_between(low, high, from_unit(1.0, unit))
    wedges = candidates(bag, keep)
    search = rng.spawn(1)[0]
    clubs = []
    for share, club in _clubs(predictor, stock, wedges, bag, targets, window=window, rng=search):
        clubs.append(club)
        tell(_CLUBS_SHARE * share)
    scored = []
    for share, score, chosen in _search(clubs, count, {w.label for w in keep}):
        scored.append((score, chosen))
        tell(_CLUBS_SHARE + (_SEARCHED_SHARE - _CLUBS_SHARE) * share)
    if not scored:
        raise NothingFitsError(
            f"no bag of {count} wedges at least {format_number(APART_DEG)} deg apart holds the kept ones",
            "take fewer wedges, or keep fewer",
        )

    now = _Today(bag, stock, draw_known(predictor, stock, copy.deepcopy(rng)).coverages(stock.kinds, targets, window))
    finalists, bags = _finalists(scored, clubs, bag), []
    for i, found in enumerate(finalists, start=1):
        other = Bag(found, bag.swings)
        bags.append(_told(predictor, now, other, targets, window=window, rng=copy.deepcopy(rng)))
        tell(_SEARCHED_SHARE + (1.0 - _SEARCHED_SHARE) * i / len(finalists))
    today = replace(_told(predictor, now, bag, targets, window=window, rng=copy.deepcopy(rng)), against_today=None)
    return Suggestion(
        player, low, high, window, targets, today, tuple(_ranked(bags, bag)[:SHOWN]),
        len(scored), predictor.n_shots, predictor.n_sessions,
    )  # fmt: skip


def _told(
    predictor: Predictor,
    today: _Today,
    bag: Bag,
    targets: tuple[float, ...],
    *,
    window: "Window",
    rng: np.random.Generator,
) -> SuggestedBag:
    """Report on a bag and hold it against today's, as `what_if` does."""
    stock = stock_of(predictor, bag)
    known = draw_known(predictor, today.stock, rng, stock.kinds).coverages(stock.kinds, targets, window)
    against = compare_bags((today.bag, bag), (today.stock, stock), (today.known, known), window)
    best = chances_now(predictor, stock.kinds, targets, window).max(axis=0)
    p10, p90 = np.quantile(known, INTERVAL)
    return SuggestedBag(
        wedges=bag.wedges,
        shortest_m=stock.shots[0].carry_m,
        longest_m=stock.shots[-1].carry_m,
        best_chances=tuple(best.tolist()),
        coverage=float(best.mean()),
        known_coverage=float(known.mean()),
        known_coverage_p10=float(p10),
        known_coverage_p90=float(p90),
        never_hit=against.never_hit,
        against_today=against,
    )


def candidates(bag: Bag, keep: Sequence[Wedge]) -> list[Wedge]:
    """Return today's wedges and one of every whole degree that none of today's has, in loft order.

    Of today's wedges with a loft outside the searched ones only the kept can be in a suggested bag.
    """
    own = list(bag.wedges)
    new = [
        Wedge(f"{loft:.0f}", loft)
        for loft in LOFTS_DEG
        if all(abs(loft - w.loft_deg) >= _SAME_DEGREE_DEG and w.label != f"{loft:.0f}" for w in own)
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
    today: Stock,
    wedges: Sequence[Wedge],
    bag: Bag,
    targets: Sequence[float],
    *,
    window: "Window",
    rng: np.random.Generator,
) -> "Iterator[tuple[float, _Club]]":
    """Yield what each wedge could cover, and the share of them that is done."""
    kinds = [[ShotKind(w.label, w.loft_deg, s.swing_deg) for s in bag.swings] for w in wedges]
    drawn = draw_known(predictor, today, rng, [kind for mine in kinds for kind in mine])
    for i, (wedge, mine) in enumerate(zip(wedges, kinds, strict=True), start=1):
        yield i / len(wedges), _Club(wedge, drawn.best_chances(mine, targets, window))


def _search(clubs: Sequence[_Club], count: int, keep: set[str]) -> Iterator[tuple[float, float, tuple[int, ...]]]:
    """Yield every allowed bag, as indices in loft order, with its mean coverage over the draws after the share done.

    Kept wedges may stand as close as they do; every other one keeps its distance.
    """
    kept = tuple(i for i, club in enumerate(clubs) if club.wedge.label in keep)
    free = [
        i
        for i, club in enumerate(clubs)
        if i not in kept and LOFTS_DEG[0] - _SAME_DEGREE_DEG <= club.wedge.loft_deg <= LOFTS_DEG[-1] + _SAME_DEGREE_DEG
    ]
    first = 0  # place of the first wedge that was chosen: bags grow fewer towards the end, but a share is a share

    def grow(chosen: tuple[int, ...], best: "Array", start: int) -> Iterator[tuple[float, float, tuple[int, ...]]]:
        nonlocal first
        if len(chosen) == count:
            yield first / max(len(free), 1), float(best.mean()), tuple(sorted(chosen))
            return
        for position in range(start, len(free)):
            if len(chosen) == len(kept):
                first = position
            i = free[position]
            loft = clubs[i].wedge.loft_deg
            if all(abs(loft - clubs[j].wedge.loft_deg) >= APART_DEG - 1e-9 for j in chosen):
                yield from grow((*chosen, i), np.maximum(best, clubs[i].known), position + 1)

    nothing = np.zeros_like(clubs[0].known)
    yield from grow(kept, np.max([nothing, *(clubs[i].known for i in kept)], axis=0), 0)


def _finalists(
    scored: Sequence[tuple[float, tuple[int, ...]]], clubs: Sequence[_Club], bag: Bag
) -> list[tuple[Wedge, ...]]:
    """Return the bags to judge anew: the best ones, and of those as good as the best those with most of today's."""
    by_score = sorted(scored, key=lambda one: (-one[0], one[1]))
    bags = [(score, tuple(clubs[i].wedge for i in chosen)) for score, chosen in by_score]
    as_good = [one for one in bags if one[0] >= bags[0][0] - WORTH_A_WEDGE]
    least_changed = sorted(as_good, key=lambda one: -_kept(one[1], bag))  # of as many the better one stays first
    return list(dict.fromkeys(wedges for _, wedges in [*bags[:_FINALISTS], *least_changed[:SHOWN]]))


def _ranked(bags: Sequence[SuggestedBag], today: Bag) -> list[SuggestedBag]:
    """Order by coverage, and put first what is as good as the best and changes least."""
    best_first = sorted(bags, key=lambda one: -one.known_coverage)
    least = best_first[0].known_coverage - WORTH_A_WEDGE
    as_good = [one for one in best_first if one.known_coverage >= least]
    first = max(as_good, key=lambda one: (_kept(one.wedges, today), one.known_coverage))
    return [first, *(one for one in best_first if one is not first)]


def _kept(wedges: Sequence[Wedge], bag: Bag) -> int:
    return sum(wedge in bag.wedges for wedge in wedges)
