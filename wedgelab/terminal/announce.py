"""What is read aloud after an answer: the miss, then the next call, in one breath."""

from wedgelab.drill.machine import DrillState
from wedgelab.terminal.sitting import Sitting
from wedgelab.terminal.speech import spoken_call, spoken_miss


def announcement(before: DrillState | None, sitting: Sitting) -> str:
    """Return what is new since the state before (None: the drill begins); empty when nothing is."""
    state, unit = sitting.state, sitting.unit
    said = []
    has_new_ball = before is not None and len(state.answers) >= len(before.answers) and state.answers != before.answers
    if has_new_ball and state.last is not None:
        said.append(spoken_miss(state.last, unit, state.shows_number_of(state.last), feedback=state.plan.feedback))
    is_new = before is None or state.call_no != before.call_no
    if is_new and not state.is_over:
        club = sitting.advice if sitting.advice_is_on else None
        said.append(spoken_call(state.call_m, unit, f"{club[0].label} {club[1].label}" if club else None))
    if is_new and state.is_over:
        said.append("that was the last call")
    return ". ".join(part for part in said if part)
