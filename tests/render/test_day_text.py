"""What the player reads of a day, of the landing and of the run-out: every number, at most 80 columns, true words."""

import dataclasses
import math
import re
from typing import Any

import pytest
from wcwidth import wcswidth

from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.chart import AirNote, Chart, ChartCell, Today, build_chart
from wedgelab.choose import choose
from wedgelab.prediction import NOT_SAID, Day, FlightEstimate
from wedgelab.render.choice_text import choice_text, today_line
from wedgelab.render.text import air_line, chart_text, landing_legend
from wedgelab.render.words import (
    DAY_RULES_LINE,
    RULES_LINE,
    STANDARD_AIR,
    conditions_text,
    day_text,
    estimate_text,
    reference_text,
    span_text,
)
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.units import LengthUnit
from wedgelab.window import WindowRule

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
PLAYER = FakePredictor()
DAY = Day(Conditions(air_temp_c=6.0, wind_mps=-6.0, cross_wind_mps=-3.0), rise_m=2.0)
WARM = Conditions(air_temp_c=20.0)
NAN = math.nan
NOWHERE = Today(None, None, None, None, None)
NO_FLIGHT = FlightEstimate(NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, "estimate")
LONG = "my old wedge, bent to 54 and ground twic"
ONE_WORD = "n" * 40
WIDE = "楔" * 40


def half_up(x: float) -> str:
    """Half away from nothing, as a reader rounds."""
    return str(int(math.copysign(math.floor(abs(x) + 0.5), x)))


def tenth(x: float) -> str:
    return f"{math.floor(10 * x + 0.5) / 10:.1f}"


def span(low: float, high: float) -> list[str]:
    """The words of a span of whole numbers."""
    shown = half_up(low), half_up(high)
    return [shown[0], "to", shown[1]] if shown[0].startswith("-") else ["-".join(shown)]


def rows_of(text: str, label: str) -> list[list[str]]:
    """Words of the rows whose second column is that label."""
    pattern = re.compile(rf"^(?:.*\S)? *\b{re.escape(label)}  +(.*)$")
    return [match[1].split() for line in text.splitlines() if (match := pattern.match(line))]


def one_line(text: str) -> str:
    return " ".join(text.split())


def widest(text: str) -> int:
    return max(wcswidth(line) for line in text.splitlines())


def on_a_day(day: Day | None = DAY, green: str | None = None) -> Chart:
    return build_chart(PLAYER, TYPICAL_BAG, player="Ada", reference=WARM, day=day, green=green)


# --- the chart


@pytest.mark.parametrize(("unit", "size"), [("yd", YARD_M), ("m", 1.0)])
def test_every_number_of_the_day_stands_under_that_of_the_chart(unit: LengthUnit, size: float) -> None:
    chart = on_a_day()
    text = chart_text(chart, unit)
    carries, todays = rows_of(text, f"carry {unit}"), rows_of(text, f"today {unit}")
    ranges, drifts = rows_of(text, "8 in 10"), rows_of(text, f"drift {unit}")
    assert len(carries) == len(todays) == len(ranges) == len(drifts) == 3
    for i, row in enumerate(chart.rows):
        shown, likely = [], []
        for cell in row:
            assert cell.today is not None
            today = [getattr(cell.today, f"carry_today_{name}m") / size for name in ("", "se_", "p10_", "p90_")]
            shown += [half_up(today[0]), f"±{tenth(today[1])}"]
            likely.append(f"{half_up(today[2])}-{half_up(today[3])}")
        assert carries[i] == [sign + half_up(c.carry_m / size) for sign, c in zip(["~", "", "~"], row, strict=True)]
        assert todays[i] == shown
        assert ranges[i] == likely  # the day's, as the first lines say
        assert drifts[i] == [half_up(3.0 / size), "L"] * 3  # from the right
    assert one_line(text).startswith(
        f"Ada: carry in {unit}, the range of 8 solid balls in 10, spin in rpm, balls logged Carry: for 20 C. Today, "
        "give or take one standard error, and the range: for 6 C, head wind 6 m/s, wind from the right 3 m/s, green "
        f"{'2.2 yd' if unit == 'yd' else '2 m'} above the ball. wedge"
    )
    assert DAY_RULES_LINE in one_line(text)


def test_without_a_day_no_word_of_it() -> None:
    text = chart_text(on_a_day(None), "yd")
    assert not {"today", "Today", "drift", "lands", "apex", "runs", "Rules:"} & set(re.findall(r"[\w:]+", text))
    reference = build_chart(PLAYER, TYPICAL_BAG, player="Ada")
    assert text == chart_text(reference, "yd")


def test_a_day_leaves_the_rows_of_the_chart_as_they_were() -> None:
    text, plain = chart_text(on_a_day(), "yd"), chart_text(on_a_day(None), "yd")
    for label in ("carry yd", "spin rpm", "balls"):
        assert rows_of(text, label) == rows_of(plain, label)
    assert "Today's gaps to the next wedge" in text
    assert "Gaps to the next wedge" in plain


@pytest.mark.parametrize("green", ["soft", "normal", "firm"])
@pytest.mark.parametrize(("unit", "size"), [("yd", YARD_M), ("m", 1.0)])
def test_landing_apex_and_run_out_of_every_shot(green: str, unit: LengthUnit, size: float) -> None:
    chart = on_a_day(None, green)
    text = chart_text(chart, unit)
    lands, apexes = rows_of(text, "lands deg"), rows_of(text, f"apex {unit}")
    runs = rows_of(text, f"runs {unit}")
    assert len(lands) == len(apexes) == len(runs) == 3
    for i, row in enumerate(chart.rows):
        flights = [cell.flight for cell in row if cell.flight is not None]
        # in the fake a flight was measured at 9:00 alone; what was not stands in brackets
        frames = [("(", ")"), ("", ""), ("(", ")")]
        assert lands[i] == [
            f"{a}{half_up(f.land_deg)}{b}" for f, (a, b) in zip(flights, frames, strict=True)
        ]  # fmt: skip
        assert apexes[i] == [f"{a}{half_up(f.apex_m / size)}{b}" for f, (a, b) in zip(flights, frames, strict=True)]
        assert runs[i] == [
            word for f in flights for word in span(f.run_out_low_m / size, f.run_out_high_m / size)
        ]  # fmt: skip
    assert one_line(landing_legend(green, unit)) in one_line(text)
    assert f"on a level {green} green" in one_line(text)


def test_a_ball_that_never_gets_up_is_a_dash_in_every_row_of_the_day() -> None:
    chart = on_a_day(green="normal")
    short = tuple(
        tuple(dataclasses.replace(c, today=NOWHERE, flight=NO_FLIGHT) if c.swing == "7:30" else c for c in row)
        for row in chart.rows
    )
    text = chart_text(dataclasses.replace(chart, rows=short), "yd")
    for label in ("today yd", "8 in 10", "lands deg", "apex yd", "runs yd", "drift yd"):
        for row in rows_of(text, label):
            assert row[0] == "-", label
            assert row[1:3] != ["to", "-"], label
            assert "-" not in row[1:], label
    assert [row[0] for row in rows_of(text, "carry yd")] == [
        row[0] for row in rows_of(chart_text(chart, "yd"), "carry yd")
    ]
    assert "nan" not in text.casefold()


@pytest.mark.parametrize(
    ("drift_m", "shown"), [(2.4, "2 R"), (-2.6, "3 L"), (0.4, "0"), (-0.4, "0"), (0.0, "0"), (0.5, "1 R")]
)
def test_a_drift_says_its_side_unless_it_is_nought(drift_m: float, shown: str) -> None:
    chart = on_a_day()
    rows = tuple(
        tuple(dataclasses.replace(c, today=dataclasses.replace(c.today or NOWHERE, drift_today_m=drift_m)) for c in row)
        for row in chart.rows
    )
    assert rows_of(chart_text(dataclasses.replace(chart, rows=rows), "m"), "drift m") == [shown.split() * 3] * 3


# --- what the log was brought to


@pytest.mark.parametrize(
    ("note", "reference", "unit", "sentence"),
    [
        (AirNote(9, 2, -1.5, 3.24), NOT_SAID, "m",
         f"9 carries of 2 sessions were brought to {STANDARD_AIR} (-1.5 to +3.2 m)"),
        (AirNote(12, 1, 0.9144, 1.8288), WARM, "yd", "12 carries of 1 session were brought to 20 C (+1.0 to +2.0 yd)"),
        (AirNote(1, 1, 2.0, 2.0), WARM, "m", "1 carry of 1 session was brought to 20 C (+2.0 m)"),
    ],
)  # fmt: skip
def test_bringing_the_log_to_the_reference_is_said(
    note: AirNote, reference: Conditions, unit: LengthUnit, sentence: str
) -> None:
    assert air_line(note, reference, unit) == f"{sentence}; the log keeps what was measured."
    chart = build_chart(PLAYER, TYPICAL_BAG, reference=reference, air_note=note)
    assert sentence in one_line(chart_text(chart, unit))


# --- the choice


@pytest.mark.parametrize(("unit", "size"), [("yd", YARD_M), ("m", 1.0)])
def test_every_number_of_a_choice_on_a_day_stands_in_its_row(unit: LengthUnit, size: float) -> None:
    choice = choose(
        PLAYER, TYPICAL_BAG, 60.0, window=WindowRule(), want="spin", unit=unit, reference=WARM, day=DAY, green="firm"
    )
    text = choice_text(choice, unit, WindowRule())
    assert len(choice.options) > 2
    for i, option in enumerate(choice.options, 1):
        (line,) = [line for line in text.splitlines() if re.match(rf"\s*{i}\+?  ", line)]
        today, flight = option.today, option.flight
        assert today is not None
        measured = option.swing_deg == 90.0
        assert line.split() == [
            f"{i}{'+' if option.is_unbeaten else ''}",
            option.wedge,
            *f"{option.swing}{'' if option.practised else ' *'}".split(),
            f"{half_up(option.played_m / size)}/{'' if measured else '~'}{half_up(option.carry_m / size)}",
            f"{half_up((today.carry_today_p10_m or 0.0) / size)}-{half_up((today.carry_today_p90_m or 0.0) / size)}",
            half_up(100 * option.window_probability),
            "%",
            f"({50 * math.floor(option.spin_rpm / 50 + 0.5)})",
            "±400",
            half_up(flight.land_deg) if measured else f"({half_up(flight.land_deg)})",
            *span(flight.run_out_low_m / size, flight.run_out_high_m / size),
            str(option.n_shots),
        ]
    said = one_line(text)
    assert f"Today: {day_text(DAY, unit)}. Chart: 20 C." in said
    assert today_line(choice, unit) in said
    assert landing_legend("firm", unit) in said
    assert DAY_RULES_LINE in said
    assert RULES_LINE not in said


def test_without_a_day_the_choice_has_the_usual_rules_and_one_carry() -> None:
    text = choice_text(choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule()), "m", WindowRule())
    assert RULES_LINE in one_line(text)
    assert "oday" not in text
    assert "known to" not in text


@pytest.mark.parametrize(("cross_wind_mps", "side"), [(2.0, "R"), (-2.0, "L"), (None, "")])
def test_how_surely_the_days_carry_is_known_and_where_the_wind_takes_it(
    cross_wind_mps: float | None, side: str
) -> None:
    day = Day(Conditions(cross_wind_mps=cross_wind_mps))
    choice = choose(PLAYER, TYPICAL_BAG, 75.0, window=WindowRule(), day=day)
    best = choice.best
    # the fake's doubt on a day: sqrt(0.003 + 0.0004) of the carry
    known = tenth(best.played_m * math.sqrt(0.0034))
    line = today_line(choice, "m")
    assert line.startswith(f"Today's carry of {best.wedge} {best.swing} is known to ±{known} m (one standard error")
    assert line.endswith(f"; the cross wind takes it about 2 {side}." if side else "leave open).")
    assert today_line(choose(PLAYER, TYPICAL_BAG, 75.0, window=WindowRule()), "m") == ""


# --- 80 columns

FAR = Today(119.6, 12.3, 104.4, 131.4, -40.0)
BACK = FlightEstimate(61.0, 40.0, 6.0, 25.0, 12000.0, -10.4, -6.0, -3.4, 0.0, "estimate")


@pytest.mark.parametrize("swings", range(1, 7))
@pytest.mark.parametrize("label", ["54", LONG, ONE_WORD, WIDE])
@pytest.mark.parametrize("named", ["", ONE_WORD])
@pytest.mark.parametrize("unit", ["yd", "m"])
def test_a_chart_with_everything_fits_80_columns(swings: int, label: str, named: str, unit: LengthUnit) -> None:
    lengths = tuple(SwingLength(f"{named[:38]}s{i}", 30.0 + 20.0 * i) for i in range(swings))
    bag = Bag((Wedge(label, 54.0), Wedge(f"b{label}"[:40], 58.0)), lengths)
    chart = build_chart(PLAYER, bag, player=label, reference=WARM, day=DAY, green="normal")

    def far(cell: ChartCell) -> ChartCell:
        return dataclasses.replace(cell, carry_m=131.0, support="beyond", today=FAR, flight=BACK)

    rows = tuple(tuple(far(cell) for cell in row) for row in chart.rows)
    chart = dataclasses.replace(chart, rows=rows, air_note=AirNote(1234, 12, -10.0, 10.0))
    text = chart_text(chart, unit)
    assert widest(text) <= 80
    assert sum(len(row) for row in rows_of(text, f"runs {unit}")) == 2 * 3 * swings  # "-11 to -4": none is lost
    assert sum(len(row) for row in rows_of(text, f"today {unit}")) == 2 * 2 * swings


@pytest.mark.parametrize("label", ["54", LONG, ONE_WORD, WIDE])
@pytest.mark.parametrize("unit", ["yd", "m"])
def test_a_choice_with_everything_fits_80_columns_and_loses_no_number(label: str, unit: LengthUnit) -> None:
    choice = choose(PLAYER, TYPICAL_BAG, 60.0, window=WindowRule(), reference=WARM, day=DAY)
    far: dict[str, Any] = {
        "wedge": label, "swing": label, "practised": False, "carry_m": 131.0, "support": "beyond", "today": FAR,
        "flight": BACK, "n_shots": 1234, "spin_rpm": 10050.0, "spin_sd_rpm": 1250.0, "spin_support": "none",
        "window_probability": 1.0,
    }  # fmt: skip
    options = tuple(dataclasses.replace(option, **far) for option in choice.options)
    choice = dataclasses.replace(choice, options=options, rival=options[-1])
    text = choice_text(choice, unit, WindowRule(share=0.125))
    assert widest(text) <= 80
    size = YARD_M if unit == "yd" else 1.0
    table = text[: text.index("Spin: median")]
    for number in (half_up(119.6 / size), f"?{half_up(131.0 / size)}", "(10050)", "±1250", "(61)", "1234"):
        assert len(re.findall(rf"(?<![\d?(±]){re.escape(number)}(?![\d)])", table)) == len(options), number


# --- small words


@pytest.mark.parametrize(
    ("conditions", "words"),
    [
        (Conditions(), ""),
        (Conditions(air_temp_c=-4.5), "-4.5 C"),
        (Conditions(air_temp_c=6.0, altitude_m=1200.0, humidity_pct=80.0), "6 C, 1200 m above the sea, 80 % humidity"),
        (Conditions(station_pressure_hpa=876.94), "877 hPa"),
        (Conditions(wind_mps=3.0, cross_wind_mps=2.25), "tail wind 3 m/s, wind from the left 2.3 m/s"),
        (Conditions(wind_mps=-3.0, cross_wind_mps=-2.0), "head wind 3 m/s, wind from the right 2 m/s"),
        (Conditions(wind_mps=0.0), "no tail wind"),
        (Conditions(air_temp_c=0.0, altitude_m=0.0), "0 C, 0 m above the sea"),
    ],
)
def test_conditions_in_words(conditions: Conditions, words: str) -> None:
    assert conditions_text(conditions) == words
    assert reference_text(conditions) == (words or "standard air (15 C, 1013 hPa, dry, calm)")


@pytest.mark.parametrize(
    ("day", "unit", "words"),
    [
        (Day(), "yd", "as in the reference"),
        (Day(rise_m=4.0), "m", "green 4 m above the ball"),
        (Day(rise_m=-4.0), "m", "green 4 m below the ball"),
        (Day(rise_m=4 * YARD_M), "yd", "green 4 yd above the ball"),
        (Day(Conditions(air_temp_c=6.0), rise_m=1.25), "m", "6 C, green 1.3 m above the ball"),
    ],
)
def test_a_day_in_words(day: Day, unit: LengthUnit, words: str) -> None:
    assert day_text(day, unit) == words


@pytest.mark.parametrize(
    ("low_m", "high_m", "shown"),
    [(1.0, 4.0, "1-4"), (0.0, 3.5, "0-4"), (-0.4, 2.0, "0-2"), (-2.0, 1.0, "-2 to 1"), (-4.0, -1.0, "-4 to -1")],
)
def test_a_span_that_may_start_below_nothing(low_m: float, high_m: float, shown: str) -> None:
    assert span_text(low_m, high_m, "m") == shown


def test_a_span_of_nothing_known_is_one_dash() -> None:
    assert span_text(NAN, NAN, "m") == "-"


def test_an_estimate_stands_in_brackets_and_nothing_known_is_one_dash() -> None:
    assert (estimate_text("48", "estimate"), estimate_text("48", "measured")) == ("(48)", "48")
    assert estimate_text("-", "estimate") == "-"
