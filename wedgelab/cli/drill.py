"""``wedgelab drill``: targets are called, a ball for each, and the summary.

1. make the calls, bring back a drill that was stopped, or take an earlier one's again; 2. call, take the answer, store
it, show the miss, on a full screen or line by line; 3. sum up against what the chart expected when the drill began.
"""

import contextlib
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from wedgelab.cli.app import App
from wedgelab.cli.drill_listen import Listener
from wedgelab.cli.options import alone_option, json_option, map_option, session_option, window_option
from wedgelab.cli.pictures import FORMATS, picture_options, read_pictures, save_pictures
from wedgelab.errors import BadRequestError, StoreError, TooFewShotsError, WedgelabError
from wedgelab.shots import MAX_NAME, clean_text

if TYPE_CHECKING:
    from collections.abc import Callable

    from wedgelab.cli.drill_desk import Desk
    from wedgelab.drill.machine import DrillPlan, DrillState
    from wedgelab.drill.scores import DrillSummary
    from wedgelab.store.records import PlayerSettings
    from wedgelab.store.store import SqliteStore
    from wedgelab.terminal.drill_loop import DrillResult
    from wedgelab.terminal.speech import Speech
    from wedgelab.terminal.watch import Watch
    from wedgelab.units import LengthUnit

_PATIENCE_S = 2.0  # for another program to let go of the log: the screen stands still meanwhile
# what shapes the calls: a drill that goes on, or is repeated, has it already
_CALLS = ("balls", "low", "high", "step", "seed", "order", "focus", "hold", "window")
_HOW = ("feedback", "block", "guess_first", "no_advice")


@click.command(epilog="Example: wedgelab drill --balls 20 --from 45 --to 85 --guess")
@click.option("--balls", type=click.IntRange(1, 500), default=20, show_default=True, help="How many calls.")
@click.option("--from", "low", metavar="DISTANCE", help="Shortest call; else as short as the chart reaches.")
@click.option("--to", "high", metavar="DISTANCE", help="Longest call; else as long as the chart and the range reach.")
@click.option("--step", metavar="DISTANCE", default="1", show_default=True, help="Calls are multiples of this.")
@click.option(
    "--order",
    type=click.Choice(["random", "threes", "rising"]),
    help="Random; three balls, then another call; or rising, from repeats to none (a player's first drills).",
)
@click.option(
    "--focus",
    type=click.Choice(["weak"]),
    help="Aim half of the calls at the largest misses and doubts.",
)
@click.option("--seed", type=click.IntRange(0, 2**31 - 1), help="The same seed gives the same calls.")
@window_option
@click.option("--hold", metavar="SHARE", help="Let the window widen and narrow to hold this share inside, as 60%.")
@click.option(
    "--feedback",
    type=click.Choice(["every", "outside", "block"]),
    default="every",
    show_default=True,
    help="Show the number for every ball, only outside the window, or at the end of a block.",
)
@click.option("--block", type=click.IntRange(2, 100), default=10, show_default=True, help="Calls in a block.")
@click.option("--guess", "guess_first", is_flag=True, help="Ask for your own estimate before the number is shown.")
@click.option("--no-advice", is_flag=True, help="Begin with the chart's wedge and swing hidden.")
@click.option("--test", "is_test", is_flag=True, help="An earlier drill's calls again, without advice, compared.")
@click.option("--of", "which", metavar="WHEN", help="With --test: the drill that began then; else the latest.")
@click.option("--resume", is_flag=True, help="Go on with the drill that was stopped last.")
@click.option("--follow", type=click.Path(path_type=Path), help="Take each new row of this CSV as the next ball.")
@click.option("--mapping", metavar="NAME", help="With --follow: a mapping saved by import --save-mapping.")
@map_option
@click.option("--speak", "aloud", is_flag=True, help="Read calls and misses aloud.")
@click.option("--lines", is_flag=True, help="Line by line in place of the full screen, as for a screen reader.")
@picture_options("carry against call, and the errors by distance,")
@session_option
@alone_option
@json_option
@click.pass_context
def command(ctx: click.Context, /, session_name: str | None, as_json: bool, **options: Any) -> None:
    """Call targets and take the carry of each ball.

    Answer [WEDGE SWING] CARRY; wedge and swing are those on the screen if left out. ? explains the rest. Without a
    terminal it reads one answer a line.
    """
    app: App = ctx.obj
    pictures = read_pictures({name: options.pop(name) for name in FORMATS})
    given = {name for name in options if ctx.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE}
    _check_words(given, options)
    if "block" in given and "feedback" not in given:
        options["feedback"] = "block"
    _open(app, session_name, options, as_json=as_json, pictures=pictures)


def play_plan(
    app: App, plan_by: "Callable[[Desk], DrillPlan]", session_name: str | None, *, as_json: bool, lines: bool = False
) -> None:
    """Play the drill that a practice plan makes of what the desk knows."""
    options = {"aloud": False, "follow": None, "resume": False, "lines": lines, "plan_by": plan_by}
    _open(app, session_name, options, as_json=as_json, pictures=[])


def _open(app: App, session_name: str | None, options: dict[str, Any], *, as_json: bool, pictures: list[Path]) -> None:
    """Open the log, which must have a bag and be sound, and play."""
    no_wedge = BadRequestError("the bag has no wedge", "add one first: wedgelab bag add 54 54")
    if session_name is not None:
        clean_text("session", session_name, MAX_NAME)
    if not app.path.exists():
        raise no_wedge
    with app.open(create=True, timeout_s=_PATIENCE_S) as store:
        settings = app.peek(store)
        if not app.bag(store, settings).wedges:
            raise no_wedge
        for problem in store.check(quick=True):
            raise StoreError(app.path, f"is damaged ({problem})", "copy it away, then run: wedgelab doctor")
        _play(app, store, settings, session_name, options, as_json=as_json, pictures=pictures)


def _check_words(given: set[str], options: dict[str, Any]) -> None:
    """Refuse words that a drill cannot heed because it has them already."""
    shape = {"low": "--from", "high": "--to", "guess_first": "--guess", "no_advice": "--no-advice"}
    if "resume" in given and (clash := given & {*_CALLS, *_HOW, "is_test", "which"}):
        word = min(clash)
        raise BadRequestError(
            f"--resume with {shape.get(word, '--' + word.removeprefix('is_'))}",
            "a drill goes on as it was begun; leave that out, or start another one",
        )
    if "is_test" in given and (clash := given & {*_CALLS, "no_advice"}):
        word = min(clash)
        raise BadRequestError(
            f"--test with {shape.get(word, '--' + word)}", "a test has the calls of the earlier drill; leave that out"
        )
    if "which" in given and "is_test" not in given:
        raise BadRequestError("--of without --test", "say both: wedgelab drill --test --of WHEN")
    if "block" in given and options["feedback"] != "block" and "feedback" in given:
        raise BadRequestError(f"--block with --feedback {options['feedback']}", "a block is for --feedback block")
    if given & {"mapping", "maps"} and "follow" not in given:
        raise BadRequestError("a mapping without a file", "give --follow FILE too")


def _play(
    app: App,
    store: "SqliteStore",
    settings: "PlayerSettings",
    session_name: str | None,
    options: dict[str, Any],
    *,
    as_json: bool,
    pictures: list[Path],
) -> None:
    from wedgelab.cli.drill_desk import Desk
    from wedgelab.cli.drill_plan import earlier_drill
    from wedgelab.terminal.ask import has_terminal
    from wedgelab.terminal.sitting import Sitting

    desk = Desk(app, store, settings, session_name)
    voice = _voice(app) if options["aloud"] else None
    watch = _watch(app, store, desk, options)
    state = _begin(app, store, desk, options)
    earlier: DrillState | None = None
    if state.plan.test_of:
        with contextlib.suppress(LookupError, TooFewShotsError):  # its balls may be deleted by now
            earlier = earlier_drill(store, desk.log.name, state.plan.test_of)[1]
    at_terminal = has_terminal() and not as_json
    sitting = Sitting(state, desk, desk.log.bag, desk.unit)
    listener = Listener(app, desk, sitting, watch, None if voice is None else voice.say)
    try:
        result = listener.play(as_json=as_json, on_screen=at_terminal and not options["lines"])
    except KeyboardInterrupt:  # not while it waited for an answer
        app.say("stopped; go on with: wedgelab drill --resume")
        raise
    finally:
        _fall_silent(app, voice)
    result.state = desk.as_stored(result.state)
    _report(app, desk, result, earlier, as_json=as_json, pictures=pictures)
    if result.leaving.lost:
        raise WedgelabError(f"{result.leaving.lost}; note it down")
    if result.failure is not None:
        raise result.failure
    if result.was_interrupted and not at_terminal:  # at a terminal Ctrl-C is one more way to stop
        raise KeyboardInterrupt
    if result.refused and not at_terminal:
        raise BadRequestError(
            f"{result.refused} line(s) were refused", "the lines above say why; the other balls are stored"
        )


def _begin(app: App, store: "SqliteStore", desk: "Desk", options: dict[str, Any]) -> "DrillState":
    from wedgelab.cli.drill_plan import Words, new_plan, plan_of_test

    if options["resume"]:
        return desk.resume()
    if "plan_by" in options:
        return desk.start(options["plan_by"](desk))
    words = Words(
        advice=not options["no_advice"],
        **{name: options[name] for name in (*_CALLS, *_HOW) if name != "no_advice"},
    )
    if options["is_test"]:
        return desk.start(plan_of_test(app, store, desk, words, options["which"])[0])
    return desk.start(new_plan(app, desk, words))


def _watch(app: App, store: "SqliteStore", desk: "Desk", options: dict[str, Any]) -> "Watch | None":
    if options["follow"] is None:
        return None
    from wedgelab.cli.drill_watch import FileWatch

    path = options["follow"]
    if not str(path) or (path.exists() and not path.is_file()) or path.is_dir():
        raise BadRequestError(f"--follow '{path}' is no ordinary file", "give the CSV file that the device writes")
    from wedgelab.cli.reading import read_maps

    mapping = store.mapping(options["mapping"]) if options["mapping"] is not None else {}
    return FileWatch(app, desk, path, {**mapping, **read_maps(options["maps"])})


def _voice(app: App) -> "Speech | None":
    from wedgelab.terminal.speech import find_speech, no_speech

    speech = find_speech()
    if speech is None:
        app.say(no_speech())
    return speech


def _fall_silent(app: App, voice: "Speech | None") -> None:
    if voice is None:
        return
    voice.finish()
    if problem := voice.problem():
        app.say(problem)
    voice.close()


def _report(
    app: App,
    desk: "Desk",
    result: "DrillResult",
    earlier: "DrillState | None",
    *,
    as_json: bool,
    pictures: list[Path],
) -> None:
    from wedgelab.drill.scores import summarise
    from wedgelab.render.drill_misses import misses_text
    from wedgelab.render.drill_text import band_label, drill_text
    from wedgelab.render.json import drill_document

    state = result.state
    if kept_in := result.leaving.kept_in:
        app.say(f"the log did not take the last ball: it is safe in {kept_in} and goes in next time")
    summary = summarise(state, partial(band_label, desk.unit), earlier=earlier)
    if summary is None and state.is_over:
        app.say("every call was skipped: there is nothing to sum up")
    if not state.is_over:
        app.say(f"stopped at call {state.call_no}; go on with: wedgelab drill --resume")
    if as_json:
        app.out(drill_document(desk.drill_id, state, summary))
    elif summary is not None:
        app.out("")
        app.out(drill_text(summary, desk.unit, state.plan))
        if drawn := misses_text(state.played, desk.unit, ascii_only=not app.draws_signs):
            app.out(f"\n{drawn}")
    if summary is not None:
        save_pictures(app, pictures, lambda: _picture(state, summary, desk.unit))
    elif pictures:
        app.say("no ball, so no picture")


def _picture(state: "DrillState", summary: "DrillSummary", unit: "LengthUnit") -> Any:
    from wedgelab.render.drill_figure import drill_figure

    return drill_figure(state, summary, unit)
