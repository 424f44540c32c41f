"""What the player reads of a drill: every number, at most 80 columns, sentences that are true."""

import dataclasses
import math
import re
from statistics import NormalDist
from typing import Any

import pytest
from wcwidth import wcswidth

from wedgelab.drill.against import DrillComparison, ErrorRatio, ErrorSplit
from wedgelab.drill.machine import Ball, DrillPlan, Event, Guess, Played, Skip, replay
from wedgelab.drill.scores import DrillSummary, GuessSummary, summarise
from wedgelab.render.drill_text import (
    band_label,
    call_line,
    call_text,
    comparison_line,
    comparison_reading,
    drill_text,
    guess_line,
    miss_line,
    miss_words,
    one_ball_line,
    ratio_line,
    reading,
    split_line,
    split_reading,
    window_words,
)
from wedgelab.render.layout import wrap
from wedgelab.units import LengthUnit
from wedgelab.window import WindowRule

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
LONG = "my old wedge, bent to 54 and ground twic"
ONE_WORD = "n" * 40
WIDE = "楔" * 40


def widest(text: str) -> int:
    return max(wcswidth(line) for line in text.splitlines())


def half_up(x: float) -> str:
    return str(math.floor(x + 0.5))


def joined(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("call_m", "unit", "advice", "line"),
    [
        (60.0, "m", "", "Call 2 of 9: 60 m"),
        (60.5, "m", "54 9:00", "Call 2 of 9: 60.5 m   (54 9:00)"),
        (64 * YARD_M, "yd", "54 9:00", "Call 2 of 9: 64 yd   (54 9:00)"),
        (60.0, "yd", "", "Call 2 of 9: 65.6 yd"),  # 60 / 0.9144 = 65.62
    ],
)
def test_a_call(call_m: float, unit: LengthUnit, advice: str, line: str) -> None:
    assert call_line(2, 9, call_m, unit, advice) == line
    assert line.removeprefix("Call 2 of 9: ").startswith(call_text(call_m, unit))


def test_a_call_with_long_labels_breaks_between_words() -> None:
    line = call_line(2, 9, 60.0, "m", f"{LONG} {LONG}")
    assert widest(line) <= 80
    assert line.startswith("Call 2 of 9: 60 m")
    assert joined(line) == f"Call 2 of 9: 60 m ({LONG} {LONG})"


@pytest.mark.parametrize(
    ("miss_m", "unit", "words"),
    [
        (4.2, "m", "4.2 m long"),
        (-3.0, "m", "3.0 m short"),
        (0.04, "m", "on the number"),
        (-0.04, "m", "on the number"),
        (0.0, "yd", "on the number"),
        (4.2 * YARD_M, "yd", "4.2 yd long"),
        (0.05, "yd", "0.1 yd long"),  # 0.0547 yd
    ],
)
def test_a_miss_in_words(miss_m: float, unit: LengthUnit, words: str) -> None:
    assert miss_words(miss_m, unit) == words


def played(call_m: float, carry_m: float, guess_m: float | None = None, window_m: float | None = None) -> Played:
    half = WindowRule().half_m(call_m) if window_m is None else window_m
    return Played(1, call_m, half, guess_m, Ball("s", "54", 54.0, 90.0, carry_m))


@pytest.mark.parametrize(
    ("ball", "unit", "line"),
    [
        (played(60.0, 62.5), "m", "2.5 m long, inside the window (57.0 to 63.0)"),
        (played(60.0, 57.0), "m", "3.0 m short, inside the window (57.0 to 63.0)"),  # the edge belongs to it
        (played(60.0, 56.9), "m", "3.1 m short, outside the window (57.0 to 63.0)"),
        (played(60.0, 56.9, None, 4.0), "m", "3.1 m short, inside the window (56.0 to 64.0)"),  # its own window
        (played(60.0, 60.04), "m", "on the number, inside the window (57.0 to 63.0)"),
        (played(60.0, 59.96), "m", "on the number, inside the window (57.0 to 63.0)"),
        (played(64 * YARD_M, 70 * YARD_M), "yd", "6.0 yd long, outside the window (60.8 to 67.2)"),
        (played(60.0, 62.0, 63.0), "m", "2.0 m long, inside the window (57.0 to 63.0); the guess was 1.0 m over"),
        (played(60.0, 62.0, 60.5), "m", "2.0 m long, inside the window (57.0 to 63.0); the guess was 1.5 m under"),
        (played(60.0, 62.0, 62.0), "m", "2.0 m long, inside the window (57.0 to 63.0); the guess was right"),
        (played(60.0, 62.0, 61.96), "m", "2.0 m long, inside the window (57.0 to 63.0); the guess was right"),
    ],
)
def test_a_miss(ball: Played, unit: LengthUnit, line: str) -> None:
    assert miss_line(ball, unit) == f"  {line}"


def test_the_longest_miss_fits_80_columns() -> None:
    assert widest(miss_line(played(120.5, 249.9, 100.1), "yd")) <= 80


# --- the table

PLAN = DrillPlan((50.0, 60.0, 70.0, 80.0), 50.0, 80.0, 1, WindowRule(fixed_m=3.0))


def ball(wedge: str, carry_m: float, *, chart: bool = True, **words: Any) -> Ball:
    known: dict[str, Any] = {
        "chart_carry_m": 62.0, "chart_carry_sd_m": 3.0, "chart_carry_se_m": 1.0, "chart_window_probability": 0.6,
    }  # fmt: skip
    return Ball(f"id{carry_m}", wedge, 54.0, 90.0, carry_m, **(known if chart else {}), **words)


def drilled(*events: Event, plan: DrillPlan = PLAN) -> DrillSummary:
    summary = summarise(replay(plan, events), lambda low, high: band_label("m", low, high))
    assert summary is not None
    return summary


def row(text: str, label: str) -> list[str]:
    (line,) = [line for line in text.splitlines() if line.startswith(label)]
    return line.removeprefix(label).split()


def test_a_drill_with_a_chart() -> None:
    summary = drilled(ball("54", 52.0), Guess(63.0), ball("54", 62.0), Skip(), ball("58", 76.0))
    text = drill_text(summary, "m", PLAN)
    # misses +2, +2, -4: mean 0, spread sqrt(8) = 2.83; inside 2 of 3; Wilson's 80 % interval of 2/3 with z = 1.2816:
    # (0.66667 + 0.27373 -+ 1.28155 sqrt(0.074074 + 0.045622)) / 1.54746 = 0.3212 and 0.8942
    z = NormalDist().inv_cdf(0.9)
    middle = (2 / 3 + z * z / 6) / (1 + z * z / 3)
    half = z * math.sqrt(2 / 27 + z * z / 36) / (1 + z * z / 3)
    interval = f"{half_up(100 * (middle - half))}-{half_up(100 * (middle + half))}"
    assert interval == "32-89"
    # expected: (12^2 + 2^2 + 18^2) / 3 + 9 = 166.33: 12.9
    assert row(text, "all") == ["3", "0.0", "2.8", "2.8", "67", "%", interval, "%", "12.9", "60", "%"]
    assert text.startswith("Drill of 3 balls: misses in m (long is +), window 3.0 m each side\n")
    assert "Guesses against the number (1): CE +1.0, VE 0.0, E 1.0 m; too few" in text
    assert "Skipped: 1 call." in text
    assert [x.split()[0] for x in text.splitlines() if x[:3] in ("54 ", "58 ")] == ["54", "58"]
    assert "too few balls to compare" in joined(text)
    assert not re.search("execution|times what|advice", text)


def test_a_drill_without_a_chart_compares_with_nothing() -> None:
    text = drill_text(drilled(*(ball("54", 50.0 + i, chart=False) for i in range(4))), "yd", PLAN)
    assert "chart\n" not in text
    assert "expects" not in text
    assert "There is no chart yet to compare with" in text
    assert "Skipped" not in text
    assert "Guesses" not in text


def test_balls_with_and_without_advice_have_rows_of_their_own() -> None:
    mixed = drilled(ball("54", 52.0), ball("54", 63.0, advice_shown=False), ball("54", 69.0, advice_shown=False))
    text = drill_text(mixed, "m", PLAN)
    assert row(text, "with advice")[:4] == ["1", "+2.0", "-", "2.0"]
    assert row(text, "without advice")[:4] == ["2", "+1.0", "2.0", "2.2"]
    hidden = drilled(ball("54", 52.0, advice_shown=False))
    assert "without advice" in drill_text(hidden, "m", PLAN)
    # nobody promised advice: the row would say what `all` says
    assert "without advice" not in drill_text(hidden, "m", dataclasses.replace(PLAN, advice=False))


@pytest.mark.parametrize("label", [LONG, ONE_WORD, WIDE])
@pytest.mark.parametrize("unit", ["yd", "m"])
def test_a_drill_fits_80_columns(label: str, unit: LengthUnit) -> None:
    plan = DrillPlan((50.0, 90.0) * 4, 50.0, 90.0, 1, WindowRule(share=0.125), hold=0.6, scale=1.25)
    events: list[Event] = []
    for i, carry in enumerate((152.0, 162.0, 176.0, 181.0, 1.5, 99.9)):
        events += [Guess(150.0 - 7 * i), ball(label if i % 2 else "x", carry, advice_shown=i > 2)]
    state = replay(plan, [*events, Skip()])
    summary = summarise(state, lambda low, high: band_label(unit, low, high), earlier=state)
    assert summary is not None
    text = drill_text(summary, unit, plan)
    assert widest(text) <= 80
    for word in ("execution", "times what", "correlation", "Test,", "held at 60 %", "Skipped", "without advice"):
        assert word in joined(text), word
    for char in set(label) - {" "}:
        assert text.count(char) >= label.count(char)


# --- the sentences

OF_TEN = "Inside the window 5 of 10"
SOLID = "that the chart expects of solid balls with these shots"
SHORT = " Most of it is one-sided: 3.0 m short on average."


def tally(
    n: int, inside: int, low: float, high: float, expected: float | None, ce_m: float = 0.0, best: float | None = None
) -> DrillSummary:
    summary = drilled(ball("54", 52.0))
    total = dataclasses.replace(
        summary.total, n=n, inside=inside, share=inside / n, share_low=low, share_high=high,
        expected_share=expected, ce_m=ce_m, ve_m=2.0,
    )  # fmt: skip
    return dataclasses.replace(summary, total=total, best_share=best)


@pytest.mark.parametrize(
    ("summary", "sentence"),
    [
        (tally(10, 5, 0.3, 0.7, 0.6), f"{OF_TEN}, about the 60 % {SOLID}."),
        (tally(10, 5, 0.3, 0.7, 0.3), f"{OF_TEN}, about the 30 % {SOLID}."),  # the ends belong to it
        (tally(10, 5, 0.3, 0.7, 0.7), f"{OF_TEN}, about the 70 % {SOLID}."),
        (tally(10, 5, 0.3, 0.7, 0.2), f"{OF_TEN}, probably better than the 20 % {SOLID}."),
        (tally(10, 5, 0.3, 0.7, 0.8), f"{OF_TEN}, probably worse than the 80 % {SOLID}."),
        (tally(10, 5, 0.3, 0.7, 0.6, -3.0), f"{OF_TEN}, about the 60 % {SOLID}.{SHORT}"),
        (tally(10, 5, 0.3, 0.7, 0.6, -2.0), f"{OF_TEN}, about the 60 % {SOLID}."),  # no larger than the spread
        (
            tally(10, 5, 0.3, 0.7, 0.6, best=0.66),
            f"{OF_TEN}, about the 60 % {SOLID} (66 % with the shots that it would have chosen).",
        ),
        (tally(10, 5, 0.3, 0.7, 0.6, best=0.64), f"{OF_TEN}, about the 60 % {SOLID}."),  # not worth saying
        (
            tally(4, 0, 0.0, 0.29, 0.6, 3.0),
            f"Inside the window 0 of 4: too few balls to compare with the 60 % {SOLID}.",
        ),
        (
            tally(10, 5, 0.3, 0.7, None),
            "There is no chart yet to compare with: the balls of this drill are its first shots.",
        ),
        (
            dataclasses.replace(tally(10, 5, 0.3, 0.7, 0.8), window_now_m=4.0, window_call_m=60.0),
            "The window was moved to hold that share, so the share tells nothing new: its width is the result.",
        ),
    ],
)
def test_the_reading_of_a_drill(summary: DrillSummary, sentence: str) -> None:
    assert reading(summary, "m") == sentence
    assert widest(wrap(sentence)) <= 80


def worst(n: int, miss_m: float | None, share: float | None) -> DrillSummary:
    return dataclasses.replace(tally(n, 1, 0.0, 1.0, 0.6), worst_m=miss_m, worst_share=share)


@pytest.mark.parametrize(
    ("summary", "sentence"),
    [
        (worst(20, -33.0, 0.914), "One ball (33.0 m short) makes 91 % of the square of E."),
        (worst(5, 8.25, 0.501), "One ball (8.3 m long) makes 50 % of the square of E."),
        (worst(20, -33.0, 0.5), ""),
        (worst(4, -33.0, 0.9), ""),  # of a few balls one always makes much
        (worst(20, None, None), ""),
    ],
)
def test_one_ball_that_makes_most_of_e_is_named(summary: DrillSummary, sentence: str) -> None:
    assert one_ball_line(summary, "m") == sentence


def test_one_ball_that_makes_most_of_e_is_in_the_text() -> None:
    plan = DrillPlan((50.0, 60.0, 70.0, 80.0, 50.0), 50.0, 80.0, 1, WindowRule(fixed_m=3.0))
    # squares 1, 4, 1, 900, 4: 900 of 910
    summary = drilled(*(ball("54", carry) for carry in (51.0, 62.0, 71.0, 50.0, 52.0)), plan=plan)
    assert "One ball (30.0 m short) makes 99 % of the square of E." in joined(drill_text(summary, "m", plan))
    even = drilled(*(ball("54", carry) for carry in (51.0, 62.0, 71.0, 82.0, 52.0)), plan=plan)
    assert "One ball" not in drill_text(even, "m", plan)


def test_the_window_that_adapts_says_how_wide_it_is_by_now() -> None:
    calls = (64.0 * YARD_M, 70.0 * YARD_M)
    plan = DrillPlan(calls, *calls, 1, WindowRule(fixed_m=4.0 * YARD_M), hold=0.6)
    summary = drilled(ball("54", 90.0), ball("54", 90.5), plan=plan)
    # two misses, each 0.3 * 0.6 in the log: 4 exp(0.36) = 5.73
    assert window_words(summary, "yd", plan) == (
        "held at 60 %: about 6 yd each side at 70 yd by now (it began as 4.0 yd each side)"
    )
    wide = dataclasses.replace(plan, scale=1.5)
    assert window_words(drilled(ball("54", 90.0), plan=wide), "yd", wide).endswith(
        "(it began as 1.50 times 4.0 yd each side)"
    )
    assert window_words(drilled(ball("54", 90.0)), "m", PLAN) == "3.0 m each side"


@pytest.mark.parametrize(
    ("ratio", "sentence"),
    [
        (
            ErrorRatio(1.124, 0.895, 1.5, 0),
            "Solid balls: E is 1.12 times what the chart expects (80 % interval 0.90 to 1.50).",
        ),
        (
            ErrorRatio(0.8, 0.6, 10.0, 1),
            "Solid balls (1 ball far off left out): E is 0.80 times what the chart expects (80 % interval 0.60 to 10).",
        ),
        (
            ErrorRatio(51.65, 9.0, 149.16, 2),  # figures that mean nothing are left out
            "Solid balls (2 balls far off left out): E is 52 times what the chart expects (80 % interval 9.00 to 149).",
        ),
    ],
)
def test_the_ratio(ratio: ErrorRatio, sentence: str) -> None:
    assert ratio_line(ratio) == sentence


def split(
    choice: float, chart: float, low: float, high: float, execution: float, expected: float = 3.0, together: float = 0.0
) -> ErrorSplit:
    e2 = choice**2 + chart**2 + execution**2 + together
    return ErrorSplit(18, math.sqrt(e2), choice, chart, low, high, execution, expected, together)


CANNOT = "the chart itself cannot be told from right."
CHOICE = "The largest part is the choice: look for shots whose median lies nearer these calls."
NARROW = f"Execution spread about as the chart expects, or less; {CANNOT}"
MADE_UP = "Choice and chart made up for each other"
BESIDES = "Besides the swing, the chart, or this day, is probably {}: it has these balls now, so ask it again."


@pytest.mark.parametrize(
    ("parts", "sentence"),
    [
        (split(1.0, 0.5, -0.5, 1.5, 3.0), NARROW),
        (split(1.0, 0.5, -0.5, 1.5, 3.59), NARROW),  # a fifth wider is chance
        (split(1.0, 0.5, -0.5, 1.5, 3.7), f"Execution spread wider than the chart expects; {CANNOT}"),
        (split(0.0, 0.0, -1.0, 1.0, 0.0), NARROW),  # every ball on the number
        (split(0.0, 4.0, -1.0, 9.0, 1.0), NARROW),  # the chart may be off, and nobody can tell
        (split(0.09, 0.0, -1.0, 1.0, 0.0), NARROW),  # no choice is nearer than what rounding shows
        (split(0.11, 0.0, -1.0, 1.0, 0.0), CHOICE),
        (split(4.0, 0.5, -0.5, 1.5, 3.0), CHOICE),
        (split(4.0, 2.0, 1.0, 3.0, 3.0), CHOICE),
        (
            split(1.0, 2.0, 1.0, 3.0, 3.0),
            BESIDES.format("2.0 m short"),
        ),
        (
            split(1.0, -4.0, -5.0, -3.0, 3.0),
            BESIDES.format("4.0 m long"),
        ),
        (
            split(5.0, 5.0, 4.0, 6.0, 0.8, together=-50.0),
            f"{MADE_UP}: the chart, or this day, is probably 5.0 m short, and the shots were chosen as if you knew.",
        ),
        (
            split(5.2, -5.0, -6.0, -4.0, 0.8, together=-51.0),
            f"{MADE_UP}: the chart, or this day, is probably 5.0 m long, and the shots were chosen as if you knew.",
        ),
        (
            split(3.7, 3.6, -0.3, 7.5, 0.5, together=-26.0),
            f"{MADE_UP}, perhaps by chance: the chart cannot be told from right.",
        ),
        # less than the smaller square is no making up, nor where both are small beside the execution
        (
            split(3.0, 4.0, 3.0, 5.0, 2.0, together=-8.9),
            BESIDES.format("4.0 m short"),
        ),
        (split(1.0, 1.0, -1.0, 3.0, 3.3, together=-2.0), NARROW),
    ],
)
def test_the_reading_of_the_split(parts: ErrorSplit, sentence: str) -> None:
    assert split_reading(parts, "m") == sentence
    assert widest(wrap(sentence)) <= 80


def test_the_reading_of_the_split_is_in_the_players_unit() -> None:
    assert "probably 2.2 yd short" in split_reading(split(1.0, 2.0, 1.0, 3.0, 3.0), "yd")


def test_the_split_in_one_line_of_numbers() -> None:
    # 1 + 0.25 + 9 + 1: E 3.35, and a tenth of its square is 1.125: what they share is less
    assert split_line(split(1.0, 0.5, -0.5, 1.5, 3.0, 2.8, together=1.0), "m") == (
        "Of the E of 18 solid balls, 3.4 m: choice 1.0, chart +0.5 (80 % interval -0.5 to +1.5), execution 3.0 where "
        "the chart expects 2.8."
    )
    for together in (2.0, -2.0):
        shared = split_line(split(1.0, 0.5, -0.5, 1.5, 3.0, 2.8, together=together), "m")
        assert shared.endswith("execution 3.0 where the chart expects 2.8 (they share the rest).")
    # 3.0 m are 3.28 yd, 2.8 m 3.06 yd, and E of sqrt(10.25) m 3.50 yd
    assert split_line(split(1.0, 0.5, -0.5, 1.5, 3.0, 2.8), "yd") == (
        "Of the E of 18 solid balls, 3.5 yd: choice 1.1, chart +0.5 (80 % interval -0.5 to +1.6), execution 3.3 where "
        "the chart expects 3.1."
    )


FELT = "correlation of guessed and real miss"
TOO_FEW = "too few or too alike to say whether they follow the misses."


@pytest.mark.parametrize(
    ("guess", "errors", "said"),
    [
        (
            GuessSummary(9, 1.04, 2.0, 2.25, 0.95, 0.614, 0.16, 0.85),
            "(9): CE +1.0, VE 2.0, E 2.3 m",
            f"{FELT} 0.61 (80 % interval 0.16 to 0.85).",
        ),
        (GuessSummary(6, 1.0, 2.0, 2.2, 0.9, -0.5, None, None), "(6): CE +1.0, VE 2.0, E 2.2 m", f"{FELT} -0.50."),
        # one ball that was felt would decide it
        (GuessSummary(5, -1.0, 2.0, 2.2, 0.9, 0.7, 0.1, 0.9), "(5): CE -1.0, VE 2.0, E 2.2 m", TOO_FEW),
        (GuessSummary(9, 0.0, 2.0, 2.0, None, None, None, None), "(9): CE 0.0, VE 2.0, E 2.0 m", TOO_FEW),
    ],
)
def test_the_guesses(guess: GuessSummary, errors: str, said: str) -> None:
    assert guess_line(guess, "m") == f"Guesses against the number {errors}; {said}"


def compared(
    low: float | None, ratio: float | None, high: float | None, n: int = 18, advised: int = 0
) -> DrillComparison:
    return DrillComparison(n, advised, 4.2, 3.9, 9, 10, ratio, low, high)


def test_two_days_in_one_line_of_numbers() -> None:
    assert comparison_line(compared(0.7, 0.93, 1.24), "m") == (
        "Test, 18 calls answered on both days: E 4.2 m then, 3.9 m now, ratio 0.93 (80 % interval 0.70 to 1.24); "
        "inside today's window 9 then, 10 now."
    )
    assert comparison_line(compared(None, None, None, 1), "m") == (
        "Test, 1 call answered on both days: E 4.2 m then, 3.9 m now; inside today's window 9 then, 10 now."
    )
    assert "ratio 12 (80 % interval 8.00 to 18);" in comparison_line(compared(8.0, 12.3, 18.4), "m")


UNCHANGED = "No change can be seen; 18 balls a day show only large ones."
SMALLER = "E is smaller than on that day: it may be learning, a good day now, or a poor day then."
LARGER = (
    "E is larger than on that day: not all of it may have lasted; a poor day, or a very good one then, looks alike."
)
ADVISED = "On that day the chart advised {} of the 18 shots; today the choice was yours."


@pytest.mark.parametrize(
    ("comparison", "sentence"),
    [
        (compared(0.7, 0.93, 1.24), UNCHANGED),
        (compared(0.7, 0.85, 1.0), UNCHANGED),
        (compared(1.0, 1.2, 1.4), UNCHANGED),
        (compared(0.6, 0.8, 0.99), SMALLER),
        (compared(1.01, 1.3, 1.6), LARGER),
        (compared(0.7, 0.93, 1.24, advised=18), f"{UNCHANGED} {ADVISED.format(18)}"),
        (compared(0.6, 0.8, 0.99, advised=1), f"{SMALLER} {ADVISED.format(1)}"),
        (compared(1.01, 1.3, 1.6, advised=7), f"{LARGER} {ADVISED.format(7)}"),
        (compared(None, None, None, 4), "Too few balls to tell the days apart."),
        (compared(None, None, None, 4, 4), "Too few balls to tell the days apart."),
        (compared(None, None, None, 5), "On one of the days every ball was on the number: no ratio."),
    ],
)
def test_the_reading_of_two_days(comparison: DrillComparison, sentence: str) -> None:
    assert comparison_reading(comparison) == sentence
    assert widest(wrap(sentence)) <= 80


def test_every_part_of_the_summary_is_in_the_text() -> None:
    plan = DrillPlan((50.0, 60.0, 70.0, 80.0) * 2, 50.0, 80.0, 1, WindowRule(fixed_m=3.0))
    state = replay(plan, [ball("54", 51.0 + 4.9 * i) for i in range(8)])
    summary = summarise(state, lambda low, high: band_label("m", low, high), earlier=state)
    assert summary is not None
    assert summary.ratio is not None
    assert summary.split is not None
    assert summary.comparison is not None
    text = joined(drill_text(summary, "m", plan))
    for sentence in (
        reading(summary, "m"),
        ratio_line(summary.ratio),
        split_line(summary.split, "m"),
        split_reading(summary.split, "m"),
        comparison_line(summary.comparison, "m"),
        comparison_reading(summary.comparison),
    ):
        assert sentence in text


@pytest.mark.parametrize(
    ("unit", "low_m", "high_m", "label"),
    [("m", 50.0, 50.0, "50 m"), ("m", 50.0, 60.4, "50-60 m"), ("yd", 50 * YARD_M, 60 * YARD_M, "50-60 yd")],
)
def test_the_name_of_a_band(unit: LengthUnit, low_m: float, high_m: float, label: str) -> None:
    assert band_label(unit, low_m, high_m) == label
