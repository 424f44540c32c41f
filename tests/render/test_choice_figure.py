"""The picture of a choice, asserted on what was drawn."""

import dataclasses
import itertools
import re
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.choose import Choice, Limits, Want, choose
from wedgelab.render.choice_figure import UNBEATEN_COLOUR, choice_figure, draw_choice
from wedgelab.render.choice_labels import Label, place_labels
from wedgelab.render.figure import save_figure
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.window import WindowRule

PLAYER = FakePredictor(count=lambda kind: 4 if kind.swing_deg == 90.0 else 0)
EVERY = ("low", "stock", "high")
HOSTILE = Bag(
    (
        Wedge("<script>alert(1)</script>", 60.0), Wedge("$x^2$ =cmd()", 50.0), Wedge("_" * 40, 55.0),
        Wedge("楔" * 40, 46.0),
    ),
    (SwingLength("three quarters, slowly and then some", 135.0), SwingLength("7:30", 45.0), SwingLength("$9$", 90.0)),
)  # fmt: skip


def ask(want: Want = "window", limits: Limits | None = None, *flights: str, bag: Bag = TYPICAL_BAG) -> Choice:
    return choose(
        PLAYER, bag, 70.0, window=WindowRule(), want=want, limits=limits or Limits(), trajectories=flights or ("stock",)
    )


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


def extents(ax: Axes) -> list[Any]:
    """The boxes of the names, in pixels, without the lines that lead to them."""
    return [Text.get_window_extent(text) for text in ax.texts]


@pytest.mark.parametrize("limits", [None, Limits(min_spin_rpm=5000.0)])
def test_every_option_is_a_point_and_hollow_without_a_ball(limits: Limits | None) -> None:
    choice = ask("window", limits)
    ax = drawn(choice)
    assert points(ax) == sorted((o.spin_rpm, 100.0 * o.chance) for o in choice.options)
    assert points(ax, hollow=True) == sorted((o.spin_rpm, 100.0 * o.chance) for o in choice.options if not o.n_shots)
    assert ax.get_ylim()[0] == 0.0
    assert ax.get_ylim()[1] > max(y for _, y in points(ax))
    assert ("of the spin" in ax.get_ylabel()) == (limits is not None)


def test_the_unbeaten_are_joined_in_the_order_of_their_spin_and_all_named_by_their_number_in_the_list() -> None:
    choice = ask()
    ax = drawn(choice)
    (joined,) = [line for line in ax.lines if line.get_linestyle() == "-" and line.get_color() == UNBEATEN_COLOUR]
    front = sorted((o for o in choice.options if o.is_unbeaten), key=lambda o: o.spin_rpm)
    assert list(np.asarray(joined.get_xdata())) == [o.spin_rpm for o in front]
    texts = {text.get_text() for text in ax.texts}
    assert texts == {
        f"{i}: {o.wedge} {o.swing}{f', {o.carry_m:.0f} m' if o.is_unbeaten else ''}"
        for i, o in enumerate(choice.options, 1)
    }


def test_the_least_chance_and_the_limit_are_dashed() -> None:
    choice = ask("spin", Limits(min_spin_rpm=5000.0))
    dashed = [line for line in drawn(choice).lines if line.get_linestyle() == "--"]
    assert [float(np.asarray(line.get_ydata())[0]) for line in dashed][:1] == [100.0 * choice.least_probability]
    assert [float(np.asarray(line.get_xdata())[0]) for line in dashed][1:] == [5000.0]
    assert not [line for line in drawn(ask()).lines if line.get_linestyle() == "--"]


def crowd() -> Choice:
    """Thirty options in a heap, a third of them unbeaten."""
    choice = ask("window", None, *EVERY)
    heap = [
        dataclasses.replace(
            choice.options[i % len(choice.options)], window_probability=0.5 - 0.004 * i, is_unbeaten=i % 3 == 0,
            spin_rpm=6000.0 + 25.0 * i if i % 3 == 0 else 6000.0 + 97.0 * (i % 7),
        )
        for i in range(30)
    ]  # fmt: skip
    return dataclasses.replace(choice, options=tuple(heap))


@pytest.mark.filterwarnings("ignore:Glyph .* missing from")  # here, where the test draws; the package must not warn
@pytest.mark.parametrize(
    "choice",
    [
        ask(), ask("spin", Limits(min_spin_rpm=5000.0)), ask("soft", None, *EVERY),
        ask("low", None, *EVERY, bag=HOSTILE), crowd(),
    ],
    ids=["few", "limit", "flights", "hostile", "crowd"],
)  # fmt: skip
def test_names_never_touch_hide_no_point_and_stay_inside(choice: Choice) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        figure = choice_figure(choice, "m")
    (ax,) = figure.axes
    before = ax.get_position().bounds
    figure.draw_without_rendering()
    assert ax.get_position().bounds == pytest.approx(before, abs=1e-9)  # what was placed has not moved the axes
    numbers = sorted(int(text.get_text().split(":")[0]) for text in ax.texts)
    assert numbers == list(range(1, len(choice.options) + 1))
    boxes = extents(ax)
    for one, other in itertools.combinations(boxes, 2):
        assert not one.overlaps(other)
    for box in boxes:
        assert ax.bbox.x0 <= box.x0 <= box.x1 <= ax.bbox.x1
        assert ax.bbox.y0 <= box.y0 <= box.y1 <= ax.bbox.y1
        assert not any(box.contains(*ax.transData.transform(point)) for point in points(ax))
    assert all(len(text.get_text()) < 50 for text in ax.texts)
    assert not any(text.get_parse_math() for text in ax.texts)
    assert min(float(text.get_fontsize()) for text in ax.texts) >= 7.0


def test_a_crowd_has_the_full_names_of_the_unbeaten_and_the_numbers_of_the_others() -> None:
    choice = ask("window", None, *EVERY)
    assert len(choice.options) > 10
    texts = {text.get_text() for text in drawn(choice).texts}
    assert {str(i) for i, o in enumerate(choice.options, 1) if not o.is_unbeaten} <= texts
    (ax,) = choice_figure(choice, "m").axes
    assert "numbers: as in the list" in ax.get_title(loc="left")


def test_a_name_without_room_gives_way_to_a_shorter_one_and_at_last_to_none() -> None:
    ax = Figure(figsize=(2.0, 2.0)).add_subplot()
    ax.set_xlim(0.0, 1.0)
    ax.set_ylim(0.0, 1.0)
    long = Label(0.5, 0.5, ("a name much longer than the whole of this picture is wide", "1"), "black", 9.0)
    assert place_labels(ax, [long]) == []
    assert [text.get_text() for text in ax.texts] == ["1"]
    assert place_labels(ax, [dataclasses.replace(long, texts=long.texts[:1])]) == [0]
    assert len(ax.texts) == 1


def test_a_name_keeps_off_a_line_where_it_can() -> None:
    ax = Figure().add_subplot()
    ax.set_xlim(0.0, 1.0)
    ax.set_ylim(0.0, 1.0)
    label = Label(0.5, 0.5, ("a name",), "black", 9.0)
    place_labels(ax, [label])
    place_labels(ax, [label], [[(0.5, 0.5), (0.8, 0.8)], [(0.5, 0.5), (0.8, 0.5)]])
    free, pushed = extents(ax)
    middle = ax.transData.transform((0.5, 0.5))
    assert free.y0 > middle[1]
    # on both lines at this width: just right of the point
    assert not any(pushed.contains(*ax.transData.transform((0.5 + 0.01 * i, 0.5 + 0.01 * i))) for i in range(30))
    assert not any(pushed.contains(*ax.transData.transform((0.5 + 0.01 * i, 0.5))) for i in range(30))


@pytest.mark.parametrize(("want", "spin"), [("spin", "more spin"), ("low-spin", "less spin")])
def test_the_title_says_what_is_drawn(want: Want, spin: str) -> None:
    choice = dataclasses.replace(ask(want), options=ask("window", None, *EVERY).options)
    figure = choice_figure(choice, "m")
    (ax,) = figure.axes
    title = " ".join(ax.get_title(loc="left").split())
    assert title.startswith("70 m: chance of 66.5 to 73.5 m against spin")
    assert spin in title
    assert re.search(r"dashed: \d+ %, about three quarters of the best chance", title)
    assert "dashed" not in choice_figure(ask(), "m").axes[0].get_title(loc="left")


@pytest.mark.parametrize(
    ("ending", "start"),
    [
        ("pdf", b"%PDF"),
        pytest.param("png", b"\x89PNG\r\n\x1a\n", marks=pytest.mark.long),
        pytest.param("svg", b"<?xml", marks=pytest.mark.long),
    ],
)
def test_the_files_open_and_are_the_same_twice(ending: str, start: bytes, tmp_path: Path) -> None:
    for name in ("once", "again"):
        save_figure(choice_figure(ask(), "m"), tmp_path / f"{name}.{ending}")
    assert (tmp_path / f"once.{ending}").read_bytes().startswith(start)
    assert (tmp_path / f"again.{ending}").read_bytes() == (tmp_path / f"once.{ending}").read_bytes()
