"""What the player reads of three flights: every number in its row, what is backed, at most 80 columns."""

import dataclasses
import math
import re

import pytest
from wcwidth import wcswidth

from tests.conftest import a_shot
from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.choose import Flights, Limits, find_flights
from wedgelab.prediction import Day, ShotKind
from wedgelab.render.flights_text import flights_summary, flights_text
from wedgelab.shots import Conditions
from wedgelab.units import LengthUnit
from wedgelab.window import WindowRule

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
STRETCH = {"low": 1.1, "stock": 1.0, "high": 0.9}


def by_flight(kind: ShotKind) -> float:
    return STRETCH[kind.trajectory] * fake_carry_m(kind)


PLAYER = FakePredictor(carry_m=by_flight, count=lambda kind: 3 if kind.trajectory == "stock" else 0)


def ask(target_m: float = 70.0, day: Day | None = None, shots: bool = True) -> Flights:
    log = [a_shot()] if shots else None
    return find_flights(PLAYER, TYPICAL_BAG, target_m, window=WindowRule(), day=day, shots=log)


def half_up(x: float) -> str:
    return str(math.floor(x + 0.5))


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(("unit", "size"), [("yd", YARD_M), ("m", 1.0)])
def test_every_number_stands_in_its_row(unit: LengthUnit, size: float) -> None:
    flights = ask()
    text = flights_text(flights, unit, WindowRule())
    rows = [line.split() for line in text.splitlines() if re.match(r"\d+ (low|stock|high) ", line)]
    assert len(rows) == len(flights.flights) == 9
    for row, option in zip(rows, flights.flights, strict=True):
        measured, flight = option.swing_deg == 90.0, option.flight  # as the fake says

        def shown(number: str, bare: bool = measured) -> str:
            return number if bare else f"({number})"

        assert row == [
            option.wedge,
            option.trajectory,
            option.swing,
            ("" if measured else "~") + f"{half_up(option.carry_p10_m / size)}-{half_up(option.carry_p90_m / size)}",
            half_up(100 * option.window_probability),
            f"({50 * math.floor(option.spin_rpm / 50 + 0.5)})",
            "±400",
            shown(half_up(flight.apex_m / size)),
            shown(half_up(flight.land_deg)),
            shown("3.5"),
            f"{half_up(flight.run_out_low_m / size)}-{half_up(flight.run_out_high_m / size)}",
            str(option.n_shots),
        ]
    assert max(wcswidth(line) for line in text.splitlines()) <= 80
    assert "(Rules of Golf 4.3a)" in one_line(text)


def test_what_is_backed_and_what_is_belief_is_said() -> None:
    said = flights_summary(ask(), "m")
    assert "Backed by logged balls: 50 stock, 55 stock, 60 stock; the others are worked out" in said
    assert "No low and no high ball was ever logged: " in said
    assert "ever logged" not in flights_summary(ask(shots=False), "m")
    none = dataclasses.replace(ask(), flights=tuple(dataclasses.replace(o, n_shots=0) for o in ask().flights))
    assert "None of these shots was ever logged." in flights_summary(none, "m")
    each = dataclasses.replace(ask(), flights=tuple(dataclasses.replace(o, n_shots=1) for o in ask().flights))
    assert "Each of these shots was logged." in flights_summary(each, "m")


def test_the_lowest_and_the_highest_flight_of_a_wedge_are_told_apart() -> None:
    flights = ask()
    low, _, high = flights.flights[:3]
    assert (
        f"The 50 carries 70 m low at {low.swing} with an apex of {half_up(low.flight.apex_m)} m, landing at 42 deg "
        f"after 3.5 s, and high at {high.swing} with an apex of {half_up(high.flight.apex_m)} m"
    ) in flights_summary(flights, "m")


def test_what_does_not_reach_is_said_with_what_it_carries() -> None:
    flights = ask(95.0)
    text = flights_text(flights, "m", WindowRule())
    assert flights.out_of_reach
    for one in flights.out_of_reach:
        low, high = half_up(one.low_m), half_up(one.high_m)
        assert f"{one.wedge} {one.trajectory} does not carry it: its swings are for {low}-{high} m." in text


def test_on_a_day_the_day_is_said_and_the_range_is_todays() -> None:
    flights = ask(day=Day(Conditions(wind_mps=-10.0)))
    text = flights_text(flights, "m", WindowRule())
    assert "Today: head wind 10 m/s." in text
    today = flights.flights[0].today
    assert today is not None
    assert f"{half_up(today.carry_today_p10_m or 0.0)}-{half_up(today.carry_today_p90_m or 0.0)}" in text


def test_a_flight_over_the_limit_is_left_out_with_the_reason() -> None:
    apexes = sorted(option.flight.apex_m for option in ask().flights)
    most = math.floor(10.0 * apexes[4]) / 10.0
    flights = find_flights(
        PLAYER, TYPICAL_BAG, 70.0, window=WindowRule(), limits=Limits(max_apex_m=most, min_land_deg=45.0)
    )
    text = flights_text(flights, "m", WindowRule())
    said = one_line(text)
    assert f"; limits: apex {most:.1f} m or less, landing at 45 deg or more" in said
    assert "Limits hold for the median ball, unrounded; a single one may fly higher or land flatter." in said
    for option in flights.left_out:
        shot = f"{option.wedge} {option.trajectory}, {option.swing}"
        (why,) = re.findall(rf"{shot} is left out: (.*?)\. (?=\d\d |Each)", said)
        apex = re.search(r"its apex is ([\d.]+) m, over ([\d.]+) m", why)
        assert (apex is not None) == (option.flight.apex_m > most)
        assert apex is None or float(apex[1]) > float(apex[2])  # as many decimals as tell it from the limit
        assert ("it lands at 42 deg, under 45 deg" in why) == (option.wedge == "50")
    assert len(flights.left_out) + len(flights.flights) == 9
    assert flights.flights
    assert "left out" not in flights_text(ask(), "m", WindowRule())


@pytest.mark.parametrize("label", ["my old wedge, bent to 54 and ground twic", "n" * 40, "楔" * 40])
def test_the_widest_labels_and_numbers_fit_80_columns(label: str) -> None:
    flights = ask()
    wide = [
        dataclasses.replace(
            o, wedge=label, swing=label, carry_p10_m=110.4, carry_p90_m=131.4, support="beyond", spin_rpm=10050.0,
            spin_sd_rpm=1250.0, n_shots=1234, window_probability=1.0,
        )
        for o in flights.flights
    ]  # fmt: skip
    text = flights_text(dataclasses.replace(flights, flights=tuple(wide)), "m", WindowRule())
    assert max(wcswidth(line) for line in text.splitlines()) <= 80
    assert text.count("?110-131") == text.count("±1250") == 9
