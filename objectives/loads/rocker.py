"""The rocker between the rod, the elements and its bearing.

| symbol | meaning | shape | unit |
|---|---|---|---|
| N, u | compression of the rod; along it, from the rocker outwards | (...), (..., 3) | N, - |
| a, P | the rocker's axis and pivot | (..., 3) | -, mm |
| f_k, r_k | force of an element on the rocker, and where it acts, from P | (..., 3) | N, mm |
| mu | moment of torsion bars about the axis | (...) | N.mm |

The bearing takes the sum of the forces, -N u + sum f_k, and the part square to a of their moment about P. About a
itself nothing holds the rocker: a . (r x (-N u) + sum r_k x f_k) + mu = 0 in balance.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, cross, dot, norm
from objectives.loads.pose import SidePose


@dataclass(frozen=True)
class Push:
    """What an element does to one rocker: `force` (..., 3) [N] at `point` (..., 3) [mm], from `far`, its other end.

    `moment` (...) [N.mm]: that of a torsion bar about the axis, whose force is none.
    """

    force: Array
    point: Array
    far: Array
    moment: Array


@dataclass(frozen=True)
class RockerForces:
    """`force` (..., 3) [N] and `moment` (..., 3) [N.mm], about the pivot and square to the axis: of the rocker on its
    bearing. `unbalanced` (...) [N.mm]: the moment about the axis that is left over, 0 in balance."""

    force: Array
    moment: Array
    unbalanced: Array

    @property
    def size(self) -> Array:
        """Size of the bearing's force (...) [N]."""
        return norm(self.force)


def hold_rocker(pose: SidePose, rod: Array, pushes: Sequence[Push]) -> RockerForces:
    """Forces of the rocker on its bearing, under the rod's compression `rod` (...) [N] and what the elements do."""
    force = -rod[..., None] * pose.rod
    moment = cross(pose.rod_inboard - pose.pivot, force)
    about: Array = np.zeros(())
    for push in pushes:
        force = force + push.force
        moment = moment + cross(push.point - pose.pivot, push.force)
        about = about + push.moment
    along = dot(moment, np.broadcast_to(pose.axis, moment.shape))
    return RockerForces(force, moment - along[..., None] * pose.axis, np.asarray(along + about))
