"""What a session taught the chart: every cell before and after it, and what was hit in between."""

import itertools
import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from wedgelab.prediction import Predictor, ShotKind, Support
from wedgelab.shots import MEASURED_SWING_DEG, Bag, Shot, SwingLength

_IN_DOUBT_SES: Final = 1.2815515655446004  # standard errors: eight chances in ten, as the likely range
_SAME_LOFT_DEG: Final = 0.05
_BEHAVES_OTHERWISE: Final = ("rough", "sand")  # lies that are told apart


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of one cell: the median carry, its standard error, and what stands behind it."""

    carry_m: float
    carry_se_m: float
    support: Support = "measured"


@dataclass(frozen=True, slots=True)
class LearnedCell:
    """One wedge and swing before and after a session.

    ``n_balls`` counts the session's solid balls of it. ``is_within_doubt``: the median after lies inside the range that
    held it with eight chances in ten before, so that the chart is sharper but says nothing new.
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
    is_within_doubt: bool


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
    def beyond_doubt(self) -> tuple[LearnedCell, ...]:
        """The cells that changed by more than was in doubt."""
        return tuple(cell for cell in self.cells if not cell.is_within_doubt)


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
) -> Learned:
    """Hold the chart after a session against the one before, cell by cell; ``solid`` are the session's solid balls."""
    shots = list(itertools.product(bag.wedges, bag.swings))
    cells = [
        LearnedCell(
            wedge.label,
            wedge.loft_deg,
            swing.label,
            swing.swing_deg,
            sum(_is_of(ball, wedge.label, wedge.loft_deg, swing) for ball in solid),
            then.carry_m,
            then.carry_se_m,
            then.support,
            now.carry_m,
            now.carry_se_m,
            now.support,
            now.carry_m - then.carry_m,
            abs(now.carry_m - then.carry_m) <= _IN_DOUBT_SES * then.carry_se_m,
        )
        for (wedge, swing), then, now in zip(shots, before, after, strict=True)
    ]
    return Learned(
        tuple(sorted(cells, key=lambda cell: -abs(cell.change_m))), _doubt(before), _doubt(after), from_others
    )


def hit_groups(shots: Sequence[Shot], solid: Sequence[bool], swings: Sequence[SwingLength]) -> tuple[HitGroup, ...]:
    """Sum up a session's balls by wedge and named swing length, the least loft and the shortest swing first."""
    groups: dict[tuple[float, str, float, str, str, str], list[tuple[Shot, bool]]] = {}
    for shot, is_solid in zip(shots, solid, strict=True):
        swing = _named(shot, swings)
        lie = shot.lie if shot.lie in _BEHAVES_OTHERWISE else ""
        length = math.inf if swing is None else swing.swing_deg
        label = "" if swing is None else swing.label
        key = (shot.loft_deg, shot.wedge, length, label, shot.trajectory, lie)
        groups.setdefault(key, []).append((shot, is_solid))
    return tuple(_group(key, balls) for key, balls in sorted(groups.items(), key=lambda item: item[0]))


def _named(shot: Shot, swings: Sequence[SwingLength]) -> SwingLength | None:
    """Return the named swing length of a ball: the nearest, if it is as near as a ball of its cell must be."""
    near = min(swings, key=lambda swing: abs(swing.swing_deg - shot.swing_deg), default=None)
    return near if near is not None and abs(near.swing_deg - shot.swing_deg) <= MEASURED_SWING_DEG + 1e-9 else None


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


def _is_of(ball: Shot, wedge: str, loft_deg: float, swing: SwingLength) -> bool:
    """Tell whether a ball counts for a cell, as the model counts it."""
    return (
        ball.wedge.casefold() == wedge.casefold()
        and abs(ball.loft_deg - loft_deg) <= _SAME_LOFT_DEG
        and ball.trajectory == "stock"
        and abs(ball.swing_deg - swing.swing_deg) <= MEASURED_SWING_DEG + 1e-9
    )


def _doubt(known: Sequence[Known]) -> float:
    return sum(one.carry_se_m / one.carry_m for one in known) / len(known)
