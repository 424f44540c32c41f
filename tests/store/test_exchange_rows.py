"""Rows: clubs and swings, times, numbers in doubt, and every bad cell named."""

import io
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import hypothesis.strategies as st
import pytest
from hypothesis import given

from wedgelab.errors import FileProblemError
from wedgelab.shots import DEFAULT_SWINGS, Bag, SwingLength, Wedge, new_id
from wedgelab.store.clubs import NAMED_FROM_ROWS, hour_or_degrees
from wedgelab.store.columns import plan_columns
from wedgelab.store.csvfile import read_table
from wedgelab.store.exchange import ParsedFile, parse_shots, write_shots
from wedgelab.units import parse_swing_deg

AT = datetime(2026, 6, 3, 18, 30, tzinfo=UTC)
BAG = Bag((Wedge("SW", 56), Wedge("60", 60)), DEFAULT_SWINGS)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


def parse(folder: Path, text: str, mapping: Mapping[str, str] | None = None, **more: Any) -> ParsedFile:
    path = folder / "range.csv"
    path.write_text(text, encoding="utf-8")
    table = read_table(path)
    plan = plan_columns(table, mapping or {}, default_unit="m")
    options: dict[str, Any] = {"player": "me", "bag": BAG, "default_unit": "m", "imported_at": AT}
    return parse_shots(table, plan, **(options | more))


def problems(parsed: ParsedFile) -> list[str]:
    return [str(problem) for problem in parsed.problems]


def test_wedge_from_the_bag_whatever_its_case(folder: Path) -> None:
    parsed = parse(folder, "club,swing,carry_m\nsw,FULL,62\n")
    assert [(r.shot.wedge, r.shot.loft_deg, r.shot.swing, r.shot.swing_deg) for r in parsed.rows] == [
        ("SW", 56.0, "full", 165.0)
    ]
    assert (parsed.new_wedges, parsed.new_swings, parsed.notices) == ((), (), ())


@pytest.mark.parametrize("label", ["54", "54°", "54 deg", "54.0", "54 DEG"])
def test_label_that_is_a_loft_is_a_new_wedge(label: str, folder: Path) -> None:
    parsed = parse(folder, f"club,swing,carry_m\n{label},9:00,62\n")
    assert problems(parsed) == []
    assert parsed.new_wedges == (Wedge("54", 54),)
    assert parsed.rows[0].shot.wedge == "54"


def test_new_wedge_with_its_loft_even_when_only_a_later_row_says_it(folder: Path) -> None:
    parsed = parse(folder, "club,loft,swing,carry_m\nmine,,9:00,62\nMine,52,9:00,63\n,50,9:00,64\n")
    assert problems(parsed) == []
    assert parsed.new_wedges == (Wedge("mine", 52), Wedge("50", 50))
    assert [(r.shot.wedge, r.shot.loft_deg) for r in parsed.rows] == [("mine", 52), ("mine", 52), ("50", 50)]


def test_unknown_wedge_says_how_to_add_it(folder: Path) -> None:
    parsed = parse(folder, "club,swing,carry_m\nmine,9:00,62\n")
    assert problems(parsed) == [
        (
            "line 2, column 'club': 'mine' cannot be used; wanted: a wedge of the bag (SW, 60); "
            'add this one with: wedgelab bag add "mine" LOFT'
        )
    ]
    assert parsed.rows == ()


def test_old_loft_of_a_bent_wedge_is_kept_and_said(folder: Path) -> None:
    parsed = parse(folder, "club,loft,swing,carry_m\nSW,55,9:00,62\nSW,55,9:00,63\nSW,56,9:00,63\n")
    assert [row.shot.loft_deg for row in parsed.rows] == [55, 55, 56]
    assert parsed.notices == ("wedge 'SW' has loft 56 in the bag and 55 in the file; 2 shots keep the file's value",)
    assert parsed.new_wedges == ()


def test_swings_by_clock_by_degrees_and_by_name(folder: Path) -> None:
    text = (
        "club,swing,swing_deg,carry_m\nSW,9:00,,62\nSW,90 deg,,62\nSW,,90,62\nSW,100,,62\nSW,half,80,50\nSW,Half,,50\n"
    )
    parsed = parse(folder, text)
    assert problems(parsed) == []
    assert [(r.shot.swing, r.shot.swing_deg) for r in parsed.rows] == [
        ("9:00", 90), ("9:00", 90), ("9:00", 90), ("9:20", 100), ("half", 80), ("half", 80)
    ]  # fmt: skip
    assert parsed.new_swings == (SwingLength("half", 80),)


def test_unnamed_swing_becomes_a_named_one_with_the_third_row(folder: Path) -> None:
    twice = parse(folder, "club,swing,carry_m\n" + "SW,8:10,50\n" * 2)
    assert twice.new_swings == ()
    assert [(row.shot.swing, row.shot.swing_deg) for row in twice.rows] == [("8:10", 65), ("8:10", 65)]
    assert parse(folder, "club,swing,carry_m\n" + "SW,8:10,50\n" * 3).new_swings == (SwingLength("8:10", 65),)


@pytest.mark.parametrize("rows", [1, NAMED_FROM_ROWS + 1])
def test_an_angle_with_a_name_gets_no_second_one(rows: int, folder: Path) -> None:
    text = "club,swing,swing_deg,carry_m\n" + "SW,hip,60,50\n" * rows + "SW,HIP,,51\nSW,hip,60.04,51\n"
    parsed = parse(folder, text)
    assert problems(parsed) == []
    assert (parsed.new_swings, parsed.notices) == ((), ())
    said = [(row.shot.swing, row.shot.swing_deg) for row in parsed.rows]
    assert said == [("hip", 60)] * rows + [("HIP", 60), ("hip", 60.04)]
    other = parse(folder, text, bag=Bag((Wedge("SW", 56),), (SwingLength("9:00", 90),)))
    assert other.new_swings == (SwingLength("hip", 60),), "a bag without that angle learns the name"


def test_two_names_of_a_file_for_one_angle_become_one(folder: Path) -> None:
    rows = "SW,half,80,50\nSW,mid,80,50\nSW,mid,81,50\n" + "SW,8:10,65,50\n" * NAMED_FROM_ROWS + "SW,low,65,50\n"
    parsed = parse(folder, "club,swing,swing_deg,carry_m\n" + rows)
    assert parsed.new_swings == (SwingLength("half", 80), SwingLength("8:10", 65))
    assert [row.shot.swing for row in parsed.rows] == ["half", "mid", "mid", *["8:10"] * NAMED_FROM_ROWS, "low"]


def test_labels_that_cannot_be_names_stay_with_the_shots(folder: Path) -> None:
    header, bag = "shot_id,club,loft_deg,swing,swing_deg,carry_m\n", Bag((Wedge("SW", 56),))
    parsed = parse(
        folder, header + "".join(f"{new_id()},Skip,54,9:00,80,60\n" for _ in range(NAMED_FROM_ROWS)), bag=bag
    )
    assert problems(parsed) == []
    assert {(r.shot.wedge, r.shot.swing, r.shot.swing_deg) for r in parsed.rows} == {("Skip", "9:00", 80)}
    assert (parsed.new_wedges, parsed.new_swings) == ((), ())
    foreign = parse(folder, "club,loft,swing,carry_m\nSkip,54,9:00,60\n", bag=bag)
    assert problems(foreign) == [
        "line 2, column 'club': 'Skip' cannot be used; wanted: a label that is no command of the prompts"
    ]


def test_names_of_an_export_are_kept_but_no_angle_is_named_twice(folder: Path) -> None:
    made = parse(folder, "club,swing,swing_deg,carry_m\nSW,hip,60,50\nSW,half,80,50\n")
    exported = io.StringIO(newline="")
    write_shots(exported, (row.shot for row in made.rows), {})
    parsed = parse(folder, exported.getvalue())
    assert parsed.plan.own_export
    assert [(row.shot.swing, row.shot.swing_deg) for row in parsed.rows] == [("hip", 60), ("half", 80)]
    assert parsed.new_swings == (SwingLength("half", 80),)


@pytest.mark.parametrize(
    ("swing", "wanted"),
    [
        (
            "three quarter",
            (
                "one of 8:00, 9:00, 10:00, full, a clock form such as 9:00 or degrees; "
                'add this one with: wedgelab bag swing "three quarter" DEGREES'
            ),
        ),
        ("9", "9:00 or 9deg"),
        ("9.00", "9:00 or 9deg"),
        ("7.30", "7:30 or 7.3deg"),
        ("7.75", "7:45 or 7.75deg"),
        ("10.5", "10:30 or 10.5deg"),
        ("13", "13:00 or 13deg"),
        ("6", "6deg"),  # at 6:00 the arm hangs down
        ("3", "a clock form such as 9:00, or an angle from 5 to 210 deg"),
        ("25:00", "a clock time from 6:10 to 13:00, such as 9:00"),
        ("300", "an angle from 5 to 210 deg"),
    ],
)
def test_swing_that_means_nothing(swing: str, wanted: str, folder: Path) -> None:
    parsed = parse(folder, f"club,Swing length,carry_m\nSW,{swing},62\n")
    assert problems(parsed) == [f"line 2, column 'Swing length': '{swing}' cannot be used; wanted: {wanted}"]


@given(st.integers(0, 1300), st.sampled_from([".", ","]))
def test_what_a_bare_number_could_be_is_typeable(hundredths: int, sign: str) -> None:
    for number in {f"{hundredths / 100:.2f}", f"{hundredths / 100:g}"}:
        for typed in hour_or_degrees(number.replace(".", sign)).split(" or "):
            if not typed.startswith(("a clock form", "an angle")):
                assert 5 <= parse_swing_deg(typed) <= 210


def test_every_bad_cell_is_named_and_nothing_else(folder: Path) -> None:
    good = "SW,9:00,62,8000,solid,mat,stock\n"
    bad = (
        "SW,9:00,,8000,solid,mat,stock\n"  # line 3
        ",9:00,62,8000,solid,mat,stock\n"
        "SW,,62,8000,solid,mat,stock\n"
        "SW,9:00,nan,8000,solid,mat,stock\n"
        "SW,9:00,62,1_000,solid,mat,stock\n"
        "SW,9:00,62,inf,solid,mat,stock\n"
        "SW,9:00,62,99999,solid,mat,stock\n"
        "SW,9:00,62,8000,thin,mat,stock\n"
        "SW,9:00,62,8000,solid,lawn,stock\n"
        "SW,9:00,62,8000,solid,mat,knockdown\n"
        "SW,9:00,62,8000,solid,mat,stock,5\n"
        "SW,9:00,x,y,solid,mat,stock\n"
    )
    header = "Club,Swing,Carry m,Spin,Strike,Lie,Trajectory\n"
    parsed = parse(folder, header + good + bad + good * 40)
    assert problems(parsed) == [
        "line 3, column 'Carry m': the cell is empty; wanted: a carry; leave the row out if the ball was not measured",
        "line 4, column 'Club': the cell is empty; wanted: the label of a wedge, or its loft",
        "line 5, column 'Swing': the cell is empty; wanted: a swing length such as 9:00, or its angle",
        "line 6, column 'Carry m': 'nan' cannot be used; wanted: a number such as 62.5",
        "line 7, column 'Spin': '1_000' cannot be used; wanted: a number such as 62.5",
        "line 8, column 'Spin': 'inf' cannot be used; wanted: a number such as 62.5",
        "line 9, column 'Spin': '99999' cannot be used; wanted: 0 to 16000 rpm",
        "line 10, column 'Strike': 'thin' cannot be used; wanted: solid, off or nothing",
        "line 11, column 'Lie': 'lawn' cannot be used; wanted: mat, fairway, rough, sand, tight or nothing",
        "line 12, column 'Trajectory': 'knockdown' cannot be used; wanted: low, stock, high or nothing",
        (
            "line 13, column 'beyond the last header': '5' cannot be used; wanted: one cell for each of the 7 headers; "
            "put a cell with the separator in it in quotes"
        ),
        "line 14, column 'Carry m': 'x' cannot be used; wanted: a number such as 62.5",
        "line 14, column 'Spin': 'y' cannot be used; wanted: a number such as 62.5",
    ]
    assert [row.line for row in parsed.rows] == [2, *range(15, 55)]


def test_unreadable_loft_is_named_once(folder: Path) -> None:
    parsed = parse(folder, "club,loft,swing,carry_m\nnew,high,9:00,62\n")
    assert problems(parsed) == ["line 2, column 'loft': 'high' cannot be used; wanted: a number such as 62.5"]


def test_optional_cells_may_be_empty_and_rows_short(folder: Path) -> None:
    parsed = parse(folder, "club,swing,carry_m,spin,side,strike,lie,note\nSW,9:00,62,,-,,,\nSW,9:00,62\n")
    assert problems(parsed) == []
    for row in parsed.rows:
        shot = row.shot
        assert (shot.spin_rpm, shot.offline_m, shot.strike, shot.lie, shot.note) == (None, None, "", "", "")
        assert shot.trajectory == "stock"


@pytest.mark.parametrize(
    ("side", "metres"),
    [("12 R", 12), ("L3", -3), ("3 l", -3), ("right 2.5", 2.5), ("-4", -4), ("+4", 4), ("4 m L", -4)],
)
def test_side(side: str, metres: float, folder: Path) -> None:
    assert parse(folder, f"club,swing,carry_m,Side\nSW,9:00,62,{side}\n").rows[0].shot.offline_m == metres


@pytest.mark.parametrize("side", ["-3 L", "L 3 R", "3 X", "L"])
def test_side_that_contradicts_itself(side: str, folder: Path) -> None:
    parsed = parse(folder, f"club,swing,carry_m,Side\nSW,9:00,62,{side}\n")
    assert problems(parsed) == [
        f"line 2, column 'Side': '{side}' cannot be used; wanted: a number such as 3.5, -3.5 or 3.5 L"
    ]


def test_ambiguous_thousands_are_asked_for(folder: Path) -> None:
    text = 'club,swing,carry_m,altitude_m\nSW,9:00,62,"1,234"\n'
    with pytest.raises(FileProblemError) as caught:
        parse(folder, text)
    assert str(caught.value) == (
        f"{folder / 'range.csv'}: numbers such as '1,234' in the column 'altitude_m' can be read in two ways; "
        "say --map decimal=, if the comma is the decimal sign, --map decimal=. if it groups thousands"
    )
    assert parse(folder, text, {"decimal": "."}).rows[0].conditions.altitude_m == 1234
    assert parse(folder, text, {"decimal": ","}).rows[0].conditions.altitude_m == 1.234
    # another column of the file settles it
    assert parse(folder, text.replace("62,", "62.5,")).rows[0].conditions.altitude_m == 1234
    assert parse(folder, text.replace("62,", '"62,5",')).rows[0].conditions.altitude_m == 1.234


def test_spin_of_eight_and_a_half_turns_is_thousands(folder: Path) -> None:
    assert parse(folder, 'club,swing,carry_m,spin\nSW,9:00,62,"8,500"\n').rows[0].shot.spin_rpm == 8500
    assert parse(folder, "club,swing,carry_m,spin\nSW,9:00,62.5,8.500\n").rows[0].shot.spin_rpm == 8500


def test_mixed_decimal_signs_in_one_column_are_named(folder: Path) -> None:
    parsed = parse(folder, 'club,swing,carry_m\nSW,9:00,62.5\nSW,9:00,63.5\nSW,9:00,"62,5"\n')
    assert problems(parsed) == ["line 4, column 'carry_m': '62,5' cannot be used; wanted: a number such as 62.5"]


def test_carries_in_a_wrong_unit_stop_the_import(folder: Path) -> None:
    rows = "".join(f"SW,9:00,{200 + n}\n" for n in range(20))
    with pytest.raises(FileProblemError) as caught:
        parse(folder, "club,swing,Carry\n" + rows)
    assert str(caught.value) == (
        f"{folder / 'range.csv'}: 19 of 20 carries in 'Carry' lie outside 5 to 200 m when read in m, such as '201'; "
        'they may be yards: --map carry_yd="Carry"; if they are right, --odd-carries'
    )
    assert len(parse(folder, "club,swing,Carry\n" + rows, odd_carries=True).rows) == 20


def test_a_carry_column_that_holds_something_else(folder: Path) -> None:
    with pytest.raises(FileProblemError, match="check that this column is the carry and what its unit is"):
        parse(folder, "club,swing,Carry\nSW,9:00,8000\nSW,9:00,4\n")


def test_one_odd_carry_in_twenty_does_not_stop(folder: Path) -> None:
    rows = "SW,9:00,3\n" + "SW,9:00,62\n" * 19
    assert len(parse(folder, "club,swing,carry_m\n" + rows).rows) == 20
    with pytest.raises(FileProblemError, match="2 of 20 carries"):
        parse(folder, "club,swing,carry_m\nSW,9:00,3\n" + rows.removesuffix("SW,9:00,62\n"))


def test_preview_says_which_units_were_assumed(folder: Path) -> None:
    parsed = parse(folder, "club,swing,Carry,Apex (ft),Club speed\nSW,9:00,62,50,30\n")
    assert parsed.notices == (
        (
            "no unit in the header, so read as for a player who uses m: 'Carry' in m, 'Club speed' in mps; "
            "if wrong, use --map"
        ),
    )


@pytest.mark.parametrize(
    ("header", "cells", "hit_at"),
    [
        ("hit_at", "2026-05-01T10:20:30+02:00", "2026-05-01T10:20:30+02:00"),
        ("hit at", "2026-05-01 10:20:30Z", "2026-05-01 10:20:30Z"),
        ("date time", "2026-05-01 10:20", "2026-05-01T10:20:00+00:00"),
        ("Date,Time", "2026-05-01,10:20", "2026-05-01T10:20:00+00:00"),
        ("Date,Time", "1.5.2026,6:05 PM", "2026-05-01T18:05:00+00:00"),
        ("Date", "01.05.2026 10:20:30", "2026-05-01T10:20:30+00:00"),
        ("Date", "5/31/2026 10:20", "2026-05-31T10:20:00+00:00"),
        ("Date", "31/5/2026", "2026-05-31T12:00:00+00:00"),
        ("Date", "2026/05/31", "2026-05-31T12:00:00+00:00"),
        ("Date", "05/05/2026", "2026-05-05T12:00:00+00:00"),
        ("Time", "12:15 am", "2026-06-03T00:15:00+00:00"),
    ],
)
def test_times(header: str, cells: str, hit_at: str, folder: Path) -> None:
    parsed = parse(folder, f"club,swing,carry_m,{header}\nSW,9:00,62,{cells}\n")
    assert problems(parsed) == []
    assert parsed.rows[0].shot.hit_at == hit_at
    assert parsed.rows[0].has_time == (hit_at[11:16] != "12:00" and header != "Time")


def test_naive_time_takes_the_zone_of_the_import_in_summer_and_winter(folder: Path) -> None:
    text = "club,swing,carry_m,hit_at\nSW,9:00,62,2026-01-10 10:00\nSW,9:00,62,2026-07-10 10:00\n"
    parsed = parse(folder, text, imported_at=AT.astimezone(ZoneInfo("Europe/Berlin")))
    assert [row.shot.hit_at for row in parsed.rows] == ["2026-01-10T10:00:00+01:00", "2026-07-10T10:00:00+02:00"]


def test_ambiguous_dates_are_asked_for(folder: Path) -> None:
    text = "club,swing,carry_m,Date\nSW,9:00,62,03/04/2026\nSW,9:00,62,05/06/2026\n"
    with pytest.raises(FileProblemError) as caught:
        parse(folder, text)
    assert str(caught.value) == (
        f"{folder / 'range.csv'}: dates such as '03/04/2026' in the column 'Date' can be read in two ways; "
        "say --map dates=dmy (day first) or --map dates=mdy (month first)"
    )
    assert [parse(folder, text, {"dates": order}).rows[0].shot.hit_at[:10] for order in ("dmy", "mdy")] == [
        "2026-04-03",
        "2026-03-04",
    ]
    # one unmistakable date decides for the column
    assert parse(folder, text + "SW,9:00,62,25/06/2026\n").rows[0].shot.hit_at[:10] == "2026-04-03"
    with pytest.raises(FileProblemError, match="'25/06/2026' puts the day first and '06/25/2026' the month"):
        parse(folder, text + "SW,9:00,62,25/06/2026\nSW,9:00,62,06/25/2026\n")


@pytest.mark.parametrize("cell", ["yesterday", "31.06.2026", "25:00", "1899-12-30", "3.6.26", "2026-06-03 noon"])
def test_no_time(cell: str, folder: Path) -> None:
    parsed = parse(folder, f"club,swing,carry_m,hit at\nSW,9:00,62,{cell}\n")
    assert problems(parsed) == [
        f"line 2, column 'hit at': '{cell}' cannot be used; wanted: a date and time such as 2026-06-03 18:30"
    ]


def test_session_is_the_day_and_the_file(folder: Path) -> None:
    dated = parse(folder, "club,swing,carry_m,date\nSW,9:00,62,2026-05-01\nSW,9:00,62,2026-05-02\n")
    assert [row.shot.session for row in dated.rows] == ["2026-05-01 range", "2026-05-02 range"]
    undated = parse(folder, "club,swing,carry_m\nSW,9:00,62\n")
    assert (undated.rows[0].shot.session, undated.rows[0].shot.hit_at) == ("2026-06-03 range", AT.isoformat())
    given = parse(folder, "club,swing,carry_m,session\nSW,9:00,62,A\nSW,9:00,62,\n", default_session="B")
    assert [row.shot.session for row in given.rows] == ["A", "B"]


def test_another_players_rows_need_a_word(folder: Path) -> None:
    text = "player,club,swing,carry_m\nMe,SW,9:00,62\n,SW,9:00,62\nyou,SW,9:00,62\n"
    with pytest.raises(FileProblemError) as caught:
        parse(folder, text)
    assert str(caught.value) == (
        f"{folder / 'range.csv'}: line 4 is a shot of the player 'you', not of 'me'; "
        'say --player "you", or take them as yours: --as-player'
    )
    assert [row.shot.player for row in parse(folder, text, as_player=True).rows] == ["me"] * 3


def test_ids_of_others_are_no_ids(folder: Path) -> None:
    same = "8d3c2c1e-9a6e-4a43-9a55-0b9c5f0f6b11"
    parsed = parse(folder, f"shot_id,club,swing,carry_m\n1,SW,9:00,62\n{same},SW,9:00,62\n")
    assert [row.had_id for row in parsed.rows] == [False, True]
    assert parsed.rows[1].shot.shot_id == same
    assert len({row.shot.shot_id for row in parsed.rows}) == 2
    twice = parse(folder, f"shot_id,club,swing,carry_m\n{same},SW,9:00,62\n{same},SW,9:00,62\n")
    assert problems(twice) == [
        f"line 3, column 'shot_id': '{same}' cannot be used; wanted: an id that no other row has"
    ]


def test_conditions_come_along(folder: Path) -> None:
    text = "club,swing,carry_m,Temperature (F),Humidity %,wind (km/h)\nSW,9:00,62,68,40,-18\n"
    conditions = parse(folder, text).rows[0].conditions
    assert conditions.air_temp_c == pytest.approx(20.0)  # 68 F = 20 C
    assert conditions.humidity_pct == 40
    assert conditions.wind_mps == pytest.approx(-5.0)


def test_two_thousand_rows(folder: Path) -> None:
    rows = "".join(
        f"54;9:00;{50 + n % 40},{n % 10};{7000 + n % 2000};03.06.2026 10:{n % 60:02d}:07\n" for n in range(2_000)
    )
    parsed = parse(folder, "club;swing;carry (m);spin;date\n" + rows)
    assert (len(parsed.rows), parsed.problems) == (2_000, ())
