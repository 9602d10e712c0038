"""Goals on rates and load cases compiled into a program, as `objectives.program` does for goals on geometry.

It gives what `objectives.parts.goal_parts` gives, which is its slow twin, for the goals whose figures it knows.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle, CornerStrut
from geometry.hardpoints import batch_shape
from geometry.lanes import LANES
from geometry.placing import place_in_lanes
from geometry.travel import Range, Travel
from objectives.fittings.fitted import Fittings
from objectives.fittings.loads import RodTube
from objectives.goals import Goal
from objectives.load_figures import NOT_PRESSED, factors_of
from objectives.loads.buckling import buckling_load
from objectives.loads.cases import case_states
from objectives.loads.compiled import settle_all
from objectives.loads.records import Tables
from objectives.loads.settle import ground_of
from objectives.loads.tables import Laws, trace_paths, write_laws
from objectives.parts import Parts, goal_rows
from objectives.readings import NOTHING
from objectives.strain import Curvature

PER_DEGREE = 1e-3 * np.pi / 180.0
"""N.m/deg in a N.mm/rad."""


@dataclass(frozen=True)
class Numbers:
    """What one pass gives for N candidates.

    `spring`, `geometric`: both parts of d2U at static and at the heave range's bump end, (N, 2) each. `travel`, `rod`,
    `pivot` (N, 2 M): at rest in M cases, left and right. `rod_length` (N,) [mm]; `track` (N,) [mm]; `wheel`: the range
    of wheel travel.
    """

    spring: Curvature
    geometric: Curvature
    travel: Array
    rod: Array
    pivot: Array
    rod_length: Array
    track: float
    wheel: Range
    tube: RodTube | None


class LoadProgram:
    """The goals on rates and load cases that can be compiled, for axles made like `axle`, batch axes (blocks, LANES).

    `known` are the positions among `goals` of those goals, in order; `sizes` the number of parts of each. None is known
    where wheel or links have batch axes of their own, or where a spring or a bar is of a kind that the pass has not.
    """

    def __init__(self, goals: Sequence[Goal], axle: Axle, travel: Travel, fittings: Fittings) -> None:
        self._levers: list[str | None] = [*axle.rocker.pickups, None]
        self._fittings, self._travel = fittings, travel
        laws = None if _outboard_varies(axle) else write_laws(axle, fittings, self._levers)
        known = [] if laws is None else [n for n, goal in enumerate(goals) if _is_known(goal.figure, fittings)]
        self.known = tuple(known)
        self._goals = [goals[place] for place in known]
        self.sizes: tuple[int, ...] = ()
        if laws is not None and known:
            self._base = axle.rod.outboard.reshape(-1, 3)[0]
            self._tables = self._tabulate(axle, laws)
            self.sizes = tuple(rows.shape[-1] for rows in self._rows(axle))

    def run(self, axle: Axle) -> Array:
        """The parts (blocks * LANES, R) of a batch laid out in lanes; NaN where a figure is null."""
        return np.concatenate(self._rows(axle), axis=-1)

    def _rows(self, axle: Axle) -> list[Array]:
        numbers = self.measure(axle)
        return [goal_rows(goal, *_FIGURES[goal.figure](numbers)) for goal in self._goals]

    def measure(self, axle: Axle) -> Numbers:
        """The numbers behind the goals for a batch laid out in lanes."""
        blocks = next(iter(batch_shape(axle)), 1)
        placed = place_in_lanes(axle, self._levers, blocks)
        carried, chassis = np.empty((blocks, 3, LANES)), _chassis(axle, blocks)
        carried[...] = np.moveaxis(np.broadcast_to(axle.rod.outboard - self._base, (blocks, LANES, 3)), -1, 1)
        rates, found = settle_all(self._tables, carried, placed.rod, placed.levers, chassis)
        by_state, by_case = (np.moveaxis(part, -1, 1).reshape(blocks * LANES, -1, 6) for part in (rates, found))
        return Numbers(
            spring=Curvature(*np.moveaxis(by_state[..., :3], -1, 0)),
            geometric=Curvature(*np.moveaxis(by_state[..., 3:], -1, 0)),
            travel=by_case[..., 0:2].reshape(len(by_case), -1),
            rod=by_case[..., 2:4].reshape(len(by_case), -1),
            pivot=by_case[..., 4:6].reshape(len(by_case), -1),
            rod_length=np.sqrt(placed.rod[:, 15]).ravel(),
            track=2.0 * float(axle.wheel.centre[1]),
            wheel=self._travel.wheel,
            tube=self._fittings.loads.rod_tube,
        )

    def _tabulate(self, axle: Axle, laws: Laws) -> Tables:
        loads, bump = self._fittings.loads, self._travel.heave[1]
        ground = ground_of(tuple(loads.cases.values()) if any(goal.figure in _OF_CASES for goal in self._goals) else ())
        plain = replace(axle, rod=replace(axle.rod, outboard=self._base))
        varies = axle.rod.outboard.ndim > 1
        paths = trace_paths(plain, case_states(self._travel), ground, eye_varies=varies)
        return Tables(
            travel=paths.travel,
            eye=paths.eye,
            work=paths.work,
            largest=ground.largest,
            kinds=laws.kinds,
            laws=laws.rows,
            rest=laws.rest,
            carrier=laws.carrier,
            weight=2.0 * (loads.sprung_per_wheel or 0.0),
            states=np.array([[0.0, 0.0], [bump, bump]]),
        )


def _outboard_varies(axle: Axle) -> bool:
    ends = [end for link in axle.links.values() for end in (link.inboard, link.outboard)]
    angles = (axle.wheel.toe, axle.wheel.camber)
    return any(point.ndim > 1 for point in (axle.wheel.centre, *ends)) or any(np.ndim(angle) for angle in angles)


def _chassis(axle: Axle, blocks: int) -> Array:
    """Chassis points of the corner struts (C, blocks, 3, LANES)."""
    points = [element.chassis for element in axle.struts.values() if isinstance(element, CornerStrut)]
    columns = [np.swapaxes(np.broadcast_to(point, (blocks, LANES, 3)), 1, 2) for point in points]
    return np.ascontiguousarray(np.stack(columns)) if columns else np.zeros((0, blocks, 3, LANES))


Measured = tuple[Array, Parts | None]
"""A figure (N,) and its parts, where it has any."""


def _largest(values: Array) -> Measured:
    return values.max(axis=-1), Parts(values, "largest")


def _smallest(values: Array) -> Measured:
    return values.min(axis=-1), Parts(values, "smallest")


def _buckling(numbers: Numbers) -> Measured:
    tube = numbers.tube
    assert tube is not None
    factors = factors_of(buckling_load(tube, numbers.rod_length), numbers.rod)
    smallest = factors.min(axis=-1)
    return np.where(smallest == NOT_PRESSED, np.nan, smallest), Parts(factors, "smallest")


def _rate(pick: Callable[[Curvature], Array], state: int = 0) -> Callable[[Numbers], Measured]:
    return lambda numbers: (pick(numbers.spring + numbers.geometric)[:, state], None)


def _heave_rate_rise(numbers: Numbers) -> Measured:
    static, bump = np.moveaxis((numbers.spring + numbers.geometric).heave, -1, 0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(np.abs(static) < NOTHING, np.nan, 100.0 * (bump / static - 1.0)), None


_OF_RATES: Mapping[str, Callable[[Numbers], Measured]] = {
    "axle.heave_rate": _rate(lambda part: part.heave),
    "axle.roll_rate": _rate(lambda part: part.roll),
    "axle.one_wheel_rate": _rate(lambda part: part.one_wheel),
    "axle.cross_rate": _rate(lambda part: part.cross),
    "axle.roll_rate_at_bump": _rate(lambda part: part.roll, 1),
    "axle.heave_rate_spring": lambda numbers: (numbers.spring.heave[:, 0], None),
    "axle.heave_rate_geometric": lambda numbers: (numbers.geometric.heave[:, 0], None),
    "axle.roll_rate_spring": lambda numbers: (numbers.spring.roll[:, 0], None),
    "axle.roll_rate_geometric": lambda numbers: (numbers.geometric.roll[:, 0], None),
    "axle.roll_stiffness": lambda numbers: (
        (numbers.spring + numbers.geometric).roll[:, 0] * numbers.track**2 / 2.0 * PER_DEGREE,
        None,
    ),
    "axle.heave_rate_rise": _heave_rate_rise,
}
_OF_CASES: Mapping[str, Callable[[Numbers], Measured]] = {
    "axle.travel_reserve": lambda numbers: _smallest(
        np.minimum(numbers.wheel[1] - numbers.travel, numbers.travel - numbers.wheel[0])
    ),
    "rod.force_max": lambda numbers: _largest(numbers.rod),
    "rod.tension_max": lambda numbers: _largest(-numbers.rod),
    "rod.buckling_factor": _buckling,
    "rocker.pivot_force_max": lambda numbers: _largest(numbers.pivot),
}
_FIGURES = {**_OF_RATES, **_OF_CASES}


def _is_known(name: str, fittings: Fittings) -> bool:
    loads = fittings.loads
    needs_tube = name == "rod.buckling_factor"
    return name in _OF_RATES or (
        name in _OF_CASES and bool(loads.cases) and (loads.rod_tube is not None or not needs_tube)
    )
