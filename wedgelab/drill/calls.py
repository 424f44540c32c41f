"""Which distances are called, and in which order: drawn from a grid, every band of distance in turn.

Three orders. ``random``: no call twice in a row. ``threes``: three balls, then another call. ``rising``: repeats that
grow rarer, a third of the drill each in runs of three, runs of two and single calls (after Porter and Magill 2010,
J. Sports Sci. 28, 1277, who went from blocked to serial to random practice).
"""

import itertools
import math
import random
from collections.abc import Iterator, Mapping, Sequence
from typing import Final, Literal

from wedgelab.errors import BadRequestError

Order = Literal["random", "threes", "rising"]
ORDERS: Final[tuple[Order, ...]] = ("random", "threes", "rising")
MOST_BALLS: Final = 500
LEAST_STEP_M: Final = 0.1
EVEN_SHARE: Final = 0.5  # of the calls of a drill that is aimed: spread as evenly as without an aim
_BAND_WIDTH_M: Final = 12.0
_MOST_BANDS: Final = 4
_RUN: Final = 3
_TRIES: Final = 50


def call_grid(low_m: float, high_m: float, step_m: float) -> tuple[float, ...]:
    """Return the distances [m] that may be called: the multiples of ``step_m`` within the limits."""
    if not step_m >= LEAST_STEP_M:
        raise BadRequestError(f"a step of {step_m:g} m makes no calls", f"give a step of {LEAST_STEP_M:g} m or more")
    first, last = max(1, math.ceil(low_m / step_m - 1e-9)), math.floor(high_m / step_m + 1e-9)
    if last < first:
        raise BadRequestError("no call lies between the two distances", "take a wider span or a smaller step")
    return tuple(i * step_m for i in range(first, last + 1))


def make_calls(
    balls: int,
    low_m: float,
    high_m: float,
    step_m: float,
    seed: int,
    *,
    order: Order = "random",
    needs: Mapping[float, float] | None = None,
) -> tuple[float, ...]:
    """Draw calls [m] on the grid of ``step_m`` within the limits, in one of the orders. The same seed, the same calls.

    Every band of distance comes up as often, give or take one run. ``needs`` has a weight above 0 for each distance of
    the grid: half of the calls stay even, the other half goes where the weights are, so that nothing is ever dropped.
    """
    if not 1 <= balls <= MOST_BALLS:
        raise BadRequestError(f"{balls} balls is no drill", f"ask for 1 to {MOST_BALLS}")
    grid = call_grid(low_m, high_m, step_m)
    bands = [[call for call in grid if low <= call < high] for low, high in bands_of(grid, low_m, high_m)]
    bands = [band for band in bands if band]
    rng = random.Random(seed)  # noqa: S311 - calls to practise, not a secret
    runs = _run_lengths(balls, order)
    aims = None if needs is None else _aims(bands, needs)
    turns = _turns(len(runs), bands, aims, rng)
    calls: list[float] = []
    for length, band in zip(runs, turns, strict=True):
        others = [call for call in band if not calls or call != calls[-1]] or band
        weights = None if aims is None else [aims[call] for call in others]
        calls.extend(rng.choices(others, weights) * length)
    return tuple(calls)


def band_edges(low_m: float, high_m: float) -> list[tuple[float, float]]:
    """Split a span of calls into one to four bands of equal width; the last one includes its end."""
    count = max(1, min(_MOST_BANDS, int((high_m - low_m) / _BAND_WIDTH_M)))
    width = (high_m - low_m) / count
    edges = [low_m + i * width for i in range(count)] + [math.nextafter(high_m, math.inf)]
    return list(itertools.pairwise(edges))


def bands_of(calls: Sequence[float], low_m: float, high_m: float) -> list[tuple[float, float]]:
    """Return the bands of a drill's limits: drawing and summing up part the calls alike. No call falls outside."""
    return band_edges(min(low_m, *calls), max(high_m, *calls))


def _run_lengths(balls: int, order: Order) -> list[int]:
    """Return how often each call is repeated, one number for each change of the call."""
    if order == "random":
        return [1] * balls
    if order == "threes":
        return [_RUN] * (balls // _RUN) + [balls % _RUN] * (balls % _RUN > 0)
    threes, twos = round(balls / 9), round(balls / 6)  # about a third of the balls each
    return [3] * threes + [2] * twos + [1] * (balls - 3 * threes - 2 * twos)


def _turns(
    count: int, bands: Sequence[list[float]], aims: Mapping[float, float] | None, rng: random.Random
) -> Iterator[list[float]]:
    """Yield the band of each run: rounds in which every band comes as often as it should, each round shuffled."""
    last: list[float] = []
    if aims is None:
        shares, owed = [1.0 / len(bands)] * len(bands), [0.0] * len(bands)
    else:  # what a short drill owes a band of a small share must not always be rounded the same way
        shares, owed = [math.fsum(aims[call] for call in band) for band in bands], [rng.random() for _ in bands]
    given = 0
    while given < count:
        owed = [debt + len(bands) * share for debt, share in zip(owed, shares, strict=True)]
        turn: list[int] = []
        while len(turn) < len(bands):
            most = max(range(len(bands)), key=lambda i: owed[i])
            owed[most] -= 1.0
            turn.append(most)
        _shuffle(turn, bands, last, rng)
        for i in turn[: count - given]:
            last = bands[i]
            yield last
        given += len(turn)


def _shuffle(turn: list[int], bands: Sequence[list[float]], last: list[float], rng: random.Random) -> None:
    """Shuffle a round so that a band of a single call does not follow itself, as far as that can be."""
    for _ in range(_TRIES):
        rng.shuffle(turn)
        row = [last, *(bands[i] for i in turn)]
        if not any(len(a) == 1 and a == b for a, b in itertools.pairwise(row)):
            return


def _aims(bands: Sequence[list[float]], needs: Mapping[float, float]) -> dict[float, float]:
    """Return the share of the calls that each distance is to get: half of all evenly, half by the weights."""
    even = 1.0 / len(bands)
    total = math.fsum(math.fsum(needs[call] for call in band) / len(band) for band in bands)
    return {
        call: (EVEN_SHARE * even + (1.0 - EVEN_SHARE) * needs[call] / total) / len(band)
        for band in bands
        for call in band
    }
