"""What the model made of the log, for the player and the coach: plain sentences and small tables of 80 columns."""

import math
from collections.abc import Sequence
from typing import Final

from wedgelab.fitreport import Distrusted, DistrustReason, FitReport, MoveLearnt
from wedgelab.render.layout import fold, table, wrap
from wedgelab.render.words import count_text, percent_text, range_text, wedge_title
from wedgelab.shots import Shot
from wedgelab.units import LengthUnit, format_length, format_number, from_si

ROWS_SHOWN: Final = 12
_LABEL: Final = 10
_SPEED_UNITS: Final[dict[LengthUnit, str]] = {"yd": "mph", "m": "m/s"}
_ID_LENGTH: Final = 8
_SHORT_LABEL: Final = 8  # where eight columns share the width
_FEW_SESSIONS: Final = 5
_SUREST: Final = 0.99  # no chance is shown as certainty
# what stands first under the table is what the player can do something about
_ORDER: Final[tuple[DistrustReason, ...]] = ("slip", "other readings", "long", "short", "marked")
_MEANINGS: Final[dict[DistrustReason, str]] = {
    "slip": "slip: less than half or more than twice as far as expected, so perhaps a wrong number.",
    "other readings": "other readings: the carry looks right, but what else is known of the ball does not fit it.",
    "long": "long: farther than a solid ball is likely to go, as a thin one may.",
    "short": "short: a mishit, by the look of it.",
    "marked": "marked: you said off.",
}


def why_text(report: FitReport, shots: Sequence[Shot], unit: LengthUnit, *, is_file: bool = False) -> str:
    """Say what the log taught and which balls count for little; ``shots`` is the log that was fitted.

    ``is_file`` tells that the shots are a file's and not in the player's log: they are put right there.
    """
    parts = [
        [wrap(sentence) for sentence in _opening(report)],
        _curve_lines(report, unit),
        _doubt_lines(report),
        _spread_lines(report),
        [wrap(sentence) for sentence in _share_sentences(report)],
        [wrap(sentence) for sentence in _move_sentences(report, shots)],
        _distrusted_lines(report, shots, unit, is_file=is_file),
        [wrap(f"Careful: {note.rstrip('.')}.") for note in report.warnings],
    ]
    return "\n\n".join("\n".join(lines) for lines in parts if lines)


def _opening(report: FitReport) -> list[str]:
    shots, sessions = count_text(report.n_shots, "shot"), count_text(report.n_sessions, "session")
    started = (
        "Before the first ball the chart is that of golfers in general, weak and strong ('others': from physics, not "
        "from measured golfers)."
    )
    if report.n_others:
        who = "another player" if report.n_others == 1 else f"{report.n_others} other players"
        started += f" For you it was moved towards what {who} of this log showed."
    return ["Why the chart says so", f"{started} Your {shots} in {sessions} made it yours ('you'). {_counted(report)}"]


def _counted(report: FitReport) -> str:
    left = report.n_shots - report.n_solid
    if not left:
        return "Every one of them looks solid."
    looks = "looks" if report.n_solid == 1 else "look"
    return (
        f"{report.n_solid} of them {looks} solid; {left} {'counts' if left == 1 else 'count'} for little (see below)."
    )


def _curve_lines(report: FitReport, unit: LengthUnit) -> list[str]:
    """Draw carry and ball speed of the middle wedge, and say what a degree of loft does."""
    speed = _SPEED_UNITS[unit]
    rows = [
        [
            fold(at.swing, _LABEL),
            f"{format_length(at.carry_m, unit)} ±{format_length(at.carry_se_m, unit, 1)}",
            f"{format_length(at.carry_prior_m, unit)} ±{format_length(at.carry_prior_sd_m, unit)}",
            _more_text(at.carry_ratio),
            f"{_speed(at.ball_speed_mps, speed)} ±{_speed(at.ball_speed_se_mps, speed, 1)}",
            f"{_speed(at.ball_speed_prior_mps, speed)} ±{_speed(at.ball_speed_prior_sd_mps, speed)}",
            _more_text(at.ball_speed_ratio),
        ]
        for at in report.curve
    ]
    headers = ["swing", f"carry {unit}\nyou", "\nothers", "\ndiffers", f"ball {speed}\nyou", "\nothers", "\ndiffers"]
    title = wedge_title(report.wedge, report.loft_deg)
    lines = [
        wrap(
            f"How far and how fast, with your {title}. You: give or take one standard error; others: give or take how "
            "much golfers differ."
        ),
        "",
        table(rows, headers, ["left", *["right"] * 6]),
    ]
    if report.loft is not None:
        lines += ["", wrap(_loft_sentence(report, unit))]
    return lines


def _loft_sentence(report: FitReport, unit: LengthUnit) -> str:
    loft = report.loft
    if loft is None:
        return ""
    you, others = (
        f"{format_length(abs(metres), unit, 1)} ±{format_length(doubt, unit, 1)} {unit}"
        for metres, doubt in (
            (loft.carry_per_deg_m, loft.carry_per_deg_se_m),
            (loft.carry_per_deg_prior_m, loft.carry_per_deg_prior_sd_m),
        )
    )
    low, high = (format_number(deg, 1).removesuffix(".0") for deg in (loft.loft_low_deg, loft.loft_high_deg))
    changes = "costs" if loft.carry_per_deg_m <= 0 else "adds"
    return f"At 9:00 each degree of loft from {low} to {high} {changes} {you} (others: {others})."


def _doubt_lines(report: FitReport) -> list[str]:
    rows = [
        [
            fold(wedge_title(doubt.wedge, doubt.loft_deg), 2 * _LABEL),
            f"±{percent_text(doubt.doubt_prior)}",
            f"±{percent_text(doubt.doubt_now, 1)}",
            percent_text(doubt.doubt_left),
        ]
        for doubt in report.doubts
    ]
    return [
        wrap(
            "How surely a carry is known (one standard error, mean of the swing lengths) before the first ball and "
            "now, and how much of the doubt is left:"
        ),
        "",
        table(rows, ["wedge", "before", "now", "left"], ["left", "right", "right", "right"]),
    ]


def _spread_lines(report: FitReport) -> list[str]:
    has_spin = report.n_spin > 0
    rows = []
    for at in report.spreads:
        row = [fold(at.swing, _LABEL), _spread(at.carry_spread_share), _spread(at.carry_spread_prior_share)]
        if has_spin:
            row += [_spread(at.spin_spread_share), _spread(at.spin_spread_prior_share)]
        rows.append(row)
    headers = ["swing", "carry\nyou", "\nothers", *(["spin\nyou", "\nothers"] if has_spin else [])]
    lines = [
        wrap(
            f"How far single solid balls of one day with your {wedge_title(report.wedge, report.loft_deg)} lie about "
            "their middle: two of three are closer than this, as a share of the carry or the spin."
        ),
        "",
        table(rows, headers, ["left", *["right"] * (len(headers) - 1)]),
    ]
    if not has_spin:
        lines.append("No spin of a solid ball was logged: how far your spin spreads is not known.")
    return lines


def _spread(share: float) -> str:
    return f"±{percent_text(share, 1)}"


def _share_sentences(report: FitReport) -> list[str]:
    days = report.sessions
    you, others = percent_text(days.carry_session_share, 1), percent_text(days.carry_session_prior_share, 1)
    if days.n_sessions == 1:
        told = f"From day to day carries are taken to move by ±{others}: one session cannot tell more."
    else:
        told = (
            f"From day to day your carries move by ±{you} (others: ±{others}); "
            f"{days.n_sessions} sessions tell it{'' if days.n_sessions > _FEW_SESSIONS else ', which is few'}."
        )
    mishits = (
        f"About {percent_text(report.mishit_share)} of your balls are mishits "
        f"(others: {percent_text(report.mishit_prior_share)})."
    )
    return [told, mishits]


def _move_sentences(report: FitReport, shots: Sequence[Shot]) -> list[str]:
    """Say since when the numbers are others, and what the chart makes of that."""
    if not report.moves:
        return []
    places = dict.fromkeys((move.index, move.boundaries) for move in report.moves)
    found = [[move for move in report.moves if (move.index, move.boundaries) == place] for place in places]
    chart = "The chart is for how you hit the ball now; older shots still count, put right by this."
    return [*(_move_sentence(moves, shots) for moves in found), chart]


def _move_sentence(moves: Sequence[MoveLearnt], shots: Sequence[Shot]) -> str:
    """Say what changed between the same two sessions."""
    first = moves[0]
    date = shots[first.index].hit_at[:10]
    when = f"since {date}" if first.boundaries == 1 else f"in one of the {first.boundaries} breaks up to {date}"
    changes = [
        f"{move.reading} {_more_text(move.ratio)} (chance {percent_text(min(move.move_probability, _SUREST))})"
        for move in moves
    ]
    return f"Your numbers have changed {when}: {', '.join(changes)} against before."


def _distrusted_lines(report: FitReport, shots: Sequence[Shot], unit: LengthUnit, *, is_file: bool) -> list[str]:
    if not report.distrusted:
        return ["No ball is distrusted."]
    balls = sorted(report.distrusted, key=_urgency)
    reasons = {ball.reason for ball in balls}
    count = count_text(len(balls), "ball counts", "balls count")
    lines = [
        wrap(f"{count} for little, against the range of 8 solid balls in 10:"),
        "",
        _distrusted_table(balls[:ROWS_SHOWN], shots, unit, is_file=is_file),
        "",
    ]
    if len(balls) > ROWS_SHOWN:
        lines.append(wrap(f"The first {ROWS_SHOWN} of {len(balls)}; all of them: wedgelab chart --why --json"))
    lines += [wrap(_MEANINGS[reason]) for reason in _ORDER if reason in reasons]
    lines += [wrap(sentence) for sentence in _advice(reasons, is_file=is_file)]
    return lines


def _urgency(ball: Distrusted) -> tuple[int, float]:
    return _ORDER.index(ball.reason), -abs(math.log(ball.carry_m / ball.carry_expected_m))


def _distrusted_table(balls: Sequence[Distrusted], shots: Sequence[Shot], unit: LengthUnit, *, is_file: bool) -> str:
    rows = []
    for ball in balls:
        shot = shots[ball.index]
        rows.append(
            [
                *([] if is_file else [shot.shot_id[:_ID_LENGTH]]),
                shot.hit_at[:10],
                fold(shot.wedge, _SHORT_LABEL),
                fold(shot.swing, _SHORT_LABEL),
                format_length(ball.carry_m, unit, 1),
                range_text(ball.carry_p10_m, ball.carry_p90_m, unit),
                percent_text(ball.mishit_probability),
                ball.reason,
            ]
        )
    headers = ["date", "wedge", "swing", f"carry\n{unit}", "8 in 10", "mishit", "reason"]
    align = ["left", "left", "left", "right", "right", "right", "left"]
    return table(rows, headers if is_file else ["id", *headers], align if is_file else ["left", *align])


def _advice(reasons: set[DistrustReason], *, is_file: bool) -> list[str]:
    """Say what can be done with the commands that there are."""
    unsaid = reasons - {"marked"}
    if not unsaid:
        return ["Nothing is to be done about them."]
    stays = "A true mishit may stay: it hardly moves the chart."
    if is_file:
        return [
            "Wrong number? Put it right in the file.",
            f"{stays} The column strike takes off, or solid for a ball that only looks like one.",
        ]
    return [
        (
            "Wrong number? wedgelab shots delete ID takes the ball out (shots undo brings it back); then log it anew, "
            "with --session NAME into the session it belongs to."
        ),
        (
            f"{stays} When you log the next one you may say --strike off, and --strike solid of a ball that only "
            "looks like one."
        ),
    ]


def _more_text(ratio: float) -> str:
    """Write a ratio as the change in percent, with its sign."""
    shown = format_number(100.0 * (ratio - 1.0))
    return f"{shown} %" if shown.startswith("-") or shown == "0" else f"+{shown} %"


def _speed(speed_mps: float, unit: str, digits: int = 0) -> str:
    return format_number(from_si(speed_mps, unit), digits)
