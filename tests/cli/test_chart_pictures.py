"""What ``chart`` draws, in which formats, and where the balls came down in text and JSON."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader

from tests.cli.harness import Cli
from tests.cli.test_process import loaded
from tests.conftest import a_shot
from wedgelab.chart import build_chart
from wedgelab.cli.app import PlayerLog
from wedgelab.cli.chart_pictures import draw_chart
from wedgelab.model.player import fit_player
from wedgelab.prediction import Day, ShotKind
from wedgelab.shots import DEFAULT_SWINGS, Bag, Conditions, Wedge
from wedgelab.units import YARD_M, format_length

# three balls of a swing length with a sideways miss [yd], right positive, one ball without
BALLS = """wedge,swing,carry_yd,offline_yd,spin_rpm
50,9:00,75,-3,7500
50,9:00,77,1,7700
50,9:00,78,4,7400
50,full,99,2,9000
50,full,98,-6,9100
50,full,101,8,9200
54,9:00,68,2,7900
54,9:00,66,3,8000
54,9:00,67,5,8100
54,9:00,69,,8000
"""


@pytest.fixture
def sided(bag: Cli, tmp_path: Path) -> Cli:
    """The command line of a player whose balls have sideways misses."""
    path = tmp_path / "sides.csv"
    path.write_text(BALLS, encoding="utf-8")
    bag.ok("import", str(path))
    return bag


def drawn(cli: Cli, tmp_path: Path, *words: str) -> str:
    """Return the text of the picture that a command draws."""
    path = tmp_path / "picture.svg"
    cli.ok("chart", *words, "--svg", str(path), "--pdf", str(tmp_path / "picture.pdf"))
    (page,) = PdfReader(io.BytesIO((tmp_path / "picture.pdf").read_bytes())).pages
    return " ".join(page.extract_text().split())


def test_a_picture_comes_in_all_three_formats_at_once(log: Cli, tmp_path: Path) -> None:
    paths = [tmp_path / f"chart.{ending}" for ending in ("png", "svg", "pdf")]
    words = [word for path in paths for word in (f"--{path.suffix[1:]}", str(path))]
    assert log.ok("chart", *words).err == "".join(f"drawn into {path}\n" for path in paths)
    starts = [path.read_bytes()[:5] for path in paths]
    assert starts == [b"\x89PNG\r", b"<?xml", b"%PDF-"]


@pytest.mark.parametrize(
    ("words", "title"),
    [
        ("", "carry by swing length"),
        ("--draw spin", "spin by swing length"),
        ("--dispersion", "where the balls came down"),
        pytest.param("--draw dispersion", "where the balls came down", marks=pytest.mark.long),
        pytest.param("--dispersion --draw carry", "carry by swing length", marks=pytest.mark.long),
    ],
)
def test_carry_is_drawn_unless_something_else_is_asked_for(sided: Cli, tmp_path: Path, words: str, title: str) -> None:
    assert title in drawn(sided, tmp_path, *words.split())


def test_with_a_day_the_curves_are_the_days_and_the_title_says_so(log: Cli, tmp_path: Path) -> None:
    words = ("--wind", "-8m/s")
    text = drawn(log, tmp_path, *words)
    assert "today: head wind 8 m/s; the balls as they would fly then" in text
    cells = log.ok("chart", *words, "--json").document["cells"]
    (longest,) = [cell for cell in cells if (cell["wedge"], cell["swing"]) == ("50", "full")]
    today, usual = (format_length(longest[name], "yd") for name in ("carry_today_m", "carry_m"))
    assert today != usual
    assert f"50: {today} yd" in text
    still = drawn(log, tmp_path)
    assert "today" not in still
    assert f"50: {usual} yd" in still


def test_the_balls_of_a_day_move_as_the_median_of_their_shot_does() -> None:
    shots = [a_shot(carry_m=60.0 + i, swing_deg=90.0, shot_id=f"s{i}") for i in range(6)]
    log = PlayerLog("Ada", "m", Bag((Wedge("54", 54.0),), DEFAULT_SWINGS), shots)
    player = fit_player(shots)
    heights = []
    for day in (None, Day(Conditions(wind_mps=-6.0)), Day(rise_m=60.0)):
        (ax,) = draw_chart(log, player, build_chart(player, log.bag, day=day), "carry").axes
        points = [line for line in ax.lines if line.get_linestyle() == "None"]
        heights.append(sorted(float(y) for line in points for y in np.asarray(line.get_ydata())))
    still, windy, never = heights
    kind = [ShotKind("54", 54.0, 90.0)]
    ratio = player.on(Day(Conditions(wind_mps=-6.0))).predict(kind)[0].carry_m / player.predict(kind)[0].carry_m
    assert ratio < 0.95
    assert still == pytest.approx([60.0 + i for i in range(6)])
    assert windy == pytest.approx([ratio * carry for carry in still])
    assert never == []  # no ball gets up there, so none is drawn


def test_a_picture_in_an_air_where_nothing_gets_up_is_drawn_too(log: Cli, tmp_path: Path) -> None:
    assert "today: green 21.9 yd above the ball" in drawn(log, tmp_path, "--rise", "20m")


def test_two_players_are_drawn_beside_each_other(log: Cli, tmp_path: Path) -> None:
    log.ok("--player", "Kim", "bag", "add", "54", "54")
    log.ok("--player", "Kim", "log", stdin="54 9:00 71\n54 9:00 73\n54 10:00 84\n")
    path = tmp_path / "pair.pdf"
    words = ("chart", "--compare", "me", "Kim")
    assert log.ok(*words, "--json", "--pdf", str(path)).err.endswith(f"drawn into {path}\n")
    (page,) = PdfReader(io.BytesIO(path.read_bytes())).pages
    assert "Kim" in page.extract_text()
    assert log.fails(2, *words, "--draw", "spin", "--png", "x.png") == "--compare and --draw together; take one of them"
    assert log.fails(2, *words, "--dispersion") == "--compare and --dispersion together; take one of them"


def test_a_place_for_no_picture_is_refused_before_anything_is_fitted(cli: Cli, tmp_path: Path) -> None:
    said = cli.fails(2, "chart", "--svg", str(tmp_path / "none" / "x.svg"))
    assert "is no place for a picture; give a FILE.svg in a folder that is there" in said


def facts(cli: Cli, *words: str) -> Any:
    return cli.ok("chart", "--dispersion", "--json", *words).document["dispersion"]["wedges"]


def test_the_dispersion_in_json_has_every_ball_and_the_numbers_of_the_text(sided: Cli) -> None:
    first, second, third = facts(sided)
    assert (first["wedge"], first["n"], third["n"], third["swings"]) == ("50", 6, 0, [])
    nine, full = first["swings"]
    assert [round(ball["offline_m"] / YARD_M) for ball in nine["balls"]] == [-3, 1, 4]
    assert nine["offline_mean_m"] == pytest.approx(2 / 3 * YARD_M, abs=1e-5)
    assert (full["left_share"], full["right_share"]) == pytest.approx((1 / 3, 2 / 3), abs=1e-5)
    assert full["region"]["is_pooled"]
    assert full["region"]["outline"][0] == full["region"]["outline"][-1]
    assert (second["n_no_offline"], second["swings"][0]["region"]) == (1, None)
    assert (second["swings"][0]["no_region"], second["swings"][0]["n_missing"]) == ("few", 2)
    text = sided.ok("chart", "--dispersion").out
    assert "0.7 R ±2.0" in text
    assert "too few balls for a region: 2 more balls with a sideways miss would make one." in " ".join(text.split())
    assert "Balls left out: 1 without a sideways miss." in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_mishits_are_left_out_and_counted_in_both(sided: Cli) -> None:
    sided.ok("log", "50", "9:00", "20", "--offline", "30", "--strike", "off")
    assert sided.ok("chart", "--dispersion", "--json").document["dispersion"]["n_mishits"] == 1
    assert "Balls left out: 1 taken for mishits, 1 without a" in sided.ok("chart", "--dispersion").out
    assert facts(sided)[0]["n"] == 6


def test_the_text_names_the_air_that_the_carries_are_for(sided: Cli) -> None:
    sided.ok("players", "set", "--temp", "20C", "--altitude", "100m")
    text = " ".join(sided.ok("chart", "--dispersion").out.split())
    assert "Carries are for 20 C, 100 m above the sea; sideways misses are as logged" in text


def test_where_all_balls_were_mishits_no_solid_one_is_said_to_be_missing(bag: Cli) -> None:
    bag.ok("log", "50", "9:00", "60", "--offline", "3", "--strike", "off")
    text = " ".join(bag.ok("chart", "--dispersion").out.split())
    assert "No solid ball near a named swing length has a sideways miss." in text
    assert "Balls left out: 1 taken for mishits." in text


def test_without_being_asked_for_the_dispersion_is_null(sided: Cli) -> None:
    assert sided.ok("chart", "--json").document["dispersion"] is None
    assert "came down" not in sided.ok("chart").out


def test_a_log_without_sideways_misses_says_how_to_log_one(log: Cli) -> None:
    text = log.ok("chart", "--dispersion").out
    assert "No sideways miss is logged near a named swing length. Log one with --offline" in " ".join(text.split())
    assert [one["n"] for one in facts(log)] == [0, 0, 0]


def test_text_loads_no_matplotlib(sided: Cli) -> None:
    assert loaded(["chart", "--dispersion"]) == {"numpy"}


@pytest.mark.long
def test_a_picture_loads_matplotlib_and_no_pandas(sided: Cli, tmp_path: Path) -> None:
    assert "matplotlib" in loaded(["chart", "--png", str(tmp_path / "x.png")])
    assert "pandas" not in loaded(["chart", "--draw", "dispersion", "--png", str(tmp_path / "x.png")])
