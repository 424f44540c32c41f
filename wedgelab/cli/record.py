"""From what was typed to a stored shot, shared by `log` and `drill`."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from wedgelab.cli.app import App
from wedgelab.errors import StoreError
from wedgelab.shots import MEASURED_SWING_DEG, Shot, SwingLength, Wedge, new_id
from wedgelab.units import LengthUnit, format_length, format_number

if TYPE_CHECKING:
    from wedgelab.store.records import PlayerSettings
    from wedgelab.store.store import SqliteStore

SHOTS_TO_COMPARE: Final = 400  # the latest, so that a long log stays quick
FEWEST_TO_COMPARE: Final = 2
FAR_SHORT: Final = 0.6
FAR_LONG: Final = 1.6


def session_name_for(app: App, store: "SqliteStore", settings: "PlayerSettings", wanted: str | None) -> str:
    """Return the session that shots go into now: the wanted one, else the day's latest, else a new one of the day."""
    now = app.now()
    if wanted is None:
        current = store.current_session(settings.name, now.date())
        if current is not None:
            return current.name
        wanted = now.date().isoformat()
    session, is_new = store.ensure_session(
        settings.name, wanted, started_at=now.isoformat(timespec="seconds"), ball=settings.ball
    )
    if is_new:
        app.say(f"session {session.name} begins")
    return session.name


def new_shot(
    app: App, player: str, session: str, wedge: Wedge, swing: SwingLength, carry_m: float, columns: Mapping[str, Any]
) -> Shot:
    """Return a shot hit now."""
    return Shot(
        shot_id=new_id(),
        player=player,
        session=session,
        hit_at=app.now().isoformat(timespec="milliseconds"),
        wedge=wedge.label,
        loft_deg=wedge.loft_deg,
        swing=swing.label,
        swing_deg=swing.swing_deg,
        carry_m=carry_m,
        **columns,
    )


class KeptAsideError(StoreError):
    """The log did not take a shot; it is safe in a file beside the log and goes in the next time the log is written."""

    def __init__(self, path: object, error: StoreError, kept: object) -> None:
        super().__init__(
            path, f"it did not take the shot ({error})", f"the shot is safe in {kept} and goes in next time"
        )


def store_shot(store: "SqliteStore", shot: Shot) -> None:
    """Store a shot; one that the log does not take is kept in a file beside it before `KeptAsideError` says so."""
    try:
        store.add_shot(shot)
    except StoreError as error:
        from wedgelab.store.pending import keep_aside

        raise KeptAsideError(store.path, error, keep_aside(store.path, shot)) from error


def shot_line(shot: Shot, unit: LengthUnit) -> str:
    """Say a logged shot in one line."""
    parts = [f"{shot.wedge} {shot.swing} {format_length(shot.carry_m, unit, 1).removesuffix('.0')} {unit}"]
    if shot.spin_rpm is not None:
        parts.append(f"{format_number(shot.spin_rpm)} rpm")
    if shot.guess_m is not None:
        off = format_length(abs(shot.guess_m - shot.carry_m), unit, 1).removesuffix(".0")
        side = "right" if off == "0" else f"{off} {unit} {'over' if shot.guess_m > shot.carry_m else 'under'}"
        parts.append(f"guess {format_length(shot.guess_m, unit, 1).removesuffix('.0')} ({side})")
    parts += [word for word in (shot.strike, shot.lie, shot.trajectory if shot.trajectory != "stock" else "") if word]
    return ", ".join(parts)


def far_off(shot: Shot, earlier: Sequence[Shot], unit: LengthUnit) -> str:
    """Say that a carry is far from the other balls of that club and swing; empty when it is not, or nobody can know.

    A slip of the keys (7 for 72) is told at once; a mishit is none the worse for it.
    """
    carries = sorted(
        other.carry_m
        for other in earlier
        if other.wedge.casefold() == shot.wedge.casefold()
        and abs(other.swing_deg - shot.swing_deg) <= MEASURED_SWING_DEG
        and other.strike != "off"
    )
    if len(carries) < FEWEST_TO_COMPARE or shot.strike == "off":
        return ""
    usual = carries[len(carries) // 2]
    if FAR_SHORT < shot.carry_m / usual < FAR_LONG:
        return ""
    return f"that is far from your other {shot.wedge} {shot.swing} (about {format_length(usual, unit)} {unit})"
