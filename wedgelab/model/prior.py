"""What is believed of a player before the first ball: the physics of plausible players, as a small table.

The table holds, for each output, a mean surface over loft and swing length, the surfaces along which plausible players
differ from it, and the effect of a little more club speed or delivered loft, all as Chebyshev coefficients.
`wedgelab.model.prior_build` makes it; docs/method/model.md describes it.
"""

import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.polynomial.chebyshev import chebvander

from wedgelab.shots import LIMITS

if TYPE_CHECKING:
    from numpy.typing import NDArray

OUTPUTS: Final = ("log_carry", "log_spin", "log_ball_speed", "launch_deg", "land_deg", "log_apex", "log_air_time")
CARRY, SPIN, BALL_SPEED, LAUNCH, LAND, APEX, AIR_TIME = range(len(OUTPUTS))
LOFT_DEGREE: Final = 5
SWING_DEGREE: Final = 8
TABLE_NAME: Final = "prior_table.json"
_SWING_SHIFT_DEG: Final = 20.0  # carries change with the logarithm of a short swing, and slowly at long ones


@dataclass(frozen=True, slots=True)
class PriorSurfaces:
    """Values at n cells: ``mean`` (n, 7), ``components`` (n, k, 7) each with a coefficient N(0, 1),
    ``per_log_speed`` and ``per_loft_deg`` (n, 7). Outputs in the order of `OUTPUTS`."""  # fmt: skip  # noqa: D205, D209

    mean: "NDArray[np.float64]"
    components: "NDArray[np.float64]"
    per_log_speed: "NDArray[np.float64]"
    per_loft_deg: "NDArray[np.float64]"


def basis(loft_deg: "NDArray[np.float64]", swing_deg: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return the Chebyshev products at the cells, shape (n, (LOFT_DEGREE + 1) * (SWING_DEGREE + 1))."""
    low, high = LIMITS["loft_deg"][:2]
    x = (2.0 * loft_deg - low - high) / (high - low)
    first, last = (np.log(edge + _SWING_SHIFT_DEG) for edge in LIMITS["swing_deg"][:2])
    u = (2.0 * np.log(swing_deg + _SWING_SHIFT_DEG) - first - last) / (last - first)
    rows = chebvander(x, LOFT_DEGREE)[:, :, None] * chebvander(u, SWING_DEGREE)[:, None, :]
    return np.asarray(rows.reshape(len(x), -1))


@cache
def _coefficients() -> "NDArray[np.float64]":
    """Read the table: shape (basis, 3 + components, outputs)."""
    text = files("wedgelab.model").joinpath(TABLE_NAME).read_text("utf-8")
    return np.array(json.loads(text)["coefficients"], dtype=np.float64)


def prior_surfaces(loft_deg: "NDArray[np.float64]", swing_deg: "NDArray[np.float64]") -> PriorSurfaces:
    """Evaluate the prior at cells; loft [deg] and swing [deg] of shape (n,), within the hard limits of `shots`."""
    table = _coefficients()
    values = np.tensordot(basis(loft_deg, swing_deg), table, axes=1)
    return PriorSurfaces(values[:, 0], values[:, 3:], values[:, 1], values[:, 2])
