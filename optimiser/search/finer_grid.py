"""The states of a grid of heave and roll ten times finer than a study's own, as far as they have to be looked at.

| symbol | meaning |
|---|---|
| S | states of the study's own grid |
| C | those of them that are looked around |
| F | finer states around these |
"""

from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array, Flags
from geometry.side import SAME
from geometry.travel import INSIDE, AxleStates, Travel, grid_states, travel_points
from objectives.survey import Plan, plan_over, plan_states

FINER = 10
"""How many times finer the grid is."""


@dataclass(frozen=True)
class Surroundings:
    """The finer sweeps of a travel, and the finer states around some of its own.

    `around` (S,): which states are looked around. `plan`: its grid begins with a few finer states through which each
    wheel takes all its travels, and goes on with the F around them, which stand in `columns`. `reach` (C, F): which of
    these belong to which state, in the order of `around`.
    """

    around: Flags
    plan: Plan
    columns: slice
    reach: Flags

    def near(self, states: Flags) -> Flags:
        """Which of the F lie around one of a candidate's own states (N, S): (N, F)."""
        return np.asarray((states[:, self.around].astype(np.float32) @ self.reach.astype(np.float32)) > 0.0)


class Grid:
    """A study's own grid of heave and roll, and the one ten times finer."""

    def __init__(self, travel: Travel) -> None:
        self.plan = plan_states(travel)
        self._finer = replace(travel, step=travel.step / FINER)
        self._states = grid_states(travel)
        self._fine = grid_states(self._finer)
        self._lines = tuple(travel_points(span, travel.step) for span in (travel.heave, travel.roll))
        self._place = tuple(
            np.abs(own[:, None] - line).argmin(axis=1)
            for own, line in zip(_heave_and_roll(self._states), self._lines, strict=True)
        )

    def __len__(self) -> int:
        return len(self._states)

    def crests(self, heights: Array) -> Flags:
        """Which states (N, S) no neighbour tops, of heights (N, at least S) on the grid; -inf counts as no state."""
        size = tuple(len(line) + 2 for line in self._lines)
        table = np.full((len(heights), *size), -np.inf)
        rows, columns = self._place
        own = heights[:, : len(self)]
        table[:, rows + 1, columns + 1] = own
        topped = np.zeros(own.shape, dtype=np.bool_)
        for i in (0, 1, 2):
            for j in (0, 1, 2):
                topped |= table[:, rows + i, columns + j] > own
        return ~topped

    def surroundings(self, around: Flags) -> Surroundings:
        """The finer states no further from the states `around` (S,) than these are from their neighbours."""
        fine = _heave_and_roll(self._fine)
        reach = np.ones((int(around.sum()), len(self._fine)), dtype=np.bool_)
        for line, place, along in zip(self._lines, self._place, fine, strict=True):
            low = line[np.maximum(place[around] - 1, 0)]
            high = line[np.minimum(place[around] + 1, len(line) - 1)]
            reach &= (along >= low[:, None] - INSIDE) & (along <= high[:, None] + INSIDE)
        _, lefts = np.unique(self._fine.z_left.round(SAME), return_index=True)
        _, rights = np.unique(self._fine.z_right.round(SAME), return_index=True)
        first, asked = np.union1d(lefts, rights), np.flatnonzero(reach.any(axis=0))
        chosen = np.concatenate([first, asked])
        states = AxleStates(self._fine.z_left[chosen], self._fine.z_right[chosen], np.zeros(len(chosen)))
        plan = plan_over(self._finer, states)
        return Surroundings(around, plan, slice(len(first), len(chosen)), reach[:, asked])


def _heave_and_roll(states: AxleStates) -> tuple[Array, Array]:
    return 0.5 * (states.z_left + states.z_right), 0.5 * (states.z_left - states.z_right)
