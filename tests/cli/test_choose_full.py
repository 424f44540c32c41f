"""The whole of `choose` at the command line: sides, limits, wishes, flights, pictures, and what is said of failures."""

import struct
from pathlib import Path

import pytest
from wcwidth import wcswidth

from tests.cli.harness import Cli
from wedgelab.units import YARD_M


@pytest.fixture
def flown(log: Cli) -> Cli:
    """A few balls of one player, some of them low and one from the rough."""
    lines = ["54 9:00 73 6900 low", "54 9:00 74 6800 low", "54 10:30 86 7900 low", "58 9:00 51 5200 stock rough"]
    log.ok("log", "--session", "second", stdin="\n".join(lines) + "\n")
    return log


def one_line(text: str) -> str:
    return " ".join(text.split())


def test_the_sides_of_the_window_may_differ(flown: Cli) -> None:
    result = flown.ok("choose", "65yd", "--short", "2yd", "--long", "5yd")
    assert result.out.startswith("65 yd, window 63.0 to 70.0 yd (short 2.0 yd; long 5.0 yd); wanted: the best")
    alone = flown.ok("choose", "65yd", "--short", "2yd", "--json").document
    assert alone["window_low_m"] == pytest.approx(63.0 * YARD_M, abs=1e-6)
    assert alone["window_high_m"] == pytest.approx(1.05 * 65.0 * YARD_M, abs=1e-6)
    flown.ok("players", "set", "--window", "10%")
    mine = flown.ok("choose", "65yd", "--long", "1yd", "--json").document
    assert mine["window_low_m"] == pytest.approx(0.9 * 65.0 * YARD_M, abs=1e-6)


def test_the_chances_of_a_spin_are_in_text_and_json(flown: Cli) -> None:
    words = ["choose", "65yd", "--min-spin", "6500", "--trajectory", "low", "--trajectory", "stock"]
    read, text = flown.ok(*words, "--json").document, flown.ok(*words).out
    assert read["limits"] == {"min_spin_rpm": 6500.0, "max_apex_m": None, "min_land_deg": None}
    assert read["trajectories"] == ["low", "stock"]
    assert read["unlogged"] == []
    assert read["n_draws"] == 20_000
    assert read["draw_se"] == pytest.approx(0.5 / 20_000**0.5, abs=1e-6)
    assert {option["trajectory"] for option in read["options"]} == {"low", "stock"}
    both = [option["both_probability"] for option in read["options"]]
    assert both == sorted(both, reverse=True)
    best = read["options"][0]
    parts = (best["window_probability"], best["spin_probability"], best["both_probability"])
    assert "{:.0f} % inside the window, spin over 6500 rpm {:.0f} %, both {:.0f} %".format(
        *(100 * x for x in parts)
    ) in (one_line(text))
    assert read["verdict"] in one_line(text)
    assert any(option["is_unbeaten"] for option in read["options"])
    assert all(wcswidth(line) <= 80 for line in text.splitlines())


@pytest.mark.parametrize(
    ("want", "key", "sign"), [("high", "apex_m", 1.0), ("low", "apex_m", -1.0), ("soft", "land_deg", 1.0)]
)
def test_a_wish_for_a_flight_ranks_the_good_chances_by_it(flown: Cli, want: str, key: str, sign: float) -> None:
    read = flown.ok("choose", "65yd", "--want", want, "--json").document
    tie = 1.0 if key == "land_deg" else 0.5  # what the wish does not tell apart
    inside = [read["window_low_m"] <= o["carry_m"] <= read["window_high_m"] for o in read["options"]]
    good = [o["window_probability"] >= read["least_probability"] - 1e-6 for o in read["options"]]
    near = [o for o, *both in zip(read["options"], good, inside, strict=True) if all(both)]
    assert len(near) > 1
    assert read["options"][: len(near)] == near
    assert all(sign * (later[key] - o[key]) <= tie for i, o in enumerate(near) for later in near[i:])
    others = [o["window_probability"] for o in read["options"][len(near) :]]
    assert others == sorted(others, reverse=True)


def test_limits_that_nothing_keeps_say_what_would_and_typing_it_works(flown: Cli) -> None:
    for option, value in (("--min-spin", "12000"), ("--max-apex", "4yd")):
        line = flown.fails(1, "choose", "65yd", option, value)
        assert line.startswith("no shot for 65 yd ")
        offered = line.rsplit(f"{option} ", 1)[1].removesuffix(" has an answer")
        assert flown.ok("choose", "65yd", option, offered, "--json").document["options"]
        result = flown("choose", "65yd", option, value, "--json")
        assert (result.code, result.document["options"]) == (1, [])
        assert len(result.document["failed_limits"]) == len(result.document["nearest_limits"]) == 1


def test_limits_that_fail_only_together_are_named_together(flown: Cli) -> None:
    options = flown.ok("choose", "65yd", "--json").document["options"]
    spin, apex = max(o["spin_rpm"] for o in options), min(o["apex_m"] for o in options)
    words = ["--min-spin", f"{spin - 5:.0f}", "--max-apex", f"{apex + 0.05:.2f}m"]
    for pair in (words[:2], words[2:]):
        assert flown.ok("choose", "65yd", *pair, "--json").document["options"]
    line = flown.fails(1, "choose", "65yd", *words)
    assert " rpm or more and stays under " in line
    assert line.count(" has an answer") == 2


def test_what_was_never_logged_is_a_general_belief_and_what_was_is_not(flown: Cli) -> None:
    said = one_line(flown.ok("choose", "65yd", "--trajectory", "all", "--lie", "sand").out)
    assert "No high ball was ever logged: " in said
    assert "No ball from sand was ever logged: " in said
    low = flown.ok("choose", "73yd", "--trajectory", "low", "--json").document
    assert low["unlogged"] == []
    named = {(o["wedge"], o["swing"]): o for o in low["options"]}
    assert (named["54", "9:00"]["n_shots"], named["54", "9:00"]["support"]) == (2, "measured")
    rough = flown.ok("choose", "52yd", "--lie", "rough", "--json").document
    assert {(o["wedge"], o["n_shots"]) for o in rough["options"]} >= {("58", 1), ("54", 0)}
    assert all((o["n_shots"] > 0) == (o["support"] == "measured") for o in rough["options"])


def test_three_flights_of_one_carry_and_one_wedge_alone(flown: Cli) -> None:
    read = flown.ok("choose", "--flights", "73yd", "--wedge", "54", "--json").document
    assert (read["kind"], read["unlogged"]) == ("flights", ["high"])
    here = {o["trajectory"]: o for o in read["flights"]}
    assert {"low", "stock"} <= set(here)
    assert {o["wedge"] for o in read["flights"]} == {"54"}
    assert here["low"]["swing_deg"] < here["stock"]["swing_deg"]
    assert here["low"]["n_shots"] == 2
    for option in read["flights"]:
        assert abs(option["carry_m"] - 73.0 * YARD_M) < 3.65 * YARD_M
        assert 1.0 < option["air_time_s"] < 8.0
    text = flown.ok("choose", "--flights", "73yd").out
    assert text.startswith("73 yd low, stock and high, window 69.4 to ")
    assert read["summary"].split(". ")[-1] in one_line(text)
    assert all(wcswidth(line) <= 80 for line in text.splitlines())


def test_flights_out_of_reach_and_without_shots_leave_a_valid_document(flown: Cli, tmp_path: Path) -> None:
    line = flown.fails(1, "choose", "--flights", "150")
    assert line.startswith("150 yd is out of reach; the nearest is ")
    assert line.endswith(" low")
    result = flown("choose", "--flights", "150", "--json")
    assert (result.code, result.document["flights"]) == (1, [])
    assert result.document["nearest_m"] > 60.0
    full = flown.ok("choose", "--flights", "70", "--json").document
    assert result.document.keys() == full.keys()
    empty = flown("--db", str(tmp_path / "none.db"), "choose", "--flights", "70", "--json")
    assert (empty.code, empty.document["flights"]) == (3, [])


def test_flights_keep_the_limits_of_apex_and_landing_angle(flown: Cli) -> None:
    free = flown.ok("choose", "--flights", "73yd", "--json").document
    apexes = sorted(option["apex_m"] for option in free["flights"])
    most = f"{(apexes[0] + apexes[-1]) / 2.0:.2f}m"
    read = flown.ok("choose", "--flights", "73yd", "--max-apex", most, "--json").document
    assert read["limits"]["max_apex_m"] == pytest.approx(float(most.removesuffix("m")))
    assert 0 < len(read["flights"]) < len(free["flights"])
    assert {o["apex_m"] for o in read["flights"]} | {o["apex_m"] for o in read["left_out"]} == set(apexes)
    assert max(o["apex_m"] for o in read["flights"]) < min(o["apex_m"] for o in read["left_out"])
    text = flown.ok("choose", "--flights", "73yd", "--max-apex", most).out
    assert one_line(text).count(" is left out: its apex is ") == len(read["left_out"])
    assert all(wcswidth(line) <= 80 for line in text.splitlines())
    both = flown("choose", "--flights", "73yd", "--max-apex", most, "--min-land", "80", "--json")
    assert (both.code, both.document["flights"], both.document["failed_limits"]) == (1, [], ["min_land_deg"])
    assert both.document.keys() == read.keys()
    line = flown.fails(1, "choose", "--flights", "73yd", "--min-land", "80")
    assert line.startswith("no shot for 73 yd lands at 80 deg or more; the steepest landing is ")
    offered = line.rsplit("--min-land ", 1)[1].removesuffix(" has an answer")
    assert flown.ok("choose", "--flights", "73yd", "--min-land", offered, "--json").document["flights"]
    assert flown.fails(2, "choose", "--flights", "73yd", "--min-spin", "8000").startswith("--flights and --min-spin ")


@pytest.mark.parametrize("words", [("--want", "spin"), ("--flights",), ("--flights", "--max-apex", "25yd")])
def test_the_pictures_open_in_every_format(flown: Cli, words: tuple[str, ...], tmp_path: Path) -> None:
    paths = [tmp_path / f"picture.{ending}" for ending in ("png", "svg", "pdf")]
    options = [part for path in paths for part in (f"--{path.suffix[1:]}", str(path))]
    plain = flown.ok("choose", "65yd", *words)
    result = flown.ok("choose", "65yd", *words, *options)
    assert (result.out, result.err) == (plain.out, "".join(f"drawn into {path}\n" for path in paths))
    png, svg, pdf = (path.read_bytes() for path in paths)
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert min(struct.unpack(">II", png[16:24])) >= 600
    assert b"<svg" in svg
    assert pdf.startswith(b"%PDF")


def test_a_picture_without_a_place_is_refused_before_anything_is_worked_out(flown: Cli, tmp_path: Path) -> None:
    path = tmp_path / "none" / "choice.svg"
    assert flown.fails(2, "choose", "65yd", "--svg", str(path)).endswith("give a FILE.svg in a folder that is there")
    assert "does not end in .pdf" in flown.fails(2, "choose", "65yd", "--pdf", "choice.png")


def test_one_wedge_alone_has_the_answer_that_the_whole_bag_has_of_it(flown: Cli) -> None:
    # it was once out of reach of the wedge alone while the bag's list offered it
    for target in ("55yd", "66yd", "97yd"):
        whole = flown.ok("choose", target, "--json").document["options"]
        for wedge in {option["wedge"] for option in whole}:
            alone = flown.ok("choose", target, "--wedge", wedge, "--json").document["options"]
            mine = [option["window_probability"] for option in whole if option["wedge"] == wedge]
            assert [option["window_probability"] for option in alone] == pytest.approx(mine, abs=1e-6)


def test_an_unknown_wedge_is_answered_with_the_nearest_loft_as_in_gaps(flown: Cli) -> None:
    for command in ("choose 65yd --wedge", "choose 65yd --flights --wedge"):
        assert flown.fails(1, *command.split(), "57") == "unknown wedge '57'; did you mean '58'?"
    assert flown.fails(1, "gaps", "--without", "57") == flown.fails(1, "choose", "65yd", "--wedge", "57")


def test_the_best_answer_without_a_logged_shot_is_warned_of(flown: Cli) -> None:
    read = flown.ok("choose", "50yd", "--json").document
    assert read["options"][0]["n_shots"] == 0
    assert read["warnings"]
    assert all(warning in read["verdict"] for warning in read["warnings"])
    backed = flown.ok("choose", "68yd", "--window", "2yd", "--wedge", "54", "--json").document
    assert (backed["options"][0]["n_shots"] > 0, backed["warnings"]) == (True, [])
    short = flown.ok("choose", "68yd", "--window", "1yd", "--wedge", "54", "--json").document
    assert [warning[:44] for warning in short["warnings"]] == ["No median carry lies inside the window: this"]
    assert " yd is 0." in short["warnings"][0].replace(" yd, is", " yd is")  # in the player's unit
