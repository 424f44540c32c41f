"""What the words of ``choose`` mean: wishes, limits, sides of the window, trajectories."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from wedgelab.cli.app import PlayerLog
from wedgelab.errors import BadRequestError
from wedgelab.shots import LIES, TRAJECTORIES, Bag, check_limits
from wedgelab.units import LengthUnit, parse_quantity

if TYPE_CHECKING:
    from wedgelab.choose import Limits
    from wedgelab.window import Window

_Function = TypeVar("_Function", bound=Callable[..., Any])

ALL: Final = "all"
_WANTS: Final = ("window", "spin", "low-spin", "high", "low", "soft")
_NOT_WITH_FLIGHTS: Final = {"min_spin": "--min-spin", "trajectory": "--trajectory"}


def wish_options(function: _Function) -> _Function:
    """Give a command --want, the limits, --trajectory and --lie."""
    for option in reversed(
        (
            click.option(
                "--want",
                type=click.Choice(_WANTS),
                default="window",
                show_default=True,
                help="Best chance inside the window; or high or low spin, a high or low ball, a soft landing among "
                "the good chances.",
            ),
            click.option("--min-spin", metavar="RPM", help="Median spin at least this, with the chance of it: 8000."),
            click.option("--max-apex", metavar="LENGTH", help="Apex at most this, for a branch or wind: 15yd."),
            click.option("--min-land", metavar="DEG", help="Landing angle at least this: 48."),
            click.option(
                "--trajectory",
                type=click.Choice([*TRAJECTORIES, ALL]),
                multiple=True,
                help="Which flights to offer, once or more: stock unless said.",
            ),
            click.option(
                "--lie", type=click.Choice(LIES), help="Where the ball lies; rough and sand behave otherwise."
            ),
        )
    ):
        function = option(function)
    return function


def read_limits(given: Mapping[str, Any], unit: LengthUnit) -> "Limits":
    """Read the three limits; None where one was not given."""
    from wedgelab.choose import Limits

    return Limits(
        _read(given["min_spin"], "spin", "rpm", "spin_rpm", "min spin", "a spin such as 8000"),
        _read(given["max_apex"], "length", unit, "apex_m", "max apex", "a height such as 15yd or 14m"),
        _read(given["min_land"], "angle", "deg", "land_deg", "min land", "an angle such as 48"),
    )


def _read(text: str | None, kind: str, unit: str, column: str, what: str, example: str) -> float | None:
    if text is None:
        return None
    return check_limits(column, parse_quantity(text, kind, unit, what, example), text)


def read_trajectories(words: Sequence[str]) -> tuple[str, ...]:
    """Return the asked trajectories in their usual order; the stock one if none was named."""
    if ALL in words:
        return TRAJECTORIES
    return tuple(word for word in TRAJECTORIES if word in words) or ("stock",)


def read_window(log: PlayerLog, window: str | None, short: str | None, long: str | None) -> "Window":
    """Return the window: its two sides apart if one of them was given."""
    if short is None and long is None:
        return log.window_rule(window)
    if window is not None:
        side = "--short" if short is not None else "--long"
        raise BadRequestError(f"--window {window} and {side} together", "take --window, or the sides apart")
    from wedgelab.window import parse_sides

    return parse_sides(short, long, log.unit, log.window_rule(None))


def wedge_alone(log: PlayerLog, label: str | None) -> PlayerLog:
    """Return the log with only that wedge in the bag; an unknown one is refused with the nearest."""
    if label is None:
        return log
    return replace(log, bag=Bag((log.bag.wedge(label, may_be_new=False),), log.bag.swings))


def check_flights(given: Mapping[str, Any]) -> None:
    """Refuse what has no meaning for three flights of one distance."""
    named = [flag for name, flag in _NOT_WITH_FLIGHTS.items() if given[name]]
    if given["want"] != "window":
        named.insert(0, "--want")
    if named:
        raise BadRequestError(f"--flights and {named[0]} together", f"leave one out: --flights or {named[0]}")
