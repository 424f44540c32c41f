"""The drill as a machine: no sequence of events loses or doubles a ball, and undo is exact."""

import json
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.drill.calls import make_calls
from wedgelab.drill.machine import (
    Ball,
    DrillPlan,
    DrillState,
    Event,
    Feedback,
    Guess,
    Played,
    Skip,
    Undo,
    correction,
    event_from_dict,
    event_to_dict,
    replay,
    step,
    with_shots,
)
from wedgelab.errors import EXIT_USAGE, BadRequestError
from wedgelab.shots import SwingLength, Wedge
from wedgelab.simulate import InventedPlayer, hit, invent_player
from wedgelab.window import WindowRule

PLAN = DrillPlan((50.0, 62.0, 55.0, 70.0), 45.0, 75.0, 7)


def ball(shot_id: str, carry_m: float = 60.0) -> Ball:
    return Ball(shot_id, "54", 54.0, 90.0, carry_m)


def refused(state: DrillState, event: Event) -> str:
    with pytest.raises(BadRequestError) as caught:
        step(state, event)
    assert caught.value.exit_code == EXIT_USAGE
    return str(caught.value)


def ids(state: DrillState) -> list[str]:
    return [played.ball.shot_id for played in state.played]


def through_json(value: Any) -> Any:
    return json.loads(json.dumps(value))


# --- by hand


def test_a_drill_from_the_first_call_to_the_end() -> None:
    state = DrillState.start(PLAN)
    assert (state.call_no, state.call_m, state.last, state.is_over) == (1, 50.0, None, False)
    assert state.window_m == 2.5  # 5 % of 50
    state = replay(PLAN, [Guess(49.0), Guess(51.5), ball("a", 53.0)])
    assert state.answers == (Played(1, 50.0, 2.5, 51.5, ball("a", 53.0)),)
    assert state.last is not None
    assert (state.last.miss_m, state.last.is_inside) == (3.0, False)  # long is positive
    assert (state.call_no, state.call_m, state.guess_m) == (2, 62.0, None)
    state = step(state, Skip())
    assert (state.call_no, state.last, state.is_over) == (3, None, False)
    state = step(step(state, ball("b", 51.0)), ball("c", 70.0))
    assert ids(state) == ["a", "b", "c"]
    assert [played.miss_m for played in state.played] == [3.0, -4.0, 0.0]
    assert [played.call_no for played in state.played] == [1, 3, 4]
    assert state.is_over


def test_a_guess_belongs_to_its_own_call() -> None:
    state = replay(PLAN, [Guess(49.0), Skip(), ball("a"), Guess(58.0), ball("b")])
    assert [played.guess_m for played in state.played] == [None, 58.0]


def test_a_ball_on_the_edge_of_its_window_is_inside_whatever_the_rounding() -> None:
    call = 64 * 0.9144
    edge = WindowRule(fixed_m=3 * 0.9144)
    for carry, is_inside in ((67 * 0.9144, True), (61 * 0.9144, True), (67.01 * 0.9144, False)):
        state = replay(DrillPlan((call,), call, call, 1, edge), [ball("a", carry)])
        assert [played.is_inside for played in state.played] == [is_inside]


def test_undo_after_a_guess_drops_the_guess_alone() -> None:
    assert replay(PLAN, [ball("a"), Guess(60.0), Undo()]) == replay(PLAN, [ball("a")])


def test_undo_after_a_second_guess_brings_back_the_first() -> None:
    assert replay(PLAN, [Guess(60.0), Guess(61.0), Undo()]).guess_m == 60.0


@pytest.mark.parametrize("events", [[], [Guess(50.0), Undo()], [ball("a"), Undo()], [Skip(), Undo()]])
def test_nothing_to_undo(events: list[Event]) -> None:
    assert refused(replay(PLAN, events), Undo()) == "there is nothing to undo yet; hit the first ball"


@pytest.mark.parametrize("event", [ball("z"), Guess(50.0), Skip()])
def test_a_drill_that_is_over_takes_only_undo(event: Event) -> None:
    state = replay(PLAN, [ball("a"), ball("b"), Skip(), ball("d")])
    assert refused(state, event) == "the drill is over; undo the last ball, or start another drill"
    assert ids(step(state, Undo())) == ["a", "b"]


def test_a_ball_that_is_in_the_drill_already_is_refused() -> None:
    state = replay(PLAN, [ball("a")])
    assert refused(state, ball("a", 61.0)) == "ball a is in the drill already; give every ball an id of its own"
    assert ids(step(step(state, Undo()), ball("a", 61.0))) == ["a"]  # it is not in the drill any more


# --- any events


def make_event(kind: str, shot_id: str, number: float) -> Event:
    if kind == "ball":
        return ball(shot_id, number)
    others: dict[str, Event] = {"guess": Guess(number), "skip": Skip(), "undo": Undo()}
    return others[kind]


# (kind, which id out of a few: some come twice, carry or guess)
moves = st.lists(
    st.tuples(
        st.sampled_from(["ball", "ball", "ball", "guess", "skip", "undo"]), st.integers(0, 25), st.floats(1.0, 200.0)
    ),
    max_size=40,
)
holds = st.sampled_from([None, 0.5, 0.6, 0.7])


def plan_of(count: int, hold: float | None = None) -> DrillPlan:
    return DrillPlan(tuple(40.0 + 3 * i for i in range(count)), 40.0, 70.0, 1, hold=hold)


def reached(plan: DrillPlan, wanted: list[tuple[str, int, float]]) -> tuple[DrillState, list[Event]]:
    """Take what fits; return where that leads and what was taken."""
    state, taken = DrillState.start(plan), []
    for kind, which, number in wanted:
        event = make_event(kind, f"shot-{which}", number)
        try:
            state = step(state, event)
        except BadRequestError:
            continue
        taken.append(event)
    return state, taken


@given(wanted=moves, count=st.integers(1, 8), hold=holds)
def test_no_sequence_of_events_loses_or_doubles_a_ball(
    wanted: list[tuple[str, int, float]], count: int, hold: float | None
) -> None:
    plan = plan_of(count, hold)
    state = DrillState.start(plan)
    pad: list[Event] = []  # what a clerk would have: the events that stand, an undo strikes the last one
    for kind, which, number in wanted:
        event, before = make_event(kind, f"shot-{which}", number), state
        answers = [e for e in pad if not isinstance(e, Guess)]
        is_known = isinstance(event, Ball) and event.shot_id in [e.shot_id for e in pad if isinstance(e, Ball)]
        if not (pad if kind == "undo" else len(answers) < count and not is_known):
            refused(state, event)
            assert state == before
            continue
        state = step(state, event)
        if kind == "undo":
            pad.pop()
        else:
            pad.append(event)
        answers = [e for e in pad if not isinstance(e, Guess)]
        assert [None if a is None else a.ball for a in state.answers] == [
            e if isinstance(e, Ball) else None for e in answers
        ]
        assert state.guess_m == (pad[-1].guess_m if pad and isinstance(pad[-1], Guess) else None)
        assert state.is_over == (len(answers) == count)
    assert len(set(ids(state))) == len(ids(state))
    for i, answer in enumerate(state.answers):
        if answer is not None:
            assert (answer.call_no, answer.call_m) == (i + 1, plan.calls_m[i])
    assert replay(plan, pad) == state  # as if what was undone had never been


@given(wanted=moves, count=st.integers(1, 8), hold=holds)
def test_the_stored_plan_and_events_lead_to_the_same_state(
    wanted: list[tuple[str, int, float]], count: int, hold: float | None
) -> None:
    plan = plan_of(count, hold)
    state, taken = reached(plan, wanted)
    stored = through_json({"plan": plan.to_dict(), "events": [event_to_dict(event) for event in taken]})
    again = replay(DrillPlan.from_dict(stored["plan"]), [event_from_dict(event) for event in stored["events"]])
    assert again == state
    while state.before is not None:  # undo leads back the same way
        assert again.before is not None
        state, again = state.before, again.before
        assert again == state
    assert again.before is None


@given(wanted=moves, hold=holds, number=st.floats(1.0, 200.0))
def test_undo_takes_back_exactly_the_last_event(
    wanted: list[tuple[str, int, float]], hold: float | None, number: float
) -> None:
    state, _ = reached(plan_of(60, hold), wanted)
    for event in (ball("new", number), Guess(number), Skip()):
        after = step(step(state, event), Undo())
        assert after == state
        assert after.before == state.before
        assert after.log_scale == state.log_scale


@given(
    wanted=moves,
    guesses=st.lists(st.floats(1.0, 200.0), max_size=2),
    newer=st.lists(st.floats(1.0, 200.0), max_size=2),
    hold=holds,
    carry=st.floats(1.0, 200.0),
)
def test_a_correction_puts_another_ball_in_the_place_of_the_last_and_keeps_the_guesses(
    wanted: list[tuple[str, int, float]],
    guesses: list[float],
    newer: list[float],
    hold: float | None,
    carry: float,
) -> None:
    plan = plan_of(60, hold)
    before, taken = reached(plan, wanted)
    answer: list[Event] = [*(Guess(guess) for guess in guesses), ball("typed-wrong", 111.0)]
    later: list[Event] = [Guess(guess) for guess in newer]
    state = replay(plan, [*taken, *answer, *later])
    events = correction(state, ball("right", carry))
    after = state
    for event in events:
        after = step(after, event)
    wanted_state = replay(plan, [*taken, *answer[:-1], ball("right", carry), *later[-1:]])
    assert after == wanted_state
    assert after.last is not None
    assert after.last.guess_m == (guesses[-1] if guesses else before.guess_m)
    assert after.guess_m == (newer[-1] if newer else None)
    assert ids(after) == [*ids(before), "right"]
    # and the correction can be corrected
    again = after
    for event in correction(after, ball("righter", carry)):
        again = step(again, event)
    assert ids(again) == [*ids(before), "righter"]
    assert again.guess_m == after.guess_m


@pytest.mark.parametrize("events", [[], [Guess(50.0)], [ball("a"), Skip()]])
def test_where_the_last_call_has_no_ball_there_is_none_to_correct(events: list[Event]) -> None:
    with pytest.raises(BadRequestError) as caught:
        correction(replay(PLAN, events), ball("b"))
    assert str(caught.value) == "there is no ball to correct; the last call has none"


def test_balls_that_left_the_log_become_skipped_calls_and_restored_ones_keep_their_place() -> None:
    events: list[Event] = [ball("a"), Guess(61.0), ball("b"), Skip(), Guess(69.0)]
    kept = replay(PLAN, with_shots(events, {"b": "b-restored", "other": "other"}))
    assert [None if a is None else a.ball.shot_id for a in kept.answers] == [None, "b-restored", None]
    assert [played.guess_m for played in kept.played] == [61.0]
    assert (kept.call_no, kept.guess_m) == (4, 69.0)
    assert replay(PLAN, with_shots(events, {"a": "a", "b": "b"})) == replay(PLAN, events)


def test_an_undone_ball_is_in_the_log_no_more_and_the_replay_is_the_same() -> None:
    events: list[Event] = [ball("a"), ball("b"), Undo(), ball("c")]
    assert replay(PLAN, with_shots(events, {"a": "a", "c": "c"})) == replay(PLAN, events)


# --- what is shown when


def shown(plan: DrillPlan, carries: list[float]) -> list[list[bool]]:
    """After each ball: of which balls the number may be shown."""
    state, rows = DrillState.start(plan), []
    for i, carry in enumerate(carries):
        state = step(state, ball(f"s{i}", carry))
        rows.append([state.shows_number_of(played) for played in state.played])
    return rows


@pytest.mark.parametrize(
    ("feedback", "rows"),
    [
        ("every", [[True], [True] * 2, [True] * 3, [True] * 4, [True] * 5]),
        # 50 +- 2.5: the second and the fourth are outside; at the end everything may be seen
        ("outside", [[False], [False, True], [False, True, False], [False, True, False, True], [True] * 5]),
        ("block", [[False], [True] * 2, [True, True, False], [True] * 4, [True] * 5]),
    ],
)
def test_when_the_number_is_shown(feedback: Feedback, rows: list[list[bool]]) -> None:
    plan = DrillPlan((50.0,) * 5, 50.0, 50.0, 1, feedback=feedback, block=2)
    assert shown(plan, [51.0, 60.0, 52.0, 40.0, 50.0]) == rows


# --- what is stored


@pytest.mark.parametrize(
    ("event", "stored"),
    [
        (Guess(61.25), {"event": "guess", "guess_m": 61.25}),
        (
            Ball("a", "54", 54.0, 90.0, 58.5, "9:00", False, 60.0, 3.0, 1.0, 0.5, 0.625),
            {
                "event": "ball", "shot_id": "a", "wedge": "54", "loft_deg": 54.0, "swing_deg": 90.0, "carry_m": 58.5,
                "swing": "9:00", "advice_shown": False, "chart_carry_m": 60.0, "chart_carry_sd_m": 3.0,
                "chart_carry_se_m": 1.0, "chart_window_probability": 0.5, "best_window_probability": 0.625,
            },
        ),
        (Skip(), {"event": "skip"}),
        (Undo(), {"event": "undo"}),
    ],
)  # fmt: skip
def test_an_event_as_it_is_stored(event: Event, stored: dict[str, Any]) -> None:
    assert event_to_dict(event) == stored
    assert event_from_dict(through_json(stored)) == event


def test_events_and_plans_of_the_first_version_are_still_read() -> None:
    # as version 1 wrote them: a ball of five words, a plan of five
    old = {"event": "ball", "shot_id": "a", "wedge": "54", "loft_deg": 54.0, "swing_deg": 90.0, "carry_m": 58.5}
    assert event_from_dict(old) == ball("a", 58.5)
    window = {"share": 0.05, "least_m": 2.0, "fixed_m": None}
    plan = DrillPlan.from_dict(
        {"calls_m": [50.0, 62.0, 55.0, 70.0], "low_m": 45.0, "high_m": 75.0, "seed": 7, "window": window}
    )
    assert plan == PLAN
    assert (plan.order, plan.hold, plan.scale, plan.feedback, plan.advice, plan.test_of) == (
        "random", None, 1.0, "every", True, "",
    )  # fmt: skip


@pytest.mark.parametrize("rule", [WindowRule(), WindowRule(share=0.04, least_m=0.0), WindowRule(fixed_m=2.7432)])
def test_a_plan_survives_being_stored(rule: WindowRule) -> None:
    calls = make_calls(30, 41.3, 90.2, 0.9144, 11)
    plan = DrillPlan(
        calls, 41.3, 90.2, 11, rule, "rising", "weak", 0.6, 1.5, "block", 5, guess_first=True, advice=False, test_of="x"
    )
    again = DrillPlan.from_dict(through_json(plan.to_dict()))
    assert again == plan
    assert plan.to_dict()["window"] == {"share": rule.share, "least_m": rule.least_m, "fixed_m": rule.fixed_m}


def test_a_plan_keeps_its_planned_shots_and_an_older_one_has_none() -> None:
    shots = ((Wedge("58", 58.0), SwingLength("9:00", 90.0)), (Wedge("54", 54.0), SwingLength("9:20", 100.0)))
    plan = DrillPlan((45.0, 60.0), 45.0, 60.0, 0, WindowRule(), "planned", shots=shots)
    stored = through_json(plan.to_dict())
    again = DrillPlan.from_dict(stored)
    assert again == plan
    assert [again.shot_for(call_no) for call_no in (0, 1, 2, 3)] == [None, *shots, None]
    older = DrillPlan.from_dict({name: value for name, value in stored.items() if name != "shots"})
    assert older.shots == ()
    assert older.shot_for(1) is None


def test_the_scale_of_the_plan_widens_the_window_from_the_first_ball() -> None:
    plan = DrillPlan((60.0,), 60.0, 60.0, 1, WindowRule(fixed_m=3.0), scale=1.5)
    assert DrillState.start(plan).window_m == pytest.approx(4.5, rel=1e-12)
    assert DrillState.start(plan).log_scale == math.log(1.5)


# --- the window that adapts (weighted up-down rule: Kaernbach 1991, Perception & Psychophysics 49, 227)

FIXED = WindowRule(fixed_m=4.0)
WIDEST = math.log(8.0)


def holding(hold: float, balls: int, rule: WindowRule = FIXED) -> DrillPlan:
    return DrillPlan((60.0,) * balls, 60.0, 60.0, 1, rule, hold=hold)


def test_a_hit_narrows_and_a_miss_widens_in_the_ratio_that_the_share_asks_for() -> None:
    # 0.3 in all: at 60 % a hit takes 0.12 of the log away, a miss adds 0.18; three hits and two misses are even
    state = replay(holding(0.6, 5), [ball("a"), ball("b", 90.0)])
    assert [played.window_m for played in state.played] == pytest.approx([4.0, 4.0 * math.exp(-0.12)], rel=1e-12)
    assert state.window_m == pytest.approx(4.0 * math.exp(0.06), rel=1e-12)
    for i, carry in enumerate((60.0, 60.0, 90.0)):
        state = step(state, ball(f"s{i}", carry))
    assert state.log_scale == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("event", [Skip(), Guess(55.0)])
def test_only_balls_move_the_window(event: Event) -> None:
    state = replay(holding(0.6, 5), [ball("a")])
    assert step(state, event).log_scale == state.log_scale


def test_without_a_share_to_hold_the_window_stays() -> None:
    state = replay(DrillPlan((60.0,) * 3, 60.0, 60.0, 1, FIXED), [ball("a", 90.0), ball("b", 90.0)])
    assert (state.window_m, state.log_scale) == (4.0, 0.0)


@given(hold=st.sampled_from([0.3, 0.5, 0.6, 0.7, 0.9]), hits=st.lists(st.booleans(), min_size=1, max_size=120))
def test_whatever_the_balls_do_the_share_inside_comes_to_the_one_that_is_held(hold: float, hits: list[bool]) -> None:
    state, inside, reached_clamp = DrillState.start(holding(hold, 120)), 0, False
    for i, is_hit in enumerate(hits):
        state = step(state, ball(f"s{i}", 60.0 if is_hit else 60.0 + 2.0 * state.window_m))
        inside += is_hit
        reached_clamp |= abs(state.log_scale) >= WIDEST - 1e-12
        assert state.last is not None
        assert state.last.is_inside == is_hit
        if not reached_clamp:
            # the log moves by 0.3 (hold - 1) a hit and 0.3 hold a miss: by 0.3 (hold - share) a ball on average
            share = inside / (i + 1)
            assert state.log_scale == pytest.approx(0.3 * (i + 1) * (hold - share), abs=1e-9)
            assert abs(share - hold) <= WIDEST / (0.3 * (i + 1)) + 1e-9
        assert abs(state.log_scale) <= WIDEST + 1e-12


@pytest.mark.parametrize(("rule", "widest_m", "narrowest_m"), [(FIXED, 32.0, 0.5), (WindowRule(fixed_m=20.0), 50, 2.5)])
def test_a_window_that_is_stuck_at_its_end_comes_back_with_the_first_ball_of_the_other_kind(
    rule: WindowRule, widest_m: float, narrowest_m: float
) -> None:
    # an eighth to eight times of the rule's, and never beyond the limits of a shot's window_m: 0.1 to 50
    state = DrillState.start(holding(0.6, 60, rule))
    for i in range(50):
        state = step(state, ball(f"far{i}", 200.0))
    assert state.window_m == pytest.approx(widest_m, rel=1e-12)
    assert state.log_scale == pytest.approx(WIDEST, rel=1e-12)
    assert step(state, ball("hit", 60.0)).log_scale == pytest.approx(WIDEST - 0.12, rel=1e-12)
    state = DrillState.start(holding(0.6, 60, rule))
    for i in range(50):
        state = step(state, ball(f"near{i}", 60.0))
    assert state.window_m == pytest.approx(narrowest_m, rel=1e-12)
    assert step(state, ball("far", 200.0)).log_scale == pytest.approx(-WIDEST + 0.18, rel=1e-12)


def test_the_narrowest_window_is_one_that_a_shot_may_have() -> None:
    state = DrillState.start(holding(0.6, 60, WindowRule(fixed_m=0.3)))
    for i in range(50):
        state = step(state, ball(f"near{i}", 60.0))
    assert state.window_m == 0.1


def share_after_burn_in(player: InventedPlayer, hold: float, seed: int, drills: int = 10, balls: int = 120) -> float:
    """Of the balls after the 40th of each drill, which share lay inside: shots of many lengths, mishits included."""
    rng = np.random.default_rng(seed)
    kinds_of = [(wedge, swing) for wedge in range(len(player.wedges)) for swing in (60.0, 75.0, 90.0, 105.0, 135.0)]
    wedges, swings = np.array([w for w, _ in kinds_of]), np.array([s for _, s in kinds_of])
    solid = hit(player, np.repeat(wedges, 40), np.repeat(swings, 40), rng, mishits=False).carry_m
    medians = np.median(solid.reshape(-1, 40), axis=1)
    inside = []
    for _ in range(drills):
        kinds = rng.integers(len(medians), size=balls)
        carries = hit(player, wedges[kinds], swings[kinds], rng).carry_m
        calls = tuple(float(median) for median in medians[kinds])
        state = DrillState.start(DrillPlan(calls, min(calls), max(calls), 1, hold=hold))
        for i, carry in enumerate(carries):
            state = step(state, ball(f"s{i}", float(carry)))
        inside += [played.is_inside for played in state.played[40:]]
    return sum(inside) / len(inside)


@pytest.mark.parametrize("hold", [0.5, 0.6, 0.7])
@pytest.mark.parametrize("skill", [0.0, 1.0])
def test_the_share_is_held_for_invented_players_of_any_skill(hold: float, skill: float) -> None:
    player = invent_player(np.random.default_rng(round(10 * skill)), skill=skill)
    assert share_after_burn_in(player, hold, seed=round(100 * hold)) == pytest.approx(hold, abs=0.03)
