"""Goals on built axles compiled into a program, as `objectives.program` does for goals on axles as drawn.

It gives what `objectives.parts.goal_parts` gives, which is its slow twin, for the goals whose figures it knows: those
of struts between rockers that are made of lengths and motion ratios.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Axle, CrossStrut, Link, Mode, Rod, Wheel
from geometry.built import PIVOT, ROD_END
from geometry.hardpoints import batch_shape
from geometry.lanes import KERNEL
from geometry.placing import carry_in_lanes, place_in_lanes
from objectives.catalogue.tolerance_entries import Form, split_form
from objectives.goals import Goal
from objectives.parts import goal_rows
from objectives.survey import Plan, StateSet, UprightMemory
from objectives.tolerance.build import LEFT, RIGHT, ROD, Build, errors_of, tolerances
from objectives.tolerance.cars import FEW, quantile, standard_axles
from objectives.tolerance.curves import anchor_places, anchor_weights, points_of
from objectives.tolerance.program_compiled import (
    CHANGE,
    ENTRY,
    P01,
    P99,
    ROW,
    RSS,
    SENSITIVITY,
    SHARE,
    SPLIT,
    WORST,
    run_built,
)

FORMS: Mapping[Form, int] = {
    Form.SENSITIVITY: SENSITIVITY,
    Form.RSS: RSS,
    Form.WORST: WORST,
    Form.P99: P99,
    Form.P01: P01,
}
SAMPLED: Mapping[Form, float] = {Form.P99: 0.99, Form.P01: 0.01}
"""Forms that are read from a sample, and what share of it does not exceed them."""
UP_BY_MODE = {Mode.HEAVE: 1, Mode.ROLL: -1}
"""mm that the right wheel goes up by per mm of a mode."""


class BuiltProgram:
    """The goals on built axles that can be compiled, for axles made like `axle`, at a plan's states.

    `known` are the positions among `goals` of those goals, in order; `sizes` the number of parts of each. None is known
    without a build, or where points of the links or the rod's outboard eye are off their places.
    """

    def __init__(self, goals: Sequence[Goal], axle: Axle, plan: Plan, build: Build | None) -> None:
        asked = [None if build is None else _asked(goal, axle, plan, build) for goal in goals]
        self.known = tuple(place for place, one in enumerate(asked) if one)
        self._asked = [one for one in asked if one]
        self.sizes = tuple(_rows(one, np.zeros(1)).shape[-1] for one in self._asked)
        self._memory, self._plan = UprightMemory(KERNEL), plan
        self._levers: list[str | None] = [*axle.rocker.pickups, None]
        self._outboard: tuple[Wheel | Link | Rod, ...] = ()
        self._eye = (np.zeros(0), np.zeros(0))
        if self._asked:
            self._lay_out()

    def run(self, axle: Axle) -> Array:
        """The parts (blocks * LANES, R) of a batch laid out in lanes, NaN where a figure is null; some are known."""
        blocks = next(iter(batch_shape(axle)), 1)
        placed = place_in_lanes(axle, self._levers, blocks)
        drawn, found = run_built(
            self._entries,
            np.stack([one.sizes for one in self._asked]),
            self._curves,
            self._pairs,
            self._tree,
            self._eyes(axle, blocks),
            placed.rod,
            placed.levers,
            standard_axles(FEW),
        )
        values = zip(self._asked, drawn, found, strict=True)
        return np.concatenate([_rows(one, one.value(*both).reshape(-1)) for one, *both in values], axis=-1)

    def _lay_out(self) -> None:
        """Write what does not change from batch to batch."""
        left, right, entries = [], [], np.zeros((len(self._asked), ENTRY), dtype=np.intp)
        most = max(2, *(len(one.weights) for one in self._asked))
        anchors = np.zeros((len(self._asked), FEW), dtype=np.intp)
        weights, begun = np.zeros((len(self._asked), most, FEW)), 0
        for g, one in enumerate(self._asked):
            near, far = (self._levers.index(end) for end in (one.element.left, one.element.right))
            own = begun + len(one.rows[0])
            entries[g] = (
                *one.kind,
                near,
                far,
                begun,
                len(one.rows[0]),
                own,
                len(one.own[0]),
                one.form,
                len(one.anchors),
            )
            anchors[g, : len(one.anchors)], weights[g, : len(one.weights), : one.weights.shape[1]] = (
                one.anchors,
                one.weights,
            )
            left += [one.rows[0], one.own[0]]
            right += [one.rows[1], one.own[1]]
            begun = own + len(one.own[0])
        self._entries, self._curves = entries, (anchors, weights)
        self._keep_states(np.concatenate(left), np.concatenate(right))

    def _keep_states(self, left: Indices, right: Indices) -> None:
        """The side states that are asked for, and those that they are reached by."""
        tree, wanted = self._plan.tree, np.zeros(len(self._plan.tree), dtype=np.bool_)
        wanted[[0, *left, *right]] = True
        for generation in tree.generations[:0:-1]:
            wanted[tree.parent[generation[wanted[generation]]]] = True
        self._kept = np.flatnonzero(wanted)
        place = np.cumsum(wanted) - 1
        self._pairs = place[left], place[right]
        self._tree = place[tree.parent[self._kept]], tree.step[self._kept]

    def _eyes(self, axle: Axle, blocks: int) -> tuple[Array, Array]:
        """The rod's outboard eyes with their velocities, in lanes; kept while nothing outboard changes."""
        outboard: tuple[Wheel | Link | Rod, ...] = (axle.wheel, *axle.links.values(), axle.rod)
        if any(one is not other for one, other in zip(outboard, self._outboard, strict=False)) or not self._outboard:
            self._outboard, tree = outboard, self._plan.tree
            position, velocity = carry_in_lanes(axle, self._memory.trace(axle, tree), tree, blocks)
            self._eye = position[:, self._kept], velocity[:, self._kept]
        return self._eye


@dataclass(frozen=True)
class _Asked:
    """A goal on built axles.

    `kind`: OP, MOVING, SIGN and UP of its entry; `rows`, `own`: left and right side states of the numbers and of the
    strut's own stroke; `anchors` (M,), `weights` (P, M) where a curve is sampled; `sizes` (ERRORS,) [mm].
    """

    goal: Goal
    element: CrossStrut
    kind: tuple[int, int, int, int]
    form: int
    rows: tuple[Indices, Indices]
    own: tuple[Indices, Indices]
    anchors: Indices
    weights: Array
    sizes: Array
    share: float | None
    """Of a sampled figure that is one number."""

    def value(self, drawn: Array, found: Array) -> Array:
        """The figure of the goal."""
        return found if self.share is None else drawn + quantile(standard_axles(1)[0], self.share) * found


@dataclass(frozen=True)
class _Word:
    """How a figure is made: its op and SIGN, whether of rates and along which mode, the states, and one of them."""

    op: int
    sign: int
    moving: bool
    states: StateSet | None
    """None for the pure sweep of the mode."""
    foreign: bool = False
    """Whether the sweep, or else the motion at static, is that of the other mode."""
    place: int | None = None


_WORDS: Mapping[str, _Word] = {
    "motion_ratio": _Word(ROW, -1, True, StateSet.STATIC),
    "coupling": _Word(ROW, -1, True, StateSet.STATIC, foreign=True),
    "progressivity": _Word(CHANGE, 1, True, None, place=-1),
    "progressivity_droop": _Word(CHANGE, 1, True, None, place=0),
    "length_static": _Word(ROW, 1, False, StateSet.STATIC),
    "ratio_spread": _Word(CHANGE, 0, True, None),
    "ratio_drift": _Word(CHANGE, 0, True, None, foreign=True),
    "crosstalk": _Word(SHARE, 0, False, None, foreign=True),
    "left_right_split": _Word(SPLIT, 0, False, StateSet.EVEN_ROLL),
}


def _asked(goal: Goal, axle: Axle, plan: Plan, build: Build) -> _Asked | None:
    base, form = split_form(goal.figure) or ("", Form.RSS)
    name, _, figure = base.rpartition(".")
    element, word = axle.elements.get(name), _WORDS.get(figure)
    if word is None or not isinstance(element, CrossStrut) or not _of_rockers(build, axle):
        return None
    if word.op == SPLIT and element.serves is not Mode.ROLL:
        return None
    points = points_of(axle, plan, base) if form in SAMPLED and word.sign == 0 else ()
    if points is None:
        return None
    at_static = word.states is StateSet.STATIC
    mode = element.serves.other if word.foreign and at_static else element.serves
    rows = _pairs(plan, word.states or StateSet.of(element.serves.other if word.foreign else element.serves))
    rows = rows if word.place is None else (rows[0][[word.place]], rows[1][[word.place]])
    nothing = np.zeros(0, dtype=np.intp)
    return _Asked(
        goal,
        element,
        (word.op, int(word.moving), word.sign, UP_BY_MODE[mode]),
        FORMS[form] if word.sign == 0 or form not in SAMPLED else RSS,
        rows,
        _pairs(plan, StateSet.of(element.serves)) if word.op == SHARE else (nothing, nothing),
        anchor_places(points) if points else nothing,
        anchor_weights(points) if points else np.zeros((len(rows[0]), 0)),
        _sizes(element, axle, build) / (build.spread.deviations if form in SAMPLED else 1.0),
        SAMPLED.get(form) if word.sign else None,
    )


def _of_rockers(build: Build, axle: Axle) -> bool:
    return all(path.startswith(("rocker.", "elements.")) for path in tolerances(build, axle))


def _pairs(plan: Plan, states: StateSet) -> tuple[Indices, Indices]:
    return plan.pairs[states].left, plan.pairs[states].right


def _sizes(element: CrossStrut, axle: Axle, build: Build) -> Array:
    """Tolerances (ERRORS,) [mm] of what a strut answers to, in that order; 0 for none."""
    found = {(error.side, error.path, error.axis): error.tolerance for error in errors_of(build, axle)}
    slots: list[tuple[str, str, int | None]] = []
    for side, pickup in ((LEFT, element.left), (RIGHT, element.right)):
        points = (PIVOT, ROD_END, f"rocker.pickups.{pickup}")
        slots += [*((side, path, axis) for path in points for axis in range(3)), (side, ROD, None)]
    return np.array([found.get(slot, 0.0) for slot in slots])


def _rows(asked: _Asked, value: Array) -> Array:
    return goal_rows(asked.goal, value, None)
