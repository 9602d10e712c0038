"""How far the spherical joints at the ends of rod and struts are out of true.

A spherical joint's ball sits on a bolt and its housing on the end of a member. About the bolt the member turns freely;
the joint's misalignment is the angle by which the member leaves the plane square to the bolt. Bolts are given at static
in the car's axes, and turn with the part that they sit in: upright or link, rocker, or none.

| symbol | meaning | shape | unit |
|---|---|---|---|
| b | unit vector along the bolt, either way | (*B, N, 3) | - |
| l, u | line of the member, and l / length | (*B, N, 3) | mm, - |

misalignment = asin |u . b|, 0..pi/2.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from geometry.angles import tilt
from geometry.arrays import MIRROR_Y, Array, Indices, cross, dot, unit
from geometry.axle import Axle, CornerStrut
from geometry.motion import Motion
from geometry.rod import carry_bolt
from geometry.side_motion import SideMotion


class End(StrEnum):
    """An end of a member: of the rod the first two, of a strut the others, `chassis` of a corner strut alone."""

    OUTBOARD = "outboard"
    INBOARD = "inboard"
    LEFT = "left"
    RIGHT = "right"
    CHASSIS = "chassis"

    @property
    def on_rocker(self) -> bool:
        """Whether the joint's bolt sits in a rocker."""
        return self in (End.INBOARD, End.LEFT, End.RIGHT)


@dataclass(frozen=True)
class JointPlace:
    """Where a joint is: at an `end` of a `strut`, or of the rod, None."""

    strut: str | None
    end: End


def joint_places(axle: Axle) -> dict[str, JointPlace]:
    """Every joint that an axle has at its rods and struts, by name: `rod_outboard`, `rod_inboard`, `heave_left`, ..."""
    places = {f"rod_{end}": JointPlace(None, end) for end in (End.OUTBOARD, End.INBOARD)}
    for name, strut in axle.struts.items():
        far = End.CHASSIS if isinstance(strut, CornerStrut) else End.RIGHT
        places |= {f"{name}_{end}": JointPlace(name, end) for end in (End.LEFT, far)}
    return places


def rod_misalignment(side: SideMotion, end: End, bolt: Array | None) -> Array:
    """Misalignment of the left rod's joint at all its side's states (*B, K) [rad].

    `bolt` (3,) of any length; at the inboard end None for one along the rocker's axis. NaN where the side cannot be.
    Raises ValueError for an outboard end without a bolt.
    """
    line = side.eye - side.rod_inboard[0]
    if end is End.OUTBOARD:
        return tilt(line, carry_bolt(side.axle, side.upright, side.tree, unit(_given(bolt))))
    return tilt(line, _on_rocker(side, bolt))


def strut_misalignment(motion: Motion, place: JointPlace, bolt: Array | None, length: Array) -> Array:
    """Misalignment of a strut's joint at the states of a motion (*B, S) [rad]; of a corner strut the left one's.

    `bolt` (3,) of any length, at the right end too as it stands there; on a rocker None for one along its axis.
    `length` (*B, S) [mm]: the strut's, NaN where it cannot be; so is the angle then. Raises KeyError for a strut that
    the axle has not, ValueError for a chassis end without a bolt.
    """
    side, other, pairs = motion.side, motion.right or motion.side, motion.pairs
    strut = side.axle.struts[place.strut or ""]
    left = side.pickup(strut.left)[0]
    if isinstance(strut, CornerStrut):
        line = strut.chassis[..., None, :] - left
        b = unit(_given(bolt)) if place.end is End.CHASSIS else _on_rocker(side, bolt)
        along = dot(line, b)[..., pairs.left]
    elif place.end is End.RIGHT:
        mirrored = None if bolt is None else MIRROR_Y * bolt
        right = other.pickup(strut.right)[0]
        along = _along(right, _on_rocker(other, mirrored), pairs.right, MIRROR_Y * left, pairs.left)
    else:
        right = MIRROR_Y * other.pickup(strut.right)[0]
        along = _along(left, _on_rocker(side, bolt), pairs.left, right, pairs.right)
    return np.arcsin(np.minimum(np.abs(along) / length, 1.0))


def _along(end: Array, bolt: Array, here: Indices, far: Array, there: Indices) -> Array:
    """How far a line goes along the bolt at its one end (*B, S) [mm].

    That `end` and its `bolt` (*B, K or 1, 3) are at side states `here` (S,), its `far` end at `there`.
    """
    own = dot(end, bolt)[..., here]
    if bolt.shape[-2] == 1:
        return np.asarray(dot(far, bolt)[..., there] - own)
    reach = [far[..., axis][..., there] * bolt[..., axis][..., here] for axis in range(3)]
    return np.asarray(reach[0] + reach[1] + reach[2] - own)


def _given(bolt: Array | None) -> Array:
    if bolt is None:
        raise ValueError("a joint that is not on the rocker needs a bolt: no axis lends it its own")
    return bolt


def _on_rocker(side: SideMotion, bolt: Array | None) -> Array:
    """A bolt of the left rocker at all side states (*B, K or 1, 3)."""
    axis = side.points.axis[..., None, :]
    if bolt is None:
        return axis
    settled, turn = side.axle.rocker.settled, side.closing.turn
    b = unit(bolt) if settled is None else _turned(unit(bolt), side.points.axis, np.cos(settled), np.sin(settled))
    return _turned(b[..., None, :], axis, turn.cos, turn.sin)


def _turned(vector: Array, axis: Array, cos: Array, sin: Array) -> Array:
    """A vector (..., 3) turned about a unit axis (..., 3) by an angle given as cosine and sine (...)."""
    along = dot(vector, axis)[..., None] * axis
    return np.asarray(along + cos[..., None] * (vector - along) + sin[..., None] * cross(axis, vector))
