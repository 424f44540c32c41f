"""What a fitted model says of itself: what the log taught, against golfers in general, and what it distrusts.

Frozen records in SI; `wedgelab.model.explain` fills them, `wedgelab.render` shows them. Apart from the everyday answers
of `wedgelab.prediction`, because making so many classes takes time that only those who ask for it should wait.
"""

from dataclasses import dataclass
from typing import Literal

DistrustReason = Literal["short", "long", "slip", "marked", "other readings"]


@dataclass(frozen=True, slots=True)
class SwingLearnt:
    """What one wedge does at one swing length: learnt, and as expected of a golfer of whom nothing is logged.

    ``*_se_*`` is how surely the player's median is known, ``*_prior_sd_*`` how far golfers in general differ, and
    ``*_ratio`` the player's median over that of golfers in general.
    """

    swing: str
    swing_deg: float
    carry_m: float
    carry_se_m: float
    carry_prior_m: float
    carry_prior_sd_m: float
    carry_ratio: float
    ball_speed_mps: float
    ball_speed_se_mps: float
    ball_speed_prior_mps: float
    ball_speed_prior_sd_mps: float
    ball_speed_ratio: float


@dataclass(frozen=True, slots=True)
class LoftLearnt:
    """What a degree more loft changes (negative: shorter), from the least to the most lofted wedge at one swing."""

    swing_deg: float
    loft_low_deg: float
    loft_high_deg: float
    carry_per_deg_m: float
    carry_per_deg_se_m: float
    carry_per_deg_prior_m: float
    carry_per_deg_prior_sd_m: float


@dataclass(frozen=True, slots=True)
class SpreadLearnt:
    """How far single solid balls of one day spread about their median, as shares of it: learnt, and as believed."""

    swing: str
    swing_deg: float
    carry_spread_share: float
    carry_spread_prior_share: float
    spin_spread_share: float
    spin_spread_prior_share: float


@dataclass(frozen=True, slots=True)
class SessionLearnt:
    """How far sessions lie apart, one standard deviation as a share: learnt from ``n_sessions``, and as believed."""

    n_sessions: int
    carry_session_share: float
    carry_session_prior_share: float
    spin_session_share: float
    spin_session_prior_share: float


MovedReading = Literal["carry", "spin", "ball speed"]


@dataclass(frozen=True, slots=True)
class MoveLearnt:
    """A change for good between sessions of one reading of every ball; ``ratio`` is since over before.

    ``index`` is the place in the log of the first ball since. Where ``boundaries`` is more than one the change came at
    one of so many ends of sessions, the last of them right before that ball.
    """

    index: int
    boundaries: int
    reading: MovedReading
    ratio: float
    move_probability: float


@dataclass(frozen=True, slots=True)
class WedgeDoubt:
    """Mean standard error of a wedge's charted medians as a share of the carry: before the first ball, and now."""

    wedge: str
    loft_deg: float
    doubt_prior: float
    doubt_now: float
    doubt_left: float


@dataclass(frozen=True, slots=True)
class Distrusted:
    """A ball that counts for little; ``index`` is its place in the log that was fitted.

    ``carry_m`` is as logged, and what was expected of a solid ball is for the air in which it was hit.
    """

    index: int
    mishit_probability: float
    carry_m: float
    carry_expected_m: float
    carry_p10_m: float
    carry_p90_m: float
    reason: DistrustReason


@dataclass(frozen=True, slots=True)
class FitReport:
    """What a fitted model made of a log. ``curve`` is of one ``wedge``, the middle one of the bag."""

    n_shots: int
    n_sessions: int
    n_others: int  # other players from whom the belief before the first ball was learnt
    n_solid: int
    n_spin: int
    wedge: str
    loft_deg: float
    curve: tuple[SwingLearnt, ...]
    loft: LoftLearnt | None
    spreads: tuple[SpreadLearnt, ...]
    sessions: SessionLearnt
    moves: tuple[MoveLearnt, ...]  # those more likely than not, the latest first
    mishit_share: float
    mishit_prior_share: float
    doubts: tuple[WedgeDoubt, ...]
    distrusted: tuple[Distrusted, ...]
    warnings: tuple[str, ...]
