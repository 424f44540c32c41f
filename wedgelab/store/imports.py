"""The files that shots were imported from, and the column mappings that were saved for such files."""

import json
from collections.abc import Mapping
from typing import Final

from wedgelab.errors import UnknownNameError
from wedgelab.shots import MAX_NAME, clean_text
from wedgelab.store.balls import BATCH, ShotPart
from wedgelab.store.records import ImportBatch, ImportRow, as_json

_NOT_UNDONE: Final = "import_id NOT IN (SELECT import_id FROM import_void)"

_ROWS: Final = (
    "SELECT import_id, row_no, row_key FROM shot JOIN import_batch USING (import_id) "  # noqa: S608 - fixed text
    f"WHERE import_batch.player = ? AND {_NOT_UNDONE} ORDER BY import_batch.seq, row_no, shot.seq"
)

_UNDONE: Final = (
    "SELECT shot_id FROM shot JOIN import_batch USING (import_id) "
    "WHERE import_batch.player = ? AND import_id IN (SELECT import_id FROM import_void)"
)


class ImportPart(ShotPart):
    """What was taken in from where, so that importing a file again adds only what is new."""

    def imports(self, player: str) -> list[ImportBatch]:
        """Return the files that were imported for a player and not undone, oldest first."""
        rows = self._rows(f"{BATCH} WHERE player = ? AND {_NOT_UNDONE} ORDER BY seq", (self.player(player).name,))
        return [ImportBatch(*row) for row in rows]

    def import_rows(self, player: str) -> list[ImportRow]:
        """Return the rows of those files in file order, rows whose shot was deleted singly included.

        So importing a file again does not bring a deleted shot back.
        """
        rows = self._rows(_ROWS, (self.player(player).name,))
        return [ImportRow(row[0], row[1], row[2] or "") for row in rows]

    def undone_import_shot_ids(self, player: str) -> set[str]:
        """Return the ids of shots whose whole import was undone: such a file may be imported again."""
        rows = self._rows(_UNDONE, (self.player(player).name,))
        return {row[0] for row in rows}

    def save_mapping(self, name: str, mapping: Mapping[str, str]) -> None:
        """Save which column of a file means what, in place of a mapping of that name."""
        cleaned, text = clean_text("mapping", name, MAX_NAME), as_json(mapping)
        with self._writing() as connection:
            connection.execute(
                "INSERT INTO column_mapping (name, mapping, saved_at) VALUES (?, ?, ?) "
                "ON CONFLICT (name) DO UPDATE SET mapping = excluded.mapping, saved_at = excluded.saved_at",
                (cleaned, text, self._stamp()),
            )

    def mapping(self, name: str) -> dict[str, str]:
        """Return a saved mapping, or raise `UnknownNameError` with the nearest name."""
        known = self.mappings()
        if name.strip() not in known:
            raise UnknownNameError("mapping", name, known)
        return known[name.strip()]

    def mappings(self) -> dict[str, dict[str, str]]:
        """Return all saved mappings by name, in the order of their names."""
        return {row[0]: json.loads(row[1]) for row in self._rows("SELECT name, mapping FROM column_mapping ORDER BY 1")}
