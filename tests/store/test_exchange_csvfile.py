"""Files that are no table: one clear line each."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from wedgelab.errors import FileProblemError
from wedgelab.store import csvfile
from wedgelab.store.csvfile import read_table

BINARY = "this is a binary file, not text; save the table as CSV (text) and import that file"
PNG = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x01"  # the first bytes that the PNG specification asks for


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "the file is empty; export the shots again or name another file"),
        (b"sep=;\n;;\n", "the file is empty; export the shots again or name another file"),
        (b"\xef\xbb\xbf \r\n\r\n", "the file is empty; export the shots again or name another file"),
        (b"club,swing,carry\r\n", "there is a header but no row below it; name a file that has shots in it"),
        (b"club,swing,carry\n,,m\n", "there is a header but no row below it; name a file that has shots in it"),
        (PNG, BINARY),
        (b"club,swing\x00,carry\n1,2,3", BINARY),
        (b"a,b\x01\n1,2", BINARY),
        (b"\xff\xfea", BINARY),
        (
            b"PK\x03\x04rest",
            "this is a spreadsheet or archive, not a text file; save the table as CSV (text) and import that file",
        ),
        (
            b'club,note\n54,"open\n54,x\n',
            (
                "the row that begins on line 2 has a quotation mark that is not closed properly; "
                'close it, and double a " inside a quoted cell'
            ),
        ),
        (
            b"club,note\n54," + b"x" * 200_000,
            'the row that begins on line 2 has an endless cell; close it, and double a " inside a quoted cell',
        ),
    ],
)
def test_file_that_is_no_table(content: bytes, problem: str, tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_bytes(content)
    with pytest.raises(FileProblemError) as caught:
        read_table(path)
    assert str(caught.value) == f"{path}: {problem}"


def test_folder(tmp_path: Path) -> None:
    with pytest.raises(FileProblemError, match=r"this is a folder; name one CSV file in it$"):
        read_table(tmp_path)


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(FileProblemError, match=r"none\.csv: there is no such file; check the name and the folder$"):
        read_table(tmp_path / "none.csv")


def test_name_with_a_nul(tmp_path: Path) -> None:
    with pytest.raises(FileProblemError, match="it cannot be read"):
        read_table(tmp_path / "a\0b.csv")


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("a,b\n1,2\n", encoding="utf-8")

    def refuse(self: Path, mode: str = "r") -> None:
        # raised as the operating system does it: root, who runs tests in containers, may read everything
        raise PermissionError(13, os.strerror(13), str(self))

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(FileProblemError, match=r"reading it is not permitted; change its permissions or copy it$"):
        read_table(path)


def test_over_long_file(tmp_path: Path) -> None:
    path = tmp_path / "long.csv"
    with path.open("wb") as stream:
        stream.truncate(200_000_000)  # sparse: takes no room on the disk
    with pytest.raises(FileProblemError, match=r"it is longer than 50 MB; split it into smaller files$"):
        read_table(path)


def test_table_knows_its_origin(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_bytes(b"club;carry\n54;60\n")
    table = read_table(path)
    assert (table.path, table.encoding, table.delimiter) == (str(path), "utf-8", ";")
    # sha256sum of the same 17 bytes
    printed = subprocess.run(["sha256sum", path], capture_output=True, text=True, check=True).stdout
    assert table.content_sha256 == printed.split()[0]
    assert table.headers == ("club", "carry")
    assert table.rows == ((2, ("54", "60")),)
    assert csvfile.delimiter_name(table) == "semicolon"


def test_ambiguous_separator_is_settled_by_content(tmp_path: Path) -> None:
    path = tmp_path / "both.csv"
    path.write_text("club,a;note;carry\n" + "".join(f"54,{n};x;{60 + n},5\n" for n in range(9)), encoding="utf-8")
    assert read_table(path).delimiter == ";"


def test_reading_loads_nothing_heavy() -> None:
    code = (
        "import sys, wedgelab.store.exchange; "
        "print([m for m in ('clevercsv', 'pandas', 'numpy', 'scipy', 'sqlite3') if m in sys.modules])"
    )
    printed = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert printed.strip() == "[]"
