"""One connection to one SQLite file: opening, refusing, transactions, and the words for what goes wrong.

``journal_mode=DELETE`` with ``synchronous=EXTRA`` and ``BEGIN IMMEDIATE`` (docs/decisions): a shot is on disk when a
write returns, the one file is the whole log, and two programs may write at once.
"""

import contextlib
import os
import sqlite3
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final, Self

from wedgelab.errors import FileProblemError, StoreError
from wedgelab.store import schema
from wedgelab.store.location import default_path

TIMEOUT_S: Final = 5.0
_TOO_OLD: Final = (3, 37, 0)  # STRICT tables
_SMALLEST_BYTES: Final = 512  # the smallest page there is, sqlite.org/fileformat2.html#the_database_header
_ANOTHER: Final = "give another file with --db"
_ANOTHER_KIND: Final = ("is no wedgelab log, it is another kind of file", _ANOTHER)


def local_now() -> datetime:
    """Return this moment in local time, with its offset."""
    return datetime.now(UTC).astimezone()


class Database:
    """An open log file; the parts of the store are built on it."""

    def __init__(
        self, path: Path, connection: sqlite3.Connection, *, now: Callable[[], datetime], timeout_s: float
    ) -> None:
        self.path = path
        self._connection = connection
        self._now = now
        self._timeout_s = timeout_s

    @classmethod
    def open(
        cls,
        path: Path | str,
        *,
        now: Callable[[], datetime] = local_now,
        create: bool = True,
        read_only: bool = False,
        timeout_s: float = TIMEOUT_S,
    ) -> Self:
        """Open a log, bringing an older one up to date; make a new one if allowed.

        Raises
        ------
        StoreError
            when there is none and ``create`` is False, and for everything that is not a log of this program.
        """
        path = Path(path)
        may_create = create and not read_only
        _check_place(path, may_create=may_create)
        mode = "ro" if read_only else "rwc" if may_create else "rw"
        try:
            connection = sqlite3.connect(
                f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=timeout_s, isolation_level=None
            )
        except sqlite3.Error as error:
            raise _unopened(path, error) from error
        opened = cls(path, connection, now=now, timeout_s=timeout_s)
        try:
            opened._prepare(read_only=read_only)
        except BaseException:
            connection.close()
            raise
        return opened

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; a second time does nothing."""
        self._connection.close()

    def _prepare(self, *, read_only: bool) -> None:
        run = self._connection.execute
        with self._in_words(reading=True):
            run("PRAGMA foreign_keys = ON")
            run("PRAGMA recursive_triggers = ON")
            run("PRAGMA synchronous = EXTRA")
            run("PRAGMA fullfsync = ON")  # macOS: the only setting that reaches the disk; elsewhere without effect
            (version,) = run("PRAGMA user_version").fetchone()
            (application,) = run("PRAGMA application_id").fetchone()
            is_empty = version == application == 0 and run("SELECT 1 FROM sqlite_master").fetchone() is None
            if not is_empty and application != schema.APPLICATION_ID:
                raise StoreError(self.path, "is a database of another program", _ANOTHER)
            if version > schema.newest_version():
                seen = f"was written by a newer wedgelab (schema {version}, this one knows {schema.newest_version()})"
                raise StoreError(self.path, seen, "update wedgelab")
            if read_only and version < schema.newest_version():
                seen = "holds no log yet" if is_empty else f"has the older schema {version}"
                raise StoreError(self.path, seen, "open it once for writing, for example with: wedgelab players")
            if read_only:
                return
            (journal,) = run("PRAGMA journal_mode = DELETE").fetchone()
            if journal != "delete":
                raise StoreError(self.path, f"keeps its journal in mode {journal}", _ANOTHER)
        if version < schema.newest_version():
            self._upgrade()

    def _upgrade(self) -> None:
        with self._writing() as connection:
            # asked again: another program may have done it while this one waited for the lock
            (version,) = connection.execute("PRAGMA user_version").fetchone()
            if 0 < version < schema.newest_version():
                # the lock is held, so the copy is exactly what the upgrade starts from
                self._back_up(_free_name(self.path, f".before-v{schema.newest_version()}"))
            schema.upgrade(connection, self._stamp())

    def _back_up(self, target: Path) -> None:
        """Copy the file as it was last committed; the copy appears under its name only when it is whole."""
        part = target.with_name(f"{target.name}.part")
        try:
            part.unlink(missing_ok=True)
            reading = f"{self.path.absolute().as_uri()}?mode=ro"
            with (
                contextlib.closing(sqlite3.connect(reading, uri=True, timeout=self._timeout_s)) as source,
                contextlib.closing(sqlite3.connect(part)) as copy,
            ):
                source.backup(copy)
            part.replace(target)
        except (OSError, sqlite3.Error) as error:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)
            raise FileProblemError(
                target, f"the copy of the log cannot be written ({error})", "make room for it"
            ) from error

    @contextlib.contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """One write transaction: everything inside it is stored, or nothing."""
        connection = self._connection
        with self._in_words():
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise

    def _rows(self, sql: str, values: tuple[Any, ...] | dict[str, Any] = ()) -> list[tuple[Any, ...]]:
        with self._in_words(reading=True):
            return self._connection.execute(sql, values).fetchall()

    def _row(self, sql: str, values: tuple[Any, ...] | dict[str, Any] = ()) -> tuple[Any, ...] | None:
        with self._in_words(reading=True):
            found: tuple[Any, ...] | None = self._connection.execute(sql, values).fetchone()
            return found

    def _stamp(self) -> str:
        return self._now().isoformat(timespec="seconds")

    @contextlib.contextmanager
    def _in_words(self, *, reading: bool = False) -> Iterator[None]:
        try:
            yield
        except (sqlite3.IntegrityError, sqlite3.ProgrammingError):
            raise  # a rule of the schema or of the driver was broken: the caller knows which, or it is our bug
        except sqlite3.Error as error:
            code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # the low byte is the kind, the rest its detail
            if code == sqlite3.SQLITE_ERROR:
                raise  # wrong SQL is our bug, not the user's
            raise self._explained(error, code, reading=reading) from error

    def _explained(self, error: sqlite3.Error, code: int, *, reading: bool) -> StoreError:
        undone = "nothing was read" if reading else "nothing was stored"
        words = {
            sqlite3.SQLITE_BUSY: (
                f"is locked by another program for more than {self._timeout_s:g} s, {undone}",
                "close the other program and try again",
            ),
            sqlite3.SQLITE_FULL: (f"the disk is full, {undone}", "make room and try again"),
            sqlite3.SQLITE_READONLY: (
                f"it or its folder cannot be written, {undone}",
                "change the permissions or give another file with --db",
            ),
            sqlite3.SQLITE_NOTADB: _ANOTHER_KIND,
            sqlite3.SQLITE_CORRUPT: (f"is damaged ({error})", "copy it away, then run: wedgelab doctor"),
        }
        words[sqlite3.SQLITE_CANTOPEN] = words[sqlite3.SQLITE_READONLY]
        words[sqlite3.SQLITE_PERM] = words[sqlite3.SQLITE_READONLY]
        problem, what_to_do = words.get(code, (f"{error}, {undone}", "run: wedgelab doctor"))
        return StoreError(self.path, problem, what_to_do)

    def data_version(self) -> int:
        """Return a number that changes when another program has written to the log."""
        row = self._row("PRAGMA data_version")
        return int(row[0]) if row else 0

    def check(self, *, quick: bool = False) -> list[str]:
        """Return what is wrong with the file and its references; empty when all is well. Quick: the file alone."""
        problems = self._problems("PRAGMA quick_check" if quick else "PRAGMA integrity_check", "{0}")
        if not quick:
            sentence = "row {1} of table {0} refers to a missing row of {2}"
            problems += self._problems("PRAGMA foreign_key_check", sentence)
        return [problem for problem in problems if problem != "ok"]

    def _problems(self, pragma: str, sentence: str) -> list[str]:
        found = []
        with self._in_words(reading=True):
            try:
                # row by row: a file may be too damaged for the check to reach its end
                for row in self._connection.execute(pragma):
                    found.append(sentence.format(*row))  # noqa: PERF401 - what was found before an error counts
            except sqlite3.DatabaseError as error:
                if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_CORRUPT:
                    raise
                found.append(str(error))
        return found

    def copy_to(self, target: Path | str) -> None:
        """Copy the log, other programs writing or not; an existing file is never overwritten."""
        target = Path(target)
        if target.exists():
            raise FileProblemError(target, "exists already", "give another name for the copy")
        self._back_up(target)


def _check_place(path: Path, *, may_create: bool) -> None:
    if sqlite3.sqlite_version_info < _TOO_OLD:
        seen = f"the SQLite library of this Python is {sqlite3.sqlite_version}"
        raise StoreError(path, seen, "use a Python whose SQLite is 3.37 or newer")
    try:
        if path.is_dir():
            raise StoreError(path, "is a folder", "give a file with --db")
        if path.is_file():
            if 0 < path.stat().st_size < _SMALLEST_BYTES:  # SQLite would take it for a new file
                raise StoreError(path, *_ANOTHER_KIND)
            return
        if path.exists():
            raise StoreError(path, "is not an ordinary file", _ANOTHER)
        if not may_create:
            raise StoreError(path, "does not exist", "log a first shot to make it, or give another file with --db")
        if not path.parent.exists() and path.absolute() == default_path().absolute():
            path.parent.mkdir(parents=True, exist_ok=True)
        if not path.parent.is_dir():
            seen = "is not a folder" if path.parent.exists() else "does not exist"
            raise StoreError(
                path, f"the folder {path.parent} {seen}", "make the folder, or give another file with --db"
            )
    except (OSError, ValueError) as error:  # ValueError: a NUL character in the name
        raise StoreError(path, f"cannot be reached ({_reason(error)})", _ANOTHER) from error


def _unopened(path: Path, error: sqlite3.Error) -> StoreError:
    """Say why a file could not be opened: SQLite does not tell, the operating system does."""
    what_to_do = "change the permissions or give another file with --db"
    if not path.exists():
        return StoreError(path, f"a new file cannot be made in the folder {path.parent}", what_to_do)
    try:
        with path.open("rb"):
            pass
    except OSError as refusal:
        return StoreError(path, f"cannot be opened ({_reason(refusal)})", what_to_do)
    return StoreError(path, f"cannot be opened ({error})", what_to_do)


def _reason(error: Exception) -> str:
    return (error.strerror or str(error)) if isinstance(error, OSError) else str(error)


def _free_name(path: Path, suffix: str) -> Path:
    """Return the path with the suffix, numbered if an earlier copy has that name: no copy is overwritten."""
    wanted = path.with_name(path.name + suffix)
    count = 1
    while os.path.lexists(wanted):
        count += 1
        wanted = path.with_name(f"{path.name}{suffix}-{count}")
    return wanted
