"""Conditions on the command line: units, sea level, refusals, taking back, the reference, the way through a file."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.harness import Cli
from wedgelab.cli.app import App
from wedgelab.cli.conditions import read_changes, read_conditions
from wedgelab.errors import BadRequestError
from wedgelab.shots import Conditions

NOTHING: dict[str, Any] = {
    "temp": None, "humidity": None, "altitude": None, "pressure": None, "sea_level": False, "wind": None,
    "cross_wind": None,
}  # fmt: skip


def noted(cli: Cli, session: str) -> dict[str, float]:
    """What the log has about the air of a session."""
    sessions = cli.ok("session", "list", "--json").document["sessions"]
    conditions = next(one["conditions"] for one in sessions if one["name"] == session)
    return {name: value for name, value in conditions.items() if value is not None}


def reference(cli: Cli) -> dict[str, float]:
    conditions = cli.ok("players", "--json").document["players"][0]["reference"]
    return {name: value for name, value in conditions.items() if value is not None}


# factors: NIST SP 811, appendix B.8 (0.3048 m/ft, 0.44704 m/s per mph, 33.86389 hPa/inHg)
@pytest.mark.parametrize(
    ("option", "value", "column", "expected"),
    [
        ("--temp", "6C", "air_temp_c", 6.0),
        ("--temp", "6", "air_temp_c", 6.0),
        ("--temp", "-4,5", "air_temp_c", -4.5),
        ("--temp", "50F", "air_temp_c", 10.0),
        ("--humidity", "80", "humidity_pct", 80.0),
        ("--humidity", "80%", "humidity_pct", 80.0),
        ("--altitude", "1200m", "altitude_m", 1200.0),
        ("--altitude", "1200", "altitude_m", 1200.0),
        ("--altitude", "1000ft", "altitude_m", 304.8),
        ("--altitude", "-20m", "altitude_m", -20.0),
        ("--pressure", "1003.5hPa", "station_pressure_hpa", 1003.5),
        ("--pressure", "1003.5", "station_pressure_hpa", 1003.5),
        ("--pressure", "1003.5 mbar", "station_pressure_hpa", 1003.5),
        ("--pressure", "29.5inHg", "station_pressure_hpa", 998.984755),
        ("--pressure", "100kPa", "station_pressure_hpa", 1000.0),
        ("--wind", "3m/s", "wind_mps", 3.0),
        ("--wind", "-2m/s", "wind_mps", -2.0),
        ("--wind", "\u22122 m/s", "wind_mps", -2.0),
        ("--wind", "-2", "wind_mps", -2.0),
        ("--wind", "-10mph", "wind_mps", -4.4704),
        ("--wind", "36km/h", "wind_mps", 10.0),
        ("--cross-wind", "-1.5m/s", "cross_wind_mps", -1.5),
        ("--cross-wind", "5mph", "cross_wind_mps", 2.2352),
    ],
)
def test_each_option_with_its_units(cli: Cli, option: str, value: str, column: str, expected: float) -> None:
    cli.ok("session", "new", "evening", option, value)
    assert noted(cli, "evening") == {column: pytest.approx(expected, abs=1e-6)}
    cli.ok("session", "new", "later")
    cli.ok("session", "set", "later", option, value)
    assert noted(cli, "later") == {column: pytest.approx(expected, abs=1e-6)}


CROSS_WIND = (
    "cross wind 'left' cannot be read; "
    "give a wind such as 2m/s or -2m/s (from the left positive, from the right negative)"
)
NO_PRESSURE = "--sea-level without a pressure; give the pressure too: --pressure 1013hPa --sea-level"
NO_ALTITUDE = (
    "--sea-level without an altitude for the pressure '1013'; "
    "give --altitude too, or the pressure of the place itself without --sea-level"
)
NOT_SEA_LEVEL = (
    "pressure '876' is none of sea level (920 to 1060 hPa); leave --sea-level out if it was read at the place itself"
)
LOOKS = (
    "station pressure 1013.0 hPa looks like a sea-level pressure, it cannot be one at 1200 m (799 to 928 hPa); "
    "give it with --sea-level, in a file as sea_level_pressure_hpa, or leave the altitude out"
)
CANNOT = (
    "station pressure 877.0 hPa cannot be one at 0 m (922 to 1059 hPa); check both and their units, or leave one out"
)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ("--temp hot", 2, "temp 'hot' cannot be read; give a temperature such as 12C or 54F"),
        ("--temp 3m/s", 2, "temp '3m/s' cannot be read; give a temperature such as 12C or 54F"),
        ("--temp 200F", 1, "air temp '200F' (93.3 C) is outside -40.0 to 60.0 C; check the number and its unit"),
        ("--humidity 120", 1, "humidity '120' (120 %) is outside 0 to 100 %; check the number and its unit"),
        ("--altitude 6000m", 1, "altitude '6000m' (6000 m) is outside -450 to 5000 m; check the number and its unit"),
        ("--pressure 29.9", 1,
         "station pressure '29.9' (29.9 hPa) is outside 500.0 to 1100.0 hPa; check the number and its unit"),
        ("--wind 80", 1, "wind '80' (80.0 m/s) is outside -30.0 to 30.0 m/s; check the number and its unit"),
        ("--wind 3C", 2,
         "wind '3C' cannot be read; give a wind such as 3m/s or -7mph (tail positive, head negative)"),
        ("--cross-wind left", 2, CROSS_WIND),
        ("--sea-level", 2, NO_PRESSURE),
        ("--sea-level --altitude 1200m", 2, NO_PRESSURE),
        ("--sea-level --pressure 1013", 2, NO_ALTITUDE),
        ("--sea-level --pressure 876 --altitude 1200", 2, NOT_SEA_LEVEL),
        ("--pressure 1013 --altitude 1200m", 2, LOOKS),
        ("--pressure 877 --altitude 0", 2, CANNOT),
    ],
)  # fmt: skip
def test_a_refusal_is_one_line_and_notes_nothing(cli: Cli, words: str, code: int, said: str) -> None:
    assert cli.fails(code, "session", "new", "evening", *words.split()) == said
    assert cli.ok("session", "list", "--json").document["sessions"] == []
    cli.ok("session", "new", "evening")
    assert cli.fails(code, "session", "set", "evening", *words.split()) == said
    assert noted(cli, "evening") == {}
    assert cli.fails(code, "players", "set", *words.split()) == said
    assert reference(cli) == {}


def test_none_is_nothing_to_begin_a_session_with(cli: Cli) -> None:
    said = cli.fails(2, "session", "new", "evening", "--temp", "none")
    assert said == "--temp none has nothing to clear here; give a temperature such as 12C or 54F"


# 1013 hPa at 1200 m: hypsometric equation p0 exp(-g h / R T), T the mean temperature of the column, by hand
@pytest.mark.parametrize(("temp", "expected_hpa"), [("6C", 876.4), ("86F", 886.4)])
def test_a_sea_level_pressure_becomes_that_of_the_place(cli: Cli, temp: str, expected_hpa: float) -> None:
    given = ("--altitude", "1200m", "--pressure", "1013hPa", "--sea-level", "--temp", temp)
    cli.ok("session", "new", "evening", *given)
    assert noted(cli, "evening")["station_pressure_hpa"] == pytest.approx(expected_hpa, abs=0.1)
    cli.ok("players", "set", *given)
    assert reference(cli)["station_pressure_hpa"] == pytest.approx(expected_hpa, abs=0.1)


def test_without_a_temperature_that_of_the_standard_atmosphere_counts(cli: Cli) -> None:
    cli.ok("session", "new", "evening", "--altitude", "1000m", "--pressure", "1013.25", "--sea-level")
    # ISO 2533:1975: 898.75 hPa at 1000 m
    assert noted(cli, "evening") == {"altitude_m": 1000.0, "station_pressure_hpa": pytest.approx(898.75, abs=0.02)}


def test_altitude_and_temperature_noted_earlier_serve_a_sea_level_pressure(cli: Cli) -> None:
    cli.ok("session", "new", "evening", "--altitude", "1200m", "--temp", "6C")
    cli.ok("session", "set", "evening", "--pressure", "1013", "--sea-level")
    assert noted(cli, "evening")["station_pressure_hpa"] == pytest.approx(876.4, abs=0.1)
    said = cli.fails(2, "session", "set", "evening", "--pressure", "1013", "--sea-level", "--altitude", "none")
    assert said.startswith("--sea-level without an altitude for the pressure '1013'; ")
    cli.ok("players", "set", "--altitude", "1200m", "--temp", "30C")
    cli.ok("players", "set", "--pressure", "1013", "--sea-level")
    assert reference(cli)["station_pressure_hpa"] == pytest.approx(886.4, abs=0.1)


def test_a_pressure_is_held_against_the_altitude_noted_earlier_and_the_other_way_round(cli: Cli) -> None:
    cli.ok("session", "new", "high", "--altitude", "1200m")
    cli.ok("session", "new", "low", "--pressure", "1013")
    assert "looks like a sea-level pressure" in cli.fails(2, "session", "set", "high", "--pressure", "1013")
    assert "looks like a sea-level pressure" in cli.fails(2, "session", "set", "low", "--altitude", "1200m")
    assert (noted(cli, "high"), noted(cli, "low")) == ({"altitude_m": 1200.0}, {"station_pressure_hpa": 1013.0})
    cli.ok("session", "set", "low", "--altitude", "1200m", "--pressure", "none")
    assert noted(cli, "low") == {"altitude_m": 1200.0}


def test_values_are_taken_back_one_by_one(cli: Cli) -> None:
    cli.ok("session", "new", "evening", "--temp", "6C", "--humidity", "80", "--altitude", "1200m",
           "--pressure", "877hPa", "--wind", "3m/s", "--cross-wind", "-1m/s")  # fmt: skip
    left = noted(cli, "evening")
    columns = {"temp": "air_temp_c", "humidity": "humidity_pct", "altitude": "altitude_m",
               "pressure": "station_pressure_hpa", "wind": "wind_mps", "cross-wind": "cross_wind_mps"}  # fmt: skip
    for option, column in columns.items():
        said = cli.ok("session", "set", "evening", f"--{option}", "none").err
        assert said == f"session evening: {column} taken back\n"
        del left[column]
        assert noted(cli, "evening") == left
    said = cli.ok("session", "set", "evening", "--temp", "None", "--wind", "-2", "--note", "wet").err
    assert said == "session evening: wind_mps, note noted; air_temp_c taken back\n"


def test_the_list_shows_the_air_and_fits_the_line(cli: Cli) -> None:
    note = "wet mats, and a wind that came and went the whole evening long"
    cli.ok("session", "new", "e", "--temp", "6C", "--wind", "-2m/s", "--altitude", "1200m", "--note", note)
    header, _, row = cli.ok("session", "list").out.splitlines()
    assert header.split() == ["session", "started", "shots", "temp", "C", "wind", "m/s", "alt", "m", "ball", "note"]
    assert row.split()[3:7] == ["0", "6", "-2.0", "1200"]
    cli.ok("session", "set", "e", "--pressure", "877hPa")
    shown = cli.ok("session", "list").out.splitlines()
    assert shown[0].split()[7:] == ["hPa", "ball", "note"]  # no room for both
    assert shown[2].split()[5:7] == ["-2.0", "877"]
    assert all(len(line) <= 80 for line in shown)


def test_a_list_without_air_is_as_narrow_as_it_was(cli: Cli) -> None:
    cli.ok("session", "new", "e", "--ball", "soft")
    header = cli.ok("session", "list").out.splitlines()[0]
    assert header.split() == ["session", "started", "shots", "temp", "C", "wind", "m/s", "ball", "note"]


# --- the reference of a player


def test_the_reference_is_set_changed_and_cleared(cli: Cli) -> None:
    cli.ok("players", "set", "--units", "m")
    assert reference(cli) == {}
    assert cli.ok("players", "set", "--temp", "20C", "--altitude", "100ft").err == (
        "me: reference (air_temp_c, altitude_m) set\n"
    )
    assert reference(cli) == {"air_temp_c": 20.0, "altitude_m": pytest.approx(30.48)}
    cli.ok("players", "set", "--altitude", "none", "--wind", "-1m/s")
    assert reference(cli) == {"air_temp_c": 20.0, "wind_mps": -1.0}
    assert cli.ok("players", "set", "--reference", "standard").err == "me: reference (the standard atmosphere) set\n"
    assert reference(cli) == {}


def test_the_standard_reference_with_a_value_is_that_value_alone(cli: Cli) -> None:
    cli.ok("players", "set", "--pressure", "1013", "--temp", "20C")
    cli.ok("players", "set", "--reference", "standard", "--altitude", "1200m", "--ball", "soft")
    assert reference(cli) == {"altitude_m": 1200.0}
    assert "'--reference'" in cli.fails(2, "players", "set", "--reference", "home")


def test_a_refused_setting_makes_no_player(cli: Cli) -> None:
    cli.fails(2, "--player", "robin", "players", "set", "--window", "wide")
    cli.fails(2, "--player", "robin", "players", "set", "--pressure", "1013", "--sea-level")
    assert cli.ok("players", "--json").document["players"] == []


# --- what a reading command is handed


def test_a_log_hands_out_reference_ball_and_the_sessions_that_say_something(log: Cli) -> None:
    log.ok("players", "set", "--temp", "20C", "--ball", "soft")
    log.ok("session", "new", "cold", "--temp", "6C", "--wind", "-2m/s")
    handed = App().read()
    assert (handed.reference, handed.ball) == (Conditions(air_temp_c=20.0), "soft")
    assert handed.conditions == {"cold": Conditions(air_temp_c=6.0, wind_mps=-2.0)}


def test_a_file_hands_out_its_own_sessions_and_the_player_s_reference_and_ball(log: Cli, tmp_path: Path) -> None:
    path = tmp_path / "range.csv"
    path.write_text("session,club,swing,carry (yd),temp C\na,54,9:00,62,6\nb,54,9:00,63,\na,54,9:00,61,7\n", "utf-8")
    log.ok("session", "new", "cold", "--temp", "-3C")
    log.ok("players", "set", "--temp", "20C", "--ball", "soft")
    handed = App().read(str(path))
    assert handed.conditions == {"a": Conditions(air_temp_c=6.0)}
    assert (handed.reference, handed.ball) == (Conditions(air_temp_c=20.0), "soft")
    shown = log.ok("session", "list", "--shots", str(path), "--json").document["sessions"]
    assert [one["conditions"]["air_temp_c"] for one in shown] == [6.0, None]


def test_without_a_log_nothing_is_said(tmp_path: Path) -> None:
    assert App().read().reference == Conditions()
    path = tmp_path / "range.csv"
    path.write_text("club,swing,carry (yd)\n54,9:00,62\n", "utf-8")
    handed = App().read(str(path))
    assert (handed.reference, handed.conditions, handed.ball) == (Conditions(), {}, "")


# --- through a file and back


def test_export_and_import_keep_the_conditions(log: Cli, tmp_path: Path) -> None:
    log.ok("session", "set", "first", "--temp", "54F", "--humidity", "80", "--altitude", "4000ft", "--pressure",
           "29.9inHg", "--sea-level", "--wind", "-7mph", "--cross-wind", "1m/s")  # fmt: skip
    path, other = tmp_path / "log.csv", str(tmp_path / "other.db")
    log.ok("export", str(path))
    log.ok("--db", other, "import", str(path))
    again = log.ok("--db", other, "session", "list", "--json").document["sessions"][0]["conditions"]
    assert again == noted(log, "first")
    assert len(again) == 6
    assert log.ok("--db", other, "export").out == path.read_text("utf-8")


def test_an_import_says_which_values_differ_and_refuses_a_mix_up(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "range.csv"
    head = "session,club,swing,carry (yd),Temp (C),Pressure (hPa),Elevation (m)\n"
    path.write_text(f"{head}a,54,9:00,62,6,1013,1200\n", "utf-8")
    result = cli("import", str(path))
    assert result.code == 1
    assert "line 2, column 'Pressure (hPa)': '1013' cannot be used; wanted: the station's pressure, " in result.err
    path.write_text(f"{head}a,54,9:00,62,6,1013,1200\na,54,9:00,63,7,1013,1200\n", "utf-8")
    said = cli.ok("import", str(path), "--map", "sea_level_pressure=Pressure (hPa)").err
    assert "column 'Temp (C)' differs within the session 'a' (6.0 to 7.0 C): the first value is noted" in said
    assert noted(cli, "a") == {
        "air_temp_c": 6.0, "station_pressure_hpa": pytest.approx(876.4, abs=0.1), "altitude_m": 1200.0,
    }  # fmt: skip


# --- the reader alone


def test_what_is_read_for_today_is_held_against_what_is_known() -> None:
    known = Conditions(altitude_m=1200.0, air_temp_c=6.0)
    assert read_conditions(NOTHING, known=known) == {}
    assert read_conditions(NOTHING | {"wind": "-2m/s"}, known=known) == {"wind_mps": -2.0}
    at_sea_level = NOTHING | {"pressure": "1013", "sea_level": True}
    assert read_conditions(at_sea_level, known=known) == {"station_pressure_hpa": pytest.approx(876.4, abs=0.1)}
    with pytest.raises(BadRequestError, match="looks like a sea-level pressure"):
        read_conditions(NOTHING | {"pressure": "1013"}, known=known)


@pytest.mark.parametrize("read", [read_conditions, read_changes])
def test_an_impossible_pair_of_an_older_log_does_not_stand_in_the_way(read: Callable[..., dict[str, float]]) -> None:
    known = Conditions.as_stored((None, 1013.0, None, 1200.0, None, None))
    assert read(NOTHING | {"temp": "6C"}, known=known) == {"air_temp_c": 6.0}


@pytest.mark.parametrize("more", [[], ["--sea-level"]])
def test_numpy_is_loaded_for_a_sea_level_pressure_alone(more: list[str], tmp_path: Path) -> None:
    pressure = "1013hPa" if more else "877hPa"
    words = [
        "--db",
        str(tmp_path / "a.db"),
        "session",
        "new",
        "e",
        "--pressure",
        pressure,
        "--altitude",
        "1200m",
        *more,
    ]
    code = f"import sys\nfrom wedgelab.cli.main import run\nprint(run({words!r}), 'numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.strip() == f"0 {bool(more)}"
