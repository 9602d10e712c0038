"""What the ground's force on a tyre does as its wheel travels: the work that the springs answer.

| symbol | meaning | shape | unit |
|---|---|---|---|
| F | force of the ground on the contact point | (S, 3) | N |
| v, w | velocity of the wheel centre, turning of the upright, per mm of wheel travel | (..., S, 3) | -, rad/mm |
| v', w' | their changes per mm | (..., S, 3) | 1/mm, rad/mm^2 |
| n | spin axis; n' = w x n | (..., S, 3) | - |
| l | from the wheel centre to the contact point, -R k | (..., S, 3) | mm |
| k | unit vector along q = z - n_z n, upwards in the wheel's plane | (..., S, 3) | - |

Q = F . (v + w x l) with the brake on the upright. With the brake inboard the moment of F about n goes to the chassis,
and w loses its part along n. dQ/dz is what the springs' rates are helped or hindered by.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags, cross, dot, norm, turn, unit
from geometry.axle import Wheel
from geometry.upright_curve import UprightCurve

UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class WheelWork:
    """`force` Q (..., S) [N]: a vertical force at the wheel that does the work of F; `slope` dQ/dz (..., S) [N/mm]."""

    force: Array
    slope: Array


def wheel_work(wheel: Wheel, here: UprightCurve, force: Array, brake_inboard: Flags) -> WheelWork:
    """The work of `force` (S, 3) [N] on the left wheel at the S states of its upright, per mm of its travel.

    `brake_inboard` (S,): whether a shaft takes the moment about the spin axis.
    """
    n = turn(here.upright.rotation, wheel.spin_axis[..., None, :])
    v, w = here.upright.rate[..., :3, 0], here.upright.rate[..., 3:, 0]
    v1, w1, n1 = here.curve[..., :3], here.curve[..., 3:], cross(w, n)
    q, q1 = UP - n[..., 2, None] * n, -n1[..., 2, None] * n - n[..., 2, None] * n1
    k, radius = unit(q), wheel.loaded_radius[..., None, None]
    lever = -radius * k
    lever1 = -radius * (q1 - dot(k, q1)[..., None] * k) / norm(q)[..., None]
    free = brake_inboard[:, None]
    spin, spin1 = dot(w, n)[..., None], dot(w1, n)[..., None]
    w, w1 = w - free * spin * n, w1 - free * (spin1 * n + spin * n1)
    velocity = v + cross(w, lever)
    change = v1 + cross(w1, lever) + cross(w, lever1)
    return WheelWork(*(dot(np.broadcast_to(force, part.shape), part) for part in (velocity, change)))
