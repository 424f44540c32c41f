"""``wedgelab players``: who is in the log, and their settings."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from wedgelab.cli.app import App
from wedgelab.cli.conditions import check_words, conditions_options, is_given, read_changes
from wedgelab.cli.options import alone_option, json_option
from wedgelab.cli.pictures import picture_options, read_pictures, save_pictures
from wedgelab.errors import BadRequestError, UnknownNameError
from wedgelab.shots import CONDITION_COLUMNS, Conditions
from wedgelab.units import LengthUnit, format_length, parse_length

if TYPE_CHECKING:
    from wedgelab.store.records import PlayerSettings
    from wedgelab.store.store import SqliteStore

_HEADERS: Final = ["player", "shots", "sessions", "last", "chart", "unit", "window", "range\nlimit", "ball"]
_ALIGN: Final = ["left", "right", "right", "left", "right", "left", "left", "right", "left"]
_NAME_COLUMNS: Final = (24, 16, 12)
_BALL_COLUMN: Final = 7
_LEGEND: Final = (
    "chart: how surely a charted carry is known, one standard error as a share of it, mean over the bag's cells; "
    "- where nothing was logged or the bag is empty"
)


@click.group(
    invoke_without_command=True,
    subcommand_metavar="[COMMAND] [ARGS]...",
    epilog="Example: wedgelab players set --units m --range-limit 110m",
)
@json_option
@click.option("--quick", is_flag=True, help="Leave out how surely the charts are known: no chart is worked out.")
@picture_options("how surely each chart is known")
@alone_option
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, quick: bool, **given: Any) -> None:
    """List the players with their shots and how surely their charts are known, or change settings with `set`."""
    if ctx.invoked_subcommand is None:
        _list(ctx.obj, read_pictures(given), as_json=as_json, quick=quick)


def _list(app: App, pictures: list[Path], *, as_json: bool, quick: bool) -> None:
    if quick and pictures:
        raise BadRequestError("a picture with --quick", "leave --quick out: the picture is of what it leaves out")
    rows = _say_rows(app, as_json=as_json, quick=quick)
    if not pictures:
        return
    if not rows:
        app.say("no player, so no picture")
        return
    from wedgelab.render.players_figure import PlayerRow, players_figure

    drawn = [PlayerRow(row["player"], row["n_shots"], row["doubt_now"]) for row in rows]
    save_pictures(app, pictures, lambda: players_figure(drawn))


def _say_rows(app: App, *, as_json: bool, quick: bool) -> list[dict[str, Any]]:
    from wedgelab.render.json import list_document
    from wedgelab.render.layout import wrap

    rows: list[dict[str, Any]] = []
    if app.path.exists():
        with app.open(create=False) as store:
            players = store.players() if app.player_option is None else [store.player(app.player_option)]
            doubts = {} if quick else _doubts(app, store, players)
            rows = [_row(store, player, doubts.get(player.name)) for player in players]
    elif app.player_option is not None:
        raise UnknownNameError("player", app.player_option, [])
    if as_json:
        app.out(list_document("players", "players", rows))
        return rows
    if not rows:
        app.out("no player yet; the first shot you log makes one")
        return rows
    app.out(_table(rows))
    if any(row["doubt_now"] is not None for row in rows):
        app.out(f"\n{wrap(_LEGEND)}")
    return rows


def _row(store: "SqliteStore", player: "PlayerSettings", doubt: float | None) -> dict[str, Any]:
    sessions = store.sessions(player.name)
    return {
        "player": player.name,
        "units": player.units,
        "n_shots": store.count_shots(player.name),
        "n_sessions": len(sessions),
        "last_session": max((session.started_at[:10] for session in sessions), default=""),
        "doubt_now": doubt,
        "window": player.window,
        "range_limit_m": player.range_limit_m,
        "ball": player.ball,
        "reference": player.conditions,
    }


def _table(rows: list[dict[str, Any]]) -> str:
    """Draw the list; long names are folded as far as the width makes it necessary."""
    from wedgelab.render.layout import WIDTH, display_width, table

    drawn = ""
    for width in _NAME_COLUMNS:
        drawn = table([_line(row, width) for row in rows], _HEADERS, _ALIGN)
        if all(display_width(line) <= WIDTH for line in drawn.split("\n")):
            break
    return drawn


def _line(row: dict[str, Any], width: int) -> list[str]:
    from wedgelab.render.layout import fold
    from wedgelab.render.words import MISSING, percent_text

    return [
        fold(row["player"], width),
        str(row["n_shots"]),
        str(row["n_sessions"]),
        row["last_session"] or MISSING,
        MISSING if row["doubt_now"] is None else f"±{percent_text(row['doubt_now'], 1)}",
        row["units"],
        row["window"] or "usual",
        format_length(row["range_limit_m"], row["units"]),
        fold(row["ball"], _BALL_COLUMN),
    ]


def _doubts(app: App, store: "SqliteStore", players: "list[PlayerSettings]") -> dict[str, float]:
    """Return how surely each player's chart is known, as `chart` says it; nothing for a player without any.

    The others from whom newcomers learn are the same for most of them, so that each of their logs is fitted once.
    """
    from wedgelab.cli.fitting import fit_log
    from wedgelab.compare import chart_doubt
    from wedgelab.model.player import fit_player
    from wedgelab.model.population import population

    taught: dict[str, Any] = {}
    silent = replace(app, held_messages=[])  # from whom a chart is learnt is said by the chart
    doubts: dict[str, float] = {}
    for player in players:
        log = app.player_log(store, player)
        if not log.shots or not log.bag.wedges or not log.bag.swings:
            continue
        others = silent.others(store, log)
        for one in others:
            if one.name not in taught:
                taught[one.name] = fit_log(one).fit
        fitted = fit_player(
            log.shots,
            log.conditions,
            log.reference,
            log.ball,
            others=population([taught[one.name] for one in others]) if others else None,
        )
        doubts[player.name] = chart_doubt(fitted, log.bag)
    return doubts


@command.command("set", epilog="Example: wedgelab players set --units m --temp 20C --altitude 30m")
@click.option("--units", type=click.Choice(["yd", "m"]), help="Yards or metres for everything shown and typed.")
@click.option("--window", metavar="SIZE", help="Usual window: 4% or 3yd; 'usual' for 5 %, at least 2 m.")
@click.option("--range-limit", metavar="DISTANCE", help="Longest carry that the range allows; 'none' to lift it.")
@click.option("--ball", metavar="NAME", help="The usual golf ball.")
@click.option(
    "--reference", type=click.Choice(["standard"]), help="Back to the standard atmosphere (15 C, 1013.25 hPa)."
)
@conditions_options
@click.pass_obj
def set_(
    app: App,
    /,
    units: str | None,
    window: str | None,
    range_limit: str | None,
    ball: str | None,
    reference: str | None,
    **given: Any,
) -> None:
    """Change a player's settings; what is not named stays.

    The values of the air are the player's reference, to which the chart is brought; 'none' takes one back.
    """
    check_words(given)
    changes: dict[str, Any] = {}
    with app.open(create=True) as store:
        if units is window is range_limit is ball is reference is None and not is_given(given):
            raise BadRequestError("nothing to set", "name a setting, see: wedgelab players set --help")
        settings = app.peek(store)
        unit = app.unit(settings) if units is None else ("m" if units == "m" else "yd")
        if units is not None:
            changes["units"] = units
        if window is not None:
            changes["window"] = _window(window, unit)
        if range_limit is not None:
            changes["range_limit_m"] = None if range_limit == "none" else parse_length(range_limit, unit, "range limit")
        if ball is not None:
            changes["ball"] = ball
        known = settings.conditions
        if reference is not None:
            known = Conditions()
            changes |= dict.fromkeys(CONDITION_COLUMNS)
        changes |= read_changes(given, known=known)
        after = store.set_player(app.settle(store, settings).name, **changes)
    app.say(f"{after.name}: {', '.join(_said(changes, after.conditions))} set")


def _window(text: str, unit: LengthUnit) -> str:
    """Return a window as it is kept: a bare number keeps the unit in which it was meant."""
    from wedgelab.window import parse_window

    kept = "" if text == "usual" else text
    parse_window(kept, unit)
    return f"{kept}{unit}" if kept[-1:].isdigit() else kept


def _said(changes: dict[str, Any], reference: Conditions) -> list[str]:
    words = {"range_limit_m": "range limit"}
    said = [words.get(name, name) for name in changes if name not in CONDITION_COLUMNS]
    if changes.keys() & set(CONDITION_COLUMNS):
        said.append(f"reference ({', '.join(reference.known()) or 'the standard atmosphere'})")
    return said
