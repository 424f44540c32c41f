"""A day on the command line: refusals, widths, pipes, imports."""

import re
import subprocess
import sys

import pytest
from wcwidth import wcswidth

from tests.cli.harness import Cli, process

COLD_AND_WINDY = "--temp 6C --altitude 1200m --humidity 80 --wind -3m/s"

# --- refusals

MIXED_UP = (
    "station pressure 1013.0 hPa looks like a sea-level pressure, it cannot be one at 1200 m (799 to 928 hPa); "
    "give it with --sea-level, in a file as sea_level_pressure_hpa, or leave the altitude out"
)
NO_ALTITUDE = (
    "--sea-level without an altitude for the pressure '1013'; "
    "give --altitude too, or the pressure of the place itself without --sea-level"
)
HEIGHT = "give a height such as 4m or -3yd"
TWICE = [
    ("--temp hot", 2, "temp 'hot' cannot be read; give a temperature such as 12C or 54F"),
    ("--temp 200F", 1, "air temp '200F' (93.3 C) is outside -40.0 to 60.0 C; check the number and its unit"),
    ("--temp none", 2, "--temp none has nothing to clear here; give a temperature such as 12C or 54F"),
    ("--humidity 120", 1, "humidity '120' (120 %) is outside 0 to 100 %; check the number and its unit"),
    ("--altitude 9000m", 1, "altitude '9000m' (9000 m) is outside -450 to 5000 m; check the number and its unit"),
    ("--altitude high", 2, None),
    ("--pressure 29.9", 1,
     "station pressure '29.9' (29.9 hPa) is outside 500.0 to 1100.0 hPa; check the number and its unit"),
    ("--pressure 1013 --altitude 1200m", 2, MIXED_UP),
    ("--pressure 1013 --sea-level", 2, NO_ALTITUDE),
    ("--sea-level", 2, "--sea-level without a pressure; give the pressure too: --pressure 1013hPa --sea-level"),
    ("--wind 3C", 2, "wind '3C' cannot be read; give a wind such as 3m/s or -7mph (tail positive, head negative)"),
    ("--wind 80", 1, "wind '80' (80.0 m/s) is outside -30.0 to 30.0 m/s; check the number and its unit"),
    ("--wind nan", 2, None),
    ("--cross-wind left", 2, None),
    ("--rise 100m", 1, "rise '100m' (100.0 m) is outside -60 to 60 m; check the number and its unit"),
    ("--rise 4C", 2, f"rise '4C' cannot be read; {HEIGHT}"),
    ("--rise up", 2, f"rise 'up' cannot be read; {HEIGHT}"),
    ("--rise 1,234", 2, None),
    ("--green wet", 2, None),
    ("--rise", 2, None),
]  # fmt: skip


@pytest.mark.parametrize(("words", "code", "said"), TWICE, ids=[words for words, *_ in TWICE])
def test_a_bad_word_is_one_line_with_the_value_seen(log: Cli, words: str, code: int, said: str | None) -> None:
    for command in (["chart"], ["choose", "70"]):
        line = log.fails(code, *command, *words.split())
        assert ";" in line
        if said is None:
            assert words.rsplit(maxsplit=1)[-1] in line
        else:
            assert line == said


@pytest.mark.parametrize("words", ["--temp hot", "--rise up", "--sea-level", "--pressure 1013 --altitude 1200m"])
def test_a_bad_word_is_told_before_too_few_shots(cli: Cli, words: str) -> None:
    assert "no shots are logged" not in cli.fails(2, "chart", *words.split())


def test_too_few_shots_on_a_day_is_exit_3_and_valid_all_the_same(bag: Cli) -> None:
    for command in (["chart"], ["choose", "70"]):
        assert bag.fails(3, *command, *COLD_AND_WINDY.split()).startswith("no shots are logged; ")
        result = bag(*command, *COLD_AND_WINDY.split(), "--json")
        assert (result.code, result.document["day"]) == (3, None)


# --- how it looks

LONG_LABELS = ("my old wedge, bent to 46 and ground", "my old wedge, bent to 54 and ground twic")


@pytest.fixture
def wordy(cli: Cli) -> Cli:
    """A player of long labels, seven swing lengths and a single long ball: wide numbers, great doubt."""
    for label, loft in zip(LONG_LABELS, ("46", "54"), strict=True):
        cli.ok("bag", "add", label, loft)
    for swing in ("7:00", "7:30", "11:00"):
        cli.ok("bag", "swing", swing, str((int(swing.split(":")[0]) - 6) * 30 + (15 if swing == "7:30" else 0)))
    cli.ok("log", LONG_LABELS[0], "full", "138")
    return cli


@pytest.mark.parametrize("unit", ["yd", "m"])
@pytest.mark.parametrize("words", ["", "--wind 8 --cross-wind 12 --rise -8m", "--wind -8 --cross-wind -12 --rise 3yd"])
def test_no_line_is_wider_than_80_columns(wordy: Cli, unit: str, words: str) -> None:
    chart = wordy.ok("--units", unit, "chart", "--more", "--green", "firm", *words.split()).out
    target = "85" if unit == "yd" else "80"
    choice = wordy.ok("--units", unit, "choose", target, "--want", "spin", *words.split()).out
    far = wordy.ok("--units", unit, "choose", "115yd" if "--wind 8" in words else "90yd", *words.split()).out
    for text in (chart, choice, far):
        assert max(wcswidth(line) for line in text.splitlines()) <= 80
        assert not re.search(r"nan|None", text.replace("drift", ""))


@pytest.mark.parametrize("words", [["--help"], ["chart", "--help"], ["choose", "--help"]])
def test_the_help_of_a_day_fits_and_names_every_option(cli: Cli, words: list[str]) -> None:
    shown = cli.ok(*words).out
    assert all(len(line) <= 80 for line in shown.splitlines())
    if words != ["--help"]:
        for option in ("--temp", "--humidity", "--altitude", "--pressure", "--sea-level", "--wind", "--cross-wind",
                       "--rise", "--green"):  # fmt: skip
            assert f"  {option} " in shown


def test_a_pipe_gets_plain_text_and_nothing_on_stderr(log: Cli) -> None:
    day = COLD_AND_WINDY.split()
    chart, choice = process("chart", *day, "--more"), process("choose", "70", *day)
    for result, inside in ((chart, log.ok("chart", *day, "--more")), (choice, log.ok("choose", "70", *day))):
        assert (result.code, result.err) == (0, "")
        assert "\x1b" not in result.out
        assert result.out == inside.out
    refused = process("choose", "70", "--wind", "fast")
    assert (refused.code, refused.out) == (2, "")
    assert refused.err.count("\n") == 1
    assert refused.error.startswith("wind 'fast' cannot be read; ")


# --- what it costs

HEAVY = ("pandas", "scipy", "sklearn", "matplotlib", "clevercsv", "prompt_toolkit")


def test_a_day_loads_numpy_and_nothing_heavier(log: Cli) -> None:
    log.ok("session", "set", "first", "--temp", "2C")  # brought to the reference: the model is fitted twice
    day = COLD_AND_WINDY.split()
    commands = [
        ["chart", *day, "--more", "--cross-wind", "2"],
        ["chart", *day, "--json"],
        ["chart", "--pressure", "1013hPa", "--sea-level", "--altitude", "1200m", "--csv"],
        ["choose", "70", *day, "--rise", "-2m", "--green", "firm"],
    ]
    code = (
        "import sys\nfrom wedgelab.cli.main import run\n"
        f"codes = [run(words) for words in {commands!r}]\n"
        f"print('LOADED', codes, [n for n in {HEAVY!r} if n in sys.modules], 'numpy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.splitlines()[-1] == "LOADED [0, 0, 0, 0] [] True"
