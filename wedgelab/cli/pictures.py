"""``--png``, ``--svg`` and ``--pdf``: the picture of what a command says, in one format or several."""

from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from typing import Any, Final, TypeVar

import click

from wedgelab.cli.app import App
from wedgelab.errors import BadRequestError, quoted

FORMATS: Final = ("png", "svg", "pdf")
_Function = TypeVar("_Function", bound=Callable[..., Any])


def picture_options(what: str) -> Callable[[_Function], _Function]:
    """Give a command --png, --svg and --pdf; ``what`` says what is drawn: "carry over swing length"."""

    def add(function: _Function) -> _Function:
        for name in reversed(FORMATS):
            said = f"Draw {what} into FILE." if name == FORMATS[0] else f"The same as {name.upper()}."
            function = click.option(f"--{name}", metavar="FILE", type=click.Path(path_type=Path), help=said)(function)
        return function

    return add


def read_pictures(given: Mapping[str, Any]) -> list[Path]:
    """Return the files asked for, each with its own ending and in a folder that is there.

    Asked before anything is worked out or played, so that nobody waits for a picture that has no place.
    """
    paths = []
    for name in FORMATS:
        path: Path | None = given[name]
        if path is None:
            continue
        if path.suffix.lower() != f".{name}":
            raise BadRequestError(f"--{name} {quoted(path)} does not end in .{name}", f"name a .{name} file")
        if path.is_dir() or not path.absolute().parent.is_dir():
            raise BadRequestError(
                f"--{name} {quoted(path)} is no place for a picture", f"give a FILE.{name} in a folder that is there"
            )
        paths.append(path)
    return paths


def save_pictures(app: App, paths: list[Path], draw: Callable[[], Any]) -> None:
    """Draw the figure once, if a file was asked for, and write it to each."""
    if not paths:
        return
    hush_drawing()
    from wedgelab.render.figure import save_figure

    figure = draw()
    for path in paths:
        lacking = save_figure(figure, path)
        app.say(f"drawn into {path}")
    say_boxes(app, lacking)


def say_boxes(app: App, lacking: Collection[str]) -> None:
    """Say which signs the font lacks, if any was needed."""
    if lacking:
        from wedgelab.render.words import boxes_line

        app.say(boxes_line(lacking))


def hush_drawing() -> None:
    """Keep matplotlib's own words from the terminal: of a home folder where it cannot keep its fonts, for example.

    It is to be called before matplotlib is loaded.
    """
    import logging

    logging.getLogger("matplotlib").setLevel(logging.ERROR)
