"""How median shots are said to fly and land: against invented players' true flights, and pulled by what was measured.

Seeds were written down before the first run and belong to these tests alone. Bounds come from exploratory runs of 110
players on other seeds (bases 5000, 6000, 7000): the rms figures seen stand beside them, and the bounds leave room for
a group of six with the worst player of those among them.
"""

import dataclasses
import functools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from wedgelab.errors import UnknownNameError
from wedgelab.model.observations import observations
from wedgelab.model.player import FittedPlayer, fit_observations
from wedgelab.physics.bounce import GREENS
from wedgelab.prediction import NOT_SAID, Day, FlightEstimate, ShotKind
from wedgelab.shots import Conditions
from wedgelab.simulate import Balls, InventedPlayer, hit, invent_player

Array = NDArray[np.float64]

SEED = 20260923
PLAYERS = 6
SWINGS_DEG = (45.0, 90.0, 135.0, 165.0)
EVERYTHING = ("ball_speed_mps", "launch_deg", "land_deg", "apex_m")
HEAD, TAIL = Day(Conditions(wind_mps=-5.0)), Day(Conditions(wind_mps=5.0))


@dataclass(frozen=True)
class Entry:
    """An invented player, and the flight of the middle of the middle of every shot."""

    player: InventedPlayer
    kinds: list[ShotKind]
    number: int

    def true(self, **day: float) -> Balls:
        wedge, swing = (part.ravel() for part in np.indices((len(self.player.wedges), len(SWINGS_DEG))))
        swings = np.array(SWINGS_DEG)[swing]
        return hit(self.player, wedge, swings, np.random.default_rng(0), noise=0.0, mishits=False, **day)


@functools.cache
def players() -> list[Entry]:
    found = []
    for number in range(PLAYERS):
        player = invent_player(np.random.default_rng([SEED, number]))
        kinds = [ShotKind(wedge.label, wedge.loft_deg, swing) for wedge in player.wedges for swing in SWINGS_DEG]
        found.append(Entry(player, kinds, number))
    return found


@functools.cache
def fitted(number: int, measured: tuple[str, ...] = (), wind_mps: float = 0.0) -> FittedPlayer:
    """Fit six balls of every shot of which some columns were measured; the carries are the same, whatever was."""
    player = players()[number].player
    wedge, swing, _ = (part.ravel() for part in np.indices((len(player.wedges), len(SWINGS_DEG), 6)))
    swings = np.array(SWINGS_DEG)[swing]
    rng = np.random.default_rng([SEED, number, 1])
    hits = hit(player, wedge, swings, rng, mishits=False, wind_mps=wind_mps)
    log = observations(
        carry_m=hits.carry_m,
        spin_rpm=hits.spin_rpm,
        loft_deg=np.array([player.wedges[i].loft_deg for i in wedge]),
        swing_deg=swings,
        wedge=[player.wedges[i].label for i in wedge],
        measured={name: getattr(hits, name) for name in measured},
    )
    return fit_observations(log, [Conditions(wind_mps=wind_mps) if wind_mps else NOT_SAID] * len(wedge))


def field(estimates: Sequence[FlightEstimate], name: str) -> Array:
    return np.array([getattr(estimate, name) for estimate in estimates], dtype=np.float64)


def rms(each: Sequence[Array]) -> float:
    return float(np.sqrt(np.mean([np.mean(np.square(x)) for x in each])))


def off_truth(measured: tuple[str, ...], wind_mps: float = 0.0) -> tuple[float, float]:
    """Return the rms errors in calm air of landing angle [deg] and log apex, logged in some wind."""
    land, apex = [], []
    for entry in players():
        said, true = fitted(entry.number, measured, wind_mps).landing(entry.kinds), entry.true()
        land.append(field(said, "land_deg") - true.land_deg)
        apex.append(np.log(field(said, "apex_m") / true.apex_m))
    return rms(land), rms(apex)


# --- against the truth


def test_without_any_measurement_flights_are_near_the_true_ones() -> None:
    land, apex = off_truth(())
    assert land < 3.3  # seen: 1.9 deg, single players up to 4.6; launch and drag of the player are not known
    assert apex < 0.12  # seen: 0.056, single players up to 0.185


def test_measured_landing_angles_bring_the_estimates_to_the_truth() -> None:
    land, _ = off_truth(("land_deg",))
    assert land < 0.75  # seen: 0.41 deg
    assert land < 0.5 * off_truth(())[0]


def test_the_more_is_measured_of_a_flight_the_better_it_is_known() -> None:
    # seen with the offsets taken from flights that carry what the ball did, as those of the median shots do: 0.43 deg
    # and 0.034, at most 0.81 and 0.056 for one player. Once they were taken from flights of the measured speeds, which
    # carry something else: 0.97 deg and 0.094, worse than with nothing measured
    land, apex = off_truth(EVERYTHING)
    assert land < 0.76
    assert apex < 0.051
    assert apex < off_truth(())[1]


@pytest.mark.long
@pytest.mark.parametrize("wind_mps", [-4.0, 4.0])
def test_landings_that_were_measured_in_wind_are_not_taken_for_those_of_calm_air(wind_mps: float) -> None:
    # seen of 12 players without a measurement: 1.5 deg. Once the wind's own effect was read as the player's: 6.9 deg
    land, apex = off_truth(("land_deg", "apex_m"), wind_mps)
    assert land < off_truth((), wind_mps)[0]
    assert apex < 0.06  # seen: 0.037


@pytest.mark.parametrize(("day", "share"), [(HEAD, 0.2), (TAIL, 0.22), (Day(rise_m=3.0), 0.4), (Day(rise_m=-3.0), 0.3)])
def test_a_day_changes_the_landing_as_it_truly_does(day: Day, share: float) -> None:
    # rms error of the change, as a share of it; seen: 0.11 (head), 0.12 (tail), 0.14 (a higher green)
    off, change = [], []
    for entry in players():
        known = fitted(entry.number)
        said = field(known.on(day).landing(entry.kinds), "land_deg") - field(known.landing(entry.kinds), "land_deg")
        true = entry.true(wind_mps=day.conditions.wind_mps or 0.0, rise_m=day.rise_m).land_deg - entry.true().land_deg
        up = np.isfinite(said) & np.isfinite(true)
        assert up.mean() >= 0.75  # some chips stay below a higher green
        off.append(said[up] - true[up])
        change.append(true[up])
    assert rms(off) < share * rms(change)
    steeper = {HEAD: 1.0, TAIL: -1.0}.get(day, -np.sign(day.rise_m))
    assert (steeper * np.concatenate(change) > 0).all()  # and so are the flights of `wedgelab.simulate`


def test_against_the_wind_balls_come_down_steeper_and_slower_along_the_ground_and_run_out_less() -> None:
    for entry in players():
        known = fitted(entry.number)
        head, calm, tail = (p.landing(entry.kinds) for p in (known.on(HEAD), known, known.on(TAIL)))
        for name, sign in (("land_deg", 1.0), ("run_out_m", -1.0)):
            assert (sign * field(head, name) > sign * field(calm, name)).all()
            assert (sign * field(calm, name) > sign * field(tail, name)).all()


# --- pulled by what was measured


NO_WORDS = ("",) * 20


def log_of(n: int, strike: Sequence[str] = NO_WORDS, **columns: float) -> FittedPlayer:
    """Twenty balls of two shots that each always carry the same; the first n of the 54 at 9:00 have readings."""
    read = np.arange(20) < n
    return fit_observations(
        observations(
            carry_m=np.repeat([62.0, 78.0], 10),
            spin_rpm=np.full(20, 8000.0),
            loft_deg=np.full(20, 54.0),
            swing_deg=np.repeat([90.0, 130.0], 10),
            wedge=["54"] * 20,
            strike=strike,
            measured={name: np.where(read, value, np.nan) for name, value in columns.items()},
        )
    )


SHOT, OTHER = ShotKind("54", 54.0, 90.0), ShotKind("54", 54.0, 130.0)
BARE = log_of(0).landing([SHOT, OTHER])


@pytest.mark.parametrize(("name", "more"), [("land_deg", 4.0), ("land_deg", -5.0), ("apex_m", 3.0), ("apex_m", -2.0)])
def test_readings_pull_the_estimate_towards_them_the_more_there_are(name: str, more: float) -> None:
    scale = np.log if name == "apex_m" else np.asarray  # an apex is pulled in proportion
    bare = scale(field(BARE, name))
    told = getattr(BARE[0], name) + more
    shares = []
    for n in (0, 1, 2, 5, 10):
        moved = scale(field(log_of(n, NO_WORDS, **{name: told}).landing([SHOT, OTHER]), name)) - bare
        here, there = moved / (scale(np.array(told)) - bare[0])
        shares.append(here)
        # what was seen of one shot says something of the player's other shots, but less
        assert 0.0 < there < here or n == 0
    assert shares[0] == pytest.approx(0.0, abs=1e-12)
    assert (np.diff(shares) > 0).all()  # ever more
    assert 0.3 < shares[1] < 0.75  # one reading is not believed altogether
    assert 0.9 < shares[-1] < 1.02  # ten are, nearly; the balls carry a little else than the fitted median


def test_readings_pull_the_shot_that_they_were_of_and_leave_the_rest_of_the_flight() -> None:
    (steep,) = log_of(10, land_deg=BARE[0].land_deg + 5.0).landing([SHOT])
    for name in ("apex_m", "air_time_s", "land_speed_mps", "land_spin_rpm", "drift_m"):
        assert getattr(steep, name) == pytest.approx(getattr(BARE[0], name), rel=1e-9, abs=1e-9)
    assert steep.run_out_m < BARE[0].run_out_m  # it was let run out from the steeper landing


def test_a_measured_launch_is_flown() -> None:
    low, high = (log_of(10, launch_deg=deg).landing([SHOT])[0] for deg in (24.0, 38.0))
    for name in ("land_deg", "apex_m", "air_time_s"):
        assert getattr(low, name) < getattr(high, name)
    assert high.apex_m > 1.3 * low.apex_m
    # the launch is one reading beside twenty carries, which say themselves how far the ball goes; seen: 0.07 standard
    # errors apart, and 0.09 from 20 to 40 deg
    short, long = (log_of(10, launch_deg=deg).predict([SHOT])[0] for deg in (24.0, 38.0))
    assert abs(long.carry_m - short.carry_m) < 0.1 * min(short.carry_se_m, long.carry_se_m)


def test_measured_or_estimate() -> None:
    def support(n: int, *kinds: ShotKind, strike: Sequence[str] = NO_WORDS, **columns: float) -> list[str]:
        return [estimate.flight_support for estimate in log_of(n, strike, **columns).landing(kinds or [SHOT])]

    assert support(0) == ["estimate"]
    assert support(1, land_deg=50.0) == ["measured"]
    assert support(1, launch_deg=30.0, ball_speed_mps=27.0) == ["measured"]
    for alone in ({"launch_deg": 30.0}, {"ball_speed_mps": 27.0}, {"apex_m": 12.0}):
        assert support(10, strike=NO_WORDS, **alone) == ["estimate"]
    near = [ShotKind("54", 54.0, swing) for swing in (84.0, 85.0, 95.0, 96.0)]
    assert support(1, *near, land_deg=50.0) == ["estimate", "measured", "measured", "estimate"]
    others = [ShotKind("54", 54.0, 90.0, trajectory="low"), ShotKind("58", 58.0, 90.0), OTHER]
    assert support(10, *others, land_deg=50.0) == ["estimate"] * 3
    # a ball that the player calls off tells nothing of solid ones
    off = ("off", *[""] * 19)
    assert support(1, land_deg=80.0, strike=off) == ["estimate"]
    assert log_of(1, off, land_deg=80.0).landing([SHOT]) == log_of(0, off).landing([SHOT])


@pytest.mark.parametrize(
    ("n", "name", "told"), [(10, "apex_m", 0.0), (10, "land_deg", 90.0), (10, "land_deg", 0.0), (2, "launch_deg", -5.0)]
)
def test_readings_that_make_no_sense_break_nothing(n: int, name: str, told: float) -> None:
    (here,) = log_of(n, NO_WORDS, **{name: told}).landing([SHOT])
    assert 0.0 < here.land_deg < 90.0
    assert 0.0 < here.apex_m < 100.0
    assert here.run_out_low_m < here.run_out_m < here.run_out_high_m


# --- the green


def test_the_firmer_the_green_the_farther_the_ball_runs_and_nothing_else_changes() -> None:
    for entry in players()[:3]:
        known = fitted(entry.number)
        on = {green: known.landing(entry.kinds, green) for green in GREENS}
        for name in ("run_out_low_m", "run_out_m", "run_out_high_m"):
            soft, normal, firm = (field(on[green], name) for green in ("soft", "normal", "firm"))
            assert (soft < normal).all()
            assert (normal < firm).all()
        for estimates in on.values():
            low, middle, high = (field(estimates, f"run_out_{end}m") for end in ("low_", "", "high_"))
            assert (low < middle).all()
            assert (middle < high).all()
        flights = [
            [dataclasses.replace(e, run_out_low_m=0.0, run_out_m=0.0, run_out_high_m=0.0) for e in estimates]
            for estimates in on.values()
        ]
        assert flights[0] == flights[1] == flights[2]
        assert known.landing(entry.kinds) == on["normal"]


def test_an_unknown_green_is_refused() -> None:
    with pytest.raises(UnknownNameError) as caught:
        log_of(0).landing([SHOT], "sofft")
    assert str(caught.value) == "unknown green 'sofft'; did you mean 'soft'?"


def test_asked_for_nothing_nothing_is_answered() -> None:
    assert log_of(0).landing([]) == []


# --- cross wind, and greens out of reach


def test_a_cross_wind_carries_the_ball_with_it() -> None:
    for entry in players()[:3]:
        known = fitted(entry.number)

        def drifts(on: Conditions, known: FittedPlayer = known, entry: Entry = entry) -> Array:
            return field(known.on(Day(on)).landing(entry.kinds), "drift_m")

        wind = Conditions(cross_wind_mps=3.0)
        from_left = drifts(wind)
        assert (from_left > 0).all()  # to the right
        assert drifts(Conditions(cross_wind_mps=-3.0)) == pytest.approx(-from_left, rel=1e-9)
        assert (drifts(Conditions(cross_wind_mps=6.0)) > 1.5 * from_left).all()
        assert (np.diff(from_left.reshape(-1, len(SWINGS_DEG)), axis=1) > 0).all()  # the longer in the air
        time = field(known.on(Day(wind)).landing(entry.kinds), "air_time_s")
        assert (from_left < 3.0 * time).all()  # never faster than the wind
        for still in (Conditions(wind_mps=-5.0), Conditions(air_temp_c=0.0), Conditions()):
            assert not drifts(still).any()


def test_a_ball_that_never_gets_up_has_no_landing_and_spoils_no_other() -> None:
    known = log_of(10, land_deg=50.0, apex_m=12.0)
    chip = ShotKind("54", 54.0, 20.0)
    day = Day(rise_m=8.0)
    alone, together = known.on(day).landing([SHOT]), known.on(day).landing([chip, SHOT])
    assert np.isnan([getattr(together[0], f.name) for f in dataclasses.fields(FlightEstimate)[:-1]]).all()
    assert together[1].flight_support == "measured"
    for f in dataclasses.fields(FlightEstimate)[:-1]:
        assert getattr(together[1], f.name) == pytest.approx(getattr(alone[0], f.name), rel=1e-9)
