"""Players and their bags."""

import dataclasses
import sqlite3
from typing import Any, Final, Unpack

from wedgelab.errors import UnknownNameError
from wedgelab.shots import CONDITION_COLUMNS, DEFAULT_SWINGS, Bag, Conditions, SwingLength, Wedge, new_id
from wedgelab.store.database import Database
from wedgelab.store.records import (
    PlayerChanges,
    PlayerSettings,
    SwingEntry,
    WedgeEntry,
    name_key,
    with_conditions,
)

_CONDITIONS: Final = ", ".join(CONDITION_COLUMNS)
_PLAYER: Final = f"SELECT name, units, window, range_limit_m, ball, created_at, {_CONDITIONS} FROM player"  # noqa: S608 - fixed column names
_SET_PLAYER: Final = (
    "UPDATE player SET units = ?, window = ?, range_limit_m = ?, ball = ?, "  # noqa: S608 - fixed column names
    + ", ".join(f"{name} = ?" for name in CONDITION_COLUMNS)
    + " WHERE name = ?"
)


class PlayerPart(Database):
    """Who plays, with what settings and what clubs."""

    def players(self) -> list[PlayerSettings]:
        """Return all players in the order of their names."""
        return [_player(row) for row in self._rows(f"{_PLAYER} ORDER BY name_key")]

    def player(self, name: str) -> PlayerSettings:
        """Return a player's settings; upper and lower case count as the same.

        Raises
        ------
        UnknownNameError
            with the nearest name.
        """
        row = self._row(f"{_PLAYER} WHERE name_key = ?", (name_key(name),))
        if row is None:
            raise UnknownNameError("player", name, (known.name for known in self.players()))
        return _player(row)

    def ensure_player(self, name: str) -> tuple[PlayerSettings, bool]:
        """Return a player's settings, and whether the player was made just now, with the usual swing lengths."""
        with self._writing() as connection:
            created = self._ensure_player(connection, name)[1]
        return self.player(name), created

    def _ensure_player(self, connection: sqlite3.Connection, name: str) -> tuple[str, bool]:
        """Return the stored spelling of a name, and whether it is new; inside the caller's transaction."""
        key = name_key(name)
        row = connection.execute("SELECT name FROM player WHERE name_key = ?", (key,)).fetchone()
        if row is not None:
            return str(row[0]), False
        spelling, now = PlayerSettings(name).name, self._stamp()
        connection.execute("INSERT INTO player (name, name_key, created_at) VALUES (?, ?, ?)", (spelling, key, now))
        for swing in DEFAULT_SWINGS:
            connection.execute(
                "INSERT INTO swing (swing_id, player, label, swing_deg, added_at) VALUES (?, ?, ?, ?, ?)",
                (new_id(), spelling, swing.label, swing.swing_deg, now),
            )
        return spelling, True

    def set_player(self, name: str, **changes: Unpack[PlayerChanges]) -> PlayerSettings:
        """Change a player's settings, the reference conditions by their column names; return the new ones."""
        with self._writing() as connection:
            before = self.player(name)
            conditions, others = with_conditions(before.conditions, changes)
            after = dataclasses.replace(before, conditions=conditions, **others)
            values = (after.units, after.window, after.range_limit_m, after.ball)
            connection.execute(_SET_PLAYER, (*values, *dataclasses.astuple(conditions), after.name))
        return after

    def bag(self, player: str) -> Bag:
        """Return the wedges and swing lengths that the player uses now."""
        wedges = tuple(entry.wedge for entry in self.wedge_history(player) if entry.retired_at is None)
        swings = tuple(entry.swing for entry in self.swing_history(player) if entry.retired_at is None)
        return Bag(wedges, swings)

    def wedge_history(self, player: str) -> list[WedgeEntry]:
        """Return every wedge that the player ever had, oldest first."""
        rows = self._rows(
            "SELECT wedge_id, label, loft_deg, bounce_deg, added_at, retired_at "
            "FROM wedge LEFT JOIN wedge_retired USING (wedge_id) WHERE player = ? ORDER BY seq",
            (self.player(player).name,),
        )
        return [WedgeEntry(row[0], Wedge(row[1], row[2], row[3]), row[4], row[5]) for row in rows]

    def swing_history(self, player: str) -> list[SwingEntry]:
        """Return every named swing length that the player ever had, oldest first."""
        rows = self._rows(
            "SELECT swing_id, label, swing_deg, added_at, retired_at "
            "FROM swing LEFT JOIN swing_retired USING (swing_id) WHERE player = ? ORDER BY seq",
            (self.player(player).name,),
        )
        return [SwingEntry(row[0], SwingLength(row[1], row[2]), row[3], row[4]) for row in rows]

    def add_wedge(self, player: str, wedge: Wedge) -> bool:
        """Put a wedge into the bag, in place of one with its label; False when exactly that one is there already."""
        with self._writing() as connection:
            name, now = self.player(player).name, self._stamp()
            for entry in self._live_wedges(player, wedge.label):
                if entry.wedge == wedge:
                    return False
                connection.execute("INSERT INTO wedge_retired VALUES (?, ?)", (entry.wedge_id, now))
            connection.execute(
                "INSERT INTO wedge (wedge_id, player, label, loft_deg, bounce_deg, added_at) VALUES (?, ?, ?, ?, ?, ?)",
                (new_id(), name, wedge.label, wedge.loft_deg, wedge.bounce_deg, now),
            )
        return True

    def retire_wedge(self, player: str, label: str) -> Wedge:
        """Take a wedge out of the bag; the balls hit with it stay. Return it."""
        with self._writing() as connection:
            live = self._live_wedges(player, label)
            if not live:
                raise UnknownNameError("wedge", label, (wedge.label for wedge in self.bag(player).wedges))
            connection.execute("INSERT INTO wedge_retired VALUES (?, ?)", (live[0].wedge_id, self._stamp()))
        return live[0].wedge

    def add_swing(self, player: str, swing: SwingLength) -> bool:
        """Name a swing length, in place of one with its label; False when exactly that one is there already."""
        with self._writing() as connection:
            name, now = self.player(player).name, self._stamp()
            for entry in self._live_swings(player, swing.label):
                if entry.swing == swing:
                    return False
                connection.execute("INSERT INTO swing_retired VALUES (?, ?)", (entry.swing_id, now))
            connection.execute(
                "INSERT INTO swing (swing_id, player, label, swing_deg, added_at) VALUES (?, ?, ?, ?, ?)",
                (new_id(), name, swing.label, swing.swing_deg, now),
            )
        return True

    def retire_swing(self, player: str, label: str) -> SwingLength:
        """Take a named swing length out of use; the balls hit with it stay. Return it."""
        with self._writing() as connection:
            live = self._live_swings(player, label)
            if not live:
                raise UnknownNameError("swing", label, (swing.label for swing in self.bag(player).swings))
            connection.execute("INSERT INTO swing_retired VALUES (?, ?)", (live[0].swing_id, self._stamp()))
        return live[0].swing

    def _live_wedges(self, player: str, label: str) -> list[WedgeEntry]:
        key = label.strip().casefold()
        history = self.wedge_history(player)
        return [entry for entry in history if entry.retired_at is None and entry.wedge.label.casefold() == key]

    def _live_swings(self, player: str, label: str) -> list[SwingEntry]:
        key = label.strip().casefold()
        history = self.swing_history(player)
        return [entry for entry in history if entry.retired_at is None and entry.swing.label.casefold() == key]


def _player(row: tuple[Any, ...]) -> PlayerSettings:
    name, units, window, range_limit_m, ball, created_at, *air = row
    return PlayerSettings(name, units, window, range_limit_m, ball, created_at, Conditions.as_stored(air))
