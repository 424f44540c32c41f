"""``wedgelab report``: a card for the bag, a page for the phone, a session sheet."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal, get_args

import click

from wedgelab.cli.app import App
from wedgelab.cli.conditions import check_words, day_options, is_given
from wedgelab.cli.options import alone_option, json_option, shots_options, window_option
from wedgelab.cli.pictures import hush_drawing
from wedgelab.errors import BadRequestError, TooFewShotsError, printable, quoted

if TYPE_CHECKING:
    from wedgelab.render.paper import PaperSize

Kind = Literal["card", "page", "session"]
LAST: Final = "last"
_NO_TEXT: Final = ("\ud800", "\udfff")  # surrogates, which no encoding of a terminal or a file can write
_ENDINGS: Final[dict[Kind, str]] = {"card": ".pdf", "page": ".html", "session": ".pdf"}
_NAMES: Final[dict[Kind, str]] = {"card": "a card", "page": "a page", "session": "a session sheet"}
_SIZES: Final[dict[Kind, tuple["PaperSize", ...]]] = {
    "card": ("pocket", "credit", "a4", "letter"), "page": (), "session": ("a4", "letter"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Made:
    """What was written: the paper's size, how many pages, and the cells of the chart that stand on them."""

    size_mm: tuple[float, float] | None = None
    pages: int | None = None
    cells: tuple[Any, ...] = ()


@click.command(epilog="Example: wedgelab report card.pdf --size a4")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--kind", type=click.Choice(get_args(Kind)), help="What to make, if the FILE's ending does not tell.")
@click.option("--size", type=click.Choice(_SIZES["card"]), help="Paper: pocket for a card, a4 for a session sheet.")
@click.option("--session", "session_name", metavar="NAME", help="The sheet of this session, or of the last one: last.")
@click.option("--spin", "with_spin", is_flag=True, help="On the card also the spin of each shot.")
@click.option("--trajectories", "with_flights", is_flag=True, help="On the card also the carry played low and high.")
@window_option
@day_options
@alone_option
@shots_options
@json_option
@click.pass_obj
def command(
    app: App, /, file: Path, kind: Kind | None, size: "PaperSize | None", as_json: bool, rise: str | None,
    **given: Any,
) -> None:  # fmt: skip
    """Write the chart to take along, or a session to hand over, into FILE.

    A .pdf is a card: the chart at the exact size of a pocket or a credit card, or both on a sheet to cut out. With
    --session it is a sheet about that session: what was hit, what the chart learned from it, what to do next. A .html
    is a page for the phone. With --temp, --wind, --rise and so on the carries are that day's.
    """
    what = _kind(file, kind, given["session_name"])
    _check_place(file, what)
    _check(what, size, rise, given)
    check_words(given)
    words = {**given, "rise": rise}
    was_there = file.exists()
    hush_drawing()
    try:
        made = _make(app, file, what, size or _usual_size(what), words)
    except TooFewShotsError:
        if as_json:
            app.out(_document(what, None, None, Made()))
        raise
    app.say(f"{'replaced' if was_there else 'written to'} {printable(str(file))}")
    if as_json:
        app.out(_document(what, file, size or _usual_size(what), made))


def _kind(file: Path, kind: Kind | None, session: str | None) -> Kind:
    """Return what is to be made, from the option or else the ending."""
    ending = file.suffix.lower()
    if ending not in _ENDINGS.values():
        raise BadRequestError(
            f"{quoted(file)} ends in neither .pdf nor .html",
            "name a FILE.pdf for a card or a session sheet, a FILE.html for a page",
        )
    if kind is None:
        kind = "page" if ending == _ENDINGS["page"] else "card" if session is None else "session"
    if ending != _ENDINGS[kind]:
        raise BadRequestError(f"--kind {kind} and {quoted(file)} together", f"name a FILE{_ENDINGS[kind]}")
    return kind


def _check_place(file: Path, kind: Kind) -> None:
    """Refuse a place where nothing can be put, before anything is worked out."""
    if file.is_dir() or not file.absolute().parent.is_dir():
        raise BadRequestError(
            f"{quoted(file)} is no place for {_NAMES[kind]}", f"give a FILE{_ENDINGS[kind]} in a folder that is there"
        )


def _check(kind: Kind, size: "PaperSize | None", rise: str | None, given: dict[str, Any]) -> None:
    """Refuse options that mean nothing for what is made."""
    if size is not None and size not in _SIZES[kind]:
        named = " or ".join(f"--size {name}" for name in _SIZES[kind])
        raise BadRequestError(f"--size {size} with {_NAMES[kind]}", f"take {named}" if named else "leave it out")
    asked = {
        "--session": given["session_name"] is not None,
        "--spin": given["with_spin"],
        "--trajectories": given["with_flights"],
        "--window": given["window"] is not None,
        "--shots": given["shots_file"] is not None,
        "a day's conditions": rise is not None or is_given(given),
    }
    fits: dict[Kind, set[str]] = {
        "card": {"--spin", "--trajectories", "--window", "--shots", "a day's conditions"},
        "page": {"--window", "--shots", "a day's conditions"},
        "session": {"--session"},
    }
    for option, is_there in asked.items():
        if is_there and option not in fits[kind]:
            raise BadRequestError(f"{option} with {_NAMES[kind]}", _WHY.get((kind, option), "leave it out"))


_WHY: Final[dict[tuple[Kind, str], str]] = {
    ("page", "--spin"): "leave it out: the page has the spin",
    ("session", "--shots"): "import the file first: wedgelab import FILE.csv",
    ("session", "a day's conditions"): "leave them out: the session's own are noted with session set",
}


def _usual_size(kind: Kind) -> "PaperSize | None":
    return next(iter(_SIZES[kind]), None)


def _make(app: App, file: Path, kind: Kind, size: "PaperSize | None", given: dict[str, Any]) -> Made:
    if kind == "page" or size is None:
        from wedgelab.cli.report_page import write_page

        write_page(app, file, given)
        return Made()
    from wedgelab.cli.report_paper import write_card, write_session

    if kind == "card":
        return write_card(app, file, size, given)
    name = given["session_name"]
    return write_session(app, file, size, LAST if name is None else name)


def _document(kind: Kind, file: Path | None, size: "PaperSize | None", made: Made) -> str:
    """Return what was written; without a file an empty document.

    Bytes of a path that are no text stand as the escapes by which Python and JSON name them again (PEP 383).
    """
    from wedgelab.render.json import document

    said = document(
        "report",
        report=kind,
        path=None if file is None else str(file),
        size=None if file is None else size,
        size_mm=made.size_mm,
        pages=made.pages,
        cells=made.cells,
    )
    return "".join(f"\\u{ord(sign):04x}" if _NO_TEXT[0] <= sign <= _NO_TEXT[1] else sign for sign in said)
