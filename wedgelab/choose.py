"""Which wedge and swing for a called distance: every option with its chance, ranked by what is wanted."""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Final, Literal

from wedgelab.chart import LEAST_CARRY_M, LIKELY, Today, carries_today
from wedgelab.errors import BadRequestError, NothingFitsError
from wedgelab.prediction import NOT_SAID, Day, FlightEstimate, Prediction, Predictor, ShotKind, SpinSupport, Support
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.units import LengthUnit, format_clock, format_length, parse_swing_deg
from wedgelab.window import WindowRule

Want = Literal["window", "spin", "low-spin"]
WANTS: Final[tuple[Want, ...]] = ("window", "spin", "low-spin")

WORTH_OFFERING: Final = 0.10  # a practised swing with less chance than this is left out ...
CHEAP_TRADE: Final = 0.05  # points of chance that are worth little talk
NEAR_BEST: Final = 0.75  # ... and a wish for spin looks only at options with this share of the best chance
_SAME_SWING_DEG: Final = 2.5  # closer than five minutes of the clock: the practised swing stands for the exact one
_STEPS: Final = 48
_STEP_MINUTES: Final = 5


@dataclass(frozen=True, slots=True)
class Option:
    """One wedge and swing for the target; ``practised`` tells a named swing length from one worked out for it.

    Carries are those of the player's reference conditions; with a day asked for, ``today`` has that day's, and
    ``window_probability`` and ``flight`` are that day's too.
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

    @property
    def played_m(self) -> float:
        """The median carry when it is played: today's, if a day was asked for."""
        return self.carry_m if self.today is None else self.today.carry_today_m or 0.0


@dataclass(frozen=True, slots=True)
class Choice:
    """The options for a target, best first, and the one to weigh the best against (None when it stands alone).

    A wish for spin ranks by spin the options whose chance is at least ``least_probability``.
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

    @property
    def best(self) -> Option:
        """The first option."""
        return self.options[0]


@dataclass(frozen=True, slots=True)
class Reach:
    """The shortest and longest median carry [m] of the bag, and the shots that make them."""

    low_m: float
    high_m: float
    shortest: tuple[Wedge, SwingLength]
    longest: tuple[Wedge, SwingLength]


class OutOfReachError(NothingFitsError):
    """No shot of the player has its median inside the window of the target."""

    def __init__(self, target_m: float, nearest_m: float, shot: tuple[Wedge, SwingLength], unit: LengthUnit) -> None:
        self.target_m, self.nearest_m = target_m, nearest_m
        wedge, swing = shot
        # with a narrow window both may round to the same number, and the sentence would contradict itself
        digits = 0 if format_length(target_m, unit) != format_length(nearest_m, unit) else 1
        super().__init__(
            f"{format_length(target_m, unit, digits)} {unit} is out of reach",
            f"the nearest is {format_length(nearest_m, unit, digits)} {unit}: {wedge.label} {swing.label}",
        )


def find_reach(predictor: Predictor, bag: Bag) -> Reach:
    """Return how short and how long the player's named shots are; an empty bag raises `BadRequestError`."""
    if not bag.wedges or not bag.swings:
        raise BadRequestError(
            "the bag has no wedge or no swing length", "add with: wedgelab bag add LABEL LOFT, bag swing LABEL DEGREES"
        )
    pairs = [(wedge, swing) for wedge in bag.wedges for swing in bag.swings]
    carries = [p.carry_m for p in predictor.predict([_kind(wedge, swing.swing_deg) for wedge, swing in pairs])]
    low, high = min(range(len(pairs)), key=carries.__getitem__), max(range(len(pairs)), key=carries.__getitem__)
    return Reach(carries[low], carries[high], pairs[low], pairs[high])


def choose(
    predictor: Predictor,
    bag: Bag,
    target_m: float,
    *,
    window: WindowRule,
    want: Want = "window",
    unit: LengthUnit = "yd",
    reference: Conditions = NOT_SAID,
    day: Day | None = None,
    green: str = "normal",
) -> Choice:
    """Rank the player's options for a target; `OutOfReachError` (worded in ``unit``) if none comes near."""
    played = predictor if day is None else predictor.on(day)
    reach = find_reach(played, bag)
    low, high = window.around(target_m)
    if LEAST_CARRY_M < reach.high_m < low:
        raise OutOfReachError(target_m, reach.high_m, reach.longest, unit)
    if reach.low_m > high:
        raise OutOfReachError(target_m, reach.low_m, reach.shortest, unit)
    shots: list[tuple[Wedge, SwingLength, bool]] = []
    for wedge, exact in zip(bag.wedges, swings_for(played, bag.wedges, target_m, bag.swings), strict=True):
        shots.extend((wedge, swing, True) for swing in bag.swings)
        worked_out = _worked_out(exact, bag.swings)
        if worked_out is not None:
            shots.append((wedge, worked_out, False))
    every = [o for o in _evaluate(predictor, shots, low, high, day, green) if o.played_m > LEAST_CARRY_M]
    if not every:
        raise NothingFitsError("no shot of the bag gets up to the green", "check the rise and its unit, or lay up")
    options = [o for o in every if o.window_probability >= WORTH_OFFERING or low <= o.played_m <= high]
    if not options:  # the target falls into a hole between two wedges' ranges
        near = min(every, key=lambda o: abs(o.played_m - target_m))
        shot = Wedge(near.wedge, near.loft_deg), SwingLength(near.swing, near.swing_deg)
        raise OutOfReachError(target_m, near.played_m, shot, unit)
    best_chance = max(option.window_probability for option in options)
    least = 0.0 if want == "window" else NEAR_BEST * best_chance
    ranked = _rank(options, want, least)
    rival = _rival(ranked, want)
    return Choice(target_m, low, high, want, least, tuple(ranked), rival, reference, day, green)


@dataclass(frozen=True, slots=True)
class Advice:
    """The shot with the best chance for a target, and what the chart says of it."""

    wedge: Wedge
    swing: SwingLength
    prediction: Prediction
    window_probability: float


def advise_each(predictor: Predictor, bag: Bag, targets_m: Sequence[float], window: WindowRule) -> list[Advice | None]:
    """Return for each target the shot that `choose` ranks first for the window, None out of reach.

    Asked for all calls of a drill at once, and without what a landing takes to work out.
    """
    reach = find_reach(predictor, bag)
    grid = _swing_grid(bag.swings)
    carries = _grid_carries(predictor, bag.wedges, grid)
    named = [(wedge, swing, True) for wedge in bag.wedges for swing in bag.swings]
    at_named = predictor.predict([_kind(wedge, swing.swing_deg) for wedge, swing, _ in named])
    result: list[Advice | None] = []
    for target in targets_m:
        low, high = window.around(target)
        if LEAST_CARRY_M < reach.high_m < low or reach.low_m > high:
            result.append(None)
            continue
        exact = [_worked_out(_crossing(grid, row, target), bag.swings) for row in carries]
        between = [(w, s, False) for w, s in zip(bag.wedges, exact, strict=True) if s is not None]
        predicted = [*at_named, *predictor.predict([_kind(wedge, swing.swing_deg) for wedge, swing, _ in between])]
        chances = predictor.window_probability([p.kind for p in predicted], low, high)
        offered = [
            ((-float(chance), not practised, -p.n_shots), Advice(wedge, swing, p, float(chance)))
            for (wedge, swing, practised), p, chance in zip([*named, *between], predicted, chances, strict=True)
            if p.carry_m > LEAST_CARRY_M and (chance >= WORTH_OFFERING or low <= p.carry_m <= high)
        ]
        result.append(min(offered, key=itemgetter(0))[1] if offered else None)
    return result


def _worked_out(exact: float | None, swings: Sequence[SwingLength]) -> SwingLength | None:
    """Return the swing for the target to the next five minutes of the clock: nobody swings to the minute.

    None out of the wedge's reach, and where a named swing is as near.
    """
    if exact is None:
        return None
    clock = format_clock(exact, _STEP_MINUTES)
    swing_deg = parse_swing_deg(clock)
    if any(abs(swing.swing_deg - swing_deg) <= _SAME_SWING_DEG for swing in swings):
        return None
    return SwingLength(clock, swing_deg)


def swing_for(predictor: Predictor, wedge: Wedge, target_m: float, swings: Sequence[SwingLength]) -> float | None:
    """Return the swing length [deg] at which the wedge's median is the target, None outside the practised range."""
    return swings_for(predictor, [wedge], target_m, swings)[0]


def swings_for(
    predictor: Predictor, wedges: Sequence[Wedge], target_m: float, swings: Sequence[SwingLength]
) -> list[float | None]:
    """Return `swing_for` of each wedge; asked together, because a day's flights take their time."""
    grid = _swing_grid(swings)
    return [_crossing(grid, carries, target_m) for carries in _grid_carries(predictor, wedges, grid)]


def _swing_grid(swings: Sequence[SwingLength]) -> list[float]:
    first, last = swings[0].swing_deg, swings[-1].swing_deg
    return [first + (last - first) * i / _STEPS for i in range(_STEPS + 1)]


def _grid_carries(predictor: Predictor, wedges: Sequence[Wedge], grid: Sequence[float]) -> list[list[float]]:
    """Return the median carries of each wedge over the grid of swings."""
    carries = [p.carry_m for p in predictor.predict([_kind(wedge, swing) for wedge in wedges for swing in grid])]
    return [carries[k * len(grid) : (k + 1) * len(grid)] for k in range(len(wedges))]


def _crossing(grid: Sequence[float], carries: Sequence[float], target_m: float) -> float | None:
    """Return where the carries first rise through the target."""
    for i in range(len(grid) - 1):
        if carries[i] <= target_m <= carries[i + 1]:
            rise = carries[i + 1] - carries[i]
            return grid[i] + (grid[i + 1] - grid[i]) * ((target_m - carries[i]) / rise if rise > 0 else 0.5)
    return None


def _kind(wedge: Wedge, swing_deg: float) -> ShotKind:
    return ShotKind(wedge.label, wedge.loft_deg, swing_deg)


def _evaluate(
    predictor: Predictor,
    shots: Sequence[tuple[Wedge, SwingLength, bool]],
    low_m: float,
    high_m: float,
    day: Day | None,
    green: str,
) -> list[Option]:
    played = predictor if day is None else predictor.on(day)
    kinds = [_kind(wedge, swing.swing_deg) for wedge, swing, _ in shots]
    likely = predictor.carry_quantiles(kinds, LIKELY)
    parts = zip(
        shots,
        predictor.predict(kinds),
        likely,
        played.window_probability(kinds, low_m, high_m),
        played.landing(kinds, green),
        [None] * len(kinds) if day is None else carries_today(predictor, kinds, day),
        strict=True,
    )
    return [
        Option(
            wedge=wedge.label,
            loft_deg=wedge.loft_deg,
            swing=swing.label,
            swing_deg=swing.swing_deg,
            practised=practised,
            carry_m=p.carry_m,
            carry_sd_m=p.carry_sd_m,
            carry_se_m=p.carry_se_m,
            carry_p10_m=float(band[0]),
            carry_p90_m=float(band[1]),
            window_probability=float(chance),
            spin_rpm=p.spin_rpm,
            spin_sd_rpm=p.spin_sd_rpm,
            n_shots=p.n_shots,
            support=p.support,
            spin_support=p.spin_support,
            flight=flight,
            today=today,
        )
        for (wedge, swing, practised), p, band, chance, flight, today in parts
    ]


def _rank(options: Sequence[Option], want: Want, least: float) -> list[Option]:
    """Order by chance, or by spin among the options with at least the least chance; the others follow by chance."""
    by_chance = sorted(options, key=lambda o: (-o.window_probability, not o.practised, -o.n_shots))
    if want == "window":
        return by_chance
    sign = -1.0 if want == "spin" else 1.0
    near = sorted((o for o in by_chance if o.window_probability >= least), key=lambda o: sign * o.spin_rpm)
    return near + [o for o in by_chance if o.window_probability < least]


def _rival(ranked: Sequence[Option], want: Want) -> Option | None:
    """Return the option that is better at what the wish did not ask for, or None when the best is best at both."""
    best, others = ranked[0], ranked[1:]
    if want != "window":
        rival = max(others, key=lambda o: o.window_probability, default=None)
        return rival if rival is not None and rival.window_probability > best.window_probability else None
    more_spin = [
        o for o in others if o.spin_rpm > best.spin_rpm and (o.support != "beyond" or best.support == "beyond")
    ]
    # a trade that costs next to nothing first, then the most spin among the good chances
    for least in (best.window_probability - CHEAP_TRADE, NEAR_BEST * best.window_probability):
        rival = max((o for o in more_spin if o.window_probability >= least), key=lambda o: o.spin_rpm, default=None)
        if rival is not None:
            return rival
    return None
