"""Tables and sentences of the session sheet: what was hit, what the chart learned, what to do next."""

from collections.abc import Sequence
from typing import Final

from wedgelab.learned import FEWEST_TOLD, HitGroup, Known, Learned, LearnedCell
from wedgelab.plan.session import SessionPlan
from wedgelab.render.paper_table import Column, PaperTable
from wedgelab.render.plan_text import verdict
from wedgelab.render.words import (
    CARRY_LEGEND,
    carry_text,
    count_text,
    percent_text,
    range_text,
    signed_length,
    spin_text,
    wedge_title,
)
from wedgelab.units import LengthUnit, format_length, format_number

MOST_LEARNED: Final = 16
ENOUGH_PLANNED: Final = 14  # rows of a plan for which no new page is begun
TITLE_PT: Final = 10.0
TABLE_PT: Final = 7.5
LEFT_SHARE: Final = 0.475  # of the width, for the left of two columns
GUTTER_MM: Final = 8.0  # between them
_WEDGE_MM: Final = 16.0
_SWING_MM: Final = 15.0
_VERDICT_MM: Final = 17.0
OTHER: Final = "other"
EXPECTED: Final = "as expected"
UNEXPECTED: Final = "more than expected"


def hit_table(groups: Sequence[HitGroup], unit: LengthUnit) -> PaperTable:
    """Return the balls by wedge and swing: how many were solid, how far they went, how they spread.

    Beside the median stands the mean, or where spin was read that in its place: both would be too wide.
    """
    has_spin = any(group.spin_rpm is not None for group in groups)
    columns = [
        Column("wedge", "left", _WEDGE_MM), Column("swing", "left", _SWING_MM), Column("solid"), Column("median"),
        *([] if has_spin else [Column("mean")]), Column("spread"), Column("from - to"),
        *([Column("spin")] if has_spin else []),
    ]  # fmt: skip
    rows = []
    before = ""
    for group in groups:
        wedge = wedge_title(group.wedge, group.loft_deg)
        row = [
            "" if wedge == before else wedge,
            " ".join(word for word in (group.swing or OTHER, _flight(group), group.lie) if word),
            f"{group.n_solid} of {group.n_balls}",
            format_length(group.median_m, unit),
            *(() if has_spin else (format_length(group.mean_m, unit),)),
            format_length(group.sd_m, unit, 1),
            _span(group, unit),
        ]
        if has_spin:
            row.append("-" if group.spin_rpm is None else spin_text(group.spin_rpm, "measured"))
        rows.append(tuple(row))
        before = wedge
    return PaperTable(tuple(columns), tuple(rows), TABLE_PT, frozenset({3}))


def hit_words(groups: Sequence[HitGroup], unit: LengthUnit) -> str:
    """Say what the numbers of the hits are."""
    told = f"Carry in {unit} as it was measured; median and spread (one standard deviation) are of the solid balls."
    return told if all(group.swing for group in groups) else f"{told} {OTHER}: swing lengths between the named ones."


def _span(group: HitGroup, unit: LengthUnit) -> str:
    span = range_text(group.low_m, group.high_m, unit)
    low, _, high = span.partition("-")
    return low if low == high else span


def _flight(group: HitGroup) -> str:
    return "" if group.trajectory == "stock" else group.trajectory


def learned_table(learned: Learned, unit: LengthUnit) -> PaperTable:
    """Return the cells that changed most, with the doubt before and after."""
    columns = (
        Column("wedge", "left", _WEDGE_MM), Column("swing", "left", _SWING_MM), Column("balls"), Column("before"),
        Column("after"), Column("change"), Column("", "left", _VERDICT_MM),
    )  # fmt: skip
    rows = tuple(_learned_row(cell, unit) for cell in _shown(learned))
    return PaperTable(columns, rows, TABLE_PT, frozenset({4}), is_grouped=False)


def _shown(learned: Learned) -> list[LearnedCell]:
    """Return the cells that there is room for, the largest change first; the unexpected are always among them."""
    chosen = set(sorted(learned.cells, key=lambda cell: cell.is_as_expected is not False)[:MOST_LEARNED])
    return [cell for cell in learned.cells if cell in chosen]


def _learned_row(cell: LearnedCell, unit: LengthUnit) -> tuple[str, ...]:
    return (
        wedge_title(cell.wedge, cell.loft_deg),
        cell.swing,
        str(cell.n_balls) if cell.n_balls else "-",
        _known(Known(cell.carry_before_m, cell.carry_before_se_m, cell.support_before), unit),
        _known(Known(cell.carry_m, cell.carry_se_m, cell.support), unit),
        signed_length(cell.change_m, unit),
        {True: EXPECTED, False: UNEXPECTED, None: ""}[cell.is_as_expected],
    )


def _known(known: Known, unit: LengthUnit) -> str:
    return f"{carry_text(known.carry_m, known.support, unit)} ±{format_length(known.carry_se_m, unit, 1)}"


def learned_words(learned: Learned, unit: LengthUnit, n_others: int = 0) -> str:
    """Say what the session did for the chart, and what a change does and does not mean."""
    before, after = percent_text(learned.doubt_before, 1), percent_text(learned.doubt_after, 1)
    of_others = f" and {count_text(n_others, 'other player')} of the log" if n_others else ""
    told = [f"Before this session the chart was that of golfers in general{of_others}."] if learned.from_others else []
    if n_others and not learned.from_others:
        told.append(f"The chart leans on {count_text(n_others, 'other player')} of the log too.")
    told.append(f"Carries in {unit}, on average known to {before} before, to {after} after; largest change first.")
    if any(cell.is_as_expected is None for cell in learned.cells):
        told.append(f"Under {FEWEST_TOLD} solid balls nothing is said of the changes: an odd ball moves them all.")
    else:
        told.append(
            f'A change is "{EXPECTED}" if one session makes such a change 19 times in 20 even of a player who stays '
            "the same, because few balls were known: it says nothing of the player, not even that nothing changed."
        )
    new = len(learned.unexpected)
    if new:
        told.append(f"{count_text(new, 'carry', 'carries')} changed more; one good or bad day moves several at once.")
    shown = set(_shown(learned))
    left = [cell for cell in learned.cells if cell not in shown]
    if left:
        told.append(f"The other {len(left)} changed by {format_length(abs(left[0].change_m), unit, 1)} or less.")
    if any(cell.support != "measured" or cell.support_before != "measured" for cell in learned.cells):
        told.append(f"{CARRY_LEGEND}.")
    return " ".join(told)


def plan_table(plan: SessionPlan, unit: LengthUnit, most: int) -> PaperTable:
    """Return the first shots to hit next, in order, with the doubt now and as expected after."""
    columns = (
        Column("wedge", "left", _WEDGE_MM), Column("swing", "left", _SWING_MM), Column("balls"),
        Column(f"carry {unit}"), Column("± now"), Column("± after"),
    )  # fmt: skip
    rows = []
    before = ""
    for shot in plan.shots[:most]:
        wedge = wedge_title(shot.wedge, shot.loft_deg)
        rows.append((
            "" if wedge == before else wedge,
            shot.swing,
            str(shot.balls),
            carry_text(shot.carry_m, shot.support, unit),
            format_length(shot.se_now_m, unit, 1),
            format_length(shot.se_after_m, unit, 1),
        ))  # fmt: skip
        before = wedge
    return PaperTable(columns, tuple(rows), TABLE_PT, frozenset({2}))


def plan_title(plan: SessionPlan) -> str:
    """Say what the plan costs."""
    balls = plan.balls + (0 if plan.warm_up is None else plan.warm_up.balls)
    return f"Next: {count_text(balls, 'ball')}, about {format_number(plan.minutes)} minutes"


def plan_words(plan: SessionPlan, unit: LengthUnit, most: int) -> list[str]:
    """Say how to warm up, what is not in the table, and what the plan is expected to do."""
    said = []
    if plan.warm_up is not None:
        up = plan.warm_up
        said.append(f"First {count_text(up.balls, 'easy ball')} to warm up, {up.wedge} {up.swing}; not logged.")
    left = len(plan.shots) - most
    if left > 0:
        balls = sum(shot.balls for shot in plan.shots[most:])
        said.append(f"And {count_text(balls, 'ball')} of {count_text(left, 'more shot')}: wedgelab plan shows all.")
    said.append(verdict(plan, unit))
    return said
