"""From a CSV file to checked shots, shared by `import` and by every command that takes --shots."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from wedgelab.cli.waiting import waiting
from wedgelab.errors import BadRequestError, quoted
from wedgelab.shots import Bag
from wedgelab.units import LengthUnit

if TYPE_CHECKING:
    from wedgelab.store.exchange import ParsedFile


def read_maps(maps: Sequence[str]) -> dict[str, str]:
    """Read ``NAME=HEADER`` pairs."""
    result: dict[str, str] = {}
    for text in maps:
        name, equals, header = text.partition("=")
        if not equals or not name.strip() or not header.strip():
            raise BadRequestError(f"--map {quoted(text)} is no pair", 'write it as --map carry_yd="Header in the file"')
        if name.strip() in result:
            raise BadRequestError(f"--map {quoted(name)} is given twice", "leave one out")
        result[name.strip()] = header.strip()
    return result


def read_file(
    path: Path,
    mapping: Mapping[str, str],
    player: str,
    bag: Bag,
    unit: LengthUnit,
    now: datetime,
    *,
    session: str | None = None,
    as_player: bool = False,
    odd_carries: bool = False,
) -> "ParsedFile":
    """Read and check a whole file, with a bar for who waits; its problems are in the result."""
    from wedgelab.store.columns import plan_columns
    from wedgelab.store.csvfile import read_table
    from wedgelab.store.exchange import parse_shots

    table = read_table(path)
    plan = plan_columns(table, mapping, default_unit=unit)
    with waiting("reading") as tell:
        return parse_shots(
            table,
            plan,
            player=player,
            bag=bag,
            default_unit=unit,
            imported_at=now,
            default_session=session,
            as_player=as_player,
            odd_carries=odd_carries,
            on_step=tell,
        )
