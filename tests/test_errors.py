"""Every failure is one line of two halves with an exit code, and nothing in it can disturb a terminal."""

import pytest

from wedgelab import errors
from wedgelab.errors import (
    BadNameError,
    BadRequestError,
    FileProblemError,
    NeedsTerminalError,
    NothingFitsError,
    OutOfRangeError,
    StoreError,
    TooFewShotsError,
    UnknownNameError,
    UnreadableValueError,
    WedgelabError,
    printable,
    quoted,
)

EXAMPLES: list[tuple[WedgelabError, int, str]] = [
    (UnreadableValueError("carry", "6o", "give a plain number such as 62.5"), 2,
     "carry '6o' cannot be read; give a plain number such as 62.5"),
    (OutOfRangeError("carry", "800.0 m", "0.5", "250.0 m"), 1,
     "carry 800.0 m is outside 0.5 to 250.0 m; check the number and its unit"),
    (BadNameError("wedge", "", "give at least one visible character"), 1,
     "wedge '' cannot be used; give at least one visible character"),
    (UnknownNameError("wedge", "45", ["54", "60"]), 1, "unknown wedge '45'; did you mean '54'?"),
    (TooFewShotsError("0 solid balls are logged", "log 3"), 3, "0 solid balls are logged; log 3"),
    (NothingFitsError("nothing reaches 200 yd", "the nearest is 92 yd"), 1,
     "nothing reaches 200 yd; the nearest is 92 yd"),
    (FileProblemError("a.csv", "is empty", "give a file with rows"), 1, "a.csv: is empty; give a file with rows"),
    (StoreError("a.db", "is locked", "try again"), 1, "database a.db: is locked; try again"),
    (NeedsTerminalError("drill", "give --calls"), 2, "drill needs a terminal and there is none; give --calls"),
    (BadRequestError("--low is above --high", "swap them"), 2, "--low is above --high; swap them"),
]  # fmt: skip


@pytest.mark.parametrize(("error", "code", "sentence"), EXAMPLES, ids=lambda v: type(v).__name__)
def test_sentence_and_exit_code(error: WedgelabError, code: int, sentence: str) -> None:
    assert str(error) == sentence
    assert error.exit_code == code
    seen, todo = sentence.split("; ")
    assert seen
    assert todo


def test_every_class_is_in_the_table_above() -> None:
    classes = {c for c in vars(errors).values() if isinstance(c, type) and issubclass(c, WedgelabError)}
    assert classes - {WedgelabError} == {type(error) for error, _, _ in EXAMPLES}


def test_exit_codes_of_the_contract() -> None:
    # design.md section 4
    assert (
        errors.EXIT_FAILURE,
        errors.EXIT_USAGE,
        errors.EXIT_TOO_FEW_SHOTS,
        errors.EXIT_OUR_BUG,
        errors.EXIT_INTERRUPTED,
    ) == (1, 2, 3, 70, 130)


@pytest.mark.parametrize(
    ("known", "how", "sentence"),
    [
        ([], "", "unknown wedge 'LW9'; none is known yet"),
        ([], "add it", "unknown wedge 'LW9'; none is known yet - add it"),
        (["lw8"], "add it", "unknown wedge 'LW9'; did you mean 'lw8'? - add it"),
        (["A", "B", "A"], "", "unknown wedge 'LW9'; known: 'A', 'B'"),
        (list("abcdefghi"), "", "unknown wedge 'LW9'; known: 'a', 'b', 'c', 'd', 'e', 'f', 'g', 'h' ..."),
    ],
)
def test_unknown_name_offers_what_is_known(known: list[str], how: str, sentence: str) -> None:
    assert str(UnknownNameError("wedge", "LW9", known, how)) == sentence


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("54", "'54'"),
        (54, "'54'"),
        ("", "''"),
        ("Grün 5", "'Grün 5'"),
        ("\x1b[2Jhi", r"'\x1b[2Jhi'"),
        ("a\nb\tc", r"'a\nb\tc'"),
        ("\u202eabc", r"'\u202eabc'"),
        ("\x9b31m", r"'\x9b31m'"),
        ("\ud800", r"'\ud800'"),
        ("x" * 80, "'" + "x" * 80 + "'"),
        ("x" * 81, "'" + "x" * 80 + "...'"),
    ],
)
def test_quoted_neutralises_what_could_disturb_a_terminal(value: object, shown: str) -> None:
    assert quoted(value) == shown


HOSTILE = "\x1b]0;x\x07\r\nsecond line\u202e"


@pytest.mark.parametrize(
    "error",
    [
        UnreadableValueError("carry", HOSTILE, "give a number"),
        BadNameError("wedge", HOSTILE, "leave them out"),
        UnknownNameError("wedge", HOSTILE, [HOSTILE], f"add {HOSTILE}"),
        TooFewShotsError(HOSTILE, "log more"),
        NothingFitsError(HOSTILE, "nearest"),
        FileProblemError(HOSTILE, "is empty", "give another"),
        StoreError(HOSTILE, "is locked", "try again"),
        NeedsTerminalError(HOSTILE, "pipe it"),
        BadRequestError(HOSTILE, "swap"),
    ],
    ids=lambda v: type(v).__name__,
)
def test_a_hostile_value_cannot_leave_the_line(error: WedgelabError) -> None:
    assert str(error).isprintable()
    assert str(error) == printable(str(error))


def test_the_path_itself_is_kept_as_it_was() -> None:
    assert FileProblemError(HOSTILE, "is empty", "give another").path == HOSTILE
    assert StoreError(HOSTILE, "is locked", "try again").path == HOSTILE


def test_values_and_lookups_can_be_caught_as_python_does() -> None:
    assert issubclass(UnreadableValueError, ValueError)
    assert issubclass(OutOfRangeError, ValueError)
    assert issubclass(UnknownNameError, LookupError)
