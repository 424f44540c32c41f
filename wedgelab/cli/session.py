"""``wedgelab session``: practice sessions, their ball, note and conditions."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

from wedgelab.cli.app import App
from wedgelab.cli.options import json_option, shots_options
from wedgelab.errors import BadRequestError
from wedgelab.shots import Conditions
from wedgelab.units import format_number, parse_quantity

_Function = TypeVar("_Function", bound=Callable[..., Any])

# option -> (column, kind, unit of a bare number, example)
_CONDITIONS = {
    "temp": ("air_temp_c", "temperature", "c", "a temperature such as 12C or 54F"),
    "pressure": ("station_pressure_hpa", "pressure", "hpa", "a station pressure such as 1003hPa"),
    "humidity": ("humidity_pct", "share", "%", "a relative humidity such as 60%"),
    "altitude": ("altitude_m", "length", "m", "an altitude such as 420m"),
    "wind": ("wind_mps", "speed", "mps", "a wind such as 3m/s (tail positive, head negative)"),
    "cross_wind": ("cross_wind_mps", "speed", "mps", "a wind such as 2m/s (from the left positive)"),
}


def _noted(function: _Function) -> _Function:
    for name, (_, _, _, example) in reversed(_CONDITIONS.items()):
        function = click.option(f"--{name.replace('_', '-')}", metavar="VALUE", help=f"Give {example}.")(function)
    function = click.option("--note", metavar="TEXT", help="Anything to remember.")(function)
    return click.option("--ball", metavar="NAME", help="Which golf ball.")(function)


def _conditions(given: dict[str, str | None]) -> dict[str, float]:
    result = {}
    for name, text in given.items():
        if text is not None:
            column, kind, unit, example = _CONDITIONS[name]
            result[column] = parse_quantity(text, kind, unit, name.replace("_", " "), example)
    Conditions(**result)  # refuses what is out of range
    return result


@click.group(epilog="Example: wedgelab session new evening --temp 18C --ball range")
def command() -> None:
    """Practice sessions: start, list, describe."""


@command.command("new", epilog="Example: wedgelab session new evening --temp 18C --wind -2m/s")
@click.argument("name", required=False)
@_noted
@click.pass_obj
def new(app: App, /, name: str | None, ball: str | None, note: str | None, **given: str | None) -> None:
    """Start a session; shots logged today go into it. Without a NAME it is the day's next."""
    conditions = Conditions(**_conditions(given))
    with app.open(create=True) as store:
        settings = app.writer(store)
        now = app.now()
        if name is None:
            used = {session.name for session in store.sessions(settings.name)}
            day = now.date().isoformat()
            name = next(n for n in (day, *(f"{day} #{i}" for i in range(2, 1000))) if n not in used)
        session = store.create_session(
            settings.name, name, started_at=now.isoformat(timespec="seconds"),
            ball=ball if ball is not None else settings.ball, note=note or "", conditions=conditions,
        )  # fmt: skip
    app.say(f"session {session.name} is on; shots of today go into it")


@command.command("list", epilog="Example: wedgelab session list")
@shots_options
@json_option
@click.pass_obj
def list_(app: App, shots_file: str | None, maps: tuple[str, ...], as_json: bool) -> None:
    """List the sessions, oldest first."""
    from wedgelab.render.json import list_document
    from wedgelab.render.text import listing
    from wedgelab.store.records import Session

    sessions = []
    if shots_file is not None:
        log = app.read(shots_file, maps)
        names = dict.fromkeys(shot.session for shot in log.shots)
        by_name = {name: [shot for shot in log.shots if shot.session == name] for name in names}
        sessions = [
            Session(log.name, name, min(shot.hit_at for shot in shots), n_shots=len(shots))
            for name, shots in by_name.items()
        ]
    elif app.path.exists():
        with app.open(create=False) as store:
            sessions = store.sessions(app.reader(store).name) if store.players() else []
    if as_json:
        app.out(list_document("sessions", "sessions", sessions))
        return
    rows = [
        [
            s.name,
            s.started_at[:16].replace("T", " "),
            str(s.n_shots),
            format_number(s.conditions.air_temp_c, 0),
            format_number(s.conditions.wind_mps, 1),
            s.ball,
            s.note[:24],
        ]
        for s in sessions
    ]
    app.out(listing(["session", "started", "shots", "temp C", "wind m/s", "ball", "note"], rows, "no session yet"))


@command.command("set", epilog='Example: wedgelab session set --note "wet mats" --temp 9C')
@click.argument("name", required=False)
@_noted
@click.pass_obj
def set_(app: App, /, name: str | None, ball: str | None, note: str | None, **given: str | None) -> None:
    """Describe a session: today's latest, or the one NAMEd."""
    changes: dict[str, Any] = dict(_conditions(given))
    changes.update({key: value for key, value in (("ball", ball), ("note", note)) if value is not None})
    with app.open(create=False) as store:
        player = app.reader(store).name
        if name is None:
            current = store.current_session(player, app.now().date())
            if current is None:
                raise BadRequestError("there is no session today", "name one (wedgelab session list) or start one")
            name = current.name
        if not changes:
            raise BadRequestError("nothing to set", "name what to note, see: wedgelab session set --help")
        session = store.update_session(player, name, **changes)
    app.say(f"session {session.name}: {', '.join(changes)} noted")
