"""The evaluation's results as text."""

from collections.abc import Callable, Iterator
from typing import Any

from tests.bench.learning_parts import Json


def percent(value: Json, decimals: int = 1) -> str:
    """Write a mean with its standard error, in per cent."""
    mean = round(100.0 * value["mean"], decimals) + 0.0  # adding nothing turns -0.0 into 0.0
    se = "   ?" if value["se"] is None else f"{100.0 * value['se']:4.{decimals}f}"
    return f"{mean:6.{decimals}f} ±{se}"


def lines(name: str, result: Json) -> list[str]:
    """Return the lines of a part."""
    title, write = _WRITERS[name]
    head = f"{title}; {result['players']} players ({result['date']}, commit {result['commit']})"
    return [head, *(f"  {line}" for row, values in result["rows"].items() for line in write(row, values)), ""]


def _table(row: str, values: Json) -> Iterator[str]:
    yield f"{row} ball(s) a cell"
    for name, carry in values["carry"].items():
        yield f"  {name:26s} {percent(carry)}   {percent(values['spin'][name])}"
    for what in ("carry", "spin"):
        share, players = values[f"{what}_held"], values[f"{what}_players_held"]
        yield f"  {what}: 80 % ranges hold {100 * share:.1f} %; 70-90 % for {100 * players:.0f} % of the players"
    yield f"  fit {values['fit_ms']:.1f} ms, 16 predictions {values['predict_ms']:.2f} ms of processor (medians)"


def _nuts(row: str, values: Json) -> Iterator[str]:
    yield f"{row} ball(s) a cell"
    for name, carry in values["carry"].items():
        over = values["carry_nuts_over"].get(name)
        more = "" if over is None else f"   NUTS over it, carry: {percent(over)}"
        yield f"  {name:26s} {percent(carry)}   {percent(values['spin'][name])}{more}"
    yield (
        f"  sampling {values['seconds']:.1f} s (median), {values['divergences']} divergences, "
        f"largest R-hat {values['r_hat_max']:.3f}"
    )


def _unlogged(row: str, values: Json) -> Iterator[str]:
    holds = f"80 % ranges hold {100 * values['carry_held']:.1f} %, spin {100 * values['spin_held']:.1f} %"
    floor = values.get("carry_floor", {"mean": None})
    least = "" if floor["mean"] is None else f"; nobody could have less than {percent(floor)}"
    yield f"{row:24s} {percent(values['carry'])}   {percent(values['spin'])}   {holds}{least}"


def _spoilt(row: str, values: Json) -> Iterator[str]:
    yield f"{row} ball(s) a cell"
    for shown, kinds in values.items():
        yield f"  log with {shown}"
        for kind, of in kinds.items():
            times = "" if "ratio" not in of else f"   x {of['ratio']['mean']:.2f} ±{of['ratio']['se'] or 0.0:5.2f}"
            yield f"    {kind:10s} {percent(of['carry'])}{times}"


def _days(row: str, values: Json) -> Iterator[str]:
    se = values["carry_se_m"]
    yield (
        f"{row:26s} carry_se_m {se['mean']:.3f}; true long-run median within 1.28 of them "
        f"{percent(values['within_players'])} %, rms of error over standard error {values['rms_z']:.2f}"
    )


def _change(row: str, values: Json) -> Iterator[str]:
    yield row
    for way, models in values.items():
        if way == "log_change":
            continue
        for name, balls in models.items():
            for count, of in balls.items():
                yield f"  {way:22s} {name:14s} after {count}: {_moved(of, values['log_change'])}"


def _moved(of: Json, change: float) -> str:
    """Write the shift of the chart as a share of the change, if there is one, and the excess."""
    unit = change or 1.0
    shift = {"mean": of["shift"]["mean"] / unit, "se": (of["shift"]["se"] or 0.0) / abs(unit)}
    what = "of the change followed" if change else "log shift"
    return f"{percent(shift)} % {what}, excess of carry {percent(of['excess'])}"


_WRITERS: dict[str, tuple[str, Callable[[str, Any], Iterator[str]]]] = {
    "table": ("excess CRPS over the oracle's, %: carry, then spin", _table),
    "nuts": ("excess CRPS of the sampled peer on the first players of each row, %: carry, then spin", _nuts),
    "unlogged": ("excess CRPS where nothing was logged, %: carry, spin; 3 balls in every other cell", _unlogged),
    "newcomer": ("a newcomer, one ball a cell, and the logs of others: excess CRPS, %: carry, spin", _unlogged),
    "spoilt": ("a tenth of the carries spoilt: excess CRPS of carry, %, and times that of the log as it was", _spoilt),
    "days": ("the chart's standard error", _days),
    "change": ("a golfer who changes after 160 balls: the chart after 12 and 24 more", _change),
}
