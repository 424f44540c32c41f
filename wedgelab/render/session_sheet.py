"""The session sheet: one page about a session that a coach hands over, A4 or letter."""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from wedgelab.drill.machine import DrillState
from wedgelab.drill.scores import DrillSummary
from wedgelab.learned import HitGroup, Learned
from wedgelab.plan.session import SessionPlan
from wedgelab.render.paper import INK, LEAST_PT, QUIET, Area, Page, fit_mm, fold_mm, line_mm
from wedgelab.render.paper_table import PaperTable
from wedgelab.render.session_drill import DrillPart
from wedgelab.render.session_parts import (
    ENOUGH_PLANNED,
    GUTTER_MM,
    LEFT_SHARE,
    TITLE_PT,
    hit_table,
    hit_words,
    learned_table,
    learned_words,
    plan_table,
    plan_title,
    plan_words,
)
from wedgelab.render.words import RANGE_SAFETY_LINE, conditions_text, count_text, reference_text
from wedgelab.shots import Conditions
from wedgelab.units import LengthUnit

_SIDE_MM: Final = 15.0
_TOP_MM: Final = 13.0
_FOOT_MM: Final = 14.0
_GAP_MM: Final = 5.5  # between two parts
_NAME_PT: Final = (20.0, 16.0, 13.0, 11.0)
_TEXT_PT: Final = 8.0
_RULED_MM: Final = 7.5
_ROUNDING_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class DrillResult:
    """A drill with a ball in the session, and what it came to."""

    began_at: str
    state: DrillState
    summary: DrillSummary


@dataclass(frozen=True, slots=True)
class SessionFacts:
    """What stands on the sheet; ``conditions`` are the session's, ``reference`` those of the chart.

    ``no_plan`` says why there is none. ``n_others`` other players taught the chart; ``is_latest`` tells that nothing
    was hit after the session.
    """

    player: str
    name: str
    started_at: str
    conditions: Conditions
    ball: str
    note: str
    unit: LengthUnit
    reference: Conditions
    groups: tuple[HitGroup, ...]
    learned: Learned
    drills: tuple[DrillResult, ...]
    plan: SessionPlan | None
    no_plan: str = ""
    n_others: int = 0
    is_latest: bool = True


@dataclass(frozen=True, slots=True)
class _Block:
    """A part of the sheet: how high it is, and what draws it at its place."""

    height_mm: float
    draw: Callable[[Area], None]
    grows: bool = False  # takes what is left of its page


def session_pages(facts: SessionFacts, size_mm: tuple[float, float]) -> list[Page]:
    """Draw the sheet; what does not go on one page goes on to the next."""
    width = size_mm[0] - 2 * _SIDE_MM
    room = size_mm[1] - _TOP_MM - _FOOT_MM
    head = _head(facts, width)
    under = room - head.height_mm - _GAP_MM
    pages: list[list[tuple[float, _Block]]] = [[]]
    top = 0.0

    def put(block: _Block) -> None:
        nonlocal top
        if top and top + block.height_mm > room + _ROUNDING_MM:
            pages.append([])
            top = 0.0
        pages[-1].append((top, block))
        top += block.height_mm + _GAP_MM

    for block in (head, *_tables(facts, width, under, room), *_drills(facts, width)):
        put(block)
    put(_next(facts, width, room - top, room))
    return [_page(facts, placed, size_mm, (number, len(pages))) for number, placed in enumerate(pages, 1)]


def _page(
    facts: SessionFacts, placed: Sequence[tuple[float, _Block]], size_mm: tuple[float, float], number: tuple[int, int]
) -> Page:
    page = Page(size_mm)
    width, room = size_mm[0] - 2 * _SIDE_MM, size_mm[1] - _TOP_MM - _FOOT_MM
    body = page.area(_SIDE_MM, _TOP_MM, (width, room))
    for top, block in placed:
        height = room - top if block.grows else block.height_mm
        block.draw(body.part(0.0, top, (width, height)))
    foot = page.area(_SIDE_MM, size_mm[1] - _FOOT_MM + 2.0, (width, _FOOT_MM - 2.0))
    foot.rule(0.0)
    counted = f"page {number[0]} of {number[1]}"
    air = f"Charted carries: median of a solid ball, {reference_text(facts.reference)}; ± one standard error."
    for i, line in enumerate(fold_mm(air, width - 25.0, LEAST_PT)):
        foot.write(0.0, 0.8 + line_mm(LEAST_PT, i), line, pt=LEAST_PT, colour=QUIET)
    foot.write(width, 0.8, counted, pt=LEAST_PT, align="right", colour=QUIET)
    return page


def _head(facts: SessionFacts, width: float) -> _Block:
    """Say who, when, in what air and with which ball, and the note of the session."""
    pt, name = fit_mm(facts.player, width - 45.0, sizes=_NAME_PT, lines=2, bold=True)
    title_pt, title = fit_mm(facts.name, width - 45.0, sizes=(12.0, 10.0, 9.0), lines=2)
    lines = fold_mm(_facts_line(facts), width, _TEXT_PT)
    note = fold_mm(f"Note: {facts.note}", width, _TEXT_PT) if facts.note else []
    height = line_mm(pt, len(name)) + line_mm(title_pt, len(title)) + line_mm(_TEXT_PT, len(lines) + len(note)) + 2.5

    def draw(area: Area) -> None:
        top = area.write_lines(0.0, 0.0, name, pt=pt, bold=True)
        top = area.write_lines(0.0, top, title, pt=title_pt)
        area.write(area.width_mm, 1.2, "Session sheet", pt=TITLE_PT, bold=True, align="right")
        when = facts.started_at[:16].replace("T", " ")
        area.write(area.width_mm, 1.2 + line_mm(TITLE_PT), when, pt=TITLE_PT, align="right")
        area.rule(top + 0.8, pt=1.0, colour=INK)
        top = area.write_lines(0.0, top + 2.0, lines, pt=_TEXT_PT)
        area.write_lines(0.0, top, note, pt=_TEXT_PT)

    return _Block(height, draw)


def _facts_line(facts: SessionFacts) -> str:
    balls = sum(group.n_balls for group in facts.groups)
    solid = sum(group.n_solid for group in facts.groups)
    air = conditions_text(facts.conditions) or "air not noted"
    parts = [f"{count_text(balls, 'ball')}, {solid} solid", air, f"ball: {facts.ball}" if facts.ball else ""]
    return "  ·  ".join(part for part in parts if part)


def _tables(facts: SessionFacts, width: float, under_mm: float, page_mm: float) -> list[_Block]:
    """Put what was hit at the left, and what the chart learned from it at the right.

    ``under_mm`` is the room on the first page under the head; what it does not hold goes on over pages of ``page_mm``.
    """
    left_mm = LEFT_SHARE * (width - GUTTER_MM)
    right_mm = width - GUTTER_MM - left_mm
    hits = fold_mm(hit_words(facts.groups, facts.unit), left_mm, LEAST_PT)
    words = fold_mm(learned_words(facts.learned, facts.unit, facts.n_others), right_mm, LEAST_PT)
    above = line_mm(TITLE_PT) + 0.5
    down = above + 1.0 + line_mm(LEAST_PT, max(len(hits), len(words)))
    hit_pieces = hit_table(facts.groups, facts.unit).fitted(left_mm).split(under_mm - down, page_mm)
    learned_pieces = learned_table(facts.learned, facts.unit).fitted(right_mm).split(under_mm - down, page_mm)

    def draw_heads(area: Area) -> None:
        for x, title, said in ((0.0, "What was hit", hits), (left_mm + GUTTER_MM, "What the chart learned", words)):
            area.write(x, 0.0, title, pt=TITLE_PT, bold=True)
            area.write_lines(x, above, said, pt=LEAST_PT, colour=QUIET)

    blocks = []
    for i, (left, right) in enumerate(itertools.zip_longest(hit_pieces, learned_pieces)):
        tables = [
            (x, wide, one) for x, wide, one in ((0.0, left_mm, left), (left_mm + GUTTER_MM, right_mm, right)) if one
        ]
        top = 0.0 if i else down
        height = top + max(table.height_mm() for _, _, table in tables)
        blocks.append(_Block(height, _drawing(tables, top, None if i else draw_heads)))
    return blocks


def _drawing(
    tables: Sequence[tuple[float, float, PaperTable]], top_mm: float, heads: Callable[[Area], None] | None
) -> Callable[[Area], None]:
    """Return what draws tables side by side, each at its place and of its width, under their heads if there are any."""

    def draw(area: Area) -> None:
        if heads is not None:
            heads(area)
        for x, wide, table in tables:
            table.draw(area.part(x, 0.0, (wide, area.height_mm)), top_mm)

    return draw


def _drills(facts: SessionFacts, width: float) -> list[_Block]:
    blocks = []
    for result in facts.drills:
        part = DrillPart(result.began_at, result.state, result.summary, facts.unit, width)
        blocks.append(_Block(part.height_mm(), part.draw))
    return blocks


@dataclass(frozen=True, slots=True)
class _Plan:
    """What to practise next, as a table of so many rows with its sentences."""

    table: PaperTable | None
    words: tuple[str, ...]

    @property
    def height_mm(self) -> float:
        table_mm = 0.0 if self.table is None else self.table.height_mm()
        return line_mm(TITLE_PT) + 0.5 + table_mm + 1.5 + line_mm(LEAST_PT, len(self.words)) + 1.0


def _plan(facts: SessionFacts, left_mm: float, most: int) -> _Plan:
    if facts.plan is None:
        return _Plan(None, tuple(fold_mm(f"No plan: {facts.no_plan}.", left_mm, LEAST_PT)))
    said = plan_words(facts.plan, facts.unit, most)
    if not facts.is_latest:
        said.insert(0, "Planned from the log as it was after this session: what was hit since is not in it.")
    words = tuple(line for sentence in said for line in fold_mm(sentence, left_mm, LEAST_PT))
    return _Plan(plan_table(facts.plan, facts.unit, most).fitted(left_mm), words)


def _plan_that_fits(facts: SessionFacts, left_mm: float, here_mm: float, page_mm: float) -> _Plan:
    """Return the plan with as many rows as there is room for: here, if these are enough, else on a page of its own."""
    shots = 1 if facts.plan is None else max(1, len(facts.plan.shots))
    plans = [_plan(facts, left_mm, most) for most in range(shots, 0, -1)]
    enough = plans[max(0, shots - ENOUGH_PLANNED) :]
    room_mm = here_mm if enough[0].height_mm <= here_mm else page_mm
    return next((plan for plan in plans if plan.height_mm <= room_mm), plans[-1])


def _next(facts: SessionFacts, width: float, here_mm: float, page_mm: float) -> _Block:
    """Put what to practise next at the left, and lines for a pencil at the right.

    ``here_mm`` is what is left of the page so far, ``page_mm`` a whole one.
    """
    left_mm = LEFT_SHARE * (width - GUTTER_MM)
    title = "Next" if facts.plan is None else plan_title(facts.plan)
    safety = fold_mm(RANGE_SAFETY_LINE, left_mm, LEAST_PT)
    safety_mm = line_mm(LEAST_PT, len(safety))
    plan = _plan_that_fits(facts, left_mm, here_mm - safety_mm, page_mm - safety_mm)
    above = line_mm(TITLE_PT) + 0.5
    height = plan.height_mm + safety_mm

    def draw(area: Area) -> None:
        left = area.part(0.0, 0.0, (left_mm, area.height_mm))
        left.write(0.0, 0.0, title, pt=TITLE_PT, bold=True)
        foot = above if plan.table is None else plan.table.draw(left, above)
        foot = left.write_lines(0.0, foot + 1.5, plan.words, pt=LEAST_PT, colour=QUIET)
        left.write_lines(0.0, foot + 1.0, safety, pt=LEAST_PT, colour=QUIET)
        right = area.part(left_mm + GUTTER_MM, 0.0, (area.width_mm - left_mm - GUTTER_MM, area.height_mm))
        right.write(0.0, 0.0, "Notes", pt=TITLE_PT, bold=True)
        top = above + _RULED_MM
        while top <= area.height_mm - 1.0:  # under the plan there is all the width to write on
            (right if top < height + 1.0 else area).rule(top)
            top += _RULED_MM

    return _Block(height, draw, grows=True)
