"""docs/names.md explains every name: each key of the documents that the commands print, each column of the frames."""

import dataclasses
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.cli.harness import Cli
from tests.test_showing import ANSWERS, chart
from wedgelab.chart import Chart, ChartCell, LogNext, WedgeGap
from wedgelab.choose import Option
from wedgelab.compare import ComparedShot, Comparison
from wedgelab.drill.against import DrillComparison, ErrorRatio, ErrorSplit
from wedgelab.drill.machine import Ball, DrillPlan
from wedgelab.drill.scores import DrillSummary, GuessSummary, MissSummary
from wedgelab.prediction import Day
from wedgelab.shots import CONDITION_COLUMNS, SHOT_COLUMNS, Conditions

NAMES = (Path(__file__).resolve().parents[2] / "docs/names.md").read_text("utf-8")
RECORDS = (
    Chart, ChartCell, LogNext, WedgeGap, Option, ComparedShot, Comparison, DrillPlan, Ball, DrillSummary, MissSummary,
    GuessSummary, ErrorRatio, ErrorSplit, DrillComparison,
)  # fmt: skip
# fields of the Python objects that are no column and no key
NAMED = {"Nell", "Ada"}  # of the demo and of this test: keys where doctor counts their shots
NO_KEYS = {"rows", "swings", "label", "call_m", "wedges_", "calls_m", "today", "flight"}

# of the demo's player, whose log has every kind of reading, drills among them, and of a second one with a few balls
COMMANDS = (
    "chart --why --dispersion --more --temp 6C --wind -3m/s --cross-wind 2m/s --rise 3m",
    "chart --compare Nell Ada",
    "chart --compare Nell Ada --temp 6C",
    "choose 65yd --min-spin 5000 --temp 6C --rise 3m --green firm",
    "choose 65yd --max-apex 9m --min-land 60",
    "choose 65yd --flights",
    "choose 65yd --compare Nell Ada",
    "gaps --with 56",
    "bag suggest --count 3",
    "plan --balls 20",
    "plan --balls 20 --targets 45,62",
    "drill --test --lines",
    "drill --balls 6 --from 50 --to 80 --hold 60% --guess --lines",
    "players",
    "shots list",
    "log 54 9:00 66",
    "export",
    "session list",
    "bag",
    "bag history",
    "doctor",
    "import shots.csv --dry-run",
    "import bad.csv --dry-run",
    "import shots.csv",
)
REPORTS = ("report card.pdf", "report sheet.pdf --session last", "report page.html")
# what stands deepest, or only where there is something to say of it
DEEP = {
    "hole_probability", "mishit_probability", "carry_today_m", "better_probability", "drag_scale", "window_now_m",
    "now_e_m", "failed_limits", "bounce_deg", "wanted",
}  # fmt: skip


@pytest.fixture
def demo(cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Cli:
    cli.ok("demo", "--keep", str(tmp_path / "demo"))
    monkeypatch.setenv("WEDGELAB_DB", str(tmp_path / "demo" / "demo.db"))
    for words in ("bag add 56 56 --bounce 10", "log 56 9:00 60", "log 56 full 82"):
        cli.ok("--player", "Ada", *words.split())
    return cli


def keys(document: Any) -> Iterator[str]:
    """Every key of a document, at whatever depth."""
    if isinstance(document, dict):
        for key, value in document.items():
            yield key
            yield from keys(value)
    elif isinstance(document, list):
        for value in document:
            yield from keys(value)


def is_explained(name: str) -> bool:
    return f"`{name}`" in NAMES


@pytest.mark.parametrize(
    ("commands", "deep"), [(COMMANDS, DEEP), pytest.param(REPORTS, {"change_m", "size_mm"}, marks=pytest.mark.long)]
)
def test_every_key_that_a_command_prints_is_in_the_names_table(
    commands: Sequence[str], deep: set[str], demo: Cli, tmp_path: Path
) -> None:
    rows = "wedge,loft_deg,swing,swing_deg,carry_m,spin_rpm\n54,54,9:00,90,58.5,7800\n"
    (tmp_path / "shots.csv").write_text(rows, "utf-8")
    (tmp_path / "bad.csv").write_text(rows.replace("58.5", "far"), "utf-8")
    found: dict[str, str] = {}
    for command in commands:
        words = [str(tmp_path / w) if w.endswith((".csv", ".pdf", ".html")) else w for w in command.split()]
        balls = "54 9:00 60\n" * 20 if command.startswith("drill") else ""
        whose = () if "--compare" in command else ("--player", "Nell")
        printed = demo(*whose, *words, "--json", stdin=balls)
        assert printed.out, (command, printed.err)
        seen = dict.fromkeys(keys(printed.document), command)
        assert len(seen) > 2, command
        found |= seen
    assert deep <= set(found)
    missing = [f"{name} of {found[name]}" for name in set(found) - NAMED if not is_explained(name)]
    assert missing == []


@pytest.mark.parametrize("name", sorted(ANSWERS))
def test_every_column_of_a_frame_is_in_the_names_table(name: str) -> None:
    answers = [ANSWERS[name](), *([chart(day=Day(Conditions(wind_mps=-5.0)), green="firm")] if name == "chart" else [])]
    columns = {column for answer in answers for column in answer.to_frame().columns}
    assert len(columns) > 5
    assert {column for column in columns if not is_explained(column)} == set()


@pytest.mark.parametrize(
    "name",
    sorted(
        {
            *SHOT_COLUMNS,
            *CONDITION_COLUMNS,
            *(field.name for kind in RECORDS for field in dataclasses.fields(kind)),
        }
        - NO_KEYS
    ),
)
def test_every_column_and_field_is_in_the_names_table(name: str) -> None:
    assert is_explained(name)
