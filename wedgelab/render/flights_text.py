"""One distance with three flights as plain text of at most 80 columns."""

from typing import Final

from wedgelab.choose import Flights, Option, Unreached
from wedgelab.render.choice_text import WEDGE_COLUMN, narrow_table
from wedgelab.render.choice_words import lie_text, never_logged_lines
from wedgelab.render.layout import fold, wrap
from wedgelab.render.text import range_of
from wedgelab.render.words import (
    CARRY_SIGNS,
    DAY_RULES_LINE,
    RULES_LINE,
    SUPPORT_LEGEND,
    day_text,
    estimate_text,
    range_text,
    reference_text,
    span_text,
    spin_text,
    wedge_title,
)
from wedgelab.units import LengthUnit, format_length, format_number
from wedgelab.window import Window

_SWING_COLUMN: Final = 8


def flights_text(flights: Flights, unit: LengthUnit, window: Window) -> str:
    """Draw the shots that carry the distance, wedge by wedge, and what the flights change."""
    edges = f"{format_length(flights.window_low_m, unit, 1)} to {format_length(flights.window_high_m, unit, 1)} {unit}"
    asked = f"{_target(flights, unit)} low, stock and high, window {edges} ({window.describe(unit)})"
    lines = [wrap(f"{asked}, {lie_text(flights.lie)}" if flights.lie else asked)]
    if flights.day is not None:
        lines.append(wrap(f"Today: {day_text(flights.day, unit)}. Chart: {reference_text(flights.reference)}."))
    lines += ["", _table(flights, unit), ""]
    lines += [wrap(_out_of_reach(one, unit)) for one in flights.out_of_reach]
    lines.append(
        wrap("Each swing has the target as its median; balls: solid ones logged so, within 5 deg of the swing.")
    )
    lines.append("Spin: median, give or take one standard deviation of a single ball.")
    if any(o.support != "measured" or o.spin_support != "measured" for o in flights.flights):
        lines.append(wrap(SUPPORT_LEGEND))
    lines.append(
        wrap(
            "Apex, landing and air (time in the air) in brackets are the model's estimates: no launch angle and ball "
            f"speed were logged there. Runs: {unit} from the pitch mark on a level {flights.green} green, roughly."
        )
    )
    lines += [wrap(flights_summary(flights, unit)), wrap(RULES_LINE if flights.day is None else DAY_RULES_LINE)]
    return "\n".join(lines)


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
