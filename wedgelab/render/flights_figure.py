"""The picture of one distance with three flights: apex, landing angle and chance of each shot, row by row."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from wedgelab.choose import Flights, Option
from wedgelab.render.choice_text import limit_words
from wedgelab.render.choice_words import lie_text
from wedgelab.render.figure import COLOURS
from wedgelab.render.layout import fold, shorten
from wedgelab.render.words import day_text, estimate_text, percent_text, wedge_title
from wedgelab.units import LengthUnit, format_length, format_number, in_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

What = Literal["apex", "landing", "chance"]
LOOKS: Final = {"low": ("v", COLOURS[0]), "stock": ("o", COLOURS[1]), "high": ("^", COLOURS[2])}
LEFT_OUT: Final = "#767676"
_LONGEST_LABEL: Final = 12
_BETWEEN: Final = 0.6  # of a row, between two wedges
_LEAST_SPAN: Final = 6.0  # of the axis, in its own unit
_ROW_IN: Final = 0.24
_HEAD_IN: Final = 1.75


@dataclass(frozen=True, slots=True)
class _Measure:
    """What a panel shows: where the point lies, what is written beside it, and the limit asked of it."""

    value: Callable[[Option, LengthUnit], float]
    words: Callable[[Option, LengthUnit], str]
    limit: Callable[[Flights, LengthUnit], float | None]
    title: str


def _max_apex(flights: Flights, unit: LengthUnit) -> float | None:
    return None if flights.limits.max_apex_m is None else in_unit(flights.limits.max_apex_m, unit)


_MEASURES: Final[dict[What, _Measure]] = {
    "apex": _Measure(
        lambda o, unit: in_unit(o.flight.apex_m, unit),
        lambda o, unit: estimate_text(format_length(o.flight.apex_m, unit), o.flight.flight_support),
        _max_apex,
        "apex [{}]",
    ),
    "landing": _Measure(
        lambda o, _: o.flight.land_deg,
        lambda o, _: estimate_text(format_number(o.flight.land_deg), o.flight.flight_support),
        lambda flights, _: flights.limits.min_land_deg,
        "landing angle [deg]",
    ),
    "chance": _Measure(
        lambda o, _: 100.0 * o.window_probability,
        lambda o, _: percent_text(o.window_probability),
        lambda _, __: None,
        "inside the window [%]",
    ),
}


def draw_flights(ax: "Axes", flights: Flights, unit: LengthUnit, what: What = "apex") -> "Axes":
    """Draw a row for each wedge and flight, with a point and its number: the apex, the landing angle or the chance.

    A wedge's rows stand together, low, stock, high, and are joined. Hollow points rest on no logged ball; a grey cross
    is a flight that does not keep the limit, which is dashed.
    """
    measure, heights = _MEASURES[what], _heights(flights)
    for option, y in zip(flights.shots, heights, strict=True):
        marker, colour = LOOKS[option.trajectory]
        is_out = option in flights.left_out
        ax.plot(
            [measure.value(option, unit)], [y], linestyle="none", marker="x" if is_out else marker, markersize=7.5,
            color=LEFT_OUT if is_out else colour, markerfacecolor=colour if option.n_shots else "white",
            markeredgewidth=1.4, zorder=3,
        )  # fmt: skip
        ax.annotate(
            measure.words(option, unit), (measure.value(option, unit), y), xytext=(8, 0), textcoords="offset points",
            va="center", fontsize=9, color=LEFT_OUT if is_out else "black", parse_math=False, annotation_clip=False,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.9},  # the limit's line may be there
        )  # fmt: skip
    for club in dict.fromkeys((o.wedge, o.loft_deg) for o in flights.shots):
        mine = [(o, y) for o, y in zip(flights.shots, heights, strict=True) if (o.wedge, o.loft_deg) == club]
        ax.plot([measure.value(o, unit) for o, _ in mine], [y for _, y in mine], color="#BBBBBB", linewidth=1, zorder=1)
    limit = measure.limit(flights, unit)
    if limit is not None:
        ax.axvline(limit, color="black", linewidth=0.9, linestyle="--", zorder=0)
    ax.set_yticks(heights, [_row_title(option, flights) for option in flights.shots], parse_math=False, fontsize=9)
    ax.set_ylim(max(heights, default=0.0) + 0.7, -0.7)
    ax.set_xlabel(measure.title.format(unit))
    ax.margins(x=0.22)
    low, high = ax.get_xlim()
    if high - low < _LEAST_SPAN:  # or a tenth of a degree would look like much
        ax.set_xlim(0.5 * (low + high - _LEAST_SPAN), 0.5 * (low + high + _LEAST_SPAN))
    if what == "chance":
        ax.set_xlim(0.0, 100.0 * max((o.window_probability for o in flights.shots), default=1.0) * 1.35)
    ax.tick_params(axis="y", length=0)
    ax.grid(visible=True, axis="x", alpha=0.25)
    for edge in ("top", "right", "left"):
        ax.spines[edge].set_visible(False)
    return ax


def _heights(flights: Flights) -> list[float]:
    """Return where the rows stand, downwards, with a gap between two wedges."""
    heights: list[float] = []
    clubs = [(option.wedge, option.loft_deg) for option in flights.shots]
    for i, club in enumerate(clubs):
        heights.append(heights[-1] + 1.0 + (_BETWEEN if club != clubs[i - 1] else 0.0) if i else 0.0)
    return heights


def _row_title(option: Option, flights: Flights) -> str:
    title = shorten(wedge_title(option.wedge, option.loft_deg), _LONGEST_LABEL)
    swing = shorten(option.swing, _LONGEST_LABEL)
    return f"{title} {option.trajectory}, {swing}" + (" (left out)" if option in flights.left_out else "")


def flights_figure(flights: Flights, unit: LengthUnit) -> "Figure":
    """Return the picture of three flights: apex, landing angle and chance beside each other."""
    from matplotlib.figure import Figure

    figure = Figure(
        figsize=(9.0, _HEAD_IN + _ROW_IN * (1.4 + max(_heights(flights), default=0.0))), layout="constrained"
    )
    panels = figure.subplots(1, len(_MEASURES), width_ratios=(1.0, 1.0, 0.8))
    for ax, what in zip(panels, _MEASURES, strict=True):
        draw_flights(ax, flights, unit, what)
        if ax is not panels[0]:
            ax.set_yticklabels([])
    title = f"{format_length(flights.target_m, unit, 1).removesuffix('.0')} {unit} low, stock and high"
    if flights.lie:
        title += f", {lie_text(flights.lie)}"
    if flights.day is not None:
        title += f"; today: {day_text(flights.day, unit)}"
    figure.suptitle(
        f"{fold(title, 95)}\n{fold('; '.join(_legend(flights, unit)), 115)}", fontsize=9.5, x=0.01, ha="left",
        parse_math=False,
    )  # fmt: skip
    return figure


def _legend(flights: Flights, unit: LengthUnit) -> list[str]:
    """Explain the signs that this picture has."""
    said = ["each swing has the distance as its median carry"]
    if any(not option.n_shots for option in flights.flights):
        said.append("hollow: no ball logged so")
    if any(option.flight.flight_support != "measured" for option in flights.shots):
        said.append("in brackets: the model's estimate")
    if flights.limits.given:
        said.append(f"dashed: {limit_words(flights.limits, unit)}")
    if flights.left_out:
        said.append("cross: left out")
    return said
