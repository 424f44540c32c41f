"""Another golf ball than the usual one: the chart is for the usual one, and the others are neither lost nor believed.

In the logs below the carries of every second ball are cut by 5 %, which makes the truth of both kinds known. Seeds were
written down before the first run and belong to these tests alone; bounds come from a run of 12 players on other seeds
(base 5000), and the figures seen there stand beside them.
"""

import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from wedgelab.model.observations import Club, observations, observations_of_shots
from wedgelab.model.player import FittedPlayer, fit_observations, fit_player
from wedgelab.model.structure import BALL_SD, Structure
from wedgelab.prediction import ShotKind
from wedgelab.shots import Shot
from wedgelab.simulate import InventedPlayer, invent_player, true_medians

Array = NDArray[np.float64]

SEED = 20260929
PLAYERS = 6
SWINGS_DEG = (45.0, 90.0, 135.0, 165.0)
LESS = 0.95


@dataclass(frozen=True)
class Entry:
    player: InventedPlayer
    log: dict[str, Any]  # as it would be if every ball were the usual one
    kinds: list[ShotKind]
    true_m: Array

    def fitted(self, names: Sequence[str] | None, cut: "NDArray[np.bool_]", usual: str = "", **changes: Any) -> Any:
        """Fit the log with some carries cut by 5 %."""
        carry = self.log["carry_m"] * np.where(cut, LESS, 1.0)
        return fit_observations(observations(**(self.log | {"carry_m": carry} | changes), ball=names, usual_ball=usual))

    def off(self, fitted: FittedPlayer) -> Array:
        """Return the log errors of the chart for the usual ball."""
        return np.asarray(np.log([p.carry_m for p in fitted.predict(self.kinds)]) - np.log(self.true_m))


@functools.cache
def entries(log_of: Callable[..., dict[str, Any]]) -> list[Entry]:
    found = []
    for number in range(PLAYERS):
        rng = np.random.default_rng([SEED, number])
        player = invent_player(rng)
        kinds = [ShotKind(wedge.label, wedge.loft_deg, swing) for wedge in player.wedges for swing in SWINGS_DEG]
        true = true_medians(player, SWINGS_DEG, balls=201)[0].ravel()
        found.append(Entry(player, log_of(player, rng, balls=4), kinds, true))
    return found


@pytest.fixture
def players(tools: Any) -> list[Entry]:
    return entries(tools.log_of)


def second_of(entry: Entry, every: int = 2) -> tuple[list[str], "NDArray[np.bool_]"]:
    """Name every n-th ball otherwise, and tell which."""
    other = np.arange(len(entry.log["carry_m"])) % every == every - 1
    return ["hard" if is_other else "soft" for is_other in other], other


def bias(each: Sequence[Array]) -> float:
    return float(np.mean([x.mean() for x in each]))


def rms(each: Sequence[Array]) -> float:
    return float(np.sqrt(np.mean([np.mean(x**2) for x in each])))


def ball_effect(fitted: FittedPlayer) -> Array:
    """Return what the fit makes of the other golf ball: log carry, log spin, log ball speed, launch."""
    return np.asarray(fitted.fit.mean[fitted.fit.structure.blocks["ball"]])


# --- the chart is for the usual ball


def test_a_ball_that_carries_less_does_not_drag_the_chart_of_the_usual_one(players: list[Entry]) -> None:
    named, as_one, unhurt = [], [], []
    for entry in players:
        names, cut = second_of(entry)
        named.append(entry.off(entry.fitted(names, cut, "soft")))
        as_one.append(entry.off(entry.fitted(None, cut)))
        unhurt.append(entry.off(entry.fitted(None, np.zeros_like(cut))))
    # dragged by half of 5 %, were they one; named apart, seen: by a sixth of that
    drag_as_one, drag_named = (bias(each) - bias(unhurt) for each in (as_one, named))
    assert drag_as_one == pytest.approx(0.5 * np.log(LESS), abs=0.004)
    assert abs(drag_named) < 0.35 * abs(drag_as_one)
    assert max(np.abs(x - y).max() for x, y in zip(named, unhurt, strict=True)) < 0.03
    # seen: rms log errors of 0.021 named, 0.022 of one ball all along, 0.030 taken for one
    assert rms(named) < 1.15 * rms(unhurt)
    assert rms(as_one) > 1.15 * rms(named)


def test_what_the_other_ball_does_is_learnt_and_is_in_its_own_chart(players: list[Entry]) -> None:
    carries, spins, lower = [], [], []
    for entry in players:
        names, cut = second_of(entry)
        soft, hard = (entry.fitted(names, cut, usual) for usual in ("soft", "hard"))
        carry, spin = ball_effect(soft)[:2]
        carries.append(carry)
        spins.append(spin)
        lower.append((entry.off(hard) - entry.off(soft)).mean())
    # of every player half the balls of some fifty to a hundred; seen: -0.043 on average, single ones -0.023 to -0.064
    for found in (carries, lower):
        assert np.mean(found) == pytest.approx(np.log(LESS), abs=0.02)
        assert found == pytest.approx([np.log(LESS)] * len(found), abs=0.045)
    assert np.abs(spins).max() < 0.05  # the spins are those of one kind of ball


def test_spin_of_another_ball_does_not_drag_the_spin_of_the_usual_one(players: list[Entry]) -> None:
    for entry in players:
        names, other = second_of(entry)
        spin = {"spin_rpm": entry.log["spin_rpm"] * np.where(other, 0.85, 1.0)}
        none = np.zeros_like(other)
        named, as_one, unhurt = (
            np.log([p.spin_rpm for p in fitted.predict(entry.kinds)]).mean()
            for fitted in (
                entry.fitted(names, none, "soft", **spin), entry.fitted(None, none, **spin), entry.fitted(None, none)
            )
        )  # fmt: skip
        assert as_one - unhurt == pytest.approx(0.5 * np.log(0.85), abs=0.03)
        assert abs(named - unhurt) < 0.3 * abs(as_one - unhurt)


def test_the_other_balls_are_not_lost(players: list[Entry], tools: Any) -> None:
    # the chart of the usual ball is surer than without the others, and less sure than if all were the usual one
    sure = []
    for entry in players:
        names, other = second_of(entry, 3)
        none = np.zeros_like(other)
        alone = tools.fit_log(entry.log, np.flatnonzero(~other))
        fits = (entry.fitted(None, none), entry.fitted(names, none, "soft"), alone)
        sure.append([np.mean([p.carry_se_m / p.carry_m for p in fitted.predict(entry.kinds)]) for fitted in fits])
    assert (np.diff(np.mean(sure, axis=0)) > 0).all()  # seen: 0.0173, 0.0179, 0.0193


def test_one_ball_of_another_kind_is_hardly_believed_and_many_are(players: list[Entry]) -> None:
    learnt = []
    for n in (1, 4, 16, 48):
        shares = []
        for entry in players:
            rows = np.random.default_rng([SEED, 50]).permutation(len(entry.log["carry_m"]))[:n]
            other = np.isin(np.arange(len(entry.log["carry_m"])), rows)
            names = ["hard" if is_other else "soft" for is_other in other]
            cut, uncut = (ball_effect(entry.fitted(names, which, "soft"))[0] for which in (other, np.zeros_like(other)))
            shares.append((cut - uncut) / np.log(LESS))
        learnt.append(float(np.mean(shares)))
    assert (np.diff(learnt) > 0).all()
    assert 0.0 < learnt[0] < 0.5  # seen: 0.29, and 0.80 of sixteen balls
    assert learnt[-1] > 0.8


def test_one_odd_ball_of_another_kind_hardly_moves_the_chart(players: list[Entry]) -> None:
    for entry in players[:3]:
        other = np.arange(len(entry.log["carry_m"])) == 5
        names = ["hard" if is_other else "soft" for is_other in other]
        plain, odd = (entry.off(entry.fitted(names, cut)) for cut in (np.zeros_like(other), other))
        assert np.abs(plain - odd).max() < 0.003


# --- which ball is the usual one


def codes(names: Sequence[str], usual: str = "") -> list[int]:
    n = len(names)
    found = observations(
        carry_m=np.full(n, 60.0), loft_deg=np.full(n, 54.0), swing_deg=np.full(n, 90.0), ball=names, usual_ball=usual
    )
    assert found.n_balls == len({name.casefold() for name in names})
    return [int(code) for code in found.ball]


def test_the_usual_ball_is_the_named_one_else_the_one_hit_most() -> None:
    assert codes(["b", "a", "b", "c", "b", "a"], "a") == [1, 0, 1, 2, 1, 0]
    assert codes(["a", "b", "b", "c", "b", "a"]) == [1, 0, 0, 2, 0, 1]
    assert codes(["a", "b", "b"], "never hit") == [1, 0, 0]
    assert codes(["", "", "a"], "a") == [1, 1, 0]
    assert codes(["", "", "a"]) == [0, 0, 1]
    assert codes(["a", "b"]) == [0, 1]


def test_without_a_usual_ball_a_few_balls_without_a_name_do_not_become_the_usual_one() -> None:
    # "otherwise the ball that was hit most" (fit_player): one ball whose kind nobody noted was taken for the usual one
    assert codes(["", "a", "a", "a"]) == [1, 0, 0, 0]


def test_the_names_of_balls_are_one_name_however_written() -> None:
    assert codes(["Soft", "SOFT", "hard", "soft"], "sOfT") == [0, 0, 1, 0]
    assert codes(["Hard", "soft", "HARD"]) == [0, 1, 0]
    assert codes(["Spaßball", "other", "SPASSBALL"]) == [0, 1, 0]


def test_no_names_at_all_are_one_ball() -> None:
    assert codes(["", "", ""]) == [0, 0, 0]
    found = observations(carry_m=np.array([60.0]), loft_deg=np.array([54.0]), swing_deg=np.array([90.0]))
    assert (found.n_balls, found.ball.tolist()) == (1, [0])


def test_shots_bring_their_golf_balls_to_the_fit(make_shot: Callable[..., Shot]) -> None:
    shots = [make_shot(carry_m=62.0 + 0.1 * i, ball="Soft") for i in range(6)]
    shots += [make_shot(carry_m=58.0 + 0.1 * i, ball="hard") for i in range(4)]
    assert observations_of_shots(shots, "HARD").ball.tolist() == [1] * 6 + [0] * 4
    at = [ShotKind("54", 54.0, 90.0)]
    most, hard = (fit_player(shots, usual_ball=usual).predict(at)[0].carry_m for usual in ("", "hard"))
    assert fit_player(shots, usual_ball="soft").predict(at)[0].carry_m == most
    assert most > hard
    nameless = [shot.replace(ball="") for shot in shots]
    assert hard < fit_player(nameless).predict(at)[0].carry_m < most


def test_the_order_of_the_log_says_nothing_of_the_balls(players: list[Entry]) -> None:
    entry = players[0]
    names, cut = second_of(entry, 3)
    # each session from its last ball to its first; the sessions keep their order, for the last is the present
    sessions = np.array(entry.log["session"])
    back = np.concatenate([np.flatnonzero(sessions == one)[::-1] for one in dict.fromkeys(entry.log["session"])])
    turned = {k: [v[i] for i in back] for k, v in entry.log.items()}
    carry = (entry.log["carry_m"] * np.where(cut, LESS, 1.0))[back]
    there = fit_observations(observations(**(turned | {"carry_m": carry}), ball=[names[i] for i in back]))
    assert entry.off(there) == pytest.approx(entry.off(entry.fitted(names, cut)), abs=1e-4)


# --- the unknowns


def test_every_further_ball_is_four_unknowns_and_the_first_none() -> None:
    clubs = [Club("50", 50.0), Club("54", 54.0)]
    one, two, four = (Structure(clubs, n) for n in (1, 2, 4))
    assert Structure(clubs).size == one.size
    sizes = [s.blocks["ball"].stop - s.blocks["ball"].start for s in (one, two, four)]
    assert sizes == [0, 4, 12]
    assert [s.size - one.size for s in (two, four)] == [4, 12]
    at = 0
    for block in four.blocks.values():  # the blocks lie side by side and fill the whole
        assert block.start == at
        at = block.stop
    assert at == four.size
    mean, precision = four.prior()
    assert not mean[four.blocks["ball"]].any()
    assert np.diag(precision)[four.blocks["ball"]] == pytest.approx([sd**-2 for sd in BALL_SD] * 3)
    assert np.count_nonzero(precision[four.blocks["ball"]]) == 12  # independent of everything else


def test_a_log_of_one_named_ball_is_fitted_as_one_without_names(players: list[Entry]) -> None:
    entry = players[1]
    none = np.zeros(len(entry.log["carry_m"]), dtype=bool)
    named, plain = entry.fitted(["soft"] * len(none), none), entry.fitted(None, none)
    assert named.fit.mean.tobytes() == plain.fit.mean.tobytes()
    assert named.predict(entry.kinds) == plain.predict(entry.kinds)
