"""What a choice is made of: options, the choice itself, the reach of a bag."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from wedgelab.chart import Today
from wedgelab.choose.limits import NO_LIMITS, Limits
from wedgelab.errors import NothingFitsError
from wedgelab.prediction import NOT_SAID, Day, FlightEstimate, Prediction, ShotKind, SpinSupport, Support
from wedgelab.shots import Conditions, SwingLength, Wedge
from wedgelab.showing import Shown
from wedgelab.units import LengthUnit, format_length

Want = Literal["window", "spin", "low-spin", "high", "low", "soft"]
WANTS: Final[tuple[Want, ...]] = ("window", "spin", "low-spin", "high", "low", "soft")

WORTH_OFFERING: Final = 0.10  # a shot whose median lies outside the window and has less chance is left out ...
CHEAP_TRADE: Final = 0.05  # points of chance that are worth little talk
NEAR_BEST: Final = 0.75  # ... and any other wish looks only at options with about this share of the best chance
STOCK: Final = "stock"


@dataclass(frozen=True, slots=True)
class Option:
    """One wedge and swing for the target; ``practised`` tells a named swing length from one worked out for it.

    Carries are those of the player's reference conditions; with a day asked for, ``today`` has that day's, and
    ``window_probability`` and ``flight`` are that day's too. ``spin_probability`` is the chance of a ball's spin over
    the asked limit, ``both_probability`` that of such a ball inside the window; None where no limit was asked for.
    ``is_unbeaten``: no other option is better at one of chance and spin without being worse at the other.
    """

    wedge: str
    loft_deg: float
    swing: str
    swing_deg: float
    practised: bool
    carry_m: float
    carry_sd_m: float
    carry_se_m: float
    carry_p10_m: float
    carry_p90_m: float
    window_probability: float
    spin_rpm: float
    spin_sd_rpm: float
    n_shots: int
    support: Support
    spin_support: SpinSupport
    flight: FlightEstimate
    today: Today | None = None
    trajectory: str = STOCK
    lie: str = ""
    spin_probability: float | None = None
    both_probability: float | None = None
    is_unbeaten: bool = False
    spin_se_rpm: float = 0.0

    @property
    def played_m(self) -> float:
        """The median carry when it is played: today's, if a day was asked for."""
        return self.carry_m if self.today is None else self.today.carry_today_m or 0.0

    @property
    def chance(self) -> float:
        """The chance that is ranked by: inside the window, with enough spin where that was asked for."""
        return self.window_probability if self.both_probability is None else self.both_probability

    @property
    def name(self) -> str:
        """Wedge and swing in words, with the trajectory if it is not the stock one."""
        return f"{self.wedge} at {self.swing}" + ("" if self.trajectory == STOCK else f", {self.trajectory}")


def is_offered(at: Prediction, chance: float, low_m: float, high_m: float) -> bool:
    """Return whether a shot, as it is played, answers a window.

    Its median lies inside, or it has a chance worth offering and lies no farther off than its balls spread of
    themselves. What is not known of a median spreads the chance far and wide: that makes no reach.
    """
    off_m = max(low_m - at.carry_m, at.carry_m - high_m)
    own_m = math.sqrt(max(at.carry_sd_m**2 - at.carry_se_m**2, 0.0))
    return off_m <= 0.0 or (chance >= WORTH_OFFERING and off_m <= own_m)


def near_best(options: Sequence[Option], least: float, low_m: float, high_m: float) -> list[Option]:
    """Return the options that a wish may rank: a good chance, and a median inside the window where there is one so."""
    near = [option for option in options if option.chance >= least]
    return [option for option in near if low_m <= option.played_m <= high_m] or near


@dataclass(frozen=True, slots=True)
class Choice(Shown):
    """The options for a target, best first, and the one to weigh the best against (None when it stands alone).

    A wish for more than the window ranks by it the options whose chance is at least ``least_probability`` and whose
    median lies inside the window; if there is none such, by the chance alone.
    ``left_out`` has, of each wedge with a swing worked out for the target, the nearest practised swing where it is too
    far from the window to be an option. ``unlogged`` names the trajectories and lies asked for of which no ball was
    logged. ``n_draws`` balls were drawn an option for the chances of spin, 0 if none were.
    """

    target_m: float
    window_low_m: float
    window_high_m: float
    want: Want
    least_probability: float
    options: tuple[Option, ...]
    rival: Option | None
    reference: Conditions = NOT_SAID
    day: Day | None = None
    green: str = "normal"
    limits: Limits = NO_LIMITS
    trajectories: tuple[str, ...] = (STOCK,)
    lie: str = ""
    left_out: tuple[Option, ...] = ()
    unlogged: tuple[str, ...] = ()
    n_draws: int = 0

    @property
    def best(self) -> Option:
        """The first option."""
        return self.options[0]

    @property
    def wished(self) -> tuple[Option, ...]:
        """The options, first in the order, that were ranked by a wish other than the window; the others by chance."""
        if self.want == "window":
            return ()
        return tuple(near_best(self.options, self.least_probability, self.window_low_m, self.window_high_m))

    def outside_m(self, option: Option) -> float:
        """Return how far an option's median lies outside the window [m]: short of it negative, 0 inside."""
        return min(option.played_m - self.window_low_m, 0.0) + max(option.played_m - self.window_high_m, 0.0)

    @property
    def draw_se(self) -> float | None:
        """One standard error that drawing leaves in a chance, at the most; None where nothing was drawn."""
        return 0.5 / self.n_draws**0.5 if self.n_draws else None


@dataclass(frozen=True, slots=True)
class Reach:
    """The shortest and longest median carry [m] of the bag, and the shots that make them."""

    low_m: float
    high_m: float
    shortest: tuple[Wedge, SwingLength]
    longest: tuple[Wedge, SwingLength]


class OutOfReachError(NothingFitsError):
    """No shot of the player has its median inside the window of the target, or near it and a chance worth a word."""

    def __init__(
        self,
        target_m: float,
        nearest_m: float,
        shot: tuple[Wedge, SwingLength],
        unit: LengthUnit,
        trajectory: str = STOCK,
    ) -> None:
        self.target_m, self.nearest_m = target_m, nearest_m
        wedge, swing = shot
        # with a narrow window both may round to the same number, and the sentence would contradict itself
        digits = 0 if format_length(target_m, unit) != format_length(nearest_m, unit) else 1
        flight = "" if trajectory == STOCK else f" {trajectory}"
        super().__init__(
            f"{format_length(target_m, unit, digits)} {unit} is out of reach",
            f"the nearest is {format_length(nearest_m, unit, digits)} {unit}: {wedge.label} {swing.label}{flight}",
        )


def kind_of(wedge: Wedge, swing_deg: float, trajectory: str = STOCK, lie: str = "") -> ShotKind:
    """Return what is hit with a wedge at a swing length."""
    return ShotKind(wedge.label, wedge.loft_deg, swing_deg, trajectory, lie)
