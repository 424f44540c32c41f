"""The drill as a machine: its calls, its steps, and that no sequence of events loses or doubles a ball."""

import json
from collections import Counter
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.drill import (
    MOST_BALLS,
    Ball,
    DrillPlan,
    DrillState,
    Event,
    Guess,
    Played,
    Skip,
    Undo,
    band_edges,
    event_from_dict,
    event_to_dict,
    make_calls,
    replay,
    step,
    without_shots,
)
from wedgelab.errors import EXIT_USAGE, BadRequestError
from wedgelab.window import WindowRule

PLAN = DrillPlan((50.0, 62.0, 55.0, 70.0), 45.0, 75.0, 7)


def ball(shot_id: str, carry_m: float = 60.0) -> Ball:
    return Ball(shot_id, "54", 54.0, 90.0, carry_m)


def refused(state: DrillState, event: Event) -> str:
    with pytest.raises(BadRequestError) as caught:
        step(state, event)
    assert caught.value.exit_code == EXIT_USAGE
    return str(caught.value)


# --- the calls


# (lowest, span, step), at least one call inside
spans = st.tuples(st.floats(1.0, 90.0), st.floats(0.0, 90.0), st.sampled_from([0.5, 0.9144, 1.0, 4.572, 5.0, 17.0]))
balls_asked = st.integers(1, 60)
seeds = st.integers(0, 2**31 - 1)


def grid_of(low: float, high: float, step_m: float) -> list[float]:
    return [i * step_m for i in range(1, 400) if low - 1e-9 * step_m <= i * step_m <= high + 1e-9 * step_m]


@given(span=spans, balls=balls_asked, seed=seeds)
def test_calls_are_reproducible_on_the_grid_within_the_limits_spread_evenly_and_without_repeats(
    span: tuple[float, float, float], balls: int, seed: int
) -> None:
    low, wide, step_m = span
    high = low + wide
    grid = grid_of(low, high, step_m)
    if not grid:
        with pytest.raises(BadRequestError):
            make_calls(balls, low, high, step_m, seed)
        return
    calls = make_calls(balls, low, high, step_m, seed)
    assert calls == make_calls(balls, low, high, step_m, seed)
    assert len(calls) == balls
    assert set(calls) <= set(grid)
    if len(grid) > 1:
        assert all(a != b for a, b in pairwise(calls))
    counts = [
        sum(a <= call < b for call in calls)
        for a, b in band_edges(min(low, grid[0]), max(high, grid[-1]))
        if any(a <= point < b for point in grid)
    ]
    assert sum(counts) == balls
    assert max(counts) - min(counts) <= 1


def test_other_seeds_give_other_calls() -> None:
    assert len({make_calls(20, 40.0, 90.0, 1.0, seed) for seed in range(10)}) == 10


def test_every_call_of_the_grid_comes_up() -> None:
    assert set(make_calls(500, 40.0, 60.0, 1.0, 3)) == {float(i) for i in range(40, 61)}


def test_a_band_of_a_single_call_is_not_called_twice_in_a_row() -> None:
    # bands {30} and {45, 60}: 30 could end one round and open the next
    for seed in range(200):
        calls = make_calls(20, 30.0, 60.0, 15.0, seed)
        assert all(a != b for a, b in pairwise(calls)), seed
        assert calls.count(30.0) == 10


def test_the_only_call_there_is_comes_every_time() -> None:
    assert make_calls(3, 49.5, 50.5, 1.0, 1) == (50.0, 50.0, 50.0)


def test_limits_on_the_grid_are_calls_in_spite_of_rounding() -> None:
    # 64 yd in metres divided by the step of a yard is 64.00000000000001
    calls = make_calls(100, 60 * 0.9144, 64 * 0.9144, 0.9144, 5)
    assert {round(call / 0.9144, 9) for call in calls} == {60.0, 61.0, 62.0, 63.0, 64.0}


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((0, 40.0, 80.0, 1.0), "0 balls is no drill; ask for 1 to 500"),
        ((-3, 40.0, 80.0, 1.0), "-3 balls is no drill; ask for 1 to 500"),
        ((501, 40.0, 80.0, 1.0), "501 balls is no drill; ask for 1 to 500"),
        ((20, 80.0, 40.0, 1.0), "no call lies between the two distances; take a wider span or a smaller step"),
        ((20, 41.0, 44.0, 5.0), "no call lies between the two distances; take a wider span or a smaller step"),
        ((20, -9.0, 0.5, 1.0), "no call lies between the two distances; take a wider span or a smaller step"),
        ((20, 40.0, 80.0, 0.0), "a step of 0 m makes no calls; give a step of 0.1 m or more"),
        ((20, 40.0, 80.0, -2.5), "a step of -2.5 m makes no calls; give a step of 0.1 m or more"),
    ],
)
def test_arguments_that_make_no_drill(arguments: tuple[int, float, float, float], sentence: str) -> None:
    with pytest.raises(BadRequestError) as caught:
        make_calls(*arguments, seed=1)
    assert str(caught.value) == sentence
    assert caught.value.exit_code == EXIT_USAGE


def test_the_most_balls_are_allowed() -> None:
    assert len(make_calls(MOST_BALLS, 40.0, 80.0, 1.0, 1)) == 500


@pytest.mark.parametrize(
    ("low", "high", "inner"),
    [(50.0, 50.0, []), (50.0, 73.0, []), (50.0, 74.0, [62.0]), (40.0, 88.0, [52, 64, 76]), (0.0, 160.0, [40, 80, 120])],
)
def test_bands_are_one_to_four_of_twelve_metres_or_more(low: float, high: float, inner: list[float]) -> None:
    bands = band_edges(low, high)
    assert [a for a, _ in bands] == [low, *inner]
    assert [b for _, b in bands[:-1]] == inner
    assert bands[-1][1] > high
    assert bands[-1][1] == pytest.approx(high, rel=1e-15)


# --- the steps


def test_a_drill_from_the_first_call_to_the_end() -> None:
    state = DrillState(PLAN)
    assert (state.call_no, state.call_m, state.last, state.is_over) == (1, 50.0, None, False)
    state = replay(PLAN, [Guess(49.0), Guess(51.5), ball("a", 53.0)])
    assert state.answers == (Played(1, 50.0, "a", "54", 54.0, 90.0, 53.0, 51.5),)
    assert state.last is not None
    assert state.last.miss_m == 3.0  # long is positive
    assert (state.call_no, state.call_m, state.guess_m) == (2, 62.0, None)
    state = step(state, Skip())
    assert (state.call_no, state.last, state.is_over) == (3, None, False)
    state = step(step(state, ball("b", 51.0)), ball("c", 70.0))
    assert [played.shot_id for played in state.played] == ["a", "b", "c"]
    assert [played.miss_m for played in state.played] == [3.0, -4.0, 0.0]
    assert [played.call_no for played in state.played] == [1, 3, 4]
    assert state.is_over


def test_a_guess_belongs_to_its_own_call() -> None:
    state = replay(PLAN, [Guess(49.0), Skip(), ball("a"), Guess(58.0), ball("b")])
    assert [played.guess_m for played in state.played] == [None, 58.0]


def test_undo_after_a_guess_drops_the_guess_alone() -> None:
    assert replay(PLAN, [ball("a"), Guess(60.0), Undo()]) == replay(PLAN, [ball("a")])


@pytest.mark.parametrize("events", [[], [Guess(50.0), Undo()], [ball("a"), Undo()]])
def test_nothing_to_undo(events: list[Event]) -> None:
    assert refused(replay(PLAN, events), Undo()) == "there is nothing to undo yet; hit the first ball"


@pytest.mark.parametrize("event", [ball("z"), Guess(50.0), Skip()])
def test_a_drill_that_is_over_takes_only_undo(event: Event) -> None:
    state = replay(PLAN, [ball("a"), ball("b"), Skip(), ball("d")])
    assert refused(state, event) == "the drill is over; undo the last ball, or start another drill"
    assert [played.shot_id for played in step(state, Undo()).played] == ["a", "b"]


def make_event(kind: str, shot_id: str, number: float) -> Event:
    if kind == "ball":
        return ball(shot_id, number)
    others: dict[str, Event] = {"guess": Guess(number), "skip": Skip(), "undo": Undo()}
    return others[kind]


moves = st.lists(
    st.tuples(st.sampled_from(["ball", "ball", "ball", "guess", "skip", "undo"]), st.floats(1.0, 200.0)), max_size=40
)


@given(wanted=moves, count=st.integers(1, 8))
def test_no_sequence_of_events_loses_or_doubles_a_ball(wanted: list[tuple[str, float]], count: int) -> None:
    plan = DrillPlan(tuple(40.0 + 3 * i for i in range(count)), 40.0, 70.0, 1)
    state, taken = DrillState(plan), []
    stack: list[str | None] = []  # what a clerk with a pad would have: one entry a call, None for a skip
    guesses: list[bool] = []  # and whether a guess went with each; the last flag is for the call to come
    pending = False
    for i, (kind, number) in enumerate(wanted):
        event = make_event(kind, f"shot-{i}", number)
        before = state
        fits = bool(stack) or pending if kind == "undo" else len(stack) < count
        if not fits:
            refused(state, event)
            assert state == before
            continue
        state = step(state, event)
        taken.append(event)
        if kind == "undo" and pending:
            pending = False
        elif kind == "undo":
            stack.pop()
            pending = guesses.pop()
        elif kind == "guess":
            pending = True
        else:
            stack.append(f"shot-{i}" if kind == "ball" else None)
            guesses.append(pending and kind == "ball")
            pending = False
        assert (state.guess_m is not None) == pending
        assert [None if a is None else a.shot_id for a in state.answers] == stack
    assert [a.shot_id for a in state.played] == [s for s in stack if s is not None]
    assert len({a.shot_id for a in state.played}) == len(state.played)
    for i, answer in enumerate(state.answers):
        if answer is not None:
            assert (answer.call_no, answer.call_m) == (i + 1, plan.calls_m[i])
            hit = next(e for e in taken if isinstance(e, Ball) and e.shot_id == answer.shot_id)
            assert answer.carry_m == hit.carry_m
    assert state.is_over == (len(stack) == count)
    # the stored plan and events, through JSON text, lead to the same state
    stored = json.loads(json.dumps({"plan": plan.to_dict(), "events": [event_to_dict(e) for e in taken]}))
    assert replay(DrillPlan.from_dict(stored["plan"]), [event_from_dict(e) for e in stored["events"]]) == state
    assert replay(plan, taken) == state


@given(wanted=moves, guess_m=st.one_of(st.none(), st.floats(1.0, 200.0)))
def test_undo_takes_back_exactly_the_last_ball_and_leaves_its_guess(
    wanted: list[tuple[str, float]], guess_m: float | None
) -> None:
    plan = DrillPlan(tuple(40.0 + i for i in range(60)), 40.0, 100.0, 1)
    state = DrillState(plan)
    for i, (name, number) in enumerate(wanted):
        if name == "undo" and not state.answers and state.guess_m is None:
            continue
        state = step(state, make_event(name, f"shot-{i}", number))
    asked = state if guess_m is None else step(state, Guess(guess_m))
    assert step(step(asked, ball("last", 60.0)), Undo()) == asked
    assert step(step(asked, Skip()), Undo()) == DrillState(plan, asked.answers)


def test_balls_that_left_the_log_become_skipped_calls() -> None:
    state = replay(PLAN, [ball("a"), ball("b"), Skip(), Guess(69.0)])
    kept = without_shots(state, {"b", "other"})
    assert [None if a is None else a.shot_id for a in kept.answers] == [None, "b", None]
    assert (kept.call_no, kept.guess_m) == (4, 69.0)
    assert without_shots(state, {"a", "b"}) == state


# --- what is stored


@pytest.mark.parametrize(
    ("event", "stored"),
    [
        (Guess(61.25), {"event": "guess", "guess_m": 61.25}),
        (
            ball("a", 58.5),
            {"event": "ball", "shot_id": "a", "wedge": "54", "loft_deg": 54.0, "swing_deg": 90.0, "carry_m": 58.5},
        ),
        (Skip(), {"event": "skip"}),
        (Undo(), {"event": "undo"}),
    ],
)
def test_an_event_as_it_is_stored(event: Event, stored: dict[str, Any]) -> None:
    assert event_to_dict(event) == stored
    assert event_from_dict(json.loads(json.dumps(stored))) == event


@pytest.mark.parametrize("rule", [WindowRule(), WindowRule(share=0.04, least_m=0.0), WindowRule(fixed_m=2.7432)])
def test_a_plan_survives_being_stored(rule: WindowRule) -> None:
    calls = make_calls(30, 41.3, 90.2, 0.9144, 11)
    plan = DrillPlan(calls, 41.3, 90.2, 11, rule)
    again = DrillPlan.from_dict(json.loads(json.dumps(plan.to_dict())))
    assert again == plan
    assert Counter(again.calls_m) == Counter(calls)
    assert plan.to_dict()["window"] == {"share": rule.share, "least_m": rule.least_m, "fixed_m": rule.fixed_m}
