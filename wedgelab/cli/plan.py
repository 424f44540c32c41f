"""``wedgelab plan``: what to practise next, so that the chart becomes surest."""

from typing import TYPE_CHECKING, Any, Final

import click

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.fitting import fit_log
from wedgelab.cli.options import alone_option, json_option, session_option, shots_options, window_option
from wedgelab.cli.pictures import picture_options, read_pictures, save_pictures
from wedgelab.cli.waiting import waiting
from wedgelab.errors import BadRequestError, NothingFitsError, TooFewShotsError
from wedgelab.terminal.lines import read_carry
from wedgelab.units import from_unit, in_unit

if TYPE_CHECKING:
    from wedgelab.cli.drill_desk import Desk
    from wedgelab.drill.machine import DrillPlan
    from wedgelab.model.player import FittedPlayer
    from wedgelab.plan.session import Limits, SessionPlan
    from wedgelab.plan.wanted import Wanted

USUAL_BALLS: Final = 40
MOST_TARGETS: Final = 40


@click.command(epilog="Example: wedgelab plan --balls 40 --from 45yd --to 75yd")
@click.option("--balls", type=int, help=f"Balls that you have, warm-up included; {USUAL_BALLS} if no minutes are said.")
@click.option("--minutes", type=float, help="Time that you have.")
@click.option("--from", "low", metavar="DISTANCE", help="Make the chart surest from here on.")
@click.option("--to", "high", metavar="DISTANCE", help="And as far as here.")
@click.option("--targets", metavar="LIST", help="Make these distances surest, an event's for example: 45,62,70.")
@click.option("--most", "cap", type=int, default=6, show_default=True, help="Most balls of one shot.")
@click.option("--warm-up", type=int, help="Easy balls first, not logged; 6, of few balls a quarter.")
@click.option("--ball-seconds", type=float, default=45.0, show_default=True, help="Time for a ball.")
@click.option("--change-seconds", type=float, default=60.0, show_default=True, help="Time to begin with a wedge.")
@click.option("--drill", "as_drill", is_flag=True, help="Start the drill: the planned shots are called, and advised.")
@click.option("--lines", is_flag=True, help="With --drill: line by line in place of the full screen.")
@picture_options("how sure each shot is now and after")
@session_option
@window_option
@alone_option
@shots_options
@json_option
@click.pass_obj
def command(
    app: App, /, *, shots_file: str | None, maps: tuple[str, ...], as_json: bool, as_drill: bool,
    session_name: str | None, **options: Any,
) -> None:  # fmt: skip
    """Plan the next practice session: which wedge and swing, how many balls, in which order.

    It is what is expected to make the chart surest, or a span of it, or named targets, for balls or minutes.
    """  # fmt: skip
    from wedgelab.plan.session import check_limits
    from wedgelab.render.plan_text import plan_document, plan_text, verdict

    limits = _limits(options)
    check_limits(limits)
    pictures = read_pictures(options)
    _check_words(options, shots_file, session_name, as_drill=as_drill)
    log = app.read(shots_file, maps, with_others=True)
    try:
        plan = _plan(log, limits, options)
    except (TooFewShotsError, NothingFitsError):
        if as_json:
            app.out(plan_document(None))
        raise
    if not as_drill:
        app.out(plan_document(plan, verdict(plan, log.unit)) if as_json else plan_text(plan, log.unit))
    else:
        (app.say if as_json else app.out)(plan_text(plan, log.unit) + "\n")
    save_pictures(app, pictures, lambda: _figure(plan, log))
    if not as_drill:
        return
    _drill(app, plan, session_name, options, as_json=as_json)


def _figure(plan: "SessionPlan", log: PlayerLog) -> Any:
    from wedgelab.render.plan_figure import plan_figure

    return plan_figure(plan, log.unit)


def _limits(options: dict[str, Any]) -> "Limits":
    from wedgelab.plan.session import Limits

    balls = USUAL_BALLS if options["balls"] is None and options["minutes"] is None else options["balls"]
    return Limits(
        balls, options["minutes"], options["warm_up"], options["cap"],
        options["ball_seconds"] / 60.0, options["change_seconds"] / 60.0,
    )  # fmt: skip


def _check_words(options: dict[str, Any], shots_file: str | None, session: str | None, *, as_drill: bool) -> None:
    if options["targets"] is not None and (options["low"] is not None or options["high"] is not None):
        raise BadRequestError("--targets with --from or --to", "name distances or a span, not both")
    if as_drill and shots_file is not None:
        raise BadRequestError("--drill with --shots", "a drill goes into the log; import the file first")
    if options["lines"] and not as_drill:
        raise BadRequestError("--lines without --drill", "a plan is lines already; leave that out")
    if session is not None and not as_drill:
        raise BadRequestError("--session without --drill", "a plan stores nothing; leave that out")


def _plan(log: PlayerLog, limits: "Limits", options: dict[str, Any]) -> "SessionPlan":
    from wedgelab.plan.session import plan_session

    predictor = fit_log(log)
    wanted = _wanted(log, predictor, options)
    with waiting("planning") as tell:
        return plan_session(predictor, wanted, limits, player=log.name, range_limit_m=log.range_limit_m, on_step=tell)


def _wanted(log: PlayerLog, predictor: "FittedPlayer", options: dict[str, Any]) -> "Wanted":
    from wedgelab.plan.wanted import span, targets, whole_chart

    if options["targets"] is not None:
        return targets(
            predictor, log.bag, _read_targets(options["targets"], log), log.window_rule(options["window"]), log.unit
        )
    low_m, high_m = (
        None if text is None else read_carry(text, log.unit, "target_m") for text in (options["low"], options["high"])
    )
    if low_m is None and high_m is None:
        return whole_chart(log.bag)
    return span(predictor, log.bag, low_m, high_m, log.unit)


def _read_targets(text: str, log: PlayerLog) -> list[float]:
    words = text.replace(";", ",").replace(" ", ",").split(",")
    found = [read_carry(word, log.unit, "target_m") for word in words if word]
    if not 1 <= len(found) <= MOST_TARGETS:
        raise BadRequestError(
            f"--targets has {len(found)} distances", f"give 1 to {MOST_TARGETS}, for example: --targets 45,62,70"
        )
    return found


def _drill(app: App, plan: "SessionPlan", session_name: str | None, options: dict[str, Any], *, as_json: bool) -> None:
    from wedgelab.cli.drill import play_plan

    def calls(desk: "Desk") -> "DrillPlan":
        return drill_of(plan, desk, options["window"])

    play_plan(app, calls, session_name, as_json=as_json, lines=options["lines"])


def drill_of(plan: "SessionPlan", desk: "Desk", window: str | None) -> "DrillPlan":
    """Return the drill of the planned balls, each called at what the chart says that its shot carries."""
    from wedgelab.drill.machine import DrillPlan
    from wedgelab.prediction import ShotKind
    from wedgelab.shots import SwingLength, Wedge

    kinds = [ShotKind(shot.wedge, shot.loft_deg, shot.swing_deg) for shot in plan.shots]
    # the desk's chart is for the air of today's session, if any is noted
    carries_m = [shot.carry_m for shot in plan.shots]
    if desk.predictor is not None:
        carries_m = [prediction.carry_m for prediction in desk.predictor.predict(kinds)]
    calls, shots = [], []
    for shot, carry_m in zip(plan.shots, carries_m, strict=True):
        calls += [from_unit(float(max(1, round(in_unit(carry_m, desk.unit)))), desk.unit)] * shot.balls
        club = Wedge(shot.wedge, shot.loft_deg), SwingLength(shot.swing, shot.swing_deg)
        shots += [club] * shot.balls
    return DrillPlan(
        tuple(calls), min(calls), max(calls), 0, desk.log.window_rule(window), "planned", shots=tuple(shots)
    )
