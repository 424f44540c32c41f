"""Two players in one picture, asserted on what was drawn, and what is said of shots that were never logged."""

import dataclasses
import itertools
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from tests.fakes import TYPICAL_BAG, FakePredictor, as_predictor, fake_carry_m
from wedgelab.choose import Choice, Limits, choose
from wedgelab.compare import Comparison, Side, compare_charts, compare_choices
from wedgelab.render.compare_figure import (
    OPTIONS_SHOWN,
    choices_figure,
    comparison_figure,
    draw_choices,
    draw_comparison,
)
from wedgelab.render.compare_text import choices_line, comparison_text, unlogged_lines
from wedgelab.render.figure import save_figure
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import YARD_M, LengthUnit, format_length, format_number
from wedgelab.window import WindowRule

FIRST = FakePredictor(count=lambda kind: 4 if kind.swing_deg == 90.0 else 0)
SECOND = FakePredictor(carry_m=lambda kind: 1.4 * fake_carry_m(kind) if kind.loft_deg > 58.0 else fake_carry_m(kind))
HOSTILE = Bag(
    (Wedge("<b>$x^2$</b> and more of it", 60.0), Wedge("楔" * 40, 50.0), Wedge("_" * 40, 54.0)),
    (SwingLength("three quarters, slowly", 135.0), SwingLength("7:30", 45.0), SwingLength("=cmd()", 90.0)),
)


def charts(names: tuple[str, str] = ("Ada", "Bo"), bag: Bag = TYPICAL_BAG) -> Comparison:
    first, second = (
        Side(name, as_predictor(fake), bag) for name, fake in zip(names, (FIRST, SECOND), strict=True)
    )  # fmt: skip
    return compare_charts(first, second)


def pair(target_m: float = 70.0, limits: Limits | None = None, bag: Bag = TYPICAL_BAG) -> list[Choice]:
    ask = {"window": WindowRule(), "limits": limits or Limits(), "trajectories": ("low", "stock")}
    return [choose(as_predictor(fake), bag, target_m, **ask) for fake in (FIRST, SECOND)]  # type: ignore[arg-type]  # words in a dict


def carries(ax: Axes) -> list[float]:
    return [float(np.asarray(line.get_xdata())[0]) for line in ax.lines if line.get_marker() in {"o", "s"}]


@pytest.mark.parametrize("unit", ["yd", "m"])
def test_each_shot_has_two_carries_with_their_errors_and_the_difference(unit: LengthUnit) -> None:
    comparison = charts()
    size = YARD_M if unit == "yd" else 1.0
    ax = Figure().add_subplot()
    assert draw_comparison(ax, comparison, unit) is ax
    cells = [*(shot.first for shot in comparison.shots), *(shot.second for shot in comparison.shots)]
    assert carries(ax) == pytest.approx([cell.carry_m / size for cell in cells])
    bars = [segment for lines in ax.collections for segment in lines.get_segments()]  # type: ignore[attr-defined]  # LineCollections
    assert [bar[1][0] - bar[0][0] for bar in bars] == pytest.approx([2.0 * cell.carry_se_m / size for cell in cells])
    drawn = [line for line in ax.lines if line.get_marker() in {"o", "s"}]
    assert [line.get_marker() for line in drawn] == ["o"] * 9 + ["s"] * 9
    assert [line.get_markerfacecolor() == "white" for line in drawn] == [not cell.n_shots for cell in cells]
    assert any(shot.carry_told_apart for shot in comparison.shots)
    for text, shot in zip(ax.texts, comparison.shots, strict=True):
        signs = ["" if cell.support == "measured" else "~" for cell in (shot.first, shot.second)]
        both = (
            f"{signs[0]}{format_length(shot.first.carry_m, unit)}, {signs[1]}{format_length(shot.second.carry_m, unit)}"
        )
        difference = format_length(shot.carry_difference_m, unit)
        star = "*" if shot.carry_told_apart else ""
        assert text.get_text() == f"{both}: {star}{difference}"  # the first carries less or the same


@pytest.mark.parametrize(
    ("n_first", "said"),
    [
        ((0, 0, 0), "Of these 9 shots Ada has logged none: "),
        ((0, 4, 0), "Of these 9 shots Ada has logged 3: "),
        ((1, 1, 1), None),
    ],
)
def test_shots_without_a_logged_ball_are_said(n_first: tuple[int, int, int], said: str | None) -> None:
    counts = dict(zip((45.0, 90.0, 135.0), n_first, strict=True))
    fake = FakePredictor(count=lambda kind: counts[kind.swing_deg])
    comparison = compare_charts(*(Side(n, as_predictor(p), TYPICAL_BAG) for n, p in (("Ada", fake), ("Bo", SECOND))))
    lines = unlogged_lines(comparison)
    text = " ".join(comparison_text(comparison, "yd").split())
    assert all(line in text for line in lines)
    assert [line.startswith(said or "") for line in lines] == ([True] if said else [])
    assert "Bo has logged" not in text


def test_a_choice_that_rests_on_no_ball_is_said_beside_it() -> None:
    first, second = pair()
    bare = dataclasses.replace(first, options=(dataclasses.replace(first.best, n_shots=0),))
    said = choices_line(compare_choices(bare, second), "Ada", "Bo", "m")
    assert f"Ada with {first.best.name} (no ball logged there) " in said
    assert f"Bo with {second.best.name} {format_number(100.0 * second.best.chance)} %" in said


@pytest.mark.parametrize("limits", [None, Limits(min_spin_rpm=5000.0)])
def test_each_player_has_a_bar_for_each_of_the_first_options(limits: Limits | None) -> None:
    choices = pair(limits=limits)
    assert all(len(choice.options) > OPTIONS_SHOWN for choice in choices)
    ax = Figure().add_subplot()
    assert draw_choices(ax, ("Ada", "Bo"), choices, "m") is ax
    options = [option for choice in choices for option in choice.options[:OPTIONS_SHOWN]]
    bars = [bar for box in ax.containers for bar in box]
    assert [bar.get_width() for bar in bars] == pytest.approx([100.0 * option.chance for option in options])
    assert [text.get_text() for text in ax.texts] == [
        f"{format_number(100.0 * o.chance)} %, {format_length(o.played_m, 'm')} m" for o in options
    ]
    white = [tuple(bar.get_facecolor()[:3]) == (1.0, 1.0, 1.0) for bar in bars]
    assert white == [not option.n_shots for option in options]
    assert [bool(bar.get_hatch()) for bar in bars] == [False] * OPTIONS_SHOWN + [True] * OPTIONS_SHOWN  # in grey too
    labels = [label.get_text() for label in ax.get_yticklabels()]
    assert [label.split(":")[0] for label in labels] == ["Ada"] * OPTIONS_SHOWN + ["Bo"] * OPTIONS_SHOWN
    assert labels[0].startswith(f"Ada: {choices[0].best.wedge} {choices[0].best.swing}")
    assert ("of the spin" in ax.get_xlabel()) == (limits is not None)


NAMES = [("Ada", "Bo"), ("<i>$A_1$</i>" + "x" * 180, "_Bo" + "y" * 80)]


@pytest.mark.filterwarnings("ignore:Glyph .* missing from")
@pytest.mark.parametrize("names", NAMES, ids=["short", "hostile"])
@pytest.mark.parametrize("bag", [TYPICAL_BAG, HOSTILE], ids=["typical", "hostile"])
@pytest.mark.parametrize("kind", ["charts", "choices"])
def test_no_word_touches_another_or_leaves_the_picture(names: tuple[str, str], bag: Bag, kind: str) -> None:
    figure = (
        comparison_figure(charts(names, bag), "yd") if kind == "charts" else choices_figure(names, pair(bag=bag), "yd")
    )
    figure.draw_without_rendering()
    (ax,) = figure.axes
    words = [*ax.texts, *ax.get_yticklabels()]
    assert not any(word.get_parse_math() for word in words)
    boxes = [word.get_window_extent() for word in words]
    for one, other in itertools.combinations(boxes, 2):
        assert not one.overlaps(other)
    for box in boxes:
        assert figure.bbox.x0 <= box.x0 <= box.x1 <= figure.bbox.x1
        assert figure.bbox.y0 <= box.y0 <= box.y1 <= figure.bbox.y1
    (title,) = figure.texts
    assert title.get_window_extent().x1 <= figure.bbox.x1
    assert not title.get_parse_math()
    assert ax.get_window_extent().width > 0.3 * figure.bbox.width


def test_the_titles_say_who_and_what() -> None:
    charted, chosen = comparison_figure(charts(), "yd"), choices_figure(("Ada", "Bo"), pair(), "yd")
    assert charted.get_suptitle().startswith(
        "Ada (round) and Bo (square): median carries, from 63 shots and 63 shots; both"
    )
    assert "hollow: no ball logged there" in charted.get_suptitle()
    assert chosen.get_suptitle().startswith("76.6 yd: chance of 72.7 to 80.4 yd\n")
    assert f"the first {OPTIONS_SHOWN} options of each player" in chosen.get_suptitle()


@pytest.mark.parametrize(
    ("ending", "start"),
    [
        ("pdf", b"%PDF"),
        pytest.param("png", b"\x89PNG\r\n\x1a\n", marks=pytest.mark.long),
        pytest.param("svg", b"<?xml", marks=pytest.mark.long),
    ],
)
def test_the_files_open(ending: str, start: bytes, tmp_path: Path) -> None:
    charted, chosen = comparison_figure(charts(), "yd"), choices_figure(("Ada", "Bo"), pair(), "yd")
    for name, figure in (("charted", charted), ("chosen", chosen)):
        save_figure(figure, tmp_path / f"{name}.{ending}")
        assert (tmp_path / f"{name}.{ending}").read_bytes().startswith(start)


def test_two_bags_without_a_shot_in_common_make_an_empty_picture() -> None:
    far = Bag((Wedge("46", 46.0),), (SwingLength("pitch", 70.0),))
    comparison = compare_charts(Side("Ada", as_predictor(FIRST), TYPICAL_BAG), Side("Bo", as_predictor(SECOND), far))
    figure = comparison_figure(comparison, "yd")
    assert "there is no shot that both have" in figure.get_suptitle()
    assert carries(figure.axes[0]) == []
    assert unlogged_lines(comparison) == []
