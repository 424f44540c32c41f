"""What leaves the face: a rigid ball on a free club head, with limited friction."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wedgelab.physics.ball import MASS_KG, RADIUS_M
from wedgelab.units import RPM_RADPS

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True)
class Launch:
    """Ball speed [m/s], launch angle [deg], backspin [rpm], and whether the ball was still sliding on the face."""

    ball_speed_mps: "NDArray[np.float64]"
    launch_deg: "NDArray[np.float64]"
    spin_rpm: "NDArray[np.float64]"
    slides: "NDArray[np.bool_]"


def strike(
    club_speed_mps: "ArrayLike",
    delivered_loft_deg: "ArrayLike",
    attack_deg: "ArrayLike" = 0.0,
    *,
    friction: "ArrayLike" = 0.30,
    restitution: "ArrayLike" = 0.75,
    head_mass_kg: float = 0.30,
    mass_kg: float = MASS_KG,
    radius_m: float = RADIUS_M,
) -> Launch:
    """Launch of a ball from a lofted face.

    Parameters
    ----------
    club_speed_mps
        head speed [m/s] above 0; all arrays broadcast.
    delivered_loft_deg
        loft of the face against the ground at impact [deg].
    attack_deg
        direction of the head above the horizon [deg]; a downward blow is negative.
    friction, restitution
        coefficient of friction and of normal restitution between face and ball [-].
    head_mass_kg, mass_kg, radius_m
        club head and ball [kg, kg, m].

    Returns
    -------
    Launch
        the broadcast shape.

    Notes
    -----
    Penner, Am. J. Phys. 69 (2001) 563, and textbook mechanics of a rigid sphere: with the angle SL between head
    velocity and face normal, ``b_n = V cos SL (1+e)/(1+m/M)``; released rolling ``b_t = V sin SL / (3.5 + m/M)``; when
    that needs more friction than there is, ``b_t = mu b_n``; ``omega = 2.5 b_t / r``. Real balls deform and leave with
    up to a quarter more spin; the model of the player learns that as a factor. Valid for SL 0 to 80 deg.
    """
    speed, loft, attack, mu, e = np.broadcast_arrays(
        *(
            np.asarray(part, dtype=np.float64)
            for part in (club_speed_mps, delivered_loft_deg, attack_deg, friction, restitution)
        )
    )
    ratio = mass_kg / head_mass_kg
    spin_loft = np.radians(loft - attack)
    normal = speed * np.cos(spin_loft) * (1.0 + e) / (1.0 + ratio)
    rolling = speed * np.sin(spin_loft) / (3.5 + ratio)
    slides = rolling > mu * normal
    tangential = np.where(slides, mu * normal, rolling)
    return Launch(
        np.hypot(normal, tangential),
        loft - np.degrees(np.arctan2(tangential, normal)),
        2.5 * tangential / radius_m / RPM_RADPS,
        slides,
    )


def friction_needed(
    spin_loft_deg: "ArrayLike", *, restitution: float = 0.75, head_mass_kg: float = 0.30, mass_kg: float = MASS_KG
) -> "NDArray[np.float64]":
    """Smallest friction [-] at which a ball leaves rolling, for the angle between head velocity and face normal [deg].

    ``mu = tan SL (1 + m/M) / [(1 + e)(3.5 + m/M)]``, same source and range as `strike`.
    """
    ratio = mass_kg / head_mass_kg
    tangent = np.tan(np.radians(np.asarray(spin_loft_deg, dtype=np.float64)))
    return np.asarray(tangent * (1.0 + ratio) / ((1.0 + restitution) * (3.5 + ratio)))
