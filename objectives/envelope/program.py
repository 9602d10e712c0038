"""Goals on the room compiled into a program, as `objectives.program` does for goals on geometry.

It gives what `objectives.parts.goal_parts` gives, which is its slow twin, for the goals whose figures it knows. How far
points overstep their bounds has one part for each point and bound, the largest of all states.
"""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle, CornerStrut, Link, Rod, Wheel
from geometry.hardpoints import batch_shape, element_pickups
from geometry.lanes import KERNEL, LANES
from geometry.meetings import Points
from geometry.nearest import nearest
from geometry.oversteps import turned_reach
from geometry.placing import carry_in_lanes, place_in_lanes
from geometry.rod import carry_rod_eye
from geometry.side import SideTree
from geometry.travel import Travel
from geometry.turn_batch import turn_batch
from geometry.upright import UprightMotion
from objectives.envelope.bodies import assemble
from objectives.envelope.envelope import Envelope
from objectives.envelope.room import ROOM, outline, pair_margins, path_of, stacked, still_point
from objectives.envelope.states import room_states
from objectives.figure_parts import Parts
from objectives.goals import Goal
from objectives.parts import goal_rows
from objectives.survey import Plan, UprightMemory

CLEARANCES = ("clearance.min", "clearance.reserve")
OVERSTEP = "envelope.overstep"


class RoomProgram:
    """The goals on the room that can be compiled, for axles made like `axle`, batch axes (blocks, LANES).

    `known` are the positions among `goals` of those goals, in order; `sizes` the number of parts of each. None is known
    where wheel or links have batch axes of their own.
    """

    def __init__(
        self, goals: Sequence[Goal], axle: Axle, travel: Travel, plan: Plan, envelope: Envelope | None
    ) -> None:
        self.known: tuple[int, ...] = ()
        self.sizes: tuple[int, ...] = ()
        if envelope is None or _outboard_varies(axle):
            return
        figures = [*(CLEARANCES if envelope.has_bodies else ()), *((OVERSTEP,) if envelope.is_bounded else ())]
        self.known = tuple(place for place, goal in enumerate(goals) if goal.figure in figures)
        self._goals = [goals[place] for place in self.known]
        self._bounds, self._clear = _Bounds(axle, plan, envelope), _Clearances(axle, travel, envelope)
        if self.known:
            self.sizes = tuple(rows.shape[-1] for rows in self._rows(axle))

    def run(self, axle: Axle) -> Array:
        """The parts (blocks * LANES, R) of a batch laid out in lanes; NaN where a figure is null."""
        return np.concatenate(self._rows(axle), axis=-1)

    def _rows(self, axle: Axle) -> list[Array]:
        parts: dict[str, Parts] = {}
        for name in {goal.figure for goal in self._goals}:
            if name == OVERSTEP:
                parts[name] = Parts(self._bounds.oversteps(axle), "largest")
            else:
                parts[name] = Parts(self._clear.least(axle, less_margins=name == CLEARANCES[1]), "smallest")
        return [goal_rows(goal, _extreme(parts[goal.figure]), parts[goal.figure]) for goal in self._goals]


class _Turns:
    """The rocker's turn at the states of a tree; what is outboard is kept while nothing of it changes."""

    def __init__(self, tree: SideTree) -> None:
        self.tree = tree
        self._memory = UprightMemory(KERNEL)
        self._outboard: tuple[Wheel | Link | Rod, ...] = ()
        self._eye = (np.zeros(0), np.zeros(0))

    def renew(self, axle: Axle, blocks: int) -> bool:
        """Take over what is outboard; whether it has changed."""
        outboard: tuple[Wheel | Link | Rod, ...] = (axle.wheel, *axle.links.values(), axle.rod)
        if self._outboard and all(one is other for one, other in zip(outboard, self._outboard, strict=True)):
            return False
        self._outboard = outboard
        self._eye = carry_in_lanes(axle, self.upright(axle), self.tree, blocks)
        return True

    def upright(self, axle: Axle) -> UprightMotion:
        """How the upright moves."""
        return self._memory.trace(axle, self.tree)

    def turn(self, rod: Array) -> tuple[Array, Array]:
        """Cosine and sine (N, K) of rockers whose rods are `rod` (blocks, 17, LANES)."""
        return turn_batch((self.tree.parent, self.tree.step), self._eye, rod)


class _Bounds:
    """How far inboard points get outside of their bounds."""

    def __init__(self, axle: Axle, plan: Plan, envelope: Envelope) -> None:
        self._ends: list[str | None] = [None, *element_pickups(axle)]
        self._turns, self._states = _Turns(plan.tree), plan.all_sides
        self._low, self._high = envelope.low, envelope.high

    def oversteps(self, axle: Axle) -> Array:
        """Of each point, below and above each of its bounds, the largest of all states (N, P) [mm]."""
        blocks = next(iter(batch_shape(axle)), 1)
        placed = place_in_lanes(axle, self._ends, blocks)
        self._turns.renew(axle, blocks)
        cos, sin = self._turns.turn(placed.rod)
        reach = turned_reach(cos, sin, _levers(placed.levers), self._states)
        still = [axle.rocker.pivot, *(one.chassis for one in axle.struts.values() if isinstance(one, CornerStrut))]
        for point in still:
            own = np.broadcast_to(_rows(point, blocks)[:, None, None], (len(reach), 1, 2, 3))
            reach = np.concatenate([reach, own + 0.0 * reach[:, :1]], axis=1)
        over = np.stack([self._low - reach[:, :, 0], reach[:, :, 1] - self._high], axis=-1)
        bounded = np.isfinite(np.stack([self._low, self._high], axis=-1))
        return np.asarray(over[:, :, bounded].reshape(len(over), -1))


class _Clearances:
    """The least clearances of all pairs of bodies."""

    def __init__(self, axle: Axle, travel: Travel, envelope: Envelope) -> None:
        self._envelope, self._states = envelope, room_states(travel)
        self._assembly = assemble(outline(axle, envelope))
        self._margins = np.array(list(pair_margins(axle, envelope).values()))
        self._turns = _Turns(self._states.tree)
        self._ends: list[str | None] = [
            None if end == "turning.rod" else end.removeprefix("turning.pickups.") for end in self._assembly.turning
        ]
        self._paths = np.zeros(0)
        self._varying: tuple[bool, ...] = ()

    def least(self, axle: Axle, *, less_margins: bool) -> Array:
        """As `objectives.envelope.room.Room.nearest` (N, G) [mm]."""
        blocks = next(iter(batch_shape(axle)), 1)
        turning = self._ends if None in self._ends else [*self._ends, None]
        placed = place_in_lanes(axle, turning, blocks)
        if self._turns.renew(axle, blocks):
            self._follow(axle, blocks)
        cos, sin = self._turns.turn(placed.rod)
        void = np.isnan(cos[:, self._states.used].sum(axis=1))
        ends = [_rows(still_point(axle, self._envelope, end), blocks) for end in self._assembly.still]
        own = [*(True for _ in self._ends), *(len(end) > 1 for end in ends), *self._varying]
        points = Points(
            cos,
            sin,
            _levers(placed.levers[: len(self._ends)]),
            stacked(ends, (3,)),
            self._paths,
            np.array(own, dtype=np.bool_),
        )
        wanted, offset = np.ones(len(self._margins), dtype=np.bool_), self._margins * less_margins
        least, _, _ = nearest(points, self._states.charts, self._assembly.bodies, offset, wanted, ROOM)
        return np.where(void[:, None], np.nan, least)

    def _follow(self, axle: Axle, blocks: int) -> None:
        """Where the points go that hang on what is outboard."""
        tree, upright = self._turns.tree, self._turns.upright(axle)
        eye = carry_rod_eye(axle, upright, tree)[0]
        paths = [path_of(axle, upright, tree, eye, end) for end in self._assembly.paths]
        flat = [_rows(path, blocks, 2) for path in paths]
        self._paths, self._varying = stacked(flat, (len(tree), 3)), tuple(len(one) > 1 for one in flat)


def _extreme(parts: Parts) -> Array:
    return np.asarray(parts.values.max(axis=-1) if parts.extreme == "largest" else parts.values.min(axis=-1))


def _levers(levers: Array) -> Array:
    """(E, blocks, 9, LANES) as (E, N, 9)."""
    return np.ascontiguousarray(np.moveaxis(levers, 2, 3)).reshape(len(levers), -1, 9)


def _rows(values: Array, blocks: int, tail: int = 1) -> Array:
    """(..., *tail) as (N, *tail), or as (1, *tail) where there are no batch axes."""
    last = values.shape[values.ndim - tail :]
    if values.ndim == tail:
        return values[None]
    return np.broadcast_to(values, (blocks, LANES, *last)).reshape(-1, *last)


def _outboard_varies(axle: Axle) -> bool:
    links = [end for link in axle.links.values() for end in (link.inboard, link.outboard)]
    return any(point.ndim > 1 for point in (axle.wheel.centre, axle.wheel.spin_axis, *links))
