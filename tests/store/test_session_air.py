"""Conditions in the store and in files: what is checked, what an older log may hold, what rows that differ become."""

import sqlite3
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import a_shot
from wedgelab.errors import BadRequestError, FileProblemError, OutOfRangeError
from wedgelab.shots import Bag, Conditions, Wedge
from wedgelab.store.columns import plan_columns, read_header
from wedgelab.store.csvfile import read_table
from wedgelab.store.exchange import ParsedFile, parse_shots
from wedgelab.store.pressure import to_station_pressure_hpa
from wedgelab.store.store import SqliteStore

AT = datetime(2026, 6, 3, 18, 30, tzinfo=UTC)
BAG = Bag((Wedge("54", 54),))
START = "session,club,swing,carry_m"


def parse(folder: Path, text: str, mapping: Mapping[str, str] | None = None, **more: Any) -> ParsedFile:
    path = folder / "range.csv"
    path.write_text(text, encoding="utf-8")
    table = read_table(path)
    plan = plan_columns(table, mapping or {}, default_unit="m")
    options: dict[str, Any] = {"player": "me", "bag": BAG, "default_unit": "m", "imported_at": AT}
    return parse_shots(table, plan, **(options | more))


def problems(parsed: ParsedFile) -> list[str]:
    return [str(problem) for problem in parsed.problems]


def air(parsed: ParsedFile) -> list[dict[str, float]]:
    return [row.conditions.known() for row in parsed.rows]


# --- from sea level to the place


@pytest.mark.parametrize(
    ("altitude_m", "expected_hpa"), [(0, 1013.25), (500, 954.61), (1000, 898.75), (1500, 845.56), (2000, 794.95),
                                     (3000, 701.09)],
)  # fmt: skip
def test_without_a_temperature_the_standard_atmosphere_is_met(altitude_m: float, expected_hpa: float) -> None:
    # ISO 2533:1975, table of the standard atmosphere
    assert to_station_pressure_hpa(1013.25, altitude_m, None) == pytest.approx(expected_hpa, abs=0.02)


@pytest.mark.parametrize(
    ("altitude_m", "temp_c", "expected_hpa"), [(1200, 6, 876.4), (1200, 30, 886.4), (420, -5, 960.5)]
)
def test_a_cold_column_of_air_weighs_more(altitude_m: float, temp_c: float, expected_hpa: float) -> None:
    # hypsometric equation p0 exp(-g h / R T) with the column's mean temperature, worked out by hand
    assert to_station_pressure_hpa(1013.0, altitude_m, temp_c) == pytest.approx(expected_hpa, abs=0.1)


def test_a_pressure_that_no_weather_makes_at_sea_level_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r"^sea level pressure 870\.0 hPa is outside 920\.0 to 1060\.0 hPa; "):
        to_station_pressure_hpa(870.0, 1200.0, None)


# --- in the store


def test_a_pressure_is_held_against_the_altitude_noted_earlier_and_the_other_way_round(store: SqliteStore) -> None:
    store.ensure_player("Ada")
    store.create_session("Ada", "high", conditions=Conditions(altitude_m=1200.0))
    store.create_session("Ada", "low", conditions=Conditions(station_pressure_hpa=1013.0))
    with pytest.raises(BadRequestError, match=r"looks like a sea-level pressure, it cannot be one at 1200 m"):
        store.update_session("Ada", "high", station_pressure_hpa=1013.0)
    with pytest.raises(BadRequestError, match=r"looks like a sea-level pressure, it cannot be one at 1200 m"):
        store.update_session("Ada", "low", altitude_m=1200.0)
    with pytest.raises(BadRequestError, match=r"looks like a sea-level pressure, it cannot be one at 1200 m"):
        store.ensure_session("Ada", "high", conditions=Conditions(station_pressure_hpa=1013.0))
    assert store.session("Ada", "high").conditions == Conditions(altitude_m=1200.0)
    assert store.session("Ada", "low").conditions == Conditions(station_pressure_hpa=1013.0)
    store.update_session("Ada", "high", station_pressure_hpa=877.0)
    store.update_session("Ada", "low", altitude_m=1200.0, station_pressure_hpa=None)
    assert store.session("Ada", "high").conditions == Conditions(altitude_m=1200.0, station_pressure_hpa=877.0)
    assert store.session("Ada", "low").conditions == Conditions(altitude_m=1200.0)
    with pytest.raises(BadRequestError, match="looks like a sea-level pressure"):
        store.set_player("Ada", altitude_m=1200.0, station_pressure_hpa=1013.0)


def test_a_log_of_before_the_check_opens_and_takes_balls_and_changes(db: Path) -> None:
    with SqliteStore.open(db) as store:
        store.ensure_player("Ada")
        store.create_session("Ada", "morning", conditions=Conditions(altitude_m=1200.0))
    raw = sqlite3.connect(db)
    raw.execute("UPDATE session SET station_pressure_hpa = 1013")
    raw.execute("UPDATE player SET station_pressure_hpa = 1013, altitude_m = 1200")
    raw.commit()
    raw.close()
    with SqliteStore.open(db) as store:
        old = {"station_pressure_hpa": 1013.0, "altitude_m": 1200.0}
        assert store.session("Ada", "morning").conditions.known() == old
        assert [player.conditions.known() for player in store.players()] == [old]
        store.ensure_session("Ada", "morning", conditions=Conditions(air_temp_c=6.0))
        store.add_shots([a_shot()])
        store.update_session("Ada", "morning", wind_mps=-2.0, note="cold")
        store.set_player("Ada", units="m")
        assert store.session("Ada", "morning").conditions.known() == {"air_temp_c": 6.0, "wind_mps": -2.0} | old
        with pytest.raises(BadRequestError, match="looks like a sea-level pressure"):
            store.update_session("Ada", "morning", altitude_m=1300.0)
        store.update_session("Ada", "morning", station_pressure_hpa=None)
        assert store.session("Ada", "morning").conditions == Conditions(6.0, altitude_m=1200.0, wind_mps=-2.0)


# --- in a file


@pytest.mark.parametrize(
    ("header", "cell", "column", "value"),
    [
        # factors: NIST SP 811, appendix B.8 (0.3048 m/ft, 0.44704 m/s per mph, 33.86389 hPa/inHg)
        ("Temperature (F)", "50", "air_temp_c", 10.0),
        ("temp °C", "10,5", "air_temp_c", 10.5),
        ("Air temperature (deg C)", "10.5", "air_temp_c", 10.5),
        ("Humidity", "80", "humidity_pct", 80.0),
        ("Relative humidity (%)", "80", "humidity_pct", 80.0),
        ("Pressure hPa", "1003.5", "station_pressure_hpa", 1003.5),
        ("Air pressure [mbar]", "1003.5", "station_pressure_hpa", 1003.5),
        ("station pressure (inHg)", "29.5", "station_pressure_hpa", 998.9848),
        ("Altitude (m)", "420", "altitude_m", 420.0),
        ("Elevation ft", "1000", "altitude_m", 304.8),
        ("Wind (m/s)", "-3", "wind_mps", -3.0),
        ("Wind mph", "-10", "wind_mps", -4.4704),
        ("Tail wind (km/h)", "36", "wind_mps", 10.0),
        ("Cross wind [km/h]", "-18", "cross_wind_mps", -5.0),
    ],
)
def test_trade_headers_with_their_units(header: str, cell: str, column: str, value: float, tmp_path: Path) -> None:
    parsed = parse(tmp_path, f'club,swing,carry_m,{header},Ball\n54,9:00,62.5,"{cell}",soft\n')
    assert problems(parsed) == []
    assert air(parsed) == [{column: pytest.approx(value, abs=1e-4)}]
    assert parsed.rows[0].shot.ball == "soft"


@pytest.mark.parametrize(
    "header",
    ["sea_level_pressure_hpa", "Sea-level pressure (hPa)", "Mean sea level pressure hPa", "SeaLevelPressure [hPa]"],
)
def test_headers_of_the_sea_level_pressure(header: str) -> None:
    assert read_header(header) == ("sea_level_pressure_hpa", "hpa")


def test_the_sea_level_pressure_of_each_row_is_brought_to_its_altitude(tmp_path: Path) -> None:
    head = f"{START},sea_level_pressure_hpa,altitude_m,air_temp_c"
    parsed = parse(tmp_path, f"{head}\na,54,9:00,62,1013,1200,6\nb,54,9:00,62,1013.25,1000,\nc,54,9:00,62,,1000,\n")
    assert problems(parsed) == []
    # 1200 m and 6 C by the hypsometric equation, as above; 1000 m by ISO 2533
    assert [row.get("station_pressure_hpa") for row in air(parsed)] == [
        pytest.approx(876.4, abs=0.1), pytest.approx(898.75, abs=0.02), None,
    ]  # fmt: skip
    mapped = parse(tmp_path, f"{START},QNH inHg,Up (ft)\na,54,9:00,62,29.92,0\n",
                   {"sea_level_pressure": "QNH inHg", "altitude_ft": "Up (ft)"})  # fmt: skip
    assert air(mapped) == [{"station_pressure_hpa": pytest.approx(1013.21, abs=0.01), "altitude_m": 0.0}]


def test_the_pressure_of_the_place_counts_where_a_row_has_both(tmp_path: Path) -> None:
    parsed = parse(tmp_path, f"{START},pressure hPa,sea level pressure hPa\na,54,9:00,62,877,1013\n")
    assert (problems(parsed), air(parsed)) == ([], [{"station_pressure_hpa": 877.0}])


def test_sea_level_pressures_without_any_altitude_are_refused_in_one_line(tmp_path: Path) -> None:
    text = f"{START},SLP\na,54,9:00,62,1013\n"
    with pytest.raises(FileProblemError) as caught:
        parse(tmp_path, text, {"sea_level_pressure_hpa": "SLP"})
    assert str(caught.value).removeprefix(f"{tmp_path}/") == (
        "range.csv: the pressures of the column 'SLP' are reduced to sea level and no column tells the altitude; "
        'add a column altitude_m, or leave the pressures out: --map ignore="SLP"'
    )
    assert air(parse(tmp_path, text, {"ignore": "SLP"})) == [{}]
    assert air(parse(tmp_path, text.replace("1013", ""), {"sea_level_pressure_hpa": "SLP"})) == [{}]


def test_a_row_without_the_altitude_is_named(tmp_path: Path) -> None:
    head = f"{START},sea level pressure hPa,altitude_m"
    parsed = parse(tmp_path, f"{head}\na,54,9:00,62,1013,1200\na,54,9:00,62,1013,\na,54,9:00,62,1013,high\n")
    wanted = 'an altitude in that row too, or --map ignore="sea level pressure hPa"'
    assert problems(parsed) == [
        f"line 3, column 'sea level pressure hPa': '1013' cannot be used; wanted: {wanted}",
        "line 4, column 'altitude_m': 'high' cannot be used; wanted: a number such as 62.5",
    ]
    assert len(parsed.rows) == 1


@pytest.mark.parametrize(
    ("pressure", "altitude", "place"),
    [("29.92", "4000", "from 797 to 926 hPa at 1219 m"), ("25", "0", "from 922 to 1059 hPa at 0 m")],
)
def test_a_row_with_the_wrong_pressure_is_named_with_its_cell(
    pressure: str, altitude: str, place: str, tmp_path: Path
) -> None:
    head = f"{START},Pressure (inHg),Elevation (ft)"
    parsed = parse(tmp_path, f"{head}\na,54,9:00,62,{pressure},{altitude}\na,54,9:00,63,,4000\n")
    wanted = (
        f'the station\'s pressure, {place} (if it is reduced to sea level: --map sea_level_pressure="Pressure (inHg)")'
    )
    seen = f"line 2, column 'Pressure (inHg)': '{pressure}' cannot be used"
    assert problems(parsed) == [f"{seen}; wanted: {wanted}"]
    assert [row.line for row in parsed.rows] == [3]


def test_what_it_says_to_do_with_a_sea_level_pressure_works(tmp_path: Path) -> None:
    text = f"{START},Pressure (inHg),Elevation (ft)\na,54,9:00,62,29.92,4000\n"
    parsed = parse(tmp_path, text, {"sea_level_pressure": "Pressure (inHg)"})
    # US Standard Atmosphere 1976 (the same as ISO 2533 here): 4000 ft, 25.842 inHg
    assert air(parsed)[0]["station_pressure_hpa"] == pytest.approx(25.842 * 33.86389, abs=0.1)


def test_rows_of_a_session_fill_in_each_other_and_the_first_value_is_taken_and_said(tmp_path: Path) -> None:
    head = f"{START},temp C,wind m/s,humidity"
    rows = "a,54,9:00,62,18,,40\na,54,9:00,63,21.5,-2,40\nb,54,9:00,63,5,,\na,54,9:00,63,,-1,\nb,54,9:00,63,5.01,,\n"
    parsed = parse(tmp_path, f"{head}\n{rows}")
    first = {"air_temp_c": 18.0, "wind_mps": -2.0, "humidity_pct": 40.0}
    assert air(parsed) == [first, first, {"air_temp_c": 5.0}, first, {"air_temp_c": 5.0}]
    assert parsed.notices == (
        "column 'temp C' differs within the session 'a' (18.0 to 21.5 C): the first value is noted, here 18.0 C",
        "column 'wind m/s' differs within the session 'a' (-2.0 to -1.0 m/s): the first value is noted, here -2.0 m/s",
    )
    more = parse(tmp_path, f"{head}\n{rows}b,54,9:00,64,9,,\n")
    assert more.notices[0] == (
        "column 'temp C' differs within the session 'a' (18.0 to 21.5 C) and 1 other session(s): "
        "the first value is noted, here 18.0 C"
    )


def test_a_pressure_that_differs_only_because_the_temperature_does_is_not_said_twice(tmp_path: Path) -> None:
    head = f"{START},sea level pressure hPa,altitude_m,temp C"
    parsed = parse(tmp_path, f"{head}\na,54,9:00,62,1013,1200,6\na,54,9:00,63,1013,1200,30\n")
    assert [notice.split("'")[1] for notice in parsed.notices] == ["temp C"]
    parsed = parse(tmp_path, f"{head}\na,54,9:00,62,1013,1200,6\na,54,9:00,63,1003,1200,6\n")
    assert [notice.split("'")[1] for notice in parsed.notices] == ["sea level pressure hPa"]


@pytest.mark.parametrize(
    ("rows", "column", "cell", "wanted"),
    [
        (",1200/1013,", "pressure hPa", "1013", "the station's pressure at the session's altitude, 1200 m"),
        ("1013,/,1200", "altitude_m", "1200", "the altitude of the session's pressure, 1013.0 hPa"),
    ],
)
def test_a_row_that_contradicts_an_earlier_one_of_its_session_is_named(
    rows: str, column: str, cell: str, wanted: str, tmp_path: Path
) -> None:
    rows = "".join(f"a,54,9:00,62,{row}\n" for row in rows.split("/"))
    parsed = parse(tmp_path, f"{START},pressure hPa,altitude_m\n{rows}")
    assert problems(parsed) == [f"line 3, column '{column}': '{cell}' cannot be used; wanted: {wanted}"]
    assert [row.line for row in parsed.rows] == [2]
    apart = rows.replace("\na,", "\nb,")  # two sessions may be in two places
    assert problems(parse(tmp_path, f"{START},pressure hPa,altitude_m\n{apart}")) == []


def test_a_file_that_was_imported_before_sea_level_pressures_were_understood_stays_known(tmp_path: Path) -> None:
    text = f"{START},altitude_m,sea level pressure hPa\na,54,9:00,62,1200,1013\n"
    keys = [parse(tmp_path, text, mapping).rows[0].row_key for mapping in ({}, {"ignore": "sea level pressure hPa"})]
    assert keys[0] == keys[1]


# --- wind whose sign the header tells


@pytest.mark.parametrize("header", ["head wind m/s", "headwind (m/s)", "head_wind_mps"])
def test_a_column_of_head_winds_is_the_other_sign_of_a_wind(tmp_path: Path, header: str) -> None:
    parsed = parse(tmp_path, f"{START},{header}\na,54,9:00,60,4\na,54,9:00,61,\nb,54,9:00,62,0\nc,54,9:00,62,-2\n")
    assert problems(parsed) == []
    assert air(parsed) == [{"wind_mps": -4.0}, {"wind_mps": -4.0}, {"wind_mps": 0.0}, {"wind_mps": 2.0}]


def test_a_wind_goes_before_a_head_wind(tmp_path: Path) -> None:
    parsed = parse(tmp_path, f"{START},wind m/s,head wind m/s\na,54,9:00,60,1,4\n")
    assert air(parsed) == [{"wind_mps": 1.0}]


def test_a_head_wind_beyond_any_range_is_refused(tmp_path: Path) -> None:
    parsed = parse(tmp_path, f"{START},head wind m/s\na,54,9:00,60,31\n")
    assert len(problems(parsed)) == 1
    assert "31" in problems(parsed)[0]
