"""Which balls and which readings to believe, judged ball by ball."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from wedgelab.model.judge import Verdicts, first_verdicts, judge, no_doubt

Array = NDArray[np.float64]

ALL = np.arange(4)  # carry, spin, ball speed, launch
SDS = np.array([0.055, 0.06, 0.03, 0.8])
CORRELATIONS = np.array([[1.0, 0.2, 0.8, -0.3], [0.2, 1.0, 0.3, 0.2], [0.8, 0.3, 1.0, -0.2], [-0.3, 0.2, -0.2, 1.0]])
SPREAD = CORRELATIONS * np.outer(SDS, SDS)
SHARE = 0.05


def judged(
    off: Any,
    *,
    seen: Any = ALL,
    told: Any = None,
    doubt: Any = 0.05,
    before: float = 0.0,
    share: float = SHARE,
) -> Verdicts:
    """Judge balls that are each a group of their own; ``doubt`` as a share of the spread, or as it is."""
    off = np.atleast_2d(np.asarray(off, dtype=np.float64))
    n, k = off.shape
    has = np.ones((n, k), dtype=bool) if told is None else np.atleast_2d(np.asarray(told, dtype=bool))
    pairs = has[:, :, None] & has[:, None, :]
    spread = np.tile(SPREAD[np.ix_(seen, seen)], (n, 1, 1))
    doubted = np.where(pairs, doubt * spread if np.isscalar(doubt) else doubt, 0.0)
    spread = np.where(pairs, spread, 0.0)
    spread[:, np.arange(k), np.arange(k)] += ~has
    rests = Verdicts(np.full(n, before), np.zeros((n, k)))
    return judge(
        np.where(has, off, 0.0), has, np.asarray(seen), np.arange(n), spread, doubted, rests, np.full(n, share)
    )


def mishit(verdicts: Verdicts) -> Array:
    return np.asarray(1.0 - verdicts.right - verdicts.faulty.sum(axis=1))


OFFS = st.lists(
    st.tuples(st.floats(-3.0, 3.0), st.floats(-3.0, 3.0), st.floats(-2.0, 2.0), st.floats(-40.0, 40.0)),
    min_size=1, max_size=6,
)  # fmt: skip


@given(offs=OFFS, told=st.integers(0, 2**24 - 1), doubt=st.floats(0.0, 30.0), before=st.floats(0.0, 1.0))
@settings(max_examples=200, deadline=None, derandomize=True)
def test_the_chances_of_a_ball_are_chances_and_sum_to_one(
    offs: list[tuple[float, ...]], told: int, doubt: float, before: float
) -> None:
    has = np.array([[told >> (4 * i + j) & 1 for j in range(4)] for i in range(len(offs))], dtype=bool)
    has[:, 0] = True  # every ball has a carry
    found = judged(offs, told=has, doubt=doubt, before=before)
    assert (found.right >= 0.0).all()
    assert (found.faulty >= 0.0).all()
    assert (mishit(found) >= -1e-12).all()
    assert not found.faulty[~has].any()
    # what is not a mishit and not a wrong carry is solid, and every reading counts where it is not the wrong one
    np.testing.assert_allclose(found.solid + found.faulty[:, 0] + mishit(found), 1.0, rtol=1e-12)
    np.testing.assert_allclose(found.weights() + found.faulty + mishit(found)[:, None], 1.0, rtol=1e-12)


def test_the_share_of_mishits_before_the_ball_enters_as_odds() -> None:
    """Bayes' theorem: posterior odds are prior odds times what the ball says."""
    off = [[-0.2, -0.1, -0.06, 1.0]]
    odds = [mishit(found) / (1.0 - mishit(found)) for found in (judged(off, share=0.05), judged(off, share=0.5))]
    assert odds[1] / odds[0] == pytest.approx((0.5 / 0.5) / (0.05 / 0.95), rel=1e-9)


@pytest.mark.parametrize("way", [[1.0, 1.0, 0.5, 2.0], [4.0, -1.0, 2.0, 3.0], [0.0, 0.0, 0.0, 0.0]])
def test_a_lone_ball_does_not_vouch_for_itself(way: list[float]) -> None:
    """A posterior that rests on the ball alone must judge it as what was believed before it does.

    Before: a cell known to within ``wide``, the ball ``away`` from it. After: Gaussian regression on that one ball.
    """
    away, wide = 0.3 * np.array(way), 16.0 * SPREAD
    gain = wide @ np.linalg.inv(wide + SPREAD)
    left, doubt = away - gain @ away, wide - gain @ wide
    unseen = judged([away], doubt=wide[None], before=0.0)
    rests_on_it = judged([left], doubt=doubt[None], before=1.0)
    np.testing.assert_allclose(rests_on_it.right, unseen.right, rtol=1e-6)
    np.testing.assert_allclose(rests_on_it.faulty, unseen.faulty, rtol=1e-6)
    if any(way):  # a ball that vouched for itself would look better
        assert judged([left], doubt=doubt[None], before=0.0).right > unseen.right


@pytest.mark.parametrize("has", [[1, 0, 0, 0], [1, 1, 0, 0], [1, 0, 1, 0], [1, 0, 1, 1]])
def test_readings_that_are_missing_change_nothing(has: list[int]) -> None:
    off = np.array([[-0.12, 0.05, -0.02, 1.1], [0.03, 0.4, 0.0, 0.2], [-2.3, 0.0, 0.02, 0.1]])
    seen = np.flatnonzero(has)
    whole = judged(off, told=np.tile(np.array(has, dtype=bool), (3, 1)))
    alone = judged(off[:, seen], seen=seen)
    np.testing.assert_allclose(whole.right, alone.right, rtol=1e-10)
    np.testing.assert_allclose(whole.faulty[:, seen], alone.faulty, rtol=1e-10)
    assert not whole.faulty[:, np.flatnonzero(np.array(has) == 0)].any()


def test_an_ordinary_ball_is_believed() -> None:
    found = judged([np.zeros(4), SDS * CORRELATIONS[0], -SDS * CORRELATIONS[2]])
    assert (found.right > 0.95).all()


@pytest.mark.parametrize("slip", [0.1, 10.0])
def test_a_slip_of_the_decimal_point_of_the_carry_alone_is_a_wrong_carry_and_no_mishit(slip: float) -> None:
    found = judged([[np.log(slip), 0.01, 0.0, 0.2]])
    assert found.faulty[0, 0] > 0.99
    assert mishit(found)[0] < 0.01
    assert found.solid[0] < 0.01
    # the other readings still count, the carry does not
    np.testing.assert_allclose(found.weights()[0], [0.0, 1.0, 1.0, 1.0], atol=0.01)


@pytest.mark.parametrize(("reading", "wrong"), [(1, -1.5), (2, 0.5), (3, 30.0)])
def test_one_wrong_reading_leaves_the_carry_of_a_solid_ball_alone(reading: int, wrong: float) -> None:
    off = np.zeros(4)
    off[reading] = wrong
    found = judged([off])
    assert found.faulty[0, reading] > 0.9
    assert found.solid[0] > 0.95


def test_without_other_readings_a_carry_ten_times_off_is_not_solid_whatever_it_was() -> None:
    found = judged([[np.log(0.1)]], seen=[0])
    assert found.solid[0] < 0.01


@pytest.mark.parametrize("lost", [0.15, 0.2, 0.35])
def test_a_fat_ball_is_a_mishit(lost: float) -> None:
    # the ground takes ball speed, and with it carry and spin; launched as ever (a tenth lost can be a slow swing)
    found = judged([[-1.6 * lost, -1.3 * lost, -lost, 0.0]])
    assert mishit(found)[0] > 0.9
    assert found.weights()[0].max() < 0.1


def test_a_thin_ball_is_a_mishit() -> None:
    # ten degrees of delivered loft less: low and with little spin
    found = judged([[0.2, -0.2, 0.1, -6.0]])
    assert mishit(found)[0] > 0.9


def test_the_order_of_balls_does_not_matter() -> None:
    rng = np.random.default_rng(82)
    n = 40
    which = rng.integers(3, size=n)
    spread = SPREAD[None] * np.array([1.0, 1.5, 0.7])[:, None, None]
    off = rng.standard_normal((n, 4)) * SDS * rng.choice([1.0, 4.0], (n, 1))
    told = np.ones((n, 4), dtype=bool)
    before = Verdicts(rng.uniform(size=n), np.zeros((n, 4)))
    share = rng.uniform(0.01, 0.3, n)

    def all_of(order: Any) -> Verdicts:
        kept = Verdicts(before.right[order], before.faulty[order])
        return judge(off[order], told, ALL, which[order], spread, 0.1 * spread, kept, share[order])

    order = rng.permutation(n)
    straight, shuffled = all_of(np.arange(n)), all_of(order)
    np.testing.assert_allclose(shuffled.right, straight.right[order], rtol=1e-12)
    np.testing.assert_allclose(shuffled.faulty, straight.faulty[order], rtol=1e-12)


def test_before_the_first_ball_no_reading_is_wrong_that_was_not_taken() -> None:
    told = np.array([[True, False], [True, True]])
    found = first_verdicts(told, np.array([0, 1]), SHARE)
    assert found.faulty[0, 1] == 0.0
    assert found.faulty[1, 1] > 0.0
    np.testing.assert_allclose(mishit(found), SHARE)
    sure = no_doubt(told)
    np.testing.assert_array_equal(sure.weights(), 1.0)
