"""What a drill says line by line: of one ball, of a block of balls, as the plan's feedback has it."""

from wedgelab.drill.machine import DrillState, Played
from wedgelab.render.drill_text import miss_line
from wedgelab.render.layout import wrap
from wedgelab.render.words import count_text, signed_length
from wedgelab.units import LengthUnit, format_length


def feedback_line(state: DrillState, ball: Played, unit: LengthUnit) -> str:
    """Say of a ball what the player is to know now."""
    if state.shows_number_of(ball):
        return miss_line(ball, unit)
    if state.plan.feedback == "outside":
        return "  inside the window"
    return f"  stored; results after call {block_end(state, ball.call_no)}"


def block_end(state: DrillState, call_no: int) -> int:
    """Return the number of the call that ends the block of a call."""
    block = state.plan.block
    return min((call_no - 1) // block * block + block, len(state.plan.calls_m))


def block_lines(state: DrillState, unit: LengthUnit) -> list[str]:
    """Say how the block went that the last call ended."""
    first = (len(state.answers) - 1) // state.plan.block * state.plan.block
    answers = state.answers[first:]
    played = [ball for ball in answers if ball is not None]
    if not played:
        return []
    shown = ", ".join("skip" if ball is None else signed_length(ball.miss_m, unit) for ball in answers)
    e_m = (sum(ball.miss_m**2 for ball in played) / len(played)) ** 0.5
    inside = sum(ball.is_inside for ball in played)
    return [
        wrap(f"  block {first // state.plan.block + 1}, misses in {unit}: {shown}", indent="  "),
        f"  E {format_length(e_m, unit, 1)} {unit}, inside {inside} of {count_text(len(played), 'ball')}",
    ]
