"""A window whose sides differ: what is worked out aims at the target and at the middle of the window."""

import pytest

from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.choose import choose
from wedgelab.window import SidedWindow, WindowRule


def test_the_same_window_gives_the_same_best_chance_whichever_target_it_was_asked_for() -> None:
    sided = SidedWindow(WindowRule(fixed_m=2.0), WindowRule(fixed_m=8.0))
    asked = choose(FakePredictor(), TYPICAL_BAG, 64.0, window=sided)
    even = choose(FakePredictor(), TYPICAL_BAG, 67.0, window=WindowRule(fixed_m=5.0))
    assert (asked.window_low_m, asked.window_high_m) == (even.window_low_m, even.window_high_m) == (62.0, 72.0)
    assert asked.best.window_probability == pytest.approx(even.best.window_probability, abs=1e-12)
    # and each wedge's own swing for the target itself is offered too
    aims = {round(option.carry_m) for option in asked.options if not option.practised}
    assert {64, 67} <= aims
