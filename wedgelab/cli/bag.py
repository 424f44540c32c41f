"""``wedgelab bag``: the wedges and the named swing lengths."""

import click

from wedgelab.cli.app import App
from wedgelab.cli.bag_suggest import suggest_command
from wedgelab.cli.options import NUMBERS_MAY_BE_NEGATIVE, json_option, refuse_unknown_options, shots_options
from wedgelab.errors import BadRequestError, UnknownNameError, quoted
from wedgelab.shots import SwingLength, Wedge, check_stated_length
from wedgelab.units import format_clock, format_number, parse_number, parse_quantity, parse_swing_deg


@click.group(
    invoke_without_command=True,
    subcommand_metavar="[COMMAND] [ARGS]...",
    epilog="Example: wedgelab bag add 54 54 --bounce 10",
)
@shots_options
@json_option
@click.pass_context
def command(ctx: click.Context, shots_file: str | None, maps: tuple[str, ...], as_json: bool) -> None:
    """Show the bag, or change it with the commands below."""
    if ctx.invoked_subcommand is None:
        _show(ctx.obj, shots_file, maps, as_json=as_json)


def _show(app: App, shots_file: str | None, maps: tuple[str, ...], *, as_json: bool) -> None:
    from wedgelab.render.json import document
    from wedgelab.render.text import listing

    log = app.read(shots_file, maps)
    if as_json:
        app.out(document("bag", player=log.name, wedges=log.bag.wedges, swings=log.bag.swings))
        return
    wedges = [[w.label, format_number(w.loft_deg, 1), format_number(w.bounce_deg, 1)] for w in log.bag.wedges]
    swings = [[s.label, format_number(s.swing_deg, 1), format_clock(s.swing_deg)] for s in log.bag.swings]
    app.out(listing(["wedge", "loft deg", "bounce deg"], wedges, "no wedge yet; add one: wedgelab bag add 54 54"))
    app.out("")
    app.out(listing(["swing", "arm deg", "clock"], swings, "no swing length; add one: wedgelab bag swing 9:00 90"))


@command.command("add", context_settings=NUMBERS_MAY_BE_NEGATIVE, epilog="Example: wedgelab bag add 54 54 --bounce 10")
@click.argument("label")
@click.argument("loft", required=False)
@click.option("--bounce", metavar="DEG", help="Bounce angle in degrees.")
@click.pass_obj
def add(app: App, label: str, loft: str | None, bounce: str | None) -> None:
    """Put a wedge into the bag; LOFT may be left out when the LABEL is the loft.

    A wedge that is there already with another loft was bent or replaced: the new loft counts from now on, old shots
    keep the old one.
    """
    refuse_unknown_options(label, loft)
    if loft is None and not label.rstrip("°").replace(".", "", 1).isdigit():
        raise BadRequestError(
            f"wedge {quoted(label)} has no loft", f"give it in degrees, for example: wedgelab bag add {label} 56"
        )
    wedge = Wedge(
        label,
        parse_quantity(loft if loft is not None else label, "angle", "deg", "loft", "a loft in degrees such as 54"),
        None if bounce is None else parse_number(bounce, "bounce"),
    )
    with app.open(create=True) as store:
        name = app.writer(store).name
        before = store.bag(name).find_wedge(wedge.label)
        if not store.add_wedge(name, wedge):
            app.say(f"wedge {wedge.label} is in the bag already, with that loft and bounce")
            return
    shown = format_number(wedge.loft_deg, 1)
    if before is not None and before.loft_deg != wedge.loft_deg:
        old = format_number(before.loft_deg, 1)
        app.say(f"wedge {wedge.label} is {shown} deg from now on; shots logged so far keep {old} deg")
    else:
        app.say(f"wedge {wedge.label}, {shown} deg, is in the bag")


@command.command("swing", epilog="Example: wedgelab bag swing 8:15 8:15   or: wedgelab bag swing half 90")
@click.argument("label")
@click.argument("length", required=False)
@click.pass_obj
def swing(app: App, label: str, length: str | None) -> None:
    """Name a swing length: LENGTH is clock form (9:00) or degrees of the lead arm (90), 0 hanging, 90 level."""
    named = SwingLength(label, parse_swing_deg(length if length is not None else label))
    check_stated_length(named.label, named.swing_deg)
    with app.open(create=True) as store:
        name = app.writer(store).name
        twin = next(
            (
                s
                for s in store.bag(name).swings
                if abs(s.swing_deg - named.swing_deg) < 1e-6 and s.label.casefold() != named.label.casefold()
            ),
            None,
        )
        if not store.add_swing(name, named):
            app.say(f"swing {named.label} is there already, with that length")
            return
        if twin is not None:
            store.retire_swing(name, twin.label)
            app.say(f"it takes the place of {twin.label}, which has the same length; shots keep their label")
    app.say(f"swing {named.label} is {format_number(named.swing_deg, 1)} deg ({format_clock(named.swing_deg)})")


@command.command("remove", epilog="Example: wedgelab bag remove 54")
@click.argument("label")
@click.pass_obj
def remove(app: App, label: str) -> None:
    """Take a wedge or a named swing length out of use; its shots stay."""
    with app.open(create=False) as store:
        name = app.reader(store).name
        bag = store.bag(name)
        wedge, named = bag.find_wedge(label), bag.find_swing(label)
        if wedge is not None and named is not None:
            raise BadRequestError(
                f"{label} is a wedge and a swing", "rename one of them first: wedgelab bag add, bag swing"
            )
        if named is not None:
            store.retire_swing(name, named.label)
        elif wedge is not None:
            store.retire_wedge(name, label)
        else:
            raise UnknownNameError(
                "wedge or swing", label, [w.label for w in bag.wedges] + [s.label for s in bag.swings]
            )
    app.say(f"{label} is out of the bag; its shots stay in the log")


@command.command("history", epilog="Example: wedgelab bag history")
@json_option
@click.pass_obj
def history(app: App, as_json: bool) -> None:
    """List every wedge that was ever in the bag, with the loft it had."""
    from wedgelab.render.json import list_document
    from wedgelab.render.text import listing

    entries = []
    if app.path.exists():
        with app.open(create=False) as store:
            entries = store.wedge_history(app.reader(store).name) if store.players() else []
    if as_json:
        app.out(list_document("bag-history", "wedges", entries))
        return
    rows = [
        [e.wedge.label, format_number(e.wedge.loft_deg, 1), e.added_at[:10], (e.retired_at or "")[:10]] for e in entries
    ]
    app.out(listing(["wedge", "loft deg", "since", "until"], rows, "no wedge was ever in the bag"))


command.add_command(suggest_command)
