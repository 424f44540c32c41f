"""The chart as CSV: the columns of docs/names.md, SI, safe to open in a spreadsheet."""

import csv
import dataclasses
import io

from wedgelab.chart import Chart, ChartCell
from wedgelab.spreadsheet import guard_text


def chart_csv(chart: Chart | None) -> str:
    """Return the cells of the chart, one a line, under a header; the header alone without a chart."""
    names = [field.name for field in dataclasses.fields(ChartCell)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    for cell in chart.cells if chart is not None else ():
        values = (getattr(cell, name) for name in names)
        writer.writerow([guard_text(v) if isinstance(v, str) else round(v, 6) for v in values])
    return out.getvalue()
