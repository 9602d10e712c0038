"""A strut between the two rockers, or from a rocker to the chassis: its length and how the wheels change it.

| symbol | meaning | shape | unit |
|---|---|---|---|
| l | line of the strut, from its left end to its other end | (*B, S, 3) | mm |
| u | l / length | (*B, S, 3) | - |
| g | velocity of a pick-up per radian of its rocker, a x r | (*B, S, 3) | mm/rad |

With c = static length - length, dc = u . dP_left - u . dP_right: the velocities are analytic. The right rocker is the
left one mirrored in y, at the right wheel's travel and at the rack's negative.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.angles import projected_angle, tilt
from geometry.arrays import MIRROR_Y, Array, Flags, Indices, dot, norm
from geometry.axle import CornerStrut
from geometry.side import Pairs
from geometry.side_motion import SideMotion


def strut_motion(side: SideMotion, name: str, pairs: Pairs, ok: Flags) -> "StrutMotion":
    """The element `name` of an axle at pairs of side states; NaN where `ok` (*B, S) is false.

    For a corner strut, the left one's.
    """
    element, static = side.axle.elements[name], strut_line(side, name)
    left = _End.of(side, element.left, pairs.left)
    if isinstance(element, CornerStrut):
        return StrutMotion(left, None, element.chassis[..., None, :] - left.point, static[..., None, :], ok)
    right = _End.of(side, element.right, pairs.right)
    return StrutMotion(left, right, MIRROR_Y * right.point - left.point, static[..., None, :], ok)


def strut_line(side: SideMotion, name: str) -> Array:
    """Line of an element at static, from its left end to its other end (*B, 3) [mm]."""
    element, pickups = side.axle.elements[name], side.points.pickups
    if isinstance(element, CornerStrut):
        return element.chassis - pickups[element.left]
    return MIRROR_Y * pickups[element.right] - pickups[element.left]


@dataclass(frozen=True)
class StrutMotion:
    """An element at S states, arrays (*B, S); NaN where a state's status is not OK.

    Each number is computed when it is first asked for. Right-end values are NaN for a corner strut.
    """

    _left: "_End"
    _right: "_End | None"
    _line: Array
    _static: Array
    _ok: Flags

    @cached_property
    def length(self) -> Array:
        """Length between the eyes [mm]."""
        return self._kept(self._length)

    @cached_property
    def compression(self) -> Array:
        """Static length - length [mm], positive when squeezed."""
        return self._kept(norm(self._static) - self._length)

    @cached_property
    def by_left(self) -> Array:
        """d compression / d travel of the left wheel [mm/mm]."""
        return self._kept(self._left_pull * self._left.rate[..., 0])

    @cached_property
    def by_right(self) -> Array:
        """d compression / d travel of the right wheel [mm/mm]; 0 for a corner strut."""
        if self._right is None:
            return self._kept(np.zeros_like(self._left_pull))
        return self._kept(self._right_pull * self._right.rate[..., 0])

    @cached_property
    def by_rack(self) -> Array:
        """d compression / d rack [mm/mm]. The right side sees the rack's negative."""
        left = self._left_pull * self._left.rate[..., 1]
        if self._right is None:
            return self._kept(left)
        return self._kept(left - self._right_pull * self._right.rate[..., 1])

    @cached_property
    def transmission_left(self) -> Array:
        """Angle between left arm and strut, both seen along the axis, folded to 0..pi/2 [rad]."""
        return self._kept(projected_angle(self._line, self._left.swing, self._left.axis))

    @cached_property
    def transmission_right(self) -> Array:
        """The same at the right rocker [rad]."""
        if self._right is None:
            return np.full(self._ok.shape, np.nan)
        return self._kept(projected_angle(MIRROR_Y * self._line, self._right.swing, self._right.axis))

    @cached_property
    def tilt_left(self) -> Array:
        """Angle of the strut out of the left rocker's plane, at least 0 [rad]."""
        return self._kept(tilt(self._line, self._left.axis))

    @cached_property
    def tilt_right(self) -> Array:
        """The same at the right rocker [rad]."""
        if self._right is None:
            return np.full(self._ok.shape, np.nan)
        return self._kept(tilt(MIRROR_Y * self._line, self._right.axis))

    @cached_property
    def over_centre(self) -> Flags:
        """Whether the strut's signed arm about either rocker's axis has changed sign against static."""
        crossed = self._left_pull * dot(self._static, self._left.static_swing) < 0.0
        if self._right is not None:
            crossed |= self._right_pull * -dot(self._static, MIRROR_Y * self._right.static_swing) < 0.0
        return np.broadcast_to(crossed & self._ok, self._ok.shape)

    @cached_property
    def _length(self) -> Array:
        return norm(self._line)

    @cached_property
    def _left_pull(self) -> Array:
        """dc / d(left rocker's angle) = u . g [mm/rad]."""
        return dot(self._line, self._left.swing) / self._length

    @cached_property
    def _right_pull(self) -> Array:
        """dc / d(right rocker's angle) = -u . (mirrored g) [mm/rad]."""
        if self._right is None:
            return np.zeros_like(self._length)
        return -dot(self._line, MIRROR_Y * self._right.swing) / self._length

    def _kept(self, values: Array) -> Array:
        return np.where(self._ok, values, np.nan)


@dataclass(frozen=True)
class _End:
    """A strut's end on a rocker, in left-hand coordinates: position, a x r at its states and at static, rates, axis."""

    point: Array
    swing: Array
    static_swing: Array
    rate: Array
    axis: Array

    @classmethod
    def of(cls, side: SideMotion, pickup: str, index: Indices) -> "_End":
        point, swing = side.pickup(pickup)
        return cls(
            point[..., index, :],
            swing[..., index, :],
            swing[..., :1, :],
            side.turn_rate[..., index, :],
            side.points.axis[..., None, :],
        )
