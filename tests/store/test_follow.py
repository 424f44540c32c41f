"""A file that somebody writes while it is watched: each row comes exactly once, whole, and in order."""

import os
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from wedgelab.shots import DEFAULT_SWINGS, Bag, SwingLength, Wedge
from wedgelab.store.follow import FollowedFile, Polled, row_parser

AT = datetime(2026, 6, 3, 18, 30, tzinfo=UTC)
HEAD = "club,swing,carry_m,note\n"
BAG = Bag((Wedge("54", 54.0), Wedge("60", 60.0)), DEFAULT_SWINGS)
CLUB = (Wedge("60", 60.0), SwingLength("full", 165.0))


def line(carry: float | str, note: str = "") -> str:
    return f"54,9:00,{carry},{note}\n"


class Watched:
    """A followed file, and a clock that moves by a second with each look unless it is told otherwise."""

    def __init__(self, path: Path, mapping: dict[str, str] | None = None, **options: Any) -> None:
        self.path, self.now_s = path, 100.0
        parse = row_parser(
            mapping or {}, **{"player": "me", "bag": BAG, "unit": "m", "club": CLUB, "now": lambda: AT, **options}
        )
        self.file = FollowedFile(path, parse)

    def write(self, text: str | bytes, *, start: bool = False) -> None:
        self.path.write_bytes(text.encode() if isinstance(text, str) else text)
        if start:
            self.file.start(self.now_s)

    def append(self, text: str | bytes) -> None:
        with self.path.open("ab") as stream:
            stream.write(text.encode() if isinstance(text, str) else text)

    def swap(self, text: str) -> None:
        """Put another file in the place, as an editor saves."""
        other = self.path.with_name("other.tmp")
        other.write_text(text, encoding="utf-8")
        other.replace(self.path)

    def poll(self, after_s: float = 1.0) -> Polled:
        self.now_s += after_s
        return self.file.poll(self.now_s)

    def new(self, after_s: float = 1.0) -> list[float]:
        """Return the carries of two looks in a row: a file that was written anew counts when it stands still."""
        return carries(self.poll(after_s)) + carries(self.poll())


def carries(polled: Polled) -> list[float]:
    return [row.shot.carry_m for row in polled.rows]


@pytest.fixture
def watched(tmp_path: Path) -> Watched:
    return Watched(tmp_path / "range.csv")


class TestAppending:
    def test_rows_that_were_there_are_no_balls_and_each_new_one_comes_once(self, watched: Watched) -> None:
        watched.write(HEAD + line(60) + line(61), start=True)
        assert watched.poll() == Polled()
        watched.append(line(62) + line(61))
        assert carries(watched.poll()) == [62.0, 61.0]
        assert [watched.poll() for _ in range(5)] == [Polled()] * 5
        watched.append(line(63))
        polled = watched.poll()
        assert (carries(polled), polled.row_nos, polled.waiting) == ([63.0], (6,), "")

    def test_equal_rows_are_as_many_balls(self, watched: Watched) -> None:
        watched.write(HEAD + line(60) * 2, start=True)
        watched.append(line(60))
        polled = watched.poll()
        watched.append(line(60) * 2)
        assert (polled.row_nos, watched.poll().row_nos) == ((4,), (5, 6))

    def test_a_row_waits_for_its_line_end(self, watched: Watched) -> None:
        watched.write(HEAD, start=True)
        for part in ("54,9:00,6", "8", ".5", ",x"):
            watched.append(part)
            assert watched.poll().rows == ()
        assert watched.poll().waiting == "range.csv: the last line has no end yet: '54,9:00,68.5,x'"
        watched.append("\r\n")
        assert (polled := watched.poll()).waiting == ""
        assert carries(polled) == [68.5]

    def test_a_file_may_not_be_there_yet(self, watched: Watched) -> None:
        watched.file.start(100.0)
        assert watched.poll() == Polled(waiting="range.csv: there is no such file yet")
        watched.write(HEAD[:9])
        assert watched.poll().waiting == "range.csv: the last line has no end yet: 'club,swin'"
        watched.write(HEAD + line(60) + line(60))
        assert watched.new() == [60.0, 60.0]

    def test_a_line_that_was_half_written_at_the_start_is_no_ball(self, watched: Watched) -> None:
        watched.write(HEAD + "54,9:0", start=True)
        assert watched.poll() == Polled()
        watched.append("0,60,\n")
        assert watched.poll() == Polled()
        watched.append(line(60))
        assert watched.new() == [60.0]

    def test_a_file_that_did_not_change_is_not_read(self, watched: Watched, monkeypatch: pytest.MonkeyPatch) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.poll()
        read: list[Path] = []
        real = Path.open

        def noted(self: Path, *arguments: Any, **options: Any) -> Any:
            read.append(self)
            return real(self, *arguments, **options)

        monkeypatch.setattr(Path, "open", noted)
        for _ in range(10):
            watched.poll()
        assert read == []
        with monkeypatch.context() as patch:
            patch.setattr(Path, "open", real)
            watched.append(line(61))
        assert carries(watched.poll()) == [61.0]
        assert read == [watched.path]

    def test_a_change_within_one_tick_of_the_clock_is_seen_later(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        stamp = watched.path.stat().st_mtime_ns
        watched.append(line(61))
        os.utime(watched.path, ns=(stamp, stamp))
        assert carries(watched.poll()) == [61.0]
        watched.write(HEAD + line(60) + line(62))  # as long as before, and the clock did not move
        os.utime(watched.path, ns=(stamp, stamp))
        assert carries(watched.poll(0.1)) == []
        assert carries(watched.poll(0.2)) == [62.0]


class TestWrittenAnew:
    @pytest.mark.parametrize("how", ["swap", "write"])
    def test_a_file_that_is_written_anew_with_one_more_row(self, watched: Watched, how: str) -> None:
        watched.write(HEAD + line(60) + line(61), start=True)
        write = getattr(watched, how)
        write(HEAD + line(60) + line(61) + line(61))
        assert watched.new() == [61.0]
        write(HEAD + line(60) + line(61) + line(61) + line(60))
        assert watched.new() == [60.0]

    def test_newest_first(self, watched: Watched) -> None:
        rows = [line(60), line(61)]
        watched.write(HEAD + "".join(rows), start=True)
        came: list[tuple[float, int]] = []
        for new in ([62], [61, 61], [61], [60]):
            rows = [line(carry) for carry in reversed(new)] + rows
            watched.swap(HEAD + "".join(rows))
            polled = (watched.poll(), watched.poll())[1]
            came += list(zip(carries(polled), polled.row_nos, strict=True))
        assert came == [(62.0, -3), (61.0, -4), (61.0, -5), (61.0, -6), (60.0, -7)]

    def test_the_first_equal_row_of_a_file_with_its_newest_first(self, watched: Watched) -> None:
        watched.write(HEAD + line(61) + line(60), start=True)
        watched.swap(HEAD + line(61) * 2 + line(60))
        assert (watched.poll(), watched.poll())[1].row_nos == (-3,)

    def test_an_old_row_equal_to_the_new_one(self, watched: Watched) -> None:
        watched.write(HEAD + line(61) + line(60), start=True)
        watched.swap(HEAD + line(60) + line(61) + line(60))
        assert (watched.poll(), watched.poll())[1].row_nos == (-3,)

    def test_newest_first_and_the_oldest_goes(self, watched: Watched) -> None:
        watched.write(HEAD + line(61) + line(60), start=True)
        numbers = []
        for carries_now in ((62, 61, 60), (63, 62, 61), (63, 64, 63, 62)):
            watched.swap(HEAD + "".join(line(carry) for carry in carries_now))
            numbers += [*watched.poll().row_nos, *watched.poll().row_nos]
        assert numbers == [-3, -3, -3, -4]

    def test_rows_in_another_spelling_are_known(self, watched: Watched) -> None:
        watched.write(HEAD + line("60.0") + line("61.0"), start=True)
        watched.swap("swing,club,carry_m\n9:00,54,60\n9:00,54,61\n9:00,54,60\n")
        assert watched.new() == [60.0]

    def test_a_row_that_is_filled_up_later_is_the_same_ball(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append(line(61))
        assert watched.new() == [61.0]
        watched.swap(HEAD + line(60) + line(61, "wind"))
        assert watched.new() == []
        watched.swap(HEAD + line(60) + line(61, "wind") + line(61))
        assert watched.new() == [61.0]

    def test_emptied_and_written_again_in_pieces(self, watched: Watched) -> None:
        whole = HEAD + "".join(line(60 + n % 3) for n in range(12))
        watched.write(whole, start=True)
        watched.write("")
        for place in range(0, len(whole), 7):
            assert watched.poll(0.3).rows == ()
            watched.append(whole[place : place + 7])
        assert watched.new() == []
        watched.append(line(60))
        assert watched.new() == [60.0]

    def test_half_of_a_new_line_over_half_of_an_old_one_is_no_ball(self, watched: Watched) -> None:
        watched.write(HEAD + line(60) + line(61), start=True)
        with watched.path.open("r+b") as stream:
            stream.write((HEAD + line(60) + "54,9:00,7").encode())
        assert watched.poll(0.1).rows == ()
        assert watched.poll(0.1).waiting == "range.csv: it is being written"
        watched.write(HEAD + line(60) + line(61) + line(78))
        assert watched.new() == [78.0]

    def test_a_file_that_stays_short_is_a_new_beginning(self, watched: Watched) -> None:
        watched.write(HEAD + line(60) + line(61), start=True)
        watched.write(HEAD)
        assert [watched.poll(after_s).rows for after_s in (0.5, 0.5, 1.4)] == [()] * 3
        watched.append(line(60))
        assert carries(watched.poll(0.1)) == [], "it was short for less than two seconds: the old row again"
        watched.write(HEAD)
        assert [watched.poll(after_s).rows for after_s in (0.5, 0.5, 1.6)] == [()] * 3
        watched.append(line(60) + line(61))
        assert watched.new() == [60.0, 61.0]

    def test_only_the_last_ball_is_kept(self, watched: Watched) -> None:
        """Each look is a second later: three of them are a new beginning."""
        watched.write(HEAD, start=True)
        came = []
        for carry in (60, 61, 60, 62, 60):
            watched.swap(HEAD + line(carry))
            came += watched.new() + watched.new()
        assert came == [60.0, 61.0, 60.0, 62.0, 60.0]

    def test_a_file_that_is_gone_for_a_while_is_no_new_beginning(self, watched: Watched) -> None:
        watched.write(HEAD + line(60) + line(61), start=True)
        watched.path.unlink()
        for _ in range(5):
            assert watched.poll().waiting == "range.csv: there is no such file yet"
        watched.write(HEAD + line(60) + line(61) + line(60))
        assert watched.new() == [60.0]


class TestPause:
    def test_rows_of_a_pause_are_no_balls(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append(line(61) * 2 + "54,9:00,6")
        watched.file.skip_waiting(200.0)
        watched.now_s = 200.0
        watched.append("2,\n")
        assert watched.new() == []
        watched.append(line(61))
        polled = watched.poll()
        assert (carries(polled), polled.row_nos) == ([61.0], (6,))

    def test_a_file_that_cannot_be_read_when_the_pause_ends(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append('54,9:00,61,"open\n')
        watched.file.skip_waiting(200.0)
        watched.now_s = 200.0
        assert "has a quotation mark that is not closed properly" in watched.poll().waiting
        watched.append('"\n')
        assert watched.new() == []
        watched.append(line(62))
        assert watched.new() == [62.0]


class TestUnfinished:
    def test_the_player_may_say_that_the_last_line_is_whole(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append("54,9:00,61,")
        assert watched.poll().rows == ()
        assert carries(watched.file.take_unfinished(102.0)) == [61.0]
        for _ in range(6):
            assert watched.poll() == Polled()
        watched.append("\r\n" + line(61))
        assert watched.new() == [61.0]

    def test_a_line_that_goes_on_after_that_is_no_second_ball(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append("54,9:00,6")
        assert carries(watched.file.take_unfinished(102.0)) == [6.0]
        for part in ("1", ".5,ok", "\n"):
            watched.append(part)
            assert [watched.poll().rows for _ in range(5)] == [()] * 5
        watched.append(line(61.5, "ok"))
        assert watched.new() == [61.5]

    @pytest.mark.parametrize("more", ["\n", " ", " \n"])
    def test_a_line_that_was_taken_stays_known(self, watched: Watched, more: str) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append("54,9:00,61,")
        assert carries(watched.file.take_unfinished(102.0)) == [61.0]
        for text in ("", more, "\n"):
            watched.append(text)
            assert [watched.poll().rows for _ in range(5)] == [()] * 5
        watched.append(line(61))
        assert watched.new() == [61.0]

    def test_a_line_that_was_taken_is_known_in_a_file_written_anew(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append("54,9:00,61,")
        assert carries(watched.file.take_unfinished(102.0)) == [61.0]
        assert [watched.poll().rows for _ in range(5)] == [()] * 5
        watched.swap(HEAD + line(61) + line(60))
        assert watched.new() == []

    def test_a_line_that_was_taken_and_cannot_be_understood_yet(self, watched: Watched) -> None:
        watched.write("club,swing,carry_m,date\n", start=True)
        watched.append("54,9:00,60,03/04/2026")
        assert watched.file.take_unfinished(101.0).rows == ()
        watched.append("\n54,9:00,61,14/04/2026\n")
        assert watched.new() == [60.0, 61.0]

    def test_nothing_unfinished_is_nothing_new(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        assert watched.file.take_unfinished(101.0) == Polled()


class TestTrouble:
    def test_a_row_that_cannot_be_read_is_said_once_and_holds_up_no_other(self, watched: Watched) -> None:
        watched.write(HEAD + line("far"), start=True)
        watched.append("54,25:00,far,x\n" + line(61))
        polled = watched.poll()
        assert carries(polled) == [61.0]
        assert polled.problems == (
            "line 3, column 'swing': '25:00' cannot be used; wanted: a clock time from 6:10 to 13:00, such as 9:00",
        )
        watched.append(line(62))
        assert (polled := watched.poll()).problems == ()
        assert carries(polled) == [62.0]
        watched.swap(HEAD + line("far") + line(63, "x") + line(61) + line(62))
        assert watched.new() == [63.0], "the row was mended, so it is a ball now"

    def test_what_cannot_be_understood_yet_waits(self, watched: Watched) -> None:
        watched.write("club,swing,carry_m,date\n54,9:00,60,03/04/2026\n", start=True)
        assert "can be read in two ways" in watched.poll().waiting
        watched.append("54,9:00,61,03/04/2026\n")
        assert carries(watched.poll()) == []
        watched.append("54,9:00,62,14/04/2026\n")
        polled = watched.poll()
        assert carries(polled) == [61.0, 62.0]
        assert [row.shot.hit_at[:10] for row in polled.rows] == ["2026-04-03", "2026-04-14"]

    def test_a_file_without_a_carry_says_so(self, watched: Watched) -> None:
        watched.write("club,swing\n", start=True)
        watched.append("54,9:00\n")
        assert "no column for the carry among 'club', 'swing'" in watched.poll().waiting

    def test_a_file_that_cannot_be_read_for_a_while(self, watched: Watched, monkeypatch: pytest.MonkeyPatch) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append(line(61))

        def refuse(*_: object, **__: object) -> None:
            raise PermissionError(13, "locked")

        with monkeypatch.context() as patch:
            patch.setattr(Path, "open", refuse)
            for _ in range(4):
                assert watched.poll().waiting.endswith("reading it is not permitted; change its permissions or copy it")
        assert carries(watched.poll()) == [61.0]
        with monkeypatch.context() as patch:
            patch.setattr(Path, "stat", refuse)
            assert watched.poll().waiting == "range.csv: it cannot be read now ([Errno 13] locked)"
        assert watched.new() == []

    def test_half_a_letter_waits(self, watched: Watched) -> None:
        watched.write(HEAD + line(60, "für"), start=True)
        first, second = line(61, "für").encode().split(b"\xc3")
        watched.append(first + b"\xc3")
        assert watched.poll().rows == ()
        watched.append(second[:-1])
        assert watched.poll().waiting.endswith(": '54,9:00,61,für'")
        watched.append(b"\n" + line(62, "\u6f22").encode()[:-2])
        assert (polled := watched.poll()).rows[0].shot.note == "für"
        assert len(polled.rows) == 1
        watched.append(line(62, "\u6f22").encode()[-2:])
        assert [row.shot.note for row in watched.poll().rows] == ["\u6f22"]

    def test_letters_that_turn_out_otherwise_double_no_row(self, watched: Watched) -> None:
        watched.write(HEAD + line(60, "für"), start=True)
        watched.append(line(61, "für").encode("cp1252"))
        assert watched.poll().waiting == "range.csv: its letters are not UTF-8 any more"
        assert watched.new() == []

    def test_a_letter_in_the_middle_of_being_written(self, watched: Watched) -> None:
        watched.write(HEAD + line(60), start=True)
        watched.append(line(61, "für").encode().replace(b"\xbc", b" "))
        assert watched.poll(0.1).waiting == "range.csv: it is being written"
        watched.write(HEAD + line(60) + line(61, "für"))
        assert [row.shot.note for polled in (watched.poll(), watched.poll()) for row in polled.rows] == ["für"]

    def test_the_first_row_in_an_older_encoding_is_a_ball(self, watched: Watched) -> None:
        watched.write((HEAD + line(60, "für")).encode("cp1252"), start=True)
        watched.append(line(61, "für").encode("cp1252"))
        assert watched.new() == [61.0]

    @pytest.mark.parametrize("encoding", ["cp1252", "utf-8-sig", "utf-16", "utf-16-le"])
    def test_other_encodings(self, watched: Watched, encoding: str) -> None:
        text = HEAD + line(60, "für") + line(61, "größer")
        data = text.encode(encoding)
        cuts = range(len((HEAD + line(60, "fü")).encode(encoding)), len(data))
        watched.write(data[: cuts[0]], start=True)
        notes = []
        for cut in cuts:
            watched.append(data[cut : cut + 1])
            notes += [row.shot.note for row in watched.poll().rows]
        assert notes + [row.shot.note for row in watched.poll().rows] == ["größer"]

    def test_line_ends_of_very_old_programs(self, watched: Watched) -> None:
        watched.write((HEAD + line(60)).replace("\n", "\r"), start=True)
        watched.append("54,9:00,61,")
        assert watched.poll().rows == ()
        watched.append("\r")
        assert watched.new() == [61.0]


class TestWhatARowSays:
    def test_club_and_swing_may_be_unknown(self, watched: Watched) -> None:
        watched.write("carry (m),spin,lie\n", start=True)
        watched.append("61,8000,mat\n")
        (row,) = watched.poll().rows
        shot = row.shot
        assert (shot.wedge, shot.loft_deg, shot.swing, shot.swing_deg) == ("60", 60.0, "full", 165.0)
        assert (shot.spin_rpm, shot.lie, row.lacks) == (8000.0, "mat", ("wedge", "swing"))

    @pytest.mark.parametrize(
        ("cells", "lacks", "wedge", "swing"),
        [
            ("54,,61,", ("swing",), "54", "full"),
            (",9:00,61,", ("wedge",), "60", "9:00"),
            (",,61,", ("wedge", "swing"), "60", "full"),
            ("54,9:00,61,", (), "54", "9:00"),
        ],
    )
    def test_single_cells_may_be_empty(
        self, watched: Watched, cells: str, lacks: tuple[str, ...], wedge: str, swing: str
    ) -> None:
        watched.write(HEAD, start=True)
        watched.append(f"{cells}\n")
        (row,) = watched.poll().rows
        assert (row.lacks, row.shot.wedge, row.shot.swing) == (lacks, wedge, swing)

    def test_a_saved_mapping_and_short_carries(self, tmp_path: Path) -> None:
        watched = Watched(tmp_path / "range.csv", {"carry_yd": "Flew", "decimal": ","}, unit="yd")
        watched.write("Flew;club\n", start=True)
        watched.append("2,5;54\n")
        assert carries(watched.poll()) == [pytest.approx(2.5 * 0.9144)]


def test_two_thousand_rows_and_one_more(watched: Watched) -> None:
    watched.write(HEAD + "".join(line(40 + n % 47 / 2, f"n{n}") for n in range(2000)), start=True)
    watched.append(line(99))
    assert watched.new() == [99.0]


ROW = st.tuples(st.sampled_from([60, 61, 62.5]), st.sampled_from(["", "für", '"two\nlines"', '"a ""b"", c"']))


@settings(deadline=None, max_examples=60)
@given(data=st.data(), base=st.lists(ROW, max_size=4), rows=st.lists(ROW, min_size=1, max_size=8))
def test_whatever_the_pieces_each_row_comes_once_and_in_order(
    data: st.DataObject, base: list[tuple[float, str]], rows: list[tuple[float, str]]
) -> None:
    start = (HEAD + "".join(line(*row) for row in base)).encode()
    more = "".join(line(*row) for row in rows).encode()
    cuts = sorted(data.draw(st.lists(st.integers(0, len(more)), max_size=12)))
    with tempfile.TemporaryDirectory() as folder:
        watched = Watched(Path(folder) / "range.csv")
        watched.write(start, start=True)
        came: list[tuple[float, str]] = []
        for begin, end in zip([0, *cuts], [*cuts, len(more)], strict=True):
            watched.append(more[begin:end])
            for after_s in data.draw(st.lists(st.sampled_from([0.0, 0.1, 1.0]), max_size=2)):
                came += said(watched.poll(after_s))
            if data.draw(st.booleans()):  # another program saves the whole of it anew, as far as it is
                watched.path.with_name("copy").write_bytes(watched.path.read_bytes())
                watched.path.with_name("copy").replace(watched.path)
        came += said(watched.poll()) + said(watched.poll())
        assert came == [(carry, note.strip('"').replace('""', '"').replace("\n", " ")) for carry, note in rows]


@settings(deadline=None, max_examples=40)
@given(
    moves=st.lists(
        st.tuples(st.sampled_from(["ball", "ball", "pause", "rewrite", "empty"]), st.sampled_from([60, 61, 62])),
        max_size=12,
    ),
    polls=st.lists(st.integers(0, 2), min_size=12, max_size=12),
    newest_first=st.booleans(),
)
def test_whatever_is_done_to_the_file_no_ball_is_lost_or_doubled(
    moves: list[tuple[str, int]], polls: list[int], newest_first: bool
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        watched = Watched(Path(folder) / "range.csv")
        rows = [line(60), line(61)]
        watched.write(HEAD + "".join(rows), start=True)
        hit: list[float] = []
        came: list[float] = []
        for (move, carry), looks in zip(moves, polls, strict=False):
            if move == "pause":
                came += watched.new()  # all that was hit before
                rows = [line(carry), *rows] if newest_first else [*rows, line(carry)]
                watched.swap(HEAD + "".join(rows))
                watched.file.skip_waiting(watched.now_s)
                came += watched.new()
            elif move == "rewrite":
                watched.swap(HEAD + "".join(rows))
            elif move == "empty":
                watched.write(HEAD + "".join(rows[: len(rows) // 2]))
                came += carries(watched.poll(0.3))
                watched.write(HEAD + "".join(rows))
            else:
                rows = [line(carry), *rows] if newest_first else [*rows, line(carry)]
                watched.swap(HEAD + "".join(rows)) if newest_first else watched.append(line(carry))
                hit.append(float(carry))
            for _ in range(looks):
                came += carries(watched.poll(0.3))
        came += watched.new()
        assert sorted(came) == sorted(hit)
        assert came == hit or 0 in polls, "one look for each ball keeps their order whatever the file's"


def said(polled: Polled) -> list[tuple[float, str]]:
    assert polled.problems == ()
    return [(row.shot.carry_m, row.shot.note) for row in polled.rows]


# appends byte by byte, saves anew through another file, empties and begins anew: argv is the file
WRITER = """
import os, sys, time
path = sys.argv[1]
def line(n): return f"54,9:00,{n},b\\u00e4ll {n}\\n".encode()
def slowly(stream, data):
    for place in range(len(data)):
        stream.write(data[place:place + 1])
        stream.flush()
        if place % 5 == 0: time.sleep(0.001)
with open(path, "ab") as stream:
    for n in range(40, 52):
        slowly(stream, line(n))
        time.sleep(0.004)
for n in range(52, 56):
    data = open(path, "rb").read() + line(n)
    with open(path + ".tmp", "wb") as stream: stream.write(data)
    os.replace(path + ".tmp", path)
    time.sleep(0.02)
for n in range(56, 60):
    data = open(path, "rb").read() + line(n)
    with open(path, "wb") as stream:
        for begin in range(0, len(data), 90):
            stream.write(data[begin:begin + 90])
            stream.flush()
            time.sleep(0.001)
"""


def test_a_real_program_writes_while_it_is_watched(watched: Watched) -> None:
    watched.write(HEAD + line(40, "bäll 40"), start=True)
    came: list[tuple[float, str]] = []
    with subprocess.Popen([sys.executable, "-c", WRITER, str(watched.path)], stderr=subprocess.PIPE) as writer:
        while writer.poll() is None:
            # a slow clock: on a busy machine the writer may rest for seconds in the middle of its work
            came += said(watched.file.poll(time.monotonic() / 10))
            time.sleep(0.002)
        assert writer.stderr is not None
        assert writer.stderr.read() == b""
    watched.now_s = time.monotonic() / 10 + 1.0
    came += said(watched.poll()) + said(watched.poll())
    assert came == [(float(n), f"bäll {n}") for n in range(40, 60)]
