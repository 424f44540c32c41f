"""The picture of a choice, asserted on what was drawn."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.choose import Choice, Limits, Want, choose
from wedgelab.render.choice_figure import UNBEATEN_COLOUR, choice_figure, draw_choice
from wedgelab.render.figure import save_figure
from wedgelab.window import WindowRule

PLAYER = FakePredictor(count=lambda kind: 4 if kind.swing_deg == 90.0 else 0)


def ask(want: Want = "window", limits: Limits | None = None, *flights: str) -> Choice:
    return choose(
        PLAYER, TYPICAL_BAG, 70.0, window=WindowRule(), want=want, limits=limits or Limits(),
        trajectories=flights or ("stock",),
    )  # fmt: skip


def drawn(choice: Choice) -> Axes:
    ax = Figure().add_subplot()
    assert draw_choice(ax, choice, "m") is ax
    return ax


def points(ax: Axes, *, hollow: bool | None = None) -> list[tuple[float, float]]:
    found = []
    for line in ax.lines:
        if line.get_linestyle() == "None" and (hollow is None or (line.get_markerfacecolor() == "white") == hollow):
            found += list(zip(np.asarray(line.get_xdata()), np.asarray(line.get_ydata()), strict=True))
    return sorted((float(x), float(y)) for x, y in found)


@pytest.mark.parametrize("limits", [None, Limits(min_spin_rpm=5000.0)])
def test_every_option_is_a_point_and_hollow_without_a_ball(limits: Limits | None) -> None:
    choice = ask("window", limits)
    ax = drawn(choice)
    assert points(ax) == sorted((o.spin_rpm, 100.0 * o.chance) for o in choice.options)
    assert points(ax, hollow=True) == sorted((o.spin_rpm, 100.0 * o.chance) for o in choice.options if not o.n_shots)
    assert ax.get_ylim()[0] == 0.0
    assert ax.get_ylim()[1] > max(y for _, y in points(ax))
    assert ("of the spin" in ax.get_ylabel()) == (limits is not None)


def test_the_unbeaten_are_joined_in_the_order_of_their_spin_and_named() -> None:
    choice = ask()
    ax = drawn(choice)
    (joined,) = [line for line in ax.lines if line.get_linestyle() == "-" and line.get_color() == UNBEATEN_COLOUR]
    front = sorted((o for o in choice.options if o.is_unbeaten), key=lambda o: o.spin_rpm)
    assert list(np.asarray(joined.get_xdata())) == [o.spin_rpm for o in front]
    texts = {text.get_text() for text in ax.texts}
    assert len(texts) == len(choice.options)
    assert all(f"{o.wedge} {o.swing}: {o.carry_m:.0f} m" in texts for o in front)
    assert all(f"{o.wedge} {o.swing}" in texts for o in choice.options if not o.is_unbeaten)


def test_the_least_chance_and_the_limit_are_dashed() -> None:
    choice = ask("spin", Limits(min_spin_rpm=5000.0))
    dashed = [line for line in drawn(choice).lines if line.get_linestyle() == "--"]
    assert [float(np.asarray(line.get_ydata())[0]) for line in dashed][:1] == [100.0 * choice.least_probability]
    assert [float(np.asarray(line.get_xdata())[0]) for line in dashed][1:] == [5000.0]
    assert not [line for line in drawn(ask()).lines if line.get_linestyle() == "--"]


def test_a_crowd_is_numbered_as_in_the_list() -> None:
    choice = ask("window", None, "low", "stock", "high")
    assert len(choice.options) > 10
    texts = {text.get_text() for text in drawn(choice).texts}
    assert {str(i) for i, o in enumerate(choice.options, 1) if not o.is_unbeaten} <= texts
    (ax,) = choice_figure(choice, "m").axes
    assert "numbers: as in the list" in ax.get_title(loc="left")


@pytest.mark.parametrize(("want", "spin"), [("spin", "more spin"), ("low-spin", "less spin")])
def test_the_title_says_what_is_drawn_and_the_file_opens(want: Want, spin: str, tmp_path: Path) -> None:
    figure = choice_figure(ask(want), "m")
    (ax,) = figure.axes
    title = " ".join(ax.get_title(loc="left").split())
    assert title.startswith("70 m: chance of 66.5 to 73.5 m against spin")
    assert spin in title
    assert "three quarters of the best chance" in title
    save_figure(figure, tmp_path / "choice.png")
    assert (tmp_path / "choice.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
