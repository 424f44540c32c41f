"""A CSV file that another program appends to, watched for a drill: each new row is the next ball."""

import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from wedgelab.cli.app import App
from wedgelab.errors import BadRequestError
from wedgelab.shots import SwingLength, Wedge
from wedgelab.store.follow import FollowedFile, Polled, row_parser
from wedgelab.store.records import FollowedRow
from wedgelab.terminal.lines import Entry
from wedgelab.terminal.watch import News

if TYPE_CHECKING:
    from wedgelab.cli.drill_desk import Desk
    from wedgelab.store.rows import ParsedRow
    from wedgelab.terminal.sitting import Club

# in the place of what a row does not say, until the drill knows what was on the screen
_UNSAID_CLUB: Final = (Wedge("54", 54.0), SwingLength("9:00", 90.0))
# what a row may say about a ball; the rest is the drill's own
_COLUMNS: Final = (
    "trajectory", "lie", "total_m", "offline_m", "ball_speed_mps", "club_speed_mps", "launch_deg", "spin_rpm",
    "land_deg", "apex_m", "strike", "ball", "note",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class WatchedBall:
    """A row of the file: what it says of the ball, and where it stood."""

    parsed: "ParsedRow"
    row: FollowedRow

    @property
    def hit_at(self) -> str:
        """The row's own time, empty if it has none."""
        return self.parsed.shot.hit_at if self.parsed.has_time else ""

    def entry(self, club: "Club | None") -> Entry:
        """Return the ball; the given club stands in for what the row leaves open."""
        shot, lacks = self.parsed.shot, self.parsed.lacks
        if club is None and lacks:
            raise BadRequestError(
                f"line {self.parsed.line} of the file says no {' and no '.join(sorted(lacks, reverse=True))}",
                "type this ball by hand, for example: 54 9:00 68",
            )
        wedge, swing = club or _UNSAID_CLUB
        columns: dict[str, Any] = {name: getattr(shot, name) for name in _COLUMNS}
        return Entry(
            wedge if "wedge" in lacks else Wedge(shot.wedge, shot.loft_deg),
            swing if "swing" in lacks else SwingLength(shot.swing, shot.swing_deg),
            shot.carry_m,
            {name: value for name, value in columns.items() if value not in {None, ""}},
        )


class FileWatch:
    """Watches a file for the screen; `look` may run in a thread of its own, one call at a time."""

    def __init__(self, app: App, desk: "Desk", path: Path, mapping: Mapping[str, str]) -> None:
        parse = row_parser(
            mapping, player=desk.log.name, bag=desk.log.bag, unit=desk.unit, club=_UNSAID_CLUB, now=app.now
        )
        self.name = path.name
        self._drill_of = desk
        self._file = FollowedFile(path, parse)
        self._file.start(time.monotonic())

    def look(self) -> News:
        """Return what is new in the file."""
        return self._news(self._file.poll(time.monotonic()))

    def pass_over(self) -> None:
        """Leave out what came until now."""
        self._file.skip_waiting(time.monotonic())

    def take_unfinished(self) -> News:
        """Take a last line that has no line end yet as it is."""
        return self._news(self._file.take_unfinished(time.monotonic()))

    def _news(self, polled: Polled) -> News:
        balls = [
            WatchedBall(row, FollowedRow(self._drill_of.drill_id, self.name, number, row.row_key))
            for row, number in zip(polled.rows, polled.row_nos, strict=True)
        ]
        return News(balls, polled.problems, polled.waiting, polled.is_unfinished)
