"""``wedgelab log``: one shot from the arguments, or one line a ball."""

import sys
from typing import TYPE_CHECKING, Any

import click

from wedgelab.cli.app import App
from wedgelab.cli.options import NUMBERS_MAY_BE_NEGATIVE, json_option, refuse_unknown_options, session_option
from wedgelab.cli.record import (
    SHOTS_TO_COMPARE,
    KeptAsideError,
    far_off,
    new_shot,
    session_name_for,
    shot_line,
    store_shot,
)
from wedgelab.errors import BadRequestError
from wedgelab.shots import (
    LIES,
    MAX_NAME,
    NEW_BAG,
    STRIKES,
    TRAJECTORIES,
    Shot,
    SwingLength,
    Wedge,
    clean_text,
)
from wedgelab.terminal.lines import VALUES, Entry, read_carry, read_swing, read_value
from wedgelab.units import LengthUnit

if TYPE_CHECKING:
    from wedgelab.store.records import PlayerSettings
    from wedgelab.store.store import SqliteStore


@click.command(
    context_settings=NUMBERS_MAY_BE_NEGATIVE,
    epilog="Example: wedgelab log 54 9:00 68 --spin 7800 --guess 70",
)
@click.argument("wedge", required=False)
@click.argument("swing", required=False)
@click.argument("carry", required=False)
@click.option("--spin", metavar="RPM", help="Backspin.")
@click.option("--speed", metavar="SPEED", help="Ball speed: 78mph or 35m/s.")
@click.option("--launch", metavar="DEG", help="Launch angle.")
@click.option("--guess", metavar="DISTANCE", help="Your own estimate before the number was shown.")
@click.option("--total", metavar="DISTANCE", help="Where it stopped.")
@click.option("--offline", metavar="DISTANCE", help="Sideways miss, right positive.")
@click.option("--strike", type=click.Choice(STRIKES), help="Your own word for the contact.")
@click.option("--lie", type=click.Choice(LIES), help="What the ball lay on.")
@click.option("--trajectory", type=click.Choice(TRAJECTORIES), help="The flight that was meant; stock if not said.")
@click.option("--ball", metavar="NAME", help="Which golf ball.")
@click.option("--note", metavar="TEXT", help="Anything to remember.")
@session_option
@json_option
@click.pass_obj
def command(
    app: App,
    /,
    wedge: str | None,
    swing: str | None,
    carry: str | None,
    session_name: str | None,
    as_json: bool,
    **given: str | None,
) -> None:
    """Log a shot: WEDGE SWING CARRY, the carry in your unit or as 68yd, 62m.

    Without arguments it asks for one line a ball, at a terminal or from a pipe: [WEDGE] [SWING] CARRY [SPIN], what is
    left out as on the line before.
    """
    refuse_unknown_options(wedge, swing, carry)
    if wedge is None:
        if any(value is not None for value in given.values()):
            raise BadRequestError("options without a shot", "give WEDGE SWING CARRY, or no option for one line a ball")
        _enter(app, session_name)
        return
    if swing is None or carry is None:
        raise BadRequestError(
            "a shot needs wedge, swing and carry", "for example: wedgelab log 54 9:00 68 (or wedgelab log alone)"
        )
    if not app.path.exists():  # a refused first shot leaves no file behind
        NEW_BAG.wedge(wedge)
    with app.open(create=True) as store:
        settings = app.peek(store)
        unit = app.unit(settings)
        bag = app.bag(store, settings)
        columns = _columns(given, unit)
        found, length, carry_m = bag.wedge(wedge), read_swing(swing, bag), read_carry(carry, unit)
        if settings.ball and "ball" not in columns:
            columns["ball"] = settings.ball
        # checked before a session begins: a shot that is refused leaves no empty session behind
        draft = new_shot(app, settings.name, "draft", found, length, carry_m, columns)
        settings = app.settle(store, settings)
        shot = draft.replace(session=session_name_for(app, store, settings, session_name))
        earlier = store.shots(settings.name, last=SHOTS_TO_COMPARE)
        store_shot(store, shot)
    if as_json:
        from wedgelab.render.json import document

        app.report(document("shot", shot=shot))
    else:
        app.report(f"logged {shot_line(shot, unit)}  [{shot.shot_id[:8]}]")
    if doubt := far_off(shot, earlier, unit):
        app.say(f"{doubt}; wedgelab shots undo takes it back")


def _columns(given: dict[str, str | None], unit: LengthUnit) -> dict[str, Any]:
    columns: dict[str, Any] = {}
    for name, text in given.items():
        if text is None:
            continue
        if name in VALUES:
            column, value = read_value(name, text, unit)
            columns[column] = value
        else:
            columns[name] = text
    return columns


class _Desk:
    """Stores what quick entry takes."""

    def __init__(self, app: App, store: "SqliteStore", settings: "PlayerSettings", session: str | None) -> None:
        self._app, self._store, self._settings = app, store, settings
        self._session = session
        self._earlier = store.shots(settings.name, last=SHOTS_TO_COMPARE)
        self._stored: list[Shot] = []
        self.kept_aside = 0

    def store(self, entry: Entry) -> str:
        """Store a ball and return the line to show."""
        settings = self._settings
        columns = {"ball": settings.ball, **entry.columns}
        draft = new_shot(self._app, settings.name, "draft", entry.wedge, entry.swing, entry.carry_m, columns)
        shot = draft.replace(session=session_name_for(self._app, self._store, settings, self._session))
        try:
            store_shot(self._store, shot)
        except KeptAsideError as error:  # it is safe: the sitting goes on, and nobody needs to type it again
            self.kept_aside += 1
            return f"  {error}"
        unit = self._app.unit(settings)
        doubt = far_off(shot, self._earlier, unit)
        self._earlier.append(shot)
        self._stored.append(shot)
        return f"  {len(self._stored)}: {shot_line(shot, unit)}{f'  ({doubt}; undo?)' if doubt else ''}"

    def undo(self) -> str:
        """Take back the last ball of this sitting."""
        if not self._stored:
            raise BadRequestError("no ball of this sitting to undo", "earlier ones: wedgelab shots undo")
        shot = self._store.void_shot(self._settings.name, self._stored[-1].shot_id, reason="undo")
        self._stored.pop()
        return f"  taken back: {shot_line(shot, self._app.unit(self._settings))}"


def _enter(app: App, session_name: str | None) -> None:
    from wedgelab.terminal.ask import has_terminal, plain_ask, prompt_ask
    from wedgelab.terminal.quick_entry import completion_words, quick_entry

    no_wedge = BadRequestError("the bag has no wedge", "add one first: wedgelab bag add 54 54")
    if not app.path.exists():
        raise no_wedge
    with app.open(create=True) as store:
        settings = app.peek(store)
        bag = app.bag(store, settings)
        if not bag.wedges:
            raise no_wedge
        if session_name is not None:
            clean_text("session", session_name, MAX_NAME)
        at_terminal = has_terminal()
        ask = prompt_ask(completion_words(bag)) if at_terminal else plain_ask(sys.stdin, sys.stderr)
        if at_terminal:
            app.say("One line a ball: [WEDGE] [SWING] CARRY [SPIN]; undo, ? for help, Ctrl-D ends.")
        desk = _Desk(app, store, settings, session_name)
        last = _last(store, settings.name)
        result = quick_entry(
            desk, bag, app.unit(settings), last, ask, app.report, app.say, somebody_reads=sys.stdin.isatty()
        )
        count = store.count_shots(settings.name)
    aside = f", {desk.kept_aside} kept aside" if desk.kept_aside else ""
    app.say(f"{result.stored - desk.kept_aside} logged{aside}, {count} in the log")
    if result.refused and not at_terminal:
        raise BadRequestError(
            f"{result.refused} line(s) were refused", "mend them and log them again; the others are stored"
        )


def _last(store: "SqliteStore", player: str) -> tuple[Wedge, SwingLength] | None:
    """Return the wedge and swing of the last shot, if they are still in the bag's terms."""
    shots = store.shots(player, last=1)
    if not shots:
        return None
    wedge = store.bag(player).find_wedge(shots[-1].wedge)
    return None if wedge is None else (wedge, SwingLength(shots[-1].swing, shots[-1].swing_deg))
