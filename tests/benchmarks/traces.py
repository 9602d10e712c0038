"""What one run of a search found, and when: the fronts that it held at several moments, kept as plain arrays.

Symbols: T moments, N members of a front, M objectives.
"""

import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from geometry.arrays import Array
from optimiser.search.volume import nondominated

MARKS = (1.0, 2.0, 5.0, 10.0, 30.0, 60.0)
"""Moments at which searches are compared [s]."""


def marks_within(seconds: float) -> tuple[float, ...]:
    """The moments of comparison of runs of so many seconds: those of `MARKS` that fit, and the end."""
    return (*(mark for mark in MARKS if mark < seconds), seconds)


@dataclass(frozen=True)
class Trace:
    """One run: `fronts` (N, M) of feasible, non-dominated objectives that it held at `times` (T,) [s], rising.

    Times count from after the start-up, whose length is `start_up` [s]; `evaluations`, candidates measured, took
    `searched` [s] and `cpu` [s] of processor time.
    """

    times: tuple[float, ...]
    fronts: tuple[Array, ...]
    evaluations: int
    searched: float
    start_up: float
    cpu: float

    @property
    def speed(self) -> float:
        """Candidates a second."""
        return self.evaluations / self.searched

    @property
    def cores(self) -> float:
        """How many cores' worth of time the run got: below 1 on a machine that others use too."""
        return self.cpu / self.searched

    @property
    def last(self) -> Array:
        """The front at the end (N, M), whenever that was."""
        return self.fronts[-1]

    def at(self, mark: float) -> Array:
        """The last front (N, M) that the run held at or before a moment [s]; none of it where that came too soon."""
        before = [front for time, front in zip(self.times, self.fronts, strict=True) if time <= mark]
        return before[-1] if before else self.last[:0]

    def save(self, path: Path) -> None:
        """Write the run as an npz file without Python objects."""
        numbers = np.array([self.evaluations, self.searched, self.start_up, self.cpu])
        fronts = {f"front{k}": front for k, front in enumerate(self.fronts)}
        np.savez(path, allow_pickle=False, times=np.array(self.times), numbers=numbers, **fronts)


def load(path: Path) -> Trace:
    """Read what `Trace.save` wrote."""
    with np.load(path, allow_pickle=False) as kept:
        times = tuple(float(time) for time in kept["times"])
        evaluations, searched, start_up, cpu = (float(number) for number in kept["numbers"])
        fronts = tuple(kept[f"front{k}"] for k in range(len(times)))
    return Trace(times, fronts, int(evaluations), searched, start_up, cpu)


def processor_time() -> float:
    """Processor time [s] of this process so far, and of the processes it started that have ended."""
    return sum(os.times()[:4])


@dataclass(frozen=True)
class Found:
    """A batch that a search measured: the objectives (N, M) of its feasible candidates, and when [s]."""

    time: float
    objectives: Array


def fronts_at(found: list[Found], marks: tuple[float, ...], objectives: int) -> tuple[Array, ...]:
    """The front of everything found until each of `marks`: nothing feasible is ever lost.

    This is worked out after the run, so that a search which keeps no archive of its own has one at no cost.
    """
    fronts, front = [], np.zeros((0, objectives))
    before = -np.inf
    for mark in marks:
        new = [batch.objectives for batch in found if before < batch.time <= mark]
        merged = np.concatenate([front, *new])
        front, before = merged[nondominated(merged)], mark
        fronts.append(front)
    return tuple(fronts)
