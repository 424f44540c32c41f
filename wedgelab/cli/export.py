"""``wedgelab export``: the log as CSV in the canonical columns; `import` takes it back unchanged."""

import io
from pathlib import Path
from uuid import uuid4

import click

from wedgelab.cli.app import App
from wedgelab.cli.options import json_option, shots_options
from wedgelab.errors import BadRequestError, FileProblemError


@click.command(epilog="Example: wedgelab export robin.csv")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Overwrite the file if it exists.")
@shots_options
@json_option
@click.pass_obj
def command(
    app: App, file: Path | None, force: bool, shots_file: str | None, maps: tuple[str, ...], as_json: bool
) -> None:
    """Write all shots of a player to stdout, or to FILE. Columns are SI, as in docs/names.md."""
    from wedgelab.store.exchange import write_shots

    if as_json and file is not None:
        raise BadRequestError("--json and a FILE together", "take one of them")
    log = app.read(shots_file, maps)
    if as_json:
        from wedgelab.render.json import list_document

        app.out(list_document("export", "shots", log.shots))
        return
    text = io.StringIO()
    count = write_shots(text, log.shots, log.conditions)
    if file is None:
        app.out_utf8(text.getvalue())
        return
    try:
        _write(file, text.getvalue(), force=force)
    except FileExistsError as error:
        raise FileProblemError(file, "it exists already", "choose another name or use --force") from error
    except OSError as error:
        raise FileProblemError(file, f"cannot be written ({error.strerror})", "choose another place") from error
    app.say(f"{count} shot(s) written to {file}")


def _write(file: Path, text: str, *, force: bool) -> None:
    """Write the whole text or leave things as they were: half an export must not take the place of a whole one."""
    if force and file.exists() and not file.is_file():  # a device or a pipe
        file.write_text(text, encoding="utf-8", newline="")
        return
    place = file.resolve() if force else file
    draft = place.with_name(f".{place.name}.{uuid4().hex[:8]}.part") if force else file
    with draft.open("x", encoding="utf-8", newline="") as stream:
        try:
            stream.write(text)
            stream.flush()
        except BaseException:
            draft.unlink()
            raise
    if force:
        draft.replace(place)
