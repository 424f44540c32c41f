"""The docs are true: examples run and show what is shown, the reference is fresh, links lead somewhere."""

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest

from wedgelab.cli.main import COMMANDS

ROOT = Path(__file__).resolve().parents[2]
PYTHON_BLOCKS = re.findall(
    r"^```python\n(.*?)^```$", (ROOT / "docs/python.md").read_text("utf-8"), re.MULTILINE | re.DOTALL
)


@pytest.fixture(scope="module")
def build(script: Callable[[str], ModuleType]) -> ModuleType:
    return script("build")


@pytest.mark.parametrize(
    "page",
    [
        "README.md",
        "docs/players.md",
        "docs/coaches.md",
        pytest.param("docs/desk.md", marks=pytest.mark.long),
    ],
)
def test_every_example_runs_and_prints_what_the_page_shows(build: ModuleType, page: str) -> None:
    assert page in build.PAGES
    assert build.refreshed(page) == (ROOT / page).read_text("utf-8"), "run: python docs/build.py"


def test_the_command_reference_is_fresh(build: ModuleType) -> None:
    assert build.reference() == (ROOT / "docs/reference.md").read_text("utf-8"), "run: python docs/build.py"


def test_every_command_is_in_a_page_for_its_users() -> None:
    names = ("README.md", "docs/players.md", "docs/coaches.md", "docs/desk.md")
    pages = "".join((ROOT / page).read_text("utf-8") for page in names)
    for name in COMMANDS:
        assert f"wedgelab {name}" in pages or f"wedgelab --player Nell {name}" in pages, name


@pytest.mark.parametrize("block", PYTHON_BLOCKS)
def test_the_python_examples_run(block: str) -> None:
    done = subprocess.run([sys.executable, "-c", block], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_ci_calls_exactly_the_test_command_of_the_readme() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    commands = re.findall(r"^```sh\n(.*?)\n```$", readme, re.MULTILINE | re.DOTALL)
    assert len(commands) == 2
    assert commands[0].endswith(".venv/bin/wedgelab demo")
    assert commands[1] in (ROOT / ".ci/run").read_text("utf-8").splitlines()


def test_links_between_the_pages_lead_somewhere() -> None:
    pages = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").rglob("*.md")]
    for page in pages:
        for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text("utf-8")):
            assert (page.parent / target).exists(), f"{page.name} -> {target}"


def test_the_top_level_holds_what_it_should() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split()
    names = {path.split("/")[0] for path in listed if not path.startswith(".")}
    assert "README.md" in names  # an empty list would say nothing
    assert names <= {"README.md", "DEVELOPERS.md", "pyproject.toml", "wedgelab", "tests", "demo", "docs"}
