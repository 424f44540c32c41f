"""The calls of a drill: reproducible, within the limits, spread over the bands, in the order that was asked for."""

from itertools import groupby, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wedgelab.drill.calls import MOST_BALLS, ORDERS, Order, band_edges, bands_of, call_grid, make_calls
from wedgelab.errors import EXIT_USAGE, BadRequestError

# (lowest, span, step), often with a call inside
spans = st.tuples(st.floats(1.0, 90.0), st.floats(0.0, 90.0), st.sampled_from([0.5, 0.9144, 1.0, 4.572, 5.0, 17.0]))
# every band has several calls, so that no run has to be followed by its own call
wide_spans = st.tuples(st.floats(1.0, 60.0), st.floats(12.0, 90.0), st.sampled_from([0.9144, 1.0, 2.0]))
balls_asked = st.integers(1, 60)
orders = st.sampled_from(ORDERS)
seeds = st.integers(0, 2**31 - 1)


def grid_of(low: float, high: float, step_m: float) -> list[float]:
    return [i * step_m for i in range(1, 400) if low - 1e-9 * step_m <= i * step_m <= high + 1e-9 * step_m]


def runs_of(calls: tuple[float, ...]) -> list[tuple[float, int]]:
    return [(call, len(list(group))) for call, group in groupby(calls)]


@given(span=spans, balls=balls_asked, seed=seeds)
def test_random_calls_are_reproducible_on_the_grid_within_the_limits_spread_evenly_and_without_repeats(
    span: tuple[float, float, float], balls: int, seed: int
) -> None:
    low, wide, step_m = span
    high = low + wide
    grid = grid_of(low, high, step_m)
    if not grid:
        with pytest.raises(BadRequestError):
            make_calls(balls, low, high, step_m, seed)
        return
    calls = make_calls(balls, low, high, step_m, seed)
    assert calls == make_calls(balls, low, high, step_m, seed)
    assert len(calls) == balls
    assert set(calls) <= set(grid)
    if len(grid) > 1:
        assert all(a != b for a, b in pairwise(calls))
    counts = [
        sum(a <= call < b for call in calls)
        for a, b in band_edges(min(low, grid[0]), max(high, grid[-1]))
        if any(a <= point < b for point in grid)
    ]
    assert sum(counts) == balls
    assert max(counts) - min(counts) <= 1


@given(span=spans, balls=balls_asked, seed=seeds, order=orders, aimed=st.booleans())
def test_in_every_order_the_count_is_right_the_limits_hold_and_the_seed_decides(
    span: tuple[float, float, float], balls: int, seed: int, order: Order, *, aimed: bool
) -> None:
    low, wide, step_m = span
    grid = grid_of(low, low + wide, step_m)
    if not grid:
        return
    needs = {call: 1.0 + i % 7 for i, call in enumerate(call_grid(low, low + wide, step_m))} if aimed else None
    calls = make_calls(balls, low, low + wide, step_m, seed, order=order, needs=needs)
    assert calls == make_calls(balls, low, low + wide, step_m, seed, order=order, needs=needs)
    assert len(calls) == balls
    assert set(calls) <= set(grid)
    assert all(low - 1e-9 * step_m <= call <= low + wide + 1e-9 * step_m for call in calls)


@given(span=wide_spans, balls=balls_asked, seed=seeds, order=orders)
def test_in_every_order_each_band_gets_as_many_runs_give_or_take_one(
    span: tuple[float, float, float], balls: int, seed: int, order: Order
) -> None:
    low, wide, step_m = span
    grid = call_grid(low, low + wide, step_m)
    runs = runs_of(make_calls(balls, low, low + wide, step_m, seed, order=order))
    counts = [
        sum(a <= call < b for call, _ in runs)
        for a, b in bands_of(grid, low, low + wide)
        if any(a <= call < b for call in grid)
    ]
    assert sum(counts) == len(runs)
    assert max(counts) - min(counts) <= 1


@given(span=wide_spans, balls=balls_asked, seed=seeds, order=orders)
def test_the_runs_of_each_order(span: tuple[float, float, float], balls: int, seed: int, order: Order) -> None:
    low, wide, step_m = span
    lengths = [n for _, n in runs_of(make_calls(balls, low, low + wide, step_m, seed, order=order))]
    if order == "random":
        assert lengths == [1] * balls
    elif order == "threes":
        assert lengths[:-1] == [3] * (len(lengths) - 1)
        assert 1 <= lengths[-1] <= 3
    else:
        assert lengths == sorted(lengths, reverse=True)  # repeats only grow rarer
        assert set(lengths) <= {3, 2, 1}
        for length in (3, 2, 1):  # about a third of the balls each
            assert abs(length * lengths.count(length) - balls / 3) <= 3


@pytest.mark.parametrize(
    ("balls", "lengths"),
    [
        (18, [3, 3, 2, 2, 2, 1, 1, 1, 1, 1, 1]),
        (9, [3, 2, 2, 1, 1]),
        (30, [3, 3, 3, 2, 2, 2, 2, 2] + [1] * 11),
    ],
)
def test_rising_repeats_grow_rarer_by_hand(balls: int, lengths: list[int]) -> None:
    calls = make_calls(balls, 40.0, 90.0, 1.0, 4, order="rising")
    assert [n for _, n in runs_of(calls)] == lengths


@given(seed=seeds, balls=st.integers(20, 120), weights=st.lists(st.floats(0.01, 50.0), min_size=4, max_size=4))
def test_an_aimed_drill_drops_no_band_and_calls_more_where_it_is_needed(
    seed: int, balls: int, weights: list[float]
) -> None:
    # 40 to 88 m are four bands of twelve metres
    low, high = 40.0, 88.0
    bands = band_edges(low, high)
    grid = call_grid(low, high, 1.0)
    needs = {call: w for call in grid for (a, b), w in zip(bands, weights, strict=True) if a <= call < b}
    calls = make_calls(balls, low, high, 1.0, seed, needs=needs)
    counts = [sum(a <= call < b for call in calls) for a, b in bands]
    assert sum(counts) == balls
    # half of its even share of the whole rounds, give or take one; a last round that is cut may miss any band
    assert min(counts) >= 0.5 * (balls // 4) - 1.0
    for count, weight in zip(counts, weights, strict=True):
        share = 0.5 / 4 + 0.5 * weight / sum(weights)
        assert abs(count - share * balls) <= 2.0  # a cut last round, and what whole balls cannot part
    assert all(a != b for a, b in pairwise(calls))


def test_within_a_band_the_needier_calls_come_up_more_and_none_is_dropped() -> None:
    needs = {float(i): 9.0 if i == 45 else 1.0 for i in range(41, 50)}
    calls = make_calls(500, 41.0, 49.0, 1.0, 2, needs=needs)
    assert set(calls) == set(needs)
    others = [calls.count(call) for call in needs if call != 45.0]
    assert calls.count(45.0) > 2 * max(others)


def test_half_of_the_calls_within_a_band_stay_even_however_needy_two_of_them_are() -> None:
    needs = {float(i): 1e6 if i in (44, 46) else 1.0 for i in range(41, 50)}
    calls = make_calls(500, 41.0, 49.0, 1.0, 2, needs=needs)
    # a ninth of the even half is 28; three standard errors are 16
    others = [calls.count(call) for call in needs if call not in (44.0, 46.0)]
    assert min(others) >= 12
    assert calls.count(44.0) + calls.count(46.0) > 200


def test_even_needs_are_no_aim() -> None:
    calls = make_calls(80, 40.0, 88.0, 1.0, 3, needs=dict.fromkeys(call_grid(40.0, 88.0, 1.0), 2.0))
    assert {sum(a <= call < b for call in calls) for a, b in band_edges(40.0, 88.0)} == {20}


def test_other_seeds_give_other_calls() -> None:
    assert len({make_calls(20, 40.0, 90.0, 1.0, seed) for seed in range(10)}) == 10


def test_every_call_of_the_grid_comes_up() -> None:
    assert set(make_calls(500, 40.0, 60.0, 1.0, 3)) == {float(i) for i in range(40, 61)}


def test_a_band_of_a_single_call_is_not_called_twice_in_a_row() -> None:
    # bands {30} and {45, 60}: 30 could end one round and open the next
    for seed in range(200):
        calls = make_calls(20, 30.0, 60.0, 15.0, seed)
        assert all(a != b for a, b in pairwise(calls)), seed
        assert calls.count(30.0) == 10


def test_the_only_call_there_is_comes_every_time() -> None:
    assert make_calls(3, 49.5, 50.5, 1.0, 1) == (50.0, 50.0, 50.0)


def test_limits_on_the_grid_are_calls_in_spite_of_rounding() -> None:
    # 64 yd in metres divided by the step of a yard is 64.00000000000001
    calls = make_calls(100, 60 * 0.9144, 64 * 0.9144, 0.9144, 5)
    assert {round(call / 0.9144, 9) for call in calls} == {60.0, 61.0, 62.0, 63.0, 64.0}


@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((0, 40.0, 80.0, 1.0), "0 balls is no drill; ask for 1 to 500"),
        ((-3, 40.0, 80.0, 1.0), "-3 balls is no drill; ask for 1 to 500"),
        ((501, 40.0, 80.0, 1.0), "501 balls is no drill; ask for 1 to 500"),
        ((20, 80.0, 40.0, 1.0), "no call lies between the two distances; take a wider span or a smaller step"),
        ((20, 41.0, 44.0, 5.0), "no call lies between the two distances; take a wider span or a smaller step"),
        ((20, -9.0, 0.5, 1.0), "no call lies between the two distances; take a wider span or a smaller step"),
        ((20, 40.0, 80.0, 0.0), "a step of 0 m makes no calls; give a step of 0.1 m or more"),
        ((20, 40.0, 80.0, -2.5), "a step of -2.5 m makes no calls; give a step of 0.1 m or more"),
    ],
)
def test_arguments_that_make_no_drill(arguments: tuple[int, float, float, float], sentence: str, order: Order) -> None:
    with pytest.raises(BadRequestError) as caught:
        make_calls(*arguments, seed=1, order=order)
    assert str(caught.value) == sentence
    assert caught.value.exit_code == EXIT_USAGE


@pytest.mark.parametrize("order", ORDERS)
def test_the_most_balls_are_allowed(order: Order) -> None:
    assert len(make_calls(MOST_BALLS, 40.0, 80.0, 1.0, 1, order=order)) == 500


@pytest.mark.parametrize(
    ("low", "high", "inner"),
    [(50.0, 50.0, []), (50.0, 73.0, []), (50.0, 74.0, [62.0]), (40.0, 88.0, [52, 64, 76]), (0.0, 160.0, [40, 80, 120])],
)
def test_bands_are_one_to_four_of_twelve_metres_or_more(low: float, high: float, inner: list[float]) -> None:
    bands = band_edges(low, high)
    assert [a for a, _ in bands] == [low, *inner]
    assert [b for _, b in bands[:-1]] == inner
    assert bands[-1][1] > high
    assert bands[-1][1] == pytest.approx(high, rel=1e-15)
