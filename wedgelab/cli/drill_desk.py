"""What a drill stores and what it knows of the chart: the hands of the command, given to the terminal."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from wedgelab.cli.app import App
from wedgelab.cli.drill_plan import check_range, recorded_state
from wedgelab.cli.fitting import fit_log
from wedgelab.cli.record import new_shot, session_name_for
from wedgelab.errors import BadRequestError, StoreError, TooFewShotsError
from wedgelab.shots import Shot, new_id
from wedgelab.units import format_length

if TYPE_CHECKING:
    from wedgelab.choose import Advice
    from wedgelab.drill.machine import Ball, DrillPlan, DrillState, Event, Guess, Skip
    from wedgelab.model.player import FittedPlayer
    from wedgelab.prediction import Prediction
    from wedgelab.store.records import FollowedRow, PlayerSettings
    from wedgelab.store.store import SqliteStore
    from wedgelab.terminal.lines import Entry
    from wedgelab.terminal.sitting import Club, FollowedBall
    from wedgelab.window import WindowRule


class Desk:
    """Stores what the drill takes, and knows what the chart said when the drill began."""

    def __init__(self, app: App, store: "SqliteStore", settings: "PlayerSettings", session: str | None) -> None:
        self._app, self._store, self._settings, self._session = app, store, settings, session
        self.drill_id = ""
        self._last_event = 0
        self._begun_at = ""
        self._asked: dict[tuple[float, WindowRule], Advice | None] = {}
        self._plan: DrillPlan | None = None
        self.unit = app.unit(settings)
        self.log = app.player_log(store, settings)
        self.log = replace(self.log, others=app.others(store, self.log))
        self.predictor = self._fit()

    def _fit(self) -> "FittedPlayer | None":
        """Fit what was logged before this drill, for the air of the session; None with nothing to learn from."""
        self._asked.clear()
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
        from wedgelab.drill.machine import DrillState
        from wedgelab.render.words import count_text

        self._begin(new_id(), plan)
        record = self._store.start_drill(self._settings.name, self.drill_id, plan.to_dict())
        self._begun_at = record.started_at
        calls = f"{format_length(plan.low_m, self.unit)} to {format_length(plan.high_m, self.unit)} {self.unit}"
        count = count_text(len(plan.calls_m), "call")
        drawn = "as planned" if plan.shots else f"seed {plan.seed}"
        self._app.say(f"{count} from {calls}, {drawn}; ? for help, quit to stop")
        return DrillState.start(plan)

    def resume(self) -> "DrillState":
        """Bring back the drill that was started last; the chart is the one from before it."""
        record = self._store.latest_drill(self._settings.name)
        if record is None:
            raise BadRequestError("there is no drill to resume", "start one with: wedgelab drill")
        state = recorded_state(self._store, record)
        check_range(state.plan.calls_m[len(state.answers) :], self.log.range_limit_m, self.unit)
        self.log.shots[:] = [shot for shot in self.log.shots if shot.drill_id != record.drill_id]
        self.predictor = self._fit()
        self._begin(record.drill_id, state.plan)
        self._begun_at = record.started_at
        self._last_event = len(self._store.drill_events(record.drill_id))
        when = record.started_at[:16].replace("T", " ")
        goes_on = f"goes on at call {state.call_no}" if not state.is_over else "is over; another one: wedgelab drill"
        self._app.say(f"drill of {when} {goes_on}")
        return state

    def _begin(self, drill_id: str, plan: "DrillPlan") -> None:
        self.drill_id, self._plan = drill_id, plan
        self.ask(plan.calls_m, plan.window)  # before the first ball: no key has to wait for it

    # --- the chart

    def ask(self, calls_m: Sequence[float], window: "WindowRule") -> "list[Advice | None]":
        """Return the shot with the best chance for each call; None without a chart and out of reach."""
        if self.predictor is None:
            return [None] * len(calls_m)
        new = [call for call in dict.fromkeys(calls_m) if (call, window) not in self._asked]
        if new:
            from wedgelab.choose import advise_each

            found = advise_each(self.predictor, self.log.bag, new, window)
            self._asked |= {(call, window): advice for call, advice in zip(new, found, strict=True)}
        return [self._asked[call, window] for call in calls_m]

    def advice(self, call_m: float) -> "Club | None":
        """Return the shot that the chart advises for a call, None without a chart."""
        advice = self._advice(call_m)
        return None if advice is None else (advice.wedge, advice.swing)

    def _advice(self, call_m: float) -> "Advice | None":
        return None if self._plan is None else self.ask([call_m], self._plan.window)[0]

    def _expected(self, shot: Shot, call_m: float, half_m: float) -> dict[str, float]:
        """Return what the chart expects of the shot at its call."""
        if self.predictor is None:
            return {}
        from wedgelab.prediction import ShotKind

        kind = ShotKind(shot.wedge, shot.loft_deg, shot.swing_deg, shot.trajectory, shot.lie)
        advice = self._advice(call_m)
        known: Prediction | None = None
        if advice is not None and advice.prediction.kind == kind:
            known = advice.prediction
        prediction = known or self.predictor.predict([kind])[0]
        kinds = [kind] if advice is None else [kind, advice.prediction.kind]
        chances = self.predictor.window_probability(kinds, call_m - half_m, call_m + half_m)
        return {
            "chart_carry_m": float(prediction.carry_m),
            "chart_carry_sd_m": float(prediction.carry_sd_m),
            "chart_carry_se_m": float(prediction.carry_se_m),
            "chart_window_probability": float(chances[0]),
            "best_window_probability": float(max(chances)),
        }

    # --- what is stored

    def store_ball(
        self, state: "DrillState", entry: "Entry", shown: "Club | None", source: "FollowedBall | None"
    ) -> "DrillState":
        """Store the ball and its event together; the new state is shown only after that."""
        from wedgelab.drill.machine import step

        shot, row = self._shot(state, entry, shown, source)
        if row is not None:
            self._check_row(row)
            if self.log.bag.find_wedge(shot.wedge) is None and self._store.add_wedge(self._settings.name, entry.wedge):
                self._app.say(f"added wedge {entry.wedge.label}, {entry.wedge.loft_deg:g} deg, as the file has it")
        shot = shot.replace(session=session_name_for(self._app, self._store, self._settings, self._session))
        event = self._ball(shot, state.call_m, state.window_m)
        after = step(state, event)
        self._add([event], shot=shot, row=row)
        return after

    def _check_row(self, row: "FollowedRow") -> None:
        """Refuse a row of a watched file that was imported before the drill could take it: it would count twice."""
        from wedgelab.store.exchange import had_time

        if not self._settings.created_at:
            return
        since = {
            batch.import_id
            for batch in self._store.imports(self._settings.name)
            if batch.file_name == row.file_name and batch.imported_at >= self._begun_at
        }
        for other in self._store.import_rows(self._settings.name):
            is_same_line = other.import_id in since and other.row_no == row.row_no
            if other.row_key == row.row_key and (is_same_line or had_time(row.row_key)):
                raise BadRequestError(
                    f"line {row.row_no} of the file was imported meanwhile, so it is in the log already",
                    "undo that import if the ball belongs to this call",
                )

    def correct_ball(self, state: "DrillState", entry: "Entry") -> "DrillState":
        """Store another ball in the place of the last one; what was not typed again stays as it was."""
        from wedgelab.drill.machine import correction, step

        last = state.last
        if last is None:
            raise BadRequestError("there is no ball to correct", "the last call has none")
        named = last.ball.shot_id
        now_as = self._store.live_drill_shots(self._settings.name, self.drill_id).get(named)
        if now_as is None:
            raise BadRequestError("that ball is no longer in the log", "undo, and the call comes again")
        shots = self._store.shots(self._settings.name, drill_id=self.drill_id)
        old = next(shot for shot in shots if shot.shot_id == now_as)
        shot = old.replace(
            shot_id=new_id(), wedge=entry.wedge.label, loft_deg=entry.wedge.loft_deg, swing=entry.swing.label,
            swing_deg=entry.swing.swing_deg, carry_m=entry.carry_m, **entry.columns,
        )  # fmt: skip
        events = correction(state, self._ball(shot, last.call_m, last.window_m))
        after = state
        for event in events:
            after = step(after, event)
        self._add(events, shot=shot, void_shot_id=named)
        return after

    def store_event(self, state: "DrillState", event: "Guess | Skip") -> "DrillState":
        """Store a guess or a skip."""
        return self._store_step(state, event)

    def undo(self, state: "DrillState") -> "DrillState":
        """Take back the last event and its ball."""
        from wedgelab.drill.machine import Undo

        return self._store_step(state, Undo())

    def _store_step(self, state: "DrillState", event: "Event") -> "DrillState":
        from wedgelab.drill.machine import step

        after = step(state, event)
        gone = state.last if len(after.answers) < len(state.answers) else None
        self._add([event], void_shot_id=None if gone is None else gone.ball.shot_id)
        return after

    def _add(
        self,
        events: "Sequence[Event]",
        *,
        shot: Shot | None = None,
        void_shot_id: str | None = None,
        row: "FollowedRow | None" = None,
    ) -> None:
        """Store events; another program that plays the same drill is noticed here."""
        from wedgelab.drill.machine import event_to_dict

        self._last_event = self._store.add_drill_events(
            self.drill_id,
            [event_to_dict(event) for event in events],
            shot=shot,
            void_shot_id=void_shot_id,
            row=row,
            after=self._last_event,
        )

    def as_stored(self, state: "DrillState") -> "DrillState":
        """Return the drill as the log has it now: without balls that were deleted elsewhere meanwhile."""
        try:
            return recorded_state(self._store, self._store.drill(self.drill_id))
        except StoreError:
            return state

    def keep_aside(
        self, state: "DrillState", entry: "Entry", shown: "Club | None", source: "FollowedBall | None"
    ) -> str:
        """Keep a ball beside the log that does not take it; it goes in when the log is opened next."""
        from wedgelab.drill.machine import event_to_dict
        from wedgelab.store.pending import keep_aside

        shot, row = self._shot(state, entry, shown, source)
        try:
            session = self._going_on()
        except StoreError:
            session = None
        shot = shot.replace(session=self._session or session or self._app.now().date().isoformat())
        event = self._ball(shot, state.call_m, state.window_m)
        return str(keep_aside(self._store.path, shot, drill_events=[event_to_dict(event)], row=row))

    def _shot(
        self, state: "DrillState", entry: "Entry", shown: "Club | None", source: "FollowedBall | None"
    ) -> "tuple[Shot, FollowedRow | None]":
        """Return the ball as a shot of the drill, checked before a session begins; and the row that it came in."""
        from wedgelab.cli.drill_watch import WatchedBall

        columns: dict[str, Any] = {
            "ball": self._settings.ball,
            **entry.columns,
            "target_m": state.call_m,
            "guess_m": state.guess_m,
            "drill_id": self.drill_id,
            "call_no": state.call_no,
            "window_m": state.window_m,
            "advice_shown": shown is not None,
            "advised_wedge": shown[0].label if shown else "",
            "advised_swing_deg": shown[1].swing_deg if shown else None,
        }
        shot = new_shot(self._app, self._settings.name, "draft", entry.wedge, entry.swing, entry.carry_m, columns)
        if not isinstance(source, WatchedBall):
            return shot, None
        return (shot.replace(hit_at=source.hit_at) if source.hit_at else shot), source.row

    def _ball(self, shot: Shot, call_m: float, half_m: float) -> "Ball":
        from wedgelab.drill.machine import Ball

        expected = self._expected(shot, call_m, half_m)
        return Ball(
            shot.shot_id, shot.wedge, shot.loft_deg, shot.swing_deg, shot.carry_m, shot.swing,
            bool(shot.advice_shown), **expected,
        )  # fmt: skip
