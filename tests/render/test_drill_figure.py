"""The picture of a drill, asserted on what was drawn, on where its words stand, and on the file that came out."""

import itertools
import math
import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from wedgelab.drill.machine import Ball, DrillPlan, DrillState, replay
from wedgelab.drill.scores import DrillSummary, summarise
from wedgelab.render.drill_figure import draw_drill, drill_figure
from wedgelab.render.drill_text import band_label
from wedgelab.render.figure import COLOURS, MARKERS, save_figure
from wedgelab.units import LengthUnit
from wedgelab.window import WindowRule

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact


def hit(
    carries: list[float], wedges: str = "A", *, chart: bool = True, bare: set[int] | None = None, apart_m: float = 10.0
) -> DrillState:
    """Calls of 50, 60, 70, ... m, 3 m each side; one carry a call, wedges in turn."""
    calls = tuple(50.0 + apart_m * (i % 5) for i in range(len(carries)))
    plan = DrillPlan(calls, min(calls), max(calls), 1, WindowRule(fixed_m=3.0))
    known: dict[str, Any] = (
        {"chart_carry_m": 60.0, "chart_carry_sd_m": 3.0, "chart_carry_se_m": 1.0, "chart_window_probability": 0.6}
        if chart
        else {}
    )
    return replay(
        plan,
        [
            Ball(
                f"s{i}", wedges[i % len(wedges)], 50.0 + wedges.index(wedges[i % len(wedges)]), 90.0, carry,
                advice_shown=i not in (bare or set()), **known,
            )
            for i, carry in enumerate(carries)
        ],
    )  # fmt: skip


def summary_of(state: DrillState, unit: LengthUnit = "m") -> DrillSummary:
    summary = summarise(state, lambda low, high: band_label(unit, low, high))
    assert summary is not None
    return summary


def picture(state: DrillState, unit: LengthUnit = "m") -> tuple[Figure, Axes, Axes]:
    figure = drill_figure(state, summary_of(state, unit), unit)
    left, right = figure.axes
    return figure, left, right


def points(ax: Axes) -> list[Line2D]:
    return [line for line in ax.lines if line.get_linestyle() == "None"]


def xy(line: Line2D) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in np.asarray(line.get_xydata())]


@pytest.mark.parametrize(("unit", "size"), [("m", 1.0), ("yd", YARD_M)])
def test_every_ball_stands_at_its_call_and_carry_in_the_unit(unit: LengthUnit, size: float) -> None:
    state = hit([51.0, 66.0, 71.0, 78.0, 95.0, 49.0], "AB")
    _, left, _ = picture(state, unit)
    drawn = sorted(point for line in points(left) for point in xy(line))
    wanted = sorted((ball.call_m / size, ball.carry_m / size) for ball in state.played)
    assert drawn == [pytest.approx(point) for point in wanted]
    assert (left.get_xlabel(), left.get_ylabel()) == (f"call [{unit}]", f"carry [{unit}]")


def test_the_window_of_each_ball_is_shaded_from_edge_to_edge() -> None:
    plan = DrillPlan((50.0, 60.0), 50.0, 60.0, 1, WindowRule(fixed_m=3.0), hold=0.6)
    state = replay(plan, [Ball("a", "A", 50.0, 90.0, 60.0), Ball("b", "A", 50.0, 90.0, 60.0)])
    _, left, _ = picture(state)
    (shades,) = [c for c in left.collections if isinstance(c, LineCollection)]
    wider = 3.0 * math.exp(0.18)  # after a miss at 60 %
    wanted = [[(50.0, 47.0), (50.0, 53.0)], [(60.0, 60.0 - wider), (60.0, 60.0 + wider)]]
    np.testing.assert_allclose(np.array([np.asarray(s) for s in shades.get_segments()]), wanted)


def test_the_diagonal_is_carry_equal_to_call_across_the_whole_picture() -> None:
    _, left, _ = picture(hit([51.0, 66.0]))
    (line,) = [line for line in left.lines if line.get_linestyle() == "--"]
    assert all(x == y for x, y in xy(line))
    assert (xy(line)[0][0], xy(line)[1][0]) == left.get_xlim()


def test_balls_outside_are_hollow_and_those_without_advice_crossed() -> None:
    _, left, _ = picture(hit([51.0, 66.0, 71.0, 70.0], bare={1, 2}))
    looks = {line.get_markerfacecolor(): xy(line) for line in points(left) if line.get_marker() != "x"}
    assert looks == {COLOURS[0]: [(50.0, 51.0), (70.0, 71.0)], "white": [(60.0, 66.0), (80.0, 70.0)]}
    (crosses,) = [line for line in points(left) if line.get_marker() == "x"]
    assert xy(crosses) == [(60.0, 66.0), (70.0, 71.0)]


def test_ten_wedges_are_told_apart_without_colour_alone() -> None:
    _, left, _ = picture(hit([50.0 + 10 * (i % 5) for i in range(10)], "ABCDEFGHIJ"))
    looks = {(str(line.get_color()), str(line.get_marker())) for line in points(left)}
    assert len(looks) == 10
    assert {marker for _, marker in looks} == set(MARKERS)


def test_bars_are_the_errors_and_marks_what_the_chart_expects() -> None:
    state = hit([51.0, 66.0, 71.0, 78.0, 95.0, 49.0])
    summary = summary_of(state)
    _, _, right = picture(state)
    bars = [bar for bar in right.patches if isinstance(bar, Rectangle)]
    groups = [summary.total, *summary.bands]
    assert len(summary.bands) == 3  # 40 m in bands of twelve or more
    assert [bar.get_height() for bar in bars] == pytest.approx([group.e_m for group in groups])
    (marks,) = points(right)
    assert [y for _, y in xy(marks)] == pytest.approx([group.expected_e_m for group in groups])
    assert [tick.get_text().replace("\n", " ") for tick in right.get_xticklabels()] == [
        f"{group.label} ({group.n})" for group in groups
    ]
    assert [text.get_text() for text in right.texts] == [f"{group.e_m:.1f}" for group in groups]
    top = right.get_ylim()[1]
    assert top > max(*(bar.get_height() for bar in bars), *(y for _, y in xy(marks)))


def test_without_a_chart_there_is_no_mark_and_with_one_band_one_bar() -> None:
    state = hit([51.0], chart=False)
    figure, _, right = picture(state)
    assert points(right) == []
    assert len(right.patches) == 1
    assert "chart" not in " ".join(words_of(figure))


def words_of(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.legends[0].get_texts()]


def test_the_legend_names_what_is_in_the_picture_and_nothing_else() -> None:
    window = ["window", "on the number", "E that the chart expects of solid balls"]
    assert words_of(picture(hit([51.0, 61.0], "AB"))[0]) == ["A (50)", "B (51)", *window]
    assert words_of(picture(hit([51.0, 66.0], "A", bare={0}))[0]) == [
        "A (50)", "hollow: outside the window", "hit without advice", *window,
    ]  # fmt: skip


@pytest.mark.parametrize("unit", ["m", "yd"])
def test_the_title_has_e_and_the_share(unit: LengthUnit) -> None:
    figure, _, _ = picture(hit([54.0, 56.0]), unit)  # misses +4 and -4 m
    shown = "4.0 m" if unit == "m" else "4.4 yd"
    assert figure.get_suptitle() == f"Drill of 2 balls: E {shown}, inside the window 0 of 2 (0 %)"


MANY = [50.0 + 10.0 * (i % 5) + 9.0 * math.sin(2.3 * i) for i in range(150)]


@pytest.mark.parametrize(
    "state",
    [
        hit([51.0]),
        hit(MANY, "ABCDEFGHIJ", bare={3, 7}),
        hit([150.0 + x for x in MANY], "AB", chart=False),
        hit(MANY, "AB", bare={1}, apart_m=35.0),  # up to 208 yd: four bands, the longest names
    ],
)
def test_words_touch_neither_each_other_nor_the_edge(state: DrillState) -> None:
    figure, left, right = picture(state, "yd")
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]  # matplotlib types only part of its backends
    width, height = figure.canvas.get_width_height()
    legend = figure.legends[0].get_window_extent()
    ticks = [tick.get_window_extent() for tick in right.get_xticklabels()]
    for one, other in itertools.pairwise(ticks):
        assert other.x0 > one.x1
    labels = [ax.xaxis.label.get_window_extent() for ax in (left, right)]
    assert max(legend.y1, 0.0) <= min(label.y0 for label in labels)
    assert right.yaxis.label.get_window_extent().x0 > left.get_window_extent().x1
    for box in (legend, *ticks, *labels):
        assert box.x0 >= 0.0
        assert box.x1 <= width
        assert box.y0 >= 0.0
        assert box.y1 <= height
    assert left.get_window_extent().height > 0.5 * height  # the data keeps most of the picture


HOSTILE = ["$\\frac{1$", "$x$", "_hidden", "100%", "a\\b", "<script>", "=1+1", "楔", "🙂", "x^2_3", "n" * 40]


@pytest.mark.parametrize("label", HOSTILE)
def test_a_label_is_drawn_as_it_is_written(label: str, tmp_path: Path) -> None:
    plan = DrillPlan((50.0, 60.0), 50.0, 60.0, 1)
    state = replay(plan, [Ball("a", label, 54.0, 90.0, 51.0), Ball("b", "58", 58.0, 90.0, 61.0)])
    figure, _, _ = picture(state)
    save_figure(figure, tmp_path / "x.png", dpi=30)  # a warning would fail the test
    text = figure.legends[0].get_texts()[0]
    assert text.get_text() == (f"{label} (54)" if len(label) < 12 else "nnnnnnnnnnn…n (54)")
    assert not text.get_parse_math()


def test_the_file_has_the_size_it_should_and_the_same_bytes_twice(tmp_path: Path) -> None:
    for name in ("one.png", "two.png"):
        save_figure(picture(hit([51.0, 66.0], "AB"))[0], tmp_path / name)
    data = (tmp_path / "one.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"  # the PNG signature, ISO/IEC 15948, 5.2
    assert struct.unpack(">II", data[16:24]) == (1200, 750)  # IHDR, 11.2.2: 8 x 5 inches at 150 dots an inch
    assert data == (tmp_path / "two.png").read_bytes()


def test_a_drill_can_be_drawn_into_any_axes_before_its_first_ball_too() -> None:
    ax = Figure().add_subplot()
    assert draw_drill(ax, DrillState.start(DrillPlan((50.0,), 50.0, 50.0, 1)), "m") is ax
    assert points(ax) == []
