"""Where the left tyre stands on the ground, and how that point moves with its wheel.

| symbol | meaning | shape | unit |
|---|---|---|---|
| p, v | wheel centre; its velocity per mm of wheel travel | (*W, S, 3) | mm, mm/mm |
| w | angular velocity of the upright per mm of wheel travel | (*W, S, 3) | rad/mm |
| n | spin axis, outward | (*W, S, 3) | - |
| R | loaded radius, kept through the motion | (*W) | mm |

The contact point is the wheel plane's lowest point, p - R k, with k the unit projection of +z into that plane. At
static it lies on the ground.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, cross, dot, turn, unit
from geometry.axle import Wheel
from geometry.side import Pairs
from geometry.side_motion import SideMotion

UP = np.array([0.0, 0.0, 1.0])
"""Away from the ground: +z."""


@dataclass(frozen=True)
class Contact:
    """The left tyre's contact point at S states (*W, S, 3); NaN where the links are locked.

    `point` [mm]. `locked` [mm/mm]: velocity per mm of wheel travel (rack held) of the point of the upright that is
    there, as if the wheel were locked to it: a force of the ground does this work when its moment about the spin axis
    is taken by the upright. `rolling` [mm/mm]: the same without the upright's turn about the spin axis, for a force
    whose moment goes elsewhere, or a wheel free to spin, whose force has none.
    """

    point: Array
    locked: Array
    rolling: Array


def static_contact(wheel: Wheel) -> Array:
    """The left tyre's contact point at static (..., 3) [mm], on the ground."""
    return lowest_point(wheel.centre, wheel.spin_axis, wheel.loaded_radius)


def contact_motion(side: SideMotion, pairs: Pairs) -> Contact:
    """The left tyre's contact point at the left side of each pair."""
    wheel, upright, index = side.axle.wheel, side.upright, pairs.left
    axis = turn(upright.rotation[..., index, :, :], wheel.spin_axis[..., None, :])
    centre, rate = upright.centre[..., index, :], upright.rate[..., 0][..., index, :]
    point = lowest_point(centre, axis, wheel.loaded_radius[..., None])
    velocity, spin = rate[..., :3], rate[..., 3:]
    rolling = spin - dot(spin, axis)[..., None] * axis
    lever = point - centre
    return Contact(point, velocity + cross(spin, lever), velocity + cross(rolling, lever))


def lowest_point(centre: Array, axis: Array, radius: Array) -> Array:
    """Lowest point (..., 3) [mm] of a disc of `radius` (...) [mm] about `centre`, square to a unit `axis` (..., 3)."""
    up = unit(UP - axis[..., 2, None] * axis)
    return np.asarray(centre - radius[..., None] * up)
