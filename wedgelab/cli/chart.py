"""``wedgelab chart``: the player's distance chart."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.conditions import check_words, day_options, read_day
from wedgelab.cli.fitting import air_note, fit_log
from wedgelab.cli.options import alone_option, green_option, json_option, shots_options
from wedgelab.cli.pair import check_pair, fit_pair, pair_notes, read_pair
from wedgelab.errors import BadRequestError, TooFewShotsError
from wedgelab.shots import LIMITS

if TYPE_CHECKING:
    from wedgelab.chart import Chart
    from wedgelab.model.player import FittedPlayer


@click.command(epilog="Example: wedgelab chart --png chart.png")
@shots_options
@json_option
@click.option("--more", is_flag=True, help="Also landing angle, apex and run-out of each shot.")
@click.option("--why", "with_why", is_flag=True, help="Also what the log taught, and which balls count for little.")
@green_option
@day_options
@alone_option
@click.option("--csv", "as_csv", is_flag=True, help="The cells as CSV on stdout.")
@click.option("--png", metavar="FILE", type=click.Path(path_type=Path), help="Draw carry over swing length into FILE.")
@click.option("--compare", "names", nargs=2, metavar="NAME NAME", help="Two players side by side, and what differs.")
@click.pass_obj
def command(
    app: App,
    /,
    shots_file: str | None,
    maps: tuple[str, ...],
    as_json: bool,
    as_csv: bool,
    png: Path | None,
    more: bool,
    with_why: bool,
    green: str | None,
    rise: str | None,
    names: tuple[str, str] | None,
    **given: Any,
) -> None:
    """Chart carry with its likely range, spin and ball counts by wedge and swing length.

    With --temp, --altitude, --wind and so on the day's carries stand beside those of the chart. With --compare
    two players are held against each other, both in the first one's reference air or in that day's.
    """
    _check(as_json=as_json, as_csv=as_csv, with_why=with_why, png=png)
    check_words(given)
    if names is not None:
        beside = {
            "--csv": as_csv, "--why": with_why, "--more": more, "--green": green is not None,
            "--png": png is not None, "--shots": shots_file is not None, "--map": bool(maps),
        }  # fmt: skip
        check_pair(app, names, [option for option, is_there in beside.items() if is_there])
        _compare(app, names, rise, given, as_json=as_json)
        return
    from wedgelab.chart import build_chart

    log = app.read(shots_file, maps, with_others=True)
    day = read_day(given, rise, log.reference, log.unit)
    try:
        predictor = fit_log(log)
    except TooFewShotsError:
        _show_nothing(app, as_json=as_json, as_csv=as_csv)
        raise
    chart = build_chart(
        predictor,
        log.bag,
        player=log.name,
        reference=log.reference,
        day=day,
        air_note=air_note(log, predictor),
        green=(green or "normal") if more or green else None,
    )
    if as_json:
        from wedgelab.render.json import chart_document

        app.out(chart_document(chart, _why_facts(log, predictor) if with_why else None))
    elif as_csv:
        from wedgelab.render.csvtext import chart_csv

        app.out_utf8(chart_csv(chart))
    else:
        from wedgelab.render.text import chart_text

        app.out(chart_text(chart, log.unit))
        if with_why:
            app.out(f"\n{_why_text(log, predictor, is_file=shots_file is not None)}")
    if png is not None:
        if day is not None:
            app.say("the picture is of the reference conditions, not of today's")
        _draw(log, predictor, chart, png)
        app.say(f"drawn into {png}")


def _compare(app: App, names: tuple[str, str], rise: str | None, given: dict[str, Any], *, as_json: bool) -> None:
    from wedgelab.compare import compare_charts
    from wedgelab.render.compare_text import comparison_document, comparison_text
    from wedgelab.render.layout import wrap

    first, second = read_pair(app, names)
    day = read_day(given, rise, first.reference, first.unit)
    try:
        sides = fit_pair(first, second, day)
    except TooFewShotsError:
        if as_json:
            app.out(comparison_document(None, []))
        raise
    comparison = compare_charts(*sides, reference=first.reference, day=day)
    notes = pair_notes(first, second)
    if as_json:
        app.out(comparison_document(comparison, notes))
        return
    app.out(comparison_text(comparison, first.unit))
    for note in notes:
        app.out(wrap(note))


def _check(*, as_json: bool, as_csv: bool, with_why: bool, png: Path | None) -> None:
    if as_csv and (as_json or with_why):
        raise BadRequestError(f"{'--json' if as_json else '--why'} and --csv together", "take one of them")
    if png is not None and png.suffix.lower() != ".png":
        raise BadRequestError(f"--png {png} does not end in .png", "name a .png file")


def _show_nothing(app: App, *, as_json: bool, as_csv: bool) -> None:
    """Write what is valid without any shot."""
    if as_json:
        from wedgelab.render.json import chart_document

        app.out(chart_document(None))
    elif as_csv:
        from wedgelab.render.csvtext import chart_csv

        app.out_utf8(chart_csv(None))


def _why_facts(log: PlayerLog, predictor: "FittedPlayer") -> dict[str, Any]:
    from wedgelab.model.explain import explain
    from wedgelab.render.json import why_facts

    return why_facts(explain(predictor, log.bag), log.shots)


def _why_text(log: PlayerLog, predictor: "FittedPlayer", *, is_file: bool) -> str:
    from wedgelab.model.explain import explain
    from wedgelab.render.why import why_text

    return why_text(explain(predictor, log.bag), log.shots, log.unit, is_file=is_file)


def _draw(log: PlayerLog, predictor: "FittedPlayer", chart: "Chart", png: Path) -> None:
    from wedgelab.chart import carry_curves
    from wedgelab.render.figure import chart_figure, save_figure

    moved = predictor.carry_changes_m()
    shots = [
        shot.replace(carry_m=min(max(shot.carry_m + metres, LIMITS["carry_m"][0]), LIMITS["carry_m"][1]))
        for shot, metres in zip(log.shots, moved, strict=True)
    ]
    mishits = {shot.shot_id for shot, solid in zip(log.shots, predictor.solid, strict=True) if not solid}
    save_figure(chart_figure(chart, carry_curves(predictor, log.bag), shots, log.unit, mishits), png)
