"""Files are whole: what goes wrong half way leaves what was there, and nothing beside it."""

import os
import resource
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from matplotlib.figure import Figure

from wedgelab.errors import FileProblemError
from wedgelab.render.figure import save_figure
from wedgelab.render.files import replace_file
from wedgelab.render.paper import Page, save_pages


def write_new(draft: Path) -> None:
    draft.write_bytes(b"new")


@contextmanager
def room_for(n_bytes: int) -> Iterator[None]:
    """Let no file grow larger, as on a full disk; Python ignores the signal, so that a write fails."""
    old = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (n_bytes, old[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old)


def a_picture() -> Figure:
    figure = Figure()
    figure.add_subplot().plot([0.0, 1.0])
    return figure


def test_a_failure_half_way_leaves_the_old_file(tmp_path: Path) -> None:
    place = tmp_path / "card.pdf"
    place.write_bytes(b"old")

    def stop(draft: Path) -> None:
        draft.write_bytes(b"half")
        assert draft.parent == tmp_path
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        replace_file(place, stop)
    assert place.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [place]


@pytest.mark.parametrize("ending", ["png", "svg", "pdf"])
def test_the_old_picture_stays_whole_when_the_disk_is_full(ending: str, tmp_path: Path) -> None:
    place = tmp_path / f"x.{ending}"
    save_figure(a_picture(), place)
    old = place.read_bytes()
    assert len(old) > 4096
    with room_for(4096), pytest.raises(FileProblemError) as caught:
        save_figure(a_picture(), place)
    assert str(caught.value) == f"{place}: cannot be written (File too large); choose another place"
    assert place.read_bytes() == old
    assert list(tmp_path.iterdir()) == [place]


def test_the_old_sheet_stays_whole_when_the_disk_is_full(tmp_path: Path) -> None:
    place = tmp_path / "card.pdf"
    place.write_bytes(b"old")
    page = Page((100.0, 50.0))
    page.area().write(5.0, 5.0, "words", pt=9.0)
    with room_for(1024), pytest.raises(FileProblemError, match="cannot be written"):
        save_pages([page], place, "t")
    assert place.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [place]


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    place, link = tmp_path / "real.pdf", tmp_path / "link.pdf"
    place.write_bytes(b"old")
    link.symlink_to(place)
    replace_file(link, write_new)
    assert link.is_symlink()
    assert place.read_bytes() == b"new"


@pytest.mark.parametrize("mode", [0o600, 0o664])
def test_who_may_read_a_file_stays_as_it_was(mode: int, tmp_path: Path) -> None:
    place = tmp_path / "x.png"
    place.write_bytes(b"old")
    place.chmod(mode)
    replace_file(place, write_new)
    assert (place.read_bytes(), stat.S_IMODE(place.stat().st_mode)) == (b"new", mode)


def test_a_new_file_may_be_read_by_whom_the_user_lets(tmp_path: Path) -> None:
    plain, place = tmp_path / "plain", tmp_path / "x.png"
    plain.write_bytes(b"")
    replace_file(place, write_new)
    assert place.stat().st_mode == plain.stat().st_mode


def test_a_link_that_leads_to_itself_is_one_line(tmp_path: Path) -> None:
    link = tmp_path / "l.pdf"
    link.symlink_to(link)
    if sys.version_info >= (3, 13):  # there it is a place like any other
        replace_file(link, write_new)
        assert link.read_bytes() == b"new"
    else:
        with pytest.raises(FileProblemError, match=r"cannot be written \(Too many levels of symbolic links\); "):
            replace_file(link, write_new)
        assert link.is_symlink()


def test_what_is_no_ordinary_file_is_refused_and_stays(tmp_path: Path) -> None:
    place = tmp_path / "x.png"
    os.mkfifo(place)
    with pytest.raises(FileProblemError, match=r"cannot be written \(it is no ordinary file\); choose another place"):
        replace_file(place, write_new)
    assert place.is_fifo()
    assert list(tmp_path.iterdir()) == [place]


def test_a_file_that_nobody_is_to_write_to_is_not_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "x.png"
    place.write_bytes(b"old")
    monkeypatch.setattr(os, "access", lambda *_: False)  # the user of a test may be one who may do all
    with pytest.raises(FileProblemError, match=r"cannot be written \(Permission denied\); choose another place"):
        replace_file(place, write_new)
    assert place.read_bytes() == b"old"
