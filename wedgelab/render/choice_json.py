"""A choice, three flights of one distance and two players' choices as JSON; valid when there is no answer."""

import dataclasses
from collections.abc import Sequence
from typing import Any

from wedgelab.choose import Choice, Flights
from wedgelab.render.choice_words import verdict, warnings
from wedgelab.render.json import day_facts, document
from wedgelab.units import LengthUnit


def choice_document(
    choice: Choice | None, unit: LengthUnit = "yd", *, target_m: float | None = None, error: Exception | None = None
) -> str:
    """Return the options, best first; without any an empty document, with what would have an answer if that is why.

    ``unit`` is that of the sentences; the numbers are SI.
    """
    if choice is None:
        empty = dict.fromkeys(("window_low_m", "window_high_m", "want", "least_probability", "limits"))
        rest = dict.fromkeys(("reference", "day", "green", "lie", "n_draws", "draw_se"))
        return document(
            "choice", target_m=target_m, **empty, **_nearest(error), options=[], left_out=[], verdict="", warnings=[],
            trajectories=[], unlogged=[], **rest,
        )  # fmt: skip
    return document(
        "choice",
        target_m=choice.target_m,
        window_low_m=choice.window_low_m,
        window_high_m=choice.window_high_m,
        want=choice.want,
        least_probability=choice.least_probability,
        limits=choice.limits,
        **_nearest(None),
        options=choice.options,
        left_out=choice.left_out,
        verdict=verdict(choice, unit),
        warnings=warnings(choice, unit),
        trajectories=choice.trajectories,
        unlogged=choice.unlogged,
        reference=choice.reference,
        day=day_facts(choice.day),
        green=choice.green,
        lie=choice.lie,
        n_draws=choice.n_draws,
        draw_se=choice.draw_se,
    )


def flights_document(
    flights: Flights | None, summary: str = "", *, target_m: float | None = None, error: Exception | None = None
) -> str:
    """Return the shots that carry one distance low, stock and high; without any an empty document."""
    if flights is None:
        rest = dict.fromkeys(("window_low_m", "window_high_m", "limits", "reference", "day", "green", "lie"))
        return document(
            "flights", target_m=target_m, **_nearest(error), flights=[], left_out=[], out_of_reach=[], unlogged=[],
            summary="", **rest,
        )  # fmt: skip
    parts = {field.name: getattr(flights, field.name) for field in dataclasses.fields(flights)}
    return document("flights", **{**parts, "day": day_facts(flights.day)}, **_nearest(None), summary=summary)


def choices_document(
    names: tuple[str, str],
    choices: Sequence[Choice],
    unit: LengthUnit,
    *,
    target_m: float,
    better: str = "",
    chance_difference: float | None = None,
    sentence: str = "",
    notes: Sequence[str] = (),
) -> str:
    """Return two players' choices for one target; without both an empty document."""
    sides: list[dict[str, Any] | None] = [
        {"player": name, "verdict": verdict(one, unit), "warnings": warnings(one, unit), "options": one.options}
        for name, one in zip(names, choices, strict=False)
    ]
    first, second = sides if len(sides) == 2 else (None, None)
    return document(
        "choices",
        target_m=target_m,
        window_low_m=choices[0].window_low_m if second else None,
        window_high_m=choices[0].window_high_m if second else None,
        chance_difference=chance_difference,
        better=better,
        first=first,
        second=second,
        sentence=sentence,
        notes=list(notes),
    )


def _nearest(error: Exception | None) -> dict[str, Any]:
    return {
        "nearest_m": getattr(error, "nearest_m", None),
        "failed_limits": list(getattr(error, "failed", ())),
        "nearest_limits": getattr(error, "nearest", None),
    }
