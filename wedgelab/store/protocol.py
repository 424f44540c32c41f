"""What the rest of the program asks of a log, whatever keeps it.

``tests/store/test_contract.py`` holds any store to it.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any, Protocol, Self, Unpack, runtime_checkable

from wedgelab.shots import Bag, Conditions, Shot, SwingLength, Wedge
from wedgelab.store.records import (
    DrillRecord,
    FollowedRow,
    ImportBatch,
    ImportRow,
    PlayerChanges,
    PlayerSettings,
    Session,
    SessionChanges,
    SwingEntry,
    UndoResult,
    WedgeEntry,
)


@runtime_checkable
class ShotStore(Protocol):
    """A log of shots. A method that writes has stored all of it when it returns, and nothing when it raises."""

    def __enter__(self) -> Self: ...

    def __exit__(self, *_: object) -> None: ...

    def close(self) -> None:
        """Let go of the log; a second time does nothing."""

    def players(self) -> list[PlayerSettings]:
        """Return all players in the order of their names."""

    def player(self, name: str) -> PlayerSettings:
        """Return a player's settings, or raise `UnknownNameError` with the nearest name."""

    def ensure_player(self, name: str) -> tuple[PlayerSettings, bool]:
        """Return a player's settings, and whether the player was made just now."""

    def set_player(self, name: str, **changes: Unpack[PlayerChanges]) -> PlayerSettings:
        """Change a player's settings and return the new ones."""

    def bag(self, player: str) -> Bag:
        """Return the wedges and swing lengths that the player uses now."""

    def wedge_history(self, player: str) -> list[WedgeEntry]:
        """Return every wedge that the player ever had, oldest first."""

    def swing_history(self, player: str) -> list[SwingEntry]:
        """Return every named swing length that the player ever had, oldest first."""

    def add_wedge(self, player: str, wedge: Wedge) -> bool:
        """Put a wedge into the bag; False when exactly that one is there already."""

    def retire_wedge(self, player: str, label: str) -> Wedge:
        """Take a wedge out of the bag; its shots stay."""

    def add_swing(self, player: str, swing: SwingLength) -> bool:
        """Name a swing length; False when exactly that one is there already."""

    def retire_swing(self, player: str, label: str) -> SwingLength:
        """Take a named swing length out of use; its shots stay."""

    def sessions(self, player: str) -> list[Session]:
        """Return a player's sessions in the order in which they started."""

    def session(self, player: str, name: str) -> Session:
        """Return a session, or raise `UnknownNameError` with the nearest name."""

    def create_session(
        self,
        player: str,
        name: str,
        *,
        started_at: str | None = None,
        ball: str = "",
        note: str = "",
        conditions: Conditions = ...,
    ) -> Session:
        """Start a session; a name that the player has used is refused."""

    def current_session(self, player: str, day: date) -> Session | None:
        """Return the session of that local day that started last, or None."""

    def ensure_session(
        self,
        player: str,
        name: str,
        *,
        started_at: str | None = None,
        conditions: Conditions = ...,
        ball: str = "",
        note: str = "",
    ) -> tuple[Session, bool]:
        """Return a session, and whether it was made just now."""

    def update_session(self, player: str, name: str, **changes: Unpack[SessionChanges]) -> Session:
        """Change what was noted about a session and return it."""

    def add_shot(self, shot: Shot) -> None:
        """Store one shot."""

    def add_shots(
        self,
        shots: Iterable[Shot],
        *,
        import_batch: ImportBatch | None = None,
        row_keys: Sequence[str] | None = None,
        row_nos: Sequence[int] | None = None,
    ) -> None:
        """Store shots all together or not at all."""

    def shots(
        self,
        player: str,
        *,
        session: str | None = None,
        drill_id: str | None = None,
        include_void: bool = False,
        last: int | None = None,
    ) -> list[Shot]:
        """Return a player's shots, oldest first."""

    def count_shots(self, player: str, *, session: str | None = None) -> int:
        """Return how many shots are not deleted."""

    def known_shot_ids(self, ids: Iterable[str]) -> set[str]:
        """Return those of the ids that the log holds, of deleted shots too."""

    def void_shot(self, player: str, shot_id: str, *, reason: str = "deleted") -> Shot:
        """Delete a shot, named by its id or the beginning of it."""

    def restore_shot(self, player: str, shot_id: str) -> Shot:
        """Bring a deleted shot back as a copy with a new id, in the old one's place; return the copy."""

    def undo(self, player: str) -> UndoResult:
        """Reverse the player's last shot, imported file or deletion that is not reversed yet; one further each time."""

    def imports(self, player: str) -> list[ImportBatch]:
        """Return the files that were imported for a player and not undone, oldest first."""

    def import_rows(self, player: str) -> list[ImportRow]:
        """Return the rows of those files, rows whose shot was deleted singly included."""

    def undone_import_shot_ids(self, player: str) -> set[str]:
        """Return the ids of shots whose whole import was undone: such a file may be imported again."""

    def save_mapping(self, name: str, mapping: Mapping[str, str]) -> None:
        """Save which column of a file means what."""

    def mapping(self, name: str) -> dict[str, str]:
        """Return a saved mapping, or raise `UnknownNameError` with the nearest name."""

    def mappings(self) -> dict[str, dict[str, str]]:
        """Return all saved mappings by name."""

    def start_drill(self, player: str, drill_id: str, settings: Mapping[str, Any]) -> DrillRecord:
        """Store that a drill began now, with its settings."""

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

        ``after`` is the number of the last event that the caller knows of; where there is a newer one it is refused.
        """

    def drill(self, drill_id: str) -> DrillRecord:
        """Return a drill, or raise `UnknownNameError`."""

    def drills(self, player: str) -> list[DrillRecord]:
        """Return a player's drills, oldest first."""

    def latest_drill(self, player: str) -> DrillRecord | None:
        """Return the drill that the player started last, or None."""

    def drill_events(self, drill_id: str) -> list[dict[str, Any]]:
        """Return the events of a drill in order."""

    def live_drill_shots(self, player: str, drill_id: str) -> dict[str, str]:
        """Return from the id of each shot that the drill's events name to its id now; deleted shots are not there."""

    def followed_rows(self, player: str) -> list[FollowedRow]:
        """Return the rows of watched files that became balls, taken back or not, in the order of taking."""

    def check(self, *, quick: bool = False) -> list[str]:
        """Return what is wrong with the log; empty when all is well."""
