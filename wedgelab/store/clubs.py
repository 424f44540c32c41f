"""What a row calls its wedge and its swing -> a label and an angle, from the bag, the row itself or the file."""

import contextlib
import re
from collections import Counter
from typing import Final

from wedgelab.errors import BadNameError, WedgelabError, quoted
from wedgelab.shots import LIMITS, MAX_LABEL, RESERVED_LABELS, Bag, SwingLength, Wedge, check_limits, clean_text
from wedgelab.store.csvfile import as_argument
from wedgelab.units import format_clock, looks_like_clock, parse_swing_deg, rounded

NAMED_FROM_ROWS: Final = 3  # an unnamed swing length that is hit this often gets a name in the bag
_CLOCK_HOURS: Final = 13  # a bare 9 is more likely nine o'clock than nine degrees
_DEGREES: Final = re.compile(r"(\d{1,3}(?:[.,]\d+)?)\s*(°|deg|degrees?)?", re.IGNORECASE | re.ASCII)
_SAME_DEG: Final = 0.05
_MINUTES: Final = 60
_HOURS_AND_MINUTES: Final = re.compile(r"(\d{1,2})[.,](\d{2})", re.ASCII)


class CellRefusedError(Exception):
    """A cell that cannot be used: which canonical column, and what is wanted instead."""

    def __init__(self, name: str, wanted: str) -> None:
        super().__init__(wanted)
        self.name, self.wanted = name, wanted


def loft_in(label: str) -> float | None:
    """Return the loft that a label such as ``54``, ``54°`` or ``54 deg`` states."""
    match = _DEGREES.fullmatch(label)
    loft = float(match[1].replace(",", ".")) if match else 0.0
    low, high, *_ = LIMITS["loft_deg"]
    return loft if low <= loft <= high else None


def hour_or_degrees(number: str) -> str:
    """Return what to type for a bare number such as ``9`` or ``7.30``: an hour or an angle, as far as each can be."""
    value = float(number.replace(",", "."))
    parts = _HOURS_AND_MINUTES.fullmatch(number)
    if parts and int(parts[2]) < _MINUTES:  # 7.30 is half past seven, 10.5 is half past ten
        hours, minutes = int(parts[1]), int(parts[2])
    else:
        hours, minutes = divmod(int(rounded(value * _MINUTES)), _MINUTES)
    possible = []
    for typed in (f"{hours}:{minutes:02d}", f"{value:g}deg"):
        with contextlib.suppress(WedgelabError):
            check_limits("swing_deg", parse_swing_deg(typed))
            possible.append(typed)
    low, high, *_ = LIMITS["swing_deg"]
    return " or ".join(possible) or f"a clock form such as 9:00, or an angle from {low:g} to {high:g} deg"


def swing_deg_in(label: str) -> float | None:
    """Return the angle [deg] that a swing such as ``9:00``, ``90`` or ``90 deg`` states, or None for other words."""
    if looks_like_clock(label):
        try:
            return parse_swing_deg(label)
        except WedgelabError as error:
            raise CellRefusedError("swing", "a clock time from 6:10 to 13:00, such as 9:00") from error
    match = _DEGREES.fullmatch(label)
    if match is None:
        return None
    angle = float(match[1].replace(",", "."))
    if not match[2] and angle <= _CLOCK_HOURS:
        raise CellRefusedError("swing", hour_or_degrees(match[1]))
    low, high, *_ = LIMITS["swing_deg"]
    if not low <= angle <= high:
        raise CellRefusedError("swing", f"an angle from {low:g} to {high:g} deg")
    return angle


def tidy_wedge(label: str) -> str:
    """Return a label without a degree sign: ``54°`` and ``54 deg`` are the wedge ``54``."""
    loft = loft_in(label)
    return label if loft is None else f"{loft:g}"


class ClubFinder:
    """Finds wedges and swings for the rows of one file; gathers what the bag lacks and what deserves a word.

    ``club`` is what a row that says nothing was hit with; without it such a row is refused.
    """

    def __init__(self, bag: Bag, club: tuple[Wedge, SwingLength] | None = None) -> None:
        self._club = club
        self._wedges = {wedge.label.casefold(): wedge for wedge in bag.wedges}
        self._swings = {swing.label.casefold(): swing for swing in bag.swings}
        self._known_wedges = ", ".join(wedge.label for wedge in bag.wedges)
        self._known_swings = ", ".join(swing.label for swing in bag.swings)
        self._lofts: dict[str, float] = {}
        self._angles: dict[str, float] = {}
        self._new_wedges: dict[str, Wedge] = {}
        self._new_swings: dict[str, SwingLength] = {}
        self._unnamed: Counter[str] = Counter()
        self._first_deg: dict[str, float] = {}
        self._differing: Counter[str] = Counter()

    def learn(self, wedge: str, loft_deg: float | None, swing: str, swing_deg: float | None) -> None:
        """Note what a row says, so that a row above it that gives the label alone is understood too."""
        if wedge and loft_deg is not None:
            self._lofts.setdefault(tidy_wedge(wedge).casefold(), loft_deg)
        if swing and swing_deg is not None:
            self._angles.setdefault(swing.casefold(), swing_deg)

    def wedge(self, label: str, loft_deg: float | None, *, verbatim: bool) -> tuple[str, float]:
        """Return label and loft [deg] of a row's wedge; ``verbatim`` keeps both as an export of ours has them."""
        if not label and loft_deg is None:
            if self._club is not None:
                return self._club[0].label, self._club[0].loft_deg
            raise CellRefusedError("wedge", "the label of a wedge, or its loft")
        stated = loft_in(label)
        tidy = tidy_wedge(label) if label else f"{loft_deg:g}"
        known = self._wedges.get(label.casefold()) or self._wedges.get(tidy.casefold())
        if verbatim and label and loft_deg is not None:
            if known is None and label.casefold() not in RESERVED_LABELS:  # the bag does without, the shot keeps it
                self._add_wedge(label, loft_deg)
            return label, loft_deg
        if known is None:
            loft = next((x for x in (loft_deg, self._lofts.get(tidy.casefold()), stated) if x is not None), None)
            if loft is None:
                have = f"a wedge of the bag ({self._known_wedges})" if self._known_wedges else "a wedge with its loft"
                raise CellRefusedError(
                    "wedge", f"{have}; add this one with: wedgelab bag add {as_argument(label)} LOFT"
                )
            return self._add_wedge(tidy, loft).label, loft
        if loft_deg is not None and abs(loft_deg - known.loft_deg) > _SAME_DEG:
            self._differing[
                f"wedge {quoted(known.label)} has loft {known.loft_deg:g} in the bag and {loft_deg:g} in the file"
            ] += 1
        return known.label, known.loft_deg if loft_deg is None else loft_deg

    def swing(self, label: str, swing_deg: float | None, *, verbatim: bool) -> tuple[str, float]:
        """Return label and angle [deg] of a row's swing."""
        if not label and swing_deg is None:
            if self._club is not None:
                return self._club[1].label, self._club[1].swing_deg
            raise CellRefusedError("swing", "a swing length such as 9:00, or its angle")
        known = self._swings.get(label.casefold())
        if verbatim and label and swing_deg is not None:
            if known is None:
                self._add_swing(label, swing_deg)
            return label, swing_deg
        if known is not None:
            if swing_deg is not None and abs(swing_deg - known.swing_deg) > _SAME_DEG:
                self._differing[
                    f"swing {quoted(known.label)} is {known.swing_deg:g} deg in the bag and {swing_deg:g} in the file"
                ] += 1
            return known.label, known.swing_deg if swing_deg is None else swing_deg
        stated = swing_deg_in(label)
        if stated is not None or not label:
            return self._unnamed_swing(label, stated, swing_deg)
        angle = swing_deg if swing_deg is not None else self._angles.get(label.casefold())
        if angle is None:
            have = f"one of {self._known_swings}, " if self._known_swings else ""
            how = f"add this one with: wedgelab bag swing {as_argument(label)} DEGREES"
            raise CellRefusedError("swing", f"{have}a clock form such as 9:00 or degrees; {how}")
        self._add_swing(label, angle)
        return label, angle

    def _unnamed_swing(self, label: str, stated: float | None, swing_deg: float | None) -> tuple[str, float]:
        if stated is not None and swing_deg is not None and abs(stated - swing_deg) > 0.5:
            raise CellRefusedError("swing_deg", f"{stated:g}, which {label} says, or another name for the swing")
        angle = stated if swing_deg is None else swing_deg
        if angle is None:  # the caller has checked that one of the two is there
            raise CellRefusedError("swing_deg", "an angle")
        named = self._named(angle)
        if named is not None:
            return named.label, angle
        clock = format_clock(angle)
        self._add_swing(clock, angle)
        return clock, angle

    def _named(self, swing_deg: float) -> SwingLength | None:
        named = (*self._swings.values(), *self._new_swings.values())
        return next((swing for swing in named if abs(swing.swing_deg - swing_deg) < _SAME_DEG), None)

    def _add_wedge(self, label: str, loft_deg: float) -> Wedge:
        try:
            wedge = Wedge(label, loft_deg)
        except WedgelabError as error:
            wanted = "a short label of visible characters"
            if label.casefold() in RESERVED_LABELS:
                wanted = "a label that is no command of the prompts"
            raise CellRefusedError("wedge", wanted) from error
        self._wedges[label.casefold()] = self._new_wedges[label.casefold()] = wedge
        return wedge

    def _add_swing(self, label: str, swing_deg: float) -> None:
        """Remember a swing that the bag lacks; one that is only a clock time needs no name until it is used often.

        An angle that has a name gets no second one: the chart has one column for it.
        """
        key = label.casefold()
        try:
            clean_text("swing", label, MAX_LABEL)
        except WedgelabError as error:
            raise CellRefusedError("swing", "a short name of visible characters") from error
        try:
            swing = SwingLength(label, self._first_deg.setdefault(key, swing_deg))
        except BadNameError:  # it says another angle, or is a command: the shot keeps it, the bag does without
            return
        if looks_like_clock(label):
            self._unnamed[label] += 1
            if self._unnamed[label] < NAMED_FROM_ROWS:
                return
        if self._named(swing.swing_deg) is None:
            self._new_swings[key] = swing
            if not looks_like_clock(label):
                self._swings[key] = swing

    @property
    def new_wedges(self) -> tuple[Wedge, ...]:
        """The wedges that the bag lacks, in the order of the file."""
        return tuple(self._new_wedges.values())

    @property
    def new_swings(self) -> tuple[SwingLength, ...]:
        """The named swing lengths that the bag lacks, in the order of the file."""
        return tuple(self._new_swings.values())

    def notices(self) -> tuple[str, ...]:
        """Return one line for each wedge or swing whose angle differs from the bag's."""
        return tuple(
            f"{what}; {count} {'shot keeps' if count == 1 else 'shots keep'} the file's value"
            for what, count in self._differing.items()
        )
