"""The solve that takes days out one by one, against one dense system in which every day's effect stands as it is."""

from dataclasses import dataclass
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from wedgelab.model import linear
from wedgelab.model.linear import Design, Posterior, narrowed, solve

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Case:
    """A random log: prior, design, what the balls say, and the prior precision of the days' effects."""

    prior: tuple[Array, Array]
    design: Design
    weight: Array
    pull: Array
    day_precision: Array


def positive(rng: np.random.Generator, n: int, size: int) -> Array:
    """Return n well conditioned precisions."""
    root = rng.standard_normal((n, size, size))
    return np.asarray(root @ root.transpose(0, 2, 1) + np.eye(size))


@st.composite
def cases(draw: st.DrawFn, *, most_parameters: int = 6) -> Case:
    k, p = draw(st.integers(1, 4)), draw(st.integers(1, most_parameters))
    q, a = draw(st.integers(0, 5)), draw(st.integers(0, 3))
    n_cells = draw(st.integers(1, 5))
    groups_a_day = draw(st.lists(st.integers(1, 5), min_size=1, max_size=5))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    n_days, n = len(groups_a_day), sum(groups_a_day)
    told = rng.uniform(size=(n, k)) < 0.7  # the others were not read
    weight = np.where(told[:, :, None] & told[:, None, :], positive(rng, n, k), 0.0)
    weight *= 10.0 ** rng.uniform(-2.0, 2.0, n)[:, None, None]  # one ball, or many
    pull = (weight @ rng.standard_normal((n, k, 1)))[:, :, 0]
    design = Design(
        rng.standard_normal((n_cells, k, p)),
        rng.standard_normal((n_days, k, q)),
        rng.standard_normal((n, a)),
        rng.integers(n_cells, size=n),
        np.repeat(np.arange(n_days), groups_a_day),
        np.cumsum([0, *groups_a_day[:-1]]),
    )
    # what the player is, what has moved and the doubts of the air are believed independently
    precision = np.zeros((p + q + a, p + q + a))
    for start, stop in ((0, p), (p, p + q), (p + q, p + q + a)):
        precision[start:stop, start:stop] = positive(rng, 1, stop - start)[0]
    return Case((rng.standard_normal(p + q + a), precision), design, weight, pull, positive(rng, n_days, k))


def dense(case: Case) -> Posterior:
    """Solve for the parameters and all days' effects at once, group by group."""
    design = case.design
    n_days, k = design.day_rows.shape[:2]
    size = len(case.prior[0])
    whole = size + n_days * k
    precision = np.zeros((whole, whole))
    precision[:size, :size] = case.prior[1]
    for day in range(n_days):
        own = slice(size + day * k, size + (day + 1) * k)
        precision[own, own] = case.day_precision[day]
    right = precision[:, :size] @ case.prior[0]
    rows = []
    for group, (cell, day) in enumerate(zip(design.cell, design.day, strict=True)):
        air = np.zeros((k, design.air.shape[1]))
        air[0] = design.air[group]
        effect = np.zeros((k, n_days * k))
        effect[:, day * k : (day + 1) * k] = np.eye(k)
        row = np.hstack([design.cell_rows[cell], design.day_rows[day], air, effect])
        precision += row.T @ case.weight[group] @ row
        right += row.T @ case.pull[group]
        rows.append(row)
    covariance = np.linalg.inv(precision)
    mean = covariance @ right
    days = [slice(size + day * k, size + (day + 1) * k) for day in range(n_days)]
    return Posterior(
        mean[:size],
        covariance[:size, :size],
        np.array([mean[own] for own in days]),
        np.array([covariance[own, own] for own in days]),
        np.array([row @ mean for row in rows]),
        np.array([row @ covariance @ row.T for row in rows]),
    )


@given(case=cases(), chunk=st.sampled_from([1, 3, 2048]))
@settings(max_examples=150, deadline=None, derandomize=True)
def test_taking_the_days_out_one_by_one_gives_what_the_whole_system_gives(case: Case, chunk: int) -> None:
    with patch.object(linear, "_CHUNK", chunk):  # long logs are worked on in parts
        found = solve(case.prior, case.design, case.weight, case.pull, case.day_precision)
    wanted = dense(case)
    for name in ("mean", "covariance", "day_mean", "day_covariance", "group_mean", "group_covariance"):
        # the scale of a whole array bounds what rounding does to its smallest entries
        scale = 1.0 + float(np.max(np.abs(getattr(wanted, name))))
        np.testing.assert_allclose(getattr(found, name), getattr(wanted, name), rtol=1e-8, atol=1e-11 * scale)


@given(case=cases(most_parameters=40))
@settings(max_examples=100, deadline=None, derandomize=True)
def test_the_directions_that_the_cells_tell_of_are_all_that_is_needed(case: Case) -> None:
    p = case.design.cell_rows.shape[2]
    mean, precision = case.prior
    (short_mean, short_precision), design = narrowed((mean[:p], precision[:p, :p]), case.design)
    r = len(short_mean)
    assert r == design.cell_rows.shape[2] <= min(p, design.cell_rows.shape[0] * design.cell_rows.shape[1])
    joined = np.zeros((r + len(mean) - p, r + len(mean) - p))
    joined[:r, :r], joined[r:, r:] = short_precision, precision[p:, p:]
    whole, short = (
        solve(prior, one, case.weight, case.pull, case.day_precision)
        for prior, one in ((case.prior, case.design), ((np.append(short_mean, mean[p:]), joined), design))
    )
    np.testing.assert_allclose(short.mean[r:], whole.mean[p:], rtol=1e-7, atol=1e-9)
    np.testing.assert_allclose(short.covariance[r:, r:], whole.covariance[p:, p:], rtol=1e-7, atol=1e-9)
    for name in ("day_mean", "day_covariance", "group_mean", "group_covariance"):
        np.testing.assert_allclose(getattr(short, name), getattr(whole, name), rtol=1e-7, atol=1e-9)


@given(case=cases())
@settings(max_examples=20, deadline=None, derandomize=True)
def test_the_prior_is_not_changed_by_the_solve(case: Case) -> None:
    mean, precision = (part.copy() for part in case.prior)
    solve(case.prior, case.design, case.weight, case.pull, case.day_precision)
    np.testing.assert_array_equal(case.prior[0], mean)
    np.testing.assert_array_equal(case.prior[1], precision)


def test_one_ball_of_one_cell_is_the_textbook_mean_of_two_normals() -> None:
    """Normal mean with known variances, by hand: precisions add."""
    design = Design(
        np.ones((1, 1, 1)), np.zeros((1, 1, 0)), np.zeros((1, 0)), np.array([0]), np.array([0]), np.array([0])
    )
    one = np.ones((1, 1, 1))
    # prior N(2, 1/4), day N(0, 1/5), a ball at 3 with variance 1/20: its distance from the prior mean is 1/5 + 1/20
    found = solve((np.array([2.0]), 4.0 * one[0]), design, 20.0 * one, 60.0 * one[0], 5.0 * one)
    assert found.covariance[0, 0] == pytest.approx(1.0 / (4.0 + 4.0), rel=1e-12)
    assert found.mean[0] == pytest.approx(2.5, rel=1e-12)
    # of the half that is left to explain the day takes the share (1/5) / (1/5 + 1/20)
    assert found.day_mean[0, 0] == pytest.approx(0.4, rel=1e-12)
    assert found.group_mean[0, 0] == pytest.approx(2.9, rel=1e-12)


def test_balls_that_say_nothing_leave_what_was_believed() -> None:
    rng = np.random.default_rng(81)
    design = Design(
        rng.standard_normal((2, 2, 3)), rng.standard_normal((1, 2, 2)), np.zeros((2, 0)), np.array([0, 1]),
        np.array([0, 0]), np.array([0]),
    )  # fmt: skip
    mean, precision = rng.standard_normal(5), np.zeros((5, 5))
    precision[:3, :3], precision[3:, 3:] = positive(rng, 1, 3)[0], positive(rng, 1, 2)[0]
    days = positive(rng, 1, 2)
    found = solve((mean, precision), design, np.zeros((2, 2, 2)), np.zeros((2, 2)), days)
    np.testing.assert_allclose(found.mean, mean, rtol=1e-10)
    np.testing.assert_allclose(found.covariance @ precision, np.eye(5), atol=1e-10)
    np.testing.assert_array_equal(found.day_mean, 0.0)
    np.testing.assert_allclose(found.day_covariance[0] @ days[0], np.eye(2), atol=1e-10)
