"""``wedgelab gaps``: where the stock shots leave holes, and what another bag would cover."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from wedgelab.cli.app import App, PlayerLog
from wedgelab.cli.fitting import fit_log
from wedgelab.cli.options import alone_option, json_option, shots_options, window_option
from wedgelab.cli.pictures import picture_options, read_pictures, save_pictures
from wedgelab.errors import BadRequestError, NothingFitsError, TooFewShotsError, UnreadableValueError, quoted
from wedgelab.shots import Bag, Wedge
from wedgelab.terminal.lines import read_carry
from wedgelab.units import parse_quantity

if TYPE_CHECKING:
    from wedgelab.gaps.bags import WhatIf
    from wedgelab.gaps.report import GapReport
    from wedgelab.units import LengthUnit
    from wedgelab.window import Window

SEED: Final = 1  # of the draws: the same log gives the same answer


@click.command(epilog="Example: wedgelab gaps --with 52 --without 50")
@click.option("--from", "low", metavar="LENGTH", help="Shortest target; else the shortest stock shot.")
@click.option("--to", "high", metavar="LENGTH", help="Longest target; else the longest stock shot.")
@click.option("--with", "added", multiple=True, metavar="LOFT", help="Add a wedge: 52, or lob=60 with a label.")
@click.option("--without", multiple=True, metavar="WEDGE", help="Take a wedge out.")
@click.option("--bend", multiple=True, metavar="WEDGE=LOFT", help="Bend a wedge to another loft: 54=53.")
@window_option
@alone_option
@shots_options
@json_option
@picture_options("the covered distances")
@click.pass_obj
def command(
    app: App,
    /,
    low: str | None,
    high: str | None,
    added: tuple[str, ...],
    without: tuple[str, ...],
    bend: tuple[str, ...],
    window: str | None,
    shots_file: str | None,
    maps: tuple[str, ...],
    as_json: bool,
    **pictures: Path | None,
) -> None:
    """Distances between neighbouring stock shots: holes, overlaps, targets without an answer.

    A stock shot is a wedge at a named swing. The chart compares wedges at one swing; here the next shot may be of any
    wedge. With --with, --without and --bend the bag is compared with another one.
    """
    paths = read_pictures(pictures)
    from wedgelab.render.gaps_figure import gaps_figure
    from wedgelab.render.gaps_json import gaps_document

    change = _Change([read_wedge(text, "--with") for text in added], without, dict(read_bend(text) for text in bend))
    log = app.read(shots_file, maps, with_others=True)
    span_m = read_span(low, high, log)
    try:
        report, found = _find(log, change, span_m, log.window_rule(window))
    except (TooFewShotsError, NothingFitsError):
        if as_json:
            app.out(gaps_document(None, log.unit))
        raise
    _say(app, report, found, log.unit, as_json=as_json)
    if found is None:
        save_pictures(app, paths, lambda: gaps_figure(report, log.unit))
    else:
        save_pictures(app, paths, lambda: gaps_figure(found.other, log.unit, report))


@dataclass(frozen=True)
class _Change:
    """How another bag differs from today's; empty where none was asked for."""

    added: list[Wedge]
    without: tuple[str, ...]
    bent: dict[str, float]

    @property
    def is_asked(self) -> bool:
        return bool(self.added or self.without or self.bent)


def _find(
    log: PlayerLog, change: _Change, span_m: tuple[float | None, float | None], window: "Window"
) -> "tuple[GapReport, WhatIf | None]":
    """Report on today's bag, and compare it with another where one was asked for."""
    import numpy as np

    from wedgelab.gaps.bags import changed_bag, what_if
    from wedgelab.gaps.report import build_gaps

    predictor, rng, (low_m, high_m) = fit_log(log), np.random.default_rng(SEED), span_m
    if not change.is_asked:
        report = build_gaps(
            predictor, log.bag, window=window, rng=rng, player=log.name, low_m=low_m, high_m=high_m, unit=log.unit
        )
        return report, None
    other = changed_bag(log.bag, without=change.without, bend=change.bent, add=change.added)
    found = what_if(
        predictor, log.bag, other,
        window=window, rng=rng, player=log.name, low_m=low_m, high_m=high_m, unit=log.unit,
    )  # fmt: skip
    return found.today, found


def _say(app: App, report: "GapReport", found: "WhatIf | None", unit: "LengthUnit", *, as_json: bool) -> None:
    from wedgelab.render.gaps_json import gaps_document
    from wedgelab.render.gaps_text import gaps_text, what_if_text

    ascii_only = not app.draws_signs
    if as_json:
        app.out(gaps_document(report, unit, found))
    elif found is None:
        app.out(gaps_text(report, unit, ascii_only=ascii_only))
    else:
        app.out(what_if_text(found, unit, ascii_only=ascii_only))


def read_wedge(text: str, option: str) -> Wedge:
    """Read a wedge from its loft, or from LABEL=LOFT."""
    label, given, loft = text.rpartition("=")
    try:
        loft_deg = parse_quantity(loft, "angle", "deg", "loft", "a loft in degrees such as 52")
    except UnreadableValueError as error:
        if given:
            raise
        raise BadRequestError(
            f"{option} {text} has no loft", f"give it in degrees, for example: {option} {text}=56"
        ) from error
    return Wedge(label if given else loft, loft_deg)


def read_bend(text: str) -> tuple[str, float]:
    """Read WEDGE=LOFT: which wedge is bent, and to what loft."""
    label, given, loft = text.rpartition("=")
    if not given or not label.strip():
        raise BadRequestError(f"--bend {quoted(text)} does not say both wedge and loft", "write it like --bend 54=53")
    return label, Wedge("bent", parse_quantity(loft, "angle", "deg", "loft", "a loft in degrees such as 53")).loft_deg


def read_span(low: str | None, high: str | None, log: PlayerLog) -> tuple[float | None, float | None]:
    """Read the ends of a span of targets [m], None where one is not given."""
    low_m = None if low is None else read_carry(low, log.unit, "target_m")
    high_m = None if high is None else read_carry(high, log.unit, "target_m")
    if low_m is not None and high_m is not None and low_m >= high_m:
        raise BadRequestError(f"--from {low} --to {high} is an empty span", "give the shorter target first")
    return low_m, high_m


def keep_wedges(labels: tuple[str, ...], bag: Bag) -> list[Wedge]:
    """Return the wedges of the bag that are to stay, each once."""
    return list(dict.fromkeys(bag.wedge(label, may_be_new=False) for label in labels))
