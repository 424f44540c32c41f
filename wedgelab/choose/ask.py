"""The question itself: which wedge and swing for a target."""

from collections.abc import Sequence
from typing import Final

from wedgelab.chart import LEAST_CARRY_M
from wedgelab.choose.evaluate import DRAWS, Candidate, Question, evaluate, never_logged, with_spin_chances
from wedgelab.choose.limits import NO_LIMITS, Limits, keep
from wedgelab.choose.options import STOCK, Choice, Option, OutOfReachError, Want, is_offered, near_best
from wedgelab.choose.ranking import find_rival, least_chance, mark_unbeaten, rank
from wedgelab.choose.swings import require_shots, swings_for, worked_out
from wedgelab.errors import NothingFitsError
from wedgelab.prediction import NOT_SAID, Day, Prediction, Predictor
from wedgelab.shots import Bag, Conditions, Shot, SwingLength, Wedge
from wedgelab.units import LengthUnit
from wedgelab.window import Window

_SAME_AIM_M: Final = 0.25  # two aims nearer than this are one


def choose(
    predictor: Predictor,
    bag: Bag,
    target_m: float,
    *,
    window: Window,
    want: Want = "window",
    unit: LengthUnit = "yd",
    reference: Conditions = NOT_SAID,
    day: Day | None = None,
    green: str = "normal",
    limits: Limits = NO_LIMITS,
    trajectories: Sequence[str] = (STOCK,),
    lie: str = "",
    shots: Sequence[Shot] | None = None,
) -> Choice:
    """Rank the player's options for a target.

    ``shots`` are the log's solid balls: with them it is told which of the asked trajectories and lies were logged.
    None that answers the window (`is_offered`) raises `OutOfReachError`, none within the limits `LimitsFailError`,
    both worded in ``unit``.
    """
    played = predictor if day is None else predictor.on(day)
    ask = Question(*window.around(target_m), day, green, shots)
    require_shots(bag)
    candidates: list[Candidate] = []
    exact: list[tuple[Wedge, str, float]] = []
    for flight in trajectories:
        candidates.extend(Candidate(w, swing, True, flight, lie) for w in bag.wedges for swing in bag.swings)
        for aim_m in _aims(target_m, ask):
            found = swings_for(played, bag.wedges, aim_m, bag.swings, trajectory=flight, lie=lie)
            for wedge, swing_deg in zip(bag.wedges, found, strict=True):
                between = worked_out(swing_deg, bag.swings)
                if between is not None and swing_deg is not None:
                    candidates.append(Candidate(wedge, between, False, flight, lie))
                    exact.append((wedge, flight, swing_deg))
    candidates = list(dict.fromkeys(candidates))
    every, options = _worth_offering(
        evaluate(predictor, candidates, ask), played.predict([one.kind for one in candidates]), target_m, ask, unit
    )
    left_out = _left_out(every, options, exact)
    if limits.min_spin_rpm is not None:
        options = with_spin_chances(played, options, ask, limits.min_spin_rpm)
    options = keep(options, limits, target_m, unit)
    least = 0.0 if want == "window" else least_chance(options)
    near = near_best(options, least, ask.low_m, ask.high_m)
    ranked = mark_unbeaten(rank(options, want, near), want)
    return Choice(
        target_m=target_m,
        window_low_m=ask.low_m,
        window_high_m=ask.high_m,
        want=want,
        least_probability=least,
        options=tuple(ranked),
        rival=find_rival(ranked, want),
        reference=reference,
        day=day,
        green=green,
        limits=limits,
        trajectories=tuple(trajectories),
        lie=lie,
        left_out=left_out,
        unlogged=never_logged(shots, trajectories, lie),
        n_draws=DRAWS if limits.min_spin_rpm is not None else 0,
    )


def _aims(target_m: float, ask: Question) -> tuple[float, ...]:
    """Return what a worked out swing is to carry: the target, and the middle of a window whose sides differ."""
    middle_m = (ask.low_m + ask.high_m) / 2.0
    return (target_m,) if abs(middle_m - target_m) < _SAME_AIM_M else (target_m, middle_m)


def _worth_offering(
    evaluated: Sequence[Option], at: Sequence[Prediction], target_m: float, ask: Question, unit: LengthUnit
) -> tuple[list[Option], list[Option]]:
    """Return the shots that get up to the green, and those of them that answer the window."""
    flown = [(option, p) for option, p in zip(evaluated, at, strict=True) if option.played_m > LEAST_CARRY_M]
    if not flown:
        raise NothingFitsError("no shot of the bag gets up to the green", "check the rise and its unit, or lay up")
    every = [option for option, _ in flown]
    options = [o for o, p in flown if is_offered(p, o.window_probability, ask.low_m, ask.high_m)]
    if not options:  # beyond the bag's ends, or in a hole between two wedges' ranges
        near = min(every, key=lambda o: abs(o.played_m - target_m))
        raise nearest_error(near, target_m, unit)
    return every, options


def nearest_error(near: Option, target_m: float, unit: LengthUnit) -> OutOfReachError:
    """Return the error that offers the option in place of the target."""
    shot = Wedge(near.wedge, near.loft_deg), SwingLength(near.swing, near.swing_deg)
    return OutOfReachError(target_m, near.played_m, shot, unit, near.trajectory)


def _left_out(
    every: Sequence[Option], offered: Sequence[Option], exact: Sequence[tuple[Wedge, str, float]]
) -> tuple[Option, ...]:
    """Return of each wedge with a worked out swing the nearest practised one, where it is too far off."""
    nearest = []
    for wedge, flight, swing_deg in exact:
        mine = [o for o in every if o.practised and o.wedge == wedge.label and o.trajectory == flight]
        near = min(mine, key=lambda o: abs(o.swing_deg - swing_deg), default=None)
        if near is not None and near not in offered:
            nearest.append(near)
    return tuple(nearest)
