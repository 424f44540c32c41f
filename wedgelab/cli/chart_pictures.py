"""What ``wedgelab chart`` draws: carry or spin over swing length, or where the balls came down."""

from typing import TYPE_CHECKING, Any, Final, Literal

from wedgelab.cli.app import PlayerLog
from wedgelab.shots import LIMITS, Shot

if TYPE_CHECKING:
    from wedgelab.chart import Chart
    from wedgelab.compare import Comparison
    from wedgelab.dispersion import WedgeDispersion
    from wedgelab.model.player import FittedPlayer
    from wedgelab.units import LengthUnit

Drawn = Literal["carry", "spin", "dispersion"]
DRAWN: Final[tuple[Drawn, ...]] = ("carry", "spin", "dispersion")


def draw_chart(log: PlayerLog, predictor: "FittedPlayer", chart: "Chart", what: Drawn) -> Any:
    """Return the picture that was asked for, a matplotlib Figure."""
    if what == "dispersion":
        from wedgelab.render.dispersion_figure import dispersion_figure

        return dispersion_figure(find_dispersions(log, predictor), log.unit, player=log.name)
    mishits = {shot.shot_id for shot, solid in zip(log.shots, predictor.solid, strict=True) if not solid}
    if what == "spin":
        from wedgelab.chart import spin_curves
        from wedgelab.render.spin_figure import spin_figure

        return spin_figure(chart, spin_curves(predictor, log.bag), log.shots, mishits)
    from wedgelab.chart import carry_curves
    from wedgelab.render.figure import chart_figure

    played = predictor if chart.day is None else predictor.on(chart.day)
    shots = brought(log, predictor)
    if chart.day is not None:
        shots = _on_the_day(shots, predictor, played)
    return chart_figure(chart, carry_curves(played, log.bag), shots, log.unit, mishits)


def draw_pair(comparison: "Comparison", unit: "LengthUnit") -> Any:
    """Return the picture of two players, a matplotlib Figure."""
    from wedgelab.render.compare_figure import comparison_figure

    return comparison_figure(comparison, unit)


def find_dispersions(log: PlayerLog, predictor: "FittedPlayer") -> "tuple[WedgeDispersion, ...]":
    """Return where the solid balls came down, their carries brought to the reference air as the chart's are."""
    from wedgelab.dispersion import dispersions

    solid = [shot for shot, is_solid in zip(brought(log, predictor), predictor.solid, strict=True) if is_solid]
    return dispersions(solid, log.bag)


def brought(log: PlayerLog, predictor: "FittedPlayer") -> list[Shot]:
    """Return the log with its carries brought to the reference air."""
    moved = predictor.carry_changes_m()
    return [_at(shot, shot.carry_m + metres) for shot, metres in zip(log.shots, moved, strict=True)]


def _on_the_day(shots: list[Shot], predictor: "FittedPlayer", played: "FittedPlayer") -> list[Shot]:
    """Return the balls as they would fly on the day: each changed as the median of its shot is.

    A ball of a shot that does not get up to the green then is left out.
    """
    from wedgelab.chart import LEAST_CARRY_M
    from wedgelab.prediction import ShotKind

    kinds = [ShotKind(s.wedge, s.loft_deg, s.swing_deg, s.trajectory, s.lie) for s in shots]
    different = list(dict.fromkeys(kinds))
    pairs = zip(different, predictor.predict(different), played.predict(different), strict=True)
    ratios = {kind: today.carry_m / usual.carry_m for kind, usual, today in pairs if today.carry_m > LEAST_CARRY_M}
    return [_at(shot, shot.carry_m * ratios[kind]) for shot, kind in zip(shots, kinds, strict=True) if kind in ratios]


def _at(shot: Shot, carry_m: float) -> Shot:
    low, high, *_ = LIMITS["carry_m"]
    return shot.replace(carry_m=min(max(carry_m, low), high))
