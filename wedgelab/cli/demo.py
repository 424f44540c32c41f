"""``wedgelab demo``: the whole job on the files of an invented player, in a throw-away log."""

import io
import sys
import tempfile
from contextlib import contextmanager
from importlib.resources import as_file, files
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from wedgelab.cli.app import App
from wedgelab.errors import FileProblemError, WedgelabError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from importlib.resources.abc import Traversable

PLAYER: Final = "Nell"
IMPORTS: Final = (
    ("2026-05-12-chart.csv",),
    ("2026-05-26-paced.csv",),
    (
        "2026-06-09-evening.csv", "--map", "hit_at=Day", "--map", "wedge=Which", "--map", "swing=Arm",
        "--map", "carry_yd=Flew", "--map", "spin=Turns", "--save-mapping", "evening",
    ),
    ("2026-06-20-targets.csv",),
)  # fmt: skip
DRILL: Final = ("drill", "--balls", "12", "--seed", "7", "--from", "35", "--to", "95", "--order", "random")
ANSWERS: Final = "drill-answers.txt"


def demo_folder() -> "Traversable":
    """Return the demo's files: inside an installed package, or beside it in a checkout."""
    inside = files("wedgelab").joinpath("demo_data")
    if inside.is_dir():
        return inside
    return Path(__file__).resolve().parents[2] / "demo"


@click.command(epilog="Example: wedgelab demo --keep ~/wedgelab-demo")
@click.option(
    "--keep", metavar="FOLDER", type=click.Path(path_type=Path), help="Keep the log and the files here to play with."
)
@click.pass_obj
def command(app: App, keep: Path | None) -> None:
    """Import an invented player's four evenings, chart them, choose a shot, run a scripted drill."""
    with tempfile.TemporaryDirectory(prefix="wedgelab-demo-") as temporary, as_file(demo_folder()) as folder:
        home = Path(temporary)
        if keep is not None:
            home = keep.expanduser()
            if home.exists() and (not home.is_dir() or any(home.iterdir())):
                raise FileProblemError(keep, "it is there already and not an empty folder", "name a new folder")
            try:
                home.mkdir(parents=True, exist_ok=True)
                for file in sorted(folder.glob("*.csv")):
                    (home / file.name).write_bytes(file.read_bytes())
            except OSError as error:
                raise FileProblemError(keep, f"cannot be written ({error.strerror})", "name another folder") from error
        _tour(app, folder, home / "demo.db")
        if keep is not None:
            app.out(f"\nYours to play with: wedgelab --db {home / 'demo.db'} choose 60yd")


def _tour(app: App, folder: Path, db: Path) -> None:
    app.out(
        f"{PLAYER} is made up: a good amateur with four wedges and 150 balls over four\n"
        "evenings. Her coach asks how far each wedge carries at each swing length, which\n"
        "one to take at 70 yards when it must stop, and whether she can play to a called\n"
        "number. Every step below is a command that you can type yourself.\n"
    )
    app.out("1. Her files come in: three hands wrote them, with other columns, units and separators.")
    for step in IMPORTS:
        _run(app, db, ["import", *step], folder)
    app.out(
        "\n2. The chart. Each carry has a range, because the next ball will not be the average. The first\n"
        "evening was cold with a head wind: its carries are brought to mild, still air first."
    )
    _run(app, db, ["chart"], folder)
    app.out("\n3. The coach asks for 70 yards that stop: compare the chance inside the window with the spin.")
    _run(app, db, ["choose", "70yd", "--want", "spin"], folder)
    app.out("\n4. The same on a cold morning in the hills, against the wind: the chart moves with the air.")
    _run(app, db, ["choose", "70yd", "--temp", "4C", "--altitude", "900m", "--wind", "-3m/s"], folder)
    app.out("\n5. A drill: random calls, the answers come from a file here. A guess before the number trains feel.")
    with _answers((folder / ANSWERS).read_text("utf-8")):
        _run(app, db, list(DRILL), folder)
    app.out("\nEvery ball of the drill is now a shot of the log: the chart has learnt from it too.")


def _run(app: App, db: Path, words: "Sequence[str]", folder: Path) -> None:
    from wedgelab.cli.main import cli

    app.out(f"\n$ wedgelab {' '.join(word if ' ' not in word else repr(word) for word in words)}")
    sys.stdout.flush()
    located = [str(folder / word) if word.endswith(".csv") else word for word in words]
    try:
        cli.main(
            ["--db", str(db), "--player", PLAYER, "--units", "yd", *located],
            prog_name="wedgelab",
            standalone_mode=False,
        )
    except WedgelabError as error:
        raise FileProblemError(folder, f"a step of the demo failed ({error})", "install wedgelab again") from error


@contextmanager
def _answers(text: str) -> "Iterator[None]":
    """Let a scripted player answer in place of stdin."""
    before = sys.stdin
    sys.stdin = io.StringIO(text)
    try:
        yield
    finally:
        sys.stdin = before
