"""The points of an axle at static, placed from its written form: arms become points, axes become unit vectors.

| symbol | meaning | shape | unit |
|---|---|---|---|
| a | rocker axis, unit vector | (..., 3) | - |
| e0, e1 | unit vectors square to a; e1 = a x e0 | (..., 3) | - |
| P | rocker pivot | (..., 3) | mm |
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, cross, dot, norm, unit
from geometry.axle import (
    AntiRollBar,
    Arm,
    AxisAligned,
    AxisAngles,
    Axle,
    CornerStrut,
    CrossStrut,
    Element,
    Link,
    RockerAxis,
    RockerPoint,
    TorsionBar,
)

OUTWARD = np.array([0.0, 1.0, 0.0])
"""Direction from which arm angles count where the rocker names no reference: +y, to the left."""
FORWARD = np.array([1.0, 0.0, 0.0])
"""Direction from which the angle of an anti-roll bar's arm counts."""


@dataclass(frozen=True)
class Hardpoints:
    """Left-hand points of an axle at static [mm], ISO 8855 axes, each with the batch axes it needs in front.

    `arms` and `rod_arm` are the pick-ups and the rod's inboard eye in polar form, whatever their written form was.
    """

    pivot: Array
    axis: Array
    e0: Array
    e1: Array
    rod_outboard: Array
    rod_inboard: Array
    rod_length: Array
    rod_arm: Arm
    pickups: Mapping[str, Array]
    arms: Mapping[str, Arm]


def place(axle: Axle) -> Hardpoints:
    """All points of an axle at static: arrays (..., 3) [mm]. Degenerate axes give NaN, never an exception."""
    rocker = axle.rocker
    eye = rod_eye(axle)
    axis = axis_of(rocker.axis, rocker.pivot, eye)
    e0, e1 = arm_directions(axis, rocker.reference)
    rod_arm = _as_arm(rocker.rod, rocker.pivot, axis, e0, e1)
    arms = {name: _as_arm(point, rocker.pivot, axis, e0, e1) for name, point in rocker.pickups.items()}
    inboard = point_of(rod_arm, rocker.pivot, axis, e0, e1)
    return Hardpoints(
        pivot=rocker.pivot,
        axis=axis,
        e0=e0,
        e1=e1,
        rod_outboard=eye,
        rod_inboard=inboard,
        rod_length=norm(eye - inboard),
        rod_arm=rod_arm,
        pickups={name: point_of(arm, rocker.pivot, axis, e0, e1) for name, arm in arms.items()},
        arms=arms,
    )


def rod_eye(axle: Axle) -> Array:
    """The rod's outboard eye at static (..., 3) [mm]: moved to its foot on the link where one link carries it."""
    if len(axle.rod.carried_by) != 1:
        return axle.rod.outboard
    link = axle.links[axle.rod.carried_by[0]]
    return link.inboard + share_along(link, axle.rod.outboard)[..., None] * (link.outboard - link.inboard)


def share_along(link: Link, point: Array) -> Array:
    """Where the foot of `point` (..., 3) lies on a link's line: 0 at its inboard, 1 at its outboard end (...)."""
    along = link.outboard - link.inboard
    return dot(point - link.inboard, along) / dot(along, along)


def axis_of(axis: RockerAxis, pivot: Array, rod_outboard: Array) -> Array:
    """Unit vector (..., 3) of a rocker axis in any written form.

    Angles: azimuth about +z from +x towards +y, elevation from the x-y plane towards +z. Aligned: with
    d = rod outboard - pivot, (-d_z, 0, d_x) normalised, turned so that x > 0 (where x = 0: z > 0).
    """
    if isinstance(axis, AxisAngles):
        azimuth, elevation = np.broadcast_arrays(axis.azimuth, axis.elevation)
        flat = np.cos(elevation)
        return np.stack([flat * np.cos(azimuth), flat * np.sin(azimuth), np.sin(elevation)], axis=-1)
    if isinstance(axis, AxisAligned):
        d = rod_outboard - pivot
        square = unit(np.stack([-d[..., 2], np.zeros_like(d[..., 0]), d[..., 0]], axis=-1))
        x, z = square[..., 0], square[..., 2]
        sign = np.where((x > 0.0) | ((x == 0.0) & (z > 0.0)), 1.0, -1.0)
        return sign[..., None] * square
    return unit(axis)


def arm_directions(axis: Array, reference: Array | None = None) -> tuple[Array, Array]:
    """e0 and e1 (..., 3): the direction from which arm angles count, and the one a quarter turn on about `axis`."""
    start = OUTWARD if reference is None else reference
    start, axis = np.broadcast_arrays(start, axis)
    e0 = unit(start - dot(start, axis)[..., None] * axis)
    return e0, cross(axis, e0)


def point_of(arm: Arm, pivot: Array, axis: Array, e0: Array, e1: Array) -> Array:
    """The point (..., 3) [mm] at the end of an arm: P + offset a + length (cos(angle) e0 + sin(angle) e1)."""
    length, angle, offset = (np.asarray(value)[..., None] for value in (arm.length, arm.angle, arm.offset))
    return np.asarray(pivot + offset * axis + length * (np.cos(angle) * e0 + np.sin(angle) * e1))


def arm_of(point: Array, pivot: Array, axis: Array, reference: Array | None = None) -> Arm:
    """The arm that ends in `point` (..., 3) [mm] of a rocker with `pivot` and unit `axis` (..., 3)."""
    e0, e1 = arm_directions(axis, reference)
    return _as_arm(point, pivot, axis, e0, e1)


def element_pickups(axle: Axle) -> tuple[str, ...]:
    """Names of the pick-ups that an element uses, each once, in the elements' order."""
    names: dict[str, None] = {}
    for element in axle.elements.values():
        names |= dict.fromkeys(_pickups_of(element))
    return tuple(names)


def bar_linkage(bar: AntiRollBar, points: Hardpoints) -> Hardpoints:
    """The left arm and drop link of an anti-roll bar, as a rocker about +y whose rod runs out to the pick-up."""
    pickup = points.pickups[bar.pickup]
    e0, e1 = arm_directions(OUTWARD, FORWARD)
    return Hardpoints(
        pivot=bar.pivot,
        axis=OUTWARD,
        e0=e0,
        e1=e1,
        rod_outboard=pickup,
        rod_inboard=bar.end,
        rod_length=norm(pickup - bar.end),
        rod_arm=_as_arm(bar.end, bar.pivot, OUTWARD, e0, e1),
        pickups={},
        arms={},
    )


def batch_shape(axle: Axle) -> tuple[int, ...]:
    """The batch axes of an axle: the shape that all its numbers broadcast to."""
    points = [axle.wheel.centre, axle.rod.outboard, axle.rocker.pivot]
    scalars = [axle.wheel.toe, axle.wheel.camber]
    for link in axle.links.values():
        points += [link.inboard, link.outboard]
    for element in axle.elements.values():
        points += _chassis_points(element)
    if axle.rocker.reference is not None:
        points.append(axle.rocker.reference)
    if isinstance(axle.rocker.axis, AxisAngles):
        scalars += [axle.rocker.axis.azimuth, axle.rocker.axis.elevation]
    elif not isinstance(axle.rocker.axis, AxisAligned):
        points.append(axle.rocker.axis)
    for end in (axle.rocker.rod, *axle.rocker.pickups.values()):
        if isinstance(end, Arm):
            scalars += [end.length, end.angle, end.offset]
        else:
            points.append(end)
    shapes = [point.shape[:-1] for point in points] + [np.shape(scalar) for scalar in scalars]
    return np.broadcast_shapes(*shapes)


def _pickups_of(element: Element) -> tuple[str, ...]:
    match element:
        case CrossStrut(left=left, right=right):
            return left, right
        case CornerStrut(left=left):
            return (left,)
        case AntiRollBar(pickup=pickup):
            return (pickup,)
        case TorsionBar():
            return ()


def _chassis_points(element: Element) -> list[Array]:
    match element:
        case CornerStrut(chassis=chassis):
            return [chassis]
        case AntiRollBar(pivot=pivot, end=end):
            return [pivot, end]
        case CrossStrut() | TorsionBar():
            return []


def _as_arm(end: RockerPoint, pivot: Array, axis: Array, e0: Array, e1: Array) -> Arm:
    if isinstance(end, Arm):
        return end
    lever = end - pivot
    along, across = dot(lever, e0), dot(lever, e1)
    return Arm(length=np.hypot(along, across), angle=np.arctan2(across, along), offset=dot(lever, axis))
