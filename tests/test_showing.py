"""How answers show themselves: tables in a notebook with the numbers of the terminal, rows as a DataFrame."""

import dataclasses
import importlib
import pkgutil
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from typing import Any

import numpy as np
import pandas as pd
import pytest

import wedgelab
from tests.drill.drilled import state_of, summary_of
from tests.fakes import TYPICAL_BAG, FakePredictor, as_predictor
from wedgelab import frames, showing
from wedgelab.chart import Chart, build_chart
from wedgelab.choose import Choice, choose, find_flights
from wedgelab.choose.flights import Flights
from wedgelab.drill.machine import DrillPlan
from wedgelab.drill.scores import DrillSummary
from wedgelab.errors import BadRequestError
from wedgelab.gaps.report import GapReport, build_gaps
from wedgelab.plan.session import Limits, SessionPlan, plan_session
from wedgelab.plan.wanted import whole_chart
from wedgelab.prediction import Day, Support
from wedgelab.render import html
from wedgelab.render.choice_text import choice_text
from wedgelab.render.drill_text import drill_text
from wedgelab.render.flights_text import flights_text
from wedgelab.render.gaps_text import gaps_text
from wedgelab.render.plan_text import plan_text
from wedgelab.render.text import chart_text
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.showing import Shown, show_in, shown_in
from wedgelab.units import LengthUnit
from wedgelab.window import DEFAULT_WINDOW, WindowRule

PLAYER = as_predictor(FakePredictor())
PURE = tuple(
    f"wedgelab.{name}" for name in ("chart", "choose", "gaps", "plan", "drill", "compare", "dispersion", "learned")
)
HEAVY = ("pandas", "matplotlib", "jinja2", "scipy", "sklearn")


def chart(bag: Bag = TYPICAL_BAG, **more: Any) -> Chart:
    return build_chart(PLAYER, bag, player="Nell", **more)


def choice(bag: Bag = TYPICAL_BAG) -> Choice:
    return choose(PLAYER, bag, 62.0, window=DEFAULT_WINDOW, want="spin")


def flights(bag: Bag = TYPICAL_BAG) -> Flights:
    return find_flights(PLAYER, bag, 62.0, window=DEFAULT_WINDOW)


def gaps(bag: Bag = TYPICAL_BAG) -> GapReport:
    return build_gaps(PLAYER, bag, window=DEFAULT_WINDOW, rng=np.random.default_rng(1), player="Nell")


def drill() -> DrillSummary:
    rows = [(50.0 + i, 50.0 + i, 50.0 + i + (-1) ** i * (i % 5)) for i in range(24)]
    return summary_of(state_of(rows, advice_shown=[i % 3 > 0 for i in range(24)]))


def session(bag: Bag = TYPICAL_BAG) -> SessionPlan:
    return plan_session(PLAYER, whole_chart(bag), Limits(balls=12), player="Nell")


ANSWERS: dict[str, Callable[[], Shown]] = {
    "chart": chart,
    "choice": choice,
    "flights": flights,
    "gaps": gaps,
    "drill": drill,
    "session": session,
}


class Tables(HTMLParser):
    """The tables of a page as rows of cells, and every tag that was met."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.tags: set[str] = set()
        self._in_cell = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del attrs
        self.tags.add(tag)
        if tag == "tr":
            self.rows.append([])
        self._in_cell = tag in {"td", "th"}
        if self._in_cell:
            self.rows[-1].append("")

    def handle_data(self, data: str) -> None:
        if self._in_cell:
            self.rows[-1][-1] += data

    def handle_endtag(self, tag: str) -> None:
        del tag
        self._in_cell = False


def html_of(answer: Shown) -> str:
    return answer._repr_html_()


@pytest.fixture(autouse=True)
def _in_yards() -> Iterator[None]:
    yield
    show_in("yd")


def text_of(answer: Shown, unit: LengthUnit) -> str:
    if isinstance(answer, Chart):
        return chart_text(answer, unit)
    if isinstance(answer, Choice):
        return choice_text(answer, unit, DEFAULT_WINDOW)
    if isinstance(answer, Flights):
        return flights_text(answer, unit, DEFAULT_WINDOW)
    if isinstance(answer, GapReport):
        return gaps_text(answer, unit)
    if isinstance(answer, SessionPlan):
        return plan_text(answer, unit)
    assert isinstance(answer, DrillSummary)
    return drill_text(answer, unit, DrillPlan((50.0,), 50.0, 50.0, 1, WindowRule(fixed_m=3.0)))


def numbers(text: str) -> list[str]:
    return re.findall(r"\d+(?:\.\d+)?", text)


@pytest.mark.parametrize("unit", ["yd", "m"])
@pytest.mark.parametrize("name", sorted(ANSWERS))
def test_every_number_of_the_tables_reads_as_in_the_terminal(name: str, unit: LengthUnit) -> None:
    answer = ANSWERS[name]()
    show_in(unit)
    rows = Tables(html_of(answer)).rows
    said = set(numbers(text_of(answer, unit)))
    # the flights are told in the terminal without the carry, which is the target, and the choice without the apex
    left_out = {
        column
        for column, title in enumerate(rows[0])
        if (name, title.split(" ")[0]) in {("flights", "carry"), ("choice", "apex")}
    }
    found = [n for row in rows[1:] for i, cell in enumerate(row) if i not in left_out for n in numbers(cell)]
    assert len(found) > 8
    assert set(found) <= said, set(found) - said


@pytest.mark.parametrize("name", sorted(ANSWERS))
def test_the_tables_are_whole(name: str) -> None:
    tables = Tables(html_of(ANSWERS[name]()))
    assert len({len(row) for row in tables.rows}) <= 2  # the chart has a second table, of gaps
    assert tables.tags == {"table", "thead", "tbody", "tr", "th", "td", "p"}


def test_a_chart_of_a_day_shows_that_day() -> None:
    answer = chart(day=Day(Conditions(wind_mps=-5.0)), green="firm")
    page = html_of(answer)
    whats = [row[1] for row in Tables(page).rows]
    assert {"today yd", "lands deg", "runs yd"} <= set(whats)
    assert "head wind 5 m/s" in page


def test_only_signs_that_stand_in_the_table_are_explained() -> None:
    answer = choice()
    assert answer.options

    def told(support: Support) -> str:
        options = tuple(dataclasses.replace(one, support=support, spin_support="measured") for one in answer.options)
        return html_of(dataclasses.replace(answer, options=options))

    assert "~ between" not in told("measured")
    assert ("~ between" in told("between"), "? beyond" in told("between")) == (True, False)
    assert ("~ between" in told("beyond"), "? beyond" in told("beyond")) == (False, True)
    assert all("none was logged there" not in told(support) for support in ("measured", "between", "beyond"))


def test_yards_are_shown_until_metres_are_asked_for() -> None:
    assert shown_in() == "yd"
    assert "carry yd" in html_of(chart())
    show_in("m")
    assert "carry m" in html_of(chart())
    with pytest.raises(BadRequestError, match="the unit 'feet' is not known; say yd or m"):
        show_in("feet")  # type: ignore[arg-type]  # what a user may type
    assert shown_in() == "m"


@pytest.mark.parametrize("label", ["<script>alert(1)</script>", "a&b", '"><img src=x onerror=y>', "{{ 7*7 }}", "楔"])
def test_hostile_labels_are_text(label: str) -> None:
    bag = Bag((Wedge(label, 54.0), Wedge("58", 58.0)), (SwingLength(label, 60.0), SwingLength("9:00", 90.0)))
    makers: tuple[Callable[[Bag], Shown], ...] = (chart, choice, flights, gaps, session)
    for make in makers:
        page = html_of(make(bag))
        tables = Tables(page)
        assert not tables.tags & {"script", "img"}
        assert any(label in cell for row in tables.rows for cell in row), make
        assert "49" not in [cell for row in tables.rows for cell in row if "{{" in cell]


@pytest.mark.parametrize("name", sorted(ANSWERS))
def test_the_mixin_keeps_the_answers_slim_and_frozen(name: str) -> None:
    answer = ANSWERS[name]()
    assert isinstance(answer, Shown)
    assert not hasattr(answer, "__dict__")
    with pytest.raises(dataclasses.FrozenInstanceError):
        setattr(answer, dataclasses.fields(answer)[0].name, None)  # type: ignore[arg-type]  # each is a dataclass


def test_a_charts_frame_has_a_row_a_cell_in_si_whatever_is_shown() -> None:
    answer = chart()
    show_in("m")
    frame = answer.to_frame()
    assert len(frame) == len(answer.cells) == 9
    for name in ("wedge", "loft_deg", "swing", "swing_deg", "carry_m", "carry_p90_m", "spin_rpm", "n_shots", "support"):
        assert list(frame[name]) == [getattr(cell, name) for cell in answer.cells]
    assert not {"today", "flight", "carry_today_m", "land_deg"} & set(frame.columns)


def test_a_days_carries_and_the_flight_are_columns_of_their_own() -> None:
    frame = chart(day=Day(Conditions(wind_mps=-5.0)), green="firm").to_frame()
    assert {"carry_today_m", "carry_today_p10_m", "drift_today_m", "land_deg", "run_out_m"} <= set(frame.columns)
    assert not {"today", "flight", "drift_m"} & set(frame.columns)


def test_the_frames_of_choice_and_flights_have_a_row_an_option() -> None:
    for options, frame in ((choice().options, choice().to_frame()), (flights().flights, flights().to_frame())):
        assert list(frame.window_probability) == [option.window_probability for option in options]
        assert list(frame.apex_m) == [option.flight.apex_m for option in options]


def test_the_frame_of_gaps_has_a_stock_shot_a_row_with_its_gap_to_the_next() -> None:
    answer = gaps()
    frame = answer.to_frame()
    assert list(frame.carry_m) == [shot.carry_m for shot in answer.shots]
    assert list(frame.own_sd_m) == list(answer.own_sd_m)
    assert list(frame.gap_m)[:-1] == [gap.gap_m for gap in answer.gaps]
    assert pd.isna(frame.gap_m.iloc[-1])
    assert frame.carry_m.diff().iloc[1:].tolist() == pytest.approx(frame.gap_m.iloc[:-1].tolist())


def test_the_frame_of_a_drill_has_a_group_a_row() -> None:
    answer = drill()
    frame = answer.to_frame()
    assert list(frame.part.unique()) == ["total", "bands", "wedges", "advice"]
    assert list(frame[frame.part == "bands"].e_m) == [band.e_m for band in answer.bands]
    assert frame[frame.part == "total"].n.item() == 24


def test_the_frame_of_a_plan_has_the_shots_to_hit_first() -> None:
    answer = session()
    frame = answer.to_frame()
    assert list(frame.balls) == [shot.balls for shot in (*answer.shots, *answer.rest)]
    assert list(frame.carry_se_after_m) == [shot.se_after_m for shot in (*answer.shots, *answer.rest)]
    assert frame.balls.sum() == answer.balls


def test_the_pure_modules_load_nothing_that_shows() -> None:
    code = (
        "import sys; import wedgelab.chart, wedgelab.choose, wedgelab.gaps.report, wedgelab.drill.scores\n"
        "import wedgelab.plan.session, wedgelab.dispersion\n"
        f"print([n for n in (*{HEAVY!r}, 'wedgelab.frames', 'wedgelab.render') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_every_answer_that_shows_itself_is_known_to_html_and_frames() -> None:
    for module in pkgutil.walk_packages(wedgelab.__path__, "wedgelab."):
        if module.name.startswith(PURE):
            importlib.import_module(module.name)

    def below(kind: type[Shown]) -> set[type[Shown]]:
        return {kind}.union(*(below(sub) for sub in kind.__subclasses__()))

    answers = {kind.__name__ for kind in below(Shown) - {Shown} if kind.__module__.startswith("wedgelab.")}
    assert len(answers) >= 6
    assert set(html._DRAWN_BY) == set(frames._ROWS_OF) == answers
    assert {type(make()).__name__ for make in ANSWERS.values()} == answers


def test_an_answer_without_a_drawing_is_our_bug_and_not_an_empty_page() -> None:
    class Unknown(Shown):
        __slots__ = ()

    for show in (Unknown()._repr_html_, Unknown().to_frame):
        with pytest.raises(KeyError):
            show()
    assert showing.Shown.__slots__ == ()
