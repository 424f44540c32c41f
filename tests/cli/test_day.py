"""Chart and choice on a day: where the carries go, what stays, and the same numbers everywhere."""

import csv
import io
import itertools
import re
from typing import Any

import pytest

from tests.cli.harness import Cli
from wedgelab.units import YARD_M, LengthUnit, format_length

Cell = dict[str, Any]
TODAY_KEYS = {"carry_today_m", "carry_today_se_m", "carry_today_p10_m", "carry_today_p90_m", "drift_today_m"}
FLIGHT_KEYS = {
    "land_deg", "apex_m", "air_time_s", "land_speed_mps", "land_spin_rpm", "run_out_low_m", "run_out_m",
    "run_out_high_m", "flight_support",
}  # fmt: skip
COLD_AND_WINDY = "--temp 6C --altitude 1200m --humidity 80 --wind -3m/s"


def cells(cli: Cli, words: str = "") -> list[Cell]:
    found: list[Cell] = cli.ok("chart", *words.split(), "--json").document["cells"]
    return found


def todays(cli: Cli, words: str) -> list[float]:
    return [cell["carry_today_m"] for cell in cells(cli, words)]


def options(cli: Cli, words: str) -> list[Cell]:
    found: list[Cell] = cli.ok("choose", *words.split(), "--json").document["options"]
    return found


def without(records: list[Cell], *keys: str) -> list[Cell]:
    return [{key: value for key, value in one.items() if key not in keys} for one in records]


def one_line(text: str) -> str:
    return " ".join(text.split())


def rows_of(text: str, label: str) -> list[list[str]]:
    """Words of the chart's rows with that label, without blanks before a side or a doubt."""
    pattern = re.compile(rf"^(?:.*\S)? *\b{re.escape(label)}  +(.*)$")
    found = [match[1] for line in text.splitlines() if (match := pattern.match(line))]
    return [re.sub(r" (?=[±LR])", "", row).split() for row in found]


# --- where the carries go


# common practice, no source: air that is colder, head wind and a green above take carry off, the others add to it
@pytest.mark.parametrize(
    ("shorter", "longer"),
    [
        ("--temp 0C", "--temp 15C"),
        ("--temp 15C", "--temp 35C"),
        ("--altitude 0m", "--altitude 1200m"),
        ("--altitude 1200m", "--altitude 2500m"),
        ("--pressure 1030hPa", "--pressure 880hPa"),
        ("--humidity 0", "--humidity 100 --temp 15C"),  # damp air is thinner, if by little
        ("--wind -3m/s", "--wind 0m/s"),
        ("--wind 0", "--wind 3m/s"),
        ("--wind -6mph", "--wind -2m/s"),
        ("--rise 4m", "--rise 0m"),
        ("--rise 0", "--rise -4yd"),
        ("--rise 4m", "--rise 4yd"),
        (COLD_AND_WINDY, "--temp 6C --altitude 1200m --humidity 80"),
    ],
)
def test_the_days_carries_go_where_every_player_knows_they_go(log: Cli, shorter: str, longer: str) -> None:
    less, more = todays(log, shorter), todays(log, longer)
    assert len(less) == 12
    assert all(a < b for a, b in zip(less, more, strict=True))
    # of a wedge's carry no such day takes or gives a fifth (own judgement of the size, no source)
    assert all(a / b > 0.8 for a, b in zip(less, more, strict=True))


def test_the_standard_air_said_in_words_is_the_chart_itself(log: Cli) -> None:
    # ISO 2533: 15 C and 1013.25 hPa at sea level; dry and calm
    said = "--temp 15C --pressure 1013.25hPa --altitude 0m --humidity 0 --wind 0 --cross-wind 0 --rise 0"
    for cell in cells(log, said):
        assert cell["carry_today_m"] == cell["carry_m"]
        assert (cell["carry_today_se_m"], cell["drift_today_m"]) == (cell["carry_se_m"], None)
        assert (cell["carry_today_p10_m"], cell["carry_today_p90_m"]) == (cell["carry_p10_m"], cell["carry_p90_m"])


@pytest.mark.parametrize(
    "words",
    [
        # ISO 2533: 877.16 hPa at 1200 m, by hand 1013.25 (1 - 0.0065 * 1200 / 288.15)^5.25588; NIST: 29.92126 inHg
        "--pressure 877.16hPa",
        "--pressure 25.9025inHg",
        "--pressure 877.16hPa --altitude 1200m",
        "--pressure 1013.25hPa --sea-level --altitude 1200m",
        "--pressure 29.92126inHg --sea-level --altitude 3937.01ft",
    ],
)
def test_the_same_air_told_in_other_words_carries_the_same(log: Cli, words: str) -> None:
    # without a temperature the sea-level pressure is brought up with ISO 2533's of the altitude, as the altitude is
    assert todays(log, words) == pytest.approx(todays(log, "--altitude 1200m"), abs=0.005)


def test_a_pressure_of_the_altitude_and_one_of_sea_level_are_not_mixed_up(log: Cli) -> None:
    high = todays(log, "--pressure 1013hPa --sea-level --altitude 1200m")
    assert high == pytest.approx(todays(log, "--pressure 877hPa"), abs=0.02)
    low = todays(log, "--pressure 1013hPa")
    assert all(b - a > 0.2 for a, b in zip(low, high, strict=True))


def test_the_correction_never_makes_a_carry_surer(log: Cli) -> None:
    # on ground below, differences between shots shrink against the longer carry: there a share of it may be surer
    for words in ("--temp 30C", "--wind -3m/s", "--wind 5m/s", "--rise 3m", COLD_AND_WINDY):
        for cell in cells(log, words):
            doubt, today = cell["carry_se_m"] / cell["carry_m"], cell["carry_today_se_m"] / cell["carry_today_m"]
            assert today >= doubt - 1e-6
            assert today < doubt + 0.05
            assert cell["carry_today_p10_m"] < cell["carry_today_m"] < cell["carry_today_p90_m"]


def test_a_stronger_wind_is_less_sure(log: Cli) -> None:
    widths = [
        [c["carry_today_p90_m"] / c["carry_today_p10_m"] for c in cells(log, f"--wind {wind}")] for wind in (0, 4, 8)
    ]
    assert all(a < b for less, more in itertools.pairwise(widths) for a, b in zip(less, more, strict=True))


def test_a_cross_wind_from_the_left_drifts_to_the_right(log: Cli) -> None:
    left, right = (cells(log, f"--cross-wind {wind}") for wind in ("3m/s", "-3m/s"))
    for a, b in zip(left, right, strict=True):
        assert 0.5 < a["drift_today_m"] < 10.0
        assert b["drift_today_m"] == pytest.approx(-a["drift_today_m"], abs=1e-6)
        assert b["carry_today_m"] == pytest.approx(a["carry_today_m"], abs=1e-6)
    text = log.ok("--units", "m", "chart", "--cross-wind", "3m/s").out
    shown = [word for row in rows_of(text, "drift m") for word in row]
    assert shown == [format_length(cell["drift_today_m"], "m") + "R" for cell in left]
    assert {cell["drift_today_m"] for cell in cells(log, "--wind 3m/s")} == {None}


def test_a_high_green_is_out_of_some_shots_reach(log: Cli) -> None:
    # with 14 m of rise the shortest swings' arcs stay below it: their apex is lower
    found = cells(log, "--rise 14m --more")
    level = cells(log, "--more")
    never = [cell["carry_today_m"] is None for cell in found]
    assert any(never)
    assert not all(never)
    for cell, plain in zip(found, level, strict=True):
        if cell["carry_today_m"] is None:
            assert {cell[key] for key in (TODAY_KEYS | FLIGHT_KEYS) - {"flight_support"}} == {None}
        else:
            assert cell["carry_today_m"] < cell["carry_m"]
            assert cell["land_deg"] < plain["land_deg"]  # nearer to the top of its arc
    text = log.ok("chart", "--rise", "14m", "--more").out
    for label in ("today yd", "lands deg", "apex yd"):
        assert [word == "-" for row in rows_of(text, label) for word in row] == never
    assert "- to -" not in text
    assert "(-)" not in text
    said = log.fails(1, "choose", "10", "--rise", "14m")
    nearest = min(cell["carry_today_m"] for cell in found if cell["carry_today_m"] is not None)
    assert said.startswith("10 yd is out of reach; the nearest is ")
    assert f"nearest is {format_length(nearest, 'yd')} yd" in said
    assert "gets up" in log.fails(1, "choose", "70", "--rise", "60m")


# --- what stays


def test_a_day_changes_nothing_of_the_chart_itself(log: Cli) -> None:
    plain, day = (log.ok("chart", *words.split(), "--json").document for words in ("", COLD_AND_WINDY))
    assert without(day["cells"], *TODAY_KEYS) == plain["cells"]
    assert set(day["cells"][0]) - set(plain["cells"][0]) == TODAY_KEYS
    assert {key: day[key] for key in day if key not in {"cells", "day", "gaps"}} == {
        key: plain[key] for key in plain if key not in {"cells", "day", "gaps"}
    }
    carry = {(cell["wedge"], cell["swing"]): cell["carry_today_m"] for cell in day["cells"]}
    for gap in day["gaps"]:  # the gaps are those of the day
        longer, shorter = (carry[gap[key], gap["swing"]] for key in ("wedge", "next_wedge"))
        assert gap["gap_m"] == pytest.approx(longer - shorter, abs=2e-6)
    assert plain["day"] is None
    assert day["day"] == {
        "air_temp_c": 6.0, "station_pressure_hpa": None, "humidity_pct": 80.0, "altitude_m": 1200.0, "wind_mps": -3.0,
        "cross_wind_mps": None, "rise_m": 0.0,
    }  # fmt: skip


def test_the_landing_adds_to_the_chart_and_the_green_changes_the_run_out_alone(log: Cli) -> None:
    plain, more = cells(log), cells(log, "--more")
    assert without(more, *FLIGHT_KEYS) == plain
    assert set(more[0]) - set(plain[0]) == FLIGHT_KEYS
    assert cells(log, "--green normal") == more
    soft, firm = cells(log, "--more --green soft"), cells(log, "--more --green firm")
    runs = ("run_out_low_m", "run_out_m", "run_out_high_m")
    assert without(soft, *runs) == without(firm, *runs) == without(more, *runs)
    for a, b, c in zip(soft, more, firm, strict=True):
        assert a["run_out_low_m"] <= a["run_out_m"] <= a["run_out_high_m"]
        assert a["run_out_m"] < b["run_out_m"] < c["run_out_m"]  # common practice, no source: firm ground runs more
    # a wedge lands at 40 to 60 deg (launch monitors' ordinary range, value from memory), steeper with more loft
    assert all(35.0 < cell["land_deg"] < 65.0 for cell in more)
    nine = [cell["land_deg"] for cell in more if cell["swing"] == "9:00"]
    assert nine == sorted(nine)


def test_a_choice_on_the_standard_day_is_the_choice_without_one(log: Cli) -> None:
    plain, day = (log.ok("choose", *words.split(), "--json").document for words in ("70", "70 --temp 15C --wind 0"))
    assert without(day["options"], *TODAY_KEYS) == without(plain["options"], *TODAY_KEYS)
    for key in ("target_m", "window_low_m", "window_high_m", "want", "verdict", "reference", "green"):
        assert day[key] == plain[key]
    assert (plain["day"], day["day"]["air_temp_c"], day["day"]["rise_m"]) == (None, 15.0, 0.0)


# --- the choice


def test_it_is_the_days_carry_that_fits_and_the_order_goes_by_its_chance(log: Cli) -> None:
    best = {}
    for wind in ("-4m/s", "0", "4m/s"):
        found = options(log, f"70 --wind {wind}")
        chances = [option["window_probability"] for option in found]
        assert chances == sorted(chances, reverse=True)
        best[wind] = found[0]
        assert found[0]["carry_today_m"] == pytest.approx(70 * YARD_M, abs=2.0)
    # against the wind a shot of more carry than the target, with it one of less
    assert best["-4m/s"]["carry_m"] - 1.5 > 70 * YARD_M > best["4m/s"]["carry_m"] + 0.5


def test_a_choice_has_the_carries_of_the_chart_on_that_day(log: Cli) -> None:
    chart = {(cell["wedge"], cell["swing"]): cell for cell in cells(log, f"{COLD_AND_WINDY} --green firm")}
    practised = [o for o in options(log, f"70 {COLD_AND_WINDY} --green firm") if o["practised"]]
    assert len(practised) > 1
    for option in practised:
        cell = chart[option["wedge"], option["swing"]]
        for key in ("carry_m", "carry_se_m", "carry_p10_m", "carry_p90_m", *TODAY_KEYS, *FLIGHT_KEYS):
            assert option[key] == cell[key], key


def test_what_is_in_reach_depends_on_the_day(log: Cli) -> None:
    assert log.fails(1, "choose", "110").startswith("110 yd is out of reach; the nearest is 96 yd: 50 full")
    assert options(log, "105 --wind 5m/s --temp 30C --rise -5m")[0]["wedge"] == "50"
    log.ok("choose", "93")
    result = log("choose", "93", "--wind", "-6m/s", "--json")
    assert (result.code, result.document["options"]) == (1, [])
    assert result.document["nearest_m"] == pytest.approx(max(todays(log, "--wind -6m/s")), abs=1e-6)
    assert result.error.startswith("93 yd is out of reach; the nearest is ")


def test_the_choice_says_the_day_its_verdict_and_the_rule_about_measuring(log: Cli) -> None:
    day = log.ok("choose", "70", "--temp", "6C", "--wind", "-3m/s", "--cross-wind", "2m/s", "--rise", "4yd").out
    said, best = one_line(day), options(log, "70 --temp 6C --wind -3m/s --cross-wind 2m/s --rise 4yd")[0]
    assert "Today: 6 C, head wind 3 m/s, wind from the left 2 m/s, green 4 yd above the ball." in said
    assert "Chart: standard air (15 C, 1013 hPa, dry, calm)." in said
    assert f"Verdict: {best['wedge']} at {best['swing']}: " in said
    aim = format_length(best["drift_today_m"], "yd")
    assert f"Today's carry of {best['wedge']} {best['swing']} is known to ±" in said
    assert f"the cross wind takes it about {aim} R." in said
    # Rules of Golf 4.3a: measuring wind or slope is not allowed in a round; a forecast made before it is
    rules = said[said.index("Rules: ") :]
    assert re.search(r"forecast may be used.*Measuring the wind.*is not allowed during.*4\.3a", rules)
    plain = one_line(log.ok("choose", "70").out)
    assert "Rules of Golf 4.3a" in plain
    assert not re.search("oday|forecast", plain)
    chart = one_line(log.ok("chart", "--wind", "-3m/s").out)
    assert rules in chart
    assert "Rules" not in log.ok("chart").out


# --- the same number everywhere


@pytest.mark.parametrize(("unit", "words"), [("yd", COLD_AND_WINDY), ("m", "--temp 30C --rise -3m --cross-wind 2")])
def test_text_json_and_csv_say_the_same(log: Cli, unit: LengthUnit, words: str) -> None:
    asked = [*words.split(), "--more"]
    found = cells(log, f"{words} --more")
    rows = list(csv.DictReader(io.StringIO(log.ok("chart", *asked, "--csv").out)))
    assert rows == [{key: "" if value is None else str(value) for key, value in cell.items()} for cell in found]
    text = log.ok("--units", unit, "chart", *asked).out
    for label, shown in (
        (f"carry {unit}", [format_length(cell["carry_m"], unit) for cell in found]),
        (
            f"today {unit}",
            [
                f"{format_length(c['carry_today_m'], unit)}±{format_length(c['carry_today_se_m'], unit, 1)}"
                for c in found
            ],
        ),
        (
            "8 in 10",
            [
                f"{format_length(c['carry_today_p10_m'], unit)}-{format_length(c['carry_today_p90_m'], unit)}"
                for c in found
            ],
        ),
        ("balls", [str(cell["n_shots"]) for cell in found]),
    ):
        assert [word.lstrip("~?") for row in rows_of(text, label) for word in row] == shown, label
    picks = options(log, f"65 {words}")
    table = log.ok("--units", unit, "choose", f"{65 if unit == 'yd' else 65 * YARD_M}{unit}", *words.split()).out
    for i, option in enumerate(picks, 1):
        (line,) = [line for line in table.splitlines() if re.match(rf"{i}\+? +", line)]
        both = f"{format_length(option['carry_today_m'], unit)}/[~?]?{format_length(option['carry_m'], unit)}"
        assert re.search(rf" {both} ", line), (line, both)


def test_the_global_units_are_those_of_the_rise(log: Cli) -> None:
    metres = log.ok("--units", "m", "chart", "--rise", "4", "--json").document["day"]["rise_m"]
    yards = log.ok("--units", "yd", "chart", "--rise", "-4", "--json").document["day"]["rise_m"]
    feet = log.ok("chart", "--rise", "10ft", "--json").document["day"]["rise_m"]
    assert (metres, yards, feet) == (4.0, pytest.approx(-3.6576), pytest.approx(3.048))  # NIST SP 811
    assert "green 4 m below" in one_line(log.ok("--units", "m", "choose", "60", "--rise", "-4").out)
