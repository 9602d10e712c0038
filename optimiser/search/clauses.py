"""What a study asks, clause by clause, so that one can be left out, let out, or wished for while the others hold.

A clause is a held goal, or a bound of a variable. How far a clause is let out counts in its own scale: a goal's, or
the range between the variable's bounds.

Symbols: N candidates, V variables, R parts, H held goals.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import IntEnum

import numpy as np

from geometry.arrays import Array, Indices
from optimiser.search.parts import PartsProblem

WIDE = 1.0
"""By how much a bound is let out to see what there is without it: once more the range between the bounds."""


class Kind(IntEnum):
    """What a clause asks."""

    GOAL = 0
    """A held goal."""
    LOW = 1
    """The lower bound of a variable."""
    HIGH = 2
    """The upper bound of a variable."""


@dataclass(frozen=True)
class Clause:
    """One thing that is asked: `index` counts the held goals, or the variables."""

    kind: Kind
    index: int


@dataclass(frozen=True)
class Asked:
    """A question made of clauses: `goals` are held, `let_out` says by how much, `wish` is to be violated the least.

    All bounds are held unless they are let out; a wish is held no more, and is let out by `WIDE` if it is a bound.
    """

    goals: tuple[int, ...]
    let_out: Mapping[Clause, float] = field(default_factory=dict)
    wish: Clause | None = None

    def without(self, clause: Clause) -> "Asked":
        """This question with a clause left out."""
        if clause.kind is Kind.GOAL:
            return replace(self, goals=tuple(goal for goal in self.goals if goal != clause.index))
        return self.letting(clause, WIDE)

    def letting(self, clause: Clause, amount: float) -> "Asked":
        """This question with a clause let out."""
        return replace(self, let_out={**self.let_out, clause: amount})

    def wishing(self, clause: Clause) -> "Asked":
        """This question with a clause left out, and its violation to be made small."""
        return replace(self.without(clause), wish=clause)


def problem_for(asked: Asked, whole: PartsProblem) -> PartsProblem:
    """The problem that a question poses: its one objective is the wish's violation (none without), then its goals.

    A question without goals and wish has one objective that is 0 wherever the whole can be measured.
    """
    span = whole.upper - whole.lower
    lower, upper = whole.lower.copy(), whole.upper.copy()
    for clause, amount in asked.let_out.items():
        if clause.kind is Kind.LOW:
            lower[clause.index] -= amount * span[clause.index]
        elif clause.kind is Kind.HIGH:
            upper[clause.index] += amount * span[clause.index]
    columns = [_columns(whole, goal) for goal in asked.goals]
    let_out = [asked.let_out.get(Clause(Kind.GOAL, goal), 0.0) for goal in asked.goals]
    taken = np.concatenate([np.zeros(0, np.intp), *columns])
    amounts = np.repeat(let_out, [len(each) for each in columns])

    def parts(x: Array) -> Array:
        rows = whole.parts(x)
        return np.concatenate([_wished(asked.wish, whole, x, rows), rows[:, taken] - amounts], axis=1)

    wishes = len(_columns(whole, asked.wish.index)) if asked.wish and asked.wish.kind is Kind.GOAL else 1
    owners = [np.zeros(wishes, np.intp), *(np.full(len(each), k + 1) for k, each in enumerate(columns))]
    return PartsProblem(lower, upper, 1, np.concatenate(owners), parts, choices=whole.choices)


def _columns(whole: PartsProblem, goal: int) -> Indices:
    return np.flatnonzero(whole.owner == whole.objectives + goal)


def _wished(wish: Clause | None, whole: PartsProblem, x: Array, rows: Array) -> Array:
    """The parts (N, W) of what is to be made small."""
    if wish is None:
        return np.where(np.isfinite(rows).any(axis=1, keepdims=True), 0.0, np.nan)
    if wish.kind is Kind.GOAL:
        return rows[:, _columns(whole, wish.index)]
    k, span = wish.index, whole.upper[wish.index] - whole.lower[wish.index]
    beyond = whole.lower[k] - x[:, k] if wish.kind is Kind.LOW else x[:, k] - whole.upper[k]
    return np.asarray(beyond / span)[:, None]
