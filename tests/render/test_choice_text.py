"""What the player reads of a choice: every number of the data, at most 80 columns, true sentences."""

import dataclasses
import math
import re
from typing import Any

import pytest
from wcwidth import wcswidth

from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.choose import WANTS, Choice, Limits, Option, Want, choose
from wedgelab.prediction import FlightEstimate, SpinSupport
from wedgelab.render.choice_text import choice_text
from wedgelab.render.choice_words import verdict, warnings
from wedgelab.units import LengthUnit
from wedgelab.window import SidedWindow, WindowRule

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
PLAYER = FakePredictor()
LONG = "my old wedge, bent to 54 and ground twic"
ONE_WORD = "n" * 40
WIDE = "楔" * 40


def half_up(x: float) -> str:
    return str(math.floor(x + 0.5))


def widest(text: str) -> int:
    return max(wcswidth(line) for line in text.splitlines())


def an_option(wedge: str, chance: float, spin_rpm: float, **changes: Any) -> Option:
    values: dict[str, Any] = {
        "wedge": wedge, "loft_deg": 54.0, "swing": "9:00", "swing_deg": 90.0, "practised": True, "carry_m": 60.0,
        "carry_sd_m": 3.0, "carry_se_m": 1.0, "carry_p10_m": 56.0, "carry_p90_m": 64.0, "window_probability": chance,
        "spin_rpm": spin_rpm, "spin_sd_rpm": 400.0, "n_shots": 4, "support": "measured", "spin_support": "measured",
        "flight": FlightEstimate(46.0, 15.0, 3.5, 20.0, 7000.0, 1.0, 2.0, 4.0, 0.0, "measured"),
    }  # fmt: skip
    return Option(**values | changes)


def a_choice(want: Want, *options: Option, rival: Option | None = None) -> Choice:
    return Choice(60.0, 57.0, 63.0, want, 0.0 if want == "window" else 0.3, options, rival)


A, B = an_option("54", 0.60, 8000.0), an_option("58", 0.48, 9000.0)
START = "54 at 9:00: 60 % inside the window, about 8000 rpm"


@pytest.mark.parametrize(
    ("choice", "sentence"),
    [
        (a_choice("window", A), f"{START}."),
        (
            a_choice("window", A, dataclasses.replace(B, spin_rpm=7900.0)),
            f"{START}; nothing is given up: no other option is better at chance or at spin.",
        ),
        (  # it once said that nothing was better at spin
            a_choice("window", A, dataclasses.replace(B, window_probability=0.2)),
            f"{START}; more spin is there only for less chance: 58 at 9:00, 1000 rpm more for 40 points.",
        ),
        (
            a_choice("window", A, B, rival=B),
            f"{START}; 58 at 9:00 would give 1000 rpm more for 12 points of that chance.",
        ),
        (
            a_choice("window", A, B, rival=dataclasses.replace(B, support="between")),
            f"{START}; 58 at 9:00 (no ball logged there) would give 1000 rpm more for 12 points of that chance.",
        ),
        (  # it once stated the difference from a spin that was never read as if it had been
            a_choice("window", A, B, rival=dataclasses.replace(B, support="between", spin_support="between")),
            f"{START}; 58 at 9:00 (no ball logged there) would give about 1000 rpm more for 12 points of that chance.",
        ),
        (
            a_choice("window", A, B, rival=dataclasses.replace(B, spin_support="between")),
            (
                f"{START}; 58 at 9:00 (no spin measured there) would give about 1000 rpm more for 12 points of that "
                "chance."
            ),
        ),
        (
            a_choice("window", A, dataclasses.replace(B, window_probability=0.2, spin_support="beyond")),
            (
                f"{START}; more spin is there only for less chance: 58 at 9:00 (no spin measured there), about 1000 "
                "rpm more for 40 points."
            ),
        ),
        (
            a_choice("spin", dataclasses.replace(B, spin_support="between"), A, rival=A),
            (
                "58 at 9:00: 48 % inside the window, about 9000 rpm (not measured), about 1000 rpm more than 54 at "
                "9:00, and gives up 12 points of chance for it. No spin was read near it."
            ),
        ),
        (a_choice("spin", A), f"{START}."),
        (a_choice("spin", A, B), f"{START}; nothing is given up: no other option has a better chance."),
        (
            a_choice("spin", B, A, rival=A),
            (
                "58 at 9:00: 48 % inside the window, about 9000 rpm, 1000 rpm more than 54 at 9:00, "
                "and gives up 12 points of chance for it."
            ),
        ),
        (
            a_choice("low-spin", dataclasses.replace(A, window_probability=0.47), B, rival=B),
            (
                "54 at 9:00: 47 % inside the window, about 8000 rpm, 1000 rpm less than 58 at 9:00, "
                "and gives up 1 point of chance for it."
            ),
        ),
        (
            a_choice("spin", dataclasses.replace(B, window_probability=0.599, spin_rpm=8010.0), A, rival=A),
            (
                "58 at 9:00: 60 % inside the window, about 8000 rpm, hardly any rpm more than 54 at 9:00, "
                "and gives up less than a point of chance for it."
            ),
        ),
        (
            a_choice("window", dataclasses.replace(A, support="beyond")),
            f"{START}. It lies beyond every logged shot: try it on the range first.",
        ),
        (
            a_choice("window", dataclasses.replace(A, support="between")),
            f"{START}. No ball was logged near it: it is worked out from the shots around.",
        ),
        (
            a_choice("spin", dataclasses.replace(A, spin_support="none")),
            (
                "54 at 9:00: 60 % inside the window, about 8000 rpm (not measured). "
                "No spin of a solid ball was ever logged: the spins are physics, not this player."
            ),
        ),
        (
            a_choice("spin", dataclasses.replace(A, spin_support="between")),
            "54 at 9:00: 60 % inside the window, about 8000 rpm (not measured). No spin was read near it.",
        ),
        (
            a_choice("window", dataclasses.replace(A, spin_support="between")),
            "54 at 9:00: 60 % inside the window, about 8000 rpm (not measured).",
        ),
    ],
)
def test_the_verdict(choice: Choice, sentence: str) -> None:
    assert verdict(choice) == sentence


@pytest.mark.parametrize("unit", ["yd", "m"])
def test_every_number_of_a_choice_stands_in_its_row(unit: LengthUnit) -> None:
    size = YARD_M if unit == "yd" else 1.0
    choice = choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule(), want="spin", unit=unit)
    text = choice_text(choice, unit, WindowRule())
    signs = {"measured": "", "between": "~", "beyond": "?"}
    for i, option in enumerate(choice.options, 1):
        (line,) = [line for line in text.splitlines() if re.match(rf"\s*{i}\+?  ", line)]
        assert line.split() == [
            f"{i}{'+' if option.is_unbeaten else ''}",
            option.wedge,
            *f"{option.swing}{'' if option.practised else ' *'}".split(),
            signs[option.support] + half_up(option.carry_m / size),
            f"{half_up(option.carry_p10_m / size)}-{half_up(option.carry_p90_m / size)}",
            half_up(100 * option.window_probability),
            "%",
            f"({50 * math.floor(option.spin_rpm / 50 + 0.5)})",
            "±400",
            half_up(option.flight.land_deg) if option.swing == "9:00" else f"({half_up(option.flight.land_deg)})",
            f"{half_up(option.flight.run_out_low_m / size)}-{half_up(option.flight.run_out_high_m / size)}",
            str(option.n_shots),
        ]
    assert any(not option.practised for option in choice.options)
    assert "* worked out for this distance" in text
    assert "Verdict: " in text
    assert "(Rules of Golf" in " ".join(text.split())


@pytest.mark.parametrize("label", ["54", LONG, ONE_WORD, WIDE])
@pytest.mark.parametrize("spin_support", ["measured", "none"])
def test_a_choice_fits_80_columns(label: str, spin_support: SpinSupport) -> None:
    far: dict[str, Any] = {
        "carry_m": 120.0, "carry_p10_m": 110.4, "carry_p90_m": 131.4, "swing": label, "n_shots": 12345,
        "support": "beyond", "spin_support": spin_support, "spin_sd_rpm": 1250.0,
    }  # fmt: skip
    options = [an_option(label, 1.0, 10050.0, **far), an_option("58", 0.5, 12000.0, practised=False, **far)]
    text = choice_text(a_choice("window", *options, rival=options[1]), "m", WindowRule(share=0.125))
    assert widest(text) <= 80
    for number in ("(10050)" if spin_support == "none" else " 10050", "±1250", "?120", "110-131", "12345"):
        assert text.count(number) >= 1, number


# --- limits, other wishes, flights and lies


def full(**changes: Any) -> Choice:
    values: dict[str, Any] = {
        "want": "window", "limits": Limits(min_spin_rpm=5000.0), "trajectories": ("low", "stock", "high"), "shots": [],
        "window": WindowRule(),
    }  # fmt: skip
    return choose(PLAYER, TYPICAL_BAG, 60.0, **values | changes)


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("want", WANTS)
def test_the_chances_of_spin_stand_in_the_rows_and_in_the_verdict(want: Want) -> None:
    choice = full(want=want)
    text, best = choice_text(choice, "m", WindowRule()), choice.best
    assert widest(text) <= 80
    for option in choice.options:
        assert option.spin_probability is not None
        assert option.both_probability is not None
        chances = [option.window_probability, option.spin_probability, option.both_probability]
        assert "/".join(half_up(100 * chance) for chance in chances) in text
    said = one_line(text)
    assert best.spin_probability is not None
    assert best.both_probability is not None
    assert (
        f"{half_up(100 * best.window_probability)} % inside the window, spin over 5000 rpm "
        f"{half_up(100 * best.spin_probability)} %, both {half_up(100 * best.both_probability)} %, about"
    ) in said
    assert "limits: spin 5000 rpm or more; low and stock and high balls" in said
    assert "from 20000 drawn balls, so give or take 0.7 points." in said  # two of 0.5 / sqrt(20000)
    assert "Limits hold for the median ball" in said
    assert "No low and no high ball was ever logged: " in said
    assert ("Soft is a steep landing; how far the ball then runs depends on the green" in said) == (want == "soft")
    assert ("apex" in text.split("Ranked")[0]) == (want in {"high", "low"})


@pytest.mark.parametrize(
    ("want", "changes", "sentence"),
    [
        (
            "high",
            {"apex_m": 20.0},
            "apex 20 m, 5.0 m higher than 54 ",
        ),
        (
            "low",
            {"apex_m": 12.0},
            "apex 12 m, 3.0 m lower than 54 ",
        ),
        (
            "soft",
            {"land_deg": 48.5, "flight_support": "estimate"},
            "lands at 49 deg (an estimate), 2.5 deg steeper than 54 ",
        ),
    ],
)
def test_the_verdict_of_a_wish_for_a_flight(want: Want, changes: dict[str, Any], sentence: str) -> None:
    best = dataclasses.replace(B, flight=dataclasses.replace(B.flight, **changes))
    start = "58 at 9:00: 48 % inside the window, about 9000 rpm, "
    assert (
        verdict(a_choice(want, best, A, rival=A), "m")
        == f"{start}{sentence}at 9:00, and gives up 12 points of chance for it."
    )


def test_the_sign_stands_at_the_unbeaten_and_is_explained_by_the_wish() -> None:
    for want, spin in (("spin", "more"), ("low-spin", "less")):
        choice = choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule(), want=want)  # type: ignore[arg-type]
        text = choice_text(choice, "m", WindowRule())
        marked = [int(number) for number in re.findall(r"^(\d+)\+ ", text, re.MULTILINE)]
        assert marked == [i for i, option in enumerate(choice.options, 1) if option.is_unbeaten]
        assert f"+ unbeaten: no other option has as good a chance and {spin} spin" in text


def test_a_practised_swing_that_is_no_option_is_told_all_the_same() -> None:
    sharp = FakePredictor(carry_sd_m=lambda _: 1.0)
    choice = choose(sharp, TYPICAL_BAG, 60.0, window=WindowRule(fixed_m=1.0))
    assert len(choice.left_out) == 3
    said = one_line(choice_text(choice, "m", WindowRule(fixed_m=1.0)))
    for option in choice.left_out:
        sign = "" if option.swing == "9:00" else "~"
        assert (
            f"Nearest practised swing of the {option.wedge}: {option.swing}, {sign}{half_up(option.carry_m)} m, "
            f"{half_up(100 * option.window_probability)} % inside."
        ) in said


def test_a_lie_and_its_doubt_are_said() -> None:
    choice = full(lie="rough", trajectories=("stock",), limits=Limits(max_apex_m=30.0, min_land_deg=40.0))
    said = one_line(choice_text(choice, "m", WindowRule()))
    assert "limits: apex 30 m or less, landing at 40 deg or more; from the rough" in said
    assert (
        "No ball from the rough was ever logged: its numbers are those of an ordinary lie with a wider doubt, "
        "though grass between face and ball usually takes spin off."
    ) in said
    assert said.count("No ball from the rough") == 1
    assert warnings(choice)[0].startswith("No ball was logged near it")


def test_a_shot_whose_median_misses_the_window_is_said_to() -> None:
    short = dataclasses.replace(A, carry_m=55.5, window_probability=0.36)
    alone = "No median carry lies inside the window: this one, 55.5 m, is 1.5 m short of it."
    assert warnings(a_choice("window", short), "m") == [alone]
    assert verdict(a_choice("window", short), "m").endswith(alone)
    long = dataclasses.replace(A, carry_m=63.02)
    assert warnings(a_choice("window", long, B), "m") == [
        "Its median carry, 63.0 m, lies less than 0.1 m past the window."
    ]
    assert warnings(a_choice("window", long, B)) == [
        "Its median carry, 68.9 yd, lies less than 0.1 yd past the window."
    ]
    assert warnings(a_choice("window", A, B), "m") == []


def test_a_better_chance_whose_median_lies_outside_is_no_plain_trade() -> None:
    rival = dataclasses.replace(A, carry_m=55.5, spin_rpm=9900.0)
    assert verdict(a_choice("spin", B, rival, rival=rival)) == (
        "58 at 9:00: 48 % inside the window, about 9000 rpm; 54 at 9:00 has the better chance by 12 points, but its "
        "median carry lies outside the window."
    )


@pytest.mark.parametrize("unit", ["yd", "m"])
@pytest.mark.parametrize(
    ("want", "ranked", "equal", "estimates"),
    [
        ("window", "", "", ""),
        ("spin", "spin", "Spins within 50 rpm, or 25 % of their standard error,", ""),
        ("low-spin", "spin", "Spins within 50 rpm, or 25 % of their standard error,", ""),
        ("high", "apex", "Apexes within 0.5 {unit}", "Apexes are estimates: "),
        ("low", "apex", "Apexes within 0.5 {unit}", "Apexes are estimates: "),
        ("soft", "landing angle", "Landing angles within 1 deg", "Landing angles are estimates: "),
    ],
)
def test_a_wish_says_what_it_ranked_what_counts_as_equal_and_that_a_flight_is_an_estimate(
    want: Want, ranked: str, equal: str, estimates: str, unit: LengthUnit
) -> None:
    choice = choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule(), want=want)
    said = one_line(choice_text(choice, unit, WindowRule()))
    share = half_up(100 * choice.least_probability)
    asked = f"Ranked by {ranked} among the shots with a chance of {share} % or more (about three quarters of the best) "
    assert (asked in said) == bool(ranked)
    assert f"{equal.format(unit=unit)} count as equal: the better chance goes first." in said or not equal
    assert said.count("are estimates: how surely they are known is not worked out.") == bool(estimates)
    assert estimates in said


def test_a_line_parts_what_a_wish_ranked_from_the_rest() -> None:
    choice = choose(PLAYER, TYPICAL_BAG, 75.0, window=WindowRule(), want="soft")
    assert 0 < len(choice.wished) < len(choice.options)
    rows = choice_text(choice, "m", WindowRule()).split("\n\n")[1].splitlines()  # the table up to an empty line
    assert not any(re.match(rf"\s*{len(choice.wished) + 1}\+? ", row) for row in rows)
    assert re.match(rf"\s*{len(choice.wished)}\+? ", rows[-1])
    assert rows[-1].split()[1] == choice.wished[-1].wedge


@pytest.mark.parametrize(
    ("changes", "shown", "hidden"),
    [
        (
            {},
            ["* worked", "~ between the logged shots;", "; spin in brackets", "Runs: ", "in brackets are"],
            ["? beyond"],
        ),
        ({"want": "low"}, ["~ between", "Apexes and landing angles in brackets are"], ["Runs:", "Apex of"]),
        ({"limits": Limits(max_apex_m=40.0)}, ["unrounded", "Apexes and landing angles in"], ["Runs:", "Apex of"]),
        ({"limits": Limits(min_land_deg=40.0)}, ["unrounded", "Runs: ", "Apex of"], ["Apexes and"]),
    ],
)
def test_a_legend_explains_what_is_shown_and_nothing_else(
    changes: dict[str, Any], shown: list[str], hidden: list[str]
) -> None:
    # "Runs: ..." once stood under a table whose column of runs had made room for the apexes
    text = choice_text(full(**{"limits": Limits(), "trajectories": ("stock",)} | changes), "m", WindowRule())
    said = one_line(text)
    assert [words for words in shown if words not in said] == []
    assert [words for words in hidden if words in said] == []
    assert ("runs" in text.split("\n\n")[1]) == ("Runs: " in said)


def test_a_choice_of_nothing_but_logged_shots_explains_no_sign() -> None:
    said = choice_text(a_choice("window", A, B), "m", WindowRule())
    assert not any(words in said for words in ("~", "?", "in brackets", "*", "estimates"))
    beyond = choice_text(a_choice("window", A, dataclasses.replace(B, support="beyond")), "m", WindowRule())
    assert "\n? beyond the logged shots\n" in beyond


@pytest.mark.parametrize("label", ["54", LONG, ONE_WORD, WIDE])
def test_a_choice_with_every_column_at_its_widest_fits_80_columns(label: str) -> None:
    far: dict[str, Any] = {
        "wedge": label, "swing": label, "trajectory": "stock", "practised": False, "spin_probability": 1.0,
        "both_probability": 1.0, "window_probability": 1.0, "spin_rpm": 10050.0, "spin_sd_rpm": 1250.0,
        "n_shots": 12345,
    }  # fmt: skip
    base = full()
    choice = dataclasses.replace(base, options=tuple(dataclasses.replace(o, **far) for o in base.options))
    text = choice_text(choice, "yd", SidedWindow())
    assert widest(text) <= 80
    assert text.count("12345") == len(choice.options)
