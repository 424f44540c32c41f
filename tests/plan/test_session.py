"""A whole session: what it costs, in which order it is hit, and what is said of before and after."""

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fakes import TYPICAL_BAG
from tests.plan.quick import QuickPredictor
from wedgelab.errors import BadRequestError
from wedgelab.plan.session import MOST_BALLS, WARM_UP, Limits, PlannedShot, SessionPlan, check_limits, plan_session
from wedgelab.plan.wanted import span, whole_chart
from wedgelab.prediction import ShotKind

PREDICTOR = QuickPredictor()
CHART = whole_chart(TYPICAL_BAG)


def plan(**limits: float | None) -> SessionPlan:
    return plan_session(PREDICTOR, CHART, Limits(**limits), player="Nell")  # type: ignore[arg-type]  # names of limits


def every(made: SessionPlan) -> tuple[PlannedShot, ...]:
    return (*made.shots, *made.rest)


def test_the_errors_before_and_after_are_those_of_the_covariances() -> None:
    made = plan(balls=20, warm_up=0)
    extra = [ShotKind(s.wedge, s.loft_deg, s.swing_deg) for s in made.shots for _ in range(s.balls)]
    # of a lognormal: sd over median is sqrt(exp(2 v) - exp(v)) (Johnson, Kotz & Balakrishnan, Continuous Univariate
    # Distributions 1, chapter 14, from memory); the chart's own standard errors are the same numbers
    before, after = (
        np.sqrt(np.exp(2.0 * v) - np.exp(v))
        for v in (
            np.diag(PREDICTOR.log_median_covariance(CHART.kinds)),
            np.diag(PREDICTOR.expected_covariance(CHART.kinds, extra)),
        )
    )
    by_kind = {ShotKind(s.wedge, s.loft_deg, s.swing_deg): s for s in every(made)}
    for kind, now, then in zip(CHART.kinds, before, after, strict=True):
        assert by_kind[kind].share_now == pytest.approx(now)
        assert by_kind[kind].share_after == pytest.approx(then)
        assert by_kind[kind].se_now_m == pytest.approx(by_kind[kind].carry_m * now)
        assert by_kind[kind].se_after_m == pytest.approx(by_kind[kind].carry_m * then)
    assert made.doubt_now == pytest.approx(before.mean())
    assert made.doubt_after == pytest.approx(after.mean())
    assert made.balls == 20
    assert (made.player, made.n_shots, made.n_sessions) == ("Nell", 63, 4)


@given(balls=st.integers(1, 40))
@settings(max_examples=8, deadline=None)
def test_a_ball_more_never_leaves_more_doubt(balls: int) -> None:
    few, more = plan(balls=balls, warm_up=0), plan(balls=balls + 1, warm_up=0)
    assert more.doubt_after <= few.doubt_after + 1e-12 <= few.doubt_now + 2e-12


def test_the_most_lofted_wedge_and_the_shortest_swing_come_first() -> None:
    made = plan(balls=40)
    order = [(-shot.loft_deg, shot.swing_deg) for shot in made.shots]
    assert order == sorted(order)
    assert made.warm_up is not None
    assert (made.warm_up.wedge, made.warm_up.swing) == (made.shots[0].wedge, "7:30")
    assert len(every(made)) == 9


def test_the_warm_up_is_of_the_shortest_swing_though_none_such_is_planned() -> None:
    long = span(PREDICTOR, TYPICAL_BAG, 80.0, None, "m")
    made = plan_session(PREDICTOR, long, Limits(balls=8))
    assert made.warm_up is not None
    assert made.warm_up.swing == "7:30"
    assert made.warm_up.wedge == made.shots[0].wedge


@pytest.mark.parametrize(("balls", "warm_up"), [(1, 0), (3, 0), (4, 1), (12, 3), (24, 6), (100, 6)])
def test_of_few_balls_a_quarter_warms_up(balls: int, warm_up: int) -> None:
    made = plan(balls=balls)
    assert (made.warm_up.balls if made.warm_up else 0) == warm_up
    assert made.balls == min(balls - warm_up, 54)


@pytest.mark.parametrize(("minutes", "warm_up"), [(4.0, 0), (5.0, 1), (10.0, 3), (20.0, 6), (45.0, 6)])
def test_in_a_short_time_a_quarter_of_the_balls_warms_up_as_well(minutes: float, warm_up: int) -> None:
    made = plan(minutes=minutes)
    assert (made.warm_up.balls if made.warm_up else 0) == warm_up
    assert made.minutes <= minutes + 1e-9


def test_a_long_time_makes_no_more_balls_than_may_be_asked_for() -> None:
    made = plan(minutes=240.0, cap=60, ball_min=0.1)
    assert made.warm_up is not None
    assert made.balls + made.warm_up.balls == MOST_BALLS


def test_the_work_tells_how_far_it_has_come() -> None:
    told: list[float] = []
    plan_session(PREDICTOR, CHART, Limits(20), on_step=told.append)
    assert told == sorted(told)
    assert len(told) == 15
    assert told[-1] == 1.0


def test_the_minutes_count_warm_up_balls_and_changes() -> None:
    made = plan(balls=20, ball_min=0.5, change_min=2.0)
    assert made.changeovers == len({shot.wedge for shot in made.shots})
    assert made.minutes == pytest.approx(20 * 0.5 + 2.0 * made.changeovers)
    timed = plan(minutes=30.0)
    assert 29.0 < timed.minutes <= 30.0 + 1e-9
    assert timed.warm_up is not None
    assert timed.warm_up.balls == WARM_UP


def test_a_plan_that_gives_every_shot_its_most_says_so() -> None:
    assert plan(balls=100).is_full
    assert plan(balls=100).balls == 54
    assert not plan(balls=20).is_full


def test_nothing_is_planned_beyond_the_range() -> None:
    made = plan_session(PREDICTOR, CHART, Limits(balls=30), range_limit_m=70.0)
    assert made.shots
    assert all(shot.carry_m <= 70.0 for shot in made.shots)
    assert made.beyond_range == sum(shot.carry_m > 70.0 for shot in every(made)) > 0
    with pytest.raises(BadRequestError, match="every charted shot carries beyond the range's limit"):
        plan_session(PREDICTOR, CHART, Limits(balls=30), range_limit_m=10.0)


REFUSED: list[tuple[Limits, str]] = [
    (Limits(), "neither balls nor minutes are given; say --balls 40 or --minutes 45"),
    (Limits(0), "0 balls make no session; give 1 to 200 balls"),
    (Limits(10000), "10000 balls make no session; give 1 to 200 balls"),
    (Limits(-4), "-4 balls make no session; give 1 to 200 balls"),
    (Limits(None, 3.0),
     "3 minutes are too short for 4 balls that count; give 4 minutes or more"),
    (Limits(None, math.nan), "nan minutes make no session; give 1 to 240 minutes"),
    (Limits(None, math.inf), "inf minutes make no session; give 1 to 240 minutes"),
    (Limits(None, 500.0), "500 minutes make no session; give 1 to 240 minutes"),
    (Limits(5, None, 5), "5 balls to warm up leave none of 5; give more balls or a shorter --warm-up"),
    (Limits(5, None, -1), "-1 balls are no warm-up; give 0 to 60 balls"),
    (Limits(5, None, None, 0), "0 balls a shot are no limit; give 1 to 200 balls"),
    (Limits(5, ball_min=0.0), "0 seconds are no time for a ball; give 5 to 600 seconds"),
    (Limits(5, change_min=-1.0), "-60 seconds are no time for a change of wedge; give 0 to 900 seconds"),
]  # fmt: skip


@pytest.mark.parametrize(("limits", "said"), REFUSED)
def test_what_makes_no_session_is_refused_with_the_value_seen(limits: Limits, said: str) -> None:
    with pytest.raises(BadRequestError) as caught:
        check_limits(limits)
    assert str(caught.value) == said


def test_the_least_time_that_is_named_is_enough() -> None:
    made = plan(minutes=9.0)
    assert made.balls >= 3
    assert made.minutes <= 9.0
    check_limits(dataclasses.replace(Limits(None, 9.0), warm_up=0))


class Drifting(QuickPredictor):
    """A player of whom the next session leaves a little more open, where that is asked for."""

    def expected_covariance(self, kinds: Any, extra: Any, *, may_move: bool = False) -> Any:
        return super().expected_covariance(kinds, extra) + (0.01**2 if may_move else 0.0)


def test_what_is_said_of_after_counts_the_drift_and_the_search_does_not() -> None:
    still = plan_session(PREDICTOR, CHART, Limits(12))
    moved = plan_session(Drifting(), CHART, Limits(12))
    assert [(shot.wedge, shot.swing, shot.balls) for shot in moved.shots] == [
        (shot.wedge, shot.swing, shot.balls) for shot in still.shots
    ]
    assert moved.doubt_now == still.doubt_now
    for one, other in zip(every(moved), every(still), strict=True):
        assert one.share_after**2 == pytest.approx(other.share_after**2 + 0.01**2, rel=1e-3)
