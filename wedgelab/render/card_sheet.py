"""The card as a PDF: alone in its own size, or on a sheet of office paper with marks to cut it out by."""

from dataclasses import dataclass
from typing import Final

from wedgelab.render.card import Card, CardFacts, card_pages, draw_side, make_card
from wedgelab.render.paper import INK, PAPER_MM, Area, Page, PaperSize

CHECK_MM: Final = 50.0
CHECK_WORDS: Final = "This line measures 50 mm when printed at 100 % (actual size, not fitted to the page)."
CUT_NAMES: Final = "long names are shortened on the card"
CUT_WORDS: Final = "Cut along the marks."
FOLD_WORDS: Final = "Cut along the marks; fold the small card in the middle, so that it has two sides."
_MARK_MM: Final = 4.0  # length of a mark
_OFF_MM: Final = 1.5  # from the card's edge, so that a cut a little off shows no mark
_MOST_CREDIT_SIDES: Final = 2
_WORDS_PT: Final = 8.0
_TICK_MM: Final = 1.5
_FOOT_MM: Final = 15.0  # for the check line and what is said of it


@dataclass(frozen=True, slots=True)
class CardPaper:
    """The pages of a card, and what the user is to be told of them."""

    pages: tuple[Page, ...]
    notes: tuple[str, ...]


def card_paper(facts: CardFacts, size: PaperSize) -> CardPaper:
    """Draw the card at a size, or the pocket's and the credit card's together on a sheet of A4 or letter paper."""
    if size in ("pocket", "credit"):
        card = make_card(facts, size, PAPER_MM[size])
        told = [f"the card has {card.n_sides} sides, each on a page of its own"] if card.n_sides > 1 else []
        told += [CUT_NAMES] if card.layout.is_cut else []
        return CardPaper(tuple(card_pages(card)), tuple(told))
    pocket = make_card(facts, "pocket", PAPER_MM["pocket"])
    credit = make_card(facts, "credit", PAPER_MM["credit"])
    notes = []
    if credit.n_sides > _MOST_CREDIT_SIDES:
        notes.append(
            f"the credit card is left out: it would need {credit.n_sides} sides; make it alone with --size credit"
        )
    if pocket.n_sides > 1:
        notes.append(f"the pocket card has {pocket.n_sides} sides, each on a sheet of its own")
    if pocket.layout.is_cut or credit.layout.is_cut:
        notes.append(CUT_NAMES)
    pages = [
        _sheet(pocket, number, credit if number == 0 and credit.n_sides <= _MOST_CREDIT_SIDES else None, size)
        for number in range(pocket.n_sides)
    ]
    return CardPaper(tuple(pages), tuple(notes))


def _sheet(pocket: Card, number: int, credit: Card | None, size: PaperSize) -> Page:
    """Draw a side of the pocket card in the middle, so that two sheets can be printed back to back."""
    page = Page(PAPER_MM[size])
    sheet = page.area()
    heights = pocket.size_mm[1] + (0.0 if credit is None else credit.size_mm[1])
    gap = (sheet.height_mm - _FOOT_MM - heights) / (2 if credit is None else 3)
    top = gap
    _place(sheet, pocket, number, top, 1)
    if credit is not None:
        top += pocket.size_mm[1] + gap
        for side in range(credit.n_sides):
            _place(sheet, credit, side, top, credit.n_sides)
    _draw_foot(sheet, FOLD_WORDS if credit is not None and credit.n_sides > 1 else CUT_WORDS)
    return page


def _place(sheet: Area, card: Card, side: int, top_mm: float, n_beside: int) -> None:
    """Draw a side with its marks; sides beside each other touch, and have a mark to fold by where they do."""
    width, height = card.size_mm
    left = (sheet.width_mm - n_beside * width) / 2.0 + (side if n_beside > 1 else 0) * width
    draw_side(card, side, sheet.part(left, top_mm, card.size_mm))
    for x, outward in ((left, -1.0), (left + width, 1.0)):
        for y, down in ((top_mm, -1.0), (top_mm + height, 1.0)):
            sheet.line((x, y + down * _OFF_MM), (x, y + down * (_OFF_MM + _MARK_MM)), colour=INK)
            if n_beside == 1 or (side == 0) == (outward < 0.0):
                sheet.line((x + outward * _OFF_MM, y), (x + outward * (_OFF_MM + _MARK_MM), y), colour=INK)


def _draw_foot(sheet: Area, words: str) -> None:
    """Draw the line that tells whether the printer kept the size."""
    top = sheet.height_mm - _FOOT_MM
    left = (sheet.width_mm - CHECK_MM) / 2.0
    sheet.line((left, top), (left + CHECK_MM, top), pt=0.8, colour=INK)
    for x in (left, left + CHECK_MM):
        sheet.line((x, top - _TICK_MM), (x, top + _TICK_MM), pt=0.8, colour=INK)
    middle = sheet.width_mm / 2.0
    foot = sheet.write(middle, top + _TICK_MM + 0.8, CHECK_WORDS, pt=_WORDS_PT, align="center")
    sheet.write(middle, foot, words, pt=_WORDS_PT, align="center")
