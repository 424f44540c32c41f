"""Pictures, drawn with matplotlib and without a screen."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from wedgelab.chart import CarryCurve, Chart
from wedgelab.errors import FileProblemError
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


def draw_carry_curves(
    ax: "Axes", chart: Chart, curves: Sequence[CarryCurve], shots: Sequence[Shot], unit: LengthUnit
) -> "Axes":
    """Draw carry over swing length: the median, the range of eight balls of ten, and the logged shots."""
    for i, curve in enumerate(curves):
        colour, marker = COLOURS[i % len(COLOURS)], MARKERS[i % len(MARKERS)]
        title = wedge_title(curve.wedge.label, curve.wedge.loft_deg)
        mine = [
            s
            for s in shots
            if s.wedge.casefold() == curve.wedge.label.casefold() and s.loft_deg == curve.wedge.loft_deg
        ]
        ax.plot(
            [shot.swing_deg + 1.6 * (i - (len(curves) - 1) / 2) for shot in mine],
            [in_unit(shot.carry_m, unit) for shot in mine],
            linestyle="none", marker=marker, markersize=3.5, color=colour, alpha=0.45, markeredgewidth=0,
        )  # fmt: skip
        low = [in_unit(x, unit) for x in curve.carry_p10_m]
        high = [in_unit(x, unit) for x in curve.carry_p90_m]
        ax.fill_between(
            curve.swing_deg,
            low,
            high,
            color=colour,
            alpha=0.14 if len(curves) <= _BANDS_READABLE else 0.08,
            linewidth=0,
        )
        ax.plot(
            curve.swing_deg, [in_unit(x, unit) for x in curve.carry_m],
            color=colour, linestyle=STYLES[i % len(STYLES)], linewidth=2.0, label=title,
        )  # fmt: skip
        ax.annotate(
            f"{title}: {format_length(curve.carry_m[-1], unit)}",
            (curve.swing_deg[-1], in_unit(curve.carry_m[-1], unit)),
            xytext=(6, 0), textcoords="offset points", va="center", color=colour, fontsize=9, annotation_clip=False,
        )  # fmt: skip
    ax.set_xticks([swing.swing_deg for swing in chart.swings], [swing.label for swing in chart.swings])
    ax.set_xlabel("swing length")
    ax.set_ylabel(f"carry [{unit}]")
    ax.grid(visible=True, alpha=0.25)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.legend(title="wedge (loft)", frameon=False, loc="upper left")
    return ax


def chart_figure(chart: Chart, curves: Sequence[CarryCurve], shots: Sequence[Shot], unit: LengthUnit) -> "Figure":
    """Return the picture of a chart."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 5.2), layout="constrained")
    ax = draw_carry_curves(figure.add_subplot(), chart, curves, shots, unit)
    who = f"{chart.player}: " if chart.player else ""
    learnt = f"{count_text(chart.n_shots, 'shot')} in {count_text(chart.n_sessions, 'session')}"
    ax.set_title(
        f"{who}carry by swing length ({learnt})\nline: median, band: 8 solid balls in 10", fontsize=11, loc="left"
    )
    return figure


def save_figure(figure: "Figure", path: Path, *, dpi: int = 150) -> None:
    """Write a picture; the file's ending says the kind. The same picture gives the same bytes."""
    metadata: dict[str, Any] = {".pdf": {"CreationDate": None, "Producer": None}, ".svg": {"Date": None}}.get(
        path.suffix.lower(), {"Software": None}
    )
    try:
        figure.savefig(path, dpi=dpi, metadata=metadata)
    except OSError as error:
        raise FileProblemError(
            path, f"cannot be written ({error.strerror or error})", "choose another place"
        ) from error
