"""Files that are whole or not there: written beside their place first, put there last."""

import errno
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from uuid import uuid4

from wedgelab.errors import FileProblemError


def replace_file(path: Path, write: Callable[[Path], object]) -> None:
    """Have a file written beside its place, then put it there; one that cannot be written leaves the old one whole.

    What is written is told the place of the draft, whose ending is another. A link stays a link, and a file that was
    there keeps who may read and write it.
    """
    try:
        _replace(_place(path), write)
    except OSError as error:
        raise FileProblemError(
            path, f"cannot be written ({error.strerror or error})", "choose another place"
        ) from error


def _place(path: Path) -> Path:
    try:
        return path.resolve()
    except RuntimeError as error:  # so says Python before 3.13 of a link that leads to itself
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP)) from error


def _replace(place: Path, write: Callable[[Path], object]) -> None:
    _refuse(place)
    draft = place.with_name(f".{place.name[:80]}.{uuid4().hex[:8]}.part")
    try:
        write(draft)
        _put(draft, place)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def _refuse(place: Path) -> None:
    """Refuse what is no ordinary file, or one that nobody is to write to: `replace` would not ask."""
    if place.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if place.exists() and not place.is_file():
        raise OSError(errno.EINVAL, "it is no ordinary file")
    if place.is_file() and not os.access(place, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


def _put(draft: Path, place: Path) -> None:
    with draft.open("r+b") as written:
        os.fsync(written.fileno())
    if place.is_file():
        shutil.copymode(place, draft)
    draft.replace(place)
