"""What a session taught the chart: every cell before and after it, and what was hit in between."""

import itertools
import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

from wedgelab.prediction import Predictor, ShotKind, Support
from wedgelab.shots import Bag, Shot, SwingLength, Wedge, counts_for, lie_apart

# Standard deviations that hold a change 19 times in 20: Student's t of 4 degrees of freedom, for bad days and mishits
# give changes longer tails than a normal number has.
_EXPECTED_SDS: Final = 2.7764451051977987
FEWEST_TOLD: Final = 8  # solid balls of a session: one or two odd ones among fewer move the whole chart at once
_LEAST_OF_DOUBT: Final = 1.0 / 3.0  # a change of a third of the doubt that is left says nothing, whatever was learned
DRIFT: Final = 0.003  # of log carry: what a player drifts from session to session, as the model believes of small moves


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of one cell: the median carry, its standard error, and what stands behind it."""

    carry_m: float
    carry_se_m: float
    support: Support = "measured"


@dataclass(frozen=True, slots=True)
class LearnedCell:
    """One wedge and swing before and after a session.

    ``n_balls`` counts the session's solid balls of it. ``is_as_expected``: so large a change comes 19 times in 20 if
    what was believed before was right. Then nothing can be concluded of the player, neither that anything changed nor
    that nothing did. None where the session has too few solid balls to tell.
    """

    wedge: str
    loft_deg: float
    swing: str
    swing_deg: float
    n_balls: int
    carry_before_m: float
    carry_before_se_m: float
    support_before: Support
    carry_m: float
    carry_se_m: float
    support: Support
    change_m: float
    is_as_expected: bool | None


@dataclass(frozen=True, slots=True)
class Learned:
    """All cells, the largest change first; the mean standard error as a share of carry before and after.

    ``from_others``: nothing was logged before, so that ``before`` is what was believed of golfers in general.
    """

    cells: tuple[LearnedCell, ...]
    doubt_before: float
    doubt_after: float
    from_others: bool = False

    @property
    def unexpected(self) -> tuple[LearnedCell, ...]:
        """The cells that changed by more than was to be expected."""
        return tuple(cell for cell in self.cells if cell.is_as_expected is False)


@dataclass(frozen=True, slots=True)
class HitGroup:
    """Balls of a session of one wedge and swing, as they were measured.

    ``swing`` is the named length nearest to the balls, empty for lengths between the named ones: those have no median,
    for they were not meant to go equally far. Median, mean and spread are of the ``n_solid`` balls, the spread (a
    standard deviation) of two or more; the span from the shortest to the longest is of all.
    """

    wedge: str
    loft_deg: float
    swing: str
    trajectory: str
    lie: str
    n_balls: int
    n_solid: int
    median_m: float | None
    mean_m: float | None
    sd_m: float | None
    low_m: float
    high_m: float
    spin_rpm: float | None


def known_carries(predictor: Predictor, bag: Bag) -> tuple[Known, ...]:
    """Return what a predictor knows of every cell of the chart, row by row."""
    kinds = [
        ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg)
        for wedge, swing in itertools.product(bag.wedges, bag.swings)
    ]
    return tuple(Known(one.carry_m, one.carry_se_m, one.support) for one in predictor.predict(kinds))


def what_was_learned(
    bag: Bag,
    before: Sequence[Known],
    after: Sequence[Known],
    *,
    solid: Sequence[Shot] = (),
    from_others: bool = False,
    can_tell: bool = True,
) -> Learned:
    """Hold the chart after a session against the one before, cell by cell; ``solid`` are the session's solid balls.

    ``can_tell``: whether they are enough (`FEWEST_TOLD`) to say what was to be expected.
    """
    shots = list(itertools.product(bag.wedges, bag.swings))
    cells = [
        LearnedCell(
            wedge.label,
            wedge.loft_deg,
            swing.label,
            swing.swing_deg,
            _count(solid, wedge, swing),
            then.carry_m,
            then.carry_se_m,
            then.support,
            now.carry_m,
            now.carry_se_m,
            now.support,
            now.carry_m - then.carry_m,
            is_as_expected(then, now) if can_tell else None,
        )
        for (wedge, swing), then, now in zip(shots, before, after, strict=True)
    ]
    return Learned(
        tuple(sorted(cells, key=lambda cell: -abs(cell.change_m))), _doubt(before), _doubt(after), from_others
    )


def is_as_expected(then: Known, now: Known) -> bool:
    """Tell whether a median changed by no more than a session is expected to change it, 19 times in 20.

    What is known after a session has on average that much less variance than what was known before as the median
    itself moved (the law of total variance), beside what the player drifted in between. In log carry.

    Measured with 60 invented players who hit 20 balls a session (tests/test_learned.py): of those who stay the same 3 %
    of the cells change by more in the fourth session, 13 % of the players have such a cell; of those who carry 4 %
    farther from then on 34 % of the cells, and 70 % of the players. It does not hold of a ball or three, of which an
    odd one moves every cell at once: see `FEWEST_TOLD`.
    """
    before, after = then.carry_se_m / then.carry_m, now.carry_se_m / now.carry_m
    sd = math.sqrt(max(before**2 + DRIFT**2 - after**2, DRIFT**2, (_LEAST_OF_DOUBT * after) ** 2))
    return abs(math.log(now.carry_m / then.carry_m)) <= _EXPECTED_SDS * sd


def hit_groups(shots: Sequence[Shot], solid: Sequence[bool], swings: Sequence[SwingLength]) -> tuple[HitGroup, ...]:
    """Sum up a session's balls by wedge and named swing length, the least loft and the shortest swing first."""
    groups: dict[tuple[float, str, float, str, str, str], list[tuple[Shot, bool]]] = {}
    for shot, is_solid in zip(shots, solid, strict=True):
        swing = _named(shot, swings)
        length = math.inf if swing is None else swing.swing_deg
        label = "" if swing is None else swing.label
        key = (shot.loft_deg, shot.wedge, length, label, shot.trajectory, lie_apart(shot.lie))
        groups.setdefault(key, []).append((shot, is_solid))
    return tuple(_group(key, balls) for key, balls in sorted(groups.items(), key=lambda item: item[0]))


def _named(shot: Shot, swings: Sequence[SwingLength]) -> SwingLength | None:
    """Return the named swing length of a ball: the nearest, if it is as near as a ball of its cell must be."""
    near = min(swings, key=lambda swing: abs(swing.swing_deg - shot.swing_deg), default=None)
    if near is None:
        return None
    is_near = counts_for(
        shot, wedge=shot.wedge, loft_deg=shot.loft_deg, swing_deg=near.swing_deg, trajectory=shot.trajectory,
        lie=shot.lie,
    )  # fmt: skip
    return near if is_near else None


def _group(key: tuple[float, str, float, str, str, str], balls: Sequence[tuple[Shot, bool]]) -> HitGroup:
    loft, wedge, _, swing, trajectory, lie = key
    every = [shot.carry_m for shot, _ in balls]
    good = [shot.carry_m for shot, is_solid in balls if is_solid]
    spins = [shot.spin_rpm for shot, is_solid in balls if is_solid and shot.spin_rpm is not None]
    meant_alike = bool(good and swing)
    return HitGroup(
        wedge,
        loft,
        swing,
        trajectory,
        lie,
        len(every),
        len(good),
        statistics.median(good) if meant_alike else None,
        statistics.fmean(good) if meant_alike else None,
        statistics.stdev(good) if meant_alike and len(good) > 1 else None,
        min(every),
        max(every),
        statistics.median(spins) if spins and meant_alike else None,
    )


def _count(balls: Sequence[Shot], wedge: Wedge, swing: SwingLength) -> int:
    """Return how many balls count for a cell of the chart."""
    asked = partial(
        counts_for, wedge=wedge.label, loft_deg=wedge.loft_deg, swing_deg=swing.swing_deg, trajectory="stock", lie=""
    )
    return sum(asked(ball) for ball in balls)


def _doubt(known: Sequence[Known]) -> float:
    return sum(one.carry_se_m / one.carry_m for one in known) / len(known)
