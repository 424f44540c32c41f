"""Calls and misses read aloud by a speech program of the system, and the few words that are said.

The program runs beside the drill, which never waits for it. That it ended well does not mean that anybody heard it:
without a loudspeaker most of them end well too.
"""

import base64
import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from wedgelab.drill.machine import Feedback, Played
from wedgelab.errors import printable
from wedgelab.units import LengthUnit, format_length

NO_SPEECH: Final[dict[str, str]] = {
    "linux": "no speech program was found; install espeak-ng with the system's package manager",
    "darwin": "no speech program was found; `say` is part of the system: look whether its folder is on the PATH",
    "win32": "no speech program was found; install Windows PowerShell 5, or look whether it is on the PATH",
}
_LONGEST: Final = 300  # a text must fit into a pipe at once, or writing it would wait for the program
_SECONDS_TO_END: Final = 1.0
_SECONDS_TO_FINISH: Final = 4.0
_POSIX: Final = os.name == "posix"
_CLOCK: Final = re.compile(r"[ ]*\b(\d{1,2}):(\d{2})\b")
_READ_OTHERWISE: Final = str.maketrans("[]{}<>%|\\", " " * 9)  # signs that one or another program takes for an order
# The script is always the same; the text comes in by the standard input, in base64 whatever the code page is.
_WINDOWS_SCRIPT: Final = (
    "Add-Type -AssemblyName System.Speech; "
    "$text = [Text.Encoding]::UTF8.GetString([Convert]::FromBase64String([Console]::In.ReadToEnd().Trim())); "
    "(New-Object System.Speech.Synthesis.SpeechSynthesizer).Speak($text)"
)


@dataclass(frozen=True, slots=True)
class _Program:
    name: str
    arguments: tuple[str, ...]
    takes: Literal["stdin", "argument", "base64"]


_PROGRAMS: Final[dict[str, tuple[_Program, ...]]] = {
    "linux": (
        _Program("espeak-ng", ("--stdin",), "stdin"),
        _Program("espeak", ("--stdin",), "stdin"),
        _Program("spd-say", ("--wait", "--"), "argument"),
    ),
    "darwin": (_Program("say", ("-f", "-"), "stdin"),),
    "win32": (_Program("powershell", ("-NoProfile", "-NonInteractive", "-Command", _WINDOWS_SCRIPT), "base64"),),
}


def find_speech(
    *,
    platform: str = sys.platform,
    environ: Mapping[str, str] | None = None,
    which: Callable[[str], str | None] | None = None,
) -> "Speech | None":
    """Return the first speech program that the system has, None if it has none."""
    path = (os.environ if environ is None else environ).get("PATH")
    find = which or (lambda name: shutil.which(name, path=path))
    for program in _PROGRAMS.get(_family(platform), ()):
        found = find(program.name)
        if found:
            return Speech(program.name, (found, *program.arguments), program.takes)
    return None


def no_speech(platform: str = sys.platform) -> str:
    """Say in one line what to install where no speech program was found."""
    return NO_SPEECH[_family(platform)]


def _family(platform: str) -> str:
    return platform if platform in NO_SPEECH else "linux"  # the others that Python runs on take the same programs


class Speech:
    """A program that reads texts aloud, one at a time: a newer text ends an older one. Nothing here raises or waits."""

    def __init__(self, name: str, command: tuple[str, ...], takes: Literal["stdin", "argument", "base64"]) -> None:
        self.name = name
        self._command, self._takes = command, takes
        self._speaking: subprocess.Popen[bytes] | None = None
        self._stopped: list[subprocess.Popen[bytes]] = []  # told to end; kept until the system let go of them
        self._problem = ""
        self._has_told = False

    def say(self, text: str) -> None:
        """Begin to say a text."""
        self._look()
        self._stop()
        said = printable(text).translate(_READ_OTHERWISE).strip()[:_LONGEST]
        if not said:
            return
        command = [*self._command, said] if self._takes == "argument" else list(self._command)
        try:
            self._speaking = subprocess.Popen(  # noqa: S603 - found on the PATH, no shell, the text is no part of a script
                command,
                stdin=subprocess.DEVNULL if self._takes == "argument" else subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                bufsize=0,
                process_group=0 if _POSIX else None,  # a Ctrl-C for the drill is none for the voice
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
            )
        except (OSError, ValueError) as error:
            self._note(f"cannot be started ({getattr(error, 'strerror', None) or error})")
            return
        self._hand_over(said)

    def problem(self) -> str:
        """Return one line if the program failed since the start, once; empty otherwise."""
        self._look()
        if not self._problem or self._has_told:
            return ""
        self._has_told = True
        return self._problem

    def finish(self) -> None:
        """Let what is being said come to its end, as far as that takes no longer than a few words do."""
        if self._speaking:
            try:
                self._speaking.wait(_SECONDS_TO_FINISH)
            except subprocess.TimeoutExpired:
                self._note(f"was still speaking after {_SECONDS_TO_FINISH:g} s")

    def close(self) -> None:
        """End what is still being said, and let go of the program."""
        self._look()
        self._stop()
        for process in self._stopped:
            try:
                process.wait(_SECONDS_TO_END)
            except subprocess.TimeoutExpired:
                _send(process, hard=True)
                process.wait()
        self._stopped.clear()

    def _hand_over(self, said: str) -> None:
        pipe = self._speaking.stdin if self._speaking else None
        if pipe is None:
            return
        data = said.encode(errors="replace")
        # a program that is gone already is noticed by its exit code
        with contextlib.suppress(OSError):
            pipe.write(base64.b64encode(data) if self._takes == "base64" else data + b"\n")
        with contextlib.suppress(OSError):
            pipe.close()

    def _look(self) -> None:
        """Notice what ended meanwhile."""
        self._stopped = [process for process in self._stopped if process.poll() is None]
        code = self._speaking.poll() if self._speaking else None
        if code is not None:
            self._speaking = None
            if code:
                self._note(f"stopped with code {code}")

    def _stop(self) -> None:
        if self._speaking:
            _send(self._speaking, hard=False)
            self._stopped.append(self._speaking)
            self._speaking = None

    def _note(self, what: str) -> None:
        self._problem = self._problem or printable(f"{self.name} {what}: nothing may be heard; the drill goes on")


def _send(process: "subprocess.Popen[bytes]", *, hard: bool) -> None:
    """End a program, and on systems with process groups what it started itself."""
    with contextlib.suppress(OSError):
        if not _POSIX:
            process.terminate()
        elif process.poll() is None:  # not reaped: the number is still its own
            os.killpg(process.pid, signal.SIGKILL if hard else signal.SIGTERM)


def spoken_call(call_m: float, unit: LengthUnit, advice: str | None = None) -> str:
    """Say a call, and the advice if there is any: ``62 yards, 54, 9 o'clock``."""
    shown = format_length(call_m, unit, 1).removesuffix(".0")
    return f"{_with_unit(shown, unit)}, {_clock_words(advice)}" if advice else _with_unit(shown, unit)


def spoken_miss(
    played: Played,
    unit: LengthUnit,
    shows_number: bool,
    *,
    feedback: Feedback = "every",
) -> str:
    """Say what a ball did: ``4 yards long``; without a number ``inside`` if only misses are told, else nothing."""
    if not shows_number:
        return "inside" if feedback == "outside" and played.is_inside else ""
    shown = format_length(abs(played.miss_m), unit)
    if shown == "0":
        return "on the number"
    return f"{_with_unit(shown, unit)} {'long' if played.miss_m > 0 else 'short'}"


def _with_unit(shown: str, unit: LengthUnit) -> str:
    word = "yard" if unit == "yd" else "metre"
    return f"{shown} {word}" if shown == "1" else f"{shown} {word}s"


def _clock_words(advice: str) -> str:
    """Write swing lengths in clock form as they are spoken; a pause keeps the wedge's number apart."""

    def spoken(match: re.Match[str]) -> str:
        hours, minutes = match.groups()
        time = f"{hours} o'clock" if minutes == "00" else f"{hours} {minutes}"
        return f", {time}" if match.start() else time

    return _CLOCK.sub(spoken, advice)
