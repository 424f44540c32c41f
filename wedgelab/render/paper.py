"""Paper: sheets of an exact size on which text and lines are placed in millimetres from the top left corner."""

import functools
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from wedgelab.errors import printable
from wedgelab.render.figure import quiet_glyphs
from wedgelab.render.files import replace_file
from wedgelab.render.layout import shorten
from wedgelab.units import INCH_M

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text

PaperSize = Literal["pocket", "credit", "a4", "letter"]
Align = Literal["left", "center", "right"]
INCH_MM: Final = 1000.0 * INCH_M
PT_MM: Final = INCH_MM / 72.0  # a point of typesetting as PDF has it: 1/72 inch (ISO 32000-1, 8.3.2.3)

# pocket: 4.25 x 7 in, the pocket size of Rules of Golf, clarification 4.3a/1, from memory;
# credit: ID-1 of ISO/IEC 7810, 85.60 x 53.98 mm; A4: ISO 216; letter: 8.5 x 11 in
PAPER_MM: Final[dict[PaperSize, tuple[float, float]]] = {
    "pocket": (4.25 * INCH_MM, 7.0 * INCH_MM),
    "credit": (85.60, 53.98),
    "a4": (210.0, 297.0),
    "letter": (8.5 * INCH_MM, 11.0 * INCH_MM),
}
LEAST_PT: Final = 7.0  # smaller is not read on a golf course
LEADING: Final = 1.2  # from line to line, in sizes of the letters
ASCENT: Final = 0.93  # from the top of a line to the foot of its letters, in sizes of the letters
INK: Final = "black"
QUIET: Final = "#444444"  # for what stands beside the numbers: 9.7 to 1 against white
HAIR: Final = "#9A9A9A"  # for lines that only guide the eye
FAINT: Final = "#C4C4C4"  # within a table
_FONT: Final = "DejaVu Sans"  # comes with matplotlib, so that every machine measures the same


def line_mm(pt: float, lines: int = 1) -> float:
    """Return the height [mm] that so many lines of that size take."""
    return lines * LEADING * pt * PT_MM


@functools.lru_cache(maxsize=4096)
def width_mm(words: str, pt: float, *, bold: bool = False) -> float:
    """Return how wide [mm] a text is in letters of that size."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family=_FONT, weight="bold" if bold else "normal", size=pt)
    with quiet_glyphs():
        width, _, _ = text_to_path.get_text_width_height_descent(words, font, False)
    return float(width) * PT_MM


def fold_mm(words: str, most_mm: float, pt: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines no wider than that, between words where it can; nothing is left out."""
    lines = [""]
    for word in words.split():
        joined = f"{lines[-1]} {word}".strip()
        if width_mm(joined, pt, bold=bold) <= most_mm:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        for sign in word:
            if lines[-1] and width_mm(lines[-1] + sign, pt, bold=bold) > most_mm:
                lines.append("")
            lines[-1] += sign
    return lines


def fit_mm(
    words: str, most_mm: float, *, sizes: Sequence[float], lines: int = 1, bold: bool = False
) -> tuple[float, list[str]]:
    """Return the largest of the sizes in which a text fits into so many lines, and these lines.

    What is too long in the smallest size loses its middle.
    """
    whole = printable(words)
    for pt in sizes:
        folded = fold_mm(whole, most_mm, pt, bold=bold)
        if len(folded) <= lines:
            return pt, folded
    pt, fits, too_long = sizes[-1], lines, len(whole)
    while too_long - fits > 1:
        middle = (fits + too_long) // 2
        if len(fold_mm(shorten(whole, middle), most_mm, pt, bold=bold)) <= lines:
            fits = middle
        else:
            too_long = middle
    return pt, fold_mm(shorten(whole, fits), most_mm, pt, bold=bold)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on a page [mm], from its top left corner to its bottom right one."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: "Box", slack_mm: float = 0.0) -> bool:
        """Tell whether two boxes share more than a strip as wide as the slack."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > slack_mm
            and min(self.bottom, other.bottom) - max(self.top, other.top) > slack_mm
        )

    def inside(self, other: "Box") -> bool:
        """Tell whether the other box holds this one whole."""
        return (
            self.left >= other.left
            and self.top >= other.top
            and self.right <= other.right
            and self.bottom <= other.bottom
        )


class Page:
    """One side of a sheet; `area` hands out a part of it to draw on."""

    def __init__(self, size_mm: tuple[float, float]) -> None:
        from matplotlib.figure import Figure

        self.size_mm = size_mm
        self.figure = Figure(figsize=(size_mm[0] / INCH_MM, size_mm[1] / INCH_MM), facecolor="white")
        # one pair of axes over all the page: its data are millimetres, downwards as one reads
        self.ax = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.ax.set_xlim(0.0, size_mm[0])
        self.ax.set_ylim(size_mm[1], 0.0)
        self.ax.set_axis_off()

    def area(self, left_mm: float = 0.0, top_mm: float = 0.0, size_mm: tuple[float, float] | None = None) -> "Area":
        """Return a part of the page; all of it without any numbers."""
        width, height = size_mm or (self.size_mm[0] - left_mm, self.size_mm[1] - top_mm)
        return Area(self, left_mm, top_mm, width, height)

    def extents(self) -> list[tuple[str, Box]]:
        """Return every text that is drawn on the page, in pictures too, with the box that it takes."""
        from matplotlib.text import Text as Drawn

        self.figure.draw_without_rendering()  # settles where the numbers along axes stand
        unseen = {id(text) for ax in self.figure.axes for text in _unseen_ticks(ax)}
        texts = [text for text in self.figure.findobj(Drawn) if id(text) not in unseen and text.get_visible()]
        return [(text.get_text(), self._box(text)) for text in texts if text.get_text().strip()]

    def _box(self, text: "Text") -> Box:
        mm = INCH_MM / self.figure.dpi
        extent = text.get_window_extent()
        height = self.size_mm[1]
        return Box(extent.x0 * mm, height - extent.y1 * mm, extent.x1 * mm, height - extent.y0 * mm)


def _unseen_ticks(ax: "Axes") -> Iterator["Text"]:
    """Yield the numbers along axes that are not drawn: of axes without any, and beyond the limits."""
    for axis in (ax.xaxis, ax.yaxis):
        low, high = sorted(axis.get_view_interval())
        for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
            if not ax.axison or not low <= tick.get_loc() <= high:
                yield from (tick.label1, tick.label2)


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle of a page; millimetres count from its own top left corner."""

    page: Page
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float

    def write(
        self,
        x_mm: float,
        top_mm: float,
        words: str,
        *,
        pt: float,
        bold: bool = False,
        align: Align = "left",
        colour: str = INK,
    ) -> float:
        """Write one line whose top is there, ``align`` telling which end stands at ``x_mm``; return its foot [mm]."""
        self.page.ax.text(
            self.left_mm + x_mm,
            self.top_mm + top_mm + ASCENT * pt * PT_MM,
            words,
            fontsize=pt, fontfamily=_FONT, fontweight="bold" if bold else "normal", color=colour,
            ha=align, va="baseline", parse_math=False,
        )  # fmt: skip
        return top_mm + line_mm(pt)

    def write_lines(
        self, x_mm: float, top_mm: float, lines: Sequence[str], *, pt: float, bold: bool = False,
        align: Align = "left", colour: str = INK,
    ) -> float:  # fmt: skip
        """Write lines one under the other; return the foot of the last [mm]."""
        for line in lines:
            top_mm = self.write(x_mm, top_mm, line, pt=pt, bold=bold, align=align, colour=colour)
        return top_mm

    def line(
        self, start: tuple[float, float], end: tuple[float, float], *, pt: float = 0.4, colour: str = HAIR
    ) -> None:
        """Draw a straight line from one point to another [mm]."""
        self.page.ax.plot(
            [self.left_mm + start[0], self.left_mm + end[0]],
            [self.top_mm + start[1], self.top_mm + end[1]],
            color=colour, linewidth=pt, solid_capstyle="butt", clip_on=False, scalex=False, scaley=False,
        )  # fmt: skip

    def sign(self, x_mm: float, y_mm: float, marker: str, *, edge: str, face: str, pt: float = 4.5) -> None:
        """Draw a marker with its middle there."""
        self.page.ax.plot(
            [self.left_mm + x_mm], [self.top_mm + y_mm], linestyle="none", marker=marker, markersize=pt, color=edge,
            markerfacecolor=face, markeredgewidth=0.9, clip_on=False, scalex=False, scaley=False,
        )  # fmt: skip

    def rule(self, top_mm: float, *, pt: float = 0.4, colour: str = HAIR) -> None:
        """Draw a line across the whole width."""
        self.line((0.0, top_mm), (self.width_mm, top_mm), pt=pt, colour=colour)

    def part(self, left_mm: float, top_mm: float, size_mm: tuple[float, float]) -> "Area":
        """Return a part of the area."""
        return Area(self.page, self.left_mm + left_mm, self.top_mm + top_mm, *size_mm)

    def axes(self, left_mm: float, top_mm: float, size_mm: tuple[float, float]) -> "Axes":
        """Return axes for a picture whose frame has that size; what stands around it needs room of its own."""
        page_w, page_h = self.page.size_mm
        width, height = size_mm
        bottom = page_h - (self.top_mm + top_mm + height)
        return self.page.figure.add_axes(
            ((self.left_mm + left_mm) / page_w, bottom / page_h, width / page_w, height / page_h)
        )


def save_pages(pages: Sequence[Page], path: Path, title: str) -> set[str]:
    """Write pages into one PDF, whole or not at all; the same pages give the same bytes.

    Returns the signs that the font lacks: boxes stand for them.
    """
    import matplotlib as mpl
    from matplotlib.backends.backend_pdf import PdfPages

    drawn = io.BytesIO()  # on a full disk matplotlib would leave files open
    unsaid = dict.fromkeys(("CreationDate", "Producer", "Creator"))
    # 42: TrueType outlines as they are, so that the text can be searched and copied
    with (
        mpl.rc_context({"pdf.fonttype": 42}),
        quiet_glyphs() as lacking,
        PdfPages(drawn, metadata={**unsaid, "Title": title}) as pdf,
    ):
        for page in pages:
            pdf.savefig(page.figure)
    replace_file(path, lambda draft: draft.write_bytes(drawn.getvalue()))
    return lacking
