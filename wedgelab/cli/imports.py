"""``wedgelab import``: shots from a CSV file, checked as a whole before the first is stored.

1. read the file and decide what its columns are; 2. check every cell; 3. leave out what the log has already;
4. store wedges, swings, sessions and shots; 5. say what was done.
"""

from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wedgelab.cli.app import DEFAULT_PLAYER, App
from wedgelab.cli.options import json_option, map_option, session_option
from wedgelab.cli.reading import read_file, read_maps
from wedgelab.errors import BadRequestError, FileProblemError, quoted
from wedgelab.shots import LIMITS, NEW_BAG, Bag, Conditions, new_id
from wedgelab.units import LengthUnit, format_length, format_number

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from wedgelab.store.exchange import EarlierImport, ParsedFile, ParsedRow
    from wedgelab.store.records import ImportRow, PlayerSettings
    from wedgelab.store.store import SqliteStore

MOST_PROBLEMS_SHOWN = 50
PREVIEW_ROWS = 5


@click.command(epilog='Example: wedgelab import range.csv --map carry_m="Flew" --save-mapping range')
@click.argument("file", type=click.Path(path_type=Path, readable=False))  # the reader says more
@map_option
@click.option("--mapping", metavar="NAME", help="Use a saved mapping; --map adds to it.")
@click.option("--save-mapping", metavar="NAME", help="Save this file's mapping under a name of yours.")
@click.option("--dry-run", is_flag=True, help="Show what would be read; store nothing.")
@click.option("--skip-bad", is_flag=True, help="Store the good rows, count the others.")
@click.option("--odd-carries", is_flag=True, help="Take carries that look like a wrong unit (outside 5-200 m).")
@click.option("--as-player", is_flag=True, help="Take another player's export as this player's shots.")
@session_option
@json_option
@click.pass_obj
def command(
    app: App,
    file: Path,
    maps: tuple[str, ...],
    mapping: str | None,
    save_mapping: str | None,
    dry_run: bool,
    skip_bad: bool,
    odd_carries: bool,
    as_player: bool,
    session_name: str | None,
    as_json: bool,
) -> None:
    """Read shots from a CSV FILE. Nothing is stored unless every row can be (or with --skip-bad)."""
    chosen = read_maps(maps)

    def read(player: str, bag: Bag, unit: LengthUnit, mapping: "Mapping[str, str]") -> "ParsedFile":
        return read_file(
            file, mapping, player, bag, unit, app.now(),
            session=session_name, as_player=as_player, odd_carries=odd_carries,
        )  # fmt: skip

    parsed = None if app.path.exists() else _read_before_any_log(app, read, chosen, mapping)
    if parsed is not None:  # a file that is refused makes no log
        if dry_run:
            _report(app, parsed, parsed.rows, app.unit(), dry_run=True, skip_bad=skip_bad, as_json=as_json)
            return
        _refuse_bad(app, parsed, skip_bad=skip_bad)
    with app.open(create=not dry_run) as store:
        settings = app.peek(store)
        unit = app.unit(settings)
        if mapping is not None:
            chosen = {**store.mapping(mapping), **chosen}
        if parsed is None or settings.created_at:  # a log that came up meanwhile may know the clubs
            parsed = read(settings.name, app.bag(store, settings), unit, chosen)
        fresh = _fresh(store, settings, file, parsed)
        for notice in _air_notices(store, settings, fresh):
            app.say(notice)
        if not dry_run:
            _refuse_bad(app, parsed, skip_bad=skip_bad)
            if fresh:
                _store(store, app.settle(store, settings).name, file, parsed, fresh)
            if save_mapping is not None:
                store.save_mapping(save_mapping, chosen)
                app.say(f"mapping saved; next time: wedgelab import FILE --mapping {save_mapping}")
    _report(app, parsed, fresh, unit, dry_run=dry_run, skip_bad=skip_bad, as_json=as_json)


def _read_before_any_log(
    app: App, read: "Callable[..., ParsedFile]", chosen: "Mapping[str, str]", mapping: str | None
) -> "ParsedFile":
    if mapping is not None:
        raise BadRequestError(f"there is no saved mapping {quoted(mapping)}", "no log exists yet")
    return read(app.player_option or DEFAULT_PLAYER, NEW_BAG, app.unit(), chosen)


def _refuse_bad(app: App, parsed: "ParsedFile", *, skip_bad: bool) -> None:
    """Name every bad cell and stop, unless the good rows are wanted."""
    if parsed.problems and not skip_bad:
        _complain(app, parsed)
        raise FileProblemError(
            parsed.table.path,
            f"{len(parsed.problems)} cell(s) cannot be read",
            "nothing was stored; mend them or use --skip-bad",
        )


def _fresh(store: "SqliteStore", settings: "PlayerSettings", file: Path, parsed: "ParsedFile") -> "list[ParsedRow]":
    """Return the rows that the log has not; shots of an import that was undone come in again under new ids."""
    from wedgelab.store.exchange import fresh_rows

    player = settings.name
    is_known = bool(settings.created_at)
    rows = store.import_rows(player) if is_known else []
    earlier = _earlier(store, player, rows) if is_known else []
    ids = [row.shot.shot_id for row in parsed.rows if row.had_id]
    known = store.known_shot_ids(ids)
    again = known & store.undone_import_shot_ids(player) if is_known else set()
    fresh = fresh_rows(parsed, file_name=str(file), earlier=earlier, known_shot_ids=known - again)
    back = Counter(row.row_key for row in rows)  # what came in again already stands there under another id
    result = []
    for row in fresh:
        if row.shot.shot_id not in again:
            result.append(row)
        elif back[row.row_key] > 0:
            back[row.row_key] -= 1
        else:
            result.append(replace(row, shot=row.shot.replace(shot_id=new_id())))
    return result


def _earlier(store: "SqliteStore", player: str, rows: "Sequence[ImportRow]") -> "list[EarlierImport]":
    """Return what came in from files before: the imports, and the rows that became balls of a drill."""
    from wedgelab.store.exchange import EarlierImport, had_time
    from wedgelab.store.placed import followed_imports

    of: dict[str, list[ImportRow]] = {}
    for row in rows:
        of.setdefault(row.import_id, []).append(row)
    imported = [
        EarlierImport(
            batch.file_name,
            tuple((row.row_key, had_time(row.row_key)) for row in of.get(batch.import_id, [])),
            tuple(row.row_no for row in of.get(batch.import_id, [])),
        )
        for batch in store.imports(player)
    ]
    return imported + followed_imports(store.followed_rows(player))


def _air_notices(store: "SqliteStore", settings: "PlayerSettings", fresh: "Sequence[ParsedRow]") -> "list[str]":
    """Say what a file says of the air that may be read wrongly, or that the log knows otherwise."""
    notices = []
    winds = [row.conditions.wind_mps or 0.0 for row in fresh]
    if max(winds, default=0.0) > 0 and min(winds) >= 0:
        notices.append("every wind in the file is read as a tail wind; a head wind is negative, or head_wind_mps")
    noted = {s.name: s.conditions for s in store.sessions(settings.name)} if settings.created_at else {}
    for name, rows in _by_session(fresh).items():
        said, before = rows[0].conditions.known(), noted.get(name, Conditions()).known()
        for column in sorted(said.keys() & before.keys()):
            _, _, unit, digits = LIMITS[column]
            new, old = (format_number(value, digits) for value in (said[column], before[column]))
            if new != old:
                what = column.rsplit("_", 1)[0].replace("_", " ")
                notices.append(
                    f"session {quoted(name)} has {what} {old} {unit} already, and keeps it; the file says {new} {unit}"
                )
    return notices


def _store(store: "SqliteStore", player: str, file: Path, parsed: "ParsedFile", fresh: "Sequence[ParsedRow]") -> None:
    from wedgelab.store.records import ImportBatch, filled_in

    sessions = {
        name: next((row.conditions for row in rows if not row.conditions.is_empty), Conditions())
        for name, rows in _by_session(fresh).items()
    }
    noted = {session.name: session.conditions for session in store.sessions(player)}
    for name, conditions in sessions.items():  # refused before anything is written
        filled_in(noted.get(name, Conditions()), conditions)
    for wedge in parsed.new_wedges:
        store.add_wedge(player, wedge)
    for swing in parsed.new_swings:
        store.add_swing(player, swing)
    for session, rows in _by_session(fresh).items():
        started = min(row.shot.hit_at for row in rows)
        store.ensure_session(player, session, started_at=started, conditions=sessions[session])
    batch = ImportBatch(
        import_id=new_id(),
        player=player,
        file_name=file.name,
        content_sha256=parsed.table.content_sha256,
        row_count=len(fresh),
    )
    store.add_shots(
        [row.shot for row in fresh],
        import_batch=batch,
        row_keys=[row.row_key for row in fresh],
        row_nos=[row.line for row in fresh],
    )


def _by_session(rows: "Sequence[ParsedRow]") -> "dict[str, list[ParsedRow]]":
    sessions: dict[str, list[ParsedRow]] = {}
    for row in rows:
        sessions.setdefault(row.shot.session, []).append(row)
    return sessions


def _complain(app: App, parsed: "ParsedFile") -> None:
    for problem in parsed.problems[:MOST_PROBLEMS_SHOWN]:
        app.say(str(problem))
    if len(parsed.problems) > MOST_PROBLEMS_SHOWN:
        app.say(f"... and {len(parsed.problems) - MOST_PROBLEMS_SHOWN} more")


def _report(
    app: App,
    parsed: "ParsedFile",
    fresh: "Sequence[ParsedRow]",
    unit: LengthUnit,
    *,
    dry_run: bool,
    skip_bad: bool,
    as_json: bool,
) -> None:
    bad_lines = len({problem.line for problem in parsed.problems})
    counts: dict[str, Any] = {
        "file": parsed.table.path,
        "rows": len(parsed.table.rows),
        "stored": 0 if dry_run else len(fresh),
        "new": len(fresh),
        "already_there": len(parsed.rows) - len(fresh),
        "bad": bad_lines,
        "new_wedges": parsed.new_wedges,
        "new_swings": parsed.new_swings,
        "notices": parsed.notices,
    }
    is_refused = bool(parsed.problems) and not skip_bad
    if parsed.problems:
        _complain(app, parsed)
    for notice in parsed.notices:
        app.say(notice)
    if as_json:
        from wedgelab.render.json import document

        problems = [{"line": p.line, "column": p.column, "value": p.value, "wanted": p.wanted} for p in parsed.problems]
        app.out(document("import", dry_run=dry_run, **counts, problems=problems))
        return
    if dry_run:
        _preview(app, parsed, fresh, unit)
    for wedge in parsed.new_wedges:
        app.say(f"{'would add' if dry_run else 'added'} wedge {wedge.label}, {wedge.loft_deg:g} deg")
    for swing in parsed.new_swings:
        app.say(f"{'would add' if dry_run else 'added'} swing {swing.label}, {swing.swing_deg:g} deg")
    if is_refused:  # only a dry run comes here
        good = f"{len(fresh)} of {counts['rows']} rows"
        raise FileProblemError(
            parsed.table.path,
            f"{len(parsed.problems)} cell(s) cannot be read",
            f"nothing would be stored; with --skip-bad {good} would be",
        )
    app.out(_sentence(counts, dry_run=dry_run))


def _preview(app: App, parsed: "ParsedFile", fresh: "Sequence[ParsedRow]", unit: LengthUnit) -> None:
    from wedgelab.render.text import listing
    from wedgelab.store.csvfile import delimiter_name

    app.out(f"{parsed.table.path}: {parsed.table.encoding}, {delimiter_name(parsed.table)} between the columns")
    for column in parsed.plan.columns:
        app.out(f"  {column}")
    if parsed.plan.ignored:
        app.out(f"  not used: {', '.join(parsed.plan.ignored)}")
    rows = [
        [
            str(r.line),
            r.shot.session,
            r.shot.wedge,
            r.shot.swing,
            format_length(r.shot.carry_m, unit, 1),
            format_number(r.shot.spin_rpm),
        ]
        for r in fresh[:PREVIEW_ROWS]
    ]
    app.out(listing(["line", "session", "wedge", "swing", f"carry {unit}", "spin rpm"], rows, "no new row"))
    if len(fresh) > PREVIEW_ROWS:
        app.out(f"... and {len(fresh) - PREVIEW_ROWS} more")


def _sentence(counts: dict[str, Any], *, dry_run: bool) -> str:
    new, there, bad = counts["new"], counts["already_there"], counts["bad"]
    parts = [f"{new} shot(s) {'would be stored' if dry_run else 'stored'}"]
    if there:
        parts.append(f"{there} in the log already")
    if bad:
        parts.append(f"{bad} bad row(s) left out")
    return f"{Path(counts['file']).name}: {', '.join(parts)}"
