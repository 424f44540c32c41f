"""A run of wedgelab in a pseudo-terminal, and the screen that it paints (pyte plays the terminal)."""

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pexpect
import pyte

WAIT_S = 30.0
CTRL_C, CTRL_D = "\x03", "\x04"
LEFT_THE_SCREEN = "\x1b[?1049l"


class PtyScreen:
    """One run; read it by `wait`, write it by `type`."""

    def __init__(
        self, db: Path, args: Sequence[str], columns: int = 80, rows: int = 24, environ: dict[str, str] | None = None
    ) -> None:
        self._screen = pyte.HistoryScreen(columns, rows, history=500)
        self._stream = pyte.Stream(self._screen)
        self.read = ""  # everything that came, as it came
        env = {**os.environ, "TERM": "xterm-256color", "PROMPT_TOOLKIT_NO_CPR": "1", "PYTHONIOENCODING": "utf-8"}
        self._child = pexpect.spawn(
            sys.executable, ["-m", "wedgelab", "--db", str(db), *args], dimensions=(rows, columns),
            encoding="utf-8", timeout=WAIT_S, env={**env, **(environ or {})},
        )  # fmt: skip
        self._child.delaybeforesend = None  # else every key would wait for 50 ms here

    def type(self, keys: str) -> None:
        self._child.send(keys)

    def resize(self, columns: int, rows: int) -> None:
        self._screen.resize(rows, columns)
        self._child.setwinsize(rows, columns)

    @property
    def rows(self) -> list[str]:
        """What stands on the screen now."""
        return [line.rstrip() for line in self._screen.display]

    @property
    def lines(self) -> list[str]:
        """What was ever on it and is not blank, as far as it scrolled away."""
        gone = ["".join(row[x].data for x in range(self._screen.columns)) for row in self._screen.history.top]
        return [line.rstrip() for line in (*gone, *self._screen.display) if line.strip()]

    @property
    def columns_with_style(self) -> set[str]:
        """The colours that stand on the screen."""
        return {char.fg for row in self._screen.buffer.values() for char in row.values()}

    def feed(self, wait_s: float = 0.1) -> bool:
        """Read what has come; False at the end of it."""
        try:
            text = self._child.read_nonblocking(65536, timeout=wait_s)
        except pexpect.TIMEOUT:
            return True
        except pexpect.EOF:
            return False
        self.read += text
        self._stream.feed(text)
        return True

    def wait(self, done: Callable[[list[str]], bool]) -> list[str]:
        """Read until the screen is as wanted; fail with what it showed instead."""
        until = time.monotonic() + WAIT_S
        while not done(self.rows):
            assert time.monotonic() < until, "\n".join(self.lines)
            if not self.feed():
                assert done(self.rows), "\n".join(self.lines)
        return self.rows

    def wait_for(self, text: str) -> list[str]:
        return self.wait(lambda rows: any(text in row for row in rows))

    def finish(self) -> int:
        """Read to the end; return the exit code."""
        until = time.monotonic() + WAIT_S
        while self.feed(1.0):
            assert time.monotonic() < until, "\n".join(self.lines)
        self._child.close()
        return int(self._child.exitstatus if self._child.exitstatus is not None else -1)

    def send_signal(self, number: signal.Signals) -> None:
        assert self._child.pid is not None
        os.kill(self._child.pid, number)

    def hang_up(self) -> None:
        """Close the terminal under the program, as a window that is closed does."""
        process = self._child.ptyproc  # type: ignore[attr-defined]  # the stubs leave it out
        process.fileobj.close()
        process.closed = self._child.closed = True

    def wait_dead(self) -> None:
        """Wait until the program is gone."""
        until = time.monotonic() + WAIT_S
        while self._child.isalive():
            assert time.monotonic() < until, "it is still running"
            if not self._child.closed:
                self.feed(0.02)

    def stop(self) -> None:
        if not self._child.closed:
            self._child.close(force=True)
        elif self._child.isalive():
            self.send_signal(signal.SIGKILL)


def quiet(db: Path, *args: str) -> None:
    """Run a command of which only the effect counts."""
    pexpect.run(" ".join([sys.executable, "-m", "wedgelab", "--db", str(db), *args]), timeout=int(WAIT_S))


@contextmanager
def on_screen(
    db: Path, *args: str, columns: int = 80, rows: int = 24, environ: dict[str, str] | None = None
) -> Iterator[PtyScreen]:
    screen = PtyScreen(db, args, columns, rows, environ)
    try:
        yield screen
    finally:
        screen.stop()
