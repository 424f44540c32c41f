"""The card: a player's chart for the bag or the pocket, at an exact size, alone or on a sheet to cut it out of."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from wedgelab.chart import LEAST_CARRY_M, Chart
from wedgelab.prediction import Prediction
from wedgelab.render.card_layout import CardLayout, Content, Placed, Side, first_mm, lay_out, lift_mm, stretched
from wedgelab.render.figure import learnt_text
from wedgelab.render.paper import INK, LEAST_PT, Area, Page, fit_mm, fold_mm, line_mm, width_mm
from wedgelab.render.text import drift_text, range_of
from wedgelab.render.words import (
    CARD_RULES_LINE,
    CARRY_LEGEND,
    CARRY_SIGNS,
    MISSING,
    SPIN_LEGEND,
    carry_text,
    count_text,
    day_text,
    percent_text,
    reference_text,
    spin_text,
    wedge_title,
)
from wedgelab.units import LengthUnit, format_length

CardSize = Literal["pocket", "credit"]
_MARGIN_MM: Final[dict[CardSize, float]] = {"pocket": 5.0, "credit": 3.0}
_NAME_PT: Final[dict[CardSize, tuple[float, ...]]] = {
    "pocket": (14.0, 12.0, 10.0, 9.0), "credit": (9.0, 8.0, 7.5, LEAST_PT),
}  # fmt: skip
_DAY_PT: Final[dict[CardSize, float]] = {"pocket": 9.0, "credit": LEAST_PT}
_NOTES_PT: Final = LEAST_PT
_HEAD_GAP_MM: Final = 1.0
_BESIDE_MM: Final = 3.0  # between a name and what stands at its right
_SHORTEST_RULED_MM: Final = 16.0
_RULED_MM: Final = 7.0  # from line to line, for a pencil


@dataclass(frozen=True, slots=True)
class CardFacts:
    """What stands on a card, besides the chart only what was asked for.

    ``flights`` has a prediction for each cell of the chart, row by row, under the name of its trajectory; ``chances``
    the chance for each cell that a solid ball stays within ``window`` of the carry, NaN for one that never gets up.
    ``day_date`` is the date that a day's carries are for; ``n_others`` how many other players the chart leans on.
    """

    chart: Chart
    unit: LengthUnit
    last_day: str = ""
    with_spin: bool = False
    flights: tuple[tuple[str, tuple[Prediction, ...]], ...] = ()
    chances: tuple[float, ...] = ()
    window: str = ""
    day_date: str = ""
    n_others: int = 0

    @property
    def has_drift(self) -> bool:
        """Whether a cross wind moves the balls."""
        return any(cell.today is not None and cell.today.drift_today_m is not None for cell in self.chart.cells)


@dataclass(frozen=True, slots=True)
class Card:
    """A card that is laid out: its sides can be drawn anywhere."""

    facts: CardFacts
    size: CardSize
    size_mm: tuple[float, float]
    head: tuple[float, tuple[str, ...]]
    day: tuple[str, ...]
    notes: tuple[str, ...]
    content: Content
    layout: CardLayout

    @property
    def n_sides(self) -> int:
        """How many sides the card has."""
        return len(self.layout.sides)


def make_card(facts: CardFacts, size: CardSize, size_mm: tuple[float, float]) -> Card:
    """Lay a card out in its size."""
    card = _make(facts, size, size_mm, 0.0)
    if card.n_sides == 1:
        return card
    return _make(facts, size, size_mm, width_mm(_side_words(0, card.n_sides), LEAST_PT, bold=True) + _BESIDE_MM)


def _make(facts: CardFacts, size: CardSize, size_mm: tuple[float, float], beside_mm: float) -> Card:
    """Lay a card out with so much room kept free beside the name."""
    margin = _MARGIN_MM[size]
    width, height = size_mm[0] - 2 * margin, size_mm[1] - 2 * margin
    lines = 2 if size == "pocket" else 1
    pt, name = fit_mm(facts.chart.player, width - beside_mm, sizes=_NAME_PT[size], lines=lines, bold=True)
    day = fold_mm(_day_words(facts), width, _DAY_PT[size], bold=True) if facts.chart.day is not None else []
    notes = tuple(line for words in _notes(facts) for line in fold_mm(words, width, _NOTES_PT))
    content = _content(facts)
    first = line_mm(pt, len(name)) + line_mm(_DAY_PT[size], len(day)) + _HEAD_GAP_MM
    other = line_mm(LEAST_PT) + _HEAD_GAP_MM
    layout = lay_out(content, width, (height - first, height - other), line_mm(_NOTES_PT, len(notes)))
    return Card(facts, size, size_mm, (pt, tuple(name)), tuple(day), notes, content, layout)


def draw_side(card: Card, number: int, area: Area) -> None:
    """Draw one side of the card, counted from 0, into an area of the card's size."""
    margin = _MARGIN_MM[card.size]
    inner = area.part(margin, margin, (area.width_mm - 2 * margin, area.height_mm - 2 * margin))
    top = _draw_head(card, inner) if number == 0 else _draw_short_head(card, number, inner)
    top += _HEAD_GAP_MM
    room = inner.height_mm - top
    side, left = stretched(card.layout.sides[number], room)
    body = inner.part(0.0, top, (inner.width_mm, room))
    for piece in side.pieces:
        _draw_piece(card, piece, body)
    if side.notes_mm is not None:
        _draw_notes(card, side, left, body)


def card_pages(card: Card) -> list[Page]:
    """Return a page of the card's own size for each of its sides."""
    pages = []
    for number in range(card.n_sides):
        page = Page(card.size_mm)
        draw_side(card, number, page.area())
        pages.append(page)
    return pages


def _content(facts: CardFacts) -> Content:
    chart, unit = facts.chart, facts.unit
    labels = ["8 in 10"]
    labels += ["drift"] if facts.has_drift else []
    labels += ["spin"] if facts.with_spin else []
    labels += [name for name, _ in facts.flights]
    labels += ["inside"] if facts.chances else []
    cells = []
    for i, cell in enumerate(chart.cells):
        lines = [_carry(facts, i), range_of(cell, unit)]
        lines += [drift_text(cell.today, unit)] if facts.has_drift else []
        lines += [spin_text(cell.spin_rpm, cell.spin_support)] if facts.with_spin else []
        lines += [_flight(made[i], unit) for _, made in facts.flights]
        lines += [MISSING if math.isnan(facts.chances[i]) else percent_text(facts.chances[i])] if facts.chances else []
        cells.append(tuple(lines))
    n = len(chart.swings)
    rows = tuple(tuple(cells[row * n : (row + 1) * n]) for row in range(len(chart.wedges)))
    return Content(
        f"carry {unit}",
        tuple(wedge_title(wedge.label, wedge.loft_deg) for wedge in chart.wedges),
        tuple(swing.label for swing in chart.swings),
        tuple(labels),
        rows,
    )


def _carry(facts: CardFacts, i: int) -> str:
    """Write the large number of a cell: today's carry if a day was asked for."""
    cell = facts.chart.cells[i]
    if cell.today is None:
        return carry_text(cell.carry_m, cell.support, facts.unit)
    today = cell.today.carry_today_m
    return MISSING if today is None else CARRY_SIGNS[cell.support] + format_length(today, facts.unit)


def _flight(made: Prediction, unit: LengthUnit) -> str:
    return carry_text(made.carry_m, made.support, unit) if made.carry_m > LEAST_CARRY_M else MISSING


def _day_words(facts: CardFacts) -> str:
    day = facts.chart.day
    when = f"For {facts.day_date} only" if facts.day_date else "Today only"
    return "" if day is None else f"{when}: {day_text(day, facts.unit)}"


def _notes(facts: CardFacts) -> Iterator[str]:
    """Say what the numbers mean, what they rest on, and what the rules say; each a paragraph."""
    chart, unit = facts.chart, facts.unit
    air = "today's air, named above" if chart.day is not None else reference_text(chart.reference)
    told = [f"Large: median carry in {unit} of a solid ball, for {air}. 8 in 10: the range of 8 such balls."]
    supports = {cell.support for cell in chart.cells} | {made.support for _, row in facts.flights for made in row}
    if supports != {"measured"}:
        told.append(f"{CARRY_LEGEND}.")
    if chart.day is not None and any(cell.today is None or cell.today.carry_today_m is None for cell in chart.cells):
        told.append(f"{MISSING}: does not get up to the green.")
    if facts.has_drift:
        told.append(f"Drift: how many {unit} the wind carries it to the right (R) or left (L).")
    if facts.with_spin:
        estimates = any(cell.spin_support != "measured" for cell in chart.cells)
        told.append(f"Spin in rpm{'; ' + SPIN_LEGEND if estimates else ''}.")
    if facts.flights:
        told.append(
            f"{' and '.join(name for name, _ in facts.flights)}: carry of the same swing played so.".capitalize()
        )
        never = [name for name, row in facts.flights if not any(made.n_shots for made in row)]
        told += [f"No ball was logged {' or '.join(never)}: worked out from the others."] if never else []
    if facts.chances:
        told.append(f"Inside: chance that a solid ball ends within {facts.window} of the carry.")
    yield " ".join(told)
    last = f", the last on {facts.last_day}" if facts.last_day else ""
    others = f"; and from {count_text(facts.n_others, 'other player')}" if facts.n_others else ""
    yield f"Learnt from {learnt_text(chart)}{last}{others}."
    yield CARD_RULES_LINE


def _draw_head(card: Card, area: Area) -> float:
    pt, lines = card.head
    if card.n_sides > 1:
        raised = lift_mm(pt, LEAST_PT) + line_mm(LEAST_PT)  # so that both stand on one line
        side = _side_words(0, card.n_sides)
        area.write(area.width_mm, line_mm(pt) - raised, side, pt=LEAST_PT, bold=True, align="right")
    top = area.write_lines(0.0, 0.0, lines, pt=pt, bold=True)
    return area.write_lines(0.0, top, card.day, pt=_DAY_PT[card.size], bold=True)


def _side_words(number: int, n_sides: int) -> str:
    return f"side {number + 1} of {n_sides}"


def _draw_short_head(card: Card, number: int, area: Area) -> float:
    side = _side_words(number, card.n_sides)
    room = area.width_mm - width_mm(side, LEAST_PT, bold=True) - _BESIDE_MM
    _, (name, *_) = fit_mm(card.facts.chart.player, room, sizes=(LEAST_PT,), bold=True)
    area.write(area.width_mm, 0.0, side, pt=LEAST_PT, bold=True, align="right")
    return area.write(0.0, 0.0, name, pt=LEAST_PT, bold=True)


def _draw_piece(card: Card, piece: Placed, area: Area) -> None:
    """Draw the headers of a strip, a line under them, and the rows with a thin line between two."""
    letters, strip = card.layout.letters, piece.strip
    rights = _rights(card, piece)
    longest = max(map(len, strip.headers))
    foot = piece.top_mm + line_mm(letters.label, longest)
    corner = foot - line_mm(letters.small) - lift_mm(letters.label, letters.small)
    area.write(0.0, corner, card.content.corner, pt=letters.small, bold=True)
    for right, lines in zip(rights, strip.headers, strict=True):
        area.write_lines(
            right, foot - line_mm(letters.label, len(lines)), lines, pt=letters.label, bold=True, align="right"
        )
    top = piece.top_mm + strip.header_mm
    area.rule(top - 0.4, pt=0.9, colour=INK)
    for i, (row, height) in enumerate(zip(piece.rows, piece.row_mm, strict=True)):
        if i:
            area.rule(top)
        _draw_row(card, row, piece, rights, area.part(0.0, top, (area.width_mm, height)))
        top += height


def _rights(card: Card, piece: Placed) -> list[float]:
    """Return where the columns end [mm]."""
    rights, x = [], card.layout.wedge_mm
    for width in piece.strip.widths_mm:
        x += width
        rights.append(x)
    return rights


def _draw_row(card: Card, row: int, piece: Placed, rights: list[float], area: Area) -> None:
    letters, names = card.layout.letters, card.layout.wedges[row]
    labels = card.content.row_labels
    first = first_mm(letters, len(names))
    top = (area.height_mm - first - line_mm(letters.small, len(labels))) / 2.0
    under = top + first
    area.write_lines(
        0.0,
        under - line_mm(letters.label, len(names)) - lift_mm(letters.carry, letters.label),
        names,
        pt=letters.label,
        bold=True,
    )
    columns = list(zip(piece.strip.columns, rights, strict=True))
    for column, right in columns:  # line by line, as it is read aloud and copied
        carry = card.content.cells[row][column][0]
        area.write(right, under - line_mm(letters.carry), carry, pt=letters.carry, bold=True, align="right")
    for i, label in enumerate(labels, 1):
        area.write(0.0, under, label, pt=letters.small)
        for column, right in columns:
            area.write(right, under, card.content.cells[row][column][i], pt=letters.small, align="right")
        under += line_mm(letters.small)


def _draw_notes(card: Card, side: Side, left_mm: float, area: Area) -> None:
    """Write the notes at the foot; where much room is left above them, rule it for a pencil."""
    height = line_mm(_NOTES_PT, len(card.notes))
    area.write_lines(0.0, area.height_mm - height, card.notes, pt=_NOTES_PT)
    if left_mm >= _SHORTEST_RULED_MM and side.notes_mm is not None:
        top = side.notes_mm + _RULED_MM
        while top <= area.height_mm - height - 2.0:
            area.rule(top)
            top += _RULED_MM
