"""Compute the tables of docs/method/flight.md, write them into the page and draw its picture.

Run ``python docs/flight_figures.py`` from the project's root after a change of the physics or of the model; it prints
the tables too. ``python docs/build.py`` runs it. The tests run the same functions and compare.
"""

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations
from wedgelab.model.weather import (
    GUST_SHARE,
    STANDARD,
    WIND_TOLD_SHARE,
    Change,
    Launches,
    air_of,
    change,
)
from wedgelab.physics.aero import AERO_SETS
from wedgelab.physics.air import STANDARD_DENSITY_KG_M3, STANDARD_VISCOSITY_M2_S
from wedgelab.physics.ball import RADIUS_M
from wedgelab.physics.flight import fly
from wedgelab.prediction import Day, ShotKind
from wedgelab.shots import Conditions
from wedgelab.simulate import hit, invent_player, true_medians
from wedgelab.units import RPM_RADPS, YARD_M

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ROOT: Final = Path(__file__).resolve().parents[1]
PAGE: Final = "docs/method/flight.md"
PICTURE: Final = "docs/method/flight.png"
SET_NAMES: Final = ("Smits & Smith", "conventional", "hexagonal")  # in the order of AERO_SETS

_BLOCK: Final = re.compile(r"(<!-- table: (\w+) -->\n).*?(<!-- end -->)", re.DOTALL)


@dataclass(frozen=True)
class StockShot:
    """A shot in the standard air: about what the program expects of a 50 deg wedge before the first ball."""

    carry_yd: float
    launch_deg: float
    spin_rpm: float

    @property
    def carry_m(self) -> float:
        return self.carry_yd * YARD_M

    @cached_property
    def ball_speed_mps(self) -> float:
        """Speed at which the three sets carry the distance in the mean."""
        low, high = 5.0, 60.0
        while high - low > 1e-5:
            several = np.linspace(low, high, 33)
            first = int(np.argmax(mean_carry_m(several, self.launch_deg, self.spin_rpm) >= self.carry_m))
            low, high = float(several[first - 1]), float(several[first])
        return 0.5 * (low + high)


LONG: Final = StockShot(70.0, 33.0, 7000.0)
SHORT: Final = StockShot(35.0, 33.0, 4650.0)


@dataclass(frozen=True)
class Weather:
    """A row of the tables: what differs from the standard air on level ground."""

    name: str
    conditions: Conditions
    rise_m: float = 0.0


WEATHERS: Final = (
    Weather("5 °C", Conditions(air_temp_c=5.0)),
    Weather("35 °C", Conditions(air_temp_c=35.0)),
    Weather("35 °C and 100 % humidity", Conditions(air_temp_c=35.0, humidity_pct=100.0)),
    Weather("altitude 1000 m", Conditions(altitude_m=1000.0)),
    Weather("altitude 2000 m", Conditions(altitude_m=2000.0)),
    Weather("head wind 4 m/s", Conditions(wind_mps=-4.0)),
    Weather("tail wind 4 m/s", Conditions(wind_mps=4.0)),
    Weather("wind 4 m/s from the left", Conditions(cross_wind_mps=4.0)),
    Weather("green 5 m above the ball", Conditions(), 5.0),
    Weather("green 5 m below the ball", Conditions(), -5.0),
)

# the band of an earlier computation with four other variants of the same published coefficients [m]
EARLIER_M: Final = {
    "5 °C": (-0.6, -0.3),
    "35 °C": (0.7, 1.2),
    "altitude 1000 m": (1.0, 1.9),
    "altitude 2000 m": (1.9, 3.5),
    "head wind 4 m/s": (-4.9, -2.4),
    "tail wind 4 m/s": (0.8, 3.1),
}

# ball speed [m/s] and spin [rpm] on a wedge's way: short and long shots at the start, and slower, later on
ON_THE_WAY: Final = ((18.9, 4650), (14, 4550), (22, 6000), (28.3, 7000), (21, 6700), (34, 8500), (25, 8200))

TURN_LAUNCH_DEG: Final = (10, 15, 20, 25, 30, 35, 40)
TURN_SPEED_MPS: Final = (12, 16, 20, 24, 28, 32, 36)
TURN_SPIN_PER_MPS: Final = 245.0  # rpm for each m/s of ball speed, as in the two stock shots


@dataclass(frozen=True)
class Correction:
    """How one carry changes: the mean of the sets, its doubt, each set; what gusts and a wrong note of the wind do."""

    mean_m: float
    doubt_m: float
    each_m: tuple[float, ...]
    drift_m: float
    gust_m: float
    told_m: float


def mean_carry_m(speed: "float | Array", launch: "float | Array", spin: "float | Array") -> "Array":
    """Carry in the standard air, mean of the sets."""
    air = air_of([STANDARD], STANDARD)
    flights = [
        fly(speed, launch, spin, aero=aero, density_kg_m3=air.density_kg_m3[0], viscosity_m2_s=air.viscosity_m2_s[0])
        for aero in AERO_SETS
    ]
    return np.asarray(np.mean([flight.carry_m for flight in flights], axis=0))


def changes(
    speed: "Array", launch: "Array", spin: "Array", carry_m: "Array", said: Sequence[Conditions], rise_m: float
) -> Change:
    """What the weather of each of n balls does to it; in the standard air it carries ``carry_m``."""
    launches = Launches(speed, launch, spin, np.ones(len(speed), dtype=np.bool_))
    before = air_of([STANDARD] * len(speed), STANDARD)
    # without the standard pressure, so that an altitude is not a contradiction but the pressure that it gives
    after = air_of(said, Conditions(air_temp_c=STANDARD.air_temp_c, humidity_pct=STANDARD.humidity_pct))
    return change(launches, carry_m, before, after, rise_m=rise_m)


def sets_log(of: Change) -> "Array":
    """Log change of each set, shape (balls, sets): the doubts hold their distances from the mean."""
    return np.asarray(of.log_carry[:, None] + of.doubts[:, : len(AERO_SETS)] * np.sqrt(len(AERO_SETS) - 1))


@cache
def corrections(shot: StockShot, weathers: tuple[Weather, ...] = WEATHERS) -> tuple[Correction, ...]:
    """What each weather does to a stock shot."""
    found: dict[Weather, Correction] = {}
    for rise_m in {weather.rise_m for weather in weathers}:
        alike = [weather for weather in weathers if weather.rise_m == rise_m]
        speed, launch, spin, carry = (
            np.full(len(alike), x) for x in (shot.ball_speed_mps, shot.launch_deg, shot.spin_rpm, shot.carry_m)
        )
        done = changes(speed, launch, spin, carry, [weather.conditions for weather in alike], rise_m)
        after_m = shot.carry_m * np.exp(done.log_carry)
        doubt_m = after_m * np.linalg.norm(done.doubts, axis=1)
        each_m = shot.carry_m * np.expm1(sets_log(done))
        for i, weather in enumerate(alike):
            found[weather] = Correction(
                float(after_m[i]) - shot.carry_m, float(doubt_m[i]), tuple(map(float, each_m[i])),
                float(done.flight.offline_m[i]), float(after_m[i] * GUST_SHARE * done.wind_after[i]),
                float(after_m[i] * WIND_TOLD_SHARE * done.wind_after[i]),
            )  # fmt: skip
    return tuple(found[weather] for weather in weathers)


def signed(value: float, decimals: int = 1) -> str:
    """Write a number with its sign; no sign for what rounds to nothing."""
    text = f"{value:+.{decimals}f}"
    return text[1:] if float(text) == 0.0 else text.replace("-", "\N{MINUS SIGN}")


def table(head: list[str], rows: list[list[str]]) -> str:
    """Join cells to a Markdown table, the first column to the left and the others to the right."""
    lines = [head, ["---", *(["--:"] * (len(head) - 1))], *rows]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def aero_table() -> str:
    """The three sets where wedges fly."""
    rows = []
    for speed, rpm in ON_THE_WAY:
        s, re = (
            np.array([rpm * RPM_RADPS * RADIUS_M / speed]),
            np.array([2 * RADIUS_M * speed / STANDARD_VISCOSITY_M2_S]),
        )
        each = [(*(float(c[0]) for c in aero.coefficients(s, re)), bool(aero.covers(s, re)[0])) for aero in AERO_SETS]
        cells = [f"{drag:.3f} / {lift:.3f}{'' if inside else ' *'}" for drag, lift, inside in each]
        apart = [100 * np.ptp(part) / np.mean(part) for part in ([e[0] for e in each], [e[1] for e in each])]
        rows.append(
            [
                f"{speed:g}",
                f"{rpm}",
                f"{s[0]:.2f}",
                f"{re[0] / 1000:.0f},000",
                *cells,
                f"{apart[0]:.0f} / {apart[1]:.0f}",
            ]
        )
    return table(["m/s", "rpm", "S", "Re", *SET_NAMES, "apart, %"], rows)


def corrections_table(shot: StockShot) -> str:
    """What each weather does to a stock shot, in yards."""
    rows = []
    for weather, done in zip(WEATHERS, corrections(shot), strict=True):
        mean = f"**{signed(done.mean_m / YARD_M)}** ± {done.doubt_m / YARD_M:.1f}"
        rows.append([weather.name, mean, *(signed(x / YARD_M) for x in done.each_m), signed(done.mean_m)])
    return table(
        [f"{shot.carry_yd:g} yd stock shot", "mean ± doubt, yd", *(f"{n}, yd" for n in SET_NAMES), "mean, m"], rows
    )


def gusts_by_set_m(shot: StockShot, wind_mps: float) -> list[float]:
    """What the same gusts do to one ball if each set is asked by itself."""
    winds = wind_mps * np.array([1.0, 1.2])
    start = (shot.ball_speed_mps, shot.launch_deg, shot.spin_rpm)
    by_set = [fly(*start, aero=aero, wind_mps=winds).carry_m for aero in AERO_SETS]
    return [GUST_SHARE * abs(float(np.diff(carry)[0])) / 0.2 for carry in by_set]


def wind_table() -> str:
    """What gusts and a wind noted wrongly do."""
    rows = []
    for shot in (LONG, SHORT):
        for weather, done in zip(WEATHERS, corrections(shot), strict=True):
            wind_mps = weather.conditions.wind_mps
            if wind_mps is None:
                continue
            by_set = " / ".join(f"{m / YARD_M:.2f}" for m in gusts_by_set_m(shot, wind_mps))
            name = f"{shot.carry_yd:g} yd, {weather.name}"
            rows.append([name, *(f"± {m / YARD_M:.2f}" for m in (done.gust_m, done.told_m)), by_set])
    return table(["shot", "gusts, one ball, yd", "noted wrongly, a session, yd", "gusts by each set, yd"], rows)


def _which(names: list[str]) -> str:
    return "all three" if len(names) == len(SET_NAMES) else ", ".join(names) or "none"


def band_table() -> str:
    """The corrections of the long shot beside those of the earlier computation, in metres."""
    rows = []
    for weather, done in zip(WEATHERS, corrections(LONG), strict=True):
        if weather.name not in EARLIER_M:
            continue
        low, high = EARLIER_M[weather.name]
        outside = [name for name, x in zip(SET_NAMES, done.each_m, strict=True) if not low <= float(f"{x:.2f}") <= high]
        rows.append(
            [
                weather.name, f"{signed(done.mean_m, 2)} ± {done.doubt_m:.2f}",
                f"{signed(min(done.each_m), 2)} to {signed(max(done.each_m), 2)}",
                f"{signed(low)} to {signed(high)}", _which(outside),
            ]
        )  # fmt: skip
    return table(
        ["64.0 m (70 yd)", "mean ± doubt, m", "the three sets, m", "earlier band, m", "sets outside the band"], rows
    )


def turn_table(weather: Weather) -> str:
    """What a weather does to low and high, slow and fast flights, in yards; ``?`` where the sets differ in sign."""
    angle, speed = (part.ravel().astype(float) for part in np.meshgrid(TURN_LAUNCH_DEG, TURN_SPEED_MPS, indexing="ij"))
    spin = TURN_SPIN_PER_MPS * speed
    carry = mean_carry_m(speed, angle, spin)
    done = changes(speed, angle, spin, carry, [weather.conditions] * len(speed), weather.rise_m)
    yards = carry * np.expm1(done.log_carry) / YARD_M
    agree = np.ptp(np.sign(sets_log(done)), axis=1) == 0
    cells = [f"{signed(y)}{'' if sure else ' ?'}" for y, sure in zip(yards, agree, strict=True)]
    width = len(TURN_SPEED_MPS)
    rows = [[f"{launch}°", *cells[i * width : (i + 1) * width]] for i, launch in enumerate(TURN_LAUNCH_DEG)]
    return table([weather.name, *(f"{v} m/s" for v in TURN_SPEED_MPS)], rows)


def cancel_table() -> str:
    """How sure the carries of a log from hot, thin air are in that air and in another."""
    rng = np.random.default_rng(20261125)
    player = invent_player(rng, skill=0.6)
    hot = Conditions(air_temp_c=35.0, altitude_m=1500.0)
    density = float(air_of([hot], Conditions(air_temp_c=15.0, humidity_pct=0.0)).density_kg_m3[0])
    swings = np.array([45.0, 90.0, 135.0, 165.0])
    day, wedge, swing, _ = (part.ravel() for part in np.indices((4, len(player.wedges), len(swings), 5)))
    balls = hit(player, wedge, swings[swing], rng, session=rng.standard_normal(4)[day], density_kg_m3=density)
    columns: dict[str, Any] = {
        "carry_m": balls.carry_m, "spin_rpm": balls.spin_rpm, "swing_deg": swings[swing],
        "loft_deg": np.array([player.wedges[i].loft_deg for i in wedge]),
        "wedge": [player.wedges[i].label for i in wedge], "session": [f"day {i}" for i in day],
    }  # fmt: skip
    chosen = player.wedges[1]
    kinds = [ShotKind(chosen.label, chosen.loft_deg, float(degrees)) for degrees in swings]
    said = [hot] * len(wedge)
    away = fit_observations(observations(**columns), said, Conditions())
    cold = Day(Conditions(air_temp_c=5.0, altitude_m=0.0))
    asked = (
        ("chart whose reference is the log's air", fit_observations(observations(**columns), said, hot)),
        ("reference standard, today the log's air", away.on(Day(hot))),
        ("reference standard, its own air", away),
        ("reference standard, today 5 °C", away.on(cold)),
    )
    rows = []
    for name, predictor in asked:
        cells = [f"{p.carry_m / YARD_M:.1f} ± {p.carry_se_m / YARD_M:.2f}" for p in predictor.predict(kinds)]
        rows.append([name, *cells])
    for name, there in (
        ("the truth in the log's air", density),
        ("the truth in the standard air", STANDARD_DENSITY_KG_M3),
    ):
        carry_m = true_medians(player, swings.tolist(), density_kg_m3=there)[0][player.wedges.index(chosen)]
        rows.append([name, *(f"{m / YARD_M:.1f}" for m in carry_m)])
    return table(["carry, yd", *(f"{degrees:g}° of swing" for degrees in swings)], rows)


def tables() -> dict[str, str]:
    """Every table of the page by its name there."""
    return {
        "aero": aero_table(),
        "long": corrections_table(LONG),
        "short": corrections_table(SHORT),
        "wind": wind_table(),
        "band": band_table(),
        "turn_altitude": turn_table(Weather("altitude 2000 m", Conditions(altitude_m=2000.0))),
        "turn_wind": turn_table(Weather("head wind 4 m/s", Conditions(wind_mps=-4.0))),
        "cancel": cancel_table(),
    }


def refreshed(text: str, fresh: dict[str, str]) -> str:
    """Return the page with its tables replaced; a name that is only on one side is an error."""
    names = [match[2] for match in _BLOCK.finditer(text)]
    if sorted(names) != sorted(fresh):
        raise ValueError(f"the page has the tables {sorted(names)}, computed are {sorted(fresh)}")
    return _BLOCK.sub(lambda match: match[1] + fresh[match[2]] + match[3], text)


@dataclass(frozen=True)
class Panel:
    """One panel: what is varied, and the changes of the long shot there [yd]."""

    title: str
    label: str
    tick: float
    x: "Array"
    mean: "Array"
    doubt: "Array"
    each: "Array"  # (points, sets)


@cache
def panels() -> tuple[Panel, ...]:
    """What the picture shows."""
    varied = (
        ("temperature", "air temperature [°C]", 10.0, np.linspace(-5, 40, 46), "air_temp_c"),
        ("altitude", "altitude [m]", 1000.0, np.linspace(0, 3000, 61), "altitude_m"),
        ("wind along the line", "head wind  \N{LEFTWARDS ARROW}  [m/s]  \N{RIGHTWARDS ARROW}  tail wind",
         2.0, np.linspace(-6, 6, 49), "wind_mps"),
    )  # fmt: skip
    result = []
    for title, label, tick, x, name in varied:
        done = corrections(LONG, tuple(Weather(title, Conditions(**{name: float(value)})) for value in x))
        mean, doubt = (np.array([getattr(c, part) for c in done]) / YARD_M for part in ("mean_m", "doubt_m"))
        result.append(Panel(title, label, tick, x, mean, doubt, np.array([c.each_m for c in done]) / YARD_M))
    return tuple(result)


# colours of Okabe & Ito, told apart by the colour-blind; the line style says the same in grey
_MEAN_COLOUR: Final = "#0072B2"
_SET_LINES: Final[tuple[tuple[str, Any], ...]] = (
    ("#D55E00", (0, (6, 2))),
    ("#009E73", (0, (6, 2, 1, 2))),
    ("#555555", (0, (1, 1.5))),
)
_PIXELS_PER_INCH: Final = 150


def draw_panel(ax: "Axes", panel: Panel) -> None:
    """Draw the mean, its band and the three sets."""
    from matplotlib.ticker import MultipleLocator

    ax.axhline(0.0, color="#888888", linewidth=0.8)
    ax.fill_between(
        panel.x, panel.mean - panel.doubt, panel.mean + panel.doubt, color=_MEAN_COLOUR, alpha=0.2, linewidth=0,
        label="mean ± doubt",
    )  # fmt: skip
    for name, (colour, style), each in zip(SET_NAMES, _SET_LINES, panel.each.T, strict=True):
        ax.plot(panel.x, each, color=colour, linestyle=style, linewidth=1.3, label=name)
    ax.plot(panel.x, panel.mean, color=_MEAN_COLOUR, linewidth=2.6, label="mean of the sets")
    ax.set_title(panel.title, fontsize=11, loc="left")
    ax.set_xlabel(panel.label)
    ax.margins(x=0)
    ax.xaxis.set_major_locator(MultipleLocator(panel.tick))
    ax.grid(visible=True, alpha=0.25)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def figure() -> "Figure":
    """Draw the picture of the page."""
    from matplotlib.figure import Figure
    from matplotlib.ticker import MultipleLocator

    drawn = Figure(figsize=(10.0, 4.8), layout="constrained")
    axes = drawn.subplots(1, 3, sharey=True)
    for ax, panel in zip(axes, panels(), strict=True):
        draw_panel(ax, panel)
    axes[0].yaxis.set_major_locator(MultipleLocator(2.0))
    axes[0].set_ylabel("change of carry [yd]")
    metres = axes[-1].secondary_yaxis("right", functions=(lambda yd: yd * YARD_M, lambda m: m / YARD_M))
    metres.set_ylabel("the same [m]")
    metres.yaxis.set_major_locator(MultipleLocator(2.0))
    axes[0].legend(loc="upper left", fontsize=9, frameon=False, labelspacing=0.25)
    drawn.suptitle(
        f"A {LONG.carry_yd:g} yd stock wedge shot ({LONG.launch_deg:g}° launch, {LONG.spin_rpm:g} rpm) "
        "against the same in 15 °C at sea level without wind",
        fontsize=11,
    )
    return drawn


def save(drawn: "Figure", path: Path) -> None:
    """Write the picture, with the means that it shows inside the file so that a test can tell whether it is fresh."""
    shown = {panel.title: [round(float(y), 3) for y in panel.mean] for panel in panels()}
    drawn.savefig(path, dpi=_PIXELS_PER_INCH, metadata={"Software": None, "Comment": json.dumps(shown)})


def main() -> None:
    """Print the tables, write them into the page, draw the picture."""
    fresh = tables()
    print("\n".join(f"{name}\n{text}" for name, text in fresh.items()))
    save(figure(), ROOT / PICTURE)
    page = ROOT / PAGE
    page.write_text(refreshed(page.read_text("utf-8"), fresh), encoding="utf-8")


if __name__ == "__main__":
    main()
