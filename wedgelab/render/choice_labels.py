"""Names beside the points of a picture, placed so that no two touch, none hides a point and all stay inside."""

import itertools
import math
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Box = tuple[float, float, float, float]  # left, bottom, right, top, in pixels

_DIRECTIONS: Final = 16
_REACHES_PT: Final = (3.0, 8.0, 14.0, 22.0, 32.0, 44.0, 58.0, 74.0, 92.0)
_LEADER_PT: Final = 10.0  # a name farther off than this is joined to its point
_CLEAR_PT: Final = 1.5
_ON_A_LINE_PT: Final = 40.0  # as bad as so much more distance
_POINTS_AN_INCH: Final = 72.0


@dataclass(frozen=True, slots=True)
class Label:
    """A point, what it may be called, the fullest first, and how that is written."""

    x: float
    y: float
    texts: tuple[str, ...]
    colour: str
    size_pt: float
    marker_pt: float = 8.0


def place_labels(ax: "Axes", labels: Sequence[Label], lines: Sequence[Sequence[tuple[float, float]]] = ()) -> list[int]:
    """Write each label beside its point, the first ones with the first choice of place; return those without a place.

    ``lines`` are drawn lines (data coordinates), which a name crosses only if it must. The limits of the axes and
    everything else that takes room have to be there already.
    """
    with warnings.catch_warnings():
        # a sign that the font lacks is drawn as a box; no warning may disturb the terminal for that
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        return _placed(ax, labels, lines)


def _placed(ax: "Axes", labels: Sequence[Label], lines: Sequence[Sequence[tuple[float, float]]]) -> list[int]:
    from matplotlib.text import Text

    figure = ax.figure.canvas.figure  # the whole one, should the axes stand in a part of it
    figure.draw_without_rendering()  # the layout engine moves the axes, and only then pixels mean something
    scale = figure.dpi / _POINTS_AN_INCH
    inside = _grown(ax.bbox.extents, -_CLEAR_PT * scale)
    points = [tuple(map(float, ax.transData.transform((label.x, label.y)))) for label in labels]
    half = [0.5 * label.marker_pt * scale for label in labels]
    markers = [(x - r, y - r, x + r, y + r) for (x, y), r in zip(points, half, strict=True)]
    drawn = [[tuple(map(float, ax.transData.transform(end))) for end in line] for line in lines]
    taken: list[Box] = []
    homeless = []
    for i, label in enumerate(labels):
        for text in label.texts:
            probe = ax.text(0.0, 0.0, text, fontsize=label.size_pt, parse_math=False)
            extent = Text.get_window_extent(probe)
            probe.remove()
            size = extent.width, extent.height
            spot = _best_spot(points[i], half[i], size, scale, inside, [*taken, *markers], drawn)
            if spot is not None:
                taken.append(_grown(spot, _CLEAR_PT * scale))
                _write(ax, label, text, spot, points[i], half[i], scale)
                break
        else:
            homeless.append(i)
    return homeless


def _write(ax: "Axes", label: Label, text: str, spot: Box, point: tuple[float, ...], half: float, scale: float) -> None:
    middle = 0.5 * (spot[0] + spot[2]), 0.5 * (spot[1] + spot[3])
    gap = math.hypot(max(spot[0] - point[0], point[0] - spot[2], 0.0), max(spot[1] - point[1], point[1] - spot[3], 0.0))
    leader = {
        "arrowstyle": "-",
        "color": label.colour,
        "linewidth": 0.5,
        "alpha": 0.6,
        "shrinkA": 0.0,
        "shrinkB": half / scale,
    }
    note = ax.annotate(
        text, (label.x, label.y), xytext=((middle[0] - point[0]) / scale, (middle[1] - point[1]) / scale),
        textcoords="offset points", ha="center", va="center", fontsize=label.size_pt, color=label.colour,
        parse_math=False, annotation_clip=False, zorder=5,
        arrowprops=leader if gap - half > _LEADER_PT * scale else None,
    )  # fmt: skip
    note.set_in_layout(False)


def _best_spot(
    point: tuple[float, ...],
    half: float,
    size: tuple[float, float],
    scale: float,
    inside: Box,
    taken: Sequence[Box],
    lines: Sequence[Sequence[tuple[float, ...]]],
) -> Box | None:
    """Return the box nearest to the point that is free, one that no line crosses if it is not far to seek."""
    best, least = None, math.inf
    for reach_pt, spot in _spots(point, half, size, scale):
        if reach_pt >= least:
            break
        if not _holds(inside, spot) or any(_overlap(spot, other) for other in taken):
            continue
        cost = reach_pt + (_ON_A_LINE_PT if any(_crosses(spot, line) for line in lines) else 0.0)
        if cost < least:
            best, least = spot, cost
    return best


def _spots(
    point: tuple[float, ...], half: float, size: tuple[float, float], scale: float
) -> Iterator[tuple[float, Box]]:
    """Yield boxes about the point, nearest first, each with how far off it is."""
    width, height = size
    for reach_pt in _REACHES_PT:
        out = half + reach_pt * scale
        for k in range(_DIRECTIONS):
            angle = math.pi / 4.0 + 2.0 * math.pi * k / _DIRECTIONS  # up and right first
            x = point[0] + math.cos(angle) * (out + 0.5 * width)
            y = point[1] + math.sin(angle) * (out + 0.5 * height)
            yield reach_pt, (x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height)


def _grown(box: Sequence[float], by: float) -> Box:
    return float(box[0]) - by, float(box[1]) - by, float(box[2]) + by, float(box[3]) + by


def _holds(outer: Box, inner: Box) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _crosses(box: Box, line: Sequence[tuple[float, ...]]) -> bool:
    return any(_cuts(box, a, b) for a, b in itertools.pairwise(line))


def _cuts(box: Box, a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    """Tell whether a segment passes through the box: what is left of it after each side has cut off its part."""
    start, end = 0.0, 1.0
    for axis, low, high in ((0, box[0], box[2]), (1, box[1], box[3])):
        step = b[axis] - a[axis]
        if step == 0.0:
            if not low <= a[axis] <= high:
                return False
            continue
        near, far = sorted(((low - a[axis]) / step, (high - a[axis]) / step))
        start, end = max(start, near), min(end, far)
    return start < end
