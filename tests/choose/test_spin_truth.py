"""High spin from 70 yards on invented players whose truth is known: dry, and with friction lost as logged.

Dry it is the more lofted wedge with the longer, faster swing (common practice, no source). With little friction the
ball slides up the face of every wedge and loft adds hardly any spin; and where one wedge alone lost its friction, it is
no longer the answer.
"""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from wedgelab.choose import Choice, Want, choose
from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations
from wedgelab.shots import DEFAULT_SWINGS, Bag, Wedge
from wedgelab.simulate import Balls, InventedPlayer, hit, invent_player
from wedgelab.units import YARD_M
from wedgelab.window import DEFAULT_WINDOW

LOFTS_DEG = (46.0, 50.0, 54.0, 58.0)
SWINGS_DEG = np.array([45.0, 90.0, 135.0, 165.0])
DRY, WET = (1.0, 1.0, 1.0, 1.0), (0.4, 0.4, 0.4, 0.4)  # share of friction that each wedge keeps
WORN = (1.0, 1.0, 1.0, 0.4)
SEEDS = (101, 102)

pytestmark = pytest.mark.long


def a_player(seed: int) -> InventedPlayer:
    wedges = tuple(Wedge(f"{loft:.0f}", loft) for loft in LOFTS_DEG)
    drawn = invent_player(np.random.default_rng(seed), skill=0.9)
    return replace(drawn, wedges=wedges, club_log_speed=(0.0,) * 4, club_loft_deg=(0.0,) * 4)


def balls(
    player: InventedPlayer, wedge: int, swing_deg: Any, rng: np.random.Generator, left: tuple[float, ...]
) -> Balls:
    return hit(player, wedge, swing_deg, rng, mishits=False, friction_left=left[wedge])


def answers(player: InventedPlayer, left: tuple[float, ...], lie: str) -> dict[Want, Choice]:
    """What is said after six balls of every cell."""
    rng, swings = np.random.default_rng(99), np.repeat(SWINGS_DEG, 6)
    hits = [balls(player, wedge, swings, rng, left) for wedge in range(4)]
    names = [f"{loft:.0f}" for loft in LOFTS_DEG for _ in swings]
    fitted = fit_observations(
        observations(
            carry_m=np.concatenate([one.carry_m for one in hits]),
            spin_rpm=np.concatenate([one.spin_rpm for one in hits]),
            loft_deg=np.repeat(LOFTS_DEG, len(swings)), swing_deg=np.tile(swings, 4), wedge=names,
            lie=[lie] * len(names),
        )
    )  # fmt: skip
    bag = Bag(player.wedges, DEFAULT_SWINGS)
    wants: tuple[Want, ...] = ("spin", "low-spin")
    return {want: choose(fitted, bag, 70.0 * YARD_M, window=DEFAULT_WINDOW, want=want, lie=lie) for want in wants}


def gain(found: dict[Want, Choice]) -> float:
    """How much more spin the answer for much has than the one for little, as a share."""
    return found["spin"].best.spin_rpm / found["low-spin"].best.spin_rpm - 1.0


def true_gain(player: InventedPlayer, found: dict[Want, Choice], left: tuple[float, ...]) -> float:
    spins = []
    for choice in (found["spin"], found["low-spin"]):
        wedge, swings = LOFTS_DEG.index(choice.best.loft_deg), np.full(400, choice.best.swing_deg)
        spins.append(np.median(balls(player, wedge, swings, np.random.default_rng(7), left).spin_rpm))
    return float(spins[0] / spins[1]) - 1.0


@pytest.mark.parametrize("seed", SEEDS)
def test_dry_much_spin_is_more_loft_and_a_longer_swing_and_wet_it_hardly_matters(seed: int) -> None:
    player = a_player(seed)
    dry, wet = answers(player, DRY, ""), answers(player, WET, "rough")
    more, less = dry["spin"].best, dry["low-spin"].best
    assert more.loft_deg > less.loft_deg
    assert more.swing_deg > less.swing_deg
    assert true_gain(player, dry, DRY) > 0.25
    assert gain(dry) > 0.25
    assert true_gain(player, wet, WET) < 0.15
    assert gain(wet) < 0.15
    assert wet["spin"].best.spin_rpm < 0.75 * more.spin_rpm


@pytest.mark.parametrize("seed", SEEDS)
def test_a_wedge_that_lost_its_friction_is_no_answer_for_spin_though_it_is_the_most_lofted(seed: int) -> None:
    player = a_player(seed)
    worn = answers(player, WORN, "")
    assert worn["spin"].best.loft_deg < 58.0
    assert worn["spin"].best.loft_deg > worn["low-spin"].best.loft_deg or worn["low-spin"].best.loft_deg == 58.0
    assert true_gain(player, worn, WORN) > 0.0
