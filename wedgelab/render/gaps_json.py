"""The JSON documents of `gaps` and `bag suggest`."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from wedgelab.gaps.bags import WhatIf
from wedgelab.gaps.report import GapReport
from wedgelab.gaps.suggest import SuggestedBag, Suggestion
from wedgelab.render.gaps_words import sentences, what_if_sentence
from wedgelab.render.json import document, flat, plain
from wedgelab.render.suggest_text import suggestion_sentence

if TYPE_CHECKING:
    from wedgelab.gaps.stretches import Stretch
    from wedgelab.units import LengthUnit


def gaps_document(report: GapReport | None, unit: "LengthUnit", found: WhatIf | None = None) -> str:
    """Return the gaps of today's bag, and with `found` those of the other one and how they compare."""
    other = comparison = None
    if found is not None:
        other = _report(found.other, unit)
        comparison = {
            **plain(found.comparison), "verdict": found.comparison.verdict,
            "sentence": what_if_sentence(found, unit),
        }  # fmt: skip
    return document("gaps", **_report(report, unit), other=other, comparison=comparison)


def _report(report: GapReport | None, unit: "LengthUnit") -> dict[str, Any]:
    if report is None:
        return {
            "player": "", "n_shots": 0, "n_sessions": 0, "wedges": [], "low_m": None, "high_m": None, "window": None,
            "shots": [], "gaps": [], "overlaps": [], "stretches": [], "widest": None, "targets": [], "coverage": None,
            "known_coverage": None, "known_coverage_p10": None, "known_coverage_p90": None, "spread_doubt": None,
            "sentence": "",
        }  # fmt: skip
    widest = report.widest
    return {
        "player": report.player,
        "n_shots": report.n_shots,
        "n_sessions": report.n_sessions,
        "wedges": report.wedges,
        "low_m": report.low_m,
        "high_m": report.high_m,
        "window": report.window,
        "shots": [{**flat(shot), "own_sd_m": own} for shot, own in zip(report.shots, report.own_sd_m, strict=True)],
        "gaps": report.gaps,
        "overlaps": report.overlaps,
        "stretches": [_stretch(one) for one in report.stretches],
        "widest": None if widest is None else _stretch(widest),
        "targets": _targets(report.targets_m, report.best_chances),
        "coverage": report.coverage,
        "known_coverage": report.known_coverage,
        "known_coverage_p10": report.known_coverage_p10,
        "known_coverage_p90": report.known_coverage_p90,
        "spread_doubt": report.spread_doubt,
        "sentence": " ".join(sentences(report, unit)),
    }


def _stretch(stretch: "Stretch") -> dict[str, Any]:
    """Return a stretch with the shots beside it under names of their own, null at an end of the span."""
    facts: dict[str, Any] = plain(stretch)
    for shot, prefix in ((facts.pop("shorter"), ""), (facts.pop("longer"), "longer_")):
        facts[f"{prefix}wedge"], facts[f"{prefix}swing"] = shot or (None, None)
    return facts


def suggestion_document(found: Suggestion | None, unit: "LengthUnit") -> str:
    """Return the suggested bags, best first, and today's; without any an empty document."""
    if found is None:
        return document(
            "bag-suggest", player="", n_shots=0, n_sessions=0, low_m=None, high_m=None, window=None, today=None,
            bags=[], n_searched=0, sentence="",
        )  # fmt: skip
    return document(
        "bag-suggest", player=found.player, n_shots=found.n_shots, n_sessions=found.n_sessions, low_m=found.low_m,
        high_m=found.high_m, window=found.window, today=_suggested(found.today, found),
        bags=[_suggested(bag, found) for bag in found.bags], n_searched=found.n_searched,
        sentence=suggestion_sentence(found, unit),
    )  # fmt: skip


def _suggested(bag: SuggestedBag, found: Suggestion) -> dict[str, Any]:
    """Return a bag with its chances as those of `gaps`, and the verdict beside the comparison."""
    facts: dict[str, Any] = plain(bag)
    facts["targets"] = _targets(found.targets_m, facts.pop("best_chances"))
    if bag.against_today is not None:
        facts["against_today"]["verdict"] = bag.against_today.verdict
    return facts


def _targets(targets_m: Sequence[float], chances: Sequence[float]) -> list[dict[str, float]]:
    return [
        {"target_m": target, "window_probability": chance} for target, chance in zip(targets_m, chances, strict=True)
    ]
