"""A line of distances as text: every mark, bar and number at its column, and nothing wider than it may be."""

import itertools
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wedgelab.render.layout import display_width
from wedgelab.render.strips import (
    ASCII_SIGNS,
    SIGNS,
    Mark,
    Row,
    Scale,
    distance_strip,
    scale_lines,
    signs_shown,
    strip_row,
)
from wedgelab.units import LengthUnit

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
METRES = Scale(40.0, 100.0, 61)  # a column a metre
FEW = settings(max_examples=60, deadline=None)


def test_a_distance_has_the_column_nearest_to_it_and_ends_hold_what_lies_beyond() -> None:
    assert [METRES.column(at) for at in (40.0, 40.4, 40.6, 70.0, 100.0)] == [0, 0, 1, 30, 60]
    assert [METRES.column(at) for at in (10.0, 400.0)] == [0, 60]
    assert [*METRES.span(50.0, 53.2)] == [10, 11, 12, 13]
    assert [*METRES.span(50.1, 50.2)] == [10]  # narrower than a column: one all the same
    assert Scale(50.0, 50.0, 40).column(50.0) == 0


def test_marks_stand_at_their_columns_over_their_ranges() -> None:
    drawn = strip_row(Row("54", (Mark(50.0, 46.0, 54.0), Mark(60.0, 52.0, 68.0, is_hollow=True))), METRES)
    assert len(drawn) == 61
    assert {i for i, sign in enumerate(drawn) if sign == SIGNS.mark} == {10}
    assert {i for i, sign in enumerate(drawn) if sign == SIGNS.hollow} == {20}
    assert {i for i, sign in enumerate(drawn) if sign == SIGNS.double} == {12, 13, 14}
    assert {i for i, sign in enumerate(drawn) if sign == SIGNS.bar} == {*range(6, 12), *range(15, 29)} - {10, 20}
    assert strip_row(Row("", (Mark(70.0),)), METRES).strip() == SIGNS.mark


def test_of_two_marks_in_one_column_the_measured_one_is_seen() -> None:
    for marks in ((Mark(50.0), Mark(50.1, is_hollow=True)), (Mark(50.1, is_hollow=True), Mark(50.0))):
        assert strip_row(Row("54", marks), METRES)[10] == SIGNS.mark


def test_shaded_spans_fill_their_columns() -> None:
    drawn = strip_row(Row("no answer", shaded_m=((50.0, 52.0), (90.3, 90.4))), METRES)
    assert {i for i, sign in enumerate(drawn) if sign == SIGNS.shade} == {10, 11, 12, 50}


@pytest.mark.parametrize(("unit", "size"), [("m", 1.0), ("yd", YARD_M)])
def test_every_number_of_the_scale_has_its_tick_at_its_column(unit: LengthUnit, size: float) -> None:
    scale = Scale(31.0, 105.0, 70)
    numbers, ticks = scale_lines(scale, unit)
    columns = [match.start() for match in re.finditer("│", ticks)]
    found = [(match.group(), match.start(), match.end()) for match in re.finditer(r"\d+", numbers)]
    assert len(found) == len(columns) >= 4
    for (text, start, end), column in zip(found, columns, strict=True):
        assert column == scale.column(float(text) * size)
        assert start <= column < end
    values = [float(text) for text, _, _ in found]
    assert len({round(b - a, 6) for a, b in itertools.pairwise(values)}) == 1


def test_without_signs_beyond_ascii_the_picture_is_the_same() -> None:
    rows = [Row("54", (Mark(50.0, 46.0, 54.0), Mark(60.0, 52.0, 68.0, is_hollow=True)), ((80.0, 85.0),))]
    signs, plain = (distance_strip(rows, 40.0, 100.0, "m", ascii_only=only) for only in (False, True))
    assert "".join(plain).isascii()
    names = SIGNS.__dataclass_fields__
    same = str.maketrans("".join(getattr(SIGNS, n) for n in names), "".join(getattr(ASCII_SIGNS, n) for n in names))
    assert [line.translate(same) for line in signs] == plain
    assert len({getattr(ASCII_SIGNS, name) for name in names}) == len(names)  # no sign is used for two things


def test_a_legend_is_told_which_signs_are_there() -> None:
    rows = [Row("o - x", (Mark(50.0, 46.0, 54.0),))]  # a label is no sign
    assert signs_shown(rows, 40.0, 100.0, ascii_only=True) == {"*", "-"}
    rows = [*rows, Row("54", (Mark(60.0, is_hollow=True),), ((70.0, 71.0),))]
    assert signs_shown(rows, 40.0, 100.0) == {"●", "─", "○", "░"}


LABELS = st.sampled_from(["46", "no answer", "a wedge label of as many signs as it may", "楔" * 40, "=cmd() (54)", ""])
SPANS = st.tuples(st.floats(1.0, 200.0), st.floats(0.0, 150.0))


@FEW
@given(
    st.lists(st.tuples(LABELS, st.lists(st.tuples(SPANS, st.booleans()), max_size=5)), min_size=1, max_size=6),
    SPANS,
    st.sampled_from([40, 60, 80]),
)
def test_whatever_is_drawn_fits_and_every_mark_is_there(
    rows: list[tuple[str, list[tuple[tuple[float, float], bool]]]], span: tuple[float, float], width: int
) -> None:
    low, high = span[0], span[0] + span[1]
    drawn = [
        Row(label, tuple(Mark(at, at - wide / 9.0, at + wide / 9.0, hollow) for (at, wide), hollow in marks))
        for label, marks in rows
    ]
    lines = distance_strip(drawn, low, high, "yd", width=width)
    assert max(display_width(line) for line in lines) <= width
    if all(len(label) < 10 and label.isascii() for label, _ in rows):
        left = max(len(label) for label, _ in rows) + 1
        scale = Scale(low, high, width - left)
        for row, line in zip(drawn, lines[2:], strict=True):
            for mark in row.marks:
                assert line[left + scale.column(mark.at_m)] in {SIGNS.mark, SIGNS.hollow}
