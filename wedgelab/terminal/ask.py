"""Where a line comes from: a prompt with completion at a terminal, plain reading everywhere else."""

import contextlib
import os
import queue
import sys
import threading
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from prompt_toolkit.completion import CompleteEvent, Completer
    from prompt_toolkit.document import Document
    from prompt_toolkit.input import Input
    from prompt_toolkit.output import Output

Ask = Callable[[str], str]


def has_terminal(stdin: TextIO | None = None, stdout: TextIO | None = None) -> bool:
    """Tell whether somebody can type and read: both ends are terminals that can move a cursor."""
    ends = (stdin or sys.stdin, stdout or sys.stdout)
    return all(end is not None and end.isatty() for end in ends) and os.environ.get("TERM", "") != "dumb"


def plain_ask(stdin: TextIO, out: TextIO) -> Ask:
    """Return a way to ask that reads one line of the stream; the end of it raises EOFError.

    A pipe is not asked: only somebody who types sees the prompt.
    """
    with contextlib.suppress(AttributeError, ValueError):
        stdin.reconfigure(errors="replace")  # type: ignore[attr-defined]  # one odd byte must not end a sitting

    def ask(prompt: str) -> str:
        if stdin.isatty():
            out.write(prompt)
            out.flush()
        line = stdin.readline()
        if not line:
            raise EOFError
        return line.rstrip("\r\n")

    return ask


def patient_ask(stdin: TextIO, out: TextIO, wait_s: float = 0.2) -> Ask:
    """Return a plain way to ask that raises TimeoutError while no line comes, so that others get a turn."""
    lines: queue.Queue[str | None] = queue.Queue()
    asked = ""

    def listen() -> None:
        with contextlib.suppress(OSError, ValueError):
            for line in stdin:
                lines.put(line)
        lines.put(None)

    threading.Thread(target=listen, daemon=True, name="answers").start()

    def ask(prompt: str) -> str:
        nonlocal asked
        if stdin.isatty() and asked != prompt:
            out.write(prompt)
            out.flush()
            asked = prompt
        try:
            line = lines.get(timeout=wait_s)
        except queue.Empty:
            raise TimeoutError from None
        if line is None:
            lines.put(None)
            raise EOFError
        asked = ""
        return line.rstrip("\r\n")

    return ask


def prompt_ask(
    words: Sequence[str] = (), *, terminal_input: "Input | None" = None, terminal_output: "Output | None" = None
) -> Ask:
    """Return a way to ask at the terminal, completing the words with Tab and remembering earlier lines."""
    from prompt_toolkit import PromptSession
    from prompt_toolkit.shortcuts import CompleteStyle

    session: PromptSession[str] = PromptSession(
        completer=_completer(words),
        # Tab answers before the next key is read, and no rows are kept free for a menu: a small window shows the call
        complete_style=CompleteStyle.READLINE_LIKE,
        complete_while_typing=False,
        input=terminal_input,
        output=terminal_output,
    )
    return session.prompt


def _completer(words: Sequence[str]) -> "Completer":
    """Return what completes the last word of a line; a label in quotation marks is found by its first letters too."""
    from prompt_toolkit.completion import Completer, Completion

    class Words(Completer):
        def get_completions(
            self,
            document: "Document",
            complete_event: "CompleteEvent",  # noqa: ARG002 - prompt_toolkit's signature
        ) -> Iterable[Completion]:
            begun = document.get_word_before_cursor(WORD=True)
            wanted = begun.lstrip("'\"").casefold()
            for word in words:
                if word.lstrip("'\"").casefold().startswith(wanted):
                    yield Completion(word, start_position=-len(begun))

    return Words()
