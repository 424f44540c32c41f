"""``wedgelab export``: the log as CSV in the canonical columns; `import` takes it back unchanged."""

import io
from pathlib import Path

import click

from wedgelab.cli.app import App
from wedgelab.cli.options import json_option
from wedgelab.errors import FileProblemError


@click.command(epilog="Example: wedgelab export robin.csv")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Overwrite the file if it exists.")
@json_option
@click.pass_obj
def command(app: App, file: Path | None, force: bool, as_json: bool) -> None:
    """Write all shots of a player to stdout, or to FILE. Columns are SI, as in docs/names.md."""
    from wedgelab.store.exchange import write_shots

    log = app.read()
    conditions = {}
    if log.shots:
        with app.open(create=False) as store:
            conditions = {session.name: session.conditions for session in store.sessions(log.name)}
    if as_json and file is None:
        from wedgelab.render.json import list_document

        app.out(list_document("export", "shots", log.shots))
        return
    text = io.StringIO()
    count = write_shots(text, log.shots, conditions)
    if file is None:
        click.echo(text.getvalue(), nl=False)
        return
    try:
        with file.open("w" if force else "x", encoding="utf-8", newline="") as stream:
            stream.write(text.getvalue())
    except FileExistsError as error:
        raise FileProblemError(file, "it exists already", "choose another name or use --force") from error
    except OSError as error:
        raise FileProblemError(file, f"cannot be written ({error.strerror})", "choose another place") from error
    app.say(f"{count} shot(s) written to {file}")
