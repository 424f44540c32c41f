"""The paper of ``wedgelab report``: from the log to a card or a session sheet."""

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.conditions import read_day
from wedgelab.cli.fitting import air_note, fit_log, too_few
from wedgelab.cli.pictures import say_boxes
from wedgelab.cli.report import LAST, Made
from wedgelab.cli.waiting import Step, waiting
from wedgelab.errors import BadRequestError, NothingFitsError, TooFewShotsError, quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from wedgelab.chart import Chart
    from wedgelab.learned import Known
    from wedgelab.model.player import FittedPlayer
    from wedgelab.prediction import Prediction, Predictor, ShotKind
    from wedgelab.render.paper import PaperSize
    from wedgelab.render.session_sheet import DrillResult, SessionFacts
    from wedgelab.store.records import Session
    from wedgelab.store.store import SqliteStore
    from wedgelab.window import WindowRule

_FLIGHTS = ("low", "high")


def write_card(app: App, path: Path, size: "PaperSize", given: Mapping[str, Any]) -> Made:
    """Write the chart as a card, at its own size or on a sheet."""
    from wedgelab.chart import build_chart
    from wedgelab.render.card import CardFacts
    from wedgelab.render.card_sheet import card_paper
    from wedgelab.render.paper import PAPER_MM, save_pages

    log = app.read(given["shots_file"], given["maps"], with_others=True)
    day = read_day(given, given["rise"], log.reference, log.unit)
    window = None if given["window"] is None else log.window_rule(given["window"])
    with waiting("making the card") as tell:
        predictor = fit_log(log)
        tell(0.5)
        chart = build_chart(
            predictor, log.bag, player=log.name, reference=log.reference, day=day, air_note=air_note(log, predictor)
        )
        played = predictor if day is None else predictor.on(day)
        tell(0.6)
        paper = card_paper(
            CardFacts(
                chart,
                log.unit,
                last_day=_last_day(log),
                with_spin=given["with_spin"],
                flights=_flights(played, chart) if given["with_flights"] else (),
                chances=() if window is None else _chances(played, chart, window),
                window="" if window is None else window.describe(log.unit),
                day_date="" if day is None else app.now().date().isoformat(),
                n_others=len(log.others),
            ),
            size,
        )
    say_boxes(app, save_pages(paper.pages, path, f"Wedge card of {log.name}"))
    for note in paper.notes:
        app.say(note)
    return Made(PAPER_MM[size], len(paper.pages), chart.cells)


def _last_day(log: PlayerLog) -> str:
    return max(log.shots, key=lambda shot: datetime.fromisoformat(shot.hit_at)).hit_at[:10]


def _kinds(chart: "Chart", trajectory: str) -> "list[ShotKind]":
    from wedgelab.prediction import ShotKind

    return [ShotKind(cell.wedge, cell.loft_deg, cell.swing_deg, trajectory) for cell in chart.cells]


def _flights(played: "Predictor", chart: "Chart") -> "tuple[tuple[str, tuple[Prediction, ...]], ...]":
    return tuple((name, tuple(played.predict(_kinds(chart, name)))) for name in _FLIGHTS)


def _chances(played: "Predictor", chart: "Chart", window: "WindowRule") -> tuple[float, ...]:
    """Return for each cell the chance that a solid ball stays in the window around its carry."""
    kinds = _kinds(chart, "stock")
    return tuple(
        float(played.window_probability([kind], *window.around(cell.played_m))[0]) if cell.played_m else math.nan
        for kind, cell in zip(kinds, chart.cells, strict=True)
    )


def write_session(app: App, path: Path, size: "PaperSize", name: str) -> Made:
    """Write the sheet of a session; ``last`` is the latest with shots, unless one is called so."""
    from wedgelab.render.paper import PAPER_MM, save_pages
    from wedgelab.render.session_sheet import session_pages

    with waiting("making the sheet") as tell:
        facts = _session_facts(app, name, tell)
        pages = session_pages(facts, PAPER_MM[size])
    say_boxes(app, save_pages(pages, path, f"Session {facts.name} of {facts.player}"))
    return Made(PAPER_MM[size], len(pages), facts.learned.cells)


def _session_facts(app: App, name: str, tell: Step) -> "SessionFacts":
    log = app.read()
    if not log.shots and not app.path.exists():
        raise too_few(log)
    with app.open(create=False) as store:
        sessions = store.sessions(log.name) if store.players() else []
        session = _chosen(app, store, log, sessions, name)
        earlier = {one.name for one in itertools.takewhile(lambda one: one.name != session.name, sessions)}
        before = replace(log, shots=[shot for shot in log.shots if shot.session in earlier])
        after = replace(log, shots=[shot for shot in log.shots if shot.session in earlier | {session.name}])
        others = app.others(store, after)
        drills = _drills(store, after, session)
    facts = _facts(replace(before, others=others), replace(after, others=others), session, drills, tell)
    return replace(facts, is_latest=len(after.shots) == len(log.shots))


def _chosen(
    app: App, store: "SqliteStore", log: PlayerLog, sessions: "Sequence[Session]", name: str
) -> "Session":  # fmt: skip
    if name.strip() == LAST and LAST not in {one.name for one in sessions}:
        found = next((one for one in reversed(sessions) if one.n_shots), None)
        if found is None:
            raise too_few(log)
        if found.name != sessions[-1].name:
            empty = quoted(sessions[-1].name)
            app.say(f"session {empty} has no shots: this is the sheet of {quoted(found.name)}, the last that has some")
        return found
    chosen = store.session(log.name, name)
    if not chosen.n_shots:
        raise TooFewShotsError(
            f"session {quoted(chosen.name)} has no shots", "log some, or name another: wedgelab session list"
        )
    return chosen


def _drills(store: "SqliteStore", log: PlayerLog, session: "Session") -> "list[DrillResult]":
    """Return the drills with a ball in the session, as they stand now."""
    from wedgelab.cli.drill_plan import recorded_state
    from wedgelab.drill.scores import summarise
    from wedgelab.render.drill_text import band_label
    from wedgelab.render.session_sheet import DrillResult

    played = {shot.drill_id for shot in log.shots if shot.session == session.name and shot.drill_id}
    found = []
    for record in store.drills(log.name):
        if record.drill_id in played:
            state = recorded_state(store, record)
            summary = summarise(state, partial(band_label, log.unit))
            if summary is not None:
                found.append(DrillResult(record.started_at, state, summary))
    return found


def _facts(
    before: PlayerLog, after: PlayerLog, session: "Session", drills: "list[DrillResult]", tell: Step
) -> "SessionFacts":  # fmt: skip
    from wedgelab.cli.plan import USUAL_BALLS
    from wedgelab.learned import FEWEST_TOLD, hit_groups, known_carries, what_was_learned
    from wedgelab.plan.session import Limits, plan_session
    from wedgelab.plan.wanted import whole_chart
    from wedgelab.render.session_sheet import SessionFacts

    bag = after.bag
    wanted = whole_chart(bag)  # refuses an empty bag
    predictor = fit_log(after)
    tell(0.3)
    mine = [i for i, shot in enumerate(after.shots) if shot.session == session.name]
    shots, solid = [after.shots[i] for i in mine], [bool(predictor.solid[i]) for i in mine]
    learned = what_was_learned(
        bag,
        known_carries(fit_log(before), bag) if before.shots else _believed(predictor, after),
        known_carries(predictor, bag),
        solid=[shot for shot, is_solid in zip(shots, solid, strict=True) if is_solid],
        from_others=not before.shots,
        can_tell=sum(solid) >= FEWEST_TOLD,
    )
    tell(0.5)
    plan, no_plan = None, ""
    try:
        plan = plan_session(
            predictor, wanted, Limits(balls=USUAL_BALLS), player=after.name, range_limit_m=after.range_limit_m,
            on_step=lambda share: tell(0.5 + 0.3 * share),
        )  # fmt: skip
    except (BadRequestError, NothingFitsError) as error:  # the rest of the sheet is worth having without
        no_plan = str(error)
    return SessionFacts(
        player=after.name,
        name=session.name,
        started_at=session.started_at,
        conditions=session.conditions,
        ball=session.ball,
        note=session.note,
        unit=after.unit,
        reference=after.reference,
        groups=hit_groups(shots, solid, bag.swings),
        learned=learned,
        n_others=len(after.others),
        drills=tuple(drills),
        plan=plan,
        no_plan=no_plan,
    )


def _believed(predictor: "FittedPlayer", log: PlayerLog) -> "tuple[Known, ...]":
    """Return what is believed of a golfer of whom nothing is logged, for every cell of the chart."""
    from wedgelab.learned import Known
    from wedgelab.model.explain import explain

    bags = [replace(log.bag, wedges=(wedge,)) for wedge in log.bag.wedges]  # the curve is that of one wedge
    curves = [explain(predictor, bag).curve for bag in bags]
    return tuple(Known(at.carry_prior_m, at.carry_prior_sd_m, "beyond") for curve in curves for at in curve)
