"""What a bound costs: by how much each objective of a member would gain if one bound or held goal were let out.

For every objective j of a member, from the member,

    minimise f_j   so that   no other objective is worse than the member's, all held goals are met, and all bounds hold.

The multipliers at the answer are the prices: f_j falls by so much per unit that the bound, or the goal's limit, is let
out alone (Nocedal and Wright, Numerical Optimization, 2006, section 12.8). On a front the answer is the member itself;
before it is quite there, a point that is nowhere worse. Where another objective is at its very best, a front is
upright and its price unbounded: each price is therefore checked by letting out and solving again.

| symbol | meaning | shape |
|---|---|---|
| x | members, in the file's units | (N, V) |
| f | objectives, minimised and dimensionless | (N, M) |
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array, Indices
from optimiser.search.parts import PartsProblem
from optimiser.search.refinement import Refined, refine
from optimiser.search.sqp import Ending

STEPS = 60
"""Steps at most to where the prices are taken."""
EXACT = 1e-8
"""Decrease of an objective that is not worth a step: prices are as exact as the place that they are taken at."""
CHECKED, AGREED = 1e-3, 0.05
"""A price is checked by letting out by this share of the range, or of the goal's scale; it holds where the gain is the
promised one within this share of it."""
NOISE = 1e-5
"""A gain below this, in an objective's own scale, is none."""
NOTHING = 1e-4
"""A price below this share of the largest that its objective has at its member is none."""
SAMPLE = 512
"""Members, evenly spaced along a front, that speak for all of it: of 64, their order still hangs on chance."""
LET_OUT = 0.01
"""Share of its range by which a bound is let out where bounds are compared."""


@dataclass(frozen=True)
class Prices:
    """By how much objectives fall per unit of what is let out alone; all at least 0; NaN where no price holds.

    `low`, `high` (N, M, V): per unit, of the file, of a lower bound and of an upper one; `held` (N, M, H): per unit of
    a held goal's scale by which its limit is let out, on the side where it holds. No price holds where the place that
    it would be taken at was not found, or where letting out by `CHECKED` does not gain what it promises.
    """

    low: Array
    high: Array
    held: Array


def prices_of(problem: PartsProblem, x: Array) -> Prices:
    """The prices at members `x` (N, V)."""
    found = _best_alone(problem, x)
    known = found.ending == Ending.CONVERGED
    sizes = np.cumsum([problem.held, len(problem.lower)])
    prices = np.where(known[:, None], np.concatenate([_of_goals(problem, found), found.below, found.above], axis=1), 0)
    prices[prices < NOTHING * prices.max(axis=1, keepdims=True)] = 0.0
    wrong = np.zeros(prices.shape, dtype=np.bool_)
    for k, wider in _let_out(problem, np.flatnonzero(prices.any(axis=0))):
        gained = _each(found) - _each(_best_alone(wider, x))
        promised = CHECKED * prices[:, k]
        slack = np.where(promised > 0.0, AGREED * promised, NOISE)
        wrong[:, k] = np.abs(gained - promised) > slack
    prices[wrong] = np.nan
    prices[~known] = np.nan
    held, low, high = (each.reshape(len(x), problem.objectives, -1) for each in np.split(prices, sizes, axis=1))
    span = problem.upper - problem.lower
    per_unit = np.where(span > 0.0, 1.0, np.nan) / np.where(span > 0.0, span, 1.0)
    return Prices(low * per_unit, high * per_unit, held)


def dearest(problem: PartsProblem, x: Array, objectives: Array) -> tuple[Array, Array]:
    """What bounds cost over a whole front: (V,) the lower ones, (V,) the upper ones; 0 where nothing is known.

    Each is how far the front would move if the bound were let out by `LET_OUT` of its range: a share by which all
    objectives gain at once, in units of their ranges over the front, on average over `SAMPLE` members evenly spaced
    along the first objective. `x` (N, V) and `objectives` (N, M) are the front's.
    """
    order = np.argsort(objectives[:, 0], kind="stable")
    sample = x[order[np.linspace(0, len(order) - 1, min(SAMPLE, len(order))).round().astype(np.intp)]]
    span = np.ptp(objectives, axis=0)
    weights = np.tile(np.where(span > 0.0, span, 1.0), (len(sample), 1))
    found = refine(problem, sample, weights, np.zeros(weights.shape), STEPS, tolerance=EXACT)
    known = found.ending == Ending.CONVERGED
    share = LET_OUT / max(int(known.sum()), 1)
    return share * found.below[known].sum(axis=0), share * found.above[known].sum(axis=0)


def _best_alone(problem: PartsProblem, x: Array) -> Refined:
    """For each member and objective, where that objective is best while no other is worse: N M rows."""
    weights = np.tile(np.eye(problem.objectives), (len(x), 1))
    starts = np.repeat(x, problem.objectives, axis=0)
    return refine(problem, starts, weights, np.zeros(weights.shape), STEPS, tolerance=EXACT)


def _each(found: Refined) -> Array:
    """(N M,) of each row its own objective."""
    rows = np.arange(len(found.objectives))
    return np.asarray(found.objectives[rows, rows % found.objectives.shape[1]])


def _of_goals(problem: PartsProblem, found: Refined) -> Array:
    """(N M, H) the prices of the held goals' parts, added up."""
    goals = problem.owner[None, :] == problem.objectives + np.arange(problem.held)[:, None]
    return np.asarray(found.multipliers @ goals.T)


def _let_out(problem: PartsProblem, which: Indices) -> Iterator[tuple[int, PartsProblem]]:
    """The problem with one thing let out by `CHECKED`: held goals, then lower and upper bounds, counted through."""
    step = CHECKED * (problem.upper - problem.lower)
    for k in which.tolist():
        place = k - problem.held
        if place < 0:
            yield k, replace(problem, parts=_Loosened(problem, k))
            continue
        side, variable = divmod(place, len(step))
        moved = np.where(np.arange(len(step)) == variable, step, 0.0)
        yield (
            k,
            replace(problem, upper=problem.upper + moved) if side else replace(problem, lower=problem.lower - moved),
        )


class _Loosened:
    """The parts of a problem with a held goal let out by `CHECKED`."""

    def __init__(self, problem: PartsProblem, goal: int) -> None:
        self._parts = problem.parts
        self._amount = np.where(problem.owner == problem.objectives + goal, CHECKED, 0.0)

    def __call__(self, x: Array) -> Array:
        return self._parts(x) - self._amount
