"""Facts for a page without a log, and a page taken apart."""

from html.parser import HTMLParser
from typing import Any, Final

import numpy as np

from tests.conftest import a_shot
from tests.drill.drilled import misses_of
from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.chart import build_chart, carry_curves
from wedgelab.choose.table import choice_table
from wedgelab.dispersion import dispersions
from wedgelab.drill.history import drill_history
from wedgelab.gaps.report import build_gaps
from wedgelab.prediction import Day
from wedgelab.render.page import PageFacts
from wedgelab.shots import Bag, Shot
from wedgelab.units import LengthUnit, from_unit
from wedgelab.window import DEFAULT_WINDOW, Window

PLAYER: Final = FakePredictor()
DRILLS: Final = drill_history(
    [("2026-06-03T18:00:00+02:00", misses_of(2.0, -4.0, 1.0, 3.0, -2.0)), ("2026-06-10", misses_of(1.0, -1.0, 2.0))]
)
# never closed: HTML's own void elements
_VOID: Final = {"meta", "input", "br", "hr", "img", "link"}


def facts_of(
    bag: Bag = TYPICAL_BAG,
    *,
    player: str = "Ada",
    unit: LengthUnit = "yd",
    day: Day | None = None,
    window: Window = DEFAULT_WINDOW,
    predictor: FakePredictor = PLAYER,
    **changes: Any,
) -> PageFacts:
    """Return everything that a page has of the fake player."""
    played = predictor if day is None else predictor.on(day)
    shots = shots_of(bag)
    facts: dict[str, Any] = {
        "chart": build_chart(predictor, bag, player=player, day=day),
        "unit": unit,
        "last_shot": "2026-06-03",
        "rows": choice_table(played, bag, window=window, step_m=from_unit(1.0, unit)),
        "curves": carry_curves(played, bag),
        "gaps": build_gaps(played, bag, window=window, rng=np.random.default_rng(1), player=player, unit=unit),
        "window": window,
        "shots": tuple(shots),
        "mishits": frozenset({shots[0].shot_id}),
        "dispersions": dispersions(shots, bag),
        "drills": DRILLS,
    }
    return PageFacts(**facts | changes)


def shots_of(bag: Bag) -> list[Shot]:
    """Return five balls of each wedge and swing length, a little left and right of the line."""
    return [
        a_shot(
            shot_id=f"{i}-{j}-{k}", wedge=wedge.label, loft_deg=wedge.loft_deg, swing=swing.label,
            swing_deg=swing.swing_deg, carry_m=40.0 + 10.0 * j - i + 1.3 * k, offline_m=0.7 * k - 1.0 + 0.3 * (k % 2),
        )
        for i, wedge in enumerate(bag.wedges) for j, swing in enumerate(bag.swings) for k in range(5)
    ]  # fmt: skip


class Outline(HTMLParser):
    """A page taken apart: its elements in order, and the text of each with an id."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.scripts: list[str] = []
        self.cells: list[list[str]] = []  # the words of each row of a table
        self.faults: list[str] = []
        self._open: list[str] = []
        self.feed(page)
        self.close()
        self.faults += [f"never closed: {tag}" for tag in self._open]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in _VOID:
            self._open.append(tag)
        if tag == "tr":
            self.cells.append([])
        if tag in {"td", "th"}:
            self.cells[-1].append("")
        if tag == "script":
            self.scripts.append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self._open or self._open[-1] != tag:
            self.faults.append(f"{tag} closes {self._open[-1:]}")
        else:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] == "script":
            self.scripts[-1] += data
            return
        if self._open and self._open[-1] == "style":
            return
        if {"td", "th"} & set(self._open):
            self.cells[-1][-1] += data
        self.texts.append(data)

    @property
    def text(self) -> str:
        """All that is shown, with single blanks."""
        return " ".join(" ".join(self.texts).split())

    @property
    def rows(self) -> list[list[str]]:
        """The rows of all tables, each cell with single blanks."""
        return [[" ".join(cell.split()) for cell in row] for row in self.cells]

    def values(self, name: str) -> list[str]:
        """Return the values of an attribute over all elements."""
        return [value for _, attributes in self.elements if (value := attributes.get(name)) is not None]
