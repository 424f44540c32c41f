"""The chart as CSV: the columns of docs/names.md, SI, safe to open in a spreadsheet."""

import csv
import dataclasses
import io
import math

from wedgelab.chart import Chart, ChartCell
from wedgelab.render.json import flat
from wedgelab.spreadsheet import guard_text


def chart_csv(chart: Chart | None) -> str:
    """Return the cells of the chart, one a line, under a header; the header alone without a chart."""
    names = [field.name for field in dataclasses.fields(ChartCell) if field.name not in {"today", "flight"}]
    rows = [flat(cell) for cell in chart.cells] if chart is not None else []
    if rows:
        names = list(rows[0])
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    for row in rows:
        writer.writerow([_cell(row[name]) for name in names])
    return out.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, str):
        return guard_text(value)
    return round(value, 6) if isinstance(value, (int, float)) and math.isfinite(value) else ""
