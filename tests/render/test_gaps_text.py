"""The words of gaps and suggested bags: what they say of the doubt, and that they fit."""

from dataclasses import replace

import numpy as np
import pytest

from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.gaps.bags import Comparison, WhatIf, changed_bag, what_if
from wedgelab.gaps.report import GapReport, build_gaps
from wedgelab.gaps.suggest import suggest
from wedgelab.render.gaps_text import (
    chance_text,
    comparison_sentence,
    coverage_sentence,
    gaps_text,
    holes_sentence,
    what_if_text,
    widest_sentence,
)
from wedgelab.render.layout import display_width
from wedgelab.render.suggest_text import suggestion_sentence, suggestion_text
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import LengthUnit
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
    assert "0.5 ±3.7 ?" in text
    assert "? narrower than its doubt" in text
    assert "leaves open whether it is there at all" in " ".join(text.split())
    assert "? narrower" not in gaps_text(report_of(NARROW, LADDER), "m")


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
            "The other bag covers these targets better: +1.0 points of coverage, 80 % interval -0.5 to +2.5;",
        ),
        (0.03, "The other bag covers these targets worse: +1.0 points"),
        (0.60, "Which bag covers these targets better the log cannot tell; the other against today's: +1.0 points"),
    ],
)
def test_the_verdict_follows_the_chance(better: float, words: str) -> None:
    one = Comparison(0.01, -0.005, 0.025, better, ("52", "60"))
    assert comparison_sentence(one).startswith(words)
    assert comparison_sentence(one).endswith(
        " No ball was logged with 52 and 60 at those lofts: the carries there are worked out from the wedges around."
    )
    assert comparison_sentence(replace(one, never_hit=())).endswith(f"the better one is {100 * better:.0f} %.")


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
