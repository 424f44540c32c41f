"""Signs beyond ASCII are drawn only where stdout can show every one of them."""

import io
import json
import os
import re
import subprocess
import sys

import pytest

from tests.cli.harness import Cli
from wedgelab.cli.app import App
from wedgelab.cli.streams import showable
from wedgelab.render.sparks import BLOCKS, DOT, UPRIGHT
from wedgelab.render.strips import SIGNS

DRAWN = {*BLOCKS, DOT, UPRIGHT, *SIGNS.all}
IN_WORDS = {"±"}  # not drawn with


def draws(encoding: str, monkeypatch: pytest.MonkeyPatch, **environ: str) -> bool:
    with monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", io.TextIOWrapper(io.BytesIO(), encoding=encoding))
        return App(environ=environ).draws_signs


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "gb18030"])
def test_signs_are_drawn_where_all_can_be_shown(encoding: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert draws(encoding, monkeypatch)
    assert not draws(encoding, monkeypatch, TERM="dumb")


@pytest.mark.parametrize(
    "encoding", ["gbk", "big5", "cp950", "shift_jis", "cp949", "cp437", "cp866", "koi8_r", "cp1252", "ascii"]
)
def test_plain_letters_stand_for_them_where_one_is_missing(encoding: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert not draws(encoding, monkeypatch)


def test_no_other_sign_is_drawn_with_than_those_that_are_asked_for(log: Cli) -> None:
    sides = (-2, 1, 4, -3, 0, 5)
    log.ok("log", stdin="".join(f"54 9:00 {66 + i} offline={side}\n" for i, side in enumerate(sides)))
    drill = log.ok("drill", "--balls", "6", "--seed", "4", stdin="60\n72\n64\n80\n55\n61\n").out
    texts = [drill, log.ok("gaps").out, log.ok("gaps", "--with", "46").out, log.ok("chart", "--dispersion").out]
    beyond_ascii = [{sign for sign in text if not sign.isascii()} - IN_WORDS for text in texts]
    assert all(beyond_ascii)  # each of them draws
    assert set().union(*beyond_ascii) <= DRAWN


def test_a_code_page_with_some_of_the_signs_gets_the_plain_picture_and_no_question_marks(log: Cli) -> None:
    shown = {
        encoding: subprocess.run(
            [sys.executable, "-m", "wedgelab", "gaps"],
            capture_output=True, check=True, env={**os.environ, "PYTHONIOENCODING": encoding},
        ).stdout.decode(encoding)
        for encoding in ("gbk", "cp1252")
    }  # fmt: skip
    assert shown["gbk"] == shown["cp1252"]
    assert "* median" in shown["gbk"]


def test_an_ascii_stream_gets_ascii(log: Cli) -> None:
    log.ok("log", "54", "9:00", "66", "--note", "\u6f22 \u00e9")
    for words, wanted in (
        (("gaps",), rb" \+-\d"), (("chart",), rb"\d \+-\d"), (("shots", "list"), rb"\? \?\n"),
    ):  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "wedgelab", *words],
            capture_output=True, check=True, env={**os.environ, "PYTHONIOENCODING": "ascii", "LC_ALL": "C"},
        )  # fmt: skip
        assert done.stdout.isascii(), words
        assert re.search(wanted, done.stdout), words
        assert max(len(line) for line in done.stdout.splitlines()) <= 80


def test_a_json_document_on_an_ascii_stream_loses_nothing(log: Cli) -> None:
    log.ok("log", "54", "9:00", "66", "--note", "\u6f22 \u00e9 \U0001f642")
    done = subprocess.run(
        [sys.executable, "-m", "wedgelab", "shots", "list", "--json"],
        capture_output=True, check=True, env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert done.stdout.isascii()
    assert json.loads(done.stdout) == log.ok("shots", "list", "--json").document


@pytest.mark.parametrize(
    ("text", "encoding", "shown"),
    [
        ("70 ±1.2 …", "utf-8", "70 ±1.2 …"),
        ("70 ±1.2 …", "latin-1", "70 ±1.2 ..."),
        ("70 ±1.2 · 漢", "ascii", "70 +-1.2 . ?"),
        ('{"a": "±"}', "ascii", '{\n  "a": "\\u00b1"\n}'),
        ("{±", "ascii", "{+-"),
        ("±", "no such encoding", "±"),
    ],
)
def test_signs_that_a_stream_lacks_are_said_plainly(text: str, encoding: str, shown: str) -> None:
    stream = io.StringIO()
    named = type("Stream", (), {"encoding": encoding})()
    assert showable(text, named) == shown
    assert showable(text, stream) == text  # one without an encoding takes everything
