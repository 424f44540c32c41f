"""The drill on a full screen: prompt_toolkit draws `drill_view`, its keys and its entry line drive a `Sitting`."""

import asyncio
import contextlib
import signal
import warnings
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Final

from prompt_toolkit.application import Application
from prompt_toolkit.buffer import Buffer
from prompt_toolkit.filters import Condition
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.layout import BufferControl, FormattedTextControl, HSplit, Layout, VSplit, Window
from prompt_toolkit.layout.dimension import Dimension
from prompt_toolkit.styles import Style

from wedgelab.drill.machine import DrillState
from wedgelab.errors import StoreError, WedgelabError, printable
from wedgelab.render.layout import display_width
from wedgelab.shots import SwingLength, Wedge
from wedgelab.terminal.announce import announcement
from wedgelab.terminal.drill_view import Picture, picture
from wedgelab.terminal.drill_words import DrillView
from wedgelab.terminal.sitting import Outcome, Sitting
from wedgelab.terminal.watch import POLL_S, News, Watch
from wedgelab.units import format_length

if TYPE_CHECKING:
    from prompt_toolkit.input import Input
    from prompt_toolkit.output import Output

    from wedgelab.terminal.glyphs import Line

BLOCK: Final = "█"
PLAIN_DOT: Final = "#"
_LEAST_ENTRY: Final = 12  # columns that stay for typing
# blue, vermillion and yellow of a set that the colour-blind tell apart; every style works without its colour too
_STYLE: Final = Style.from_dict(
    {
        "head": "bold",
        "call": "bold",
        "miss.in": "bold fg:#56b4e9",
        "miss.out": "bold fg:#e69f00",
        "advice": "",
        "keys": "reverse",
        "error": "bold fg:#e69f00",
        "prompt": "bold",
    }
)
_NEEDED_ROWS: Final = 4
# keys of an editor that would take the next digit for something else, or bring back an old line as a new ball
_NO_KEYS: Final = ("c-@", "c-z", "c-s", "c-r", "c-o", "c-x", "c-_", "c-g", "c-\\", "c-v", "up", "down")


class ScreenRefusedError(Exception):
    """The terminal is none that a full screen can be drawn on."""


def open_screen(sitting: Sitting, **how: Any) -> "DrillScreen":
    """Return the screen of a sitting, or raise `ScreenRefusedError`."""
    try:
        return DrillScreen(sitting, **how)
    except Exception as error:  # some Windows consoles raise errors of their own, known only there
        if type(error).__name__ in {"NoConsoleScreenBufferError", "UnsupportedOperation"}:
            raise ScreenRefusedError from error
        raise


class DrillScreen:
    """One sitting of a drill on a full screen; `run` returns when it is over, quit, or the terminal went away."""

    def __init__(
        self,
        sitting: Sitting,
        *,
        watch: Watch | None = None,
        speak: Callable[[str], None] | None = None,
        message: str = "",
        notes: Sequence[str] = (),
        terminal_input: "Input | None" = None,
        terminal_output: "Output | None" = None,
    ) -> None:
        self._sitting, self._watch, self._speak = sitting, watch, speak
        self._message, self._message_kind = message, "info"
        self._notes = tuple(notes)
        self._waiting, self._is_unfinished = "", False
        self._is_helping = False
        self._refused: str | None = None  # a line that stays to be mended, or to be typed over
        self._drawn: tuple[object, Picture] | None = None
        self.refused = 0
        self.was_hung_up = False
        self._buffer = Buffer(multiline=False, accept_handler=self._accept)
        self._app: Application[None] = Application(
            layout=self._layout(),
            key_bindings=self._keys(),
            style=_STYLE,
            full_screen=True,
            mouse_support=False,
            input=terminal_input,
            output=terminal_output,
        )
        self._dot = BLOCK if _can_show(BLOCK, self._app.output.encoding()) else PLAIN_DOT

    def run(self) -> DrillState:
        """Play until the drill is left; return where it stands."""
        with warnings.catch_warnings(), contextlib.suppress(EOFError):
            warnings.simplefilter("ignore")  # a line on stderr would tear the picture
            self._app.run(pre_run=self._begin, handle_sigint=True)
        return self._sitting.state

    # --- what is shown

    def _layout(self) -> Layout:
        def part(lines: "Callable[[], list[Line]]") -> Window:
            def text() -> StyleAndTextTuples:
                return _joined(lines())

            return Window(
                FormattedTextControl(text),
                height=lambda: Dimension.exact(len(lines())),
                wrap_lines=False,
            )

        prompt = Window(
            FormattedTextControl(lambda: [("class:prompt", self._prompt())]),
            width=lambda: Dimension.exact(display_width(self._prompt())),
            height=1,
            dont_extend_width=True,
        )
        entry = VSplit([prompt, Window(BufferControl(self._buffer), height=1)], height=1)
        rest = Window()
        return Layout(HSplit([part(lambda: self._picture().above), entry, part(lambda: self._picture().below), rest]))

    def _picture(self) -> Picture:
        size = self._app.output.get_size()
        view = self._view()
        seen = (view, size.columns, size.rows)
        if self._drawn is None or self._drawn[0] != seen:
            self._drawn = seen, picture(view, size.columns, max(size.rows, _NEEDED_ROWS), dot=self._dot)
        return self._drawn[1]

    def _view(self) -> DrillView:
        sitting = self._sitting
        held = sitting.held
        return DrillView(
            state=sitting.state,
            unit=sitting.unit,
            advice=_club_text(sitting.advice) or None,
            advice_shown=sitting.advice_is_on,
            bare=_club_text(sitting.club),
            asks=sitting.asks,
            message=self._message or ("that was the last call: Enter for the summary" if sitting.state.is_over else ""),
            message_kind="error" if self._message_kind == "error" else "info",
            paused=sitting.is_paused,
            following=self._following(),
            helping=self._is_helping,
            notes=self._notes,
            held=""
            if held is None
            else f"{held.entry.wedge.label} {held.entry.swing.label} "
            f"{format_length(held.entry.carry_m, sitting.unit, 1)} {sitting.unit}",
        )

    def _following(self) -> str:
        if self._watch is None:
            return ""
        if self._sitting.n_waiting and self._sitting.asks == "guess":
            return f"{self._watch.name}: a ball is there, it waits for your guess"
        if self._is_unfinished:
            return f"{self._waiting} (Enter takes it)"
        return self._waiting or f"{self._watch.name}: waiting for the next ball"

    def _prompt(self) -> str:
        sitting = self._sitting
        if sitting.state.is_over:
            return "Enter: summary> "
        what = "your guess" if sitting.asks == "guess" else "carry"
        club = "" if sitting.asks == "guess" else printable(_club_text(sitting.club))
        short = f"{what} ({sitting.unit})> "
        long = f"{club}  {short}" if club else short
        room = self._app.output.get_size().columns - _LEAST_ENTRY
        return long if display_width(long) <= room else short

    # --- what happens

    def _accept(self, buffer: Buffer) -> bool:
        """Take the line; True keeps it there, to be mended when it could not be used."""
        text, watch, sitting = buffer.text, self._watch, self._sitting

        def take() -> Outcome:
            is_free = not (text.strip() or sitting.is_paused or sitting.state.is_over or sitting.held is not None)
            if watch is not None and is_free and self._is_unfinished and sitting.asks == "carry":
                return self._take(watch.take_unfinished())
            return sitting.answer(text)

        done = self._guarded(lambda: self._do(take))
        stays = not done and sitting.held is None
        self._refused = text if stays else None
        return stays

    def _do(self, action: Callable[[], Outcome]) -> bool:
        """Do what a key or a line asks for; say what came of it; True when it could be done."""
        sitting = self._sitting
        before = sitting.state
        was_paused = sitting.is_paused
        self._message, self._message_kind = "", "info"
        try:
            outcome = action()
        except WedgelabError as error:
            self._message = error.brief if isinstance(error, StoreError) else str(error)
            self._message_kind = "error"
            self.refused += 1
            return False
        self._is_helping = outcome == "help" and not self._is_helping
        if outcome == "quit":
            self._app.exit()
            return True
        if was_paused and not sitting.is_paused and self._watch is not None:
            self._watch.pass_over()
        if self._speak is not None and (text := announcement(before, sitting)):
            self._speak(text)
        return True

    def _take(self, news: News) -> Outcome:
        self._waiting, self._is_unfinished = news.waiting, news.is_unfinished
        outcome = self._sitting.offer(news.balls)
        if news.problems:
            self._message, self._message_kind = news.problems[-1], "error"
        return outcome

    def _keys(self) -> KeyBindings:
        keys = KeyBindings()
        sitting = self._sitting
        actions: dict[tuple[str, ...], Callable[[], Outcome]] = {
            ("f1",): lambda: "help",
            ("f2", "c-t"): sitting.toggle_advice,
            ("f3", "c-b"): sitting.undo,
            ("f4", "c-f"): self._begin_correction,
            ("f5", "c-n"): sitting.skip,
            ("f6", "c-p"): sitting.pause,
            ("f10", "c-q", "c-c", "<sigint>"): sitting.quit,
        }
        for names, action in actions.items():
            for name in names:
                keys.add(name)(self._bound(action))
        keys.add("escape", eager=True)(lambda _: self._buffer.reset())  # and no number after it is an argument
        for name in _NO_KEYS:
            keys.add(name, eager=True)(lambda _: None)
        is_refused = Condition(lambda: bool(self._buffer.text) and self._buffer.text == self._refused)
        keys.add("<any>", filter=is_refused)(lambda event: self._type_over(event.data))
        is_empty = Condition(lambda: not self._buffer.text)
        keys.add("c-d", filter=is_empty)(self._bound(sitting.quit))
        keys.add("?", filter=is_empty)(self._bound(lambda: "help"))
        return keys

    def _type_over(self, text: str) -> None:
        self._refused = None
        self._buffer.reset()
        self._buffer.insert_text(text)

    def _begin_correction(self) -> Outcome:
        self._buffer.text = "fix "
        self._buffer.cursor_position = len(self._buffer.text)
        return "nothing"

    def _bound(self, action: Callable[[], Outcome]) -> Callable[[KeyPressEvent], None]:
        def pressed(_event: KeyPressEvent) -> None:
            self._guarded(lambda: self._do(action))

        return pressed

    def _guarded(self, action: Callable[[], bool]) -> bool:
        """Let a fault of ours end the program with the screen put right, instead of waiting behind it."""
        try:
            return action()
        except Exception as error:  # noqa: BLE001 - handed on to the caller of run
            # a future takes no StopIteration
            self._app.exit(exception=RuntimeError(repr(error)) if isinstance(error, StopIteration) else error)
            return False

    # --- beside the keys

    def _begin(self) -> None:
        loop = asyncio.get_running_loop()
        for name in ("SIGHUP", "SIGTERM"):
            # without these the terminal would be left on the other screen
            with contextlib.suppress(AttributeError, NotImplementedError, ValueError, RuntimeError):
                loop.add_signal_handler(getattr(signal, name), self._hang_up)
        if self._watch is not None:
            self._app.create_background_task(self._follow(self._watch))
        if self._speak is not None and (text := announcement(None, self._sitting)):
            self._speak(text)

    def _hang_up(self) -> None:
        self.was_hung_up = True
        if self._app.is_running and not self._app.is_done:
            self._app.exit()

    async def _follow(self, watch: Watch) -> None:
        loop = asyncio.get_running_loop()
        while True:
            await asyncio.sleep(POLL_S)
            if self._sitting.is_paused or self._sitting.state.is_over:
                continue
            news = await loop.run_in_executor(None, watch.look)
            is_held_up = self._sitting.n_waiting > 0 and self._sitting.held is None and self._sitting.asks == "carry"
            if news.balls or news.problems or news.waiting != self._waiting or is_held_up:
                self._guarded(lambda news=news: self._do(lambda: self._take(news)))  # type: ignore[misc]
                self._app.invalidate()


def _joined(lines: "list[Line]") -> StyleAndTextTuples:
    joined: StyleAndTextTuples = []
    for number, line in enumerate(lines):
        if number:
            joined.append(("", "\n"))
        joined.extend(line)
    return joined


def _club_text(club: tuple[Wedge, SwingLength] | None) -> str:
    return "" if club is None else f"{club[0].label} {club[1].label}"


def _can_show(sign: str, encoding: str) -> bool:
    try:
        sign.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True
