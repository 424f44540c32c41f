"""How far a long piece of work has come: a bar on stderr for somebody who waits at a terminal, else nothing."""

import contextlib
import sys
import time
from collections.abc import Callable, Iterator
from typing import Final, Protocol

import click

PATIENCE_S: Final = 1.0  # what is done by then needs no bar
_WIDTH: Final = 30
_STEPS: Final = 1000

Step = Callable[[float], None]  # told the share that is done, 0 to 1


@contextlib.contextmanager
def waiting(label: str, *, clock: Callable[[], float] = time.monotonic) -> Iterator[Step]:
    """Hand out what is to be told the share that is done; the bar comes after a second, and goes when the work ends.

    Silent where stderr is no terminal: a pipe or a file gets not one byte.
    """
    if not sys.stderr.isatty():
        yield _nothing
        return
    bar = _Bar(label, clock)
    try:
        yield bar.tell
    finally:
        bar.wipe()


def _nothing(_: float) -> None:
    """Tell nobody."""


class _Drawn(Protocol):  # click names the class of its bar privately
    def update(self, n_steps: int) -> None: ...


class _Bar:
    def __init__(self, label: str, clock: Callable[[], float]) -> None:
        self._label, self._clock = label, clock
        self._start, self._shown, self._stack = clock(), 0, contextlib.ExitStack()
        self._bar: _Drawn | None = None

    def tell(self, share: float) -> None:
        """Move the bar to the share that is done; it never goes back."""
        if self._bar is None:
            if self._clock() - self._start < PATIENCE_S:
                return
            self._bar = self._stack.enter_context(
                click.progressbar(
                    length=_STEPS, label=self._label, file=sys.stderr, width=_WIDTH, show_eta=True, show_percent=True
                )
            )
        reached = round(_STEPS * min(max(share, 0.0), 1.0))
        if reached > self._shown:
            self._bar.update(reached - self._shown)
            self._shown = reached

    def wipe(self) -> None:
        """Take the bar from the screen: what follows is the answer."""
        self._stack.close()
        if self._bar is not None:
            with contextlib.suppress(OSError):
                sys.stderr.write("\x1b[A\x1b[2K\r")
                sys.stderr.flush()
