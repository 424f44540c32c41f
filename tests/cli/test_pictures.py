"""What is said where a picture is written."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.harness import Cli


def test_boxes_in_the_place_of_signs_are_told_once(log: Cli, tmp_path: Path) -> None:
    log.ok("bag", "add", "\u6954", "60")
    paths = [tmp_path / f"x.{ending}" for ending in ("png", "svg")]
    words = [word for path in paths for word in (f"--{path.suffix[1:]}", str(path))]
    drawn = "".join(f"drawn into {path}\n" for path in paths)
    assert log.ok("chart", *words).err == f"{drawn}a box stands for a sign that the font lacks: \u6954\n"


def test_a_device_is_no_place_for_a_picture(log: Cli, tmp_path: Path) -> None:
    link = tmp_path / "link.png"
    link.symlink_to("/dev/null")
    result = log("chart", "--png", str(link))
    assert result.code == 1
    assert result.error == f"{link}: cannot be written (it is no ordinary file); choose another place"
    assert link.is_char_device()


@pytest.mark.long  # matplotlib looks through all fonts anew where it cannot keep what it found
def test_a_home_that_cannot_be_written_is_no_matter(log: Cli, tmp_path: Path) -> None:
    path = tmp_path / "x.png"
    bare = {name: value for name, value in os.environ.items() if name not in {"XDG_CONFIG_HOME", "XDG_CACHE_HOME"}}
    done = subprocess.run(
        [sys.executable, "-m", "wedgelab", "chart", "--png", str(path)],
        capture_output=True, text=True, check=True, env={**bare, "HOME": "/dev/null"},
    )  # fmt: skip
    assert done.stderr == f"drawn into {path}\n"
