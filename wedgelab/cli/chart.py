"""``wedgelab chart``: the player's distance chart."""

from pathlib import Path
from typing import Any

import click

from wedgelab.cli.app import App
from wedgelab.cli.conditions import check_words, day_options, read_day
from wedgelab.cli.fitting import air_note, fit_log
from wedgelab.cli.options import green_option, json_option, shots_options
from wedgelab.errors import BadRequestError, TooFewShotsError
from wedgelab.shots import LIMITS


@click.command(epilog="Example: wedgelab chart --png chart.png")
@shots_options
@json_option
@click.option("--more", is_flag=True, help="Also landing angle, apex and run-out of each shot.")
@green_option
@day_options
@click.option("--csv", "as_csv", is_flag=True, help="The cells as CSV on stdout.")
@click.option("--png", metavar="FILE", type=click.Path(path_type=Path), help="Draw carry over swing length into FILE.")
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
    green: str | None,
    rise: str | None,
    **given: Any,
) -> None:
    """Chart carry with its likely range, spin and ball counts by wedge and swing length.

    With --temp, --altitude, --wind and so on the day's carries stand beside those of the chart.
    """
    if as_json and as_csv:
        raise BadRequestError("--json and --csv together", "take one of them")
    if png is not None and png.suffix.lower() != ".png":
        raise BadRequestError(f"--png {png} does not end in .png", "name a .png file")
    from wedgelab.chart import build_chart
    from wedgelab.render.csvtext import chart_csv
    from wedgelab.render.json import chart_document
    from wedgelab.render.text import chart_text

    check_words(given)
    log = app.read(shots_file, maps)
    day = read_day(given, rise, log.reference, log.unit)
    try:
        predictor = fit_log(log)
    except TooFewShotsError:
        if as_json:
            app.out(chart_document(None))
        elif as_csv:
            app.out_utf8(chart_csv(None))
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
        app.out(chart_document(chart))
    elif as_csv:
        app.out_utf8(chart_csv(chart))
    else:
        app.out(chart_text(chart, log.unit))
    if png is not None:
        from wedgelab.chart import carry_curves
        from wedgelab.render.figure import chart_figure, save_figure

        if day is not None:
            app.say("the picture is of the reference conditions, not of today's")
        moved = predictor.carry_changes_m()
        shots = [
            shot.replace(carry_m=min(max(shot.carry_m + metres, LIMITS["carry_m"][0]), LIMITS["carry_m"][1]))
            for shot, metres in zip(log.shots, moved, strict=True)
        ]
        mishits = {shot.shot_id for shot, solid in zip(log.shots, predictor.solid, strict=True) if not solid}
        save_figure(chart_figure(chart, carry_curves(predictor, log.bag), shots, log.unit, mishits), png)
        app.say(f"drawn into {png}")
