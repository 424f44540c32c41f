"""A player's drills one after the other: the errors of each, and what the chart expected of its balls at the time."""

from collections.abc import Iterable
from dataclasses import dataclass

from wedgelab.drill.machine import DrillState
from wedgelab.drill.scores import summarise


@dataclass(frozen=True, slots=True)
class DrillPoint:
    """One drill as a point of its history; the names are those of `scores.MissSummary` and `against.ErrorRatio`.

    ``is_held``: the window widened and narrowed to hold a share, so that ``share`` says nothing of the player;
    ``is_test``: the calls of an earlier drill again; ``n_left`` calls were never answered. The ratio is None without a
    chart and under five balls.
    """

    began_at: str
    n: int
    ce_m: float
    ve_m: float
    e_m: float
    inside: int
    share: float
    share_low: float
    share_high: float
    expected_e_m: float | None
    expected_share: float | None
    e_ratio: float | None
    e_ratio_low: float | None
    e_ratio_high: float | None
    is_held: bool
    is_test: bool
    n_left: int


def drill_history(drills: Iterable[tuple[str, DrillState]]) -> tuple[DrillPoint, ...]:
    """Return a point for each drill with a ball, oldest first as they are given; each comes with when it began."""
    points = []
    for began_at, state in drills:
        summary = summarise(state, lambda _low, _high: "")
        if summary is None:
            continue
        total, ratio = summary.total, summary.ratio
        points.append(
            DrillPoint(
                began_at=began_at,
                n=total.n,
                ce_m=total.ce_m,
                ve_m=total.ve_m,
                e_m=total.e_m,
                inside=total.inside,
                share=total.share,
                share_low=total.share_low,
                share_high=total.share_high,
                expected_e_m=total.expected_e_m,
                expected_share=total.expected_share,
                e_ratio=None if ratio is None else ratio.e_ratio,
                e_ratio_low=None if ratio is None else ratio.e_ratio_low,
                e_ratio_high=None if ratio is None else ratio.e_ratio_high,
                is_held=state.plan.hold is not None,
                is_test=bool(state.plan.test_of),
                n_left=summary.left,
            )
        )
    return tuple(points)
