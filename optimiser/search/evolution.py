"""Evolution: NSGA-II, from the study's own geometry and a scatter around it.

Bands of a hundredth on a ratio leave few random points feasible: among 400 uniform ones of the shipped front axle
none is, of 400 within about 1 % of each range around its own geometry three in four are. A scatter that is narrow,
with a share that is wide, makes fronts wider and less dependent on the seed.

Symbols: P candidates of the population, V variables.
"""

import numpy as np

from geometry.arrays import Array
from optimiser.search.bench import Bench
from optimiser.search.nsga2 import Generation
from optimiser.search.problem import Batch, Problem, joined

POPULATION = 100
"""Candidates that evolution goes on from."""
NARROW, WIDE = 0.01, 0.05
"""Standard deviations of the first population's scatter, as shares of each variable's range."""
NARROW_SHARE, WIDE_SHARE = 0.5, 0.3
"""Shares of the first population in either scatter; the rest is spread evenly over the whole range."""


class Evolution:
    """A strategy that keeps a population; `x` (P, V), or nothing, is the one to begin with."""

    def __init__(self, x: Array | None = None, size: int = POPULATION) -> None:
        self._size = size
        self._x = x
        self._batch: Batch | None = None

    @property
    def population(self) -> Array | None:
        """(P, V) the candidates it goes on from; None before the first round."""
        return self._x

    def advance(self, bench: Bench, rng: np.random.Generator) -> None:
        """One generation. The first one measures the scatter; after a pause, the population is recalled first."""
        if self._x is None:
            self._begin(bench, scatter(bench.problem, self._size, rng))
            return
        if self._batch is None:
            self._batch = bench.recall(self._x)
        generation = Generation(bench.problem, self._x, self._batch, rng)
        offspring = bench.problem.choices.mixed(generation.offspring, rng)
        if not len(offspring):  # all parents alike: no crossing of them is new
            self._begin(bench, scatter(bench.problem, self._size, rng))
            return
        batch = bench.measure(offspring)
        if len(batch) == len(offspring):
            rows = generation.survivors(batch)
            self._x, self._batch = np.concatenate([self._x, offspring])[rows], joined(self._batch, batch).take(rows)

    def _begin(self, bench: Bench, x: Array) -> None:
        batch = bench.measure(x)
        if len(batch) == len(x):
            self._x, self._batch = x, batch


def scatter(problem: Problem, size: int, rng: np.random.Generator) -> Array:
    """(size, V) points around `problem.start`, in the bounds, the start itself (moved into them) first."""
    span = problem.upper - problem.lower
    narrow, wide = round(NARROW_SHARE * size), round(WIDE_SHARE * size)
    deviation = np.repeat([NARROW, WIDE], [narrow, wide])[:, None] * span
    near = problem.start + deviation * rng.standard_normal((narrow + wide, len(span)))
    far = problem.choices.placed(rng.random((size - narrow - wide, len(span))), problem.lower, problem.upper)
    x = problem.choices.snapped(np.clip(np.concatenate([near, far]), problem.lower, problem.upper))
    x[0] = np.clip(problem.start, problem.lower, problem.upper)
    return np.asarray(x)
