"""A line of distances as text: a scale, and rows with marks and ranges, each at its column.

Pure functions: what stands where is worked out from lengths alone, so that others can draw their rows on the same line.
"""

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from typing import Final

from wedgelab.render.layout import WIDTH, display_width, fold
from wedgelab.units import LengthUnit, format_number, from_unit, in_unit

LABEL_COLUMNS: Final = 10
_STEPS: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0)
_BETWEEN_NUMBERS: Final = 3  # blanks at least between two numbers of the scale
_LEAST_SPAN_M: Final = 1.0


@dataclass(frozen=True, slots=True)
class Signs:
    """What a strip is drawn with: no sign is used for two things."""

    mark: str
    hollow: str
    bar: str
    double: str
    tick: str
    shade: str

    @property
    def all(self) -> str:
        """Every sign, to ask whether a stream can show them."""
        return "".join(astuple(self))


SIGNS: Final = Signs("●", "○", "─", "═", "│", "░")
ASCII_SIGNS: Final = Signs("*", "o", "-", "=", "|", "x")


def signs(*, ascii_only: bool) -> Signs:
    """Return the signs of a strip, for a legend."""
    return ASCII_SIGNS if ascii_only else SIGNS


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark at a distance, with its range if it has one; hollow where nothing was measured."""

    at_m: float
    low_m: float | None = None
    high_m: float | None = None
    is_hollow: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a strip: a label, then marks with their ranges; ``shaded_m`` are spans that are filled instead."""

    label: str
    marks: tuple[Mark, ...] = ()
    shaded_m: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Scale:
    """Which column stands for which distance: ``low_m`` the first of ``columns``, ``high_m`` the last."""

    low_m: float
    high_m: float
    columns: int

    def column(self, at_m: float) -> int:
        """Return the column nearest to a distance; what lies beyond an end stands at the end."""
        share = (at_m - self.low_m) / max(self.high_m - self.low_m, _LEAST_SPAN_M)
        return min(max(int(share * (self.columns - 1) + 0.5), 0), self.columns - 1)

    def span(self, low_m: float, high_m: float) -> range:
        """Return the columns of a span, one at least."""
        return range(self.column(low_m), self.column(high_m) + 1)


def distance_strip(
    rows: Sequence[Row],
    low_m: float,
    high_m: float,
    unit: LengthUnit,
    *,
    width: int = WIDTH,
    ascii_only: bool = False,
) -> list[str]:
    """Draw rows over one scale of distances, in the player's unit, as lines of at most ``width`` columns.

    Two lines of scale (numbers, ticks) stand above the rows. A long label takes lines of its own; two ranges that share
    a column are drawn double there.
    """
    with_labels = [fold(row.label, LABEL_COLUMNS).split("\n") for row in rows]
    left = label_columns(rows)
    scale = Scale(low_m, high_m, max(width - left, 2))
    drawn = [f"{' ' * left}{line}" for line in scale_lines(scale, unit, ascii_only=ascii_only)]
    for row, lines in zip(rows, with_labels, strict=True):
        drawn.append(_padded(lines[0], left) + strip_row(row, scale, ascii_only=ascii_only))
        drawn += lines[1:]
    return [line.rstrip() for line in drawn]


def label_columns(rows: Sequence[Row]) -> int:
    """Return how many columns the labels take, the blank behind them included: the scale begins after them."""
    lines = [line for row in rows for line in fold(row.label, LABEL_COLUMNS).split("\n")]
    return max((display_width(line) for line in lines), default=0) + 1


def signs_shown(
    rows: Sequence[Row], low_m: float, high_m: float, *, width: int = WIDTH, ascii_only: bool = False
) -> set[str]:
    """Return the signs that stand in the rows of such a strip: a legend explains those and no others."""
    scale = Scale(low_m, high_m, max(width - label_columns(rows), 2))
    return {sign for row in rows for sign in strip_row(row, scale, ascii_only=ascii_only) if sign != " "}


def strip_row(row: Row, scale: Scale, *, ascii_only: bool = False) -> str:
    """Draw one row without its label: spans first, then ranges, marks last."""
    use, cells = signs(ascii_only=ascii_only), [" "] * scale.columns
    for low, high in row.shaded_m:
        for column in scale.span(low, high):
            cells[column] = use.shade
    for mark in row.marks:
        if mark.low_m is None or mark.high_m is None:
            continue
        for column in scale.span(mark.low_m, mark.high_m):
            cells[column] = use.double if cells[column] in {use.bar, use.double} else use.bar
    for hollow in (True, False):  # of two marks in one column the measured one is seen
        for mark in row.marks:
            if mark.is_hollow == hollow:
                cells[scale.column(mark.at_m)] = use.hollow if hollow else use.mark
    return "".join(cells)


def scale_lines(scale: Scale, unit: LengthUnit, *, ascii_only: bool = False) -> tuple[str, str]:
    """Return the numbers of a scale, each about its column, and the ticks below them."""
    low, high = in_unit(scale.low_m, unit), in_unit(scale.high_m, unit)
    numbers, ticks = [" "] * scale.columns, [" "] * scale.columns
    for value in _ticks(low, high, scale.columns):
        text, column = format_number(value), scale.column(from_unit(value, unit))
        start = min(max(column - (len(text) - 1) // 2, 0), scale.columns - len(text))
        numbers[start : start + len(text)] = text
        ticks[column] = signs(ascii_only=ascii_only).tick
    return "".join(numbers), "".join(ticks)


def _ticks(low: float, high: float, columns: int) -> list[float]:
    """Return round numbers between two, as many as there is room for."""
    span = max(high - low, 1e-9)
    room = len(format_number(high)) + _BETWEEN_NUMBERS
    step = next((step for step in _STEPS if step / span * (columns - 1) >= room), _STEPS[-1])
    first = int(-(-low // step))
    return [step * i for i in range(first, int(high // step) + 1)]


def _padded(text: str, width: int) -> str:
    return text + " " * (width - display_width(text))
