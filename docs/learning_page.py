"""Make docs/method/learning.md and its picture from docs/method/learning.json, which the evaluation has written.

Run ``python docs/learning_page.py`` from the project's root after ``python -m tests.bench.learning --save ...``; what
the file does not hold is left out of the page. The tests run the same functions and compare.
"""

import json
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ROOT: Final = Path(__file__).resolve().parents[1]
RESULTS: Final = "docs/method/learning.json"
PAGE: Final = "docs/method/learning.md"
PICTURE: Final = "docs/method/learning.png"
OWN: Final = "wedgelab"

Json = dict[str, Any]


def pm(value: Mapping[str, Any], unit: float = 100.0, decimals: int = 1) -> str:
    """Write a mean with its standard error, in per cent unless told otherwise."""
    se = "?" if value["se"] is None else f"{abs(unit) * value['se']:.{decimals}f}"
    return f"{round(unit * value['mean'], decimals) + 0.0:.{decimals}f} ± {se}"  # adding nothing turns -0.0 into 0.0


def table(corner: str, head: Collection[str], lines: Iterable[tuple[str, Sequence[str]]]) -> str:
    """Lay out a table, the first column to the left."""
    rows = [[corner, *head], ["---", *["--:" for _ in head]], *([name, *cells] for name, cells in lines)]
    return "\n".join(f"| {' | '.join(row)} |" for row in rows)


def worth(excess: float, chart: Mapping[int, float]) -> str:
    """Say how many balls a cell the paper chart needs for an excess; straight between its points in logarithms."""
    known = np.minimum.accumulate(list(chart.values()))
    if not known[-1] <= excess < known[0]:
        return f"at most {min(chart)}" if excess >= known[0] else f"more than {max(chart)}"
    return f"about {np.exp(np.interp(-np.log(excess), -np.log(known), np.log(list(chart)))):.1f}"


# --- tables; each takes the rows of a part of the results


def on_paper(rows: Json, what: str) -> list[str]:
    """Say for each row how many balls a cell teach as much on paper."""
    chart = {int(n): row[what]["paper chart"]["mean"] for n, row in rows.items()}
    return [worth(row[what][OWN]["mean"], chart) for row in rows.values()]


def excess_table(rows: Json, what: str) -> str:
    """Lay out the excess by method and balls a cell, and what a ball is worth on paper."""
    names = next(iter(rows.values()))[what]
    lines = [(name.replace(OWN, f"**{OWN}**"), [pm(row[what][name]) for row in rows.values()]) for name in names]
    lines.append(("as good as wedgelab: paper chart of", on_paper(rows, what)))
    return table(f"{what}, excess %; balls a cell:", rows, lines)


def over_table(rows: Json) -> str:
    """Lay out the differences to this project's model on the same players."""
    key = "carry_over_wedgelab"
    lines = [(name, [pm(row[key][name]) for row in rows.values()]) for name in next(iter(rows.values()))[key]]
    return table("carry, excess over wedgelab's; balls a cell:", rows, lines)


def holds_table(rows: Json) -> str:
    """Lay out whether the ranges hold, and the times."""
    lines = [
        (label.format(what), [f"{100.0 * row[key.format(what)]:.1f} %" for row in rows.values()])
        for what in ("carry", "spin")
        for label, key in (("80 % ranges of {} hold", "{}_held"), ("players with 70-90 %, {}", "{}_players_held"))
    ]
    lines += [(f"{key}, ms", [f"{row[f'{key}_ms']:.1f}" for row in rows.values()]) for key in ("fit", "predict")]
    return table("wedgelab; balls a cell:", rows, lines)


def nuts_table(rows: Json) -> str:
    """Lay out the sampled peer beside this project's model, on the same players."""
    first = next(iter(rows.values()))
    lines = []
    for what, over in (("carry", "carry_nuts_over"), ("spin", "spin_nuts_over")):
        lines += [(f"{what}: {name}", [pm(row[what][name]) for row in rows.values()]) for name in first[what]]
        lines += [(f"{what}: NUTS less {name}", [pm(row[over][name]) for row in rows.values()]) for name in first[over]]
    for key, label in (("seconds", "seconds, median"), ("divergences", "divergences"), ("r_hat_max", "largest R-hat")):
        lines.append((label, [f"{row[key]:.4g}" for row in rows.values()]))
    return table("excess %; balls a cell:", rows, lines)


def unlogged_table(rows: Json) -> str:
    """Lay out the cells that were never logged."""
    held = [[f"{100.0 * row[f'{what}_held']:.1f} %" for what in ("carry", "spin")] for row in rows.values()]
    least = ["" if row["carry_floor"]["mean"] is None else pm(row["carry_floor"]) for row in rows.values()]
    cells = [
        [pm(row["carry"]), floor, pm(row["spin"]), *two]
        for row, floor, two in zip(rows.values(), least, held, strict=True)
    ]
    head = ("carry, excess %", "at least", "spin, excess %", "80 % ranges of carry hold", "of spin")
    return table("never logged", head, zip(rows, cells, strict=True))


def newcomer_table(rows: Json) -> str:
    """Lay out what other players' logs are worth to a newcomer."""
    cells = [
        [pm(row["carry"]), pm(row["spin"]), *(f"{100.0 * row[f'{what}_held']:.1f} %" for what in ("carry", "spin"))]
        for row in rows.values()
    ]
    head = ("carry, excess %", "spin, excess %", "80 % ranges of carry hold", "of spin")
    return table("the log also has", head, zip(rows, cells, strict=True))


SPOILT: Final = {"clean": "as it was", "deleted": "spoilt balls deleted", "short": "x 0.5-0.7", "long": "x 1.3-1.5",
                 "slip": "x 10", "mixed": "all three mixed"}  # fmt: skip


def spoilt_table(rows: Json) -> str:
    """Lay out the excess with spoilt balls, and how many times that of the clean log it is."""

    def cell(of: Json) -> str:
        return pm(of["carry"]) + (f" (x {pm(of['ratio'], 1.0, 2)})" if "ratio" in of else "")

    lines = [
        (f"{shown}: {name}", [cell(row[shown][kind]) for row in rows.values()])
        for shown in next(iter(rows.values()))
        for kind, name in SPOILT.items()
    ]
    return table("spoilt carries, excess %; balls a cell:", rows, lines)


def days_table(rows: Json) -> str:
    """Lay out the chart's standard error against the truth."""
    cells = [[pm(row["carry_se_m"], 1.0, 2), pm(row["within_players"]), f"{row['rms_z']:.2f}"] for row in rows.values()]
    head = ("mean standard error, m", "true median inside, %", "rms of error over standard error")
    return table("log", head, zip(rows, cells, strict=True))


def change_table(rows: Json) -> str:
    """Lay out how far the chart follows a change, and the excess then."""
    lines = []
    for change, row in rows.items():
        unit = 100.0 / (row["log_change"] or 1.0)
        for way, models in row.items():
            for model, balls in models.items() if way != "log_change" else ():
                cells = [pm(of["shift"], unit) for of in balls.values()] + [pm(of["excess"]) for of in balls.values()]
                lines.append((f"{change}, {way}, {model}", cells))
    return table("change, how, model", ("chart moved, 12 balls", "24 balls", "excess %, 12 balls", "24 balls"), lines)


# --- words

HEAD: Final = """# What a few balls teach

How good is a chart after one ball in each cell, after three, after ten? The truth about a real golfer is not known, so
this is measured on invented ones. How the model works is told in [how wedgelab learns](model.md).

## What was measured

An invented golfer has three or four wedges, four swing lengths, a spread from ball to ball, good and bad days, and
mishits, and hits as many balls in every cell (a wedge at a swing length) over two days; one ball a cell is one day. The
log holds carry, spin, ball speed and launch.

Then each method says, for every cell, what the next solid ball of a new day will do: not one number, but how likely
each carry and each spin is. 640 fresh balls a cell on 16 new days show how good that was. The score is the CRPS
(Gneiting & Raftery 2007, JASA 102, 359), which punishes a wrong middle and a wrong spread alike. It is divided by that
of an oracle that has seen 1920 balls of the cell; what is above 1 is the **excess**: 0 % is perfect knowledge, 50 % is
a score half as bad again. What follows a ± is one standard error over the players."""

FOOT: Final = """## Limits

- Invented golfers are not golfers. Their speed curves, noise and mishits are not those that the model believes in, but
  the laws of impact and flight are. They mishit two to ten balls of a hundred, and mark none as such.
- All carries are of one air. What a correction for the weather may be wrong by: [flight and air](flight.md).

## Do it again

From the project's root, with the development set-up (`--players 6` for a look):

    python -m tests.bench.learning --players 60 --jobs 2 --save docs/method/learning.json
    python docs/learning_page.py

Each player has random numbers of its own: all but the times comes out the same whatever `--jobs` says. Seed: """

SECTIONS: Final[tuple[tuple[str, str, tuple[Callable[[Json], str], ...]], ...]] = (
    ("table", """## Balls a cell

*Paper chart*: mean and standard deviation of the cell (of one ball: 10 % of it). *Gaussian process*: scikit-learn's, on
loft and swing. *Quadratic*: least squares on loft and swing. Both take logarithms first. *wedgelab* has four readings a
ball, or carry and spin, or nothing but carry; its spin is then a guess from physics. The last line of the first two
tables: so many balls on paper teach as much. The third table holds differences on the same players, surer than the
means; the fourth whether the ranges are honest, and the processor's time for a fit and for the first 16 predictions
(median, with every core busy; times on an idle machine: [for developers](../../DEVELOPERS.md#speed)).

![Excess over balls a cell for each method](learning.png)""",
     (lambda rows: excess_table(rows, "carry"), lambda rows: excess_table(rows, "spin"), over_table, holds_table)),
    ("nuts", """## Against a sampled model

What a statistician would write without this project's physics: a hierarchical model of carry and spin, with mishits as
a mixture, sampled by NUTS (PyMC). It sees carry and spin. It takes seconds a player, so it is run on the first players
of each row, and wedgelab is scored on the same.""", (nuts_table,)),
    ("unlogged", """## Cells that were never hit

Three balls in every other cell; asked is what was left out. *At least*: the excess of somebody who knows everything of
the golfer but what is this one wedge's own, which no ball can have told.""", (unlogged_table,)),
    ("newcomer", """## A newcomer among others

One ball in each cell, and the logs of other golfers beside it (6 balls a cell, three days each), from which the belief
before the first ball is learnt.""", (newcomer_table,)),
    ("spoilt", """## Spoilt balls

A golfer without mishits; the carry of a tenth of the balls is replaced: too short, too long, or with the decimal point
left out (`log` and `import` would refuse most of those: no carry is over 250 m). What else was read stays as it was. In
brackets: times the excess of the log as it was. *Deleted*: with perfect knowledge of the spoilt.""", (spoilt_table,)),
    ("days", """## What a day can tell

Ten balls on one day share that day's form; those of five days do not, so the chart's ± must then be smaller. The
long-run median of solid balls should lie within 1.28 of them in 80 % of the cells.""", (days_table,)),
    ("change", """## A golfer who changes

Four days of 40 balls over all cells. Then every carry is 8 % longer, or shorter; 12 balls on one more day, and 12 on
another. With *carry and spin logged* the carries change and nothing else does; with *all readings logged* the golfer
swings so much faster or slower that they do so on average. *Moved*: mean change of the chart's logarithms in
% of the change; in % of the carry where nothing changed: there the excess shows the price of readiness.""",
     (change_table,)),
)  # fmt: skip


def short(rows: Json) -> str:
    """Say the main result in two sentences."""
    own, chart = (f"{100.0 * rows['1']['carry'][name]['mean']:.0f} %" for name in (OWN, "paper chart"))
    return f"""In short: after one ball in each cell the excess of wedgelab's carries is {own}, on paper {chart}.
Paper takes {on_paper(rows, "carry")[0]} balls in each cell to know as much."""


def page(found: Json) -> str:
    """Return the whole page."""
    parts = [HEAD, *([short(found["table"]["rows"])] if "table" in found else [])]
    for name, words, tables in SECTIONS:
        if name in found:
            players, date, commit, rows = (found[name][key] for key in ("players", "date", "commit", "rows"))
            parts += [words, *(made(rows) for made in tables)]
            parts.append(f"({players} players a row, {date}, commit {commit}.)")
    return "\n\n".join([*parts, f"{FOOT}{found['seed']}.\n"])


# --- the picture: colours of Okabe & Ito, told apart by the colour-blind; markers and lines say the same in grey

LINES: Final[Mapping[str, tuple[str, Any, str]]] = {
    "paper chart": ("#D55E00", (0, (6, 2)), "s"),
    "Gaussian process": ("#555555", (0, (1, 1.5)), "^"),
    "quadratic": ("#009E73", (0, (6, 2, 1, 2)), "D"),
    "wedgelab, carry alone": ("#CC79A7", (0, (3, 1.5)), "v"),
    "wedgelab, carry and spin": ("#56B4E9", (0, (4, 1)), "P"),
    OWN: ("#0072B2", "-", "o"),
}


def drawn(rows: Json, what: str) -> dict[str, list[list[float]]]:
    """Return what a panel shows: balls a cell, excess and standard error in %, by method."""

    def point(balls: str, of: Json) -> list[float]:
        return [int(balls), round(100.0 * of["mean"], 1), round(100.0 * (of["se"] or 0.0), 1)]

    names = [name for name in LINES if (what, name) != ("spin", "wedgelab, carry alone")]  # it has read none
    return {name: [point(n, row[what][name]) for n, row in rows.items()] for name in names}


def draw_panel(ax: "Axes", lines: dict[str, list[list[float]]], what: str) -> None:
    """Draw the methods with their standard errors, and their names at the ends of the lines, well apart."""
    from sklearn.isotonic import isotonic_regression

    for turn, (name, points) in enumerate(lines.items()):
        balls, mean, se = np.array(points).T
        colour, style, marker = LINES[name]
        aside = balls * 1.015 ** (turn - 2)  # so that the bars do not hide each other
        ax.errorbar(aside, mean, se, color=colour, linestyle=style, marker=marker, markersize=5, capsize=2, label=name,
                    linewidth=2.4 if name == OWN else 1.4)  # fmt: skip
    ax.set(xscale="log", yscale="log", title=what, xlabel="balls a cell in the log", ylim=(1, 120))
    ax.set_xticks(balls, [f"{n:.0f}" for n in balls])
    ax.set_yticks([1, 2, 5, 10, 20, 50, 100], ["1", "2", "5", "10", "20", "50", "100"])
    ax.minorticks_off()
    ends = sorted((points[-1][1], name) for name, points in lines.items())
    rank = 0.24 * np.arange(len(ends))  # the height of a name, in logarithms
    for at, (end, name) in zip(isotonic_regression(np.log([e for e, _ in ends]) - rank) + rank, ends, strict=True):
        ax.annotate(name, (balls[-1] * 1.06, end), (balls[-1] * 1.25, np.exp(at)), fontsize=9, va="center",
                    annotation_clip=False, arrowprops={"arrowstyle": "-", "color": LINES[name][0]})  # fmt: skip
    ax.grid(visible=True, alpha=0.25)
    ax.spines[["top", "right"]].set_visible(False)


def figure(found: Json) -> "Figure":
    """Draw the picture of the page."""
    from matplotlib.figure import Figure

    whole = Figure(figsize=(9.0, 4.2), layout="constrained")
    for ax, what in zip(whole.subplots(1, 2), ("carry", "spin"), strict=True):
        draw_panel(ax, drawn(found["table"]["rows"], what), what)
    whole.axes[0].set_ylabel("excess over perfect knowledge [%]")
    return whole


def save(found: Json, path: Path) -> None:
    """Write the picture, with what it shows inside the file so that a test can tell whether it is fresh."""
    shown = {what: drawn(found["table"]["rows"], what) for what in ("carry", "spin")}
    figure(found).savefig(path, dpi=100, metadata={"Software": None, "Comment": json.dumps(shown)})


def main() -> None:
    """Write the page, and the picture if there is a table to draw."""
    found = json.loads((ROOT / RESULTS).read_text("utf-8"))
    (ROOT / PAGE).write_text(page(found), encoding="utf-8")
    if "table" in found:
        save(found, ROOT / PICTURE)


if __name__ == "__main__":
    main()
