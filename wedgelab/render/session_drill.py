"""A drill on the session sheet: its errors by band of distance, what they say, and a small picture of the balls."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from wedgelab.drill.machine import DrillState
from wedgelab.drill.scores import DrillSummary, MissSummary
from wedgelab.render.drill_figure import draw_drill
from wedgelab.render.drill_text import one_ball_line, ratio_line, reading, window_words
from wedgelab.render.figure import wedge_look
from wedgelab.render.layout import shorten
from wedgelab.render.paper import LEAST_PT, QUIET, Area, fold_mm, line_mm
from wedgelab.render.paper_table import Column, PaperTable
from wedgelab.render.session_parts import GUTTER_MM, LEFT_SHARE, TABLE_PT, TITLE_PT
from wedgelab.render.words import count_text, percent_text, signed_length, wedge_title
from wedgelab.units import LengthUnit, format_length

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LABEL_MM: Final = 22.0
_AXIS_MM: Final = (11.0, 9.0)  # left of the picture's frame and below it, for the numbers and their names
_NARROW_MM: Final = 10.0  # of a number under two words
_FRAME_MM: Final = 44.0  # its height
_KEY_MM: Final = 27.0  # right of it, for what the signs mean
_KEY_PT: Final = LEAST_PT
_LONGEST_LABEL: Final = 16
_MOST_WEDGES: Final = 8


@dataclass(frozen=True, slots=True)
class DrillPart:
    """A drill, and the width [mm] that it has."""

    began_at: str
    state: DrillState
    summary: DrillSummary
    unit: LengthUnit
    width_mm: float

    @property
    def _left_mm(self) -> float:
        return LEFT_SHARE * (self.width_mm - GUTTER_MM)

    def height_mm(self) -> float:
        """Return the height that the part takes."""
        words = line_mm(LEAST_PT, len(self._words()))
        return line_mm(TITLE_PT) + 0.5 + max(
            self._table().height_mm() + 1.5 + words, _FRAME_MM + _AXIS_MM[1]
        )  # fmt: skip

    def draw(self, area: Area) -> None:
        """Draw numbers and sentences at the left, the picture at the right."""
        when = self.began_at[:16].replace("T", " ")
        title = f"Drill of {count_text(self.summary.total.n, 'ball')}"
        area.write(0.0, 0.0, title, pt=TITLE_PT, bold=True)
        area.write(
            self._left_mm, line_mm(TITLE_PT) - line_mm(LEAST_PT) - 0.3, when, pt=LEAST_PT, align="right",
            colour=QUIET,
        )  # fmt: skip
        top = line_mm(TITLE_PT) + 0.5
        left = area.part(0.0, top, (self._left_mm, area.height_mm - top))
        foot = self._table().draw(left)
        left.write_lines(0.0, foot + 1.5, self._words(), pt=LEAST_PT, colour=QUIET)
        at = self._left_mm + GUTTER_MM
        self._draw_picture(area.part(at, top, (area.width_mm - at, area.height_mm - top)))

    def _table(self) -> PaperTable:
        total = self.summary.total
        has_chart = total.expected_e_m is not None
        columns = [
            Column("calls", "left", _LABEL_MM),
            Column("balls"),
            Column("CE"),
            Column("VE"),
            Column("E, all", most_mm=_NARROW_MM),
        ]
        columns += [Column("chart, solid", most_mm=_NARROW_MM)] if has_chart else []
        columns.append(Column("inside"))
        groups = [total, *(self.summary.bands if len(self.summary.bands) > 1 else ())]
        rows = tuple(_row(group, self.unit, has_chart=has_chart) for group in groups)
        return PaperTable(tuple(columns), rows, TABLE_PT, frozenset({4}), is_grouped=False)

    def _words(self) -> list[str]:
        summary, unit = self.summary, self.unit
        has_chart = summary.total.expected_e_m is not None
        calls, left = len(self.state.plan.calls_m), summary.left
        said = [
            f"Stopped after {calls - left} of {count_text(calls, 'call')}." if left else "",
            f"{count_text(summary.skipped, 'call')} skipped." if summary.skipped else "",
            reading(summary, unit),
            one_ball_line(summary, unit),
            ratio_line(summary.ratio) if summary.ratio is not None else "",
            f"Misses in {unit}, long is +; CE their mean, VE the spread about it, E both together.",
            "E is of all balls and counts mishits; what the chart expects is of solid balls." if has_chart else "",
            f"Window: {window_words(summary, unit, self.state.plan)}.",
        ]
        return [line for words in said if words for line in fold_mm(words, self._left_mm, LEAST_PT)]

    def _draw_picture(self, area: Area) -> None:
        frame = (area.width_mm - _AXIS_MM[0] - _KEY_MM, _FRAME_MM)
        ax = area.axes(_AXIS_MM[0], 0.0, frame)
        draw_drill(ax, self.state, self.unit)
        ax.tick_params(labelsize=LEAST_PT, length=2.0, pad=1.5)
        for axis in (ax.xaxis, ax.yaxis):
            axis.label.set_fontsize(LEAST_PT)
            axis.labelpad = 1.5
        for line in ax.lines:
            line.set_markersize(0.72 * line.get_markersize())
        _thin_ticks(ax)
        self._draw_key(area.part(area.width_mm - _KEY_MM + 2.0, 0.0, (_KEY_MM - 2.0, _FRAME_MM)))

    def _draw_key(self, area: Area) -> None:
        """Say what the signs of the picture mean, only of those that are in it."""
        balls = self.state.played
        clubs = sorted({(ball.ball.loft_deg, ball.ball.wedge) for ball in balls})
        looks = [(*wedge_look(i)[:2], wedge_title(label, loft)) for i, (loft, label) in enumerate(clubs[:_MOST_WEDGES])]
        signs = [(marker, colour, colour, words) for colour, marker, words in looks]
        if any(not ball.is_inside for ball in balls):
            signs.append(("o", "black", "white", "hollow: outside"))
        if any(not ball.ball.advice_shown for ball in balls):
            signs.append(("x", "black", "black", "without advice"))
        top = 0.0
        for marker, edge, face, words in signs:
            area.sign(1.2, top + line_mm(_KEY_PT) / 2.0, marker, edge=edge, face=face)
            top = area.write_lines(
                3.4, top, fold_mm(shorten(words, _LONGEST_LABEL), area.width_mm - 3.4, _KEY_PT), pt=_KEY_PT
            )
            top += 0.5
        for words in ("grey: the window", "dashed: on the number"):
            top = area.write_lines(0.0, top, fold_mm(words, area.width_mm, _KEY_PT), pt=_KEY_PT, colour=QUIET)


def _row(group: MissSummary, unit: LengthUnit, *, has_chart: bool) -> tuple[str, ...]:
    expected = (format_length(group.expected_e_m, unit, 1),) if has_chart else ()
    return (
        group.label,
        str(group.n),
        signed_length(group.ce_m, unit),
        format_length(group.ve_m if group.n > 1 else None, unit, 1),
        format_length(group.e_m, unit, 1),
        *expected,
        f"{group.inside} of {group.n} ({percent_text(group.share)})",
    )


def _thin_ticks(ax: "Axes") -> None:
    """Keep so few numbers along the axes that they stand apart in a small picture."""
    from matplotlib.ticker import MaxNLocator

    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_locator(MaxNLocator(nbins=6, integer=True))
