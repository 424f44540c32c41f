"""The page on flight and air shows what a fresh computation gives, and the corrections stand up to one from outside."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from PIL import Image
from scipy.integrate import solve_ivp

from wedgelab.model import weather
from wedgelab.physics.aero import AERO_SETS, AeroSet
from wedgelab.shots import station_pressure_range_hpa

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/method/flight.md").read_text("utf-8")
PROSE = " ".join(PAGE.split())  # wherever its lines end


@pytest.fixture(scope="module")
def figures(script: Callable[[str], ModuleType]) -> ModuleType:
    return script("flight_figures")


def test_every_table_on_the_page_is_a_fresh_computation(figures: ModuleType) -> None:
    fresh = figures.tables()
    assert figures.refreshed(PAGE, fresh) == PAGE, "run: python docs/flight_figures.py"
    fresh["long"] = fresh["long"].replace("**+1.0**", "**+1.1**")  # one digit is noticed
    assert figures.refreshed(PAGE, fresh) != PAGE


def test_a_table_that_is_only_on_one_side_is_refused(figures: ModuleType) -> None:
    with pytest.raises(
        ValueError, match=r"the page has the tables \['aero', 'band', .*'wind'\], computed are \['aero'\]"
    ):
        figures.refreshed(PAGE, {"aero": ""})


def test_the_picture_in_the_docs_shows_the_fresh_numbers(figures: ModuleType) -> None:
    with Image.open(ROOT / figures.PICTURE) as picture:
        assert 1200 <= picture.width <= 1600
        shown = json.loads(str(picture.info["Comment"]))
    assert list(shown) == ["temperature", "altitude", "wind along the line"]
    for panel in figures.panels():
        assert shown[panel.title] == pytest.approx(panel.mean.tolist(), abs=0.002), "run: python docs/flight_figures.py"
    assert "](flight.png)" in PAGE


def test_the_same_picture_is_the_same_bytes(figures: ModuleType, tmp_path: Path) -> None:
    for name in ("one.png", "two.png"):
        figures.save(figures.figure(), tmp_path / name)
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()


def test_the_panels_draw_mean_band_and_each_set(figures: ModuleType) -> None:
    for ax, panel in zip(figures.figure().axes, figures.panels(), strict=True):
        drawn = {line.get_label(): line.get_ydata() for line in ax.get_lines()}
        assert drawn["mean of the sets"] == pytest.approx(panel.mean)
        for name, each in zip(figures.SET_NAMES, panel.each.T, strict=True):
            assert drawn[name] == pytest.approx(each)
        # no change where nothing differs from the standard air: 15 C, sea level, calm
        nothing = {"temperature": 15.0, "altitude": 0.0, "wind along the line": 0.0}[panel.title]
        at = int(np.argmin(np.abs(panel.x - nothing)))
        assert (panel.x[at], panel.mean[at], panel.doubt[at]) == pytest.approx((nothing, 0.0, 0.0), abs=1e-9)
        styles = {line.get_label(): line.get_linestyle() for line in ax.get_lines()}
        assert styles["mean of the sets"] == "-"  # told apart in grey: the sets are broken lines
        band = ax.collections[0].get_paths()[0].vertices
        for x, low, high in zip(panel.x, panel.mean - panel.doubt, panel.mean + panel.doubt, strict=True):
            there = band[np.isclose(band[:, 0], x), 1]
            assert (there.min(), there.max()) == pytest.approx((low, high))


def test_numbers_in_the_prose_are_those_of_the_program(figures: ModuleType) -> None:
    assert f"{figures.LONG.ball_speed_mps:.1f} m/s, the speed" in PROSE
    assert f"4650 rpm ({figures.SHORT.ball_speed_mps:.1f} m/s)" in PROSE
    assert f"the mean wind by {weather.GUST_SHARE:.0%}".replace("%", " %") in PROSE
    assert f"a wind noted wrongly: {weather.WIND_TOLD_SHARE:.0%}".replace("%", " %") in PROSE
    assert f"with q = {weather.OUTSIDE_SHARE} (own judgement" in PROSE
    low, high = station_pressure_range_hpa(1200.0)
    assert f"possible there: {low:.0f} to {high:.0f} hPa" in PROSE
    wind = [one.name for one in figures.WEATHERS].index("wind 4 m/s from the left")
    long, short = (figures.corrections(shot)[wind].drift_m / 0.9144 for shot in (figures.LONG, figures.SHORT))
    assert f"to the right, by {long:.1f} yd in the first table and {short:.1f} yd in the second" in PROSE
    # 1013 hPa at 1200 m: about 2 yd
    hidden = figures.Weather("hidden", figures.Conditions(altitude_m=1200.0))
    assert figures.corrections(figures.LONG, (hidden,))[0].mean_m / 0.9144 == pytest.approx(2.0, abs=0.5)


def test_what_the_page_says_of_the_invented_player_is_in_its_table() -> None:
    lines = PAGE.split("<!-- table: cancel -->")[1].split("<!-- end -->")[0].splitlines()
    rows = [[cell.strip() for cell in line.split("|")[2:-1]] for line in lines if "°" not in line or "today" in line]
    own, back, away, cold = ([[float(x) for x in cell.split("±")] for cell in row] for row in rows[2:6])
    truth = [float(cell) for cell in rows[6]]
    for (_, se), (_, se_back), (_, se_away), (_, se_cold) in zip(own, back, away, cold, strict=True):
        assert se_back == pytest.approx(se, rel=0.05)  # as sure
        assert se * 1.2 < se_away < se_cold  # the others pay
    assert (own[-1][0] - truth[-1]) / own[-1][1] > 2.0


def test_the_doubt_is_that_of_the_sets_of_what_lies_outside_and_of_the_reading_of_wind(figures: ModuleType) -> None:
    for shot in (figures.LONG, figures.SHORT):
        for done in figures.corrections(shot):
            after = np.log1p(np.array(done.each_m) / shot.carry_m)
            assert done.mean_m == pytest.approx(shot.carry_m * math.expm1(after.mean()), abs=1e-9)
            of_sets = float(after.std(ddof=1))
            whole = done.doubt_m / (shot.carry_m + done.mean_m)
            assert of_sets <= whole * (1 + 1e-9)
            wind = done.told_m / weather.WIND_TOLD_SHARE / (shot.carry_m + done.mean_m)  # for twice the wind
            most = (of_sets, weather.OUTSIDE_SHARE * abs(after.mean()), weather.WIND_HABIT_SHARE * wind)
            assert whole <= math.hypot(*most) * (1 + 1e-9)


def test_one_step_of_the_speed_ends_within_two_percent_of_the_carry(figures: ModuleType) -> None:
    for shot in (figures.LONG, figures.SHORT):
        carry = shot.carry_m * np.array([0.9, 1.1])
        speed, launch, spin = (np.full(2, x) for x in (shot.ball_speed_mps, shot.launch_deg, shot.spin_rpm))
        still = weather.air_of([weather.STANDARD] * 2, weather.STANDARD)
        guessed = weather.Launches(speed, launch, spin, np.zeros(2, dtype=np.bool_))
        flown = weather.change(guessed, carry, still, still).flight.carry_m
        assert flown == pytest.approx(carry, rel=0.02)
        assert np.abs(flown / carry - 1).max() > 0.003  # and no nearer: it is one step, as the page says


# --- every correction of the two stock shots once more: scipy's DOP853 of Newton's law in the frame of the ground, the
# density from CoolProp 8 (virial equation of state of humid air), pressure at altitude after ISO 2533:1975, viscosity
# by Sutherland's law

MASS_KG, RADIUS_M = 1.620 * 0.028349523125, 1.680 * 0.0254 / 2  # the limits of the R&A/USGA Equipment Rules
ISO_PA = {None: 101325.0, 1000.0: 89874.56, 2000.0: 79495.20}  # the tabulated values


def flight_m(
    aero: AeroSet, start: tuple[float, float, float], air: tuple[float, float, float], along: float, across: float,
    level_m: float,
) -> float:  # fmt: skip
    celsius, pressure_pa, humidity = air
    kelvin = celsius + 273.15
    density = 1.0 / HAPropsSI("Vha", "T", kelvin, "P", pressure_pa, "R", humidity)
    viscosity = 1.458e-6 * kelvin**1.5 / (kelvin + 110.4) / density
    push = density * math.pi * RADIUS_M**2 / (2 * MASS_KG)

    def rate(_: float, at: np.ndarray[tuple[int], np.dtype[np.float64]]) -> list[float]:
        through = at[3:6] - np.array([along, 0.0, across])
        v = float(np.linalg.norm(through))
        drag, lift = aero.coefficients(np.array([at[6] * RADIUS_M / v]), np.array([2 * RADIUS_M * v / viscosity]))
        force = push * v * (lift[0] * np.array([-through[1], through[0], 0.0]) - drag[0] * through)
        return [*at[3:6], force[0], force[1] - 9.80665, force[2], -2.0e-5 * v * at[6] / RADIUS_M]

    def lands(_: float, at: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
        return float(at[1] - level_m) if at[4] < 0 else 1.0

    lands.terminal = True  # type: ignore[attr-defined]  # scipy reads this attribute of the function
    speed, launch, spin = start[0], math.radians(start[1]), start[2] * math.pi / 30
    state = [0.0, 0.0, 0.0, speed * math.cos(launch), speed * math.sin(launch), 0.0, spin]
    done = solve_ivp(rate, (0.0, 20.0), state, "DOP853", events=lands, rtol=1e-9, atol=1e-9)
    return float(done.y_events[0][0][0])


@pytest.mark.parametrize("which", ["LONG", "SHORT"])
def test_the_corrections_agree_with_an_integration_of_order_eight(figures: ModuleType, which: str) -> None:
    shot = getattr(figures, which)
    start = (shot.ball_speed_mps, shot.launch_deg, shot.spin_rpm)
    before = [flight_m(aero, start, (15.0, 101325.0, 0.0), 0.0, 0.0, 0.0) for aero in AERO_SETS]
    assert np.mean(before) == pytest.approx(shot.carry_yd * 0.9144, abs=0.02)
    for one, seen in zip(figures.WEATHERS, figures.corrections(shot), strict=True):
        said = one.conditions
        air = (
            15.0 if said.air_temp_c is None else said.air_temp_c,
            ISO_PA[said.altitude_m],
            (said.humidity_pct or 0) / 100,
        )
        after = [
            flight_m(aero, start, air, said.wind_mps or 0.0, said.cross_wind_mps or 0.0, one.rise_m)
            for aero in AERO_SETS
        ]
        off = np.abs(np.subtract(after, before) - seen.each_m)
        assert off.max() < 0.002, (one.name, off)  # seen: 0.0004
