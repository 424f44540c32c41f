"""The picture of suggested bags, asserted on what was drawn."""

from functools import cache

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.gaps.suggest import Suggestion, suggest
from wedgelab.render.gaps_words import better_text, points_text
from wedgelab.render.suggest_figure import draw_gained, draw_suggested, suggestion_figure
from wedgelab.shots import Bag, Wedge
from wedgelab.units import LengthUnit
from wedgelab.window import WindowRule

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
TWO_M = WindowRule(fixed_m=2.0)


@cache
def found(player: str = "P1", label: str = "50") -> Suggestion:
    bag = Bag((Wedge(label, 50.0), *TYPICAL_BAG.wedges[1:]), TYPICAL_BAG.swings)
    rng = np.random.default_rng(1)
    return suggest(FakePredictor(), bag, 3, window=TWO_M, rng=rng, unit="m", player=player, keep=[bag.wedges[0]])


def test_a_row_a_bag_with_the_difference_its_interval_and_the_words() -> None:
    ax = draw_suggested(Figure().add_subplot(), found(), "m")
    marks = [line for line in ax.lines if line.get_linestyle() == "None"]
    bars = [line for line in ax.lines if line.get_linestyle() == "-"]
    (today,) = (line for line in ax.lines if line.get_linestyle() == "--")
    assert list(np.asarray(today.get_xdata())) == [0.0, 0.0]
    assert len({str(mark.get_marker()) for mark in marks}) == len(marks) == len(found().bags) == 3
    for row, (bag, mark, bar, text) in enumerate(zip(found().bags, marks, bars, ax.texts, strict=True)):
        against = bag.against_today
        assert against is not None
        assert list(np.asarray(mark.get_xdata())) == pytest.approx([100 * against.difference])
        assert list(np.asarray(bar.get_xdata())) == pytest.approx(
            [100 * against.difference_p10, 100 * against.difference_p90]
        )
        assert list(np.asarray(mark.get_ydata())) == [row]
        assert text.get_text().startswith(
            f"{points_text(against.difference)} points, chance better {better_text(against)}; covers "
        )
    assert [tick.get_text().split(":")[0] for tick in ax.get_yticklabels()] == ["1", "2", "3"]
    assert ax.get_ylim()[0] > ax.get_ylim()[1]  # the first on top


@pytest.mark.parametrize(("unit", "size"), [("m", 1.0), ("yd", YARD_M)])
def test_below_stand_the_first_bags_chances_and_todays(unit: LengthUnit, size: float) -> None:
    ax = draw_gained(Figure().add_subplot(), found(), unit)
    first, today = ax.lines
    assert list(np.asarray(first.get_xdata())) == pytest.approx([target / size for target in found().targets_m])
    assert list(np.asarray(first.get_ydata())) == pytest.approx([100 * c for c in found().bags[0].best_chances])
    assert list(np.asarray(today.get_ydata())) == pytest.approx([100 * c for c in found().today.best_chances])
    assert first.get_linestyle() != today.get_linestyle()
    assert ax.get_xlabel() == f"target [{unit}]"


@pytest.mark.parametrize(("player", "label"), [("P1", "50"), ("W" * 40, "$x$ <script>"), ("", "n" * 40)])
def test_all_words_stand_inside_the_figure_and_apart(player: str, label: str) -> None:
    figure = suggestion_figure(found(player, label), "m")
    figure.draw_without_rendering()
    top, bottom = figure.axes
    legend = bottom.get_legend()
    assert legend is not None
    texts = [text for text in top.get_children() if isinstance(text, Text) and text not in top.texts]
    titles = [text for text in texts if "today's covers" in text.get_text().replace("\n", " ")]
    boxes = [
        text.get_window_extent()
        for text in (*titles, *top.texts, *top.get_yticklabels(), *bottom.get_yticklabels(), *legend.get_texts())
    ]
    assert len(titles) == 1
    for box in boxes:
        assert box.x0 >= 0.0
        assert box.x1 <= figure.bbox.width
        assert box.y1 <= figure.bbox.height
    for i, one in enumerate(boxes):
        assert not any(one.overlaps(other) for other in boxes[i + 1 :])
    assert legend.get_texts()[0].get_parse_math() is False
