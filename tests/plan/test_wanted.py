"""What a plan is for: the whole chart, a span, or named distances, and what of it is refused."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.fakes import TYPICAL_BAG, FakePredictor, fake_carry_m
from wedgelab.errors import BadRequestError, NothingFitsError
from wedgelab.plan.wanted import Wanted, kind_of, span, targets, whole_chart
from wedgelab.prediction import ShotKind
from wedgelab.shots import Bag
from wedgelab.window import WindowRule

CERTAIN = FakePredictor(covariance=lambda a, b: 1e-12 if a == b else 0.0)


def carries(wanted: Wanted) -> list[float]:
    return [fake_carry_m(kind) for kind in wanted.kinds]


def test_in_the_whole_chart_every_shot_counts_alike() -> None:
    wanted = whole_chart(TYPICAL_BAG)
    assert len(wanted.shots) == 9
    assert wanted.weights == (1.0 / 9.0,) * 9
    assert (wanted.low_m, wanted.high_m, wanted.targets_m) == (None, None, ())


@given(low=st.floats(20.0, 60.0), width=st.floats(15.0, 60.0))
@settings(max_examples=30, deadline=None)
def test_where_carries_are_known_the_span_takes_those_inside_alone(low: float, width: float) -> None:
    assume(any(low + 1e-3 < carry < low + width - 1e-3 for carry in carries(whole_chart(TYPICAL_BAG))))
    wanted = span(CERTAIN, TYPICAL_BAG, low, low + width, "m")
    assert sum(wanted.weights) == pytest.approx(1.0)
    for carry, weight in zip(carries(wanted), wanted.weights, strict=True):
        if abs(carry - low) > 1e-3 and abs(carry - low - width) > 1e-3:
            assert (weight > 0.0) == (low < carry < low + width)


def test_a_shot_at_the_edge_of_the_span_counts_half() -> None:
    kind = kind_of(TYPICAL_BAG.wedges[0], TYPICAL_BAG.swings[1])
    edge = fake_carry_m(kind)
    wanted = span(FakePredictor(covariance=lambda a, b: 1e-6 if a == b else 0.0), TYPICAL_BAG, edge, 200.0, "m")
    at = wanted.kinds.index(kind)
    assert wanted.weights[at] / max(wanted.weights) == pytest.approx(0.5, abs=0.01)


def test_an_open_end_has_no_limit() -> None:
    above = span(CERTAIN, TYPICAL_BAG, 60.0, None, "m")
    below = span(CERTAIN, TYPICAL_BAG, None, 60.0, "m")
    for carry, one, other in zip(carries(above), above.weights, below.weights, strict=True):
        assert (one > 0.0, other > 0.0) == (carry > 60.0, carry < 60.0)


def test_a_span_without_a_charted_shot_names_the_nearest() -> None:
    with pytest.raises(NothingFitsError) as caught:
        span(CERTAIN, TYPICAL_BAG, 150.0, None, "m")
    assert str(caught.value) == (
        "no charted shot carries 150 m and more as far as is known; the nearest carries 104 m (50 10:30): widen the "
        "span, or name distances with --targets"
    )
    with pytest.raises(NothingFitsError, match=r"^no charted shot carries 5 to 9 m .* carries 37 m \(60 7:30\)"):
        span(CERTAIN, TYPICAL_BAG, 5.0, 9.0, "m")


@pytest.mark.parametrize(("low", "high"), [(70.0, 50.0), (60.0, 60.0)])
def test_a_span_the_wrong_way_round_is_refused(low: float, high: float) -> None:
    with pytest.raises(BadRequestError, match="is no span; give the shorter distance first"):
        span(CERTAIN, TYPICAL_BAG, low, high, "m")


def test_targets_weigh_the_advised_shots_and_one_named_twice_twice() -> None:
    at = fake_carry_m(kind_of(TYPICAL_BAG.wedges[0], TYPICAL_BAG.swings[0]))
    wanted = targets(FakePredictor(), TYPICAL_BAG, [at, at, 75.0], WindowRule(), "m")
    heavy = [(kind, weight) for kind, weight in zip(wanted.kinds, wanted.weights, strict=True) if weight > 0.0]
    assert sum(weight for _, weight in heavy) == pytest.approx(1.0)
    assert len(heavy) == 2
    for kind, weight in heavy:
        carry = fake_carry_m(kind)
        called = at if weight > 0.5 else 75.0
        assert math.isclose(carry, called, rel_tol=0.05)
        assert weight == pytest.approx(2.0 / 3.0 if called == at else 1.0 / 3.0)
    assert wanted.targets_m == (at, at, 75.0)


def test_a_target_between_the_named_swings_can_be_hit_at_its_own_swing() -> None:
    wanted = targets(FakePredictor(), TYPICAL_BAG, [55.0], WindowRule(), "m")
    assert len(wanted.shots) == 10
    assert wanted.weights[-1] == 1.0
    assert fake_carry_m(wanted.kinds[-1]) == pytest.approx(55.0, rel=0.02)


def test_a_target_out_of_reach_is_refused_with_the_nearest() -> None:
    for target, near in ((150.0, 104), (10.0, 37)):
        with pytest.raises(NothingFitsError) as caught:
            targets(FakePredictor(), TYPICAL_BAG, [60.0, target], WindowRule(), "m")
        assert str(caught.value) == f"target {target:.0f} m is out of reach; the nearest charted carry is {near} m"


def test_an_empty_bag_is_refused() -> None:
    for bag in (Bag((), TYPICAL_BAG.swings), Bag(TYPICAL_BAG.wedges, ())):
        with pytest.raises(BadRequestError, match="the bag has no wedge or no swing length"):
            whole_chart(bag)


def test_a_kind_is_the_stock_shot() -> None:
    assert kind_of(TYPICAL_BAG.wedges[0], TYPICAL_BAG.swings[0]) == ShotKind("50", 50.0, 45.0)
