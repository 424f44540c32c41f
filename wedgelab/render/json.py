"""JSON documents: one a command, keys as in docs/names.md, SI, with a schema number; valid when empty."""

import dataclasses
import json
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from wedgelab.chart import Chart, ChartCell
from wedgelab.choose import Option
from wedgelab.drill.machine import DrillState, Played
from wedgelab.drill.scores import DrillSummary, errors_in_turn
from wedgelab.prediction import Day
from wedgelab.shots import Shot

if TYPE_CHECKING:
    from wedgelab.fitreport import Distrusted, FitReport, MoveLearnt

SCHEMA: Final = 1
_WHICH_SHOT: Final = ("shot_id", "session", "hit_at", "wedge", "loft_deg", "swing", "swing_deg")
_WHICH_SESSION: Final = ("session", "hit_at")
_PLAN_WORDS: Final = (
    "seed", "calls_m", "low_m", "high_m", "order", "focus", "window", "hold", "scale", "feedback", "block",
    "guess_first", "advice", "test_of",
)  # fmt: skip


def document(kind: str, **content: Any) -> str:
    """Return one JSON document; numbers are rounded to what they can mean (six decimals)."""
    body = {"schema": SCHEMA, "kind": kind, **content}
    return json.dumps(plain(body), ensure_ascii=False, indent=2, allow_nan=False)


def plain(value: Any) -> Any:
    """Turn dataclasses, tuples and floats into what JSON holds."""
    if isinstance(value, (ChartCell, Option)):
        return plain(flat(value))
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return round(value, 6)
    return value


def flat(record: ChartCell | Option) -> dict[str, Any]:
    """Return a cell or an option with what it says of the day and of the flight beside its own values."""
    own = {field.name: getattr(record, field.name) for field in dataclasses.fields(record)}
    today, flight = own.pop("today"), own.pop("flight")
    for part in (today, flight):
        if part is not None:
            own |= {field.name: _known(getattr(part, field.name)) for field in dataclasses.fields(part)}
    own.pop("drift_m", None)  # stands as drift_today_m where a cross wind was asked for
    return own


def _known(value: Any) -> Any:
    """Return None for the NaN of a flight that never comes down on the green."""
    return None if isinstance(value, float) and math.isnan(value) else value


def chart_document(
    chart: Chart | None, why: dict[str, Any] | None = None, dispersion: dict[str, Any] | None = None
) -> str:
    """Return the chart, with `why_facts` and the dispersion if they were asked for; without one an empty document."""
    if chart is None:
        return document(
            "chart", player="", n_shots=0, n_sessions=0, cells=[], gaps=[], next=None,
            reference=None, day=None, air_note=None, green=None, why=None, dispersion=None,
        )  # fmt: skip
    return document(
        "chart",
        player=chart.player,
        n_shots=chart.n_shots,
        n_sessions=chart.n_sessions,
        cells=chart.cells,
        gaps=[gap for row in chart.gaps for gap in row],
        next=chart.next,
        reference=chart.reference,
        day=day_facts(chart.day),
        air_note=chart.air_note,
        green=chart.green,
        why=why,
        dispersion=dispersion,
    )


def why_facts(report: "FitReport", shots: Sequence[Shot]) -> dict[str, Any]:
    """Return what the model made of the log; balls and sessions with what tells which ones of the log they are."""
    facts: dict[str, Any] = plain(report)
    facts["distrusted"] = [_found(ball, shots, _WHICH_SHOT) for ball in report.distrusted]
    facts["moves"] = [_found(move, shots, _WHICH_SESSION) for move in report.moves]
    return facts


def _found(one: "Distrusted | MoveLearnt", shots: Sequence[Shot], names: Sequence[str]) -> dict[str, Any]:
    """Put what the log says of the shot in the place of its index."""
    facts = {name: getattr(shots[one.index], name) for name in names}
    return {**facts, **{name: value for name, value in plain(one).items() if name != "index"}}


def shots_document(shots: Sequence[Shot], mishit_probabilities: Sequence[float | None]) -> str:
    """Return shots, each with the chance that it was a mishit (null where no model could be fitted)."""
    pairs = zip(shots, mishit_probabilities, strict=True)
    return list_document("shots", "shots", [{**plain(shot), "mishit_probability": chance} for shot, chance in pairs])


def day_facts(day: Day | None) -> dict[str, Any] | None:
    """Return the day that was asked for on one level, None without one."""
    return None if day is None else {**plain(day.conditions), "rise_m": plain(day.rise_m)}


def drill_document(drill_id: str, state: DrillState, summary: DrillSummary | None) -> str:
    """Return a drill: its plan, its balls and its summary (null before the first ball)."""
    return document(
        "drill",
        drill_id=drill_id,
        **{name: getattr(state.plan, name) for name in _PLAN_WORDS},
        planned_shots=[
            {"wedge": wedge.label, "loft_deg": wedge.loft_deg, "swing": swing.label, "swing_deg": swing.swing_deg}
            for wedge, swing in state.plan.shots
        ],
        is_over=state.is_over,
        balls=[_drill_ball(ball) for ball in state.played],
        error_blocks=errors_in_turn(state.played),
        summary=summary,
    )


def _drill_ball(played: Played) -> dict[str, Any]:
    """Return a ball with its call and what became of it, all on one level."""
    return {
        "call_no": played.call_no,
        "call_m": played.call_m,
        "target_m": played.call_m,
        "window_m": played.window_m,
        "guess_m": played.guess_m,
        **{field.name: getattr(played.ball, field.name) for field in dataclasses.fields(played.ball)},
        "miss_m": played.miss_m,
        "inside": played.is_inside,
    }


def list_document(kind: str, name: str, rows: Sequence[Any]) -> str:
    """Return a list under its name."""
    return document(kind, **{name: list(rows)})
