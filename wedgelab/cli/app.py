"""What every command needs: which log, whose, in which units; data goes to stdout, everything else to stderr."""

import contextlib
import os
import shlex
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import click

from wedgelab.cli.streams import hush, showable
from wedgelab.errors import BadRequestError, StoreError, UnknownNameError, WedgelabError

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from wedgelab.shots import Bag, Conditions, Shot
    from wedgelab.store.records import PlayerSettings
    from wedgelab.store.store import SqliteStore
    from wedgelab.units import LengthUnit
    from wedgelab.window import WindowRule

DEFAULT_PLAYER = "me"
_TWO = 2  # players: from then on a command must say whose
# with fewer shots of a player's own, what is believed before the first ball is learnt from the other players of the
# log: from those with the most shots, and of each from the latest
NEWCOMER_SHOTS = 120
OTHERS = 8
FEWEST_OF_ANOTHER = 24
MOST_OF_ANOTHER = 300


def _nothing_said() -> "Conditions":
    from wedgelab.shots import Conditions

    return Conditions()


@dataclass(frozen=True, slots=True)
class PlayerLog:
    """What a reading command works on: a player's settings, bag and shots, from the store or from a file.

    ``conditions`` has the sessions by name of which something is noted; ``reference`` and ``ball`` are the player's.
    ``others`` are the logs of other players that a newcomer's chart learns from, ``command`` is how a command of this
    player's begins.
    """

    name: str
    unit: "LengthUnit"
    bag: "Bag"
    shots: "list[Shot]" = field(default_factory=list)
    window: str = ""
    range_limit_m: float | None = None
    reference: "Conditions" = field(default_factory=_nothing_said)
    conditions: "dict[str, Conditions]" = field(default_factory=dict)
    ball: str = ""
    others: "tuple[PlayerLog, ...]" = ()
    command: str = "wedgelab"

    def window_rule(self, option: str | None) -> "WindowRule":
        """Return the window of the command's option, else of the player's settings."""
        from wedgelab.window import parse_window

        return parse_window(option if option is not None else self.window, self.unit)


@dataclass(slots=True)
class App:
    """The global options, and the doors to the log."""

    db_option: str | None = None
    player_option: str | None = None
    units_option: str | None = None
    alone: bool = False
    environ: Mapping[str, str] = field(default_factory=lambda: os.environ)
    held_messages: list[str] | None = None
    said: list[str] = field(default_factory=list)

    @property
    def path(self) -> "Path":
        """The log file that this command works on."""
        from wedgelab.store.location import resolve

        return resolve(self.db_option, self.environ)

    def now(self) -> "datetime":
        """Return the local time with its offset."""
        from datetime import datetime

        return datetime.now().astimezone()

    @property
    def draws_signs(self) -> bool:
        """Whether stdout can show every sign beyond ASCII that is drawn with; else plain letters stand for them all."""
        from wedgelab.render.sparks import BLOCKS, DOT, UPRIGHT
        from wedgelab.render.strips import SIGNS

        try:
            f"{BLOCKS}{DOT}{UPRIGHT}{SIGNS.all}".encode(sys.stdout.encoding or "ascii")
        except (UnicodeEncodeError, LookupError):
            return False
        return self.environ.get("TERM") != "dumb"

    def out(self, text: str) -> None:
        """Write data to stdout."""
        click.echo(showable(text, sys.stdout))

    def say(self, text: str) -> None:
        """Write anything else to stderr; a message that nobody takes must not stop the work it tells of."""
        self.said.append(text)
        if self.held_messages is not None:
            self.held_messages.append(text)
            return
        try:
            click.echo(showable(text, sys.stderr), err=True)
        except OSError:
            hush(sys.stderr)

    @contextlib.contextmanager
    def holding_messages(self) -> Iterator[None]:
        """Hold back what `say` is given until the block ends: a line would tear the picture of a full screen."""
        self.held_messages = []
        try:
            yield
        finally:
            held, self.held_messages = self.held_messages, None
            for text in held:
                self.say(text)

    def report(self, text: str) -> None:
        """Write what was stored to stdout; a reader that went away must not keep the next ball out of the log."""
        try:
            click.echo(showable(text, sys.stdout))
        except BrokenPipeError:
            hush(sys.stdout)
        except OSError as error:
            hush(sys.stdout)
            self.say(f"the output cannot be written ({error.strerror}); what was logged is stored all the same")

    def open(self, *, create: bool, timeout_s: float | None = None) -> "SqliteStore":
        """Open the log; shots that could not be stored earlier are taken in first.

        ``timeout_s`` is how long a write waits for another program, if that is not to be the usual time.
        """
        from wedgelab.store.database import TIMEOUT_S
        from wedgelab.store.pending import is_waiting
        from wedgelab.store.store import SqliteStore

        path = self.path
        if create and self.db_option is None and not self.environ.get("WEDGELAB_DB"):
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise StoreError(
                    path, f"its folder cannot be made ({error.strerror})", "give another file with --db"
                ) from error
        store = SqliteStore.open(path, create=create, timeout_s=TIMEOUT_S if timeout_s is None else timeout_s)
        if create and is_waiting(path):
            self._take_pending(store)
        return store

    def _take_pending(self, store: "SqliteStore") -> None:
        try:
            taken = store.take_pending()
        except StoreError as error:  # still held by another program: the command at hand goes on, and they wait
            self.say(f"shots kept aside still wait: {error}")
            return
        if taken.stored:
            self.say(f"stored {len(taken.stored)} shot(s) that had been kept aside")
        if taken.unreadable_in is not None:
            self.say(f"{taken.unreadable} line(s) kept aside cannot be read; they are in {taken.unreadable_in}")

    def writer(self, store: "SqliteStore") -> "PlayerSettings":
        """Return the player that a writing command is for; an unknown one is made and said."""
        return self.settle(store, self.peek(store))

    def peek(self, store: "SqliteStore") -> "PlayerSettings":
        """Return the player that a writing command is for; one that is not there yet is not made."""
        from wedgelab.store.records import PlayerSettings

        name = self.player_name(store)
        with contextlib.suppress(UnknownNameError):
            return store.player(name)
        return PlayerSettings(name)

    def bag(self, store: "SqliteStore", settings: "PlayerSettings") -> "Bag":
        """Return a player's bag, that of a new player for one who is not there yet."""
        from wedgelab.shots import NEW_BAG

        return store.bag(settings.name) if settings.created_at else NEW_BAG

    def settle(self, store: "SqliteStore", settings: "PlayerSettings") -> "PlayerSettings":
        """Make the player if need be: last thing before the first write, so that a refused command makes nobody."""
        if settings.created_at:
            return settings
        made, _ = store.ensure_player(settings.name)
        if self.player_option is not None:
            self.say(f"new player {made.name}")
        return made

    def out_utf8(self, text: str) -> None:
        """Write a file's text to stdout in UTF-8, whatever the terminal's encoding: it is to be read back."""
        sys.stdout.flush()
        buffer = getattr(sys.stdout, "buffer", None)
        if buffer is None:
            sys.stdout.write(text)
        else:
            buffer.write(text.encode("utf-8"))
            buffer.flush()

    def reader(self, store: "SqliteStore") -> "PlayerSettings":
        """Return the player that a reading command is for; an unknown one is refused with the nearest name."""
        return store.player(self.player_name(store))

    def player_name(self, store: "SqliteStore") -> str:
        """Return the name of --player, else of the only player, else of a player called me."""
        if self.player_option is not None:
            return self.player_option
        names = [player.name for player in store.players()]
        if len(names) > 1:
            raise BadRequestError(
                f"the log has {len(names)} players", f"say whose: --player {names[0]} (or {', '.join(names[1:5])})"
            )
        return names[0] if names else DEFAULT_PLAYER

    def unit(self, settings: "PlayerSettings | None" = None) -> "LengthUnit":
        """Return the unit of --units, else of the player, else yards."""
        if self.units_option is not None:
            return "m" if self.units_option == "m" else "yd"
        return settings.units if settings is not None else "yd"

    def read(self, shots_file: str | None = None, maps: Sequence[str] = (), *, with_others: bool = False) -> PlayerLog:
        """Return what a reading command works on: the log, or a CSV file in its place."""
        from wedgelab.shots import NEW_BAG

        if shots_file is not None:
            return self._read_file(shots_file, maps)
        if maps:
            raise BadRequestError("--map without a file", "give --shots FILE too")
        if not self.path.exists():
            if self.db_option:
                self.say(f"database {self.path} does not exist yet")
            if self.player_option is not None:
                raise UnknownNameError("player", self.player_option, [])
            return PlayerLog(DEFAULT_PLAYER, self.unit(), NEW_BAG)
        with self.open(create=False) as store:
            if not store.players() and self.player_option is None:
                return PlayerLog(DEFAULT_PLAYER, self.unit(), NEW_BAG)
            log = self.player_log(store, self.reader(store))
            return replace(log, others=self.others(store, log)) if with_others else log

    def player_log(self, store: "SqliteStore", settings: "PlayerSettings", last: int | None = None) -> PlayerLog:
        """Return what the store has of a player, or only the last shots."""
        shots = store.shots(settings.name)
        return PlayerLog(
            settings.name,
            self.unit(settings),
            store.bag(settings.name),
            shots if last is None else shots[-last:],
            settings.window,
            settings.range_limit_m,
            settings.conditions,
            {one.name: one.conditions for one in store.sessions(settings.name) if not one.conditions.is_empty}
            if settings.created_at
            else {},
            settings.ball,
            command="wedgelab" if len(store.players()) < _TWO else f"wedgelab --player {shlex.quote(settings.name)}",
        )

    def others(self, store: "SqliteStore", log: PlayerLog) -> tuple[PlayerLog, ...]:
        """Return the logs that a newcomer's chart learns from, and say so; none with --alone or enough own shots."""
        if self.alone or not 0 < len(log.shots) < NEWCOMER_SHOTS:
            return ()
        counts = {one.name: store.count_shots(one.name) for one in store.players() if one.name != log.name}
        known = sorted((name for name, n in counts.items() if n >= FEWEST_OF_ANOTHER), key=lambda n: (-counts[n], n))
        found = tuple(self.player_log(store, store.player(name), MOST_OF_ANOTHER) for name in known[:OTHERS])
        if found:
            who = "another player" if len(found) == 1 else f"{len(found)} other players"
            self.say(
                f"what is believed before the first ball is learnt from {who} of this log; --alone leaves them out"
            )
        return found

    def _read_file(self, shots_file: str, maps: Sequence[str]) -> PlayerLog:
        from pathlib import Path

        from wedgelab.cli.reading import read_file, read_maps
        from wedgelab.shots import Bag

        name = self.player_option or DEFAULT_PLAYER
        settings, known = self._known_player()
        unit = self.unit(settings)
        parsed = read_file(Path(shots_file), read_maps(maps), name, known, unit, self.now(), as_player=True)
        if parsed.problems:
            more = f" ({len(parsed.problems)} such cells)" if len(parsed.problems) > 1 else ""
            raise BadRequestError(f"{shots_file}: {parsed.problems[0]}{more}", "mend the file; nothing was read")
        for notice in parsed.notices:
            self.say(notice)
        used = {row.shot.wedge.casefold() for row in parsed.rows}
        wedges = [wedge for wedge in known.wedges if wedge.label.casefold() in used]
        bag = Bag((*wedges, *parsed.new_wedges), (*known.swings, *parsed.new_swings))
        return PlayerLog(
            name,
            unit,
            bag,
            [row.shot for row in parsed.rows],
            reference=settings.conditions,
            conditions={row.shot.session: row.conditions for row in parsed.rows if not row.conditions.is_empty},
            ball=settings.ball,
        )

    def _known_player(self) -> "tuple[PlayerSettings, Bag]":
        """Return the settings and bag by which a file is read: the player's own, as far as a log tells them."""
        from wedgelab.shots import NEW_BAG
        from wedgelab.store.records import PlayerSettings

        # a file can be read without any log; what is wrong with the log is no matter here
        with contextlib.suppress(WedgelabError):
            if self.path.exists():
                with self.open(create=False) as store:
                    settings = self.reader(store)
                    return settings, store.bag(settings.name)
        return PlayerSettings(DEFAULT_PLAYER), NEW_BAG
