"""A full-Bayes peer without any physics: a hierarchical regression sampled by NUTS. By hand only, never in the tests.

    log carry, log spin = F b + Z (tau r) + e

F holds a constant, log swing, its square, loft, its square and loft x log swing. Z holds a smooth bend along the swing
(a low-rank Gaussian process), an offset of each club and one of each session; each group is shrunk by a tau of its own.
e correlates between carry and spin, its sd changes with swing, and a mishit's e is broad and short; which ball is one
is summed out. Sampled are v and r with b = middle + root v - pull (tau r): the same posterior, but without the narrow
ridges between b and the offsets, since middle, root and pull come from the linear solution at typical tau. NUTS
(Hoffman & Gelman 2014, JMLR 15, 1593) is PyMC's (version 5.28.5 here): `pip install pymc`. Run two players with::

    python -m tests.bench.nuts
"""

import functools
import importlib
import time
import warnings
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# One chain keeps a fit to seconds; more chains are only a number, R-hat then compares their halves all the same.
CHAINS, TUNE, DRAWS, TARGET_ACCEPT = 1, 500, 750, 0.9
LOFT_DEG, SWING_DEG = 52.0, 100.0  # where the constant is; lofts count in steps of 6 deg, swings as logarithms
# Priors, mean and sd, carry then spin. Each says what most golfers' shots do, wide enough for those who differ:
MEAN: Final = np.array(
    [
        # a 52 at 100 deg carries 36-145 m, spins 4400-14600 rpm (2 sd); a swing twice as long goes 1.6 times as far;
        # the last degrees of a long swing add less; a wedge of 6 deg more loft loses 11 % and spins 6 % more
        [np.log(72.0), 0.65, -0.15, -0.12, 0.0, 0.0],
        [np.log(8000.0), 0.30, -0.10, 0.06, -0.02, 0.0],
    ]
)
SD: Final = np.array([[0.35, 0.25, 0.25, 0.06, 0.02, 0.04], [0.30, 0.25, 0.20, 0.06, 0.03, 0.05]])
BEND_SD: Final = np.array([0.04, 0.05])  # half-normal scale of the swing's own bends: a few per cent
CLUB_SD: Final = np.array([0.03, 0.05])  # of clubs off the line of their lofts: a degree of loft or so
SESSION_SD: Final = np.array([0.02, 0.02])  # of days
BALL_SD: Final = np.array([0.08, 0.10])  # of single solid balls: 8 % is a poor, 3 % a very good player
CHANGE: Final = (-0.1, 0.25)  # normal: log sd of a ball for an e-fold longer swing; short ones scatter a little more
TOGETHER: Final = 0.5  # normal, of the inverse tanh of the correlation of carry and spin in one ball
MISHITS: Final = (2.0, 30.0)  # beta: one ball in sixteen, up to one in six
SHORT: Final = np.array([-0.25, -0.10])  # a mishit is a quarter short, a little less spun ...
BROAD: Final = np.array([0.35, 0.35])  # ... and about anywhere
KNOTS: Final = np.log(np.linspace(40.0, 200.0, 5) / SWING_DEG)
BEND_LENGTH: Final = 0.45  # [log swing]: the bends are wider than from 9:00 to 10:00
A_DRAW: Final = 16  # balls that stand for each draw
OUTCOMES: Final = 2  # carry, spin


@dataclass(frozen=True)
class Data:
    """A log, arrays of shape (balls,), and the cells asked for, of shape (cells,); ``levels`` of the quantiles."""

    loft_deg: Array
    swing_deg: Array
    club: Index
    session: Index
    carry_m: Array
    spin_rpm: Array
    asked_loft_deg: Array
    asked_swing_deg: Array
    asked_club: Index
    levels: Array


@dataclass(frozen=True)
class Answer:
    """Quantiles (cells, levels) of a fresh solid ball of a new session, and how the sampling went.

    ``seconds`` is wall time of the chains, tuning included, compiling excluded: that is done once a process.
    Nothing is printed or warned of: ``divergences`` and the largest split R-hat of all unknowns say it.
    """

    carry: Array
    spin: Array
    seconds: float
    divergences: int
    r_hat_max: float


@dataclass(frozen=True)
class Compiled:
    """The model, where it starts, its density with gradient, its coefficients and spreads as a function of a draw."""

    pm: Any
    model: Any
    start: dict[str, Array]
    density: Any
    values: Any


def _fixed(loft_deg: Array, swing_deg: Array) -> Array:
    u, v = (loft_deg - LOFT_DEG) / 6.0, np.log(swing_deg / SWING_DEG)
    return np.stack([np.ones_like(u), v, v * v, u, u * u, u * v], axis=1)


def _near(a: Array, b: Array) -> Array:
    return np.asarray(np.exp(-0.5 * ((a[:, None] - b) / BEND_LENGTH) ** 2))


def _offsets(swing_deg: Array, club: Index, session: Index | None, clubs: int, sessions: int) -> Array:
    """Bends, clubs and sessions; no session is a new one."""
    root = np.linalg.cholesky(_near(KNOTS, KNOTS) + 1e-6 * np.eye(len(KNOTS)))
    bends = np.linalg.solve(root, _near(KNOTS, np.log(swing_deg / SWING_DEG))).T
    days = np.zeros((len(club), sessions)) if session is None else np.eye(sessions)[session]
    return np.concatenate([bends, np.eye(clubs)[club], days], axis=1)


def _coordinates(fixed: Array, offsets: Array, y: Array) -> dict[str, Array]:
    """Return middle, root and pull of each outcome; any numbers would leave the posterior what it is."""
    middle, root, pull = [], [], []
    for k in range(OUTCOMES):
        weight = 1.0 / (0.7 * BALL_SD[k]) ** 2
        covariance = np.linalg.inv(weight * fixed.T @ fixed + np.diag(SD[k] ** -2.0))
        middle.append(covariance @ (weight * fixed.T @ y[:, k] + MEAN[k] / SD[k] ** 2))
        root.append(np.linalg.cholesky(covariance))
        pull.append(covariance @ (weight * fixed.T @ offsets))
    return {"middle": np.array(middle), "root": np.array(root), "pull": np.array(pull)}


@functools.cache
def _compiled(clubs: int, sessions: int) -> Compiled:
    """Build and compile; the data are shared variables, whose lengths may change without compiling again."""
    # by name, so that types are checked alike with and without it
    pm, pt = importlib.import_module("pymc"), importlib.import_module("pytensor.tensor")
    groups, both = len(KNOTS) + clubs + sessions, OUTCOMES
    with pm.Model() as model:
        fixed, offsets = pm.Data("fixed", np.zeros((3, 6))), pm.Data("offsets", np.zeros((3, groups)))
        y, middle = pm.Data("y", np.zeros((3, both))), pm.Data("middle", np.zeros((both, 6)))
        root, pull = pm.Data("root", np.zeros((both, 6, 6))), pm.Data("pull", np.zeros((both, 6, groups)))
        bend_sd, club_sd = pm.HalfNormal("bend_sd", BEND_SD, shape=both), pm.HalfNormal("club_sd", CLUB_SD, shape=both)
        session_sd = pm.HalfNormal("session_sd", SESSION_SD, shape=both)
        ball_sd, change = pm.HalfNormal("ball_sd", BALL_SD, shape=both), pm.Normal("change", *CHANGE, shape=both)
        together = pt.tanh(pm.Normal("together", 0.0, TOGETHER))
        share = pm.Beta("share", *MISHITS)
        tau = pt.concatenate(
            [pt.repeat(sd[:, None], n, axis=1) for sd, n in
             ((bend_sd, len(KNOTS)), (club_sd, clubs), (session_sd, sessions))], axis=1,
        )  # fmt: skip
        c = tau * pm.Normal("r", 0.0, 1.0, shape=(both, groups))
        v = pm.Flat("v", shape=(both, 6))
        b = middle + (root * v[:, None, :]).sum(axis=2) - (pull * c[:, None, :]).sum(axis=2)
        pm.Potential("prior of b", pm.logp(pm.Normal.dist(MEAN, SD), b).sum())
        off = y - fixed @ b.T - offsets @ c.T
        sd = ball_sd * pt.exp(change * fixed[:, 1][:, None])
        e = off / sd
        left = 1.0 - together**2
        solid = (
            -pt.log(sd).sum(axis=1) - 0.5 * pt.log(left)
            - 0.5 * ((e**2).sum(axis=1) - 2.0 * together * e[:, 0] * e[:, 1]) / left
        )  # fmt: skip
        bad = -np.log(BROAD).sum() - 0.5 * (((off - SHORT) / BROAD) ** 2).sum(axis=1)
        pm.Potential("balls", pt.logaddexp(pt.log1p(-share) + solid, pt.log(share) + bad).sum())
    told = model.replace_rvs_by_values([b, c, ball_sd, change, session_sd])
    density = model.logp_dlogp_function(ravel_inputs=True, mode="NUMBA")
    density.trust_input = True
    values = model.compile_fn(told, inputs=model.value_vars, mode="NUMBA", on_unused_input="ignore")
    start = model.initial_point(0)  # the machine code itself is only made at the first call
    density([np.concatenate([np.ravel(start[value.name]) for value in model.value_vars])], extra_vars={})
    values(start)
    return Compiled(pm, model, start, density, values)


def _chain(compiled: Compiled, rng: np.random.Generator) -> tuple[list[dict[str, Array]], int]:
    """Run one chain from a point of its own; return its draws after tuning and how many diverged."""
    point = {k: x + rng.uniform(-0.5, 0.5, np.shape(x)) for k, x in compiled.start.items()}
    with compiled.model:
        step = compiled.pm.NUTS(
            logp_dlogp_func=compiled.density, target_accept=TARGET_ACCEPT, rng=rng.spawn(1)[0], initial_point=point
        )
    draws, divergences = [], 0
    for number in range(TUNE + DRAWS):
        if number == TUNE:
            step.stop_tuning()
        point, (told,) = step.step(point)
        if number >= TUNE:
            draws.append({k: np.array(x) for k, x in point.items()})
            divergences += int(told["diverging"])
    return draws, divergences


def _r_hat(draws: Array) -> float:
    """Return the largest split R-hat of draws (chains, draws, unknowns); Gelman et al. 2013, section 11.4."""
    half = draws.shape[1] // 2
    parts = np.concatenate([draws[:, :half], draws[:, half : 2 * half]])
    within = parts.var(axis=1, ddof=1).mean(axis=0)
    between = parts.mean(axis=1).var(axis=0, ddof=1)
    return float(np.sqrt(((half - 1) / half * within + between) / within).max())


def _quantiles(middle: Array, sd: Array, levels: Array, rng: np.random.Generator) -> Array:
    """Return quantiles (cells, levels) of the log-normals of all draws (draws, cells), each by a few spread balls."""
    z = ndtri((np.arange(A_DRAW) + rng.uniform(size=(*middle.shape, A_DRAW))) / A_DRAW)
    balls = (middle[..., None] + sd[..., None] * z).transpose(1, 0, 2).reshape(middle.shape[1], -1)
    return np.asarray(np.exp(np.quantile(balls, levels, axis=1).T))


def nuts(data: Data, seed: int) -> Answer:
    """Sample the posterior of one player's log and say what a fresh solid ball of a new session does."""
    # at least as many as most logs have, so that these share what was compiled; what is too much is just its prior
    clubs = max(4, 1 + int(max(data.club.max(), data.asked_club.max())))
    sessions = max(2, 1 + int(data.session.max()))
    rng = np.random.default_rng(seed)
    fixed = _fixed(data.loft_deg, data.swing_deg)
    offsets = _offsets(data.swing_deg, data.club, data.session, clubs, sessions)
    y = np.log(np.stack([data.carry_m, data.spin_rpm], axis=1))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of its plotting library's plans, and of a BLAS that is not used here
        compiled = _compiled(clubs, sessions)
    with compiled.model:
        compiled.pm.set_data({"fixed": fixed, "offsets": offsets, "y": y, **_coordinates(fixed, offsets, y)})
    start = time.perf_counter()
    chains = [_chain(compiled, part) for part in rng.spawn(CHAINS)]
    seconds = time.perf_counter() - start
    names = [value.name for value in compiled.model.value_vars]
    raw = np.array([[np.concatenate([np.ravel(d[k]) for k in names]) for d in draws] for draws, _ in chains])
    told = [compiled.values(draw) for draws, _ in chains for draw in draws]
    b, c, ball_sd, change, session_sd = (np.array(part) for part in zip(*told, strict=True))
    at = _fixed(data.asked_loft_deg, data.asked_swing_deg)
    at_offsets = _offsets(data.asked_swing_deg, data.asked_club, None, clubs, sessions)
    carry, spin = (
        _quantiles(
            b[:, k] @ at.T + c[:, k] @ at_offsets.T,
            np.hypot(ball_sd[:, k, None] * np.exp(change[:, k, None] * at[:, 1]), session_sd[:, k, None]),
            data.levels,
            rng,
        )
        for k in range(OUTCOMES)
    )
    return Answer(carry, spin, seconds, sum(n for _, n in chains), _r_hat(raw))


def main(seed: int = 90210, count: int = 2) -> None:
    """Print the excess CRPS over the oracle's of invented players, and how long the sampling took."""
    from tests.bench import learning_players as bench

    for per_cell in (1, 3, 10):
        for number in range(count):
            player, rng = bench.player_of(number, per_cell, seed=seed)
            case, log = bench.make_case(player, rng), bench.make_log(player, per_cell, rng)
            answer = nuts(
                Data(
                    bench.lofts_of(player)[log.wedge], log.swing_deg, log.wedge, log.session, log.carry_m, log.spin_rpm,
                    case.loft_deg, case.swing_deg, case.wedge, bench.LEVELS,
                ),
                number,
            )  # fmt: skip
            carry, spin = bench.excess(case, (answer.carry, answer.spin))
            print(
                f"{per_cell:2d} a cell: carry {100 * carry:5.1f} %, spin {100 * spin:5.1f} %, {answer.seconds:.1f} s, "
                f"{answer.divergences} diverged, R-hat {answer.r_hat_max:.3f}"
            )


if __name__ == "__main__":
    main()
