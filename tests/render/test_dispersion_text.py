"""Where the balls came down as text: the drawing, the numbers, the sentences."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from tests.conftest import a_shot
from wedgelab.dispersion import WedgeDispersion, dispersions
from wedgelab.prediction import NOT_SAID
from wedgelab.render.dispersion_text import SIGNS, dispersion_facts, dispersion_text
from wedgelab.render.dispersion_words import direction_line, is_told_apart, miss_text
from wedgelab.render.layout import WIDTH, display_width
from wedgelab.shots import Bag, Conditions, Shot, SwingLength, Wedge
from wedgelab.units import LengthUnit, format_length

SWINGS = (SwingLength("8:00", 60.0), SwingLength("9:00", 90.0), SwingLength("full", 165.0))
HOSTILE = "m" * 40


def many(
    bag: Bag, counts: tuple[int, ...] = (1, 14, 5), side: float = 0.02, seed: int = 4
) -> tuple[WedgeDispersion, ...]:
    rng = np.random.default_rng(seed)
    shots = [
        a_shot(
            wedge=wedge.label, loft_deg=wedge.loft_deg, swing=swing.label, swing_deg=swing.swing_deg,
            carry_m=float(carry := 0.6 * swing.swing_deg * np.exp(rng.normal(0.0, 0.05))),
            offline_m=float(carry * rng.normal(side, 0.03)),
        )
        for wedge in bag.wedges
        for swing, n in zip(bag.swings, counts, strict=False)
        for _ in range(n)
    ]  # fmt: skip
    return dispersions(shots, bag)


def bag_of(n: int) -> Bag:
    return Bag(tuple(Wedge(f"w{i}", 46.0 + i) for i in range(n)), SWINGS)


def of_balls(*points: tuple[float, float]) -> WedgeDispersion:
    """One wedge at 9:00 whose balls are (sideways, carry)."""
    shots: list[Shot] = [a_shot(carry_m=carry, offline_m=side) for side, carry in points]
    return dispersions(shots, Bag((Wedge("54", 54.0),), SWINGS))[0]


@pytest.mark.parametrize("n", [1, 2, 3, 4, 5, 9])
@pytest.mark.parametrize("unit", ["yd", "m"])
@pytest.mark.parametrize("ascii_only", [True, False])
def test_it_fits_eighty_columns_and_is_plain_where_it_must(n: int, unit: LengthUnit, ascii_only: bool) -> None:
    text = dispersion_text(many(bag_of(n)), unit, reference=NOT_SAID, ascii_only=ascii_only)
    assert max(display_width(line) for line in text.split("\n")) <= WIDTH
    if ascii_only:
        assert text.replace("±", "").isascii()  # as in every table of the chart
    assert all(f"w{i}" in text for i in range(n))


def test_labels_of_forty_signs_fit_too() -> None:
    bag = Bag((Wedge(HOSTILE, 50.0), Wedge("楔" * 40, 54.0)), (SwingLength(HOSTILE, 60.0), *SWINGS[1:]))
    text = dispersion_text(many(bag), "yd", reference=NOT_SAID)
    assert max(display_width(line) for line in text.split("\n")) <= WIDTH


def test_a_ball_stands_right_of_the_target_line_at_its_carry() -> None:
    # one unit a line: carries of 40 to 60, a scale of half a unit a column
    one = of_balls((0.0, 40.0), (4.0, 50.0), (-4.0, 50.0), (0.0, 60.0))
    lines = dispersion_text([one], "m", reference=NOT_SAID, ascii_only=True).split("\n\n")[1].split("\n")
    body = [line[5:] for line in lines[1:-1]]
    middle = next(line.index("|") for line in body if "|" in line)
    found = [(i, j - middle) for i, line in enumerate(body) for j, sign in enumerate(line) if sign == SIGNS[0]]
    assert len(found) == 4
    (top, a), (left_row, left), (right_row, right), (foot, b) = sorted(found)
    assert (a, b) == (0, 0)
    assert (left_row, left) == (right_row, -right)
    assert right > 0
    assert abs((left_row - top) - (foot - left_row)) <= 1
    # twice as many columns as lines for the same length
    assert right == pytest.approx(2 * 4.0 * (foot - top) / 20.0, abs=1.0)
    number = next(line for line in lines if line[:5].strip() == "50")
    assert SIGNS[0] in number


def test_the_table_has_the_numbers_of_the_record() -> None:
    every = many(bag_of(2))
    text = dispersion_text(every, "yd", reference=NOT_SAID)
    for one in every:
        for swing in one.swings:
            assert miss_text(swing.offline_mean_m, "yd") in text
            if swing.offline_se_m is not None:
                assert f"{miss_text(swing.offline_mean_m, 'yd')} ±{format_length(swing.offline_se_m, 'yd', 1)}" in text
            assert swing.region is not None
            left, right, short, far = swing.region.box
            assert f"{miss_text(left, 'yd')}-{miss_text(right, 'yd')}" in text
            pooled = "*" if swing.region.is_pooled else ""
            assert f"{format_length(short, 'yd')}-{format_length(far, 'yd')}{pooled}" in text
    assert "* few balls of that swing" in text


def test_without_a_region_the_reason_is_given_once_for_all_swings_of_that_reason() -> None:
    text = " ".join(dispersion_text(many(bag_of(1), (1, 2, 1)), "yd", reference=NOT_SAID).split())
    assert "w0 8:00, w0 9:00, w0 full: too few balls for a region: 3 more balls with a sideways miss" in text
    assert "Region (" not in text


def test_the_region_is_said_to_hold_eight_in_ten_and_its_reach_alone_more() -> None:
    text = dispersion_text(many(bag_of(1)), "yd", reference=NOT_SAID)
    assert (
        "Region (·): one more solid ball comes down inside it 8 times in 10; the columns say how far it reaches, and "
        "either alone holds more." in " ".join(text.split())
    )
    # true of the regions: of the balls inside the reach across alone more stay than inside the region
    (swing,) = [swing for swing in many(bag_of(1), (0, 200))[0].swings if swing.region is not None]
    assert swing.region is not None
    left, right, *_ = swing.region.box
    across = np.mean([left <= side <= right for side, _ in swing.points])
    inside = np.mean([swing.region.holds(*point) for point in swing.points])
    assert inside == pytest.approx(0.8, abs=0.09)
    assert 0.87 < across < 0.98


def test_what_was_left_out_is_said() -> None:
    bag = bag_of(1)
    shots = [
        a_shot(wedge="w0", loft_deg=46.0, offline_m=1.0),
        a_shot(wedge="w0", loft_deg=46.0),
        a_shot(wedge="w0", loft_deg=46.0, swing_deg=75.0, offline_m=1.0),
        a_shot(wedge="w0", loft_deg=46.0, trajectory="low", offline_m=1.0),
        a_shot(wedge="w0", loft_deg=46.0, lie="sand", offline_m=1.0),
    ]
    text = " ".join(dispersion_text(dispersions(shots, bag), "yd", reference=NOT_SAID, mishits=3).split())
    assert (
        "Balls left out: 3 taken for mishits, 1 without a sideways miss, 1 near no named swing length, 1 meant low or "
        "high, 1 from rough or sand." in text
    )


def test_the_air_of_the_carries_is_said() -> None:
    text = " ".join(dispersion_text(many(bag_of(1)), "yd", reference=Conditions(air_temp_c=20.0)).split())
    assert "Carries are for 20 C; sideways misses are as logged, with the wind of their day." in text


def test_a_direction_is_told_from_straight_where_its_interval_leaves_it_out() -> None:
    right, straight = many(bag_of(1), side=0.05)[0], many(bag_of(1), side=0.0, seed=8)[0]
    assert is_told_apart(right)
    assert not is_told_apart(straight)
    assert "cannot be told from straight (90 % interval). Single" in direction_line(straight)
    said = (
        "over 20 balls of 1 session; right of straight (90 % interval), but all of one day: the day may be the reason"
    )
    assert said in direction_line(right)
    assert " R ±" in direction_line(right)
    left = many(bag_of(1), side=-0.05)[0]
    assert "; left of straight (90 % interval), but" in direction_line(left)


def test_under_five_balls_no_direction_is_claimed() -> None:
    far = [(6.0, 60.0), (6.1, 61.0), (5.9, 59.0), (6.0, 60.0)]
    assert not is_told_apart(of_balls(*far))
    assert direction_line(of_balls(*far)) == (
        "54: 5.7 R ±0.1 deg on average over 4 balls of 1 session; too few balls to say whether that is straight. "
        "Single balls ±0.3 deg."
    )
    assert is_told_apart(of_balls(*far, (6.0, 60.0)))


def of_days(*sides: list[float]) -> WedgeDispersion:
    """One wedge whose balls come from a session for each list of sideways misses."""
    shots = [
        a_shot(carry_m=60.0, offline_m=side, session=f"day {i}") for i, day in enumerate(sides) for side in day
    ]  # fmt: skip
    return dispersions(shots, Bag((Wedge("54", 54.0),), SWINGS))[0]


def test_balls_of_one_good_day_and_one_bad_day_are_no_ten_balls() -> None:
    one_day = of_days([3.0, 2.5, 3.5, 3.2, 2.8, 1.0, 0.8, 1.2, 1.1, 0.9])
    two_days = of_days([3.0, 2.5, 3.5, 3.2, 2.8], [1.0, 0.8, 1.2, 1.1, 0.9])
    assert is_told_apart(one_day)
    assert not is_told_apart(two_days)
    assert "over 10 balls of 2 sessions; cannot be told from straight (90 % interval)" in direction_line(two_days)
    agreeing = of_days(*[[3.0, 2.5, 3.5]] * 4)
    assert is_told_apart(agreeing)
    assert direction_line(agreeing).count("of straight (90 % interval). Single") == 1


@pytest.mark.parametrize("days", [2, 3, 4, 6])
def test_the_limit_is_students_t_of_the_days(days: int) -> None:
    # every day the same: the standard error is that of the balls, the freedom that of the days
    one = of_days(*[[1.0, -0.6]] * days, [])
    assert one.side_se_deg is not None
    assert one.n_sessions == days
    limit = float(stats.t.ppf(0.95, days - 1)) * one.side_se_deg
    for share, told in ((0.99, False), (1.01, True)):
        moved = replace(one, n=max(one.n, 5), side_mean_deg=share * limit)
        assert is_told_apart(moved) == told


@pytest.mark.parametrize("rounds", [300, pytest.param(3000, marks=pytest.mark.long)])
@pytest.mark.parametrize(
    ("counts", "day_sd", "most"),
    [
        pytest.param((6,), 0.0, 0.10, id="one day, as days that do not differ"),
        pytest.param((6, 6, 6), 2.0, 0.10, id="days that differ as balls do"),
        pytest.param((9, 3, 5, 4, 6), 2.0, 0.11, id="days of few and many balls"),
        pytest.param((20, 2, 2), 2.0, 0.10, id="nearly all of one day"),
        pytest.param((6, 6, 6), 0.0, 0.10, id="days that do not differ"),
    ],
)
def test_a_straight_player_is_told_from_straight_in_no_more_than_one_case_of_ten(
    counts: tuple[int, ...], day_sd: float, most: float, rounds: int
) -> None:
    rng = np.random.default_rng(1)
    told = 0
    for _ in range(rounds):
        moves = rng.normal(0.0, day_sd, len(counts)) if day_sd else np.zeros(len(counts))
        told += is_told_apart(of_days(*[list(rng.normal(move, 2.0, n)) for move, n in zip(moves, counts, strict=True)]))
    assert told / rounds <= most + 3.0 * np.sqrt(most * (1.0 - most) / rounds)


def test_a_player_who_aims_off_by_as_much_as_balls_spread_is_told_from_straight() -> None:
    rng = np.random.default_rng(2)
    told = [is_told_apart(of_days(*[list(rng.normal(2.0, 2.0, 8)) for _ in range(4)])) for _ in range(100)]
    assert np.mean(told) > 0.9


def test_one_ball_has_no_doubt_to_tell() -> None:
    assert direction_line(of_balls((3.0, 60.0))) == "54: 2.9 R deg, one ball."


def test_the_facts_are_plain_and_whole() -> None:
    said = dispersion_facts(many(bag_of(1)), mishits=3)
    assert said["n_mishits"] == 3
    (facts,) = said["wedges"]
    assert set(facts) == {
        "wedge", "loft_deg", "swings", "n", "side_mean_deg", "side_se_deg", "side_sd_deg", "left_share", "right_share",
        "n_no_offline", "n_other_swing", "n_other_flight", "n_other_lie", "n_sessions", "side_told_apart",
    }  # fmt: skip
    for swing in facts["swings"]:
        assert len(swing["balls"]) == swing["n"]
        box = swing["region"]
        edge = [(point["offline_m"], point["carry_m"]) for point in box["outline"]]
        assert min(edge)[0] == box["offline_low_m"]
        assert max(carry for _, carry in edge) == box["carry_high_m"]
    assert [a["swing_deg"] < b["swing_deg"] for a, b in itertools.pairwise(facts["swings"])] == [True, True]
