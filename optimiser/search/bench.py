"""The bench that every way of proposing candidates works at: it measures, counts, and keeps what is worth keeping.

A way of proposing is a `Strategy`. Several of them may share one bench: what one finds in the archive is there for
the next. A bench is the one thing of a search that changes.

Symbols: K candidates proposed, V variables.
"""

from dataclasses import replace
from typing import Protocol

import numpy as np

from geometry.arrays import Array
from optimiser.search.archive import CAPACITY, Archive, empty, insert
from optimiser.search.problem import Batch, Problem

CHUNK = 256
"""Candidates measured in one call: few enough for the processor's cache and a quick answer to Ctrl-C."""


class Bench:
    """A problem, the candidates measured so far, and what is kept of them.

    `archive` holds the members; `closest` (V,) and `closest_violation` the candidate that violates least, while none
    is feasible; `evaluations` and `feasible` count over the whole campaign, which ends at `limit` evaluations.
    """

    def __init__(self, problem: Problem, limit: int | None = None, capacity: int = CAPACITY, stride: int = 1) -> None:
        self.problem = problem
        self.archive: Archive = replace(empty(len(problem.lower), problem.objectives, capacity), stride=stride)
        self.closest: Array | None = None
        self.closest_violation = np.inf
        self.evaluations = 0
        self.feasible = 0
        self.limit = limit
        self.cost = 0.0
        """What was spent, in candidates: evaluations, and what strategies charge for their own work."""

    @property
    def left(self) -> int | None:
        """Evaluations left of the campaign; None where it has no limit."""
        return None if self.limit is None else max(0, self.limit - self.evaluations)

    def charge(self, evaluations: int, work: float = 0.0) -> None:
        """Count evaluations that a strategy made by itself, and its own work in candidates."""
        self.evaluations += evaluations
        self.cost += evaluations + work

    @property
    def spent(self) -> bool:
        """Whether all evaluations of the campaign are used."""
        return self.limit is not None and self.evaluations >= self.limit

    def measure(self, x: Array) -> Batch:
        """What candidates `x` (K, V) inside the bounds come to, and their place in the archive.

        Where fewer than K evaluations are left, only the first rows are measured and the batch is as short. A variable
        of listed values is measured, and kept, at the nearest of them.
        """
        x = self.problem.choices.snapped(x)
        left = len(x) if self.limit is None else max(0, min(len(x), self.limit - self.evaluations))
        batch = self.recall(x[:left])
        self.charge(left)
        self.feasible += int(batch.feasible.sum())
        self._keep(x[:left], batch)
        return batch

    def recall(self, x: Array) -> Batch:
        """What candidates (K, V) that were measured before come to: neither counted nor kept again."""
        problem, size = self.problem, len(x)
        objectives, held = np.zeros((size, problem.objectives)), np.zeros((size, 0))
        parts = [problem.evaluate(x[start : start + CHUNK]) for start in range(0, size, CHUNK)]
        if not parts:
            return Batch(objectives, held)
        return Batch(
            np.concatenate([part.objectives for part in parts]), np.concatenate([part.violations for part in parts])
        )

    def _keep(self, x: Array, batch: Batch) -> None:
        feasible = batch.feasible
        if feasible.any():
            self.archive = insert(self.archive, x[feasible], batch.objectives[feasible])
            self.closest, self.closest_violation = None, np.inf
        elif not self.feasible and len(x):
            nearest = int(batch.total.argmin())
            if batch.total[nearest] < self.closest_violation:
                self.closest, self.closest_violation = x[nearest].copy(), float(batch.total[nearest])


class Strategy(Protocol):
    """A way of proposing candidates."""

    def advance(self, bench: Bench, rng: np.random.Generator) -> None:
        """Do one round: propose, have the bench measure, learn. Takes its chances from `rng` alone.

        A round lasts a second at most, so that a search can be stopped; a batch shorter than what was proposed says
        that the search is at its end.
        """
