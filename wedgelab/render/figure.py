"""Pictures, drawn with matplotlib and without a screen."""

import warnings
from collections.abc import Container, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from wedgelab.chart import CarryCurve, Chart
from wedgelab.errors import FileProblemError
from wedgelab.render.layout import fold, shorten
from wedgelab.render.words import count_text, wedge_title
from wedgelab.shots import Shot
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
_LONGEST_LABEL: Final = 18


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
    nothing needs a legend.
    """
    step = min(1.6, _JITTER_DEG / max(1, len(curves) - 1))
    ends: list[tuple[float, float, str, str]] = []
    for i, curve in enumerate(curves):
        turn = i + i // len(COLOURS)  # a seventh wedge has the first one's colour, but not its line and marker too
        colour, marker, style = COLOURS[i % len(COLOURS)], MARKERS[turn % len(MARKERS)], STYLES[turn % len(STYLES)]
        title = wedge_title(curve.wedge.label, curve.wedge.loft_deg)
        label = curve.wedge.label.casefold()
        mine = [s for s in shots if s.wedge.casefold() == label and s.loft_deg == curve.wedge.loft_deg]
        shift = step * (i - (len(curves) - 1) / 2)
        for hollow in (False, True):
            drawn = [shot for shot in mine if (shot.shot_id in mishits) == hollow]
            if not drawn and hollow:
                continue
            ax.plot(
                [shot.swing_deg + shift for shot in drawn],
                [in_unit(shot.carry_m, unit) for shot in drawn],
                linestyle="none", marker=marker, markersize=3.5, color=colour, alpha=0.8 if hollow else 0.45,
                markeredgewidth=0.8 if hollow else 0, markerfacecolor="none" if hollow else colour,
            )  # fmt: skip
        ax.fill_between(
            curve.swing_deg,
            [in_unit(x, unit) for x in curve.carry_p10_m],
            [in_unit(x, unit) for x in curve.carry_p90_m],
            color=colour,
            alpha=0.14 if len(curves) <= _BANDS_READABLE else 0.08,
            linewidth=0,
        )
        carries = [in_unit(x, unit) for x in curve.carry_m]
        ax.plot(curve.swing_deg, carries, color=colour, linestyle=style, linewidth=2.0, label=title)
        text = f"{shorten(title, _LONGEST_LABEL)}: {format_length(curve.carry_m[-1], unit)} {unit}"
        ends.append((curve.swing_deg[-1] + step * (len(curves) - 1) / 2, carries[-1], text, colour))
    _name_ends(ax, ends)
    labels = [fold(swing.label, _LONGEST_LABEL // 2) for swing in chart.swings]
    ax.set_xticks([swing.swing_deg for swing in chart.swings], labels, parse_math=False)
    ax.set_xlabel("swing length")
    ax.set_ylabel(f"carry [{unit}]")
    ax.grid(visible=True, alpha=0.25)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    return ax


def _name_ends(ax: "Axes", ends: Sequence[tuple[float, float, str, str]]) -> None:
    """Write each line's name right of its end and of the shots there, pushed apart where they would touch."""
    bottom, top = ax.get_ylim()
    line = _LABEL_SHARE * (top - bottom)
    ends = sorted(ends, key=lambda end: end[1])
    heights = _spread([end[1] for end in ends], line)
    for (x, _, text, colour), y in zip(ends, heights, strict=True):
        ax.annotate(
            text, (x, y), xytext=(7, 0), textcoords="offset points", va="center", color=colour, fontsize=9,
            annotation_clip=False, parse_math=False,
        )  # fmt: skip


def _spread(heights: Sequence[float], least: float) -> list[float]:
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
    """Return the picture of a chart; shots whose id is among ``mishits`` are drawn hollow."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 5.2), layout="constrained")
    ax = draw_carry_curves(figure.add_subplot(), chart, curves, shots, unit, mishits)
    who = f"{chart.player}: " if chart.player else ""
    hollow = "hollow: taken for mishits, " if any(shot.shot_id in mishits for shot in shots) else ""
    learnt = f"{count_text(chart.n_shots, 'shot')} in {count_text(chart.n_sessions, 'session')}"
    ax.set_title(
        fold(f"{who}carry by swing length ({learnt})", 80)
        + f"\nline: median, band: 8 solid balls in 10, {hollow}"
        + f"at the right: carry at {shorten(chart.swings[-1].label, 20)}",
        fontsize=11, loc="left", parse_math=False,
    )  # fmt: skip
    return figure


def save_figure(figure: "Figure", path: Path, *, dpi: int = 150) -> None:
    """Write a picture; the file's ending says the kind. The same picture gives the same bytes."""
    metadata: dict[str, Any] = {".pdf": {"CreationDate": None, "Producer": None}, ".svg": {"Date": None}}.get(
        path.suffix.lower(), {"Software": None}
    )
    try:
        with warnings.catch_warnings():
            # a sign that the font lacks is drawn as a box; no warning may disturb the terminal for that
            warnings.filterwarnings("ignore", message="Glyph .* missing from")
            figure.savefig(path, dpi=dpi, metadata=metadata)
    except OSError as error:
        raise FileProblemError(
            path, f"cannot be written ({error.strerror or error})", "choose another place"
        ) from error
