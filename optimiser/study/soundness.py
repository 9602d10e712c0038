"""Whether an axle as written can be one: lengths, directions, what carries the rod, what follows the rack."""

import math

import numpy as np

from geometry.arrays import MIRROR_Y, Array, dot, norm, unit
from geometry.axle import AntiRollBar, AxisAligned, AxisAngles, Axle, CornerStrut, CrossStrut, Link
from geometry.hardpoints import OUTWARD, Hardpoints, place, share_along
from optimiser.study.reading import Reading

NO_LENGTH = 1e-3
"""A link, rod, strut or arm shorter than this has no direction [mm]."""

SAME_POINT = 1e-6
"""Two points nearer than this are shared [mm]."""

RADIUS_TOLERANCE = 1.0
"""Most that a written loaded radius may differ from centre_z / cos(camber) [mm]."""

OFF_LINK = 0.5
"""Most that the eye of a rod carried by one link may lie off that link's line [mm]."""

NEAR_Y = math.radians(25.0)
"""An axis nearer than this to the direction from which arm angles count gives angles of little meaning [rad]."""

SMALLEST_SINE = math.sin(math.radians(1.0))
"""Least sine of the angle between a bar's arm and its drop link, seen along the bar."""

ACROSS_Y = np.array([1.0, 0.0, 1.0])
"""Leaves of a vector what a bar along y sees of it."""

SHORTEST_ALIGNED = 10.0
"""Least distance of the rod's outboard eye from the pivot, seen along y, that gives an aligned axis [mm]."""


def check_axle(reading: Reading, axle: Axle) -> tuple[str, ...]:
    """Note every fault of an axle's geometry at static; returns what the user should know of a sound one."""
    with np.errstate(all="ignore"):
        points = place(axle)
    _wheel(reading, axle)
    _link_lengths(reading, axle)
    notes = _rod_carrier(reading, axle)
    _axis(reading, axle, points)
    _reference(reading, axle, points)
    _rod(reading, points)
    _arms(reading, points)
    _elements(reading, axle, points)
    return notes


def _wheel(reading: Reading, axle: Axle) -> None:
    centre = axle.wheel.centre
    path = "axle.wheel"
    if centre[1] <= 0.0 or centre[2] <= 0.0:
        found = f"a wheel centre at y {centre[1]:g}, z {centre[2]:g} mm"
        hint = "write the left wheel's: y to the left, z up, origin on the ground under the axle's middle"
        reading.fault(f"{path}.centre", found, "y and z above 0", hint)
        return
    computed = float(centre[2] / np.cos(axle.wheel.camber))
    written = reading.number(f"{path}.loaded_radius")
    if abs(written - computed) > RADIUS_TOLERANCE:
        expected = f"centre z / cos(camber) = {computed:.2f} mm, to {RADIUS_TOLERANCE:g} mm"
        reading.fault(f"{path}.loaded_radius", f"{written:g}", expected, "correct it, or leave the key out")


def _link_lengths(reading: Reading, axle: Axle) -> None:
    for name, link in axle.links.items():
        if _length(link) < NO_LENGTH:
            found = "a link without length"
            hint = "write two different points"
            reading.fault(f"axle.links.{name}", found, "inboard and outboard ends apart", hint)


def _rod_carrier(reading: Reading, axle: Axle) -> tuple[str, ...]:
    links = {name: axle.links[name] for name in axle.rod.carried_by}
    if len(links) == 2:
        _wishbone(reading, links)
    if len(links) != 1:
        return ()
    (name, link), *_ = links.items()
    return _bent_link(reading, name, link, axle.rod.outboard)


def _wishbone(reading: Reading, links: dict[str, Link]) -> None:
    path = "axle.rod.carried_by"
    first, second = links.values()
    names = " and ".join(links)
    if norm(first.outboard - second.outboard) > SAME_POINT:
        hint = "name the two links of one wishbone, or upright"
        reading.fault(path, f"{names}, whose outboard points differ", "two links that share an outboard point", hint)
    followers = [name for name, link in links.items() if link.follows_rack]
    if followers:
        hint = "name links with fixed inboard points, or upright"
        reading.fault(path, f"{followers[0]}, which moves with the rack", "links that do not follow the rack", hint)


def _bent_link(reading: Reading, name: str, link: Link, eye: Array) -> tuple[str, ...]:
    if not _length(link) >= NO_LENGTH:
        return ()
    share = float(share_along(link, eye))
    foot = link.inboard + share * (link.outboard - link.inboard)
    off = float(norm(eye - foot))
    expected = f"a point within {OFF_LINK:g} mm of the line of {name}, between its ends"
    path = "axle.rod.outboard"
    if off > OFF_LINK:
        hint = f"the nearest point of its line is [{', '.join(f'{x:.3f}' for x in foot)}]"
        reading.fault(path, f"a point {off:.3f} mm off that line", expected, hint)
    elif share < 0.0 or share > 1.0:
        hint = "move it between the ends, or let the upright carry it"
        reading.fault(path, f"a point beyond the {'inboard' if share < 0.0 else 'outboard'} end", expected, hint)
    moved = f"the rod's outboard eye is moved by {off:.3g} mm onto the line of {name}; " if off > SAME_POINT else ""
    return (f"{moved}the link {name} carries the rod: it bends",)


def _axis(reading: Reading, axle: Axle, points: Hardpoints) -> None:
    path = "axle.rocker.axis"
    rocker = axle.rocker
    if isinstance(rocker.axis, AxisAligned):
        d = points.rod_outboard - rocker.pivot
        apart = math.hypot(d[0], d[2])
        if apart < SHORTEST_ALIGNED:
            found = f"aligned, with the rod's outboard end {apart:.2f} mm from the pivot, seen along y"
            reading.fault(
                path, found, f"at least {SHORTEST_ALIGNED:g} mm", "write the axis as a vector or by its angles"
            )
    elif not isinstance(rocker.axis, AxisAngles) and norm(rocker.axis) == 0.0:
        reading.fault(path, "an axis without length", "a direction", "write a vector such as [1, 0, 0]")


def _reference(reading: Reading, axle: Axle, points: Hardpoints) -> None:
    path = "axle.rocker.reference"
    axis, reference = points.axis, axle.rocker.reference
    if reference is None:
        if _lines_apart(axis, OUTWARD) < NEAR_Y:
            found = f"an axis {math.degrees(_lines_apart(axis, OUTWARD)):.1f} deg from y, and no reference"
            hint = "add reference: [x, y, z] beside axis: the direction from which arm angles count"
            reading.fault("axle.rocker.axis", found, "an axis at least 25 deg from y, or a reference", hint)
    elif norm(reference) == 0.0:
        reading.fault(path, "a reference without length", "a direction", "write a vector such as [0, 0, 1]")
    elif _lines_apart(axis, reference) < NEAR_Y:
        found = f"a reference {math.degrees(_lines_apart(axis, reference)):.1f} deg from the axis"
        reading.fault(path, found, "at least 25 deg", "write a direction more square to the axis")


def _lines_apart(a: Array, b: Array) -> float:
    """Angle of two lines, 0..pi/2 [rad]; NaN where one has no direction."""
    return float(np.arccos(np.clip(np.abs(dot(unit(a), unit(b))), 0.0, 1.0)))


def _rod(reading: Reading, points: Hardpoints) -> None:
    if points.rod_length < NO_LENGTH:
        hint = "write rod.outboard and rocker.rod as two different points"
        reading.fault("axle.rod", "a rod without length", "outboard and inboard ends apart", hint)


def _arms(reading: Reading, points: Hardpoints) -> None:
    arms = {"rod": points.rod_arm, **{f"pickups.{name}": arm for name, arm in points.arms.items()}}
    for name, arm in arms.items():
        if arm.length < NO_LENGTH:
            hint = "move it off the axis: on it, it has no arm and no angle"
            reading.fault(f"axle.rocker.{name}", "a point on the rocker's axis", "a point with an arm", hint)


def _elements(reading: Reading, axle: Axle, points: Hardpoints) -> None:
    for name, element in axle.elements.items():
        path = f"axle.elements.{name}"
        if isinstance(element, CornerStrut):
            _two_ends(reading, path, points.pickups[element.left] - element.chassis, "chassis point")
        elif isinstance(element, CrossStrut):
            far = MIRROR_Y * points.pickups[element.right]
            _two_ends(reading, path, points.pickups[element.left] - far, f"mirrored pick-up {element.right}")
        elif isinstance(element, AntiRollBar):
            _bar(reading, path, element, points.pickups[element.pickup])


def _two_ends(reading: Reading, path: str, line: Array, what: str) -> None:
    if norm(line) < NO_LENGTH:
        found = f"a strut without length: its {what} is its left end"
        reading.fault(path, found, "two ends", "move one of its ends")


def _bar(reading: Reading, path: str, bar: AntiRollBar, pickup: Array) -> None:
    """A bar's arm and drop link have lengths, and the link turns the arm."""
    arm, link = (bar.end - bar.pivot) * ACROSS_Y, pickup - bar.end
    across = arm[0] * link[2] - arm[2] * link[0]
    if norm(arm) < NO_LENGTH:
        hint = "move the arm's end in x or z: the bar lies along y through the pivot"
        reading.fault(f"{path}.arm.end", "an end on the bar's line", "an arm with a length seen along y", hint)
    elif norm(link) < NO_LENGTH:
        hint = "move the arm's end or the pick-up"
        found = f"a drop link without length: the end is the pick-up {bar.pickup}"
        reading.fault(f"{path}.arm.end", found, "two ends apart", hint)
    elif abs(across) < SMALLEST_SINE * float(norm(arm) * norm(link)):
        hint = "turn the arm or the link: so, it turns no bar"
        reading.fault(f"{path}.arm.end", "a drop link in line with its arm", "an angle between the two", hint)


def _length(link: Link) -> float:
    return float(norm(link.outboard - link.inboard))
