"""The rod's loop: where the rod's outboard eye is, and the rocker angle at which the rod reaches its arm.

At rocker angle t (about the axis, from static) the rod's inboard eye runs on a circle. Its distance from the outboard
eye is smallest where the arm points at that eye (seen along the axis) and largest where it points away: the two
toggles. Between them the distance only grows, so on static's side there is one angle, or none.
"""

import math
from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq

from optimiser.report.handoff.second_reading.plain import PlainAxle, Vector, skew
from optimiser.report.handoff.second_reading.upright import Pose

ANGLE_TOLERANCE = 1e-15
"""Absolute tolerance of the rocker angle [rad]."""
RELATIVE_TOLERANCE = 4.0 * float(np.finfo(float).eps)
"""Relative tolerance of the root finder: the smallest that it takes."""

Eye = Callable[[Pose, float], Vector]
"""The rod's outboard eye at a pose of the upright and a rack travel [mm]."""


def outboard_eye(axle: PlainAxle) -> Eye:
    """The rod's outboard eye as what carries it moves: the upright, one link, or a wishbone of two links."""
    if not axle.carried_by:
        return lambda pose, _: pose.place(axle.rod_outboard - axle.wheel_centre)
    if len(axle.carried_by) == 1:
        return _on_link(axle)
    return _on_wishbone(axle)


class Rocker:
    """An arm about `axis` (unit) through `pivot`, at static out to `inboard`, whence a rod runs to `outboard`."""

    def __init__(self, pivot: Vector, axis: Vector, inboard: Vector, outboard: Vector) -> None:
        self._pivot, self._axis, self._turn = pivot, axis, skew(axis)
        arm = inboard - pivot
        self._offset = float(arm @ axis)
        across = arm - self._offset * axis
        self._radius = float(np.linalg.norm(across))
        self._e0 = across / self._radius
        self._e1 = skew(axis) @ self._e0
        self.rod_length = float(np.linalg.norm(outboard - inboard))
        self._towards_static = self._direction(outboard, 0.0)
        self._side = math.copysign(1.0, -math.sin(self._towards_static))

    def gap(self, eye: Vector) -> float:
        """How far the rod is from a toggle [mm of its length]: below 0 the loop is open."""
        near = self._direction(eye, self._towards_static)
        return min(-self._miss(near, eye), self._miss(near + math.pi, eye))

    def angle(self, eye: Vector) -> float:
        """Rocker angle against static [rad], on static's side of the toggles; NaN where the loop is open."""
        near = self._direction(eye, self._towards_static)
        far = near + self._side * math.pi
        if self._miss(near, eye) > 0.0 or self._miss(far, eye) < 0.0:
            return math.nan
        low, high = min(near, far), max(near, far)
        return float(brentq(self._miss, low, high, args=(eye,), xtol=ANGLE_TOLERANCE, rtol=RELATIVE_TOLERANCE))

    def turned(self, point: Vector, angle: float) -> Vector:
        """A point of the rocker at static, carried to a rocker angle [rad]."""
        arm = point - self._pivot
        along = (arm @ self._axis) * self._axis
        across = arm - along
        turned: Vector = self._pivot + along + math.cos(angle) * across + math.sin(angle) * (self._turn @ across)
        return turned

    def _direction(self, eye: Vector, near: float) -> float:
        """Angle of the outboard eye as seen along the axis, within pi of `near` [rad]."""
        arm = eye - self._pivot
        angle = math.atan2(arm @ self._e1, arm @ self._e0)
        return near + math.remainder(angle - near, math.tau)

    def _miss(self, angle: float, eye: Vector) -> float:
        spoke = math.cos(angle) * self._e0 + math.sin(angle) * self._e1
        end = self._pivot + self._offset * self._axis + self._radius * spoke
        return float(np.linalg.norm(eye - end)) - self.rod_length


def _on_link(axle: PlainAxle) -> Eye:
    link = axle.links[axle.carried_by[0]]
    line = link.outboard - link.inboard
    share = float((axle.rod_outboard - link.inboard) @ line) / float(line @ line)
    local = link.outboard - axle.wheel_centre

    def eye(pose: Pose, rack: float) -> Vector:
        inboard = link.inboard + np.array([0.0, rack if link.follows_rack else 0.0, 0.0])
        point: Vector = inboard + share * (pose.place(local) - inboard)
        return point

    return eye


def _on_wishbone(axle: PlainAxle) -> Eye:
    first, second = (axle.links[name] for name in axle.carried_by)
    hinge = (second.inboard - first.inboard) / np.linalg.norm(second.inboard - first.inboard)
    local = first.outboard - axle.wheel_centre

    def frame(outboard: Vector) -> Vector:
        arm = outboard - first.inboard
        across = arm - (arm @ hinge) * hinge
        across = across / np.linalg.norm(across)
        return np.column_stack([hinge, across, skew(hinge) @ across])

    inside = frame(first.outboard).T @ (axle.rod_outboard - first.inboard)

    def eye(pose: Pose, _: float) -> Vector:
        point: Vector = first.inboard + frame(pose.place(local)) @ inside
        return point

    return eye
