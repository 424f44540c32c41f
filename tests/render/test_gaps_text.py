"""The words of gaps and suggested bags: what they say of the doubt, and that they fit."""

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.gaps.bags import Comparison, LostReach, WhatIf, changed_bag, what_if
from wedgelab.gaps.report import GapReport, build_gaps
from wedgelab.gaps.suggest import SuggestedBag, Suggestion, suggest
from wedgelab.render.gaps_json import gaps_document, suggestion_document
from wedgelab.render.gaps_text import gaps_text, what_if_text
from wedgelab.render.gaps_words import (
    better_text,
    chance_text,
    comparison_sentence,
    coverage_sentence,
    decided_text,
    holes_sentence,
    reach_sentence,
    size_text,
    what_if_sentence,
    widest_sentence,
)
from wedgelab.render.layout import display_width
from wedgelab.render.suggest_text import suggestion_sentence, suggestion_text
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import LengthUnit, format_number
from wedgelab.window import WindowRule

TWO_M = WindowRule(fixed_m=2.0)
NARROW = FakePredictor(carry_sd_m=lambda kind: 0.03 * fake_carry_m(kind), covariance=lambda a, b: 1e-5 * (a == b))
LADDER = Bag((Wedge("47", 47.0), Wedge("57", 57.0)), (SwingLength("full", 180.0),))  # 117 and 102 m


def report_of(player: FakePredictor, bag: Bag) -> GapReport:
    return build_gaps(player, bag, window=TWO_M, rng=np.random.default_rng(1), player="P1", unit="m")


def test_the_sentences_say_the_widest_stretch_the_holes_and_the_coverage() -> None:
    report = report_of(NARROW, LADDER)
    # 102 answers to 104 m, 117 from 115 m
    assert widest_sentence(report, "m").startswith(
        "Widest stretch without a stock answer: 104 to 115 m, between 57 full and 47 full; the best stock shot"
    )
    gap = report.gaps[0]
    assert holes_sentence(report, "m") == (
        "1 gap is larger than the player's own spread, most of all 57 full to 47 full: 15.0 ±0.5 m against "
        f"{gap.spread_m:.1f} (the chance that it is a hole: over 99 %)."
    )
    assert coverage_sentence(report, "m").startswith(f"Coverage of 102 to 117 m: {100 * report.coverage:.0f} %, the")
    every = " ".join(gaps_text(report, "m").split())
    for sentence in (widest_sentence(report, "m"), holes_sentence(report, "m"), coverage_sentence(report, "m")):
        assert sentence in every
    assert "hole after it" in every


def test_where_everything_is_covered_it_says_so() -> None:
    report = report_of(NARROW, Bag((Wedge("57", 57.0), Wedge("56", 56.2)), LADDER.swings))
    assert (
        widest_sentence(report, "m") == "Every target from 102 to 103 m has a stock answer: a median inside its window."
    )
    assert holes_sentence(report, "m") == "No gap is larger than the player's own spread."


def test_a_stretch_narrower_than_its_doubt_is_marked() -> None:
    doubtful = replace(NARROW, covariance=lambda a, b: 6e-4 * (a == b))
    bag = Bag((Wedge("56", 56.0), Wedge("53", 53.0)), LADDER.swings)  # 4.5 m apart: half a metre is left
    text = gaps_text(report_of(doubtful, bag), "m")
    assert "maybe between 56 full and 53 full" in text
    assert "Maybe between: the stretch is narrower than its doubt" in " ".join(text.split())
    assert "leaves open whether it is there at all" in " ".join(text.split())
    assert "aybe between" not in gaps_text(report_of(NARROW, LADDER), "m")


@pytest.mark.parametrize(
    ("chance", "shown"), [(1.0, "over 99 %"), (0.995, "over 99 %"), (0.5, "50 %"), (0.0, "under 1 %")]
)
def test_a_drawn_chance_is_never_none_and_never_certain(chance: float, shown: str) -> None:
    assert chance_text(chance) == shown


@pytest.mark.parametrize(
    ("better", "words"),
    [
        (
            0.95,
            "The other bag covers these targets better: +1.0 points of coverage, 80 % interval -0.5 to +2.5 (about",
        ),
        (0.07, "The other bag covers these targets worse: +1.0 points"),
        (0.60, "Which bag covers these targets better the log cannot tell; the other against today's: +1.0 points"),
    ],
)
def test_the_verdict_follows_the_chance(better: float, words: str) -> None:
    found = compared(NARROW, LADDER, Wedge("52", 52.0))
    one = Comparison(0.01, -0.005, 0.025, better, ("52", "60"))
    said = what_if_sentence(replace(found, comparison=one), "m")
    assert said.startswith(words)
    assert said.endswith(
        " No ball was logged with 52 and 60 at those lofts: the carries there are worked out from the wedges around."
    )
    plain = what_if_sentence(replace(found, comparison=replace(one, never_hit=())), "m")
    assert plain.endswith(f"the better one is {100 * better:.0f} %.")


@pytest.mark.parametrize(
    ("chance", "shown"),
    [(1.0, "over 95 %"), (0.96, "over 95 %"), (0.95, "95 %"), (0.5, "50 %"), (0.05, "5 %"), (0.0, "under 5 %")],
)
def test_no_bag_is_called_better_more_surely_than_was_found_right(chance: float, shown: str) -> None:
    # decisions/0020: of invented players; "96 %" was once right in 86 % of cases
    assert decided_text(chance) == shown
    one = Comparison(0.01, -0.005, 0.025, chance)
    assert better_text(one) == shown
    assert comparison_sentence(one, "A", "B").endswith(f"the chance that it is the better one is {shown}.")


@pytest.mark.parametrize(
    ("difference", "words"),
    [
        (0.0049, "less than one ball in a hundred"),
        (-0.0049, "less than one ball in a hundred"),
        (0.005, "about 1 ball in a hundred more inside the window"),
        (0.034, "about 3 balls in a hundred more inside the window"),
        (-0.02, "about 2 balls in a hundred fewer inside the window"),
    ],
)
def test_a_point_of_coverage_is_one_ball_in_a_hundred(difference: float, words: str) -> None:
    assert size_text(difference) == words


def test_a_bag_that_holds_all_of_the_other_is_not_left_to_chance() -> None:
    found = compared(NARROW, LADDER, Wedge("52", 52.0))
    assert what_if_sentence(found, "m").startswith(
        "The other bag is today's with 1 wedge more and so cannot cover less: +"
    )
    assert better_text(found.comparison) == "100 %"
    fewer = what_if(
        NARROW, LADDER, changed_bag(LADDER, without=["57"]), window=TWO_M, rng=np.random.default_rng(1), unit="m"
    )
    assert what_if_sentence(fewer, "m").startswith(
        "The other bag is today's with 1 wedge fewer and so cannot cover more: -"
    )
    assert better_text(fewer.comparison) == "0 %"
    both = changed_bag(LADDER, add=[Wedge("52", 52.0), Wedge("60", 60.0)], without=["57"])
    said = what_if_sentence(what_if(NARROW, LADDER, both, window=TWO_M, rng=np.random.default_rng(1), unit="m"), "m")
    assert "; the chance that it is the better one is" in said
    assert " It has 1 wedge more than today's." in said


def test_what_a_bag_gives_up_at_its_ends_is_said() -> None:
    lost = LostReach("longest", 117.4, 109.5), LostReach("shortest", 40.0, 52.5)
    assert reach_sentence(Comparison(0.01, 0.0, 0.02, 0.9, lost_reach=lost), "m") == (
        "It gives up the long end: its longest stock shot carries 110 m, today's 117. "
        "It gives up the short end: its shortest stock shot carries 53 m, today's 40."
    )
    other = changed_bag(LADDER, bend={"47": 51.0})  # 117 m become 111
    found = what_if(NARROW, LADDER, other, window=TWO_M, rng=np.random.default_rng(1), unit="m")
    assert "It gives up the long end: its longest stock shot carries 111 m, today's 117." in what_if_sentence(
        found, "m"
    )
    assert "gives up" not in what_if_sentence(compared(NARROW, LADDER, Wedge("52", 52.0)), "m")


def test_before_a_few_balls_are_logged_the_spread_is_not_the_players_own() -> None:
    hardly, well = replace(NARROW, n_shots=1), replace(NARROW, n_shots=63)
    text = " ".join(gaps_text(report_of(hardly, LADDER), "m").split())
    assert "player's own spread" not in text
    assert "Own spread" not in text
    assert "1 gap is larger than the spread believed of golfers in general" in text
    assert "known to about 37 %" in text
    assert "1 ball is logged: carries and spread are mostly what is believed of golfers in general" in text
    known = " ".join(gaps_text(report_of(well, LADDER), "m").split())
    assert "spread believed" not in known
    assert "as believed" not in known
    assert "the player's own spread" in known
    assert "known to about 12 %" in known
    found = compared(hardly, LADDER, Wedge("52", 52.0))
    assert "1 ball is logged" in what_if_sentence(found, "m")
    assert "1 ball is logged" not in what_if_sentence(compared(well, LADDER, Wedge("52", 52.0)), "m")


def test_where_most_shots_have_no_ball_that_is_said() -> None:
    # the fake has balls at 9:00 alone
    assert "3 of 9 stock shots have a logged ball; the other carries are worked out from the logged ones" in " ".join(
        gaps_text(report_of(FakePredictor(), TYPICAL_BAG), "m").split()
    )


def test_the_legend_explains_what_is_shown_and_nothing_else() -> None:
    bag = Bag((Wedge("57", 57.0), Wedge("56", 56.2)), LADDER.swings)  # every target answered, no hole
    text = " ".join(gaps_text(report_of(NARROW, bag), "m").split())
    for word in ("a larger gap is a hole", "aybe", "? beyond", "░", "● median"):
        assert word not in text
    assert "~ between the logged shots" in text
    assert "○ median, no ball logged" in text
    one = " ".join(gaps_text(report_of(NARROW, Bag(bag.wedges[:1], bag.swings)), "m").split())
    assert "To the next: median" not in one
    assert "Redundant" not in one


def compared(player: FakePredictor, bag: Bag, *add: Wedge) -> WhatIf:
    return what_if(
        player, bag, changed_bag(bag, add=add), window=TWO_M, rng=np.random.default_rng(1), player="P1", unit="m"
    )


def test_both_bags_stand_side_by_side() -> None:
    lines = what_if_text(compared(NARROW, LADDER, Wedge("51", 51.0)), "m").splitlines()
    rows = {line[:20].strip(): line[20:].split("  ") for line in lines[2:10]}
    wedges = next(words for name, words in rows.items() if name.startswith("wedges"))
    assert [word.strip() for word in wedges if word.strip()][-1] == "47 51 57"
    assert any(line.startswith("known exactly") for line in lines)


def test_sentence_table_and_json_say_one_difference() -> None:
    found = compared(FakePredictor(), TYPICAL_BAG, Wedge("52", 52.0))
    document = json.loads(gaps_document(found.today, "m", found))
    text = " ".join(what_if_text(found, "m").split())
    shown = format_number(100.0 * document["comparison"]["difference"], 1)
    assert f"+{shown} points of coverage" in text
    assert f"difference, points - +{shown} (" in text
    known = [document["known_coverage"], document["other"]["known_coverage"]]
    assert known[1] - known[0] == pytest.approx(document["comparison"]["difference"], abs=2e-6)
    for report, share in zip((found.today, found.other), known, strict=True):
        assert f"{format_number(100.0 * share)} % (" in text
        assert f"coverage now {format_number(100.0 * found.today.coverage)} % " in text
        assert report.known_coverage == pytest.approx(share, abs=1e-6)


def test_a_suggestion_says_whether_todays_bag_is_as_good() -> None:
    def asked(bag: Bag, count: int) -> str:
        found = suggest(
            NARROW, bag, count, window=TWO_M, rng=np.random.default_rng(1), low_m=100.0, high_m=112.0, unit="m"
        )
        return suggestion_sentence(found, "m")

    best = Bag((Wedge("52", 52.0), Wedge("56", 56.0)), LADDER.swings)
    assert asked(best, 2) == (
        "today's bag is as good as any: no bag of 2 wedges covers 100 to 112 m better by 0.5 points or more."
    )
    assert asked(LADDER, 2).startswith("52 57 covers these targets better than today's bag: +")
    fewer = asked(best, 1)
    assert fewer.startswith("no bag found covers these targets as well as today's; the best of them, ")
    assert "It has 1 wedge fewer than today's." in fewer


def suggestion(bag: Bag, count: int, low_m: float | None = None, high_m: float | None = None) -> Suggestion:
    return suggest(NARROW, bag, count, window=TWO_M, rng=np.random.default_rng(1), unit="m", low_m=low_m, high_m=high_m)


def test_why_a_bag_stands_before_one_that_covers_more_is_said() -> None:
    bag = Bag((Wedge("48", 48.0), Wedge("51.5", 51.5)), LADDER.swings)
    found = suggestion(bag, 2, low_m=100.0, high_m=112.0)
    more = found.better_but_new
    assert more is not None
    assert more.against_today is not None
    assert found.bags[0].against_today is not None
    shown = [float(format_number(100.0 * one.difference, 1)) for one in (
        more.against_today, found.bags[0].against_today
    )]  # fmt: skip
    points = format_number(shown[0] - shown[1], 1)
    names = " ".join(wedge.label for wedge in more.wedges)
    said = f"It stands first because it keeps more of today's wedges; {names} covers {points} points more."
    assert said in suggestion_sentence(found, "m")
    far = Bag((Wedge("46", 46.0), Wedge("50", 50.0)), LADDER.swings)  # neither is as good as what is new
    assert "stands first" not in suggestion_sentence(suggestion(far, 2, low_m=100.0, high_m=112.0), "m")


def test_a_suggested_bag_that_loses_reach_says_so_and_few_balls_are_said() -> None:
    found = suggestion(LADDER, 2, low_m=100.0, high_m=112.0)
    assert "It gives up the long end: its longest stock shot carries 110 m, today's 117." in suggestion_sentence(
        found, "m"
    )
    assert "is logged" not in suggestion_sentence(found, "m")
    assert "1 ball is logged: carries and spread are mostly" in suggestion_sentence(replace(found, n_shots=1), "m")
    assert "2 balls are logged: carries" in suggestion_sentence(replace(found, n_shots=2), "m")


def test_suggested_bags_in_text_and_json_say_the_same() -> None:
    found = suggestion(LADDER, 2)
    document = json.loads(suggestion_document(found, "m"))
    lines = suggestion_text(found, "m").splitlines()
    for place, bag in zip(("today", "1", "2", "3"), (document["today"], *document["bags"]), strict=True):
        (row,) = (line for line in lines if line.startswith(f"{place} "))
        assert f"{format_number(100 * bag['coverage'])}/{format_number(100 * bag['known_coverage'])} %" in row
        assert len(bag["targets"]) == len(found.targets_m)
        if place != "today":
            difference = format_number(100 * bag["against_today"]["difference"], 1)
            assert f"{difference} (" in row
            assert bag["against_today"]["verdict"] in {"better", "worse", "open"}
    assert document["today"]["against_today"] is None
    one: SuggestedBag = found.bags[0]
    assert [t["window_probability"] for t in document["bags"][0]["targets"]] == pytest.approx(
        one.best_chances, abs=1e-6
    )


def test_the_line_of_distances_stands_in_the_text_with_signs_or_without() -> None:
    report = report_of(FakePredictor(), TYPICAL_BAG)
    for ascii_only, signs in ((False, "●○─░"), (True, "*o-x")):
        text = gaps_text(report, "m", ascii_only=ascii_only)
        strip = text[text.index("no answer ") : text.index("Distances in m")]
        assert signs[3] in strip
        legend = text[text.index("Distances in m") : text.index("Targets without")]
        assert all(f"{sign} " in legend for sign in signs)
    assert not set("●○─═░│") & set(gaps_text(report, "m", ascii_only=True))


UNITS: tuple[LengthUnit, ...] = ("yd", "m")
LONG = "a wedge label of as many signs as it may"


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("label", [LONG, "楔" * 40], ids=["long", "wide"])
def test_every_line_fits_whatever_the_labels(unit: LengthUnit, label: str) -> None:
    bag = Bag(
        (Wedge(label, 45.5), Wedge("50", 50.0), Wedge("x" * 40, 55.0), Wedge("60", 60.0)),
        (*TYPICAL_BAG.swings, SwingLength(label, 175.0)),
    )
    far = FakePredictor(carry_m=lambda kind: 1.6 * fake_carry_m(kind), covariance=lambda a, b: 0.01 * (a == b))
    found = suggest(far, bag, 3, window=TWO_M, rng=np.random.default_rng(1), keep=[bag.wedges[0]])
    for text in (
        gaps_text(report_of(far, bag), unit),
        what_if_text(compared(far, bag, Wedge("52", 52.0)), unit),
        suggestion_text(found, unit),
    ):
        assert max(display_width(line) for line in text.splitlines()) <= 80
