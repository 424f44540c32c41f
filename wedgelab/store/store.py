"""The store that the command line opens: all its parts, over one SQLite file."""

from typing import final

from wedgelab.store.pending import PendingPart


@final
class SqliteStore(PendingPart):
    """Every shot, session, drill, bag and player of one log file; a context manager. Satisfies `ShotStore`.

    Each method owns its transaction: when a writing one returns, all of it is on disk; when it raises, none of it is.
    Players are found whatever the case of their letters, everything else by its exact name.
    """
