"""None, one, two, three balls; the same ball again and again; gross slips; the player's own marks."""

from typing import Any

import numpy as np
import pytest

from wedgelab.errors import EXIT_TOO_FEW_SHOTS, TooFewShotsError
from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations, fit_player
from wedgelab.prediction import ShotKind
from wedgelab.simulate import invent_player

AT = [ShotKind("54", 54.0, 90.0), ShotKind("54", 54.0, 150.0), ShotKind("60", 60.0, 45.0)]


def same_cell(carries: list[float], strike: list[str] | None = None) -> Any:
    n = len(carries)
    return fit_observations(
        observations(
            carry_m=np.array(carries), loft_deg=np.full(n, 54.0), swing_deg=np.full(n, 90.0), wedge=["54"] * n,
            strike=strike,
        )
    )  # fmt: skip


def test_no_shot_is_too_few() -> None:
    with pytest.raises(
        TooFewShotsError, match=r"^no shots are logged; log one with: wedgelab log WEDGE SWING CARRY$"
    ) as e:
        fit_player([])
    assert e.value.exit_code == EXIT_TOO_FEW_SHOTS == 3


def test_one_two_three_balls_give_finite_wide_answers_that_narrow_as_balls_come() -> None:
    carries = [float(c) for c in 55.0 * np.exp(np.random.default_rng(31).normal(0.0, 0.05, 30))]
    ses, sds = [], []
    for n in (1, 2, 3, 30):
        p = same_cell(carries[:n]).predict(AT)
        numbers = [
            v for x in p for v in (x.carry_m, x.carry_sd_m, x.carry_se_m, x.spin_rpm, x.spin_sd_rpm, x.spin_se_rpm)
        ]
        assert np.isfinite(numbers).all()
        assert (np.array(numbers) > 0).all()
        ses.append(p[0].carry_se_m)
        sds.append(p[1].carry_sd_m)
    assert ses[0] > ses[1] > ses[2] > 1.5 * ses[3]
    assert sds[0] > 0.08 * 80.0  # one ball at 9:00 says little of another swing: at least 8 % of some 80 m
    assert sds[0] > sds[3]


def test_standard_errors_fall_on_average_as_a_log_grows(tools: Any) -> None:
    mean = []
    for n in (1, 2, 3, 10, 30):
        found = []
        for number in range(6):
            rng = np.random.default_rng([32, number])
            player = invent_player(rng)
            log = tools.log_of(player, rng)
            rows = np.random.default_rng([33, number]).permutation(len(log["carry_m"]))[:n]
            fitted = tools.fit_log(log, rows)
            found.append(np.mean([p.carry_se_m / p.carry_m for p in fitted.predict(tools.kinds_of(player))]))
        mean.append(float(np.mean(found)))
    assert mean == sorted(mean, reverse=True)
    assert mean[0] > 2.0 * mean[-1]


def test_the_same_ball_again_and_again_is_believed_but_not_without_limit() -> None:
    p = same_cell([61.0] * 12).predict(AT)[0]
    assert p.carry_m == pytest.approx(61.0, rel=0.01)
    assert 0.0 < p.carry_se_m < 0.04 * 61.0
    assert p.carry_sd_m > 0.01 * 61.0


@pytest.mark.parametrize("factor", [10.0, 0.5])
def test_one_gross_slip_moves_its_cell_by_less_than_its_standard_error_and_is_seen_as_none_solid(
    tools: Any, factor: float
) -> None:
    for number in range(4):
        rng = np.random.default_rng([34, number])
        player = invent_player(rng, skill=0.6)
        log = tools.log_of(player, rng, mishits=False)
        row = int(rng.integers(len(log["carry_m"])))
        kind = [ShotKind(log["wedge"][row], float(log["loft_deg"][row]), float(log["swing_deg"][row]))]
        before = tools.fit_log(log).predict(kind)[0]
        fitted = tools.fit_log(
            log | {"carry_m": np.where(np.arange(len(log["carry_m"])) == row, factor, 1.0) * log["carry_m"]}
        )
        after = fitted.predict(kind)[0]
        assert abs(after.carry_m - before.carry_m) < after.carry_se_m
        assert fitted.fit.solid[row] < 0.05
        assert after.n_shots == before.n_shots - 1


def test_a_ball_marked_off_counts_little_and_is_not_counted() -> None:
    plain = same_cell([60.0, 61.0, 59.0, 54.0, 53.0])
    marked = same_cell([60.0, 61.0, 59.0, 54.0, 53.0], ["", "", "", "off", "off"])
    without = same_cell([60.0, 61.0, 59.0])
    assert (marked.fit.solid[3:] < 0.5).all()
    assert (plain.fit.solid[3:] > 0.5).all()
    assert marked.predict(AT)[0].n_shots == 3
    medians = [x.predict(AT)[0].carry_m for x in (plain, marked, without)]
    assert medians[0] < medians[1]
    assert abs(medians[1] - medians[2]) < 0.5 * abs(medians[0] - medians[2])


@pytest.mark.parametrize("odd_m", [47.0, 49.0, 50.0, 52.0, 54.0])
def test_a_ball_marked_solid_is_trusted_more(odd_m: float) -> None:
    carries = [60.0, 61.0, 59.0, 60.5, odd_m]
    plain, marked = same_cell(carries), same_cell(carries, ["", "", "", "", "solid"])
    assert marked.fit.solid[4] > plain.fit.solid[4]
    if odd_m < 48.0:  # so far out that the mark does not help: the chart stays, but for where the rounds stop
        assert marked.predict(AT)[0].carry_m == pytest.approx(plain.predict(AT)[0].carry_m, rel=1e-5)
    else:
        assert marked.predict(AT)[0].carry_m < plain.predict(AT)[0].carry_m


def test_a_club_measured_anew_by_a_hair_keeps_its_history() -> None:
    obs = observations(
        carry_m=np.array([60.0, 61.0, 62.0, 60.5]),
        loft_deg=np.array([54.0, 54.0, 54.0, 54.03]),
        swing_deg=np.full(4, 90.0),
        wedge=["54"] * 4,
    )
    (said,) = fit_observations(obs).predict([ShotKind("54", 54.03, 90.0)])
    assert (said.n_shots, said.support) == (4, "measured")


def test_an_unlogged_loft_carries_the_doubt_that_the_logged_clubs_leave() -> None:
    obs = observations(
        carry_m=np.full(40, 60.0) * np.tile([0.97, 1.03], 20),
        loft_deg=np.tile([50.0, 58.0], 20),
        swing_deg=np.full(40, 90.0),
    )
    player = fit_observations(obs)
    kind = ShotKind("", 54.0, 90.0)
    (said,) = player.predict([kind])
    log_se = float(np.sqrt(player.log_median_covariance([kind])[0, 0]))
    # the standard deviation of a log-normal quantity about its median
    assert said.carry_se_m == pytest.approx(
        said.carry_m * np.exp(log_se**2 / 2) * np.sqrt(np.expm1(log_se**2)), rel=1e-9
    )
