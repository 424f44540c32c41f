"""Run commands in this process, or as a process of their own, and see stdout, stderr and the exit code."""

import io
import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from wedgelab.cli.main import run


@dataclass(frozen=True)
class Result:
    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """The one JSON document on stdout; NaN and Infinity are no JSON."""

        def refuse(word: str) -> Any:
            raise AssertionError(f"{word} in JSON")

        return json.loads(self.out, parse_constant=refuse)

    @property
    def error(self) -> str:
        """The one error line."""
        lines = [line for line in self.err.splitlines() if line.startswith("wedgelab: error: ")]
        assert len(lines) == 1, self.err
        assert self.err.splitlines()[-1] == lines[0]
        assert "Traceback" not in self.err
        return lines[0].removeprefix("wedgelab: error: ")


class Cli:
    """The command line with the database of one test."""

    def __init__(self, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        self._capsys, self._monkeypatch = capsys, monkeypatch

    def __call__(self, *words: str, stdin: str = "") -> Result:
        self._capsys.readouterr()
        self._monkeypatch.setattr(sys, "stdin", io.StringIO(stdin))
        code = run(list(words))
        captured = self._capsys.readouterr()
        return Result(code, captured.out, captured.err)

    def ok(self, *words: str, stdin: str = "") -> Result:
        """Run a command that must succeed."""
        result = self(*words, stdin=stdin)
        assert result.code == 0, result.err
        return result

    def fails(self, code: int, *words: str, stdin: str = "") -> str:
        """Run a command that must fail with the code, and return its one error line; stdout stays empty."""
        result = self(*words, stdin=stdin)
        assert (result.code, result.out) == (code, ""), (result.code, result.out, result.err)
        return result.error

    def shots(self) -> list[dict[str, Any]]:
        """All shots of the log."""
        shots: list[dict[str, Any]] = self.ok("shots", "list", "--all", "--json").document["shots"]
        return shots


def process(*words: str, stdin: str | None = None, cwd: Path | None = None) -> Result:
    """Run the command line as a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "wedgelab", *words],
        input=stdin, stdin=subprocess.DEVNULL if stdin is None else None,
        capture_output=True, text=True, cwd=cwd, timeout=60, check=False,
    )  # fmt: skip
    return Result(done.returncode, done.stdout, done.stderr)
