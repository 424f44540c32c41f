"""Which ball counts for which shot: one rule for chart, dispersion, sheet and choice."""

from typing import Any

import pytest

from tests.conftest import a_shot
from wedgelab.shots import LIES, counts_for, lie_apart


def test_every_lie_counts_as_one_but_those_that_behave_otherwise() -> None:
    assert {lie: lie_apart(lie) for lie in ("", *LIES)} == {
        "": "", "mat": "", "fairway": "", "tight": "", "rough": "rough", "sand": "sand",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "counts"),
    [
        ({}, True),
        ({"wedge": "GAP"}, True),
        ({"wedge": "lob"}, False),
        ({"loft_deg": 52.05}, True),  # a loft that was typed with another rounding
        ({"loft_deg": 52.1}, False),
        ({"swing_deg": 95.0}, True),
        ({"swing_deg": 84.9}, False),
        ({"trajectory": "low"}, False),
        ({"lie": "mat"}, True),
        ({"lie": "tight"}, True),
        ({"lie": "rough"}, False),
        ({"lie": "sand"}, False),
    ],
)
def test_a_ball_counts_for_a_shot_of_its_club_length_flight_and_lie(changes: dict[str, Any], counts: bool) -> None:
    shot = a_shot(**{"wedge": "Gap", "loft_deg": 52.0} | changes)
    asked: dict[str, Any] = {"wedge": "gap", "loft_deg": 52.0, "swing_deg": 90.0, "trajectory": "stock"}
    assert counts_for(shot, lie="fairway", **asked) == counts


def test_a_ball_from_the_sand_counts_for_a_shot_from_the_sand_alone() -> None:
    asked: dict[str, Any] = {"wedge": "54", "loft_deg": 54.0, "swing_deg": 90.0, "trajectory": "stock"}
    assert counts_for(a_shot(lie="sand"), lie="sand", **asked)
    assert not counts_for(a_shot(lie="rough"), lie="sand", **asked)
    assert not counts_for(a_shot(lie=""), lie="sand", **asked)
