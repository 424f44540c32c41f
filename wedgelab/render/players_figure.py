"""The picture of the players of a log: how surely each one's chart is known."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from wedgelab.render.figure import COLOURS, lay_out, plain_axes, title_that_fits
from wedgelab.render.layout import left_to_right, shorten
from wedgelab.render.words import MISSING, count_text, percent_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LONGEST_NAME: Final = 24
_ROW_INCHES: Final = 0.32


@dataclass(frozen=True, slots=True)
class PlayerRow:
    """A player, the shots logged, and the mean standard error of the charted medians as a share of carry (or None)."""

    player: str
    n_shots: int
    doubt_now: float | None


def draw_players(ax: "Axes", players: Sequence[PlayerRow]) -> "Axes":
    """Draw a bar a player, in the order given, the first on top; without a chart there is a dash in its place."""
    places = range(len(players))
    shares = [100.0 * (one.doubt_now or 0.0) for one in players]
    ax.barh(places, shares, height=0.6, color=COLOURS[0])
    for place, one, share in zip(places, players, shares, strict=True):
        known = MISSING if one.doubt_now is None else f"±{percent_text(one.doubt_now, 1)}"
        ax.annotate(
            f"{known}, {count_text(one.n_shots, 'shot')}", (share, place), xytext=(5, 0), textcoords="offset points",
            va="center", fontsize=9,
        )  # fmt: skip
    names = [left_to_right(shorten(one.player, _LONGEST_NAME)) for one in players]
    ax.set_yticks(places, names, parse_math=False)
    ax.set_ylim(len(players) - 0.4, -0.6)
    ax.set_xlim(0.0, 1.35 * max([*shares, 1.0]))  # room for the words behind the longest bar
    ax.set_xlabel("standard error of a charted carry [% of it]")
    plain_axes(ax)
    return ax


def players_figure(players: Sequence[PlayerRow]) -> "Figure":
    """Return the picture of the players."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 1.5 + _ROW_INCHES * max(3, len(players))), layout="constrained")
    ax = draw_players(figure.add_subplot(), players)
    lay_out(ax)
    title_that_fits(ax, "How surely each chart is known: mean standard error over the bag's cells; shorter is surer")
    return figure
