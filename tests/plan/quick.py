"""The fake player of the other tests with all covariances of a question worked out at once: a plan asks hundreds."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.fakes import FakePredictor
from wedgelab.prediction import ShotKind

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class QuickPredictor(FakePredictor):
    """Doubt grows with the swing, and fades with the distance in loft and in swing."""

    reach_deg: float = 60.0

    def _between(self, rows: Sequence[ShotKind], columns: Sequence[ShotKind]) -> Floats:
        one, other = (np.array([(k.loft_deg, k.swing_deg) for k in kinds]) for kinds in (rows, columns))
        loft, swing = np.moveaxis(np.abs(one[:, None, :] - other[None, :, :]), 2, 0)
        size = 0.04 + 0.0001 * one[:, 1]
        return np.asarray(np.outer(size, 0.04 + 0.0001 * other[:, 1]) * np.exp(-loft / 8.0 - swing / self.reach_deg))
