"""Export -> import is exact, whatever the texts are; and safe to open in a spreadsheet."""

import csv
import io
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from wedgelab.errors import WedgelabError
from wedgelab.shots import (
    CONDITION_COLUMNS,
    LIES,
    LIMITS,
    SHOT_COLUMNS,
    STRIKES,
    TRAJECTORIES,
    Bag,
    Conditions,
    Shot,
    clean_text,
    station_pressure_range_hpa,
)
from wedgelab.spreadsheet import guard_text, unguard_text
from wedgelab.store.columns import plan_columns
from wedgelab.store.csvfile import read_table
from wedgelab.store.exchange import ParsedFile, parse_shots, write_shots

AT = datetime(2026, 6, 3, 18, 30, tzinfo=UTC)
HOSTILE = [
    "=cmd()",
    "'quoted",
    'a;b,c"d',
    "''",
    "'=x",
    "''=x",
    "＝1+1",
    "＋1",
    "－1",
    "＠x",
    "-",
    "--",
    "+1",
    "@SUM(A1)",
    "|",
    "'",
    '"',
    "NA",
    "nan",
    "007",
    "1,5",
    "9:00",
    "54°",
    "ümlaut",
    "日本",
    "sep=;",
    "true",
    "ﬁ",
    "a\u00a0b",
    "[m]",
    "m",
]


def usable(longest: int) -> st.SearchStrategy[str]:
    def fits(text: str) -> bool:
        try:
            return clean_text("text", text, longest) == text
        except WedgelabError:
            return False

    # without the kinds of sign that are refused: else hypothesis now and then complains of too much filtering
    signs = st.characters(exclude_categories=("C", "Zl", "Zp"))
    return st.sampled_from(HOSTILE) | st.text(signs, min_size=1, max_size=min(longest, 30)).filter(fits)


def number(name: str) -> st.SearchStrategy[float]:
    low, high, *_ = LIMITS[name]
    return st.floats(low, high)


optional = {name: st.none() | number(name) for name in LIMITS if name in SHOT_COLUMNS}
moments = st.datetimes(
    datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.timezones()  # noqa: DTZ001 - hypothesis adds the zone
).map(lambda moment: moment.isoformat())  # fmt: skip
shots = st.builds(
    Shot,
    **(optional | {name: number(name) for name in ("loft_deg", "swing_deg", "carry_m")}),
    shot_id=st.uuids().map(str),
    player=st.just("me"),
    session=usable(40),
    hit_at=moments,
    wedge=usable(40),
    swing=usable(40),
    trajectory=st.sampled_from(TRAJECTORIES),
    lie=st.sampled_from(("", *LIES)),
    strike=st.sampled_from(("", *STRIKES)),
    drill_id=st.just("") | st.uuids().map(str),
    call_no=st.none() | st.integers(0, 500),
    advice_shown=st.none() | st.booleans(),
    advised_wedge=st.just("") | usable(40),
    ball=st.just("") | usable(40),
    note=st.just("") | usable(200),
)


def fitting(**values: float | None) -> Conditions:
    """Bring the pressure to one that `Conditions` takes at that altitude, as far from the usual as it was."""
    pressure_hpa, altitude_m = values["station_pressure_hpa"], values["altitude_m"]
    if pressure_hpa is not None and altitude_m is not None:
        low, high = station_pressure_range_hpa(altitude_m)
        lowest, highest, *_ = LIMITS["station_pressure_hpa"]
        wanted = low + (high - low) * (pressure_hpa - lowest) / (highest - lowest)
        values["station_pressure_hpa"] = min(max(wanted, low), high, highest)
    return Conditions(**values)


conditions = st.builds(fitting, **{name: st.none() | number(name) for name in CONDITION_COLUMNS})
PLAIN = Shot(
    shot_id="8d3c2c1e-9a6e-4a43-9a55-0b9c5f0f6b11", player="me", session="s", hit_at="2026-06-03T18:30:00+02:00",
    wedge="54", loft_deg=54, swing="9:00", swing_deg=90, carry_m=62.5,
)  # fmt: skip


def export(exported: Sequence[Shot], of: dict[str, Conditions]) -> str:
    stream = io.StringIO()
    assert write_shots(stream, exported, of) == len(exported)
    return stream.getvalue()


def parse(folder: Path, text: str) -> ParsedFile:
    path = folder / "export.csv"
    path.write_bytes(text.encode())
    table = read_table(path)
    plan = plan_columns(table, {}, default_unit="yd")
    return parse_shots(table, plan, player="me", bag=Bag(), default_unit="yd", imported_at=AT)


@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow], deadline=None, max_examples=50
)
@given(exported=st.lists(shots, min_size=1, max_size=3, unique_by=lambda shot: shot.shot_id), weather=conditions)
@example(exported=[PLAIN.replace(spin_rpm=8.512, apex_m=12.345, note="=cmd()")], weather=Conditions(altitude_m=1.234))
@example(exported=[PLAIN.replace(carry_m=1.0, wedge="m", swing="m", session="m")], weather=Conditions())
def test_export_comes_back_identical(exported: list[Shot], weather: Conditions, tmp_path: Path) -> None:
    of = {exported[0].session: weather}
    parsed = parse(tmp_path, export(exported, of))
    assert [str(problem) for problem in parsed.problems] == []
    assert [row.shot for row in parsed.rows] == exported
    assert all(row.had_id and row.has_time for row in parsed.rows)
    assert [row.conditions for row in parsed.rows] == [of.get(shot.session, Conditions()) for shot in exported]
    assert parsed.notices == ()


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_in_every_text_column(text: str, tmp_path: Path) -> None:
    names = ("session", "wedge", "swing", "ball", "note", "advised_wedge", "drill_id")
    shot = PLAIN.replace(**dict.fromkeys(names, clean_text("text", text, 40)))
    parsed = parse(tmp_path, export([shot], {}))
    assert [str(problem) for problem in parsed.problems] == []
    assert [row.shot for row in parsed.rows] == [shot]


@given(st.text(alphabet="'=+-@\t\r\n＝＋－＠ax", max_size=6))
def test_guard_is_undone_exactly_and_leaves_nothing_that_runs(text: str) -> None:
    guarded = guard_text(text)
    assert unguard_text(guarded) == text
    # OWASP, "CSV Injection": a cell must not begin with = + - @ tab or carriage return, nor their full-width forms
    assert not guarded.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))


def test_header_and_plain_numbers_of_an_export() -> None:
    text = export([PLAIN.replace(offline_m=-2.5, advice_shown=False, call_no=3, note="-x")], {})
    header, cells = csv.reader(io.StringIO(text))
    assert header == [*SHOT_COLUMNS, *CONDITION_COLUMNS]
    row: dict[str, Any] = dict(zip(header, cells, strict=True))
    assert (row["offline_m"], row["advice_shown"], row["call_no"], row["note"]) == ("-2.5", "false", "3", "'-x")
    assert (row["carry_m"], row["total_m"], row["air_temp_c"]) == ("62.5", "", "")


def test_export_of_nothing_is_a_header() -> None:
    assert export([], {}) == ",".join((*SHOT_COLUMNS, *CONDITION_COLUMNS)) + "\n"


def test_export_of_chips_is_no_wrong_unit(tmp_path: Path) -> None:
    chip = PLAIN.replace(carry_m=2.0)
    assert [row.shot for row in parse(tmp_path, export([chip], {})).rows] == [chip]


def test_export_that_a_spreadsheet_saved_with_semicolons_and_decimal_commas(tmp_path: Path) -> None:
    shot = PLAIN.replace(spin_rpm=8512.25, apex_m=12.345, offline_m=-2.5, note="a.b, c")
    header, cells = csv.reader(io.StringIO(export([shot], {"s": Conditions(altitude_m=120.5)})))
    numeric = {*LIMITS}
    again = [cell.replace(".", ",") if name in numeric else cell for name, cell in zip(header, cells, strict=True)]
    parsed = parse(tmp_path, ";".join(header) + "\n" + ";".join(f'"{cell}"' for cell in again) + "\n")
    assert [row.shot for row in parsed.rows] == [shot]
    assert [row.conditions.altitude_m for row in parsed.rows] == [120.5]
