"""Whether what is held holds between the travel points too: candidates solved again on a grid ten times finer.

The figures of a study are those of its own travel points, and stay so. A held goal that is met there may be missed in
between, where a curve has its crest; here it is looked for, goal by goal:

- A figure over a sweep is read from all travel points of the finer sweep. So is a figure of one rocker, which depends
  on one wheel's travel alone: that takes every value that it has on the finer grid of heave and roll.
- A figure of a strut over heave and roll together would have a hundred times the states. It is solved again around
  every state of the study's own grid that is worse than its neighbours, at all finer states not further away than
  these: a crest that the study's own grid can tell from its surroundings lies there.
- A figure at a state of its own (a rate, a load at rest) is what it is, however fine the grid; so is a clearance, which
  counts what lies between the travel points, and a figure of built axles, whose errors are larger than what does.
- A figure that the program of goals does not know (those of springs) is read from the states at hand: all finer ones
  along the sweeps, and those around the crests of others.

What is found of a candidate does not depend on which others are asked about with it.

Symbols: N candidates, V variables, H held goals, S states of the study's own grid, F finer states around some of them.
"""

import numpy as np

from geometry.arrays import Array, Flags
from geometry.axle import Axle
from geometry.lanes import KERNEL, in_lanes, out_of_lanes
from geometry.side_motion import trace_side
from objectives.catalogue.catalogue import describe
from objectives.catalogue.tolerance_entries import split_form
from objectives.evaluate import measure
from objectives.fittings.fitted import Fittings
from objectives.goals import FAILED, Band, Best, Held, held, left, scale_of
from objectives.loads.numbers import is_known
from objectives.program import Program
from objectives.survey import Survey, UprightMemory
from optimiser.search.finer_grid import Grid
from optimiser.study.study import Study
from optimiser.study.variables import candidates

CHUNK = 64
"""Candidates solved again in one call: their states have to fit into memory."""
MET = -1.0
"""What is said of a goal that nothing between the travel points can change: rates at a state, and loads at rest."""
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
        both = [place for place, goal in enumerate(self._goals) if _of_both_wheels(goal)]
        self._same = [place for place, goal in enumerate(self._goals) if _stays(goal.figure, study.fittings)]
        self._along = [place for place in range(len(self._goals)) if place not in (*both, *self._same)]
        self._probes = {place: _probe(self._goals[place]) for place in both}
        self._memory = UprightMemory(KERNEL)
        self._grid = Grid(study.travel)
        self._own_heights = Program([*self._probes.values()], study.axle, self._grid.plan)
        self.largest_margin = np.array([MOST if isinstance(goal, Band) else np.inf for goal in self._goals])
        self._look_around(np.zeros(len(self._grid), dtype=np.bool_))

    def __call__(self, x: Array) -> Array:
        """Scaled violations (N, H) of points (N, V) in the file's units on the finer grid, in the study's order.

        At most 0 where a goal is met; `FAILED` where its figure is null at one of the finer states.
        """
        chunks = [self._violations(x[start : start + CHUNK]) for start in range(0, len(x), CHUNK)]
        return np.concatenate([np.zeros((0, len(self._goals))), *chunks])

    def _look_around(self, states: Flags) -> None:
        """Have the states of the finer grid around some of the own ones (S,) solved too."""
        self._surroundings = self._grid.surroundings(states)
        plan, axle = self._surroundings.plan, self._study.axle
        self._heights = Program([*self._probes.values()], axle, plan)
        self._program = Program([self._goals[place] for place in self._along], axle, plan)

    def _violations(self, x: Array) -> Array:
        axle, found = candidates(self._study, in_lanes(x)), np.empty((len(x), len(self._goals)))
        known = [self._along[place] for place in self._program.known]
        for place, parts in zip(known, _blocks(self._program, axle, len(x)), strict=True):
            found[:, place] = parts.max(axis=1)
        found[:, self._same] = MET
        if self._probes:
            self._look_at_crests(found, axle)
        if len(known) < len(self._along):
            surveyed = self._survey(axle)
            for place in set(self._along) - set(known):
                found[:, place] = _violation(self._goals[place], _measured(self._goals[place], surveyed, len(x)))
        return np.nan_to_num(found, nan=FAILED)

    def _look_at_crests(self, found: Array, axle: Axle) -> None:
        """Write the columns of `found` (N, H) that belong to figures of both wheels."""
        own = _blocks(self._own_heights, axle, len(found))
        crests = [self._grid.crests(np.nan_to_num(heights, nan=-np.inf)) for heights in own]
        around = np.any([self._surroundings.around, *(crest.any(axis=0) for crest in crests)], axis=0)
        if around.sum() > self._surroundings.around.sum():
            self._look_around(around)
        finer = _blocks(self._heights, axle, len(found))
        for (place, probe), crest, heights in zip(self._probes.items(), crests, finer, strict=True):
            asked = np.ones(heights.shape, dtype=np.bool_)
            asked[:, self._surroundings.columns] = self._surroundings.near(crest)
            worst = np.where(asked, heights, -np.inf).max(axis=1) * scale_of(probe)
            found[:, place] = _violation(self._goals[place], worst if probe.direction == "minimise" else -worst)

    def _survey(self, axle: Axle) -> Survey:
        plan = self._surroundings.plan
        side = trace_side(axle, self._memory.trace(axle, plan.tree), plan.tree, KERNEL)
        return Survey(axle, self._study.travel, plan, side, self._memory, self._study.fittings)


def _of_both_wheels(goal: Held) -> bool:
    return describe(goal.figure).name in OF_BOTH_WHEELS


def _stays(figure: str, fittings: Fittings) -> bool:
    """Whether a figure is taken at states of its own, of built axles, or between the travel points as it is."""
    of_space = figure.startswith("clearance.")
    return of_space or split_form(figure) is not None or is_known(figure, fittings)


def _probe(goal: Held) -> Best:
    """A goal whose parts are the numbers, one a state, of which the figure is the largest, or minus the smallest."""
    smallest = describe(goal.figure).name in ("E.length_min", "E.transmission_min")
    return Best(goal.figure, "maximise" if smallest else "minimise")


def _blocks(program: Program, axle: Axle, count: int) -> list[Array]:
    """The parts (N, P) of each goal that a program knows; NaN where an axle cannot be at a state."""
    parts = program.run(axle)[:count] if program.sizes else np.zeros((count, 0))
    return np.split(parts, np.cumsum(program.sizes)[:-1], axis=1) if program.sizes else []


def _violation(goal: Held, value: Array) -> Array:
    return -left(goal, value) / scale_of(goal)


def _measured(goal: Held, surveyed: Survey, count: int) -> Array:
    """A figure (N,) over all states; NaN where null."""
    return out_of_lanes(np.broadcast_to(measure(surveyed, goal.figure).value, surveyed.batch), count)
