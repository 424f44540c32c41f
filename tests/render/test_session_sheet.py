"""The session sheet: one page with everything in its place, whatever the session was."""

import itertools
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import a_shot
from tests.fakes import TYPICAL_BAG
from tests.plan.quick import QuickPredictor
from tests.render.papers import faults, fonts, letter_sizes, media_mm, words_of
from wedgelab.drill.machine import Ball, DrillPlan, replay
from wedgelab.drill.scores import summarise
from wedgelab.learned import Known, hit_groups, known_carries, what_was_learned
from wedgelab.plan.session import Limits, plan_session
from wedgelab.plan.wanted import whole_chart
from wedgelab.render.drill_text import band_label
from wedgelab.render.figure import wedge_look
from wedgelab.render.paper import LEAST_PT, PAPER_MM, PaperSize, save_pages
from wedgelab.render.paper_table import Column, PaperTable
from wedgelab.render.session_parts import (
    EXPECTED,
    MOST_LEARNED,
    UNEXPECTED,
    hit_table,
    learned_table,
    learned_words,
    plan_table,
    plan_words,
)
from wedgelab.render.session_sheet import DrillResult, SessionFacts, session_pages
from wedgelab.render.words import RANGE_SAFETY_LINE
from wedgelab.shots import Bag, Conditions, Shot, SwingLength, Wedge
from wedgelab.units import LengthUnit
from wedgelab.window import WindowRule

PLAYER = QuickPredictor()


def session_of(bag: Bag, n: int = 2) -> list[Shot]:
    return [
        a_shot(
            wedge=wedge.label, loft_deg=wedge.loft_deg, swing=swing.label, swing_deg=swing.swing_deg,
            carry_m=60.0 + 2.0 * i, spin_rpm=7000.0 + 100 * i,
        )
        for wedge in bag.wedges
        for swing in bag.swings
        for i in range(n)
    ]  # fmt: skip


def drill(wedges: str = "ABC", *, chart: bool = True, n: int = 10) -> DrillResult:
    calls = tuple(50.0 + 5.0 * (i % 8) for i in range(n))
    known: dict[str, Any] = (
        {"chart_carry_m": 60.0, "chart_carry_sd_m": 3.0, "chart_carry_se_m": 1.0, "chart_window_probability": 0.6}
        if chart
        else {}
    )
    events = [
        Ball(
            f"s{i}", wedges[i % len(wedges)], 50.0 + i % len(wedges), 90.0, call + (-1) ** i * i, advice_shown=i > 2,
            **known,
        )
        for i, call in enumerate(calls)
    ]  # fmt: skip
    state = replay(DrillPlan(calls, min(calls), max(calls), 1, WindowRule(fixed_m=3.0)), events)
    summary = summarise(state, lambda low, high: band_label("yd", low, high))
    assert summary is not None
    return DrillResult("2026-06-03T12:20:00+02:00", state, summary)


def facts(bag: Bag = TYPICAL_BAG, unit: LengthUnit = "yd", **changes: Any) -> SessionFacts:
    shots = session_of(bag)
    after = known_carries(PLAYER, bag)
    before = [Known(known.carry_m - 0.4 * i, 2.0 * known.carry_se_m, known.support) for i, known in enumerate(after)]
    usual: dict[str, Any] = {
        "player": "Ada",
        "name": "evening",
        "started_at": "2026-06-03T18:00:00+02:00",
        "conditions": Conditions(air_temp_c=8.0, wind_mps=-2.0),
        "ball": "range",
        "note": "wet mats",
        "unit": unit,
        "reference": Conditions(),
        "groups": hit_groups(shots, [i % 7 > 0 for i in range(len(shots))], bag.swings),
        "learned": what_was_learned(bag, before, after, solid=shots),
        "drills": (drill(),),
        "plan": plan_session(PLAYER, whole_chart(bag), Limits(balls=40), player="Ada"),
    }
    return SessionFacts(**usual | changes)


def written(made: SessionFacts, size: PaperSize, tmp_path: Path) -> Path:
    path = tmp_path / "session.pdf"
    save_pages(session_pages(made, PAPER_MM[size]), path, "session")
    return path


@pytest.mark.parametrize("size", ["a4", pytest.param("letter", marks=pytest.mark.long)])
def test_it_is_one_page_of_its_size_and_legible(size: PaperSize, tmp_path: Path) -> None:
    path = written(facts(), size, tmp_path)
    assert media_mm(path) == [pytest.approx(PAPER_MM[size], abs=1e-4)]
    assert all(is_embedded for _, is_embedded in fonts(path))
    assert min(letter_sizes(path)) >= LEAST_PT
    assert path.read_bytes() == written(facts(), size, tmp_path).read_bytes()


def test_it_says_what_was_hit_learned_drilled_and_what_is_next(tmp_path: Path) -> None:
    words = words_of(written(facts(), "a4", tmp_path))
    for said in (
        "Ada", "evening", "2026-06-03 18:00", "18 balls, 15 solid · 8 C, head wind 2 m/s · ball: range",
        "Note: wet mats", "What was hit", "What the chart learned", "Drill of 10 balls", "2026-06-03 12:20",
        "Next: 40 balls, about 33 minutes", "First 6 easy balls to warm up, 60 7:30; not logged.", "Notes",
        RANGE_SAFETY_LINE[:40], "page 1 of 1", "standard air (15 C, 1013 hPa, dry, calm)",
    ):  # fmt: skip
        assert said in words
    # 60 m and 62 m: median 61 m = 66.7 yd, spread 1.41 m = 1.5 yd; spin 7000 and 7100, to the next 50
    assert "1 of 2" in words
    assert "2 of 2 67 1.5 66-68 7050" in words


@pytest.mark.parametrize(("unit", "row"), [("yd", "~114 ±6.2"), ("m", "~104 ±5.7")])
def test_numbers_are_in_the_players_unit(unit: LengthUnit, row: str, tmp_path: Path) -> None:
    # 50 deg at 10:30: 112.5 m x sin 67.5 deg = 103.9 m, known to the root of 0.003, 5.48 %
    assert row in words_of(written(facts(unit=unit), "a4", tmp_path))


def test_without_spin_the_mean_stands_beside_the_median() -> None:
    shots = [a_shot(carry_m=carry_m) for carry_m in (60.0, 61.0, 68.0)]
    table = hit_table(hit_groups(shots, [True] * 3, TYPICAL_BAG.swings), "m")
    assert [column.header for column in table.columns] == [
        "wedge", "swing", "solid", "median", "mean", "spread", "from - to",
    ]  # fmt: skip
    # the spread is the root of (9 + 4 + 25) / 2
    assert table.rows == (("54", "9:00", "3 of 3", "61", "63", "4.4", "60-68"),)


def test_changes_are_told_plainly() -> None:
    made = facts()
    table = learned_table(made.learned, "m")
    assert [row[5] for row in table.rows[:3]] == ["+3.2", "+2.8", "+2.4"]
    assert {row[6] for row in table.rows} == {EXPECTED}
    said = learned_words(made.learned, "m")
    assert 'A change is "as expected" if one session makes such a change 19 times in 20' in said
    assert "it says nothing of the player, not even that nothing changed" in said
    assert "doubt" not in said
    assert "changed more" not in said
    certain = [Known(known.carry_m - 6.0 * (i == 4), 0.5) for i, known in enumerate(known_carries(PLAYER, TYPICAL_BAG))]
    learned = what_was_learned(TYPICAL_BAG, certain, known_carries(PLAYER, TYPICAL_BAG))
    assert [row[6] for row in learned_table(learned, "m").rows] == [UNEXPECTED] + [EXPECTED] * 8
    few = what_was_learned(TYPICAL_BAG, certain, known_carries(PLAYER, TYPICAL_BAG), can_tell=False)
    assert {row[6] for row in learned_table(few, "m").rows} == {""}
    assert "Under 8 solid balls nothing is said of the changes" in learned_words(few, "m")
    assert "1 carry changed more;" in learned_words(learned, "m")


def test_what_changed_more_than_expected_is_on_the_sheet_however_many_changed_more_in_yards() -> None:
    bag = MANY
    after = known_carries(PLAYER, bag)
    # the shortest shots change least in metres, yet one of them is the only one that was known well
    before = [Known(one.carry_m + 10.0, 20.0) for one in after]
    before[0] = Known(after[0].carry_m + 2.0, 0.1)
    learned = what_was_learned(bag, before, [Known(one.carry_m, 0.1) for one in after])
    assert [(cell.wedge, cell.swing) for cell in learned.unexpected] == [("44", "L0")]
    rows = learned_table(learned, "m").rows
    assert len(rows) == MOST_LEARNED
    assert [row[:2] for row in rows if row[6] == UNEXPECTED] == [("44", "L0")]
    assert f"The other {len(after) - MOST_LEARNED} changed by 10.0 or less." in learned_words(learned, "m")


def test_other_players_who_taught_the_chart_are_told() -> None:
    learned = facts().learned
    assert "The chart leans on 2 other players of the log too." in learned_words(learned, "m", 2)
    first = learned_words(replace(learned, from_others=True), "m", 1)
    assert first.startswith(
        "Before this session the chart was that of golfers in general and 1 other player of the log."
    )


def test_an_earlier_session_says_what_its_plan_rests_on(tmp_path: Path) -> None:
    said = "Planned from the log as it was after this session"
    assert said in words_of(written(facts(is_latest=False), "a4", tmp_path))
    assert said not in words_of(written(facts(), "a4", tmp_path))


def test_a_drill_that_was_stopped_says_so(tmp_path: Path) -> None:
    whole = drill()
    plan = replace(whole.state.plan, calls_m=(*whole.state.plan.calls_m, *[60.0] * 30))
    state = replace(whole.state, plan=plan)
    summary = summarise(state, lambda low, high: band_label("yd", low, high))
    assert summary is not None
    stopped = DrillResult(whole.began_at, state, summary)
    assert "Stopped after 10 of 40 calls." in words_of(written(facts(drills=(stopped,)), "a4", tmp_path))
    assert "Stopped" not in words_of(written(facts(), "a4", tmp_path))


def test_the_drills_error_of_all_balls_is_not_mixed_up_with_the_charts_of_solid_ones(tmp_path: Path) -> None:
    words = words_of(written(facts(), "a4", tmp_path))
    assert "E, all" in words
    assert "chart, solid" in words
    assert "E is of all balls and counts mishits; what the chart expects is of solid balls." in words
    assert "chart, solid" not in words_of(written(facts(drills=(drill(chart=False),)), "a4", tmp_path))


def test_a_first_session_says_where_the_chart_began() -> None:
    assert learned_words(replace(facts().learned, from_others=True), "m").startswith(
        "Before this session the chart was that of golfers in general."
    )


MANY = Bag(
    tuple(Wedge(str(44 + 4 * i), 44.0 + 4 * i) for i in range(6)),
    tuple(SwingLength(f"L{i}", 40.0 + 18.0 * i) for i in range(8)),
)
LONG = Bag(
    (Wedge("W" * 40, 54.0), Wedge("a lob wedge that is my favourite one 60", 60.0)),
    (SwingLength("M" * 40, 60.0), SwingLength("a swing that goes to about my third rib", 90.0)),
)
LONG_MANY = Bag(
    tuple(Wedge(f"{44 + 3 * i} a wedge that is bent and called long", 44.0 + 3.0 * i) for i in range(6)),
    tuple(SwingLength(f"L{i} a swing that goes to about my rib", 40.0 + 13.0 * i) for i in range(10)),
)
SHORT_MANY = Bag(
    tuple(Wedge(str(46 + 4 * i), 46.0 + 4.0 * i) for i in range(4)),
    tuple(SwingLength(f"L{i}", 40.0 + 13.0 * i) for i in range(10)),
)
HOSTILE = Bag((Wedge("<script>", 50.0), Wedge("$\\frac{1$", 58.0)), (SwingLength("a_b^c", 90.0),))


@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize(
    ("bag", "changes"),
    [
        (TYPICAL_BAG, {}),
        (TYPICAL_BAG, {"drills": (), "note": "", "ball": "", "conditions": Conditions()}),
        (TYPICAL_BAG, {"drills": (drill("ABCDEFGHIJKL", n=24), drill(chart=False), drill(n=1))}),
        (MANY, {}),
        (SHORT_MANY, {}),
        pytest.param(LONG_MANY, {}, marks=pytest.mark.long),
        pytest.param(LONG_MANY, {"player": "A" * 200, "note": "many words " * 90}, marks=pytest.mark.long),
        (LONG, {"player": "A" * 200, "name": "B" * 200, "note": "many words " * 90, "ball": "C" * 200}),
        (HOSTILE, {"player": "<script>", "name": "$x$", "note": "=cmd()", "ball": "פיצ'ינג"}),
        (TYPICAL_BAG, {"plan": None, "no_plan": "every charted shot carries beyond the range's limit; change it"}),
    ],
    ids=[
        "usual", "bare", "three drills", "many", "short many", "long many", "long many, long head", "long", "hostile",
        "no plan",
    ],
)  # fmt: skip
def test_nothing_leaves_the_page_or_touches(bag: Bag, changes: dict[str, Any], size: PaperSize) -> None:
    pages = session_pages(facts(bag, **changes), PAPER_MM[size])
    assert [fault for page in pages for fault in faults(page)] == []


@pytest.mark.parametrize("bag", [MANY, pytest.param(LONG_MANY, marks=pytest.mark.long)])
def test_a_table_is_cut_by_its_height_and_goes_on_with_its_wedge_named(bag: Bag) -> None:
    shots = session_of(bag, 1)
    table = hit_table(hit_groups(shots, [True] * len(shots), bag.swings), "yd")
    pieces = table.split(100.0, 150.0)
    assert len(pieces) > 1
    assert [row[1:] for piece in pieces for row in piece.rows] == [row[1:] for row in table.rows]
    assert all(piece.rows[0][0] for piece in pieces)
    for i, (piece, after) in enumerate(itertools.pairwise(pieces)):
        most = 150.0 if i else 100.0
        assert piece.height_mm() <= most
        longer = replace(piece, rows=(*piece.rows, after.rows[0]))
        assert longer.height_mm() > most  # as much as there is room for
    assert pieces[-1].height_mm() <= 150.0


def test_a_group_that_is_cut_keeps_its_name_and_others_have_theirs_once() -> None:
    rows = (("A", "1"), ("", "2"), ("", "3"), ("B", "4"), ("", "5"))
    table = PaperTable((Column("wedge", "left"), Column("n")), rows)
    row_mm = (table.height_mm() - replace(table, rows=()).height_mm()) / 5.0
    head_mm = replace(table, rows=()).height_mm()
    pieces = table.split(head_mm + 2.5 * row_mm, head_mm + 1.5 * row_mm)
    assert [piece.rows for piece in pieces] == [
        (("A", "1"), ("", "2")), (("A", "3"),), (("B", "4"),), (("B", "5"),),
    ]  # fmt: skip
    assert len(table.split(0.0, 0.0)) == 5  # a row at least, whatever the room


def test_columns_stand_apart_and_labels_are_folded_for_it() -> None:
    made = facts(LONG)
    whole = learned_table(made.learned, "yd")
    narrow = whole.fitted(90.0)
    assert [column.most_mm for column in narrow.columns][:2] < [column.most_mm for column in whole.columns][:2]
    assert narrow.rows == whole.rows
    assert learned_table(facts().learned, "yd").fitted(90.0).columns == learned_table(facts().learned, "yd").columns


def test_every_hit_is_there_however_many(tmp_path: Path) -> None:
    made = facts(MANY)
    words = words_of(written(made, "a4", tmp_path))
    assert len(made.groups) == 48
    assert words.count(" of 2 ") >= 48
    assert f"The other {48 - MOST_LEARNED} changed by" in words


def test_more_hits_than_a_page_holds_go_on_to_the_next(tmp_path: Path) -> None:
    shots = [shot.replace(trajectory=flight) for shot in session_of(MANY, 1) for flight in ("low", "stock", "high")]
    groups = hit_groups(shots, [True] * len(shots), MANY.swings)
    path = written(facts(MANY, groups=groups), "a4", tmp_path)
    assert len(media_mm(path)) > 2
    words = words_of(path)
    assert words.count("1 of 1") == len(groups) == 144
    assert f"page 2 of {len(media_mm(path))}" in words


@pytest.mark.parametrize("label", ["<script>", "$\\frac{1$", "=cmd()", "a_b^c"])
def test_a_name_is_written_as_it_is(label: str, tmp_path: Path) -> None:
    made = facts(HOSTILE, player=label, name=label, note=label)
    assert words_of(written(made, "a4", tmp_path)).count(label) >= 3


def test_the_plan_is_that_of_the_plan_command() -> None:
    made = facts()
    assert made.plan is not None
    table = plan_table(made.plan, "yd", 14)
    assert [row[2] for row in table.rows] == [str(shot.balls) for shot in made.plan.shots]
    assert any("Expected: a charted carry" in words for words in plan_words(made.plan, "yd", 14))
    long = plan_session(PLAYER, whole_chart(MANY), Limits(balls=100, cap=2))
    assert len(long.shots) > 14
    rest = sum(shot.balls for shot in long.shots[14:])
    assert any(
        f"And {rest} balls of {len(long.shots) - 14} more shots" in words for words in plan_words(long, "yd", 14)
    )


def test_where_there_is_room_no_shot_of_the_plan_is_left_out(tmp_path: Path) -> None:
    long = plan_session(PLAYER, whole_chart(MANY), Limits(balls=28, cap=2))
    assert 20 < len(long.shots) < 26
    few = hit_groups(session_of(TYPICAL_BAG)[:2], [True] * 2, TYPICAL_BAG.swings)
    path = written(facts(plan=long, groups=few, drills=()), "a4", tmp_path)
    assert len(media_mm(path)) == 1
    assert "wedgelab plan shows all" not in words_of(path)
    # under a drill there is room for more than enough of a longer one, so no page is begun for the rest
    longer = plan_session(PLAYER, whole_chart(MANY), Limits(balls=50, cap=2))
    path = written(facts(plan=longer), "a4", tmp_path)
    assert len(media_mm(path)) == 1
    (left,) = re.findall(r"of (\d+) more shots: wedgelab plan shows all", words_of(path))
    assert 14 <= len(longer.shots) - int(left) < len(longer.shots)
    # where there is not room for enough, the plan begins a page and is whole there
    path = written(facts(plan=long, drills=(drill(), drill())), "a4", tmp_path)
    assert len(media_mm(path)) == 2
    assert "wedgelab plan shows all" not in words_of(path)


def test_the_key_names_the_markers_that_the_picture_has() -> None:
    (page,) = session_pages(facts(drills=(drill("ABC"),)), PAPER_MM["a4"])
    picture = next(ax for ax in page.figure.axes if ax is not page.ax)
    drawn = {
        (str(line.get_marker()), str(line.get_color())) for line in picture.lines if line.get_linestyle() == "None"
    }
    key = {(str(line.get_marker()), str(line.get_color())) for line in page.ax.lines if line.get_linestyle() == "None"}
    # hollow is a marker of any wedge in the picture, and a ring in the key
    assert key - {("o", "black")} == drawn
    assert {wedge_look(i)[1] for i in range(3)} < {marker for marker, _ in drawn}
