"""Options that several commands share, each written once."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

# a negative number is an argument, to be refused with its name; `refuse_unknown_options` catches mistyped options
NUMBERS_MAY_BE_NEGATIVE = {"ignore_unknown_options": True}
_Function = TypeVar("_Function", bound=Callable[..., Any])


def json_option(function: _Function) -> _Function:
    """Give a command --json."""
    return click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")(function)


def shots_options(function: _Function) -> _Function:
    """Give a reading command --shots and --map."""
    function = map_option(function)
    return click.option(
        "--shots", "shots_file", metavar="FILE.csv", help="Read this CSV in place of the log; nothing is stored."
    )(function)


def map_option(function: _Function) -> _Function:
    """Give a command --map."""
    return click.option(
        "--map", "maps", multiple=True, metavar="NAME=HEADER", help='Which column is what: --map carry_yd="Flew".'
    )(function)


def window_option(function: _Function) -> _Function:
    """Give a command --window."""
    return click.option(
        "--window", metavar="SIZE", help="Half width around the call: 4% or 3yd. Usual: 5 %, at least 2 m."
    )(function)


def green_option(function: _Function) -> _Function:
    """Give a command --green."""
    return click.option(
        "--green", type=click.Choice(["soft", "normal", "firm"]), help="How firm the green is, for the run-out: normal."
    )(function)


def alone_option(function: _Function) -> _Function:
    """Give a command --alone."""

    def keep(ctx: click.Context, _: click.Parameter, value: bool) -> None:
        ctx.obj.alone = value

    return click.option(
        "--alone", is_flag=True, expose_value=False, callback=keep, help="Learn nothing from the log's other players."
    )(function)


def session_option(function: _Function) -> _Function:
    """Give a writing command --session."""
    return click.option("--session", "session_name", metavar="NAME", help="Which session; usually today's.")(function)


def refuse_unknown_options(*arguments: str | None) -> None:
    """Raise click's own error for an argument that is a mistyped option."""
    for text in arguments:
        if text is not None and text.startswith("--"):
            raise click.NoSuchOption(text, ctx=click.get_current_context())
