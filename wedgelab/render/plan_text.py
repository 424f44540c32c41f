"""A practice plan as plain text of at most 80 columns, and as a JSON document."""

from typing import Any, Final

from wedgelab.plan.session import PlannedShot, SessionPlan
from wedgelab.plan.wanted import Wanted
from wedgelab.render.json import document
from wedgelab.render.layout import fold, table, wrap
from wedgelab.render.words import CARRY_SIGNS, MISSING, carry_text, count_text, percent_text, wedge_title
from wedgelab.units import LengthUnit, format_length, format_number

_WORTH_A_SESSION: Final = 0.05  # a smaller share of the doubt is no reason to go
_LABEL: Final = 14
_ALIGN: Final = ("left", "left", "right", "right", "right", "right")


def plan_text(plan: SessionPlan, unit: LengthUnit) -> str:
    """Draw the session: what it costs, the balls in order, the other shots that matter, and what it is worth."""
    lines = [wrap(_title(plan, unit)), ""]
    if plan.warm_up is not None:
        up = plan.warm_up
        lines += [wrap(f"Warm up with {count_text(up.balls, 'easy ball')}, {up.wedge} {up.swing}; not logged."), ""]
    headers = plan_headers(unit)
    lines += ["In this order:", "", table([_row(shot, unit) for shot in plan.shots], headers, _ALIGN), ""]
    others = [shot for shot in plan.rest if shot.weight > 0.0]
    taught = [shot for shot in others if _row(shot, unit)[-2] != _row(shot, unit)[-1]]
    if taught:
        lines += ["Not hit, and how sure they will be:", ""]
        lines += [table([_row(shot, unit) for shot in taught], headers, _ALIGN), ""]
    if same := len(others) - len(taught):
        more = "more " if taught else ""
        lines += [wrap(f"{count_text(same, more + 'shot')} not hit: as surely known after as now."), ""]
    lines.append(wrap(_legend(plan)))
    lines += [wrap(note) for note in _notes(plan)]
    lines += ["", wrap(verdict(plan, unit))]
    return "\n".join(lines)


def verdict(plan: SessionPlan, unit: LengthUnit) -> str:
    """Say in a sentence what the session is expected to do for what was asked."""
    now, after = percent_text(plan.doubt_now, 1), percent_text(plan.doubt_after, 1)
    what = f"a charted carry {_where(plan.wanted, unit)}".rstrip()
    if plan.doubt_after > plan.doubt_now:
        return (
            f"Expected: {what} is known to about {now} now. What a player drifts from one session to the next takes "
            "away at least as much as so few balls bring: hit more of them, or play, or practise to a called number "
            "(wedgelab drill)."
        )
    if plan.doubt_after > (1.0 - _WORTH_A_SESSION) * plan.doubt_now:
        return (
            f"Expected: {what} is known to about {now} now, and to {after} after this session. "
            "It changes little: play, or practise to a called number (wedgelab drill)."
        )
    return (
        f"Expected: {what} is known to about {now} on average now, to {after} after this session, "
        "if you swing and scatter as in the log; what drifts from session to session is counted, a real change is not."
    )


def plan_document(plan: SessionPlan | None, said: str = "") -> str:
    """Return the plan; without one an empty document."""
    if plan is None:
        return document(
            "plan", player="", n_shots=0, n_sessions=0, balls=0, warm_up=None, shots=[], rest=[], minutes=None,
            changeovers=0, is_full=False, wanted_is_full=False, beyond_range=0, doubt_now=None, doubt_after=None,
            low_m=None, high_m=None,
            targets_m=[], limits=None, verdict="",
        )  # fmt: skip
    limits = plan.limits
    return document(
        "plan",
        player=plan.player,
        n_shots=plan.n_shots,
        n_sessions=plan.n_sessions,
        balls=plan.balls,
        warm_up=plan.warm_up,
        shots=[_facts(shot) for shot in plan.shots],
        rest=[_facts(shot) for shot in plan.rest],
        minutes=plan.minutes,
        changeovers=plan.changeovers,
        is_full=plan.is_full,
        wanted_is_full=plan.wanted_is_full,
        beyond_range=plan.beyond_range,
        doubt_now=plan.doubt_now,
        doubt_after=plan.doubt_after,
        low_m=plan.wanted.low_m,
        high_m=plan.wanted.high_m,
        targets_m=plan.wanted.targets_m,
        limits={
            "balls": limits.balls, "minutes": limits.minutes, "most": limits.cap,
            "ball_s": 60.0 * limits.ball_min, "change_s": 60.0 * limits.change_min,
        },
        verdict=said,
    )  # fmt: skip


def _facts(shot: PlannedShot) -> dict[str, Any]:
    return {
        "wedge": shot.wedge, "loft_deg": shot.loft_deg, "swing": shot.swing, "swing_deg": shot.swing_deg,
        "balls": shot.balls, "carry_m": shot.carry_m, "carry_se_m": shot.se_now_m,
        "carry_se_after_m": shot.se_after_m, "weight": shot.weight, "n_shots": shot.n_shots, "support": shot.support,
    }  # fmt: skip


def _title(plan: SessionPlan, unit: LengthUnit) -> str:
    warm_up = 0 if plan.warm_up is None else plan.warm_up.balls
    aim = _where(plan.wanted, unit) or "on the whole chart"
    balls = count_text(plan.balls + warm_up, "ball")
    minutes = format_number(plan.minutes)
    name = f" for {plan.player}" if plan.player else ""
    return f"Practice plan{name}: {balls}, about {minutes} minutes, to be surest {aim}"


def _where(wanted: Wanted, unit: LengthUnit) -> str:
    if wanted.targets_m:
        named = [format_length(target_m, unit) for target_m in wanted.targets_m]
        listed = f"{', '.join(named[:-1])} and {named[-1]}" if len(named) > 1 else named[0]
        return f"at {listed} {unit}"
    if wanted.low_m is not None and wanted.high_m is not None:
        return f"from {format_length(wanted.low_m, unit)} to {format_length(wanted.high_m, unit)} {unit}"
    if wanted.low_m is not None:
        return f"from {format_length(wanted.low_m, unit)} {unit} on"
    return f"up to {format_length(wanted.high_m, unit)} {unit}" if wanted.high_m is not None else ""


def plan_headers(unit: LengthUnit) -> tuple[str, ...]:
    """Return what stands over the columns of a plan's rows."""
    return "wedge", "swing", "balls", f"carry {unit}", "± now", "± after"


def plan_row(shot: PlannedShot, unit: LengthUnit) -> tuple[str, ...]:
    """Write a shot of a plan: what it is, its balls, its carry, and how surely that is known now and after."""
    return (
        wedge_title(shot.wedge, shot.loft_deg),
        shot.swing,
        str(shot.balls) if shot.balls else MISSING,
        carry_text(shot.carry_m, shot.support, unit),
        format_length(shot.se_now_m, unit, 1),
        format_length(shot.se_after_m, unit, 1),
    )


def _row(shot: PlannedShot, unit: LengthUnit) -> tuple[str, ...]:
    wedge, swing, *numbers = plan_row(shot, unit)
    return fold(wedge, _LABEL), fold(swing, _LABEL), *numbers


def _legend(plan: SessionPlan) -> str:
    signs = {CARRY_SIGNS[shot.support] for shot in (*plan.shots, *plan.rest)}
    told = "±: one standard error of the charted carry, now and as expected after the session"
    told += ", with what a player drifts until then." if _drifts(plan) else "."
    return f"{told} ~ between the logged shots, ? beyond them." if signs - {""} else told


def _drifts(plan: SessionPlan) -> bool:
    """Tell whether a shot is shown that will be less sure: nobody hits it, and the player moves on."""
    return any(shot.weight and shot.share_after > shot.share_now for shot in (*plan.shots, *plan.rest))


def _notes(plan: SessionPlan) -> list[str]:
    limits = plan.limits
    ball, change = (format_number(60.0 * minutes) for minutes in (limits.ball_min, limits.change_min))
    notes = [f"Counted: {ball} s a ball, {change} s to begin with each wedge, at most {limits.cap} balls a shot."]
    if plan.is_full:
        notes.append("Every shot has its most balls: more would come with --most.")
    elif plan.wanted_is_full and plan.has_outsiders:
        notes.append(
            "Every shot that was asked for has its most balls: the others are hit for what they teach of it; "
            "more of it would come with --most."
        )
    elif plan.has_outsiders:
        notes.append("Shots beside what was asked for are hit for what they teach of it.")
    if plan.beyond_range:
        notes.append(f"Left out: {count_text(plan.beyond_range, 'shot')} beyond the range's limit (players set).")
    return notes
