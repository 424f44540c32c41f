"""Why the chart says so, in words and in JSON: every number of the report, 80 columns, no command that is not there."""

import dataclasses
import json
import re
from pathlib import Path
from typing import Any, get_args

import pytest
from wcwidth import wcswidth

from wedgelab.cli.main import COMMANDS
from wedgelab.fitreport import (
    Distrusted,
    DistrustReason,
    FitReport,
    LoftLearnt,
    MovedReading,
    MoveLearnt,
    SessionLearnt,
    SpreadLearnt,
    SwingLearnt,
    WedgeDoubt,
)
from wedgelab.render.json import chart_document, document, shots_document, why_facts
from wedgelab.render.why import ROWS_SHOWN, why_text
from wedgelab.shots import SHOT_COLUMNS, Shot
from wedgelab.units import LengthUnit

NAMES = Path(__file__).resolve().parents[2] / "docs/names.md"
WIDE = "楔" * 40
ONE_WORD = "n" * 40


def ball(index: int, reason: DistrustReason, carry_m: float, chance: float = 0.97) -> Distrusted:
    return Distrusted(index, chance, carry_m, 60.0, 55.0, 66.0, reason)


REPORT = FitReport(
    n_shots=30,
    n_sessions=4,
    n_others=0,
    n_solid=28,
    n_spin=12,
    wedge="54",
    loft_deg=54.0,
    curve=(
        SwingLearnt("8:00", 60.0, 45.0, 0.8, 40.0, 14.0, 1.125, 21.0, 0.5, 20.0, 4.0, 1.05),
        SwingLearnt("9:00", 90.0, 48.0, 0.9, 50.0, 15.0, 0.96, 25.0, 0.6, 25.0, 4.4, 1.0),
    ),
    loft=LoftLearnt(90.0, 46.0, 58.5, -2.1, 0.1, -1.8, 0.5),
    spreads=(
        SpreadLearnt("8:00", 60.0, 0.061, 0.055, 0.043, 0.07),
        SpreadLearnt("9:00", 90.0, 0.058, 0.052, 0.041, 0.07),
    ),
    sessions=SessionLearnt(4, 0.017, 0.012, 0.014, 0.015),
    moves=(),
    mishit_share=0.08,
    mishit_prior_share=0.05,
    doubts=(WedgeDoubt("46", 46.0, 0.24, 0.018, 0.075), WedgeDoubt("lob", 58.5, 0.28, 0.0252, 0.09)),
    distrusted=(ball(1, "short", 40.0), ball(2, "slip", 6.0)),
    warnings=(),
)  # fmt: skip


def a_log(make_shot: Any, n: int = 30, **changes: Any) -> list[Shot]:
    return [make_shot(shot_id=f"{i:08d}-0000-4000-8000-000000000000", **changes) for i in range(n)]


def said(text: str) -> str:
    """The text without its line breaks."""
    return " ".join(text.split())


def row(text: str, label: str) -> list[str]:
    (found,) = [line.split() for line in text.splitlines() if line.startswith(label)]
    return found


def changed(**changes: Any) -> FitReport:
    return dataclasses.replace(REPORT, **changes)


def test_the_numbers_of_the_report_stand_in_metres_and_metres_a_second(make_shot: Any) -> None:
    text = why_text(REPORT, a_log(make_shot), "m")
    first = [line.split() for line in text.splitlines() if line.startswith("8:00")]
    assert first[0] == ["8:00", "45", "±0.8", "40", "±14", "+13", "%", "21", "±0.5", "20", "±4", "+5", "%"]
    assert first[1] == ["8:00", "±6.1", "%", "±5.5", "%", "±4.3", "%", "±7.0", "%"]
    second = next(line for line in text.splitlines() if line.startswith("9:00"))
    assert second.split()[5:7] == ["-4", "%"]
    assert second.endswith(" 0 %")
    assert row(text, "46 ") == ["46", "±24", "%", "±1.8", "%", "8", "%"]
    assert row(text, "lob (58.5)") == ["lob", "(58.5)", "±28", "%", "±2.5", "%", "9", "%"]
    flat = said(text)
    assert "each degree of loft from 46 to 58.5 costs 2.1 ±0.1 m (others: 1.8 ±0.5 m)." in flat
    assert "From day to day your carries move by ±1.7 % (others: ±1.2 %); 4 sessions tell it, which is few." in flat
    assert "About 8 % of your balls are mishits (others: 5 %)." in flat
    assert "Your 30 shots in 4 sessions made it yours ('you'). 28 of them look solid; 2 count for little" in flat
    assert row(text, "00000001") == ["00000001", "2026-06-03", "54", "9:00", "40.0", "55-66", "97", "%", "short"]


def test_yards_come_with_miles_an_hour(make_shot: Any) -> None:
    text = why_text(REPORT, a_log(make_shot), "yd")
    # by hand, with 1 yd = 0.9144 m and 1 mph = 0.44704 m/s (NIST SP 811, appendix B.8)
    first = next(line.split() for line in text.splitlines() if line.startswith("8:00"))
    assert first == ["8:00", "49", "±0.9", "44", "±15", "+13", "%", "47", "±1.1", "45", "±9", "+5", "%"]
    assert "costs 2.3 ±0.1 yd (others: 2.0 ±0.5 yd)" in said(text)
    assert row(text, "00000002")[4:6] == ["6.6", "60-72"]
    assert "carry yd" in text
    assert "ball mph" in text


@pytest.mark.parametrize("unit", ["yd", "m"])
@pytest.mark.parametrize("label", ["54", ONE_WORD, WIDE])
@pytest.mark.parametrize("is_file", [True, False])
def test_no_line_is_wider_than_80_columns(make_shot: Any, unit: LengthUnit, label: str, is_file: bool) -> None:
    far = 228.0
    odd = tuple(
        Distrusted(i, 1.0, far, 228.0, 100.0, 240.0, reason) for i, reason in enumerate(get_args(DistrustReason))
    )
    wide = changed(
        wedge=label,
        curve=(SwingLearnt(label, 60.0, far, 20.5, far, 90.0, 11.25, 70.0, 10.5, 70.0, 10.0, 10.5),),
        spreads=(SpreadLearnt(label, 60.0, 0.255, 0.055, 0.243, 0.17),),
        doubts=(WedgeDoubt(label, 58.5, 0.28, 0.255, 0.99),),
        moves=tuple(MoveLearnt(9, 88, reading, 11.25, 1.0) for reading in get_args(MovedReading)),
        distrusted=odd,
        warnings=("a long sentence of the fit, " * 6,),
    )
    text = why_text(wide, a_log(make_shot, wedge=label, swing=label), unit, is_file=is_file)
    assert max(wcswidth(line) for line in text.splitlines()) <= 80
    assert all(line == line.rstrip() for line in text.splitlines())


def test_what_can_be_put_right_comes_first_and_what_the_player_said_last(make_shot: Any) -> None:
    reasons: list[DistrustReason] = ["marked", "short", "long", "other readings", "slip", "slip"]
    carries = [50.0, 40.0, 80.0, 60.0, 20.0, 600.0]
    odd = tuple(ball(i, reason, carry) for i, (reason, carry) in enumerate(zip(reasons, carries, strict=True)))
    text = why_text(changed(distrusted=odd), a_log(make_shot), "m")
    shown = [line.split()[0] for line in text.splitlines() if re.match(r"\d{8} ", line)]
    assert shown == ["00000005", "00000004", "00000003", "00000002", "00000001", "00000000"]
    for reason in reasons:
        assert f"{reason}: " in text


def test_only_the_reasons_that_occur_are_explained(make_shot: Any) -> None:
    text = why_text(REPORT, a_log(make_shot), "m")
    assert "slip: " in text
    assert "short: " in text
    assert not any(f"{reason}: " in text for reason in ("long", "marked", "other readings"))


def test_more_distrusted_balls_than_fit_are_counted_and_the_way_to_them_is_named(make_shot: Any) -> None:
    odd = tuple(ball(i, "short", 40.0) for i in range(ROWS_SHOWN + 3))
    text = why_text(changed(distrusted=odd), a_log(make_shot), "m")
    assert len(re.findall(r"^\d{8} ", text, re.MULTILINE)) == ROWS_SHOWN
    assert f"The first {ROWS_SHOWN} of {ROWS_SHOWN + 3}; all of them: wedgelab chart --why --json" in text


def test_the_advice_names_only_what_there_is(make_shot: Any, cli: Any) -> None:
    flat = said(why_text(REPORT, a_log(make_shot), "m"))
    assert "wedgelab shots delete ID" in flat
    for name in re.findall(r"wedgelab (\w+)", flat):
        assert name in COMMANDS
    words = cli.ok("log", "--help").out
    assert "--strike" in flat
    assert "--session" in flat
    assert all(option in words for option in ("--strike [solid|off]", "--session NAME"))
    assert "Delete shots by id" in cli.ok("shots", "delete", "--help").out


def test_a_file_is_put_right_in_the_file(make_shot: Any) -> None:
    text = why_text(REPORT, a_log(make_shot), "m", is_file=True)
    assert "Put it right in the file." in text
    assert "shots delete" not in text
    assert "00000001" not in text  # ids that were made for this one reading
    assert "--strike" not in text
    slip, short = (line.split() for line in text.splitlines() if line.startswith("2026-06-03"))
    assert slip == ["2026-06-03", "54", "9:00", "6.0", "55-66", "97", "%", "slip"]
    assert short[-1] == "short"


def test_balls_that_the_player_marked_ask_for_nothing(make_shot: Any) -> None:
    text = why_text(changed(distrusted=(ball(1, "marked", 40.0),)), a_log(make_shot), "m")
    assert "1 ball counts for little" in text
    assert "Nothing is to be done about them." in text
    assert "shots delete" not in text


def test_a_clean_log_says_so(make_shot: Any) -> None:
    text = why_text(changed(distrusted=(), n_solid=30), a_log(make_shot), "m")
    assert "Every one of them looks solid." in said(text)
    assert "No ball is distrusted." in text
    assert "slip" not in text


def test_one_session_claims_nothing_about_days_and_one_loft_nothing_about_loft(make_shot: Any) -> None:
    days = dataclasses.replace(REPORT.sessions, n_sessions=1)
    text = why_text(changed(n_sessions=1, sessions=days, loft=None), a_log(make_shot), "m")
    assert "carries are taken to move by ±1.2 %: one session cannot tell more." in said(text)
    assert "degree of loft" not in text
    many = dataclasses.replace(REPORT.sessions, n_sessions=9)
    assert "9 sessions tell it." in said(why_text(changed(sessions=many), a_log(make_shot), "m"))


def test_numbers_that_have_moved_are_told_once_a_break_and_only_then(make_shot: Any) -> None:
    shots = a_log(make_shot)
    shots[9] = shots[9].replace(hit_at="2026-08-01T10:00:00+02:00")
    moves = (
        MoveLearnt(9, 1, "carry", 1.083, 0.9999),
        MoveLearnt(9, 1, "spin", 0.96, 0.62),
        MoveLearnt(3, 4, "ball speed", 1.05, 0.8),
    )
    flat = said(why_text(changed(moves=moves), shots, "m"))
    assert (
        "Your numbers have changed since 2026-08-01: carry +8 % (chance 99 %), spin -4 % (chance 62 %) against before. "
        "Your numbers have changed in one of the 4 breaks up to 2026-06-03: ball speed +5 % (chance 80 %) against "
        "before. The chart is for how you hit the ball now; older shots still count, put right by this."
    ) in flat
    assert "have changed" not in why_text(REPORT, shots, "m")
    assert "how you hit the ball now" not in why_text(REPORT, shots, "m")


def test_a_move_in_json_names_the_session_since(make_shot: Any) -> None:
    shots = a_log(make_shot)
    shots[9] = shots[9].replace(session="later", hit_at="2026-08-01T10:00:00+02:00")
    facts = why_facts(changed(moves=(MoveLearnt(9, 1, "carry", 1.083, 0.97),)), shots)
    assert facts["moves"] == [
        {
            "session": "later", "hit_at": "2026-08-01T10:00:00+02:00", "boundaries": 1, "reading": "carry",
            "ratio": 1.083, "move_probability": 0.97,
        }
    ]  # fmt: skip
    assert json.loads(document("chart", why=why_facts(REPORT, shots)))["why"]["moves"] == []


def test_without_spin_no_spread_of_spin_is_shown(make_shot: Any) -> None:
    text = why_text(changed(n_spin=0), a_log(make_shot), "m")
    assert "±7.0 %" not in text
    assert "±6.1 %" in text
    assert "No spin of a solid ball was logged" in text


def test_what_the_fit_noted_is_said(make_shot: Any) -> None:
    text = why_text(changed(warnings=("the fit was stopped after 40 rounds", "two.")), a_log(make_shot), "m")
    assert text.endswith("Careful: the fit was stopped after 40 rounds.\nCareful: two.")
    assert "Careful" not in why_text(REPORT, a_log(make_shot), "m")


def test_the_json_has_every_number_and_tells_which_ball_it_is(make_shot: Any) -> None:
    shots = a_log(make_shot)
    read = json.loads(document("chart", why=why_facts(REPORT, shots)))["why"]
    assert set(read) == {field.name for field in dataclasses.fields(FitReport)}
    assert read["curve"][0]["carry_prior_sd_m"] == 14.0
    assert read["loft"]["carry_per_deg_m"] == -2.1
    first = read["distrusted"][0]
    assert first == {
        "shot_id": shots[1].shot_id, "session": "morning", "hit_at": shots[1].hit_at, "wedge": "54", "loft_deg": 54.0,
        "swing": "9:00", "swing_deg": 90.0, "mishit_probability": 0.97, "carry_m": 40.0, "carry_expected_m": 60.0,
        "carry_p10_m": 55.0, "carry_p90_m": 66.0, "reason": "short",
    }  # fmt: skip
    assert json.loads(chart_document(None))["why"] is None


def test_every_key_of_the_json_is_in_the_names_table(make_shot: Any) -> None:
    names = NAMES.read_text("utf-8")

    def keys(value: Any) -> set[str]:
        if isinstance(value, dict):
            return set(value).union(*(keys(item) for item in value.values()))
        return set().union(*(keys(item) for item in value)) if isinstance(value, list) else set()

    moved = changed(moves=(MoveLearnt(1, 1, "carry", 1.08, 0.97),))
    found = keys(why_facts(moved, a_log(make_shot))) | {"why", "mishit_probability"}
    assert len(found) > 40
    assert [key for key in sorted(found) if f"`{key}`" not in names] == []
    assert all(f"`{word}`" in names for word in (*get_args(DistrustReason), *get_args(MovedReading)))


def test_shots_carry_their_chance_beside_their_own_columns(full_shot: Shot) -> None:
    read = json.loads(shots_document([full_shot, full_shot], [0.25, None]))
    assert (read["schema"], read["kind"]) == (1, "shots")
    assert [set(shot) for shot in read["shots"]] == [{*SHOT_COLUMNS, "mishit_probability"}] * 2
    assert [shot["mishit_probability"] for shot in read["shots"]] == [0.25, None]
