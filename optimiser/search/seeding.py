"""Which of earlier designs a new search begins with, and what has become of them under its goals.

Symbols: N designs, K of them taken, V variables, H held goals.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from optimiser.search.archive import empty, insert
from optimiser.search.bench import Bench
from optimiser.search.preview import Sample, sample
from optimiser.search.problem import Problem

MOST = 512
"""Designs that a search begins with at most: few beside its opening, many enough for the whole of a front."""
FIRST = 32
"""So many of those that hold every goal come first, and so many of the others next: all of them are started from."""


@dataclass(frozen=True)
class Seeds:
    """The designs `x` (K, V) that a search begins with, those that it is to start from first.

    `sample`: what all designs came to; two of one geometry count once. `moved` (V,): how many lay outside each
    variable's bounds, and were moved there, or between its listed values.
    """

    x: Array
    sample: Sample
    moved: tuple[int, ...]


def seeds(problem: Problem, designs: Array) -> Seeds:
    """Measure `designs` (N, V) as candidates of `problem`, and choose at most `MOST` of them.

    Of those that hold every goal the ones that no other dominates, ends and knee first and then thinned evenly; the
    others in the order of what they miss the goals by.
    """
    inside = problem.choices.snapped(np.clip(designs, problem.lower, problem.upper))
    moved = tuple((inside != designs).sum(axis=0).tolist())
    unlike = inside[np.sort(np.unique(inside, axis=0, return_index=True)[1])]
    batch = Bench(problem).recall(unlike)
    good = batch.feasible
    size = (len(problem.lower), problem.objectives)
    front = insert(empty(*size, MOST), unlike[good], batch.objectives[good])
    first = np.isin(front.ids, insert(empty(*size, FIRST), unlike[good], batch.objectives[good]).ids)
    rest = unlike[~good][np.argsort(batch.total[~good], kind="stable")]
    chosen = np.concatenate([front.x[first], rest[:FIRST], front.x[~first], rest[FIRST:]])
    return Seeds(chosen[:MOST], sample(batch), moved)
