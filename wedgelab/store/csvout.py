"""Shots -> CSV in the canonical columns, safe to open in a spreadsheet, exact when imported again."""

import csv
from collections.abc import Iterable, Mapping
from typing import Final, TextIO

from wedgelab.shots import CONDITION_COLUMNS, SHOT_COLUMNS, Conditions, Shot
from wedgelab.spreadsheet import guard_text

EXPORT_COLUMNS: Final = (*SHOT_COLUMNS, *CONDITION_COLUMNS)


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return guard_text(value) if isinstance(value, str) else repr(value)


def write_shots(stream: TextIO, shots: Iterable[Shot], conditions_of: Mapping[str, Conditions]) -> int:
    """Write the shots with the conditions of their sessions (by session name); return how many rows were written."""
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(EXPORT_COLUMNS)
    count = 0
    for shot in shots:
        conditions = conditions_of.get(shot.session, Conditions())
        row = [_cell(getattr(shot, name)) for name in SHOT_COLUMNS]
        writer.writerow(row + [_cell(getattr(conditions, name)) for name in CONDITION_COLUMNS])
        count += 1
    return count
