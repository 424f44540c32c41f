"""DataFrames in and out."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from wedgelab.errors import BadRequestError, FileProblemError
from wedgelab.frames import UNKNOWN_TIME, frame_to_shots, read_shots, shots_to_frame
from wedgelab.shots import LIMITS, SHOT_COLUMNS, Shot

SHOT = Shot(
    shot_id="8d3c2c1e-9a6e-4a43-9a55-0b9c5f0f6b11",
    player="me",
    session="s",
    hit_at="2026-06-03T18:30:00+02:00",
    wedge="mine",
    loft_deg=54,
    swing="half",
    swing_deg=90,
    carry_m=62.5,
    spin_rpm=8500,
    call_no=3,
    advice_shown=True,
    note="a",
)


def write(folder: Path, text: str) -> Path:
    path = folder / "shots.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_read_shots_gives_canonical_columns_in_si(tmp_path: Path) -> None:
    df = read_shots(write(tmp_path, "Club,Swing,Carry,Spin\n54,9:00,100,8000\n60,full,70,\n"))
    assert tuple(df.columns) == SHOT_COLUMNS
    assert df["carry_m"].tolist() == pytest.approx([91.44, 64.008])  # 1 yd = 0.9144 m, NIST SP 811
    assert df["loft_deg"].tolist() == [54.0, 60.0]
    assert df["swing_deg"].tolist() == [90.0, 165.0]
    assert df["spin_rpm"].isna().tolist() == [False, True]
    assert all(df[name].dtype == "float64" for name in SHOT_COLUMNS if name in LIMITS)
    assert set(df["player"]) == {"me"}


def test_read_shots_in_metres_and_mapped(tmp_path: Path) -> None:
    path = write(tmp_path, "Stock;Bogen;Weite\n54;9:00;62,5\n")
    mapping = {"wedge": "Stock", "swing": "Bogen", "carry": "Weite"}
    assert read_shots(path, mapping=mapping, units="m", player="anna")["carry_m"].tolist() == [62.5]
    assert read_shots(str(path), mapping=mapping, units="m", player="anna")["player"].tolist() == ["anna"]


def test_read_shots_names_the_first_problem_and_the_count(tmp_path: Path) -> None:
    path = write(tmp_path, "Club,Swing,Carry m\n54,9:00,x\n54,9:00,62\n54,9:00,y\n")
    with pytest.raises(FileProblemError) as caught:
        read_shots(path)
    assert str(caught.value) == (
        f"{path}: line 2, column 'Carry m': 'x' cannot be used; wanted: a number such as 62.5; 2 problems in all"
    ).replace("used; wanted", "used, wanted")


def test_read_shots_takes_the_player_of_the_file_but_not_two(tmp_path: Path) -> None:
    path = write(tmp_path, "player,club,swing,carry_m\nanna,54,9:00,62\n,54,9:00,62\n")
    assert set(read_shots(path)["player"]) == {"anna"}
    with pytest.raises(
        FileProblemError, match="it holds shots of 2 players, 'anna' and 'ben' among them; split it by player"
    ):
        read_shots(write(tmp_path, "player,club,swing,carry_m\nanna,54,9:00,62\nben,54,9:00,62\n"))


def test_shots_survive_the_frame() -> None:
    shots = [
        SHOT,
        SHOT.replace(shot_id="8d3c2c1e-9a6e-4a43-9a55-0b9c5f0f6b12", spin_rpm=None, call_no=None, advice_shown=None),
    ]
    assert frame_to_shots(shots_to_frame(shots)) == shots
    assert frame_to_shots(pd.concat([shots_to_frame(shots)] * 2)) == shots * 2


def test_no_shots_is_an_empty_frame_with_all_columns() -> None:
    df = shots_to_frame([])
    assert (len(df), tuple(df.columns)) == (0, SHOT_COLUMNS)
    assert frame_to_shots(df) == []


def test_three_columns_are_enough() -> None:
    df = pd.DataFrame({"loft_deg": [54, 54.5], "swing_deg": [90, 135], "carry_m": [62, 70], "unknown": ["x", "y"]})
    shots = frame_to_shots(df, player="anna")
    assert [(s.wedge, s.swing, s.session, s.hit_at, s.player) for s in shots] == [
        ("54", "9:00", "1", UNKNOWN_TIME, "anna"),
        ("54.5", "10:30", "1", UNKNOWN_TIME, "anna"),
    ]
    assert len({shot.shot_id for shot in shots}) == 2
    assert shots[0].spin_rpm is None


@pytest.mark.parametrize("nothing", [None, np.nan, pd.NA, ""])
def test_missing_cells_are_none_or_the_default(nothing: object) -> None:
    df = pd.DataFrame({"loft_deg": [54.0], "swing_deg": [90.0], "carry_m": [62.0]})
    for name in ("wedge", "lie", "trajectory", "note"):
        df[name] = pd.Series([nothing], dtype=object)
    df["spin_rpm"] = pd.Series([None if nothing == "" else nothing], dtype=object) if nothing is not pd.NA else pd.NA
    (shot,) = frame_to_shots(df)
    assert (shot.wedge, shot.lie, shot.trajectory, shot.note, shot.spin_rpm) == ("54", "", "stock", "", None)


@pytest.mark.parametrize(
    ("column", "value", "message"),
    [
        ("carry_m", 900.0, "row b: carry 900.0 m is outside 0.5 to 250.0 m, check the number and its unit"),
        ("carry_m", np.nan, "row b: carry_m '' cannot be read, every row needs it"),
        ("carry_m", np.inf, "row b: carry inf m is outside 0.5 to 250.0 m, check the number and its unit"),
        ("spin_rpm", "fast", "row b: spin_rpm 'fast' cannot be read, give a number"),
        ("call_no", 1.5, "row b: call_no '1.5' cannot be read, give a whole number"),
        ("lie", "xyz", "row b: unknown lie 'xyz', known: 'mat', 'fairway', 'rough', 'sand', 'tight'"),
        ("advice_shown", "no", "row b: advice_shown 'no' cannot be read, give True, False or nothing"),
    ],
)
def test_bad_value_names_the_row(column: str, value: object, message: str) -> None:
    df = pd.DataFrame({"loft_deg": [54.0] * 2, "swing_deg": [90.0] * 2, "carry_m": [62.0] * 2}, index=["a", "b"])
    good = {"carry_m": 62.0, "spin_rpm": 8000.0, "call_no": 1.0, "lie": "mat", "advice_shown": True}[column]
    df[column] = pd.Series([good, value], index=df.index, dtype=object)
    with pytest.raises(BadRequestError) as caught:
        frame_to_shots(df)
    assert str(caught.value) == f"{message}; correct it or drop the row"


def test_missing_column_and_doubled_column() -> None:
    with pytest.raises(BadRequestError) as caught:
        frame_to_shots(pd.DataFrame({"loft_deg": [54], "carry": [60]}))
    assert str(caught.value) == (
        "the frame has no column swing_deg, carry_m (it has: loft_deg, carry); "
        "the names and units are those of docs/names.md"
    )
    df = pd.DataFrame([[54, 90, 62, 63]], columns=["loft_deg", "swing_deg", "carry_m", "carry_m"])
    with pytest.raises(BadRequestError, match="the frame has the column 'carry_m' twice; drop one of the two"):
        frame_to_shots(df)


def test_importing_the_module_loads_no_pandas() -> None:
    code = "import sys, wedgelab.frames; print([m for m in ('pandas', 'numpy', 'clevercsv') if m in sys.modules])"
    printed = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert printed.strip() == "[]"
