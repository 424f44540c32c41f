"""What a part of the evaluation is: rows of players, each player by itself, and what is made of all of them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

Scores = dict[str, float]  # of one player, by the name of what was measured
Json = dict[str, Any]


@dataclass(frozen=True)
class Part:
    """One table. ``player`` scores one player of a row by its number; ``row`` sums a row up."""

    name: str
    rows: tuple[str, ...]
    player: Callable[[str, int], Scores]
    row: Callable[[list[Scores]], Json]


def column(players: Sequence[Scores], name: str) -> list[float]:
    """Return one measure of every player."""
    return [scores[name] for scores in players]


def mean(values: Sequence[float]) -> Json:
    """Return the mean and its standard error."""
    se = float(np.std(values, ddof=1)) / len(values) ** 0.5 if len(values) > 1 else float("nan")
    return {"mean": short(float(np.mean(values))), "se": short(se)}


def ratio(above: Sequence[float], below: Sequence[float]) -> Json:
    """Return the ratio of two means over the same players and its standard error by the jackknife."""
    a, b = np.asarray(above), np.asarray(below)
    n = len(a)
    without = (a.sum() - a) / (b.sum() - b) if n > 1 else np.array([np.nan])
    se = float(np.sqrt((n - 1) / n * np.sum((without - without.mean()) ** 2)))
    return {"mean": short(float(a.mean() / b.mean())), "se": short(se)}


def pooled(players: Sequence[Scores], name: str, weight: str = "cells") -> float | None:
    """Return a share over the cells of all players together."""
    return short(float(np.average(column(players, name), weights=column(players, weight))))


def short(value: float) -> float | None:
    """Keep five decimals; what is no number is null in the file."""
    return round(value, 5) if np.isfinite(value) else None
