"""An axle as it stands at one state of its left side, written out as an axle of its own, at static there."""

from dataclasses import replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Arm, Axle, Element, Rocker, Wheel
from geometry.bar import BarMotion
from geometry.hardpoints import point_of
from geometry.motion import wheel_motion
from geometry.side import Pairs
from geometry.side_motion import SideMotion


def posed(side: SideMotion) -> Axle:
    """The axle of which `side` holds one state (K = 1) at rack 0, with the same batch axes.

    Wheel, links, rod and rocker stand where they do in that state, against the chassis as it was: the ground does not
    go along. The rocker is written as arms about its axis as a vector. NaN where the state cannot be.
    """
    axle, points, upright = side.axle, side.points, side.upright
    here = np.zeros(1, dtype=np.intp)
    wheel = wheel_motion(side, Pairs(here, here))
    links = {
        name: replace(link, outboard=upright.carry(link.outboard)[0][..., 0, :]) for name, link in axle.links.items()
    }
    angle = side.closing.turn.angle[..., 0]
    rocker = Rocker(
        pivot=points.pivot,
        axis=points.axis,
        rod=replace(points.rod_arm, angle=points.rod_arm.angle + angle),
        pickups={name: Arm(arm.length, arm.angle + angle, arm.offset) for name, arm in points.arms.items()},
        reference=axle.rocker.reference,
    )
    return Axle(
        wheel=Wheel(wheel.centre[..., 0, :], wheel.toe[..., 0], wheel.camber[..., 0]),
        links=links,
        rod=replace(axle.rod, outboard=side.eye[..., 0, :]),
        rocker=rocker,
        elements={name: _element(one, name, side) for name, one in axle.elements.items()},
    )


def _element(element: Element, name: str, side: SideMotion) -> Element:
    return replace(element, end=_arm_end(side.bar(name))) if isinstance(element, AntiRollBar) else element


def _arm_end(bar: BarMotion) -> Array:
    """Where a bar's left arm ends (*B, 3) [mm]."""
    at, arm = bar.linkage, bar.linkage.rod_arm
    turned = replace(arm, angle=arm.angle + bar.closing.turn.angle[..., 0])
    return point_of(turned, at.pivot, at.axis, at.e0, at.e1)
