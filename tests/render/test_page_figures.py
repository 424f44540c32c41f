"""The pictures of the page: what is drawn, how large the letters are, and the SVG that comes of it."""

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.text import Annotation, Text

from tests.fakes import TYPICAL_BAG
from tests.render.pages import DRILLS, PLAYER, facts_of, shots_of
from wedgelab.chart import build_chart, carry_curves
from wedgelab.dispersion import dispersions
from wedgelab.render import page_figures
from wedgelab.render.dispersion_figure import NAME_SIGN
from wedgelab.render.figure import COLOURS
from wedgelab.render.layout import left_to_right
from wedgelab.render.page_svg import figure_svg
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import LengthUnit, format_length

PHONE_PX = 308  # what a picture has of a screen of 360
SIDE_PX = 216  # 13.5rem of page.css
LEAST_PX = 9.0  # smaller letters are hard to read
FACTS = facts_of()


def curves_of(bag: Bag) -> Figure:
    return page_figures.curves_figure(build_chart(PLAYER, bag), carry_curves(PLAYER, bag), shots_of(bag), "yd", set())


def texts(figure: Figure) -> list[Text]:
    FigureCanvasAgg(figure).draw()  # type: ignore[no-untyped-call]  # matplotlib says nothing of its types here
    return [
        artist
        for artist in figure.findobj(lambda found: isinstance(found, Text))
        if isinstance(artist, Text) and artist.get_text() and artist.get_visible()
    ]


def test_letters_are_large_enough_on_a_phone() -> None:
    assert FACTS.gaps is not None
    shown = {
        PHONE_PX: [
            curves_of(TYPICAL_BAG), page_figures.covered_figure(FACTS.gaps, "yd"),
            page_figures.history_figure(DRILLS, "yd"),
        ],
        SIDE_PX: [page_figures.side_figure(FACTS.dispersions[0], "yd")],
    }  # fmt: skip
    for width_px, figures in shown.items():
        for figure in figures:
            scale = width_px / (figure.get_figwidth() * 72.0)
            sizes = {text.get_text(): scale * float(text.get_fontsize()) for text in texts(figure)}
            assert len(sizes) > 3
            assert min(sizes.values()) >= LEAST_PX, sizes


@pytest.mark.parametrize("wide", [1.0, 9.0])
def test_the_names_beside_a_strip_stand_apart_and_each_beside_its_sign(wide: float) -> None:
    # four swing lengths that carry nearly the same, on strips from tall to hardly taller than wide
    bag = Bag(TYPICAL_BAG.wedges[:1], tuple(SwingLength(f"swing {i}", 45.0 + 20.0 * i) for i in range(4)))
    balls = [
        shot.replace(carry_m=60.0 + 0.4 * i + (i % 5), offline_m=wide * (shot.offline_m or 0.0))
        for i, shot in enumerate(shots_of(bag))
    ]
    figure = page_figures.side_figure(dispersions(balls, bag)[0], "yd")
    texts(figure)
    (ax,) = figure.axes
    names = sorted((text.get_window_extent() for text in ax.texts), key=lambda box: box.y0)
    assert len(names) == 4
    assert all(below.y1 <= above.y0 for below, above in pairwise(names))
    assert figure.get_figheight() <= 3.9
    signs = [float(np.asarray(line.get_ydata())[0]) for line in ax.lines if line.get_gid() == NAME_SIGN]
    assert signs == [text.xy[1] for text in ax.texts if isinstance(text, Annotation)]


def test_long_names_leave_room_for_the_curves() -> None:
    bag = Bag(
        tuple(Wedge(letter * 40, 50.0 + 5 * i) for i, letter in enumerate("WMX")),
        tuple(SwingLength(letter * 40, angle) for letter, angle in zip("ABC", (45.0, 90.0, 135.0), strict=True)),
    )
    figure = curves_of(bag)
    drawn = texts(figure)
    (ax,) = figure.axes
    assert ax.get_window_extent().width > 0.33 * figure.bbox.width
    assert ax.get_window_extent().height > 0.4 * figure.bbox.height
    ends = [text for text in drawn if text.get_text().endswith(" yd")]
    assert len(ends) == 3
    for text in ends:
        name, _, carry = text.get_text().rpartition(": ")
        assert len(name) <= 10
        assert "…" in name
        assert carry in {f"{format_length(curve.carry_m[-1], 'yd')} yd" for curve in carry_curves(PLAYER, bag)}
    assert {label.get_rotation() for label in ax.get_xticklabels()} == {90.0}
    assert {label.get_rotation() for label in curves_of(TYPICAL_BAG).axes[0].get_xticklabels()} == {0.0}


@pytest.mark.parametrize(("unit", "size"), [("m", 1.0), ("yd", 0.9144)])
def test_the_history_has_a_point_a_drill_and_what_the_chart_expected(unit: LengthUnit, size: float) -> None:
    ax = page_figures.draw_errors(Figure().add_subplot(), DRILLS, unit)
    line, expected = ax.lines[0], ax.lines[-1]
    assert {one.get_linestyle() for one in ax.lines} == {"None"}  # nothing joins drills of other calls
    np.testing.assert_allclose(np.asarray(line.get_ydata()), [one.e_m / size for one in DRILLS])
    np.testing.assert_allclose(
        np.asarray(expected.get_ydata()), [one.expected_e_m / size for one in DRILLS if one.expected_e_m is not None]
    )
    assert [text.get_text() for text in ax.texts] == [format_length(one.e_m, unit, 1) for one in DRILLS]
    assert ax.get_ylim()[0] == 0.0
    assert ax.get_ylim()[1] > max(one.e_m for one in DRILLS) / size


def test_shares_have_their_interval_and_a_held_window_is_hollow() -> None:
    drills = (replace(DRILLS[0], is_held=True), DRILLS[1])
    ax = page_figures.draw_shares(Figure().add_subplot(), drills)
    intervals, points = ax.lines[0:4:2], ax.lines[1:4:2]
    for one, interval, point in zip(drills, intervals, points, strict=True):
        np.testing.assert_allclose(np.asarray(interval.get_ydata()), [100.0 * one.share_low, 100.0 * one.share_high])
        np.testing.assert_allclose(np.asarray(point.get_ydata()), [100.0 * one.share])
        assert to_hex(point.get_markerfacecolor()) == ("#ffffff" if one.is_held else COLOURS[0].lower())
    assert ax.get_ylim() == (0.0, 100.0)


def test_of_many_drills_some_dates_are_named_and_the_last_always() -> None:
    drills = [replace(DRILLS[0], began_at=f"2026-05-{i:02d}T18:00:00") for i in range(1, 13)]
    ax = page_figures.draw_shares(Figure().add_subplot(), drills)
    assert [label.get_text() for label in ax.get_xticklabels()] == [f"05-{i:02d}" for i in (2, 4, 6, 8, 10, 12)]


def test_a_picture_has_ids_of_its_own_and_an_alternative_text() -> None:
    first, second = (figure_svg(curves_of(TYPICAL_BAG), key, "A <title>", "What & why") for key in ("one", "two"))
    root = ET.fromstring(first)  # noqa: S314  made this moment
    assert (root.get("role"), root.get("aria-labelledby")) == ("img", "one-title one-text")
    assert [root[0].tag, root[0].text, root[1].tag, root[1].text] == ["title", "A <title>", "desc", "What & why"]
    ids = [set(re.findall(r'\sid="([^"]+)"', svg)) for svg in (first, second)]
    assert not ids[0] & ids[1]
    for svg, known in zip((first, second), ids, strict=True):
        wanted = set(re.findall(r'href="#([^"]+)"', svg)) | set(re.findall(r"url\(#([^)]+)\)", svg))
        assert wanted
        assert wanted <= known
    assert first.replace("one-", "two-") == second
    for left_over in ("metadata", "<style", "xmlns", "font-family", "matplotlib", "ns0:"):
        assert left_over not in first


def test_colours_can_be_changed_by_the_page_and_letters_are_darker() -> None:
    svg = figure_svg(curves_of(TYPICAL_BAG), "one", "t", "d")
    for i in range(3):
        assert f"var(--c{i}, {COLOURS[i].lower()})" in svg
        assert f"var(--t{i}, {COLOURS[i].lower()})" in svg
    texts_drawn = re.findall(r"<text[^>]*>", svg)
    assert texts_drawn
    assert not any("--c" in text for text in texts_drawn)
    styles = re.findall(r'style="([^"]*)"', svg)
    assert not any(re.search(r"(?<!, )#[0-9a-f]{6}", style) for style in styles)


def test_a_name_that_is_markup_is_escaped_in_the_picture() -> None:
    bag = Bag((Wedge('<b>&"', 50.0), Wedge("$x$", 55.0)), TYPICAL_BAG.swings)
    svg = figure_svg(curves_of(bag), "one", "t", "d")
    assert "&lt;b&gt;&amp;" in svg
    assert "$x$" in svg
    assert "<b>" not in svg


def test_a_name_from_right_to_left_leaves_the_carry_on_its_own_side() -> None:
    bag = Bag((Wedge("\u05d0\u05d1\u05d2", 50.0), Wedge("55", 55.0)), TYPICAL_BAG.swings)
    ends = [text.get_text() for text in curves_of(bag).axes[0].texts]
    carries = [format_length(curve.carry_m[-1], "yd") for curve in carry_curves(PLAYER, bag)]
    name = left_to_right("\u05d0\u05d1\u05d2 (50)")
    assert name != "\u05d0\u05d1\u05d2 (50)"
    assert sorted(ends) == sorted([f"{name}: {carries[0]} yd", f"55: {carries[1]} yd"])
    long = Bag((Wedge("\u05d0" * 30, 50.0), Wedge("55", 55.0)), TYPICAL_BAG.swings)
    (cut,) = [text.get_text() for text in curves_of(long).axes[0].texts if "\u05d0" in text.get_text()]
    assert cut.startswith(left_to_right("\u05d0")[:2])
    assert cut.endswith(f"\u05d0 (50){left_to_right(chr(0x5D0))[-1]}: {carries[0]} yd")
    assert cut.count("\N{HORIZONTAL ELLIPSIS}") == 1


def test_long_wedges_leave_room_for_the_covered_distances() -> None:
    bag = Bag(tuple(Wedge(letter * 40, 50.0 + 5 * i) for i, letter in enumerate("WMX")), TYPICAL_BAG.swings)
    report = facts_of(bag, dispersions=()).gaps
    assert report is not None
    figure = page_figures.covered_figure(report, "yd")
    texts(figure)
    assert figure.axes[0].get_window_extent().width > 0.5 * figure.bbox.width
    assert all("…" in label.get_text() for label in figure.axes[0].get_yticklabels())
