"""Lines of bars and fields of marks."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.render.sparks import ASCII_BARS, BLOCKS, Field, sparkline


@pytest.mark.parametrize(
    ("values", "drawn"),
    [
        ([0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0], "▁▁▂▃▄▅▆▇█"),
        ([4.000000000000001, 4.1], "▄▅"),
        ([-5.0, 1.0, 1.01, 99.0], "▁▁▂█"),
        ([None, 8.0, math.nan, 0.0], " █ ▁"),
        ([], ""),
    ],
)
def test_a_bar_is_an_eighth_of_the_span_a_step(values: list[float | None], drawn: str) -> None:
    assert sparkline(values, low=0.0, high=8.0) == drawn


def test_without_a_span_every_bar_is_the_least() -> None:
    assert sparkline([3.0, 3.0], low=3.0, high=3.0) == "▁▁"


@given(st.lists(st.none() | st.floats(allow_nan=True, allow_infinity=True), max_size=40))
def test_in_ascii_it_is_the_same_line_in_other_signs(values: list[float | None]) -> None:
    drawn, plain = (sparkline(values, low=-3.0, high=7.0, ascii_only=ascii_only) for ascii_only in (False, True))
    assert plain.isascii()
    assert drawn.translate(str.maketrans(BLOCKS, ASCII_BARS)) == plain
    assert len(plain) == len(values)


@given(st.floats(-10.0, 20.0), st.floats(-10.0, 20.0))
def test_a_larger_value_has_no_lower_bar(a: float, b: float) -> None:
    drawn = sparkline([min(a, b), max(a, b)], low=-3.0, high=7.0)
    assert BLOCKS.index(drawn[0]) <= BLOCKS.index(drawn[1])


def test_a_field_has_y_upwards_and_the_later_mark_on_top() -> None:
    field = Field(4, 2, (0.0, 4.0), (0.0, 2.0))
    field.upright(2.5, "|")
    field.mark(0.0, 0.0, "a")
    field.mark(3.9, 1.9, "b")
    field.mark(2.1, 0.1, "c")
    assert field.lines == ["  |b", "a c "]


@pytest.mark.parametrize("point", [(-0.1, 1.0), (4.1, 1.0), (1.0, -0.1), (1.0, 2.1)])
def test_what_lies_outside_the_field_is_not_drawn(point: tuple[float, float]) -> None:
    field = Field(4, 2, (0.0, 4.0), (0.0, 2.0))
    field.mark(*point, "x")
    assert "".join(field.lines).strip() == ""
