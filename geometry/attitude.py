"""How the left wheel leans and points, by wheel travel, and where its contact point goes.

With n the spin axis and w the angular velocity of the upright per mm of wheel travel, n' = w x n; camber = -asin(n_z)
and toe = atan2(n_x, n_y) then change by -n'_z / cos(camber) and (n_y n'_x - n_x n'_y) / (n_x^2 + n_y^2).
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, cross
from geometry.contact import static_contact
from geometry.motion import Motion


@dataclass(frozen=True)
class AttitudeRate:
    """Change of `camber` and `toe` of the left wheel per mm of its travel, the rack held (*W, S) [rad/mm]."""

    camber: Array
    toe: Array


def attitude_rate(motion: Motion) -> AttitudeRate:
    """At the states of a motion; NaN where the links are locked."""
    n = motion.wheel.spin_axis
    change = cross(motion.side.upright.rate[..., 0][..., motion.pairs.left, 3:], n)
    level = n[..., 0] ** 2 + n[..., 1] ** 2
    return AttitudeRate(
        camber=-change[..., 2] / np.sqrt(level),
        toe=(n[..., 1] * change[..., 0] - n[..., 0] * change[..., 1]) / level,
    )


def contact_shift(motion: Motion) -> Array:
    """The left contact point less its place at static (*W, S, 3) [mm]."""
    return np.asarray(motion.contact.point - static_contact(motion.side.axle.wheel)[..., None, :])
