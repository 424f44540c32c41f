"""The drill as plain text of at most 80 columns: a call, a miss, and what the drill came to."""

from collections.abc import Iterator
from typing import Final

from wedgelab.drill.against import FEWEST_BALLS, DrillComparison, ErrorRatio, ErrorSplit
from wedgelab.drill.machine import DrillPlan, Played
from wedgelab.drill.scores import DrillSummary, GuessSummary, MissSummary
from wedgelab.render.layout import WIDTH, display_width, fold, table, wrap
from wedgelab.render.words import count_text, percent_text, signed_length
from wedgelab.units import LengthUnit, format_length, format_number

_LABEL_COLUMN: Final = 17
ON_THE_NUMBER: Final = "on the number"
_MOST_OF_IT: Final = 0.5  # of the square of E, from which on one ball is named
_MUCH: Final = 0.1
_WIDER: Final = 1.2
_WORTH_SAYING: Final = 0.05
_ROUNDING_M: Final = 0.1
_FEWEST_TO_CORRELATE: Final = 6


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
    headers, rows = group_rows(summary, unit, advice=plan.advice)
    balls = count_text(summary.total.n, "ball")
    head = f"Drill of {balls}: misses in {unit} (long is +), window {window_words(summary, unit, plan)}"
    drawn = table(
        [[fold(label, _LABEL_COLUMN), *numbers] for label, *numbers in rows],
        headers, ["left", *["right"] * (len(headers) - 1)],
    )  # fmt: skip
    return "\n".join([wrap(head), "", drawn, "", *(wrap(sentence) for sentence in sentences(summary, unit))])


def group_rows(summary: DrillSummary, unit: LengthUnit, *, advice: bool = True) -> tuple[list[str], list[list[str]]]:
    """Write the errors of all balls and of the groups: the headers, and a row a group.

    ``advice`` tells whether the drill began with the chart's advice in sight: hidden by key all along, it is said.
    """
    groups = [summary.total, *(group for part in _parts(summary) if len(part) > 1 for group in part)]
    if len(summary.advice) == 1 and advice:
        groups += summary.advice
    has_chart = summary.total.expected_e_m is not None
    headers = ["", "balls", "CE", "VE", "E", "inside", "80 %\ninterval"]
    if has_chart:
        headers += ["chart\nE", "chart\ninside"]
    return headers, [_group_row(group, unit, has_chart=has_chart) for group in groups]


def sentences(summary: DrillSummary, unit: LengthUnit) -> Iterator[str]:
    """Say what the errors are and what they tell."""
    yield "CE mean miss, VE spread about it, E both together (E^2 = CE^2 + VE^2)."
    yield reading(summary, unit)
    if one_ball := one_ball_line(summary, unit):
        yield one_ball
    if summary.ratio is not None:
        yield ratio_line(summary.ratio)
    if summary.split is not None:
        yield split_line(summary.split, unit)
        yield split_reading(summary.split, unit)
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
        group.label,
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
    """Say how wide the window is, and if it adapts, about how wide it is by now."""
    rule = plan.window.describe(unit)
    if plan.hold is None or summary.window_now_m is None or summary.window_call_m is None:
        return rule
    factor = "" if plan.scale == 1.0 else f"{format_number(plan.scale, 2)} times "
    return (
        f"held at {percent_text(plan.hold)}: about {format_length(summary.window_now_m, unit)} {unit} each side at "
        f"{call_text(summary.window_call_m, unit)} by now (it began as {factor}{rule})"
    )


def reading(summary: DrillSummary, unit: LengthUnit) -> str:
    """Say in one sentence how the drill went against what the chart expects."""
    total = summary.total
    if summary.window_now_m is not None:
        return "The window was moved to hold that share, so the share tells nothing new: its width is the result."
    if total.expected_e_m is None or total.expected_share is None:
        return "There is no chart yet to compare with: the balls of this drill are its first shots."
    lean = (
        f" Most of it is one-sided: {miss_words(total.ce_m, unit)} on average."
        if abs(total.ce_m) > total.ve_m and total.n >= FEWEST_BALLS
        else ""
    )
    chart = f"the {percent_text(total.expected_share)} that the chart expects of solid balls with these shots"
    best = summary.best_share
    if best is not None and best - total.expected_share > _WORTH_SAYING:
        chart += f" ({percent_text(best)} with the shots that it would have chosen)"
    if total.n < FEWEST_BALLS:
        return f"Inside the window {total.inside} of {total.n}: too few balls to compare with {chart}."
    if total.expected_share < total.share_low:
        said = "probably better than"
    elif total.expected_share > total.share_high:
        said = "probably worse than"
    else:
        said = "about"
    return f"Inside the window {total.inside} of {total.n}, {said} {chart}.{lean}"


def one_ball_line(summary: DrillSummary, unit: LengthUnit) -> str:
    """Say that one ball makes most of E, if one does; else nothing."""
    if summary.worst_m is None or summary.worst_share is None or summary.total.n < FEWEST_BALLS:
        return ""  # of two balls one always makes half
    if summary.worst_share <= _MOST_OF_IT:
        return ""
    return (
        f"One ball ({miss_words(summary.worst_m, unit)}) makes {percent_text(summary.worst_share)} of the square of E."
    )


def ratio_line(ratio: ErrorRatio) -> str:
    """Say what E of the solid balls is of what the chart expects of them."""
    left_out = f" ({count_text(ratio.n_far_off, 'ball')} far off left out)" if ratio.n_far_off else ""
    return (
        f"Solid balls{left_out}: E is {_figures(ratio.e_ratio)} times what the chart expects "
        f"({_interval(ratio.e_ratio_low, ratio.e_ratio_high)})."
    )


def split_line(split: ErrorSplit, unit: LengthUnit) -> str:
    """Write the parts of E of the solid balls."""
    low, high = signed_length(split.chart_low_m, unit), signed_length(split.chart_high_m, unit)
    rest = " (they share the rest)" if abs(split.together_m2) > _MUCH * split.split_e_m**2 else ""
    return (
        f"Of the E of {count_text(split.n_split, 'solid ball')}, {format_length(split.split_e_m, unit, 1)} {unit}: "
        f"choice {format_length(split.choice_m, unit, 1)}, "
        f"chart {signed_length(split.chart_m, unit)} (80 % interval {low} to {high}), "
        f"execution {format_length(split.execution_m, unit, 1)} where the chart expects "
        f"{format_length(split.expected_execution_m, unit, 1)}{rest}."
    )


def split_reading(split: ErrorSplit, unit: LengthUnit) -> str:
    """Say in one sentence what stands out of choice, chart and execution, and what to do about it."""
    is_told = split.chart_low_m > 0 or split.chart_high_m < 0
    off = f"the chart, or this day, is probably {miss_words(-split.chart_m, unit)}"
    lesser = min(split.choice_m**2, split.chart_m**2)
    if lesser > _MUCH * split.execution_m**2 and split.together_m2 < -lesser:
        made_up = "Choice and chart made up for each other"
        if is_told:
            return f"{made_up}: {off}, and the shots were chosen as if you knew."
        return f"{made_up}, perhaps by chance: the chart cannot be told from right."
    if split.choice_m**2 > max(split.chart_m**2, split.execution_m**2) and split.choice_m > _ROUNDING_M:
        return "The largest part is the choice: look for shots whose median lies nearer these calls."
    if is_told:
        return f"Besides the swing, {off}: it has these balls now, so ask it again."
    if split.execution_m > _WIDER * split.expected_execution_m:
        return "Execution spread wider than the chart expects; the chart itself cannot be told from right."
    return "Execution spread about as the chart expects, or less; the chart itself cannot be told from right."


def guess_line(guess: GuessSummary, unit: LengthUnit) -> str:
    """Say how near the guesses were, and whether they tell long from short."""
    errors = (
        f"Guesses against the number ({guess.n}): CE {signed_length(guess.ce_m, unit)}, "
        f"VE {format_length(guess.ve_m, unit, 1)}, E {format_length(guess.e_m, unit, 1)} {unit}"
    )
    if guess.miss_correlation is None or guess.n < _FEWEST_TO_CORRELATE:
        return f"{errors}; too few or too alike to say whether they follow the misses."
    shown = f"{errors}; correlation of guessed and real miss {format_number(guess.miss_correlation, 2)}"
    if guess.miss_correlation_low is None or guess.miss_correlation_high is None:
        return f"{shown}."
    return f"{shown} ({_interval(guess.miss_correlation_low, guess.miss_correlation_high)})."


def comparison_line(comparison: DrillComparison, unit: LengthUnit) -> str:
    """Write E and the share inside of both days."""
    c = comparison
    ratio = "" if c.e_ratio is None else f", ratio {_figures(c.e_ratio)}"
    if c.e_ratio_low is not None and c.e_ratio_high is not None:
        ratio += f" ({_interval(c.e_ratio_low, c.e_ratio_high)})"
    return (
        f"Test, {count_text(c.n, 'call')} answered on both days: E {format_length(c.then_e_m, unit, 1)} {unit} then, "
        f"{format_length(c.now_e_m, unit, 1)} {unit} now{ratio}; inside today's window {c.then_inside} then, "
        f"{c.now_inside} now."
    )


def comparison_reading(comparison: DrillComparison) -> str:
    """Say in one sentence what the two days can tell."""
    c = comparison
    if c.e_ratio_low is None or c.e_ratio_high is None:
        few = "Too few balls to tell the days apart."
        return few if c.n < FEWEST_BALLS else "On one of the days every ball was on the number: no ratio."
    if c.e_ratio_high < 1.0:
        said = "E is smaller than on that day: it may be learning, a good day now, or a poor day then."
    elif c.e_ratio_low > 1.0:
        said = (
            "E is larger than on that day: not all of it may have lasted; a poor day, or a very good one then, looks "
            "alike."
        )
    else:
        said = f"No change can be seen; {count_text(c.n, 'ball')} a day show only large ones."
    if c.n_advised:
        said += f" On that day the chart advised {c.n_advised} of the {c.n} shots; today the choice was yours."
    return said


def band_label(unit: LengthUnit, low_m: float, high_m: float) -> str:
    """Name a span of calls."""
    if low_m == high_m:
        return f"{format_length(low_m, unit)} {unit}"
    return f"{format_length(low_m, unit)}-{format_length(high_m, unit)} {unit}"


def _interval(low: float, high: float) -> str:
    return f"80 % interval {_figures(low)} to {_figures(high)}"


def _figures(value: float) -> str:
    """Write a ratio or a correlation to what it can mean: two decimals, fewer where it is large."""
    return format_number(value, 2 if abs(value) < 10 else 0)
