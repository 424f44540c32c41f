"""Where a line comes from: a prompt with completion at a terminal, plain reading everywhere else."""

import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
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

    def ask(prompt: str) -> str:
        if stdin.isatty():
            out.write(prompt)
            out.flush()
        line = stdin.readline()
        if not line:
            raise EOFError
        return line.rstrip("\r\n")

    return ask


def prompt_ask(
    words: Sequence[str] = (), *, terminal_input: "Input | None" = None, terminal_output: "Output | None" = None
) -> Ask:
    """Return a way to ask at the terminal, completing the words and remembering earlier lines."""
    from prompt_toolkit import PromptSession
    from prompt_toolkit.completion import WordCompleter

    completer = WordCompleter(list(words), ignore_case=True, WORD=True)
    session: PromptSession[str] = PromptSession(
        completer=completer, complete_while_typing=True, input=terminal_input, output=terminal_output
    )
    return session.prompt
