"""Single rod-rocker loops, straight into the package's closure, for linkages that textbooks print numbers of."""

from dataclasses import dataclass

import numpy as np

from geometry.angles import projected_angle
from geometry.arrays import Array
from geometry.hardpoints import Hardpoints, arm_directions, arm_of
from geometry.rocker import close_loop, swing_point, turn_rate


@dataclass(frozen=True)
class RodLoop:
    """A rod from an eye that is moved at will to an arm that turns about an axis. Points (3,) at static."""

    points: Hardpoints

    @classmethod
    def of(cls, pivot: Array, axis: Array, inboard: Array, eye: Array) -> "RodLoop":
        """A loop by its four points and directions at static."""
        axis = axis / np.linalg.norm(axis)
        reference = np.eye(3)[np.argmin(np.abs(axis))]
        e0, e1 = arm_directions(axis, reference)
        length = np.asarray(np.linalg.norm(eye - inboard))
        arm = arm_of(inboard, pivot, axis, reference)
        return cls(Hardpoints(pivot, axis, e0, e1, eye, inboard, length, arm, {}, {}))

    def turn(self, eye: Array) -> Array:
        """Angle of the arm from static [rad] for eyes (K, 3)."""
        return close_loop(eye, self.points).turn.angle

    def reserve(self, eye: Array) -> Array:
        """The loop's reserve for eyes (K, 3): below 0 it is open."""
        return close_loop(eye, self.points).reserve

    def inboard(self, eye: Array) -> Array:
        """The rod's inboard end (K, 3) for eyes (K, 3)."""
        return swing_point(self.points.rod_arm, self.points, close_loop(eye, self.points).turn)[0]

    def rate(self, eye: Array, velocity: Array) -> Array:
        """Angular rate of the arm (K,) for eyes and their velocities (K, 3)."""
        turn = close_loop(eye, self.points).turn
        return turn_rate(eye, velocity[..., None], self.points, turn)[..., 0]

    def transmission(self, eye: Array) -> Array:
        """Angle between arm and rod seen along the axis, 0..pi/2 [rad], (K,)."""
        end, swing = swing_point(self.points.rod_arm, self.points, close_loop(eye, self.points).turn)
        return projected_angle(eye - end, swing, self.points.axis)
