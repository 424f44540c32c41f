"""A plan as text of 80 columns, as a sentence and as a document."""

import dataclasses
import json
import re
from typing import Any

import pytest

from tests.fakes import TYPICAL_BAG, FakePredictor
from tests.plan.quick import QuickPredictor
from wedgelab.plan.session import Limits, SessionPlan, plan_session
from wedgelab.plan.wanted import Wanted, span, targets, whole_chart
from wedgelab.render.plan_text import plan_document, plan_text, verdict
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.window import WindowRule

PREDICTOR = QuickPredictor()
CHART = whole_chart(TYPICAL_BAG)


def plan(wanted: Wanted = CHART, balls: int = 12, **more: Any) -> SessionPlan:
    return plan_session(PREDICTOR, wanted, Limits(balls), player="Nell", **more)


def test_the_whole_text() -> None:
    assert plan_text(plan(), "m") == EXPECTED


EXPECTED = """\
Practice plan for Nell: 12 balls, about 12 minutes, to be surest on the whole
chart

Warm up with 3 easy balls, 60 7:30; not logged.

In this order:

wedge  swing  balls  carry m  ± now  ± after
-----  -----  -----  -------  -----  -------
60     9:00       1       69    3.4      2.9
60     10:30      1      ~90    4.8      4.0
55     7:30       1      ~40    1.8      1.6
55     9:00       1       74    3.6      3.0
55     10:30      2      ~97    5.2      3.9
50     9:00       1       80    3.9      3.3
50     10:30      2     ~104    5.6      4.2

Not hit, and how sure they will be:

wedge  swing  balls  carry m  ± now  ± after
-----  -----  -----  -------  -----  -------
60     7:30       -      ~37    1.7      1.6
50     7:30       -      ~43    1.9      1.8

±: one standard error of the charted carry, now and as expected after the
session. ~ between the logged shots, ? beyond them.
Counted: 45 s a ball, 60 s to begin with each wedge, at most 6 balls a shot.

Expected: a charted carry is known to about 4.9 % on average now, to 4.1 % after
this session, if you swing and scatter as in the log; what drifts from session
to session is counted, a real change is not."""


def test_long_names_stay_within_80_columns() -> None:
    wedge = Wedge("the old rusty one from the attic", 54.4)
    swing = SwingLength("a little less than three quarters", 100.0)
    long = whole_chart(Bag((wedge, Wedge("58", 58.0)), (swing, SwingLength("9:00", 90.0))))
    shown = plan_text(plan(long), "yd")
    assert max(len(line) for line in shown.splitlines()) <= 80
    assert "attic" in shown


def test_what_is_wanted_is_said() -> None:
    assert "be surest on the whole chart" in one_line(plan())
    assert "to be surest from 40 to 80 m" in one_line(plan(span(PREDICTOR, TYPICAL_BAG, 40.0, 80.0, "m")))
    assert "to be surest from 60 m on" in one_line(plan(span(PREDICTOR, TYPICAL_BAG, 60.0, None, "m")))
    assert "to be surest up to 60 m" in one_line(plan(span(PREDICTOR, TYPICAL_BAG, None, 60.0, "m")))
    named = targets(PREDICTOR, TYPICAL_BAG, [45.0, 62.0, 70.0], WindowRule(), "m")
    assert "to be surest at 45, 62 and 70 m" in one_line(plan(named))
    assert "a charted carry at 45, 62 and 70 m is known to about" in verdict(plan(named), "m")
    single = targets(PREDICTOR, TYPICAL_BAG, [62.0], WindowRule(), "m")
    assert "to be surest at 62 m" in one_line(plan(single))


def one_line(made: SessionPlan) -> str:
    return " ".join(plan_text(made, "m").split())


def test_a_session_that_changes_little_says_so() -> None:
    assert "It changes little" not in verdict(plan(), "m")
    known = FakePredictor(covariance=lambda a, b: 0.0001 if a == b else 0.00005)
    made = plan_session(known, CHART, Limits(4), player="Nell")
    assert verdict(made, "m").endswith("It changes little: play, or practise to a called number (wedgelab drill).")


def test_limits_that_bit_are_said() -> None:
    assert "Every shot has its most balls: more would come with --most." in one_line(plan(balls=100))
    assert "Left out: 3 shots beyond the range's limit (players set)." in one_line(plan(range_limit_m=90.0))


def test_the_document_has_every_shot_and_its_errors() -> None:
    made = plan(balls=20)
    document = json.loads(plan_document(made, "said"))
    assert (document["kind"], document["player"], document["verdict"]) == ("plan", "Nell", "said")
    assert document["balls"] == sum(shot["balls"] for shot in document["shots"]) == made.balls
    assert len(document["shots"]) + len(document["rest"]) == 9
    first, same = document["shots"][0], made.shots[0]
    assert first["carry_se_m"] == pytest.approx(same.se_now_m, abs=1e-6)
    assert first["carry_se_after_m"] == pytest.approx(same.se_after_m, abs=1e-6)
    assert sum(shot["weight"] for shot in document["shots"] + document["rest"]) == pytest.approx(1.0, abs=1e-5)
    assert document["doubt_after"] < document["doubt_now"]
    assert document["limits"] == {"balls": 20, "minutes": None, "most": 6, "ball_s": 45.0, "change_s": 60.0}
    assert document["warm_up"]["balls"] == 5


def test_the_empty_document_has_the_same_keys() -> None:
    empty = json.loads(plan_document(None))
    assert set(empty) == set(json.loads(plan_document(plan())))
    assert empty["shots"] == empty["rest"] == []
    assert empty["doubt_now"] is None


def test_shots_that_stay_as_they_are_are_counted_and_not_listed() -> None:
    text = plan_text(plan(balls=1), "m")
    rows = [line for line in text.split("\n") if " - " in line and line[:2].isdigit()]
    assert all(line.split()[-1] != line.split()[-2] for line in rows)
    listed = sum(line[:2].isdigit() for line in text.split("\n"))
    counted = re.search(r"(\d+) (?:more )?shots? not hit: as surely known after as now", text)
    assert counted is not None
    assert listed + int(counted[1]) == 9


def test_balls_beside_what_was_asked_for_are_explained() -> None:
    few = span(QuickPredictor(), TYPICAL_BAG, 80.0, None, "m")
    made = plan_session(QuickPredictor(), few, Limits(40, None, 0))
    assert made.has_outsiders
    assert made.wanted_is_full
    assert not made.is_full
    said = " ".join(plan_text(made, "m").split())
    assert "Every shot that was asked for has its most balls: the others are hit for what they teach of it" in said
    assert "they teach" not in plan_text(plan_session(QuickPredictor(), few, Limits(3, None, 0)), "m")


def test_a_session_is_never_said_to_make_the_chart_worse() -> None:
    made = plan(balls=4)
    worse = dataclasses.replace(made, doubt_now=0.008, doubt_after=0.009)
    said = verdict(worse, "yd")
    assert "known to about 0.8 % now. What a player drifts from one session to the next takes away" in said
    assert "0.9 %" not in said


def test_what_drift_does_to_the_columns_is_told_only_where_it_shows() -> None:
    made = plan()
    assert "drifts until then" not in plan_text(made, "m")
    first = dataclasses.replace(made.shots[0], share_after=1.2 * made.shots[0].share_now)
    drifted = dataclasses.replace(made, shots=(first, *made.shots[1:]))
    assert "with what a player drifts until then." in " ".join(plan_text(drifted, "m").split())
