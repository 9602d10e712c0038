"""The slow readable twin of the geometry: one axle, one side state at a time, plain scipy root finding.

A second reading of the same definitions that shares no solver with the package. Lengths in mm, angles in rad.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, root
from scipy.spatial.transform import Rotation

from geometry.arrays import Array
from geometry.axle import Arm, AxisAligned, AxisAngles, Axle, CornerStrut, Link

Pose = tuple[Array, Array]
"""Wheel centre (3,) and rotation of the upright from static (3, 3)."""


@dataclass(frozen=True)
class TwinRocker:
    """The left rocker at static: pivot, unit axis, e0 and e1 = axis x e0, rod eyes, pick-ups, all (3,)."""

    pivot: Array
    axis: Array
    e0: Array
    e1: Array
    rod_inboard: Array
    rod_outboard: Array
    rod_length: float
    pickups: dict[str, Array]


def twin_rocker(axle: Axle) -> TwinRocker:
    """Place the rocker from its written form."""
    rocker = axle.rocker
    if isinstance(rocker.axis, AxisAngles):
        azimuth, elevation = float(rocker.axis.azimuth), float(rocker.axis.elevation)
        axis = Rotation.from_euler("ZY", [azimuth, -elevation]).apply([1.0, 0.0, 0.0])
    elif isinstance(rocker.axis, AxisAligned):
        axis = np.cross(axle.rod.outboard - rocker.pivot, [0.0, 1.0, 0.0])
        axis = axis if axis[0] > 0 else -axis
    else:
        axis = rocker.axis
    axis = axis / np.linalg.norm(axis)
    e0 = np.array([0.0, 1.0, 0.0]) if rocker.reference is None else rocker.reference
    e0 = np.cross(np.cross(axis, e0), axis)
    e0 = e0 / np.linalg.norm(e0)

    def at(end: Arm | Array) -> Array:
        if not isinstance(end, Arm):
            return end
        arm = Rotation.from_rotvec(float(end.angle) * axis).apply(float(end.length) * e0)
        return np.asarray(rocker.pivot + float(end.offset) * axis + arm)

    inboard = at(rocker.rod)
    outboard = rod_eye_at(axle, 0.0, 0.0, (axle.wheel.centre, np.eye(3)))
    length = float(np.linalg.norm(inboard - outboard))
    pickups = {name: at(end) for name, end in rocker.pickups.items()}
    return TwinRocker(rocker.pivot, axis, e0, np.cross(axis, e0), inboard, outboard, length, pickups)


def inboard_now(link: Link, rack: float) -> Array:
    """A link's inboard point with the rack at `rack`."""
    return np.asarray(link.inboard + np.array([0.0, rack if link.follows_rack else 0.0, 0.0]))


def upright_pose(axle: Axle, z: float, rack: float, start: Pose | None = None) -> Pose:
    """Pose of the left upright that keeps every link's length, found from `start` (static by default)."""
    static = axle.wheel.centre
    centre, turned = start or (static, np.eye(3))

    def pose(unknowns: Array) -> Pose:
        step = Rotation.from_rotvec(unknowns[2:] / 100.0).as_matrix()
        return np.array([unknowns[0], unknowns[1], static[2] + z]), step @ turned

    def misses(unknowns: Array) -> list[float]:
        p, r = pose(unknowns)
        return [
            float(np.linalg.norm(p + r @ (link.outboard - static) - inboard_now(link, rack)))
            - float(np.linalg.norm(link.outboard - link.inboard))
            for link in axle.links.values()
        ]

    found = root(misses, np.array([centre[0], centre[1], 0.0, 0.0, 0.0]), method="hybr", options={"xtol": 1e-15})
    if np.abs(misses(found.x)).max() > 1e-9:
        raise ValueError(f"links do not close at z = {z}, rack = {rack}: {found.message}")
    return pose(found.x)


def rod_eye_at(axle: Axle, z: float, rack: float, pose: Pose) -> Array:
    """The rod's outboard eye with the upright at `pose`, whatever carries it."""
    static, (centre, turned) = axle.wheel.centre, pose
    links = [axle.links[name] for name in axle.rod.carried_by]
    if not links:
        return centre + turned @ (axle.rod.outboard - static)
    tip = centre + turned @ (links[0].outboard - static)
    if len(links) == 1:
        whole = links[0].outboard - links[0].inboard
        share = (axle.rod.outboard - links[0].inboard) @ whole / (whole @ whole)
        inboard = inboard_now(links[0], rack)
        return np.asarray(inboard + share * (tip - inboard))
    # A wishbone turns about the line of its inboard eyes: by the angle that takes its tip where the upright has it.
    hinge, about = links[0].inboard, links[1].inboard - links[0].inboard
    about = about / np.linalg.norm(about)
    before, after = (np.cross(about, at - hinge) for at in (links[0].outboard, tip))
    angle = np.arctan2(np.cross(before, after) @ about, before @ after)
    return np.asarray(hinge + Rotation.from_rotvec(angle * about).apply(axle.rod.outboard - hinge))


def rocker_angle(rocker: TwinRocker, eye: Array) -> float:
    """Angle of the rocker from static that fits the rod to its outboard `eye`, on static's side of the toggle.

    The loop's miss is extreme where the rod's line meets the rocker's axis. Between these two angles lies one root:
    the one with the sign of the rod's arm that it has at static. Raises ValueError where the rod cannot reach.
    """

    def miss(angle: float) -> float:
        inboard = rocker.pivot + turned(rocker, angle, rocker.rod_inboard)
        return float(np.linalg.norm(eye - inboard)) - rocker.rod_length

    toggle = angle_towards(rocker, eye)
    ends = (toggle - np.pi, toggle) if angle_towards(rocker, rocker.rod_outboard) > 0 else (toggle, toggle + np.pi)
    angle = float(brentq(miss, *ends, xtol=1e-15, rtol=1e-15))
    return float(np.arctan2(np.sin(angle), np.cos(angle)))


def angle_towards(rocker: TwinRocker, eye: Array) -> float:
    """Angle about the rocker's axis from the rod's arm at static to the direction of `eye`: there the rod lines up."""
    arm, towards = (np.cross(rocker.axis, at - rocker.pivot) for at in (rocker.rod_inboard, eye))
    return float(np.arctan2(np.cross(arm, towards) @ rocker.axis, arm @ towards))


def turned(rocker: TwinRocker, angle: float, point: Array) -> Array:
    """Where a point of the rocker, given at static, is with the rocker turned, less the pivot."""
    return np.asarray(Rotation.from_rotvec(angle * rocker.axis).apply(point - rocker.pivot))


@dataclass(frozen=True)
class TwinSide:
    """The left side at one state: wheel centre, upright's rotation, rod eye, rocker's angle and pick-ups."""

    centre: Array
    rotation: Array
    rod_outboard: Array
    rocker_angle: float
    pickups: dict[str, Array]


def side_at(axle: Axle, z: float, rack: float = 0.0, start: Pose | None = None) -> TwinSide:
    """Everything of the left side at wheel travel `z` and rack position `rack` [mm]."""
    rocker = twin_rocker(axle)
    pose = upright_pose(axle, z, rack, start)
    eye = rod_eye_at(axle, z, rack, pose)
    angle = rocker_angle(rocker, eye)
    pickups = {name: rocker.pivot + turned(rocker, angle, at) for name, at in rocker.pickups.items()}
    return TwinSide(pose[0], pose[1], eye, angle, pickups)


def strut_length(axle: Axle, name: str, left: TwinSide, right: TwinSide) -> float:
    """Length of a strut between a left side and a right one, the latter given as the left side that it mirrors."""
    element = axle.struts[name]
    if isinstance(element, CornerStrut):
        return float(np.linalg.norm(left.pickups[element.left] - element.chassis))
    mirrored = right.pickups[element.right] * np.array([1.0, -1.0, 1.0])
    return float(np.linalg.norm(left.pickups[element.left] - mirrored))
