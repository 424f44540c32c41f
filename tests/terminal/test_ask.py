"""Where a line comes from."""

import io
import itertools

import pytest
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.terminal.ask import has_terminal, plain_ask, prompt_ask
from wedgelab.terminal.quick_entry import completion_words


class Tty(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("types", "reads", "term"),
    list(itertools.product([True, False], [True, False], ["xterm-256color", "dumb", "", None])),
)
def test_a_terminal_is_two_ends_that_can_move_a_cursor(
    types: bool, reads: bool, term: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    if term is None:
        monkeypatch.delenv("TERM", raising=False)
    else:
        monkeypatch.setenv("TERM", term)
    stdin, stdout = (Tty() if types else io.StringIO()), (Tty() if reads else io.StringIO())
    assert has_terminal(stdin, stdout) is (types and reads and term != "dumb")


def test_a_program_without_standard_streams_has_no_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr("sys.stdin", None)
    assert has_terminal() is False


def test_plain_reading_takes_every_kind_of_line_end_and_then_says_that_it_is_over() -> None:
    stdin, out = io.TextIOWrapper(io.BytesIO(b"one\r\ntwo\n\n three "), newline=""), io.StringIO()
    ask = plain_ask(stdin, out)
    assert [ask("> ") for _ in range(4)] == ["one", "two", "", " three "]  # no newline at the very end
    with pytest.raises(EOFError):
        ask("> ")
    with pytest.raises(EOFError):
        ask("> ")
    assert out.getvalue() == ""  # a pipe is not asked


def test_plain_reading_of_a_terminal_shows_the_prompt() -> None:
    out = io.StringIO()
    assert plain_ask(Tty("68\n"), out)("54 9:00> ") == "68"
    assert out.getvalue() == "54 9:00> "


def test_a_byte_of_another_code_page_in_a_note_does_not_end_the_sitting() -> None:
    ask = plain_ask(io.TextIOWrapper(io.BytesIO(b"68 note=d\xfcnn\n69\n"), encoding="utf-8"), io.StringIO())
    assert [ask(""), ask("")] == ["68 note=d\ufffdnn", "69"]


BAG = Bag((Wedge("54", 54.0), Wedge("sand wedge", 58.0)), (SwingLength("9:00", 90.0), SwingLength("full", 165.0)))


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        ("54 9:00 68\r", "54 9:00 68"),
        ("54 fu\t 68\r", "54 full 68"),  # a swing
        ("sa\t 9:00 68\r", "'sand wedge' 9:00 68"),  # a wedge, in the quotation marks that it needs
        ("5\t 9\t 68\r", "54 9:00 68"),
        ("68 gue\t70\r", "68 guess=70"),
        ("und\t\r", "undo"),
        ("699\x7f\r", "69"),  # backspace
    ],
)
def test_the_prompt_completes_wedges_swings_and_words(keys: str, line: str) -> None:
    with create_pipe_input() as keyboard:
        ask = prompt_ask(completion_words(BAG), terminal_input=keyboard, terminal_output=DummyOutput())
        keyboard.send_text(keys)
        assert ask("> ") == line


@pytest.mark.parametrize(("key", "error"), [("\x04", EOFError), ("\x03", KeyboardInterrupt)])
def test_the_prompt_tells_the_end_from_an_interruption(key: str, error: type[BaseException]) -> None:
    with create_pipe_input() as keyboard:
        ask = prompt_ask((), terminal_input=keyboard, terminal_output=DummyOutput())
        keyboard.send_text(key)
        with pytest.raises(error):
            ask("> ")


def test_the_prompt_remembers_earlier_lines() -> None:
    with create_pipe_input() as keyboard:
        ask = prompt_ask((), terminal_input=keyboard, terminal_output=DummyOutput())
        keyboard.send_text("54 9:00 68\r")
        assert ask("> ") == "54 9:00 68"
        keyboard.send_text("\x1b[A\r")  # arrow up
        assert ask("> ") == "54 9:00 68"
