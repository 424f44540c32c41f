"""Invented players: repeatable, physical, and true to their own numbers."""

import dataclasses

import numpy as np
import pytest

from wedgelab.simulate import hit, invent_player, true_medians, without_noise

SWINGS_DEG = (45.0, 90.0, 135.0, 165.0)


def test_the_same_seed_gives_the_same_player_and_the_same_balls() -> None:
    one, two = (invent_player(np.random.default_rng(111)) for _ in range(2))
    assert one == two
    assert one != invent_player(np.random.default_rng(112))
    balls = [hit(one, [0, 1, 2], 90.0, np.random.default_rng(5)) for _ in range(2)]
    for field in dataclasses.fields(balls[0]):
        np.testing.assert_array_equal(getattr(balls[0], field.name), getattr(balls[1], field.name))
    assert (hit(one, [0, 1, 2], 90.0, np.random.default_rng(6)).carry_m != balls[0].carry_m).all()


def test_without_noise_nothing_scatters() -> None:
    player = invent_player(np.random.default_rng(113))
    rng = np.random.default_rng(7)
    quiet = hit(player, np.zeros(50, dtype=int), 90.0, rng, noise=0.0, mishits=False)
    assert np.ptp(quiet.carry_m) == 0.0
    assert np.ptp(quiet.spin_rpm) == 0.0
    assert np.ptp(quiet.offline_m) == 0.0
    noisy = hit(player, np.zeros(50, dtype=int), 90.0, rng, mishits=False)
    assert np.ptp(noisy.carry_m) > 1.0
    machine = hit(without_noise(player), np.zeros(50, dtype=int), 90.0, rng)
    assert not machine.mishit.any()
    assert np.std(np.log(machine.ball_speed_mps)) < 0.01


def test_more_swing_carries_further_and_more_loft_less_far_for_skilled_players() -> None:
    for number in range(12):
        player = invent_player(np.random.default_rng([114, number]), skill=0.9)
        carry, spin = true_medians(player, SWINGS_DEG, balls=101)
        assert (np.diff(carry, axis=1) > 0).all()
        assert (np.diff(carry, axis=0) < 0).all()
        assert carry.shape == spin.shape == (len(player.wedges), len(SWINGS_DEG))


def test_true_medians_are_stable_to_one_percent() -> None:
    player = invent_player(np.random.default_rng(115), skill=0.8)
    few, many = true_medians(player, SWINGS_DEG)[0], true_medians(player, SWINGS_DEG, balls=1601)[0]
    np.testing.assert_allclose(few, many, rtol=0.01)


def test_a_good_day_carries_further_and_every_ball_may_have_its_own_day() -> None:
    player = invent_player(np.random.default_rng(116))
    index = np.zeros(3, dtype=int)
    days = hit(player, index, 90.0, np.random.default_rng(8), session=[-1.0, 0.0, 1.0], noise=0.0, mishits=False)
    assert (np.diff(days.carry_m) > 0).all()
    one = hit(player, index, 90.0, np.random.default_rng(8), session=1.0, noise=0.0, mishits=False)
    assert one.carry_m == pytest.approx(days.carry_m[2])
    # about one session_sd of log carry a standard deviation of the day
    assert np.log(days.carry_m[2] / days.carry_m[1]) == pytest.approx(player.session_sd, rel=0.25)


def test_mishits_are_rarer_with_skill_and_mostly_short() -> None:
    rng = np.random.default_rng(117)
    club, professional = (invent_player(rng, skill=s) for s in (0.0, 1.0))
    balls = [hit(p, np.zeros(2000, dtype=int), 120.0, np.random.default_rng(9)) for p in (club, professional)]
    assert balls[0].mishit.mean() > 0.07
    assert 0.0 < balls[1].mishit.mean() < 0.04
    bad, good = (np.median(balls[0].carry_m[m]) for m in (balls[0].mishit, ~balls[0].mishit))
    assert bad < 0.9 * good


def test_a_wet_face_takes_spin_and_launches_higher() -> None:
    player = invent_player(np.random.default_rng(118), skill=0.8)
    last = np.full(3, len(player.wedges) - 1)
    dry, wet = (
        hit(player, last, 150.0, np.random.default_rng(10), noise=0.0, mishits=False, friction_left=left)
        for left in (1.0, 0.5)
    )
    assert (wet.spin_rpm < dry.spin_rpm).all()
    assert (wet.launch_deg > dry.launch_deg).all()
