"""Ten rounds of `drill_kills`, so that a drill that loses a ball is noticed by the normal run."""

from pathlib import Path

from tests.faults.drill_kills import kills


def test_a_killed_drill_loses_nothing_that_was_on_the_screen(tmp_path: Path) -> None:
    tally = kills(10, 20261126, tmp_path)
    assert (tally.lost, tally.strange) == ([], [])
    assert sum(tally.rounds.values()) == 10
    assert tally.acknowledged > 0  # else nothing could have been lost
