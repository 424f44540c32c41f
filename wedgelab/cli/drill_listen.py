"""How a drill is played: on the screen, or line by line where there is none or nobody wants one."""

import sys
from typing import TYPE_CHECKING

from wedgelab.cli.app import App

if TYPE_CHECKING:
    from collections.abc import Callable

    from wedgelab.cli.drill_desk import Desk
    from wedgelab.terminal.ask import Ask
    from wedgelab.terminal.drill_loop import DrillResult
    from wedgelab.terminal.sitting import Sitting
    from wedgelab.terminal.watch import Watch


class Listener:
    """Plays a drill on the screen or line by line."""

    def __init__(
        self,
        app: App,
        desk: "Desk",
        sitting: "Sitting",
        watch: "Watch | None",
        speak: "Callable[[str], None] | None",
    ) -> None:
        self._app, self._desk, self._sitting, self._watch, self._speak = app, desk, sitting, watch, speak

    def play(self, *, as_json: bool, on_screen: bool) -> "DrillResult":
        """Play until the drill is over or left."""
        if on_screen and (result := self._on_screen()) is not None:
            return result
        from wedgelab.render.layout import wrap
        from wedgelab.render.words import RANGE_SAFETY_LINE
        from wedgelab.terminal.drill_loop import drill_loop

        self._app.say(wrap(RANGE_SAFETY_LINE))
        show = self._app.say if as_json else self._app.report  # a reader that went away keeps no ball out of the log
        return drill_loop(
            self._sitting, self._asker(as_json=as_json), show, self._app.say,
            somebody_reads=sys.stdin.isatty(), watch=self._watch, speak=self._speak,
        )  # fmt: skip

    def _on_screen(self) -> "DrillResult | None":
        """Return None where the terminal turns out to be none that a screen can be drawn on."""
        from wedgelab.render.words import RANGE_SAFETY_LINE
        from wedgelab.terminal.drill_loop import DrillResult
        from wedgelab.terminal.drill_screen import ScreenRefusedError, open_screen

        with self._app.holding_messages():
            try:
                notes = tuple(self._app.said)
                screen = open_screen(
                    self._sitting, watch=self._watch, speak=self._speak, message=RANGE_SAFETY_LINE, notes=notes
                )
            except ScreenRefusedError:
                return None
            screen.run()
            leaving = self._sitting.leave()
            result = DrillResult(self._sitting.state, screen.refused, leaving)
        if screen.was_hung_up:
            raise KeyboardInterrupt
        return result

    def _asker(self, *, as_json: bool) -> "Ask":
        from wedgelab.terminal.ask import has_terminal, patient_ask, plain_ask, prompt_ask

        if self._watch is not None:
            ask = patient_ask(sys.stdin, sys.stderr if as_json else sys.stdout)
        elif has_terminal() and not as_json:
            ask = prompt_ask([*self._desk.words, "guess", "fix", "undo", "skip", "advice", "pause", "quit"])
        else:
            ask = plain_ask(sys.stdin, sys.stderr if as_json else sys.stdout)
        return ask
