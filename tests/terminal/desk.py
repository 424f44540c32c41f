"""A desk for tests of the drill: it steps the real machine, remembers what it was asked, and fails when told to."""

from dataclasses import dataclass, field
from itertools import count

from wedgelab.drill.machine import Ball, DrillPlan, DrillState, Event, Guess, Skip, Undo, correction, step
from wedgelab.errors import FileProblemError, StoreError
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.terminal.lines import Entry
from wedgelab.terminal.sitting import Club, FollowedBall
from wedgelab.window import WindowRule

BAG = Bag((Wedge("54", 54.0), Wedge("58", 58.0)), (SwingLength("9:00", 90.0), SwingLength("full", 165.0)))
PLAN = DrillPlan((50.0, 60.0, 70.0), 40.0, 80.0, 1, WindowRule(fixed_m=3.0))
_NUMBERS = count()
ADVICE = (Wedge("54", 54.0), SwingLength("9:00", 90.0))


@dataclass
class Desk:
    advises: bool = True
    broken: int = 0
    events: list[Event] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    shown: list[Club | None] = field(default_factory=list)
    aside: list[Entry] = field(default_factory=list)
    has_room: bool = True

    def _put(self, state: DrillState, *events: Event) -> DrillState:
        for event in events:
            state = step(state, event)
        if self.broken:
            self.broken -= 1
            raise StoreError("log.db", "it is locked", "try again")
        self.events.extend(events)
        return state

    def _ball(self, entry: Entry, shown: Club | None) -> Ball:
        return Ball(
            f"s{next(_NUMBERS)}", entry.wedge.label, entry.wedge.loft_deg, entry.swing.swing_deg, entry.carry_m,
            entry.swing.label, shown is not None,
        )  # fmt: skip

    def advice(self, call_m: float) -> Club | None:
        return ADVICE if self.advises and call_m in PLAN.calls_m else None

    def store_ball(
        self, state: DrillState, entry: Entry, shown: Club | None, source: FollowedBall | None
    ) -> DrillState:
        after = self._put(state, self._ball(entry, shown))
        self.entries.append(entry)
        self.shown.append(shown)
        return after

    def correct_ball(self, state: DrillState, entry: Entry) -> DrillState:
        after = self._put(state, *correction(state, self._ball(entry, self.shown[-1])))
        self.entries.append(entry)
        return after

    def store_event(self, state: DrillState, event: Guess | Skip) -> DrillState:
        return self._put(state, event)

    def undo(self, state: DrillState) -> DrillState:
        return self._put(state, Undo())

    def keep_aside(self, state: DrillState, entry: Entry, shown: Club | None, source: FollowedBall | None) -> str:
        if not self.has_room:
            raise FileProblemError("log.db.pending.jsonl", "full", "make room")
        self.aside.append(entry)
        return "log.db.pending.jsonl"
