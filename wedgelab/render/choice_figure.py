"""The picture of a choice: the chance of every option against its spin."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from wedgelab.choose import Choice, Option
from wedgelab.render.choice_labels import Label, place_labels
from wedgelab.render.choice_text import limit_words
from wedgelab.render.layout import fold, shorten
from wedgelab.render.words import percent_text
from wedgelab.units import LengthUnit, format_length

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

UNBEATEN_COLOUR: Final = "#0072B2"
OTHER_COLOUR: Final = "#767676"
_OTHER_TEXT: Final = "#404040"
_UNBEATEN_PT: Final = 8.0
_OTHER_PT: Final = 5.0
_LONGEST_LABEL: Final = 12
_EDGE: Final = 0.08
_CROWD: Final = 10  # more options than this are named by their number alone


def draw_choice(ax: "Axes", choice: Choice, unit: LengthUnit) -> "Axes":
    """Draw chance against median spin: unbeaten options as joined and named points, the others as small grey ones.

    A hollow point rests on no logged ball. A line through an unbeaten one is a standard deviation of a ball's spin
    to each side. Dashed: the least chance that a wish looks at, and the asked limit of spin.
    """
    unbeaten = sorted((o for o in choice.options if o.is_unbeaten), key=lambda o: o.spin_rpm)
    others = [option for option in choice.options if not option.is_unbeaten]
    ax.hlines(
        [100.0 * o.chance for o in unbeaten],
        [o.spin_rpm - o.spin_sd_rpm for o in unbeaten],
        [o.spin_rpm + o.spin_sd_rpm for o in unbeaten],
        colors=UNBEATEN_COLOUR, linewidth=0.8, alpha=0.5, zorder=1,
    )  # fmt: skip
    ax.plot(
        [o.spin_rpm for o in unbeaten], [100.0 * o.chance for o in unbeaten], color=UNBEATEN_COLOUR, linewidth=1.4,
        zorder=2,
    )  # fmt: skip
    _points(ax, unbeaten, UNBEATEN_COLOUR, "o", _UNBEATEN_PT)
    _points(ax, others, OTHER_COLOUR, "s", _OTHER_PT)
    if choice.least_probability:
        ax.axhline(100.0 * choice.least_probability, color="black", linewidth=0.8, linestyle="--", zorder=0)
    if choice.limits.min_spin_rpm is not None:
        ax.axvline(choice.limits.min_spin_rpm, color="black", linewidth=0.8, linestyle="--", zorder=0)
    ax.set_xlabel("median spin [rpm]")
    ax.set_ylabel("chance inside the window and of the spin [%]" if choice.n_draws else "chance inside the window [%]")
    ax.set_ylim(0.0, min(105.0, 100.0 * max(o.chance for o in choice.options) * (1.0 + 2.0 * _EDGE) + 2.0))
    ax.margins(x=2.0 * _EDGE)
    ax.grid(visible=True, alpha=0.25)
    for edge in ("top", "right"):
        ax.spines[edge].set_visible(False)
    _name(ax, choice, unit)
    return ax


def _points(ax: "Axes", options: Sequence[Option], colour: str, marker: str, size: float) -> None:
    for is_logged in (True, False):
        chosen = [option for option in options if (option.n_shots > 0) == is_logged]
        if chosen:
            ax.plot(
                [o.spin_rpm for o in chosen], [100.0 * o.chance for o in chosen], linestyle="none", marker=marker,
                markersize=size, color=colour, markerfacecolor=colour if is_logged else "white", markeredgewidth=1.3,
                zorder=3,
            )  # fmt: skip


def _name(ax: "Axes", choice: Choice, unit: LengthUnit) -> None:
    """Name the options by their number in the list, the unbeaten first: they are to have their full name."""
    is_crowded = len(choice.options) > _CROWD
    front = sorted((o for o in choice.options if o.is_unbeaten), key=lambda o: o.spin_rpm)
    lines = [[(o.spin_rpm + side * o.spin_sd_rpm, 100.0 * o.chance) for side in (-1.0, 1.0)] for o in front]
    lines.append([(o.spin_rpm, 100.0 * o.chance) for o in front])
    if choice.least_probability:
        lines.append([(x, 100.0 * choice.least_probability) for x in ax.get_xlim()])
    if choice.limits.min_spin_rpm is not None:
        lines.append([(choice.limits.min_spin_rpm, y) for y in ax.get_ylim()])
    labels = [_label(number, o, unit, is_crowded=is_crowded) for number, o in enumerate(choice.options, 1)]
    labels.sort(key=lambda label: -label.size_pt)
    place_labels(ax, labels, lines)


def _label(number: int, option: Option, unit: LengthUnit, *, is_crowded: bool) -> Label:
    flight = "" if option.trajectory == "stock" else f" {option.trajectory}"
    title = f"{number}: {shorten(option.wedge, _LONGEST_LABEL)} {shorten(option.swing, _LONGEST_LABEL)}{flight}"
    carry = f"{format_length(option.played_m, unit)} {unit}"
    if option.is_unbeaten:
        texts: tuple[str, ...] = (f"{title}, {carry}", title, str(number))
    else:
        texts = (str(number),) if is_crowded else (title, str(number))
    colour, size_pt = (UNBEATEN_COLOUR, 9.0) if option.is_unbeaten else (_OTHER_TEXT, 7.5)
    marker_pt = _UNBEATEN_PT if option.is_unbeaten else _OTHER_PT
    return Label(option.spin_rpm, 100.0 * option.chance, texts, colour, size_pt, marker_pt + 2.0)


def choice_figure(choice: Choice, unit: LengthUnit) -> "Figure":
    """Return the picture of a choice."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 5.2), layout="constrained")
    ax = figure.add_subplot()
    target = f"{format_length(choice.target_m, unit, 1).removesuffix('.0')} {unit}"
    edges = f"{format_length(choice.window_low_m, unit, 1)} to {format_length(choice.window_high_m, unit, 1)} {unit}"
    limits = limit_words(choice.limits, unit)
    title = f"{target}: chance of {edges} against spin" + (f"; {limits}" if limits else "")
    # the title takes room, so it stands before the names find theirs
    ax.set_title(
        f"{fold(title, 90)}\n{fold('; '.join(_legend(choice)), 105)}", fontsize=9.5, loc="left", parse_math=False
    )
    draw_choice(ax, choice, unit)
    return figure


def _legend(choice: Choice) -> list[str]:
    """Explain the signs that this picture has."""
    said = ["numbers: as in the list"]
    if sum(option.is_unbeaten for option in choice.options) > 1:
        less = "less" if choice.want == "low-spin" else "more"
        said.append(f"blue and joined: no other has as good a chance and {less} spin")
    said.append("bar: spin of 2 balls in 3")
    if any(not option.n_shots for option in choice.options):
        said.append("hollow: no ball logged there")
    if choice.least_probability:
        share = percent_text(choice.least_probability)
        said.append(f"dashed: {share}, about three quarters of the best chance")
    return said
