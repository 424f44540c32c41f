"""A choice as plain text of at most 80 columns: the options, what the signs mean, the verdict."""

from typing import Final

from wedgelab.choose import Choice, Limits, Option, Want
from wedgelab.render.choice_words import (
    estimate_lines,
    lie_text,
    never_logged_lines,
    ranked_lines,
    runs_line,
    sign_lines,
    verdict,
    warnings,
)
from wedgelab.render.layout import WIDTH, display_width, fold, table, wrap
from wedgelab.render.text import drift_text, range_of
from wedgelab.render.words import (
    DAY_RULES_LINE,
    RULES_LINE,
    carry_text,
    day_text,
    estimate_text,
    percent_text,
    reference_text,
    span_text,
    spin_text,
    wedge_title,
)
from wedgelab.units import LengthUnit, format_length, format_number
from wedgelab.window import Window

WEDGE_COLUMN: Final = 10
UNBEATEN: Final = "+"
_SIDES_M: Final = 0.25  # from here on the two sides of a window differ
_BLANK: Final = "\ue000"  # tabulate drops empty rows where a cell has lines
_BREAKS: Final = ((" ±", "\n±"), ("/", "/\n"), (" to ", "\nto "))
_WANTS: Final[dict[Want, str]] = {
    "window": "the best chance inside it",
    "spin": "high spin",
    "low-spin": "low spin",
    "high": "a high ball",
    "low": "a low ball",
    "soft": "a soft landing",
}


def choice_text(choice: Choice, unit: LengthUnit, window: Window) -> str:
    """Draw the options for a target, best first, and the verdict."""
    lines = [wrap(_asked(choice, unit, window))]
    if choice.day is not None:
        lines.append(wrap(f"Today: {day_text(choice.day, unit)}. Chart: {reference_text(choice.reference)}."))
    lines += ["", _options(choice, unit), "", *_legends(choice, unit)]
    if choice.day is not None:
        lines.append(wrap(today_line(choice, unit)))
    lines += [wrap(f"Verdict: {verdict(choice, unit)}"), wrap(RULES_LINE if choice.day is None else DAY_RULES_LINE)]
    return "\n".join(lines)


def _asked(choice: Choice, unit: LengthUnit, window: Window) -> str:
    edges = f"{format_length(choice.window_low_m, unit, 1)} to {format_length(choice.window_high_m, unit, 1)} {unit}"
    target = f"{format_length(choice.target_m, unit, 1).removesuffix('.0')} {unit}"
    asked = [f"{target}, window {edges} ({window.describe(unit)})", f"wanted: {_WANTS[choice.want]}"]
    limits = limit_words(choice.limits, unit)
    if limits:
        asked.append(f"limits: {limits}")
    if choice.trajectories != ("stock",):
        asked.append(f"{' and '.join(choice.trajectories)} balls")
    if choice.lie:
        asked.append(lie_text(choice.lie))
    return "; ".join(asked)


def limit_words(limits: Limits, unit: LengthUnit) -> str:
    """Say the limits in words; empty without any."""
    said = []
    if limits.min_spin_rpm is not None:
        said.append(f"spin {format_number(limits.min_spin_rpm)} rpm or more")
    if limits.max_apex_m is not None:
        said.append(f"apex {format_length(limits.max_apex_m, unit, 1).removesuffix('.0')} {unit} or less")
    if limits.min_land_deg is not None:
        said.append(f"landing at {format_number(limits.min_land_deg, 1).removesuffix('.0')} deg or more")
    return ", ".join(said)


def _shows_apex(choice: Choice) -> bool:
    return choice.want in {"high", "low"} or choice.limits.max_apex_m is not None


def _options(choice: Choice, unit: LengthUnit) -> str:
    rows: list[list[str]] = []
    first_by_chance = len(choice.wished) + 1
    for i, option in enumerate(choice.options, 1):
        if i == first_by_chance > 1:
            rows.append([""] * 10)  # from here on by chance
        rows.append(_row(i, option, unit, with_apex=_shows_apex(choice)))
    headers = [
        "", "wedge", "swing", f"carry\n{unit}" if choice.day is None else "today/\nchart", "8 in 10",
        "inside" if not choice.n_draws else "in/spin\n/both %", "spin\nrpm", "lands\ndeg",
        f"apex\n{unit}" if _shows_apex(choice) else f"runs\n{unit}", "balls",
    ]  # fmt: skip
    return narrow_table(rows, headers, ["left", "left", "left", *["right"] * 7], keep=3)


def _row(number: int, option: Option, unit: LengthUnit, *, with_apex: bool) -> list[str]:
    flight = option.flight
    return [
        f"{number}{UNBEATEN if option.is_unbeaten else ''}",
        fold(shot_title(option), WEDGE_COLUMN),
        fold(option.swing + ("" if option.practised else " *"), 8),
        _carry_or_both(option, unit),
        range_of(option, unit),
        _chances(option),
        f"{spin_text(option.spin_rpm, option.spin_support)} ±{spin_text(option.spin_sd_rpm, 'measured')}",
        estimate_text(format_number(flight.land_deg), flight.flight_support),
        estimate_text(format_length(flight.apex_m, unit), flight.flight_support)
        if with_apex
        else span_text(flight.run_out_low_m, flight.run_out_high_m, unit),
        str(option.n_shots),
    ]


def shot_title(option: Option) -> str:
    """Write a wedge with its loft, and with the trajectory if it is not the stock one."""
    title = wedge_title(option.wedge, option.loft_deg)
    return title if option.trajectory == "stock" else f"{title} {option.trajectory}"


def _chances(option: Option) -> str:
    if option.spin_probability is None or option.both_probability is None:
        return percent_text(option.window_probability)
    parts = (option.window_probability, option.spin_probability, option.both_probability)
    return "/".join(format_number(100.0 * part) for part in parts)


def narrow_table(rows: list[list[str]], headers: list[str], align: list[str], *, keep: int) -> str:
    """Draw a table; one that is too wide has its numbers broken into lines, the first ``keep`` columns excepted.

    An empty row is an empty line.
    """
    rows = [row if any(row) else [_BLANK, *row[1:]] for row in rows]
    drawn = table(rows, headers, align)
    for mark, broken in _BREAKS:
        if all(display_width(line) <= WIDTH for line in drawn.split("\n")):
            break
        rows = [row[:keep] + [cell.replace(mark, broken) for cell in row[keep:]] for row in rows]
        drawn = table(rows, headers, align)
    return drawn.replace(_BLANK, "")


def _carry_or_both(option: Option, unit: LengthUnit) -> str:
    chart = carry_text(option.carry_m, option.support, unit)
    return chart if option.today is None else f"{format_length(option.today.carry_today_m, unit)}/{chart}"


def _legends(choice: Choice, unit: LengthUnit) -> list[str]:
    lines = ranked_lines(choice, unit)
    if choice.n_draws:
        error = format_number(200.0 * (choice.draw_se or 0.0), 1)
        lines.append(
            "in/spin/both: chance in % that a solid ball is inside the window, that it spins over "
            f"{format_number(choice.limits.min_spin_rpm)} rpm, and that it does both; ranked by both. The last two "
            f"are from {choice.n_draws} drawn balls, so give or take {error} points."
        )
    if choice.limits.given:
        lines.append(
            "Limits hold for the median ball, unrounded; a single one may still spin less, fly higher or land flatter."
        )
    if len(choice.options) > 1:
        spin = "less" if choice.want == "low-spin" else "more"
        lines.append(f"{UNBEATEN} unbeaten: no other option has as good a chance and {spin} spin")
    lines.append("Spin: median, give or take one standard deviation of a single ball.")
    if any(not option.practised for option in choice.options):
        middle = (choice.window_low_m + choice.window_high_m) / 2.0
        sides = " or for the middle of the window" if abs(middle - choice.target_m) > _SIDES_M else ""
        lines.append(f"* worked out for this distance{sides}, not one of the named swing lengths")
    offered = {(option.wedge, option.loft_deg) for option in choice.options}
    near = [option for option in choice.left_out if (option.wedge, option.loft_deg) in offered]
    lines += [_left_out(option, unit) for option in near]
    lines += sign_lines(choice.options, near)
    said = " ".join(warnings(choice, unit))
    lines += [line for line in never_logged_lines(choice.unlogged) if line not in said]
    if _shows_apex(choice):  # the runs have made room for a column of apexes
        lines += estimate_lines(choice.options, "Apexes and landing angles")
    else:
        lines.append(" ".join([runs_line(choice.green, unit), *estimate_lines(choice.options, "Landing angles")]))
        lines.append(apex_line(choice, unit))
    if choice.want == "soft":
        lines.append("Soft is a steep landing; how far the ball then runs depends on the green more than on the shot.")
    return [wrap(line) for line in lines]


def _left_out(option: Option, unit: LengthUnit) -> str:
    carry = carry_text(option.played_m, option.support, unit)
    return (
        f"Nearest practised swing of the {shot_title(option)}: {option.swing}, {carry} {unit}, "
        f"{percent_text(option.window_probability)} inside."
    )


def apex_line(choice: Choice, unit: LengthUnit) -> str:
    """Say how high the best option flies; the others' apexes are in the JSON."""
    best = choice.best
    apex = estimate_text(format_length(best.flight.apex_m, unit), best.flight.flight_support)
    return f"Apex of {_short(best)}: {apex} {unit} above the ball."


def _short(option: Option) -> str:
    flight = "" if option.trajectory == "stock" else f" {option.trajectory}"
    return f"{option.wedge} {option.swing}{flight}"


def today_line(choice: Choice, unit: LengthUnit) -> str:
    """Say how surely the best option's carry of the day is known, and where the cross wind takes it."""
    today = choice.best.today
    if today is None or today.carry_today_m is None:
        return ""
    shown = format_length(today.carry_today_se_m, unit, 1)
    aim = f"; the cross wind takes it about {drift_text(today, unit)}" if today.drift_today_m is not None else ""
    return (
        f"Today's carry of {_short(choice.best)} is known to ±{shown} {unit} (one standard error: "
        f"the chart's own, and what the published figures on drag and lift leave open){aim}."
    )
