"""Choice, flights and two players' choices as JSON: the same keys with and without an answer, the numbers in SI."""

import json
from typing import Any

import pytest

from tests.fakes import TYPICAL_BAG, FakePredictor, as_predictor, fake_carry_m
from wedgelab.choose import Limits, choose, find_flights
from wedgelab.choose.limits import LimitsFailError
from wedgelab.prediction import ShotKind
from wedgelab.render.choice_json import choice_document, choices_document, flights_document
from wedgelab.render.choice_words import verdict, warnings
from wedgelab.window import DEFAULT_WINDOW

PLAYER = as_predictor(FakePredictor())
CHOICE = choose(PLAYER, TYPICAL_BAG, 112.0, window=DEFAULT_WINDOW, want="spin", unit="m")  # the longest is 103.9 m
FLIGHTS = find_flights(PLAYER, TYPICAL_BAG, 70.0, window=DEFAULT_WINDOW, limits=Limits(min_land_deg=45.0))
FAILED = LimitsFailError("no shot stays under 3 m", "--max-apex 9m has an answer", ["max_apex_m"], {"max_apex_m": 9.0})


def read(text: str) -> Any:
    def refuse(name: str) -> float:
        raise AssertionError(name)

    return json.loads(text, parse_constant=refuse)


@pytest.mark.parametrize(
    ("full", "empty", "lists"),
    [
        (choice_document(CHOICE), choice_document(None, target_m=70.0, error=FAILED), ("options", "left_out")),
        (flights_document(FLIGHTS), flights_document(None, target_m=70.0, error=FAILED), ("flights", "left_out")),
    ],
)
def test_without_an_answer_the_keys_are_the_same_and_what_would_have_one_is_there(
    full: str, empty: str, lists: tuple[str, ...]
) -> None:
    there, nothing = read(full), read(empty)
    assert set(there) == set(nothing)
    assert (nothing["target_m"], nothing["failed_limits"]) == (70.0, ["max_apex_m"])
    assert nothing["nearest_limits"] == {"max_apex_m": 9.0}
    assert [nothing[name] for name in lists] == [[], []]
    assert (there["failed_limits"], there["nearest_limits"], there["nearest_m"]) == ([], None, None)


def test_the_sentences_are_in_the_players_unit_and_the_numbers_in_si() -> None:
    document = read(choice_document(CHOICE, "m"))
    (option, *_) = document["options"]
    kind = ShotKind(option["wedge"], option["loft_deg"], option["swing_deg"])
    assert option["carry_m"] == pytest.approx(fake_carry_m(kind), abs=1e-6)
    assert option["spin_se_rpm"] == 90.0
    assert (document["verdict"], document["warnings"]) == (verdict(CHOICE, "m"), warnings(CHOICE, "m"))
    assert "this one, 103.9 m, is 2.5 m short of it." in document["warnings"][0]  # of 112 less 5 %
    assert "this one, 113.7 yd, is 2.7 yd short of it." in read(choice_document(CHOICE, "yd"))["warnings"][0]


def test_flights_that_do_not_keep_the_limit_are_beside_those_that_do() -> None:
    document = read(flights_document(FLIGHTS, "In words."))
    assert document["limits"] == {"min_spin_rpm": None, "max_apex_m": None, "min_land_deg": 45.0}
    assert {option["wedge"] for option in document["flights"]} == {"55", "60"}
    assert {option["wedge"] for option in document["left_out"]} == {"50"}
    assert document["summary"] == "In words."


def test_two_choices_have_each_ones_words_and_neither_stands_alone() -> None:
    both = read(choices_document(("Ada", "Bo"), [CHOICE, CHOICE], "m", target_m=112.0, better="Ada", notes=["a"]))
    assert [both[side]["player"] for side in ("first", "second")] == ["Ada", "Bo"]
    assert both["first"]["verdict"] == verdict(CHOICE, "m")
    assert both["first"]["warnings"] == warnings(CHOICE, "m")
    assert len(both["second"]["options"]) == len(CHOICE.options)
    assert (both["window_low_m"], both["better"], both["notes"]) == (pytest.approx(106.4), "Ada", ["a"])
    for choices in ([], [CHOICE]):
        none = read(choices_document(("Ada", "Bo"), choices, "m", target_m=112.0))
        assert set(none) == set(both)
        assert (none["first"], none["second"], none["window_low_m"]) == (None, None, None)
