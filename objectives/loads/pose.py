"""Where the parts of one side stand at its states, the rack at static: all that statics needs, as arrays.

Left-hand axes throughout: a right side is given as its mirror image in y, forces with it.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Indices, norm, unit
from geometry.contact import contact_motion
from geometry.motion import wheel_motion
from geometry.side import Pairs
from geometry.side_motion import SideMotion


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
    axle, here = side.axle, Pairs(index, index)
    wheel = wheel_motion(side, here)
    names = tuple(axle.links)
    outboard = [side.upright.carry(link.outboard)[0][..., index, :] for link in axle.links.values()]
    inboard = [link.inboard[..., None, :] for link in axle.links.values()]
    eye = np.broadcast_to(side.eye, (*side.status.shape, 3))
    return SidePose(
        links=names,
        carriers=tuple(names.index(name) for name in axle.rod.carried_by),
        inboard=np.stack(np.broadcast_arrays(*inboard), axis=-2),
        outboard=np.stack(np.broadcast_arrays(*outboard), axis=-2),
        eye=eye[..., index, :],
        rod_inboard=side.rod_inboard[0][..., index, :],
        pivot=side.points.pivot[..., None, :],
        axis=side.points.axis[..., None, :],
        centre=wheel.centre,
        spin_axis=wheel.spin_axis,
        contact=contact_motion(side, here).point,
    )
