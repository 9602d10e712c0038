"""What an element's force does to the two rockers, in the left-hand axes of each.

| symbol | meaning | shape | unit |
|---|---|---|---|
| S | force of a strut, positive when it pushes its ends apart | (..., S) | N |
| M | moment of a bar, the force that goes with its angle or twist | (..., S) | N.mm |
| w | from the other end of a strut or drop link to the rocker's pick-up, unit vector | (..., S, 3) | - |
| g | velocity of the arm's end per radian of the arm | (..., S, 3) | mm |

A strut pushes with S w. A torsion bar turns its rocker by -M in bump's sense. An anti-roll bar turns its left arm by
-M and its right arm by +M in bump's sense, tau about +y: then its drop link, in compression D, pushes the pick-up with
D w, and the arm balances where D w . g = tau.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import MIRROR_Y, Array, Indices, dot, unit
from geometry.axle import AntiRollBar, CornerStrut, CrossStrut, TorsionBar
from geometry.rocker import swing_point
from geometry.side import Pairs
from geometry.side_motion import SideMotion
from objectives.loads.rocker import Push


@dataclass(frozen=True)
class TwoPushes:
    """What one element does to the left and to the right rocker, each in left-hand axes: the right one mirrored."""

    left: Push
    right: Push


def element_pushes(side: SideMotion, name: str, pairs: Pairs, left: Array, right: Array) -> TwoPushes:
    """What the element `name` does to the rockers at pairs of side states.

    `left`, `right` (..., S): the force of a corner strut [N] or the moment of a torsion bar [N.mm] on each side; of an
    element across the car there is one, and `right` is not read. KeyError where there is no such element.
    """
    element = side.axle.elements[name]
    match element:
        case CornerStrut():
            ends = (_pickup(side, element.left, pairs.left), _pickup(side, element.left, pairs.right))
            chassis = element.chassis[..., None, :]
            return TwoPushes(_apart(ends[0], chassis, left), _apart(ends[1], chassis, right))
        case CrossStrut():
            one, other = _pickup(side, element.left, pairs.left), _pickup(side, element.right, pairs.right)
            return TwoPushes(_apart(one, MIRROR_Y * other, left), _apart(other, MIRROR_Y * one, left))
        case TorsionBar():
            return TwoPushes(_turned(side, left), _turned(side, right))
        case AntiRollBar():
            sense = side.bar(name).sense[..., None]
            return TwoPushes(
                _by_drop_link(side, name, element, pairs.left, -sense * left),
                _by_drop_link(side, name, element, pairs.right, sense * left),
            )


def _pickup(side: SideMotion, name: str, index: Indices) -> Array:
    return np.asarray(side.pickup(name)[0][..., index, :])


def _apart(point: Array, far: Array, force: Array) -> Push:
    return Push(force[..., None] * unit(point - far), point, far, np.zeros(()))


def _turned(side: SideMotion, moment: Array) -> Push:
    pivot = side.points.pivot[..., None, :]
    return Push(np.zeros(3), pivot, pivot, -side.bump[..., None] * moment)


def _by_drop_link(side: SideMotion, name: str, bar: AntiRollBar, index: Indices, turning: Array) -> Push:
    motion = side.bar(name)
    end, swing = (
        np.asarray(part[..., index, :])
        for part in swing_point(motion.linkage.rod_arm, motion.linkage, motion.closing.turn)
    )
    point = _pickup(side, bar.pickup, index)
    return _apart(point, end, turning / dot(unit(point - end), swing))
