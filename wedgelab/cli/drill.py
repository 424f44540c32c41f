"""``wedgelab drill``: random calls, a ball for each, and the summary.

1. make the calls, or bring back a drill that was stopped; 2. call, take the answer, store it, show the miss;
3. sum up against what the chart expected when the drill began.
"""

import random
import sys
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import click

from wedgelab.cli.app import App
from wedgelab.cli.fitting import fit_log
from wedgelab.cli.options import alone_option, json_option, session_option, window_option
from wedgelab.cli.record import new_shot, session_name_for
from wedgelab.errors import BadRequestError, StoreError, TooFewShotsError
from wedgelab.shots import MAX_NAME, SwingLength, Wedge, clean_text, new_id
from wedgelab.terminal.lines import read_carry
from wedgelab.units import format_length, parse_length
from wedgelab.window import DEFAULT_WINDOW

if TYPE_CHECKING:
    from wedgelab.drill import DrillPlan, DrillState, Guess, Skip
    from wedgelab.model.player import FittedPlayer
    from wedgelab.store.records import PlayerSettings
    from wedgelab.store.store import SqliteStore
    from wedgelab.terminal.ask import Ask
    from wedgelab.terminal.lines import Entry

SAFETY_LINE = (
    "Range safety: stay behind the hitting line, hit only when nobody is near the target, stop for lightning and "
    "ball collection."
)


@click.command(epilog="Example: wedgelab drill --balls 20 --from 45 --to 85")
@click.option("--balls", type=click.IntRange(1, 500), default=20, show_default=True, help="How many calls.")
@click.option("--from", "low", metavar="DISTANCE", help="Shortest call; else as short as the chart reaches.")
@click.option("--to", "high", metavar="DISTANCE", help="Longest call; else as long as the chart and the range reach.")
@click.option("--step", metavar="DISTANCE", default="1", show_default=True, help="Calls are multiples of this.")
@click.option("--seed", type=click.IntRange(0, 2**31 - 1), help="The same seed gives the same calls.")
@window_option
@click.option("--no-advice", is_flag=True, help="Do not show the chart's wedge and swing.")
@click.option("--resume", is_flag=True, help="Go on with the drill that was stopped last.")
@session_option
@alone_option
@json_option
@click.pass_obj
def command(
    app: App,
    balls: int,
    low: str | None,
    high: str | None,
    step: str,
    seed: int | None,
    window: str | None,
    no_advice: bool,
    resume: bool,
    session_name: str | None,
    as_json: bool,
) -> None:
    """Call random targets and take the carry of each ball.

    Answer [WEDGE SWING] CARRY; wedge and swing are the advised ones if left out. `guess N` on a line before it keeps
    your estimate; undo, skip, quit. Without a terminal it reads one answer a line.
    """
    from wedgelab.render.layout import wrap
    from wedgelab.terminal.ask import has_terminal, plain_ask, prompt_ask

    no_wedge = BadRequestError("the bag has no wedge", "add one first: wedgelab bag add 54 54")
    if session_name is not None:
        clean_text("session", session_name, MAX_NAME)
    if not app.path.exists():
        raise no_wedge
    with app.open(create=True) as store:
        settings = app.peek(store)
        if not app.bag(store, settings).wedges:
            raise no_wedge
        desk = _Desk(app, store, settings, session_name, advise=not no_advice)
        state = desk.resume() if resume else desk.start(_plan(app, desk, balls, low, high, step, seed, window))
        at_terminal = has_terminal() and not as_json
        prompts = sys.stderr if as_json else sys.stdout
        ask = (
            prompt_ask([*desk.words, "guess", "undo", "skip", "quit"]) if at_terminal else plain_ask(sys.stdin, prompts)
        )
        app.say(wrap(SAFETY_LINE))
        listener = _Listener(ask)
        try:
            refused = desk.play(state, listener, as_json=as_json)
        except StoreError:
            app.say("stopped; the last answer is not in the log; go on with: wedgelab drill --resume")
            raise
        except KeyboardInterrupt:  # not while it waited for an answer
            app.say("stopped; go on with: wedgelab drill --resume")
            raise
    if listener.was_interrupted and not at_terminal:  # at a terminal Ctrl-C is one more way to stop
        raise KeyboardInterrupt
    if refused and not at_terminal:
        raise BadRequestError(f"{refused} line(s) were refused", "the lines above say why; the other balls are stored")


class _Listener:
    """Asks, and remembers whether the answer was an interrupt."""

    def __init__(self, ask: "Ask") -> None:
        self._ask = ask
        self.was_interrupted = False

    def __call__(self, prompt: str) -> str:
        try:
            return self._ask(prompt)
        except KeyboardInterrupt:
            self.was_interrupted = True
            raise


class _Desk:
    """Stores what the drill takes, and knows what the chart said when the drill began."""

    def __init__(
        self, app: App, store: "SqliteStore", settings: "PlayerSettings", session: str | None, *, advise: bool
    ) -> None:
        self._app, self._store, self._settings, self._session = app, store, settings, session
        self._advise = advise
        self._drill_id = ""
        self._window = DEFAULT_WINDOW
        self._advised: dict[float, tuple[Wedge, SwingLength] | None] = {}
        self.unit = app.unit(settings)
        self.log = app.player_log(store, settings)
        self.log = replace(self.log, others=app.others(store, self.log))
        self.predictor = self._fit()

    def _fit(self) -> "FittedPlayer | None":
        """Fit what was logged before this drill, for the air of the session; None with nothing to learn from."""
        try:
            predictor = fit_log(self.log) if self.log.bag.wedges else None
        except TooFewShotsError:
            return None
        name = self._session or self._going_on()
        conditions = self.log.conditions.get(name or "")
        if predictor is None or conditions is None:
            return predictor
        from wedgelab.prediction import Day
        from wedgelab.render.words import conditions_text

        self._app.say(f"calls and advice are for the air of session {name}: {conditions_text(conditions)}")
        return predictor.on(Day(conditions))

    def _going_on(self) -> str | None:
        """Return the name of the day's session, None before its first ball."""
        if not self._settings.created_at:
            return None
        session = self._store.current_session(self._settings.name, self._app.now().date())
        return None if session is None else session.name

    @property
    def words(self) -> list[str]:
        """What an answer may be completed to."""
        return [w.label for w in self.log.bag.wedges] + [s.label for s in self.log.bag.swings]

    def start(self, plan: "DrillPlan") -> "DrillState":
        """Store a new drill."""
        from wedgelab.drill import DrillState
        from wedgelab.render.words import count_text

        self._drill_id, self._window = new_id(), plan.window
        self._store.start_drill(self._settings.name, self._drill_id, plan.to_dict())
        calls = f"{format_length(plan.low_m, self.unit)} to {format_length(plan.high_m, self.unit)} {self.unit}"
        count = count_text(len(plan.calls_m), "call")
        self._app.say(f"{count} from {calls}, seed {plan.seed}; ? for help, quit to stop")
        return DrillState(plan)

    def resume(self) -> "DrillState":
        """Bring back the drill that was started last; the chart is the one from before it."""
        from wedgelab.drill import DrillPlan, event_from_dict, replay, without_shots

        record = self._store.latest_drill(self._settings.name)
        if record is None:
            raise BadRequestError("there is no drill to resume", "start one with: wedgelab drill")
        self._drill_id = record.drill_id
        events = [event_from_dict(event) for event in self._store.drill_events(record.drill_id)]
        plan = DrillPlan.from_dict(record.settings)
        self._window = plan.window
        state = replay(plan, events)
        kept = {shot.shot_id for shot in self._store.shots(self._settings.name, drill_id=record.drill_id)}
        state = without_shots(state, kept)
        if state.is_over:
            raise BadRequestError("the last drill is over", "start another one with: wedgelab drill")
        self.log.shots[:] = [shot for shot in self.log.shots if shot.drill_id != record.drill_id]
        self.predictor = self._fit()
        self._app.say(f"drill of {record.started_at[:16].replace('T', ' ')} goes on at call {state.call_no}")
        return state

    def play(self, state: "DrillState", ask: "Ask", *, as_json: bool) -> int:
        """Run the conversation, sum up, and return how many lines were refused."""
        from wedgelab.drill import summarise
        from wedgelab.render.json import drill_document
        from wedgelab.render.text import band_label, drill_text
        from wedgelab.terminal.drill_loop import drill_loop

        speak = self._app.say if as_json else self._app.out
        result = drill_loop(
            state, self, self.log.bag, self.unit, ask, speak, self._app.say, somebody_reads=sys.stdin.isatty()
        )
        summary = summarise(result.state, self.predictor, partial(band_label, self.unit))
        if not result.state.is_over:
            self._app.say(f"stopped at call {result.state.call_no}; go on with: wedgelab drill --resume")
        if as_json:
            self._app.out(drill_document(self._drill_id, result.state, summary))
        elif summary is not None:
            self._app.out("")
            self._app.out(drill_text(summary, self.unit, result.state.plan.window))
        return result.refused

    def advice(self, call_m: float) -> tuple[Wedge, SwingLength] | None:
        """Return the shot with the best chance for a call, None without a chart or when no advice is wanted."""
        if self.predictor is None or not self._advise:
            return None
        if call_m not in self._advised:
            from wedgelab.choose import advise

            self._advised[call_m] = advise(self.predictor, self.log.bag, call_m, self._window)
        return self._advised[call_m]

    def store_ball(
        self, state: "DrillState", entry: "Entry", advised: tuple[Wedge, SwingLength] | None
    ) -> "DrillState":
        """Store the ball and its event together; the new state is shown only after that."""
        from wedgelab.drill import Ball, event_to_dict, step

        call = state.call_m
        columns = {
            "ball": self._settings.ball,
            **entry.columns,
            "target_m": call,
            "guess_m": state.guess_m,
            "drill_id": self._drill_id,
            "call_no": state.call_no,
            "window_m": state.plan.window.half_m(call),
            "advice_shown": advised is not None,
            "advised_wedge": advised[0].label if advised else "",
            "advised_swing_deg": advised[1].swing_deg if advised else None,
        }
        # checked before a session begins, as in `log`
        draft = new_shot(self._app, self._settings.name, "draft", entry.wedge, entry.swing, entry.carry_m, columns)
        shot = draft.replace(session=session_name_for(self._app, self._store, self._settings, self._session))
        event = Ball(shot.shot_id, shot.wedge, shot.loft_deg, shot.swing_deg, shot.carry_m)
        after = step(state, event)
        self._store.add_shot(shot, drill_event=event_to_dict(event))
        return after

    def store_event(self, state: "DrillState", event: "Guess | Skip") -> "DrillState":
        """Store a guess or a skip."""
        from wedgelab.drill import event_to_dict, step

        after = step(state, event)
        self._store.add_drill_event(self._drill_id, event_to_dict(event))
        return after

    def undo(self, state: "DrillState") -> "DrillState":
        """Take back the last answer and its ball."""
        from wedgelab.drill import Undo, event_to_dict, step

        after = step(state, Undo())
        gone = state.last if len(after.answers) < len(state.answers) else None
        self._store.add_drill_event(
            self._drill_id, event_to_dict(Undo()), void_shot_id=None if gone is None else gone.shot_id
        )
        return after


def _plan(
    app: App,
    desk: _Desk,
    balls: int,
    low: str | None,
    high: str | None,
    step: str,
    seed: int | None,
    window: str | None,
) -> "DrillPlan":
    """Decide the span of the calls: the player's reach, the wish, the range's limit; then draw them."""
    from wedgelab.drill import DrillPlan, make_calls

    unit, limit = desk.unit, desk.log.range_limit_m
    low_m = None if low is None else read_carry(low, unit, "target_m")
    high_m = None if high is None else read_carry(high, unit, "target_m")
    step_m = parse_length(step, unit, "--step")
    if step_m <= 0:
        raise BadRequestError(f"--step {step} is not above 0", "give a step such as 5")
    if high_m is not None and limit is not None and high_m > limit + 1e-6:
        raise BadRequestError(
            f"--to {high} is beyond the range limit of {format_length(limit, unit)} {unit}",
            "call shorter, or change it: wedgelab players set --range-limit",
        )
    if desk.predictor is not None:
        from wedgelab.choose import find_reach

        reach = find_reach(desk.predictor, desk.log.bag)
        shortest, longest = reach.low_m, reach.high_m
        if (low_m is not None and low_m < shortest - step_m) or (high_m is not None and high_m > longest + step_m):
            near = f"{format_length(shortest, unit)} to {format_length(longest, unit)} {unit}"
            app.say(f"the chart reaches {near}: no call lies outside")
        low_m = shortest if low_m is None else max(low_m, shortest)
        high_m = longest if high_m is None else min(high_m, longest)
    elif low_m is None or high_m is None:
        raise TooFewShotsError(
            "there is no chart to draw calls from yet", "give --from and --to, or log some shots first"
        )
    if limit is not None:
        high_m = min(high_m, limit)
    if low_m > high_m:
        asked = f"{low or 'the shortest shot'} to {high or 'the longest'}"
        allowed = (
            "the chart's reach"
            if limit is None
            else f"the chart's reach and the range limit ({format_length(limit, unit)} {unit})"
        )
        raise BadRequestError(f"no call from {asked} lies within {allowed}", "give another --from and --to")
    drawn_with = random.SystemRandom().randrange(10**6) if seed is None else seed
    calls = make_calls(balls, low_m, high_m, step_m, drawn_with)
    return DrillPlan(calls, low_m, high_m, drawn_with, desk.log.window_rule(window))
