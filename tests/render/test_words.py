"""The small pieces of text: rounding, signs, folding."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from wcwidth import wcswidth

from wedgelab.prediction import SpinSupport, Support
from wedgelab.render.layout import display_width, fold, left_to_right, shorten
from wedgelab.render.words import (
    boxes_line,
    carry_text,
    count_text,
    percent_text,
    range_text,
    signed_length,
    spin_text,
    target_text,
    wedge_title,
)
from wedgelab.units import LengthUnit


@pytest.mark.parametrize(("support", "sign"), [("measured", ""), ("between", "~"), ("beyond", "?")])
def test_a_carry_is_marked_where_no_ball_stands_behind_it(support: Support, sign: str) -> None:
    assert carry_text(60.5, support, "m") == f"{sign}61"  # half up
    assert carry_text(0.9144 * 68, support, "yd", 1) == f"{sign}68.0"


@pytest.mark.parametrize("support", ["between", "beyond", "none"])
def test_a_spin_without_readings_stands_in_brackets(support: SpinSupport) -> None:
    assert (spin_text(7781.0, support), spin_text(7781.0, "measured")) == ("(7800)", "7800")


@pytest.mark.parametrize(
    ("rpm", "shown"), [(0.0, "0"), (24.9, "0"), (25.0, "50"), (7774.0, "7750"), (15999.0, "16000")]
)
def test_spin_is_rounded_to_fifty(rpm: float, shown: str) -> None:
    assert spin_text(rpm, "measured") == shown


@pytest.mark.parametrize(
    ("miss_m", "unit", "shown"),
    [(1.0, "m", "+1.0"), (-1.0, "m", "-1.0"), (0.04, "m", "0.0"), (-0.04, "m", "0.0"), (0.9144, "yd", "+1.0")],
)
def test_a_miss_has_a_sign_unless_it_is_nought(miss_m: float, unit: LengthUnit, shown: str) -> None:
    assert signed_length(miss_m, unit) == shown


def test_small_words() -> None:
    assert [percent_text(x) for x in (0.0, 0.625, 1.0)] == ["0 %", "63 %", "100 %"]
    assert percent_text(0.01275, 2) == "1.28 %"
    assert [count_text(n, "ball") for n in (0, 1, 2)] == ["0 balls", "1 ball", "2 balls"]
    assert range_text(59.5, 70.4, "m") == "60-70"
    assert [wedge_title(*pair) for pair in (("54", 54.0), ("54", 54.5), ("sand", 56.0), ("54.5", 54.5))] == [
        "54", "54 (54.5)", "sand (56)", "54.5",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("length_m", "unit", "shown"),
    [(60.0, "m", "60 m"), (60.04, "m", "60 m"), (60.05, "m", "60.1 m"), (0.9144 * 62.5, "yd", "62.5 yd")],
)
def test_a_length_that_was_asked_for_has_a_tenth_only_where_it_needs_one(
    length_m: float, unit: LengthUnit, shown: str
) -> None:
    assert target_text(length_m, unit) == shown


def test_signs_that_are_boxes_are_named_and_cannot_disturb_a_terminal() -> None:
    assert boxes_line({"\u6954"}) == "a box stands for a sign that the font lacks: \u6954"
    assert boxes_line({"\u6954", "\ue000"}) == "a box stands for 2 signs that the font lacks: \u6954\\ue000"
    assert len(boxes_line({chr(0x4E00 + i) for i in range(500)})) < 80


def test_only_a_label_written_from_right_to_left_is_held_in_its_place() -> None:
    mark = "\u200e"
    for label in ("54", "sand wedge", "\u6954", ""):
        assert left_to_right(label) == label
    for label in ("\u05d7\u05d5\u05dc", "\u0639\u0631\u0628\u064a", "a \u05d0 1"):
        assert left_to_right(label) == f"{mark}{label}{mark}"


LABELS = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=40)


@given(text=LABELS, width=st.integers(2, 20))
def test_folding_leaves_nothing_out_and_fits(text: str, width: int) -> None:
    lines = fold(text, width).split("\n")
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(display_width(line) <= width for line in lines)


@pytest.mark.parametrize("text", ["54", "größe", "漢字wedge", "e\u0301tude", "ｆｕｌｌ", "°C ±1"])
def test_width_agrees_with_the_terminal_library(text: str) -> None:
    assert display_width(text) == wcswidth(text)  # wcwidth: the table that terminal programs use


def test_shortening_keeps_both_ends() -> None:
    assert shorten("54", 18) == "54"
    assert shorten("x" * 18, 18) == "x" * 18
    long = shorten("my old wedge, bent to 54 and ground twice", 18)
    assert long == "my old wedg…twice"
    assert len(long) <= 18
