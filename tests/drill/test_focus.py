"""Where an aimed drill goes: the need of a call by hand, and the share of the calls that it comes to."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.choose import Advice
from wedgelab.drill.calls import band_edges, call_grid, make_calls
from wedgelab.drill.focus import needs
from wedgelab.prediction import Prediction, ShotKind
from wedgelab.shots import SwingLength, Wedge
from wedgelab.window import WindowRule

FIVE_PERCENT = WindowRule(share=0.05, least_m=0.0)


def advice(carry_m: float, sd_m: float, se_m: float) -> Advice:
    wedge, swing = Wedge("54", 54.0), SwingLength("9:00", 90.0)
    kind = ShotKind(wedge.label, wedge.loft_deg, swing.swing_deg)
    said = Prediction(kind, carry_m, sd_m, se_m, 8000.0, 400.0, 90.0, 9, 2, "measured", "between")
    return Advice(wedge, swing, said, 0.5)


def test_the_need_of_a_call_by_hand() -> None:
    # in half windows of 2.5 m: off by 2, spread 3, doubt twice 3: sqrt(4 + 9 + 36) = 7; to the fourth power
    found = needs([50.0, 60.0], [advice(52.0, 3.0, 3.0), advice(60.0, 3.0, 0.0)], FIVE_PERCENT)
    assert found == pytest.approx({50.0: (7.0 / 2.5) ** 4, 60.0: 1.0})
    # half as wide a window at the second call: twice the need, sixteen times the weight
    narrow = needs([50.0, 60.0], [advice(52.0, 3.0, 3.0), advice(60.0, 3.0, 0.0)], WindowRule(fixed_m=1.5))
    assert narrow == pytest.approx({50.0: (7.0 / 1.5) ** 4, 60.0: 16.0})


def test_a_call_without_a_shot_counts_as_much_as_the_neediest() -> None:
    calls = [50.0, 60.0, 70.0]
    found = needs(calls, [None, advice(60.0, 6.0, 0.0), advice(70.0, 3.5, 0.0)], FIVE_PERCENT)
    assert found == pytest.approx({50.0: 16.0, 60.0: 16.0, 70.0: 1.0})
    assert needs(calls, [None, None, None], FIVE_PERCENT) == dict.fromkeys(calls, 1.0)


def test_a_shot_that_never_misses_still_has_a_weight() -> None:
    found = needs([50.0, 60.0], [advice(50.0, 0.0, 0.0), advice(60.0, 3.0, 0.0)], FIVE_PERCENT)
    assert 0.0 < found[50.0] < 1e-5
    assert make_calls(4, 50.0, 60.0, 10.0, 1, needs=found)


@given(sd_share=st.floats(0.02, 0.15), more=st.floats(1.0, 3.0), call=st.floats(20.0, 120.0))
def test_the_need_does_not_grow_with_the_length_of_the_call_alone(sd_share: float, more: float, call: float) -> None:
    longer = more * call + 1.0
    found = needs(
        [call, longer], [advice(c, sd_share * c, 0.01 * c) for c in (call, longer)], FIVE_PERCENT
    )  # the same shares of the carry
    assert found[longer] == pytest.approx(found[call], rel=1e-9)


# --- what it comes to: 40 to 76 m are three bands of twelve metres

LOW, HIGH = 40.0, 76.0
BANDS = band_edges(LOW, HIGH)
BALLS, SEEDS = 20, 200


def shares_of(spread_of_the_last: float, doubt_of_the_last: float = 0.002) -> list[float]:
    """Return the mean share of the calls by band; the last third spreads and is doubted otherwise than the rest."""
    grid = call_grid(LOW, HIGH, 1.0)
    edge = BANDS[-1][0]
    advised = [
        advice(
            c, 0.05 * c * (spread_of_the_last if c >= edge else 1.0), c * (doubt_of_the_last if c >= edge else 0.002)
        )
        for c in grid
    ]
    weights = needs(grid, advised, FIVE_PERCENT)
    counts = [0] * len(BANDS)
    for seed in range(SEEDS):
        calls = make_calls(BALLS, LOW, HIGH, 1.0, seed, needs=weights)
        now = [sum(a <= call < b for call in calls) for a, b in BANDS]
        assert min(now) >= BALLS / (2 * len(BANDS)) - 1.0, seed  # half of its even share, give or take one run
        counts = [a + b for a, b in zip(counts, now, strict=True)]
    return [count / (BALLS * SEEDS) for count in counts]


def test_there_are_three_bands() -> None:
    assert len(BANDS) == 3


@pytest.mark.parametrize("spread", [1.25, 1.5, 2.0])
def test_a_third_of_the_span_with_a_larger_spread_gets_the_share_that_its_weight_says(spread: float) -> None:
    share = shares_of(spread)[-1]
    # half of the calls even, half by the fourth power: 0.44 at 1.25, 0.53 at 1.5, 0.61 at 2 (its doubt hardly counts)
    weight = (spread**2 + 0.08**2) ** 2 / (1.0 + 0.08**2) ** 2
    assert share == pytest.approx(0.5 / 3.0 + 0.5 * weight / (weight + 2.0), abs=0.025)
    if spread == 1.5:
        assert share > 0.45


def test_a_flat_chart_is_no_aim() -> None:
    assert shares_of(1.0) == pytest.approx([1.0 / 3.0] * 3, abs=0.02)


def test_doubt_counts_twice_and_by_its_size() -> None:
    # 0.2 against 1.2 % of the carry moves little where balls spread by 5 %; as much doubt as spread moves much
    assert shares_of(1.0, 0.012)[-1] < 0.40
    assert shares_of(1.0, 0.05)[-1] > 0.55
    alike = needs([50.0], [advice(50.0, 0.0, 1.5)], FIVE_PERCENT)[50.0]
    assert alike == pytest.approx(needs([50.0], [advice(50.0, 3.0, 0.0)], FIVE_PERCENT)[50.0])


def test_a_short_drill_is_aimed_too() -> None:
    # of three balls every band is owed about one: from which on it gets two is drawn, not always rounded down
    grid = call_grid(LOW, HIGH, 1.0)
    weights = needs(grid, [advice(c, 0.05 * c * (1.5 if c >= BANDS[-1][0] else 1.0), 0.0) for c in grid], FIVE_PERCENT)
    drills = [make_calls(3, LOW, HIGH, 1.0, seed, needs=weights) for seed in range(400)]
    assert sum(call >= BANDS[-1][0] for calls in drills for call in calls) / 1200 > 0.42
