"""What the model says of each shot that could be hit for a target: its chances, its flight, what it rests on."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from wedgelab.chart import LIKELY, carries_today
from wedgelab.choose.options import Option, kind_of
from wedgelab.prediction import Day, Predictor, ShotKind
from wedgelab.shots import LIES_APART, Shot, SwingLength, Wedge, counts_for

DRAWS: Final = 20_000  # a chance is then drawn to 0.4 of a point, one standard error
_SEED: Final = 20_261


@dataclass(frozen=True, slots=True)
class Candidate:
    """A shot that could be hit; ``practised`` if its swing is a named one."""

    wedge: Wedge
    swing: SwingLength
    practised: bool
    trajectory: str
    lie: str

    @property
    def kind(self) -> ShotKind:
        """What the model is asked of it."""
        return kind_of(self.wedge, self.swing.swing_deg, self.trajectory, self.lie)


@dataclass(frozen=True, slots=True)
class Question:
    """What every candidate is asked: the window's edges, the day, the green, and the player's solid balls if known."""

    low_m: float
    high_m: float
    day: Day | None
    green: str
    shots: Sequence[Shot] | None


def evaluate(predictor: Predictor, candidates: Sequence[Candidate], ask: Question) -> list[Option]:
    """Return an option for each candidate, in order."""
    played = predictor if ask.day is None else predictor.on(ask.day)
    kinds = [candidate.kind for candidate in candidates]
    parts = zip(
        candidates,
        predictor.predict(kinds),
        predictor.carry_quantiles(kinds, LIKELY),
        played.window_probability(kinds, ask.low_m, ask.high_m),
        played.landing(kinds, ask.green),
        [None] * len(kinds) if ask.day is None else carries_today(predictor, kinds, ask.day),
        strict=True,
    )
    options = [
        Option(
            wedge=one.wedge.label,
            loft_deg=one.wedge.loft_deg,
            swing=one.swing.label,
            swing_deg=one.swing.swing_deg,
            practised=one.practised,
            carry_m=p.carry_m,
            carry_sd_m=p.carry_sd_m,
            carry_se_m=p.carry_se_m,
            carry_p10_m=float(band[0]),
            carry_p90_m=float(band[1]),
            window_probability=float(chance),
            spin_rpm=p.spin_rpm,
            spin_sd_rpm=p.spin_sd_rpm,
            spin_se_rpm=p.spin_se_rpm,
            n_shots=p.n_shots,
            support=p.support,
            spin_support=p.spin_support,
            flight=flight,
            today=today,
            trajectory=one.trajectory,
            lie=one.lie,
        )
        for one, p, band, chance, flight, today in parts
    ]
    return options if ask.shots is None else [_flown_from_its_lie(option, ask.shots) for option in options]


def _flown_from_its_lie(option: Option, shots: Sequence[Shot]) -> Option:
    """Call a flight an estimate where none of its balls came from the asked lie, one that behaves differently.

    The model counts balls and readings by lie; the flights it takes of all lies.
    """
    if option.lie not in LIES_APART:
        return option
    flown = any(
        shot.land_deg is not None or (shot.ball_speed_mps is not None and shot.launch_deg is not None)
        for shot in shots
        if counts_for(
            shot, wedge=option.wedge, loft_deg=option.loft_deg, swing_deg=option.swing_deg,
            trajectory=option.trajectory, lie=option.lie,
        )
    )  # fmt: skip
    return option if flown else replace(option, flight=replace(option.flight, flight_support="estimate"))


def never_logged(shots: Sequence[Shot] | None, trajectories: Sequence[str], lie: str) -> tuple[str, ...]:
    """Name what was asked for and never logged: trajectories other than stock, and a lie that behaves differently."""
    if shots is None:
        return ()
    flown, lain = {shot.trajectory for shot in shots}, {shot.lie for shot in shots}
    flights = tuple(word for word in trajectories if word != "stock" and word not in flown)
    return flights + ((lie,) if lie in LIES_APART and lie not in lain else ())


def with_spin_chances(played: Predictor, options: Sequence[Option], ask: Question, min_spin_rpm: float) -> list[Option]:
    """Put to each option the chances of a ball's spin over the limit, and of that together with the window.

    Drawn jointly, because a ball that flies farther often spins otherwise; the same draws for every option, so that
    what tells two apart is the player and not the dice. The window's chance stays the exact one.
    """
    import numpy as np

    result = []
    for option in options:
        kind = ShotKind(option.wedge, option.loft_deg, option.swing_deg, option.trajectory, option.lie)
        carry, spin = played.sample([kind], DRAWS, np.random.default_rng(_SEED))
        over = spin[0] > min_spin_rpm
        spin_chance = float(over.mean())
        drawn = float((over & (carry[0] >= ask.low_m) & (carry[0] <= ask.high_m)).mean())
        # no share of draws may say more than the exact chance allows
        most = min(option.window_probability, spin_chance)
        least = max(0.0, option.window_probability + spin_chance - 1.0)
        result.append(replace(option, spin_probability=spin_chance, both_probability=min(max(drawn, least), most)))
    return result
