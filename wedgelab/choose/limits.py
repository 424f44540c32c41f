"""Limits that an option must keep: spin at least, apex at most, landing angle at least; by its medians.

A median spin at the limit is an even chance that a ball spins more.
"""

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Final

from wedgelab.errors import NothingFitsError
from wedgelab.units import LengthUnit, format_length, format_number, from_unit, in_unit

if TYPE_CHECKING:
    from wedgelab.choose.options import Option

_SPIN_STEP_RPM: Final = 50.0


@dataclass(frozen=True, slots=True)
class Limits:
    """What the medians of an option must keep; None where nothing is asked."""

    min_spin_rpm: float | None = None
    max_apex_m: float | None = None
    min_land_deg: float | None = None

    @property
    def given(self) -> list[str]:
        """Names of the limits that were asked for."""
        return [field.name for field in fields(self) if getattr(self, field.name) is not None]


NO_LIMITS: Final = Limits()


@dataclass(frozen=True, slots=True)
class _Kind:
    """How one limit is read off an option and put into words; ``sign`` is 1 where more of it is better."""

    value: Callable[["Option"], float]
    sign: float
    asks: Callable[[float, LengthUnit], str]
    nearest: Callable[[float, LengthUnit], str]
    passing: Callable[[float, LengthUnit], float]
    flag: Callable[[float, LengthUnit], str]

    def goodness(self, option: "Option") -> float:
        """Return what is larger the better the limit is kept; a flight that has no such number is the worst."""
        value = self.sign * self.value(option)
        return -math.inf if math.isnan(value) else value

    def best_first(self, option: "Option") -> tuple[float, float]:
        """Return what tells the nearest to the limit, by its chance where several are as near."""
        return self.goodness(option), option.chance


def _tenth_below(value: float) -> float:
    """Round down to a tenth; what is offered instead must pass when it is typed, whatever a float's last bit says."""
    tenths = math.floor(value * 10.0)
    return (tenths if tenths / 10.0 <= value - 1e-9 or tenths / 10.0 == value else tenths - 1) / 10.0


def _apex_words(value: float, unit: LengthUnit) -> str:
    return f"{format_length(value, unit, 1).removesuffix('.0')}{unit}"


_KINDS: Final = {
    "min_spin_rpm": _Kind(
        lambda o: o.spin_rpm,
        1.0,
        lambda v, _: f"spins {format_number(v)} rpm or more",
        lambda v, _: f"the most spin is {format_number(v)} rpm",
        lambda v, _: _SPIN_STEP_RPM * math.floor(v / _SPIN_STEP_RPM),
        lambda v, _: f"--min-spin {format_number(v)}",
    ),
    "max_apex_m": _Kind(
        lambda o: o.flight.apex_m,
        -1.0,
        lambda v, unit: f"stays under {_apex_words(v, unit).removesuffix(unit)} {unit}",
        lambda v, unit: f"the lowest apex is {format_length(v, unit, 1)} {unit}",
        lambda v, unit: from_unit(-_tenth_below(-in_unit(v, unit)), unit),
        lambda v, unit: f"--max-apex {_apex_words(v, unit)}",
    ),
    "min_land_deg": _Kind(
        lambda o: o.flight.land_deg,
        1.0,
        lambda v, _: f"lands at {format_number(v, 1).removesuffix('.0')} deg or more",
        lambda v, _: f"the steepest landing is {format_number(v, 1)} deg",
        lambda v, _: _tenth_below(v),
        lambda v, _: f"--min-land {format_number(v, 1).removesuffix('.0')}",
    ),
}


class LimitsFailError(NothingFitsError):
    """No option keeps the limits; ``failed`` names those that fail, ``nearest`` has values that would pass."""

    def __init__(self, what: str, instead: str, failed: Sequence[str], nearest: dict[str, float]) -> None:
        self.failed, self.nearest = tuple(failed), nearest
        super().__init__(what, instead)


def keep(options: Sequence["Option"], limits: Limits, target_m: float, unit: LengthUnit) -> list["Option"]:
    """Return the options within the limits; without any raise `LimitsFailError` that says which limit fails."""
    given = limits.given
    kept = _passing(options, limits, given)
    if kept or not options:
        return kept
    failed = [name for name in given if not _passing(options, limits, [name])]
    alone = bool(failed)
    if not failed:  # each has an answer, but not together: the smallest group that has none
        groups = (group for size in (2, 3) for group in itertools.combinations(given, size))
        failed = list(next(group for group in groups if not _passing(options, limits, group)))
    sentence, nearest = _words(options, limits, failed, unit, alone=alone)
    target = f"{format_length(target_m, unit, 1).removesuffix('.0')} {unit}"
    joined = (", and none " if alone else " and ").join(
        _KINDS[name].asks(getattr(limits, name), unit) for name in failed
    )
    raise LimitsFailError(f"no shot for {target} {joined}", sentence, failed, nearest)


def _words(
    options: Sequence["Option"], limits: Limits, failed: Sequence[str], unit: LengthUnit, *, alone: bool
) -> tuple[str, dict[str, float]]:
    """Say of each failed limit the nearest that has an answer while the others stay; return those values too."""
    said, nearest = [], {}
    for name in failed:
        kind = _KINDS[name]
        others = [other for other in limits.given if other != name and not (alone and other in failed)]
        if not _passing(options, limits, others):
            others = [other for other in others if other in failed]
        best = max(_passing(options, limits, others), key=kind.best_first)
        nearest[name] = kind.passing(kind.value(best), unit)
        # only the limits that stand in the way are said again
        free = max(options, key=kind.best_first)
        binding = [other for other in others if not _passes(free, limits, other)]
        rest = f"with {_flags(limits, binding, unit)} " if binding else ""
        passes = kind.flag(nearest[name], unit)
        dropped = [other for other in limits.given if other != name and not _passes(best, limits, other)]
        without = f" without {_flags(limits, dropped, unit)}" if dropped else ""
        said.append(f"{rest}{kind.nearest(kind.value(best), unit)} ({best.name}), {passes} has an answer{without}")
    return "; ".join(said), nearest


def _flags(limits: Limits, names: Iterable[str], unit: LengthUnit) -> str:
    return " ".join(_KINDS[name].flag(getattr(limits, name), unit) for name in names)


def _passing(options: Sequence["Option"], limits: Limits, names: Iterable[str]) -> list["Option"]:
    asked = list(names)
    return [option for option in options if all(_passes(option, limits, name) for name in asked)]


def _passes(option: "Option", limits: Limits, name: str) -> bool:
    kind = _KINDS[name]
    return kind.goodness(option) >= kind.sign * float(getattr(limits, name))
