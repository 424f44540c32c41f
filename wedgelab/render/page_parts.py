"""What stands in the parts of the page: the words and numbers, made by the functions that `chart` and `choose` use."""

from collections.abc import Sequence
from typing import Any, Final

from wedgelab.chart import Chart, ChartCell
from wedgelab.choose.advice import Advice
from wedgelab.choose.table import TableRow
from wedgelab.dispersion import WedgeDispersion
from wedgelab.drill.history import DrillPoint
from wedgelab.gaps.report import GapReport
from wedgelab.render.dispersion_words import angle_text, miss_text, told_text
from wedgelab.render.gaps_words import beside, chance_text, give_or_take, is_sure, sentences, span_text
from wedgelab.render.words import (
    carry_text,
    count_text,
    percent_text,
    range_text,
    signed_length,
    spin_text,
    wedge_title,
)
from wedgelab.shots import SwingLength
from wedgelab.units import LengthUnit, format_length, format_number, in_unit

Part = dict[str, Any]

BETWEEN_SIGN: Final = "*"
_NO_BREAK: Final = "\N{NO-BREAK SPACE}"
NO_SHOT: Final = "no shot of the bag"
_FULL_STEP: Final = 5  # in the player's unit: the table has every fifth target, the finder every one
_FEWEST_ROWS: Final = 4


def chart_part(chart: Chart, unit: LengthUnit) -> Part:
    """Return the cells of the chart, row by row."""
    return {
        "swings": [swing.label for swing in chart.swings],
        "rows": [
            {
                "wedge": wedge_title(wedge.label, wedge.loft_deg),
                "cells": [_cell(cell, unit) for cell in cells],
            }
            for wedge, cells in zip(chart.wedges, chart.rows, strict=True)
        ],
    }


def _cell(cell: ChartCell, unit: LengthUnit) -> dict[str, str]:
    today = cell.today
    carry = carry_text(cell.carry_m, cell.support, unit)
    shown = {
        "carry": carry,
        "give": "",
        "usual": "",
        "likely": range_text(cell.carry_p10_m, cell.carry_p90_m, unit),
        "spin": spin_text(cell.spin_rpm, cell.spin_support),
        "balls": count_text(cell.n_shots, "ball"),
    }
    if today is None:
        return shown
    shown["usual"] = carry
    if today.carry_today_m is None or today.carry_today_p10_m is None or today.carry_today_p90_m is None:
        return shown | {"carry": "-", "likely": "-"}
    return shown | {
        "carry": carry_text(today.carry_today_m, cell.support, unit),
        "give": f"±{format_length(today.carry_today_se_m, unit, 1)}",
        "likely": range_text(today.carry_today_p10_m, today.carry_today_p90_m, unit),
    }


def choice_part(rows: Sequence[TableRow], named: Sequence[SwingLength], unit: LengthUnit) -> Part:
    """Return the rows of the table, and all rows for the finder."""
    every = [(round(in_unit(row.target_m, unit)), _answer(row, named, unit)) for row in rows]
    full = [answer for target, answer in every if target % _FULL_STEP == 0]
    shown = full if len(full) >= _FEWEST_ROWS else [answer for _, answer in every]
    return {
        "rows": shown,
        "is_marked": any(_is_marked(advice) for row in rows for advice in (row.best, row.other)),
        "has_between": any(BETWEEN_SIGN in row["swing"] or BETWEEN_SIGN in row["other"] for row in shown),
        "every": [answer for _, answer in every],
        "first": every[0][0] if every else 0,
        "last": every[-1][0] if every else 0,
        "start": every[len(every) // 2][0] if every else 0,
    }


def _is_marked(advice: Advice | None) -> bool:
    """Tell whether a sign stands at the shot's carry or brackets at its spin."""
    return advice is not None and (advice.prediction.support, advice.prediction.spin_support) != ("measured",) * 2


def _answer(row: TableRow, named: Sequence[SwingLength], unit: LengthUnit) -> dict[str, str]:
    target = format_length(row.target_m, unit)
    window = span_text(row.window_low_m, row.window_high_m, unit, 1)
    if row.best is None:
        empty = dict.fromkeys(("wedge", "swing", "carry", "spin", "balls", "chance", "share", "other"), "")
        return {"target": target, "window": window, **empty}
    best = row.best.prediction
    other = row.other
    return {
        "target": target,
        "window": window,
        "wedge": row.best.wedge.label,
        "swing": _swing(row.best, named),
        "carry": carry_text(best.carry_m, best.support, unit),
        "spin": spin_text(best.spin_rpm, best.spin_support),
        "balls": count_text(best.n_shots, "ball"),
        "chance": percent_text(row.best.window_probability),
        "share": format_number(row.best.window_probability, 3),
        "other": ""
        if other is None
        else f"{other.wedge.label} {_swing(other, named)}, {percent_text(other.window_probability)} inside",
    }


def _swing(advice: Advice, named: Sequence[SwingLength]) -> str:
    """Write the swing, marked where it is none of the named ones."""
    return f"{advice.swing.label}{'' if advice.swing in named else f'{_NO_BREAK}{BETWEEN_SIGN}'}"


def gaps_part(report: GapReport, unit: LengthUnit) -> Part:
    """Return the holes, the targets without a stock answer, and the sentences of `gaps`."""
    return {
        "holes": [
            {
                "between": f"{hole.wedge} {hole.swing}, {hole.longer_wedge} {hole.longer_swing}",
                "gap": give_or_take(hole.gap_m, hole.gap_se_m, unit),
                "spread": format_length(hole.spread_m, unit, 1),
                "chance": chance_text(hole.hole_probability),
            }
            for hole in report.holes
        ],
        "stretches": [
            {
                "targets": span_text(one.low_m, one.high_m, unit, 1),
                "wide": give_or_take(one.width_m, one.width_se_m, unit),
                "chance": percent_text(one.window_probability),
                "where": beside(one) if is_sure(one) else f"maybe {beside(one)}",
            }
            for one in report.stretches
        ],
        "sentences": list(sentences(report, unit)),
        "has_unlogged": any(shot.support != "measured" for shot in report.shots),
    }


def side_part(every: Sequence[WedgeDispersion], unit: LengthUnit) -> list[Part]:
    """Return for each wedge with sideways misses its numbers, swing length by swing length."""
    return [
        {
            "wedge": wedge_title(one.wedge, one.loft_deg),
            "balls": count_text(one.n, "ball"),
            "angle": angle_text(one.side_mean_deg),
            "give": "" if one.side_se_deg is None else f"±{format_number(one.side_se_deg, 1)}",
            "told": told_text(one),
            "swings": [
                {
                    "swing": swing.swing,
                    "n": str(swing.n),
                    "mean": miss_text(swing.offline_mean_m, unit),
                    "give": "" if swing.offline_se_m is None else f"±{format_length(swing.offline_se_m, unit, 1)}",
                    "sd": format_length(swing.offline_sd_m, unit, 1),
                }
                for swing in one.swings
            ],
        }
        for one in every
        if one.n
    ]


def _kinds(one: DrillPoint) -> tuple[tuple[str, bool], ...]:
    return ("test", one.is_test), ("held", one.is_held), (f"{one.n_left} calls left", one.n_left > 0)


def drills_part(drills: Sequence[DrillPoint], unit: LengthUnit) -> list[dict[str, str]]:
    """Return the drills, latest first."""
    return [
        {
            "day": one.began_at[:10],
            "kind": ", ".join(word for word, is_so in _kinds(one) if is_so),
            "n": str(one.n),
            "ce": signed_length(one.ce_m, unit),
            "ve": format_length(one.ve_m if one.n > 1 else None, unit, 1),
            "e": format_length(one.e_m, unit, 1),
            "expected": format_length(one.expected_e_m, unit, 1),
            "ratio": format_number(one.e_ratio, 2),
            "ratio_likely": ""
            if one.e_ratio is None
            else f"{format_number(one.e_ratio_low, 2)}-{format_number(one.e_ratio_high, 2)}",
            "share": percent_text(one.share),
            "likely": f"{format_number(100.0 * one.share_low)}-{percent_text(one.share_high)}",
            "expected_share": "-" if one.expected_share is None else percent_text(one.expected_share),
        }
        for one in reversed(drills)
    ]
