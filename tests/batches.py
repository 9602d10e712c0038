"""Batches of axles for the tests: scatter an axle's numbers over a batch, and pick one axle out of a batch again."""

from collections.abc import Callable
from dataclasses import replace

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

Change = Callable[[Array], Array]


def change_numbers(axle: Axle, point: Change, length: Change, angle: Change, link: Change) -> Axle:
    """A copy of an axle with `point` applied to every point (..., 3), `length` and `angle` to every arm's, axis angle
    and wheel angle (...), and `link` to the inboard points of the links. Outboard points and wheel centre stay."""

    def of_end(end: RockerPoint) -> RockerPoint:
        return Arm(length(end.length), angle(end.angle), length(end.offset)) if isinstance(end, Arm) else point(end)

    def of_axis(axis: RockerAxis) -> RockerAxis:
        if isinstance(axis, AxisAngles):
            return AxisAngles(angle(axis.azimuth), angle(axis.elevation))
        return axis

    def of_element(element: Element) -> Element:
        if isinstance(element, CornerStrut):
            return replace(element, chassis=point(element.chassis))
        if isinstance(element, AntiRollBar):
            return replace(element, pivot=point(element.pivot), end=point(element.end))
        return element

    rocker = axle.rocker
    return Axle(
        wheel=Wheel(axle.wheel.centre, angle(axle.wheel.toe), angle(axle.wheel.camber)),
        links={name: Link(link(one.inboard), one.outboard, one.follows_rack) for name, one in axle.links.items()},
        rod=Rod(point(axle.rod.outboard), axle.rod.carried_by),
        rocker=Rocker(
            pivot=point(rocker.pivot),
            axis=of_axis(rocker.axis),
            rod=of_end(rocker.rod),
            pickups={name: of_end(end) for name, end in rocker.pickups.items()},
            reference=rocker.reference,
        ),
        elements={name: of_element(element) for name, element in axle.elements.items()},
    )


def scatter(axle: Axle, shape: tuple[int, ...], seed: int = 1, size: float = 2.0, links: bool = False) -> Axle:
    """A batch of axles around one: lengths and points within `size` mm, angles within `size` hundredths of a radian.

    The links are scattered too where `links` says so; else they carry no batch axes.
    """
    rng = np.random.default_rng(seed)

    def point(value: Array) -> Array:
        return value + rng.uniform(-size, size, (*shape, 3))

    def scalar(value: Array, by: float) -> Array:
        return np.asarray(value + rng.uniform(-by, by, shape))

    return change_numbers(
        axle,
        point,
        lambda value: scalar(value, size),
        lambda value: scalar(value, size / 100.0),
        point if links else lambda value: value,
    )


def pick(axle: Axle, index: tuple[int, ...], shape: tuple[int, ...]) -> Axle:
    """The one axle at `index` of a batch of the given shape."""

    def point(value: Array) -> Array:
        return np.array(np.broadcast_to(value, (*shape, 3))[index])

    def scalar(value: Array) -> Array:
        return np.asarray(np.broadcast_to(value, shape)[index])

    rocker, wheel = axle.rocker, axle.wheel
    picked = change_numbers(axle, point, scalar, scalar, point)
    picked_links = {
        name: replace(link, outboard=point(axle.links[name].outboard)) for name, link in picked.links.items()
    }
    axis = picked.rocker.axis
    if not isinstance(axis, AxisAngles | AxisAligned):
        axis = point(axis)
    reference = None if rocker.reference is None else point(rocker.reference)
    return replace(
        picked,
        wheel=replace(picked.wheel, centre=point(wheel.centre)),
        links=picked_links,
        rocker=replace(picked.rocker, axis=axis, reference=reference),
    )
