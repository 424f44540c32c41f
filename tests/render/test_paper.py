"""Paper: sizes to the hundredth of a millimetre, text that is where it is said to be, files that are whole."""

import warnings
from pathlib import Path

import pytest

from tests.render.papers import fonts, letter_sizes, media_mm, words_of
from wedgelab.errors import FileProblemError
from wedgelab.render.paper import (
    INCH_MM,
    PAPER_MM,
    PT_MM,
    Box,
    Page,
    PaperSize,
    fit_mm,
    fold_mm,
    line_mm,
    save_pages,
    width_mm,
)
from wedgelab.render.paper_table import Column, PaperTable


def test_sizes_are_those_of_the_standards() -> None:
    # ISO/IEC 7810 (ID-1), ISO 216 (A4), ANSI/ASME Y14.1 (letter: 8.5 x 11 in), 4.25 x 7 in for a pocket
    assert PAPER_MM["credit"] == (85.60, 53.98)
    assert PAPER_MM["a4"] == (210.0, 297.0)
    assert PAPER_MM["letter"] == pytest.approx((215.9, 279.4))
    assert PAPER_MM["pocket"] == pytest.approx((107.95, 177.8))
    assert pytest.approx(25.4) == INCH_MM
    assert pytest.approx(25.4 / 72) == PT_MM


@pytest.mark.parametrize("size", PAPER_MM)
def test_the_file_has_pages_of_exactly_that_size(size: PaperSize, tmp_path: Path) -> None:
    pages = [Page(PAPER_MM[size]), Page(PAPER_MM[size])]
    for page in pages:
        page.area().write(5.0, 5.0, "words", pt=8.0)
    save_pages(pages, tmp_path / "x.pdf", "title")
    assert media_mm(tmp_path / "x.pdf") == [pytest.approx(PAPER_MM[size], abs=1e-4)] * 2


def test_text_stands_where_it_is_put_in_the_size_that_is_said(tmp_path: Path) -> None:
    page = Page((100.0, 50.0))
    page.figure.set_dpi(1200)
    area = page.area(10.0, 20.0)
    foot = area.write(0.0, 0.0, "Hxg", pt=20.0)
    area.write(80.0, foot, "Hxg", pt=20.0, align="right", bold=True)
    (_, left), (_, right) = page.extents()
    assert foot == pytest.approx(1.2 * 20.0 * 25.4 / 72.0)
    assert left.left == pytest.approx(10.0, abs=0.7)  # the letter's own side bearing
    assert right.right == pytest.approx(90.0, abs=0.7)
    assert 20.0 <= left.top < left.bottom <= 20.0 + foot
    assert 20.0 + foot <= right.top < right.bottom <= 20.0 + 2 * foot
    assert left.right - left.left == pytest.approx(width_mm("Hxg", 20.0), rel=0.02)
    assert right.right - right.left == pytest.approx(width_mm("Hxg", 20.0, bold=True), rel=0.02)
    save_pages([page], tmp_path / "x.pdf", "t")
    assert letter_sizes(tmp_path / "x.pdf") == {20.0}


def test_fonts_are_embedded_and_signs_beyond_latin_can_be_copied(tmp_path: Path) -> None:
    page = Page((100.0, 50.0))
    for i, words in enumerate(("~77 ±1.2 … ·", "$x_2$ <script>", "Łódź Ωμέγα")):
        page.area().write(5.0, 5.0 + 10.0 * i, words, pt=9.0, bold=i == 1)
    save_pages([page], tmp_path / "x.pdf", "t")
    found = fonts(tmp_path / "x.pdf")
    assert found
    assert all(is_embedded for _, is_embedded in found)
    assert words_of(tmp_path / "x.pdf") == "~77 ±1.2 … · $x_2$ <script> Łódź Ωμέγα"


def test_a_sign_that_the_font_lacks_disturbs_nobody(tmp_path: Path) -> None:
    page = Page((100.0, 50.0))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert width_mm("楔 🙂", 9.0) > 0
        page.area().write(5.0, 5.0, "楔 🙂", pt=9.0)
        save_pages([page], tmp_path / "x.pdf", "t")
    assert (tmp_path / "x.pdf").stat().st_size > 1000


def test_the_same_pages_are_the_same_bytes_and_name_no_moment(tmp_path: Path) -> None:
    for name in ("one.pdf", "two.pdf"):
        page = Page(PAPER_MM["credit"])
        page.area().write(5.0, 5.0, "same", pt=9.0)
        save_pages([page], tmp_path / name, "Card of Ada")
    data = (tmp_path / "one.pdf").read_bytes()
    assert data == (tmp_path / "two.pdf").read_bytes()
    assert b"CreationDate" not in data


def test_a_text_is_folded_by_its_width_and_whole() -> None:
    words = "some words and averyveryverylongwordthatmustbebroken and more"
    lines = fold_mm(words, 20.0, 8.0)
    assert all(width_mm(line, 8.0) <= 20.0 for line in lines)
    assert "".join(lines).replace(" ", "") == words.replace(" ", "")
    assert fold_mm("two words", 100.0, 8.0) == ["two words"]


def test_a_name_takes_the_largest_letters_that_fit_and_then_loses_its_middle() -> None:
    assert fit_mm("Ada", 40.0, sizes=(12.0, 9.0, 7.0)) == (12.0, ["Ada"])
    pt, lines = fit_mm("Ada of the long name", 40.0, sizes=(12.0, 9.0, 7.0))
    assert (pt, lines) == (9.0, ["Ada of the long name"])
    pt, lines = fit_mm("A" * 199 + "Z", 40.0, sizes=(12.0, 7.0), lines=2)
    assert pt == 7.0
    assert len(lines) == 2
    assert all(width_mm(line, 7.0) <= 40.0 for line in lines)
    assert "…" in "".join(lines)
    assert lines[-1].endswith("Z")
    # as long as it can be: one letter more would not fit
    longer = "A" * (len("".join(lines)) + 3)
    assert len(fold_mm(longer, 40.0, 7.0)) > 2


def test_a_mark_that_turns_the_writing_is_written_out() -> None:
    assert fit_mm("a\u202eb", 40.0, sizes=(9.0,))[1] == ["a\\u202eb"]


def test_boxes() -> None:
    box = Box(0.0, 0.0, 10.0, 5.0)
    assert box.overlaps(Box(9.0, 4.0, 12.0, 9.0))
    assert not box.overlaps(Box(9.0, 4.0, 12.0, 9.0), 1.5)
    assert not box.overlaps(Box(10.0, 0.0, 12.0, 5.0))
    assert Box(1.0, 1.0, 10.0, 5.0).inside(box)
    assert not Box(1.0, 1.0, 10.1, 5.0).inside(box)


def test_numbers_along_an_axis_that_are_not_drawn_are_not_counted() -> None:
    page = Page((100.0, 60.0))
    ax = page.area().axes(20.0, 10.0, (60.0, 30.0))
    ax.set_xticks([-1.0, 0.5, 2.0], ["under", "in", "over"])
    ax.set_xlim(0.0, 1.0)  # as a drill's picture has it: ticks that lie beyond are made and not drawn
    ax.set_yticks([])
    assert [text for text, _ in page.extents()] == ["in"]
    frame = ax.get_position()
    assert (frame.x0 * 100.0, (1.0 - frame.y1) * 60.0) == pytest.approx((20.0, 10.0))
    assert (frame.width * 100.0, frame.height * 60.0) == pytest.approx((60.0, 30.0))


@pytest.mark.parametrize("place", ["folder", "gone/x.pdf"])
def test_a_place_that_cannot_be_written_is_one_line_and_leaves_nothing(place: str, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    page = Page((100.0, 50.0))
    page.area().write(5.0, 5.0, "words", pt=9.0)
    with pytest.raises(FileProblemError, match=r"cannot be written \(.+\); choose another place"):
        save_pages([page], tmp_path / place, "t")
    assert [path.name for path in tmp_path.rglob("*")] == ["folder"]


TABLE = PaperTable(
    (Column("wedge", "left", 14.0), Column("balls"), Column("carry")),
    (("54", "3", "62"), ("", "12", "~104"), ("a label of many words", "1", "5")),
)


def test_columns_of_a_table_stand_in_line_and_labels_are_folded() -> None:
    page = Page((90.0, 60.0))
    page.figure.set_dpi(600)
    foot = TABLE.draw(page.area(5.0, 5.0, (60.0, 40.0)))
    assert foot == pytest.approx(TABLE.height_mm())
    boxes = dict(page.extents())
    assert boxes["62"].right == pytest.approx(boxes["~104"].right, abs=0.2)
    assert boxes["carry"].right == pytest.approx(boxes["5"].right, abs=0.2)
    assert boxes["54"].left == pytest.approx(boxes["wedge"].left, abs=0.4)
    assert boxes["words"].top > boxes["a label of"].top
    assert boxes["62"].top < boxes["~104"].top < boxes["5"].top
    assert max(box.bottom for box in boxes.values()) <= 5.0 + foot
    assert TABLE.height_mm() > line_mm(TABLE.pt, 5)


def test_a_table_is_split_under_the_same_headers() -> None:
    pieces = TABLE.split(TABLE.height_mm() - 0.5, TABLE.height_mm())
    assert [len(piece.rows) for piece in pieces] == [2, 1]
    assert all(piece.columns == TABLE.columns for piece in pieces)
    assert PaperTable(TABLE.columns, ()).split(50.0, 50.0) == [PaperTable(TABLE.columns, ())]
