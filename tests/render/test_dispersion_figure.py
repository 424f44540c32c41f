"""The picture of a dispersion, asserted on what was drawn."""

import itertools
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Annotation

from tests.conftest import a_shot
from wedgelab.dispersion import WedgeDispersion, dispersions
from wedgelab.render.dispersion_figure import NAME_SIGN, dispersion_figure, draw_dispersion
from wedgelab.render.dispersion_words import angle_text, miss_text
from wedgelab.render.figure import save_figure
from wedgelab.shots import Bag, Shot, SwingLength, Wedge
from wedgelab.units import LengthUnit

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
SWINGS = (SwingLength("8:00", 60.0), SwingLength("9:00", 90.0), SwingLength("full", 165.0))
BAG = Bag((Wedge("50", 50.0), Wedge("54", 54.0), Wedge("58", 58.0)), SWINGS)
HOSTILE = ["$\\frac{1$", "$x$", "_hidden", "<script>", "=1+1", "楔", "🙂", "x^2_3", "m" * 40]


def shots(bag: Bag = BAG, counts: tuple[int, ...] = (1, 14, 5), wedges: int = 2) -> list[Shot]:
    rng = np.random.default_rng(4)
    return [
        a_shot(
            wedge=wedge.label, loft_deg=wedge.loft_deg, swing=swing.label, swing_deg=swing.swing_deg,
            carry_m=float(carry := 0.6 * swing.swing_deg * np.exp(rng.normal(0.0, 0.05))),
            offline_m=float(carry * rng.normal(0.02, 0.03)),
        )
        for wedge in bag.wedges[:wedges]
        for swing, n in zip(bag.swings, counts, strict=False)
        for _ in range(n)
    ]  # fmt: skip


def one_of(bag: Bag = BAG) -> WedgeDispersion:
    return dispersions(shots(bag), bag)[0]


def drawn(one: WedgeDispersion, unit: LengthUnit = "yd") -> Axes:
    return draw_dispersion(Figure(figsize=(4.0, 6.0), layout="constrained").add_subplot(), one, unit)


def rows(line: Line2D) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in np.asarray(line.get_xydata())]


@pytest.mark.parametrize(("unit", "size"), [("yd", YARD_M), ("m", 1.0)])
def test_balls_means_and_regions_stand_where_they_are(unit: LengthUnit, size: float) -> None:
    one = one_of()
    ax = drawn(one, unit)
    dots = [line for line in ax.lines if line.get_linestyle() == "None" and line.get_marker() != "+"]
    clouds = [line for line in dots if line.get_gid() != NAME_SIGN]
    means = [line for line in ax.lines if line.get_marker() == "+"]
    edges = [line for line in ax.lines if line.get_linestyle() in {"-", "--"}]
    several = [swing for swing in one.swings if swing.n > 1]  # a lone ball is its own mean: a cross would hide it
    assert [rows(mean) for mean in means] == [
        [pytest.approx((swing.offline_mean_m / size, swing.carry_mean_m / size))] for swing in several
    ]
    assert len(several) == len(one.swings) - 1
    for swing, cloud, edge in zip(one.swings, clouds, edges, strict=True):
        assert rows(cloud) == [pytest.approx((x / size, y / size)) for x, y in swing.points]
        assert swing.region is not None
        assert rows(edge) == [pytest.approx((x / size, y / size)) for x, y in swing.region.outline]
        assert edge.get_linestyle() == ("--" if swing.region.is_pooled else "-")
    assert [edge.get_linestyle() for edge in edges] == ["--", "-", "--"]
    assert len({str(cloud.get_marker()) for cloud in clouds}) == len({str(cloud.get_color()) for cloud in clouds}) == 3
    assert ax.get_ylabel() == f"carry [{unit}]"
    assert ax.get_xlabel() == f"left | right [{unit}]"


def test_a_yard_is_as_long_across_as_along_and_the_target_line_is_in_the_middle() -> None:
    ax = drawn(one_of())
    assert ax.get_aspect() == 1.0
    assert ax.get_xlim()[0] == -ax.get_xlim()[1]
    (target,) = [line for line in ax.lines if line.get_linestyle() == ":"]
    assert list(np.asarray(target.get_xdata())) == [0.0, 0.0]
    for line in ax.lines:
        if line is not target and line.get_gid() != NAME_SIGN:
            for x, y in rows(line):
                assert ax.get_xlim()[0] <= x <= ax.get_xlim()[1]
                assert ax.get_ylim()[0] <= y <= ax.get_ylim()[1]


def test_each_swing_is_named_with_its_balls_and_its_mean_miss() -> None:
    one = one_of()
    ax = drawn(one)
    names = [text for text in ax.texts if isinstance(text, Annotation)]
    assert sorted(name.get_text() for name in names) == sorted(
        f"{swing.swing} ({swing.n})\n{miss_text(swing.offline_mean_m, 'yd')}" for swing in one.swings
    )
    signs = {line.get_marker(): line for line in ax.lines if line.get_gid() == NAME_SIGN}
    assert len(signs) == 3  # told apart in grey: the balls' own markers
    assert set(signs) < {line.get_marker() for line in ax.lines if line.get_gid() != NAME_SIGN}
    FigureCanvasAgg(ax.figure).draw()  # type: ignore[arg-type,no-untyped-call]  # a Figure, and partly typed
    boxes = sorted((name.get_window_extent() for name in names), key=lambda box: box.y0)
    assert all(upper.y0 >= lower.y1 - 1.0 for lower, upper in itertools.pairwise(boxes))
    assert all(box.x0 > ax.get_window_extent().x1 for box in boxes)


def test_the_wedges_stand_on_one_scale_and_those_without_balls_are_named() -> None:
    every = dispersions(shots(), BAG)
    figure = dispersion_figure(every, "m", player="Nell")
    assert [ax.get_title(loc="left") for ax in figure.axes] == ["50: 20 balls", "54: 20 balls"]
    assert len({(*ax.get_xlim(), *ax.get_ylim()) for ax in figure.axes}) == 1
    title = figure.get_suptitle().replace("\n", " ")
    assert title.startswith("Nell: where the balls came down + mean, edge: one more solid ball stays inside 8 times in")
    assert "(broken: by all the wedge's balls)" in title
    assert title.endswith("no sideways miss logged: 58")


def test_without_any_region_the_title_promises_none() -> None:
    every = dispersions(shots(counts=(1, 2)), BAG)
    assert "8 times in 10" not in dispersion_figure(every, "m").get_suptitle()


def test_nothing_logged_is_a_sentence_and_no_picture_of_nothing() -> None:
    figure = dispersion_figure(dispersions([], BAG), "yd")
    assert figure.axes == []
    assert figure.texts[0].get_text() == ("No solid ball with a sideways miss is logged near a named swing length.")


@pytest.mark.parametrize("label", HOSTILE)
def test_a_label_is_drawn_as_it_is_written(label: str, tmp_path: Path) -> None:
    bag = Bag((Wedge(label, 54.0),), (SwingLength(label, 60.0), *SWINGS[1:]))
    figure = dispersion_figure(dispersions(shots(bag), bag), "yd", player=label * 5)
    save_figure(figure, tmp_path / "x.png")  # a warning would fail the test
    (ax,) = figure.axes
    texts = [text for text in ax.texts if isinstance(text, Annotation)]
    assert not any(text.get_parse_math() for text in texts)
    if len(label) <= 12:
        assert any(text.get_text().startswith(f"{label} (1)") for text in texts)
    else:
        assert all(text.get_window_extent().x1 <= figure.get_window_extent().width for text in texts)


def test_eight_wedges_fill_two_rows(tmp_path: Path) -> None:
    bag = Bag(tuple(Wedge(f"w{i}", 46.0 + i) for i in range(8)), SWINGS)
    figure = dispersion_figure(dispersions(shots(bag, wedges=8), bag), "yd")
    save_figure(figure, tmp_path / "x.png")
    boxes = [ax.get_window_extent() for ax in figure.axes]
    assert len({round(box.y0) for box in boxes}) == 2
    assert all(not a.overlaps(b) for a, b in itertools.combinations(boxes, 2))


@pytest.mark.parametrize(
    ("metres", "text"), [(1.25, "1.3 R"), (-1.25, "1.3 L"), (0.04, "0.0"), (-0.04, "0.0"), (None, "-")]
)
def test_a_sideways_miss_has_its_side(metres: float | None, text: str) -> None:
    assert miss_text(metres, "m") == angle_text(metres) == text


def test_names_stand_apart_where_one_wedge_needs_less_of_the_scale_than_the_others() -> None:
    swings = (SwingLength("9:00", 90.0), SwingLength("10:00", 120.0), SwingLength("full", 165.0))
    bag = Bag((Wedge("46", 46.0), Wedge("60", 60.0)), swings)
    carries = {46.0: (20.0, 60.0, 110.0), 60.0: (15.0, 68.0, 70.0)}
    shots = [
        a_shot(
            wedge=wedge.label, loft_deg=wedge.loft_deg, swing=swing.label, swing_deg=swing.swing_deg, offline_m=1.0,
            carry_m=carry,
        )
        for wedge in bag.wedges
        for swing, carry in zip(swings, carries[wedge.loft_deg], strict=True)
    ]  # fmt: skip
    figure = dispersion_figure(dispersions(shots, bag), "yd")
    figure.draw_without_rendering()
    for ax in figure.axes:
        boxes = [text.get_window_extent() for text in ax.texts]
        assert len(boxes) == 3
        assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes, 2))
