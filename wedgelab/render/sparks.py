"""Small drawings out of characters: a line of bars, and a field of marks; pure functions of numbers.

Numbers stand beside them wherever they are used: a drawing shows the shape, not the value.
"""

import math
from collections.abc import Sequence
from typing import Final

BLOCKS: Final = "▁▂▃▄▅▆▇█"
ASCII_BARS: Final = "_.-=+*#@"  # from the foot of the line to all of it
UPRIGHT: Final = "│"  # of a field
DOT: Final = "·"
GAP: Final = " "
_ROUNDING: Final = 1e-9  # half a bar may come out a hair above a half
Span = tuple[float, float]  # from, to


def sparkline(values: Sequence[float | None], *, low: float, high: float, ascii_only: bool = False) -> str:
    """Draw one bar a value, in eighths of the line's height rounded up; the full one is ``high`` and more.

    What is ``low`` or less has the least bar, None and NaN have none. Where ``high`` is not above ``low`` every bar is
    the least.
    """
    bars = ASCII_BARS if ascii_only else BLOCKS
    return "".join(GAP if value is None or math.isnan(value) else bars[_step(value, low, high)] for value in values)


def _step(value: float, low: float, high: float) -> int:
    share = (value - low) / (high - low) if high > low else 0.0
    return max(math.ceil(min(max(share, 0.0), 1.0) * len(BLOCKS) - _ROUNDING) - 1, 0)


class Field:
    """A grid of characters over a span of x and y, y upwards; later marks cover earlier ones."""

    def __init__(self, columns: int, rows: int, x_span: Span, y_span: Span) -> None:
        self.columns, self.rows = columns, rows
        self._x, self._y = x_span, y_span
        self._cells = [[GAP] * columns for _ in range(rows)]

    def mark(self, x: float, y: float, sign: str) -> None:
        """Put a sign at a point; one outside the span is left out."""
        column = math.floor((x - self._x[0]) / (self._x[1] - self._x[0]) * self.columns)
        row = math.floor((y - self._y[0]) / (self._y[1] - self._y[0]) * self.rows)
        if 0 <= column < self.columns and 0 <= row < self.rows:
            self._cells[self.rows - 1 - row][column] = sign

    def upright(self, x: float, sign: str) -> None:
        """Draw a line from the foot to the top."""
        step = (self._y[1] - self._y[0]) / self.rows
        for row in range(self.rows):
            self.mark(x, self._y[0] + (row + 0.5) * step, sign)

    def middle(self, row: int) -> float:
        """Return the y in the middle of a line of characters, counted from the top."""
        return self._y[1] - (row + 0.5) * (self._y[1] - self._y[0]) / self.rows

    @property
    def lines(self) -> list[str]:
        """The lines of characters, the uppermost first."""
        return ["".join(row) for row in self._cells]
