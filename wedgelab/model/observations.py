"""The log as the model sees it: plain arrays, one entry a ball."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model.weather import N_DOUBTS
from wedgelab.shots import LIES, MEASURED_SWING_DEG, STRIKES, TRAJECTORIES, Shot

if TYPE_CHECKING:
    from numpy.typing import NDArray

MEASURED: Final = ("ball_speed_mps", "launch_deg", "land_deg", "apex_m")
BALL_SPEED, LAUNCH, LAND, APEX = range(len(MEASURED))
LOWEST_USABLE_SPIN_RPM: Final = 200.0  # below, a reading says "no spin seen"; its logarithm would drown the others
SAME_LOFT_DEG: Final = 0.05


@dataclass(frozen=True, slots=True)
class Club:
    """A wedge as the model tells wedges apart: the label and the loft it had."""

    label: str
    loft_deg: float


@dataclass(frozen=True, slots=True)
class AirCorrection:
    """What bringing n carries to the reference air did to them, in log carry; zero for a ball hit in that air.

    ``doubts`` (n, causes) are standard errors from causes that all balls share, ``gust_var`` (n,) is the variance that
    a gusty wind adds to one ball, ``session_var`` (sessions,) what a wind told wrongly adds to a session.
    """

    shift: "NDArray[np.float64]"
    doubts: "NDArray[np.float64]"
    gust_var: "NDArray[np.float64]"
    session_var: "NDArray[np.float64]"

    @classmethod
    def none(cls, n: int, n_sessions: int) -> "AirCorrection":
        """Return the correction of n balls that were all hit in the reference air."""
        return cls(np.zeros(n), np.zeros((n, N_DOUBTS)), np.zeros(n), np.zeros(n_sessions))


@dataclass(frozen=True, slots=True)
class Observations:
    """n balls. ``log_spin`` is NaN where no usable spin was read; indices point into ``clubs`` and the word lists."""

    log_carry: "NDArray[np.float64]"
    log_spin: "NDArray[np.float64]"
    swing_deg: "NDArray[np.float64]"
    club: "NDArray[np.intp]"
    session: "NDArray[np.intp]"
    trajectory: "NDArray[np.intp]"  # index into shots.TRAJECTORIES
    lie: "NDArray[np.intp]"  # index into shots.LIES, -1 where nobody said
    strike: "NDArray[np.intp]"  # index into shots.STRIKES, -1 where nobody said
    ball: "NDArray[np.intp]"  # which golf ball: 0 is the one that the chart is for
    clubs: tuple[Club, ...]
    n_sessions: int
    n_balls: int
    measured: "NDArray[np.float64]"  # (n, len(MEASURED)): what else was measured of the flight, NaN where it was not
    air: "AirCorrection"

    def __len__(self) -> int:
        return len(self.log_carry)

    def take(self, chosen: "NDArray[np.intp]") -> "Observations":
        """Return some of the balls; clubs, sessions and golf balls keep their numbers."""
        parts = {
            name: getattr(self, name)[chosen]
            for name in (
                "log_carry", "log_spin", "swing_deg", "club", "session", "trajectory", "lie", "strike", "ball",
                "measured",
            )
        }  # fmt: skip
        air = self.air
        part = AirCorrection(air.shift[chosen], air.doubts[chosen], air.gust_var[chosen], air.session_var)
        return replace(self, **parts, air=part)

    @property
    def loft_deg(self) -> "NDArray[np.float64]":
        """Loft of each ball's club [deg]."""
        lofts: NDArray[np.float64] = np.array([club.loft_deg for club in self.clubs], dtype=np.float64)
        return lofts[self.club]


def observations(
    *,
    carry_m: "NDArray[np.float64]",
    loft_deg: "NDArray[np.float64]",
    swing_deg: "NDArray[np.float64]",
    spin_rpm: "NDArray[np.float64] | None" = None,
    wedge: Sequence[str] | None = None,
    session: Sequence[object] | None = None,
    trajectory: Sequence[str] | None = None,
    lie: Sequence[str] | None = None,
    strike: Sequence[str] | None = None,
    ball: Sequence[str] | None = None,
    usual_ball: str = "",
    measured: "Mapping[str, NDArray[np.float64]] | None" = None,
    oldest_first: Sequence[object] = (),
) -> Observations:
    """Arrange columns of n balls for the fit; what is left out is a single session of stock shots with no spin read.

    Sessions follow each other as in ``oldest_first``, those that it does not name in the order of their first balls.
    ``measured`` holds what there is of the columns `MEASURED`. The chart is for the ``usual_ball``; where none of the
    balls hit bears that name, for the golf ball that was hit most.
    """
    n = len(carry_m)
    labels = [""] * n if wedge is None else [str(label).casefold() for label in wedge]
    clubs: dict[tuple[str, float], int] = {}
    club: list[int] = []
    for label, loft in zip(labels, np.round(np.asarray(loft_deg, dtype=np.float64), 2).tolist(), strict=True):
        index = clubs.get((label, loft))
        if index is None and label:  # a club measured anew by less than the tolerance is the same club
            index = next(
                (i for (name, known), i in clubs.items() if name == label and abs(known - loft) <= SAME_LOFT_DEG), None
            )
        club.append(clubs.setdefault((label, loft), len(clubs)) if index is None else index)
    sessions: dict[object, int] = {name: i for i, name in enumerate(oldest_first)}
    names = [0] * n if session is None else session
    which = [sessions.setdefault(name, len(sessions)) for name in names]
    balls, n_balls = _ball_codes([""] * n if ball is None else [str(name) for name in ball], usual_ball)
    spin = np.full(n, np.nan) if spin_rpm is None else np.asarray(spin_rpm, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        usable = spin >= LOWEST_USABLE_SPIN_RPM
    return Observations(
        log_carry=np.log(np.asarray(carry_m, dtype=np.float64)),
        log_spin=np.where(usable, np.log(np.where(usable, spin, 1.0)), np.nan),
        swing_deg=np.asarray(swing_deg, dtype=np.float64),
        club=np.array(club, dtype=np.intp),
        session=np.array(which, dtype=np.intp),
        trajectory=_codes(trajectory, TRAJECTORIES, n, TRAJECTORIES.index("stock")),
        lie=_codes(lie, LIES, n, -1),
        strike=_codes(strike, STRIKES, n, -1),
        ball=balls,
        clubs=tuple(Club(label, loft) for label, loft in clubs),
        n_sessions=max(len(sessions), 1),
        n_balls=n_balls,
        measured=np.column_stack([(measured or {}).get(name, np.full(n, np.nan)) for name in MEASURED]),
        air=AirCorrection.none(n, max(len(sessions), 1)),
    )


def observations_of_shots(shots: Iterable[Shot], usual_ball: str = "") -> Observations:
    """Arrange logged shots for the fit."""
    log = list(shots)

    def column(name: str) -> "NDArray[np.float64]":
        values = [getattr(shot, name) for shot in log]
        return np.array([np.nan if value is None else value for value in values], dtype=np.float64)

    return observations(
        carry_m=np.array([shot.carry_m for shot in log], dtype=np.float64),
        loft_deg=np.array([shot.loft_deg for shot in log], dtype=np.float64),
        swing_deg=np.array([shot.swing_deg for shot in log], dtype=np.float64),
        spin_rpm=column("spin_rpm"),
        wedge=[shot.wedge for shot in log],
        session=[shot.session for shot in log],
        oldest_first=_oldest_first(log),
        trajectory=[shot.trajectory for shot in log],
        lie=[shot.lie for shot in log],
        strike=[shot.strike for shot in log],
        ball=[shot.ball for shot in log],
        usual_ball=usual_ball,
        measured={name: column(name) for name in MEASURED},
    )


def _oldest_first(log: Sequence[Shot]) -> list[str]:
    """Return the sessions in the order in which they began."""
    begun: dict[str, float] = {}
    for shot in log:
        moment = datetime.fromisoformat(shot.hit_at).timestamp()
        begun[shot.session] = min(moment, begun.get(shot.session, moment))
    return sorted(begun, key=lambda name: begun[name])


def near_swing(swing_deg: "NDArray[np.float64]", asked_deg: "float | NDArray[np.float64]") -> "NDArray[np.bool_]":
    """Tell which swings count as the asked length."""
    return np.asarray(np.abs(swing_deg - asked_deg) <= MEASURED_SWING_DEG + 1e-9)


def _ball_codes(names: Sequence[str], usual: str) -> tuple["NDArray[np.intp]", int]:
    """Give the golf balls numbers; 0 is the usual one, or the one that was hit most."""
    keys = [name.casefold() for name in names]
    counts = Counter(keys)
    first = usual.strip().casefold()
    if counts and (not first or first not in counts):
        first = counts.most_common(1)[0][0]
    number = {key: i for i, key in enumerate([first, *(key for key in counts if key != first)])}
    return np.array([number[key] for key in keys], dtype=np.intp), max(len(number), 1)


def _codes(words: Sequence[str] | None, known: tuple[str, ...], n: int, default: int) -> "NDArray[np.intp]":
    if words is None:
        return np.full(n, default, dtype=np.intp)
    index = {word: i for i, word in enumerate(known)}
    return np.array([index.get(word, default) for word in words], dtype=np.intp)
