"""The air of the log's own sessions: what is brought to the reference, what is kept, and the reference itself."""

import csv
import io
import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.harness import Cli
from wedgelab.units import YARD_M, format_length

Cell = dict[str, Any]
COLD_AND_WINDY = "--temp 6C --altitude 1200m --humidity 80 --wind -3m/s"


def cells(cli: Cli, words: str = "") -> list[Cell]:
    found: list[Cell] = cli.ok("chart", *words.split(), "--json").document["cells"]
    return found


def todays(cli: Cli, words: str) -> list[float]:
    return [cell["carry_today_m"] for cell in cells(cli, words)]


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def cold(log: Cli) -> Cli:
    """The log of `log`, and three balls of an evening in the cold and against the wind."""
    log.ok("session", "new", "cold", "--temp", "2C", "--wind", "-4m/s")
    log.ok("log", "--session", "cold", stdin="54 9:00 64 8000\n54 9:00 65\n58 full 69\n")
    return log


def test_the_chart_says_what_was_brought_to_the_reference_and_the_log_keeps_what_was_measured(cold: Cli) -> None:
    document = cold.ok("chart", "--json").document
    note = document["air_note"]
    assert (note["n_shots"], note["n_sessions"], document["n_shots"], document["n_sessions"]) == (3, 1, 9, 2)
    assert 0.5 < note["low_m"] <= note["high_m"] < 12.0  # in mild, still air these balls go farther
    low, high = (format_length(note[key], "yd", 1) for key in ("low_m", "high_m"))
    said = one_line(cold.ok("chart").out)
    assert (
        "3 carries of 1 session were brought to standard air (15 C, 1013 hPa, dry, calm) "
        f"(+{low} to +{high} yd); the log keeps what was measured." in said
    )
    raw = [64, 65, 69]
    assert [round(shot["carry_m"] / YARD_M, 6) for shot in cold.shots() if shot["session"] == "cold"] == raw
    exported = list(csv.DictReader(io.StringIO(cold.ok("export").out)))
    assert [round(float(r["carry_m"]) / YARD_M, 6) for r in exported if r["session"] == "cold"] == raw
    listed = cold.ok("shots", "list", "--all").out
    assert all(re.search(rf"\b{carry}\b", listed) for carry in raw)


def test_without_any_air_in_the_log_nothing_is_brought_anywhere(log: Cli) -> None:
    before = log.ok("chart").out
    assert "brought" not in before
    log.ok("session", "set", "first", "--temp", "15C", "--wind", "0")  # the reference itself
    assert log.ok("chart", "--json").document["air_note"] is None
    assert log.ok("chart").out == before


def test_a_cold_head_wind_evening_counts_for_more_once_it_is_told(log: Cli) -> None:
    log.ok("session", "new", "cold")
    log.ok("log", "--session", "cold", stdin="54 9:00 62\n" * 4)
    untold = {(c["wedge"], c["swing"]): c["carry_m"] for c in cells(log)}
    log.ok("session", "set", "cold", "--temp", "2C", "--wind", "-4m/s")
    told = {(c["wedge"], c["swing"]): c["carry_m"] for c in cells(log)}
    assert told["54", "9:00"] - untold["54", "9:00"] > 1.0
    log.ok("session", "set", "cold", "--temp", "none", "--wind", "none")
    again = {(c["wedge"], c["swing"]): c["carry_m"] for c in cells(log)}
    assert again == untold  # taken back, and nothing of it stays


def test_a_warmer_reference_brings_the_cold_evening_farther(cold: Cli) -> None:
    mild = cold.ok("chart", "--json").document
    cold.ok("players", "set", "--temp", "30C")
    warm = cold.ok("chart", "--json").document
    assert (mild["reference"]["air_temp_c"], warm["reference"]["air_temp_c"]) == (None, 30.0)
    for key in ("low_m", "high_m"):
        assert warm["air_note"][key] > mild["air_note"][key] + 0.5
    for cell, before in zip(warm["cells"], mild["cells"], strict=True):
        if (cell["wedge"], cell["swing"]) in {("54", "9:00"), ("58", "full")}:  # hit that evening
            assert cell["carry_m"] > before["carry_m"]
    # the balls without conditions count as hit in the reference, whatever it is
    assert warm["air_note"]["n_shots"] == 3
    assert "were brought to 30 C (" in one_line(cold.ok("chart").out)


def test_what_a_day_leaves_open_is_as_in_the_reference(cold: Cli) -> None:
    cold.ok("players", "set", "--temp", "30C", "--altitude", "1000m")
    for words in ("--temp 30C --altitude 1000m", "--temp 30C", "--wind 0"):
        for cell in cells(cold, words):
            assert cell["carry_today_m"] == pytest.approx(cell["carry_m"], abs=1e-6)
    air = "30 C, 1000 m above the sea."
    assert f"Carry: for {air} Today" in one_line(cold.ok("chart", "--temp", "6C").out)
    assert f"Today: 6 C. Chart: {air}" in one_line(cold.ok("choose", "70", "--temp", "6C").out)
    assert cold.ok("choose", "70", "--json").document["reference"]["altitude_m"] == 1000.0
    assert todays(cold, "--temp 6C") == pytest.approx(todays(cold, "--temp 6C --altitude 1000m"), abs=1e-6)
    assert todays(cold, "--temp 6C")[0] > todays(cold, "--temp 6C --altitude 0m")[0]
    lent = cold.ok("chart", "--pressure", "1013hPa", "--sea-level", "--json").document["day"]
    # hypsometric equation by hand: 1013 exp(-9.80665 * 1000 / (287.05 * 306.4)), 306.4 K the mean of the column
    assert lent["station_pressure_hpa"] == pytest.approx(906.1, abs=0.5)


def test_a_day_s_altitude_goes_before_the_pressure_of_the_reference(log: Cli) -> None:
    log.ok("players", "set", "--pressure", "1013.25hPa")
    plain = todays(log, "--altitude 1200m")
    log.ok("players", "set", "--reference", "standard")
    assert plain == pytest.approx(todays(log, "--altitude 1200m"), abs=1e-6)


def test_a_file_with_its_air_gives_the_chart_of_the_log(cold: Cli, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    cold.ok("export", str(path))
    stored = cold.ok("chart", *COLD_AND_WINDY.split(), "--json").document
    file = cold.ok("chart", "--shots", str(path), *COLD_AND_WINDY.split(), "--json").document
    assert file["air_note"] == stored["air_note"]
    for a, b in zip(file["cells"], stored["cells"], strict=True):
        assert a["carry_m"] == pytest.approx(b["carry_m"], abs=1e-4)
        assert a["carry_today_m"] == pytest.approx(b["carry_today_m"], abs=1e-4)
