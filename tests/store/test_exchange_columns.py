"""Headers and mappings: what is understood, what is refused, and what the preview says."""

import csv
import io
from collections.abc import Mapping

import pytest

from wedgelab.errors import BadRequestError, FileProblemError, UnknownNameError
from wedgelab.shots import CONDITION_COLUMNS, SHOT_COLUMNS
from wedgelab.store.columns import ColumnPlan, plan_columns, read_header
from wedgelab.store.csvfile import Table
from wedgelab.units import LengthUnit


def table(text: str, units: tuple[str, ...] = ()) -> Table:
    header, *rows = csv.reader(io.StringIO(text))
    numbered = tuple((line, tuple(cells)) for line, cells in enumerate(rows, 2))
    return Table("shots.csv", tuple(header), numbered, "utf-8", ",", "", units)


def plan(text: str, mapping: Mapping[str, str] | None = None, unit: LengthUnit = "yd") -> ColumnPlan:
    return plan_columns(table(text), mapping or {}, default_unit=unit)


@pytest.mark.parametrize(
    ("header", "meaning"),
    [
        ("Carry", ("carry_m", "")),
        ("carry distance", ("carry_m", "")),
        ("Carry (yd)", ("carry_m", "yd")),
        ("carry_m", ("carry_m", "m")),
        ("CARRY [Yards]", ("carry_m", "yards")),
        ("Carry, yd", ("carry_m", "yd")),
        ("carry / m", ("carry_m", "m")),
        ("Carry in yards", ("carry_m", "yards")),
        ("Spin", ("spin_rpm", "")),
        ("spin rate rpm", ("spin_rpm", "rpm")),
        ("Ball speed (mph)", ("ball_speed_mps", "mph")),
        ("Ball speed mph", ("ball_speed_mps", "mph")),
        ("ball speed [m/s]", ("ball_speed_mps", "m/s")),
        ("ball_speed_mps", ("ball_speed_mps", "mps")),
        ("club speed", ("club_speed_mps", "")),
        ("launch angle", ("launch_deg", "")),
        ("Launch Angle (°)", ("launch_deg", "°")),
        ("Landing angle", ("land_deg", "")),
        ("apex (ft)", ("apex_m", "ft")),
        ("offline", ("offline_m", "")),
        ("side", ("offline_m", "")),
        ("club", ("wedge", "")),
        ("Wedge", ("wedge", "")),
        ("loft", ("loft_deg", "")),
        ("swing", ("swing", "")),
        ("Swing-length", ("swing", "")),
        ("Swing (deg)", ("swing_deg", "deg")),
        ("hit at", ("hit_at", "")),
        ("Date", ("hit_date", "")),
        ("TIME", ("hit_time", "")),
        ("Temperature (F)", ("air_temp_c", "f")),
        ("air_temp_c", ("air_temp_c", "c")),
        ("Pressure inHg", ("station_pressure_hpa", "inhg")),
        ("target", ("target_m", "")),
        ("guess", ("guess_m", "")),
        ("session", ("session", "")),
        ("Note", ("note", "")),
        ("Shot no", None),
        ("Carry flat (adjusted)", None),
        ("carry mph", None),
        ("", None),
    ],
)
def test_header(header: str, meaning: tuple[str, str] | None) -> None:
    assert read_header(header) == meaning


@pytest.mark.parametrize("name", [*SHOT_COLUMNS, *CONDITION_COLUMNS])
def test_every_canonical_name_means_itself(name: str) -> None:
    meaning = read_header(name)
    assert meaning is not None
    assert meaning[0] == name


def test_unit_of_another_quantity_is_refused() -> None:
    with pytest.raises(BadRequestError) as caught:
        plan("club,swing,Carry (mph)\n54,9:00,70\n")
    assert str(caught.value) == (
        "the header 'Carry (mph)' gives a unit that does not fit its quantity; "
        "correct the header or map the column with its true unit"
    )


def test_assumed_units_are_marked() -> None:
    got = plan("club,swing,Carry,Ball speed,Side (ft),Spin,Strange\n54,9:00,70,55,2,8000,x\n")
    assert [(c.name, c.unit, c.unit_was_assumed) for c in got.columns] == [
        ("wedge", "", False),
        ("swing", "", False),
        ("carry_m", "yd", True),
        ("ball_speed_mps", "mph", True),
        ("offline_m", "ft", False),
        ("spin_rpm", "rpm", False),
    ]
    assert got.ignored == ("Strange",)
    assert str(got.columns[2]) == "'Carry' is carry_m, given in yd (assumed: the header names no unit)"


def test_units_in_every_cell_are_no_assumption() -> None:
    assert not plan("club,swing,Carry\n54,9:00,70 m\n54,9:00,71 yd\n").columns[2].unit_was_assumed
    assert plan("club,swing,Carry\n54,9:00,70 m\n54,9:00,71\n").columns[2].unit_was_assumed


def test_temperature_without_unit_is_left_out_and_said() -> None:
    got = plan("club,swing,carry_m,Temp\n54,9:00,70,45\n")
    assert got.ignored == ("Temp",)
    assert got.notices == (
        "column 'Temp' is left out because it names no unit; give it one with --map air_temp_c=\"Temp\" or air_temp_f",
    )
    mapped = plan("club,swing,carry_m,Temp\n54,9:00,70,45\n", {"air_temp_f": "Temp"})
    assert (mapped.columns[3].name, mapped.columns[3].unit) == ("air_temp_c", "f")


def test_missing_carry() -> None:
    with pytest.raises(FileProblemError) as caught:
        plan("club,swing,Weite\n54,9:00,70\n")
    assert str(caught.value) == (
        "shots.csv: no column for the carry among 'club', 'swing', 'Weite'; say which it is: --map carry_yd=\"HEADER\""
    )


@pytest.mark.parametrize(
    ("text", "missing"),
    [("carry,swing\n1,2\n", "wedge or loft"), ("carry,club\n1,2\n", "swing length"), ("60\n70\n", "carry")],
)
def test_missing_club_or_swing(text: str, missing: str) -> None:
    with pytest.raises(FileProblemError, match=f"no column for the {missing} among"):
        plan(text)


def test_duplicate_headers_are_named_unless_mapped() -> None:
    text = "club,swing,Carry,Carry\n54,9:00,70,64\n"
    with pytest.raises(FileProblemError) as caught:
        plan(text)
    assert str(caught.value) == (
        "shots.csv: columns 'Carry#1' and 'Carry#2' both mean carry_m; choose with --map carry=\"Carry#1\""
    )
    chosen = plan(text, {"carry_m": "Carry#2"})
    assert [(c.index, c.unit) for c in chosen.columns if c.name == "carry_m"] == [(3, "m")]
    with pytest.raises(BadRequestError, match="the file has 2 columns named 'Carry'; say which one, as in 'Carry#2'"):
        plan(text, {"carry_m": "Carry"})


def test_two_spellings_of_one_quantity() -> None:
    text = "club,swing,Carry (yd),carry_m\n54,9:00,70,64\n"
    with pytest.raises(FileProblemError, match=r"columns 'Carry \(yd\)' and 'carry_m' both mean carry_m"):
        plan(text)
    chosen = plan(text, {"carry": "Carry (yd)"})
    assert [c.unit for c in chosen.columns if c.name == "carry_m"] == ["yd"]
    assert chosen.ignored == ("carry_m",)


def test_columns_that_are_copies_do_no_harm() -> None:
    assert len(plan("club,swing,Carry,Carry\n54,9:00,70,70\n").columns) == 3
    assert len(plan("club,swing,Carry,x,x\n54,9:00,70,1,2\n").columns) == 3


def test_mapping_errors() -> None:
    text = "club,swing,Carry\n54,9:00,70\n"
    with pytest.raises(UnknownNameError, match="unknown column 'Cary'; did you mean 'Carry'"):
        plan(text, {"carry_yd": "Cary"})
    with pytest.raises(UnknownNameError, match="unknown quantity in a mapping 'cary_m'; did you mean 'carry_m'"):
        plan(text, {"cary_m": "Carry"})
    with pytest.raises(BadRequestError, match="carry_m is mapped twice; keep one of the two"):
        plan(text, {"carry_m": "Carry", "carry_yd": "club"})
    with pytest.raises(BadRequestError, match="the column 'Carry' is mapped twice; keep one of the two"):
        plan(text, {"carry_m": "Carry", "total_m": "Carry"})
    with pytest.raises(
        BadRequestError, match=r"the mapping decimal=';' is not understood; give decimal=\. or decimal=,"
    ):
        plan(text, {"decimal": ";"})


def test_column_can_be_ignored_although_its_header_means_something() -> None:
    text = "club,swing,carry_m,Time,Height\n54,9:00,70,4.2,1.80\n"
    got = plan(text, {"ignore": "Time", "ignore2": "Height"})
    assert [column.name for column in got.columns] == ["wedge", "swing", "carry_m"]
    assert got.ignored == ("Time", "Height")
    with pytest.raises(UnknownNameError, match="unknown column 'Tim'; did you mean 'Time'"):
        plan(text, {"ignore": "Tim"})


def test_units_row_is_held_against_the_header() -> None:
    def planned(units: tuple[str, ...]) -> ColumnPlan:
        return plan_columns(table("club,swing,Carry (yd)\n54,9:00,70\n", units), {}, default_unit="yd")

    assert planned(("", "", "yd")).columns[2].unit == "yd"
    with pytest.raises(FileProblemError, match=r"'Carry \(yd\)' is in yd, but the units row says 'm'; correct one"):
        planned(("", "", "m"))
    with pytest.raises(FileProblemError, match=r"the units row says 'mph' for the column 'Carry \(yd\)'; correct"):
        planned(("", "", "mph"))


def test_altitude_of_a_player_of_yards_is_in_feet() -> None:
    got = plan("club,swing,carry_m,Altitude\n54,9:00,70,300\n")
    assert [(c.unit, c.unit_was_assumed) for c in got.columns if c.name == "altitude_m"] == [("ft", True)]
