"""JSON and CSV: one valid document, the promised keys, SI; labels harmless."""

import csv
import dataclasses
import io
import json
import math
from typing import Any

import pytest

from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.chart import AirNote, Chart, Today, build_chart
from wedgelab.choose import choose
from wedgelab.drill.machine import Ball, DrillPlan, DrillState, Guess, Skip, replay
from wedgelab.drill.scores import summarise
from wedgelab.prediction import Day, FlightEstimate, ShotKind
from wedgelab.render.choice_json import choice_document
from wedgelab.render.csvtext import chart_csv
from wedgelab.render.json import chart_document, document, drill_document, list_document
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.window import WindowRule

PLAYER = FakePredictor()
CHART = build_chart(PLAYER, TYPICAL_BAG, player="Ada")
# The promised keys of chart --json and choose --json, written out by hand
CELL_KEYS = {
    "wedge", "loft_deg", "swing", "swing_deg", "carry_m", "carry_sd_m", "carry_se_m", "spin_rpm", "spin_sd_rpm",
    "n_shots", "n_spin", "support", "spin_support",
}  # fmt: skip
OPTION_KEYS = {
    "wedge", "loft_deg", "swing_deg", "carry_m", "window_probability", "spin_rpm", "spin_sd_rpm", "spin_support",
    "support", "land_deg", "apex_m", "run_out_low_m", "run_out_m", "run_out_high_m", "flight_support",
}  # fmt: skip
CELL_COLUMNS = [
    "wedge", "loft_deg", "swing", "swing_deg", "carry_m", "carry_sd_m", "carry_se_m", "carry_p10_m", "carry_p90_m",
    "spin_rpm", "spin_sd_rpm", "spin_se_rpm", "n_shots", "n_spin", "support", "spin_support",
]  # fmt: skip
TODAY_KEYS = ["carry_today_m", "carry_today_se_m", "carry_today_p10_m", "carry_today_p90_m", "drift_today_m"]
FLIGHT_KEYS = [
    "land_deg", "apex_m", "air_time_s", "land_speed_mps", "land_spin_rpm", "run_out_low_m", "run_out_m",
    "run_out_high_m", "flight_support",
]  # fmt: skip
# head wind and a green above: 0.9 of the reference's carries, in the fake
DAY = Day(Conditions(air_temp_c=6.0, wind_mps=-8.0, cross_wind_mps=1.5), rise_m=2.0)
ON_A_DAY = build_chart(
    PLAYER, TYPICAL_BAG, player="Ada", reference=Conditions(air_temp_c=20.0), day=DAY, green="firm",
    air_note=AirNote(7, 2, -1.25, 3.5),
)  # fmt: skip
HOSTILE = ("<script>x</script>", '=cmd|"/c calc"!A1', "coach's", "+1", "-2", "@x", "a,b;c", 'say "54"', "＝1")


def read(text: str) -> Any:
    """Read strictly: exactly one document, and no NaN or Infinity, which are not JSON (RFC 8259, section 6)."""

    def refuse(name: str) -> float:
        raise AssertionError(name)

    return json.loads(text, parse_constant=refuse)


def test_the_chart_has_its_keys_and_its_numbers_in_si() -> None:
    read_back = read(chart_document(CHART))
    assert (read_back["schema"], read_back["player"], read_back["n_shots"], read_back["n_sessions"]) == (
        1,
        "Ada",
        63,
        4,
    )
    assert len(read_back["cells"]) == 9
    for cell in read_back["cells"]:
        assert set(cell) >= CELL_KEYS
        kind = ShotKind(cell["wedge"], cell["loft_deg"], cell["swing_deg"])
        assert cell["carry_m"] == pytest.approx(fake_carry_m(kind), abs=1e-6)
    assert set(read_back["gaps"][0]) == {"wedge", "next_wedge", "swing", "gap_m", "gap_se_m"}
    assert len(read_back["gaps"]) == 6
    assert read_back["next"]["balls"] == 3


def test_what_was_not_asked_for_adds_no_key_and_no_value() -> None:
    read_back = read(chart_document(CHART))
    assert [list(cell) for cell in read_back["cells"]] == [CELL_COLUMNS] * 9
    assert (read_back["day"], read_back["air_note"], read_back["green"]) == (None, None, None)
    assert set(read_back["reference"].values()) == {None}  # the standard air
    choice = read(choice_document(choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule())))
    assert not set(TODAY_KEYS) & set(choice["options"][0])
    assert (choice["day"], choice["green"]) == (None, "normal")


def test_a_day_stands_beside_the_reference_and_changes_nothing_of_it() -> None:
    plain, read_back = read(chart_document(CHART)), read(chart_document(ON_A_DAY))
    for cell, same in zip(read_back["cells"], plain["cells"], strict=True):
        assert list(cell) == CELL_COLUMNS + TODAY_KEYS + FLIGHT_KEYS
        assert {key: cell[key] for key in CELL_COLUMNS} == same
        # the fake's day, by hand: 1 - 0.08 - 0.02; its doubt sqrt(0.003 + 0.0004); firm ground of its own
        assert cell["carry_today_m"] == pytest.approx(0.9 * cell["carry_m"], abs=1e-6)
        assert cell["carry_today_se_m"] == pytest.approx(0.9 * cell["carry_m"] * math.sqrt(0.0034), abs=1e-6)
        assert cell["carry_today_p10_m"] < cell["carry_today_m"] < cell["carry_today_p90_m"]
        assert cell["drift_today_m"] == 1.5
        assert cell["apex_m"] == pytest.approx(0.9 * cell["carry_m"] / 4, abs=1e-6)
        assert (cell["run_out_low_m"], cell["run_out_m"], cell["run_out_high_m"]) == (2.5, 4.0, 8.0)
        assert cell["flight_support"] == ("measured" if cell["swing"] == "9:00" else "estimate")
    carry = {(cell["wedge"], cell["swing"]): cell["carry_today_m"] for cell in read_back["cells"]}
    for gap in read_back["gaps"]:  # the day's own
        longer, shorter = (carry[gap[key], gap["swing"]] for key in ("wedge", "next_wedge"))
        assert gap["gap_m"] == pytest.approx(longer - shorter, abs=2e-6)
    for key in ("next", "n_shots", "n_sessions"):
        assert read_back[key] == plain[key]
    assert read_back["day"] == {
        "air_temp_c": 6.0, "station_pressure_hpa": None, "humidity_pct": None, "altitude_m": None, "wind_mps": -8.0,
        "cross_wind_mps": 1.5, "rise_m": 2.0,
    }  # fmt: skip
    assert read_back["reference"]["air_temp_c"] == 20.0
    assert read_back["air_note"] == {"n_shots": 7, "n_sessions": 2, "low_m": -1.25, "high_m": 3.5}


def test_a_document_with_run_outs_says_for_which_green() -> None:
    # the same numbers mean nothing without it
    assert read(chart_document(ON_A_DAY))["green"] == "firm"
    choice = choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule(), green="soft")
    assert read(choice_document(choice))["green"] == "soft"


def test_an_option_on_a_day_has_both_carries() -> None:
    choice = choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule(), day=DAY, reference=Conditions(air_temp_c=20.0))
    read_back = read(choice_document(choice))
    assert len(read_back["options"]) > 1
    for option in read_back["options"]:
        assert set(option) >= {*OPTION_KEYS, *TODAY_KEYS, *FLIGHT_KEYS}
        assert not {"today", "flight", "drift_m"} & set(option)
        kind = ShotKind(option["wedge"], option["loft_deg"], option["swing_deg"])
        assert option["carry_m"] == pytest.approx(fake_carry_m(kind), abs=1e-6)
        assert option["carry_today_m"] == pytest.approx(0.9 * fake_carry_m(kind), abs=1e-6)
    assert (read_back["day"]["rise_m"], read_back["reference"]["air_temp_c"]) == (2.0, 20.0)


NAN = math.nan
NEVER_UP = dataclasses.replace(
    ON_A_DAY.cells[0],
    today=Today(None, None, None, None, None),
    # what a ball without a landing has for a flight
    flight=FlightEstimate(NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, "estimate"),
)


def test_a_ball_that_never_gets_up_has_null_and_an_empty_cell_for_its_numbers() -> None:
    chart = dataclasses.replace(ON_A_DAY, rows=((NEVER_UP,),))
    (cell,) = read(chart_document(chart))["cells"]
    numbers = [*TODAY_KEYS, *(key for key in FLIGHT_KEYS if key != "flight_support")]
    assert {cell[key] for key in numbers} == {None}
    assert cell["carry_m"] == pytest.approx(ON_A_DAY.cells[0].carry_m, abs=1e-6)
    (row,) = csv.DictReader(io.StringIO(chart_csv(chart)))
    assert {row[key] for key in numbers} == {""}
    assert float(row["carry_m"]) == cell["carry_m"]


def test_the_options_have_their_keys_best_first() -> None:
    choice = choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule())
    read_back = read(choice_document(choice))
    assert (read_back["schema"], read_back["target_m"], read_back["want"]) == (1, 60.0, "window")
    assert (read_back["window_low_m"], read_back["window_high_m"]) == (57.0, 63.0)  # 5 % of 60
    assert all(set(option) >= OPTION_KEYS for option in read_back["options"])
    chances = [option["window_probability"] for option in read_back["options"]]
    assert len(chances) == len(choice.options) > 1
    assert chances == sorted(chances, reverse=True)
    assert read_back["verdict"].startswith(f"{choice.best.wedge} at {choice.best.swing}: ")


# the promised keys of drill --json, written out by hand
PLAN_KEYS = {
    "seed", "calls_m", "low_m", "high_m", "order", "focus", "hold", "feedback", "block", "guess_first", "advice",
    "test_of", "window", "scale",
}  # fmt: skip
BALL_KEYS = {
    "call_no", "call_m", "target_m", "window_m", "guess_m", "shot_id", "wedge", "loft_deg", "swing", "swing_deg",
    "carry_m", "advice_shown", "chart_carry_m", "chart_carry_sd_m", "chart_carry_se_m", "chart_window_probability",
    "best_window_probability", "miss_m", "inside",
}  # fmt: skip
SUMMARY_KEYS = {
    "total", "bands", "wedges", "advice", "guess", "ratio", "split", "comparison", "best_share", "worst_m",
    "worst_share", "window_now_m", "window_call_m", "skipped", "left",
}  # fmt: skip


def test_a_drill_says_its_plan_its_balls_and_its_summary() -> None:
    plan = DrillPlan(
        (50.0, 60.0, 70.0), 45.0, 75.0, 9, WindowRule(), "rising", "weak", 0.6, 1.0, "block", 5,
        guess_first=True, advice=False, test_of="d0",
    )  # fmt: skip
    balls = [Ball("s1", "55", 55.0, 90.0, 53.0, "9:00", False, 51.0, 3.0, 1.0, 0.5, 0.75)]
    state = replay(plan, [Guess(54.0), *balls, Skip()])
    read_back = read(drill_document("d1", state, summarise(state, lambda low, high: f"{low:g}-{high:g}")))
    assert set(read_back) == {
        "schema",
        "kind",
        "drill_id",
        "is_over",
        "balls",
        "error_blocks",
        "summary",
        "planned_shots",
        *PLAN_KEYS,
    }
    assert (read_back["schema"], read_back["kind"], read_back["drill_id"], read_back["is_over"]) == (
        1, "drill", "d1", False,
    )  # fmt: skip
    assert {key: read_back[key] for key in PLAN_KEYS} == {
        "seed": 9, "calls_m": [50.0, 60.0, 70.0], "low_m": 45.0, "high_m": 75.0, "order": "rising", "focus": "weak",
        "hold": 0.6, "feedback": "block", "block": 5, "guess_first": True, "advice": False, "test_of": "d0",
        "window": {"share": 0.05, "least_m": 2.0, "fixed_m": None}, "scale": 1.0,
    }  # fmt: skip
    (ball,) = read_back["balls"]
    assert ball == {
        "call_no": 1, "call_m": 50.0, "target_m": 50.0, "window_m": 2.5, "guess_m": 54.0, "shot_id": "s1",
        "wedge": "55", "loft_deg": 55.0, "swing": "9:00", "swing_deg": 90.0, "carry_m": 53.0, "advice_shown": False,
        "chart_carry_m": 51.0, "chart_carry_sd_m": 3.0, "chart_carry_se_m": 1.0, "chart_window_probability": 0.5,
        "best_window_probability": 0.75, "miss_m": 3.0, "inside": False,
    }  # fmt: skip
    assert set(ball) == BALL_KEYS
    summary = read_back["summary"]
    assert (summary["total"]["n"], summary["skipped"], summary["left"]) == (1, 1, 1)
    assert (summary["total"]["expected_share"], summary["advice"][0]["label"]) == (0.5, "without advice")
    assert (summary["ratio"], summary["split"], summary["comparison"]) == (None, None, None)
    assert (summary["best_share"], summary["worst_m"], summary["worst_share"]) == (0.75, 3.0, 1.0)
    assert set(summary) == SUMMARY_KEYS
    assert summary["window_now_m"] == pytest.approx(2.5 * math.exp(0.18), abs=1e-6)
    assert summary["guess"]["ce_m"] == 1.0


def test_a_drill_of_enough_balls_has_every_part_of_its_summary() -> None:
    calls = (50.0, 60.0, 70.0, 55.0, 65.0, 75.0)
    plan = DrillPlan(calls, 50.0, 75.0, 9)
    state = replay(
        plan, [Ball(f"s{i}", "55", 55.0, 90.0, c + i - 2.0, "", True, c, 3.0, 1.0, 0.5) for i, c in enumerate(calls)]
    )
    document_of = drill_document("d", state, summarise(state, lambda low, high: f"{low:g}-{high:g}", earlier=state))
    summary = read(document_of)["summary"]
    assert set(summary["ratio"]) == {"e_ratio", "e_ratio_low", "e_ratio_high", "n_far_off"}
    assert summary["ratio"]["n_far_off"] == 0
    assert set(summary["split"]) == {
        "n_split", "split_e_m", "choice_m", "chart_m", "chart_low_m", "chart_high_m", "execution_m",
        "expected_execution_m", "together_m2",
    }  # fmt: skip
    assert (summary["split"]["n_split"], summary["split"]["expected_execution_m"]) == (6, 3.0)
    assert summary["split"]["chart_m"] == 0.5
    assert set(summary["comparison"]) == {
        "n", "n_advised", "then_e_m", "now_e_m", "then_inside", "now_inside", "e_ratio", "e_ratio_low",
        "e_ratio_high",
    }  # fmt: skip
    assert summary["comparison"]["e_ratio"] == 1.0


def test_empty_documents_are_valid_and_have_the_same_keys() -> None:
    plan = DrillPlan((50.0,), 50.0, 50.0, 9)
    full = choice_document(choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule()))
    assert read(chart_document(None)).keys() == read(chart_document(CHART)).keys()
    assert read(choice_document(None)).keys() == read(full).keys()
    assert read(chart_document(None))["cells"] == []
    assert read(choice_document(None))["options"] == []
    assert read(drill_document("d", DrillState(plan), None))["summary"] is None
    assert read(list_document("shots", "shots", [])) == {"schema": 1, "kind": "shots", "shots": []}


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_number_that_json_cannot_hold_is_a_fault_and_never_written(bad: float) -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        document("x", carry_m=bad)


def hostile_chart(label: str) -> Chart:
    swings = (SwingLength(label, 45.0), SwingLength("9:00", 90.0))
    return build_chart(PLAYER, Bag((Wedge(label, 54.0), Wedge("58", 58.0)), swings), player=label)


@pytest.mark.parametrize("label", HOSTILE)
def test_hostile_labels_come_through_json_unchanged(label: str) -> None:
    read_back = read(chart_document(hostile_chart(label)))
    assert read_back["player"] == label
    assert [cell["wedge"] for cell in read_back["cells"]] == [label, label, "58", "58"]
    assert read_back["cells"][0]["swing"] == label


@pytest.mark.parametrize("label", HOSTILE)
def test_no_cell_of_the_csv_can_be_run_by_a_spreadsheet(label: str) -> None:
    rows = list(csv.reader(io.StringIO(chart_csv(hostile_chart(label)))))
    assert len(rows) == 5
    assert all(len(row) == len(rows[0]) for row in rows)
    texts = [rows[1][rows[0].index(name)] for name in ("wedge", "swing")]
    assert all(text.endswith(label) for text in texts)
    assert not any(text.startswith(("=", "+", "-", "@", "＝")) for row in rows for text in row)


def test_the_csv_has_every_column_of_the_cells_in_si() -> None:
    rows = list(csv.DictReader(io.StringIO(chart_csv(CHART))))
    assert list(rows[0]) == CELL_COLUMNS
    assert set(rows[0]) >= CELL_KEYS
    assert [float(row["carry_m"]) for row in rows] == [pytest.approx(cell.carry_m, abs=1e-6) for cell in CHART.cells]
    assert [row["swing"] for row in rows] == ["7:30", "9:00", "10:30"] * 3


def test_the_csv_on_a_day_has_the_columns_and_values_of_the_document() -> None:
    rows = list(csv.DictReader(io.StringIO(chart_csv(ON_A_DAY))))
    cells = read(chart_document(ON_A_DAY))["cells"]
    assert list(rows[0]) == CELL_COLUMNS + TODAY_KEYS + FLIGHT_KEYS
    assert rows == [{key: str(value) for key, value in cell.items()} for cell in cells]


def test_an_empty_chart_is_a_header() -> None:
    assert chart_csv(None).splitlines() == [",".join(CELL_COLUMNS)]
