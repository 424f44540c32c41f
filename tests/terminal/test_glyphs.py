"""The digits of blocks: their shapes, their widths, and the small text beside them."""

import itertools
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.render.layout import display_width
from wedgelab.terminal.glyphs import (
    GLYPHS,
    PLAIN_DOT,
    ROWS,
    big,
    cut,
    fit,
    largest,
    side_by_side,
    width,
    with_words,
)

NUMBERS = st.text(alphabet="".join(GLYPHS), min_size=1, max_size=7)


def decoded(lines: Sequence[str], scale: int, dot: str) -> str:
    """Read a number back: every pattern that stands at the place is tried, a blank column parts two of them."""
    dots = [
        "".join("#" if char == dot else "." for char in line[:: 2 * scale])
        for line in lines[::scale]
        if len(line) % (2 * scale) == 0
    ]
    text, column = "", 0
    while dots and column < len(dots[0]):
        found = [
            char
            for char, pattern in GLYPHS.items()
            if tuple(row[column : column + len(pattern[0])] for row in dots) == pattern
        ]
        if len(found) != 1:
            raise AssertionError(f"{found} at column {column} of {dots}")
        text += found[0]
        column += len(GLYPHS[found[0]][0]) + 1
    return text


def test_every_glyph_is_seven_rows_of_one_width() -> None:
    assert set("0123456789-+.: ") == set(GLYPHS)
    for char, pattern in GLYPHS.items():
        assert len(pattern) == ROWS == 7, char
        assert {len(row) for row in pattern} == {2 if char in ".:" else 5}, char
        assert set("".join(pattern)) <= {"#", "."}, char


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(GLYPHS, 2)))
def test_two_glyphs_differ_by_three_dots_or_more(one: str, other: str) -> None:
    wide = max(len(GLYPHS[one][0]), len(GLYPHS[other][0]))
    rows = zip(GLYPHS[one], GLYPHS[other], strict=True)
    pairs = (pair for a, b in rows for pair in zip(a.ljust(wide, "."), b.ljust(wide, "."), strict=True))
    assert sum(a != b for a, b in pairs) >= 3


def test_digits_often_taken_for_each_other_differ_by_more() -> None:
    for one, other in ("17", "38", "56", "68", "89", "08"):
        differing = sum(
            a != b for rows in zip(GLYPHS[one], GLYPHS[other], strict=True) for a, b in zip(*rows, strict=True)
        )
        assert differing >= 5, (one, other)


def test_a_call_with_decimals_fits_into_sixty_columns_with_its_unit() -> None:
    assert width("100.5", 1) == 52
    assert width("100.5", 1) + len(" yd") <= 60


@pytest.mark.parametrize(("text", "columns"), [("8", 10), (".", 4), ("62", 22), ("1.5", 28), ("", 0)])
def test_widths_at_the_smallest_scale(text: str, columns: int) -> None:
    assert width(text, 1) == columns
    assert {len(line) for line in big(text, 1)} == {columns}


def test_a_one_as_it_is_drawn() -> None:
    assert big("1", 1, dot=PLAIN_DOT) == [
        "    ##    ",
        "  ####    ",
        "##  ##    ",
        "    ##    ",
        "    ##    ",
        "    ##    ",
        "##########",
    ]


def test_a_dot_grows_in_both_directions() -> None:
    lines = big(".", 3, dot="█")
    assert lines == [" " * 12] * 15 + ["█" * 12] * 6


@given(NUMBERS, st.integers(1, 4), st.sampled_from("█#"))
def test_every_line_is_equally_wide_and_the_number_can_be_read_back(text: str, scale: int, dot: str) -> None:
    lines = big(text, scale, dot=dot)
    assert len(lines) == ROWS * scale
    assert {len(line) for line in lines} == {width(text, scale)}
    assert decoded(lines, scale, dot) == text


@given(NUMBERS, st.integers(0, 300), st.integers(0, 80))
def test_the_largest_scale_fits_and_the_next_does_not(text: str, columns: int, rows: int) -> None:
    scale = largest(text, columns, rows)
    assert scale >= 0
    assert scale == 0 or (width(text, scale) <= columns and ROWS * scale <= rows)
    assert width(text, scale + 1) > columns or ROWS * (scale + 1) > rows


def test_a_sign_without_a_glyph_is_refused() -> None:
    with pytest.raises(KeyError):
        big("6x", 1)


@given(st.text(max_size=40), st.integers(0, 30))
def test_a_text_is_cut_to_its_columns_and_disturbs_no_terminal(text: str, columns: int) -> None:
    said = cut(text, columns)
    assert display_width(said) <= columns
    assert said.isprintable()


def test_a_cut_is_marked_and_a_wide_sign_is_not_halved() -> None:
    assert cut("approach", 8) == "approach"
    assert cut("approaches", 8) == "approac…"
    assert cut("漢字漢字", 8) == "漢字漢字"
    assert cut("漢字漢字", 6) == "漢字…"
    assert cut("up\x1b[2Jdown", 40) == "up\\x1b[2Jdown"


def test_parts_that_do_not_fit_go_from_the_end() -> None:
    assert fit(["one", "two", "three"], 15) == "one  two  three"
    assert fit(["one", "two", "three"], 14) == "one  two"
    assert fit(["one", "two"], 2) == "o…"
    assert not fit(["one", "two"], 2, least=0)


def test_words_stand_at_the_right_of_the_digits_and_are_cut() -> None:
    lines = with_words(["##", "##"], "d", [("a", "first"), ("b", ""), ("c", "third")], 6)
    assert lines == [[("d", "##"), ("", " "), ("a", "fi…")], [("d", "##")], [("c", "third")]]
    assert with_words(["####"], "d", [("a", "word")], 5) == [[("d", "####")]]


def test_two_blocks_stand_side_by_side() -> None:
    assert side_by_side([[("a", "xx")], []], [[("b", "1")], [("b", "2")]], 4) == [
        [("a", "xx"), ("", "  "), ("b", "1")],
        [("", "    "), ("b", "2")],
    ]
    assert side_by_side([[("a", "xxxxx")]], [[("b", "1")]], 4) == [[("a", "xxxxx")]]
