"""Logs of invented players hit in other air: what the correction makes of them, against the truth in each air.

The same six players hit six balls of every shot in one session in each air. The seeds of these tests were written
down before the first run and belong to them alone. The bounds come from exploratory runs of 24 to 72 players on other
seeds (bases 5000, 6000, 7000, 8000, 9100): the figures seen there stand beside them, and the bounds on rms errors leave
out about one in a thousand groups of six of those players. Densities of the invented days are CoolProp's; the flights
of `wedgelab.simulate` have lift and drag of their own, so that the correction has not been told the answer.
"""

import copy
import dataclasses
import functools
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from numpy.typing import NDArray
from scipy import stats

from wedgelab.model.observations import observations_of_shots
from wedgelab.model.player import FittedPlayer, fit_observations, fit_player
from wedgelab.model.weather import GUST_SHARE, WIND_HABIT_SHARE, WIND_TOLD_SHARE
from wedgelab.physics.air import STANDARD_DENSITY_KG_M3
from wedgelab.prediction import Day, ShotKind
from wedgelab.shots import Conditions, Shot
from wedgelab.simulate import InventedPlayer, hit, invent_player, true_medians

Array = NDArray[np.float64]

pytestmark = pytest.mark.long

SEED = 20260917
PLAYERS = 6
SWINGS_DEG = (45.0, 90.0, 135.0, 165.0)
COLD, HILLS = Conditions(air_temp_c=5.0), Conditions(air_temp_c=28.0, altitude_m=1500.0)
HEAD, TAIL = Conditions(wind_mps=-4.0), Conditions(wind_mps=4.0)
SAID = {"cold": COLD, "hills": HILLS, "head": HEAD, "tail": TAIL}
# source: CoolProp, dry air; 845.5599 hPa at 1500 m after ISO 2533:1975
DENSITY_KG_M3 = {
    "cold": 1.0 / HAPropsSI("Vha", "P", 101325.0, "T", 278.15, "R", 0.0),
    "hills": 1.0 / HAPropsSI("Vha", "P", 84555.99, "T", 301.15, "R", 0.0),
}


def player_of(number: int) -> tuple[InventedPlayer, np.random.Generator]:
    """Always the same player and the same luck, whatever the air."""
    rng = np.random.default_rng([SEED, number])
    return invent_player(rng), rng


def kinds_of(player: InventedPlayer) -> list[ShotKind]:
    return [ShotKind(wedge.label, wedge.loft_deg, swing) for wedge in player.wedges for swing in SWINGS_DEG]


def session_of(
    player: InventedPlayer, rng: np.random.Generator, name: str, wind_mps: float, *, balls: int = 6
) -> list[Shot]:
    """Return the shots of one session, named after its air."""
    wedge, swing, _ = (part.ravel() for part in np.indices((len(player.wedges), len(SWINGS_DEG), balls)))
    density = DENSITY_KG_M3.get(name, STANDARD_DENSITY_KG_M3)
    hits = hit(
        player, wedge, np.array(SWINGS_DEG)[swing], rng, session=rng.standard_normal(), density_kg_m3=density,
        wind_mps=wind_mps,
    )  # fmt: skip
    return [
        Shot(
            shot_id=f"{name} {i}",
            player="Ada",
            session=name,
            hit_at="2026-06-03T12:00:00+02:00",
            wedge=player.wedges[wedge[i]].label,
            loft_deg=player.wedges[wedge[i]].loft_deg,
            swing="some",
            swing_deg=SWINGS_DEG[swing[i]],
            carry_m=max(float(hits.carry_m[i]), 0.6),  # a topped ball against the wind
            spin_rpm=float(hits.spin_rpm[i]),
        )
        for i in range(len(wedge))
    ]


def wind_of(said: Conditions) -> float:
    return said.wind_mps or 0.0


@functools.cache
def truth(
    player: InventedPlayer,
    name: str = "",
    *,
    density_kg_m3: float = STANDARD_DENSITY_KG_M3,
    wind_mps: float = 0.0,
    rise_m: float = 0.0,
) -> Array:
    """Return the true medians in one of the airs, or on another day, in the order of `kinds_of`."""
    if name:
        wind_mps, density_kg_m3 = wind_of(SAID[name]), DENSITY_KG_M3.get(name, STANDARD_DENSITY_KG_M3)
    return true_medians(
        player, SWINGS_DEG, balls=201, density_kg_m3=density_kg_m3, wind_mps=wind_mps, rise_m=rise_m
    )[0].ravel()  # fmt: skip


@dataclasses.dataclass(frozen=True)
class Round:
    """One player's log from one air: fitted as it is, and with the air told."""

    player: InventedPlayer
    kinds: list[ShotKind]
    shots: list[Shot]
    raw: FittedPlayer
    fitted: FittedPlayer
    standard_m: Array  # true medians in standard air ...
    own_m: Array  # ... and in the air of the log


@functools.cache
def rounds(name: str) -> list[Round]:
    found = []
    for number in range(PLAYERS):
        player, rng = player_of(number)
        standard = truth(player)
        if name == "plain":
            shots = session_of(player, rng, name, 0.0)
            fitted = fit_player(shots)
            found.append(Round(player, kinds_of(player), shots, fitted, fitted, standard, standard))
            continue
        shots = session_of(player, rng, name, wind_of(SAID[name]))
        own = truth(player, name)
        found.append(Round(player, kinds_of(player), shots, fit_player(shots), fit_player(shots, SAID), standard, own))
    return found


def log_off(fitted: FittedPlayer, kinds: Sequence[ShotKind], true_m: Array) -> Array:
    return np.asarray(np.log([p.carry_m for p in fitted.predict(kinds)]) - np.log(true_m))


def standard_errors_off(fitted: FittedPlayer, kinds: Sequence[ShotKind], true_m: Array) -> Array:
    asked = fitted.predict(kinds)
    return np.asarray((np.array([p.carry_m for p in asked]) - true_m) / np.array([p.carry_se_m for p in asked]))


def relative_se(fitted: FittedPlayer, kinds: Sequence[ShotKind]) -> Array:
    return np.array([p.carry_se_m / p.carry_m for p in fitted.predict(kinds)])


def rms(each: Sequence[Array]) -> float:
    """Root mean square over players, each counting once."""
    return float(np.sqrt(np.mean([np.mean(np.square(x)) for x in each])))


# --- charts in the reference air


def rms_off(name: str, *, corrected: bool = True) -> float:
    return rms([log_off(r.fitted if corrected else r.raw, r.kinds, r.standard_m) for r in rounds(name)])


@pytest.mark.parametrize("name", SAID)
def test_the_correction_of_a_chart_is_nearly_the_true_change(name: str) -> None:
    # luck and habits of the player cancel here. Seen: 0.26 (cold), 0.28 (hills), 0.22 (head), 0.35 (tail)
    off, change = [], []
    for r in rounds(name):
        true = np.log(r.standard_m / r.own_m)
        charts = [np.log([p.carry_m for p in fitted.predict(r.kinds)]) for fitted in (r.fitted, r.raw)]
        off.append(charts[0] - charts[1] - true)
        change.append(true)
    assert rms(off) < 0.5 * rms(change)
    assert rms(change) > (0.007 if name == "cold" else 0.03)


@pytest.mark.parametrize(("name", "share"), [("hills", 0.65), ("head", 0.5), ("tail", 0.7)])
def test_a_corrected_chart_is_far_nearer_the_truth_in_standard_air(name: str, share: float) -> None:
    # seen: 0.40, 0.32 and 0.46 of the raw one's rms error
    assert rms_off(name) < share * rms_off(name, corrected=False)


def test_all_corrected_charts_together_halve_the_error_and_more() -> None:
    names = ("hills", "head", "tail")
    raw, corrected = (np.sqrt(np.mean([rms_off(n, corrected=c) ** 2 for n in names])) for c in (False, True))
    assert corrected < 0.5 * raw  # seen: 0.38
    assert raw > 0.05


@pytest.mark.parametrize(("name", "most"), [("cold", 0.027), ("hills", 0.034), ("head", 0.036), ("tail", 0.034)])
def test_a_corrected_chart_is_about_as_good_as_one_hit_in_standard_air(name: str, most: float) -> None:
    # rms log error of charts hit in standard air: 0.019; seen here 0.019, 0.025, 0.027, 0.026
    assert rms_off(name) < most
    assert rms_off("plain") < 0.027


def test_corrected_charts_together_are_little_worse_than_those_hit_in_standard_air() -> None:
    # seen: 1.2 to 1.3 times the rms error
    assert np.sqrt(np.mean([rms_off(name) ** 2 for name in SAID])) < 1.6 * rms_off("plain")


@pytest.mark.parametrize("name", SAID)
def test_corrected_charts_are_hardly_biased(name: str) -> None:
    # seen: at most 0.009 over 24 players; single ones scatter by 0.02
    assert abs(np.mean([log_off(r.fitted, r.kinds, r.standard_m).mean() for r in rounds(name)])) < 0.02


# --- how sure the corrected medians claim to be


@pytest.mark.parametrize("name", ["cold", "hills", "tail"])
def test_corrected_medians_are_about_as_sure_as_they_claim(name: str) -> None:
    # rms of error over standard error; seen: 0.86 to 1.02
    assert 0.5 < rms([standard_errors_off(r.fitted, r.kinds, r.standard_m) for r in rounds(name)]) < 1.3


def test_winds_noted_as_wrongly_as_is_believed_leave_the_medians_as_sure_as_they_claim() -> None:
    # the wind of the session is off what was noted by as much as the model supposes, in part by a habit of reading the
    # wind that is the same on every day. Seen: 0.9 to 1.16
    chart, same_day, cold_day = [], [], []
    for name in ("head", "tail"):
        for number in range(PLAYERS - 1):
            player, rng = player_of(number)
            read = 1.0 + WIND_HABIT_SHARE * rng.standard_normal()
            wind = wind_of(SAID[name]) * (read + WIND_TOLD_SHARE * rng.standard_normal())
            fitted, kinds = fit_player(session_of(player, rng, name, wind), SAID), kinds_of(player)
            chart.append(standard_errors_off(fitted, kinds, truth(player)))
            today = truth(player, wind_mps=wind_of(SAID[name]) * read)
            same_day.append(standard_errors_off(fitted.on(Day(SAID[name])), kinds, today))
            cold_day.append(standard_errors_off(fitted.on(Day(COLD)), kinds, truth(player, "cold")))
    for each in (chart, same_day, cold_day):
        assert 0.5 < rms(each) < 1.3


# --- today


@pytest.mark.parametrize("name", SAID)
def test_a_day_of_the_air_of_the_log_is_known_as_well_as_a_plain_chart(name: str) -> None:
    # what the sets disagree about cancels: the balls were hit in that very air. Seen: 1.00 to 1.04
    there = rms([log_off(r.fitted.on(Day(SAID[name])), r.kinds, r.own_m) for r in rounds(name)])
    assert there < 1.2 * rms([log_off(r.raw, r.kinds, r.own_m) for r in rounds(name)])


def doubt_more_than_raw(name: str, day: Day | None = None) -> float:
    """Return the mean relative standard error of the medians, as a share of that of a fit of the raw carries."""
    return float(
        np.mean([
            (relative_se(r.fitted if day is None else r.fitted.on(day), r.kinds) / relative_se(r.raw, r.kinds)).mean()
            for r in rounds(name)
        ])
    )  # fmt: skip


@pytest.mark.parametrize(("name", "other"), [("cold", HEAD), ("hills", HEAD), ("tail", HEAD), ("head", TAIL)])
def test_doubts_of_the_correction_cancel_on_a_day_of_the_same_air_and_add_up_on_another(
    name: str, other: Conditions
) -> None:
    same, elsewhere = doubt_more_than_raw(name, Day(SAID[name])), doubt_more_than_raw(name, Day(other))
    if wind_of(SAID[name]) == 0.0:
        assert same == pytest.approx(1.0, abs=0.05)
    assert 0.95 < same < doubt_more_than_raw(name) < elsewhere


def test_of_a_wind_only_what_it_was_noted_wrongly_is_left_on_a_day_of_the_same_wind(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    noted_well = []
    for r in rounds("head")[:3]:
        with monkeypatch.context() as changed:
            changed.setattr("wedgelab.model.airborne.WIND_TOLD_SHARE", 0.0)
            sure = fit_player(r.shots, SAID).on(Day(HEAD))
        noted_well.append((relative_se(sure, r.kinds) / relative_se(r.raw, r.kinds)).mean())
        assert (relative_se(r.fitted.on(Day(HEAD)), r.kinds) > relative_se(sure, r.kinds)).mean() > 0.9
    assert np.mean(noted_well) == pytest.approx(1.0, abs=0.08)


@pytest.mark.parametrize(
    "day",
    [
        Day(HEAD),
        Day(HILLS),
        Day(rise_m=5.0),
        Day(Conditions(wind_mps=3.0, air_temp_c=5.0), rise_m=-4.0),
    ],
)
def test_todays_carries_of_a_player_known_in_standard_air(day: Day) -> None:
    # the plain charts themselves are off by 0.019; seen on the days: 0.021 to 0.026
    off, sure, moved, told_wrongly = [], [], [], 0
    for r in rounds("plain"):
        density = DENSITY_KG_M3["hills"] if day.conditions.altitude_m else STANDARD_DENSITY_KG_M3
        if day.conditions.air_temp_c == 5.0:
            density = DENSITY_KG_M3["cold"]
        true = truth(r.player, wind_mps=wind_of(day.conditions), density_kg_m3=density, rise_m=day.rise_m)
        reached = np.isfinite(true)
        kinds = [kind for kind, there in zip(r.kinds, reached, strict=True) if there]
        today = r.fitted.on(day)
        gets_up = np.array([p.carry_m > 0.5 for p in today.predict(kinds)])
        told_wrongly += (~gets_up).sum()
        kinds = [kind for kind, there in zip(kinds, gets_up, strict=True) if there]
        true = true[reached][gets_up]
        off.append(log_off(today, kinds, true))
        sure.append(standard_errors_off(today, kinds, true))
        moved.append(log_off(r.fitted, kinds, true))
    assert rms(off) < 0.036
    assert 0.5 < rms(sure) < 1.3
    assert rms(off) < 0.7 * rms(moved)
    assert told_wrongly <= 2  # a chip whose arc ends near the green's height may be told not to get up


def test_what_windy_sessions_show_of_the_wind_is_used_on_windy_days_and_not_read_into_the_chart() -> None:
    # one session in calm air, four in a gale whose carries are cut by 7 %. Seen on five players: on a day of that gale
    # 0.48 to 0.70 of the cut is believed (0.03 to 0.11 without what was learnt of the correction), in calm air 0.13
    player, rng = player_of(0)
    kinds = [kind for kind in kinds_of(player) if kind.swing_deg >= 90.0]
    gale, names = Conditions(wind_mps=-7.0), [f"gale {i}" for i in range(4)]
    calm = session_of(player, rng, "plain", 0.0)
    windy = [shot for name in names for shot in session_of(player, rng, name, -7.0, balls=2)]
    cut = [shot.replace(carry_m=max(0.93 * shot.carry_m, 0.6)) for shot in windy]
    as_hit, shorter = (fit_player(calm + log, dict.fromkeys(names, gale)) for log in (windy, cut))
    share = [
        (log_off(two, kinds, np.array(1.0)) - log_off(one, kinds, np.array(1.0))).mean() / np.log(0.93)
        for one, two in ((as_hit.on(Day(gale)), shorter.on(Day(gale))), (as_hit, shorter))
    ]
    assert 0.35 < share[0] < 1.0
    assert 0.0 <= share[1] < 0.2


@pytest.mark.parametrize("rise_m", [-8.0, 3.0])
def test_on_a_higher_green_differences_of_carry_weigh_more_and_on_a_lower_one_less(rise_m: float) -> None:
    r = rounds("plain")[3]
    today = r.fitted.on(Day(rise_m=rise_m))
    kinds = [ShotKind(wedge.label, wedge.loft_deg, 90.0) for wedge in r.player.wedges]
    longer, shorter = ([dataclasses.replace(k, swing_deg=90.0 + more) for k in kinds] for more in (4.0, -4.0))
    # how much a longer swing gains on that green, over what it gains on level ground
    grows = [
        np.subtract(*(np.log([p.carry_m for p in fitted.predict(side)]) for side in (longer, shorter)))
        for fitted in (today, r.fitted)
    ]
    stretch = grows[0] / grows[1]
    assert (np.sign(np.log(stretch)) == np.sign(rise_m)).all()
    assert np.abs(np.log(stretch)).max() > 0.05
    # the doubts of the correction come on top: independent of everything that a log of calm, level ground says
    doubts = today._change(today.cells(kinds)).doubts
    own = np.diag(today.log_median_covariance(kinds)) - np.sum(doubts**2, axis=1)
    assert np.sqrt(own / np.diag(r.fitted.log_median_covariance(kinds))) == pytest.approx(stretch, rel=0.04)


# --- gusts


def log_width(player: FittedPlayer, kinds: Sequence[ShotKind]) -> Array:
    low, high = np.log(player.carry_quantiles(kinds, [0.1, 0.9])).T
    return np.asarray(high - low)


def test_gusts_widen_the_balls_of_a_windy_day_by_what_the_wind_does(monkeypatch: pytest.MonkeyPatch) -> None:
    r = rounds("plain")[0]
    kinds = [kind for kind in r.kinds if kind.swing_deg >= 90.0]
    today, more, less = (r.fitted.on(Day(Conditions(wind_mps=wind))) for wind in (-6.0, -6.6, -5.4))
    gusty = log_width(today, kinds)
    monkeypatch.setattr("wedgelab.model.player.GUST_SHARE", 0.0)
    today._known.clear()  # it keeps the answers asked last
    added = np.sqrt(gusty**2 - log_width(today, kinds) ** 2) / (2.0 * stats.norm.ppf(0.9))
    # the slope of the carry by the wind, from the player's own answers either side of it
    slope = (log_off(less, kinds, r.standard_m[:1]) - log_off(more, kinds, r.standard_m[:1])) / 0.2
    assert added == pytest.approx(GUST_SHARE * slope, rel=0.3)
    assert (added > 0.01).all()


@pytest.mark.parametrize("day", [Day(), Day(Conditions(wind_mps=-6.0)), Day(Conditions(wind_mps=5.0), rise_m=-3.0)])
def test_draws_quantiles_and_chances_of_a_day_tell_the_same(day: Day) -> None:
    n = 40_000
    r = rounds("plain")[1]
    today, kinds = r.fitted.on(day), [r.kinds[1], r.kinds[-1]]
    carry, _ = today.sample(kinds, n, np.random.default_rng([SEED, 1]))
    p = np.array([0.05, 0.1, 0.5, 0.9, 0.95])
    ends = today.carry_quantiles(kinds, p.tolist())
    for i, kind in enumerate(kinds):
        below = (carry[i][:, None] < ends[i]).mean(axis=0)
        assert (np.abs(below - p) < 4.5 * np.sqrt(p * (1.0 - p) / n)).all()  # binomial, 4.5 standard errors
        assert today.window_probability([kind], ends[i, 1], ends[i, 3])[0] == pytest.approx(0.8, abs=1e-6)
        (asked,) = today.predict([kind])
        assert ends[i, 2] == pytest.approx(asked.carry_m, rel=1e-9)
        assert carry[i].std() == pytest.approx(asked.carry_sd_m, rel=0.04)
    if day.rise_m == 0.0 and day.conditions.wind_mps is not None:
        assert (log_width(today, r.kinds) > log_width(r.fitted, r.kinds)).all()


def test_the_gusts_of_a_log_are_not_taken_for_the_spread_of_the_player() -> None:
    # forty-five balls a swing, each in its own gust about -8 m/s. Seen on six players: a tenth to a third is left
    player = invent_player(np.random.default_rng([SEED, 100]), skill=1.0)
    told, share = -8.0, stats.norm.ppf((np.arange(15) + 0.5) / 15)
    spreads = {}
    for name, gusts in (("calm", 0.0 * share), ("gusty", told * (1.0 + GUST_SHARE * share))):
        rng = np.random.default_rng([SEED, 101])
        log = [shot for gust in gusts for shot in session_of(player, rng, name, float(gust), balls=3)]
        told_air = {"gusty": Conditions(wind_mps=told)}
        for how, air in (("raw", None), ("told", told_air)):
            spreads[name, how] = np.exp(fit_player(log, air).fit.carry_spread.log_sd(np.array([135.0, 165.0])))
    calm, raw, corrected = spreads["calm", "raw"], spreads["gusty", "raw"], spreads["gusty", "told"]
    assert (raw > 1.5 * calm).all()
    assert (np.abs(corrected - calm) < 0.5 * (raw - calm)).all()


# --- two sessions of different air


def test_a_head_and_a_tail_wind_are_each_brought_to_calm_air() -> None:
    off, raw_off, days, raw_days, changed, raw_changed = [], [], [], [], [], []
    for number in range(PLAYERS):
        player, rng = player_of(number)
        shots = [
            shot for name in ("head", "tail") for shot in session_of(player, rng, name, wind_of(SAID[name]), balls=3)
        ]
        raw, fitted = fit_player(shots), fit_player(shots, SAID)
        off.append(log_off(fitted, kinds_of(player), truth(player)))
        raw_off.append(log_off(raw, kinds_of(player), truth(player)))
        # a player who is believed never to change can only have days that differ
        obs, said = observations_of_shots(shots), [SAID[shot.session] for shot in shots]
        days.append(fit_observations(obs, said, fading=False).fit.session_sd[0])
        raw_days.append(fit_observations(obs, fading=False).fit.session_sd[0])
        changed.append(fitted.fit.moves.large[0, 0])
        raw_changed.append(raw.fit.moves.large[0, 0])
        moved = np.array(fitted.carry_changes_m())
        assert (np.sign(moved[: len(moved) // 2].mean()), np.sign(moved[len(moved) // 2 :].mean())) == (1.0, -1.0)
    # seen on seeds 5000, 6000, 7000 and 8000: 0.019 to 0.023 against 0.043 to 0.060 (the raw chart takes the tail wind,
    # hit last, for the present), and days of 1.2 % against 2.7 to 4.2 %
    assert rms(off) < 0.029
    assert rms(off) < 0.7 * rms(raw_off)
    assert np.mean(days) < 0.7 * np.mean(raw_days)
    # without the air told most seem to have changed (3 to 6 of 6), with it none: chances of 0.02 to 0.07
    assert max(changed) < 0.2
    assert np.sum(np.array(raw_changed) > 0.5) >= PLAYERS // 2


# --- nothing is changed where nothing is said


def answers(fitted: FittedPlayer, kinds: Sequence[ShotKind]) -> list[Any]:
    arrays = [
        fitted.fit.mean, fitted.fit.covariance, fitted.fit.solid, fitted.obs.log_carry,
        fitted.carry_quantiles(kinds, [0.1, 0.5, 0.9]), fitted.log_median_covariance(kinds),
        fitted.window_probability(kinds, 40.0, 60.0), *fitted.sample(kinds, 5, np.random.default_rng(1)),
    ]  # fmt: skip
    return [fitted.predict(kinds), fitted.landing(kinds), *(part.tobytes() for part in arrays)]


def test_without_conditions_every_answer_is_the_same_to_the_last_bit() -> None:
    r = rounds("head")[2]
    before = copy.deepcopy(r.shots)
    plain = answers(fit_player(r.shots), r.kinds)
    standard = Conditions(air_temp_c=15.0, humidity_pct=0.0, altitude_m=0.0, wind_mps=0.0, cross_wind_mps=0.0)
    for said in ({}, {"head": Conditions()}, {"another day": TAIL}, {"head": standard}):
        assert answers(fit_player(r.shots, said), r.kinds) == plain
    assert answers(fit_player(r.shots, {"head": HILLS}, HILLS), r.kinds[4:8])[0] == fit_player(r.shots).predict(
        r.kinds[4:8]
    )
    assert answers(fit_player(r.shots, {"head": HEAD}), r.kinds) != plain
    assert r.shots == before


def test_in_the_wind_of_the_reference_carries_stay_as_they_are_and_its_gusts_are_taken_out() -> None:
    r = rounds("head")[2]
    there = fit_player(r.shots, {"head": HEAD}, HEAD)
    assert there.obs.log_carry.tobytes() == r.raw.obs.log_carry.tobytes()
    assert there.carry_changes_m() == [0.0] * len(r.shots)
    assert np.abs(log_off(there, r.kinds, r.own_m) - log_off(r.raw, r.kinds, r.own_m)).max() < 0.01
    swings = np.array(SWINGS_DEG)
    assert (there.fit.carry_spread.log_sd(swings) < r.raw.fit.carry_spread.log_sd(swings)).all()


def test_a_session_without_conditions_keeps_its_carries_beside_one_that_has_them() -> None:
    player, rng = player_of(3)
    shots = session_of(player, rng, "plain", 0.0) + session_of(player, rng, "hills", 0.0)
    n = len(shots) // 2
    raw, fitted = fit_player(shots), fit_player(shots, {"hills": HILLS, "plain": Conditions()})
    assert fitted.obs.log_carry[:n].tobytes() == raw.obs.log_carry[:n].tobytes()
    assert fitted.carry_changes_m()[:n] == [0.0] * n
    assert not fitted.obs.air.doubts[:n].any()
    changes = np.array(fitted.carry_changes_m()[n:])
    full = np.array([shot.swing_deg >= 135.0 for shot in shots[n:]])
    assert (changes[full] < 0).mean() > 0.95  # thin air carries farther, but for a ball that was topped
    carries = np.array([shot.carry_m for shot in shots[n:]])
    assert np.exp(fitted.obs.log_carry[n:]) == pytest.approx(carries + changes, rel=1e-12)


# --- covariances of a day


@pytest.mark.parametrize(
    "day", [None, Day(HEAD), Day(TAIL, rise_m=3.0), Day(HILLS), Day(Conditions(cross_wind_mps=6.0))]
)
def test_covariances_of_a_day_are_covariances_and_agree_with_the_standard_errors(day: Day | None) -> None:
    r = rounds("head")[4]
    asked = r.fitted if day is None else r.fitted.on(day)
    kinds = [*r.kinds[1:7], ShotKind("", 57.3, 100.0), ShotKind("", 49.0, 120.0, trajectory="low", lie="rough")]
    now = asked.log_median_covariance(kinds)
    after = asked.expected_covariance(kinds, [kinds[0]] * 5 + [kinds[4]] * 3)
    for joint in (now, after, now - after):  # balls that are hit never take knowledge away
        assert joint == pytest.approx(joint.T, abs=1e-15)
        assert np.linalg.eigvalsh(joint).min() > -1e-12
    # source: scipy's log-normal law
    predictions = asked.predict(kinds)
    told = [stats.lognorm(s=np.sqrt(v), scale=p.carry_m).std() for v, p in zip(np.diag(now), predictions, strict=True)]
    assert [p.carry_se_m for p in predictions] == pytest.approx(told, rel=1e-9)
    assert after[0, 0] < 0.9 * now[0, 0]
    assert asked.expected_covariance(kinds, []) == pytest.approx(now, abs=0.0)


@pytest.mark.parametrize("wind_mps", [0.0, -7.0])
def test_what_balls_of_a_windy_day_are_expected_to_teach_is_what_they_teach(wind_mps: float) -> None:
    # 2 balls of every shot in calm air, then 6 more on the day. Mean standard error of log carry on that day, seen in
    # calm air: 0.0173 expected, 0.0166 come true. Once gusts and a wind noted wrongly were left out: 0.019, 0.030
    day = Day(Conditions(wind_mps=wind_mps))
    expected, true = [], []
    for number in range(3):
        player, rng = player_of(number)
        kinds = kinds_of(player)
        first, more = session_of(player, rng, "plain", 0.0, balls=2), session_of(player, rng, "new", wind_mps)
        extra = [ShotKind(shot.wedge, shot.loft_deg, shot.swing_deg) for shot in more]
        foreseen = fit_player(first).on(day).expected_covariance(kinds, extra)
        came = fit_player(first + more, {"new": day.conditions}).on(day).log_median_covariance(kinds)
        expected.append(np.sqrt(np.diag(foreseen)).mean())
        true.append(np.sqrt(np.diag(came)).mean())
    assert np.mean(expected) == pytest.approx(np.mean(true), rel=0.25)
