"""How an answer shows itself in a notebook, without the pure layer knowing of DataFrames or HTML.

`Shown` finds the drawing by its name when it is asked for, not by an import: the answers stand below `render` and
`frames`, and a command that needs neither must not load them (docs/decisions/0021-showing.md).
"""

from importlib import import_module
from typing import Any, Final

from wedgelab.errors import BadRequestError, quoted
from wedgelab.units import LengthUnit

_UNITS: Final[tuple[LengthUnit, ...]] = ("yd", "m")
_shown_in: LengthUnit = "yd"


class Shown:
    """An answer that shows itself as a table in a notebook and gives its rows as a DataFrame."""

    __slots__ = ()

    def to_frame(self) -> Any:
        """Return the rows as a pandas DataFrame: the columns of docs/names.md, SI whatever is shown."""
        return import_module("wedgelab.frames").answer_to_frame(self)

    def _repr_html_(self) -> str:
        """Return the answer as HTML, which is what a notebook asks for."""
        html: str = import_module("wedgelab.render.html").answer_html(self, _shown_in)
        return html


def show_in(unit: LengthUnit) -> None:
    """Choose in which unit notebooks show distances from now on: ``"yd"``, as at first, or ``"m"``."""
    global _shown_in  # noqa: PLW0603 - a notebook calls `_repr_html_` without any argument
    if unit not in _UNITS:
        raise BadRequestError(f"the unit {quoted(str(unit))} is not known", "say yd or m")
    _shown_in = unit


def shown_in() -> LengthUnit:
    """Return the unit in which notebooks show distances."""
    return _shown_in
