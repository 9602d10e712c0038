"""Whether what is held holds between the travel points too: candidates solved again on a grid ten times finer.

The figures of a study are those of its own travel points, and stay so. A held goal that is met there may be missed in
between, where a curve has its crest; here it is looked for, goal by goal:

- A figure over a sweep is read from all travel points of the finer sweep. So is a figure of one rocker, which depends
  on one wheel's travel alone: that takes every value that it has on the finer grid of heave and roll.
- A figure of a strut over heave and roll together would have a hundred times the states. It is solved again around
  every state of the study's own grid that is worse than its neighbours, at all finer states not further away than
  these: a crest that the study's own grid can tell from its surroundings lies there.

What is found of a candidate does not depend on which others are asked about with it.

Symbols: N candidates, V variables, H held goals, S states of the study's own grid, F finer states around some of them.
"""

import numpy as np

from geometry.arrays import Array, Flags
from geometry.lanes import KERNEL, in_lanes, out_of_lanes
from geometry.side_motion import trace_side
from geometry.status import Status
from objectives.catalogue import describe
from objectives.evaluate import measure
from objectives.goals import FAILED, Band, Held, held, left, scale_of
from objectives.parts import figure_parts
from objectives.program import Program
from objectives.survey import Plan, StateSet, Survey, UprightMemory
from optimiser.search.finer_grid import Grid
from optimiser.study.study import Study
from optimiser.study.variables import candidates

CHUNK = 64
"""Candidates solved again in one call: their states have to fit into memory."""
MOST = 0.9
"""Share of a band's half width that may be kept in hand: all of it would leave nothing."""
OF_BOTH_WHEELS = frozenset(
    f"E.{word}"
    for word in (
        "length_min",
        "length_max",
        "compression_stroke",
        "extension_stroke",
        "transmission_min",
        "tilt_max",
    )
)
"""Figures taken over heave and roll together that depend on both wheels."""


class Recheck:
    """Solves candidates of one study again on the finer grid; it remembers around which states it had to look.

    `largest_margin` (H,): see `optimiser.search.keeper.FinerLook`.
    """

    def __init__(self, study: Study) -> None:
        self._study, self._goals = study, held(study.goals)
        self._of_both = [place for place, goal in enumerate(self._goals) if _depends_on_both_wheels(goal)]
        self._memory = UprightMemory(KERNEL)
        self._grid = Grid(study.travel)
        self.largest_margin = np.array([MOST if isinstance(goal, Band) else np.inf for goal in self._goals])
        self._look_around(np.zeros(len(self._grid), dtype=np.bool_))

    def __call__(self, x: Array) -> Array:
        """Scaled violations (N, H) of points (N, V) in the file's units on the finer grid, in the study's order.

        At most 0 where a goal is met; `FAILED` where its figure is null at one of the finer states.
        """
        chunks = [self._violations(x[start : start + CHUNK]) for start in range(0, len(x), CHUNK)]
        return np.concatenate([np.zeros((0, len(self._goals))), *chunks])

    def _look_around(self, states: Flags) -> None:
        self._surroundings = self._grid.surroundings(states)
        along = [goal for place, goal in enumerate(self._goals) if place not in self._of_both]
        self._program = Program(along, self._study.axle, self._surroundings.plan)
        places = [place for place in range(len(self._goals)) if place not in self._of_both]
        self._compiled = [places[known] for known in self._program.known]

    def _violations(self, x: Array) -> Array:
        crests, found = self._crests(x), np.empty((len(x), len(self._goals)))
        around = self._surroundings.around.copy()
        for crest in crests.values():
            around |= crest.any(axis=0)
        if around.sum() > self._surroundings.around.sum():
            self._look_around(around)
        parts = self._program.run(candidates(self._study, in_lanes(x)))[: len(x)]
        ends = np.cumsum((0, *self._program.sizes))
        for place, begin, end in zip(self._compiled, ends[:-1], ends[1:], strict=True):
            found[:, place] = parts[:, begin:end].max(axis=1)
        if len(self._compiled) < len(self._goals):
            self._fill(found, x, crests)
        return np.nan_to_num(found, nan=FAILED)

    def _fill(self, found: Array, x: Array, crests: dict[int, Flags]) -> None:
        """Write the columns of `found` that the program does not know, from a survey."""
        surveyed = self._survey(x, self._surroundings.plan)
        for place, goal in enumerate(self._goals):
            if place not in self._compiled:
                value = self._near(goal, surveyed, crests[place]) if place in crests else _all(goal, surveyed, len(x))
                found[:, place] = -left(goal, value) / scale_of(goal)

    def _crests(self, x: Array) -> dict[int, Flags]:
        """Where each figure of both wheels is worse than around it: (N, S) by the place of its goal."""
        if not self._of_both:
            return {}
        surveyed = self._survey(x, self._grid.plan)
        return {place: self._grid.crests(_heights(self._goals[place], surveyed, len(x))) for place in self._of_both}

    def _near(self, goal: Held, surveyed: Survey, crests: Flags) -> Array:
        """A figure of both wheels (N,), over the finer states around a candidate's own crests; NaN where null."""
        heights = _heights(goal, surveyed, len(crests))
        asked = np.ones(heights.shape, dtype=np.bool_)
        asked[:, self._surroundings.columns] = self._surroundings.near(crests)
        element = goal.figure.rpartition(".")[0]
        states = StateSet.GRID if heights.shape[1] == len(surveyed.plan.pairs[StateSet.GRID].left) else StateSet.ALL
        status = surveyed.strut_status(element, states).astype(np.float64)
        failed = out_of_lanes(status, len(crests)) != float(Status.OK)
        value = np.where(asked, heights, -np.inf).max(axis=1)
        return np.where(np.any(failed & asked, axis=1), np.nan, value if _is_largest(goal) else -value)

    def _survey(self, x: Array, plan: Plan) -> Survey:
        axle = candidates(self._study, in_lanes(x))
        side = trace_side(axle, self._memory.trace(axle, plan.tree), plan.tree, KERNEL)
        return Survey(axle, self._study.travel, plan, side, self._memory)


def _depends_on_both_wheels(goal: Held) -> bool:
    return describe(goal.figure).name in OF_BOTH_WHEELS


def _is_largest(goal: Held) -> bool:
    """Whether a figure of both wheels is the largest of its states' numbers; else it is their smallest."""
    return describe(goal.figure).name not in ("E.length_min", "E.transmission_min")


def _all(goal: Held, surveyed: Survey, count: int) -> Array:
    """A figure (N,) over all states; NaN where null."""
    value = measure(surveyed, goal.figure).value
    return out_of_lanes(np.broadcast_to(value, surveyed.batch), count)


def _heights(goal: Held, surveyed: Survey, count: int) -> Array:
    """The numbers (N, states) that a figure of both wheels is the largest of, -inf where there is none."""
    parts = figure_parts(surveyed, goal.figure)
    assert parts is not None
    values = np.broadcast_to(parts.values, (*surveyed.batch, parts.values.shape[-1]))
    signed = values if parts.extreme == "largest" else -values
    return out_of_lanes(np.nan_to_num(signed, nan=-np.inf), count)
