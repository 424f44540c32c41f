"""The picture of the players, by what its Axes hold."""

import pytest
from matplotlib.figure import Figure

from wedgelab.render.players_figure import PlayerRow, draw_players, players_figure

ROWS = (PlayerRow("Nell", 162, 0.0143), PlayerRow("Ben <b>$x$", 1, 0.092), PlayerRow("W" * 200, 0, None))


def test_every_player_has_a_bar_as_long_as_the_doubt() -> None:
    ax = draw_players(Figure().add_subplot(), ROWS)
    bars = [patch.get_width() for patch in ax.patches if hasattr(patch, "get_width")]
    assert bars == pytest.approx([1.43, 9.2, 0.0])
    assert [text.get_text() for text in ax.texts] == ["±1.4 %, 162 shots", "±9.2 %, 1 shot", "-, 0 shots"]
    names = [label.get_text().strip("\u200e") for label in ax.get_yticklabels()]
    assert names[:2] == ["Nell", "Ben <b>$x$"]
    assert len(names[2]) <= 24
    assert ax.get_ylim()[0] > ax.get_ylim()[1]  # the first on top


def test_words_behind_the_bars_stay_inside_the_picture() -> None:
    figure = players_figure(ROWS)
    figure.draw_without_rendering()
    ax = figure.axes[0]
    assert len(ax.texts) == 3
    assert all(text.get_window_extent().x1 <= figure.bbox.width for text in ax.texts)
    assert "shorter is surer" in ax.get_title(loc="left").replace("\n", " ")
