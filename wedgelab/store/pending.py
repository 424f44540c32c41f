"""Shots that could not be stored: kept beside the log, safely on disk, until the log can be written again."""

import contextlib
import glob
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from wedgelab.errors import FileProblemError, StoreError, UnknownNameError, WedgelabError
from wedgelab.shots import Shot, new_id
from wedgelab.store.drills import DrillPart
from wedgelab.store.records import FollowedRow

_SUFFIX: Final = ".pending.jsonl"
_TAKEN: Final = ".taken-"
_UNREADABLE: Final = ".unreadable"


@dataclass(frozen=True, slots=True)
class PendingResult:
    """What became of the shots kept aside; ``unreadable_in`` names the file that holds lines nobody can read."""

    stored: tuple[Shot, ...] = ()
    already_there: int = 0
    unreadable: int = 0
    unreadable_in: Path | None = None


def pending_path(db_path: Path | str) -> Path:
    """Return the file in which the shots of a log are kept aside."""
    path = Path(db_path)
    return path.with_name(path.name + _SUFFIX)


def is_waiting(db_path: Path | str) -> bool:
    """Tell whether shots of a log wait beside it, one that was stopped while taking them in included."""
    path = pending_path(db_path)
    return path.exists() or any(path.parent.glob(f"{glob.escape(path.name)}{_TAKEN}*"))


def keep_aside(
    db_path: Path | str,
    shot: Shot,
    *,
    drill_events: Sequence[Mapping[str, Any]] = (),
    void_shot_id: str | None = None,
    row: FollowedRow | None = None,
) -> Path:
    """Append a shot that the log did not take to the file beside it; it is on disk when this returns.

    The events of its drill, the shot that they take back and the row of a file that it came in are kept with it.
    """
    path = pending_path(db_path)
    record = {
        "shot": asdict(shot),
        "drill_events": [dict(event) for event in drill_events],
        "void_shot_id": void_shot_id,
        "row": None if row is None else asdict(row),
    }
    # the leading line break ends a line that a crash may have torn; the whole is one write
    _append(path, "\n" + json.dumps(record, allow_nan=False) + "\n")
    return path


def _append(path: Path, text: str) -> None:
    is_new = not path.exists()
    try:
        with path.open("ab", buffering=0) as file:
            file.write(text.encode())
            os.fsync(file.fileno())
        if is_new and os.name == "posix":
            folder = os.open(path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)  # the file's name too, not only its content
            finally:
                os.close(folder)
    except OSError as error:
        with contextlib.suppress(OSError):
            if is_new and path.stat().st_size == 0:
                path.unlink()
        seen = f"the shot cannot be kept here either ({error.strerror or error})"
        raise FileProblemError(path, seen, "note it down and make room") from error


class PendingPart(DrillPart):
    """Takes in what `keep_aside` saved."""

    def take_pending(self) -> PendingResult:
        """Store the shots that were kept aside, each once, and remove their file; lines nobody can read are moved."""
        waiting = pending_path(self.path)
        with contextlib.suppress(FileNotFoundError):
            # another program that keeps a shot aside from now on begins a new file
            waiting.replace(waiting.with_name(f"{waiting.name}{_TAKEN}{new_id()}"))
        result = PendingResult()
        # more than one file where a program was stopped half way: what it stored already is known by its id
        for taken in sorted(waiting.parent.glob(f"{glob.escape(waiting.name)}{_TAKEN}*")):
            result = self._take(taken, waiting.with_name(waiting.name + _UNREADABLE), result)
        return result

    def _take(self, taken: Path, kept: Path, so_far: PendingResult) -> PendingResult:
        stored: list[Shot] = []
        unreadable: list[str] = []
        already_there = 0
        try:
            with taken.open("rb") as file:
                # until nothing is left: a program that had the file open already may add a line meanwhile
                while block := file.read():
                    for line in filter(str.strip, block.decode(errors="replace").split("\n")):
                        found = _parsed(line)
                        if found is None:
                            unreadable.append(line)
                        elif self._store_pending(found):
                            stored.append(found.shot)
                        else:
                            already_there += 1
        except FileNotFoundError:
            return so_far  # another program was quicker
        if unreadable:
            _append(kept, "\n".join(unreadable) + "\n")
        taken.unlink(missing_ok=True)
        return PendingResult(
            (*so_far.stored, *stored),
            so_far.already_there + already_there,
            so_far.unreadable + len(unreadable),
            kept if unreadable else so_far.unreadable_in,
        )

    def _store_pending(self, kept: "_Kept") -> bool:
        shot = kept.shot
        if self.known_shot_ids([shot.shot_id]):
            return False
        try:
            self._store_kept(kept)
        except StoreError:
            if self.known_shot_ids([shot.shot_id]):  # another program was quicker
                return False
            raise
        return True

    def _store_kept(self, kept: "_Kept") -> None:
        shot, row = kept.shot, kept.row
        if kept.events:
            # where its drill could not be stored either the ball still counts
            with contextlib.suppress(UnknownNameError):
                self.add_drill_events(shot.drill_id, kept.events, shot=shot, void_shot_id=kept.void_shot_id, row=row)
                return
        with self._refusing_known([shot]), self._writing() as connection:
            self._add_ball(connection, shot, row)


@dataclass(frozen=True, slots=True)
class _Kept:
    """One line of the file."""

    shot: Shot
    events: tuple[dict[str, Any], ...] = ()
    void_shot_id: str | None = None
    row: FollowedRow | None = None


def _parsed(line: str) -> _Kept | None:
    try:
        record = json.loads(line)
        shot = Shot(**record["shot"])
        if "drill_event" in record:  # as it was written before a drill could have more than one
            event = record["drill_event"]
            return _Kept(shot, () if event is None else (dict(event),))
        row = record["row"]
        events = tuple(dict(event) for event in record["drill_events"])
        return _Kept(shot, events, record["void_shot_id"], None if row is None else FollowedRow(**row))
    except (ValueError, TypeError, KeyError, WedgelabError):
        return None
