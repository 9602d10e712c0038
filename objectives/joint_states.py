"""The states at which joints are looked at: heave and roll, the rack at static, and full rack at the ends of travel.

A rod's outboard joint turns with steer and with travel, and is worst where both are at their ends: so those states,
over which no other figure of rod and struts is taken, are looked at for joints.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from geometry.arrays import Array, Codes, Indices
from geometry.joints import JointPlace, rod_misalignment, strut_misalignment
from geometry.motion import Motion
from geometry.side import Pairs, SideTree, pair_up
from geometry.status import Status
from geometry.strut import StrutMotion
from geometry.travel import AxleStates, Travel, grid_states


@dataclass(frozen=True)
class FullLock:
    """Full rack at the ends of travel: `pairs` at those of heave, `sides` (N,) at those of either wheel too."""

    tree: SideTree
    sides: Indices
    pairs: Pairs


@lru_cache(maxsize=32)
def full_lock(travel: Travel) -> FullLock | None:
    """Full lock of an axle with this travel; None without a rack. The right side sees the rack's negative."""
    if travel.rack is None:
        return None
    grid, rack = grid_states(travel), np.array(travel.rack)
    wheel = np.array([grid.z_left.min(), grid.z_left.max(), grid.z_right.min(), grid.z_right.max()])
    own = _each(np.unique(wheel), np.unique([rack, -rack]))
    tree, (sides, pairs) = pair_up(own, _each(np.array(travel.heave), rack))
    return FullLock(tree, np.unique([*sides.left, *pairs.left, *pairs.right]), pairs)


def _each(z: Array, rack: Array) -> AxleStates:
    z, rack = (values.ravel() for values in np.meshgrid(z, rack, indexing="ij"))
    return AxleStates(z, z, rack)


@dataclass(frozen=True)
class JointStates:
    """Axles (batch axes B) at some states: a strut's joint at those of `motion` (N), a rod's at `sides` (N,) of its
    left side. `strut` gives a strut's motion by its name.
    """

    motion: Motion
    sides: Indices
    strut: Callable[[str], StrutMotion]

    def misalignment(self, place: JointPlace, bolt: Array | None) -> Array:
        """That of a joint at each state (*B, N) [rad]."""
        if place.strut is None:
            return rod_misalignment(self.motion.side, place.end, bolt)[..., self.sides]
        return strut_misalignment(self.motion, place, bolt, self.strut(place.strut).length)

    def status(self, place: JointPlace) -> Codes:
        """Status of the joint's member at each state (*B, N); `over_centre` too where its own arm has changed sign."""
        if place.strut is None:
            return self.motion.side.status[..., self.sides]
        status, crossed = self.motion.status, self.strut(place.strut).over_centre
        return np.where((status == Status.OK) & crossed, Status.OVER_CENTRE, status).astype(np.int8)

    def state(self, place: JointPlace) -> Array:
        """(N, 3) [mm]: z_left, z_right and rack of each state; of a rod's joint its own travel twice, and its rack."""
        tree, pairs = self.motion.side.tree, self.motion.pairs
        left, right = (self.sides, self.sides) if place.strut is None else (pairs.left, pairs.right)
        return np.stack([tree.travel[left], tree.travel[right], tree.rack[left]], axis=-1)
