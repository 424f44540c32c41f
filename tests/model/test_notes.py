"""What a fit has to complain about stands in its report; nothing is written to stderr, nothing is raised."""

import warnings
from typing import Any

import numpy as np
import pytest

from wedgelab.model import fit as fitting
from wedgelab.model.judge import judge
from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations


def log(n: int = 12) -> Any:
    rng = np.random.default_rng(61)
    return observations(
        carry_m=60.0 * np.exp(0.05 * rng.standard_normal(n)), loft_deg=np.full(n, 54.0), swing_deg=np.full(n, 90.0)
    )


def test_an_ordinary_log_leaves_no_note() -> None:
    learnt = fit_observations(log()).fit
    assert learnt.converged
    assert learnt.notes == ()


def test_a_warning_of_numpy_becomes_a_note(monkeypatch: pytest.MonkeyPatch) -> None:
    def complaining(*words: Any) -> Any:
        np.log(np.zeros(2))  # divide by zero encountered in log
        warnings.warn("an eigenvalue was mended", RuntimeWarning, stacklevel=1)
        return judge(*words)

    monkeypatch.setattr(fitting, "judge", complaining)
    notes = fit_observations(log()).fit.notes  # pytest turns a warning that gets out into an error
    assert notes == ("numerical: divide by zero encountered in log", "numerical: an eigenvalue was mended")


def test_a_fit_that_is_stopped_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fitting, "_MOST_ROUNDS", 2)
    learnt = fit_observations(log()).fit
    assert not learnt.converged
    assert learnt.notes == ("the fit was stopped after 2 rounds while still moving a little",)


@pytest.mark.parametrize(
    "carry", [[60.0], [60.0, 60.0], [0.5, 250.0], [60.0] * 30, [60.0, 61.0, 600.0 / 10, 6.0]], ids=str
)
def test_odd_logs_are_fitted_without_a_word(carry: list[float]) -> None:
    n = len(carry)
    learnt = fit_observations(
        observations(
            carry_m=np.array(carry), loft_deg=np.full(n, 54.0), swing_deg=np.full(n, 90.0),
            spin_rpm=np.full(n, 8000.0), measured={"ball_speed_mps": np.full(n, 28.0), "launch_deg": np.full(n, 30.0)},
        )
    ).fit  # fmt: skip
    assert np.isfinite(learnt.mean).all()
    assert np.isfinite(np.diag(learnt.covariance)).all()
    assert not [note for note in learnt.notes if note.startswith("numerical")]
