"""What is said of a choice in sentences: the verdict, the trade, and what it does not rest on."""

from wedgelab.choose import Choice, Option, Want
from wedgelab.render.words import count_text, percent_text, spin_text
from wedgelab.units import LengthUnit, format_length, format_number


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
    return " ".join([f"{text}.", *warnings(choice)])


def _wished(best: Option, want: Want, unit: LengthUnit) -> str:
    """Say the number that a wish for a flight asked for."""
    guess = "" if best.flight.flight_support == "measured" else " (an estimate)"
    if want in {"high", "low"}:
        return f", apex {format_length(best.flight.apex_m, unit)} {unit}{guess}"
    return f", lands at {format_number(best.flight.land_deg)} deg{guess}" if want == "soft" else ""


def _trade(best: Option, rival: Option, choice: Choice, unit: LengthUnit) -> str:
    points = _points(abs(best.chance - rival.chance))
    other = f"{rival.name}{'' if rival.support == 'measured' else ' (no ball logged there)'}"
    rpm = spin_text(abs(best.spin_rpm - rival.spin_rpm), "measured")
    rpm = rpm if rpm != "0" else "hardly any"
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
    rpm = spin_text(more.spin_rpm - best.spin_rpm, "measured")
    unsure = "" if more.support == "measured" else " (no ball logged there)"
    return (
        f"; more spin is there only for less chance: {more.name}{unsure}, {rpm if rpm != '0' else 'hardly any'} rpm "
        f"more for {_points(best.chance - more.chance)}"
    )


def _points(share: float) -> str:
    shown = int(format_number(100.0 * share))
    return count_text(shown, "point") if shown else "less than a point"


def warnings(choice: Choice) -> list[str]:
    """Say what the best option does not rest on."""
    best, doubts = choice.best, []
    if best.support == "beyond":
        doubts.append("It lies beyond every logged shot: try it on the range first.")
    elif best.support == "between":
        doubts.append("No ball was logged near it: it is worked out from the shots around.")
    doubts += never_logged_lines(tuple(word for word in choice.unlogged if word in {best.trajectory, best.lie}))
    if best.spin_support == "none":
        doubts.append("No spin was ever logged: the spins are physics, not this player.")
    elif (choice.want in {"spin", "low-spin"} or choice.n_draws) and best.spin_support != "measured":
        doubts.append("No spin was read near it.")
    return doubts


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
        lines.append(
            f"No ball {lie_text(lies[0])} was ever logged: its numbers are those of an ordinary lie with a wider doubt."
        )
    return lines
