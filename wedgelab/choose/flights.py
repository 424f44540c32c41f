"""One distance, three flights: the swing of each wedge that carries the target low, stock and high."""

from collections.abc import Sequence
from dataclasses import dataclass

from wedgelab.chart import LEAST_CARRY_M
from wedgelab.choose.ask import nearest_error
from wedgelab.choose.evaluate import Candidate, Question, evaluate, never_logged
from wedgelab.choose.limits import NO_LIMITS, Limits, keep
from wedgelab.choose.options import Option
from wedgelab.choose.swings import nearest_named, require_shots, swings_for, to_five_minutes
from wedgelab.errors import NothingFitsError
from wedgelab.prediction import NOT_SAID, Day, Predictor
from wedgelab.shots import TRAJECTORIES, Bag, Conditions, Shot, SwingLength
from wedgelab.showing import Shown
from wedgelab.units import LengthUnit
from wedgelab.window import Window


@dataclass(frozen=True, slots=True)
class Unreached:
    """A wedge and trajectory without a swing for the target, and what its named swings carry [m]."""

    wedge: str
    loft_deg: float
    trajectory: str
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class Flights(Shown):
    """The shots that carry the target: by wedge, least loft first, each low, stock and high as far as it reaches.

    ``left_out`` has those that carry it and do not keep the ``limits``. ``unlogged`` names the trajectories and the lie
    of which no ball was logged.
    """

    target_m: float
    window_low_m: float
    window_high_m: float
    flights: tuple[Option, ...]
    out_of_reach: tuple[Unreached, ...]
    unlogged: tuple[str, ...] = ()
    lie: str = ""
    reference: Conditions = NOT_SAID
    day: Day | None = None
    green: str = "normal"
    limits: Limits = NO_LIMITS
    left_out: tuple[Option, ...] = ()

    @property
    def shots(self) -> tuple[Option, ...]:
        """All shots that carry the target, within the limits or not, by wedge and trajectory."""
        every = (*self.flights, *self.left_out)
        return tuple(sorted(every, key=lambda o: (o.loft_deg, o.wedge, TRAJECTORIES.index(o.trajectory))))


def find_flights(
    predictor: Predictor,
    bag: Bag,
    target_m: float,
    *,
    window: Window,
    unit: LengthUnit = "yd",
    reference: Conditions = NOT_SAID,
    day: Day | None = None,
    green: str = "normal",
    lie: str = "",
    limits: Limits = NO_LIMITS,
    shots: Sequence[Shot] | None = None,
) -> Flights:
    """Return for each wedge the swings whose median is the target, low, stock and high.

    Swings are to five minutes of the clock; a named one as near stands for it. Past the ends of the named swings
    the end itself is taken while its median lies inside the window. Of ``limits`` apex and landing angle are kept;
    where no flight keeps them, `LimitsFailError` names the nearest.
    """
    played = predictor if day is None else predictor.on(day)
    ask = Question(*window.around(target_m), day, green, shots)
    require_shots(bag)
    exact = {
        flight: swings_for(played, bag.wedges, target_m, bag.swings, trajectory=flight, lie=lie)
        for flight in TRAJECTORIES
    }
    wanted = [(wedge, flight, exact[flight][i]) for i, wedge in enumerate(bag.wedges) for flight in TRAJECTORIES]
    groups = [
        [Candidate(wedge, swing, practised, flight, lie) for swing, practised in _swings(swing_deg, bag)]
        for wedge, flight, swing_deg in wanted
    ]
    every = evaluate(predictor, [candidate for group in groups for candidate in group], ask)
    there, missing = [], []
    rest = iter(every)
    for group, (_, _, swing_deg) in zip(groups, wanted, strict=True):
        mine = [next(rest) for _ in group]
        best = min(mine, key=lambda o: abs(o.played_m - target_m))
        if swing_deg is not None or ask.low_m <= best.played_m <= ask.high_m:
            there.append(best)
        else:
            missing.append(_unreached(mine))
    if not there:
        up = [option for option in every if option.played_m > LEAST_CARRY_M]
        if not up:
            raise NothingFitsError("no shot of the bag gets up to the green", "check the rise and its unit, or lay up")
        raise nearest_error(min(up, key=lambda o: abs(o.played_m - target_m)), target_m, unit)
    kept = keep(there, limits, target_m, unit)
    return Flights(
        target_m, ask.low_m, ask.high_m, tuple(kept), tuple(missing), never_logged(shots, TRAJECTORIES, lie), lie,
        reference, day, green, limits, tuple(option for option in there if option not in kept),
    )  # fmt: skip


def _swings(exact_deg: float | None, bag: Bag) -> list[tuple[SwingLength, bool]]:
    """Return the swing for the target, or all named ones where none carries it; each with whether it is a named one."""
    if exact_deg is None:
        return [(swing, True) for swing in bag.swings]
    named = nearest_named(exact_deg, bag.swings)
    return [(to_five_minutes(exact_deg), False)] if named is None else [(named, True)]


def _unreached(options: Sequence[Option]) -> Unreached:
    carries = [option.played_m for option in options]
    one = options[0]
    return Unreached(one.wedge, one.loft_deg, one.trajectory, min(carries), max(carries))
