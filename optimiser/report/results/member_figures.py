"""Every figure of a front's members, each member measured once however often the front is saved.

Symbols: N members, F figures, K newcomers.
"""

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array
from objectives.catalogue import figure_names
from objectives.evaluate import Evaluator
from optimiser.report.results.folder import SavedFigures
from optimiser.search.snapshot import Snapshot
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates

CHUNK = 256
"""Candidates measured in one call."""


class MemberFigures:
    """The figures of one study's members; keeps those of the last snapshot."""

    def __init__(self, study: Study) -> None:
        self._study = study
        self._names = figure_names(study.axle)
        self._evaluator = Evaluator(study.travel)
        self._ids: NDArray[np.int64] = np.zeros(0, dtype=np.int64)
        self._rows: Array = np.zeros((0, len(self._names)))
        self._base = self._measure(base_point(study)[None])

    def of(self, snapshot: Snapshot) -> SavedFigures:
        """All figures that go with a snapshot."""
        self._rows, self._ids = self._rows_of(snapshot), snapshot.ids
        closest = {} if snapshot.closest is None else self._named(self._measure(snapshot.closest[None]))
        return SavedFigures(
            members={name: self._rows[:, k] for k, name in enumerate(self._names)},
            base=self._named(self._base),
            closest=closest,
        )

    def _rows_of(self, snapshot: Snapshot) -> Array:
        """(N, F) figures of the members, those known already taken over."""
        places = np.searchsorted(self._ids, snapshot.ids)
        known = np.isin(snapshot.ids, self._ids)
        rows = np.empty((len(snapshot.ids), len(self._names)))
        rows[known] = self._rows[places[known]]
        rows[~known] = self._measure(snapshot.x[~known])
        return rows

    def _measure(self, x: Array) -> Array:
        """(K, F) figures at points (K, V)."""
        rows = np.empty((len(x), len(self._names)))
        for start in range(0, len(x), CHUNK):
            chunk = slice(start, start + CHUNK)
            values = self._evaluator.evaluate(candidates(self._study, x[chunk])).values
            for k, name in enumerate(self._names):
                rows[chunk, k] = values[name]
        return rows

    def _named(self, rows: Array) -> dict[str, float]:
        return {name: float(rows[0, k]) for k, name in enumerate(self._names)}
