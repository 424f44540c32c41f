"""The picture of a plan, by what its Axes hold."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

from tests.fakes import TYPICAL_BAG
from tests.plan.quick import QuickPredictor
from wedgelab.plan.session import Limits, SessionPlan, plan_session
from wedgelab.plan.wanted import span, whole_chart
from wedgelab.render.figure import save_figure
from wedgelab.render.plan_figure import draw_plan, plan_figure
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import YARD_M

PREDICTOR = QuickPredictor()


def made(balls: int = 12) -> SessionPlan:
    return plan_session(PREDICTOR, whole_chart(TYPICAL_BAG), Limits(balls), player="Nell")


def test_every_shot_has_its_errors_and_its_balls() -> None:
    plan = made()
    rows = [*plan.shots, *plan.rest]
    ax = draw_plan(Figure().add_subplot(), plan, "yd")
    now, after = (line.get_xdata() for line in ax.lines[:2])
    np.testing.assert_allclose(np.asarray(now), [shot.se_now_m / YARD_M for shot in rows])
    np.testing.assert_allclose(np.asarray(after), [shot.se_after_m / YARD_M for shot in rows])
    assert [line.get_label() for line in ax.lines[:2]] == ["now", "after"]
    assert [label.get_text() for label in ax.get_yticklabels()] == [f"{s.wedge} {s.swing}" for s in rows]
    balls = [text.get_text() for text in ax.texts]
    assert balls == [("1 ball" if s.balls == 1 else f"{s.balls} balls") if s.balls else "-" for s in rows]
    top, bottom = sorted(ax.get_ylim(), reverse=True)
    assert top > len(rows) - 1 > bottom  # nothing hangs out
    assert ax.get_ylim()[0] > ax.get_ylim()[1]  # the first to hit stands on top


def test_the_line_is_there_only_where_something_stands_below_it() -> None:
    assert "below the line" in plan_figure(made(4), "m").axes[0].get_title(loc="left")
    full = plan_session(PREDICTOR, whole_chart(TYPICAL_BAG), Limits(100))
    assert not full.rest
    assert "below the line" not in plan_figure(full, "m").axes[0].get_title(loc="left")
    assert len(plan_figure(full, "m").axes[0].lines) == 2


def test_shots_that_do_not_matter_are_left_out() -> None:
    plan = plan_session(PREDICTOR, span(PREDICTOR, TYPICAL_BAG, 80.0, None, "m"), Limits(4, None, 0))
    shown = len(plan_figure(plan, "m").axes[0].get_yticklabels())
    assert shown == len(plan.shots) + sum(shot.weight > 0 for shot in plan.rest) < 9


@pytest.mark.parametrize("ending", ["png", "svg", "pdf"])
def test_hostile_names_are_drawn_as_they_are(tmp_path: Path, ending: str) -> None:
    bag = Bag((Wedge("$\\frac{1}$ <script>", 54.0), Wedge("x" * 32, 58.0)), (SwingLength("$half$", 90.0),))
    plan = plan_session(PREDICTOR, whole_chart(bag), Limits(4), player="$a$ <b>")
    path = tmp_path / f"plan.{ending}"
    save_figure(plan_figure(plan, "yd"), path)
    assert path.stat().st_size > 2000
