"""What a drill asks for, from the command's words: a new plan within the player's reach, or an earlier one again."""

import math
import random
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from wedgelab.errors import BadRequestError, TooFewShotsError, UnknownNameError
from wedgelab.terminal.lines import read_carry
from wedgelab.units import LengthUnit, format_length, parse_length, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from wedgelab.cli.app import App
    from wedgelab.cli.drill_desk import Desk
    from wedgelab.drill.calls import Order
    from wedgelab.drill.machine import DrillPlan, DrillState, Feedback
    from wedgelab.model.player import FittedPlayer
    from wedgelab.store.records import DrillRecord
    from wedgelab.store.store import SqliteStore

NEW_PLAYER_DRILLS: Final = 3  # so many first drills rise from repeats to single calls
WORTH_REPEATING: Final = 5  # balls
HOLD: Final = (0.2, 0.9)
_CALLS_TO_SCALE_BY: Final = 12
_WIDEST_LOG: Final = 1.5  # of the window's scale at the start
_HALVINGS: Final = 8


@dataclass(frozen=True, slots=True)
class Words:
    """The options of the command that shape a plan, as they were typed."""

    balls: int
    low: str | None
    high: str | None
    step: str
    seed: int | None
    window: str | None
    hold: str | None
    order: "Order | None"
    focus: str | None
    feedback: "Feedback"
    block: int
    guess_first: bool
    advice: bool


def new_plan(app: "App", desk: "Desk", words: Words) -> "DrillPlan":
    """Decide the span of the calls (the player's reach, the wish, the range's limit), then draw them."""
    from wedgelab.drill.calls import call_grid, make_calls
    from wedgelab.drill.machine import DrillPlan

    low_m, high_m = _span(app, desk, words)
    window = desk.log.window_rule(words.window)
    seed = random.SystemRandom().randrange(10**6) if words.seed is None else words.seed
    step_m = _step_m(words, desk.unit)
    order = words.order or _usual_order(app, desk)
    weights: Mapping[float, float] | None = None
    if words.focus is not None:
        from wedgelab.drill.focus import needs

        if desk.predictor is None:
            raise TooFewShotsError("there is no chart to find what is weak by", "log some shots first")
        grid = call_grid(low_m, high_m, step_m)
        weights = needs(grid, desk.ask(grid, window), window)
    calls = make_calls(words.balls, low_m, high_m, step_m, seed, order=order, needs=weights)
    plan = DrillPlan(
        calls, low_m, high_m, seed, window, order, words.focus or "", _share(words.hold), 1.0,
        words.feedback, words.block, words.guess_first, words.advice,
    )  # fmt: skip
    return plan if plan.hold is None else replace(plan, scale=_first_scale(desk, plan, plan.hold))


def plan_of_test(
    app: "App", store: "SqliteStore", desk: "Desk", words: Words, which: str | None
) -> "tuple[DrillPlan, DrillState]":
    """Return the calls of an earlier drill again, without advice and with a window that stays; and that drill."""
    record, state = earlier_drill(store, desk.log.name, which)
    earlier = state.plan
    when = record.started_at[:16].replace("T", " ")
    if record.started_at[:10] == app.now().date().isoformat():
        app.say("that drill was today: a test on a later day says more about what was learnt")
    calls = earlier.calls_m[: len(state.answers)]
    check_range(calls, desk.log.range_limit_m, desk.unit)
    app.say(f"test: the {len(calls)} calls of the drill of {when} again, without advice")
    return replace(
        earlier, calls_m=calls, hold=None, scale=1.0, focus="", feedback=words.feedback, block=words.block,
        guess_first=words.guess_first, advice=False, test_of=record.drill_id,
    ), state  # fmt: skip


def earlier_drill(store: "SqliteStore", player: str, which: str | None) -> "tuple[DrillRecord, DrillState]":
    """Return the drill whose start or id begins with ``which``, the latest one that was no test if that is None."""
    found = [(record, recorded_state(store, record)) for record in reversed(store.drills(player))]
    found = [(record, state) for record, state in found if len(state.played) >= WORTH_REPEATING]
    if not found:
        raise TooFewShotsError(
            f"no earlier drill has {WORTH_REPEATING} balls or more", "play one first: wedgelab drill"
        )
    if which is None:
        return next(((record, state) for record, state in found if not state.plan.test_of), found[0])
    wanted = which.strip().replace(" ", "T")
    for record, state in found:
        if wanted and (record.drill_id.startswith(wanted) or record.started_at.startswith(wanted)):
            return record, state
    known = [record.started_at[:16].replace("T", " ") for record, _ in found]
    raise UnknownNameError("drill", which, known, "say when it began, for example: --of '2026-06-03 14:10'")


def recorded_state(store: "SqliteStore", record: "DrillRecord") -> "DrillState":
    """Return how a stored drill stands, with the balls that are in the log now."""
    from wedgelab.drill.machine import DrillPlan, event_from_dict, replay, with_shots

    events = [event_from_dict(event) for event in store.drill_events(record.drill_id)]
    live = store.live_drill_shots(record.player, record.drill_id)
    return replay(DrillPlan.from_dict(record.settings), with_shots(events, live))


def check_range(calls_m: "Sequence[float]", limit_m: float | None, unit: LengthUnit) -> None:
    """Refuse calls that lie beyond the range limit as it is now."""
    farthest = max(calls_m, default=0.0)
    if limit_m is not None and farthest > limit_m + 1e-6:
        raise BadRequestError(
            f"the drill calls up to {format_length(farthest, unit)} {unit}, beyond the range limit of "
            f"{format_length(limit_m, unit)} {unit}",
            "start another drill, or change the limit: wedgelab players set --range-limit",
        )


def _usual_order(app: "App", desk: "Desk") -> "Order":
    played = {shot.drill_id for shot in desk.log.shots if shot.drill_id}
    if len(played) >= NEW_PLAYER_DRILLS:
        return "random"
    app.say("order: rising, from threes to single calls, as in first drills (--order random)")
    return "rising"


def _share(text: str | None) -> float | None:
    if text is None:
        return None
    low, high = HOLD
    example = f"a share from {100 * low:.0f}% to {100 * high:.0f}%, such as 60%"
    share = parse_quantity(text, "share", "%", "--hold", example) / 100.0
    if not low <= share <= high:
        raise BadRequestError(f"--hold {text} is no share that a window can hold", f"give {example}")
    return share


def _first_scale(desk: "Desk", plan: "DrillPlan", hold: float) -> float:
    """Return the scale at which the chart expects the wanted share inside, so that the window starts near its place."""
    calls = tuple(dict.fromkeys(plan.calls_m))[:_CALLS_TO_SCALE_BY]
    shots = [(c, a.prediction.kind) for c, a in zip(calls, desk.ask(calls, plan.window), strict=True) if a is not None]
    if desk.predictor is None or not shots:
        return 1.0
    low, high = -_WIDEST_LOG, _WIDEST_LOG
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        inside = 0.0
        for call, kind in shots:
            half = plan.window.half_m(call) * math.exp(middle)
            inside += float(desk.predictor.window_probability([kind], call - half, call + half)[0])
        low, high = (middle, high) if inside / len(shots) < hold else (low, middle)
    return math.exp((low + high) / 2.0)


def _span(app: "App", desk: "Desk", words: Words) -> tuple[float, float]:
    unit, limit = desk.unit, desk.log.range_limit_m
    low_m = None if words.low is None else read_carry(words.low, unit, "target_m")
    high_m = None if words.high is None else read_carry(words.high, unit, "target_m")
    if high_m is not None and limit is not None and high_m > limit + 1e-6:
        raise BadRequestError(
            f"--to {words.high} is beyond the range limit of {format_length(limit, unit)} {unit}",
            "call shorter, or change it: wedgelab players set --range-limit",
        )
    step_m = _step_m(words, unit)
    if desk.predictor is not None:
        low_m, high_m = _within_reach(app, desk, desk.predictor, low_m, high_m, step_m)
    elif low_m is None or high_m is None:
        raise TooFewShotsError(
            "there is no chart to draw calls from yet", "give --from and --to, or log some shots first"
        )
    if limit is not None:
        high_m = min(high_m, limit)
    if low_m > high_m:
        asked = f"{words.low or 'the shortest shot'} to {words.high or 'the longest'}"
        raise BadRequestError(
            f"no call from {asked} lies within {_allowed(unit, limit)}", "give another --from and --to"
        )
    return low_m, high_m


def _step_m(words: Words, unit: LengthUnit) -> float:
    from wedgelab.drill.calls import LEAST_STEP_M

    step_m = parse_length(words.step, unit, "--step")
    if step_m <= 0:
        raise BadRequestError(f"--step {words.step} is not above 0", "give a step such as 5")
    if step_m < LEAST_STEP_M:
        least = format_length(LEAST_STEP_M, unit, 2)
        raise BadRequestError(f"--step {words.step} is too fine", f"give {least} {unit} or more, such as 1")
    return step_m


def _within_reach(
    app: "App", desk: "Desk", predictor: "FittedPlayer", low_m: float | None, high_m: float | None, step_m: float
) -> tuple[float, float]:
    from wedgelab.choose import find_reach

    reach = find_reach(predictor, desk.log.bag)
    shortest, longest = reach.low_m, reach.high_m
    if (low_m is not None and low_m < shortest - step_m) or (high_m is not None and high_m > longest + step_m):
        near = f"{format_length(shortest, desk.unit)} to {format_length(longest, desk.unit)} {desk.unit}"
        app.say(f"the chart reaches {near}: no call lies outside")
    return shortest if low_m is None else max(low_m, shortest), longest if high_m is None else min(high_m, longest)


def _allowed(unit: LengthUnit, limit_m: float | None) -> str:
    if limit_m is None:
        return "the chart's reach"
    return f"the chart's reach and the range limit ({format_length(limit_m, unit)} {unit})"
