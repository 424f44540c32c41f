"""Every way in which a log can be no log, or out of reach, in one line each."""

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from wedgelab.errors import FileProblemError, StoreError
from wedgelab.shots import Shot
from wedgelab.store import location, schema
from wedgelab.store.store import SqliteStore

# the first bytes of any PNG file, PNG specification 5.2 and 11.2.1 (signature, then the IHDR chunk)
PNG = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x02\x00\x00\x00"
GIVE_ANOTHER = "give another file with --db"
NOBODY = 65534


def refusal(path: Path, *, create: bool = True, read_only: bool = False, timeout_s: float = 0.05) -> str:
    with pytest.raises(StoreError) as caught:
        SqliteStore.open(path, create=create, read_only=read_only, timeout_s=timeout_s)
    sentence = str(caught.value)
    assert "\n" not in sentence
    prefix = f"database {path}: "
    assert sentence.startswith(prefix)
    return sentence.removeprefix(prefix)


@pytest.mark.parametrize(
    "content", [b"x", b"carry_m,note\n62.5,hello\n" * 400, PNG, PNG * 300], ids=["letter", "text", "header", "png"]
)
def test_another_kind_of_file_is_refused_and_left_as_it_is(db: Path, content: bytes) -> None:
    db.write_bytes(content)
    assert refusal(db) == f"is no wedgelab log, it is another kind of file; {GIVE_ANOTHER}"
    assert db.read_bytes() == content


def test_an_empty_file_becomes_a_log(db: Path) -> None:
    db.touch()
    with SqliteStore.open(db) as store:
        assert store.check() == []
    with closing(sqlite3.connect(db)) as raw:
        assert raw.execute("PRAGMA application_id").fetchone() == (schema.APPLICATION_ID,)
        assert raw.execute("PRAGMA user_version").fetchone() == (schema.newest_version(),)
        assert raw.execute("SELECT count(*) FROM migration").fetchone() == (schema.newest_version(),)


def test_another_programs_database_is_refused(db: Path) -> None:
    with closing(sqlite3.connect(db)) as raw:
        raw.execute("CREATE TABLE album (title TEXT)")
    assert refusal(db) == f"is a database of another program; {GIVE_ANOTHER}"
    with closing(sqlite3.connect(db)) as raw:
        assert raw.execute("SELECT name FROM sqlite_master").fetchall() == [("album",)]
        raw.execute("PRAGMA application_id = 1234")
        raw.execute("DROP TABLE album")
    assert refusal(db) == f"is a database of another program; {GIVE_ANOTHER}"


def test_a_newer_schema_is_refused(db: Path) -> None:
    SqliteStore.open(db).close()
    with closing(sqlite3.connect(db)) as raw:
        raw.execute("PRAGMA user_version = 99")
    assert refusal(db) == (
        f"was written by a newer wedgelab (schema 99, this one knows {schema.newest_version()}); update wedgelab"
    )


def test_a_damaged_log_is_said_to_be_damaged(db: Path, make_shot: Callable[..., Shot]) -> None:
    with SqliteStore.open(db) as store:
        store.add_shots([make_shot() for _ in range(200)])
    with closing(sqlite3.connect(db)) as raw:
        (page,) = raw.execute("SELECT rootpage FROM sqlite_master WHERE name = 'shot'").fetchone()
        (size,) = raw.execute("PRAGMA page_size").fetchone()
    content = bytearray(db.read_bytes())
    content[(page - 1) * size : page * size] = b"\x5a" * size
    db.write_bytes(content)
    with SqliteStore.open(db) as store:
        with pytest.raises(StoreError) as caught:
            store.shots("Ada")
        assert str(caught.value) == (
            f"database {db}: is damaged (database disk image is malformed); copy it away, then run: wedgelab doctor"
        )
        assert "database disk image is malformed" in store.check()
        assert store.check(quick=True) != []


def test_a_folder_and_a_device_are_refused(tmp_path: Path) -> None:
    assert refusal(tmp_path) == "is a folder; give a file with --db"
    assert refusal(Path("/dev/null")) == f"is not an ordinary file; {GIVE_ANOTHER}"


def test_a_missing_file_is_refused_to_a_reader(db: Path) -> None:
    expected = f"does not exist; log a first shot to make it, or {GIVE_ANOTHER}"
    assert refusal(db, create=False) == expected
    assert refusal(db, read_only=True) == expected
    assert not db.exists()


def test_a_missing_folder_is_not_made(tmp_path: Path) -> None:
    folder = tmp_path / "typo"
    assert refusal(folder / "log.db") == (f"the folder {folder} does not exist; make the folder, or {GIVE_ANOTHER}")
    assert not folder.exists()


def test_a_file_in_the_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "plain").write_text("x")
    assert refusal(tmp_path / "plain" / "log.db") == (
        f"the folder {tmp_path / 'plain'} is not a folder; make the folder, or {GIVE_ANOTHER}"
    )


def test_a_name_no_system_takes(tmp_path: Path) -> None:
    assert refusal(tmp_path / ("x" * 300)).startswith("cannot be reached (File name too long); ")


def test_a_place_that_takes_no_new_file() -> None:
    # /proc refuses new files to everybody, the superuser included
    change = "change the permissions or give another file with --db"
    assert refusal(Path("/proc/wedgelab.db")) == f"a new file cannot be made in the folder /proc; {change}"


@pytest.fixture
def humble_folder() -> Iterator[Path]:
    """A folder that an unprivileged user reaches (pytest's own are closed to others); removed afterwards."""
    folder = Path(tempfile.mkdtemp(prefix="wedgelab-test-"))
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.fixture
def humbly(humble_folder: Path) -> Iterator[Callable[[], None]]:
    """Give up the superuser's right to pass all permissions, if the tests run as superuser, until the test ends."""
    was = os.geteuid()

    def give_up() -> None:
        if was == 0:
            os.seteuid(NOBODY)

    yield give_up
    os.seteuid(was)


def test_a_file_without_permission(humble_folder: Path, humbly: Callable[[], None]) -> None:
    path = humble_folder / "log.db"
    SqliteStore.open(path).close()
    path.chmod(0o000)
    humbly()
    assert refusal(path) == (
        "cannot be opened (Permission denied); change the permissions or give another file with --db"
    )


def test_a_read_only_folder_can_be_read_and_refuses_a_shot(
    humble_folder: Path, humbly: Callable[[], None], make_shot: Callable[..., Shot]
) -> None:
    path, shot = humble_folder / "log.db", make_shot()
    with SqliteStore.open(path) as store:
        store.add_shot(shot)
    path.chmod(0o666)
    humble_folder.chmod(0o555)
    humbly()
    with SqliteStore.open(path) as store:
        with pytest.raises(StoreError) as caught:
            store.add_shot(make_shot())
        assert str(caught.value) == (
            f"database {path}: it or its folder cannot be written, nothing was stored; "
            "change the permissions or give another file with --db"
        )
        assert store.shots("Ada") == [shot]
    assert refusal(humble_folder / "new.db") == (
        f"a new file cannot be made in the folder {humble_folder}; "
        "change the permissions or give another file with --db"
    )


def test_a_read_only_file_refuses_a_shot(
    humble_folder: Path, humbly: Callable[[], None], make_shot: Callable[..., Shot]
) -> None:
    path = humble_folder / "log.db"
    SqliteStore.open(path).close()
    path.chmod(0o444)
    humbly()
    with SqliteStore.open(path) as store, pytest.raises(StoreError, match="cannot be written, nothing was stored; "):
        store.add_shot(make_shot())


def test_reading_only_writes_nothing(db: Path, make_shot: Callable[..., Shot]) -> None:
    shot = make_shot()
    with SqliteStore.open(db) as store:
        store.add_shot(shot)
    before = db.read_bytes()
    with SqliteStore.open(db, read_only=True) as store:
        assert store.shots("Ada") == [shot]
        with pytest.raises(StoreError, match="cannot be written, nothing was stored; "):
            store.add_shot(make_shot())
    assert db.read_bytes() == before
    db.write_bytes(b"")
    assert refusal(db, read_only=True) == (
        "holds no log yet; open it once for writing, for example with: wedgelab players"
    )


def test_a_lock_of_another_process_is_one_line_after_the_timeout(db: Path, make_shot: Callable[..., Shot]) -> None:
    SqliteStore.open(db).close()
    holder = (
        "import sqlite3, sys; c = sqlite3.connect(sys.argv[1], isolation_level=None); "
        "c.execute('BEGIN ' + sys.argv[2]); print('held', flush=True); sys.stdin.read()"
    )
    told = "is locked by another program for more than 0.05 s, nothing was {}; close the other program and try again"
    for kind in ("IMMEDIATE", "EXCLUSIVE"):
        arguments = [sys.executable, "-c", holder, str(db), kind]
        with subprocess.Popen(arguments, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == "held\n"
            if kind == "EXCLUSIVE":
                assert refusal(db) == told.format("read")
            else:
                with SqliteStore.open(db, timeout_s=0.05) as store, pytest.raises(StoreError) as caught:
                    store.add_shot(make_shot())
                assert str(caught.value) == f"database {db}: {told.format('stored')}"
            process.communicate()
    with SqliteStore.open(db) as store:
        assert store.players() == []


def test_a_write_ahead_journal_is_turned_off(db: Path) -> None:
    SqliteStore.open(db).close()
    with closing(sqlite3.connect(db)) as raw:
        assert raw.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
    with SqliteStore.open(db) as store:
        pragma = store._connection.execute
        assert pragma("PRAGMA journal_mode").fetchone() == ("delete",)
        assert pragma("PRAGMA synchronous").fetchone() == (3,)  # EXTRA, sqlite.org/pragma.html#pragma_synchronous
        assert pragma("PRAGMA foreign_keys").fetchone() == (1,)
        assert pragma("PRAGMA recursive_triggers").fetchone() == (1,)


def test_a_name_with_signs_that_mean_something_in_an_address(tmp_path: Path) -> None:
    path = tmp_path / "50% #1?mode=memory \u00e4.db"
    SqliteStore.open(path).close()
    assert path.stat().st_size > 0


def test_a_copy_is_whole_and_overwrites_nothing(db: Path, tmp_path: Path, make_shot: Callable[..., Shot]) -> None:
    shot, target = make_shot(), tmp_path / "copy.db"
    with SqliteStore.open(db) as store:
        store.add_shot(shot)
        store.copy_to(target)
        with pytest.raises(FileProblemError) as caught:
            store.copy_to(target)
        assert str(caught.value) == f"{target}: exists already; give another name for the copy"
        with pytest.raises(FileProblemError, match=r"the copy of the log cannot be written \(.*\); make room for it$"):
            store.copy_to(tmp_path / "nowhere" / "copy.db")
    with SqliteStore.open(target) as copy:
        assert copy.shots("Ada") == [shot]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["copy.db", "log.db"]


def test_opening_and_logging_load_nothing_heavy(db: Path) -> None:
    code = (
        "import sys; from wedgelab.store.store import SqliteStore; SqliteStore.open(sys.argv[1]).close(); "
        "print(sorted({'numpy', 'pandas', 'click', 'scipy', 'platformdirs', 'clevercsv'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(db)], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


class TestLocation:
    def test_option_then_variable_then_default(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("HOME", str(tmp_path))
        assert location.resolve("a.db", {"WEDGELAB_DB": "b.db"}) == Path("a.db")
        assert location.resolve(None, {"WEDGELAB_DB": "~/b.db"}) == tmp_path / "b.db"
        assert location.resolve(None, {"WEDGELAB_DB": ""}) == location.default_path()
        assert location.resolve(None, {}).name == "wedgelab.db"
        with pytest.raises(StoreError) as caught:
            location.resolve("~nobody-of-that-name/log.db", {})
        assert str(caught.value) == (
            "database ~nobody-of-that-name/log.db: nobody has that home folder; write the path in full"
        )

    def test_the_default_folder_is_made_when_the_first_log_is(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
        monkeypatch.setenv("HOME", str(tmp_path))
        path = location.default_path()
        assert tmp_path in path.parents
        with pytest.raises(StoreError, match="does not exist; log a first shot"):
            SqliteStore.open(path, create=False)
        assert not path.parent.exists()
        SqliteStore.open(path).close()
        assert path.is_file()
