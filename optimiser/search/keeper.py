"""Keeps what is held: takes members out of the front that miss a held goal on a finer grid, and learns from them.

What was missed there is kept as a margin: from then on a candidate has to meet its held goals with that much in hand,
and those that were taken out are brought back to where they do. Every member is looked at once, as it comes.

Symbols: N points, V variables, H held goals.
"""

from typing import Protocol

import numpy as np

from geometry.arrays import Array
from objectives.goals import FAILED
from optimiser.search.bench import Bench
from optimiser.search.parts import PartsProblem
from optimiser.search.problem import Problem
from optimiser.search.refinement import RETURN_STEPS, reach

AHEAD = 1.2
"""The margin grows by so many times what was missed: members that are still to come may miss by more."""
RETURNS = 2
"""How often those taken out are brought back; what misses once more is given up."""


class FinerLook(Protocol):
    """Solves candidates again on a finer grid; `largest_margin` (H,) is what may be kept in hand at most."""

    largest_margin: Array

    def __call__(self, x: Array) -> Array:
        """Scaled violations (N, H) of points (N, V) there; `FAILED` where there is no number."""


class Keeper:
    """Looks after the members of a search whose problem is `problem`, and `parts` as derivatives see it.

    `margin` (H,) is what is kept in hand of each held goal, in its scale; `taken_out` counts the members that missed.
    """

    def __init__(self, look: FinerLook, problem: Problem, parts: PartsProblem | None) -> None:
        self._look, self._problem, self._parts = look, problem, parts
        self._seen = 0
        self.margin = np.zeros(len(look.largest_margin))
        self.taken_out = 0

    @property
    def problem(self) -> Problem:
        """The problem with the margin kept."""
        return self._problem.kept(self.margin)

    @property
    def parts(self) -> PartsProblem | None:
        """The same as derivatives see it."""
        return None if self._parts is None else self._parts.kept(self.margin)

    def seen(self, next_id: int) -> None:
        """Take members named below `next_id` as looked at: they stood before the search went on."""
        self._seen = next_id

    def keep(self, bench: Bench) -> bool:
        """Look at the members not seen so far; whether the margin, and with it the bench's problem, has changed."""
        before = self.margin
        missed = self._take_out(bench)
        for _ in range(RETURNS):
            back = self._brought_back(bench, missed)
            if not len(back):
                break
            bench.measure(back)
            missed = self._take_out(bench)
        return not np.array_equal(before, self.margin)

    def _take_out(self, bench: Bench) -> Array:
        """Take out the new members that miss, and learn from them: their variables (N, V)."""
        archive, new = bench.archive, bench.archive.ids >= self._seen
        self._seen = archive.next_id
        violations = self._look(archive.x[new])
        missed = (violations > 0.0).any(axis=1)
        if not missed.any():
            return archive.x[:0]
        rows = np.flatnonzero(new)[missed]
        bench.archive = archive.take(np.delete(np.arange(len(archive)), rows))
        self.taken_out += len(rows)
        known = np.where(violations < FAILED, violations, 0.0)
        learned = self.margin + AHEAD * known.max(axis=0, initial=0.0)
        self.margin = np.minimum(learned, self._look.largest_margin)
        bench.problem = self.problem
        return archive.x[rows]

    def _brought_back(self, bench: Bench, x: Array) -> Array:
        """Points (N, V) brought to where they meet what is held with the margin, as many as can still be afforded."""
        each = 2 + (RETURN_STEPS + 1) * (2 * x.shape[1] + 4)
        x = x if bench.left is None else x[: bench.left // each]
        if self.parts is None or not len(x):
            return x[:0]
        reached = reach(self.parts, x, RETURN_STEPS)
        bench.charge(reached.evaluations)
        return reached.x
