"""Lift and drag of a spinning golf ball: published coefficient sets, with the range in which each was measured.

Every set maps a spin parameter ``S = omega r / V`` and a Reynolds number ``Re = 2 r V / nu`` to drag and lift
coefficients for ``F = 1/2 rho A V^2 C``. Wedge shots live at S 0.2-1.2 and Re 35,000-130,000, the worst covered corner
of the literature: two sets are kept, and their disagreement is part of the answer (docs/method/model.md).
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Coefficients = Callable[[NDArray[np.float64], NDArray[np.float64]], tuple[NDArray[np.float64], NDArray[np.float64]]]


@dataclass(frozen=True, slots=True)
class AeroSet:
    """A published set: drag and lift as functions of spin parameter and Reynolds number, and where it was measured."""

    name: str
    coefficients: "Coefficients"
    spin_parameter_range: tuple[float, float]
    reynolds_range: tuple[float, float]
    source: str

    def covers(self, spin_parameter: "NDArray[np.float64]", reynolds: "NDArray[np.float64]") -> "NDArray[np.bool_]":
        """Tell where the set was measured; elsewhere it is held at its edge."""
        s_low, s_high = self.spin_parameter_range
        re_low, re_high = self.reynolds_range
        return (s_low <= spin_parameter) & (spin_parameter <= s_high) & (re_low <= reynolds) & (reynolds <= re_high)


def _smits_smith(
    spin_parameter: "NDArray[np.float64]", reynolds: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    s = np.clip(spin_parameter, 0.0, 1.4)
    re = np.clip(reynolds, 4.0e4, 2.5e5)
    drag = 0.24 + 0.18 * s + 0.06 * np.sin(np.pi * (re - 90000.0) / 200000.0)
    return drag, 0.54 * s**0.4


_BH_LIFT_S: Final = np.array([0.0, 0.11, 0.19, 0.29, 0.38, 0.48, 0.64, 0.75, 1.0])
_BH_LIFT: Final = np.array([0.0, 0.159, 0.231, 0.265, 0.339, 0.363, 0.404, 0.421, 0.452])
_BH_DRAG_S: Final = np.array([0.0, 0.11, 0.29, 0.48, 0.64, 0.75, 1.0])
_BH_DRAG: Final = np.array([0.26, 0.288, 0.347, 0.439, 0.455, 0.517, 0.544])


def _bearman_harvey(
    spin_parameter: "NDArray[np.float64]", reynolds: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    s = np.broadcast_to(spin_parameter, np.broadcast_shapes(np.shape(spin_parameter), np.shape(reynolds)))
    return np.interp(s, _BH_DRAG_S, _BH_DRAG), np.interp(s, _BH_LIFT_S, _BH_LIFT)


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

AERO_SETS: Final = (SMITS_SMITH, BEARMAN_HARVEY)
