"""The answers as HTML for a notebook: tables and sentences, the numbers written as in the terminal.

Everything that is put in is escaped. There is no script, and no style but where a text stands: notebooks bring one.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, Final

from wedgelab.chart import Chart
from wedgelab.choose import Choice, Flights, Option
from wedgelab.drill.scores import DrillSummary
from wedgelab.render.drill_text import group_rows, sentences
from wedgelab.render.text import cell_rows, chart_notes, gap_rows, gaps_title, range_of, title_lines
from wedgelab.render.words import (
    carry_text,
    count_text,
    estimate_text,
    percent_text,
    range_text,
    span_text,
    spin_text,
    target_text,
    wedge_title,
    worked_out_line,
)
from wedgelab.units import LengthUnit, format_length, format_number

if TYPE_CHECKING:
    from jinja2 import Template

    from wedgelab.gaps.report import GapReport
    from wedgelab.plan.session import SessionPlan

_TEMPLATE: Final = """\
{%- for part in parts -%}
<p>{{ part.title }}</p>
<table>
<thead><tr>{% for name in part.headers %}<th style="{{ align[loop.index0 >= part.labels] }}">{{ name }}</th>\
{% endfor %}</tr></thead>
<tbody>
{% for row in part.rows -%}
<tr>{% for cell in row %}<td style="{{ align[loop.index0 >= part.labels] }}">{{ cell }}</td>{% endfor %}</tr>
{% endfor -%}
</tbody>
</table>
{% endfor -%}
{%- for note in notes -%}
<p>{{ note }}</p>
{% endfor -%}
"""
_ALIGN: Final = ("text-align: left; padding: 0 0.5em", "text-align: right; padding: 0 0.5em")


@dataclass(frozen=True, slots=True)
class _Part:
    """One table; the first ``labels`` columns are words, the others numbers."""

    title: str
    headers: Sequence[str]
    rows: Sequence[Sequence[str]]
    labels: int


def answer_html(answer: Any, unit: LengthUnit) -> str:
    """Return an answer as HTML."""
    draw = _DRAWN_BY[type(answer).__name__]
    parts, notes = draw(answer, unit)
    return _template().render(parts=parts, notes=notes, align=_ALIGN)


@cache
def _template() -> "Template":
    from jinja2 import Environment

    return Environment(autoescape=True, trim_blocks=False).from_string(_TEMPLATE)


_Drawn = tuple[list[_Part], list[str]]


def _chart(chart: Chart, unit: LengthUnit) -> _Drawn:
    rows = [
        ["" if i else wedge_title(wedge.label, wedge.loft_deg), what, *texts]
        for wedge, cells in zip(chart.wedges, chart.rows, strict=True)
        for i, (what, texts) in enumerate(cell_rows(cells, unit))
    ]
    swings = [swing.label for swing in chart.swings]
    parts = [_Part(" ".join(title_lines(chart, unit)), ["wedge", "", *swings], rows, 2)]
    if chart.gaps:
        gaps = [[label, *texts] for label, texts in gap_rows(chart, unit)]
        parts.append(_Part(gaps_title(chart, unit), ["", *swings], gaps, 1))
    return parts, chart_notes(chart, unit)


def _choice(choice: Choice, unit: LengthUnit) -> _Drawn:
    from wedgelab.render.choice_words import verdict

    rows = [[str(i), *_option(option, unit)] for i, option in enumerate(choice.options, 1)]
    title = _target(choice, unit)
    headers = ["", "wedge", "swing", *_option_headers(unit)]
    return [_Part(title, headers, rows, 3)], [*_option_notes(choice.options), f"Verdict: {verdict(choice, unit)}"]


def _flights(flights: Flights, unit: LengthUnit) -> _Drawn:
    from wedgelab.render.flights_text import flights_summary

    rows = [_option(option, unit) for option in flights.flights]
    headers = ["wedge", "swing", *_option_headers(unit)]
    title = f"{_target(flights, unit)}, low, stock and high"
    return [_Part(title, headers, rows, 2)], [*_option_notes(flights.flights), flights_summary(flights, unit)]


def _target(asked: Choice | Flights, unit: LengthUnit) -> str:
    low, high = (format_length(edge, unit, 1) for edge in (asked.window_low_m, asked.window_high_m))
    return f"{target_text(asked.target_m, unit)}, window {low} to {high} {unit}"


def _option_headers(unit: LengthUnit) -> list[str]:
    return [f"carry {unit}", "8 in 10", "inside", "spin rpm", "lands deg", f"apex {unit}", f"runs {unit}", "balls"]


def _option(option: Option, unit: LengthUnit) -> list[str]:
    flight, title = option.flight, wedge_title(option.wedge, option.loft_deg)
    chart = carry_text(option.carry_m, option.support, unit)
    today = "" if option.today is None else f"today {format_length(option.today.carry_today_m, unit)}, chart "
    return [
        title if option.trajectory == "stock" else f"{title} {option.trajectory}",
        option.swing + ("" if option.practised else " *"),
        today + chart,
        range_of(option, unit),
        percent_text(option.window_probability),
        f"{spin_text(option.spin_rpm, option.spin_support)} ±{spin_text(option.spin_sd_rpm, 'measured')}",
        estimate_text(format_number(flight.land_deg), flight.flight_support),
        estimate_text(format_length(flight.apex_m, unit), flight.flight_support),
        span_text(flight.run_out_low_m, flight.run_out_high_m, unit),
        str(option.n_shots),
    ]


def _option_notes(options: Sequence[Option]) -> list[str]:
    from wedgelab.render.choice_words import sign_lines

    notes = [worked_out_line()] if any(not option.practised for option in options) else []
    return notes + sign_lines(options)


def _gaps(report: "GapReport", unit: LengthUnit) -> _Drawn:
    from wedgelab.render.gaps_words import sentences as gap_sentences

    rows = [
        [
            shot.wedge, shot.swing, carry_text(shot.carry_m, shot.support, unit),
            range_text(shot.carry_p10_m, shot.carry_p90_m, unit), str(shot.n_shots),
            "-" if gap is None else f"{format_length(gap.gap_m, unit, 1)} ±{format_length(gap.gap_se_m, unit, 1)}",
            "-" if gap is None else format_length(gap.spread_m, unit, 1),
            "" if gap is None or not gap.is_hole else "hole",
        ]
        for shot, gap in zip_longest(report.shots, report.gaps)
    ]  # fmt: skip
    who = f"{report.player}: " if report.player else ""
    headers = ["wedge", "swing", f"carry {unit}", "8 in 10", "balls", "to the next", "own spread", ""]
    return [_Part(f"{who}stock shots by carry in {unit}", headers, rows, 2)], list(gap_sentences(report, unit))


def _drill(summary: DrillSummary, unit: LengthUnit) -> _Drawn:
    headers, rows = group_rows(summary, unit)
    title = f"Drill of {count_text(summary.total.n, 'ball')}: misses in {unit} (long is +)"
    return [_Part(title, [name.replace("\n", " ") for name in headers], rows, 1)], list(sentences(summary, unit))


def _plan(plan: "SessionPlan", unit: LengthUnit) -> _Drawn:
    from wedgelab.render.plan_text import plan_headers, plan_row, verdict

    headers = plan_headers(unit)
    who = f" for {plan.player}" if plan.player else ""
    parts = [_Part(f"Practice plan{who}, in this order", headers, [plan_row(shot, unit) for shot in plan.shots], 2)]
    others = [plan_row(shot, unit) for shot in plan.rest if shot.weight > 0.0]
    if others:
        parts.append(_Part("Not hit, and what the others teach of them", headers, others, 2))
    return parts, [verdict(plan, unit)]


# by name: who shows a chart need not load what gaps and plans are made of
_DRAWN_BY: Final[dict[str, Callable[[Any, LengthUnit], _Drawn]]] = {
    "Chart": _chart,
    "Choice": _choice,
    "Flights": _flights,
    "GapReport": _gaps,
    "DrillSummary": _drill,
    "SessionPlan": _plan,
}
