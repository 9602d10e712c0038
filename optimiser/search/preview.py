"""A look at a problem before it is searched: how many candidates are feasible, what the others miss, how fast it is.

Nothing of it goes into a search.

Symbols: N candidates, V variables, H held goals.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from objectives.goals import FAILED
from optimiser.search.bench import Bench
from optimiser.search.crew import Tools
from optimiser.search.evolution import NARROW
from optimiser.search.island import Budget, Settings, search
from optimiser.search.plan import OPENING
from optimiser.search.problem import Batch, Problem
from optimiser.search.rounds import spread_over

SPREAD, NEAR = 1000, 200
"""Candidates over the whole range, and around the study's own geometry."""
TRIAL = 2.0
"""About how long a search is tried for its pace [s]."""
SHORTEST = 1000
"""Candidates of such a trial at least."""


@dataclass(frozen=True)
class Sample:
    """What `count` candidates came to: `feasible` of them hold every goal.

    `missed` (H): how many miss each held goal, in the problem's order; `alone` (H): how many miss this one and no
    other. `unmeasured`: how many have a figure that has no value, such as where the rod does not reach.
    """

    count: int
    feasible: int
    missed: tuple[int, ...]
    alone: tuple[int, ...]
    unmeasured: int


@dataclass(frozen=True)
class Preview:
    """`spread` over the whole range, `near` the study's own geometry; None where that lies outside the bounds.

    `evaluated` candidates a second are evaluated in one process; a search, which has more to do, gets through
    `searched` a second.
    """

    spread: Sample
    near: Sample | None
    evaluated: float
    searched: float


def preview(tools: Tools, seed: int, clock: Callable[[], float] = time.monotonic) -> Preview:
    """Evaluate some candidates, the same ones for one seed, and try a search for a moment, timed by `clock` [s]."""
    problem, rng = tools.problem, np.random.default_rng(seed)
    points = spread_over(tools.parts, SPREAD, rng)
    began = clock()
    batch = Bench(problem).recall(points)
    evaluated = SPREAD / max(clock() - began, 1e-9)
    near = sample(Bench(problem).recall(around(problem, NEAR, rng))) if problem.start_is_inside else None
    return Preview(sample(batch), near, evaluated, _pace(tools, seed, evaluated, clock))


def sample(batch: Batch) -> Sample:
    """The count of a batch."""
    missed = batch.violations > 0.0
    alone = missed & (missed.sum(axis=1, keepdims=True) == 1)
    unmeasured = (batch.violations >= FAILED).any(axis=1)
    return Sample(
        count=len(batch),
        feasible=int(batch.feasible.sum()),
        missed=tuple(missed.sum(axis=0).tolist()),
        alone=tuple(alone.sum(axis=0).tolist()),
        unmeasured=int(unmeasured.sum()),
    )


def around(problem: Problem, count: int, rng: np.random.Generator) -> Array:
    """(count, V) points around the problem's start, inside the bounds, as widely scattered as `NARROW` says."""
    width = NARROW * (problem.upper - problem.lower)
    points = problem.start + width * rng.standard_normal((count, len(width)))
    return problem.choices.snapped(np.clip(points, problem.lower, problem.upper))


def _pace(tools: Tools, seed: int, evaluated: float, clock: Callable[[], float]) -> float:
    """Candidates a second that a search gets through, by the beginning of one."""
    limit = int(np.clip(TRIAL * evaluated, SHORTEST, OPENING))
    settings = Settings(seed, clock=clock)
    tools.parts.sketched.measure(tools.problem.start[None])  # compiled before the clock starts
    began = clock()
    *_, end = search(tools.problem, Budget(limit, TRIAL), settings, parts=tools.parts, look=tools.look)
    return end.evaluations / max(clock() - began, 1e-9)
