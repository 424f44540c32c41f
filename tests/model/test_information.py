"""More balls, other sessions, other orders: what must follow and what must not matter."""

from typing import Any

import numpy as np
import pytest

from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations
from wedgelab.prediction import ShotKind
from wedgelab.simulate import invent_player

AT = [ShotKind("54", 54.0, 90.0)]


def test_ten_balls_of_one_session_say_less_than_ten_balls_of_five() -> None:
    for seed in range(5):
        carry = 60.0 * np.exp(np.random.default_rng([41, seed]).normal(0.0, 0.04, 10))
        same: dict[str, Any] = {
            "carry_m": carry,
            "loft_deg": np.full(10, 54.0),
            "swing_deg": np.full(10, 90.0),
            "wedge": ["54"] * 10,
        }
        one = fit_observations(observations(**same, session=["a"] * 10)).predict(AT)[0]
        five = fit_observations(observations(**same, session=[str(i % 5) for i in range(10)])).predict(AT)[0]
        assert one.carry_se_m > five.carry_se_m


def test_expected_covariance_only_shrinks(league: Any) -> None:
    rng = np.random.default_rng(42)
    for e in league[:8]:
        now = e.fitted.log_median_covariance(e.kinds)
        np.testing.assert_array_equal(e.fitted.expected_covariance(e.kinds, []), now)
        extra = [ShotKind("", float(rng.uniform(44, 62)), float(rng.uniform(30, 170))) for _ in range(3)]
        extra += [e.kinds[i] for i in rng.integers(len(e.kinds), size=5)]
        few = e.fitted.expected_covariance(e.kinds, extra[:4])
        many = e.fitted.expected_covariance(e.kinds, extra)
        size = float(np.trace(now))
        for matrix in (now, few, many, now - few, few - many):  # Loewner order: what is taken away is positive too
            np.testing.assert_allclose(matrix, matrix.T, atol=1e-12 * size)
            assert np.linalg.eigvalsh(0.5 * (matrix + matrix.T))[0] >= -1e-9 * size
        assert np.trace(many) < np.trace(few) < size


def test_expected_covariance_of_clubs_never_logged_is_sound_too(league: Any) -> None:
    fitted = league[0].fitted
    new = [ShotKind("new", 51.3, 70.0), ShotKind("other", 51.3, 70.0), ShotKind("", 57.7, 120.0)]
    now, after = fitted.log_median_covariance(new), fitted.expected_covariance(new, new[:1] * 6)
    assert np.linalg.eigvalsh(now)[0] > -1e-12
    assert np.linalg.eigvalsh(now - after)[0] > -1e-12
    assert after[0, 0] < now[0, 0]


def test_the_diagonal_of_the_covariance_is_the_standard_error(league: Any) -> None:
    for e in league[:5]:
        variance = np.diag(e.fitted.log_median_covariance(e.kinds))
        predicted = e.fitted.predict(e.kinds)
        carry = np.array([p.carry_m for p in predicted])
        # sd of a lognormal with that median, Johnson, Kotz & Balakrishnan 1994, chapter 14
        stated = carry * np.sqrt(np.exp(variance) * np.expm1(variance))
        np.testing.assert_allclose([p.carry_se_m for p in predicted], stated, rtol=1e-9)


def test_what_was_expected_of_extra_balls_comes_about_on_average(tools: Any) -> None:
    ratios = []
    for number in range(12):
        rng = np.random.default_rng([43, number])
        player = invent_player(rng)
        log = tools.log_of(player, rng, sessions=3)
        first = np.flatnonzero(np.array(log["session"]) != "day 2")
        kinds = tools.kinds_of(player)
        before = tools.fit_log(log, first)
        third = np.setdiff1d(np.arange(len(log["carry_m"])), first)
        extra = [ShotKind(log["wedge"][i], float(log["loft_deg"][i]), float(log["swing_deg"][i])) for i in third]
        expected = np.trace(before.expected_covariance(kinds, extra))
        came = np.trace(tools.fit_log(log).log_median_covariance(kinds))
        assert expected < np.trace(before.log_median_covariance(kinds))
        ratios.append(came / expected)
    # variances follow re-estimated spreads, which move by some 20 % from fit to fit: the mean of 12 by 6 %
    assert 0.8 < np.mean(ratios) < 1.25


def numbers(fitted: Any, kinds: Any) -> Any:
    return np.array(
        [
            (p.carry_m, p.carry_sd_m, p.carry_se_m, p.spin_rpm, p.spin_sd_rpm, p.spin_se_rpm)
            for p in fitted.predict(kinds)
        ]
    )


def beginning_as(order: Any, sessions: list[str]) -> Any:
    """Let each session's first ball lead, in the order of the sessions: the last to begin is the present.

    That order is all that a log tells of time: the numbers of old sessions fade, so it must matter, and stays.
    """
    leading = [next(i for i in order if sessions[i] == name) for name in dict.fromkeys(sessions)]
    return [*leading, *(i for i in order if i not in leading)]


@pytest.mark.parametrize("number", range(3))
def test_order_of_balls_and_names_of_sessions_do_not_matter(tools: Any, number: int) -> None:
    rng = np.random.default_rng([44, number])
    player = invent_player(rng)
    log = tools.log_of(player, rng)
    kinds = tools.kinds_of(player)
    straight = numbers(tools.fit_log(log), kinds)
    n = len(log["carry_m"])
    shuffled = numbers(tools.fit_log(log, beginning_as(rng.permutation(n), log["session"])), kinds)
    np.testing.assert_allclose(shuffled, straight, rtol=1e-9)
    backwards = numbers(tools.fit_log(log, beginning_as(np.arange(n)[::-1], log["session"])), kinds)
    np.testing.assert_allclose(backwards, straight, rtol=1e-9)
    renamed = log | {"session": ["z" if s == "day 0" else "a" for s in log["session"]]}
    np.testing.assert_allclose(numbers(tools.fit_log(renamed), kinds), straight, rtol=1e-9)


def test_the_same_log_gives_the_same_numbers(tools: Any) -> None:
    rng = np.random.default_rng(45)
    player = invent_player(rng)
    log = tools.log_of(player, rng)
    kinds = tools.kinds_of(player)
    np.testing.assert_array_equal(numbers(tools.fit_log(log), kinds), numbers(tools.fit_log(log), kinds))


@pytest.mark.parametrize("n", [1, 5, 1000])
def test_extra_balls_of_one_kind_are_the_textbook_update_and_share_one_session(league: Any, n: int) -> None:
    """Normal mean with known variances: precisions add, and the balls' mean keeps the whole session effect.

    Gelman et al., Bayesian Data Analysis, 3rd ed., equation 2.12: value from memory, follows from conjugacy.
    """
    fitted, kind = league[1].fitted, league[1].kinds[:1]
    now = float(fitted.log_median_covariance(kind)[0, 0])
    cell = fitted.cells(kind)
    law = fitted.fit.carry_spread.log_sd(cell.swing_deg, cell.loft_deg, cell.club)[0]
    mean_variance = np.exp(2.0 * law) / (1.0 - fitted.fit.mishit_share) / n + fitted.fit.session_sd[0] ** 2
    after = float(fitted.expected_covariance(kind, kind * n)[0, 0])
    assert after == pytest.approx(1.0 / (1.0 / now + 1.0 / mean_variance), rel=1e-8)


def test_a_question_asked_again_after_many_others_has_the_same_answer(league: Any) -> None:
    e = league[0]
    kinds = e.kinds[:2]
    first = e.fitted.window_probability(kinds, 40.0, 60.0).copy()
    for kind in e.kinds[:20]:
        e.fitted.carry_quantiles([kind], [0.5])
    np.testing.assert_array_equal(e.fitted.window_probability(kinds, 40.0, 60.0), first)
    assert not np.array_equal(e.fitted.window_probability(kinds[::-1], 40.0, 60.0), first)
