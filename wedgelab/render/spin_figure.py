"""The picture of the chart's spin: spin over swing length, hatched where no reading stands behind it."""

import itertools
from collections.abc import Container, Sequence
from typing import TYPE_CHECKING, Final

from wedgelab.chart import Chart, ChartCell, SpinCurve
from wedgelab.render.figure import (
    LONGEST_LABEL,
    TITLE_COLUMNS,
    band_alpha,
    draw_balls,
    hollow_text,
    is_of,
    label_swings,
    learnt_text,
    name_ends,
    shift_deg,
    undrawn_text,
    wedge_look,
    whose,
)
from wedgelab.render.layout import fold, left_to_right, shorten
from wedgelab.render.words import spin_text, wedge_title
from wedgelab.shots import Shot

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_HATCH_STRENGTH: Final = 0.35
_HATCHES: Final = ("//", "\\\\", "||", "--", "xx", "..")


def draw_spin_curves(
    ax: "Axes", chart: Chart, curves: Sequence[SpinCurve], shots: Sequence[Shot], mishits: Container[str] = ()
) -> "Axes":
    """Draw spin over swing length: the median, the range of eight balls of ten, and the balls' readings.

    Where the chart has its spin in brackets, because no ball near there was read, the line is thin and the band is
    hatched: each point is as surely known as the named swing length that is nearest to it.
    """
    ends = []
    for i, (curve, cells) in enumerate(zip(curves, chart.rows, strict=True)):
        balls = [(s, s.spin_rpm) for s in shots if s.spin_rpm is not None and is_of(s, curve.wedge)]
        draw_balls(ax, balls, i, len(curves), mishits)
        for part, is_read in _parts(curve, cells):
            _draw_part(ax, curve, part, i, len(curves), is_read=is_read)
        title = wedge_title(curve.wedge.label, curve.wedge.loft_deg)
        name = left_to_right(shorten(title, LONGEST_LABEL))
        text = f"{name}: {spin_text(cells[-1].spin_rpm, cells[-1].spin_support)} rpm"
        x = curve.swing_deg[-1] + shift_deg(len(curves) - 1, len(curves))
        ends.append((x, curve.spin_rpm[-1], text, wedge_look(i)[0]))
    name_ends(ax, ends)
    label_swings(ax, chart)
    ax.set_ylabel("spin [rpm]")
    return ax


def spin_figure(
    chart: Chart, curves: Sequence[SpinCurve], shots: Sequence[Shot], mishits: Container[str] = ()
) -> "Figure":
    """Return the picture of the chart's spin; shots whose id is among ``mishits`` are drawn hollow."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 5.2), layout="constrained")
    ax = draw_spin_curves(figure.add_subplot(), chart, curves, shots, mishits)
    read = [shot for shot in shots if shot.spin_rpm is not None]
    title = [
        f"{whose(chart)}spin by swing length ({len(read)} of {learnt_text(chart)} with a reading)",
        f"line: median, band: 8 solid balls in 10, {hollow_text(read, mishits)}at the right: spin at "
        + shorten(chart.swings[-1].label, 20),
    ]
    if undrawn := undrawn_text(read, chart.wedges):
        title.append(undrawn)
    if not read:
        title.append("no spin was ever logged: all of it is physics, not this player (hatched)")
    elif any(cell.spin_support != "measured" for cell in chart.cells):
        title.append("hatched, thin, in brackets: none was logged there yet")
    if chart.day is not None:
        title.append("the same on every day: what an air does to the spin is not told")
    ax.set_title("\n".join(fold(line, TITLE_COLUMNS) for line in title), fontsize=10, loc="left", parse_math=False)
    return figure


def _parts(curve: SpinCurve, cells: Sequence[ChartCell]) -> list[tuple[slice, bool]]:
    """Cut a curve where the nearest named swing length changes between one with readings and one without."""
    read = [
        min(cells, key=lambda cell: abs(cell.swing_deg - swing)).spin_support == "measured" for swing in curve.swing_deg
    ]
    cuts = [i for i in range(1, len(read)) if read[i] != read[i - 1]]
    edges = [0, *cuts, len(read)]
    # each part begins where the one before it ended, so that the line has no hole
    return [(slice(max(0, a - 1), b), read[a]) for a, b in itertools.pairwise(edges)]


def _draw_part(ax: "Axes", curve: SpinCurve, part: slice, i: int, n_wedges: int, *, is_read: bool) -> None:
    colour, _, style = wedge_look(i)
    along = curve.swing_deg[part], curve.spin_p10_rpm[part], curve.spin_p90_rpm[part]
    if is_read:
        ax.fill_between(*along, color=colour, alpha=band_alpha(n_wedges), linewidth=0)
    else:
        ax.fill_between(
            *along, facecolor="none", edgecolor=_pale(colour), linewidth=0, hatch=_HATCHES[i % len(_HATCHES)]
        )
    ax.plot(
        curve.swing_deg[part], curve.spin_rpm[part], color=colour, linestyle=style, linewidth=2.0 if is_read else 1.0,
        label=wedge_title(curve.wedge.label, curve.wedge.loft_deg),
    )  # fmt: skip


def _pale(colour: str) -> tuple[float, ...]:
    """Return a colour mixed with white: a PDF knows no hatch that one can see through."""
    from matplotlib.colors import to_rgb

    return tuple(1.0 - _HATCH_STRENGTH * (1.0 - part) for part in to_rgb(colour))
