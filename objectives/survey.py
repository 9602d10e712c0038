"""A survey of axles: their motion through all the travel, from which every figure is read.

The states are worked out once a travel, the upright's motion once an outboard geometry; the rest is computed for a
batch of candidates when a figure first asks for it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property, lru_cache, partial

import numpy as np

from geometry.arrays import Array, Codes, Indices
from geometry.axle import AntiRollBar, Axle, CornerStrut, CrossStrut, Mode, TorsionBar
from geometry.joints import joint_places
from geometry.kernel import PLAIN, Kernel
from geometry.motion import Motion
from geometry.side import Pairs, SideTree, pair_up
from geometry.side_motion import SideMotion, trace_side
from geometry.squeeze import Squeeze
from geometry.status import Status
from geometry.strut import StrutMotion
from geometry.toggle import ToggleMargin, toggle_margin
from geometry.travel import (
    AxleStates,
    Travel,
    grid_states,
    heave_states,
    one_wheel_states,
    rack_states,
    roll_states,
    travel_points,
)
from geometry.upright import UprightMotion
from objectives.envelope.room import Room
from objectives.envelope.states import room_states
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.fittings.installed import Installed, install
from objectives.joint_states import JointStates, full_lock
from objectives.loads.cases import CaseForces, case_states, load_cases
from objectives.strain import Strain, strain_of


class StateSet(StrEnum):
    """Sets of states over which figures are taken."""

    STATIC = "static"
    HEAVE = "heave"
    ROLL = "roll"
    EVEN_ROLL = "even_roll"
    """Roll at plus and minus the smaller end of its range."""
    ONE_WHEEL = "one_wheel"
    """The left wheel through its range, the right one at static; no figure is taken over it."""
    BUMP = "bump"
    """Both wheels at the bump end of the heave range."""
    GRID = "grid"
    """Every state of heave and roll together, at rack 0."""
    RACK = "rack"
    EVEN_RACK = "even_rack"
    """The rack's travel points within plus and minus the smaller end of its range."""
    ALL = "all"
    """The grid and the rack sweep."""

    @classmethod
    def of(cls, mode: Mode) -> "StateSet":
        """The pure sweep of a mode."""
        return cls.HEAVE if mode is Mode.HEAVE else cls.ROLL


@dataclass(frozen=True)
class Plan:
    """The states of a travel: `points` (S,) [mm] along each pure sweep, and each set's states as pairs in `tree`."""

    tree: SideTree
    points: dict[StateSet, Array]
    pairs: dict[StateSet, Pairs]
    all_sides: Indices
    """The left-side states that the states of `StateSet.ALL` are made of, left and right, each once."""


@lru_cache(maxsize=32)
def plan_states(travel: Travel) -> Plan:
    """Every state that the figures of an axle with this travel are taken at."""
    return plan_over(travel, grid_states(travel))


def plan_over(travel: Travel, grid: AxleStates) -> Plan:
    """The states of a travel with others, `grid`, in place of those of heave and roll together."""
    even = travel.even_roll
    points = {
        StateSet.STATIC: np.zeros(1),
        StateSet.HEAVE: travel_points(travel.heave, travel.step),
        StateSet.ROLL: travel_points(travel.roll, travel.step),
        StateSet.EVEN_ROLL: np.array([even, -even]),
        StateSet.ONE_WHEEL: travel_points(travel.wheel, travel.step),
        StateSet.BUMP: np.array([travel.heave[1]]),
    }
    if travel.rack:
        points[StateSet.RACK] = travel_points(travel.rack, travel.step)
        points[StateSet.EVEN_RACK] = travel_points((-travel.even_rack, travel.even_rack), travel.step)
    states = {sweep: _STATES[sweep](along) for sweep, along in points.items()}
    states[StateSet.GRID] = states[StateSet.ALL] = grid
    if travel.rack:
        states[StateSet.ALL] = _joined(states[StateSet.GRID], states[StateSet.RACK])
    tree, pairs = pair_up(*states.values())
    named = dict(zip(states, pairs, strict=True))
    every = named[StateSet.ALL]
    sides = np.bincount(np.concatenate([every.left, every.right]))
    return Plan(tree, points, named, np.flatnonzero(sides))


_STATES = {
    StateSet.STATIC: heave_states,
    StateSet.HEAVE: heave_states,
    StateSet.ROLL: roll_states,
    StateSet.EVEN_ROLL: roll_states,
    StateSet.ONE_WHEEL: one_wheel_states,
    StateSet.BUMP: heave_states,
    StateSet.RACK: rack_states,
    StateSet.EVEN_RACK: rack_states,
}


def _joined(first: AxleStates, second: AxleStates) -> AxleStates:
    return AxleStates(
        np.concatenate([first.z_left, second.z_left]),
        np.concatenate([first.z_right, second.z_right]),
        np.concatenate([first.rack, second.rack]),
    )


class UprightMemory:
    """Keeps how an upright moves along a tree, so that it is solved once an outboard geometry and not once a call.

    Solving is left to a kernel.
    """

    def __init__(self, kernel: Kernel = PLAIN) -> None:
        self._kernel = kernel
        self._kept: dict[int, tuple[bytes, SideTree, UprightMotion]] = {}

    def trace(self, axle: Axle, tree: SideTree) -> UprightMotion:
        """The motion of an axle's upright along a tree, from memory where wheel centre and links are the last ones."""
        key = _outboard_bytes(axle)
        kept = self._kept.get(id(tree))
        if kept is None or kept[0] != key:
            kept = key, tree, self._kernel.trace(axle.wheel, axle.links, tree)
            self._kept[id(tree)] = kept
        return kept[2]


def _outboard_bytes(axle: Axle) -> bytes:
    parts = [axle.wheel.centre, *(end for link in axle.links.values() for end in (link.inboard, link.outboard))]
    shapes = repr([(part.shape, link) for part, link in zip(parts, ["", *axle.links] * 2, strict=False)])
    racks = repr([link.follows_rack for link in axle.links.values()])
    return b"".join([shapes.encode(), racks.encode(), *(np.ascontiguousarray(part).tobytes() for part in parts)])


@dataclass
class Survey:
    """One batch of axles (batch axes B) through all its travel; what is asked for is computed once."""

    axle: Axle
    travel: Travel
    plan: Plan
    side: SideMotion
    memory: UprightMemory
    fittings: Fittings = NOTHING_FITTED
    right: SideMotion | None = None
    """The right side, in left-hand coordinates, of axles whose sides are not each other's mirror."""
    _motions: dict[StateSet, Motion] = field(default_factory=dict)
    _struts: dict[tuple[str, StateSet], StrutMotion] = field(default_factory=dict)
    _squeezes: dict[tuple[str, StateSet], Squeeze] = field(default_factory=dict)
    _strains: dict[StateSet, Strain] = field(default_factory=dict)
    _misalignments: dict[str, Array] = field(default_factory=dict)
    _toggle: ToggleMargin | None = None
    _near: dict[tuple[bool, int], "Survey"] = field(default_factory=dict)

    @property
    def batch(self) -> tuple[int, ...]:
        """The batch axes B."""
        return self.side.batch

    def motion(self, sweep: StateSet) -> Motion:
        """The axle at the states of a sweep."""
        if sweep not in self._motions:
            self._motions[sweep] = Motion(self.side, self.plan.pairs[sweep], self.right)
        return self._motions[sweep]

    def strut(self, name: str, sweep: StateSet) -> StrutMotion:
        """An element at the states of a sweep."""
        if (name, sweep) not in self._struts:
            self._struts[name, sweep] = self.motion(sweep).strut(name)
        return self._struts[name, sweep]

    def squeeze(self, name: str, sweep: StateSet) -> Squeeze:
        """An element of any kind at the states of a sweep."""
        if (name, sweep) not in self._squeezes:
            self._squeezes[name, sweep] = self.motion(sweep).squeeze(name)
        return self._squeezes[name, sweep]

    @cached_property
    def springs(self) -> Mapping[str, Installed]:
        """The springs of every element that has any, as installed."""
        return install(self.axle, self.fittings, self.motion(StateSet.STATIC))

    def strain(self, sweep: StateSet) -> Strain:
        """What the springs do at the states of a sweep."""
        if sweep not in self._strains:
            self._strains[sweep] = strain_of(self.axle, self.springs, self.motion(sweep))
        return self._strains[sweep]

    @cached_property
    def cases(self) -> CaseForces:
        """The axle under its load cases."""
        tree = case_states(self.travel)
        guide = trace_side(self.axle, self.memory.trace(self.axle, tree), tree)
        return load_cases(guide, self.springs, self.fittings.loads.cases, self.travel.wheel)

    @cached_property
    def room(self) -> Room | None:
        """The axle's bodies in their room; None where nothing is said of it."""
        if self.fittings.envelope is None:
            return None
        states = room_states(self.travel)
        return Room(self._moved(self.side, states.tree), self.fittings.envelope, states)

    @cached_property
    def joint_states(self) -> tuple[JointStates, ...]:
        """The axle at the states at which joints are looked at."""
        whole = StateSet.ALL
        every = JointStates(self.motion(whole), self.plan.all_sides, lambda name: self.strut(name, whole))
        lock = full_lock(self.travel)
        if lock is None:
            return (every,)
        left, right = self._moved(self.side, lock.tree), self.right and self._moved(self.right, lock.tree)
        at_lock = Motion(left, lock.pairs, right)
        return every, JointStates(at_lock, lock.sides, at_lock.strut)

    def misalignment(self, name: str) -> Array:
        """Misalignment of a joint of the fittings at each of these states, group by group (*B, N) [rad]."""
        if name not in self._misalignments:
            place, bolt = joint_places(self.axle)[name], self.fittings.joints[name].bolt
            groups = [group.misalignment(place, bolt) for group in self.joint_states]
            self._misalignments[name] = np.concatenate(
                [np.broadcast_to(angles, (*self.batch, angles.shape[-1])) for angles in groups], axis=-1
            )
        return self._misalignments[name]

    def toggle(self) -> ToggleMargin:
        """The toggle beyond the wheel's range."""
        if self._toggle is None:
            trace = partial(self.memory.trace, self.axle)
            self._toggle = toggle_margin(self.axle, trace, self.travel.wheel)
        return self._toggle

    def near(self, key: tuple[bool, int], make: "Callable[[], Survey]") -> "Survey":
        """A survey of axles near these, made once by whoever takes differences; it is known again by its `key`."""
        if key not in self._near:
            self._near[key] = make()
        return self._near[key]

    def mode(self, name: str) -> Mode:
        """The mode that an element serves; heave for one that stands on each side, roll for an anti-roll bar."""
        match self.axle.elements[name]:
            case CrossStrut(serves=mode):
                return mode
            case AntiRollBar():
                return Mode.ROLL
            case CornerStrut() | TorsionBar():
                return Mode.HEAVE

    def element_status(self, name: str, sweep: StateSet) -> Codes:
        """Status of an element of any kind at each state (*B, S)."""
        return self.strut_status(name, sweep) if name in self.axle.struts else self.squeeze(name, sweep).status

    def strut_status(self, name: str, sweep: StateSet) -> Codes:
        """Status of an element at each state (*B, S): the axle's own, or `over_centre` for this strut."""
        status, crossed = self.motion(sweep).status, self.strut(name, sweep).over_centre
        return np.where((status == Status.OK) & crossed, Status.OVER_CENTRE, status).astype(np.int8)

    def _moved(self, side: SideMotion, tree: SideTree) -> SideMotion:
        return trace_side(side.axle, self.memory.trace(side.axle, tree), tree, side.kernel)


def survey(
    axle: Axle,
    travel: Travel,
    memory: UprightMemory,
    kernel: Kernel = PLAIN,
    fittings: Fittings = NOTHING_FITTED,
) -> Survey:
    """Begin the survey of a batch of axles with this travel, and with what is fitted to them."""
    plan = plan_states(travel)
    side = trace_side(axle, memory.trace(axle, plan.tree), plan.tree, kernel)
    return Survey(axle, travel, plan, side, memory, fittings)
