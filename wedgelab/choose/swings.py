"""Which swing length carries a target: by the medians along the swings between the shortest and the longest named."""

from collections.abc import Sequence
from typing import Final

from wedgelab.choose.options import STOCK, Reach, kind_of
from wedgelab.errors import BadRequestError
from wedgelab.prediction import Predictor
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import format_clock, parse_swing_deg

_SAME_SWING_DEG: Final = 2.5  # closer than five minutes of the clock: the practised swing stands for the exact one
_STEPS: Final = 48
_STEP_MINUTES: Final = 5


def require_shots(bag: Bag) -> None:
    """Raise `BadRequestError` for a bag without a wedge or a swing length."""
    if not bag.wedges or not bag.swings:
        raise BadRequestError(
            "the bag has no wedge or no swing length", "add with: wedgelab bag add LABEL LOFT, bag swing LABEL DEGREES"
        )


def find_reach(predictor: Predictor, bag: Bag) -> Reach:
    """Return how short and how long the player's named shots are; an empty bag raises `BadRequestError`."""
    require_shots(bag)
    shots = [(wedge, swing) for wedge in bag.wedges for swing in bag.swings]
    carries = [p.carry_m for p in predictor.predict([kind_of(wedge, swing.swing_deg) for wedge, swing in shots])]
    low, high = min(range(len(shots)), key=carries.__getitem__), max(range(len(shots)), key=carries.__getitem__)
    return Reach(carries[low], carries[high], shots[low], shots[high])


def swing_for(predictor: Predictor, wedge: Wedge, target_m: float, swings: Sequence[SwingLength]) -> float | None:
    """Return the swing length [deg] at which the wedge's median is the target, None outside the practised range."""
    return swings_for(predictor, [wedge], target_m, swings)[0]


def swings_for(
    predictor: Predictor,
    wedges: Sequence[Wedge],
    target_m: float,
    swings: Sequence[SwingLength],
    *,
    trajectory: str = STOCK,
    lie: str = "",
) -> list[float | None]:
    """Return `swing_for` of each wedge; asked together, because a day's flights take their time."""
    grid = swing_grid(swings)
    return [crossing(grid, carries, target_m) for carries in grid_carries(predictor, wedges, grid, trajectory, lie)]


def swing_grid(swings: Sequence[SwingLength]) -> list[float]:
    """Return swing lengths [deg] from the shortest named one to the longest."""
    first, last = swings[0].swing_deg, swings[-1].swing_deg
    return [first + (last - first) * i / _STEPS for i in range(_STEPS + 1)]


def grid_carries(
    predictor: Predictor, wedges: Sequence[Wedge], grid: Sequence[float], trajectory: str = STOCK, lie: str = ""
) -> list[list[float]]:
    """Return the median carries of each wedge over the grid of swings."""
    kinds = [kind_of(wedge, swing, trajectory, lie) for wedge in wedges for swing in grid]
    carries = [p.carry_m for p in predictor.predict(kinds)]
    return [carries[k * len(grid) : (k + 1) * len(grid)] for k in range(len(wedges))]


def crossing(grid: Sequence[float], carries: Sequence[float], target_m: float) -> float | None:
    """Return where the carries first rise through the target."""
    for i in range(len(grid) - 1):
        if carries[i] <= target_m <= carries[i + 1]:
            rise = carries[i + 1] - carries[i]
            return grid[i] + (grid[i + 1] - grid[i]) * ((target_m - carries[i]) / rise if rise > 0 else 0.5)
    return None


def worked_out(exact: float | None, swings: Sequence[SwingLength]) -> SwingLength | None:
    """Return the swing for the target to the next five minutes of the clock: nobody swings to the minute.

    None out of the wedge's reach, and where a named swing is as near.
    """
    if exact is None:
        return None
    found = to_five_minutes(exact)
    if any(abs(swing.swing_deg - found.swing_deg) <= _SAME_SWING_DEG for swing in swings):
        return None
    return found


def to_five_minutes(swing_deg: float) -> SwingLength:
    """Return a swing to the next five minutes of the clock."""
    clock = format_clock(swing_deg, _STEP_MINUTES)
    return SwingLength(clock, parse_swing_deg(clock))


def nearest_named(exact: float, swings: Sequence[SwingLength]) -> SwingLength | None:
    """Return the named swing that is as near to the exact one as five minutes can tell, None if there is none."""
    near = [swing for swing in swings if abs(swing.swing_deg - exact) <= 0.5 * _SAME_SWING_DEG]
    return min(near, key=lambda swing: abs(swing.swing_deg - exact), default=None)
