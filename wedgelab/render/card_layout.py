"""How a chart is fitted onto a card: which letters, which columns side by side, which rows on which side.

The largest letters are taken with which everything stands on one side; where not even the smallest do, the card gets
a second side. Nothing is left out and nothing overlaps.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from wedgelab.render.paper import ASCENT, LEADING, LEAST_PT, PT_MM, fit_mm, fold_mm, line_mm, width_mm

BETWEEN_MM: Final = 2.6  # between two columns
ROW_PAD_MM: Final = 1.2  # above and below a row, both together
HEAD_PAD_MM: Final = 1.4  # of a line of column headers
NOTES_GAP_MM: Final = 1.6
_BLOCK_GAP_MM: Final = 2.0
_WEDGE_SHARE: Final = 0.26  # of the width, at most, for the column of the wedges
_FEW_LINES: Final = 3
_ROUNDING_MM: Final = 1e-6
_LABEL_MM: Final = 13.0  # a column is not made wider than this for the sake of its header


@dataclass(frozen=True, slots=True)
class Letters:
    """Sizes of letters [pt]: the carry, the lines under it, the names of wedges and swing lengths."""

    carry: float
    small: float
    label: float


SIZES: Final = (
    Letters(24.0, 9.5, 14.0), Letters(20.0, 8.5, 12.0), Letters(18.0, 8.0, 10.5), Letters(16.0, 8.0, 10.0),
    Letters(14.0, 7.5, 9.5), Letters(12.0, LEAST_PT, 9.0), Letters(10.5, LEAST_PT, 8.5), Letters(9.5, LEAST_PT, 8.0),
    Letters(8.5, LEAST_PT, 7.5), Letters(7.5, LEAST_PT, LEAST_PT),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Content:
    """What stands in the table: ``cells[row][column]`` has the carry, then a small line for each of ``row_labels``.

    ``corner`` says over the wedges what the carries are in.
    """

    corner: str
    wedges: tuple[str, ...]
    swings: tuple[str, ...]
    row_labels: tuple[str, ...]
    cells: tuple[tuple[tuple[str, ...], ...], ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """Some columns of the table, as wide as they need; ``headers`` and ``wedges`` are folded into lines."""

    columns: range
    widths_mm: tuple[float, ...]
    headers: tuple[tuple[str, ...], ...]
    header_mm: float


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece of a strip on one side: its headers at ``top_mm``, then these rows, each at its own height."""

    strip: Strip
    top_mm: float
    rows: tuple[int, ...]
    row_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the card; ``notes_mm`` is where the notes begin, None where they stand on another side."""

    pieces: tuple[Placed, ...]
    notes_mm: float | None
    used_mm: float


@dataclass(frozen=True, slots=True)
class CardLayout:
    """The whole card."""

    letters: Letters
    wedge_mm: float
    wedges: tuple[tuple[str, ...], ...]
    sides: tuple[Side, ...]
    is_cut: bool = False  # names had to lose their middles

    @property
    def n_pieces(self) -> int:
        """Into how many pieces the table is cut."""
        return sum(len(side.pieces) for side in self.sides)


def lay_out(content: Content, width: float, heights: tuple[float, float], notes_mm: float) -> CardLayout:
    """Fit the table and the notes into sides of that width [mm]; ``heights`` are free on the first side and on others.

    Fewest sides first, then the fewest pieces that the table is cut into, then the largest letters.
    """
    found = [one for letters in SIZES if (one := _with(letters, content, width, heights, notes_mm)) is not None]
    if not found:  # names of many letters on a small card: their middles are left out
        found = [replace(_placed(SIZES[-1], _cut(content, width), width, heights, notes_mm), is_cut=True)]
    return min(found, key=lambda one: (len(one.sides), one.n_pieces))  # of equals the first, the largest, is kept


def _with(
    letters: Letters, content: Content, width: float, heights: tuple[float, float], notes_mm: float
) -> CardLayout | None:
    """Lay the card out in these letters; None where a row with its headers is too high or too wide for a side."""
    made = _placed(letters, content, width, heights, notes_mm)
    pieces = [piece for side in made.sides for piece in side.pieces]
    highest = max(piece.strip.header_mm + max(piece.row_mm) for piece in pieces)
    widest = max(sum(piece.strip.widths_mm) for piece in pieces)
    fits = highest <= min(heights) and made.wedge_mm + widest <= width + _ROUNDING_MM
    return made if fits else None


def _placed(
    letters: Letters, content: Content, width: float, heights: tuple[float, float], notes_mm: float
) -> CardLayout:
    wedges = tuple(tuple(fold_mm(name, _WEDGE_SHARE * width, letters.label, bold=True)) for name in content.wedges)
    wedge_mm = max(
        *(width_mm(line, letters.label, bold=True) for lines in wedges for line in lines),
        *(width_mm(label, letters.small) for label in content.row_labels),
        width_mm(content.corner, letters.small, bold=True),
    )
    strips = _strips(letters, content, width - wedge_mm)
    rows_mm = tuple(_row_mm(letters, lines, len(content.row_labels)) for lines in wedges)
    return CardLayout(letters, wedge_mm, wedges, tuple(_pack(strips, rows_mm, heights, notes_mm)))


def _cut(content: Content, width: float) -> Content:
    """Return the table with names that take a few lines at most in the smallest letters."""

    def cut(name: str, most_mm: float) -> str:
        return " ".join(fit_mm(name, most_mm, sizes=(LEAST_PT,), lines=_FEW_LINES, bold=True)[1])

    wedges = tuple(cut(name, _WEDGE_SHARE * width) for name in content.wedges)
    return replace(content, wedges=wedges, swings=tuple(cut(name, _LABEL_MM) for name in content.swings))


def _row_mm(letters: Letters, wedge_lines: Sequence[str], n_small: int) -> float:
    """Return the height of a row: that of its cells, or of a name of many lines with the row's labels under it."""
    return first_mm(letters, len(wedge_lines)) + line_mm(letters.small, n_small) + ROW_PAD_MM


def first_mm(letters: Letters, n_lines: int) -> float:
    """Return the height [mm] of the carry and of a wedge's name beside it, the last line of which stands level."""
    return max(line_mm(letters.carry), line_mm(letters.label, n_lines) + lift_mm(letters.carry, letters.label))


def lift_mm(large_pt: float, small_pt: float) -> float:
    """Return how far smaller letters are raised so that both stand on one line where their lines end together."""
    return (LEADING - ASCENT) * (large_pt - small_pt) * PT_MM


def _strips(letters: Letters, content: Content, width: float) -> list[Strip]:
    """Split the columns into as few strips of much the same number as fit side by side."""
    needed = [_column_mm(letters, content, column) + BETWEEN_MM for column in range(len(content.swings))]
    for n_strips in range(1, len(needed) + 1):
        parts = list(_split(len(needed), n_strips))
        if all(sum(needed[i] for i in part) <= width for part in parts):
            break
    return [_strip(letters, content, part, needed, width) for part in parts]


def _split(n: int, parts: int) -> Iterator[range]:
    for i in range(parts):
        yield range(i * n // parts, (i + 1) * n // parts)


def _column_mm(letters: Letters, content: Content, column: int) -> float:
    cells = [row[column] for row in content.cells]
    label = min(width_mm(content.swings[column], letters.label, bold=True), _LABEL_MM)
    return max(
        label,
        *(width_mm(carry, letters.carry, bold=True) for carry, *_ in cells),
        *(width_mm(line, letters.small) for _, *lines in cells for line in lines),
    )


def _strip(letters: Letters, content: Content, part: range, needed: Sequence[float], width: float) -> Strip:
    """Share what is left of the width among the columns."""
    more = max(0.0, width - sum(needed[i] for i in part)) / len(part)
    widths = tuple(needed[i] + more for i in part)
    headers = tuple(
        tuple(fold_mm(content.swings[i], one - BETWEEN_MM, letters.label, bold=True))
        for i, one in zip(part, widths, strict=True)
    )
    return Strip(part, widths, headers, line_mm(letters.label, max(map(len, headers))) + HEAD_PAD_MM)


def _pack(
    strips: Sequence[Strip], rows_mm: Sequence[float], heights: tuple[float, float], notes_mm: float
) -> Iterator[Side]:
    """Fill one side after the other; a strip that goes on begins with its headers again."""
    pieces: list[Placed] = []
    room, top = heights[0], 0.0
    for strip in strips:
        rows: list[int] = []
        start = top + (_BLOCK_GAP_MM if pieces else 0.0)
        foot = start + strip.header_mm
        for row, height in enumerate(rows_mm):
            if foot + height > room and (rows or pieces):
                pieces += _piece(strip, start, rows, rows_mm)
                yield Side(tuple(pieces), None, top if not rows else foot)
                pieces, rows, room, start = [], [], heights[1], 0.0
                foot = strip.header_mm
            rows.append(row)
            foot += height
        pieces += _piece(strip, start, rows, rows_mm)
        top = foot
    if top + NOTES_GAP_MM + notes_mm > room:
        yield Side(tuple(pieces), None, top)
        pieces, top = [], 0.0
    yield Side(tuple(pieces), top + NOTES_GAP_MM, top + NOTES_GAP_MM + notes_mm)


def _piece(strip: Strip, top_mm: float, rows: Sequence[int], rows_mm: Sequence[float]) -> list[Placed]:
    return [Placed(strip, top_mm, tuple(rows), tuple(rows_mm[i] for i in rows))] if rows else []


def stretched(side: Side, room_mm: float) -> tuple[Side, float]:
    """Give a side's rows the height that is left, up to as much again; also return what is left then [mm]."""
    rows = [height for piece in side.pieces for height in piece.row_mm]
    left = room_mm - side.used_mm
    if not rows or left <= 0.0:
        return side, max(left, 0.0)
    more = min(left / len(rows), 0.45 * min(rows))
    pieces, moved = [], 0.0
    for piece in side.pieces:
        heights = tuple(height + more for height in piece.row_mm)
        pieces.append(Placed(piece.strip, piece.top_mm + moved, piece.rows, heights))
        moved += more * len(piece.rows)
    notes = None if side.notes_mm is None else side.notes_mm + moved
    return Side(tuple(pieces), notes, side.used_mm + moved), left - moved
