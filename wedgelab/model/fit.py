"""Learn a player's parameters from a log: Gaussian regression, repeated while mishits and spreads are re-judged.

Each round solves the linear model with the weights at hand, then asks of every ball whether to believe it, then
re-estimates how far balls spread, how far days differ, how often the player mishits and whether the numbers have moved,
each pulled towards a common belief. Milliseconds for a few hundred balls.
"""

import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.model import spread as spreads
from wedgelab.model.grouped import Grouped, grouped
from wedgelab.model.judge import Verdicts, first_verdicts, judge, no_doubt
from wedgelab.model.linear import Design, Posterior, narrowed, solve
from wedgelab.model.moves import Moves
from wedgelab.model.prior import PriorSurfaces, prior_surfaces
from wedgelab.model.structure import N_READINGS, Array, Structure

if TYPE_CHECKING:
    from wedgelab.model.observations import Observations
    from wedgelab.model.population import Population
    from wedgelab.model.spread import Spread

# beliefs about golfers in general; counts say how firmly
CORRELATION_COUNT: Final = 12.0
# how days differ, in log carry, log spin, log ball speed and launch [deg]: club speed by 0.6 %, delivered loft by 0.2
# deg, and a little of each reading's own
SESSION_SD: Final = (0.0125, 0.0125, 0.0075, 0.25)
SESSION_CORRELATION: Final = np.array(
    [[1.0, 0.35, 0.80, -0.30], [0.35, 1.0, 0.40, 0.0], [0.80, 0.40, 1.0, -0.30], [-0.30, 0.0, -0.30, 1.0]]
)
SESSION_COUNT: Final = 6.0
MISHIT_SHARE: Final = 0.05
MISHIT_COUNT: Final = 20.0
# no reading is finer than this: balls that are alike to the last digit do not spread by nothing
RESOLUTION: Final = np.array([0.003, 0.003, 0.003, 0.1])

# so many rounds hold to what is believed of the spread and of how days differ: mishits cannot widen the one before they
# are seen, and a move is not taken for a bad day
_HELD: Final = 2
_MOST_ROUNDS: Final = 40
_CLOSE_ENOUGH: Final = 2e-4  # of a carry
_SPREAD_CLOSE_ENOUGH: Final = 0.01  # of a spread, of single balls or of days
_LEAST_SPREAD: Final = 0.02  # share of the variance that the closest readings leave each other
# of a very long log a part makes the first rounds, and few more are made with all of it
_MANY: Final = 4000
_PART_ROUNDS: Final = 20
_WHOLE_ROUNDS: Final = 4


@dataclass(frozen=True, slots=True)
class Fit:
    """What the log taught: the posterior of the parameters and of the spreads, and what was made of each ball."""

    structure: Structure
    mean: Array  # (parameters,)
    covariance: Array  # (parameters, parameters)
    spreads: "tuple[Spread, ...]"  # of log carry, log spin, log ball speed and launch
    together: Array  # (2, 4, 4): sums and counts of products of a ball's readings, in their spreads
    session_covariance: Array  # (4, 4), of the effects of days
    mishit_share: float
    verdicts: Verdicts
    moves: Moves
    rounds: int
    converged: bool
    notes: tuple[str, ...]
    n_others: int  # players that taught the belief before the first ball

    @property
    def carry_spread(self) -> "Spread":
        """Law of the spread of log carry."""
        return self.spreads[0]

    @property
    def spin_spread(self) -> "Spread":
        """Law of the spread of log spin."""
        return self.spreads[1]

    def correlations(self, surfaces: PriorSurfaces) -> Array:
        """Return the correlations (n, 4, 4) of the readings of one ball in the cells of the prior's surfaces."""
        matrix = spreads.physical(surfaces)[1]
        seen = np.flatnonzero(np.diag(self.together[1]))  # readings that nobody took go with the others as believed
        if len(seen):
            pairs = np.ix_(np.arange(len(matrix)), seen, seen)
            matrix[pairs] = _correlations(matrix[pairs], self.together[:, seen[:, None], seen])
        return matrix

    @property
    def correlation(self) -> float:
        """Correlation of log carry and log spin of the same ball, at 9:00 with a wedge of 53 deg."""
        middle = prior_surfaces(np.array([spreads.LOFT_CENTRE_DEG]), np.array([spreads.SWING_CENTRE_DEG]))
        return float(self.correlations(middle)[0, 0, 1])

    @property
    def session_sd(self) -> tuple[float, float]:
        """How far days differ, in log carry and log spin."""
        carry, spin = np.sqrt(np.diag(self.session_covariance)[:2])
        return float(carry), float(spin)

    @property
    def solid(self) -> Array:
        """Chance of each ball (balls,) to be a solid one whose carry is right."""
        return self.verdicts.solid


@dataclass(frozen=True, slots=True)
class _Belief:
    """What is believed before any ball."""

    mean: Array
    precision: Array
    spreads: "tuple[Spread, ...]"
    mishit_share: float

    def of(self, balls: Grouped) -> tuple[Array, Array]:
        """Return mean and precision of the parameters that these balls tell of."""
        return self.mean[balls.active], self.precision[np.ix_(balls.active, balls.active)]


@dataclass(slots=True)
class _State:
    """What the rounds change."""

    spreads: "tuple[Spread, ...]"
    together: Array
    session_covariance: Array  # of the readings that are seen
    mishit_share: float
    moves: Moves
    verdicts: Verdicts


def fit(obs: "Observations", *, others: "Population | None" = None, fading: bool = True, learning: bool = True) -> Fit:
    """Fit the model to at least one ball; deterministic given the data.

    ``others`` is what other players teach of a newcomer. Without ``fading`` a player is believed never to change: old
    days count as much as the last. Without ``learning`` every ball is taken for solid, and spreads and days are as
    believed: what is left is plain Gaussian regression.
    """
    structure = Structure(obs.clubs, obs.n_balls)
    moves = Moves.believed(obs.n_sessions if fading else 1)
    balls = grouped(obs, structure, moves)
    levels, share = (None, MISHIT_SHARE) if others is None else (others.spread_level, others.mishit_share)
    belief = _Belief(*structure.prior(others), spreads.believed(len(obs.clubs), levels), share)
    state = _State(
        belief.spreads,
        np.zeros((2, N_READINGS, N_READINGS)),
        _believed_sessions(balls),
        share,
        moves,
        first_verdicts(balls.told[:0], balls.seen, share),
    )
    with warnings.catch_warnings(record=True) as raised:  # nobody can act on them: they are said in the report
        warnings.simplefilter("always")
        rounds, converged = _learnt(obs, structure, balls, belief, state) if learning else (0, True)
        if not learning:
            state.verdicts = no_doubt(balls.told)
        _, posterior = _solved(balls, belief.of(balls), balls.design, state, with_doubt=learning)
    notes = [f"numerical: {text}" for text in dict.fromkeys(str(one.message) for one in raised)]
    if not converged:
        notes.append(f"the fit was stopped after {rounds} rounds while still moving a little")
    mean, covariance = _whole(balls, structure, belief, posterior)
    return Fit(
        structure, mean, covariance, state.spreads, state.together, _whole_sessions(balls, state), state.mishit_share,
        state.verdicts, state.moves, rounds, converged, tuple(notes), 0 if others is None else others.n_players,
    )  # fmt: skip


def _learnt(
    obs: "Observations", structure: Structure, balls: Grouped, belief: _Belief, state: _State
) -> tuple[int, bool]:
    """Change the state to what the balls teach; return the rounds that it took and whether it had settled."""
    if len(obs) <= 2 * _MANY:
        return _rounds(balls, belief, state, 0, _MOST_ROUNDS)
    part = obs.take(np.arange(0, len(obs), len(obs) // _MANY))
    rounds, _ = _rounds(grouped(part, structure, state.moves), belief, state, 0, _PART_ROUNDS)
    return _rounds(balls, belief, state, rounds, _WHOLE_ROUNDS)


def _rounds(balls: Grouped, belief: _Belief, state: _State, before: int, most: int) -> tuple[int, bool]:
    """Go at most so many rounds, until carries and spreads stay where they are; change the state.

    Return the number of rounds, those ``before`` included, and whether they stayed.
    """
    prior, design = narrowed(belief.of(balls), balls.design)
    state.verdicts = first_verdicts(balls.told, balls.seen, state.mishit_share)
    size = design.cell_rows.shape[2]
    at = np.full(len(design.cell_rows), np.inf), _log_sds(balls, state), np.full(len(balls.seen), np.inf)
    for rounds in range(before + 1, before + most + 1):
        spread, posterior = _solved(balls, prior, design, state, with_doubt=False)
        days = 0.5 * np.log(np.diagonal(state.session_covariance))
        now = design.cell_rows[:, 0] @ posterior.mean[:size], _log_sds(balls, state), days
        moved = [float(np.max(np.abs(a - b))) for a, b in zip(now, at, strict=True)]
        if rounds > before + _HELD + 1 and moved[0] < _CLOSE_ENOUGH and max(moved[1:]) < _SPREAD_CLOSE_ENOUGH:
            return rounds, True
        at = now
        share = np.where(np.isnan(balls.marked_share), state.mishit_share, balls.marked_share)
        off = np.where(balls.told, balls.off - posterior.group_mean[balls.which], 0.0)
        doubt = np.where(balls.pairs, posterior.group_covariance, 0.0)
        state.verdicts = judge(off, balls.told, balls.seen, balls.which, spread, doubt, state.verdicts, share)
        if rounds > _HELD:
            _learn_spreads(balls, belief, state, off, doubt)
            _learn_sessions(balls, state, posterior)
        state.moves = state.moves.judged(posterior, size)
        bad = float(np.sum(1.0 - state.verdicts.solid)) + belief.mishit_share * MISHIT_COUNT
        state.mishit_share = bad / (len(off) + MISHIT_COUNT)
    return before + most, False


def _solved(
    balls: Grouped, prior: tuple[Array, Array], design: Design, state: _State, *, with_doubt: bool
) -> tuple[Array, Posterior]:
    """Return the covariance of single balls of each group, and the posterior that follows from the state."""
    spread = _ball_covariances(balls, state, with_doubt=with_doubt)
    joined = state.moves.joined(*prior, design.air.shape[1])
    return spread, solve(joined, design, *_evidence(balls, state, spread), _session_precision(balls, state))


def _whole(balls: Grouped, structure: Structure, belief: _Belief, posterior: Posterior) -> tuple[Array, Array]:
    """Return mean and covariance of all parameters: of those that no ball tells of, what was believed."""
    mean, precision = belief.mean.copy(), belief.precision
    known = balls.active
    air = structure.blocks["air"]
    told = np.append(known, np.arange(air.start, air.stop)) if balls.design.air.shape[1] else known
    last = len(posterior.mean) - balls.design.air.shape[1]
    mine = np.append(np.arange(len(known)), np.arange(last, len(posterior.mean)))
    rest = np.setdiff1d(np.arange(structure.size), told)
    covariance = np.zeros_like(precision)
    covariance[rest, rest] = 1.0 / precision[rest, rest]  # parameters that can be untold are tied to no other
    covariance[np.ix_(told, told)] = posterior.covariance[np.ix_(mine, mine)]
    mean[told] = posterior.mean[mine]
    return mean, covariance


def _believed_sessions(balls: Grouped) -> Array:
    sd = np.array(SESSION_SD)
    return np.asarray((SESSION_CORRELATION * np.outer(sd, sd))[np.ix_(balls.seen, balls.seen)])


def _whole_sessions(balls: Grouped, state: _State) -> Array:
    """Return the covariance (4, 4) of days; a reading that the log does not have differs as believed."""
    sd, correlations = np.array(SESSION_SD), SESSION_CORRELATION.copy()
    learnt = np.sqrt(np.diag(state.session_covariance))
    sd[balls.seen] = learnt
    correlations[np.ix_(balls.seen, balls.seen)] = state.session_covariance / np.outer(learnt, learnt)
    return np.asarray(correlations * np.outer(sd, sd))


def _log_sds(balls: Grouped, state: _State) -> Array:
    """Logarithms of the spreads of the groups' readings, (G, k), gusts left aside."""
    return np.asarray(balls.log_sd + balls.law @ np.stack([state.spreads[i].coefficients for i in balls.seen], axis=1))


def _ball_covariances(balls: Grouped, state: _State, *, with_doubt: bool) -> Array:
    """Covariance of the readings of a single ball of each group, gusts included, (G, k, k); 1 for none.

    ``with_doubt`` it is the mean over what the spread may be, not that of the most probable spread.
    """
    log_sd = _log_sds(balls, state)
    if with_doubt:
        for column, i in enumerate(balls.seen):
            law = state.spreads[i]
            log_sd[:, column] += balls.law @ law.skew + np.einsum("ij,jk,ik->i", balls.law, law.covariance, balls.law)
    sd = np.exp(log_sd)
    together = state.together[:, balls.seen[:, None], balls.seen]
    covariance = _correlations(balls.correlations, together) * sd[:, :, None] * sd[:, None, :]
    covariance[:, 0, 0] += balls.gust_var
    covariance[~balls.pairs] = 0.0
    diagonal = np.arange(len(balls.seen))
    covariance[:, diagonal, diagonal] += ~balls.group_told
    return np.asarray(covariance)


def _session_precision(balls: Grouped, state: _State) -> Array:
    return np.asarray(np.linalg.inv(_session_covariances(balls, state)))


def _session_covariances(balls: Grouped, state: _State) -> Array:
    """Prior covariance (J, k, k) of each day's effect, a wind that was told wrongly included."""
    covariance = np.tile(state.session_covariance, (len(balls.day_var), 1, 1))
    covariance[:, 0, 0] += balls.day_var
    return covariance


def _evidence(balls: Grouped, state: _State, spread: Array) -> tuple[Array, Array]:
    """Return what the balls of each group say: precision (G, k, k), and precision times reading (G, k)."""
    inverse = np.linalg.inv(spread)
    verdicts, k = state.verdicts, len(balls.seen)
    counted = verdicts.right + verdicts.faulty.sum(axis=1)
    weighted = np.einsum("nij,nj->ni", inverse[balls.which], balls.off)
    sums = balls.total(
        np.column_stack([counted, counted[:, None] * weighted, verdicts.faulty, verdicts.faulty * weighted])
    )
    count, every, faults, wrong = sums[:, 0], sums[:, 1 : 1 + k], sums[:, 1 + k : 1 + 2 * k], sums[:, 1 + 2 * k :]
    # a ball with one wrong reading says what the others say: the wrong one's part is taken out of the precision
    own = np.diagonal(inverse, axis1=1, axis2=2)
    weight = count[:, None, None] * inverse - inverse @ ((faults / own)[:, :, None] * inverse)
    pull = every - (inverse @ (wrong / own)[:, :, None])[:, :, 0]
    return np.where(balls.pairs, weight, 0.0), np.where(balls.group_told, pull, 0.0)


def _learn_spreads(balls: Grouped, belief: _Belief, state: _State, off: Array, doubt: Array) -> None:
    """Re-estimate how far balls spread and how the readings of a ball go together."""
    k = len(balls.seen)
    right = np.where(balls.told, state.verdicts.right[:, None], 0.0)
    weights = np.where(balls.told, state.verdicts.weights(), 0.0)
    sums = balls.total(np.column_stack([weights, weights * off**2, right]))
    counts, squares, rights = sums[:, :k], sums[:, k : 2 * k], sums[:, 2 * k :]
    squares += counts * (np.diagonal(doubt, axis1=1, axis2=2) + RESOLUTION[balls.seen] ** 2)
    log_sd = _log_sds(balls, state)
    # what gusts did to a ball is not the player's spread: take out the share of it that they explain
    own = np.exp(2.0 * log_sd[:, 0])
    share = own / (own + balls.gust_var)
    squares[:, 0] = share**2 * squares[:, 0] + share * balls.gust_var * counts[:, 0]
    # a ball's share in the middle of its group tells nothing of the spread (restricted maximum likelihood)
    free = counts * np.maximum(1.0 - np.diagonal(doubt, axis1=1, axis2=2) * np.exp(-2.0 * log_sd), 0.0)
    squares *= np.exp(-2.0 * balls.log_sd)
    laws = list(state.spreads)
    for column, i in enumerate(balls.seen):
        laws[i] = spreads.learnt(
            belief.spreads[i], laws[i], balls.law, counts[:, column], squares[:, column], free[:, column]
        )
    state.spreads = tuple(laws)
    scale = np.exp(-log_sd)
    scale[:, 0] *= share
    unit = off * scale[balls.which]
    product = (right * unit).T @ unit
    product += np.einsum("gi,gij,gj->ij", scale * rights, doubt, scale)
    state.together[:, balls.seen[:, None], balls.seen] = product, right.T @ balls.told


def _correlations(believed: Array, together: Array) -> Array:
    """Return the correlations (n, k, k) of a ball's readings; every combination is left a little spread."""
    product, count = together
    matrix = (CORRELATION_COUNT * believed + product) / (CORRELATION_COUNT + count)
    diagonal = np.arange(matrix.shape[1])
    matrix[:, diagonal, diagonal] = 1.0
    values, vectors = np.linalg.eigh(0.5 * (matrix + matrix.transpose(0, 2, 1)))
    if values.min() >= _LEAST_SPREAD:
        return np.asarray(matrix)
    mended = (vectors * np.maximum(values, _LEAST_SPREAD)[:, None, :]) @ vectors.transpose(0, 2, 1)
    scale = 1.0 / np.sqrt(np.diagonal(mended, axis1=1, axis2=2))
    return np.asarray(mended * scale[:, :, None] * scale[:, None, :])


def _learn_sessions(balls: Grouped, state: _State, posterior: Posterior) -> None:
    """Re-estimate how far days differ, beside a wind that was told wrongly."""
    own = state.session_covariance
    share = own @ _session_precision(balls, state)
    mean = (share @ posterior.day_mean[:, :, None])[:, :, 0]
    left = own - share @ own + share @ posterior.day_covariance @ share.transpose(0, 2, 1)
    seen = mean.T @ mean + left.sum(axis=0)
    state.session_covariance = (SESSION_COUNT * _believed_sessions(balls) + seen) / (SESSION_COUNT + len(mean))
