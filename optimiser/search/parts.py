"""A problem as derivatives see it: every maximum and absolute value written out as the smooth parts it is made of.

Symbols: N candidates, V variables, R parts, M objectives, H held goals.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array, Flags, Indices
from objectives.goals import FAILED
from optimiser.search.choices import FREE, Choices


@dataclass(frozen=True)
class PartsProblem:
    """What a search by derivatives sees; minimised and dimensionless.

    `lower`, `upper` (V,) are the bounds in the file's units, `objectives` = M. `owner` (R,): part r belongs to
    objective owner[r] < M, or to held goal owner[r] - M. An objective is the largest of its parts; a held goal is met
    where none of its parts is above 0. `parts` takes points (N, V) inside the bounds to (N, R), smooth in x; where a
    candidate cannot be measured they are NaN, or `FAILED` exactly. Raises ValueError where an objective or a
    held goal has no part.

    `sketch`, where there is one, is the same problem at fewer travel points: what refinement takes its steps by, before
    the problem itself has the last word. Variables of `choices` are held fixed by whoever uses derivatives.
    """

    lower: Array
    upper: Array
    objectives: int
    owner: Indices
    parts: Callable[[Array], Array]
    sketch: "PartsProblem | None" = None
    choices: Choices = FREE

    def __post_init__(self) -> None:
        owned = np.unique(self.owner)
        if not np.array_equal(owned, np.arange(len(owned))) or len(owned) < max(self.objectives, 1):
            raise ValueError(f"each objective and each held goal needs a part of its own; parts belong to {owned}")

    @property
    def held(self) -> int:
        """H, how many goals are held."""
        return int(self.owner.max()) + 1 - self.objectives

    def measure(self, x: Array) -> Array:
        """The parts (N, R) of candidates (N, V), finite: `FAILED` where there is none."""
        return np.nan_to_num(self.parts(x), nan=FAILED, posinf=FAILED, neginf=FAILED)

    def kept(self, margin: Array) -> "PartsProblem":
        """The same with `margin` (H,) >= 0 kept in hand of every held goal, in its scale."""
        shift = np.concatenate([np.zeros(self.objectives), margin])[self.owner]

        def parts(x: Array) -> Array:
            found = self.parts(x)
            return np.where(found == FAILED, FAILED, found + shift)

        return replace(self, parts=parts, sketch=None if self.sketch is None else self.sketch.kept(margin))

    @property
    def sketched(self) -> "PartsProblem":
        """The sketch, or the problem itself where there is none."""
        return self if self.sketch is None else self.sketch

    def largest(self, parts: Array) -> tuple[Array, Array]:
        """Objectives (N, M) and violations (N, H) that parts (N, R) come to."""
        values = np.stack([parts[:, self.owner == k].max(axis=1) for k in range(self.objectives + self.held)], axis=1)
        return values[:, : self.objectives], values[:, self.objectives :]


def unmeasured(parts: Array) -> Flags:
    """Which candidates have a part, of (..., R), that could not be measured. A large number is not one of them."""
    return np.asarray((parts == FAILED).any(axis=-1))


def total_violation(problem: PartsProblem) -> PartsProblem:
    """The problem of missing the held goals by as little as can be: one objective, and nothing held.

    The objective is the root of the sum of the squares of what is missed, as in `optimiser.search.problem.Batch.total`.
    """

    def total(x: Array) -> Array:
        _, violations = problem.largest(problem.measure(x))
        return np.asarray(np.linalg.norm(np.maximum(violations, 0.0), axis=1, keepdims=True))

    return replace(problem, objectives=1, owner=np.zeros(1, dtype=np.intp), parts=total, sketch=None)
