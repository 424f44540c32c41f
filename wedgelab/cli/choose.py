"""``wedgelab choose``: which wedge and swing for a distance."""

from typing import TYPE_CHECKING, Any

import click

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.choose_words import (
    check_flights,
    read_limits,
    read_trajectories,
    read_window,
    wedge_alone,
    wish_options,
)
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
from wedgelab.cli.pair import check_pair, pair_notes, read_pair
from wedgelab.cli.pictures import picture_options, read_pictures, save_pictures
from wedgelab.errors import NothingFitsError, TooFewShotsError
from wedgelab.terminal.lines import read_carry

if TYPE_CHECKING:
    from pathlib import Path

    from wedgelab.choose import Choice
    from wedgelab.model.player import FittedPlayer
    from wedgelab.prediction import Day
    from wedgelab.shots import Shot
    from wedgelab.units import LengthUnit
    from wedgelab.window import Window


@click.command(context_settings=NUMBERS_MAY_BE_NEGATIVE, epilog="Example: wedgelab choose 70yd --want spin")
@click.argument("target")
@wish_options
@window_option
@click.option("--short", metavar="SIZE", help="Room short of the target alone: 4% or 3yd; the other side as usual.")
@click.option("--long", "long_side", metavar="SIZE", help="Room beyond the target alone: 4% or 3yd.")
@click.option("--flights", is_flag=True, help="The same carry low, stock and high, wedge by wedge.")
@click.option("--wedge", metavar="LABEL", help="Only this wedge of the bag.")
@click.option("--compare", "names", nargs=2, metavar="NAME NAME", help="The same question for two players of the log.")
@picture_options("chance against spin, or the flights, or both players' chances,")
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
    flights: bool,
    names: tuple[str, str] | None,
    shots_file: str | None,
    maps: tuple[str, ...],
    as_json: bool,
    rise: str | None,
    **given: Any,
) -> None:
    """Rank wedge and swing for a TARGET carry such as 70, 70yd or 64m, with chances and a verdict.

    With --temp, --altitude, --wind, --rise and so on it is today's carry that has to fit. Limits are kept by the
    median ball; --flights compares a low, a stock and a high ball of the same carry, within --max-apex and --min-land.
    """
    refuse_unknown_options(target)
    check_words(given)
    pictures = read_pictures(given)
    if flights:
        check_flights(given)
    if names is not None:
        others = {"--flights": flights, "--shots": shots_file, "--wedge": given["wedge"]}
        check_pair(app, names, [flag for flag, value in others.items() if value])
        _ask_pair(app, read_pair(app, names), target, rise, given, pictures, as_json=as_json)
        return
    log = app.read(shots_file, maps, with_others=True)
    day = read_day(given, rise, log.reference, log.unit)
    target_m = read_carry(target, log.unit, "target_m")
    rule = read_window(log, given["window"], given["short"], given["long_side"])
    log = wedge_alone(log, given["wedge"])
    ask = _ask_flights if flights else _ask_choice
    ask(app, log, target_m, rule, day, given, pictures, as_json=as_json)


def _ask_choice(
    app: App,
    log: PlayerLog,
    target_m: float,
    rule: "Window",
    day: "Day | None",
    given: dict[str, Any],
    pictures: "list[Path]",
    *,
    as_json: bool,
) -> None:
    from wedgelab.render.choice_figure import choice_figure
    from wedgelab.render.choice_json import choice_document
    from wedgelab.render.choice_text import choice_text

    try:
        choice = _choose(log, fit_log(log), target_m, rule, day, given)
    except (TooFewShotsError, NothingFitsError) as error:
        if as_json:
            app.out(choice_document(None, target_m=target_m, error=error))
        raise
    app.out(choice_document(choice, log.unit) if as_json else choice_text(choice, log.unit, rule))
    save_pictures(app, pictures, lambda: choice_figure(choice, log.unit))


def _choose(
    log: PlayerLog,
    player: "FittedPlayer",
    target_m: float,
    rule: "Window",
    day: "Day | None",
    given: dict[str, Any],
) -> "Choice":
    from wedgelab.choose import WANTS, choose

    return choose(
        player, log.bag, target_m, window=rule, want=next(word for word in WANTS if word == given["want"]),
        unit=log.unit, reference=log.reference, day=day, green=given["green"] or "normal",
        limits=read_limits(given, log.unit), trajectories=read_trajectories(given["trajectory"]),
        lie=given["lie"] or "", shots=_solid(log, player),
    )  # fmt: skip


def _ask_pair(
    app: App,
    pair: tuple[PlayerLog, PlayerLog],
    target: str,
    rise: str | None,
    given: dict[str, Any],
    pictures: "list[Path]",
    *,
    as_json: bool,
) -> None:
    """Ask both players the same, in the first one's reference air or the day's."""
    from wedgelab.render.choice_json import choices_document
    from wedgelab.render.compare_figure import choices_figure

    names, unit = (pair[0].name, pair[1].name), pair[0].unit
    day = read_day(given, rise, pair[0].reference, unit)
    target_m = read_carry(target, unit, "target_m")
    rule = read_window(pair[0], given["window"], given["short"], given["long_side"])
    try:
        choices = _choose_each(pair, target_m, rule, day, given)
    except (TooFewShotsError, NothingFitsError):
        if as_json:
            app.out(choices_document(names, [], unit, target_m=target_m))
        raise
    _say_pair(app, names, choices, unit, pair_notes(*pair), as_json=as_json)
    save_pictures(app, pictures, lambda: choices_figure(names, choices, unit))


def _choose_each(
    pair: tuple[PlayerLog, PlayerLog], target_m: float, rule: "Window", day: "Day | None", given: dict[str, Any]
) -> "list[Choice]":
    """Return both choices; an error names the player whose it is."""
    from wedgelab.model.weather import conditions_in_full
    from wedgelab.prediction import NOT_SAID, Day

    air = day or Day(conditions_in_full(NOT_SAID, pair[0].reference))
    choices = []
    for log in pair:
        is_at_home = day is None and conditions_in_full(NOT_SAID, log.reference) == air.conditions
        try:
            choices.append(_choose(log, fit_log(log), target_m, rule, None if is_at_home else air, given))
        except (TooFewShotsError, NothingFitsError) as error:
            kind = TooFewShotsError if isinstance(error, TooFewShotsError) else NothingFitsError
            what, _, then = str(error).partition("; ")
            raise kind(f"{log.name}: {what}", then) from error
    return choices


def _say_pair(
    app: App, names: tuple[str, str], choices: "list[Choice]", unit: "LengthUnit", notes: list[str], *, as_json: bool
) -> None:
    from wedgelab.compare import compare_choices
    from wedgelab.render.choice_json import choices_document
    from wedgelab.render.choice_words import verdict
    from wedgelab.render.compare_text import choices_line
    from wedgelab.render.layout import wrap

    comparison = compare_choices(*choices)
    said = choices_line(comparison, *names, unit)
    if as_json:
        better = {"first": names[0], "second": names[1]}.get(comparison.better, "")
        app.out(
            choices_document(
                names, choices, unit, target_m=choices[0].target_m, better=better,
                chance_difference=comparison.chance_difference, sentence=said, notes=notes,
            )
        )  # fmt: skip
        return
    for name, choice in zip(names, choices, strict=True):
        app.out(wrap(f"{name}: {verdict(choice, unit)}", indent="  "))
    for sentence in (said, *notes):
        app.out(wrap(sentence))


def _ask_flights(
    app: App,
    log: PlayerLog,
    target_m: float,
    rule: "Window",
    day: "Day | None",
    given: dict[str, Any],
    pictures: "list[Path]",
    *,
    as_json: bool,
) -> None:
    from wedgelab.choose import find_flights
    from wedgelab.render.choice_json import flights_document
    from wedgelab.render.flights_figure import flights_figure
    from wedgelab.render.flights_text import flights_summary, flights_text

    try:
        player = fit_log(log)
        flights = find_flights(
            player, log.bag, target_m, window=rule, unit=log.unit, reference=log.reference, day=day,
            green=given["green"] or "normal", lie=given["lie"] or "", limits=read_limits(given, log.unit),
            shots=_solid(log, player),
        )  # fmt: skip
    except (TooFewShotsError, NothingFitsError) as error:
        if as_json:
            app.out(flights_document(None, target_m=target_m, error=error))
        raise
    if as_json:
        app.out(flights_document(flights, flights_summary(flights, log.unit)))
    else:
        app.out(flights_text(flights, log.unit, rule))
    save_pictures(app, pictures, lambda: flights_figure(flights, log.unit))


def _solid(log: PlayerLog, player: "FittedPlayer") -> "list[Shot]":
    """Return the balls that count: mishits back nothing."""
    return [shot for shot, is_solid in zip(log.shots, player.solid, strict=True) if is_solid]
