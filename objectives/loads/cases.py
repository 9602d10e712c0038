"""An axle under its load cases: at rest in each, with what every rod, link, rocker and spring then carries."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from geometry.arrays import Array, Codes, Indices, norm, unit
from geometry.side import SideTree, pair_up
from geometry.side_motion import SideMotion
from geometry.status import Status, worst
from geometry.travel import Range, Travel, one_wheel_states, travel_points
from objectives.fittings.installed import Installed
from objectives.fittings.loads import LoadCase
from objectives.loads.footing import Footing, footing
from objectives.loads.pose import SidePose, side_pose
from objectives.loads.pushes import element_pushes
from objectives.loads.rocker import Push, RockerForces, hold_rocker
from objectives.loads.settle import Settled, ground_of, settle
from objectives.loads.upright import UprightForces, Wrench, hold_upright, wheel_wrench
from objectives.readings import FigureStatus
from objectives.strain import Strain

PAST_END = 30.0
"""A case may take a wheel this far past either end of its travel [mm] before it counts as without balance."""


@lru_cache(maxsize=32)
def case_states(travel: Travel) -> SideTree:
    """The side states to trace as a guide for `load_cases`: the wheel's travel and what lies past its ends."""
    low, high = travel.wheel
    tree, _ = pair_up(one_wheel_states(travel_points((low - PAST_END, high + PAST_END), travel.step)))
    return tree


def load_cases(
    guide: SideMotion, installed: Mapping[str, Installed], cases: Mapping[str, LoadCase], wheel: Range
) -> "CaseForces":
    """An axle, or a batch of them, under C cases.

    `guide`: its left side traced along `case_states`. `wheel`: the range of its wheels' travel [mm].
    """
    ground = ground_of(tuple(cases.values()))
    rest = settle(guide, installed, ground)
    side, pairs, inboard = rest.motion.side, rest.motion.pairs, ground.brake_inboard.astype(np.float64)
    pushes = {name: element_pushes(side, name, pairs, *forces) for name, forces in _forces(rest.strain).items()}

    def of_side(index: Indices, force: Array, acting: Mapping[str, Push]) -> SideForces:
        pose = side_pose(side, index)
        return SideForces(pose, wheel_wrench(pose, force, inboard), acting)

    return CaseForces(
        names=tuple(cases),
        settled=rest,
        left=of_side(pairs.left, ground.left, {name: both.left for name, both in pushes.items()}),
        right=of_side(pairs.right, ground.right, {name: both.right for name, both in pushes.items()}),
        wheel=wheel,
    )


def _forces(strain: Strain) -> dict[str, tuple[Array, Array]]:
    """The force of each element's springs on the left and the right (*B, C); one and the same across the car."""
    return {
        name: (one.force, one.force if one.force_right is None else one.force_right)
        for name, one in strain.elements.items()
    }


@dataclass(frozen=True)
class SideForces:
    """One side at rest in C cases, in left-hand axes: a right side is its mirror image. Batch axes (*B, C) in front.

    `pushes`: what the springs of each element do to the rocker.
    """

    pose: SidePose
    wrench: Wrench
    pushes: Mapping[str, Push]

    @cached_property
    def stands(self) -> Footing:
        """How the rod stands on what carries it."""
        return footing(self.pose)

    @cached_property
    def upright(self) -> UprightForces:
        """Rod and links."""
        return hold_upright(self.pose, self.stands, self.wrench)

    @cached_property
    def rocker(self) -> RockerForces:
        """The rocker on its bearing."""
        return hold_rocker(self.pose, self.upright.rod, tuple(self.pushes.values()))

    @cached_property
    def bending(self) -> Array:
        """Largest bending moment in each link (*B, C, 5) [N.mm], at least 0."""
        return np.abs(self.upright.rod[..., None] * self.stands.bending)

    @cached_property
    def on_chassis(self) -> Array:
        """Force of each link on the chassis at its inboard joint (*B, C, 5, 3) [N]."""
        pull = self.upright.tension[..., None] * unit(self.pose.outboard - self.pose.inboard)
        return np.asarray(pull + self.upright.rod[..., None, None] * self.stands.aside)


@dataclass(frozen=True)
class CaseForces:
    """An axle under C load cases, `names`; arrays (*B, C, 2) hold the left and the right side.

    `wheel`: the range of wheel travel [mm].
    """

    names: tuple[str, ...]
    settled: Settled
    left: SideForces
    right: SideForces
    wheel: Range

    @cached_property
    def status(self) -> Codes:
        """Of each case (*B, C), a `FigureStatus`: `past_travel` where a wheel goes past its travel; numbers are kept.

        `no_balance` where springs and loads do not come to rest, or a status of the geometry: numbers mean nothing.
        """
        geometry = self.settled.motion.status
        travel = self.settled.travel
        past = ((travel < self.wheel[0]) | (travel > self.wheel[1])).any(axis=-1)
        status = np.where(past, FigureStatus.PAST_TRAVEL, FigureStatus.OK)
        status = np.where(self.settled.found, status, FigureStatus.NO_BALANCE)
        return np.where(geometry == Status.OK, status, geometry).astype(np.int8)

    @cached_property
    def overall(self) -> Codes:
        """Of all cases together (*B): the worst."""
        status = self.status
        geometry = worst(np.where(status <= max(Status), status, Status.OK).astype(np.int8))
        past = np.where((status == FigureStatus.PAST_TRAVEL).any(axis=-1), FigureStatus.PAST_TRAVEL, FigureStatus.OK)
        other = np.where((status == FigureStatus.NO_BALANCE).any(axis=-1), FigureStatus.NO_BALANCE, past)
        return np.where(geometry == Status.OK, other, geometry).astype(np.int8)

    @cached_property
    def rod(self) -> Array:
        """Compression of the rod [N]."""
        return np.stack([self.left.upright.rod, self.right.upright.rod], axis=-1)

    @cached_property
    def tension(self) -> Array:
        """Tension of each link at its outboard and its inboard end (*B, C, 2, 5, 2) [N]: they differ under a rod."""
        sides = [np.stack([side.upright.outer, side.upright.tension], axis=-1) for side in (self.left, self.right)]
        return np.stack(sides, axis=-3)

    @cached_property
    def bending(self) -> Array:
        """Largest bending moment in each link (*B, C, 2, 5) [N.mm]."""
        return np.stack([self.left.bending, self.right.bending], axis=-2)

    @cached_property
    def pivot(self) -> Array:
        """Size of the force of the rocker on its bearing [N]."""
        return norm(np.stack([self.left.rocker.force, self.right.rocker.force], axis=-2))

    @cached_property
    def reserve(self) -> Array:
        """What is left of the wheel's travel [mm]; negative past its end."""
        low, high = self.wheel
        return np.minimum(high - self.settled.travel, self.settled.travel - low)
