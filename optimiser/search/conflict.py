"""Why nothing satisfies a study: the smallest set of what it asks that excludes itself, and what it could have instead.

The set is found by deletion (Chinneck, Feasibility and Infeasibility in Optimization, 2008, chapter 6): each held goal
in turn is left out, and stays out where the others cannot be met without it either; first, all at once, those that
have no price where the largest violation is smallest (his sensitivity filter). What remains is a set of which every
goal is needed. Then each bound on which the closest candidate lies is let out, alone: where that makes the goals meet,
the bound belongs to the set. "Cannot be met" is what many starts say, spread over the whole range, and is no proof.

Symbols: N candidates, V variables.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from scipy.stats import qmc

from geometry.arrays import Array
from objectives.goals import FAILED
from optimiser.search.clauses import Asked, Clause, Kind, problem_for
from optimiser.search.parts import PartsProblem
from optimiser.search.refinement import Refined, reach, refine

SPREAD = 128
"""Starts spread over the whole range each time that it is asked whether something can be met (a power of two)."""
NEAR = 24
"""Candidates, those that violate least, that are taken to their ends: of those known already, and of the spread."""
FIRST_STEPS, REACH_STEPS, REFINE_STEPS = 4, 24, 40
"""Steps at most: of all that are spread, of those taken to their ends, and of a clause's violation made small."""
PRICED = 1e-6
"""A goal of a smaller price than this, as a share of all prices, has none."""
EXACT = 1e-7
"""Decrease of a scaled violation that is not worth a step."""
_UNMEASURED = FAILED / 2.0
"""A violation that no measured candidate has."""
ON_BOUND = 1e-6
"""A variable this near to a bound, as a share of its range, lies on it."""
TRADE_ROWS = 5
"""Points of a trade, both ends included."""


@dataclass(frozen=True)
class Relief:
    """A candidate that meets the set but for clauses that give way.

    `gives`: the clause that is missed by the least possible; in a trade, `second` is another one that is let out
    meanwhile. `x` (V,) in the file's units, NaN where no such candidate was found.
    """

    gives: Clause
    x: Array
    second: Clause | None = None


@dataclass(frozen=True)
class Conflict:
    """What excludes itself: goals in the study's order, then bounds; none where all can be met after all.

    `nearest`: one relief a clause, in that order; `trade`: from one end to the other of two clauses of the set (none
    where it has one). `others_met`: in all of these every other held goal of the study is met too; otherwise that
    cannot be, and only those of the set are.
    """

    clauses: tuple[Clause, ...]
    nearest: tuple[Relief, ...] = ()
    trade: tuple[Relief, ...] = ()
    others_met: bool = True


def find_conflict(
    problem: PartsProblem, known: Array, seed: int, stop: Callable[[], bool] = lambda: False
) -> Conflict | None:
    """The conflict of a problem's held goals; None where `stop` asked to end before it was found.

    `known` (N, V): candidates to begin at beside those spread over the range, such as the closest so far. The same
    seed gives the same conflict.
    """
    seeker = _Seeker(problem, known, seed, stop)
    everything = Asked(tuple(range(problem.held)))
    try:
        if seeker.meets(everything):
            return Conflict(())
        return _relieved(seeker, everything, _smallest(seeker, everything))
    except _StoppedError:
        return None


class _StoppedError(Exception):
    """The search was asked to end."""


def _smallest(seeker: "_Seeker", everything: Asked) -> Asked:
    """Held goals of which every one is needed for the conflict, as a question."""
    priced = replace(everything, goals=seeker.priced(everything))
    asked = everything if seeker.meets(priced) else priced
    for goal in asked.goals:
        less = asked.without(Clause(Kind.GOAL, goal))
        if not seeker.meets(less):
            asked = less
    return asked


def _relieved(seeker: "_Seeker", everything: Asked, asked: Asked) -> Conflict:
    goals = tuple(Clause(Kind.GOAL, goal) for goal in asked.goals)
    others_met = all(seeker.meets(everything.without(goal)) for goal in goals)
    base = everything if others_met else asked
    bounds = tuple(bound for bound in seeker.bounds_at_closest(base) if seeker.meets(base.without(bound)))
    clauses = (*goals, *bounds)
    nearest = tuple(Relief(clause, seeker.least(base.wishing(clause))) for clause in clauses)
    pair = next(combinations(nearest, 2), None)
    return Conflict(clauses, nearest, _trade(seeker, base, *pair) if pair else (), others_met)


def _trade(seeker: "_Seeker", base: Asked, first: Relief, second: Relief) -> tuple[Relief, ...]:
    """From `second` giving way alone to `first` giving way alone, in equal steps of the first."""
    if not (np.isfinite(first.x).all() and np.isfinite(second.x).all()):
        return ()
    whole = seeker.violation(base.wishing(first.gives), first.x)
    rows = []
    for share in np.linspace(0.0, 1.0, TRADE_ROWS)[1:-1]:
        asked = base.letting(first.gives, float(share) * whole).wishing(second.gives)
        rows.append(Relief(second.gives, seeker.least(asked), first.gives))
    return (Relief(second.gives, second.x, first.gives), *rows, Relief(first.gives, first.x, second.gives))


class _Seeker:
    """Answers questions about one problem, and keeps every candidate that came of one as a start for the next."""

    def __init__(self, problem: PartsProblem, known: Array, seed: int, stop: Callable[[], bool]) -> None:
        self._whole, self._stop = problem, stop
        sobol = qmc.Sobol(len(problem.lower), scramble=True, rng=np.random.default_rng([seed, SPREAD]))
        self._spread = problem.choices.placed(sobol.random(SPREAD), problem.lower, problem.upper)
        self._known = np.clip(np.concatenate([known, self._spread]), problem.lower, problem.upper)

    def meets(self, asked: Asked) -> bool:
        """Whether a candidate was found that meets all that is held."""
        posed = problem_for(asked, self._whole)
        return any((reached.violations <= 0.0).all(axis=1).any() for reached in self._tries(posed))

    def least(self, asked: Asked) -> Array:
        """The candidate (V,) that violates the wish least, all else being met; NaN where none meets it."""
        posed = problem_for(asked, self._whole)
        for _ in self._tries(posed):
            pass
        inside = self._inside(posed)
        wished, missed = posed.largest(posed.measure(inside))
        best = inside[np.lexsort([wished[:, 0], missed.max(axis=1, initial=0.0)])[: 2 * NEAR]]
        size = (len(best), 1)
        found = refine(posed, best, np.ones(size), np.zeros(size), REFINE_STEPS, tolerance=EXACT)
        self._keep(found)
        met = (found.violations <= 0.0).all(axis=1) & (found.objectives[:, 0] < _UNMEASURED)
        if not met.any():
            return np.full(len(self._whole.lower), np.nan)
        return np.asarray(found.x[np.where(met, found.objectives[:, 0], np.inf).argmin()])

    def priced(self, asked: Asked) -> tuple[int, ...]:
        """The goals that have a price where the largest violation is smallest; all of them where that is unknown."""
        posed = problem_for(asked, self._whole)
        reached = self._reached(posed, self._best_known(posed), REACH_STEPS)
        best = reached.violations.max(axis=1, initial=0.0).argmin()
        prices = np.bincount(posed.owner, reached.multipliers[best])[1:]
        return tuple(goal for goal, price in zip(asked.goals, prices, strict=True) if price > PRICED * prices.sum())

    def violation(self, asked: Asked, x: Array) -> float:
        """By how much a candidate violates the wish, in its scale."""
        posed = problem_for(asked, self._whole)
        return float(posed.largest(posed.measure(x[None]))[0][0, 0])

    def bounds_at_closest(self, asked: Asked) -> list[Clause]:
        """The bounds, not let out, on which the candidate that violates least lies."""
        posed = problem_for(asked, self._whole)
        x = self._reached(posed, self._best_known(posed), REACH_STEPS).x
        x = x[posed.largest(posed.measure(x))[1].max(axis=1, initial=0.0).argmin()]
        near = ON_BOUND * (self._whole.upper - self._whole.lower)
        near[self._whole.choices.fixed(len(near))] = -1.0  # a choice has no bound that could be let out
        low = [Clause(Kind.LOW, int(k)) for k in np.flatnonzero(np.abs(x - self._whole.lower) <= near)]
        high = [Clause(Kind.HIGH, int(k)) for k in np.flatnonzero(np.abs(x - self._whole.upper) <= near)]
        return [bound for bound in (*low, *high) if bound not in asked.let_out]

    def _tries(self, posed: PartsProblem) -> Iterator[Refined]:
        """Ways to what is held: from what is known, then from all over the range, the best of it to the end."""
        yield self._reached(posed, self._best_known(posed), REACH_STEPS)
        first = self._reached(posed, self._spread, FIRST_STEPS)
        yield first
        order = np.argsort(first.violations.max(axis=1, initial=0.0), kind="stable")
        yield self._reached(posed, first.x[order[:NEAR]], REACH_STEPS)

    def _reached(self, posed: PartsProblem, starts: Array, steps: int) -> Refined:
        if self._stop():
            raise _StoppedError
        found = reach(posed, starts, steps)
        self._keep(found)
        return found

    def _keep(self, found: Refined) -> None:
        self._known = np.concatenate([self._known, found.x])

    def _best_known(self, posed: PartsProblem) -> Array:
        """Known candidates that violate a problem least."""
        inside = self._inside(posed)
        missed = posed.largest(posed.measure(inside))[1].max(axis=1, initial=0.0)
        return np.asarray(inside[np.argsort(missed, kind="stable")[:NEAR]])

    def _inside(self, posed: PartsProblem) -> Array:
        return np.unique(np.clip(self._known, posed.lower, posed.upper), axis=0)
