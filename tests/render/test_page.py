"""The page as text: the numbers and words that stand in it."""

import json
import re
from dataclasses import replace

import pytest

from tests.fakes import TYPICAL_BAG, FakePredictor
from tests.render.pages import DRILLS, Outline, facts_of
from wedgelab.dispersion import dispersions
from wedgelab.prediction import Day
from wedgelab.render.page import MOST_DRILLS, MOST_SHOTS, page_html
from wedgelab.render.words import (
    DAY_RULES_LINE,
    RULES_LINE,
    SUPPORT_LEGEND,
    carry_text,
    percent_text,
    range_text,
    signed_length,
    spin_text,
)
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.units import LengthUnit, format_length, format_number, from_unit
from wedgelab.window import WindowRule

FACTS = facts_of()
PAGE = page_html(FACTS)


def part_of(page: str, section: str) -> Outline:
    """Return one section of the page."""
    found = re.search(rf'<section id="{section}".*?</section>', page, re.DOTALL)
    assert found is not None
    return Outline(found[0])


@pytest.mark.parametrize("unit", ["yd", "m"])
def test_the_chart_has_the_numbers_of_the_chart_command(unit: LengthUnit) -> None:
    facts = facts_of(unit=unit, dispersions=())
    rows = part_of(page_html(facts), "chart").rows
    assert rows[0] == ["wedge", "7:30", "9:00", "10:30"]
    assert [row[0] for row in rows[1:]] == ["50", "55", "60"]
    for row, cells in zip(rows[1:], facts.chart.rows, strict=True):
        for shown, cell in zip(row[1:], cells, strict=True):
            assert shown == " ".join(
                [
                    cell.swing,  # seen only where the columns do not fit
                    carry_text(cell.carry_m, cell.support, unit),
                    range_text(cell.carry_p10_m, cell.carry_p90_m, unit),
                    spin_text(cell.spin_rpm, cell.spin_support),
                    "7 balls",
                ]
            )


def test_the_table_has_every_fifth_target_with_the_best_shot_and_the_next_wedge() -> None:
    rows = part_of(PAGE, "choice").rows[1:]
    full = [row for row in FACTS.rows if round(row.target_m / from_unit(1.0, "yd")) % 5 == 0]
    assert len(full) > 10
    assert [row[0] for row in rows if len(row) == 5] == [format_length(row.target_m, "yd") for row in full]
    i = pairs = 0
    for row in full:
        best, other = row.best, row.other
        assert best is not None
        star = "" if best.swing in TYPICAL_BAG.swings else " *"
        assert rows[i][1:] == [
            f"{best.wedge.label} {best.swing.label}{star}",
            carry_text(best.prediction.carry_m, best.prediction.support, "yd"),
            spin_text(best.prediction.spin_rpm, best.prediction.spin_support),
            percent_text(best.window_probability),
        ]
        i += 1
        if other is None:
            continue
        pairs += 1
        star = "" if other.swing in TYPICAL_BAG.swings else " *"
        assert rows[i] == [
            f"or {other.wedge.label} {other.swing.label}{star}, {percent_text(other.window_probability)} inside"
        ]
        i += 1
    assert i == len(rows)
    assert pairs > 10


def test_the_finder_has_every_target_with_the_numbers_of_the_table() -> None:
    outline = part_of(PAGE, "choice")
    every = json.loads(outline.scripts[0])
    assert [row["target"] for row in every] == [format_length(row.target_m, "yd") for row in FACTS.rows]
    shown = {row[0]: row for row in outline.rows if len(row) == 5}
    both = [row for row in every if row["target"] in shown]
    assert len(both) > 10
    for row in both:
        words = f"{row['wedge']} {row['swing']}".replace("\N{NO-BREAK SPACE}", " ")
        assert shown[row["target"]] == [row["target"], words, row["carry"], row["spin"], row["chance"]]
    edges = {name: value for _, got in outline.elements if got.get("id") == "slide" for name, value in got.items()}
    assert (edges["min"], edges["max"]) == (every[0]["target"], every[-1]["target"])
    first, start, last = (int(str(edges[name])) for name in ("min", "value", "max"))
    assert first < start < last


def test_a_short_reach_shows_every_target() -> None:
    bag = Bag((Wedge("60", 60.0),), (SwingLength("9:00", 90.0),))
    facts = facts_of(bag, dispersions=())
    rows = part_of(page_html(facts), "choice").rows[1:]
    assert [row[0] for row in rows] == [format_length(row.target_m, "yd") for row in facts.rows]


def test_a_target_in_a_hole_says_so() -> None:
    apart = FakePredictor(carry_m=lambda kind: 40.0 if kind.loft_deg == 60.0 else 99.0, carry_sd_m=lambda _: 0.4)
    bag = Bag((Wedge("60", 60.0), Wedge("50", 50.0)), TYPICAL_BAG.swings)
    facts = facts_of(bag, unit="m", window=WindowRule(fixed_m=1.5), predictor=apart, dispersions=())
    rows = part_of(page_html(facts), "choice").rows
    assert ["70", "no shot of the bag"] in rows


def test_gaps_have_the_sentences_and_lists_of_the_gaps_command() -> None:
    from wedgelab.render.gaps_words import beside, is_sure, sentences

    assert FACTS.gaps is not None
    outline = part_of(PAGE, "gaps")
    for sentence in sentences(FACTS.gaps, "yd"):
        assert sentence in outline.text
    holes, stretches = FACTS.gaps.holes, FACTS.gaps.stretches
    assert len(holes) > 0 or len(stretches) > 0
    assert len(outline.rows) == sum(1 + len(rows) for rows in (holes, stretches) if rows)
    for one in stretches:
        ends = f"{format_length(one.low_m, 'yd', 1)} to {format_length(one.high_m, 'yd', 1)}"
        where = beside(one) if is_sure(one) else f"maybe {beside(one)}"
        assert any(row[0] == f"{ends} {where}" for row in outline.rows)
    assert any(not is_sure(one) for one in stretches)


def test_drills_are_listed_latest_first_with_what_the_chart_expected() -> None:
    rows = part_of(PAGE, "drills").rows[1:]
    assert [row[0] for row in rows] == ["2026-06-10 3 balls", "2026-06-03 5 balls"]
    for row, drill in zip(rows, reversed(DRILLS), strict=True):
        assert row[1] == f"{signed_length(drill.ce_m, 'yd')} {format_length(drill.ve_m, 'yd', 1)}"
        assert row[2].split()[0] == format_length(drill.e_m, "yd", 1)
        assert row[2].endswith(f" {format_length(drill.expected_e_m, 'yd', 1)}")
        assert row[3].startswith(percent_text(drill.share))
        assert drill.expected_share is not None
        assert row[3].endswith(f" {percent_text(drill.expected_share)}")
    # three balls have no ratio, five have one with its interval
    assert rows[0][4] == "-"
    five = DRILLS[0]
    assert five.e_ratio is not None
    assert rows[1][4].split()[0] == format_number(five.e_ratio, 2)
    assert rows[1][4].split()[1] == f"{format_number(five.e_ratio_low, 2)}-{format_number(five.e_ratio_high, 2)}"
    assert part_of(PAGE, "drills").rows[0][2:] == [
        "E, all chart, solid", "inside 80 % chart, solid", "E over chart",
    ]  # fmt: skip


def test_without_a_chart_at_the_time_nothing_is_said_of_one() -> None:
    blank = replace(
        DRILLS[0], expected_e_m=None, expected_share=None, e_ratio=None, e_ratio_low=None, e_ratio_high=None
    )
    outline = part_of(page_html(replace(FACTS, drills=(blank,), dispersions=())), "drills")
    assert "chart" not in outline.text
    assert len(outline.rows[0]) == len(outline.rows[1]) == 4


def test_many_drills_leave_out_the_oldest_and_say_so() -> None:
    many = tuple(replace(DRILLS[0], began_at=f"2026-05-{i:02d}", is_held=i == 20) for i in range(1, 21))
    outline = part_of(page_html(replace(FACTS, drills=many, dispersions=())), "drills")
    assert len(outline.rows) == 1 + MOST_DRILLS
    assert outline.rows[1][0] == "2026-05-20 5 balls, held"
    assert "(8 older left out)" in outline.text


def test_without_sideways_misses_drills_and_gaps_there_is_a_sentence_instead() -> None:
    outline = Outline(page_html(replace(FACTS, dispersions=dispersions([], TYPICAL_BAG), drills=(), gaps=None)))
    for sentence in (
        "No sideways miss is logged yet, so there is nothing to draw.",
        "No drill is logged yet.",
        "No target can be answered with the stock shots.",
    ):
        assert sentence in outline.text
    assert [tag for tag, _ in outline.elements].count("svg") == 1


def test_a_wedge_without_sideways_misses_is_left_out() -> None:
    every = FACTS.dispersions
    shown = part_of(page_html(replace(FACTS, dispersions=(replace(every[0], n=0, swings=()), *every[1:]))), "sides")
    assert [tag for tag, _ in shown.elements].count("svg") == len(every) - 1


def test_of_a_day_the_days_carries_are_large_and_the_usual_ones_beside() -> None:
    day = Day(Conditions(wind_mps=3.0), rise_m=-2.0)
    facts = facts_of(day=day, shots=(), dispersions=())
    page = page_html(facts)
    cell, today = facts.chart.rows[0][1], facts.chart.rows[0][1].today
    assert today is not None
    assert today.carry_today_p10_m is not None
    assert today.carry_today_p90_m is not None
    shown = part_of(page, "chart").rows[1][2]
    assert shown == (
        f"9:00 {format_length(today.carry_today_m, 'yd')} ±{format_length(today.carry_today_se_m, 'yd', 1)} "
        f"{range_text(today.carry_today_p10_m, today.carry_today_p90_m, 'yd')} "
        f"usual {carry_text(cell.carry_m, cell.support, 'yd')} ({spin_text(cell.spin_rpm, 'measured')}) 7 balls"
    )
    assert format_length(today.carry_today_m, "yd") != format_length(cell.carry_m, "yd")
    text = Outline(page).text
    assert "For a day: tail wind 3 m/s, green 2.2 yd below the ball. Usual carries: standard air" in text
    assert DAY_RULES_LINE in text
    assert RULES_LINE not in text


def test_a_day_on_which_nothing_gets_up_to_the_green() -> None:
    facts = facts_of(day=Day(rise_m=50.0), shots=(), dispersions=())
    lost = replace(facts.chart.rows[0][0], today=replace(facts.chart.rows[0][0].today, carry_today_m=None))  # type: ignore[type-var]  # it has one
    chart = replace(facts.chart, rows=((lost, *facts.chart.rows[0][1:]), *facts.chart.rows[1:]))
    outline = Outline(page_html(replace(facts, chart=chart, rows=(), gaps=None)))
    assert outline.rows[1][1].startswith("7:30 - - usual ")
    assert "No carry of the bag can be answered." in outline.text
    assert "answers" not in outline.values("id")


def test_the_head_says_whose_how_much_and_for_what_air() -> None:
    text = Outline(PAGE).text
    assert "Ada Wedge carries in yd. Last shot 2026-06-03 . Learnt from 63 shots in 4 sessions." in text
    assert "Carries for standard air (15 C, 1013 hPa, dry, calm)." in text
    assert SUPPORT_LEGEND in text
    assert RULES_LINE in text
    assert text.count("5 % each side, at least 2.2 yd") >= 1


def test_many_swing_lengths_stack_on_a_narrow_screen() -> None:
    swings = tuple(SwingLength(f"s{i}", 30.0 + 15.0 * i) for i in range(8))
    page = page_html(facts_of(Bag(TYPICAL_BAG.wedges, swings), dispersions=()))
    assert '<table class="chart many" role="table">' in page
    assert '<table class="chart" role="table">' in PAGE
    assert '<section id="chart" class="wide"' in page


def test_without_a_name_it_has_a_title_all_the_same() -> None:
    assert "<title>Wedges: wedge carries</title>" in page_html(facts_of(player="", dispersions=()))


def test_the_same_facts_give_the_same_bytes_and_not_too_many() -> None:
    assert page_html(facts_of()) == PAGE
    assert len(PAGE.encode()) < 250_000


def test_signs_are_explained_only_where_they_are_drawn() -> None:
    explained = {
        "curves": "Signs: the logged balls, hollow where taken for mishits.",
        "sides": "; a broken edge rests on all swings of that wedge.",
        "drills": "hollow where the window was held. A diamond is a test.",
    }
    odd = (replace(DRILLS[0], is_held=True), replace(DRILLS[1], is_test=True))
    page = page_html(replace(FACTS, drills=odd))
    for section, words in explained.items():
        assert words in part_of(page, section).text
    few = replace(FACTS, mishits=frozenset(), drills=(replace(DRILLS[0], expected_e_m=None),), dispersions=())
    plain = Outline(page_html(few)).text
    for words in ("hollow", "broken edge", "diamond", "the bar across"):
        assert words not in plain
    assert "Shaded" in part_of(PAGE, "gaps").text


def test_of_very_many_balls_the_latest_are_drawn_and_that_is_said() -> None:
    shots = tuple(replace(shot, shot_id=f"{i}") for i, shot in enumerate(FACTS.shots * 20))
    page = page_html(replace(FACTS, shots=shots, mishits=frozenset(), dispersions=()))
    section = re.search(r'<section id="curves".*?</section>', page, re.DOTALL)
    assert section is not None
    assert f"the latest {MOST_SHOTS} balls." in section[0]
    # a sign a ball; the axes have less than thirty marks
    assert MOST_SHOTS <= section[0].count("<use") < MOST_SHOTS + 30
