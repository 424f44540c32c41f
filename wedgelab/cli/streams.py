"""Streams that the caller closed, filled up or walked away from: none of them may cost a shot or show a traceback."""

import contextlib
import os
import sys
from typing import IO, Any, Final

_PLAIN: Final = {"±": "+-", "·": ".", "…": "...", "–": "-", "°": " deg"}  # for signs of ours that a stream lacks


def mend_streams() -> None:
    """Make the three streams fit to use, whatever the caller left of them."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            # a closed stream reads and writes nothing; its number must be taken, or the log would be opened under it
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115, PTH123 - open to the end
    for stream in (sys.stdout, sys.stderr):
        # an old code page must not turn a sign into a traceback
        with contextlib.suppress(AttributeError, ValueError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # not every stream has it
    with contextlib.suppress(AttributeError, ValueError):
        if sys.stdin.encoding.lower() == "utf-8" and not sys.stdin.isatty():
            # the mark that some editors put before the first line is no part of a wedge's name
            sys.stdin.reconfigure(encoding="utf-8-sig")  # type: ignore[union-attr]  # not every stream has it


def showable(text: str, stream: "IO[Any]") -> str:
    """Return a text as the stream can show it: plain signs for ours that it lacks, question marks for others.

    In a JSON document they are escaped instead, so that nothing of it is lost.
    """
    encoding = getattr(stream, "encoding", None) or "utf-8"
    if _fits(text, encoding):
        return text
    import json

    with contextlib.suppress(ValueError):
        return json.dumps(json.loads(text), indent=2)
    plain: dict[str, str | int | None] = {
        sign: instead for sign, instead in _PLAIN.items() if not _fits(sign, encoding)
    }
    return text.translate(str.maketrans(plain)).encode(encoding, "replace").decode(encoding)


def _fits(text: str, encoding: str) -> bool:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return False
    except LookupError:  # an encoding that Python does not know: the stream itself has to cope
        return True
    return True


def hush(stream: "IO[Any]") -> None:
    """Let a stream that cannot be written swallow the rest, so that nothing fails again when the program ends."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
        stream.flush()
