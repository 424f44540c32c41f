"""The way in: global options, the list of commands, and the only place that turns an error into a line and a code."""

import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any, Final

import click

from wedgelab import __version__
from wedgelab.cli.app import App
from wedgelab.cli.streams import hush, mend_streams
from wedgelab.errors import EXIT_FAILURE, EXIT_INTERRUPTED, EXIT_OUR_BUG, EXIT_USAGE, WedgelabError, printable

# name -> (module, help line). The module is imported only when its command runs, so that `--help` and `log` stay fast.
COMMANDS: Final[dict[str, tuple[str, str]]] = {
    "bag": ("bag", "Wedges and named swing lengths: show, add, remove."),
    "session": ("session", "Practice sessions: new, list, set ball, note and conditions."),
    "log": ("log", "Log a shot; without arguments, one line a ball."),
    "shots": ("shots", "List, delete, restore and undo logged shots."),
    "import": ("imports", "Read shots from a CSV file."),
    "export": ("export", "Write the log as CSV."),
    "chart": ("chart", "The distance chart: carry, range, spin, gaps, what to log next."),
    "choose": ("choose", "Which wedge and swing for a distance."),
    "gaps": ("gaps", "Holes, overlaps and coverage of the charted shots; another bag."),
    "plan": ("plan", "What to practise next: which shots, how many balls of each."),
    "drill": ("drill", "Random targets: call, hit, miss, summary."),
    "report": ("report", "A card for the bag, a page for the phone, a session sheet."),
    "players": ("players", "Players and their settings."),
    "demo": ("demo", "The whole job on an invented player, in a throw-away log."),
    "doctor": ("doctor", "Check the log file and say where it is."),
}


class _Commands(click.Group):
    """The commands, each loaded when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - click's signature
        if cmd_name not in COMMANDS:
            return None
        command = import_module(f"wedgelab.cli.{COMMANDS[cmd_name][0]}").command
        return command if isinstance(command, click.Command) else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 - click's
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.command(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog="Example: wedgelab demo",
)
@click.option("--db", metavar="FILE", help="The log file; else WEDGELAB_DB, else the user data folder.")
@click.option("--player", metavar="NAME", help="Whose log; may be left out while there is only one player.")
@click.option("--units", type=click.Choice(["yd", "m"]), help="Show and read distances in yards or metres.")
@click.option("--debug", is_flag=True, help="Show the traceback of a failure of wedgelab itself.")
@click.version_option(__version__, prog_name="wedgelab")
@click.pass_context
def cli(ctx: click.Context, db: str | None, player: str | None, units: str | None, debug: bool) -> None:
    """Learn how far each partial wedge shot carries, choose the right one, and practise it."""
    del debug  # read by run(), which also meets the failures that happen before this function
    ctx.obj = App(db_option=db, player_option=player, units_option=units)


def run(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code (see `errors`: 0 done, 1, 2, 3, 70, 130)."""
    words = list(sys.argv[1:] if argv is None else argv)
    mend_streams()
    try:
        result = cli.main(args=words, prog_name="wedgelab", standalone_mode=False)
        sys.stdout.flush()
    except WedgelabError as error:
        return _fail(str(error), error.exit_code)
    except click.ClickException as error:
        return _usage(error)
    except (click.exceptions.Abort, KeyboardInterrupt, EOFError):
        return _fail("interrupted; what was stored stays stored", EXIT_INTERRUPTED)
    except BrokenPipeError:
        # the reader went away (as `head` does): nothing is wrong, and nothing more may be written at exit
        hush(sys.stdout)
        return 0
    except SystemExit:  # click's way to say that the reader of a pipe went away
        hush(sys.stdout)
        return 0
    except OSError as error:
        # most likely the output: a full disk behind it, a place that went away
        where = f"{printable(str(error.filename))}: " if error.filename is not None else ""
        what = f"{where}writing or reading failed ({error.strerror or error})"
        return _fail(f"{what}; see that the place is there and has room, then run it again", EXIT_FAILURE)
    except Exception as error:  # noqa: BLE001 - the last resort: a fault of ours is one line too
        what = printable(f"{type(error).__name__}: {error}")
        todo = "run it again with --debug and report it"
        if "--debug" in words:
            import traceback

            click.echo(traceback.format_exc(), err=True)
            todo = "report it with the lines above"
        return _fail(f"this is a fault of wedgelab ({what}); {todo}", EXIT_OUR_BUG)
    return result if isinstance(result, int) else 0


def _fail(sentence: str, code: int) -> int:
    for stream, text in ((sys.stdout, ""), (sys.stderr, f"wedgelab: error: {sentence}\n")):
        try:
            click.echo(text, file=stream, nl=False)
        except (OSError, ValueError):
            hush(stream)  # the exit code says it still
    return code


def _usage(error: click.ClickException) -> int:
    if type(error).__name__ == "NoArgsIsHelpError":  # by name: click before 8.2 has no such class
        click.echo(error.format_message())
        return 0
    sentence = printable(" ".join(error.format_message().split())).rstrip(".")
    ctx: Any = getattr(error, "ctx", None)
    if isinstance(error, click.NoSuchOption) and error.option_name in {option for p in cli.params for option in p.opts}:
        return _fail(f"{error.option_name} goes before the command; type: wedgelab {error.option_name} ...", EXIT_USAGE)
    return _fail(f"{sentence}; see: {ctx.command_path if ctx is not None else 'wedgelab'} --help", EXIT_USAGE)
