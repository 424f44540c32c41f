"""The options that tell what the air is like, written once: for a session, a player's reference, today's chart."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from wedgelab.errors import BadRequestError, OutOfRangeError, quoted
from wedgelab.shots import LIMITS, Conditions, check_limits
from wedgelab.units import LengthUnit, format_number, parse_quantity

if TYPE_CHECKING:
    from wedgelab.prediction import Day

_Function = TypeVar("_Function", bound=Callable[..., Any])

CLEAR: Final = "none"
_RISE_M: Final = (-60.0, 60.0)
_NOT_SAID: Final = Conditions()
_PRESSURE: Final = "station_pressure_hpa"
_SEA_LEVEL: Final = "sea_level_pressure_hpa"

# parameter -> (column, kind, unit of a bare number, what to give, help)
_OPTIONS: Final[dict[str, tuple[str, str, str, str, str]]] = {
    "temp": ("air_temp_c", "temperature", "c", "a temperature such as 12C or 54F", "Air temperature: 12C, 54F."),
    "humidity": ("humidity_pct", "share", "%", "a relative humidity such as 60%", "Relative humidity: 60%."),
    "altitude": ("altitude_m", "length", "m", "an altitude such as 420m or 1380ft", "Above sea level: 420m, 1380ft."),
    "pressure": (
        _PRESSURE,
        "pressure",
        "hpa",
        "a pressure such as 1003hPa or 29.6inHg",
        "Pressure at the place itself: 1003hPa, 29.6inHg.",
    ),
    "wind": (
        "wind_mps",
        "speed",
        "mps",
        "a wind such as 3m/s or -7mph (tail positive, head negative)",
        "Tail wind 3m/s, head wind -3m/s; mph, km/h.",
    ),
    "cross_wind": (
        "cross_wind_mps",
        "speed",
        "mps",
        "a wind such as 2m/s or -2m/s (from the left positive, from the right negative)",
        "From the left 2m/s, from the right -2m/s.",
    ),
}


def conditions_options(function: _Function) -> _Function:
    """Give a command --temp, --humidity, --altitude, --pressure, --sea-level, --wind and --cross-wind."""
    for name, (*_, text) in reversed(_OPTIONS.items()):
        if name == "pressure":
            function = click.option(
                "--sea-level", is_flag=True, help="The pressure is one reduced to sea level, as in weather reports."
            )(function)
        function = click.option(f"--{name.replace('_', '-')}", metavar="VALUE", help=text)(function)
    return function


def day_options(function: _Function) -> _Function:
    """Give a command the options that name a day: those of the air, and --rise."""
    function = click.option("--rise", metavar="HEIGHT", help="Green above the ball 4m, below it -4m.")(function)
    return conditions_options(function)


def read_day(given: Mapping[str, Any], rise: str | None, reference: Conditions, unit: LengthUnit) -> "Day | None":
    """Return the day that the options name, None if they name none.

    The reference lends a sea-level pressure its altitude and temperature.
    """
    if rise is None and not is_given(given):
        return None
    from wedgelab.prediction import Day

    rise_m = 0.0 if rise is None else parse_quantity(rise, "length", unit, "rise", "a height such as 4m or -3yd")
    low, high = _RISE_M
    if not low <= rise_m <= high:
        seen = f"{quoted(rise or '')} ({format_number(rise_m, 1)} m)"
        raise OutOfRangeError("rise", seen, f"{low:.0f}", f"{high:.0f} m")
    known = (
        Conditions(air_temp_c=reference.air_temp_c, altitude_m=reference.altitude_m)
        if given["sea_level"]
        else Conditions()
    )
    return Day(Conditions(**read_conditions(given, known=known)), rise_m)


def is_given(given: Mapping[str, Any]) -> bool:
    """Tell whether any of these options was given."""
    return bool(given["sea_level"]) or any(given[name] is not None for name in _OPTIONS)


def read_conditions(given: Mapping[str, Any], *, known: Conditions = _NOT_SAID) -> dict[str, float]:
    """Return what the options say, SI by column; nothing can be cleared.

    ``known`` is what holds where the options are silent: it lends a sea-level pressure its altitude and temperature,
    and a station pressure is held against its altitude.

    Raises
    ------
    WedgelabError
        for a value that cannot be read, is out of range, or does not fit another.
    """
    said = check_words(given)
    for name, (column, *_, wanted, _) in _OPTIONS.items():
        if column in said and said[column] is None:
            raise BadRequestError(f"--{name.replace('_', '-')} {CLEAR} has nothing to clear here", f"give {wanted}")
    return {name: value for name, value in _settle(given, said, known).items() if value is not None}


def read_changes(given: Mapping[str, Any], *, known: Conditions = _NOT_SAID) -> dict[str, float | None]:
    """Return what the options change in ``known``, SI by column; ``none`` takes a value back to unknown, None."""
    return _settle(given, check_words(given), known)


def check_words(given: Mapping[str, Any]) -> dict[str, float | None]:
    """Read the options' words, whatever is known beside them, so that a bad word is refused before a log is opened.

    The pressure is as it was typed, reduced to sea level or not.
    """
    said: dict[str, float | None] = {}
    for name, (column, kind, unit, wanted, _) in _OPTIONS.items():
        text = given[name]
        if text is None:
            continue
        if text.strip().casefold() == CLEAR:
            said[column] = None
            continue
        value = parse_quantity(text, kind, unit, name.replace("_", " "), wanted)
        low, high, *_ = LIMITS[_SEA_LEVEL]
        if column == _PRESSURE and given["sea_level"] and not low <= value <= high:
            raise BadRequestError(
                f"pressure {quoted(text)} is none of sea level ({low:.0f} to {high:.0f} hPa)",
                "leave --sea-level out if it was read at the place itself",
            )
        said[column] = check_limits(column, value, text)
    if given["sea_level"] and said.get(_PRESSURE) is None:
        raise BadRequestError("--sea-level without a pressure", "give the pressure too: --pressure 1013hPa --sea-level")
    return said


def _settle(given: Mapping[str, Any], said: dict[str, float | None], known: Conditions) -> dict[str, float | None]:
    """Bring a pressure of sea level to the altitude, and refuse what does not fit together."""
    pressure_hpa = said.get(_PRESSURE)
    if given["sea_level"] and pressure_hpa is not None:
        altitude_m = said.get("altitude_m", known.altitude_m)
        if altitude_m is None:
            raise BadRequestError(
                f"--sea-level without an altitude for the pressure {quoted(given['pressure'])}",
                "give --altitude too, or the pressure of the place itself without --sea-level",
            )
        from wedgelab.store.pressure import to_station_pressure_hpa

        air_temp_c = said.get("air_temp_c", known.air_temp_c)
        said = said | {_PRESSURE: to_station_pressure_hpa(pressure_hpa, altitude_m, air_temp_c)}
    known.changed(said)
    return said
