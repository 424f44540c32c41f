"""``wedgelab bag suggest``: which lofts would cover a span of targets best."""

from pathlib import Path

import click

from wedgelab.cli.app import App
from wedgelab.cli.fitting import fit_log
from wedgelab.cli.gaps import SEED, keep_wedges, read_span
from wedgelab.cli.options import alone_option, json_option, shots_options, window_option
from wedgelab.cli.pictures import picture_options, read_pictures, save_pictures
from wedgelab.cli.waiting import waiting
from wedgelab.errors import NothingFitsError, TooFewShotsError


@click.command("suggest", epilog="Example: wedgelab bag suggest --count 3 --from 40 --to 100 --keep 46")
@click.option("--count", type=int, required=True, metavar="N", help="How many wedges, 1 to 6, the kept ones included.")
@click.option("--from", "low", metavar="LENGTH", help="Shortest target; else the shortest stock shot.")
@click.option("--to", "high", metavar="LENGTH", help="Longest target; else the longest stock shot.")
@click.option("--keep", multiple=True, metavar="WEDGE", help="A wedge that stays in the bag.")
@window_option
@alone_option
@shots_options
@json_option
@picture_options("the suggested bags against today's")
@click.pass_obj
def suggest_command(
    app: App,
    /,
    count: int,
    low: str | None,
    high: str | None,
    keep: tuple[str, ...],
    window: str | None,
    shots_file: str | None,
    maps: tuple[str, ...],
    as_json: bool,
    **pictures: Path | None,
) -> None:
    """Search the lofts that cover the targets best with the named swings, and hold them against today's bag.

    A new wedge is judged as it would be once its carries are known; how far they are from known is in the interval and
    the chance.
    """
    paths = read_pictures(pictures)
    import numpy as np

    from wedgelab.gaps.suggest import suggest
    from wedgelab.render.gaps_json import suggestion_document
    from wedgelab.render.suggest_figure import suggestion_figure
    from wedgelab.render.suggest_text import suggestion_text

    log = app.read(shots_file, maps, with_others=True)
    low_m, high_m = read_span(low, high, log)
    kept, rule = keep_wedges(keep, log.bag), log.window_rule(window)
    try:
        predictor = fit_log(log)
        with waiting("searching bags") as tell:
            found = suggest(
                predictor, log.bag, count,
                window=rule, rng=np.random.default_rng(SEED), keep=kept, low_m=low_m, high_m=high_m, player=log.name,
                unit=log.unit, on_step=tell,
            )  # fmt: skip
    except (TooFewShotsError, NothingFitsError):
        if as_json:
            app.out(suggestion_document(None, log.unit))
        raise
    app.out(suggestion_document(found, log.unit) if as_json else suggestion_text(found, log.unit))
    save_pictures(app, paths, lambda: suggestion_figure(found, log.unit))
