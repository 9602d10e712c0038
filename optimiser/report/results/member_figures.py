"""Every figure of a front's members, each member measured once however often the front is saved.

Symbols: N members, F figures, K newcomers.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array
from geometry.lanes import KERNEL, in_lanes, out_of_lanes
from objectives.catalogue.catalogue import asked_names, describe
from objectives.evaluate import Evaluator
from objectives.goals import Best
from objectives.program import Program
from objectives.survey import plan_states
from optimiser.report.results.build_spreads import build_spreads
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
        self._names = asked_names(study.axle, study.fittings, (goal.figure for goal in study.goals))
        self._reader = _Reader(study, self._names)
        self._ids: NDArray[np.int64] = np.zeros(0, dtype=np.int64)
        self._rows: Array = np.zeros((0, len(self._names)))
        self._base = self._measure(base_point(study)[None])
        self._spreads = build_spreads(study)

    def of(self, snapshot: Snapshot) -> SavedFigures:
        """All figures that go with a snapshot."""
        self._rows, self._ids = self._rows_of(snapshot), snapshot.ids
        closest = {} if snapshot.closest is None else self._named(self._measure(snapshot.closest[None]))
        return SavedFigures(
            members={name: self._rows[:, k] for k, name in enumerate(self._names)},
            base=self._named(self._base),
            closest=closest,
            spreads=self._spreads,
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
            rows[chunk] = self._reader.read(x[chunk])
        return rows

    def _named(self, rows: Array) -> dict[str, float]:
        return {name: float(rows[0, k]) for k, name in enumerate(self._names)}


class _Reader:
    """Reads all figures of a batch: compiled where a program knows them, else from a survey."""

    def __init__(self, study: Study, names: Sequence[str]) -> None:
        self._study, self._names = study, names
        plan = plan_states(study.travel)
        smallest = Program([Best(name, "minimise") for name in names], study.axle, plan)
        rest = [name for place, name in enumerate(names) if place not in smallest.known]
        largest = Program([Best(name, "maximise") for name in rest], study.axle, plan)
        self._programs = (
            (smallest, [names[place] for place in smallest.known], 1.0),
            (largest, [rest[place] for place in largest.known], -1.0),
        )
        known = {name for _, of_program, _ in self._programs for name in of_program}
        self._others = [name for name in names if name not in known]
        self._evaluator = Evaluator(study.travel, self._others, KERNEL, study.fittings)

    def read(self, x: Array) -> Array:
        """(K, F) figures at points (K, V); NaN where null."""
        axle, count = candidates(self._study, in_lanes(x)), len(x)
        columns: dict[str, Array] = {}
        for program, names, sign in self._programs:
            ends = np.cumsum((0, *program.sizes))
            parts = program.run(axle)[:count] if names else np.zeros((count, 0))
            for name, begin, end in zip(names, ends[:-1], ends[1:], strict=True):
                columns[name] = sign * describe(name).scale * parts[:, begin:end].max(axis=1)
        shape = in_lanes(x).shape[:2]
        for name, value in self._evaluator.evaluate(axle).values.items():
            columns[name] = out_of_lanes(np.broadcast_to(value, shape), count)
        return np.stack([columns[name] for name in self._names], axis=1)
