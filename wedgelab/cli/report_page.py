"""``wedgelab report FILE.html``: the page for the phone, from the log to the file."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.chart_pictures import brought, find_dispersions
from wedgelab.cli.conditions import read_day
from wedgelab.cli.fitting import air_note, fit_log
from wedgelab.cli.waiting import waiting
from wedgelab.errors import NothingFitsError

if TYPE_CHECKING:
    from wedgelab.drill.history import DrillPoint
    from wedgelab.gaps.report import GapReport
    from wedgelab.prediction import Day, Predictor
    from wedgelab.render.page import PageFacts
    from wedgelab.shots import Shot
    from wedgelab.window import Window


def write_page(app: App, path: Path, given: Mapping[str, Any]) -> None:
    """Write the page of the player's log, or of the file of ``--shots``, to the path: whole, or not at all.

    ``given`` are the words of the command: ``shots_file``, ``maps``, ``window``, ``rise`` and those of a day.
    """
    from wedgelab.render.files import replace_file
    from wedgelab.render.page import page_html

    shots_file = given["shots_file"]
    log = app.read(shots_file, given["maps"], with_others=True)
    day = read_day(given, given["rise"], log.reference, log.unit)
    drills = _drills(app, log, is_file=shots_file is not None)
    facts = page_facts(log, day, log.window_rule(given["window"]), drills)
    day_date = "" if day is None else app.now().date().isoformat()
    text = page_html(replace(facts, day_date=day_date, n_others=len(log.others)))
    replace_file(path, _writer(text))


def page_facts(log: PlayerLog, day: "Day | None", window: "Window", drills: "tuple[DrillPoint, ...]") -> "PageFacts":
    """Ask the model everything that the page tells; a log without shots raises `TooFewShotsError`."""
    from wedgelab.chart import build_chart, carry_curves
    from wedgelab.choose.table import choice_table
    from wedgelab.render.page import PageFacts
    from wedgelab.units import from_unit

    player = fit_log(log)
    played = player if day is None else player.on(day)
    with waiting("asking the chart") as tell:
        rows = choice_table(played, log.bag, window=window, step_m=from_unit(1.0, log.unit), on_step=tell)
    return PageFacts(
        chart=build_chart(
            player, log.bag, player=log.name, reference=log.reference, day=day, air_note=air_note(log, player)
        ),
        unit=log.unit,
        last_shot=max(log.shots, key=_moment).hit_at[:10],
        rows=rows,
        curves=carry_curves(played, log.bag),
        gaps=_gaps(played, log, window),
        window=window,
        shots=tuple(sorted(brought(log, player), key=_moment)) if day is None else (),
        mishits=frozenset(shot.shot_id for shot, is_solid in zip(log.shots, player.solid, strict=True) if not is_solid),
        dispersions=find_dispersions(log, player),
        drills=drills,
    )


def _gaps(played: "Predictor", log: PlayerLog, window: "Window") -> "GapReport | None":
    import numpy as np

    from wedgelab.cli.gaps import SEED
    from wedgelab.gaps.report import build_gaps

    try:
        return build_gaps(
            played, log.bag, window=window, rng=np.random.default_rng(SEED), player=log.name, unit=log.unit
        )
    except NothingFitsError:  # a day on which no ball gets up to the green
        return None


def _moment(shot: "Shot") -> datetime:
    return datetime.fromisoformat(shot.hit_at)


def _drills(app: App, log: PlayerLog, *, is_file: bool) -> "tuple[DrillPoint, ...]":
    """Return the history of the log's drills; a CSV file has none."""
    if is_file or not app.path.exists():
        return ()
    from wedgelab.cli.drill_plan import recorded_state
    from wedgelab.drill.history import drill_history

    with app.open(create=False) as store:
        if log.name not in {one.name for one in store.players()}:
            return ()
        return drill_history((one.started_at, recorded_state(store, one)) for one in store.drills(log.name))


def _writer(text: str) -> Callable[[Path], None]:
    def write(draft: Path) -> None:
        draft.write_text(text, encoding="utf-8", newline="\n")

    return write
