"""Learn how far each partial wedge shot carries, choose the right one, and practise it."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wedgelab.frames import read_shots
    from wedgelab.model.facade import PlayerModel

__version__ = "0.1.0"
__all__ = ["PlayerModel", "__version__", "read_shots"]


def __getattr__(name: str) -> Any:
    # lazily, so that importing the package costs nothing: the everyday commands need neither pandas nor the model
    if name == "read_shots":
        from wedgelab.frames import read_shots

        return read_shots
    if name == "PlayerModel":
        from wedgelab.model.facade import PlayerModel

        return PlayerModel
    message = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(message)
