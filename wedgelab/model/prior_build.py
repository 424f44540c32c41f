"""Make the prior table: push plausible players through impact and flight, keep how they differ.

Run ``python -m wedgelab.model.prior_build`` after a change of the physics or of the players below; a test compares the
stored table with a fresh one. The players are guesses of what is plausible, wide on purpose, and tuned to no log.
"""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model.prior import OUTPUTS, TABLE_NAME, basis
from wedgelab.physics.aero import BEARMAN_HARVEY, SMITS_SMITH
from wedgelab.physics.flight import fly
from wedgelab.physics.impact import strike

if TYPE_CHECKING:
    from numpy.typing import NDArray

SEED: Final = 20260601
PLAYERS: Final = 400
COMPONENTS: Final = 20
LOFTS_DEG: Final = np.linspace(20.0, 75.0, 19)
SWINGS_DEG: Final = np.array(
    [5, 8, 12, 18, 25, 35, 45, 55, 65, 75, 90, 105, 120, 135, 150, 165, 180, 195, 210], dtype=float
)
_FULL_DEG: Final = 165.0
_REFERENCE_LOFT_DEG: Final = 52.0
# one output unit that matters about as much as another: 2 % of carry, 4 % of spin, 1 deg of launch, ...
_SCALES: Final = np.array([0.02, 0.04, 0.02, 1.5, 2.0, 0.06, 0.04])


@dataclass(frozen=True, slots=True)
class PlausiblePlayers:
    """Parameters of n players, each of shape (n,)."""

    log_full_speed: "NDArray[np.float64]"  # club speed of a full swing [log m/s]
    curve_power: "NDArray[np.float64]"  # how fast speed grows with the swing [-]
    curve_bend: "NDArray[np.float64]"  # and how early it saturates [-]
    speed_per_loft: "NDArray[np.float64]"  # shorter, heavier clubs [log m/s per deg]
    lean_deg: "NDArray[np.float64]"  # delivered minus static loft at a full swing
    lean_short_deg: "NDArray[np.float64]"  # how much that changes to the shortest swing
    loft_share: "NDArray[np.float64]"  # share of a loft difference that reaches the ball
    attack_deg: "NDArray[np.float64]"
    friction: "NDArray[np.float64]"
    restitution: "NDArray[np.float64]"
    spin_factor: "NDArray[np.float64]"  # elastic ball against the rigid one
    drag_scale: "NDArray[np.float64]"
    lift_scale: "NDArray[np.float64]"
    smits_smith: "NDArray[np.bool_]"  # which coefficient set carries the ball


def draw_players(n: int, rng: np.random.Generator) -> PlausiblePlayers:
    """Draw n plausible players, from a club player to a professional."""
    return PlausiblePlayers(
        log_full_speed=rng.normal(np.log(33.5), 0.13, n),
        curve_power=np.exp(rng.normal(np.log(0.62), 0.22, n)),
        curve_bend=np.clip(rng.normal(1.5, 0.5, n), 0.3, None),
        speed_per_loft=rng.normal(-0.003, 0.003, n),
        lean_deg=rng.normal(-5.0, 3.0, n),
        lean_short_deg=rng.normal(0.0, 3.0, n),
        loft_share=rng.normal(0.95, 0.07, n),
        attack_deg=rng.normal(-4.0, 2.0, n),
        friction=np.clip(rng.normal(0.30, 0.06, n), 0.12, None),
        restitution=rng.normal(0.75, 0.03, n),
        spin_factor=np.exp(rng.normal(np.log(1.10), 0.09, n)),
        drag_scale=np.exp(rng.normal(0.0, 0.06, n)),
        lift_scale=np.exp(rng.normal(0.0, 0.10, n)),
        smits_smith=np.arange(n) % 2 == 0,
    )


def outputs(
    players: PlausiblePlayers, *, more_log_speed: float = 0.0, more_loft_deg: float = 0.0
) -> "NDArray[np.float64]":
    """Fly every player's median ball for every cell of the grid; return shape (players, lofts, swings, outputs)."""

    def column(values: "NDArray[np.float64]") -> "NDArray[np.float64]":
        return values[:, None, None]

    loft = LOFTS_DEG[None, :, None]
    swing = SWINGS_DEG[None, None, :]
    bend = column(players.curve_bend)
    growth = np.log((1.0 - np.exp(-bend * swing / _FULL_DEG)) / (1.0 - np.exp(-bend)))
    speed = np.exp(
        column(players.log_full_speed)
        + column(players.curve_power) * growth
        + column(players.speed_per_loft) * (loft - _REFERENCE_LOFT_DEG)
        + more_log_speed
    )
    delivered = (
        _REFERENCE_LOFT_DEG
        + column(players.loft_share) * (loft - _REFERENCE_LOFT_DEG)
        + column(players.lean_deg)
        + column(players.lean_short_deg) * (_FULL_DEG - swing) / _FULL_DEG
        + more_loft_deg
    )
    launch = strike(
        speed,
        np.clip(delivered, 8.0, 78.0),
        column(players.attack_deg),
        friction=column(players.friction),
        restitution=column(players.restitution),
    )
    spin = launch.spin_rpm * column(players.spin_factor)
    result = np.empty((*speed.shape, len(OUTPUTS)))
    for aero, chosen in ((SMITS_SMITH, players.smits_smith), (BEARMAN_HARVEY, ~players.smits_smith)):
        flight = fly(
            launch.ball_speed_mps[chosen],
            launch.launch_deg[chosen],
            spin[chosen],
            aero=aero,
            drag_scale=column(players.drag_scale)[chosen],
            lift_scale=column(players.lift_scale)[chosen],
            steps=32,
        )
        result[chosen] = np.stack(
            [
                np.log(flight.carry_m),
                np.log(spin[chosen]),
                np.log(launch.ball_speed_mps[chosen]),
                launch.launch_deg[chosen],
                flight.land_deg,
                np.log(flight.apex_m),
                np.log(flight.time_s),
            ],
            axis=-1,
        )
    return result


def build() -> dict[str, object]:
    """Return the table as stored: Chebyshev coefficients (basis, 3 + components, outputs) and how well they fit."""
    rng = np.random.default_rng(SEED)
    players = draw_players(PLAYERS, rng)
    values = outputs(players)
    mean = values.mean(axis=0)
    wedge_cells = (
        (LOFTS_DEG[:, None] >= 40)
        & (LOFTS_DEG[:, None] <= 64)
        & (SWINGS_DEG[None, :] >= 25)
        & (SWINGS_DEG[None, :] <= 180)
    )
    weight = np.where(wedge_cells, 1.0, 0.3)[:, :, None] / _SCALES
    scaled = ((values - mean) * weight).reshape(PLAYERS, -1)
    left, sizes, _ = np.linalg.svd(scaled / np.sqrt(PLAYERS - 1), full_matrices=False)
    # each player's coefficients have variance 1; the component surfaces are what the outputs regress to
    coefficients = left[:, :COMPONENTS] * np.sqrt(PLAYERS - 1)
    components = np.tensordot(coefficients.T / (PLAYERS - 1), values - mean, axes=1)
    few = draw_players(60, np.random.default_rng(SEED + 1))
    per_speed = (outputs(few, more_log_speed=0.02) - outputs(few, more_log_speed=-0.02)).mean(axis=0) / 0.04
    per_loft = (outputs(few, more_loft_deg=1.0) - outputs(few, more_loft_deg=-1.0)).mean(axis=0) / 2.0
    surfaces = np.stack([mean, per_speed, per_loft, *components])
    loft, swing = np.meshgrid(LOFTS_DEG, SWINGS_DEG, indexing="ij")
    design = basis(loft.ravel(), swing.ravel())
    row_weight = np.where(wedge_cells, 1.0, 0.2).ravel()[:, None]
    target = surfaces.reshape(len(surfaces), -1, len(OUTPUTS)).transpose(1, 0, 2).reshape(design.shape[0], -1)
    fit, *_ = np.linalg.lstsq(design * row_weight, target * row_weight, rcond=None)
    off = np.abs(design @ fit - target).reshape(design.shape[0], len(surfaces), len(OUTPUTS))[wedge_cells.ravel()]
    left_out = values - mean - np.tensordot(coefficients, components, axes=1)
    return {
        "about": "made by python -m wedgelab.model.prior_build; see docs/method/model.md",
        "worst_mean_misfit": [float(f"{x:.3g}") for x in off[:, 0].max(axis=0)],
        "left_out_sd": [float(f"{x:.3g}") for x in left_out[:, wedge_cells].std(axis=(0, 1))],
        "explained_share": round(float((sizes[:COMPONENTS] ** 2).sum() / (sizes**2).sum()), 5),
        "coefficients": np.round(fit.reshape(design.shape[1], len(surfaces), len(OUTPUTS)), 5).tolist(),
    }


def main() -> None:
    """Write the table beside this module."""
    table = build()
    path = Path(__file__).with_name(TABLE_NAME)
    path.write_text(json.dumps(table, separators=(",", ":")) + "\n", encoding="utf-8")
    print({key: value for key, value in table.items() if key != "coefficients"}, path.stat().st_size)


if __name__ == "__main__":
    main()
