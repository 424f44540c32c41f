"""The picture, asserted on what was drawn and on the file that came out."""

import itertools
import struct
import warnings
from contextlib import nullcontext as no_warning
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Annotation
from pypdf import PdfReader

from tests.conftest import a_shot
from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.chart import build_chart, carry_curves
from wedgelab.errors import FileProblemError
from wedgelab.prediction import Day, ShotKind
from wedgelab.render.figure import chart_figure, quiet_glyphs, save_figure
from wedgelab.shots import Bag, Conditions, Shot, SwingLength, Wedge
from wedgelab.units import LengthUnit

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
PLAYER = FakePredictor()
SHOTS = [
    a_shot(wedge="50", loft_deg=50.0, carry_m=60.0, swing_deg=90.0),
    a_shot(wedge="60", loft_deg=60.0, carry_m=30.0, swing_deg=45.0),
    a_shot(wedge="60", loft_deg=58.0, carry_m=99.0, swing_deg=45.0),  # the club before it was bent: not this line's
]


def picture(bag: Bag = TYPICAL_BAG, shots: list[Shot] = SHOTS, unit: LengthUnit = "yd", player: str = "Ada") -> Figure:
    return chart_figure(build_chart(PLAYER, bag, player=player), carry_curves(PLAYER, bag), shots, unit)


def axes(figure: Figure) -> Axes:
    (ax,) = figure.axes
    return ax


@pytest.mark.parametrize(("unit", "size"), [("yd", YARD_M), ("m", 1.0)])
def test_one_line_a_wedge_with_the_curve_in_the_unit(unit: LengthUnit, size: float) -> None:
    ax = axes(picture(unit=unit))
    lines = [line for line in ax.lines if line.get_linestyle() != "None"]
    assert [line.get_label() for line in lines] == ["50", "55", "60"]
    for line, wedge in zip(lines, TYPICAL_BAG.wedges, strict=True):
        swing, carry = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
        assert (swing[0], swing[-1], len(swing)) == (45.0, 135.0, 45)
        wanted = [fake_carry_m(ShotKind(wedge.label, wedge.loft_deg, float(x))) / size for x in swing]
        np.testing.assert_allclose(carry, wanted)


def test_the_band_ends_where_eight_balls_of_ten_end() -> None:
    ax = axes(picture(unit="m"))
    assert len(ax.collections) == 3
    for band, curve in zip(ax.collections, carry_curves(PLAYER, TYPICAL_BAG), strict=True):
        heights = np.asarray(band.get_paths()[0].vertices)[:, 1]
        assert heights.min() == pytest.approx(curve.carry_p10_m[0])
        assert heights.max() == pytest.approx(curve.carry_p90_m[-1])


def test_logged_shots_are_points_beside_their_swing_length() -> None:
    points = [line for line in axes(picture()).lines if line.get_linestyle() == "None"]
    assert [list(np.asarray(p.get_ydata())) for p in points] == [
        pytest.approx([60.0 / YARD_M]), [], pytest.approx([30.0 / YARD_M]),
    ]  # fmt: skip
    assert abs(float(np.asarray(points[0].get_xdata())[0]) - 90.0) <= 4.0
    assert len({str(p.get_marker()) for p in points}) == len({str(p.get_color()) for p in points}) == 3


@pytest.mark.parametrize("unit", ["yd", "m"])
def test_words_round_the_picture(unit: LengthUnit) -> None:
    ax = axes(picture(unit=unit))
    assert ax.get_ylabel() == f"carry [{unit}]"
    assert ax.get_xlabel() == "swing length"
    assert [tick.get_text() for tick in ax.get_xticklabels()] == ["7:30", "9:00", "10:30"]
    assert list(ax.get_xticks()) == [45.0, 90.0, 135.0]
    assert ax.get_title(loc="left") == (
        "Ada: carry by swing length (63 shots in 4 sessions)\n"
        "line: median, band: 8 solid balls in 10, at the right: carry at 10:30"
    )


def boxes(figure: Figure) -> list[tuple[float, float, float, float]]:
    """Draw it and return the boxes of the names at the lines' ends, lowest first."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]  # matplotlib types only part of its backends
    names = [text for text in axes(figure).texts if isinstance(text, Annotation)]
    extents = [name.get_window_extent() for name in names]
    return sorted((e.y0, e.y1, e.x0, e.x1) for e in extents)


CLOSE = Bag(tuple(Wedge(f"w{i}", 50.0 + 0.5 * i) for i in range(8)), TYPICAL_BAG.swings)
LONG = Bag((Wedge("n" * 40, 50.0), Wedge("楔" * 40, 50.1)), (SwingLength("m" * 40, 45.0), SwingLength("9:00", 90.0)))


@pytest.mark.parametrize("bag", [TYPICAL_BAG, CLOSE, LONG])
def test_names_at_the_ends_touch_neither_each_other_nor_the_edge_nor_a_shot(bag: Bag) -> None:
    last = bag.swings[-1].swing_deg
    shots = [a_shot(wedge=w.label, loft_deg=w.loft_deg, carry_m=60.0, swing_deg=last) for w in bag.wedges]
    figure = picture(bag, shots, player="A" * 200)
    with pytest.warns(UserWarning, match="missing from") if bag is LONG else no_warning():
        found = boxes(figure)
    assert len(found) == len(bag.wedges)
    for lower, upper in itertools.pairwise(found):
        assert upper[0] >= lower[1] - 1.0
    width, height = figure.canvas.get_width_height()
    data = [np.asarray(line.get_xydata(), dtype=float) for line in axes(figure).lines]
    rightmost = axes(figure).transData.transform(np.concatenate(data))[:, 0].max()
    assert min(box[2] for box in found) > rightmost
    assert max(box[3] for box in found) <= width
    assert found[-1][1] <= height
    assert axes(figure).get_window_extent().width > 0.5 * width  # the data keeps most of the picture


def test_crowded_names_stay_about_their_lines() -> None:
    ax = axes(picture(CLOSE, []))
    lines = [float(np.asarray(line.get_ydata())[-1]) for line in ax.lines if line.get_linestyle() != "None"]
    names = [float(text.xy[1]) for text in ax.texts if isinstance(text, Annotation)]
    assert sorted(names) != pytest.approx(sorted(lines))  # they had to move
    assert np.mean(names) == pytest.approx(np.mean(lines))
    assert np.all(np.diff(names) > 0)


def test_names_with_room_stand_at_their_lines() -> None:
    ax = axes(picture())
    lines = [float(np.asarray(line.get_ydata())[-1]) for line in ax.lines if line.get_linestyle() != "None"]
    assert sorted(lines) == pytest.approx([float(text.xy[1]) for text in ax.texts if isinstance(text, Annotation)])


def test_ten_wedges_are_told_apart_without_colour() -> None:
    bag = Bag(tuple(Wedge(f"w{i}", 46.0 + i) for i in range(10)), TYPICAL_BAG.swings)
    lines = [line for line in axes(picture(bag)).lines if line.get_linestyle() != "None"]
    looks = {
        (str(line.get_color()), str(vars(line)["_unscaled_dash_pattern"]), str(line.get_linestyle())) for line in lines
    }
    assert len(looks) == 10


def test_the_file_opens_with_the_right_size_and_has_the_same_bytes_twice(tmp_path: Path) -> None:
    for name in ("one.png", "two.png"):
        save_figure(picture(), tmp_path / name)
    data = (tmp_path / "one.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"  # the PNG signature, ISO/IEC 15948, 5.2
    assert struct.unpack(">II", data[16:24]) == (1200, 780)  # IHDR, 11.2.2: 8.0 x 5.2 inches at 150 dots an inch
    assert data == (tmp_path / "two.png").read_bytes()


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_the_other_formats_have_the_same_bytes_twice_too(ending: str, tmp_path: Path) -> None:
    for name in ("one", "two"):
        save_figure(picture(), tmp_path / f"{name}.{ending}")
    assert (tmp_path / f"one.{ending}").read_bytes() == (tmp_path / f"two.{ending}").read_bytes()


def test_a_pdf_is_of_the_pictures_size_and_its_words_can_be_found(tmp_path: Path) -> None:
    save_figure(picture(), tmp_path / "x.pdf")
    (page,) = PdfReader(tmp_path / "x.pdf").pages
    assert [float(side) for side in page.mediabox[2:]] == pytest.approx([8.0 * 72, 5.2 * 72])
    assert "Ada: carry by swing length (63 shots in 4 sessions)" in page.extract_text()


HOSTILE = ["$\\frac{1$", "$x$", "_hidden", "100%", "a\\b", "<script>", "=1+1", "楔", "🙂", "x^2_3"]


@pytest.mark.parametrize("label", HOSTILE)
def test_a_label_is_drawn_as_it_is_written(label: str, tmp_path: Path) -> None:
    bag = Bag((Wedge(label, 54.0), Wedge("58", 58.0)), (SwingLength(label, 45.0), SwingLength("9:00", 90.0)))
    figure = picture(bag, player=label)
    save_figure(figure, tmp_path / "x.png")  # a warning would fail the test
    drawn = [text for text in axes(figure).texts if text.get_text().startswith(f"{label} (54): ")]
    assert len(drawn) == 1
    ticks = axes(figure).get_xticklabels()
    assert ticks[0].get_text() == label
    assert not any(text.get_parse_math() for text in (drawn[0], *ticks))


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_hostile_labels_can_be_saved_in_the_other_formats_too(ending: str, tmp_path: Path) -> None:
    bag = Bag(tuple(Wedge(label, 46.0 + i) for i, label in enumerate(HOSTILE)), TYPICAL_BAG.swings)
    save_figure(picture(bag, player="".join(HOSTILE)), tmp_path / f"x.{ending}")  # a warning would fail the test
    assert (tmp_path / f"x.{ending}").stat().st_size > 1000
    assert b"<script>" not in (tmp_path / f"x.{ending}").read_bytes()


@pytest.mark.parametrize("ending", ["png", "svg", "pdf"])
def test_what_the_font_lacks_is_told_and_other_warnings_still_come(ending: str, tmp_path: Path) -> None:
    assert save_figure(picture(player="A\u00e9\u6954\u6f22"), tmp_path / f"x.{ending}") == {"\u6954", "\u6f22"}
    assert save_figure(picture(player="A\u00e9"), tmp_path / f"x.{ending}") == set()
    with quiet_glyphs() as lacking:
        warnings.warn("Glyph 26964 (x) missing from font(s) y.", stacklevel=1)
        with pytest.raises(UserWarning, match="another"):  # an error in these tests, as everywhere
            warnings.warn("another", stacklevel=1)
    assert lacking == {"\u6954"}


def test_one_swing_length_still_makes_a_picture(tmp_path: Path) -> None:
    bag = Bag((Wedge("54", 54.0),), (SwingLength("9:00", 90.0),))
    save_figure(picture(bag, [a_shot(carry_m=62.5)]), tmp_path / "x.png")
    assert (tmp_path / "x.png").stat().st_size > 1000


@pytest.mark.parametrize("name", ["nowhere/x.png", "folder.png"])
def test_a_place_that_cannot_be_written_is_one_line(name: str, tmp_path: Path) -> None:
    (tmp_path / "folder.png").mkdir()
    with pytest.raises(FileProblemError) as caught:
        save_figure(picture(), tmp_path / name)
    reason = "No such file or directory" if "nowhere" in name else "Is a directory"
    assert str(caught.value) == f"{tmp_path / name}: cannot be written ({reason}); choose another place"


def test_a_line_stops_where_the_ball_no_longer_gets_up_and_is_named_there() -> None:
    chart, curves = build_chart(PLAYER, TYPICAL_BAG), list(carry_curves(PLAYER, TYPICAL_BAG))
    carries = [0.0 if i < 10 or i > 30 else carry for i, carry in enumerate(curves[0].carry_m)]
    curves[0] = replace(curves[0], carry_m=tuple(carries))
    curves[2] = replace(curves[2], carry_m=(0.0,) * 45)
    ax = axes(chart_figure(chart, curves, [], "m"))
    lines = [line for line in ax.lines if line.get_linestyle() != "None"]
    drawn = np.asarray(lines[0].get_ydata())
    assert [int(i) for i in np.flatnonzero(np.isfinite(drawn))] == list(range(10, 31))
    assert np.isnan(np.asarray(lines[2].get_ydata())).all()
    names = {text.get_text(): text.xy[0] for text in ax.texts if isinstance(text, Annotation)}
    assert set(names) == {f"50: {carries[30]:.0f} m", f"55: {curves[1].carry_m[-1]:.0f} m"}
    assert names[f"50: {carries[30]:.0f} m"] == pytest.approx(curves[0].swing_deg[30], abs=2.0)


def test_a_chart_of_a_day_says_which_day(tmp_path: Path) -> None:
    chart = build_chart(PLAYER, TYPICAL_BAG, player="Ada", day=Day(Conditions(wind_mps=-5.0), 4.0))
    figure = chart_figure(chart, carry_curves(PLAYER, TYPICAL_BAG), SHOTS, "m")
    title = axes(figure).get_title(loc="left").replace("\n", " ")
    assert "today: head wind 5 m/s, green 4 m above the ball; the balls as they would fly then" in title


def test_shots_taken_for_mishits_are_hollow_and_the_title_says_so() -> None:
    mishits = {SHOTS[0].shot_id}
    chart, curves = build_chart(PLAYER, TYPICAL_BAG), carry_curves(PLAYER, TYPICAL_BAG)
    figure = chart_figure(chart, curves, SHOTS, "m", mishits)
    points = [line for line in axes(figure).lines if line.get_linestyle() == "None"]
    hollow = [line for line in points if line.get_markerfacecolor() == "none"]
    assert [len(np.atleast_1d(line.get_xdata())) for line in hollow] == [1]
    assert sum(len(np.atleast_1d(line.get_xdata())) for line in points) == 2  # the third is a club of before
    assert "hollow: taken for mishits" in axes(figure).get_title(loc="left")


def test_a_name_written_from_right_to_left_has_its_carry_at_the_right() -> None:
    label = "\u05d7\u05d5\u05dc"
    bag = Bag((Wedge(label, 54.0), Wedge("58", 58.0)), TYPICAL_BAG.swings)
    ax = axes(picture(bag, player=label))
    # LEFT-TO-RIGHT MARK on both sides: the mark has the direction of a Latin letter (Unicode Annex 9, 2.6)
    named, plain = sorted((text.get_text() for text in ax.texts), reverse=True)
    assert named.startswith(f"\u200e{label} (54)\u200e: ")
    assert plain.startswith("58: ")
    assert ax.get_title(loc="left").startswith(f"\u200e{label}\u200e: carry by swing length")


@pytest.mark.parametrize("kind", [{"trajectory": "low"}, {"lie": "sand"}, {"lie": "rough"}])
def test_balls_of_another_flight_or_of_sand_are_no_points_of_the_stock_line_and_the_title_says_so(
    kind: dict[str, str],
) -> None:
    usual = a_shot(wedge="50", loft_deg=50.0, carry_m=60.0, swing_deg=90.0, lie="fairway")
    ax = axes(picture(shots=[usual, usual.replace(carry_m=31.0, **kind)], unit="m"))
    points = [line for line in ax.lines if line.get_linestyle() == "None"]
    assert [y for line in points for y in np.atleast_1d(line.get_ydata())] == [60.0]
    assert ax.get_title(loc="left").endswith("\nnot drawn: 1 ball hit low or high, or from rough or sand")
    assert "not drawn" not in axes(picture(shots=[usual])).get_title(loc="left")
