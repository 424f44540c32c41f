"""The picture of one distance with three flights, asserted on what was drawn."""

import itertools
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.choose import Flights, Limits, Option, find_flights
from wedgelab.prediction import Day, ShotKind
from wedgelab.render.figure import save_figure
from wedgelab.render.flights_figure import LEFT_OUT, What, draw_flights, flights_figure
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.units import YARD_M, LengthUnit, format_number
from wedgelab.window import WindowRule

STRETCH = {"low": 1.1, "stock": 1.0, "high": 0.9}
MARKERS = {"low": "v", "stock": "o", "high": "^"}


def by_flight(kind: ShotKind) -> float:
    return STRETCH[kind.trajectory] * fake_carry_m(kind)


PLAYER = FakePredictor(carry_m=by_flight, count=lambda kind: 3 if kind.trajectory == "stock" else 0)
STEEP = Limits(max_apex_m=17.45, min_land_deg=45.0)
HOSTILE = Bag(
    (Wedge("<b>$x^2$</b> and more of it", 60.0), Wedge("楔" * 40, 50.0)),
    (SwingLength("three quarters, slowly", 135.0), SwingLength("7:30", 45.0), SwingLength("=cmd()", 90.0)),
)


def ask(limits: Limits | None = None, bag: Bag = TYPICAL_BAG, day: Day | None = None) -> Flights:
    return find_flights(PLAYER, bag, 70.0, window=WindowRule(), limits=limits or Limits(), day=day, unit="m")


def drawn(flights: Flights, what: What, unit: LengthUnit = "m") -> Axes:
    ax = Figure().add_subplot()
    assert draw_flights(ax, flights, unit, what) is ax
    return ax


def marks(ax: Axes) -> list[Line2D]:
    return [line for line in ax.lines if line.get_linestyle() == "None"]


@pytest.mark.parametrize("unit", ["yd", "m"])
@pytest.mark.parametrize("what", ["apex", "landing", "chance"])
def test_each_row_has_its_point_and_its_number(what: What, unit: LengthUnit) -> None:
    flights = ask()
    size = YARD_M if unit == "yd" else 1.0
    ax = drawn(flights, what, unit)

    def value(option: Option) -> float:
        return {
            "apex": option.flight.apex_m / size, "landing": option.flight.land_deg,
            "chance": 100.0 * option.window_probability,
        }[what]  # fmt: skip

    assert [float(np.asarray(line.get_xdata())[0]) for line in marks(ax)] == pytest.approx(
        [value(option) for option in flights.flights]
    )
    shown = [format_number(value(option)) for option in flights.flights]
    if what == "chance":
        wanted = [f"{number} %" for number in shown]
    else:  # what the fake calls measured stands without brackets
        wanted = [n if o.swing_deg == 90.0 else f"({n})" for n, o in zip(shown, flights.flights, strict=True)]
    assert [text.get_text() for text in ax.texts] == wanted
    heights = [float(np.asarray(line.get_ydata())[0]) for line in marks(ax)]
    assert heights == sorted(set(heights))
    assert ax.get_ylim()[0] > ax.get_ylim()[1]  # the first row on top
    assert [label.get_text() for label in ax.get_yticklabels()] == [
        f"{o.wedge} {o.trajectory}, {o.swing}" for o in flights.flights
    ]
    low, high = ax.get_xlim()
    assert high - low >= 6.0 - 1e-9
    assert low == 0.0 or what != "chance"


def test_flights_are_told_apart_by_their_marks_and_hollow_means_never_logged() -> None:
    flights = ask()
    assert {option.trajectory for option in flights.flights} == set(MARKERS)
    assert {option.n_shots == 0 for option in flights.flights} == {True, False}
    for line, option in zip(marks(drawn(flights, "apex")), flights.flights, strict=True):
        assert line.get_marker() == MARKERS[option.trajectory]
        assert (line.get_markerfacecolor() == "white") == (option.n_shots == 0)


def test_what_does_not_keep_the_limit_is_a_grey_cross_and_the_limit_a_dashed_line() -> None:
    flights = ask(STEEP)
    assert flights.left_out
    for what, at in (("apex", 17.45), ("landing", 45.0), ("chance", None)):
        ax = drawn(flights, what)  # type: ignore[arg-type]  # the words are those of What
        for line, option in zip(marks(ax), flights.shots, strict=True):
            is_out = option in flights.left_out
            assert (line.get_marker() == "x") == (line.get_color() == LEFT_OUT) == is_out
        dashed = [float(np.asarray(line.get_xdata())[0]) for line in ax.lines if line.get_linestyle() == "--"]
        assert dashed == ([] if at is None else [at])
        assert len(marks(ax)) == len(flights.shots) > len(flights.left_out)
        said = [label.get_text().endswith(" (left out)") for label in ax.get_yticklabels()]
        assert said == [option in flights.left_out for option in flights.shots]
    assert not [line for line in drawn(ask(), "apex").lines if line.get_linestyle() == "--"]


@pytest.mark.filterwarnings("ignore:Glyph .* missing from")
@pytest.mark.parametrize("flights", [ask(), ask(STEEP), ask(bag=HOSTILE)], ids=["all", "limits", "hostile"])
def test_no_number_and_no_title_touches_another_or_leaves_the_picture(flights: Flights) -> None:
    figure = flights_figure(flights, "m")
    figure.draw_without_rendering()
    assert len(figure.axes) == 3
    boxes = []
    for i, ax in enumerate(figure.axes):
        boxes += [text.get_window_extent() for text in ax.texts]
        labels = [label for label in ax.get_yticklabels() if label.get_text()]
        assert len(labels) == (len(flights.shots) if i == 0 else 0)
        boxes += [label.get_window_extent() for label in labels]
        assert not any(text.get_parse_math() for text in (*ax.texts, *labels))
    for one, other in itertools.combinations(boxes, 2):
        assert not one.overlaps(other)
    for box in boxes:
        assert figure.bbox.x0 <= box.x0 <= box.x1 <= figure.bbox.x1
        assert figure.bbox.y0 <= box.y0 <= box.y1 <= figure.bbox.y1
    title = figure.get_suptitle().split("\n")[0]
    assert title == "70 m low, stock and high"
    said = " ".join(figure.get_suptitle().split())
    assert "hollow: no ball logged so" in said
    assert ("dashed: apex 17.5 m or less, landing at 45 deg or more" in said) == bool(flights.left_out)
    assert ("cross: left out" in said) == bool(flights.left_out)


def test_the_day_is_in_the_title_and_the_files_open(tmp_path: Path) -> None:
    figure = flights_figure(ask(day=Day(Conditions(wind_mps=-4.0))), "m")
    assert "today: head wind 4 m/s" in figure.get_suptitle()
    for ending, start in (("png", b"\x89PNG\r\n\x1a\n"), ("svg", b"<?xml"), ("pdf", b"%PDF")):
        save_figure(figure, tmp_path / f"flights.{ending}")
        assert (tmp_path / f"flights.{ending}").read_bytes().startswith(start)
