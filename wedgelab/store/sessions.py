"""Practice sessions: which there are, which one is going on, and what was noted about them."""

import dataclasses
import sqlite3
from datetime import date, datetime
from typing import Any, Final, Unpack

from wedgelab.errors import BadNameError, UnknownNameError
from wedgelab.shots import CONDITION_COLUMNS, Conditions
from wedgelab.store.players import PlayerPart
from wedgelab.store.records import NOT_SAID, Session, SessionChanges, epoch_us, filled_in, with_conditions

_CONDITIONS: Final = ", ".join(CONDITION_COLUMNS)
_SESSION: Final = (
    f"SELECT player, name, started_at, ball, note, {_CONDITIONS}, ("  # noqa: S608 - fixed column names
    "SELECT count(*) FROM shot WHERE shot.player = session.player AND shot.session = session.name "
    "AND shot_id NOT IN (SELECT shot_id FROM void)) FROM session WHERE player = ?"
)
_ADD_SESSION: Final = (
    f"INSERT INTO session (player, name, started_at, ball, note, {_CONDITIONS}) "  # noqa: S608 - fixed column names
    f"VALUES (?, ?, ?, ?, ?, {', '.join('?' * len(CONDITION_COLUMNS))})"
)
_SET_SESSION: Final = (
    "UPDATE session SET started_at = ?, ball = ?, note = ?, "  # noqa: S608 - fixed column names
    + ", ".join(f"{name} = ?" for name in CONDITION_COLUMNS)
    + " WHERE player = ? AND name = ?"
)


class SessionPart(PlayerPart):
    """Sessions belong to a player and are found by their exact name."""

    def sessions(self, player: str) -> list[Session]:
        """Return a player's sessions with their counts of shots, in the order in which they started."""
        rows = self._rows(f"{_SESSION} ORDER BY seq", (self.player(player).name,))
        return sorted((_session(row) for row in rows), key=lambda session: epoch_us(session.started_at))

    def session(self, player: str, name: str) -> Session:
        """Return a session, or raise `UnknownNameError` with the nearest name."""
        row = self._row(f"{_SESSION} AND name = ?", (self.player(player).name, name.strip()))
        if row is None:
            raise UnknownNameError("session", name, (session.name for session in self.sessions(player)))
        return _session(row)

    def create_session(
        self,
        player: str,
        name: str,
        *,
        started_at: str | None = None,
        ball: str = "",
        note: str = "",
        conditions: Conditions = NOT_SAID,
    ) -> Session:
        """Start a session, now unless another time is given; a name that the player has used is refused."""
        with self._writing() as connection:
            made = Session(self.player(player).name, name, started_at or self._stamp(), ball, note, conditions)
            if self._row("SELECT 1 FROM session WHERE player = ? AND name = ?", (made.player, made.name)):
                raise BadNameError("session", name, "it exists already: give a new one another name")
            self._insert_session(connection, made)
        return made

    def current_session(self, player: str, day: date) -> Session | None:
        """Return the session of that local day that started last, or None."""
        found = [s for s in self.sessions(player) if datetime.fromisoformat(s.started_at).date() == day]
        return found[-1] if found else None

    def ensure_session(
        self,
        player: str,
        name: str,
        *,
        started_at: str | None = None,
        conditions: Conditions = NOT_SAID,
        ball: str = "",
        note: str = "",
    ) -> tuple[Session, bool]:
        """Return a session, and whether it was made just now; of an old one only what nobody had said is filled in."""
        with self._writing() as connection:
            wanted = Session(self.player(player).name, name, started_at or self._stamp(), ball, note, conditions)
            row = self._row(f"{_SESSION} AND name = ?", (wanted.player, wanted.name))
            if row is None:
                self._insert_session(connection, wanted)
                return wanted, True
            before = _session(row)
            after = dataclasses.replace(
                before,
                ball=before.ball or wanted.ball,
                note=before.note or wanted.note,
                conditions=filled_in(before.conditions, conditions),
            )
            if after != before:
                self._set_session(connection, after)
        return after, False

    def update_session(self, player: str, name: str, **changes: Unpack[SessionChanges]) -> Session:
        """Change what was noted about a session, the conditions by their column names; return it."""
        with self._writing() as connection:
            before = self.session(player, name)
            conditions, others = with_conditions(before.conditions, changes)
            after = dataclasses.replace(before, conditions=conditions, **others)
            self._set_session(connection, after)
        return after

    def _insert_session(self, connection: sqlite3.Connection, made: Session) -> None:
        values = (made.player, made.name, made.started_at, made.ball, made.note)
        connection.execute(_ADD_SESSION, (*values, *dataclasses.astuple(made.conditions)))

    def _set_session(self, connection: sqlite3.Connection, after: Session) -> None:
        values = (after.started_at, after.ball, after.note, *dataclasses.astuple(after.conditions))
        connection.execute(_SET_SESSION, (*values, after.player, after.name))


def _session(row: tuple[Any, ...]) -> Session:
    player, name, started_at, ball, note, *air, n_shots = row
    return Session(player, name, started_at, ball, note, Conditions.as_stored(air), n_shots)
