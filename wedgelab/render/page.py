"""The page for the phone: one HTML file that needs nothing else, neither a network nor a script, to be read."""

import base64
import hashlib
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING, Any, Final

from wedgelab.chart import CarryCurve, Chart
from wedgelab.choose.table import TableRow
from wedgelab.dispersion import WedgeDispersion
from wedgelab.drill.history import DrillPoint
from wedgelab.gaps.report import GapReport
from wedgelab.render.page_parts import NO_SHOT, chart_part, choice_part, drills_part, gaps_part, side_part
from wedgelab.render.text import air_line, learnt_line, next_line
from wedgelab.render.words import (
    DAY_RULES_LINE,
    RULES_LINE,
    SUPPORT_LEGEND,
    count_text,
    day_text,
    reference_text,
    wedge_title,
)
from wedgelab.shots import Shot
from wedgelab.units import LengthUnit
from wedgelab.window import DEFAULT_WINDOW, Window

if TYPE_CHECKING:
    from markupsafe import Markup

_TEMPLATE: Final = "page.html.jinja"
MOST_SHOTS: Final = 500  # drawn, the latest: each is a hundred bytes of the page
_ANONYMOUS: Final = "Wedges"
MOST_DRILLS: Final = 12  # the latest; more would not stand side by side on a phone


@dataclass(frozen=True, slots=True)
class PageFacts:
    """What a page is made of; of a day, when ``chart.day`` names one: then rows, gaps and curves are that day's.

    ``rows`` has every target of the player's unit. ``shots`` are those that are drawn, brought to the chart's air, and
    ``last_shot`` is the day of the latest. ``gaps`` is None where no target can be answered. ``day_date`` is the date
    that a day's carries are for, ``n_others`` how many other players the chart leans on.
    """

    chart: Chart
    unit: LengthUnit
    last_shot: str
    rows: tuple[TableRow, ...]
    curves: tuple[CarryCurve, ...]
    gaps: GapReport | None = None
    window: Window = DEFAULT_WINDOW
    shots: tuple[Shot, ...] = ()
    mishits: frozenset[str] = frozenset()
    dispersions: tuple[WedgeDispersion, ...] = ()
    drills: tuple[DrillPoint, ...] = ()
    day_date: str = ""
    n_others: int = 0


def page_html(facts: PageFacts) -> str:
    """Return the page; the same facts give the same text, whenever it is made."""
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    style, script = _file("page.css"), _file("page.js")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    template = environment.from_string(_file(_TEMPLATE))
    text = template.render(
        **_words(facts),
        **_pictures(facts),
        style=Markup(style),  # noqa: S704  a file of this package
        script=Markup(script),  # noqa: S704  a file of this package
        script_hash=script_hash(script),
    )
    return f"{text.rstrip()}\n"


def script_hash(script: str) -> str:
    """Return what the page's policy lets run: that one script and no other (W3C CSP Level 3, 2.3.1)."""
    return f"sha256-{base64.b64encode(hashlib.sha256(script.encode('utf-8')).digest()).decode('ascii')}"


def _file(name: str) -> str:
    return resources.files("wedgelab.render").joinpath(name).read_text(encoding="utf-8")


def _words(facts: PageFacts) -> dict[str, Any]:
    chart, unit, recent = facts.chart, facts.unit, facts.drills[-MOST_DRILLS:]
    marked = any(cell.support != "measured" or cell.spin_support != "measured" for cell in chart.cells)
    return {
        "player": chart.player or _ANONYMOUS,
        "unit": unit,
        "last_shot": facts.last_shot,
        "learnt": learnt_line(chart),
        "others": f"It leans on {count_text(facts.n_others, 'other player')} of the log too." if facts.n_others else "",
        "day_date": facts.day_date,
        "reference": reference_text(chart.reference),
        "day": "" if chart.day is None else day_text(chart.day, unit),
        "air": "" if chart.air_note is None else air_line(chart.air_note, chart.reference, unit),
        "next": next_line(chart),
        "support": SUPPORT_LEGEND if marked else "",
        "support_legend": SUPPORT_LEGEND,
        "no_shot": NO_SHOT,
        "window": facts.window.describe(unit),
        "chart": chart_part(chart, unit),
        "choice": choice_part(facts.rows, chart.swings, unit),
        "gaps": None if facts.gaps is None else gaps_part(facts.gaps, unit),
        "sides": side_part(facts.dispersions, unit),
        "drills": drills_part(recent, unit),
        "older_drills": len(facts.drills) - len(recent),
        "rules": RULES_LINE if chart.day is None else DAY_RULES_LINE,
        **_legends(facts),
    }


def _legends(facts: PageFacts) -> dict[str, Any]:
    """Tell which signs there are in the pictures: only those are explained."""
    balls = facts.shots[-MOST_SHOTS:]
    regions = [swing.region for one in facts.dispersions for swing in one.swings if swing.region is not None]
    recent = facts.drills[-MOST_DRILLS:]
    return {
        "drawn_balls": "logged balls" if len(balls) == len(facts.shots) else f"latest {len(balls)} balls",
        "has_mishits": any(shot.shot_id in facts.mishits for shot in balls),
        "has_regions": bool(regions),
        "has_pooled": any(region.is_pooled for region in regions),
        "drills_expected": any(one.expected_e_m is not None for one in recent),
        "drills_held": any(one.is_held for one in recent),
        "drills_tests": any(one.is_test for one in recent),
    }


def _pictures(facts: PageFacts) -> dict[str, "Markup | list[Markup] | None"]:
    from markupsafe import Markup

    from wedgelab.render import page_figures as draw
    from wedgelab.render.page_svg import figure_svg

    def picture(figure: Any, key: str, title: str, text: str) -> Markup:
        return Markup(figure_svg(figure, key, title, text))  # noqa: S704  matplotlib's, escaped by the XML writer

    unit, chart = facts.unit, facts.chart
    recent = facts.drills[-MOST_DRILLS:]
    with_balls = [one for one in facts.dispersions if one.n]
    has_expected = any(one.expected_e_m is not None for one in recent)
    expected = "; a bar across is what the chart expected of solid balls at the time" if has_expected else ""
    return {
        "curves_picture": picture(
            draw.curves_figure(chart, facts.curves, facts.shots[-MOST_SHOTS:], unit, facts.mishits),
            "curves", "Carry by swing length",
            "A line for each wedge: the median carry, with the band of eight solid balls in ten and the logged balls. "
            "The numbers are those of the chart above.",
        ),
        "gaps_picture": None if facts.gaps is None else picture(
            draw.covered_figure(facts.gaps, unit),
            "gaps", "Covered distances",
            "A row for each wedge with its stock shots at their median carries; below, the best chance for each "
            "target. Targets without a stock answer are shaded; they are listed beside the picture.",
        ),
        "side_pictures": [
            picture(
                draw.side_figure(one, unit, with_balls), f"side{i}",
                f"Where the balls came down: {wedge_title(one.wedge, one.loft_deg)}",
                "Seen from above, the target line upwards; the numbers are in the table.",
            )
            for i, one in enumerate(with_balls)
        ],
        "drills_picture": None if not recent else picture(
            draw.history_figure(recent, unit),
            "drills", "The latest drills, oldest first",
            f"The error E of all balls of each drill, and the share inside the window with its interval{expected}. The "
            "numbers are in the table.",
        ),
    }  # fmt: skip
