"""One line a ball: what each line means, what each refused line is told, and that no text does anything else."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.errors import WedgelabError
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.terminal.lines import VALUES, Entry, read_carry, read_entry, read_swing
from wedgelab.units import LengthUnit

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
MPH_MPS = 0.44704  # the same: exact
BAG = Bag(
    (Wedge("54", 54.0), Wedge("56", 56.0), Wedge("sand", 58.0), Wedge("sand wedge", 57.0), Wedge("PW", 46.0)),
    (SwingLength("7:30", 45.0), SwingLength("9:00", 90.0), SwingLength("full", 165.0), SwingLength("low", 30.0)),
)
LAST = (Wedge("PW", 46.0), SwingLength("full", 165.0))


@pytest.mark.parametrize(
    ("line", "unit", "wedge", "swing_deg", "carry_m", "columns"),
    [
        ("54 9:00 68", "yd", "54", 90.0, 68 * YARD_M, {}),
        ("54 9:00 68", "m", "54", 90.0, 68.0, {}),
        ("54 9:00 62m", "yd", "54", 90.0, 62.0, {}),
        ("54 9:00 62,5", "m", "54", 90.0, 62.5, {}),
        ("pw FULL 100", "m", "PW", 165.0, 100.0, {}),  # case does not matter
        ("54 100 68", "m", "54", 100.0, 68.0, {}),  # degrees between wedge and carry
        ("54 10:10 68", "m", "54", 125.0, 68.0, {}),  # a clock form that has no name
        ("68", "m", "PW", 165.0, 68.0, {}),  # all else as on the line before
        ("7:30 40", "m", "PW", 45.0, 40.0, {}),
        ("full 90", "m", "PW", 165.0, 90.0, {}),
        ("54 68", "m", "54", 165.0, 68.0, {}),
        ("56", "m", "PW", 165.0, 56.0, {}),  # a carry that is also a wedge's label
        ("54 56", "m", "54", 165.0, 56.0, {}),  # the second of two is the carry, whatever its number
        ("54 9:00 56", "m", "54", 90.0, 56.0, {}),
        ("68 7800", "m", "PW", 165.0, 68.0, {"spin_rpm": 7800.0}),  # far too large for a carry
        ("9:00 68 7800", "m", "PW", 90.0, 68.0, {"spin_rpm": 7800.0}),
        ("54 9:00 68 7800", "m", "54", 90.0, 68.0, {"spin_rpm": 7800.0}),
        ("54 9:00 68 7800rpm", "m", "54", 90.0, 68.0, {"spin_rpm": 7800.0}),
        ("54 9:00 68 spin=900", "m", "54", 90.0, 68.0, {"spin_rpm": 900.0}),  # a small spin has to say so
        ("54 9:00 68 spin=7800", "m", "54", 90.0, 68.0, {"spin_rpm": 7800.0}),
        ("68 high off rough", "m", "PW", 165.0, 68.0, {"trajectory": "high", "strike": "off", "lie": "rough"}),
        ("solid 54 9:00 68", "m", "54", 90.0, 68.0, {"strike": "solid"}),  # words may stand anywhere
        ("68 guess=70 total=72", "m", "PW", 165.0, 68.0, {"guess_m": 70.0, "total_m": 72.0}),
        ("68 speed=65mph launch=31", "m", "PW", 165.0, 68.0, {"ball_speed_mps": 65 * MPH_MPS, "launch_deg": 31.0}),
        ("68 speed=65", "yd", "PW", 165.0, 68 * YARD_M, {"ball_speed_mps": 65 * MPH_MPS}),
        ("68 offline=-3", "m", "PW", 165.0, 68.0, {"offline_m": -3.0}),
        ('68 note="thin, wet = short"', "m", "PW", 165.0, 68.0, {"note": "thin, wet = short"}),
        # labels that are words too: in its place a label is the club or the swing, elsewhere the word
        ("sand 9:00 68", "m", "sand", 90.0, 68.0, {}),
        ("54 9:00 68 sand", "m", "54", 90.0, 68.0, {"lie": "sand"}),
        ("54 low 20", "m", "54", 30.0, 20.0, {}),
        ("54 9:00 68 low", "m", "54", 90.0, 68.0, {"trajectory": "low"}),
        ("sand low 20 low sand", "m", "sand", 30.0, 20.0, {"trajectory": "low", "lie": "sand"}),
        ("'sand wedge' 9:00 68", "m", "sand wedge", 90.0, 68.0, {}),
    ],
)
def test_a_line_means(
    line: str, unit: LengthUnit, wedge: str, swing_deg: float, carry_m: float, columns: dict[str, Any]
) -> None:
    entry = read_entry(line, BAG, unit, LAST)
    assert entry.wedge.label == wedge
    assert entry.swing.swing_deg == pytest.approx(swing_deg, abs=1e-9)
    assert entry.carry_m == pytest.approx(carry_m, abs=1e-9)
    assert set(entry.columns) == set(columns)
    for name, value in columns.items():
        assert entry.columns[name] == (pytest.approx(value, abs=1e-9) if isinstance(value, float) else value)


NO_MORE = "; type: [WEDGE] [SWING] CARRY [SPIN]"


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("solid", "the line has no carry; type for example: 54 9:00 68"),
        ("note=x", "the line has no carry; type for example: 54 9:00 68"),
        ("54 9:00", "carry '9:00' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("54 9:00 long", "carry 'long' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("54 9:00 68C", "carry '68C' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("54 9:00 0", "carry '0' is outside 0.5 to 250 m; check the number and its unit"),
        ("54 9:00 300", "carry '300' is outside 0.5 to 250 m; check the number and its unit"),
        ("7800", "carry '7800' is outside 0.5 to 250 m; check the number and its unit"),
        ("54 9:00 68 20000", "spin '20000' (20000 rpm) is outside 0 to 16000 rpm; check the number and its unit"),
        ("54 9:00 68 70yd", "the fourth number '70yd' is no spin of 1000 rpm or more; write spin=N or guess=N"),
        ("54 9:00 1 2 3", f"the line has 5 numbers and names{NO_MORE}"),
        ("54 25:00 68", "swing '25:00' cannot be read; give a clock time from 6:10 to 13:00, such as 9:00"),
        ("54 300 68", "swing '300' (300.0 deg) is outside 5.0 to 210.0 deg; check the number and its unit"),
        (
            "54 ful 68",
            "unknown swing 'ful'; did you mean 'full'? - add it with: wedgelab bag swing ful DEGREES",
        ),
        ("55 9:00 68", "unknown wedge '55'; did you mean '54'? - add it with: wedgelab bag add 55 LOFT"),
        ("68 guess=far", "guess 'far' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("68 guess=", "guess '' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("68 total=999", "total '999' (999.0 m) is outside 0.0 to 300.0 m; check the number and its unit"),
        ("68 spinn=7800", "unknown value 'spinn'; did you mean 'spin'?"),
        ("68 7800 spin=7900", "spin is given twice; leave one out"),
        ("68 guess=70 guess=71", "guess is given twice; leave one out"),
        ("68 solid off", "strike is given twice; leave one out"),
        ("68 note=a note=b", "note is given twice; leave one out"),
        ("68 speed=60 speed=61", "ball speed is given twice; leave one out"),
        ('68 note="open', "line '68 note=\"open' cannot be read; close the quotation mark"),
        ("nan", "carry 'nan' cannot be read; give a distance such as 68, 68yd or 62m"),
        (
            "54 3/4 68",
            "unknown swing '3/4'; known: 'low', '7:30', '9:00', 'full' - add it with: wedgelab bag swing 3/4 DEGREES",
        ),
        ("54 9:00 68 nan", "the fourth number 'nan' is no spin of 1000 rpm or more; write spin=N or guess=N"),
        ("54 9:00 68 70", "the fourth number '70' is no spin of 1000 rpm or more; write spin=N or guess=N"),  # a guess?
    ],
)
def test_a_refused_line_is_told_what_is_wrong(line: str, message: str) -> None:
    with pytest.raises(WedgelabError) as caught:
        read_entry(line, BAG, "m", LAST)
    assert str(caught.value) == message


@pytest.mark.parametrize("line", ["68", "54 68", "9:00 68"])
def test_the_first_line_must_name_wedge_and_swing(line: str) -> None:
    with pytest.raises(WedgelabError) as caught:
        read_entry(line, BAG, "yd", None)
    assert str(caught.value) == "no wedge and swing to go by; name both once, for example: 54 9:00 68"


PIECES = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["54", "9:00", "full", "sand", "low", "68", "7800", "68yd", "solid", "undo", "'", "=", "note=", "?"]
    ),
    st.builds("{}={}".format, st.sampled_from([*VALUES, "note", "x"]), st.text(max_size=6)),
    st.floats().map(str),
    st.integers().map(str),
)


@given(
    line=st.one_of(st.text(), st.lists(PIECES, max_size=6).map(" ".join)),
    unit=st.sampled_from(["yd", "m"]),
    last=st.sampled_from([None, LAST]),
)
def test_any_text_is_a_ball_or_a_one_line_refusal(
    line: str, unit: LengthUnit, last: tuple[Wedge, SwingLength] | None
) -> None:
    found: Entry | WedgelabError
    try:
        found = read_entry(line, BAG, unit, last)
    except WedgelabError as error:
        found = error
    if isinstance(found, Entry):
        assert 0.5 <= found.carry_m <= 250.0
        assert found.wedge in BAG.wedges
    else:
        assert str(found).isprintable()
        assert "; " in str(found)


def test_a_swing_of_the_bag_keeps_its_name_however_it_is_written() -> None:
    assert [read_swing(text, BAG).label for text in ("9:00", "90", "90deg", "9h00", "FULL")] == [
        "9:00", "9:00", "9:00", "9:00", "full",
    ]  # fmt: skip
    unnamed = read_swing("8:10", BAG)
    assert unnamed.label == "8:10"
    assert unnamed.swing_deg == pytest.approx(65.0, abs=1e-9)


def test_a_guess_has_its_own_name_in_the_message() -> None:
    with pytest.raises(WedgelabError) as caught:
        read_carry("0.1", "m", "guess_m")
    assert str(caught.value) == "guess '0.1' is outside 0.5 to 250 m; check the number and its unit"
