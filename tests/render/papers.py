"""What the tests of paper ask of a PDF, by pypdf, and of pages that are not written yet."""

import itertools
import math
from pathlib import Path
from typing import Any

import pypdf

from wedgelab.render.paper import Box, Page

_DPI = 300.0  # fine enough that the hinting of a screen's letters moves no box by more than the slack
_SLACK_MM = 0.1


def media_mm(path: Path) -> list[tuple[float, float]]:
    """Return the size of every page."""
    boxes = [page.mediabox for page in pypdf.PdfReader(path).pages]
    return [(float(box.width) * 25.4 / 72.0, float(box.height) * 25.4 / 72.0) for box in boxes]


def words_of(path: Path) -> str:
    """Return all text, page by page, with single blanks."""
    return " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(path).pages)


def letter_sizes(path: Path) -> set[float]:
    """Return every size of letters in which something is written [pt], upright or turned."""
    found: set[float] = set()

    def see(text: str, cm: list[float], tm: list[float], _: Any, size: float) -> None:
        if text.strip():
            found.add(round(size * math.hypot(tm[2], tm[3]) * math.hypot(cm[2], cm[3]), 3))

    for page in pypdf.PdfReader(path).pages:
        page.extract_text(visitor_text=see)
    return found


def fonts(path: Path) -> list[tuple[str, bool]]:
    """Return the name of every font, and whether its TrueType program is in the file (ISO 32000-1, 9.9)."""
    found = []
    for page in pypdf.PdfReader(path).pages:
        for entry in page["/Resources"]["/Font"].values():  # type: ignore[index]  # pypdf types a page's values loosely
            font = entry.get_object()
            if "/DescendantFonts" in font:
                font = font["/DescendantFonts"][0].get_object()
            descriptor = font["/FontDescriptor"].get_object()
            found.append((str(font["/BaseFont"]), "/FontFile2" in descriptor))
    return found


def faults(page: Page) -> list[str]:
    """Return the texts of a page that leave it, and the pairs that overlap."""
    page.figure.set_dpi(_DPI)
    texts = page.extents()
    assert texts
    whole = Box(0.0, 0.0, *page.size_mm)
    out = [f"{text!r} leaves the page" for text, box in texts if not box.inside(whole)]
    pairs = itertools.combinations(texts, 2)
    return out + [f"{a!r} touches {b!r}" for (a, one), (b, two) in pairs if one.overlaps(two, _SLACK_MM)]
