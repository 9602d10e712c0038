"""Where the parts of both sides of an axle are at some of its states: plain lines in space, ready to be drawn."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import MIRROR_Y, Array, turn, unit
from geometry.axle import AntiRollBar, Axle, CornerStrut, CrossStrut
from geometry.hardpoints import bar_linkage, element_pickups
from geometry.motion import Motion, move
from geometry.rocker import lever_of, swing_point
from geometry.side_motion import SideMotion
from geometry.status import Status
from geometry.travel import AxleStates

RIM_POINTS = 72
"""Of a wheel's circle."""
ROD_STUB = 0.25
"""Share of a rod that is shown with the parts inboard of it."""


@dataclass(frozen=True)
class Line:
    """A part from eye to eye: its `kind`, a key of `bodies.INKS`, its name and its ends (3,) [mm]."""

    kind: str
    name: str
    begin: Array
    end: Array


@dataclass(frozen=True)
class Pose:
    """An axle at one state: `status` is its word, `rims` the wheels' circles (N, 3) [mm]; bare where it is not ok."""

    status: str
    lines: tuple[Line, ...]
    rims: tuple[Array, ...]


def poses(axle: Axle, states: AxleStates) -> tuple[Pose, ...]:
    """An axle (no batch axes) at each of its states."""
    motion = move(axle, states)
    return tuple(_pose(motion, state) for state in range(len(states)))


def inboard(pose: Pose) -> Pose:
    """What of a pose lies inboard: rockers, struts and bars, of each rod the part next to its rocker."""
    lines = [
        replace(line, end=line.begin + ROD_STUB * (line.end - line.begin)) if line.kind == "rod" else line
        for line in pose.lines
        if line.kind not in ("link", "upright")
    ]
    return Pose(pose.status, tuple(lines), ())


def _pose(motion: Motion, state: int) -> Pose:
    status = Status(int(motion.status[state]))
    if status is not Status.OK:
        return Pose(status.word, (), ())
    sides = ((int(motion.pairs.left[state]), np.ones(3)), (int(motion.pairs.right[state]), MIRROR_Y))
    lines = [line for node, mirror in sides for line in _side(motion.side, node, mirror)]
    rims = tuple(_rim(motion.side, node) * mirror for node, mirror in sides)
    return Pose(status.word, (*lines, *_across(motion.side, sides[0][0], sides[1][0])), rims)


def _side(side: SideMotion, node: int, mirror: Array) -> Iterator[Line]:
    """The parts of the left side at a side state, mirrored where they are the right one's."""
    found = [*_links(side, node), *_rocker(side, node), *_own_elements(side, node)]
    for line in found:
        yield Line(line.kind, line.name, line.begin * mirror, line.end * mirror)


def _links(side: SideMotion, node: int) -> Iterator[Line]:
    moved = np.array([0.0, side.tree.rack[node], 0.0])
    centre = side.upright.centre[node]
    for name, link in side.axle.links.items():
        outboard = side.upright.carry(link.outboard)[0][node]
        yield Line("link", name, link.inboard + (moved if link.follows_rack else 0.0), outboard)
        yield Line("upright", name, outboard, centre)


def _rocker(side: SideMotion, node: int) -> Iterator[Line]:
    eye = np.broadcast_to(side.eye, (*side.status.shape, 3))[node]
    end = side.rod_inboard[0][node]
    yield Line("rod", "rod", end, eye)
    foot = lever_of(side.points.rod_arm, side.points).centre
    arms = [Line("arm", "rod", foot, end)]
    for name in element_pickups(side.axle):
        arms.append(Line("arm", name, side.lever(name).centre, side.pickup(name)[0][node]))
    feet = sorted((arm.begin for arm in arms), key=lambda point: float(point @ side.points.axis))
    yield Line("axis", "axis", feet[0], feet[-1])
    yield from arms


def _own_elements(side: SideMotion, node: int) -> Iterator[Line]:
    """Elements of which each side has one."""
    for name, element in side.axle.elements.items():
        if isinstance(element, CornerStrut):
            yield Line("strut", name, side.pickup(element.left)[0][node], element.chassis)
        elif isinstance(element, AntiRollBar):
            linkage = bar_linkage(element, side.points)
            end = swing_point(linkage.rod_arm, linkage, side.bar(name).closing.turn)[0][node]
            yield Line("bar", name, element.pivot, end)
            yield Line("drop_link", name, end, side.pickup(element.pickup)[0][node])


def _across(side: SideMotion, left: int, right: int) -> Iterator[Line]:
    """Struts from one rocker to the other."""
    for name, element in side.axle.elements.items():
        if isinstance(element, CrossStrut):
            begin, end = side.pickup(element.left)[0][left], side.pickup(element.right)[0][right] * MIRROR_Y
            yield Line("strut", name, begin, end)


def _rim(side: SideMotion, node: int) -> Array:
    """The circle of the loaded radius in the left wheel's plane (N, 3) [mm]."""
    wheel = side.axle.wheel
    axis = turn(side.upright.rotation[node], wheel.spin_axis)
    up = unit(np.array([0.0, 0.0, 1.0]) - axis[2] * axis)
    ahead = np.cross(up, axis)
    angles = np.linspace(0.0, 2.0 * np.pi, RIM_POINTS, endpoint=False)[:, None]
    return np.asarray(side.upright.centre[node] + wheel.loaded_radius * (np.cos(angles) * up + np.sin(angles) * ahead))
