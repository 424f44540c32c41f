"""``wedgelab shots``: list, delete, undo."""

import math
from typing import Final

import click

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.options import json_option, shots_options
from wedgelab.cli.record import shot_line
from wedgelab.errors import BadRequestError, UnknownNameError, WedgelabError
from wedgelab.render.layout import shorten
from wedgelab.shots import Shot
from wedgelab.units import LengthUnit, format_length, format_number

WORTH_SAYING: Final = 0.05  # a smaller chance of a mishit leaves its column empty


@click.group(
    invoke_without_command=True,
    subcommand_metavar="[COMMAND] [ARGS]...",
    epilog="Example: wedgelab shots list --last 20",
)
@click.pass_context
def command(ctx: click.Context) -> None:
    """List (as `shots` alone does), delete, restore and undo logged shots."""
    if ctx.invoked_subcommand is None:
        _list(ctx.obj, None, (), None, last=20, as_json=False)


@command.command("list", epilog="Example: wedgelab shots list --last 50 --session 2026-06-03")
@click.option("--last", type=click.IntRange(min=1), default=20, show_default=True, help="How many.")
@click.option("--all", "everything", is_flag=True, help="All of them.")
@click.option("--session", "session_name", metavar="NAME", help="Only this session.")
@shots_options
@json_option
@click.pass_obj
def list_(
    app: App,
    last: int,
    everything: bool,
    session_name: str | None,
    shots_file: str | None,
    maps: tuple[str, ...],
    as_json: bool,
) -> None:
    """List the latest shots, oldest first.

    MISHIT is the chance that a ball was one, from 5 % on, judged against all the other shots of the log; the more
    likely, the less the ball counts in the chart.
    """
    _list(app, shots_file, maps, session_name, last=None if everything else last, as_json=as_json)


def _list(
    app: App, shots_file: str | None, maps: tuple[str, ...], session: str | None, *, last: int | None, as_json: bool
) -> None:
    log = app.read(shots_file, maps)
    if session is not None and all(shot.session != session for shot in log.shots):
        raise UnknownNameError("session", session, (shot.session for shot in reversed(log.shots)))
    chances = _mishit_probabilities(app, log)
    judged = [pair for pair in zip(log.shots, chances, strict=True) if session is None or pair[0].session == session]
    shown = judged if last is None else judged[-last:]
    if as_json:
        from wedgelab.render.json import shots_document

        app.out(shots_document([shot for shot, _ in shown], [chance for _, chance in shown]))
        return
    from wedgelab.render.text import listing

    headers = ["id", "hit at", "wedge", "swing", f"carry {log.unit}", "spin rpm", "call", "guess", "strike", "mishit"]
    app.out(listing([*headers, "note"], [_row(shot, chance, log.unit) for shot, chance in shown], "no shots"))
    if len(shown) < len(judged):
        app.say(f"the last {len(shown)} of {len(judged)}; all: wedgelab shots list --all")


def _mishit_probabilities(app: App, log: PlayerLog) -> list[float | None]:
    """Return each shot's chance to be a mishit, told from the whole log; None where no model could be fitted to it."""
    if not log.shots:
        return []
    from wedgelab.cli.fitting import fit_log

    # a list of what was logged must come whatever the numbers are: numpy's own errors are of these kinds
    try:
        solid = [float(share) for share in fit_log(log).fit.solid]
    except (WedgelabError, ArithmeticError, ValueError) as error:
        app.say(f"the chances of mishits are left out: no model could be fitted to this log ({error})")
        return [None] * len(log.shots)
    return [min(max(1.0 - share, 0.0), 1.0) if math.isfinite(share) else None for share in solid]


def _mishit(shot: Shot, chance: float | None) -> str:
    """Write a chance that is worth a look; that of a ball marked off always."""
    if chance is None or (chance < WORTH_SAYING and shot.strike != "off"):
        return ""
    return f"{format_number(100.0 * chance)} %"


def _row(shot: Shot, chance: float | None, unit: LengthUnit) -> list[str]:
    return [
        shot.shot_id[:8],
        shot.hit_at[:16].replace("T", " "),
        shot.wedge,
        shot.swing,
        format_length(shot.carry_m, unit, 1),
        format_number(shot.spin_rpm, missing=""),
        "" if shot.target_m is None else format_length(shot.target_m, unit),
        "" if shot.guess_m is None else format_length(shot.guess_m, unit),
        shot.strike,
        _mishit(shot, chance),
        shorten(shot.note, 14),
    ]


@command.command("delete", epilog="Example: wedgelab shots delete 3f2a81c0")
@click.argument("ids", nargs=-1, required=True)
@click.pass_obj
def delete(app: App, ids: tuple[str, ...]) -> None:
    """Delete shots by id, or by the beginning of it; all of them or, if one is unknown, none.

    The log keeps the row, marked as deleted: `shots restore` or `shots undo` brings it back.
    """
    with app.open(create=False) as store:
        settings = app.reader(store)
        live = [shot.shot_id for shot in store.shots(settings.name)]
        # one that is not exactly one goes first: it is refused, and nothing was deleted yet
        for shot_id in sorted(ids, key=lambda one: sum(known.startswith(one.strip()) for known in live) == 1):
            shot = store.void_shot(settings.name, shot_id)
            app.say(f"deleted {shot_line(shot, app.unit(settings))}  [{shot.shot_id[:8]}]")


@command.command("restore", epilog="Example: wedgelab shots restore 3f2a81c0")
@click.argument("ids", nargs=-1, required=True)
@click.pass_obj
def restore(app: App, ids: tuple[str, ...]) -> None:
    """Bring deleted or undone shots back, by id or by the beginning of it; they get a new id."""
    with app.open(create=False) as store:
        settings = app.reader(store)
        for shot_id in ids:
            shot = store.restore_shot(settings.name, shot_id)
            app.say(f"restored {shot_line(shot, app.unit(settings))}  [{shot.shot_id[:8]}]")


@command.command("undo", epilog="Example: wedgelab shots undo")
@click.pass_obj
def undo(app: App) -> None:
    """Take back what was done last: a shot, a whole imported file, a deletion. Again, and the one before goes."""
    if not app.path.exists():
        raise BadRequestError("there is nothing to undo", "no log exists yet")
    with app.open(create=False) as store:
        settings = app.reader(store)
        taken = store.undo(settings.name)
        bag, left = store.bag(settings.name), store.shots(settings.name)
    if taken.restored:
        app.say(f"taken back: the deletion of {shot_line(taken.shots[0], app.unit(settings))}")
    elif taken.import_batch is not None:
        app.say(f"taken back: the import of {taken.import_batch.file_name} with {len(taken.shots)} shot(s)")
        used = {shot.wedge.casefold() for shot in left}
        for label in sorted({shot.wedge for shot in taken.shots}):
            if label.casefold() not in used and bag.find_wedge(label) is not None:
                app.say(f"wedge {label} stays in the bag; take it out with: wedgelab bag remove {label}")
    else:
        app.say(f"taken back: {shot_line(taken.shots[0], app.unit(settings))}")
