"""The page on learning shows what the results hold, number by number, and leaves out what they do not hold."""

import itertools
import json
import re
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/method/learning.md").read_text("utf-8")
FOUND: dict[str, Any] = json.loads((ROOT / "docs/method/learning.json").read_text("utf-8"))
STALE = "run: python docs/learning_page.py"


@pytest.fixture(scope="module")
def maker(script: Callable[[str], ModuleType]) -> ModuleType:
    return script("learning_page")


def cells_of(first: str, page: str = PAGE) -> list[list[str]]:
    """Rows of the table whose corner begins like this, without its head."""
    (table,) = re.findall(rf"^\| {re.escape(first)}.*?(?:\n\n|\Z)", page, re.MULTILINE | re.DOTALL)
    return [[cell.strip() for cell in line.split("|")[1:-1]] for line in table.strip().splitlines()[2:]]


def numbers(cell: str) -> list[float]:
    return [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", cell)]


def test_the_page_is_made_of_the_results_that_lie_beside_it(maker: ModuleType) -> None:
    assert maker.page(FOUND) == PAGE, STALE
    changed = json.loads(json.dumps(FOUND))
    changed["table"]["rows"]["3"]["carry"]["wedgelab"]["mean"] += 0.01
    assert maker.page(changed) != PAGE


@pytest.mark.parametrize("what", ["carry", "spin"])
def test_the_main_tables_hold_the_numbers_of_the_results(what: str) -> None:
    rows = FOUND["table"]["rows"]
    shown = {row[0].replace("*", ""): row[1:] for row in cells_of(f"{what}, excess %; balls a cell:")}
    assert list(rows) == ["1", "2", "3", "5", "10"]
    for name in rows["1"][what]:
        for cell, row in zip(shown.pop(name), rows.values(), strict=True):
            of = row[what][name]
            assert numbers(cell) == pytest.approx([100 * of["mean"], 100 * of["se"]], abs=0.051)
    assert list(shown) == ["as good as wedgelab: paper chart of"]


def test_the_held_shares_and_the_cases_hold_the_numbers_of_the_results() -> None:
    rows = FOUND["table"]["rows"]
    shown = {row[0]: row[1:] for row in cells_of("wedgelab; balls a cell:")}
    for what in ("carry", "spin"):
        for label, key in ((f"80 % ranges of {what} hold", "held"), (f"players with 70-90 %, {what}", "players_held")):
            seen = [numbers(cell)[0] for cell in shown[label]]
            assert seen == pytest.approx([100 * row[f"{what}_{key}"] for row in rows.values()], abs=0.051)
    for name, *cells in cells_of("never logged"):
        of = FOUND["unlogged"]["rows"][name]
        wanted = [
            [] if of[what]["mean"] is None else [100 * of[what]["mean"], 100 * of[what]["se"]]
            for what in ("carry", "carry_floor", "spin")
        ]
        wanted += [[100 * of[f"{what}_held"]] for what in ("carry", "spin")]
        for cell, value in zip(cells, wanted, strict=True):
            assert numbers(cell) == pytest.approx(value, abs=0.051)


def test_the_newcomers_hold_the_numbers_of_the_results() -> None:
    seen = cells_of("the log also has")
    assert [row[0] for row in seen] == list(FOUND["newcomer"]["rows"])
    for (_, *cells), of in zip(seen, FOUND["newcomer"]["rows"].values(), strict=True):
        wanted = [[100 * of[what]["mean"], 100 * of[what]["se"]] for what in ("carry", "spin")]
        wanted += [[100 * of[f"{what}_held"]] for what in ("carry", "spin")]
        for cell, value in zip(cells, wanted, strict=True):
            assert numbers(cell) == pytest.approx(value, abs=0.051)


def test_the_spoilt_and_the_changed_hold_the_numbers_of_the_results(maker: ModuleType) -> None:
    rows = FOUND["spoilt"]["rows"]
    kinds = {name: kind for kind, name in maker.SPOILT.items()}
    seen = {row[0]: row[1:] for row in cells_of("spoilt carries")}
    for label, cells in seen.items():
        shown, name = label.split(": ")
        for cell, row in zip(cells, rows.values(), strict=True):
            of = row[shown][kinds[name]]
            mean, se, *ratio = numbers(cell)
            assert [mean, se] == pytest.approx([100 * of["carry"]["mean"], 100 * of["carry"]["se"]], abs=0.051)
            assert ratio == pytest.approx(list(of["ratio"].values()) if "ratio" in of else [], abs=0.0051)
    assert len(seen) == len(kinds) * len(rows["1"])
    for label, moved, _, _, excess in cells_of("change, how, model"):
        change, way, model = label.split(", ")
        of = FOUND["change"]["rows"][change][way][model]
        unit = 100 / (FOUND["change"]["rows"][change]["log_change"] or 1.0)
        shift = [unit * of["12"]["shift"]["mean"], abs(unit) * of["12"]["shift"]["se"]]
        assert numbers(moved) == pytest.approx(shift, abs=0.051)
        assert numbers(excess) == pytest.approx([100 * of["24"]["excess"][k] for k in ("mean", "se")], abs=0.051)


def test_the_days_hold_the_numbers_of_the_results() -> None:
    seen = cells_of("log")
    assert [row[0] for row in seen] == list(FOUND["days"]["rows"])
    for (_, se_m, within, rms), of in zip(seen, FOUND["days"]["rows"].values(), strict=True):
        assert numbers(se_m) == pytest.approx(list(of["carry_se_m"].values()), abs=0.0051)
        assert numbers(within) == pytest.approx([100 * x for x in of["within_players"].values()], abs=0.051)
        assert float(rms) == pytest.approx(of["rms_z"], abs=0.0051)


def test_each_part_says_when_and_on_which_code_it_was_run_and_on_how_many() -> None:
    parts = [part for part in FOUND.values() if isinstance(part, dict)]
    for part in parts:
        assert f"({part['players']} players a row, {part['date']}, commit {part['commit']}.)" in PAGE
    assert len(re.findall(r"players a row, ", PAGE)) == len(parts) >= 5


def test_a_part_that_was_not_run_is_left_out(maker: ModuleType) -> None:
    whole = maker.page(FOUND)
    for name, words, _ in maker.SECTIONS:
        heading = words.splitlines()[0]
        assert (heading in whole) == (name in FOUND)
        assert heading not in maker.page({key: value for key, value in FOUND.items() if key != name})
    assert "## Limits" in maker.page({"seed": 1})


def test_what_a_ball_is_worth_on_paper(maker: ModuleType) -> None:
    balls = maker.on_paper(FOUND["table"]["rows"], "carry")[0]
    assert f"Paper takes {balls} balls in each cell to know as much." in PAGE
    chart = {1: 0.8, 2: 0.4, 10: 0.1}
    assert maker.worth(0.4, chart) == "about 2.0"
    assert maker.worth(0.2, chart) == "about 4.5"  # halfway between 2 and 10 in logarithms, as 0.2 is of 0.4 and 0.1
    assert maker.worth(0.05, chart) == "more than 10"
    assert maker.worth(0.9, chart) == "at most 1"


def test_the_sampled_peer_has_its_table_when_it_was_run(maker: ModuleType) -> None:
    one = {"mean": 0.2, "se": 0.03}
    names = ("NUTS", "wedgelab, carry and spin", "wedgelab")
    row: dict[str, Any] = {what: dict.fromkeys(names, one) for what in ("carry", "spin")}
    row |= {f"{what}_nuts_over": {key: {"mean": -0.012, "se": None} for key in names[1:]} for what in ("carry", "spin")}
    row |= {"seconds": 4.25, "divergences": 3, "r_hat_max": 1.0123}
    part = {"players": 9, "date": "2026-01-02", "commit": "abcdef0", "rows": {"1": row}}
    shown = dict(cells_of("excess %; balls a cell:", maker.page({"seed": 1, "nuts": part})))
    assert shown["carry: NUTS"] == "20.0 ± 3.0"
    assert shown["spin: NUTS less wedgelab"] == "-1.2 ± ?"
    assert (shown["seconds, median"], shown["divergences"], shown["largest R-hat"]) == ("4.25", "3", "1.012")


def test_the_picture_shows_the_results(maker: ModuleType) -> None:
    with Image.open(ROOT / maker.PICTURE) as picture:
        assert 850 <= picture.width <= 1000
        shown = json.loads(str(picture.info["Comment"]))
    for what, lines in shown.items():
        assert set(lines) >= {"paper chart", "Gaussian process", "quadratic", "wedgelab"}
        for name, points in lines.items():
            for (balls, mean, se), (n, row) in zip(points, FOUND["table"]["rows"].items(), strict=True):
                assert str(balls) == n, STALE
                assert [mean, se] == pytest.approx([100 * row[what][name][k] for k in ("mean", "se")], abs=0.051), STALE
    assert "](learning.png)" in PAGE


def test_each_method_is_a_line_of_its_own_with_its_name_at_the_end(maker: ModuleType, tmp_path: Path) -> None:
    figure = maker.figure(FOUND)
    for ax, what in zip(figure.axes, ("carry", "spin"), strict=True):
        lines = maker.drawn(FOUND["table"]["rows"], what)
        for line, points in zip(ax.containers, lines.values(), strict=True):
            assert line[0].get_ydata().tolist() == [mean for _, mean, _ in points]
        styles = {(line[0].get_marker(), str(line[0].get_linestyle())) for line in ax.containers}
        assert len({marker for marker, _ in styles}) == len(lines)  # told apart in grey
        heights = sorted(text.get_position()[1] for text in ax.texts)
        assert sorted(text.get_text() for text in ax.texts) == sorted(lines)
        assert min(b / a for a, b in itertools.pairwise(heights)) > 1.2  # no name on another
    for name in ("one.png", "two.png"):
        maker.save(FOUND, tmp_path / name)
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()
