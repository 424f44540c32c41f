"""A table on paper: columns as wide as their text, folded labels, thin lines only where they help the eye."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from wedgelab.render.paper import FAINT, INK, QUIET, Align, Area, fold_mm, line_mm, width_mm

_MOST_GAP_MM: Final = 7.0
_LEAST_GAP_MM: Final = 1.5
_LEAST_LABEL_MM: Final = 9.0
_NARROWER_MM: Final = 0.5
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

    def fitted(self, width_mm: float) -> "PaperTable":
        """Return the table with its labels folded narrower, as far as its columns would not stand apart otherwise."""
        table = self
        while True:
            widths = table._widths()
            labels = [i for i, column in enumerate(table.columns) if column.align == "left" and column.header]
            widest = max(labels, key=lambda i: widths[i])
            too_wide = sum(widths) + _LEAST_GAP_MM * (len(widths) - 1) > width_mm
            if not too_wide or widths[widest] <= _LEAST_LABEL_MM:
                return table
            columns = list(table.columns)
            columns[widest] = replace(columns[widest], most_mm=widths[widest] - _NARROWER_MM)
            table = replace(table, columns=tuple(columns))

    def split(self, first_mm: float, more_mm: float) -> "list[PaperTable]":
        """Return the table in pieces, each under its headers: the first at most so high, the others as high as that.

        A piece has a row at least. One that begins amid what belongs together names it again.
        """
        pieces: list[list[tuple[str, ...]]] = [[]]
        top, name = self._head_mm(), ""
        for row in self.rows:
            name = row[0] or name
            if pieces[-1] and top + self._row_mm(row) > (first_mm if len(pieces) == 1 else more_mm):
                pieces.append([])
                top = self._head_mm()
            pieces[-1].append(row if pieces[-1] else (name, *row[1:]))
            top += self._row_mm(pieces[-1][-1])
        return [replace(self, rows=tuple(rows)) for rows in pieces]

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
