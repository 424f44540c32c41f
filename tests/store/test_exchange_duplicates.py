"""Importing again: what is new, what is known. Files are built from hypothesis's rows and read as users' files are."""

import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wedgelab.shots import DEFAULT_SWINGS, Bag
from wedgelab.store.columns import plan_columns
from wedgelab.store.csvfile import read_table
from wedgelab.store.exchange import EarlierImport, ParsedFile, ParsedRow, fresh_rows, had_time, parse_shots

AT = datetime(2026, 6, 3, 18, 30, tzinfo=UTC)
COLUMNS = ("wedge", "swing", "carry_m", "spin_rpm", "hit_at")
Row = tuple[str, str, str, str, str]  # cells in the order of COLUMNS

on_disk = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60)
undated = st.tuples(
    st.sampled_from(["54", "60"]),
    st.sampled_from(["7:30", "9:00", "10:30"]),
    st.integers(200, 900).map(lambda tenths: f"{tenths / 10}"),
    st.sampled_from(["", "8000", "9250.5"]),
    st.just(""),
)
dated = st.tuples(
    st.just("54"), st.just("9:00"), st.sampled_from(["60.5", "61.0"]), st.just(""),
    st.sampled_from([f"2026-05-01 10:0{minute}" for minute in range(6)]),
)  # fmt: skip


def parse(
    folder: Path,
    rows: Sequence[Row],
    *,
    order: Sequence[int] = (0, 1, 2, 3, 4),
    delimiter: str = ",",
    decimal: str = ".",
) -> ParsedFile:
    def line(cells: Sequence[str]) -> str:
        return delimiter.join(f'"{cells[place]}"' for place in order)

    lines = [line(COLUMNS)]
    lines += [line((*row[:2], row[2].replace(".", decimal), row[3].replace(".", decimal), row[4])) for row in rows]
    path = folder / "range.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    table = read_table(path)
    plan = plan_columns(table, {}, default_unit="yd")
    bag = Bag(swings=DEFAULT_SWINGS)
    parsed = parse_shots(table, plan, player="me", bag=bag, default_unit="yd", imported_at=AT)
    assert parsed.problems == ()
    return parsed


def as_import(rows: Sequence[ParsedRow], name: str = "range.csv") -> EarlierImport:
    """Return what the log remembers of rows: their keys and lines."""
    return EarlierImport(name, tuple((row.row_key, row.has_time) for row in rows), tuple(row.line for row in rows))


def carries(rows: Sequence[ParsedRow]) -> list[float]:
    return [row.shot.carry_m for row in rows]


def fresh(parsed: ParsedFile, *earlier: EarlierImport, name: str = "range.csv") -> list[float]:
    return carries(fresh_rows(parsed, file_name=name, earlier=earlier, known_shot_ids=()))


@on_disk
@given(rows=st.lists(undated | dated, min_size=1, max_size=40))
def test_first_import_takes_every_row_and_the_second_none(rows: list[Row], tmp_path: Path) -> None:
    parsed = parse(tmp_path, rows)
    assert fresh(parsed) == carries(parsed.rows)
    assert fresh(parsed, as_import(parsed.rows)) == []
    assert fresh(parsed, as_import(parsed.rows), as_import(())) == []


@on_disk
@given(
    old=st.lists(undated, min_size=1, max_size=40),
    extra=st.lists(undated, min_size=1, max_size=15, unique_by=lambda row: row[2]),
    at_start=st.booleans(),
)
def test_undated_file_that_grew_adds_exactly_the_extra_rows(
    old: list[Row], extra: list[Row], at_start: bool, tmp_path: Path
) -> None:
    extra = [(*row[:2], f"{row[2]}5", *row[3:]) for row in extra]  # hundredths: equal to no old row
    before = parse(tmp_path, old)
    grown = parse(tmp_path, extra + old if at_start else old + extra)
    added = carries(grown.rows)[: len(extra)] if at_start else carries(grown.rows)[len(old) :]
    assert fresh(grown, as_import(before.rows)) == added


@on_disk
@given(old=st.lists(undated, min_size=1, max_size=20), extra=st.lists(undated, min_size=1, max_size=20))
def test_undated_file_that_grew_by_equal_rows_adds_as_many_as_were_added(
    old: list[Row], extra: list[Row], tmp_path: Path
) -> None:
    before, grown = parse(tmp_path, old), parse(tmp_path, old + extra)
    assert len(fresh(grown, as_import(before.rows))) == len(extra)


@on_disk
@given(old=st.lists(dated, min_size=1, max_size=20), extra=st.lists(dated, min_size=1, max_size=9), data=st.data())
def test_dated_file_that_grew_anywhere_adds_exactly_the_extra_rows(
    old: list[Row], extra: list[Row], data: st.DataObject, tmp_path: Path
) -> None:
    grown = list(old)
    for row in extra:
        grown.insert(data.draw(st.integers(0, len(grown))), row)
    before = as_import(parse(tmp_path, old).rows, "elsewhere.csv")
    assert sorted(fresh(parse(tmp_path, grown), before)) == sorted(float(row[2]) for row in extra)


@on_disk
@given(
    rows=st.lists(undated | dated, min_size=1, max_size=20),
    order=st.permutations(range(5)),
    delimiter=st.sampled_from(",;\t|"),
    decimal=st.sampled_from(".,"),
)
def test_column_order_separator_and_decimal_sign_do_not_change_the_keys(
    rows: list[Row], order: list[int], delimiter: str, decimal: str, tmp_path: Path
) -> None:
    usual = [row.row_key for row in parse(tmp_path, rows).rows]
    assert [
        row.row_key for row in parse(tmp_path, rows, order=order, delimiter=delimiter, decimal=decimal).rows
    ] == usual


def test_key_tells_whether_the_row_had_a_time(tmp_path: Path) -> None:
    parsed = parse(tmp_path, [("54", "9:00", "60.0", "", ""), ("54", "9:00", "60.0", "", "2026-05-01 10:00")])
    assert [(row.has_time, had_time(row.row_key)) for row in parsed.rows] == [(False, False), (True, True)]


def test_key_is_the_same_after_the_new_wedge_has_come_into_the_bag(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("club,swing,carry_m\n54°,8:00,60\n54°,8:00,60\n54°,8:00,60\n", encoding="utf-8")
    table = read_table(path)
    plan = plan_columns(table, {}, default_unit="m")
    first = parse_shots(table, plan, player="me", bag=Bag(), default_unit="m", imported_at=AT)
    bag = Bag(first.new_wedges, first.new_swings)
    assert (len(bag.wedges), len(bag.swings)) == (1, 1)
    again = parse_shots(table, plan, player="me", bag=bag, default_unit="m", imported_at=AT.replace(year=2027))
    assert [row.row_key for row in again.rows] == [row.row_key for row in first.rows]


def test_same_row_twice_in_one_file_is_two_shots(tmp_path: Path) -> None:
    for time in ("", "2026-05-01 10:00"):
        parsed = parse(tmp_path, [("54", "9:00", "60.0", "", time)] * 2)
        assert len(fresh(parsed)) == 2
        one = as_import(parsed.rows[:1])
        assert len(fresh(parsed, one)) == 1


def test_two_undated_days_that_share_rows_are_both_stored_in_full(tmp_path: Path) -> None:
    monday: list[Row] = [("54", "9:00", f"{60 + n}.0", "", "") for n in range(20)]
    # sixteen of the twenty carries come again, some even next to each other
    tuesday: list[Row] = [("54", "9:00", f"{60 + (7 * n) % 16}.0", "", "") for n in range(20)]
    earlier = as_import(parse(tmp_path, monday).rows)
    parsed = parse(tmp_path, tuesday)
    for name in ("range.csv", "tuesday.csv"):
        assert fresh(parsed, earlier, name=name) == carries(parsed.rows)


@pytest.mark.parametrize("name", ["range.csv", "other.csv"])
@pytest.mark.parametrize(("days", "rows"), [(60, 8), (8, 60), (40, 40), (60, 20)])
def test_whole_yards_of_another_day_are_stored_in_full(name: str, days: int, rows: int, tmp_path: Path) -> None:
    rng = random.Random(20260603)  # noqa: S311 - invented carries, not a secret

    def day(count: int) -> list[Row]:
        return [("54", "9:00", f"{rng.randint(60, 67)}.0", "", "") for _ in range(count)]

    for _ in range(8):
        earlier, parsed = as_import(parse(tmp_path, day(days)).rows), parse(tmp_path, day(rows))
        assert fresh(parsed, earlier, name=name) == carries(parsed.rows)


def test_single_ball_that_an_earlier_file_of_that_name_has_somewhere_is_new(tmp_path: Path) -> None:
    rows: list[Row] = [("54", "9:00", f"{60 + n}.0", "", "") for n in range(9)]
    earlier = as_import(parse(tmp_path, rows).rows)
    assert fresh(parse(tmp_path, [rows[4]]), earlier) == [64.0]
    assert fresh(parse(tmp_path, rows[:1]), earlier) == []


def test_four_equal_rows_under_another_name_are_four_new_shots(tmp_path: Path) -> None:
    rows: list[Row] = [("54", "9:00", f"{60 + n}.0", "", "") for n in range(5)]
    four, five = parse(tmp_path, rows[:4]), parse(tmp_path, rows)
    assert len(fresh(four, as_import(four.rows, "other.csv"))) == 4
    assert fresh(five, as_import(five.rows, "other.csv")) == []
    assert fresh(four, as_import(four.rows, "/elsewhere/RANGE.csv")) == []


def test_corrected_row_in_the_middle_is_the_only_new_one(tmp_path: Path) -> None:
    rows: list[Row] = [("54", "9:00", f"{60 + n}.0", "", "") for n in range(20)]
    earlier = as_import(parse(tmp_path, rows).rows)
    rows[9] = ("54", "9:00", "88.8", "", "")
    assert fresh(parse(tmp_path, rows), earlier) == [88.8]


def test_file_that_grew_in_steps_when_only_stored_rows_are_remembered(tmp_path: Path) -> None:
    rows: list[Row] = [("54", "9:00", f"{50 + n}.0", "", "") for n in range(20)]
    earlier: list[EarlierImport] = []
    for step, count in enumerate((10, 12, 13, 20, 20)):
        parsed = parse(tmp_path, rows[:count])
        name = f"export{step}.csv"
        new = fresh_rows(parsed, file_name=name, earlier=earlier, known_shot_ids=())
        assert carries(new) == [50.0 + n for n in range(sum(len(one.rows) for one in earlier), count)]
        earlier.append(as_import(new, name))


def test_rows_with_ids_are_known_by_them(tmp_path: Path) -> None:
    ids = ["8d3c2c1e-9a6e-4a43-9a55-0b9c5f0f6b11", "8d3c2c1e-9a6e-4a43-9a55-0b9c5f0f6b12"]
    path = tmp_path / "ids.csv"
    path.write_text("shot_id,club,swing,carry_m\n" + "".join(f"{one},54,9:00,60\n" for one in ids), encoding="utf-8")
    table = read_table(path)
    plan = plan_columns(table, {}, default_unit="m")
    parsed = parse_shots(table, plan, player="me", bag=Bag(), default_unit="m", imported_at=AT)
    new = fresh_rows(parsed, file_name="ids.csv", earlier=[as_import(parsed.rows)], known_shot_ids={ids[0]})
    assert [row.shot.shot_id for row in new] == ids[1:]


def test_thousands_of_undated_rows_again_and_in_another_order(tmp_path: Path) -> None:
    few = parse(tmp_path, [("54", "9:00", f"{40 + n}.0", "", "") for n in range(97)])

    def many(places: Sequence[int]) -> ParsedFile:
        rows = tuple(replace(few.rows[place], line=line) for line, place in enumerate(places, start=2))
        return replace(few, rows=rows, table=replace(few.table, rows=tuple((row.line, ()) for row in rows)))

    for count in (10_000, 2_000):
        places = [n * n % 97 for n in range(count)]
        parsed = many(places)
        for earlier in (as_import(parsed.rows), replace(as_import(parsed.rows), row_nos=())):
            assert fresh(parsed, earlier) == []
    shuffled = many(sorted(places, key=lambda place: str(40 + place)[::-1]))
    assert len(fresh(shuffled, as_import(parsed.rows))) == 2_000


@pytest.mark.parametrize(("equal", "new"), [(20, 0), (19, 1), (18, 2), (17, 20), (0, 20)])
def test_nine_in_ten_rows_make_a_file_another_version_of_an_earlier_one(equal: int, new: int, tmp_path: Path) -> None:
    rows: list[Row] = [("54", "9:00", f"{60 + n}.0", "", "") for n in range(20)]
    earlier = as_import(parse(tmp_path, rows).rows)
    changed = [row if n < equal else (*row[:2], f"{row[2]}5", *row[3:]) for n, row in enumerate(rows)]
    assert len(fresh(parse(tmp_path, changed), earlier)) == new
