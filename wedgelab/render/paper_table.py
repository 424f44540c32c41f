"""A table on paper: columns as wide as their text, folded labels, thin lines only where they help the eye."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from wedgelab.render.paper import FAINT, INK, QUIET, Align, Area, fold_mm, line_mm, width_mm

_MOST_GAP_MM: Final = 7.0
_ROW_PAD_MM: Final = 0.45
_HEAD_PAD_MM: Final = 0.9


@dataclass(frozen=True, slots=True)
class Column:
    """A column's header, the side on which its texts stand in line, and where wider ones are folded [mm]."""

    header: str
    align: Align = "right"
    most_mm: float = 100.0


@dataclass(frozen=True, slots=True)
class PaperTable:
    """Rows of texts; a row begins with an empty first cell where it goes on with the row above."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    pt: float = 7.5
    strong: frozenset[int] = field(default_factory=frozenset)  # columns whose texts are the answer
    is_grouped: bool = True  # a thin line parts what belongs together from the next

    def height_mm(self) -> float:
        """Return how much height the table takes."""
        return self._head_mm() + sum(self._row_mm(row) for row in self.rows)

    def draw(self, area: Area, top_mm: float = 0.0) -> float:
        """Draw the table over the area's width; return its foot [mm]."""
        widths = self._widths()
        spare = (area.width_mm - sum(widths)) / max(1, len(widths) - 1)
        gap = min(max(spare, 0.0), _MOST_GAP_MM)
        lefts = [sum(widths[:i]) + i * gap for i in range(len(widths))]
        wide = area.part(0.0, 0.0, (lefts[-1] + widths[-1], area.height_mm))
        heads = [fold_mm(column.header, column.most_mm, self.pt) for column in self.columns]
        deepest = max(map(len, heads))
        for column, left, width, lines in zip(self.columns, lefts, widths, heads, strict=True):
            down = top_mm + line_mm(self.pt, deepest - len(lines))
            self._write(wide, column, (left, width), down, lines, colour=QUIET)
        top = top_mm + self._head_mm()
        wide.rule(top - _HEAD_PAD_MM / 2.0, pt=0.6, colour=INK)
        for i, row in enumerate(self.rows):
            if i and row[0] and self.is_grouped:
                wide.rule(top, pt=0.3, colour=FAINT)
            for j, (column, left, width, text) in enumerate(zip(self.columns, lefts, widths, row, strict=True)):
                lines = fold_mm(text, column.most_mm, self.pt)
                self._write(wide, column, (left, width), top + _ROW_PAD_MM / 2.0, lines, bold=j in self.strong)
            top += self._row_mm(row)
        return top

    def split(self, most_rows: int) -> "list[PaperTable]":
        """Return the table in pieces of at most so many rows, each under its headers."""
        starts = range(0, max(len(self.rows), 1), most_rows)
        return [replace(self, rows=self.rows[i : i + most_rows]) for i in starts]

    def _write(
        self, area: Area, column: Column, span: tuple[float, float], top_mm: float, lines: Sequence[str],
        *, bold: bool = False, colour: str = INK,
    ) -> None:  # fmt: skip
        left, width = span
        x = left if column.align == "left" else left + width
        area.write_lines(x, top_mm, lines, pt=self.pt, bold=bold, align=column.align, colour=colour)

    def _widths(self) -> list[float]:
        return [
            max(
                width_mm(line, self.pt, bold=i in self.strong)
                for text in (column.header, *(row[i] for row in self.rows))
                for line in fold_mm(text, column.most_mm, self.pt)
            )
            for i, column in enumerate(self.columns)
        ]

    def _head_mm(self) -> float:
        deepest = max(len(fold_mm(column.header, column.most_mm, self.pt)) for column in self.columns)
        return line_mm(self.pt, deepest) + _HEAD_PAD_MM

    def _row_mm(self, row: Sequence[str]) -> float:
        lines = max(len(fold_mm(text, column.most_mm, self.pt)) for column, text in zip(self.columns, row, strict=True))
        return line_mm(self.pt, lines) + _ROW_PAD_MM
