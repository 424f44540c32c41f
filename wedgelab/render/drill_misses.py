"""The misses of a drill as lines of bars, with the numbers beside them: long and short, and E five balls at a time."""

from collections.abc import Sequence
from typing import Final

from wedgelab.drill.machine import Played
from wedgelab.drill.scores import BALLS_A_BLOCK, BlockError, errors_in_turn
from wedgelab.render.sparks import sparkline
from wedgelab.render.words import count_text
from wedgelab.units import LengthUnit, format_length, in_unit

FEWEST_BALLS: Final = 5  # fewer misses are read faster from their lines
_BALLS_A_LINE: Final = 45
_MOST_NUMBERS: Final = 6
_TITLE: Final = "  E of each five balls: "


def misses_text(balls: Sequence[Played], unit: LengthUnit, *, ascii_only: bool = False) -> str:
    """Draw the misses ball by ball, the longest of them full; nothing for a few balls."""
    if len(balls) < FEWEST_BALLS:
        return ""
    most = max(_shown(ball.miss_m, unit) for ball in balls)
    lines = [f"Misses ball by ball, in {unit}, the full bar {format_length(_most(balls), unit, 1)}:"]
    for start in range(0, len(balls), _BALLS_A_LINE):
        part = balls[start : start + _BALLS_A_LINE]
        if len(balls) > _BALLS_A_LINE:
            lines.append(f"  ball {start + 1} to {start + len(part)}")
        for side, sign in (("long", 1.0), ("short", -1.0)):
            misses = [sign * ball.miss_m if _shown(ball.miss_m, unit) else 0.0 for ball in part]
            heights = [in_unit(miss, unit) if miss > 0 else None for miss in misses]
            bars = sparkline(heights, low=0.0, high=most, ascii_only=ascii_only)
            there = [miss for miss in misses if miss > 0]
            at_most = f", at most {format_length(max(there), unit, 1)}" if there else ""
            lines.append(f"  {side:5} {bars}  {count_text(len(there), 'ball')}{at_most}")
    blocks = errors_in_turn(balls)
    if len(blocks) > 1:
        lines += _block_lines(blocks, unit, ascii_only=ascii_only)
    return "\n".join(lines)


def _block_lines(blocks: Sequence[BlockError], unit: LengthUnit, *, ascii_only: bool) -> list[str]:
    most = max(block.e_m for block in blocks)
    bars = sparkline([block.e_m for block in blocks], low=0.0, high=most, ascii_only=ascii_only)
    numbers = [format_length(five.e_m, unit, 1) for five in blocks]
    said = ", ".join(numbers) if len(numbers) <= _MOST_NUMBERS else f"from {numbers[0]} to {numbers[-1]}"
    last = f" ({count_text(blocks[-1].n, 'ball')})" if blocks[-1].n < BALLS_A_BLOCK else ""
    parts = [bars[start : start + _BALLS_A_LINE] for start in range(0, len(bars), _BALLS_A_LINE)]
    lines = [f"{_TITLE if i == 0 else ' ' * len(_TITLE)}{part}" for i, part in enumerate(parts)]
    return [*lines[:-1], f"{lines[-1]}  {said} {unit}{last}"]


def _most(balls: Sequence[Played]) -> float:
    return max(abs(ball.miss_m) for ball in balls)


def _shown(miss_m: float, unit: LengthUnit) -> float:
    """Return how far off a ball is as the player reads it: nothing where it reads 0.0."""
    return abs(float(format_length(miss_m, unit, 1)))
