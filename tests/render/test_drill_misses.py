"""The misses of a drill as lines of bars with their numbers."""

import pytest

from wedgelab.drill.machine import Ball, DrillPlan, Played, Skip, replay
from wedgelab.drill.scores import errors_in_turn
from wedgelab.render.drill_misses import misses_text
from wedgelab.render.layout import WIDTH
from wedgelab.render.sparks import ASCII_BARS
from wedgelab.window import WindowRule


def hit(misses_m: list[float]) -> list[Played]:
    """Balls that missed calls of 60 m by so much."""
    plan = DrillPlan((60.0,) * len(misses_m), 60.0, 60.0, 1, WindowRule(fixed_m=3.0))
    balls = [Ball(f"s{i}", "A", 54.0, 90.0, 60.0 + miss) for i, miss in enumerate(misses_m)]
    return list(replay(plan, balls).played)


def test_long_and_short_have_a_line_each_with_their_balls_and_the_largest() -> None:
    assert misses_text(hit([4.0, -2.0, 0.0, 6.0, -8.0, 1.0]), "m").split("\n") == [
        "Misses ball by ball, in m, the full bar 8.0:",
        "  long  ▄  ▆ ▁  3 balls, at most 6.0",
        "  short  ▂  █   2 balls, at most 8.0",
        "  E of each five balls: █▂  4.9, 1.0 m (1 ball)",
    ]


def test_in_ascii_the_lines_are_as_long() -> None:
    balls = hit([4.0, -2.0, 0.0, 6.0, -8.0, 1.0])
    drawn, plain = misses_text(balls, "m"), misses_text(balls, "m", ascii_only=True)
    assert plain.isascii()
    assert [len(line) for line in plain.split("\n")] == [len(line) for line in drawn.split("\n")]
    assert ASCII_BARS[-1] in plain


def test_a_miss_that_reads_as_nothing_is_no_bar() -> None:
    text = misses_text(hit([0.04, -0.04, 0.0, 0.0, 0.0]), "m")
    assert "  long         0 balls\n" in text
    assert "  short        0 balls" in text
    assert "at most" not in text


@pytest.mark.parametrize("n", [0, 1, 4])
def test_a_few_balls_are_read_faster_from_their_lines(n: int) -> None:
    assert misses_text(hit([1.0] * n), "m") == ""


def test_one_five_has_no_line_of_its_own() -> None:
    assert "E of" not in misses_text(hit([1.0] * 5), "m")
    assert "E of each five balls: ██  1.0, 1.0 m" in misses_text(hit([1.0] * 10), "m")


def test_a_long_drill_is_broken_into_lines_and_its_blocks_into_a_from_and_a_to() -> None:
    text = misses_text(hit([4.0] * 5 + [2.0] * 495), "m")
    lines = text.split("\n")
    assert max(len(line) for line in lines) <= WIDTH
    assert "  ball 1 to 45" in lines
    assert "  ball 496 to 500" in lines
    assert lines[-3] == "  E of each five balls: █" + "▄" * 44
    assert lines[-1] == " " * 24 + "▄" * 10 + "  from 4.0 to 2.0 m"


def test_errors_in_turn_are_of_the_balls_hit_whatever_was_skipped() -> None:
    plan = DrillPlan((60.0,) * 8, 60.0, 60.0, 1, WindowRule(fixed_m=3.0))
    balls: list[Skip | Ball] = [Skip(), *(Ball(f"s{i}", "A", 54.0, 90.0, 60.0 + i) for i in range(7))]
    blocks = errors_in_turn(replay(plan, balls).played)
    assert [(block.call_no, block.n) for block in blocks] == [(2, 5), (7, 2)]
    assert [block.e_m for block in blocks] == pytest.approx([(30 / 5) ** 0.5, (61 / 2) ** 0.5])
