"""Gaps, another bag and suggested lofts from the command line."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.harness import Cli, process
from wedgelab.cli.demo import IMPORTS, PLAYER, demo_folder
from wedgelab.units import YARD_M, format_length


@pytest.fixture
def nell(cli: Cli) -> Cli:
    """The log of the demo's player."""
    for name, *options in IMPORTS:
        cli.ok("--player", PLAYER, "import", str(demo_folder().joinpath(name)), *options)
    return cli


def test_the_demos_gaps_in_text_and_json_are_the_same(nell: Cli) -> None:
    document = nell.ok("gaps", "--json").document
    text = nell.ok("gaps").out
    shots = document["shots"]
    carries = [shot["carry_m"] for shot in shots]
    assert (document["kind"], document["player"], len(shots)) == ("gaps", "Nell", 16)
    assert carries == sorted(carries)
    assert (document["low_m"], document["high_m"]) == (carries[0], carries[-1])
    assert len(document["gaps"]) == 15
    for gap in document["gaps"]:
        assert f"{format_length(gap['gap_m'], 'yd', 1)} ±{format_length(gap['gap_se_m'], 'yd', 1)}" in text
    widest = document["widest"]
    assert widest == max(document["stretches"], key=lambda one: float(one["width_m"]))
    assert (widest["wedge"], widest["swing"], widest["longer_wedge"], widest["longer_swing"]) == (
        "54",
        "8:00",
        "50",
        "8:00",
    )
    assert f"{format_length(widest['low_m'], 'yd', 1)} to {format_length(widest['high_m'], 'yd', 1)}" in text
    assert document["sentence"] in " ".join(text.split())
    chances = [one["window_probability"] for one in document["targets"]]
    assert document["coverage"] == pytest.approx(sum(chances) / len(chances), abs=1e-5)
    assert document["known_coverage_p10"] < document["known_coverage"] < document["known_coverage_p90"]
    assert (document["other"], document["comparison"]) == (None, None)
    assert all(len(line) <= 80 for line in text.splitlines())


def test_carries_are_those_of_the_chart_and_the_redundant_shots_those_with_fewer_balls(nell: Cli) -> None:
    cells = {(c["wedge"], c["swing"]): c for c in nell.ok("chart", "--json").document["cells"]}
    document = nell.ok("gaps", "--json").document
    for shot in document["shots"]:
        cell = cells[shot["wedge"], shot["swing"]]
        assert {key: shot[key] for key in cell} == cell
        assert 0.0 < shot["own_sd_m"] < shot["carry_sd_m"]
    assert document["overlaps"]
    for one in document["overlaps"]:
        assert one["n_shots"] <= one["kept_n_shots"]
        assert one["longer_probability"] < 2 / 3


def test_a_span_and_a_window_of_ones_own(log: Cli) -> None:
    document = log.ok("gaps", "--from", "60", "--to", "80m", "--window", "3yd", "--json").document
    assert (document["low_m"], document["high_m"]) == pytest.approx((60 * YARD_M, 80.0), abs=1e-6)
    assert document["window"] == {"share": 0.05, "least_m": 2.0, "fixed_m": round(3 * YARD_M, 6)}
    assert document["targets"][0]["target_m"] == pytest.approx(60 * YARD_M, abs=1e-6)
    usual = log.ok("gaps", "--from", "60", "--to", "80m", "--json").document
    assert document["coverage"] < usual["coverage"]  # 3 yd is narrower than 5 % of more than 60 yd


def test_another_bag_is_compared_over_the_same_targets_and_a_bent_wedge_keeps_its_label(nell: Cli) -> None:
    words = ("gaps", "--with", "52", "--without", "50", "--bend", "54=53")
    document = nell.ok(*words, "--json").document
    other, comparison = document["other"], document["comparison"]
    assert [wedge["label"] for wedge in document["wedges"]] == ["46", "50", "54", "58"]
    assert [(w["label"], w["loft_deg"]) for w in other["wedges"]] == [("46", 46), ("52", 52), ("54", 53), ("58", 58)]
    assert other["targets"][0]["target_m"] == document["targets"][0]["target_m"]
    assert comparison["never_hit"] == ["52", "54"]
    assert comparison["difference_p10"] < comparison["difference"] < comparison["difference_p90"]
    today, then = ({(s["wedge"], s["swing"]): s for s in one["shots"]} for one in (document, other))
    for swing in ("8:00", "9:00", "10:00", "full"):
        assert then["52", swing]["support"] == "between"
        # no ball of it was ever hit: it is known less surely than the wedges beside it
        doubts = [
            one["carry_se_m"] / one["carry_m"] for one in (then["52", swing], today["50", swing], today["54", swing])
        ]
        assert doubts[0] > max(doubts[1:])
        assert then["54", swing]["carry_m"] > today["54", swing]["carry_m"]
    text = nell.ok(*words).out
    assert comparison["sentence"] in " ".join(text.split())
    assert "No ball was logged with 52 and 54 at those lofts" in " ".join(text.split())
    assert "46 52 54 (53) 58" in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_suggested_lofts_hold_what_is_kept_and_the_verdict_follows_the_interval(nell: Cli) -> None:
    words = ("bag", "suggest", "--count", "3", "--from", "40", "--to", "100", "--keep", "46")
    document = nell.ok(*words, "--json").document
    assert document["kind"] == "bag-suggest"
    assert [wedge["label"] for wedge in document["today"]["wedges"]] == ["46", "50", "54", "58"]
    for bag in document["bags"]:
        assert len(bag["wedges"]) == 3
        assert "46" in [wedge["label"] for wedge in bag["wedges"]]
        assert bag["never_hit"] == [w["label"] for w in bag["wedges"] if w["label"] not in {"46", "50", "54", "58"}]
    against = document["bags"][0]["against_today"]
    assert against["better_probability"] < 0.9  # three wedges against four
    assert "than today's" in document["sentence"]
    assert " better than today's bag:" not in document["sentence"].replace("no better", "")
    text = nell.ok(*words).out
    assert document["sentence"] in " ".join(text.split())
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_same_log_gives_the_same_answer(log: Cli) -> None:
    assert log.ok("gaps", "--with", "46").out == log.ok("gaps", "--with", "46").out


REFUSED = [
    ("gaps --without 55", 1, "unknown wedge '55'; did you mean '54'?"),
    ("gaps --bend 51=52", 1, "unknown wedge '51'; did you mean '50'?"),
    ("gaps --bend 54", 2, "--bend '54' does not say both wedge and loft; write it like --bend 54=53"),
    ("gaps --bend 54=95", 1, "loft 95.0 deg is outside 20.0 to 75.0 deg; check the number and its unit"),
    ("gaps --with 85", 1, "loft 85.0 deg is outside 20.0 to 75.0 deg; check the number and its unit"),
    ("gaps --with 54", 2, "a wedge '54' is in the bag already; take another label, or bend it: --bend 54=53"),
    ("gaps --with lob=58", 2, "a wedge of 58 deg is in the bag already (58); name another loft"),
    ("gaps --with lob", 2, "--with lob has no loft; give it in degrees, for example: --with lob=56"),
    ("gaps --from 60 --to 50", 2, "--from 60 --to 50 is an empty span; give the shorter target first"),
    ("gaps --from 60 --to 60", 2, "--from 60 --to 60 is an empty span; give the shorter target first"),
    ("gaps --from 900", 1, "target '900' is outside 0.5 to 273.4 yd; check the number and its unit"),
    ("gaps --png gaps.jpg", 2, "--png 'gaps.jpg' does not end in .png; name a .png file"),
    ("bag suggest --count 3 --svg bags.png", 2, "--svg 'bags.png' does not end in .svg; name a .svg file"),
    ("gaps --without 57", 1, "unknown wedge '57'; did you mean '58'?"),
    ("gaps --without 61", 1, "unknown wedge '61'; did you mean '58'?"),
    ("bag suggest --count 0", 2, "a bag of 0 wedges; ask for 1 to 6: --count 3"),
    ("bag suggest --count 7", 2, "a bag of 7 wedges; ask for 1 to 6: --count 3"),
    ("bag suggest", 2, "Missing option '--count'; see: wedgelab bag suggest --help"),
    ("bag suggest --count 3 --keep 53", 1, "unknown wedge '53'; did you mean '54'?"),
    ("bag suggest --count 1 --keep 50 --keep 54", 2, "2 wedges to keep in a bag of 1; keep fewer, or raise --count"),
    ("bag suggest --count 2 --from 8 --to 4", 2, "--from 8 --to 4 is an empty span; give the shorter target first"),
]


def test_what_cannot_be_is_one_line(log: Cli) -> None:
    for words, code, said in REFUSED:
        assert log.fails(code, *words.split()) == said


@pytest.mark.parametrize("words", ["gaps --from 200 --to 220", "bag suggest --count 2 --from 200 --to 220"])
def test_out_of_reach_names_the_nearest_and_json_stays_valid(log: Cli, words: str) -> None:
    assert log.fails(1, *words.split()).startswith("200 to 220 yd is out of reach of the stock shots; the longest is ")
    result = log(*words.split(), "--json")
    assert result.code == 1
    assert result.document["bags" if words.startswith("bag") else "shots"] == []


@pytest.mark.parametrize(
    ("words", "key"), [("gaps", "shots"), ("gaps --with 46", "shots"), ("bag suggest --count 3", "bags")]
)
def test_too_few_shots_is_exit_3_and_json_stays_valid(bag: Cli, words: str, key: str) -> None:
    assert bag.fails(3, *words.split()).startswith("no shots are logged; log some")
    result = bag(*words.split(), "--json")
    assert (result.code, result.document[key]) == (3, [])


def test_a_file_in_place_of_the_log(cli: Cli) -> None:
    path = str(demo_folder().joinpath("2026-05-12-chart.csv"))
    assert cli.ok("gaps", "--shots", path, "--json").document["n_shots"] == 48


MAGIC = {"png": b"\x89PNG\r\n\x1a\n", "svg": b"<?xml", "pdf": b"%PDF-"}  # ISO/IEC 15948, 5.2; XML 1.0; ISO 32000-1


@pytest.mark.parametrize("words", ["gaps --with 46", "bag suggest --count 2"])
def test_the_picture_comes_in_every_format(log: Cli, tmp_path: Path, words: str) -> None:
    paths = {kind: tmp_path / f"drawn.{kind}" for kind in MAGIC}
    options = [word for kind, path in paths.items() for word in (f"--{kind}", str(path))]
    result = log.ok(*words.split(), *options)
    assert result.err == "".join(f"drawn into {path}\n" for path in paths.values())
    for kind, path in paths.items():
        assert path.read_bytes().startswith(MAGIC[kind])
    assert result.out == log.ok(*words.split()).out


def test_a_bag_has_one_coverage_wherever_it_is_asked(nell: Cli) -> None:
    alone = nell.ok("gaps", "--json").document
    suggested = nell.ok("bag", "suggest", "--count", "4", "--json").document
    keys = ("coverage", "known_coverage", "known_coverage_p10", "known_coverage_p90")
    assert [suggested["today"][key] for key in keys] == [alone[key] for key in keys]
    for bag in suggested["bags"]:
        labels = {wedge["label"] for wedge in bag["wedges"]}
        today = {"46", "50", "54", "58"}
        words = [word for label in sorted(labels - today) for word in ("--with", label)]
        words += [word for label in sorted(today - labels) for word in ("--without", label)]
        asked = nell.ok("gaps", *words, "--json").document
        assert [asked[key] for key in keys] == [alone[key] for key in keys]
        assert [asked["other"][key] for key in keys] == [bag[key] for key in keys]
        for key in ("difference", "difference_p10", "difference_p90", "better_probability", "verdict"):
            assert asked["comparison"][key] == bag["against_today"][key]


def test_a_wedge_more_is_said_and_reach_that_is_given_up(nell: Cli) -> None:
    document = nell.ok("gaps", "--with", "60", "--json").document
    comparison = document["comparison"]
    assert (comparison["wedges_more"], comparison["contains"], comparison["lost_reach"]) == (1, "other", [])
    assert "is today's with 1 wedge more and so cannot cover less" in comparison["sentence"]
    document = nell.ok("gaps", "--without", "46", "--with", "52", "--json").document
    (lost,) = document["comparison"]["lost_reach"]
    assert (lost["end"], lost["today_m"]) == ("longest", document["shots"][-1]["carry_m"])
    assert lost["other_m"] == document["other"]["shots"][-1]["carry_m"]
    assert "It gives up the long end: its longest stock shot carries" in document["comparison"]["sentence"]
    suggested = nell.ok("bag", "suggest", "--count", "2", "--json").document
    ends = {end["end"] for end in suggested["bags"][0]["against_today"]["lost_reach"]}
    for end, word in (("shortest", "short"), ("longest", "long")):
        assert (f"It gives up the {word} end" in suggested["sentence"]) == (end in ends)
    assert ends


def test_after_one_ball_nothing_is_called_the_players_own(bag: Cli) -> None:
    bag.ok("log", "54", "9:00", "60")
    for words in ("gaps", "gaps --with 46", "bag suggest --count 2"):
        text = " ".join(bag.ok(*words.split()).out.split())
        assert "1 ball is logged: carries and spread are mostly what is believed of golfers in general" in text
        assert "player's own spread" not in text
    document = bag.ok("gaps", "--json").document
    assert document["spread_doubt"] > 0.3
    assert all(gap["hole_probability"] < 0.99 for gap in document["gaps"])


def test_the_line_of_distances_is_drawn_without_signs_where_they_cannot_be_shown(log: Cli) -> None:
    assert "●" in log.ok("gaps").out
    done = subprocess.run(
        [sys.executable, "-m", "wedgelab", "gaps"],
        capture_output=True, check=True, env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert b"Distances in yd: * median, o median, no ball logged, - 8 solid balls in 10" in done.stdout
    assert b"no answer " in done.stdout
    assert max(len(line) for line in done.stdout.splitlines()) <= 80


def test_who_reads_a_pipe_gets_no_bar(log: Cli) -> None:
    done = process("bag", "suggest", "--count", "3")
    assert (done.code, done.err) == (0, "")


def test_no_heavy_library_is_loaded(log: Cli) -> None:
    code = (
        "import sys\nfrom wedgelab.cli.main import run\n"
        "code = run(['gaps', '--to', '70']) or run(['bag', 'suggest', '--count', '1', '--to', '60'])\n"
        "print('LOADED', code, *[n for n in ('pandas', 'scipy', 'sklearn', 'matplotlib') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stdout.splitlines()[-1] == "LOADED 0"
