"""The picture of the spin, asserted on what was drawn."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Annotation

from tests.conftest import a_shot
from tests.fakes import TYPICAL_BAG, FakePredictor, fake_spin_rpm
from wedgelab.chart import Chart, build_chart, spin_curves
from wedgelab.prediction import Day, ShotKind, SpinSupport
from wedgelab.render.figure import save_figure
from wedgelab.render.spin_figure import spin_figure
from wedgelab.shots import Bag, Conditions, Shot, SwingLength, Wedge

PLAYER = FakePredictor()
SHOTS = [
    a_shot(wedge="50", loft_deg=50.0, swing_deg=90.0, spin_rpm=5200.0),
    a_shot(wedge="50", loft_deg=50.0, swing_deg=90.0),  # no reading
    a_shot(wedge="60", loft_deg=60.0, swing_deg=45.0, spin_rpm=4700.0),
    a_shot(wedge="60", loft_deg=58.0, swing_deg=45.0, spin_rpm=9900.0),  # the club before it was bent
]


def chart_of(supports: Sequence[SpinSupport] = ("measured",) * 3, bag: Bag = TYPICAL_BAG, player: str = "Ada") -> Chart:
    """A chart whose swings have spin of these supports, the same for every wedge."""
    chart = build_chart(PLAYER, bag, player=player)
    rows = tuple(
        tuple(replace(cell, spin_support=support) for cell, support in zip(row, supports, strict=True))
        for row in chart.rows
    )
    return replace(chart, rows=rows)


def picture(chart: Chart, bag: Bag = TYPICAL_BAG, shots: list[Shot] = SHOTS, mishits: Sequence[str] = ()) -> Figure:
    return spin_figure(chart, spin_curves(PLAYER, bag), shots, mishits)


def axes(figure: Figure) -> Axes:
    (ax,) = figure.axes
    return ax


def title(figure: Figure) -> str:
    return axes(figure).get_title(loc="left").replace("\n", " ")


def test_one_line_a_wedge_with_its_median_and_a_band_of_eight_in_ten() -> None:
    ax = axes(picture(chart_of()))
    lines = [line for line in ax.lines if line.get_linestyle() != "None"]
    curves = spin_curves(PLAYER, TYPICAL_BAG)
    for line, band, curve in zip(lines, ax.collections, curves, strict=True):
        swing, spin = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
        wanted = [fake_spin_rpm(ShotKind(curve.wedge.label, curve.wedge.loft_deg, float(x))) for x in swing]
        np.testing.assert_allclose(spin, wanted)
        heights = np.asarray(band.get_paths()[0].vertices)[:, 1]
        assert heights.min() == pytest.approx(curve.spin_p10_rpm[0])
        assert heights.max() == pytest.approx(curve.spin_p90_rpm[-1])
        assert band.get_hatch() is None
    assert ax.get_ylabel() == "spin [rpm]"
    assert "hatched" not in title(picture(chart_of()))


def test_only_balls_with_a_reading_are_points() -> None:
    ax = axes(picture(chart_of()))
    points = [line for line in ax.lines if line.get_linestyle() == "None"]
    assert [list(np.asarray(p.get_ydata())) for p in points] == [[5200.0], [], [4700.0]]


def test_mishits_are_hollow() -> None:
    figure = picture(chart_of(), mishits=[SHOTS[0].shot_id])
    hollow = [line for line in axes(figure).lines if line.get_markerfacecolor() == "none"]
    assert [list(np.asarray(line.get_ydata())) for line in hollow] == [[5200.0]]
    assert "hollow: taken for mishits" in title(figure)


def test_where_no_spin_was_read_the_band_is_hatched_the_line_thin_and_the_number_in_brackets() -> None:
    figure = picture(chart_of(("measured", "measured", "between")))
    ax = axes(figure)
    lines = [line for line in ax.lines if line.get_linestyle() != "None"]
    assert len(lines) == len(ax.collections) == 6  # of each of three wedges a part with and a part without readings
    for read, unread in zip(lines[::2], lines[1::2], strict=True):
        assert read.get_linewidth() > unread.get_linewidth()
        # up to half way from 9:00 (90 deg) to 10:30 (135 deg), and not a hole between the parts
        assert float(np.asarray(read.get_xdata())[-1]) == pytest.approx(112.5, abs=2.1)
        assert np.asarray(read.get_xdata())[-1] == np.asarray(unread.get_xdata())[0]
    assert [band.get_hatch() is not None for band in ax.collections] == [False, True] * 3
    assert len({band.get_hatch() for band in ax.collections[1::2]}) == 3  # told apart in grey
    names = [text.get_text() for text in ax.texts if isinstance(text, Annotation)]
    assert sorted(names) == ["50: (6400) rpm", "55: (6700) rpm", "60: (7000) rpm"]
    assert "hatched, thin, in brackets: none was logged there yet" in title(figure)


def test_without_any_reading_all_of_it_is_hatched_and_said_to_be_physics() -> None:
    figure = picture(chart_of(("none",) * 3), shots=[a_shot(wedge="50", loft_deg=50.0)])
    assert all(band.get_hatch() is not None for band in axes(figure).collections)
    assert "no spin was ever logged: all of it is physics, not this player" in title(figure)
    assert "0 of 63 shots" in title(figure)


def test_a_day_changes_no_spin_and_the_title_says_so() -> None:
    chart = replace(chart_of(), day=Day(Conditions(wind_mps=-5.0)))
    assert "the same on every day" in title(picture(chart))
    assert "every day" not in title(picture(chart_of()))


@pytest.mark.parametrize("label", ["$\\frac{1$", "$x$", "_hidden", "<script>", "=1+1", "楔", "🙂"])
def test_a_label_is_drawn_as_it_is_written(label: str, tmp_path: Path) -> None:
    bag = Bag((Wedge(label, 54.0), Wedge("58", 58.0)), (SwingLength(label, 45.0), SwingLength("9:00", 90.0)))
    figure = picture(chart_of(("measured", "measured"), bag, player=label), bag)
    save_figure(figure, tmp_path / "x.png")  # a warning would fail the test
    drawn = [text for text in axes(figure).texts if text.get_text().startswith(f"{label} (54): ")]
    assert len(drawn) == 1
    assert not any(text.get_parse_math() for text in (*drawn, *axes(figure).get_xticklabels()))
