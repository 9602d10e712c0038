"""Where the parts of one side stand at its states, the rack at static: all that statics needs, as arrays.

Left-hand axes throughout: a right side is given as its mirror image in y, forces with it.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Indices, norm, turn, unit
from geometry.axle import Axle
from geometry.contact import lowest_point
from geometry.hardpoints import Hardpoints
from geometry.side_motion import SideMotion
from geometry.upright import UprightMotion
from geometry.upright_curve import upright_at


@dataclass(frozen=True)
class SidePose:
    """One side at K states, (..., K, 3) [mm] unless said otherwise.

    `inboard`, `outboard` (..., K, 5, 3): the links' ends, in the order of `links`, their names. `eye`, `rod_inboard`:
    the rod's ends; `carriers`: positions of the links that carry the rod, none where the upright does. `pivot`, `axis`
    (unit): the rocker's. `centre`, `spin_axis` (unit), `contact`: the wheel's, the last one where the ground acts.
    """

    links: tuple[str, ...]
    carriers: tuple[int, ...]
    inboard: Array
    outboard: Array
    eye: Array
    rod_inboard: Array
    pivot: Array
    axis: Array
    centre: Array
    spin_axis: Array
    contact: Array

    @property
    def rod(self) -> Array:
        """Unit vector along the rod, from the rocker outwards (..., K, 3)."""
        return unit(self.eye - self.rod_inboard)

    @property
    def rod_length(self) -> Array:
        """Length between the rod's eyes (..., K) [mm]."""
        return norm(self.eye - self.rod_inboard)


def side_pose(side: SideMotion, index: Indices) -> SidePose:
    """The left side at its states `index` (K,); NaN where it cannot be."""
    eye = np.broadcast_to(side.eye, (*side.status.shape, 3))[..., index, :]
    rod_inboard = side.rod_inboard[0][..., index, :]
    return pose_of(side.axle, side.points, upright_at(side.upright, index), eye, rod_inboard)


def pose_of(axle: Axle, points: Hardpoints, upright: UprightMotion, eye: Array, rod_inboard: Array) -> SidePose:
    """The left side with its upright at K states and the rod's ends (..., K, 3) [mm] there."""
    names, wheel = tuple(axle.links), axle.wheel
    outboard = [upright.carry(link.outboard)[0] for link in axle.links.values()]
    inboard = [link.inboard[..., None, :] for link in axle.links.values()]
    spin_axis = turn(upright.rotation, wheel.spin_axis[..., None, :])
    return SidePose(
        links=names,
        carriers=tuple(names.index(name) for name in axle.rod.carried_by),
        inboard=np.stack(np.broadcast_arrays(*inboard), axis=-2),
        outboard=np.stack(np.broadcast_arrays(*outboard), axis=-2),
        eye=eye,
        rod_inboard=rod_inboard,
        pivot=points.pivot[..., None, :],
        axis=points.axis[..., None, :],
        centre=upright.centre,
        spin_axis=spin_axis,
        contact=lowest_point(upright.centre, spin_axis, wheel.loaded_radius[..., None]),
    )
