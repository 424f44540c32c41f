"""The coefficient sets at the edges of what was measured: held beyond, smooth across, and told by ``covers``."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wedgelab.physics.aero import AERO_SETS, BEARMAN_HARVEY, BEARMAN_HARVEY_HEXAGONAL, MIDDLE, SMITS_SMITH, AeroSet

EVERY_SET = pytest.mark.parametrize("aero", [*AERO_SETS, MIDDLE], ids=lambda aero: aero.name)
HEX = BEARMAN_HARVEY_HEXAGONAL
HEX_SPINS = (13_054.3, 39_162.9)  # S Re of 2000 and 6000 rpm at sea level

# set, what is moved, the edge, half the width of its rounded corner, and what is kept
EDGES = [
    (SMITS_SMITH, "s", 1.4, 0.1, 1e5),
    (SMITS_SMITH, "re", 4.0e4, 5e3, 0.5),
    (SMITS_SMITH, "re", 2.5e5, 5e3, 0.5),
    (BEARMAN_HARVEY, "s", 1.0, 0.1, 5e4),
    (BEARMAN_HARVEY, "re", 4.1e4, 4e3, 0.5),
    (BEARMAN_HARVEY, "re", 6.4e4, 4e3, 0.5),
    (HEX, "spins", HEX_SPINS[0], 4e3, 9e4),
    (HEX, "spins", HEX_SPINS[1], 4e3, 9e4),
    (HEX, "re at a spin", 40_022.6, 5e3, 2.5e4),
    (HEX, "re at a spin", 137_009.0, 5e3, 2.5e4),
]
IDS = [f"{row[0].name}, {row[1]} {row[2]:g}" for row in EDGES]


def along(aero: AeroSet, moved: str, value: "np.ndarray", kept: float) -> "np.ndarray":
    """Drag and lift where one quantity moves and another is kept."""
    same = np.full_like(value, kept)
    if moved == "s":
        return np.stack(aero.coefficients(value, same))
    if moved == "re":
        return np.stack(aero.coefficients(same, value))
    if moved == "spins":
        return np.stack(aero.coefficients(value / same, same))
    return np.stack(aero.coefficients(same / value, value))


def worst_kink(values: "np.ndarray") -> float:
    """Largest change of slope between neighbouring steps, as a share of the steepest slope."""
    slope = np.diff(values, axis=1)
    steepest = np.abs(slope).max(axis=1)
    moves = steepest > 0  # the lift of one set does not depend on the Reynolds number
    return float((np.abs(np.diff(slope[moves], axis=1)).max(axis=1) / steepest[moves]).max())


@pytest.mark.parametrize(("aero", "moved", "edge", "soft", "kept"), EDGES, ids=IDS)
def test_smooth_across_an_edge(aero: AeroSet, moved: str, edge: float, soft: float, kept: float) -> None:
    # over the 200 steps of a rounded corner the slope falls to nothing bit by bit: by 1/200 a step, little more
    value = np.linspace(edge - 2 * soft, edge + 2 * soft, 401)
    assert worst_kink(along(aero, moved, value, kept)) < 0.025
    # the same set cut off hard, just inside its corner, fails that: all of the slope goes in one step
    inside = edge - 1.3 * soft if along_is_upper(edge, moved) else edge + 1.3 * soft
    hard = np.minimum(value, inside) if along_is_upper(edge, moved) else np.maximum(value, inside)
    assert worst_kink(along(aero, moved, hard, kept)) > 0.3


def along_is_upper(edge: float, moved: str) -> bool:
    return moved == "s" or edge in (2.5e5, 6.4e4, HEX_SPINS[1], 137_009.0)


@pytest.mark.parametrize(("aero", "moved", "edge", "soft", "kept"), EDGES, ids=IDS)
def test_held_beyond_an_edge(aero: AeroSet, moved: str, edge: float, soft: float, kept: float) -> None:
    far = 5 * edge if along_is_upper(edge, moved) else edge / 5
    near = edge + soft * (1.001 if along_is_upper(edge, moved) else -1.001)
    beyond = along(aero, moved, np.linspace(near, far, 50), kept)
    if moved == "spins" and not along_is_upper(edge, moved):
        # below the slowest measured spin the drag is held, and the lift fades in proportion to the spin
        assert beyond[0] == pytest.approx(beyond[0, 0], rel=1e-12)
        spins = np.linspace(0.0, 0.65 * edge, 50)
        fading = along(aero, moved, spins, kept)[1]
        assert fading == pytest.approx(fading[-1] * spins / spins[-1], abs=1e-12)
        return
    assert beyond == pytest.approx(np.repeat(beyond[:, :1], 50, axis=1), rel=1e-12)
    # held at the value of the edge itself: the corner changes it by no more than a quarter of the corner's half width
    inner = along(aero, moved, np.array([edge - soft, edge + soft]), kept)
    at_edge = along(aero, moved, np.array([edge]), kept)
    assert (np.abs(at_edge[:, 0] - beyond[:, 0]) <= 0.5 * np.abs(inner[:, 1] - inner[:, 0]) + 1e-12).all()


@EVERY_SET
@settings(max_examples=50, deadline=None)  # the machine may be busy
@given(st.floats(0.0, 50.0), st.floats(10.0, 1e7))
def test_coefficients_of_every_flow_are_those_of_a_ball(aero: AeroSet, s: float, re: float) -> None:
    drag, lift = (float(c) for c in aero.coefficients(np.array(s), np.array(re)))
    assert 0.15 < drag < 0.62
    assert 0.0 <= lift < 0.63


@pytest.mark.parametrize(
    ("aero", "s", "re", "covered"),
    [
        (SMITS_SMITH, 0.03, 1e5, False), (SMITS_SMITH, 0.04, 1e5, True), (SMITS_SMITH, 1.4, 1e5, True),
        (SMITS_SMITH, 1.41, 1e5, False), (SMITS_SMITH, 0.5, 3.9e4, False), (SMITS_SMITH, 0.5, 2.5e5, True),
        (SMITS_SMITH, 0.5, 2.6e5, False), (SMITS_SMITH, np.nan, 1e5, False), (SMITS_SMITH, 0.5, np.nan, False),
        (BEARMAN_HARVEY, 0.10, 5e4, False), (BEARMAN_HARVEY, 0.11, 5e4, True), (BEARMAN_HARVEY, 1.0, 5e4, True),
        (BEARMAN_HARVEY, 1.01, 5e4, False), (BEARMAN_HARVEY, 0.5, 3.9e4, False), (BEARMAN_HARVEY, 0.5, 6.6e4, False),
        # S Re, which is the spin whatever the speed: 2000 to 6000 rpm were measured
        (HEX, 13_000 / 9e4, 9e4, False), (HEX, 13_100 / 9e4, 9e4, True), (HEX, 39_100 / 9e4, 9e4, True),
        (HEX, 39_200 / 9e4, 9e4, False), (HEX, 0.5, 3.9e4, False), (HEX, 0.5, 4.1e4, True), (HEX, 0.2, 1.36e5, True),
        (HEX, 0.2, 1.38e5, False), (HEX, np.nan, 9e4, False), (HEX, 0.0, 9e4, False),
    ],
)  # fmt: skip
def test_covers(aero: AeroSet, s: float, re: float, covered: bool) -> None:
    assert bool(aero.covers(np.array(s), np.array(re))) is covered


@EVERY_SET
def test_covers_and_coefficients_broadcast(aero: AeroSet) -> None:
    s, re = np.array([0.45, 0.5, 2.0]), np.array([[5e4], [6e4]])
    assert aero.covers(s, re).tolist() == [[True, True, False]] * 2
    drag, lift = np.broadcast_arrays(*aero.coefficients(s, re))
    assert drag.shape[-1] == 3
    for i, j in np.ndindex(2, 3):
        alone = [float(c) for c in aero.coefficients(np.array(s[j]), np.array(re[i, 0]))]
        got = [float(np.broadcast_to(c, (2, 3))[i, j]) for c in (drag, lift)]
        assert got == pytest.approx(alone, rel=1e-13)


def test_the_middle_is_covered_only_where_all_three_were_measured() -> None:
    rng = np.random.default_rng(3)
    s, re = rng.uniform(0.0, 1.6, 20_000), rng.uniform(2e4, 2e5, 20_000)
    everywhere = np.logical_and.reduce([aero.covers(s, re) for aero in AERO_SETS])
    assert everywhere.sum() > 500
    claimed = MIDDLE.covers(s, re)
    assert not (claimed & ~everywhere).any()
    assert not (everywhere & ~claimed).any()
