"""What a fitted model made of a log, held against what it believed before the first ball; nothing is fitted here.

Everything comes from what the player answers for any kind of shot and from the prior table, so that it holds however
the parameters of the model are arranged.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, get_args

import numpy as np

from wedgelab.errors import BadRequestError
from wedgelab.fitreport import (
    Distrusted,
    DistrustReason,
    FitReport,
    LoftLearnt,
    MovedReading,
    MoveLearnt,
    SessionLearnt,
    SpreadLearnt,
    SwingLearnt,
    WedgeDoubt,
)
from wedgelab.model import mixture
from wedgelab.model import spread as spreads
from wedgelab.model.fit import MISHIT_SHARE, SESSION_SD
from wedgelab.model.prior import BALL_SPEED, CARRY, prior_surfaces
from wedgelab.prediction import ShotKind, share_of_median
from wedgelab.shots import LIES, STRIKES, TRAJECTORIES, Bag, Wedge

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wedgelab.model.player import FittedPlayer

    Array = NDArray[np.float64]

LOFT_SWING_DEG: Final = 90.0
LEAST_LOFT_DEG: Final = 1.0  # lofts closer together tell nothing of loft
LIKELY: Final = (0.1, 0.9)
MOVED: Final = 0.5  # a move more likely large than not is told
SLIP_FACTOR: Final = 2.0  # a ball that is off by more was hardly hit: a wrong number, or another club
_OFF: Final = STRIKES.index("off")


def explain(player: "FittedPlayer", bag: Bag) -> FitReport:
    """Tell what the log taught about a player, in the player's reference air.

    Parameters
    ----------
    player
        the fitted player, not put on a day: the prior is of no day either.
    bag
        wedges and swing lengths to tell it for; a bag without any raises `BadRequestError`.

    Returns
    -------
    FitReport
        lengths in metres, speeds in m/s, spreads and doubts as shares of the carry or the spin.
    """
    if not bag.wedges or not bag.swings:
        raise BadRequestError("the bag has no wedge or no swing length", "see: wedgelab bag --help")
    middle = bag.wedges[len(bag.wedges) // 2]
    fit = player.fit
    return FitReport(
        n_shots=player.n_shots,
        n_sessions=player.n_sessions,
        n_others=fit.n_others,
        n_solid=int(player.solid.sum()),
        n_spin=int((player.solid & np.isfinite(player.obs.log_spin)).sum()),
        wedge=middle.label,
        loft_deg=middle.loft_deg,
        curve=_curve(player, middle, bag),
        loft=_loft(player, bag.wedges),
        spreads=_spreads(player, middle, bag),
        sessions=SessionLearnt(player.n_sessions, fit.session_sd[0], SESSION_SD[0], fit.session_sd[1], SESSION_SD[1]),
        moves=_moves(player),
        mishit_share=float(fit.mishit_share),
        mishit_prior_share=MISHIT_SHARE,
        doubts=tuple(_doubt(player, wedge, bag) for wedge in bag.wedges),
        distrusted=_distrusted(player),
        warnings=_warnings(player),
    )


def _curve(player: "FittedPlayer", wedge: Wedge, bag: Bag) -> tuple[SwingLearnt, ...]:
    """Return carry and ball speed of a wedge over the bag's swing lengths."""
    kinds = [ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg) for swing in bag.swings]
    carry, carry_sd = _prior(kinds, CARRY)
    speed, speed_sd = _prior(kinds, BALL_SPEED)
    medians, ses = player.ball_speed_mps(kinds)
    return tuple(
        SwingLearnt(
            swing=swing.label,
            swing_deg=swing.swing_deg,
            carry_m=known.carry_m,
            carry_se_m=known.carry_se_m,
            carry_prior_m=float(carry[i]),
            carry_prior_sd_m=mixture.lognormal_sd(carry[i], carry_sd[i]),
            carry_ratio=known.carry_m / float(carry[i]),
            ball_speed_mps=float(medians[i]),
            ball_speed_se_mps=float(ses[i]),
            ball_speed_prior_mps=float(speed[i]),
            ball_speed_prior_sd_mps=mixture.lognormal_sd(speed[i], speed_sd[i]),
            ball_speed_ratio=float(medians[i] / speed[i]),
        )
        for i, (swing, known) in enumerate(zip(bag.swings, player.predict(kinds), strict=True))
    )


def _loft(player: "FittedPlayer", wedges: Sequence[Wedge]) -> LoftLearnt | None:
    """Return what a degree of loft does from the least to the most lofted wedge; None if that is one loft."""
    low, high = (choose(wedges, key=lambda wedge: wedge.loft_deg) for choose in (min, max))
    degrees = high.loft_deg - low.loft_deg
    if degrees < LEAST_LOFT_DEG:
        return None
    kinds = [ShotKind(wedge.label, wedge.loft_deg, LOFT_SWING_DEG) for wedge in (low, high)]
    carry = np.array([known.carry_m for known in player.predict(kinds)])
    before, _ = _prior(kinds, CARRY)
    slope = np.array([-1.0, 1.0]) / degrees
    # standard error of a difference of medians from the covariance of their logarithms, to first order
    doubt = slope * carry
    components = _components(kinds)[:, :, CARRY]
    return LoftLearnt(
        swing_deg=LOFT_SWING_DEG,
        loft_low_deg=low.loft_deg,
        loft_high_deg=high.loft_deg,
        carry_per_deg_m=float(slope @ carry),
        carry_per_deg_se_m=float(np.sqrt(max(float(doubt @ player.log_median_covariance(kinds) @ doubt), 0.0))),
        carry_per_deg_prior_m=float(slope @ before),
        carry_per_deg_prior_sd_m=float(np.linalg.norm((slope * before) @ components)),
    )


def _spreads(player: "FittedPlayer", wedge: Wedge, bag: Bag) -> tuple[SpreadLearnt, ...]:
    """Return how far single balls of a wedge spread over the bag's swing lengths."""
    kinds = [ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg) for swing in bag.swings]
    loft_deg, swing_deg = _lofts_and_swings(kinds)
    club = player.cells(kinds).club
    laws = player.fit.carry_spread, player.fit.spin_spread
    carry, spin = (np.exp(law.log_sd(swing_deg, loft_deg, club)) for law in laws)
    carry_prior, spin_prior = (np.exp(law.log_sd(swing_deg, loft_deg)) for law in spreads.believed(0)[:2])
    return tuple(
        SpreadLearnt(
            swing=swing.label,
            swing_deg=swing.swing_deg,
            carry_spread_share=float(carry[i]),
            carry_spread_prior_share=float(carry_prior[i]),
            spin_spread_share=float(spin[i]),
            spin_spread_prior_share=float(spin_prior[i]),
        )
        for i, swing in enumerate(bag.swings)
    )


def _moves(player: "FittedPlayer") -> tuple[MoveLearnt, ...]:
    """Return the moves between sessions that are more likely large than not."""
    moves = player.fit.moves
    return tuple(
        MoveLearnt(
            index=int(np.flatnonzero(player.obs.session == moves.at[place])[0]),
            boundaries=int(moves.count[place]),
            reading=get_args(MovedReading)[reading],
            ratio=float(np.exp(moves.shift[place, reading])),
            move_probability=float(moves.chance[place, reading]),
        )
        for place, reading in np.argwhere(moves.chance > MOVED)
    )


def _doubt(player: "FittedPlayer", wedge: Wedge, bag: Bag) -> WedgeDoubt:
    kinds = [ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg) for swing in bag.swings]
    before = float(np.mean([share_of_median(float(sd) ** 2) for sd in _prior(kinds, CARRY)[1]]))
    now = float(np.mean([share_of_median(float(v)) for v in np.diag(player.log_median_covariance(kinds))]))
    return WedgeDoubt(wedge.label, wedge.loft_deg, before, now, now / before)


def _distrusted(player: "FittedPlayer") -> tuple[Distrusted, ...]:
    """Return the balls that do not count as solid, in the log's order."""
    obs = player.obs
    odd = np.flatnonzero(~player.solid)
    kinds = [
        ShotKind(
            obs.clubs[obs.club[i]].label,
            float(obs.loft_deg[i]),
            float(obs.swing_deg[i]),
            TRAJECTORIES[obs.trajectory[i]],
            LIES[obs.lie[i]] if obs.lie[i] >= 0 else "",
        )
        for i in odd
    ]
    if not kinds:
        return ()
    # back from the reference air to that of the ball, so that what was logged can be held against it
    factor = np.exp(-obs.air.shift[odd])
    carry = np.exp(obs.log_carry[odd]) * factor
    expected = np.array([known.carry_m for known in player.predict(kinds)]) * factor
    low, high = player.carry_quantiles(kinds, LIKELY).T * factor
    return tuple(
        Distrusted(
            index=int(i),
            mishit_probability=float(1.0 - player.fit.solid[i]),
            carry_m=float(carry[k]),
            carry_expected_m=float(expected[k]),
            carry_p10_m=float(low[k]),
            carry_p90_m=float(high[k]),
            reason=_reason(
                float(carry[k]), float(expected[k]), (float(low[k]), float(high[k])), is_marked=obs.strike[i] == _OFF
            ),
        )
        for k, i in enumerate(odd)
    )


def _reason(carry_m: float, expected_m: float, likely_m: tuple[float, float], *, is_marked: bool) -> DistrustReason:
    if is_marked:
        return "marked"
    if max(carry_m / expected_m, expected_m / carry_m) > SLIP_FACTOR:
        return "slip"
    if carry_m < likely_m[0]:
        return "short"
    return "long" if carry_m > likely_m[1] else "other readings"


def _warnings(player: "FittedPlayer") -> tuple[str, ...]:
    """Return what the fit noted; that it did not settle is said once."""
    notes = player.fit.notes
    if player.fit.converged or any("rounds" in note for note in notes):
        return notes
    return (*notes, f"the fit had not settled after {player.fit.rounds} rounds")


def _components(kinds: Sequence[ShotKind]) -> "Array":
    """Return the surfaces along which plausible players differ, shape (kinds, components, outputs)."""
    return prior_surfaces(*_lofts_and_swings(kinds)).components


def _prior(kinds: Sequence[ShotKind], output: int) -> tuple["Array", "Array"]:
    """Return the median of an output over plausible players, and the sd of its logarithm between them."""
    surfaces = prior_surfaces(*_lofts_and_swings(kinds))
    return np.exp(surfaces.mean[:, output]), np.linalg.norm(surfaces.components[:, :, output], axis=1)


def _lofts_and_swings(kinds: Sequence[ShotKind]) -> tuple["Array", "Array"]:
    return (
        np.array([kind.loft_deg for kind in kinds], dtype=np.float64),
        np.array([kind.swing_deg for kind in kinds], dtype=np.float64),
    )
