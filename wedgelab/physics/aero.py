"""Lift and drag of a spinning golf ball: published coefficient sets, with the range in which each was measured.

Every set maps a spin parameter ``S = omega r / V`` and a Reynolds number ``Re = 2 r V / nu`` to drag and lift
coefficients for ``F = 1/2 rho A V^2 C``. Wedge shots live at S 0.2-1.2 and Re 35,000-130,000, the worst covered corner
of the literature: three sets are kept, and their disagreement is part of the answer (docs/method/flight.md).

Inside its range a set is the published formula, or a smooth curve through the published points. Beyond, it is held at
its edge, and the corner is rounded off, so that a flight across the edge stays smooth; `AeroSet.covers` tells where.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.physics.air import STANDARD_VISCOSITY_M2_S
from wedgelab.physics.ball import RADIUS_M
from wedgelab.units import RPM_RADPS

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Coefficients = Callable[[NDArray[np.float64], NDArray[np.float64]], tuple[NDArray[np.float64], NDArray[np.float64]]]


@dataclass(frozen=True, slots=True)
class AeroSet:
    """A published set: drag and lift as functions of spin parameter and Reynolds number, and where it was measured.

    ``coefficients`` takes S >= 0 and Re > 0 of one shape and returns drag and lift coefficients [-] of that shape.
    ``spins_range`` limits ``S Re``, which stands for the spin whatever the speed, where the source varied that.
    """

    name: str
    coefficients: "Coefficients"
    spin_parameter_range: tuple[float, float]
    reynolds_range: tuple[float, float]
    source: str
    spins_range: tuple[float, float] = (0.0, float("inf"))

    def covers(self, spin_parameter: "NDArray[np.float64]", reynolds: "NDArray[np.float64]") -> "NDArray[np.bool_]":
        """Tell where the set was measured; elsewhere it is held at its edge."""
        ranges = (
            (spin_parameter, self.spin_parameter_range),
            (reynolds, self.reynolds_range),
            (spin_parameter * reynolds, self.spins_range),
        )
        inside = np.ones(np.broadcast_shapes(np.shape(spin_parameter), np.shape(reynolds)), dtype=np.bool_)
        for value, (low, high) in ranges:
            inside &= (low <= value) & (value <= high)
        return inside


_NO_SPIN: Final = 1e-100  # keeps the logarithm finite


def _held_below(x: "NDArray[np.float64]", high: float, soft: float) -> "NDArray[np.float64]":
    """Hold x at an upper edge, with a parabola from ``soft`` before to ``soft`` behind it (smooth to first order).

    At the edge itself the value is off by a quarter of ``soft``.
    """
    near = np.minimum(x, high + soft)
    over = np.maximum(near - (high - soft), 0.0)
    over *= over
    over *= 0.25 / soft
    near -= over
    return near


def _held_between(x: "NDArray[np.float64]", low: float, high: float, soft: float) -> "NDArray[np.float64]":
    """Hold x at both edges, each as in `_held_below`."""
    near = np.maximum(x, low - soft)
    under = np.minimum(near - (low + soft), 0.0)
    under *= under
    under *= 0.25 / soft
    near += under
    return _held_below(near, high, soft)


def _smits_smith(
    spin_parameter: "NDArray[np.float64]", reynolds: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    # the lower edge of S is not held: the formula itself ends at no spin, no lift
    s = _held_below(spin_parameter, 1.4, 0.1)
    re = _held_between(reynolds, 4.0e4, 2.5e5, 5.0e3)
    drag = 0.24 + 0.18 * s + 0.06 * np.sin((re - 9.0e4) * (np.pi / 2.0e5))
    return drag, 0.54 * np.exp(0.4 * np.log(np.maximum(s, _NO_SPIN)))


# Conventional ball: least-squares curves through the re-plotted points (tests/physics/test_aero.py lists them) at 14
# and 21.9 m/s, joined linearly in Re. The faster curves also lean on the 14 m/s points where no others reach (lift at
# S 0.75 and 1.0, drag at 1.0), the drag curves on C_D 0.26 without spin. Points lie up to 0.026 (lift) and 0.034 (drag)
# off: the reading error is 0.008, the rest is how differently neighbouring points of the source behave.
_BH_RE: Final = (4.1e4, 6.4e4)
_BH_LIFT_14: Final = (0.8310, -0.3710)  # S, S^2
_BH_LIFT_22: Final = (0.4587, 0.2938)  # a (1 - exp(-S / b))
_BH_DRAG_14: Final = (0.2616, 0.3253, -0.0362)  # 1, S, S^2
_BH_DRAG_22: Final = (0.2528, 0.3959, -0.1045)


def _bearman_harvey(
    spin_parameter: "NDArray[np.float64]", reynolds: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    s = _held_below(spin_parameter, 1.0, 0.1)
    low, high = _BH_RE
    faster = (_held_between(reynolds, low, high, 4.0e3) - low) * (1.0 / (high - low))
    drag_slow, drag_fast = (level + s * (slope + bend * s) for level, slope, bend in (_BH_DRAG_14, _BH_DRAG_22))
    lift_slow = s * (_BH_LIFT_14[0] + _BH_LIFT_14[1] * s)
    lift_fast = -_BH_LIFT_22[0] * np.expm1(s * (-1.0 / _BH_LIFT_22[1]))
    return drag_slow + faster * (drag_fast - drag_slow), lift_slow + faster * (lift_fast - lift_slow)


# Hexagonally dimpled ball: rows 2000 to 6000 rpm, columns 13.7 to 46.9 m/s
_HEX_RPM: Final = np.array([2000.0, 3000.0, 4000.0, 5000.0, 6000.0])
_HEX_MPS: Final = np.array([13.7, 21.6, 29.9, 38.4, 46.9])
_HEX_DRAG: Final = np.array(
    [
        [0.3624, 0.2885, 0.2765, 0.2529, 0.2472],
        [0.4203, 0.3658, 0.3169, 0.2822, 0.2655],
        [0.4288, 0.4003, 0.3490, 0.3084, 0.2852],
        [0.4848, 0.4314, 0.3728, 0.3316, 0.3062],
        [0.5180, 0.4406, 0.3882, 0.3517, 0.3285],
    ]
)
_HEX_LIFT: Final = np.array(
    [
        [0.1040, 0.1846, 0.2460, 0.1984, 0.1762],
        [0.3624, 0.3362, 0.3049, 0.2475, 0.2073],
        [0.4005, 0.3640, 0.3347, 0.2862, 0.2384],
        [0.4130, 0.3894, 0.3496, 0.3119, 0.2695],
        [0.4644, 0.4227, 0.3724, 0.3393, 0.3005],
    ]
)
_HEX_RE: Final = 2.0 * RADIUS_M * _HEX_MPS / STANDARD_VISCOSITY_M2_S
_HEX_SPINS: Final = 2.0 * RADIUS_M**2 * _HEX_RPM * RPM_RADPS / STANDARD_VISCOSITY_M2_S  # S Re: spin, whatever the speed
_HEX_MIDDLE: Final = (float(_HEX_SPINS[2]), 0.5 * float(_HEX_RE[0] + _HEX_RE[-1]))
_HEX_HALF: Final = (0.5 * float(_HEX_SPINS[-1] - _HEX_SPINS[0]), 0.5 * float(_HEX_RE[-1] - _HEX_RE[0]))


def _through(table: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Coefficients of the polynomial of degree 4 in each direction that meets the table's 25 values."""
    along_spin = np.vander((_HEX_SPINS - _HEX_MIDDLE[0]) / _HEX_HALF[0], increasing=True)
    along_speed = np.vander((_HEX_RE - _HEX_MIDDLE[1]) / _HEX_HALF[1], increasing=True)
    return np.asarray(np.linalg.solve(along_speed, np.linalg.solve(along_spin, table).T).T)


_HEX_BATCH: Final = 1024
_HEX_POLYNOMIALS: Final = np.concatenate([_through(_HEX_DRAG), _through(_HEX_LIFT)])  # (drag and lift by S Re, Re)


def _bearman_harvey_hexagonal(
    spin_parameter: "NDArray[np.float64]", reynolds: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    spins = spin_parameter * reynolds
    shape = spins.shape
    held = _held_between(spins, float(_HEX_SPINS[0]), float(_HEX_SPINS[-1]), 4.0e3)
    x = _powers((held.ravel() - _HEX_MIDDLE[0]) * (1.0 / _HEX_HALF[0]))
    held = _held_between(reynolds, float(_HEX_RE[0]), float(_HEX_RE[-1]), 5.0e3)
    y = _powers((np.broadcast_to(held, shape).ravel() - _HEX_MIDDLE[1]) * (1.0 / _HEX_HALF[1]))
    drag, lift = both = np.empty((2, x.shape[1]))
    for first in range(0, x.shape[1], _HEX_BATCH):  # the products of a batch stay in the processor's cache
        part = np.s_[:, first : first + _HEX_BATCH]
        both[part] = np.einsum("abn,bn->an", (_HEX_POLYNOMIALS @ y[part]).reshape(2, 5, -1), x[part])
    # below the slowest measured spin the lift fades to none at no spin, as symmetry asks
    fade = _held_below(spins * (1.0 / float(_HEX_SPINS[0])), 1.0, 0.2)
    return drag.reshape(shape), fade * lift.reshape(shape)


def _powers(x: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Powers of x 0 to 4, shape (5, n)."""
    powers = np.empty((5, len(x)))
    powers[0] = 1.0
    powers[1] = x
    np.multiply(x, x, out=powers[2])
    np.multiply(powers[2], x, out=powers[3])
    np.multiply(powers[2], powers[2], out=powers[4])
    return powers


SMITS_SMITH: Final = AeroSet(
    "Smits & Smith 1994",
    _smits_smith,
    (0.04, 1.4),
    (4.0e4, 2.5e5),
    "Science and Golf II, 340-347, as quoted in later literature; stated for driver shots (S 0.08-0.2)",
)

BEARMAN_HARVEY: Final = AeroSet(
    "Bearman & Harvey 1976, conventional ball",
    _bearman_harvey,
    (0.11, 1.0),
    (4.0e4, 6.5e4),
    "Aeronautical Quarterly 27, 112-122, points at 14 and 21.9 m/s as re-plotted in later literature, +-0.008",
)

BEARMAN_HARVEY_HEXAGONAL: Final = AeroSet(
    "Bearman & Harvey 1976, hexagonally dimpled ball",
    _bearman_harvey_hexagonal,
    (0.0, 1.0),
    (4.0e4, 1.37e5),
    "Aeronautical Quarterly 27, 112-122, table of 2000-6000 rpm and 13.7-46.9 m/s as quoted in later literature",
    (float(_HEX_SPINS[0]), float(_HEX_SPINS[-1])),
)

AERO_SETS: Final = (SMITS_SMITH, BEARMAN_HARVEY, BEARMAN_HARVEY_HEXAGONAL)


def _middle(
    spin_parameter: "NDArray[np.float64]", reynolds: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    each = [aero.coefficients(spin_parameter, reynolds) for aero in AERO_SETS]
    drags, lifts = zip(*each, strict=True)
    return np.asarray(sum(drags) / len(each)), np.asarray(sum(lifts) / len(each))


MIDDLE: Final = AeroSet(
    "mean of the published sets",
    _middle,
    (0.11, 1.0),
    (4.0e4, 6.5e4),
    "mean coefficients of the three sets: a yardstick for one player's ball; the range is where all three are measured",
    BEARMAN_HARVEY_HEXAGONAL.spins_range,
)
