"""Members of a results folder recomputed from their variables alone: every figure, objective and margin of theirs."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from objectives.catalogue.catalogue import describe
from objectives.evaluate import evaluate
from objectives.goals import held, left, objective_values, objectives, scale_of
from optimiser.report.results.store import Store, Table
from optimiser.study.study import Study
from optimiser.study.variables import candidates

TOLERANCE = 1e-6
"""The largest difference that counts as none: of the number itself or, where that is larger, of what counts as one in
it (`objectives.goals.scale_of`). A search computes with a compiled kernel and the doctor with the plain one; they agree
to some 1e-10."""
CHUNK = 64
"""Candidates recomputed at once."""

Row = tuple[str, Table, int]
"""A candidate: its name, its table, its row there."""


@dataclass(frozen=True)
class Difference:
    """A number that is not what follows from its candidate's variables; NaN where null. `entry`: what it is of."""

    candidate: str
    entry: str
    says: float
    recomputed: float


@dataclass(frozen=True)
class Recomputed:
    """What was recomputed: the ids of the members, chosen from `members` by `seed`, and other candidates by name.

    `numbers` were compared; those that differ are `differences`, and `largest` is the largest difference of the rest,
    measured as `TOLERANCE` is.
    """

    ids: tuple[int, ...]
    others: tuple[str, ...]
    members: int
    seed: int
    numbers: int
    largest: float
    differences: tuple[Difference, ...]


def recompute(store: Store, study: Study, members: int, seed: int) -> Recomputed:
    """Recompute so many members (all, where there are no more), the study's own geometry and the closest candidate.

    Raises ValueError or KeyError where the study or the catalogue does not go with what is saved.
    """
    front = store.front
    chosen = np.random.default_rng(seed).permutation(len(front.ids))[:members]
    others: list[Row] = [
        (name, table, 0) for name, table in (("base", store.base), ("closest", store.closest)) if table
    ]
    rows = [*((str(front.ids[row]), front, row) for row in sorted(chosen.tolist())), *others]
    found = [
        pair for start in range(0, len(rows), CHUNK) for pair in _compared(store, study, rows[start : start + CHUNK])
    ]
    gaps = [gap for gap, _ in found if gap <= TOLERANCE]
    return Recomputed(
        ids=tuple(front.ids[row] for row in sorted(chosen.tolist())),
        others=tuple(name for name, _, _ in others),
        members=len(front.ids),
        seed=seed,
        numbers=len(found),
        largest=max(gaps, default=0.0),
        differences=tuple(difference for gap, difference in found if gap > TOLERANCE),
    )


def _compared(store: Store, study: Study, rows: Sequence[Row]) -> Iterator[tuple[float, Difference]]:
    """Every number of some candidates beside its recomputation, and how far apart the two are."""
    x = np.array([[table.variables[one.path][row] for one in study.variables] for _, table, row in rows])
    values = evaluate(candidates(study, x), study.travel, store.manifest.figures, study.fittings).values
    figures = {name: np.broadcast_to(column, len(rows)) for name, column in values.items()}
    for place, (name, table, row) in enumerate(rows):
        for entry, scale, says, recomputed in _entries(study, table, row, figures, place):
            yield _gap(says, recomputed, scale), Difference(name, entry, says, recomputed)


def _entries(
    study: Study, table: Table, row: int, figures: Mapping[str, Array], place: int
) -> Iterator[tuple[str, float, float, float]]:
    """Of each number of a candidate: what it is, what counts as one in it, what is saved, and what is recomputed."""
    own = {name: column[place] for name, column in figures.items()}
    for name, value in own.items():
        yield name, describe(name).scale, table.figures[name][row], float(value)
    values = objective_values(study.goals, own)
    for goal, value in zip(objectives(study.goals), values.tolist(), strict=True):
        yield f"objective {goal.figure}", 1.0, table.objectives[goal.figure][row], value
    for kept in held(study.goals):
        rest = float(left(kept, own[kept.figure]))
        yield f"left of {kept.figure}", scale_of(kept), table.left[kept.figure][row], rest


def _gap(says: float, recomputed: float, scale: float) -> float:
    """How far two numbers are apart; infinite where one of them alone is null."""
    if np.isnan(says) and np.isnan(recomputed):
        return 0.0
    gap = abs(says - recomputed) / max(abs(recomputed), scale)
    return float("inf") if np.isnan(gap) else float(gap)
