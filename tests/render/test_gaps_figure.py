"""The picture of the covered distances, asserted on what was drawn and on the file that came out."""

import struct
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.text import Annotation, Text
from matplotlib.transforms import Bbox

from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.gaps.bags import changed_bag, what_if
from wedgelab.gaps.report import GapReport, build_gaps
from wedgelab.render.figure import save_figure
from wedgelab.render.gaps_figure import draw_covered, gaps_figure
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import LengthUnit
from wedgelab.window import WindowRule

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
TWO_M = WindowRule(fixed_m=2.0)


def report_of(bag: Bag = TYPICAL_BAG) -> GapReport:
    return build_gaps(FakePredictor(), bag, window=TWO_M, rng=np.random.default_rng(1), player="P1", unit="m")


def marks(ax: Axes) -> list[Line2D]:
    return [line for line in ax.lines if line.get_linestyle() == "None"]


def xs(line: Line2D) -> list[float]:
    return [float(x) for x in np.asarray(line.get_xdata())]


@pytest.mark.parametrize(("unit", "size"), [("m", 1.0), ("yd", YARD_M)])
def test_every_stock_shot_is_a_mark_at_its_median_with_its_range_in_its_wedges_row(
    unit: LengthUnit, size: float
) -> None:
    report = report_of()
    ax = draw_covered(Figure().add_subplot(), report, unit)
    bars = [line for line in ax.lines if line.get_linestyle() == "-"]
    assert len(marks(ax)) == len(bars) == 9
    drawn = sorted(xs(line)[0] for line in marks(ax))
    assert drawn == pytest.approx([shot.carry_m / size for shot in report.shots])
    ends = sorted(tuple(xs(line)) for line in bars)
    assert ends == [
        pytest.approx(pair)
        for pair in sorted((shot.carry_p10_m / size, shot.carry_p90_m / size) for shot in report.shots)
    ]
    assert [tick.get_text() for tick in ax.get_yticklabels()] == ["50", "55", "60"]
    rows = {label: {float(np.asarray(line.get_ydata())[0]) for line in marks(ax)} for label in ("50",)}
    assert {round(y) for y in rows["50"]} == {0, 1, 2}
    assert ax.get_ylim()[0] > ax.get_ylim()[1]  # least loft on top


def test_shots_without_a_logged_ball_are_hollow() -> None:
    ax = draw_covered(Figure().add_subplot(), report_of(), "m")
    hollow = sorted(xs(line)[0] for line in marks(ax) if line.get_markerfacecolor() == "white")
    wanted = sorted(shot.carry_m for shot in report_of().shots if shot.support != "measured")
    assert hollow == pytest.approx(wanted)
    assert len(hollow) == 6


def test_wedges_differ_by_marker_and_not_by_colour_alone() -> None:
    ax = draw_covered(Figure().add_subplot(), report_of(), "m")
    assert len({(str(line.get_color()), str(line.get_marker())) for line in marks(ax)}) == 3
    assert len({str(line.get_marker()) for line in marks(ax)}) == 3


def test_the_uncovered_targets_are_shaded_and_hatched_in_both_parts() -> None:
    report = report_of()
    assert report.stretches
    for ax in gaps_figure(report, "m").axes:
        shades = [patch for patch in ax.patches if isinstance(patch, Rectangle)]
        found = [(shade.get_x(), shade.get_x() + shade.get_width()) for shade in shades]
        assert found == [pytest.approx((one.low_m, one.high_m)) for one in report.stretches]
        assert all(shade.get_hatch() for shade in shades)


def test_the_lower_part_is_the_best_chance_and_with_another_bag_todays_too() -> None:
    report = report_of()
    _, bottom = gaps_figure(report, "m").axes
    (line,) = bottom.lines
    drawn = dict(zip(xs(line), np.asarray(line.get_ydata()), strict=True))
    assert [drawn[target] for target in report.targets_m] == pytest.approx([100 * c for c in report.best_chances])
    # the words' chance at the middle of a stretch is drawn too: the curve once never came down to it
    assert len(report.stretches) > 1
    assert len(drawn) == len(report.targets_m) + len(report.stretches)
    for one in report.stretches:
        assert drawn[0.5 * (one.low_m + one.high_m)] == pytest.approx(100 * one.window_probability)
    other = changed_bag(TYPICAL_BAG, add=[Wedge("46", 46.0)])
    found = what_if(FakePredictor(), TYPICAL_BAG, other, window=TWO_M, rng=np.random.default_rng(1), unit="m")
    top, bottom = gaps_figure(found.other, "m", found.today).axes
    assert [str(line.get_linestyle()) for line in bottom.lines] == ["-", "--"]
    assert list(np.asarray(bottom.lines[1].get_ydata())) == pytest.approx([100 * c for _, c in found.today.curve])
    assert len(marks(top)) == 12
    assert "another bag" in top.get_title(loc="left")


def extents(figure: Figure) -> list[Bbox]:
    """Where the swings' names stand in the finished picture."""
    figure.draw_without_rendering()
    names = [text for text in figure.axes[0].texts if isinstance(text, Annotation)]
    return [Text.get_window_extent(name) for name in names]  # of the words, without the line to the mark


CROWD = tuple(
    SwingLength(f"{hour}:{minute:02}", 30.0 * hour - 180.0 + minute / 2)
    for hour in (8, 9)
    for minute in (0, 8, 15, 22, 30, 38)
)


@pytest.mark.parametrize(
    ("swings", "n_wedges"), [(CROWD, 1), ((*CROWD, SwingLength("hands to the shoulder", 101.0)), 6)]
)
def test_names_of_near_swings_are_disjoint_and_inside_the_axes(swings: tuple[SwingLength, ...], n_wedges: int) -> None:
    bag = Bag(tuple(Wedge(str(loft), float(loft)) for loft in range(44, 44 + 3 * n_wedges, 3)), swings)
    figure = gaps_figure(report_of(bag), "m")
    boxes = extents(figure)
    assert len(boxes) == n_wedges * len(swings)
    for i, one in enumerate(boxes):
        assert not any(one.overlaps(other) for other in boxes[i + 1 :])
    frame = figure.axes[0].get_window_extent()
    assert min(box.x0 for box in boxes) >= frame.x0 - 0.5
    assert max(box.x1 for box in boxes) <= frame.x1 + 0.5


def test_a_name_that_has_room_stands_at_its_mark() -> None:
    figure = gaps_figure(report_of(), "m")
    figure.draw_without_rendering()
    assert len(figure.axes[0].texts) == len(report_of().shots) == 9
    for name in figure.axes[0].texts:
        assert isinstance(name, Annotation)
        assert name.get_position()[0] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("player", "with_other"), [("P1", True), ("W" * 40, False), ("a player of words " * 2, True)])
def test_the_title_ends_inside_the_figure(player: str, with_other: bool) -> None:
    other = changed_bag(TYPICAL_BAG, add=[Wedge("46", 46.0)])
    found = what_if(
        FakePredictor(), TYPICAL_BAG, other, window=TWO_M, rng=np.random.default_rng(1), unit="m", player=player
    )
    figure = gaps_figure(found.other, "m", found.today) if with_other else gaps_figure(found.today, "m")
    figure.draw_without_rendering()
    (title,) = [text for text in figure.axes[0].get_children() if isinstance(text, Text) and "coverage of" in
                text.get_text().replace("\n", " ")]  # fmt: skip
    assert title.get_window_extent().x1 <= figure.bbox.width
    assert title.get_window_extent().y1 <= figure.bbox.height
    assert "hollow: no ball logged" in title.get_text().replace("\n", " ")


def test_the_title_explains_what_is_shown_and_nothing_else() -> None:
    narrow = Bag((Wedge("50", 50.0), Wedge("51", 50.5)), (SwingLength("9:00", 90.0),))
    title = gaps_figure(report_of(narrow), "m").axes[0].get_title(loc="left")
    assert "hollow" not in title
    assert "shaded" not in title


@pytest.mark.parametrize("label", ["$x$", "_hidden", "100%", "n" * 40])
def test_a_label_is_drawn_as_it_is_written_and_stays_in_the_picture(label: str, tmp_path: Path) -> None:
    bag = Bag((Wedge(label, 50.0), Wedge("55", 55.0)), (SwingLength(label, 60.0), SwingLength("9:00", 90.0)))
    figure = gaps_figure(report_of(bag), "m")
    save_figure(figure, tmp_path / "x.png", dpi=50)  # a warning would fail the test
    tick = figure.axes[0].get_yticklabels()[0]
    assert tick.get_text().replace("\n", "").startswith(label[:10])
    assert tick.get_window_extent().x0 >= 0.0


def test_the_file_has_the_size_it_should_and_the_same_bytes_twice(tmp_path: Path) -> None:
    for name in ("one.png", "two.png"):
        save_figure(gaps_figure(report_of(), "m"), tmp_path / name)
    data = (tmp_path / "one.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"  # the PNG signature, ISO/IEC 15948, 5.2
    # IHDR, 11.2.2: 8 x (2.9 + 3 rows of 0.62) inches at 150 dots an inch
    assert struct.unpack(">II", data[16:24]) == (1200, 714)
    assert data == (tmp_path / "two.png").read_bytes()
