"""Joints that the tests share, and the slow twin of their misalignment: one joint, one state, rotations by scipy.

The twin takes its poses from `tests.twin`, fits a rotation to the points of the part that a bolt sits in, and measures
the angle between bolt and member with an arc cosine.
"""

import numpy as np
from scipy.spatial.transform import Rotation

from geometry.arrays import Array
from geometry.axle import Axle, CornerStrut
from geometry.joints import joint_places
from objectives.fittings.joints import Joint
from tests.axles import vector
from tests.twin import TwinSide, inboard_now, side_at, turned, twin_rocker

MIRROR = np.array([1.0, -1.0, 1.0])
ACROSS = vector(1.0, 0.3, -0.2)
"""A bolt that lies in no plane of an axle."""


def stated(axle: Axle, limit: float | None = 20.0, bolt: Array = ACROSS) -> dict[str, Joint]:
    """Every joint of an axle, each with the same bolt and limit."""
    return {name: Joint(bolt, limit) for name in joint_places(axle)}


def twin_misalignment(axle: Axle, name: str, bolt: Array | None, state: tuple[float, float, float]) -> float:
    """Misalignment of a joint [deg] at (z_left, z_right, rack) [mm]; of a rod's the left one's."""
    z_left, z_right, rack = state
    member, _, end = name.rpartition("_")
    left, rocker = side_at(axle, z_left, rack), twin_rocker(axle)
    if member == "rod":
        line = left.rod_outboard - rocker.pivot - turned(rocker, left.rocker_angle, rocker.rod_inboard)
        if end == "outboard":
            assert bolt is not None
            return off(line, carrier_turn(axle, left, rack).apply(bolt))
        return off(line, on_rocker(axle, bolt, left))
    strut = axle.struts[member]
    if isinstance(strut, CornerStrut):
        line = strut.chassis - left.pickups[strut.left]
        assert bolt is not None or end == "left"
        return off(line, bolt if end == "chassis" and bolt is not None else on_rocker(axle, bolt, left))
    right = side_at(axle, z_right, -rack)
    line = MIRROR * right.pickups[strut.right] - left.pickups[strut.left]
    if end == "left":
        return off(line, on_rocker(axle, bolt, left))
    return off(line, MIRROR * on_rocker(axle, None if bolt is None else MIRROR * bolt, right))


def off(line: Array, bolt: Array) -> float:
    """What a right angle has over the angle between a member and its bolt [deg]."""
    cosine = float(line @ bolt) / float(np.linalg.norm(line) * np.linalg.norm(bolt))
    return abs(90.0 - float(np.degrees(np.arccos(cosine))))


def on_rocker(axle: Axle, bolt: Array | None, side: TwinSide) -> Array:
    rocker = twin_rocker(axle)
    if bolt is None:
        return rocker.axis
    return np.asarray(Rotation.from_rotvec(side.rocker_angle * rocker.axis).apply(bolt))


def carrier_turn(axle: Axle, side: TwinSide, rack: float) -> Rotation:
    """How the part that carries the rod's outboard eye has turned: fitted to its points, or to its one line."""
    if not axle.rod.carried_by:
        return Rotation.from_matrix(side.rotation)
    first, *others = (axle.links[name] for name in axle.rod.carried_by)
    tip = side.centre + side.rotation @ (first.outboard - axle.wheel.centre)
    before, after = [first.outboard - first.inboard], [tip - inboard_now(first, rack)]
    if others:
        hinge = others[0].inboard - first.inboard
        before, after = [*before, hinge], [*after, hinge]
    turn, _ = Rotation.align_vectors(np.array(after), np.array(before))
    return turn
