"""What holds for every command: help that ends in an example, one JSON document, one clear line for a failure."""

import shlex
from pathlib import Path

import click
import pytest

from tests.cli.harness import Cli
from wedgelab.cli.main import COMMANDS, cli


def every_command() -> list[tuple[str, click.Command]]:
    found: list[tuple[str, click.Command]] = []

    def walk(command: click.Command, path: str) -> None:
        found.append((path, command))
        if isinstance(command, click.Group):
            ctx = click.Context(command)
            for name in command.list_commands(ctx):
                sub = command.get_command(ctx, name)
                assert sub is not None
                walk(sub, f"{path} {name}".strip())

    walk(cli, "")
    return found


EVERY = every_command()


@pytest.mark.parametrize(("path", "command"), EVERY, ids=[path or "wedgelab" for path, _ in EVERY])
def test_help_says_what_it_does_and_ends_in_an_example_of_itself(cli: Cli, path: str, command: click.Command) -> None:
    shown = cli.ok(*path.split(), "--help").out
    assert command.help
    assert shown.startswith(f"Usage: wedgelab {path}".rstrip())
    assert f"Example: wedgelab {path}".rstrip() in " ".join(shown.split("Example:")[-1].join(["Example:", ""]).split())
    assert all(len(line) <= 80 for line in shown.splitlines())


def test_the_first_help_lists_every_command_with_its_line(cli: Cli) -> None:
    shown = cli.ok("--help").out
    for name, (_, text) in COMMANDS.items():
        assert f"{name} " in shown
        assert text in " ".join(shown.split())
    assert cli.ok().out == shown  # no words at all is a question, not a mistake


JSON_COMMANDS = {
    "bag": {"player", "wedges", "swings"},
    "bag history": {"wedges"},
    "session list": {"sessions"},
    "shots list": {"shots"},
    "chart": {
        "player", "n_shots", "n_sessions", "cells", "gaps", "next", "reference", "day", "air_note", "green",
    },
    "chart --more --temp 6C --wind -3m/s": {"cells", "reference", "day", "air_note", "green"},
    "choose 65yd": {
        "target_m", "window_low_m", "window_high_m", "want", "options", "verdict", "reference", "day", "green",
    },
    "choose 65yd --altitude 1200m --rise -4yd --green firm": {"options", "verdict", "reference", "day", "green"},
    "choose 65yd --min-spin 5000": {"limits", "left_out", "warnings", "unlogged", "n_draws", "draw_se"},
    "choose --flights 65yd": {"target_m", "flights", "out_of_reach", "unlogged", "summary", "day", "green"},
    "plan --balls 12": {
        "player", "n_shots", "n_sessions", "balls", "warm_up", "shots", "rest", "minutes", "changeovers", "is_full",
        "beyond_range", "doubt_now", "doubt_after", "low_m", "high_m", "targets_m", "limits", "verdict",
    },
    "drill --balls 2 --seed 1": {"drill_id", "seed", "calls_m", "is_over", "balls", "summary"},
    "report card.pdf": {"report", "path", "size", "size_mm", "pages", "cells"},
    "report sheet.pdf --session last": {"report", "path", "size", "size_mm", "pages", "cells"},
    "report page.html": {"report", "path", "size", "size_mm", "pages", "cells"},
    "players": {"players"},
    "doctor": {"log", "exists", "players", "problems", "schema_version"},
    "export": {"shots"},
    "log 54 9:00 66": {"shot"},
}  # fmt: skip


@pytest.mark.parametrize("words", JSON_COMMANDS)
def test_json_is_one_document_with_its_keys(
    log: Cli, words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)  # for what is written into a file
    result = log.ok(*words.split(), "--json", stdin="70\n60\n")
    assert result.document["schema"] == 1
    assert set(result.document) >= JSON_COMMANDS[words] | {"kind"}


@pytest.mark.parametrize(
    ("words", "key"),
    [("bag", "wedges"), ("bag history", "wedges"), ("session list", "sessions"), ("shots list", "shots"),
     ("players", "players"), ("export", "shots")],
)  # fmt: skip
def test_reading_without_any_log_gives_an_empty_document_and_makes_no_file(cli: Cli, words: str, key: str) -> None:
    assert cli.ok(*words.split(), "--json").document[key] == []
    assert cli.ok("doctor", "--json").document["exists"] is False


@pytest.mark.parametrize("words", ["chart", "chart --temp 6C --more", "choose 65yd", "choose 65yd --rise 4m"])
def test_too_few_shots_is_exit_3_says_what_to_log_and_json_stays_valid(bag: Cli, words: str) -> None:
    assert bag.fails(3, *words.split()) == "no shots are logged; log some, for example: wedgelab log 50 9:00 68"
    result = bag(*words.split(), "--json")
    assert result.code == 3
    assert result.document["cells" if words.startswith("chart") else "options"] == []
    assert result.error.startswith("no shots are logged")


def test_an_empty_log_names_the_first_two_steps(cli: Cli) -> None:
    said = cli.fails(3, "chart")
    assert said == "no shots are logged; log some, for example: wedgelab bag add 54 54, then: wedgelab log 54 9:00 68"


def test_the_example_is_for_the_player_who_was_asked_for(bag: Cli) -> None:
    bag.ok("--player", "Ben O", "bag", "add", "56 low", "56")
    said = bag.fails(3, "--player", "Ben O", "chart")
    example = said.partition("for example: wedgelab ")[2]
    assert example == "--player 'Ben O' log '56 low' 9:00 68"
    bag.ok(*shlex.split(example))
    bag.ok("--player", "Ben O", "chart")


def test_chart_csv_of_too_few_shots_is_a_header_alone(bag: Cli) -> None:
    result = bag("chart", "--csv")
    assert result.code == 3
    assert result.out.count("\n") == 1
    assert result.out.startswith("wedge,loft_deg,swing,swing_deg,carry_m,")


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ("chrt", 2, None),
        ("choose", 2, "Missing argument 'TARGET'; see: wedgelab choose --help"),
        ("choose 65 --want height", 2, None),
        ("choose abc", 2, "target 'abc' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("choose 900", 1, "target '900' is outside 0.5 to 273.4 yd; check the number and its unit"),
        ("choose 140", 1, None),
        ("choose 65 --window 0%", 2, None),
        ("log 54 9:00", 2, None),
        ("log 45 9:00 68", 1, "unknown wedge '45'; did you mean '50'? - add it with: wedgelab bag add 45 LOFT"),
        ("log 54 25:00 68", 2, "swing '25:00' cannot be read; give a clock time from 6:10 to 13:00, such as 9:00"),
        ("log 54 9:00 -5", 1, "carry '-5' is outside 0.5 to 273.4 yd; check the number and its unit"),
        ("log 54 9:00 0", 1, "carry '0' is outside 0.5 to 273.4 yd; check the number and its unit"),
        ("log 54 9:00 900", 1, "carry '900' is outside 0.5 to 273.4 yd; check the number and its unit"),
        ("log 54 9:00 nan", 2, "carry 'nan' cannot be read; give a distance such as 68, 68yd or 62m"),
        ("log 54 9:00 68 --spin 20000", 1, None),
        ("log 54 9:00 68 --lie water", 2, None),
        ("log 54 9:00 68 --spinn 7800", 2, None),
        ("bag add 5", 1, "loft 5.0 deg is outside 20.0 to 75.0 deg; check the number and its unit"),
        ("bag add 95 95", 1, "loft 95.0 deg is outside 20.0 to 75.0 deg; check the number and its unit"),
        ("bag add lob", 2, "wedge 'lob' has no loft; give it in degrees, for example: wedgelab bag add lob 56"),
        ("bag add skip 54", 1, "wedge 'skip' cannot be used; it is a command of the prompts: choose another label"),
        ("bag swing 9:00 45", 1, None),
        ("bag swing 90 45", 1, None),
        ("log 54 9 68", 2, "swing '9' cannot be read; it could be an hour or degrees: write it like 9:00 or 9deg"),
        ("choose -5", 1, "target '-5' is outside 0.5 to 273.4 yd; check the number and its unit"),
        ("choose --window", 2, None),
        ("chart --units m", 2, "--units goes before the command; type: wedgelab --units ..."),
        ("shots list --session frist", 1, "unknown session 'frist'; did you mean 'first'?"),
        ("drill --step 1e-7", 2, None),
        ("drill --from 200 --to 220", 2, None),
        ("bag remove 60", 1, None),
        ("bag swing half", 2, "swing 'half' cannot be read; give clock form such as 9:00 or degrees such as 90"),
        ("shots delete ffffffff", 1, None),
        ("session set evening --temp hot", 2, None),
        ("players set", 2, "nothing to set; name a setting, see: wedgelab players set --help"),
        ("--player robin chart", 1, "unknown player 'robin'; known: 'me'"),
        ("plan --balls 0", 2, "0 balls make no session; give 1 to 200 balls"),
        ("plan --targets 45,62,400", 1, None),
        ("drill --balls 0", 2, None),
        ("drill --from 10 --to 5", 2, None),
        ("drill --resume", 2, "there is no drill to resume; start one with: wedgelab drill"),
        ("chart --png chart.jpg", 2, "--png 'chart.jpg' does not end in .png; name a .png file"),
        ("chart --draw spin", 2, "--draw spin without a picture; give --png FILE too"),
        ("chart --dispersion --csv", 2, "--dispersion and --csv together; take one of them"),
        ("chart --green hard", 2, None),
        ("chart --temp none", 2, "--temp none has nothing to clear here; give a temperature such as 12C or 54F"),
        ("chart --wind 90", 1, "wind '90' (90.0 m/s) is outside -30.0 to 30.0 m/s; check the number and its unit"),
        ("choose 65 --rise 90m", 1, "rise '90m' (90.0 m) is outside -60 to 60 m; check the number and its unit"),
        ("choose 65 --sea-level", 2, None),
        ("choose 65 --window 4% --long 3yd", 2, "--window 4% and --long together; take --window, or the sides apart"),
        ("choose 65 --flights --want soft", 2, "--flights and --want together; leave one out: --flights or --want"),
        ("choose 65 --wedge 53", 1, "unknown wedge '53'; did you mean '54'?"),
        ("choose 65 --min-spin 20000", 1, None),
        ("choose 65 --min-land steep", 2, "min land 'steep' cannot be read; give an angle such as 48"),
        ("choose 65 --png x.svg", 2, "--png 'x.svg' does not end in .png; name a .png file"),
        ("chart --json --csv", 2, "--json and --csv together; take one of them"),
        ("chart --map carry_yd=Flew", 2, "--map without a file; give --shots FILE too"),
        ("import nowhere.csv", 1, None),
        ("import", 2, "Missing argument 'FILE'; see: wedgelab import --help"),
        ("export /proc/none/x.csv", 1, None),
        ("report", 2, "Missing argument 'FILE'; see: wedgelab report --help"),
        ("report none/card.pdf", 2, None),
        ("report card.pdf --kind page", 2, "--kind page and 'card.pdf' together; name a FILE.html"),
        ("report card.pdf --session frist", 1, "unknown session 'frist'; did you mean 'first'?"),
    ],
)  # fmt: skip
def test_a_failure_is_one_line_with_its_code_and_loses_nothing(
    log: Cli, words: str, code: int, said: str | None
) -> None:
    before = log.shots()
    line = log.fails(code, *words.split())
    assert ";" in line  # what was seen; what to do
    if said is not None:
        assert line == said
    assert log.shots() == before
