"""Shots: added, read back, deleted by a row that voids them, brought back as a copy, undone."""

import contextlib
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from wedgelab.errors import BadNameError, StoreError, UnknownNameError
from wedgelab.shots import SHOT_COLUMNS, Shot, new_id
from wedgelab.store.records import (
    ImportBatch,
    Session,
    UndoResult,
    epoch_us,
    row_from_shot,
    shots_from_rows,
)
from wedgelab.store.sessions import SessionPart

_COLUMNS: Final = ", ".join(SHOT_COLUMNS)
_WRITTEN: Final = (*SHOT_COLUMNS, "hit_epoch_us", "logged_at", "import_id", "row_no", "row_key")
_ADD_SHOT: Final = f"INSERT INTO shot ({', '.join(_WRITTEN)}) VALUES ({', '.join('?' * len(_WRITTEN))})"  # noqa: S608 - fixed column names
_SHOT: Final = f"SELECT {_COLUMNS} FROM shot"  # noqa: S608 - fixed column names
_LIVE: Final = "NOT EXISTS (SELECT 1 FROM void WHERE void.shot_id = shot.shot_id)"
_RESTORED: Final = "EXISTS (SELECT 1 FROM restored WHERE restored.shot_id = shot.shot_id)"
# a restored shot stands where the first original stood; the order of logging for all others
_PLACE: Final = "coalesce((SELECT place_seq FROM restored WHERE as_shot_id = shot.shot_id), shot.seq)"
_DELETED: Final = "deleted"  # the one reason of a void that is an action of its own: the others are undos already
BATCH: Final = "SELECT import_id, player, file_name, content_sha256, row_count, imported_at FROM import_batch"
_SHORT: Final = 8  # characters of an id that are shown


class ShotPart(SessionPart):
    """What was hit. Nothing is ever changed or removed here."""

    def add_shot(self, shot: Shot) -> None:
        """Store one shot; it is on disk when this returns."""
        self.add_shots([shot])

    def add_shots(
        self,
        shots: Iterable[Shot],
        *,
        import_batch: ImportBatch | None = None,
        row_keys: Sequence[str] | None = None,
        row_nos: Sequence[int] | None = None,
    ) -> None:
        """Store shots all together or not at all; unknown players and sessions are made on the way.

        Of an imported file, ``row_keys`` and ``row_nos`` (from 1 up unless given) stand in the order of the shots.
        """
        if import_batch is None and (row_keys is not None or row_nos is not None):
            raise ValueError("rows of a file come with their import batch")
        given = list(shots)
        with self._refusing_known(given), self._writing() as connection:
            self._insert_shots(connection, given, import_batch, row_keys, row_nos)

    def _insert_shots(
        self,
        connection: sqlite3.Connection,
        shots: Sequence[Shot],
        batch: ImportBatch | None = None,
        row_keys: Sequence[str] | None = None,
        row_nos: Sequence[int] | None = None,
    ) -> None:
        """Insert inside the caller's transaction."""
        keys: Sequence[str | None] = [None] * len(shots) if row_keys is None else row_keys
        numbers: Sequence[int | None]
        numbers = row_nos if row_nos is not None else [None] * len(shots) if batch is None else range(1, len(shots) + 1)
        stored = self._with_places(connection, shots)
        if batch is not None:
            self._add_batch(connection, batch, stored)
        now, import_id = self._stamp(), None if batch is None else batch.import_id
        connection.executemany(
            _ADD_SHOT,
            (
                (*row_from_shot(shot), epoch_us(shot.hit_at), now, import_id, number, key)
                for shot, number, key in zip(stored, numbers, keys, strict=True)
            ),
        )

    @contextlib.contextmanager
    def _refusing_known(self, shots: Sequence[Shot]) -> Iterator[None]:
        """Say in words that a shot is there already; any other broken rule is our own bug."""
        try:
            yield
        except sqlite3.IntegrityError as error:
            ids = [shot.shot_id for shot in shots]
            if "shot.shot_id" not in str(error):
                raise
            known = self.known_shot_ids(ids)
            twice = next(one for number, one in enumerate(ids) if one in known or one in ids[:number])
            problem = f"shot '{twice}' is there already, nothing was stored"
            raise StoreError(self.path, problem, "give every shot an id of its own") from error

    def _with_places(self, connection: sqlite3.Connection, shots: Sequence[Shot]) -> list[Shot]:
        """Make the players and sessions that are missing; return the shots with the stored spelling of the player."""
        spelling: dict[str, str] = {}
        first: dict[tuple[str, str], Shot] = {}
        stored = []
        for shot in shots:
            if shot.player not in spelling:
                spelling[shot.player] = self._ensure_player(connection, shot.player)[0]
            name = spelling[shot.player]
            stored.append(shot if shot.player == name else shot.replace(player=name))
            place = (name, shot.session)
            if place not in first or epoch_us(shot.hit_at) < epoch_us(first[place].hit_at):
                first[place] = shot
        for (player, session), shot in first.items():
            if not self._row("SELECT 1 FROM session WHERE player = ? AND name = ?", (player, session)):
                self._insert_session(connection, Session(player, session, shot.hit_at, ball=shot.ball))
        return stored

    def _add_batch(self, connection: sqlite3.Connection, batch: ImportBatch, shots: Sequence[Shot]) -> None:
        player = self._ensure_player(connection, batch.player)[0]
        if any(shot.player != player for shot in shots):
            raise ValueError("an import batch belongs to one player: give each player a batch")
        connection.execute(
            "INSERT INTO import_batch (import_id, player, file_name, content_sha256, row_count, imported_at) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            (
                batch.import_id,
                player,
                batch.file_name,
                batch.content_sha256,
                batch.row_count,
                batch.imported_at or self._stamp(),
            ),
        )

    def shots(
        self,
        player: str,
        *,
        session: str | None = None,
        drill_id: str | None = None,
        include_void: bool = False,
        last: int | None = None,
    ) -> list[Shot]:
        """Return a player's shots, oldest first by the time they were hit, equal times in the order of logging.

        A restored shot stands where it stood before it was deleted.
        """
        where, values = ["player = ?"], [self.player(player).name]
        if session is not None:
            where.append("session = ?")
            values.append(session)
        if drill_id is not None:
            where.append("drill_id = ?")
            values.append(drill_id)
        if not include_void:
            where.append(_LIVE)
        query = f"{_SHOT} WHERE {' AND '.join(where)} ORDER BY hit_epoch_us "
        if last is None:
            return shots_from_rows(self._rows(f"{query}, {_PLACE}, seq", tuple(values)))
        newest_first = self._rows(f"{query} DESC, {_PLACE} DESC, seq DESC LIMIT ?", (*values, max(last, 0)))
        return shots_from_rows(newest_first[::-1])

    def count_shots(self, player: str, *, session: str | None = None) -> int:
        """Return how many shots of a player, or of one session, are not deleted."""
        name = self.player(player).name
        query = f"SELECT count(*) FROM shot WHERE player = ? AND (? IS NULL OR session = ?) AND {_LIVE}"  # noqa: S608 - fixed text
        row = self._row(query, (name, session, session))
        return int(row[0]) if row else 0

    def known_shot_ids(self, ids: Iterable[str]) -> set[str]:
        """Return those of the ids that the log holds, of deleted shots too."""
        wanted = list(dict.fromkeys(ids))
        return {one for one in wanted if self._row("SELECT 1 FROM shot WHERE shot_id = ?", (one,))}

    def void_shot(self, player: str, shot_id: str, *, reason: str = _DELETED) -> Shot:
        """Delete a shot, named by its id or the beginning of it: its row stays and is voided. Return it."""
        with self._writing() as connection:
            shot = self._find_live(self.player(player).name, shot_id.strip())
            self._void(connection, shot.shot_id, reason)
        return shot

    def _void(self, connection: sqlite3.Connection, shot_id: str, reason: str) -> None:
        connection.execute(
            "INSERT INTO void (shot_id, voided_at, reason, after_shot_seq) SELECT ?, ?, ?, max(seq) FROM shot",
            (shot_id, self._stamp(), reason),
        )

    def _found(self, player: str, wanted: str) -> list[Shot]:
        """Return the shot of that id, or else all whose id begins so, deleted ones too."""
        here = f"{_SHOT} WHERE player = ?"
        rows = self._rows(f"{here} AND shot_id = ?", (player, wanted))
        if not rows and wanted:
            end = wanted + chr(0x10FFFF)
            rows = self._rows(f"{here} AND shot_id >= ? AND shot_id < ?", (player, wanted, end))
        return shots_from_rows(rows)

    def _is_void(self, shot: Shot) -> bool:
        return self._row("SELECT 1 FROM void WHERE shot_id = ?", (shot.shot_id,)) is not None

    def _restored_as(self, shot_id: str) -> str | None:
        """Return the id under which a deleted shot came back, the last one if it came back more than once."""
        last = None
        while row := self._row("SELECT as_shot_id FROM restored WHERE shot_id = ?", (last or shot_id,)):
            last = str(row[0])
        return last

    def _newest(self, player: str, which: str) -> list[str]:
        """Return the beginnings of a few ids to offer in place of an unknown one."""
        query = f"SELECT shot_id FROM shot WHERE player = ? AND {which} ORDER BY seq DESC LIMIT 8"  # noqa: S608 - fixed text
        return [row[0][:_SHORT] for row in self._rows(query, (player,))]

    def _find_live(self, player: str, wanted: str) -> Shot:
        found = self._found(player, wanted)
        live = [shot for shot in found if not self._is_void(shot)]
        if len(live) > 1:
            raise BadNameError("shot", wanted, f"{len(live)} shots begin with it: give more of the id")
        if live:
            return live[0]
        if not found:
            raise UnknownNameError("shot", wanted, self._newest(player, _LIVE))
        back = self._restored_as(found[-1].shot_id)
        if back is not None:
            raise BadNameError("shot", wanted, f"it was deleted and restored as '{back}': give that id")
        raise BadNameError("shot", wanted, "it is deleted already: wedgelab shots list shows the others")

    def restore_shot(self, player: str, shot_id: str) -> Shot:
        """Bring a deleted shot back, named by its id or the beginning of it. Return it, a copy with a new id.

        The old row stays deleted. To `undo` the copy is what the old shot was, and restoring is no action of its own.
        """
        with self._writing() as connection:
            shot = self._find_void(self.player(player).name, shot_id.strip())
            return self._restore(connection, shot)

    def _find_void(self, player: str, wanted: str) -> Shot:
        """Return the one shot of that id or beginning that is deleted and not restored yet."""
        found = self._found(player, wanted)
        gone = [shot for shot in found if self._is_void(shot)]
        waiting = [shot for shot in gone if self._restored_as(shot.shot_id) is None]
        if len(waiting) > 1:
            raise BadNameError("shot", wanted, f"{len(waiting)} deleted shots begin with it: give more of the id")
        if waiting:
            return waiting[0]
        if gone:
            back = self._restored_as(gone[-1].shot_id)
            again = self._row("SELECT 1 FROM void WHERE shot_id = ?", (back,)) is not None
            more = ", which was deleted again: give that id" if again else ""
            raise BadNameError("shot", wanted, f"it is restored already as '{back}'{more}")
        if found:
            raise BadNameError("shot", wanted, "it is not deleted, so there is nothing to restore")
        raise UnknownNameError("deleted shot", wanted, self._newest(player, f"NOT {_LIVE} AND NOT {_RESTORED}"))

    def _restore(self, connection: sqlite3.Connection, shot: Shot) -> Shot:
        """Add a copy of a deleted shot inside the caller's transaction; row and key of its file stay with the old."""
        copy = shot.replace(shot_id=new_id())
        self._insert_shots(connection, [copy])
        connection.execute(
            "INSERT INTO restored (shot_id, as_shot_id, restored_at, place_seq) "  # noqa: S608 - fixed text
            f"SELECT shot_id, ?, ?, {_PLACE} FROM shot WHERE shot_id = ?",
            (copy.shot_id, self._stamp(), shot.shot_id),
        )
        return copy

    def undo(self, player: str) -> UndoResult:
        """Reverse what the player did last: take back a shot or an imported file, or bring a deleted shot back.

        Each further undo goes further back. What is reversed stays so until it is restored by name, and a restored shot
        counts as done when the old one was. No clock has a say: `seq` and ``after_shot_seq`` are the order.
        """
        with self._writing() as connection:
            name = self.player(player).name
            newest = self._row(
                f"SELECT shot_id, {_PLACE} AS place FROM shot WHERE player = ? AND {_LIVE} ORDER BY place DESC LIMIT 1",  # noqa: S608 - fixed text
                (name,),
            )
            deletion = self._row(
                "SELECT shot_id, after_shot_seq FROM void JOIN shot USING (shot_id) "  # noqa: S608 - fixed text
                f"WHERE player = ? AND reason = ? AND NOT {_RESTORED} ORDER BY void.seq DESC LIMIT 1",
                (name, _DELETED),
            )
            if deletion is not None and (newest is None or deletion[1] >= newest[1]):
                (shot,) = shots_from_rows(self._rows(f"{_SHOT} WHERE shot_id = ?", deletion[:1]))
                return UndoResult((self._restore(connection, shot),), restored=True)
            if newest is None:
                raise StoreError(self.path, f"no shot of '{name}' is left to undo", "log or import one first")
            return self._take_back(connection, *newest)

    def _take_back(self, connection: sqlite3.Connection, shot_id: str, place: int) -> UndoResult:
        """Void a shot, or all that still shows of the file that the shot in its place was imported from."""
        # of a file that is undone already, shots that were restored since then stand singly
        file = self._rows(
            f"{BATCH} WHERE import_id = (SELECT import_id FROM shot WHERE seq = ?) "  # noqa: S608 - fixed text
            "AND import_id NOT IN (SELECT import_id FROM import_void)",
            (place,),
        )
        if file:
            batch = ImportBatch(*file[0])
            rows = self._rows(
                f"{_SHOT} WHERE player = ? AND {_LIVE} AND {_PLACE} IN "  # noqa: S608 - fixed text
                f"(SELECT seq FROM shot WHERE import_id = ?) ORDER BY {_PLACE}",
                (batch.player, batch.import_id),
            )
            connection.execute("INSERT INTO import_void VALUES (?, ?)", (batch.import_id, self._stamp()))
        else:
            batch, rows = None, self._rows(f"{_SHOT} WHERE shot_id = ?", (shot_id,))
        shots = tuple(shots_from_rows(rows))
        for shot in shots:
            self._void(connection, shot.shot_id, "undone")
        return UndoResult(shots, batch)
