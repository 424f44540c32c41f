"""``wedgelab session``: practice sessions, their ball, note and conditions."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from wedgelab.cli.app import App
from wedgelab.cli.conditions import check_words, conditions_options, is_given, read_changes, read_conditions
from wedgelab.cli.options import json_option, shots_options
from wedgelab.errors import BadRequestError
from wedgelab.shots import Conditions
from wedgelab.units import format_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wedgelab.store.records import Session

_Function = TypeVar("_Function", bound=Callable[..., Any])
_SHORTEST_NOTE: Final = 12


def _noted(function: _Function) -> _Function:
    function = conditions_options(function)
    function = click.option("--note", metavar="TEXT", help="Anything to remember.")(function)
    return click.option("--ball", metavar="NAME", help="Which golf ball.")(function)


@click.group(epilog="Example: wedgelab session new evening --temp 18C --ball range")
def command() -> None:
    """Practice sessions: start, list, describe."""


@command.command("new", epilog="Example: wedgelab session new evening --temp 18C --wind -2m/s")
@click.argument("name", required=False)
@_noted
@click.pass_obj
def new(app: App, /, name: str | None, ball: str | None, note: str | None, **given: Any) -> None:
    """Start a session; shots logged today go into it. Without a NAME it is the day's next."""
    conditions = Conditions(**read_conditions(given))
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
            Session(
                log.name,
                name,
                min(shot.hit_at for shot in shots),
                conditions=log.conditions.get(name, Conditions()),
                n_shots=len(shots),
            )
            for name, shots in by_name.items()
        ]
    elif app.path.exists():
        with app.open(create=False) as store:
            sessions = store.sessions(app.reader(store).name) if store.players() else []
    if as_json:
        app.out(list_document("sessions", "sessions", sessions))
        return
    app.out(listing(*_table(sessions), "no session yet"))


def _table(sessions: "Sequence[Session]") -> "tuple[list[str], list[list[str]]]":
    """Return headers and cells; what the air weighs only where it was noted, the note as far as the line reaches."""
    from wedgelab.render.layout import WIDTH, display_width, shorten

    columns = {
        "session": [s.name for s in sessions],
        "started": [s.started_at[:16].replace("T", " ") for s in sessions],
        "shots": [str(s.n_shots) for s in sessions],
        "temp C": [format_number(s.conditions.air_temp_c) for s in sessions],
        "wind m/s": [format_number(s.conditions.wind_mps, 1) for s in sessions],
        "hPa": [format_number(s.conditions.station_pressure_hpa) for s in sessions],
        "alt m": [format_number(s.conditions.altitude_m) for s in sessions],
        "ball": [s.ball for s in sessions],
    }

    def left() -> int:
        widths = (max(map(display_width, (header, *cells))) for header, cells in columns.items())
        return WIDTH - sum(width + 2 for width in widths)

    unsaid = [header for header in ("hPa", "alt m") if set(columns[header]) <= {"-"}]
    for header in (*unsaid, "alt m", "hPa"):
        if header in unsaid or left() < _SHORTEST_NOTE:
            columns.pop(header, None)
    room = max(left(), _SHORTEST_NOTE)
    columns["note"] = [shorten(s.note, room) for s in sessions]
    return list(columns), [list(row) for row in zip(*columns.values(), strict=True)]


@command.command("set", epilog='Example: wedgelab session set --note "wet mats" --temp 9C')
@click.argument("name", required=False)
@_noted
@click.pass_obj
def set_(app: App, /, name: str | None, ball: str | None, note: str | None, **given: Any) -> None:
    """Describe a session: today's latest, or the one NAMEd. 'none' takes a value of the air back."""
    check_words(given)
    texts = {key: value for key, value in (("ball", ball), ("note", note)) if value is not None}
    with app.open(create=False) as store:
        player = app.reader(store).name
        if name is None:
            current = store.current_session(player, app.now().date())
            if current is None:
                raise BadRequestError("there is no session today", "name one (wedgelab session list) or start one")
            name = current.name
        if not (texts or is_given(given)):
            raise BadRequestError("nothing to set", "name what to note, see: wedgelab session set --help")
        air = read_changes(given, known=store.session(player, name).conditions)
        changes: dict[str, Any] = {**air, **texts}
        session = store.update_session(player, name, **changes)
    app.say(f"session {session.name}: {_said(changes)}")


def _said(changes: dict[str, Any]) -> str:
    noted = [name for name, value in changes.items() if value is not None]
    taken = [name for name, value in changes.items() if value is None]
    parts = ((noted, "noted"), (taken, "taken back"))
    return "; ".join(f"{', '.join(names)} {what}" for names, what in parts if names)
