"""The numbers of an axle by their paths: one walk that reads them all, or puts others in their place.

A path counts from `axle` down: `wheel.toe`, `links.NAME.inboard.z`, `rod.outboard.x`, `rocker.pivot.y`,
`rocker.axis.azimuth`, `rocker.pickups.NAME.angle`, `elements.NAME.chassis.z`, `elements.NAME.arm.end.z`. Numbers are as
inside: mm, rad.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from geometry.arrays import Array
from geometry.axle import (
    AntiRollBar,
    Arm,
    AxisAligned,
    AxisAngles,
    Axle,
    CornerStrut,
    Element,
    Link,
    Rocker,
    RockerAxis,
    RockerPoint,
    Rod,
    Wheel,
)

Change: TypeAlias = Callable[[str, Array], Array]
"""Given a number's path and its present value (...), gives its new value (...), or the same object to leave it."""


def numbers_of(axle: Axle) -> dict[str, Array]:
    """Every number of an axle by its path, each (...) [mm or rad]."""
    found: dict[str, Array] = {}

    def note(path: str, value: Array) -> Array:
        found[path] = value
        return value

    change_numbers(axle, note)
    return found


def change_numbers(axle: Axle, change: Change) -> Axle:
    """The axle with every number passed through `change`.

    What is not changed keeps its shape; a wheel, a link or a rod of which nothing is changed stays the same object.
    """
    return Axle(
        wheel=_wheel("wheel", axle.wheel, change),
        links={name: _link(f"links.{name}", link, change) for name, link in axle.links.items()},
        rod=_rod("rod", axle.rod, change),
        rocker=_rocker("rocker", axle.rocker, change),
        elements={name: _element(f"elements.{name}", one, change) for name, one in axle.elements.items()},
    )


def _wheel(path: str, wheel: Wheel, change: Change) -> Wheel:
    centre, toe = _point(f"{path}.centre", wheel.centre, change), change(f"{path}.toe", wheel.toe)
    camber = change(f"{path}.camber", wheel.camber)
    same = centre is wheel.centre and toe is wheel.toe and camber is wheel.camber
    return wheel if same else Wheel(centre, toe, camber)


def _rod(path: str, rod: Rod, change: Change) -> Rod:
    outboard = _point(f"{path}.outboard", rod.outboard, change)
    return rod if outboard is rod.outboard else replace(rod, outboard=outboard)


def _link(path: str, link: Link, change: Change) -> Link:
    inboard, outboard = (
        _point(f"{path}.inboard", link.inboard, change),
        _point(f"{path}.outboard", link.outboard, change),
    )
    same = inboard is link.inboard and outboard is link.outboard
    return link if same else replace(link, inboard=inboard, outboard=outboard)


def _rocker(path: str, rocker: Rocker, change: Change) -> Rocker:
    reference = rocker.reference
    return Rocker(
        pivot=_point(f"{path}.pivot", rocker.pivot, change),
        axis=_axis(f"{path}.axis", rocker.axis, change),
        rod=_rocker_point(f"{path}.rod", rocker.rod, change),
        pickups={name: _rocker_point(f"{path}.pickups.{name}", one, change) for name, one in rocker.pickups.items()},
        reference=None if reference is None else _point(f"{path}.reference", reference, change),
    )


def _axis(path: str, axis: RockerAxis, change: Change) -> RockerAxis:
    if isinstance(axis, AxisAligned):
        return axis
    if isinstance(axis, AxisAngles):
        return AxisAngles(change(f"{path}.azimuth", axis.azimuth), change(f"{path}.elevation", axis.elevation))
    return _point(path, axis, change)


def _rocker_point(path: str, point: RockerPoint, change: Change) -> RockerPoint:
    if isinstance(point, Arm):
        length, angle = change(f"{path}.length", point.length), change(f"{path}.angle", point.angle)
        return Arm(length, angle, change(f"{path}.offset", point.offset))
    return _point(path, point, change)


def _element(path: str, element: Element, change: Change) -> Element:
    if isinstance(element, CornerStrut):
        return replace(element, chassis=_point(f"{path}.chassis", element.chassis, change))
    if isinstance(element, AntiRollBar):
        pivot = _point(f"{path}.arm.pivot", element.pivot, change)
        return replace(element, pivot=pivot, end=_point(f"{path}.arm.end", element.end, change))
    return element


def _point(path: str, point: Array, change: Change) -> Array:
    """A point (..., 3) with its coordinates changed; the same array where none is."""
    old = [point[..., index] for index in range(3)]
    new = [change(f"{path}.{name}", value) for name, value in zip("xyz", old, strict=True)]
    if all(one is other for one, other in zip(new, old, strict=True)):
        return point
    return np.stack(np.broadcast_arrays(*new), axis=-1)
