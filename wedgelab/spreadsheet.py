"""Text cells that a spreadsheet would take for formulas, made harmless and brought back exactly."""

import re
from typing import Final

# A spreadsheet runs a cell that starts with one of these as a formula; the full-width forms too, in some languages.
_ACTIVE: Final = r"[=+\-@\t\r\n＝＋－＠]"
_NEEDS_GUARD: Final = re.compile(rf"'*{_ACTIVE}")
_GUARDED: Final = re.compile(rf"'+{_ACTIVE}")


def guard_text(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would run; one more if it has some already."""
    return f"'{text}" if _NEEDS_GUARD.match(text) else text


def unguard_text(text: str) -> str:
    """Take off the apostrophe that `guard_text` put there."""
    return text[1:] if _GUARDED.match(text) else text
