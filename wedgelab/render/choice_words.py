"""What is said of a choice in sentences: the verdict, the trade, and what it does not rest on."""

from collections.abc import Sequence
from typing import Final

from wedgelab.choose import Choice, Option, Want
from wedgelab.choose.ranking import APEX_TIE_M, LAND_TIE_DEG, SPIN_TIE_RPM, SPIN_TIE_SHARE
from wedgelab.render.words import count_text, percent_text, spin_text
from wedgelab.units import LengthUnit, format_length, format_number

_ESTIMATES: Final[dict[Want, str]] = {"high": "Apexes", "low": "Apexes", "soft": "Landing angles"}
_RANKED_BY: Final[dict[Want, str]] = {
    "spin": "spin", "low-spin": "spin", "high": "apex", "low": "apex", "soft": "landing angle",
}  # fmt: skip


def lie_text(lie: str) -> str:
    """Say where the ball lies."""
    return {"sand": "from sand", "mat": "from a mat", "tight": "from a tight lie"}.get(lie, f"from the {lie}")


def verdict(choice: Choice, unit: LengthUnit = "yd") -> str:
    """Say the best option in one plain sentence, with what it gives up and what it rests on."""
    best, rival = choice.best, choice.rival
    text = f"{best.name}: {percent_text(best.window_probability)} inside the window, "
    if best.spin_probability is not None and best.both_probability is not None:
        limit = format_number(choice.limits.min_spin_rpm)
        over, both = percent_text(best.spin_probability), percent_text(best.both_probability)
        text += f"spin over {limit} rpm {over}, both {both}, "
    text += f"about {spin_text(best.spin_rpm, 'measured')} rpm"
    if best.spin_support != "measured":
        text += " (not measured)"
    text += _wished(best, choice.want, unit)
    if rival is not None:
        text += _trade(best, rival, choice, unit)
    elif len(choice.options) > 1:
        text += _nothing_near(best, choice)
    return " ".join([f"{text}.", *warnings(choice, unit)])


def _wished(best: Option, want: Want, unit: LengthUnit) -> str:
    """Say the number that a wish for a flight asked for."""
    guess = "" if best.flight.flight_support == "measured" else " (an estimate)"
    if want in {"high", "low"}:
        return f", apex {format_length(best.flight.apex_m, unit)} {unit}{guess}"
    return f", lands at {format_number(best.flight.land_deg)} deg{guess}" if want == "soft" else ""


def _trade(best: Option, rival: Option, choice: Choice, unit: LengthUnit) -> str:
    points = _points(abs(best.chance - rival.chance))
    if choice.want != "window" and choice.outside_m(rival) and not choice.outside_m(best):
        # no wish ranks it, and it may be the better one at the wish too
        return f"; {rival.name} has the better chance by {points}, but its median carry lies outside the window"
    other = f"{rival.name}{_unread(rival, of_spin=choice.want in {'window', 'spin', 'low-spin'})}"
    rpm = _rpm_between(best, rival)
    if choice.want == "window":
        return f"; {other} would give {rpm} rpm more for {points} of that chance"
    if choice.want in {"spin", "low-spin"}:
        more = f"{rpm} rpm {'more' if choice.want == 'spin' else 'less'}"
    elif choice.want == "soft":
        more = f"{format_number(abs(best.flight.land_deg - rival.flight.land_deg), 1)} deg steeper"
    else:
        apart = format_length(abs(best.flight.apex_m - rival.flight.apex_m), unit, 1)
        more = f"{apart} {unit} {'higher' if choice.want == 'high' else 'lower'}"
    return f", {more} than {other}, and gives up {points} of chance for it"


def _nothing_near(best: Option, choice: Choice) -> str:
    """Say that nothing is given up, or that what would be better at spin costs too much chance to be weighed."""
    if choice.want != "window":
        return "; nothing is given up: no other option has a better chance"
    more = max((o for o in choice.options if o.spin_rpm > best.spin_rpm), key=lambda o: o.chance, default=None)
    if more is None:
        return "; nothing is given up: no other option is better at chance or at spin"
    return (
        f"; more spin is there only for less chance: {more.name}{_unread(more, of_spin=True)}, "
        f"{_rpm_between(best, more)} rpm more for {_points(best.chance - more.chance)}"
    )


def _rpm_between(best: Option, other: Option) -> str:
    """Write how far two spins are apart; "about" where one of them was never read."""
    rpm = spin_text(abs(best.spin_rpm - other.spin_rpm), "measured")
    if rpm == "0":
        return "hardly any"
    return rpm if best.spin_support == other.spin_support == "measured" else f"about {rpm}"


def _unread(option: Option, *, of_spin: bool) -> str:
    """Say what was never logged of an option that is held against the best one."""
    if option.support != "measured":
        return " (no ball logged there)"
    return " (no spin measured there)" if of_spin and option.spin_support != "measured" else ""


def _points(share: float) -> str:
    shown = int(format_number(100.0 * share))
    return count_text(shown, "point") if shown else "less than a point"


def warnings(choice: Choice, unit: LengthUnit = "yd") -> list[str]:
    """Say where the best option's median misses the window, and what the option does not rest on."""
    best, doubts = choice.best, _outside(choice, unit)
    if best.support == "beyond":
        doubts.append("It lies beyond every logged shot: try it on the range first.")
    elif best.support == "between":
        doubts.append("No ball was logged near it: it is worked out from the shots around.")
    doubts += never_logged_lines(tuple(word for word in choice.unlogged if word in {best.trajectory, best.lie}))
    if best.spin_support == "none":
        doubts.append("No spin of a solid ball was ever logged: the spins are physics, not this player.")
    elif (choice.want in {"spin", "low-spin"} or choice.n_draws) and best.spin_support != "measured":
        doubts.append("No spin was read near it.")
    return doubts


def _outside(choice: Choice, unit: LengthUnit) -> list[str]:
    """Say how far the best option's median lies outside the window, and whether any option's lies inside."""
    off_m = choice.outside_m(choice.best)
    if not off_m:
        return []
    off = format_length(abs(off_m), unit, 1)
    off = off if float(off) else "less than 0.1"
    where = f"{off} {unit} {'short of' if off_m < 0 else 'past'}"
    carry = f"{format_length(choice.best.played_m, unit, 1)} {unit}"
    if all(choice.outside_m(option) for option in choice.options):
        return [f"No median carry lies inside the window: this one, {carry}, is {where} it."]
    return [f"Its median carry, {carry}, lies {where} the window."]


def never_logged_lines(unlogged: tuple[str, ...]) -> list[str]:
    """Say of trajectories and lies of which no ball was logged where their numbers come from."""
    flights = [word for word in unlogged if word in {"low", "high"}]
    lies = [word for word in unlogged if word not in flights]
    lines = []
    if flights:
        lines.append(
            f"No {' and no '.join(flights)} ball was ever logged: how such a ball differs from the stock one is a "
            "general belief, with a wide doubt."
        )
    if lies:
        # common practice, no source: grass between face and ball takes spin off
        grass = ", though grass between face and ball usually takes spin off" if lies[0] == "rough" else ""
        lines.append(
            f"No ball {lie_text(lies[0])} was ever logged: its numbers are those of an ordinary lie with a wider "
            f"doubt{grass}."
        )
    return lines


def ranked_lines(choice: Choice, unit: LengthUnit) -> list[str]:
    """Say how a wish was ranked: among which options, and what counts as equal; of a flight that it is an estimate."""
    if choice.want == "window":
        return []
    inside = not any(choice.outside_m(option) for option in choice.wished)
    among = f"{percent_text(choice.least_probability)} or more (about three quarters of the best)"
    lines = [
        f"Ranked by {_RANKED_BY[choice.want]} among the shots with a chance of {among}"
        + (" and a median carry inside the window" if inside else "")
        + f"; the others by chance. {_equal(choice.want, unit)} count as equal: the better chance goes first."
    ]
    if choice.want in _ESTIMATES:
        lines.append(f"{_ESTIMATES[choice.want]} are estimates: how surely they are known is not worked out.")
    return lines


def _equal(want: Want, unit: LengthUnit) -> str:
    if want in {"spin", "low-spin"}:
        share = percent_text(SPIN_TIE_SHARE)
        return f"Spins within {format_number(SPIN_TIE_RPM)} rpm, or {share} of their standard error,"
    if want == "soft":
        return f"Landing angles within {format_number(LAND_TIE_DEG)} deg"
    return f"Apexes within {format_length(APEX_TIE_M, unit, 1)} {unit}"


def sign_lines(options: Sequence[Option], carries_only: Sequence[Option] = ()) -> list[str]:
    """Explain the signs of carries and spins, as far as one of these options bears them."""
    supports = {option.support for option in (*options, *carries_only)}
    spins = {option.spin_support for option in options}
    said = []
    if "between" in supports:
        said.append("~ between the logged shots")
    if "beyond" in supports:
        said.append("? beyond them" if said else "? beyond the logged shots")
    if spins - {"measured"}:
        said.append("spin in brackets: none was logged there yet")
    return ["; ".join(said).replace("shots; ?", "shots, ?")] if said else []


def runs_line(green: str, unit: LengthUnit) -> str:
    """Say what run-out means, and how little it promises."""
    return f"Runs: {unit} from the pitch mark on a level {green} green; a rough frame, negative where it may come back."


def estimate_lines(options: Sequence[Option], what: str) -> list[str]:
    """Explain the brackets about what is shown of a flight, where one of these options has them."""
    if all(option.flight.flight_support == "measured" for option in options):
        return []
    return [f"{what} in brackets are the model's estimates: no launch angle and ball speed were logged there."]
