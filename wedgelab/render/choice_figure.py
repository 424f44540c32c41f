"""The picture of a choice: the chance of every option against its spin."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from wedgelab.choose import Choice, Option
from wedgelab.render.choice_text import limits_text
from wedgelab.render.layout import fold, shorten
from wedgelab.units import LengthUnit, format_length, format_number

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

UNBEATEN_COLOUR: Final = "#0072B2"
OTHER_COLOUR: Final = "#767676"
_LONGEST_LABEL: Final = 22
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
    _points(ax, unbeaten, UNBEATEN_COLOUR, "o", 8.0)
    _points(ax, others, OTHER_COLOUR, "s", 5.0)
    is_crowded, side = len(choice.options) > _CROWD, -1 if choice.want == "low-spin" else 1
    for number, option in enumerate(choice.options, 1):
        _name(ax, number, option, unit, side=side, is_crowded=is_crowded)
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


def _name(ax: "Axes", number: int, option: Option, unit: LengthUnit, *, side: int, is_crowded: bool) -> None:
    """Name an unbeaten option at the side to which the joining line never goes, another one small and lower."""
    flight = "" if option.trajectory == "stock" else f" {option.trajectory}"
    text = shorten(f"{option.wedge} {option.swing}{flight}", _LONGEST_LABEL)
    if option.is_unbeaten:
        ax.annotate(
            f"{text}: {format_length(option.played_m, unit)} {unit}", (option.spin_rpm, 100.0 * option.chance),
            xytext=(5 * side, 5), textcoords="offset points", ha="left" if side > 0 else "right", va="bottom",
            fontsize=9, parse_math=False, zorder=4, annotation_clip=False,
        )  # fmt: skip
        return
    ax.annotate(
        str(number) if is_crowded else text, (option.spin_rpm, 100.0 * option.chance),
        xytext=(4, -2) if is_crowded else (0, -6), textcoords="offset points", ha="left" if is_crowded else "center",
        va="top", color="#595959", fontsize=7, parse_math=False, zorder=4,
    )  # fmt: skip


def choice_figure(choice: Choice, unit: LengthUnit) -> "Figure":
    """Return the picture of a choice."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 5.2), layout="constrained")
    ax = draw_choice(figure.add_subplot(), choice, unit)
    target = f"{format_length(choice.target_m, unit, 1).removesuffix('.0')} {unit}"
    edges = f"{format_length(choice.window_low_m, unit, 1)} to {format_length(choice.window_high_m, unit, 1)} {unit}"
    limits = limits_text(choice, unit)
    title = f"{target}: chance of {edges} against spin" + (f"; {limits}" if limits else "")
    hollow = "; hollow: no ball logged there" if any(not o.n_shots for o in choice.options) else ""
    share = format_number(100.0 * choice.least_probability)
    dashed = f"; dashed: {share} %, three quarters of the best chance" if choice.least_probability else ""
    numbers = "; numbers: as in the list" if len(choice.options) > _CROWD else ""
    under = f"joined: no other has as good a chance and more spin; bar: spin of 2 balls in 3{hollow}{numbers}{dashed}"
    if choice.want == "low-spin":
        under = under.replace("more spin", "less spin")
    ax.set_title(f"{fold(title, 80)}\n{fold(under, 95)}", fontsize=10, loc="left", parse_math=False)
    return figure
