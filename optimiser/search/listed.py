"""Problems whose variables all take listed values: every point is measured once, and then nothing is left to search.

Symbols: K points, V variables.
"""

from itertools import product

import numpy as np

from geometry.arrays import Array
from optimiser.search.bench import CHUNK, Bench
from optimiser.search.problem import Problem

MOST_LISTED = 32_000
"""Points that are measured one and all; where there are more, they are searched as any others. No more than the
evaluations of a campaign's opening, which is one island."""


def listed_points(problem: Problem) -> Array | None:
    """All points (K, V) of a problem, the study's own first if it is one; None where they are too many, or endless."""
    values = problem.choices.values
    if len(values) < len(problem.lower) or np.prod([float(len(each)) for each in values.values()]) > MOST_LISTED:
        return None
    points = np.array(list(product(*(values[column] for column in range(len(values))))))
    if not problem.start_is_inside:
        return points
    own = (points == problem.choices.snapped(problem.start[None])).all(axis=1)
    return np.concatenate([points[own], points[~own]])


class Listing:
    """The strategy: the `points` (K, V) in their order, from the one that the count of evaluations has come to."""

    population: Array | None = None
    """None: there is nothing to go on from but the count."""

    def __init__(self, points: Array) -> None:
        self._points = points

    def advance(self, bench: Bench, _rng: np.random.Generator) -> None:
        """One round: the next points."""
        bench.measure(self._points[bench.evaluations : bench.evaluations + CHUNK])
