"""The drill as plain text of at most 80 columns: a call, a miss, and what the drill came to."""

from collections.abc import Iterator
from typing import Final

from wedgelab.drill.against import FEWEST_BALLS, DrillComparison, ErrorRatio, ErrorSplit
from wedgelab.drill.machine import DrillPlan, Played
from wedgelab.drill.scores import DrillSummary, GuessSummary, MissSummary
from wedgelab.render.layout import WIDTH, display_width, fold, table, wrap
from wedgelab.render.words import count_text, percent_text, signed_length
from wedgelab.units import LengthUnit, format_length, format_number, in_unit

_LABEL_COLUMN: Final = 17
ON_THE_NUMBER: Final = "on the number"


def call_text(call_m: float, unit: LengthUnit) -> str:
    """Write a call: 64 yd, or 65.6 yd where it is no whole number."""
    exact = float(format_length(call_m, unit, 3))
    return f"{format_length(call_m, unit, 0 if abs(round(exact) - exact) < 1e-3 else 1)} {unit}"


def call_line(call_no: int, calls: int, call_m: float, unit: LengthUnit, advice: str) -> str:
    """Say the next call, with the chart's advice if there is any."""
    said = f"Call {call_no} of {calls}: {call_text(call_m, unit)}"
    if not advice:
        return said
    line = f"{said}   ({advice})"
    return line if display_width(line) <= WIDTH else wrap(f"{said} ({advice})", indent="  ")


def miss_words(miss_m: float, unit: LengthUnit) -> str:
    """Say a miss in words: 4.2 yd long, 3.0 yd short, on the number."""
    shown = signed_length(miss_m, unit)
    if float(shown) == 0:
        return ON_THE_NUMBER
    return f"{shown.lstrip('+-')} {unit} {'long' if miss_m > 0 else 'short'}"


def miss_line(ball: Played, unit: LengthUnit) -> str:
    """Say what the last ball did, by the window that it was played to."""
    low, high = ball.call_m - ball.window_m, ball.call_m + ball.window_m
    edges = f"{format_length(low, unit, 1)} to {format_length(high, unit, 1)}"
    text = f"  {miss_words(ball.miss_m, unit)}, {'inside' if ball.is_inside else 'outside'} the window ({edges})"
    if ball.guess_m is not None:
        off = signed_length(ball.guess_m - ball.carry_m, unit)
        side = "over" if ball.guess_m > ball.carry_m else "under"
        text += f"; the guess was {off.lstrip('+-')} {unit} {side}" if float(off) else "; the guess was right"
    return wrap(text, indent="  ")


def drill_text(summary: DrillSummary, unit: LengthUnit, plan: DrillPlan) -> str:
    """Sum up a drill: errors, share inside the window, against what the chart expects, and what to make of it."""
    groups = [summary.total, *(group for part in _parts(summary) if len(part) > 1 for group in part)]
    if len(summary.advice) == 1 and plan.advice:  # the advice was hidden all along, by key
        groups += summary.advice
    has_chart = summary.total.expected_e_m is not None
    headers = ["", "balls", "CE", "VE", "E", "inside", "80 %\ninterval"]
    rows = [_group_row(group, unit, has_chart=has_chart) for group in groups]
    if has_chart:
        headers += ["chart\nE", "chart\ninside"]
    balls = count_text(summary.total.n, "ball")
    head = f"Drill of {balls}: misses in {unit} (long is +), window {window_words(summary, unit, plan)}"
    drawn = table(rows, headers, ["left", *["right"] * (len(headers) - 1)])
    return "\n".join([wrap(head), "", drawn, "", *(wrap(sentence) for sentence in _sentences(summary, unit))])


def _sentences(summary: DrillSummary, unit: LengthUnit) -> Iterator[str]:
    yield "CE mean miss, VE spread about it, E both together (E^2 = CE^2 + VE^2)."
    yield reading(summary, unit)
    if summary.ratio is not None:
        yield ratio_line(summary.ratio)
    if summary.split is not None:
        yield split_line(summary, summary.split, unit)
        yield split_reading(summary.split, summary.total.n, unit)
    if summary.guess is not None:
        yield guess_line(summary.guess, unit)
    if summary.skipped:
        yield f"Skipped: {count_text(summary.skipped, 'call')}."
    if summary.comparison is not None:
        yield comparison_line(summary.comparison, unit)
        yield comparison_reading(summary.comparison)


def _parts(summary: DrillSummary) -> tuple[tuple[MissSummary, ...], ...]:
    return summary.bands, summary.wedges, summary.advice


def _group_row(group: MissSummary, unit: LengthUnit, *, has_chart: bool) -> list[str]:
    row = [
        fold(group.label, _LABEL_COLUMN),
        str(group.n),
        signed_length(group.ce_m, unit),
        format_length(group.ve_m if group.n > 1 else None, unit, 1),  # one ball has no spread
        format_length(group.e_m, unit, 1),
        percent_text(group.share),
        f"{format_number(100 * group.share_low)}-{percent_text(group.share_high)}",
    ]
    if has_chart and group.expected_e_m is not None and group.expected_share is not None:
        row += [format_length(group.expected_e_m, unit, 1), percent_text(group.expected_share)]
    return row


def window_words(summary: DrillSummary, unit: LengthUnit, plan: DrillPlan) -> str:
    """Say how wide the window is, and if it adapts, how wide it is by now."""
    rule = plan.window.describe(unit)
    if plan.hold is None or summary.window_now_m is None or summary.window_call_m is None:
        return rule
    factor = "" if plan.scale == 1.0 else f"{format_number(plan.scale, 2)} times "
    return (
        f"held at {percent_text(plan.hold)}: now {format_length(summary.window_now_m, unit, 1)} {unit} each side at "
        f"{call_text(summary.window_call_m, unit)} (it began as {factor}{rule})"
    )


def reading(summary: DrillSummary, unit: LengthUnit) -> str:
    """Say in one sentence how the drill went against what the chart expects."""
    total = summary.total
    if total.expected_e_m is None or total.expected_share is None:
        return "There is no chart yet to compare with: the balls of this drill are its first shots."
    lean = (
        f" Most of it is one-sided: {miss_words(total.ce_m, unit)} on average."
        if abs(total.ce_m) > total.ve_m and total.n >= FEWEST_BALLS
        else ""
    )
    if total.n < FEWEST_BALLS:
        return (
            f"Inside the window {total.inside} of {total.n}: too few balls to compare with "
            f"the {percent_text(total.expected_share)} that the chart expects."
        )
    if total.expected_share < total.share_low:
        said = "better than the chart expects"
    elif total.expected_share > total.share_high:
        said = "worse than the chart expects"
    else:
        said = f"about what the chart expects; {count_text(total.n, 'ball')} cannot tell more"
    return (
        f"Inside the window {total.inside} of {total.n}, {said} ({percent_text(total.expected_share)} of solid balls "
        f"with these shots).{lean}"
    )


def ratio_line(ratio: ErrorRatio) -> str:
    """Say what E is of what the chart expects, mishits to come allowed for."""
    return (
        f"E is {format_number(ratio.e_ratio, 2)} times what the chart expects of solid balls "
        f"({_interval(ratio.e_ratio_low, ratio.e_ratio_high)}; its upper end allows for mishits)."
    )


def split_line(summary: DrillSummary, split: ErrorSplit, unit: LengthUnit) -> str:
    """Write the parts of E: squared, they and what they share make the square of E."""
    low, high = signed_length(split.chart_low_m, unit), signed_length(split.chart_high_m, unit)
    together = in_unit(in_unit(split.together_m2, unit), unit)
    return (
        f"Of E {format_length(summary.total.e_m, unit, 1)} {unit}: choice {format_length(split.choice_m, unit, 1)}, "
        f"chart {signed_length(split.chart_m, unit)} (80 % interval {low} to {high}), "
        f"execution {format_length(split.execution_m, unit, 1)}. "
        f"Their squares and {format_number(together, 1)} {unit}^2 that they share make E^2."
    )


def split_reading(split: ErrorSplit, n: int, unit: LengthUnit) -> str:
    """Say in one sentence which part is largest, what to do, and whether the chart's bias is more than chance."""
    balls = count_text(n, "ball")
    too = "short" if split.chart_m > 0 else "long"
    is_told = split.chart_low_m > 0 or split.chart_high_m < 0
    bias = (
        f"the chart is probably too {too} for them, by {format_length(abs(split.chart_m), unit, 1)} {unit}, "
        "its own doubt not counted"
        if is_told
        else f"{balls} cannot tell whether the chart is off"
    )
    parts = {"choice": split.choice_m, "chart": abs(split.chart_m), "execution": split.execution_m}
    match max(parts, key=lambda part: parts[part]):
        case "choice":
            return f"The largest part is the choice: take shots that the chart puts nearer the call; {bias}."
        case "chart":
            patience = "" if is_told else " before you make anything of it"
            return f"The largest part is the chart: log more of these shots{patience}; {bias}."
        case _:
            return f"The largest part is execution: practise to repeat these shots; {bias}."


def guess_line(guess: GuessSummary, unit: LengthUnit) -> str:
    """Say how near the guesses were, and whether they tell long from short."""
    errors = (
        f"Guesses against the number ({guess.n}): CE {signed_length(guess.ce_m, unit)}, "
        f"VE {format_length(guess.ve_m, unit, 1)}, E {format_length(guess.e_m, unit, 1)} {unit}"
    )
    if guess.miss_correlation is None:
        return f"{errors}; too few or too alike to say whether they follow the misses."
    shown = f"{errors}; correlation of guessed and real miss {format_number(guess.miss_correlation, 2)}"
    if guess.miss_correlation_low is None or guess.miss_correlation_high is None:
        return f"{shown}."
    return f"{shown} ({_interval(guess.miss_correlation_low, guess.miss_correlation_high)})."


def comparison_line(comparison: DrillComparison, unit: LengthUnit) -> str:
    """Write E and the share inside of both days."""
    c = comparison
    ratio = "" if c.e_ratio is None else f", ratio {format_number(c.e_ratio, 2)}"
    if c.e_ratio_low is not None and c.e_ratio_high is not None:
        ratio += f" ({_interval(c.e_ratio_low, c.e_ratio_high)})"
    return (
        f"Test, {count_text(c.n, 'call')} that both days answered: E {format_length(c.then_e_m, unit, 1)} {unit} then, "
        f"{format_length(c.now_e_m, unit, 1)} {unit} now{ratio}; inside today's window {c.then_inside} then, "
        f"{c.now_inside} now."
    )


def comparison_reading(comparison: DrillComparison) -> str:
    """Say in one sentence whether the balls can tell that it lasted."""
    c = comparison
    if c.e_ratio_low is None or c.e_ratio_high is None:
        return "Too few balls to tell the days apart." if c.n < FEWEST_BALLS else "A day without a miss has no ratio."
    if c.e_ratio_high < 1.0:
        return "E is smaller than on that day: what was learnt has lasted, as far as these calls can tell."
    if c.e_ratio_low > 1.0:
        return "E is larger than on that day: some of it has not lasted, or this day was a poor one."
    return f"The interval holds 1: {count_text(c.n, 'ball')} a day cannot tell the days apart."


def band_label(unit: LengthUnit, low_m: float, high_m: float) -> str:
    """Name a span of calls."""
    if low_m == high_m:
        return f"{format_length(low_m, unit)} {unit}"
    return f"{format_length(low_m, unit)}-{format_length(high_m, unit)} {unit}"


def _interval(low: float, high: float) -> str:
    return f"80 % interval {format_number(low, 2)} to {format_number(high, 2)}"
