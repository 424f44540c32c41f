"""The session sheet: one page with everything in its place, whatever the session was."""

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
from wedgelab.render.paper import LEAST_PT, PAPER_MM, PaperSize, save_pages
from wedgelab.render.session_drill import marker_of
from wedgelab.render.session_parts import (
    MOST_LEARNED,
    WITHIN,
    hit_table,
    learned_table,
    learned_words,
    plan_table,
    plan_words,
)
from wedgelab.render.session_sheet import SAFETY, DrillResult, SessionFacts, session_pages
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


@pytest.mark.parametrize("size", ["a4", "letter"])
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
        "Next: 40 balls, about 33 minutes", "First 6 easy balls to warm up, 60 7:30; not logged.", "Notes", SAFETY[:40],
        "page 1 of 1", "standard air (15 C, 1013 hPa, dry, calm)",
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
    assert {row[6] for row in table.rows} == {WITHIN}
    assert "Every change is within doubt" in learned_words(made.learned, "m")
    certain = [Known(known.carry_m - 3.0 * (i == 4), 0.5) for i, known in enumerate(known_carries(PLAYER, TYPICAL_BAG))]
    learned = what_was_learned(TYPICAL_BAG, certain, known_carries(PLAYER, TYPICAL_BAG))
    assert [row[6] for row in learned_table(learned, "m").rows] == ["beyond doubt"] + [WITHIN] * 8
    assert "1 carry left the range that held it with eight chances in ten before" in learned_words(learned, "m")


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
HOSTILE = Bag((Wedge("<script>", 50.0), Wedge("$\\frac{1$", 58.0)), (SwingLength("a_b^c", 90.0),))


@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize(
    ("bag", "changes"),
    [
        (TYPICAL_BAG, {}),
        (TYPICAL_BAG, {"drills": (), "note": "", "ball": "", "conditions": Conditions()}),
        (TYPICAL_BAG, {"drills": (drill("ABCDEFGHIJKL", n=24), drill(chart=False), drill(n=1))}),
        (MANY, {}),
        (LONG, {"player": "A" * 200, "name": "B" * 200, "note": "many words " * 90, "ball": "C" * 200}),
        (HOSTILE, {"player": "<script>", "name": "$x$", "note": "=cmd()", "ball": "פיצ'ינג"}),
        (TYPICAL_BAG, {"plan": None, "no_plan": "every charted shot carries beyond the range's limit; change it"}),
    ],
    ids=["usual", "bare", "three drills", "many", "long", "hostile", "no plan"],
)  # fmt: skip
def test_nothing_leaves_the_page_or_touches(bag: Bag, changes: dict[str, Any], size: PaperSize) -> None:
    pages = session_pages(facts(bag, **changes), PAPER_MM[size])
    assert [fault for page in pages for fault in faults(page)] == []


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
    table = plan_table(made.plan, "yd")
    assert [row[2] for row in table.rows] == [str(shot.balls) for shot in made.plan.shots]
    assert any("Expected: a charted carry" in words for words in plan_words(made.plan, "yd"))
    long = plan_session(PLAYER, whole_chart(MANY), Limits(balls=100, cap=2))
    assert len(long.shots) > 14
    rest = sum(shot.balls for shot in long.shots[14:])
    assert any(f"And {rest} balls of {len(long.shots) - 14} more shots" in words for words in plan_words(long, "yd"))


def test_the_key_names_the_markers_that_the_picture_has() -> None:
    (page,) = session_pages(facts(drills=(drill("ABC"),)), PAPER_MM["a4"])
    picture = next(ax for ax in page.figure.axes if ax is not page.ax)
    drawn = {
        (str(line.get_marker()), str(line.get_color())) for line in picture.lines if line.get_linestyle() == "None"
    }
    key = {(str(line.get_marker()), str(line.get_color())) for line in page.ax.lines if line.get_linestyle() == "None"}
    # hollow is a marker of any wedge in the picture, and a ring in the key
    assert key - {("o", "black")} == drawn
    assert {marker_of(i) for i in range(3)} < {marker for marker, _ in drawn}
