"""``wedgelab choose``: which wedge and swing for a distance."""

from typing import Any

import click

from wedgelab.cli.app import App
from wedgelab.cli.conditions import check_words, day_options, read_day
from wedgelab.cli.fitting import fit_log
from wedgelab.cli.options import (
    NUMBERS_MAY_BE_NEGATIVE,
    alone_option,
    green_option,
    json_option,
    refuse_unknown_options,
    shots_options,
    window_option,
)
from wedgelab.errors import NothingFitsError, TooFewShotsError
from wedgelab.terminal.lines import read_carry


@click.command(context_settings=NUMBERS_MAY_BE_NEGATIVE, epilog="Example: wedgelab choose 70yd --want spin")
@click.argument("target")
@click.option(
    "--want",
    type=click.Choice(["window", "spin", "low-spin"]),
    default="window",
    show_default=True,
    help="Best chance inside the window, or high or low spin among the good chances.",
)
@window_option
@green_option
@day_options
@alone_option
@shots_options
@json_option
@click.pass_obj
def command(
    app: App,
    /,
    target: str,
    want: str,
    window: str | None,
    shots_file: str | None,
    maps: tuple[str, ...],
    as_json: bool,
    green: str | None,
    rise: str | None,
    **given: Any,
) -> None:
    """Rank wedge and swing for a TARGET carry such as 70, 70yd or 64m, with chances and a verdict.

    With --temp, --altitude, --wind, --rise and so on it is today's carry that has to fit.
    """
    from wedgelab.choose import WANTS, choose
    from wedgelab.render.json import choice_document
    from wedgelab.render.text import choice_text, verdict

    refuse_unknown_options(target)
    check_words(given)
    log = app.read(shots_file, maps, with_others=True)
    day = read_day(given, rise, log.reference, log.unit)
    target_m = read_carry(target, log.unit, "target_m")
    rule = log.window_rule(window)
    wanted = next(word for word in WANTS if word == want)
    try:
        choice = choose(
            fit_log(log), log.bag, target_m, window=rule, want=wanted, unit=log.unit,
            reference=log.reference, day=day, green=green or "normal",
        )  # fmt: skip
    except (TooFewShotsError, NothingFitsError) as error:
        if as_json:
            app.out(choice_document(None, target_m=target_m, nearest_m=getattr(error, "nearest_m", None)))
        raise
    app.out(choice_document(choice, verdict(choice)) if as_json else choice_text(choice, log.unit, rule))
