"""An axle as it is built: points a little off their places, a rod a little off its length.

The wheel's links and the rocker's axis direction are taken as given. A rocker is one part: where its pivot is off, the
whole rocker is; a point of it that is off besides is so against its pivot. The rod keeps its own length, and the wheel
stands at its static height, as it does once ride height is set: so the rocker settles at another angle. What is
adjusted on the car in that state is adjusted: struts rest at the length that they then have, a bar's drop links too.

| symbol | meaning | shape | unit |
|---|---|---|---|
| L, dL | rod's length as drawn, and what it is off by | (...) | mm |
| phi | angle at which the rocker settles, from where it is drawn | (...) | rad |
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Arm, Axle, CornerStrut, Element, Link, Rocker
from geometry.hardpoints import Hardpoints, arm_of, place, rod_eye
from geometry.rocker import close_loop

PIVOT = "rocker.pivot"
ROD_END = "rocker.rod"
ROD_EYE = "rod.outboard"


def built(axle: Axle, off: Mapping[str, Array], rod_off: Array) -> Axle:
    """The left side of an axle whose points are off by `off` (..., 3) [mm], by path, and whose rod by `rod_off` (...).

    Paths: `rocker.pivot`, `rocker.rod`, `rocker.pickups.NAME`, `rod.outboard`, `elements.NAME.chassis`,
    `elements.NAME.arm.pivot`, `elements.NAME.arm.end`, `links.NAME.inboard`, `links.NAME.outboard`; the links keep the
    wheel where it stands at static. Batch axes broadcast. The result's rocker is written in arms about a fixed axis.
    Numbers are NaN where the rod cannot reach. Raises KeyError for a path that is none of these.
    """
    unknown = set(off) - set(movable(axle))
    if unknown:
        raise KeyError(f"no point of this axle: {', '.join(sorted(unknown))}")
    drawn = place(axle)
    moved = replace(
        axle,
        links={name: _link(link, f"links.{name}", off) for name, link in axle.links.items()},
        rod=replace(axle.rod, outboard=axle.rod.outboard + off.get(ROD_EYE, 0.0)),
        elements={name: _element(one, f"elements.{name}", off) for name, one in axle.elements.items()},
    )
    rod = _arm(axle, drawn, drawn.rod_inboard + off.get(ROD_END, 0.0))
    arms = {
        name: _arm(axle, drawn, point + off.get(f"rocker.pickups.{name}", 0.0)) for name, point in drawn.pickups.items()
    }
    pivot, eye = drawn.pivot + off.get(PIVOT, 0.0), rod_eye(moved)
    length = np.asarray(drawn.rod_length + rod_off)
    loop = close_loop(
        eye[..., None, :],
        replace(drawn, pivot=pivot, rod_outboard=eye, rod_length=length, rod_arm=rod),
    )
    phi = loop.turn.angle[..., 0]
    rocker = Rocker(
        pivot,
        drawn.axis,
        rod=replace(rod, angle=rod.angle + phi),
        pickups={name: replace(arm, angle=arm.angle + phi) for name, arm in arms.items()},
        reference=axle.rocker.reference,
        settled=phi,
    )
    return replace(moved, rocker=rocker)


def movable(axle: Axle) -> tuple[str, ...]:
    """Paths of the points that `built` may put off their places: those of rocker, rod, elements and links."""
    paths = [PIVOT, ROD_END, *(f"rocker.pickups.{name}" for name in axle.rocker.pickups), ROD_EYE]
    for name, element in axle.elements.items():
        if isinstance(element, CornerStrut):
            paths.append(f"elements.{name}.chassis")
        elif isinstance(element, AntiRollBar):
            paths += [f"elements.{name}.arm.pivot", f"elements.{name}.arm.end"]
    paths += [f"links.{name}.{end}" for name in axle.links for end in ("inboard", "outboard")]
    return tuple(paths)


def _arm(axle: Axle, drawn: Hardpoints, point: Array) -> Arm:
    return arm_of(point, drawn.pivot, drawn.axis, axle.rocker.reference)


def _link(link: Link, path: str, off: Mapping[str, Array]) -> Link:
    inboard, outboard = off.get(f"{path}.inboard"), off.get(f"{path}.outboard")
    if inboard is None and outboard is None:
        return link
    here, there = (0.0 if one is None else one for one in (inboard, outboard))
    return replace(link, inboard=link.inboard + here, outboard=link.outboard + there)


def _element(element: Element, path: str, off: Mapping[str, Array]) -> Element:
    match element:
        case CornerStrut(chassis=chassis):
            return replace(element, chassis=chassis + off.get(f"{path}.chassis", 0.0))
        case AntiRollBar(pivot=pivot, end=end):
            pivot, end = pivot + off.get(f"{path}.arm.pivot", 0.0), end + off.get(f"{path}.arm.end", 0.0)
            return replace(element, pivot=pivot, end=end)
        case _:
            return element
