"""Two players side by side, as text of at most 80 columns and as JSON."""

from typing import Any, Final

from wedgelab.compare import ChoiceComparison, ComparedShot, Comparison
from wedgelab.prediction import Day
from wedgelab.render.json import document, plain
from wedgelab.render.layout import WIDTH, display_width, fold, shorten, table, wrap
from wedgelab.render.words import (
    MISSING,
    SUPPORT_LEGEND,
    carry_text,
    count_text,
    day_text,
    percent_text,
    reference_text,
    spin_text,
    wedge_title,
)
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import LengthUnit, format_length, format_number

_WEDGE_COLUMN: Final = 12
_NAME_COLUMN: Final = 12
_SWING_COLUMN: Final = 12
_LONGEST_NAME: Final = 24
_BETWEEN: Final = 2
_TOLD: Final = "*"
_DOUBT_MATTERS: Final = 0.25  # share of a ball's variance that is doubt of the median


def comparison_text(comparison: Comparison, unit: LengthUnit) -> str:
    """Draw both charts side by side: a line a player, and the difference below; then what it comes to."""
    first, second = _names(comparison)
    lines = [
        wrap(
            f"{first} and {second}: median carry in {unit} and spin in rpm, give or take one standard error; "
            f"{_air(comparison, unit)}. Differs: {first} minus {second}."
        ),
        "",
    ]
    if comparison.shots:
        for block in _blocks(comparison, unit):
            lines += [_block(comparison, block, unit), ""]
        lines.append(
            wrap(
                "* told apart: the 80 % interval of the difference leaves out 0. Of ten shots that are equal in truth, "
                "one or two get a star by chance."
            )
        )
        if any(c.support != "measured" or c.spin_support != "measured" for s in comparison.shots for c in _both(s)):
            lines.append(wrap(SUPPORT_LEGEND))
        lines += [wrap(line) for line in unlogged_lines(comparison)]
    lines += [wrap(line) for line in bag_lines(comparison)]
    lines.append(wrap(comparison_line(comparison)))
    return "\n".join(lines)


def comparison_line(comparison: Comparison) -> str:
    """Say in a few sentences who carries farther over all, how much of it is told apart, and how sure each chart is."""
    first, second = _names(comparison)
    known = (
        f"{first}'s carries are known to about {percent_text(comparison.first_doubt_now, 1)} "
        f"({count_text(comparison.first_n_shots, 'shot')}), {second}'s to "
        f"{percent_text(comparison.second_doubt_now, 1)} ({count_text(comparison.second_n_shots, 'shot')})."
    )
    shots, ratio, se = comparison.shots, comparison.carry_ratio, comparison.carry_ratio_se
    if not shots or ratio is None or se is None:
        return f"There is no shot that both can play to compare. {known}"
    apart = format_number(100.0 * abs(ratio - 1.0), 1)
    which = "longer" if ratio >= 1.0 else "shorter"
    told = "told apart" if comparison.carry_ratio_told_apart else "not told apart"
    carries, spins = sum(s.carry_told_apart for s in shots), sum(s.spin_told_apart for s in shots)
    return (
        f"Over the {count_text(len(shots), 'shot')} that both have {first}'s carries are {apart} % {which} than "
        f"{second}'s, ±{format_number(100.0 * se, 1)} ({told}); one by one {carries} of {len(shots)} carries and "
        f"{spins} of {len(shots)} spins are told apart. {known}"
    )


def bag_lines(comparison: Comparison) -> list[str]:
    """Say how the bags differ: what only one of them has, and what was matched under two names or numbers."""
    first, second = _names(comparison)
    lines = []
    for name, bag in ((first, comparison.only_first), (second, comparison.only_second)):
        left = [wedge_title(wedge.label, wedge.loft_deg) for wedge in bag.wedges]
        left += [_swing_title(swing) for swing in bag.swings]
        if left:
            lines.append(f"Only in {name}'s bag: {', '.join(left)}.")
    pairs = [
        f"{wedge_title(a.label, a.loft_deg)} with {wedge_title(b.label, b.loft_deg)}"
        for a, b in comparison.wedges
        if (a.label, a.loft_deg) != (b.label, b.loft_deg)
    ]
    pairs += [
        f"{_swing_title(a)} with {_swing_title(b)}"
        for a, b in comparison.swings
        if (a.label, a.swing_deg) != (b.label, b.swing_deg)
    ]
    if pairs:
        lines.append(f"Compared as the same, {first}'s first: {'; '.join(pairs)}.")
    return lines


def unlogged_lines(comparison: Comparison) -> list[str]:
    """Say how many shots of the table rest on no logged ball of that player's."""
    lines = []
    for name, side in zip(_names(comparison), ("first", "second"), strict=True):
        n, logged = len(comparison.shots), sum(getattr(shot, side).n_shots > 0 for shot in comparison.shots)
        if logged < n:
            lines.append(
                f"Of these {count_text(n, 'shot')} {name} has logged {logged or 'none'}: the other numbers are worked "
                "out, so a star there tells charts apart and not balls."
            )
    return lines


def comparison_document(comparison: Comparison | None, notes: list[str]) -> str:
    """Return the comparison; without one an empty document."""
    if comparison is None:
        return document(
            "chart comparison", players=[], shots=[], only_first=None, only_second=None, carry_ratio=None,
            carry_ratio_se=None, carry_ratio_told_apart=None, first_doubt_now=None, second_doubt_now=None,
            first_n_shots=0, second_n_shots=0, reference=None, day=None, notes=notes, verdict="",
        )  # fmt: skip
    return document(
        "chart comparison",
        players=[comparison.first, comparison.second],
        shots=[_shot(shot) for shot in comparison.shots],
        only_first=_bag(comparison.only_first),
        only_second=_bag(comparison.only_second),
        carry_ratio=comparison.carry_ratio,
        carry_ratio_se=comparison.carry_ratio_se,
        carry_ratio_told_apart=comparison.carry_ratio_told_apart,
        first_doubt_now=comparison.first_doubt_now,
        second_doubt_now=comparison.second_doubt_now,
        first_n_shots=comparison.first_n_shots,
        second_n_shots=comparison.second_n_shots,
        reference=comparison.reference,
        day=_day(comparison.day),
        notes=notes,
        verdict=comparison_line(comparison),
    )


def choices_line(comparison: ChoiceComparison, first: str, second: str, unit: LengthUnit) -> str:
    """Say who has the better chance for the target, with which shot, and where a chance is low for want of balls."""
    names = {"first": first, "second": second}
    target = f"{format_length(comparison.target_m, unit, 1).removesuffix('.0')} {unit}"
    said = [
        f"{name} with {option.name}{'' if option.n_shots else ' (no ball logged there)'} {percent_text(option.chance)}"
        for name, option in ((first, comparison.first), (second, comparison.second))
    ]
    spin = "" if comparison.first.both_probability is None else " and over the spin asked for"
    text = f"Inside the window at {target}{spin}: {', '.join(said)}. "
    points = format_number(100.0 * abs(comparison.chance_difference))
    if comparison.better:
        text += f"{names[comparison.better]} has the better chance, by {points} points."
    else:
        text += "Less than five points lie between them: neither chance is clearly the better."
    for name, option in ((first, comparison.first), (second, comparison.second)):
        if option.carry_se_m**2 > _DOUBT_MATTERS * option.carry_sd_m**2:
            text += f" Few balls tell where {name}'s shot carries, which costs part of that chance."
    return text


def _names(comparison: Comparison) -> tuple[str, str]:
    return shorten(comparison.first, _LONGEST_NAME), shorten(comparison.second, _LONGEST_NAME)


def _air(comparison: Comparison, unit: LengthUnit) -> str:
    if comparison.day is None:
        return f"both for {reference_text(comparison.reference)}"
    return f"both for {day_text(comparison.day, unit)}, else {reference_text(comparison.reference)}"


def _both(shot: ComparedShot) -> tuple[Any, Any]:
    return shot.first, shot.second


def _blocks(comparison: Comparison, unit: LengthUnit) -> list[range]:
    """Split the swing lengths so that each block of columns fits the width."""
    cells = [line for shot in comparison.shots for line in _column(shot, unit)]
    cells += [line for pair in comparison.swings for line in _header(pair).split("\n")]
    widest = max(display_width(line) for line in cells)
    titles = [line for pair in comparison.wedges for line in fold(_pair_title(pair), _WEDGE_COLUMN).split("\n")]
    labels = [line for label in _labels(comparison, unit) for line in label.split("\n")]
    room = WIDTH - _BETWEEN - sum(max(display_width(line) for line in part) for part in (["wedge", *titles], labels))
    most, columns = max(1, room // (widest + _BETWEEN)), len(comparison.swings)
    return [range(start, min(start + most, columns)) for start in range(0, columns, most)]


def _block(comparison: Comparison, block: range, unit: LengthUnit) -> str:
    labels = _labels(comparison, unit)
    rows: list[list[str]] = []
    for i, (pair, shots) in enumerate(zip(comparison.wedges, comparison.rows, strict=True)):
        columns = [_column(shots[j], unit) for j in block]
        if i:
            rows.append([""] * (len(columns) + 2))
        for k, label in enumerate(labels):
            title = fold(_pair_title(pair), _WEDGE_COLUMN) if k == 0 else ""
            rows.append([title, label, *(column[k] for column in columns)])
    headers = ["wedge", "", *(_header(comparison.swings[j]) for j in block)]
    return table(rows, headers, ["left", "left", *["right"] * len(block)])


def _labels(comparison: Comparison, unit: LengthUnit) -> list[str]:
    """Name the lines of a wedge's part of the table."""
    names = [fold(name, _NAME_COLUMN) for name in _names(comparison)]
    return [f"carry {unit}", *names, "differs", "spin rpm", *names, "differs"]


def _header(pair: tuple[SwingLength, SwingLength]) -> str:
    first, second = pair
    return fold(first.label if first.label == second.label else f"{first.label} / {second.label}", _SWING_COLUMN)


def _pair_title(pair: tuple[Wedge, Wedge]) -> str:
    first, second = (wedge_title(wedge.label, wedge.loft_deg) for wedge in pair)
    return first if first == second else f"{first} / {second}"


def _column(shot: ComparedShot, unit: LengthUnit) -> list[str]:
    """Return one shot's numbers, top to bottom."""
    carries = [_carry(cell, unit) for cell in _both(shot)]
    spins = [
        f"{spin_text(cell.spin_rpm, cell.spin_support)} ±{spin_text(cell.spin_se_rpm, 'measured')}"
        for cell in _both(shot)
    ]
    return ["", *carries, _carry_difference(shot, unit), "", *spins, _spin_difference(shot)]


def _carry(cell: Any, unit: LengthUnit) -> str:
    return f"{carry_text(cell.carry_m, cell.support, unit)} ±{format_length(cell.carry_se_m, unit, 1)}"


def _carry_difference(shot: ComparedShot, unit: LengthUnit) -> str:
    if shot.carry_difference_m is None:
        return MISSING
    shown = _signed(format_length(shot.carry_difference_m, unit))
    return f"{_TOLD if shot.carry_told_apart else ''}{shown} ±{format_length(shot.carry_difference_se_m, unit, 1)}"


def _spin_difference(shot: ComparedShot) -> str:
    shown = _signed(spin_text(shot.spin_difference_rpm, "measured"))
    return f"{_TOLD if shot.spin_told_apart else ''}{shown} ±{spin_text(shot.spin_difference_se_rpm, 'measured')}"


def _signed(shown: str) -> str:
    return shown if shown.startswith("-") or float(shown) == 0 else f"+{shown}"


def _swing_title(swing: SwingLength) -> str:
    degrees = format_number(swing.swing_deg, 1).removesuffix(".0")
    return f"{swing.label} ({degrees} deg)"


def _shot(shot: ComparedShot) -> dict[str, Any]:
    names = [name for name in ComparedShot.__slots__ if name not in {"first", "second"}]
    return {"first": shot.first, "second": shot.second, **{name: getattr(shot, name) for name in names}}


def _bag(bag: Bag) -> dict[str, Any]:
    return {"wedges": list(bag.wedges), "swings": list(bag.swings)}


def _day(day: Day | None) -> dict[str, Any] | None:
    return None if day is None else {**plain(day.conditions), "rise_m": plain(day.rise_m)}
