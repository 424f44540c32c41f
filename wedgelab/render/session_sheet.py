"""The session sheet: one page about a session that a coach hands over, A4 or letter."""

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
from wedgelab.render.words import conditions_text, count_text, reference_text
from wedgelab.shots import Conditions
from wedgelab.units import LengthUnit

_SIDE_MM: Final = 15.0
_TOP_MM: Final = 13.0
_FOOT_MM: Final = 14.0
_GAP_MM: Final = 5.5  # between two parts
_NAME_PT: Final = (20.0, 16.0, 13.0, 11.0)
_TEXT_PT: Final = 8.0
_RULED_MM: Final = 7.5
_MOST_ROWS: Final = 50  # of a table on one page
SAFETY: Final = "On the range: hit only while nobody is in front of you, and stop when somebody is."


@dataclass(frozen=True, slots=True)
class DrillResult:
    """A drill with a ball in the session, and what it came to."""

    began_at: str
    state: DrillState
    summary: DrillSummary


@dataclass(frozen=True, slots=True)
class SessionFacts:
    """What stands on the sheet; ``conditions`` are the session's, ``reference`` those of the chart.

    ``no_plan`` says why there is none.
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
    blocks = [_head(facts, width), *_tables(facts, width), *_drills(facts, width), _next(facts, width)]
    pages: list[list[tuple[float, _Block]]] = [[]]
    top = 0.0
    for block in blocks:
        if top and top + block.height_mm > room:
            pages.append([])
            top = 0.0
        pages[-1].append((top, block))
        top += block.height_mm + _GAP_MM
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
    title_pt, title = fit_mm(f"{facts.name}", width - 45.0, sizes=(12.0, 10.0, 9.0), lines=2)
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


def _tables(facts: SessionFacts, width: float) -> list[_Block]:
    """Put what was hit at the left, and what the chart learned from it at the right."""
    left_mm = LEFT_SHARE * (width - GUTTER_MM)
    right_mm = width - GUTTER_MM - left_mm
    first, *more = hit_table(facts.groups, facts.unit).split(_MOST_ROWS)
    hits = fold_mm(hit_words(facts.groups, facts.unit), left_mm, LEAST_PT)
    learned = learned_table(facts.learned, facts.unit)
    words = fold_mm(learned_words(facts.learned, facts.unit), right_mm, LEAST_PT)
    above = line_mm(TITLE_PT) + 0.5
    below = 1.0 + line_mm(LEAST_PT, max(len(hits), len(words)))
    height = above + below + max(first.height_mm(), learned.height_mm())

    def draw(area: Area) -> None:
        left = area.part(0.0, 0.0, (left_mm, area.height_mm))
        right = area.part(left_mm + GUTTER_MM, 0.0, (right_mm, area.height_mm))
        for part, title, table, said in (
            (left, "What was hit", first, hits), (right, "What the chart learned", learned, words),
        ):  # fmt: skip
            part.write(0.0, 0.0, title, pt=TITLE_PT, bold=True)
            part.write_lines(0.0, above, said, pt=LEAST_PT, colour=QUIET)
            table.draw(part, above + below)

    rest = [_Block(table.height_mm(), _drawing(table, left_mm)) for table in more]
    return [_Block(height, draw), *rest]


def _drawing(table: PaperTable, width: float) -> Callable[[Area], None]:
    def draw(area: Area) -> None:
        table.draw(area.part(0.0, 0.0, (width, area.height_mm)))

    return draw


def _drills(facts: SessionFacts, width: float) -> list[_Block]:
    blocks = []
    for result in facts.drills:
        part = DrillPart(result.began_at, result.state, result.summary, facts.unit, width)
        blocks.append(_Block(part.height_mm(), part.draw))
    return blocks


def _next(facts: SessionFacts, width: float) -> _Block:
    """Put what to practise next at the left, and lines for a pencil at the right."""
    left_mm = LEFT_SHARE * (width - GUTTER_MM)
    table = None if facts.plan is None else plan_table(facts.plan, facts.unit)
    title = "Next" if facts.plan is None else plan_title(facts.plan)
    said = [f"No plan: {facts.no_plan}."] if facts.plan is None else plan_words(facts.plan, facts.unit)
    words = [line for sentence in said for line in fold_mm(sentence, left_mm, LEAST_PT)]
    safety = fold_mm(SAFETY, left_mm, LEAST_PT)
    above = line_mm(TITLE_PT) + 0.5
    table_mm = 0.0 if table is None else table.height_mm()
    height = above + table_mm + 1.5 + line_mm(LEAST_PT, len(words) + len(safety)) + 1.0

    def draw(area: Area) -> None:
        left = area.part(0.0, 0.0, (left_mm, area.height_mm))
        left.write(0.0, 0.0, title, pt=TITLE_PT, bold=True)
        foot = above if table is None else table.draw(left, above)
        foot = left.write_lines(0.0, foot + 1.5, words, pt=LEAST_PT, colour=QUIET)
        left.write_lines(0.0, foot + 1.0, safety, pt=LEAST_PT, colour=QUIET)
        right = area.part(left_mm + GUTTER_MM, 0.0, (area.width_mm - left_mm - GUTTER_MM, area.height_mm))
        right.write(0.0, 0.0, "Notes", pt=TITLE_PT, bold=True)
        top = above + _RULED_MM
        while top <= area.height_mm - 1.0:  # under the plan there is all the width to write on
            (right if top < height + 1.0 else area).rule(top)
            top += _RULED_MM

    return _Block(height, draw, grows=True)
