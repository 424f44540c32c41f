"""What a plan promises against what comes of it: the doubt that is expected after, and that of the log fitted again."""

import numpy as np
import pytest

from tests.bench.plan import evenly, first_log, fitted, hit_session, planned
from wedgelab.plan.wanted import whole_chart
from wedgelab.prediction import ShotKind
from wedgelab.shots import Bag
from wedgelab.simulate import invent_player

SEED = 7708  # belongs to this file alone
PLAYERS = 20
SESSIONS = 5


def one_player(number: int) -> tuple[float, float, float, float]:
    """Return mean standard errors [%] of a long, even log: now, as promised with and without drift, as fitted again."""
    rng = np.random.default_rng([SEED, number])
    player = invent_player(rng)
    log = first_log(player, np.array([0, 1]), "even", 0.0, rng)
    for session in range(2, SESSIONS):
        log = log.then(hit_session(player, *evenly(player, 40, rng), session, rng.standard_normal(), rng))
    model, wanted = fitted(player, log), whole_chart(Bag(player.wedges, player.swings))
    wedge, swing = planned(model, player, wanted)
    clubs = [player.wedges[i] for i in wedge]
    balls = [ShotKind(club.label, club.loft_deg, float(s)) for club, s in zip(clubs, swing, strict=True)]
    new = hit_session(player, wedge, swing, SESSIONS, rng.standard_normal(), rng)
    covariances = (
        model.log_median_covariance(wanted.kinds),
        model.expected_covariance(wanted.kinds, balls, may_move=True),
        model.expected_covariance(wanted.kinds, balls),
        fitted(player, log.then(new)).log_median_covariance(wanted.kinds),
    )
    now, promised, still, got = (100.0 * float(np.sqrt(np.diag(one)).mean()) for one in covariances)
    return now, promised, still, got


@pytest.mark.long
def test_a_plan_promises_no_more_than_a_new_session_gives() -> None:
    now, promised, still, got = np.mean([one_player(number) for number in range(PLAYERS)], axis=0)
    # where little is left to learn the drift decides; seen on seeds 991 and 992: 1.41 now, 1.44 promised, 1.46 fitted
    # again, and 1.34 promised without it
    assert promised == pytest.approx(got, abs=0.06)
    assert still < got - 0.03
    assert abs(promised - now) < 0.1
