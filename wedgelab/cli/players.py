"""``wedgelab players``: who is in the log, and their settings."""

from typing import Any

import click

from wedgelab.cli.app import App
from wedgelab.cli.conditions import check_words, conditions_options, is_given, read_changes
from wedgelab.cli.options import json_option
from wedgelab.errors import BadRequestError
from wedgelab.shots import CONDITION_COLUMNS, Conditions
from wedgelab.units import LengthUnit, format_length, parse_length


@click.group(
    invoke_without_command=True,
    subcommand_metavar="[COMMAND] [ARGS]...",
    epilog="Example: wedgelab players set --units m --range-limit 110m",
)
@json_option
@click.pass_context
def command(ctx: click.Context, as_json: bool) -> None:
    """List the players, or change a player's settings with `set`."""
    if ctx.invoked_subcommand is None:
        _list(ctx.obj, as_json=as_json)


def _list(app: App, *, as_json: bool) -> None:
    from wedgelab.render.json import list_document
    from wedgelab.render.text import listing

    rows: list[dict[str, Any]] = []
    if app.path.exists():
        with app.open(create=False) as store:
            for player in store.players():
                sessions = store.sessions(player.name)
                last = max((session.started_at[:10] for session in sessions), default="")
                rows.append(
                    {
                        "player": player.name,
                        "units": player.units,
                        "n_shots": store.count_shots(player.name),
                        "n_sessions": len(sessions),
                        "last_session": last,
                        "window": player.window,
                        "range_limit_m": player.range_limit_m,
                        "ball": player.ball,
                        "reference": player.conditions,
                    }
                )
    if as_json:
        app.out(list_document("players", "players", rows))
        return
    table = [
        [
            row["player"],
            row["units"],
            str(row["n_shots"]),
            str(row["n_sessions"]),
            row["last_session"],
            row["window"] or "usual",
            format_length(row["range_limit_m"], row["units"]),
            row["ball"],
        ]
        for row in rows
    ]
    headers = ["player", "units", "shots", "sessions", "last", "window", "range limit", "ball"]
    app.out(listing(headers, table, "no player yet; the first shot you log makes one"))


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
