"""Drills one after the other: each point says what the drill's own summary says."""

import math
from dataclasses import replace

import pytest

from tests.drill.drilled import misses_of, state_of, summary_of
from wedgelab.drill.history import drill_history
from wedgelab.drill.machine import DrillPlan, DrillState, Skip, replay

FIRST = misses_of(2.0, -4.0, 1.0, 3.0, -2.0, 6.0)
SECOND = misses_of(1.0, -1.0, 2.0, -2.0, 0.0)


def test_a_point_a_drill_in_the_order_given_with_the_numbers_of_its_summary() -> None:
    points = drill_history([("2026-06-03T18:00:00+02:00", FIRST), ("2026-06-10T18:00:00+02:00", SECOND)])
    assert [point.began_at[:10] for point in points] == ["2026-06-03", "2026-06-10"]
    for point, state in zip(points, (FIRST, SECOND), strict=True):
        summary = summary_of(state)
        total, ratio = summary.total, summary.ratio
        assert ratio is not None
        assert (point.n, point.ce_m, point.ve_m, point.e_m) == (total.n, total.ce_m, total.ve_m, total.e_m)
        assert (point.inside, point.share) == (total.inside, total.share)
        assert (point.share_low, point.share_high) == (total.share_low, total.share_high)
        assert (point.expected_e_m, point.expected_share) == (total.expected_e_m, total.expected_share)
        assert (point.e_ratio, point.e_ratio_low, point.e_ratio_high) == (
            ratio.e_ratio, ratio.e_ratio_low, ratio.e_ratio_high,
        )  # fmt: skip


def test_the_errors_by_hand() -> None:
    (point,) = drill_history([("2026-06-03", FIRST)])
    assert point.ce_m == pytest.approx(1.0)  # (2 - 4 + 1 + 3 - 2 + 6) / 6
    assert point.e_m == pytest.approx(math.sqrt(70.0 / 6.0))
    assert point.ve_m == pytest.approx(math.sqrt(70.0 / 6.0 - 1.0))
    assert point.inside == 4  # of a window of 3 m: 2, 1, 3 and -2
    assert point.share == pytest.approx(4.0 / 6.0)
    # the chart put every ball on the call of 60 m with a spread of 6 %, and gave it half a chance
    assert point.expected_e_m == pytest.approx(3.6)
    assert point.expected_share == pytest.approx(0.5)


def test_drills_without_a_ball_are_left_out() -> None:
    calls = DrillPlan((60.0, 61.0), 60.0, 61.0, 1)
    skipped = replay(calls, [Skip(), Skip()])
    assert drill_history([("a", DrillState.start(calls)), ("b", skipped)]) == ()
    assert [point.began_at for point in drill_history([("a", skipped), ("b", FIRST)])] == ["b"]


def test_a_few_balls_have_no_ratio_and_without_a_chart_nothing_was_expected() -> None:
    (point,) = drill_history([("a", misses_of(1.0, 2.0))])
    assert (point.e_ratio, point.e_ratio_low, point.e_ratio_high) == (None, None, None)
    assert point.expected_e_m is not None
    balls = tuple(
        replace(played, ball=replace(played.ball, chart_carry_m=None, chart_window_probability=None))
        for played in FIRST.played
    )
    (blank,) = drill_history([("a", replace(FIRST, answers=balls))])
    assert (blank.expected_e_m, blank.expected_share, blank.e_ratio) == (None, None, None)


@pytest.mark.parametrize(("hold", "test_of"), [(None, ""), (0.6, ""), (None, "an earlier one")])
def test_held_windows_and_tests_are_told(hold: float | None, test_of: str) -> None:
    state = state_of([(60.0, 60.0, 62.0)] * 5)
    (point,) = drill_history([("a", replace(state, plan=replace(state.plan, hold=hold, test_of=test_of)))])
    assert (point.is_held, point.is_test) == (hold is not None, bool(test_of))


def test_a_drill_that_was_stopped_tells_how_many_calls_are_left() -> None:
    plan = replace(FIRST.plan, calls_m=(*FIRST.plan.calls_m, 60.0, 61.0))
    stopped, done = drill_history([("a", replace(FIRST, plan=plan)), ("b", FIRST)])
    assert (stopped.n_left, done.n_left) == (2, 0)
