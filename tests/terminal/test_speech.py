"""Calls and misses read aloud: by a program of the system, here a script that writes down what it was given."""

import base64
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from wedgelab.drill.machine import Ball, Played
from wedgelab.terminal.speech import NO_SPEECH, Speech, find_speech, no_speech, spoken_call, spoken_miss
from wedgelab.units import YARD_M

RECORDS = """#!/bin/sh
printf '%s\\n' "$@" > "{folder}/arguments"
cat > "{folder}/stdin.part"
mv "{folder}/stdin.part" "{folder}/stdin"
"""
FALLS_ASLEEP = RECORDS + "exec sleep 60\n"
WILL_NOT_END = "#!/bin/sh\ntrap '' TERM INT\n: > \"{folder}/stdin\"\nwhile :; do sleep 1; done\n"


def until(condition: Callable[[], object], what: str) -> None:
    """Wait for what another process does; only a program that hangs takes the whole while."""
    for _ in range(2000):
        if condition():
            return
        time.sleep(0.01)
    raise AssertionError(f"waited in vain for: {what}")


class Voice:
    """A folder for the PATH, with programs that record in it what they were given."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.speeches: list[Speech] = []

    def install(self, name: str, script: str = RECORDS) -> Path:
        program = self.folder / name
        program.write_text(script.format(folder=self.folder), encoding="utf-8")
        program.chmod(0o755)
        return program

    def find(self, platform: str = "linux") -> Speech:
        speech = find_speech(platform=platform, environ={"PATH": str(self.folder)})
        assert speech is not None
        self.speeches.append(speech)
        return speech

    def heard(self) -> str:
        """Return what the program was told by now, and forget it."""
        record = self.folder / "stdin"
        until(record.exists, "the program's record")
        text = record.read_text(encoding="utf-8")
        record.unlink()
        return text

    def arguments(self) -> list[str]:
        return (self.folder / "arguments").read_text(encoding="utf-8").splitlines()


@pytest.fixture
def voice(tmp_path: Path) -> Iterator[Voice]:
    made = Voice(tmp_path)
    yield made
    for speech in made.speeches:
        speech.close()
        assert speech._speaking is None
        assert not speech._stopped


@pytest.mark.parametrize(
    ("platform", "installed", "found"),
    [
        ("linux", {"spd-say", "espeak", "espeak-ng"}, "espeak-ng"),
        ("linux", {"spd-say", "espeak"}, "espeak"),
        ("linux", {"spd-say"}, "spd-say"),
        ("linux", {"say", "powershell"}, None),
        ("freebsd14", {"espeak-ng"}, "espeak-ng"),
        ("darwin", {"say", "espeak-ng"}, "say"),
        ("darwin", {"espeak-ng"}, None),
        ("win32", {"powershell"}, "powershell"),
        ("win32", set(), None),
    ],
)
def test_each_platform_has_its_programs(platform: str, installed: set[str], found: str | None) -> None:
    speech = find_speech(platform=platform, which=lambda name: f"/bin/{name}" if name in installed else None)
    assert (speech.name if speech else None) == found


def test_where_there_is_none_one_line_says_what_to_install() -> None:
    assert find_speech(platform="linux", environ={"PATH": "/nowhere"}) is None
    assert "install espeak-ng" in no_speech("linux")
    assert no_speech("freebsd14") == NO_SPEECH["linux"]
    assert no_speech() in NO_SPEECH.values()
    for platform in ("linux", "darwin", "win32"):
        line = no_speech(platform)
        assert line.startswith("no speech program was found; ")
        assert "\n" not in line
        assert len(line) < 120


@pytest.mark.parametrize(
    ("platform", "name", "arguments"),
    [("linux", "espeak-ng", ["--stdin"]), ("linux", "espeak", ["--stdin"]), ("darwin", "say", ["-f", "-"])],
)
def test_the_text_goes_to_the_standard_input(voice: Voice, platform: str, name: str, arguments: list[str]) -> None:
    voice.install(name)
    voice.find(platform).say("62 yards, 54, 9 o'clock")
    assert voice.heard() == "62 yards, 54, 9 o'clock\n"
    assert voice.arguments() == arguments


def test_a_program_that_takes_an_argument_gets_it_after_the_options(voice: Voice) -> None:
    voice.install("spd-say")
    voice.find().say("-62 yards; rm * $(id) 100%s")
    assert not voice.heard()
    assert voice.arguments() == ["--wait", "--", "-62 yards; rm * $(id) 100 s"]


def test_a_text_never_becomes_part_of_the_script(voice: Voice) -> None:
    voice.install("powershell")
    text = "62 metres'); Remove-Item *; ('ü"
    voice.find("win32").say(text)
    assert base64.b64decode(voice.heard()).decode() == text
    script = voice.arguments()[-1]
    assert voice.arguments()[:-1] == ["-NoProfile", "-NonInteractive", "-Command"]
    assert "FromBase64String" in script
    assert "Remove-Item" not in script
    speech = voice.find("win32")
    speech.say("4 metres long")
    assert base64.b64decode(voice.heard()).decode() == "4 metres long"
    assert voice.arguments()[-1] == script


def test_orders_to_a_speech_program_and_control_signs_are_not_passed_on(voice: Voice) -> None:
    voice.install("espeak-ng")
    voice.find().say("54 [[h@l'oU]] <break/> up\x1b[2J\ndown " + "x" * 900)
    said = voice.heard()
    assert not set("[]<>\x1b") & set(said)
    assert said.count("\n") == 1
    assert len(said) == 301


def test_nothing_to_say_starts_nothing(voice: Voice) -> None:
    voice.install("espeak-ng")
    speech = voice.find()
    speech.say("  ")
    assert speech._speaking is None
    assert not (voice.folder / "arguments").exists()


def test_a_newer_text_ends_an_older_one(voice: Voice) -> None:
    voice.install("espeak-ng", FALLS_ASLEEP)
    speech = voice.find()
    speech.say("62 yards")
    assert voice.heard() == "62 yards\n"
    first = speech._speaking
    assert first is not None
    assert first.poll() is None
    speech.say("4 yards long")
    assert voice.heard() == "4 yards long\n"
    until(lambda: first.poll() is not None, "the end of the first")
    assert first.returncode == -signal.SIGTERM
    assert speech._speaking is not None
    assert speech._speaking.poll() is None
    assert not speech.problem()
    assert not speech._stopped


def test_close_ends_and_reaps_even_a_program_that_does_not_want_to(voice: Voice) -> None:
    voice.install("espeak-ng", WILL_NOT_END)
    speech = voice.find()
    speech.say("62 yards")
    voice.heard()
    process = speech._speaking
    assert process is not None
    speech.close()
    assert process.returncode == -signal.SIGKILL
    assert not speech.problem()


def test_a_program_that_does_not_read_is_not_waited_for(voice: Voice) -> None:
    voice.install("espeak-ng", '#!/bin/sh\n: > "{folder}/stdin"\nexec sleep 60\n')
    speech = voice.find()
    speech.say("x" * 5000)
    voice.heard()
    assert speech._speaking is not None
    assert speech._speaking.poll() is None


def test_a_program_that_fails_is_told_of_once(voice: Voice) -> None:
    voice.install("espeak-ng", RECORDS + "exit 3\n")
    speech = voice.find()
    told = []

    def is_told() -> bool:
        told.append(speech.problem())
        return bool(told[-1])

    speech.say("62 yards")
    until(is_told, "the failure")
    assert told[-1] == "espeak-ng stopped with code 3: nothing may be heard; the drill goes on"
    speech.say("4 yards long")
    process = speech._speaking
    assert process is not None
    process.wait()
    assert not speech.problem()


def test_a_program_that_ends_at_once_without_reading_raises_nothing(voice: Voice) -> None:
    voice.install("espeak-ng", "#!/bin/sh\nexec <&-\nexit 0\n")
    speech = voice.find()
    for _ in range(20):
        speech.say("62 yards")
    process = speech._speaking
    assert process is not None
    assert process.wait() == 0
    assert not speech.problem()


@pytest.mark.parametrize("harm", ["gone", "not executable", "no program"])
def test_a_program_that_cannot_be_started_is_told_of_once(voice: Voice, harm: str) -> None:
    program = voice.install("espeak-ng")
    speech = voice.find()
    match harm:
        case "gone":
            program.unlink()
        case "not executable":
            program.chmod(0o644)
        case _:
            program.write_text("no program", encoding="utf-8")
    speech.say("62 yards")
    problem = speech.problem()
    assert problem.startswith("espeak-ng cannot be started (")
    assert problem.endswith("nothing may be heard; the drill goes on")
    assert "\n" not in problem
    speech.say("4 yards long")
    assert not speech.problem()


def test_the_programs_of_this_system_are_looked_for_on_the_path(voice: Voice, monkeypatch: pytest.MonkeyPatch) -> None:
    voice.install("espeak-ng")
    voice.install("say")
    monkeypatch.setenv("PATH", str(voice.folder))
    speech = find_speech()
    assert speech is not None
    assert speech.name == ("say" if sys.platform == "darwin" else "espeak-ng")


@pytest.mark.parametrize(
    ("call_m", "unit", "advice", "said"),
    [
        (62 * YARD_M, "yd", None, "62 yards"),
        (62 * YARD_M, "yd", "54 9:00", "62 yards, 54, 9 o'clock"),
        (62.5 * YARD_M, "yd", "54 9:30", "62.5 yards, 54, 9 30"),
        (1.0, "m", "", "1 metre"),
        (60.0, "m", "sand 10:30", "60 metres, sand, 10 30"),
        (60.0, "m", "54 full", "60 metres, 54 full"),
        (60.0, "m", "9:00", "60 metres, 9 o'clock"),
    ],
)
def test_a_call_in_short_words(call_m: float, unit: str, advice: str | None, said: str) -> None:
    assert spoken_call(call_m, "m" if unit == "m" else "yd", advice) == said


def a_ball(miss_m: float) -> Played:
    return Played(1, 60.0, 3.0, None, Ball("s", "54", 54.0, 90.0, 60.0 + miss_m))


@pytest.mark.parametrize(
    ("miss_m", "said"),
    [
        (4.2 * YARD_M, "4 yards long"),
        (-1.0 * YARD_M, "1 yard short"),
        (0.3, "on the number"),
        (-0.3, "on the number"),
        (12.6 * YARD_M, "13 yards long"),
    ],
)
def test_a_miss_in_short_words(miss_m: float, said: str) -> None:
    assert spoken_miss(a_ball(miss_m), "yd", shows_number=True) == said


def test_a_miss_in_metres() -> None:
    assert spoken_miss(a_ball(-3.8), "m", shows_number=True) == "4 metres short"


def test_a_hidden_number_is_not_said() -> None:
    assert spoken_miss(a_ball(1.0), "m", shows_number=False, feedback="outside") == "inside"
    assert not spoken_miss(a_ball(1.0), "m", shows_number=False, feedback="block")
    assert not spoken_miss(a_ball(9.0), "m", shows_number=False, feedback="block")
    assert not spoken_miss(a_ball(1.0), "m", shows_number=False)
