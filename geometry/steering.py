"""The steering axis of the left wheel: the axis of the screw in which the upright moves per mm of rack.

| symbol | meaning | shape | unit |
|---|---|---|---|
| v, w | velocity of the wheel centre p; angular velocity of the upright, per mm of rack | (..., S, 3) | mm/mm, rad/mm |
| k | unit vector along w, upward | (..., S, 3) | - |
| a | the axis' point p + w x v / w^2 | (..., S, 3) | mm |
| l | mm of wheel travel per mm of rack | (..., S) | mm/mm |

An upright on five links, one of them on the rack, has two freedoms. What counts as steering is therefore a choice of l
in (v, w) = (v, w) of the rack at a held wheel centre + l (v, w) of wheel travel: see `Held`. Screw: K. H. Hunt,
Kinematic Geometry of Mechanisms, Oxford 1978, chapter 2, from memory.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from geometry.arrays import Array, cross, dot, norm, unit
from geometry.contact import UP
from geometry.motion import Motion

NO_TURN = 1e-9
"""An upright that turns by less than this per mm of rack [rad/mm] has no steering axis."""


class Held(StrEnum):
    """What stands still while the rack moves by a millimetre."""

    LINKS = "links_held"
    """The links that the rack does not move. Wishbones with one outboard joint each do stand still, and the axis is the
    line through their joints; split joints let no link stand, and the outboard ends of these links move least then (by
    the sum of their squares)."""
    ELEMENTS = "elements_held"
    """The rocker, and so every strut and bar: a rod on a wishbone then holds that too."""
    WHEEL = "wheel_held"
    """The height of the wheel centre."""


@dataclass(frozen=True)
class SteeringAxis:
    """The left wheel's steering axis at S states, arrays (..., S); NaN where there is none.

    `castor`, `inclination` [rad]: the axis as seen from the side and from the front, its top rearward and its top
    inboard positive. At the height of the contact point (`ground`) and of the wheel `centre` [mm]: `castor_offset`,
    along the wheel's heading, positive where the axis is ahead; `offset`, square to that, positive where the axis is
    inboard. Terms: ISO 8855:2011, clause 7 (its scrub radius is the distance of both, not the offset at ground); that
    offsets turn with the heading is from memory. `pitch` [mm/rad]: along the axis per radian.
    """

    castor: Array
    inclination: Array
    castor_offset_at_ground: Array
    castor_offset_at_centre: Array
    offset_at_ground: Array
    offset_at_centre: Array
    pitch: Array


def steering_axis(motion: Motion, held: Held = Held.LINKS) -> SteeringAxis:
    """The left wheel's steering axis at the states of a motion; the axle must have a rack to turn its wheels."""
    index, wheel = motion.pairs.left, motion.wheel
    twist = _twist(motion, held)
    up = np.sign(twist[..., 5])
    twist = np.where((norm(twist[..., 3:]) * np.abs(up) < NO_TURN)[..., None], np.nan, twist * up[..., None])
    v, w = twist[..., :3], twist[..., 3:]
    k = unit(w)
    point = motion.side.upright.centre[..., index, :] + cross(w, v) / dot(w, w)[..., None]
    across = unit(wheel.spin_axis * np.array([1.0, 1.0, 0.0]))
    offsets = [_offset(point, k, foot, across) for foot in (motion.contact.point, wheel.centre)]
    return SteeringAxis(
        castor=np.arctan2(-k[..., 0], k[..., 2]),
        inclination=np.arctan2(-k[..., 1], k[..., 2]),
        castor_offset_at_ground=offsets[0][0],
        castor_offset_at_centre=offsets[1][0],
        offset_at_ground=offsets[0][1],
        offset_at_centre=offsets[1][1],
        pitch=dot(v, w) / dot(w, w),
    )


def _offset(point: Array, k: Array, foot: Array, across: Array) -> tuple[Array, Array]:
    """Of the axis from a point `foot`, at its height: ahead of it along the wheel's heading, inboard of it [mm]."""
    there = point + k * ((foot[..., 2] - point[..., 2]) / k[..., 2])[..., None]
    return dot(there - foot, cross(across, UP)), dot(foot - there, across)


def _twist(motion: Motion, held: Held) -> Array:
    """Velocity of the wheel centre and angular velocity per mm of rack (..., S, 6)."""
    rate = motion.side.upright.rate[..., motion.pairs.left, :, :]
    match held:
        case Held.WHEEL:
            return np.asarray(rate[..., 1])
        case Held.ELEMENTS:
            along = _quotient(*np.moveaxis(motion.side.closing.rate[..., motion.pairs.left, ::-1], -1, 0))
        case Held.LINKS:
            along = _of_links(motion)
    return np.asarray(rate[..., 1] - along[..., None] * rate[..., 0])


def _of_links(motion: Motion) -> Array:
    """-l that lets the outboard ends of the other links move least: sum(v_s . v_z) / sum(v_z . v_z)."""
    upright = motion.side.upright
    ends = [upright.carry(link.outboard)[1] for link in motion.side.axle.links.values() if not link.follows_rack]
    velocity = np.stack(np.broadcast_arrays(*ends))[..., motion.pairs.left, :, :]
    by_travel, by_rack = velocity[..., 0], velocity[..., 1]
    return _quotient(dot(by_rack, by_travel).sum(axis=0), dot(by_travel, by_travel).sum(axis=0))


def _quotient(over: Array, under: Array) -> Array:
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(under == 0.0, np.nan, over / under)
