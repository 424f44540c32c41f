"""The statistical model of a player: numpy core, scikit-learn estimator, DataFrame facade.

Nothing is imported here, so that the everyday commands pay only for the core (`wedgelab.model.player`).
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wedgelab.model.facade import PlayerModel
    from wedgelab.model.regressor import WedgeRegressor

__all__ = ["PlayerModel", "WedgeRegressor"]


def __getattr__(name: str) -> Any:
    if name == "PlayerModel":
        from wedgelab.model.facade import PlayerModel

        return PlayerModel
    if name == "WedgeRegressor":
        from wedgelab.model.regressor import WedgeRegressor

        return WedgeRegressor
    message = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(message)
