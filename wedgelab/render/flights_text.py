"""One distance with three flights as plain text of at most 80 columns."""

from typing import Final

from wedgelab.choose import Flights, Option, Unreached
from wedgelab.render.choice_text import WEDGE_COLUMN, limit_words, narrow_table
from wedgelab.render.choice_words import estimate_lines, lie_text, never_logged_lines, runs_line, sign_lines
from wedgelab.render.layout import fold, wrap
from wedgelab.render.text import range_of
from wedgelab.render.words import (
    CARRY_SIGNS,
    DAY_RULES_LINE,
    RULES_LINE,
    day_text,
    estimate_text,
    range_text,
    reference_text,
    span_text,
    spin_text,
    wedge_title,
)
from wedgelab.units import LengthUnit, format_length, format_number, in_unit
from wedgelab.window import Window

_SWING_COLUMN: Final = 8


def flights_text(flights: Flights, unit: LengthUnit, window: Window) -> str:
    """Draw the shots that carry the distance, wedge by wedge, and what the flights change."""
    lines = [wrap(_asked(flights, unit, window))]
    if flights.day is not None:
        lines.append(wrap(f"Today: {day_text(flights.day, unit)}. Chart: {reference_text(flights.reference)}."))
    lines += ["", _table(flights, unit), ""]
    lines += [wrap(_out_of_reach(one, unit)) for one in flights.out_of_reach]
    lines += [wrap(_over_limit(option, flights, unit)) for option in flights.left_out]
    lines.append(
        wrap("Each swing has the target as its median; balls: solid ones logged so, within 5 deg of the swing.")
    )
    lines.append("Spin: median, give or take one standard deviation of a single ball.")
    lines += [wrap(line) for line in sign_lines(flights.flights)]
    if flights.limits.given:
        lines.append(wrap("Limits hold for the median ball, unrounded; a single one may fly higher or land flatter."))
    guesses = estimate_lines(flights.flights, "Apex, landing and air")
    lines.append(wrap(" ".join(["Air: seconds in the air.", *guesses, runs_line(flights.green, unit)])))
    lines += [wrap(flights_summary(flights, unit)), wrap(RULES_LINE if flights.day is None else DAY_RULES_LINE)]
    return "\n".join(lines)


def _asked(flights: Flights, unit: LengthUnit, window: Window) -> str:
    edges = f"{format_length(flights.window_low_m, unit, 1)} to {format_length(flights.window_high_m, unit, 1)} {unit}"
    asked = [f"{_target(flights, unit)} low, stock and high, window {edges} ({window.describe(unit)})"]
    limits = limit_words(flights.limits, unit)
    if limits:
        asked.append(f"limits: {limits}")
    if flights.lie:
        asked.append(lie_text(flights.lie))
    return "; ".join(asked)


def _target(flights: Flights, unit: LengthUnit) -> str:
    return f"{format_length(flights.target_m, unit, 1).removesuffix('.0')} {unit}"


def _table(flights: Flights, unit: LengthUnit) -> str:
    rows = []
    for i, option in enumerate(flights.flights):
        if i and (option.wedge, option.loft_deg) != (flights.flights[i - 1].wedge, flights.flights[i - 1].loft_deg):
            rows.append([""] * 10)
        rows.append(_row(option, unit))
    headers = [
        "shot", "swing", "8 in 10", "in %", "spin\nrpm", f"apex\n{unit}", "land\ndeg", "air\ns", f"runs\n{unit}",
        "balls",
    ]  # fmt: skip
    return narrow_table(rows, headers, ["left", "left", *["right"] * 8], keep=2)


def _row(option: Option, unit: LengthUnit) -> list[str]:
    flight = option.flight
    return [
        fold(f"{wedge_title(option.wedge, option.loft_deg)} {option.trajectory}", WEDGE_COLUMN),
        fold(option.swing, _SWING_COLUMN),
        f"{CARRY_SIGNS[option.support]}{range_of(option, unit)}",
        format_number(100.0 * option.window_probability),
        f"{spin_text(option.spin_rpm, option.spin_support)} ±{spin_text(option.spin_sd_rpm, 'measured')}",
        estimate_text(format_length(flight.apex_m, unit), flight.flight_support),
        estimate_text(format_number(flight.land_deg), flight.flight_support),
        estimate_text(format_number(flight.air_time_s, 1), flight.flight_support),
        span_text(flight.run_out_low_m, flight.run_out_high_m, unit),
        str(option.n_shots),
    ]


def _out_of_reach(one: Unreached, unit: LengthUnit) -> str:
    return (
        f"{wedge_title(one.wedge, one.loft_deg)} {one.trajectory} does not carry it: its swings are for "
        f"{range_text(one.low_m, one.high_m, unit)} {unit}."
    )


def _over_limit(option: Option, flights: Flights, unit: LengthUnit) -> str:
    """Say why a flight that carries the distance is left out; as many decimals as tell it from the limit."""
    limits, flight, why = flights.limits, option.flight, []
    if limits.max_apex_m is not None and flight.apex_m > limits.max_apex_m:
        apex, most = _apart(in_unit(flight.apex_m, unit), in_unit(limits.max_apex_m, unit))
        why.append(f"its apex is {apex} {unit}, over {most} {unit}")
    if limits.min_land_deg is not None and flight.land_deg < limits.min_land_deg:
        land, least = _apart(flight.land_deg, limits.min_land_deg)
        why.append(f"it lands at {land} deg, under {least} deg")
    shot = f"{wedge_title(option.wedge, option.loft_deg)} {option.trajectory}, {option.swing}"
    return f"{shot} is left out: {' and '.join(why) or 'its flight is not known'}."


def _apart(value: float, limit: float) -> tuple[str, str]:
    """Write a value with as many decimals as tell it from its limit, and the limit as it was asked for."""
    asked = format_number(limit, 1).removesuffix(".0")
    apart = (shown for n in (0, 1, 2, 3) if float(shown := format_number(value, n)) != float(asked))
    return next(apart, format_number(value, 3)), asked


def flights_summary(flights: Flights, unit: LengthUnit) -> str:
    """Say what the flights change of one wedge, and which of them rest on logged balls."""
    return " ".join([*_change(flights, unit), _backing(flights), *never_logged_lines(flights.unlogged)])


def _change(flights: Flights, unit: LengthUnit) -> list[str]:
    """Tell the lowest and the highest flight of the wedge that has both, the one that rests on the most balls first."""
    pairs = []
    for low in flights.flights:
        high = next((o for o in flights.flights if _same_club(o, low) and o.trajectory == "high"), None)
        if low.trajectory == "low" and high is not None:
            pairs.append((low.n_shots + high.n_shots, low, high))
    if not pairs:
        return []
    _, low, high = max(pairs, key=lambda pair: pair[0])
    ends = [
        f"{one.trajectory} at {one.swing} with an apex of {format_length(one.flight.apex_m, unit)} {unit}, landing at "
        f"{format_number(one.flight.land_deg)} deg after {format_number(one.flight.air_time_s, 1)} s"
        for one in (low, high)
    ]
    return [f"The {low.wedge} carries {_target(flights, unit)} {ends[0]}, and {ends[1]}."]


def _same_club(one: Option, other: Option) -> bool:
    return (one.wedge, one.loft_deg) == (other.wedge, other.loft_deg)


def _backing(flights: Flights) -> str:
    backed = [f"{o.wedge} {o.trajectory}" for o in flights.flights if o.n_shots]
    if not backed:
        return "None of these shots was ever logged."
    if len(backed) == len(flights.flights):
        return "Each of these shots was logged."
    return f"Backed by logged balls: {', '.join(backed)}; the others are worked out from the shots around."
