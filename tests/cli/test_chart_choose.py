"""Chart and choice on a small log: the same numbers in text, JSON and CSV, and the answers to a coach's questions."""

import csv
import io
import itertools
import struct
from pathlib import Path

import pytest

from tests.cli.harness import Cli
from wedgelab.cli.demo import IMPORTS, PLAYER, demo_folder
from wedgelab.units import YARD_M, format_length


@pytest.fixture
def nell(cli: Cli) -> Cli:
    """The log of the demo's player."""
    for name, *options in IMPORTS:
        cli.ok("--player", PLAYER, "import", str(demo_folder().joinpath(name)), *options)
    return cli


def test_the_same_carries_in_text_json_and_csv(log: Cli) -> None:
    cells = log.ok("chart", "--json").document["cells"]
    rows = list(csv.DictReader(io.StringIO(log.ok("chart", "--csv").out)))
    text = log.ok("chart").out
    assert len(cells) == len(rows) == 12
    for cell, row in zip(cells, rows, strict=True):
        assert {key: str(value) for key, value in cell.items()} == row
        assert format_length(cell["carry_m"], "yd") in text
    assert {cell["support"] for cell in cells} == {"measured", "between", "beyond"}
    assert "Learnt from 6 shots in 1 session." in text
    assert not {"today", "lands", "apex", "runs", "drift"} & set(text.split())  # nobody asked for a day or a landing


def test_the_picture_is_a_png_of_readable_size(log: Cli, tmp_path: Path) -> None:
    path = tmp_path / "chart.png"
    result = log.ok("chart", "--png", str(path))
    assert result.err == f"drawn into {path}\n"
    data = path.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert min(struct.unpack(">II", data[16:24])) >= 600
    assert "is no place for a picture" in log(*("chart", "--png", str(tmp_path / "none" / "x.png"))).error


def test_metres_are_metres(log: Cli) -> None:
    assert "carry m" in log.ok("--units", "m", "chart").out
    assert log.ok("--units", "m", "choose", "60").out.startswith("60 m, window 57.0 to 63.0 m")


def test_more_spin_at_70_yards_is_the_more_lofted_wedge_with_the_longer_swing(nell: Cli) -> None:
    # common practice, no source
    spin, low = (
        nell.ok("choose", "70yd", "--want", want, "--json").document["options"][0] for want in ("spin", "low-spin")
    )
    assert spin["loft_deg"] > low["loft_deg"]
    assert spin["swing_deg"] > low["swing_deg"]
    assert spin["spin_rpm"] > low["spin_rpm"]


def test_the_best_chance_comes_first_and_the_verdict_says_what_is_given_up(nell: Cli) -> None:
    best = nell.ok("choose", "70yd", "--json").document
    chances = [option["window_probability"] for option in best["options"]]
    assert chances == sorted(chances, reverse=True)
    assert (best["window_low_m"], best["window_high_m"]) == pytest.approx((66.5 * YARD_M, 73.5 * YARD_M), abs=1e-6)
    wanted = nell.ok("choose", "70yd", "--want", "spin")
    first, chances = [], []
    for target in ("60", "70", "80"):
        options = nell.ok("choose", target, "--want", "spin", "--json").document["options"]
        chances.append(max(option["window_probability"] for option in options) > options[0]["window_probability"])
        first.append("gives up" in " ".join(nell.ok("choose", target, "--want", "spin").out.split()))
    assert first == chances  # something is given up just where another option has a better chance
    assert any(chances)
    assert "Rules of Golf 4.3a" in " ".join(wanted.out.split())
    assert all(len(line) <= 80 for line in wanted.out.splitlines())


def test_out_of_reach_names_the_nearest_and_is_exit_1(nell: Cli) -> None:
    assert nell.fails(1, "choose", "150").startswith("150 yd is out of reach; the nearest is 9")
    assert nell.fails(1, "choose", "10m").startswith("11 yd is out of reach; the nearest is 3")
    result = nell("choose", "150", "--json")
    assert (result.code, result.document["options"]) == (1, [])


@pytest.mark.parametrize(("window", "low", "high"), [("4%", 67.2, 72.8), ("3yd", 67.0, 73.0), ("2m", 67.81, 72.19)])
def test_the_window_may_be_a_share_or_a_distance(nell: Cli, window: str, low: float, high: float) -> None:
    choice = nell.ok("choose", "70", "--window", window, "--json").document
    assert (choice["window_low_m"] / YARD_M, choice["window_high_m"] / YARD_M) == pytest.approx((low, high), abs=0.01)


def test_the_players_own_window_is_the_usual_one(log: Cli) -> None:
    log.ok("players", "set", "--window", "4%")
    assert log.ok("choose", "70").out.startswith("70 yd, window 67.2 to 72.8 yd")
    log.ok("players", "set", "--window", "usual")
    assert log.ok("choose", "70").out.startswith("70 yd, window 66.5 to 73.5 yd")


def test_carries_grow_with_the_swing_and_fall_with_the_loft_in_the_demos_chart(nell: Cli) -> None:
    cells = nell.ok("chart", "--json").document["cells"]
    rows = [[c["carry_m"] for c in cells if c["wedge"] == wedge] for wedge in ("46", "50", "54", "58")]
    assert all(a < b for row in rows for a, b in itertools.pairwise(row))
    assert all(a > b for row, lofted in itertools.pairwise(rows) for a, b in zip(row, lofted, strict=True))


def test_a_window_of_a_bare_number_keeps_the_unit_in_which_it_was_meant(log: Cli) -> None:
    log.ok("players", "set", "--window", "3")
    log.ok("players", "set", "--units", "m")
    assert "(2.7 m each side)" in " ".join(log.ok("choose", "64").out.split())
