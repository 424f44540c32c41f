"""The player's bag and the balls that were hit: frozen, validated records. Standard library only, SI only."""

import dataclasses
import math
import re
import unicodedata
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from wedgelab.errors import (
    BadNameError,
    BadRequestError,
    OutOfRangeError,
    UnknownNameError,
    UnreadableValueError,
    quoted,
)
from wedgelab.units import format_clock, format_number, looks_like_clock, parse_swing_deg, rounded

TRAJECTORIES: Final = ("low", "stock", "high")
LIES: Final = ("mat", "fairway", "rough", "sand", "tight")
STRIKES: Final = ("solid", "off")

# Hard limits: a value outside is rejected wherever it comes from. (low, high, unit word, decimals to show)
LIMITS: Final[Mapping[str, tuple[float, float, str, int]]] = {
    "loft_deg": (20.0, 75.0, "deg", 1),
    "bounce_deg": (-5.0, 30.0, "deg", 1),
    "swing_deg": (5.0, 210.0, "deg", 1),
    "carry_m": (0.5, 250.0, "m", 1),
    "total_m": (0.0, 300.0, "m", 1),
    "offline_m": (-150.0, 150.0, "m", 1),
    "ball_speed_mps": (1.0, 80.0, "m/s", 1),
    "club_speed_mps": (1.0, 70.0, "m/s", 1),
    "launch_deg": (-10.0, 80.0, "deg", 1),
    "spin_rpm": (0.0, 16000.0, "rpm", 0),
    "land_deg": (0.0, 90.0, "deg", 1),
    "apex_m": (0.0, 100.0, "m", 1),
    "target_m": (0.5, 250.0, "m", 1),
    "guess_m": (0.5, 250.0, "m", 1),
    "window_m": (0.1, 50.0, "m", 1),
    "advised_swing_deg": (5.0, 210.0, "deg", 1),
    "air_temp_c": (-40.0, 60.0, "C", 1),
    "station_pressure_hpa": (500.0, 1100.0, "hPa", 1),
    "humidity_pct": (0.0, 100.0, "%", 0),
    "altitude_m": (-450.0, 5000.0, "m", 0),
    "wind_mps": (-30.0, 30.0, "m/s", 1),
    "cross_wind_mps": (-30.0, 30.0, "m/s", 1),
    # only ever read, never kept: a station's pressure of higher ground is none, so a mix-up is seen
    "sea_level_pressure_hpa": (920.0, 1060.0, "hPa", 1),
    "head_wind_mps": (-30.0, 30.0, "m/s", 1),  # likewise: becomes a wind_mps of the other sign
}

CONDITION_COLUMNS: Final = (
    "air_temp_c",
    "station_pressure_hpa",
    "humidity_pct",
    "altitude_m",
    "wind_mps",
    "cross_wind_mps",
)

MEASURED_SWING_DEG: Final = 5.0  # a ball counts for a swing length up to this far from it (docs/names.md)
SAME_LOFT_DEG: Final = 0.05  # a club whose loft differs by more was bent: it is another club
LIES_APART: Final = ("rough", "sand")  # they behave differently; all other lies count as one
_ROUNDING_DEG: Final = 1e-9
MAX_LABEL: Final = 40
_TYPED: Final = re.compile(rf"[\w.+-]{{1,{MAX_LABEL}}}")  # what a shell takes as one word
RESERVED_LABELS: Final = frozenset(
    {"undo", "skip", "quit", "guess", "help", "fix", "correct", "pause", "advice", "?"}
)  # words of the prompts
MAX_NAME: Final = 200
MAX_NOTE: Final = 1000


def check_limits(name: str, value: float, said: str = "") -> float:
    """Return the value as a float, or raise `OutOfRangeError` when it is not finite or outside `LIMITS`.

    ``said`` is what the user typed, if that is not the value itself.
    """
    low, high, unit, digits = LIMITS[name]
    number = float(value)
    if not low <= number <= high:  # also true for NaN
        what = name.removesuffix("_" + name.rsplit("_", 1)[-1]).replace("_", " ")
        shown = format_number(number, digits, missing=str(number))
        if abs(number) >= 1e9 or low <= float(rounded(number, digits)) <= high:
            shown = repr(number)  # rounded, it would look allowed; or it is too long to read
        seen = f"{quoted(said)} ({shown} {unit})" if said else f"{shown} {unit}"
        raise OutOfRangeError(what, seen, format_number(low, digits), f"{format_number(high, digits)} {unit}")
    return number


def clean_text(what: str, text: str, longest: int, *, required: bool = True) -> str:
    """Return a one-line text without outer blanks; control and invisible formatting characters are refused."""
    cleaned = unicodedata.normalize("NFC", text).strip()
    if required and not cleaned:
        raise BadNameError(what, text, "give at least one visible character")
    if len(cleaned) > longest:
        raise BadNameError(what, text, f"use at most {longest} characters, this has {len(cleaned)}")
    if any(unicodedata.category(char) in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"} for char in cleaned):
        raise BadNameError(what, text, "leave out control and invisible characters")
    return cleaned


def clean_label(what: str, text: str) -> str:
    """Return a label of a club or a swing; a word that means something at a prompt is refused."""
    label = clean_text(what, text, MAX_LABEL)
    if label.casefold() in RESERVED_LABELS:
        raise BadNameError(what, label, "it is a command of the prompts: choose another label")
    return label


def check_moment(text: str, what: str = "time") -> str:
    """Return an ISO 8601 time with an offset, as it was given, or raise `UnreadableValueError`."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None or not text.isprintable():  # any sign may part date and time
        raise UnreadableValueError(what, text, "give ISO 8601 with an offset, such as 2026-06-03T18:30:00+02:00")
    return text


def new_id() -> str:
    """Return a new identifier, made where the thing is made and never reused."""
    return str(uuid.uuid4())


def _check_choice(what: str, value: str, allowed: tuple[str, ...], *, empty_ok: bool) -> None:
    if value not in allowed and not (empty_ok and value == ""):
        raise UnknownNameError(what, value, allowed)


@dataclass(frozen=True, slots=True)
class Wedge:
    """A club: the player's label, its static loft and, if known, its bounce. A changed loft is a new `Wedge`."""

    label: str
    loft_deg: float
    bounce_deg: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "label", clean_label("wedge", self.label))
        object.__setattr__(self, "loft_deg", check_limits("loft_deg", self.loft_deg))
        if self.bounce_deg is not None:
            object.__setattr__(self, "bounce_deg", check_limits("bounce_deg", self.bounce_deg))


@dataclass(frozen=True, slots=True)
class SwingLength:
    """A named swing length: lead-arm angle at the top, 0 deg hanging down, 90 deg level with the ground."""

    label: str
    swing_deg: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "label", clean_label("swing", self.label))
        object.__setattr__(self, "swing_deg", check_limits("swing_deg", self.swing_deg))
        if looks_like_clock(self.label):
            check_stated_length(self.label, self.swing_deg)


def check_stated_length(label: str, swing_deg: float) -> None:
    """Refuse a label that is a clock time or a number of degrees and means another length."""
    try:
        stated = parse_swing_deg(label)
    except UnreadableValueError:
        return
    if abs(stated - swing_deg) > 0.5:
        wanted = f"it says {format_number(stated, 1)} deg itself: choose another label or that length"
        raise BadNameError("swing", label, wanted)


DEFAULT_SWINGS: Final = (
    SwingLength("8:00", 60.0),
    SwingLength("9:00", 90.0),
    SwingLength("10:00", 120.0),
    SwingLength("full", 165.0),
)


@dataclass(frozen=True, slots=True)
class Bag:
    """The wedges and named swing lengths that a player uses now, in loft and length order."""

    wedges: tuple[Wedge, ...] = ()
    swings: tuple[SwingLength, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "wedges", tuple(sorted(self.wedges, key=lambda w: (w.loft_deg, w.label))))
        object.__setattr__(self, "swings", tuple(sorted(self.swings, key=lambda s: (s.swing_deg, s.label))))

    def find_wedge(self, label: str) -> Wedge | None:
        """Return the wedge of that label (case does not matter), or None."""
        return next((w for w in self.wedges if w.label.casefold() == label.strip().casefold()), None)

    def find_swing(self, label: str) -> SwingLength | None:
        """Return the swing length of that label (case does not matter), or None."""
        return next((s for s in self.swings if s.label.casefold() == label.strip().casefold()), None)

    def wedge(self, label: str, *, may_be_new: bool = True) -> Wedge:
        """Return the wedge of that label, or raise `UnknownNameError` with the nearest one: of a number by its loft.

        Where it ``may_be_new`` the error says how to add it.
        """
        found = self.find_wedge(label)
        if found is not None:
            return found
        loft_deg, meant = _loft_of(label), None
        if loft_deg is not None and self.wedges:  # of lofts the nearest one is meant, not the one written alike
            meant = min(self.wedges, key=lambda w: _off_loft(w, loft_deg)).label
        typed = label if _TYPED.fullmatch(label) else "LABEL"
        how = f"add it with: wedgelab bag add {typed} LOFT" if may_be_new else ""
        raise UnknownNameError("wedge", label, (w.label for w in self.wedges), how, meant=meant)

    def swing_named(self, swing_deg: float) -> SwingLength:
        """Return the bag's swing length of exactly that angle, else one labelled by its clock form."""
        found = next((s for s in self.swings if abs(s.swing_deg - swing_deg) < 1e-6), None)
        return found or SwingLength(format_clock(swing_deg), swing_deg)


def _loft_of(label: str) -> float | None:
    """Return the loft that a label is, None if it is none."""
    try:
        loft_deg = float(label.strip().removesuffix("°"))
    except ValueError:
        return None
    low, high = LIMITS["loft_deg"][:2]
    return loft_deg if low <= loft_deg <= high else None


def _off_loft(wedge: Wedge, loft_deg: float) -> float:
    """Return how far a loft is from the wedge's, or from the one that its label says if that is nearer."""
    stated = _loft_of(wedge.label)
    return min(abs(loft_deg - known) for known in (wedge.loft_deg, stated) if known is not None)


NEW_BAG: Final = Bag((), DEFAULT_SWINGS)  # of a player who is not there yet


_SEA_LEVEL_HPA: Final = 1013.25
_SCALE_HEIGHT_M: Final = 8400.0  # rough: 1 % off ISO 2533 at 3 km, 3 % at 5 km, which the margins below cover
_LOWEST_SHARE: Final = 0.91
_HIGHEST_SHARE: Final = 1.045
_MORE_SHARE_PER_KM: Final = 0.01  # warm air thins more slowly with height


def station_pressure_range_hpa(altitude_m: float) -> tuple[float, float]:
    """Return the lowest and highest pressure [hPa] that any weather makes at an altitude, generously."""
    usual = _SEA_LEVEL_HPA * math.exp(-altitude_m / _SCALE_HEIGHT_M)
    return _LOWEST_SHARE * usual, (_HIGHEST_SHARE + _MORE_SHARE_PER_KM * max(altitude_m, 0.0) / 1000.0) * usual


def check_station_pressure(station_pressure_hpa: float, altitude_m: float) -> None:
    """Refuse a pressure that cannot be one at its altitude: weather reports give it as it would be at sea level."""
    low, high = station_pressure_range_hpa(altitude_m)
    if low <= station_pressure_hpa <= high:
        return
    seen = f"station pressure {format_number(station_pressure_hpa, 1)} hPa"
    place = f"{format_number(altitude_m)} m ({format_number(low)} to {format_number(high)} hPa)"
    lowest, highest, *_ = LIMITS["sea_level_pressure_hpa"]
    if station_pressure_hpa > high and lowest <= station_pressure_hpa <= highest:
        raise BadRequestError(
            f"{seen} looks like a sea-level pressure, it cannot be one at {place}",
            "give it with --sea-level, in a file as sea_level_pressure_hpa, or leave the altitude out",
        )
    raise BadRequestError(f"{seen} cannot be one at {place}", "check both and their units, or leave one out")


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the air of a session was like; None where nobody said. Tail wind and wind from the left are positive.

    The pressure is the station's, as it is at that altitude; one that is reduced to sea level is refused where the
    altitude shows it.
    """

    air_temp_c: float | None = None
    station_pressure_hpa: float | None = None
    humidity_pct: float | None = None
    altitude_m: float | None = None
    wind_mps: float | None = None
    cross_wind_mps: float | None = None

    def __post_init__(self) -> None:
        for name in CONDITION_COLUMNS:
            value = getattr(self, name)
            if value is not None:
                object.__setattr__(self, name, check_limits(name, value))
        if self.station_pressure_hpa is not None and self.altitude_m is not None:
            check_station_pressure(self.station_pressure_hpa, self.altitude_m)

    @classmethod
    def as_stored(cls, values: Iterable[float | None]) -> "Conditions":
        """Build from a log's row, in the order of the fields, without holding the pressure against the altitude.

        A log of before that check must open whatever it holds; the limits are held by the table's own CHECKs.
        """
        made = object.__new__(cls)
        for name, value in zip(CONDITION_COLUMNS, values, strict=True):
            object.__setattr__(made, name, value)
        return made

    def changed(self, changes: Mapping[str, float | None]) -> "Conditions":
        """Return the conditions after some changes by column name, None for unknown; other names are passed over.

        Pressure and altitude are held against each other only if one of them changes: what an older log has noted
        must not stand in the way of another change.
        """
        values = {name: changes.get(name, getattr(self, name)) for name in CONDITION_COLUMNS}
        if all(values[name] == getattr(self, name) for name in ("station_pressure_hpa", "altitude_m")):
            return Conditions.as_stored(
                None if value is None else check_limits(name, value) for name, value in values.items()
            )
        return Conditions(**values)

    def known(self) -> dict[str, float]:
        """Return what was said, by column name."""
        said = ((name, getattr(self, name)) for name in CONDITION_COLUMNS)
        return {name: value for name, value in said if value is not None}

    @property
    def is_empty(self) -> bool:
        """True when nothing at all was said."""
        return not self.known()


_OPTIONAL_NUMBERS: Final = (
    "total_m",
    "offline_m",
    "ball_speed_mps",
    "club_speed_mps",
    "launch_deg",
    "spin_rpm",
    "land_deg",
    "apex_m",
    "target_m",
    "guess_m",
    "window_m",
    "advised_swing_deg",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One ball: who hit what, how far it carried, and whatever else was measured. Names as in docs/names.md."""

    shot_id: str
    player: str
    session: str
    hit_at: str
    wedge: str
    loft_deg: float
    swing: str
    swing_deg: float
    carry_m: float
    trajectory: str = "stock"
    lie: str = ""
    total_m: float | None = None
    offline_m: float | None = None
    ball_speed_mps: float | None = None
    club_speed_mps: float | None = None
    launch_deg: float | None = None
    spin_rpm: float | None = None
    land_deg: float | None = None
    apex_m: float | None = None
    target_m: float | None = None
    guess_m: float | None = None
    drill_id: str = ""
    call_no: int | None = None
    window_m: float | None = None
    advice_shown: bool | None = None
    advised_wedge: str = ""
    advised_swing_deg: float | None = None
    strike: str = ""
    ball: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        put = object.__setattr__
        put(self, "shot_id", clean_text("shot", self.shot_id, MAX_NAME))
        put(self, "player", clean_text("player", self.player, MAX_NAME))
        put(self, "session", clean_text("session", self.session, MAX_NAME))
        put(self, "wedge", clean_text("wedge", self.wedge, MAX_LABEL))
        put(self, "swing", clean_text("swing", self.swing, MAX_LABEL))
        put(self, "drill_id", clean_text("drill", self.drill_id, MAX_NAME, required=False))
        put(self, "advised_wedge", clean_text("advised wedge", self.advised_wedge, MAX_LABEL, required=False))
        put(self, "ball", clean_text("ball", self.ball, MAX_NAME, required=False))
        put(self, "note", clean_text("note", self.note, MAX_NOTE, required=False))
        check_moment(self.hit_at)
        for name in ("loft_deg", "swing_deg", "carry_m"):
            put(self, name, check_limits(name, getattr(self, name)))
        for name in _OPTIONAL_NUMBERS:
            value = getattr(self, name)
            if value is not None:
                put(self, name, check_limits(name, value))
        _check_choice("trajectory", self.trajectory, TRAJECTORIES, empty_ok=False)
        _check_choice("lie", self.lie, LIES, empty_ok=True)
        _check_choice("strike", self.strike, STRIKES, empty_ok=True)

    def replace(self, **changes: Any) -> "Shot":
        """Return a copy with some columns changed, validated again."""
        return dataclasses.replace(self, **changes)


def counts_for(shot: Shot, *, wedge: str, loft_deg: float, swing_deg: float, trajectory: str, lie: str) -> bool:
    """Tell whether a ball counts for a shot: its club, about its swing length, its flight, and a lie like its lie."""
    return (
        shot.wedge.casefold() == wedge.casefold()
        and abs(shot.loft_deg - loft_deg) <= SAME_LOFT_DEG
        and abs(shot.swing_deg - swing_deg) <= MEASURED_SWING_DEG + _ROUNDING_DEG
        and shot.trajectory == trajectory
        and lie_apart(shot.lie) == lie_apart(lie)
    )


def lie_apart(lie: str) -> str:
    """Return a lie of those that behave differently as it is, and every other one as the same empty word."""
    return lie if lie in LIES_APART else ""


SHOT_COLUMNS: Final = tuple(field.name for field in dataclasses.fields(Shot))


def count_sessions(shots: Iterable[Shot]) -> int:
    """Return how many practice sessions the shots come from."""
    return len({(shot.player, shot.session) for shot in shots})
