"""Where the log is: the option, else ``WEDGELAB_DB``, else the platform's user data folder."""

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from wedgelab.errors import StoreError

ENVIRONMENT_NAME: Final = "WEDGELAB_DB"
_FILE_NAME: Final = "wedgelab.db"


def default_path() -> Path:
    """Return the log's place in the platform's user data folder; nothing is created."""
    import platformdirs

    return Path(platformdirs.user_data_dir("wedgelab", appauthor=False)) / _FILE_NAME


def resolve(db_option: str | None, environ: Mapping[str, str]) -> Path:
    """Return the log that a command works on; an empty option or variable counts as not given."""
    chosen = db_option or environ.get(ENVIRONMENT_NAME)
    if not chosen:
        return default_path()
    try:
        return Path(chosen).expanduser()
    except RuntimeError as error:
        raise StoreError(chosen, "nobody has that home folder", "write the path in full") from error
