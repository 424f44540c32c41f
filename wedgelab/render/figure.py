"""Pictures, drawn with matplotlib and without a screen."""

import contextlib
import io
import math
import re
import warnings
from collections.abc import Container, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from wedgelab.chart import LEAST_CARRY_M, CarryCurve, Chart
from wedgelab.render.files import replace_file
from wedgelab.render.layout import fold, left_to_right, shorten
from wedgelab.render.words import count_text, day_text, wedge_title
from wedgelab.shots import Shot, Wedge, counts_for
from wedgelab.units import LengthUnit, format_length, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Okabe & Ito's colours, told apart by the colour-blind; line style and marker carry the same message in grey
COLOURS: Final = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9")
MARKERS: Final = ("o", "s", "^", "D", "v", "P")
STYLES: Final = ("-", "--", "-.", ":", (0, (5, 1, 1, 1)), (0, (1, 1)))
_BANDS_READABLE: Final = 4
_JITTER_DEG: Final = 8.0  # the wedges' shots of one swing length stand side by side within this
_LABEL_SHARE: Final = 0.05  # of the axes' height: one line of text
LONGEST_LABEL: Final = 18
TITLE_COLUMNS: Final = 98
_LONGEST_NAME: Final = 40
_WIDEST_TITLE: Final = 100  # signs
_NO_GLYPH: Final = r"Glyph (\d+) .*missing from"
_NARROWEST_TITLE: Final = 20


def draw_carry_curves(
    ax: "Axes",
    chart: Chart,
    curves: Sequence[CarryCurve],
    shots: Sequence[Shot],
    unit: LengthUnit,
    mishits: Container[str] = (),
) -> "Axes":
    """Draw carry over swing length: the median, the range of eight balls of ten, and the logged shots.

    Shots whose id is among ``mishits`` are drawn hollow. Each line is named at its end, with the carry there, so that
    nothing needs a legend. A line stops where the ball no longer gets up to the day's green.
    """
    ends = []
    for i, curve in enumerate(curves):
        balls = [(shot, in_unit(shot.carry_m, unit)) for shot in shots if is_of(shot, curve.wedge)]
        draw_balls(ax, balls, i, len(curves), mishits)
        flies = [carry_m > LEAST_CARRY_M for carry_m in curve.carry_m]  # False for NaN too
        low, carry, high = (
            [in_unit(x, unit) if up else math.nan for x, up in zip(values, flies, strict=True)]
            for values in (curve.carry_p10_m, curve.carry_m, curve.carry_p90_m)
        )
        colour, _, style = wedge_look(i)
        ax.fill_between(curve.swing_deg, low, high, color=colour, alpha=band_alpha(len(curves)), linewidth=0)
        title = wedge_title(curve.wedge.label, curve.wedge.loft_deg)
        ax.plot(curve.swing_deg, carry, color=colour, linestyle=style, linewidth=2.0, label=title)
        if any(flies):
            last = max(j for j, up in enumerate(flies) if up)
            text = f"{left_to_right(shorten(title, LONGEST_LABEL))}: {format_length(curve.carry_m[last], unit)} {unit}"
            ends.append((curve.swing_deg[last] + shift_deg(len(curves) - 1, len(curves)), carry[last], text, colour))
    name_ends(ax, ends)
    label_swings(ax, chart)
    ax.set_ylabel(f"carry [{unit}]")
    return ax


def wedge_look(i: int) -> tuple[str, str, Any]:
    """Return colour, marker and line style of the wedge (or whatever is told apart) at place ``i``.

    A seventh one has the first's colour, but not its line and marker too.
    """
    turn = i + i // len(COLOURS)
    return COLOURS[i % len(COLOURS)], MARKERS[turn % len(MARKERS)], STYLES[turn % len(STYLES)]


def is_of(shot: Shot, wedge: Wedge) -> bool:
    """Tell whether a ball is one of those that a wedge's line is about, at whatever swing length.

    One of another loft was the club before it was bent; a low or high flight, rough and sand have lines of their own.
    """
    return _is_drawn_as(shot, wedge, trajectory="stock", lie="")


def _is_drawn_as(shot: Shot, wedge: Wedge, *, trajectory: str, lie: str) -> bool:
    return counts_for(
        shot, wedge=wedge.label, loft_deg=wedge.loft_deg, swing_deg=shot.swing_deg, trajectory=trajectory, lie=lie
    )


def undrawn_text(shots: Sequence[Shot], wedges: Sequence[Wedge]) -> str:
    """Say how many of these wedges' balls are not drawn; nothing if all are."""
    n = sum(
        not is_of(shot, wedge) and _is_drawn_as(shot, wedge, trajectory=shot.trajectory, lie=shot.lie)
        for shot in shots
        for wedge in wedges
    )
    return f"not drawn: {count_text(n, 'ball')} hit low or high, or from rough or sand" if n else ""


def draw_balls(
    ax: "Axes", balls: Sequence[tuple[Shot, float]], i: int, n_wedges: int, mishits: Container[str] = ()
) -> None:
    """Draw the balls of the wedge at place ``i``, each at its height, beside those of the other wedges."""
    colour, marker, _ = wedge_look(i)
    shift = shift_deg(i, n_wedges)
    for hollow in (False, True):
        drawn = [(shot, y) for shot, y in balls if (shot.shot_id in mishits) == hollow]
        if not drawn and hollow:
            continue
        ax.plot(
            [shot.swing_deg + shift for shot, _ in drawn], [y for _, y in drawn],
            linestyle="none", marker=marker, markersize=3.5, color=colour, alpha=0.8 if hollow else 0.45,
            markeredgewidth=0.8 if hollow else 0, markerfacecolor="none" if hollow else colour,
        )  # fmt: skip


def band_alpha(n_wedges: int) -> float:
    """Return how strong the bands of so many wedges may be before they hide each other."""
    return 0.14 if n_wedges <= _BANDS_READABLE else 0.08


def label_swings(ax: "Axes", chart: Chart) -> None:
    """Name the swing lengths below, and leave away what carries nothing."""
    labels = [fold(swing.label, LONGEST_LABEL // 2) for swing in chart.swings]
    ax.set_xticks([swing.swing_deg for swing in chart.swings], labels, parse_math=False)
    ax.set_xlabel("swing length")
    plain_axes(ax)


def plain_axes(ax: "Axes", *, grid: Literal["both", "x", "y"] | None = "both") -> None:
    """Leave away the frame's lines that carry nothing, and put a pale grid behind what is drawn."""
    ax.set_axisbelow(True)
    if grid is not None:
        ax.grid(visible=True, axis=grid, alpha=0.25)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


@contextlib.contextmanager
def quiet_glyphs() -> Iterator[set[str]]:
    """Draw a sign that the font lacks as a box, without a warning; hand out the set of those that it met."""
    lacking: set[str] = set()
    with warnings.catch_warnings():
        warnings.filterwarnings("always", message=_NO_GLYPH)
        usual = warnings.showwarning

        def note(message: Warning | str, *more: Any, **named: Any) -> None:
            if found := re.match(_NO_GLYPH, str(message)):
                lacking.add(chr(int(found[1])))
            else:
                usual(message, *more, **named)

        warnings.showwarning = note
        yield lacking


def shift_deg(i: int, n_wedges: int) -> float:
    """Return how far [deg] beside their swing length the balls of the wedge at place ``i`` of so many stand."""
    return min(1.6, _JITTER_DEG / max(1, n_wedges - 1)) * (i - (n_wedges - 1) / 2)


def name_ends(ax: "Axes", ends: Sequence[tuple[float, float, str, str]]) -> None:
    """Write each line's name right of its end and of the shots there, pushed apart where they would touch."""
    bottom, top = ax.get_ylim()
    line = _LABEL_SHARE * (top - bottom)
    ends = sorted(ends, key=lambda end: end[1])
    heights = spread_apart([end[1] for end in ends], line)
    for (x, _, text, colour), y in zip(ends, heights, strict=True):
        ax.annotate(
            text, (x, y), xytext=(7, 0), textcoords="offset points", va="center", color=colour, fontsize=9,
            annotation_clip=False, parse_math=False,
        )  # fmt: skip


def spread_apart(heights: Sequence[float], least: float) -> list[float]:
    """Move sorted heights as little as it takes to keep them ``least`` apart; a crowd stays where its middle was."""
    crowds: list[list[float]] = []  # of heights less their own place in the stack: those have only to rise
    for i, height in enumerate(heights):
        crowds.append([height - i * least])
        while len(crowds) > 1 and sum(crowds[-2]) / len(crowds[-2]) > sum(crowds[-1]) / len(crowds[-1]):
            crowds[-2:] = [crowds[-2] + crowds[-1]]
    level = [sum(crowd) / len(crowd) for crowd in crowds for _ in crowd]
    return [place + i * least for i, place in enumerate(level)]


def chart_figure(
    chart: Chart, curves: Sequence[CarryCurve], shots: Sequence[Shot], unit: LengthUnit, mishits: Container[str] = ()
) -> "Figure":
    """Return the picture of a chart; shots whose id is among ``mishits`` are drawn hollow.

    For a chart with a day, curves and shots are to be that day's.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 5.2), layout="constrained")
    ax = draw_carry_curves(figure.add_subplot(), chart, curves, shots, unit, mishits)
    swing = shorten(chart.swings[-1].label, 20)
    title = [f"{whose(chart)}carry by swing length ({learnt_text(chart)})"]
    if chart.day is not None:
        title.append(f"today: {day_text(chart.day, unit)}; the balls as they would fly then")
    hollow = hollow_text(shots, mishits)
    title.append(f"line: median, band: 8 solid balls in 10, {hollow}at the right: carry at {swing}")
    if undrawn := undrawn_text(shots, chart.wedges):
        title.append(undrawn)
    ax.set_title("\n".join(fold(line, TITLE_COLUMNS) for line in title), fontsize=10, loc="left", parse_math=False)
    return figure


def title_that_fits(ax: "Axes", *paragraphs: str) -> None:
    """Write paragraphs above the axes, in lines that end inside the figure however wide the letters are.

    The figure must have been laid out.
    """
    figure = ax.figure.figure
    room = figure.bbox.width - ax.get_window_extent().x0 - 0.05 * figure.dpi
    for columns in range(_WIDEST_TITLE, _NARROWEST_TITLE - 1, -4):
        text = "\n".join(fold(paragraph, columns) for paragraph in paragraphs)
        title = ax.set_title(text, fontsize=10.5, loc="left", parse_math=False)
        if title.get_window_extent().width <= room:
            return


def lay_out(ax: "Axes") -> None:
    """Have the figure find its places, so that extents are those that will be drawn."""
    with quiet_glyphs():
        ax.figure.figure.draw_without_rendering()


def whose(chart: Chart) -> str:
    """Return the player's name as the beginning of a title."""
    return f"{left_to_right(shorten(chart.player, _LONGEST_NAME))}: " if chart.player else ""


def learnt_text(chart: Chart) -> str:
    """Say how much the chart rests on."""
    return f"{count_text(chart.n_shots, 'shot')} in {count_text(chart.n_sessions, 'session')}"


def hollow_text(shots: Sequence[Shot], mishits: Container[str]) -> str:
    """Say what hollow means, if any ball is."""
    return "hollow: taken for mishits, " if any(shot.shot_id in mishits for shot in shots) else ""


def save_figure(figure: "Figure", path: Path, *, dpi: int = 150) -> set[str]:
    """Write a picture, whole or not at all; the file's ending says the kind. The same picture gives the same bytes.

    Returns the signs that the font lacks: boxes stand for them.
    """
    kind = path.suffix.lower().removeprefix(".")
    metadata: dict[str, Any] = {"pdf": {"CreationDate": None, "Producer": None}, "svg": {"Date": None}}.get(
        kind, {"Software": None}
    )
    from matplotlib import rc_context

    drawn = io.BytesIO()  # on a full disk matplotlib would leave files open
    # names inside an SVG are drawn by lot without a salt; the letters of a PDF are to be searched and copied
    with quiet_glyphs() as lacking, rc_context({"svg.hashsalt": "wedgelab", "pdf.fonttype": 42}):
        figure.savefig(drawn, dpi=dpi, metadata=metadata, format=kind)
    replace_file(path, lambda draft: draft.write_bytes(drawn.getvalue()))
    return lacking
