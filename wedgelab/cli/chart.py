"""``wedgelab chart``: the player's distance chart."""

from typing import TYPE_CHECKING, Any

import click

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.chart_pictures import DRAWN, Drawn, draw_chart, draw_pair, find_dispersions
from wedgelab.cli.conditions import check_words, day_options, read_day
from wedgelab.cli.fitting import air_note, fit_log
from wedgelab.cli.options import alone_option, green_option, json_option, shots_options
from wedgelab.cli.pair import check_pair, fit_pair, pair_notes, read_pair
from wedgelab.cli.pictures import FORMATS, picture_options, read_pictures, save_pictures
from wedgelab.errors import BadRequestError, TooFewShotsError

if TYPE_CHECKING:
    from pathlib import Path

    from wedgelab.chart import Chart
    from wedgelab.model.player import FittedPlayer


@click.command(epilog="Example: wedgelab chart --png chart.png")
@shots_options
@json_option
@click.option("--more", is_flag=True, help="Also landing angle, apex and run-out of each shot.")
@click.option("--why", "with_why", is_flag=True, help="Also what the log taught, and which balls count for little.")
@click.option("--dispersion", is_flag=True, help="Also where the balls came down, left and right of the target.")
@green_option
@day_options
@alone_option
@click.option("--csv", "as_csv", is_flag=True, help="The cells as CSV on stdout.")
@picture_options("the chart")
@click.option("--draw", type=click.Choice(DRAWN), help="What is drawn; usually carry over swing length.")
@click.option("--compare", "names", nargs=2, metavar="NAME NAME", help="Two players side by side, and what differs.")
@click.pass_obj
def command(
    app: App,
    /,
    shots_file: str | None,
    maps: tuple[str, ...],
    as_json: bool,
    as_csv: bool,
    draw: Drawn | None,
    more: bool,
    with_why: bool,
    dispersion: bool,
    green: str | None,
    rise: str | None,
    names: tuple[str, str] | None,
    **given: Any,
) -> None:
    """Chart carry with its likely range, spin and ball counts by wedge and swing length.

    With --temp, --altitude, --wind and so on the day's carries stand beside those of the chart. With --compare
    two players are held against each other, both in the first one's reference air or in that day's.
    """
    pictures = read_pictures({name: given.pop(name) for name in FORMATS})
    what: Drawn = draw or ("dispersion" if dispersion else "carry")
    beside_csv = {"--json": as_json, "--why": with_why, "--dispersion": dispersion}
    _check(beside_csv, as_csv=as_csv, draw=draw, has_picture=bool(pictures))
    check_words(given)
    if names is not None:
        beside = {
            "--csv": as_csv, "--why": with_why, "--more": more, "--green": green is not None,
            "--draw": draw is not None, "--dispersion": dispersion,
            "--shots": shots_file is not None, "--map": bool(maps),
        }  # fmt: skip
        check_pair(app, names, [option for option, is_there in beside.items() if is_there])
        _compare(app, names, rise, given, as_json=as_json, pictures=pictures)
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
        _json(app, chart, log, predictor, with_why=with_why, dispersion=dispersion)
    elif as_csv:
        from wedgelab.render.csvtext import chart_csv

        app.out_utf8(chart_csv(chart))
    else:
        from wedgelab.render.text import chart_text

        app.out(chart_text(chart, log.unit))
        if with_why:
            app.out(f"\n{_why_text(log, predictor, is_file=shots_file is not None)}")
        if dispersion:
            app.out(f"\n{_dispersion_text(app, log, predictor)}")
    save_pictures(app, pictures, lambda: draw_chart(log, predictor, chart, what))


def _compare(
    app: App,
    names: tuple[str, str],
    rise: str | None,
    given: dict[str, Any],
    *,
    as_json: bool,
    pictures: "list[Path]",
) -> None:
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
    else:
        app.out(comparison_text(comparison, first.unit))
        for note in notes:
            app.out(wrap(note))
    save_pictures(app, pictures, lambda: draw_pair(comparison, first.unit))


def _check(others: dict[str, bool], *, as_csv: bool, draw: str | None, has_picture: bool) -> None:
    clash = next((option for option, is_there in others.items() if is_there), None)
    if as_csv and clash is not None:
        raise BadRequestError(f"{clash} and --csv together", "take one of them")
    if draw is not None and not has_picture:
        raise BadRequestError(f"--draw {draw} without a picture", "give --png FILE too")


def _json(
    app: App, chart: "Chart", log: PlayerLog, predictor: "FittedPlayer", *, with_why: bool, dispersion: bool
) -> None:
    from wedgelab.render.dispersion_text import dispersion_facts
    from wedgelab.render.json import chart_document

    why = _why_facts(log, predictor) if with_why else None
    came_down = None
    if dispersion:
        came_down = dispersion_facts(find_dispersions(log, predictor), mishits=_count_mishits(predictor))
    app.out(chart_document(chart, why, came_down))


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


def _dispersion_text(app: App, log: PlayerLog, predictor: "FittedPlayer") -> str:
    from wedgelab.render.dispersion_text import dispersion_text

    return dispersion_text(
        find_dispersions(log, predictor),
        log.unit,
        reference=log.reference,
        mishits=_count_mishits(predictor),
        ascii_only=not app.draws_signs,
    )


def _count_mishits(predictor: "FittedPlayer") -> int:
    return sum(not solid for solid in predictor.solid)
