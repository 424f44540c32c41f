"""Drills as lists of events, each stored together with the ball that it speaks of."""

import json
import sqlite3
from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any, Final

from wedgelab.errors import BadNameError, BadRequestError, UnknownNameError
from wedgelab.shots import Shot
from wedgelab.store.imports import ImportPart
from wedgelab.store.records import DrillRecord, FollowedRow, as_json

_DRILL: Final = "SELECT drill_id, player, started_at, settings FROM drill"

_FOLLOWED: Final = (
    "SELECT drill_id, file_name, f.row_no, f.row_key FROM followed_row AS f JOIN shot USING (shot_id) "
    "WHERE player = ? ORDER BY shot.seq"
)

# from each shot that an event names to the copy that was restored in its place, and on from there
_LIVE_SHOTS: Final = """
    WITH RECURSIVE came_back (named, shot_id) AS (
        SELECT DISTINCT shot_id, shot_id FROM drill_event JOIN shot USING (shot_id)
        WHERE drill_event.drill_id = ? AND player = ?
        UNION ALL
        SELECT named, as_shot_id FROM came_back JOIN restored USING (shot_id)
    )
    SELECT named, shot_id FROM came_back WHERE shot_id NOT IN (SELECT shot_id FROM void)"""


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

    def add_drill_events(
        self,
        drill_id: str,
        events: Sequence[Mapping[str, Any]],
        *,
        shot: Shot | None = None,
        void_shot_id: str | None = None,
        row: FollowedRow | None = None,
        after: int | None = None,
    ) -> int:
        """Store the next events of a drill, the shot that they take back and the one that they bring, or nothing.

        The new shot belongs to the last ``ball`` among the events, the one taken back to the first event; ``row`` is
        the row of a watched file that the new shot came in. ``after`` is the number of the last event that the caller
        knows of: if there is a newer one, another program plays this drill too, and the events are refused. Return the
        number of the last event.

        A shot that was taken back already (by an undo elsewhere) stays so, and the events are stored all the same.
        """
        texts = [as_json(event) for event in events]
        links = _links(events, shot, void_shot_id)
        with self._refusing_known([] if shot is None else [shot]), self._writing() as connection:
            number = self._next_event(drill_id)
            if after is not None and number != after + 1:
                raise BadRequestError(
                    "another program went on with this drill, so nothing was stored here",
                    "quit, then go on with: wedgelab drill --resume",
                )
            self._add_ball(connection, shot, row)
            if void_shot_id is not None:
                self._void_in_drill(connection, void_shot_id)
            connection.executemany(
                "INSERT INTO drill_event (drill_id, seq, event, shot_id, at) VALUES (?, ?, ?, ?, ?)",
                ((drill_id, number + place, text, links.get(place), self._stamp()) for place, text in enumerate(texts)),
            )
        return number + len(texts) - 1

    def _next_event(self, drill_id: str) -> int:
        if self._row("SELECT 1 FROM drill WHERE drill_id = ?", (drill_id,)) is None:
            raise self._unknown_drill(drill_id)
        rows = self._rows("SELECT coalesce(max(seq), 0) + 1 FROM drill_event WHERE drill_id = ?", (drill_id,))
        return int(rows[0][0])

    def _unknown_drill(self, drill_id: str) -> UnknownNameError:
        known = self._rows("SELECT drill_id FROM drill ORDER BY seq DESC LIMIT 8")
        return UnknownNameError("drill", drill_id, (row[0] for row in known))

    def _add_ball(self, connection: sqlite3.Connection, shot: Shot | None, row: FollowedRow | None) -> None:
        """Insert a ball and the row that it came in, inside the caller's transaction."""
        if shot is not None:
            self._insert_shots(connection, [shot])
        if row is None:
            return
        if shot is None:
            raise ValueError("a row of a file comes with its ball")
        connection.execute(
            "INSERT INTO followed_row (shot_id, file_name, row_no, row_key) VALUES (?, ?, ?, ?)",
            (shot.shot_id, PurePath(row.file_name).name, row.row_no, row.row_key),
        )

    def _void_in_drill(self, connection: sqlite3.Connection, shot_id: str) -> None:
        """Take back a shot, as the copy that it is if it was deleted and restored meanwhile."""
        if not self._row("SELECT 1 FROM shot WHERE shot_id = ?", (shot_id,)):
            raise UnknownNameError("shot", shot_id, ())
        now_as = self._restored_as(shot_id) or shot_id
        if not self._row("SELECT 1 FROM void WHERE shot_id = ?", (now_as,)):
            self._void(connection, now_as, "taken back in the drill")

    def drill(self, drill_id: str) -> DrillRecord:
        """Return a drill, or raise `UnknownNameError`."""
        row = self._row(f"{_DRILL} WHERE drill_id = ?", (drill_id,))
        if row is None:
            raise self._unknown_drill(drill_id)
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

    def live_drill_shots(self, player: str, drill_id: str) -> dict[str, str]:
        """Return from the id of each shot that the drill's events name to the id that it has in the log now.

        That is itself, or the copy if it was deleted and restored; a shot that is deleted is not there.
        """
        name = self.player(player).name
        self.drill(drill_id)
        return dict(self._rows(_LIVE_SHOTS, (drill_id, name)))

    def followed_rows(self, player: str) -> list[FollowedRow]:
        """Return the rows of watched files that were taken as balls of a player's drills, in the order of taking.

        Rows whose ball was taken back are among them: importing such a file later does not bring it again.
        """
        return [FollowedRow(*row) for row in self._rows(_FOLLOWED, (self.player(player).name,))]


def _links(events: Sequence[Mapping[str, Any]], shot: Shot | None, void_shot_id: str | None) -> dict[int, str]:
    """Return which event belongs to which shot, by the event's place."""
    links: dict[int, str] = {}
    if not events:
        raise ValueError("a drill is told at least one event")
    if void_shot_id is not None:
        links[0] = void_shot_id
    if shot is not None:
        balls = [place for place, event in enumerate(events) if event.get("event") == "ball"]
        place = balls[-1] if balls else len(events) - 1
        if place in links:
            raise ValueError("a ball that takes another's place has an event of its own for each of the two")
        links[place] = shot.shot_id
    return links


def _drill(row: tuple[Any, ...]) -> DrillRecord:
    return DrillRecord(row[0], row[1], row[2], json.loads(row[3]))
