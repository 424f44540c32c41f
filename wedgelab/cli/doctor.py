"""``wedgelab doctor``: where the log is, and whether it is sound."""

import platform

import click

from wedgelab import __version__
from wedgelab.cli.app import App
from wedgelab.cli.options import json_option
from wedgelab.errors import StoreError


@click.command(epilog="Example: wedgelab doctor")
@json_option
@click.pass_obj
def command(app: App, as_json: bool) -> None:
    """Say where the log is, what it holds, and check that it is sound."""
    from wedgelab.render.json import document
    from wedgelab.store.pending import is_waiting, pending_path
    from wedgelab.store.schema import newest_version

    path = app.path
    facts: dict[str, object] = {
        "wedgelab": __version__,
        "python": platform.python_version(),
        "log": str(path),
        "exists": path.exists(),
        "schema_version": newest_version(),
        "players": {},
        "kept_aside": is_waiting(path),
        "problems": [],
    }
    problems: list[str] = []
    if path.exists():
        with app.open(create=False) as store:
            facts["players"] = {player.name: store.count_shots(player.name) for player in store.players()}
            problems = store.check()
            facts["problems"] = problems
    if as_json:
        app.out(document("doctor", **facts))
    else:
        app.out(f"wedgelab {__version__}, Python {facts['python']}, schema {facts['schema_version']}")
        app.out(f"log: {path}{'' if path.exists() else ' (not made yet: the first shot makes it)'}")
        players = facts["players"]
        if isinstance(players, dict):
            for name, count in players.items():
                app.out(f"  {name}: {count} shot(s)")
        if facts["kept_aside"]:
            app.out(f"shots kept aside wait in {pending_path(path)}; the next command that writes takes them in")
        app.out("no problem found" if not problems else "\n".join(problems))
    if problems:
        raise StoreError(path, f"{len(problems)} problem(s) found", "keep a copy of the file, then: wedgelab export")
