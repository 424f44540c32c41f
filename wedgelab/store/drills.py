"""Drills as lists of events, each stored together with the ball that it speaks of."""

import json
from collections.abc import Mapping
from typing import Any, Final

from wedgelab.errors import BadNameError, UnknownNameError
from wedgelab.shots import Shot
from wedgelab.store.imports import ImportPart
from wedgelab.store.records import DrillRecord, as_json

_DRILL: Final = "SELECT drill_id, player, started_at, settings FROM drill"


class DrillPart(ImportPart):
    """A drill can be replayed from its events, in order."""

    def start_drill(self, player: str, drill_id: str, settings: Mapping[str, Any]) -> DrillRecord:
        """Store that a drill began now, with its settings."""
        text = as_json(settings)
        with self._writing() as connection:
            name, now = self.player(player).name, self._stamp()
            if self._row("SELECT 1 FROM drill WHERE drill_id = ?", (drill_id,)):
                raise BadNameError("drill", drill_id, "it exists already: a new drill has a new id")
            connection.execute(
                "INSERT INTO drill (drill_id, player, started_at, settings) VALUES (?, ?, ?, ?)",
                (drill_id, name, now, text),
            )
        return DrillRecord(drill_id, name, now, dict(settings))

    def add_drill_event(
        self,
        drill_id: str,
        event: Mapping[str, Any],
        *,
        shot: Shot | None = None,
        void_shot_id: str | None = None,
    ) -> int:
        """Store the next event of a drill with the shot that it brings or takes back; return the event's number.

        A shot that was taken back already (by an undo elsewhere) stays so, and the event is stored all the same.
        """
        text, shot_id = as_json(event), shot.shot_id if shot is not None else void_shot_id
        with self._refusing_known([] if shot is None else [shot]), self._writing() as connection:
            if shot is not None:
                self._insert_shots(connection, [shot])
            if void_shot_id is not None:
                if not self._row("SELECT 1 FROM shot WHERE shot_id = ?", (void_shot_id,)):
                    raise UnknownNameError("shot", void_shot_id, ())
                if not self._row("SELECT 1 FROM void WHERE shot_id = ?", (void_shot_id,)):
                    self._void(connection, void_shot_id, "taken back in the drill")
            return self._append_event(connection, drill_id, text, shot_id)

    def drill(self, drill_id: str) -> DrillRecord:
        """Return a drill, or raise `UnknownNameError`."""
        row = self._row(f"{_DRILL} WHERE drill_id = ?", (drill_id,))
        if row is None:
            known = self._rows("SELECT drill_id FROM drill ORDER BY seq DESC LIMIT 8")
            raise UnknownNameError("drill", drill_id, (found[0] for found in known))
        return _drill(row)

    def drills(self, player: str) -> list[DrillRecord]:
        """Return a player's drills, oldest first."""
        return [
            _drill(row) for row in self._rows(f"{_DRILL} WHERE player = ? ORDER BY seq", (self.player(player).name,))
        ]

    def latest_drill(self, player: str) -> DrillRecord | None:
        """Return the drill that the player started last, or None."""
        row = self._row(f"{_DRILL} WHERE player = ? ORDER BY seq DESC LIMIT 1", (self.player(player).name,))
        return None if row is None else _drill(row)

    def drill_events(self, drill_id: str) -> list[dict[str, Any]]:
        """Return the events of a drill in order."""
        self.drill(drill_id)
        rows = self._rows("SELECT event FROM drill_event WHERE drill_id = ? ORDER BY seq", (drill_id,))
        return [json.loads(row[0]) for row in rows]


def _drill(row: tuple[Any, ...]) -> DrillRecord:
    return DrillRecord(row[0], row[1], row[2], json.loads(row[3]))
