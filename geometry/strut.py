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
from geometry.axle import CornerStrut, Strut
from geometry.kernel import Pull, pull_across
from geometry.side import Pairs
from geometry.side_motion import SideMotion


def strut_motion(
    side: SideMotion, name: str, pairs: Pairs, ok: Flags, right: SideMotion | None = None
) -> "StrutMotion":
    """The strut `name` of an axle at pairs of side states; NaN where `ok` (*B, S) is false.

    For a corner strut, the left one's. `right`, where given, is the right side, in left-hand coordinates: else it is
    the left one mirrored. KeyError where the axle has no strut of this name: bars have no length.
    """
    element, other = side.axle.struts[name], right or side
    if isinstance(element, CornerStrut):
        pull = side.kernel.pull(side.lever(element.left), element.chassis, side.closing, pairs)
    elif right is None:
        pull = side.kernel.pull(side.lever(element.left), side.lever(element.right), side.closing, pairs)
    else:
        pull = pull_across(side.lever(element.left), right.lever(element.right), side.closing, right.closing, pairs)
    return StrutMotion(side, other, element, pairs, pull, strut_line(side, name, right), ok)


def strut_line(side: SideMotion, name: str, right: SideMotion | None = None) -> Array:
    """Line of a strut at static, from its left end to its other end (*B, 3) [mm]."""
    element, pickups = side.axle.struts[name], side.points.pickups
    if isinstance(element, CornerStrut):
        return element.chassis - pickups[element.left]
    return MIRROR_Y * (right or side).points.pickups[element.right] - pickups[element.left]


@dataclass(frozen=True)
class StrutMotion:
    """A strut at S states, arrays (*B, S); NaN where a state's status is not OK.

    Each number is computed when it is first asked for. Right-end values are NaN for a corner strut.
    """

    _side: SideMotion
    _other: SideMotion
    _element: Strut
    _pairs: Pairs
    _pull: Pull
    _static: Array
    _ok: Flags

    @cached_property
    def length(self) -> Array:
        """Length between the eyes [mm]."""
        return self._kept(self._pull.length)

    @cached_property
    def compression(self) -> Array:
        """Static length - length [mm], positive when squeezed."""
        return self._kept(norm(self._static)[..., None] - self._pull.length)

    @cached_property
    def by_left(self) -> Array:
        """d compression / d travel of the left wheel [mm/mm]."""
        return self._kept(self._pull.by_left)

    @cached_property
    def by_right(self) -> Array:
        """d compression / d travel of the right wheel [mm/mm]; 0 for a corner strut."""
        return self._kept(self._pull.by_right)

    @cached_property
    def by_rack(self) -> Array:
        """d compression / d rack [mm/mm]. The right side sees the rack's negative."""
        left = self._side.closing.rate[..., self._pairs.left, 1]
        right = self._other.closing.rate[..., self._pairs.right, 1]
        return self._kept(self._pull.left * left - self._pull.right * right)

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
        left, right = _static_pull(self._side, self._other, self._element, self._static)
        crossed = (self._pull.left * left[..., None] < 0.0) | (self._pull.right * right[..., None] < 0.0)
        return np.broadcast_to(crossed & self._ok, self._ok.shape)

    @cached_property
    def _left(self) -> "_End":
        return _End.of(self._side, self._element.left, self._pairs.left)

    @cached_property
    def _right(self) -> "_End | None":
        if isinstance(self._element, CornerStrut):
            return None
        return _End.of(self._other, self._element.right, self._pairs.right)

    @cached_property
    def _line(self) -> Array:
        if self._right is not None:
            return MIRROR_Y * self._right.point - self._left.point
        return (
            self._static[..., None, :] + self._side.points.pickups[self._element.left][..., None, :] - self._left.point
        )

    def _kept(self, values: Array) -> Array:
        return values if self._ok.all() else np.where(self._ok, values, np.nan)


def _static_pull(side: SideMotion, other: SideMotion, element: Strut, line: Array) -> tuple[Array, Array]:
    """The strut's signed arm about the left and the right rocker at static, times its length (*B) [mm^2]."""
    left = dot(line, side.lever(element.left).w)
    if isinstance(element, CornerStrut):
        return left, np.zeros_like(left)
    return left, -dot(line, MIRROR_Y * other.lever(element.right).w)


@dataclass(frozen=True)
class _End:
    """A strut's end on a rocker, in left-hand coordinates: position and a x r at its states, and the rocker's axis."""

    point: Array
    swing: Array
    axis: Array

    @classmethod
    def of(cls, side: SideMotion, pickup: str, index: Indices) -> "_End":
        point, swing = side.pickup(pickup)
        return cls(point[..., index, :], swing[..., index, :], side.points.axis[..., None, :])
