"""What a coach would expect of a typical bag: common practice, no source."""

from dataclasses import replace
from typing import Any

import numpy as np

from wedgelab.choose import choose
from wedgelab.shots import DEFAULT_SWINGS, Bag, Wedge
from wedgelab.simulate import InventedPlayer, hit, invent_player
from wedgelab.units import YARD_M
from wedgelab.window import DEFAULT_WINDOW

LOFTS_DEG = (46.0, 50.0, 54.0, 58.0)


def skilled_player() -> InventedPlayer:
    wedges = tuple(Wedge(f"{loft:.0f}", loft) for loft in LOFTS_DEG)
    drawn = invent_player(np.random.default_rng(101), skill=0.9)
    return replace(drawn, wedges=wedges, club_log_speed=(0.0,) * 4, club_loft_deg=(0.0,) * 4)


def test_seventy_yards_with_more_spin_is_the_more_lofted_wedge_and_the_longer_swing(tools: Any) -> None:
    player = skilled_player()
    fitted = tools.fit_log(tools.log_of(player, np.random.default_rng(102)))
    bag = Bag(player.wedges, DEFAULT_SWINGS)
    more, less = (
        choose(fitted, bag, 70.0 * YARD_M, window=DEFAULT_WINDOW, want=want).best for want in ("spin", "low-spin")
    )
    assert more.loft_deg > less.loft_deg
    assert more.swing_deg > less.swing_deg
    assert more.spin_rpm > less.spin_rpm
    assert more.spin_support in {"measured", "between"}
    # and it is true of this player, not only of the fit
    spin = [
        float(
            np.median(
                hit(
                    player,
                    np.full(400, LOFTS_DEG.index(o.loft_deg)),
                    o.swing_deg,
                    np.random.default_rng(103),
                    mishits=False,
                ).spin_rpm
            )
        )
        for o in (more, less)
    ]
    assert spin[0] > spin[1]
