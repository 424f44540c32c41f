"""``wedgelab doctor``: where the log is, whether it is sound, and what its measured flights say."""

import platform
from typing import TYPE_CHECKING, Any, Final

import click

from wedgelab import __version__
from wedgelab.cli.app import App
from wedgelab.cli.options import json_option
from wedgelab.errors import StoreError, quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from wedgelab.model.ball_scale import BallScale, Findings
    from wedgelab.store.store import SqliteStore
    from wedgelab.units import LengthUnit

_ROWS_SHOWN: Final = 10
_TIED: Final = 0.4  # a smaller correlation is not worth a sentence
_HARDLY_TOLD: Final = 0.7  # an uncertainty that is still this share of what was believed before any ball


@click.command(epilog="Example: wedgelab doctor")
@json_option
@click.pass_obj
def command(app: App, as_json: bool) -> None:
    """Say where the log is, what it holds, whether it is sound, and how the ball flies."""
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
    flights: list[tuple[str, LengthUnit, Findings]] = []
    if path.exists():
        with app.open(create=False) as store:
            facts["players"] = {player.name: store.count_shots(player.name) for player in store.players()}
            problems = store.check()
            facts["problems"] = problems
            if not problems:  # rows of a damaged file say nothing about a ball
                flights = list(_flights(app, store))
    if as_json:
        app.out(document("doctor", **facts, **_flight_facts(flights)))
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
        for player, unit, findings in flights:
            app.out("\n" + "\n".join(_flight_lines(player, unit, findings)))
    if problems:
        raise StoreError(path, f"{len(problems)} problem(s) found", "keep a copy of the file, then: wedgelab export")


def _flights(app: App, store: "SqliteStore") -> "Iterator[tuple[str, LengthUnit, Findings]]":
    """Yield player, unit and findings of each golf ball: of the player of --player, else of everybody."""
    players = store.players() if app.player_option is None else [store.player(app.player_option)]
    for player in players:
        shots = store.shots(player.name)
        if all(None in (shot.ball_speed_mps, shot.launch_deg, shot.spin_rpm) for shot in shots):
            continue  # nothing to compute a flight from: numpy is not needed
        from wedgelab.model.ball_scale import examine

        conditions = {session.name: session.conditions for session in store.sessions(player.name)}
        for findings in examine(shots, conditions, player.conditions):
            yield player.name, app.unit(player), findings


def _flight_facts(flights: "list[tuple[str, LengthUnit, Findings]]") -> dict[str, Any]:
    """Return what `--json` says of the flights."""
    from wedgelab.render.json import plain

    return {
        "ball_scales": [
            {"player": player, "ball": findings.ball, "n_measured": findings.n_measured, **plain(findings.scale)}
            for player, _, findings in flights
            if findings.scale is not None
        ],
        "inconsistent": [
            {
                **{name: getattr(row.shot, name) for name in ("player", "session", "hit_at", "shot_id")},
                **{name: getattr(row.shot, name) for name in ("ball", "wedge", "swing", "swing_deg", "carry_m")},
                "carry_low_m": row.low_m,
                "carry_high_m": row.high_m,
                "beyond": row.beyond,
            }
            for _, _, findings in flights
            for row in findings.odd
        ],
    }


def _flight_lines(player: str, unit: "LengthUnit", findings: "Findings") -> "Iterator[str]":
    """Say how the ball flies, and which rows no flight explains."""
    from wedgelab.render.layout import wrap
    from wedgelab.render.words import count_text

    ball = f"the ball {quoted(findings.ball)}" if findings.ball else "the ball"
    if findings.scale is None:
        from wedgelab.model.ball_scale import FEWEST_BALLS

        measured = count_text(findings.n_measured, "ball")
        fitting = "" if not findings.odd else f", {len(findings.odd)} of them beyond any flight"
        yield wrap(
            f"{player}: how {ball} flies is told from {FEWEST_BALLS} balls on "
            f"({measured} with speed, launch and spin{fitting})",
            "  ",
        )
    else:
        yield from (wrap(line, "  ") for line in _scale_sentences(player, ball, findings.scale))
    if findings.odd:
        yield from _odd_lines(unit, findings)


def _scale_sentences(player: str, ball: str, scale: "BallScale") -> "Iterator[str]":
    from wedgelab.model.ball_scale import PRIOR_SD
    from wedgelab.units import format_number

    def factor(value: float, sd: float) -> str:
        return f"{format_number(value, 2)} ±{format_number(sd, 2)}"

    yield (
        f"{player}: {ball} flies with {factor(scale.drag_scale, scale.drag_scale_sd)} of the published drag and "
        f"{factor(scale.lift_scale, scale.lift_scale_sd)} of the lift "
        f"({scale.n_balls} balls with speed, launch and spin)"
    )
    more = 100.0 * (scale.carry_ratio - 1.0)
    spread = format_number(100.0 * scale.residual_share, 1)
    off, sd = format_number(abs(more), 1), format_number(100.0 * scale.carry_ratio_sd, 1)
    yield (
        f"  together that is {off} % (±{sd}) {'more' if more >= 0 else 'less'} carry than with the mean of the "
        f"published figures; single carries lie {spread} % off their flights"
    )
    hardly = [
        word
        for word, value, spread, before in (
            ("drag", scale.drag_scale, scale.drag_scale_sd, PRIOR_SD[0]),
            ("lift", scale.lift_scale, scale.lift_scale_sd, PRIOR_SD[1]),
        )
        if spread / value > _HARDLY_TOLD * before
    ]
    if hardly:
        yield f"  of the {' and the '.join(hardly)} the log tells hardly more than was believed before"
    if scale.correlation > _TIED:
        tied = "  drag and lift are not told apart well: more of both together would fit nearly as well"
        yield tied if scale.n_landings else f"{tied}; a landing angle or an apex in the log parts them"


def _odd_lines(unit: "LengthUnit", findings: "Findings") -> "Iterator[str]":
    from wedgelab.render.layout import WIDTH, shorten, wrap
    from wedgelab.render.text import listing
    from wedgelab.render.words import count_text, span_text
    from wedgelab.units import format_length

    odd, longest = findings.odd, WIDTH // 8
    rows = count_text(len(odd), "row has a carry that its", "rows have carries that their")
    yield wrap(
        f"{rows} own speed, launch and spin do not explain; nothing was dropped, the chart weighs every carry as ever:",
        "  ",
    )
    headers = ["date", "wedge", "swing", f"carry {unit}", f"possible {unit}", "with", "id"]
    yield listing(
        headers,
        [
            [
                row.shot.hit_at[:10],
                shorten(row.shot.wedge, longest),
                shorten(row.shot.swing, longest),
                format_length(row.shot.carry_m, unit, 1),
                span_text(row.low_m, row.high_m, unit),
                row.beyond,
                row.shot.shot_id[:8],
            ]
            for row in odd[:_ROWS_SHOWN]
        ],
        "",
    )
    if len(odd) > _ROWS_SHOWN:
        yield wrap(f"the {_ROWS_SHOWN} furthest off of {len(odd)}; all of them: wedgelab doctor --json")
    yield wrap("A slip is put right by hand: wedgelab shots delete ID takes the row out, then log the ball anew.")
