"""How a player's own ball flies against the published figures, and which logged rows no flight explains.

Where speed, launch, spin and carry of a ball were logged together, its flight can be computed. The published sets of
drag and lift disagree where wedges fly, so the mean of the sets (`aero.MIDDLE`) is the yardstick, and two factors on it
are estimated: drag and lift of the player's ball. A device that computes the carry instead of seeing the ball land
shows its own formula in them. The chart does not use them: it rests on the carries themselves.
"""

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from numpy.typing import NDArray

from wedgelab.model.observations import LOWEST_USABLE_SPIN_RPM
from wedgelab.model.weather import GUST_SHARE, WIND_TOLD_SHARE, Air, air_of
from wedgelab.physics.aero import AERO_SETS, MIDDLE
from wedgelab.physics.flight import fly
from wedgelab.prediction import NOT_SAID

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from wedgelab.physics.aero import AeroSet
    from wedgelab.shots import Conditions, Shot

Array = NDArray[np.float64]

FEWEST_BALLS: Final = 5
# log scales on drag and lift that bring the mean of the sets nearest to each set, in carry, landing angle and apex of
# wedge flights (tests/model/test_ball_scale.py finds them again with scipy), in the order of AERO_SETS
SET_LOG_SCALES: Final = ((-0.189, 0.079), (0.125, -0.032), (0.041, -0.047))
# before any ball: the sets lie apart by sds of 0.16 in drag and 0.07 in lift, and balls differ in lift too
PRIOR_SD: Final = (0.15, 0.10)
# what one reading may be wrong by, at most: speed as a share, launch [deg], spin as a share (own judgement, no source)
TOLERANCE: Final = (0.02, 1.5, 0.10)
ANY_BALL: Final = (0.8, 1.25)  # scales on drag and on lift that no golf ball leaves, over all sets (own judgement)
# sd of the error that all readings of a log share, and of each one's own, as a share of the tolerance (own judgement)
_READING: Final = 0.25
_DAY_SD: Final = 0.01  # of log carry: air and wind that nobody noted (own judgement)
_OWN_BALL: Final = 5.0  # a carry this many spreads off what the player's own ball does is pointed out
_TAILS: Final = 4.0  # degrees of freedom of Student's t: some rows are slips
_INFORMATION: Final = (_TAILS + 1.0) / (_TAILS + 3.0)  # Fisher information of its location, against a normal's
# log carry, landing angle [deg], log apex: least spread of one ball, and the spread believed before any ball
_FLOOR: Final = np.array([0.01, 1.0, 0.03])
_BELIEVED: Final = np.array([0.02, 2.0, 0.05])
_BELIEF_COUNT: Final = 3.0  # balls that this belief is worth
# what is changed in a flight: log drag, log lift, log speed, launch [deg], log spin, wind as a share
_STEP: Final = (0.05, 0.05, _READING * TOLERANCE[0], _READING * TOLERANCE[1], _READING * TOLERANCE[2], 0.2)
_N_CHANGES: Final = len(_STEP)
_WIND: Final = _N_CHANGES - 1
_SETS: Final = len(AERO_SETS)
# sds of the unknowns: two scales, three shared errors of the readings, how much of each set's own shape the ball has
_UNKNOWN_SD: Final = np.array([*PRIOR_SD, *_STEP[2:_WIND], *([(_SETS - 1) ** -0.5] * _SETS)])
_NEW_SLOPES: Final = 0.05  # a smaller move of the log scales leaves the slopes as they are
_FARTHEST: Final = float(np.log(2.0))  # no estimate goes beyond half or twice
_STEPS: Final = 5  # longer steps than usual: carries stay right to 0.01 %
_LEAST_LAUNCH_DEG: Final = 0.1
_SURE: Final = 0.15  # well inside every span: what speed alone makes, and 15 % more or less drag
_MOST_READING: Final = 0.1  # a carry that hangs more than this on its own readings (a topped ball) tells of no scale


@dataclass(frozen=True, slots=True)
class BallScale:
    """Drag and lift of a ball as factors on the mean of the published sets, with one standard error each.

    ``correlation`` is that of the two estimates; ``carry_ratio`` what both make of these balls' carries, which a log of
    carries tells much better than either. ``residual_share`` is the spread of single carries about their flights, by
    its median; ``n_landings`` counts the balls with a landing angle or an apex, which part drag from lift.
    """

    drag_scale: float
    drag_scale_sd: float
    lift_scale: float
    lift_scale_sd: float
    correlation: float
    carry_ratio: float
    carry_ratio_sd: float
    n_balls: int
    n_landings: int
    residual_share: float


@dataclass(frozen=True, slots=True)
class OddRow:
    """A logged carry that its own speed, launch and spin do not explain, and the carries that they would.

    ``beyond`` tells whether that holds for ``any ball`` or for the player's ``own ball``, as the other rows show it.
    """

    shot: "Shot"
    low_m: float
    high_m: float
    beyond: Literal["any ball", "own ball"]


@dataclass(frozen=True, slots=True)
class Findings:
    """What a log says of one golf ball; ``scale`` is None with fewer than `FEWEST_BALLS` rows that a flight explains.

    ``n_measured`` counts the rows with speed, launch and spin; ``odd`` has the worst row first.
    """

    ball: str
    n_measured: int
    scale: BallScale | None
    odd: tuple[OddRow, ...]


def examine(
    shots: "Iterable[Shot]", conditions: "Mapping[str, Conditions] | None" = None, reference: "Conditions" = NOT_SAID
) -> list[Findings]:
    """Estimate how each golf ball of a log flies, and find the rows that no flight explains.

    Parameters
    ----------
    shots
        the log of one player; rows without speed, launch above 0 and spin are passed over.
    conditions
        conditions of the sessions by their names.
    reference
        conditions of what nobody said.

    Returns
    -------
    list of Findings
        one for each golf ball with such a row, the one that was hit most first.
    """
    said = conditions or {}
    by_ball: dict[str, list[Shot]] = {}
    for shot in shots:
        if is_measured(shot):
            by_ball.setdefault(shot.ball.casefold(), []).append(shot)
    found = []
    for log in sorted(by_ball.values(), key=len, reverse=True):
        air = air_of([said.get(shot.session, NOT_SAID) for shot in log], reference)
        found.append(_findings(log, _rows(log, air)))
    return found


def is_measured(shot: "Shot") -> bool:
    """Tell whether a flight can be computed from a row: it has speed, launch above 0 and a usable spin."""
    return (
        shot.ball_speed_mps is not None
        and (shot.launch_deg or 0.0) > 0.0
        and (shot.spin_rpm or 0.0) >= LOWEST_USABLE_SPIN_RPM
    )


@dataclass(frozen=True, slots=True)
class _Rows:
    """n measured balls; ``seen`` (3, n) are log distance over the ground, landing angle [deg] and log apex, or NaN."""

    speed_mps: Array
    launch_deg: Array
    spin_rpm: Array
    air: Air
    seen: Array
    off_line: Array  # log of distance over the ground against carry, NaN where nobody measured it
    session: NDArray[np.intp]

    def take(self, chosen: NDArray[np.intp]) -> "_Rows":
        return _Rows(
            self.speed_mps[chosen], self.launch_deg[chosen], self.spin_rpm[chosen], self.air.take(chosen),
            self.seen[:, chosen], self.off_line[chosen], self.session[chosen],
        )  # fmt: skip

    def fly(self, changes: "Sequence[Sequence[float] | Array]", aero: "AeroSet" = MIDDLE) -> Array:
        """Return what k changed flights of every ball would show, shape (k, 3, n)."""
        k = np.asarray(changes, dtype=np.float64).T[:, :, None]
        flight = fly(
            self.speed_mps * np.exp(k[2]),
            np.maximum(self.launch_deg + k[3], _LEAST_LAUNCH_DEG),
            self.spin_rpm * np.exp(k[4]),
            aero=aero,
            steps=_STEPS,
            drag_scale=np.exp(k[0]),
            lift_scale=np.exp(k[1]),
            density_kg_m3=self.air.density_kg_m3,
            viscosity_m2_s=self.air.viscosity_m2_s,
            wind_mps=self.air.wind_mps * (1.0 + k[5]),
            cross_wind_mps=self.air.cross_wind_mps * (1.0 + k[5]),
        )
        over_ground = np.where(np.isnan(self.off_line), flight.carry_m, np.hypot(flight.carry_m, flight.offline_m))
        return np.stack([_log(over_ground), flight.land_deg, _log(flight.apex_m)], axis=1)


def _rows(log: "Sequence[Shot]", air: Air) -> _Rows:
    def column(name: str) -> Array:
        return np.array([np.nan if (x := getattr(shot, name)) is None else x for shot in log], dtype=np.float64)

    carry = column("carry_m")
    off_line = np.log(np.hypot(carry, column("offline_m")) / carry)
    sessions: dict[str, int] = {}
    return _Rows(
        column("ball_speed_mps"), column("launch_deg"), column("spin_rpm"), air,
        np.stack([np.log(carry) + np.nan_to_num(off_line), column("land_deg"), _log(column("apex_m"))]),
        off_line,
        np.array([sessions.setdefault(shot.session, len(sessions)) for shot in log], dtype=np.intp),
    )  # fmt: skip


def _findings(log: "Sequence[Shot]", rows: _Rows) -> Findings:
    n = len(log)
    start = _Start.of(rows)
    low, high = np.full(n, -np.inf), np.full(n, np.inf)
    flies = np.isfinite(start.base[0])
    over = rows.seen[0] - start.base[0]
    sure = TOLERANCE[0] + _SURE * np.abs(start.columns[0, 0])
    for side, bound in ((1, high), (-1, low)):  # only the side on which a carry lies needs its bound
        chosen = np.flatnonzero(flies & (side * over > sure))
        bound[chosen] = _bound(rows.take(chosen), side)
    any_ball = (rows.seen[0] > high) | (rows.seen[0] < low)
    for side, bound in ((1, high), (-1, low)):
        chosen = np.flatnonzero(any_ball & np.isinf(bound))
        bound[chosen] = _bound(rows.take(chosen), side)
    good = np.flatnonzero(flies & ~any_ball & (start.extra[0] < _MOST_READING**2))
    scale, own = None, np.zeros(n, dtype=np.bool_)
    if len(good) >= FEWEST_BALLS:
        scale, middle, spread = _estimate(rows.take(good), start.take(good))
        out = np.abs(rows.seen[0, good] - middle) > _OWN_BALL * spread
        own[good] = out
        low[good], high[good] = middle - _OWN_BALL * spread, middle + _OWN_BALL * spread
    odd = np.flatnonzero(any_ball | own)
    beyond_by = np.maximum(rows.seen[0] - high, low - rows.seen[0])
    back = np.nan_to_num(rows.off_line)  # from the distance over the ground to the carry along the line
    return Findings(
        log[0].ball,
        n,
        scale,
        tuple(
            OddRow(
                log[i],
                float(np.exp(low[i] - back[i])),
                float(np.exp(high[i] - back[i])),
                "any ball" if any_ball[i] else "own ball",
            )
            for i in sorted(odd.tolist(), key=lambda i: (not any_ball[i], -beyond_by[i]))
        ),
    )


def _bound(rows: _Rows, side: int) -> Array:
    """Return the longest (``side`` 1) or shortest (-1) log distance that flights with the rows' numbers give."""
    if not len(rows.speed_mps):
        return np.zeros(0)
    speed, launch, spin = TOLERANCE
    scales = np.log(ANY_BALL)
    # carry grows with speed and falls with drag; lift, launch and spin can have their best between the corners, which
    # then miss less than 0.5 %
    wind = 2.0 * float(np.hypot(GUST_SHARE, WIND_TOLD_SHARE))
    corners = list(
        product(
            [scales[0] if side > 0 else scales[1]],
            scales,
            [np.log1p(side * speed)],
            (-launch, launch),
            (np.log1p(-spin), np.log1p(spin)),
            (-wind, wind) if rows.air.has_wind else (0.0,),
        )
    )
    flown = np.stack([rows.fly(corners, aero)[:, 0] for aero in AERO_SETS])
    ends = np.where(np.isnan(flown), -np.inf, flown) if side < 0 else flown  # blown back behind the start
    return np.asarray(np.fmax.reduce(ends, axis=(0, 1)) if side > 0 else ends.min(axis=(0, 1)))


@dataclass(frozen=True, slots=True)
class _Start:
    """Flights with the published mean: what they show, ``base`` (3, n), and how it changes with each unknown.

    ``columns`` (unknowns, 3, n) has the scales, the shared errors and the shapes; ``windy`` (n,) is the change of the
    log carry for twice the wind.
    """

    base: Array
    columns: Array
    windy: Array

    @classmethod
    def of(cls, rows: _Rows) -> "_Start":
        steps = np.diag(_STEP)[: _N_CHANGES if rows.air.has_wind else _WIND]
        like_sets = [(*scales, *_NO_CHANGE[2:]) for scales in SET_LOG_SCALES]
        flown = rows.fly([_NO_CHANGE, *steps, *like_sets])
        base, changed, like = flown[0], flown[1 : 1 + len(steps)], flown[1 + len(steps) :]
        slopes = (changed - base) / np.array(_STEP)[: len(steps), None, None]
        shapes = [rows.fly([_NO_CHANGE], aero)[0] - mean for aero, mean in zip(AERO_SETS, like, strict=True)]
        windy = np.abs(slopes[_WIND, 0]) if rows.air.has_wind else np.zeros(base.shape[1])
        return cls(base, np.stack([*slopes[:_WIND], *shapes]), windy)

    @property
    def extra(self) -> Array:
        """Variance (3, n) from the own errors of a ball's readings and from gusts."""
        variance = np.sum((_UNKNOWN_SD[2:_WIND, None, None] * self.columns[2:_WIND]) ** 2, axis=0)
        variance[0] += (GUST_SHARE * self.windy) ** 2
        return np.asarray(variance)

    def take(self, chosen: NDArray[np.intp]) -> "_Start":
        return _Start(self.base[:, chosen], self.columns[:, :, chosen], self.windy[chosen])


_NO_CHANGE: Final = (0.0,) * _N_CHANGES


def _estimate(rows: _Rows, start: _Start) -> tuple[BallScale, Array, Array]:
    """Return the scales, and for every ball the log distance that they give and the spread of one ball about it."""
    base, columns = start.base, start.columns.copy()
    extra = start.extra
    count = np.maximum(np.bincount(rows.session), 1)
    day_sd = np.hypot(_DAY_SD, WIND_TOLD_SHARE * np.bincount(rows.session, start.windy) / count)
    at = np.zeros(2)
    for _ in range(4):  # Gauss-Newton on the scales; the rest is linear enough
        target = rows.seen - base + np.tensordot(at, columns[:2], 1)
        fitted = _Linear.solve(target, columns, rows.session, day_sd, extra)
        moved = np.clip(fitted.mean[:2], -_FARTHEST, _FARTHEST) - at
        at = at + moved
        here = np.array((*at, *_NO_CHANGE[2:]))
        if np.abs(moved).max() > _NEW_SLOPES:
            base, *more = rows.fly([here, *(here + np.diag(_STEP)[:2])])
            columns[:2] = (more - base) / np.array(_STEP)[:2, None, None]
        else:
            (base,) = rows.fly([here])
        if np.abs(moved).max() < 1e-3:
            break
    middle = base[0] + np.tensordot(fitted.mean[2:], columns[2:, 0], 1) + fitted.day[rows.session]
    drag, lift = np.exp(at)
    sds = np.sqrt(np.diag(fitted.covariance))
    along = columns[:2, 0].mean(axis=1)
    ratio = np.exp(np.mean(base[0] - start.base[0]))
    scale = BallScale(
        float(drag),
        float(drag * sds[0]),
        float(lift),
        float(lift * sds[1]),
        float(fitted.covariance[0, 1] / (sds[0] * sds[1])),
        float(ratio),
        float(ratio * np.sqrt(along @ fitted.covariance[:2, :2] @ along)),
        len(rows.speed_mps),
        int(np.isfinite(rows.seen[1:]).any(axis=0).sum()),
        1.4826 * _median_size(rows.seen[0] - middle),
    )
    return scale, middle, np.sqrt(fitted.spread[0] ** 2 + extra[0])


@dataclass(frozen=True, slots=True)
class _Linear:
    """Posterior of the unknowns, the days' effects (sessions,) and the spread of one ball in each of the three."""

    mean: Array
    covariance: Array
    day: Array
    spread: Array

    @classmethod
    def solve(cls, target: Array, columns: Array, session: NDArray[np.intp], day_sd: Array, extra: Array) -> "_Linear":
        """Fit ``target = unknowns @ columns + day + error``, the errors Student's t with a spread to be found.

        Expectation and maximisation in turn (Lange, Little & Taylor 1989, J. Am. Stat. Assoc. 84, 881, from memory).
        """
        told = np.isfinite(target)
        kind, ball = np.nonzero(told)
        y, x = target[told], columns[:, kind, ball].T
        of_day = np.where(kind == 0, session[ball], len(day_sd))  # landing and apex know no day: one place more
        left_sd = np.append(day_sd, 0.0)
        more = extra[told]
        n = np.bincount(kind, minlength=3)
        spread = np.maximum(_BELIEVED, [1.5 * _median_size(target[i]) for i in range(3)])
        weight = np.ones(len(y))
        for _ in range(60):
            variance = spread[kind] ** 2 + more
            size = weight / variance
            mean, normal, day = _shrunk(y, x * size[:, None], x, size, of_day, left_sd)
            off = y - x @ mean - day[of_day]
            weight = (_TAILS + 1.0) / (_TAILS + off**2 / variance)
            squares = np.bincount(kind, weight * off**2 * spread[kind] ** 2 / variance, 3)
            before = spread
            spread = np.sqrt((squares + _BELIEF_COUNT * _BELIEVED**2) / (n + _BELIEF_COUNT))
            spread = np.maximum(spread, _FLOOR)
            if np.abs(spread / before - 1.0).max() < 1e-3:
                break
        size = _INFORMATION * weight / (spread[kind] ** 2 + more)
        _, normal, _ = _shrunk(y, x * size[:, None], x, size, of_day, left_sd)
        return cls(mean, np.asarray(np.linalg.inv(normal)), day, spread)


def _shrunk(
    y: Array, sized: Array, x: Array, size: Array, of_day: NDArray[np.intp], day_sd: Array
) -> tuple[Array, Array, Array]:
    """Solve weighted least squares with normal priors; the days are taken out first, each has one number only."""
    days = len(day_sd)
    held = np.bincount(of_day, size, days) + 1.0 / np.maximum(day_sd, 1e-9) ** 2
    both = np.stack([np.bincount(of_day, column, days) for column in sized.T], axis=1)
    alone = np.bincount(of_day, size * y, days)
    normal = sized.T @ x + np.diag(_UNKNOWN_SD**-2.0) - both.T @ (both / held[:, None])
    mean = np.linalg.solve(normal, sized.T @ y - both.T @ (alone / held))
    return np.asarray(mean), normal, (alone - both @ mean) / held


def _median_size(values: Array) -> float:
    told = np.abs(values[np.isfinite(values)])
    return float(np.median(told)) if len(told) else 0.0


def _log(values: Array) -> Array:
    """Logarithm, NaN where there is none."""
    return np.asarray(np.log(np.where(values > 0.0, values, np.nan)))
