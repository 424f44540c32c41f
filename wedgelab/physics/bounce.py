"""What the ball does on the ground: illustrative, right to about half of itself at best."""

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.errors import UnknownNameError
from wedgelab.physics.ball import GRAVITY_MPS2, RADIUS_M
from wedgelab.units import RPM_RADPS

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

GREENS: Final = ("soft", "normal", "firm")

# Penner, Can. J. Phys. 80 (2002) 931, as quoted in later literature
_RESTITUTION: Final = (0.510, -0.0375, 0.000903)
_HARDEST_NORMAL_MPS: Final = 20.0
_HARDEST_RESTITUTION: Final = 0.120
# The same paper: the ball leaves its pitch mark as if the ground were tilted towards it, by 15.4 deg at 18.6 m/s and
# 44.4 deg from the vertical, in proportion to both. The form as quoted in later literature (Biber et al. 2023), the
# three numbers second hand: the paper itself was not opened
_TILT: Final = 15.4 / (18.6 * 44.4)

# Haake (1989, 1994): on one kind of green the ball keeps backspin above about this much incoming backspin
_KEEPS_SPIN_ABOVE_RADPS: Final = 350.0
_KEPT_SHARE: Final = 0.4  # of what is above: own judgement, no source

# (low, middle, high). All of them own judgement, no source, but for two: friction 0.40 is the usual value for turf
# (Penner 2002, value from memory), and 0.6 m/s2 is what stops a ball rolled at 1.83 m/s after 9 ft, an ordinary green
# (value from memory); the ends stand for 7 and 12 ft. A green's speed is not its firmness, so all share it.
_ROLLING_MPS2: Final = (0.45, 0.60, 0.80)
_RESTITUTION_SCALE: Final = {"soft": (0.80, 0.95, 1.10), "normal": (0.85, 1.00, 1.15), "firm": (0.90, 1.05, 1.20)}
_FRICTION: Final = {"soft": (0.38, 0.43, 0.48), "normal": (0.35, 0.40, 0.45), "firm": (0.32, 0.37, 0.42)}
_TILT_SCALE: Final = {"soft": (1.05, 1.15, 1.25), "normal": (0.90, 1.00, 1.10), "firm": (0.75, 0.85, 0.95)}

_LEAST_SHARE: Final = 0.5  # the band is never narrower than this share of the middle, each side
_SMALLEST_RISE_MPS: Final = 0.31  # a hop of 5 mm: from here on the ball counts as on the ground
_MOST_HOPS: Final = 200  # never reached in the stated range: at most 70 there
_BATCH: Final = 512  # so many balls at a time, on all grounds, stay in the processor's cache


@dataclass(frozen=True, slots=True)
class Bounce:
    """Speed along the ground [m/s], speed upwards [m/s], backspin [rad/s], and whether the ball still slid."""

    vx_mps: "NDArray[np.float64]"
    vy_mps: "NDArray[np.float64]"
    spin_radps: "NDArray[np.float64]"
    slides: "NDArray[np.bool_]"


@dataclass(frozen=True, slots=True)
class RunOut:
    """From the pitch mark to rest, along the line [m]; negative where the ball comes back. See `run_out`."""

    low_m: "NDArray[np.float64]"
    mid_m: "NDArray[np.float64]"
    high_m: "NDArray[np.float64]"


def bounce(
    vx_mps: "ArrayLike",
    vy_mps: "ArrayLike",
    spin_radps: "ArrayLike",
    *,
    friction: "ArrayLike",
    restitution: "ArrayLike",
    radius_m: float = RADIUS_M,
) -> Bounce:
    """One bounce of a rigid ball on rigid level ground.

    Parameters
    ----------
    vx_mps
        speed along the ground [m/s], forwards positive; all arrays broadcast.
    vy_mps
        speed towards the ground [m/s], 0 or more.
    spin_radps
        backspin [rad/s]; topspin negative.
    friction, restitution
        coefficients of sliding friction and of normal restitution [-], 0 or more and 0 to 1.
    radius_m
        radius of the ball [m].

    Returns
    -------
    Bounce
        the broadcast shape; ``vy_mps`` is now upwards; NaN where an input is NaN.

    Notes
    -----
    Daish 1972, as given by Penner, Rep. Prog. Phys. 66 (2003), as quoted in later literature. With the slip
    ``s = vx + r omega`` of the contact point and ``mu_c = 2 s / [7 (1+e) vy]``: friction below mu_c leaves the ball
    sliding, ``vx' = vx - mu (1+e) vy``, ``omega' = omega - (5/2) mu (1+e) vy / r``; otherwise it leaves rolling,
    ``vx' = (5/7) vx - (2/7) r omega``, ``omega' = -vx' / r``. ``vy' = e vy``. A ball with more topspin than rolling
    slips the other way and is pushed forwards. ``vx - (2/5) r omega`` is kept exactly; energy never rises.
    Real turf gives way: Biber et al., Sports Eng. 26 (2023), found most of 1000 bounces still slipping, so this is a
    building block and no description of a green.
    """
    vx, vy, spin, mu, e = np.broadcast_arrays(
        *(np.asarray(part, dtype=np.float64) for part in (vx_mps, vy_mps, spin_radps, friction, restitution))
    )
    slip = vx + radius_m * spin
    needed = 2.0 / 7.0 * np.abs(slip)
    limit = mu * (1.0 + e) * vy
    push = np.copysign(np.minimum(needed, limit), slip)
    return Bounce(
        np.asarray(vx - push), np.asarray(e * vy), np.asarray(spin - 2.5 * push / radius_m), np.asarray(limit < needed)
    )


def turf_restitution(normal_speed_mps: "ArrayLike") -> "NDArray[np.float64]":
    """Coefficient of normal restitution of a golf ball on turf.

    Parameters
    ----------
    normal_speed_mps
        speed at right angles to the turf [m/s], 0 to about 30, any shape.

    Returns
    -------
    ndarray
        restitution [-], same shape; NaN where the input is NaN.

    Notes
    -----
    Penner, Can. J. Phys. 80 (2002) 931, as quoted in later literature: ``0.510 - 0.0375 v + 0.000903 v^2`` up to
    20 m/s and 0.120 above. As printed, the curve ends at 0.1212, so that there is a step of 0.0012 down at 20 m/s.
    """
    v = np.asarray(normal_speed_mps, dtype=np.float64)
    a, b, c = _RESTITUTION
    return np.asarray(np.where(v > _HARDEST_NORMAL_MPS, _HARDEST_RESTITUTION, a + b * v + c * v**2))


def run_out(
    land_speed_mps: "ArrayLike", land_deg: "ArrayLike", land_spin_rpm: "ArrayLike", green: str = "normal"
) -> RunOut:
    """How far from its pitch mark a ball ends, along the line of the shot: an illustration with a wide band.

    Parameters
    ----------
    land_speed_mps
        speed at landing [m/s], 5 to 30; all arrays broadcast.
    land_deg
        angle of descent below the horizon [deg], 15 to 60.
    land_spin_rpm
        backspin at landing [rpm], 0 to 12000, and no more than 1.3 of the speed: ``r omega <= 1.3 V``.
    green
        ``soft``, ``normal`` or ``firm`` level green.

    Returns
    -------
    RunOut
        the broadcast shape [m]. NaN where an input is not finite, the angle is not in (0, 90] or the speed is
        negative. Other values outside the ranges above are computed by the same rules and not to be relied on: very
        steep, slow, much-spun balls come back too far.

    Raises
    ------
    UnknownNameError
        for a green of another name.

    Notes
    -----
    `bounce` on ground tilted towards the ball (Penner 2002, numbers second hand: 15.4 deg at 18.6 m/s and 44.4 deg
    from the vertical, in proportion to both), `turf_restitution`, hops without air, until a hop is below
    5 mm; then sliding until it rolls, and rolling at a constant deceleration until rest.
    ``mid_m`` takes the middle values of that green and the exit of the rigid ball. ``low_m`` and ``high_m`` are the
    extremes over all corners of the parameters' ranges and over two exits, the rigid one and one that keeps slipping
    with backspin (Haake: above about 350 rad/s of incoming backspin, on one kind of green), and lie at least half of
    the middle away from it. The ranges of each firmness are own judgement, no source.

    The band can be used to say that one shot stops sooner than another, and how little is known of how soon. It is no
    interval with a stated probability; it knows no slope, grain, wet or pitch on a fringe; and it must not enter a
    distance chart, a fit, or a score.
    """
    if green not in GREENS:
        raise UnknownNameError("green", green, GREENS)
    together = np.broadcast_arrays(
        *(np.asarray(part, dtype=np.float64) for part in (land_speed_mps, land_deg, land_spin_rpm))
    )
    speed, deg, rpm = (np.ravel(part) for part in together)
    lands = np.isfinite(speed) & np.isfinite(deg) & np.isfinite(rpm) & (speed >= 0) & (deg > 0) & (deg <= 90)
    angle = np.radians(np.where(lands, deg, np.nan))
    ranges = (_RESTITUTION_SCALE[green], _FRICTION[green], _TILT_SCALE[green], _ROLLING_MPS2)
    middle = [(*(low_mid_high[1] for low_mid_high in ranges), 0.0)]
    corners = itertools.product(*((low, high) for low, _, high in ranges), (0.0, 1.0))
    ground = np.array([*middle, *corners]).T[:, :, np.newaxis]
    motion = np.stack([speed * np.cos(angle), speed * np.sin(angle), rpm * RPM_RADPS])
    batches = [motion[:, at : at + _BATCH] for at in range(0, max(speed.size, 1), _BATCH)]
    ends = np.concatenate([_ends(batch, ground) for batch in batches], axis=1)
    mid = ends[0]
    least = _LEAST_SHARE * np.abs(mid)
    low, high = np.minimum(ends.min(axis=0), mid - least), np.maximum(ends.max(axis=0), mid + least)
    shape = together[0].shape
    return RunOut(low.reshape(shape), mid.reshape(shape), high.reshape(shape))


def _ends(motion: "NDArray[np.float64]", ground: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Where balls end [m], shape (grounds, balls).

    Rows of ``motion``: speed along the ground, speed downwards, backspin. Rows of ``ground``, each of shape
    (grounds, 1): restitution scale, friction, tilt scale, rolling deceleration, 1 for the slipping exit.
    """
    grounds, balls = ground.shape[1], motion.shape[1]
    scale, friction, tilt, rolling, slipping = (np.repeat(part, balls, axis=1).ravel() for part in ground)
    vx, vy, spin = (np.tile(part, grounds) for part in motion)
    x = np.zeros_like(vx)
    for _ in range(_MOST_HOPS):
        go = np.flatnonzero(vy > _SMALLEST_RISE_MPS)
        if go.size == 0:
            break
        vx[go], vy[go], spin[go] = _turf_bounce(
            vx[go], vy[go], spin[go], scale[go], friction[go], tilt[go], slipping[go] > 0
        )
        x[go] += 2.0 * vx[go] * vy[go] / GRAVITY_MPS2
    rolls = (5.0 * vx - 2.0 * RADIUS_M * spin) / 7.0
    slides = np.sign(vx + RADIUS_M * spin) * (vx**2 - rolls**2) / (2.0 * friction * GRAVITY_MPS2)
    return np.asarray(x + slides + rolls * np.abs(rolls) / (2.0 * rolling)).reshape(grounds, balls)


def _turf_bounce(
    vx: "NDArray[np.float64]",
    vy: "NDArray[np.float64]",
    spin: "NDArray[np.float64]",
    scale: "NDArray[np.float64]",
    friction: "NDArray[np.float64]",
    tilt: "NDArray[np.float64]",
    slipping: "NDArray[np.bool_]",
) -> "tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]":
    """One bounce out of the ball's own pitch mark: speed along the ground, speed upwards, backspin."""
    turn = tilt * _TILT * np.hypot(vx, vy) * np.arctan2(vx, vy)  # both angles in radians
    cos, sin = np.cos(turn), np.sin(turn)
    along, into = vx * cos - vy * sin, vy * cos + vx * sin
    rigid = bounce(along, into, spin, friction=friction, restitution=scale * turf_restitution(into))
    # the exit that keeps slipping: a weaker push than the rigid one, so never more backspin than came in
    kept = np.maximum(rigid.spin_radps, _KEPT_SHARE * (spin - _KEEPS_SPIN_ABOVE_RADPS))
    out = np.where(slipping & (along + RADIUS_M * spin > 0), np.minimum(kept, spin), rigid.spin_radps)
    leaves = rigid.vx_mps + 0.4 * RADIUS_M * (out - rigid.spin_radps)
    # beyond the stated range (above 38 m/s) the tilt can turn a ball back into the ground: there it stays
    up = np.maximum(rigid.vy_mps * cos + leaves * sin, 0.0)
    return leaves * cos - rigid.vy_mps * sin, up, out
