"""Figures of spherical joints, state by state from the points of this reading.

A joint's bolt turns with the part that it sits in. That part's turn is found from how its points moved: the upright's
from its frame, a wishbone's from the angle about its hinge, a link's from the angle between its lines, a rocker's from
its own angle. Out of true is what a right angle has over the angle between bolt and member.
"""

import math

import numpy as np

from optimiser.report.handoff.second_reading.plain import (
    MIRROR,
    Tree,
    UnreadableError,
    Vector,
    number,
    section,
    skew,
    vector,
)
from optimiser.report.handoff.second_reading.reading import Reading, Reckoned, worst
from optimiser.report.handoff.second_reading.side import OK, SidePoint
from optimiser.report.handoff.second_reading.struts import State, strut_points


def joint_figures(reading: Reading, tree: Tree) -> dict[str, Reckoned]:
    """Every figure of the joints by its full name; none where the file says nothing of them.

    Raises UnreadableError, naming the entry, for a joint that the axle has not.
    """
    joints = section(tree, "joints", "") if "joints" in tree else {}
    figures: dict[str, Reckoned] = {}
    for name in joints:
        joint, path = section(joints, name, "joints"), f"joints.{name}"
        bolt = vector(joint, "bolt", path) if "bolt" in joint else None
        if bolt is not None and not np.any(bolt):
            raise UnreadableError(f"{path}.bolt: a direction is needed here, found [0, 0, 0]")
        largest, status = _largest(reading, name, bolt)
        figures[f"joint.{name}.angle_max"] = largest, status
        if "limit" in joint:
            figures[f"joint.{name}.angle_reserve"] = number(joint, "limit", path) - largest, status
    return figures


def _largest(reading: Reading, name: str, bolt: Vector | None) -> Reckoned:
    """The largest misalignment of a joint over all its states [deg]."""
    member, _, end = name.rpartition("_")
    if member == "rod" and (end == "inboard" or (end == "outboard" and bolt is not None)):
        places = _of_one_side(reading)
        status = worst(reading.side.status(z, rack) for z, rack in places)
        if status != OK:
            return math.nan, status
        return max(_rod(reading, end, bolt, z, rack) for z, rack in places), OK
    element = reading.axle.elements.get(member)
    ends = () if element is None else ("left", "right") if element.right else ("left", "chassis")
    if end not in ends or (end == "chassis" and bolt is None):
        raise UnreadableError(f"joints.{name}: a joint of the rod or of a strut is needed here, with its bolt")
    states = reading.every + _locked(reading)
    status = worst(reading.strut_status(member, state) for state in states)
    if status != OK:
        return math.nan, status
    return max(_strut(reading, member, end, bolt, state) for state in states), OK


def _of_one_side(reading: Reading) -> list[tuple[float, float]]:
    """Wheel travel and rack of every state of one side that is looked at; the right side sees the rack's negative."""
    states = reading.every + _locked(reading)
    seen = {(z, s * rack) for left, right, rack in states for z, s in ((left, 1.0), (right, -1.0))}
    ends = [end for rack in (reading.travel.rack or ()) for end in (rack, -rack)]
    reached = [z for z, _ in seen]
    return sorted(seen | {(z, end) for z in (min(reached), max(reached)) for end in ends})


def _locked(reading: Reading) -> list[State]:
    """Full rack at both ends of heave."""
    return [(h, h, end) for h in reading.travel.heave for end in (reading.travel.rack or ())]


def _rod(reading: Reading, end: str, bolt: Vector | None, z: float, rack: float) -> float:
    side = reading.side.at(z, rack)
    if side is None:
        return math.nan
    line = side.eye - reading.rocker.turned(reading.axle.rod_inboard, side.angle)
    if end == "outboard" and bolt is not None:
        return _off(line, _carried(reading, bolt, side, rack))
    return _off(line, _in_rocker(reading, bolt, side))


def _strut(reading: Reading, member: str, end: str, bolt: Vector | None, state: State) -> float:
    """Misalignment at an end of a strut [deg]; at the right one, in the coordinates of its mirrored side."""
    points = strut_points(reading.axle, reading.side, reading.axle.elements[member], state)
    left = reading.side.at(state[0], state[2])
    if points is None or left is None:
        return math.nan
    line = points[1] - points[0]
    if end == "chassis" and bolt is not None:
        return _off(line, bolt)
    if end == "left":
        return _off(line, _in_rocker(reading, bolt, left))
    _, right = reading.rockers(state)
    return _off(MIRROR * line, _in_rocker(reading, None if bolt is None else MIRROR * bolt, right))


def _off(line: Vector, bolt: Vector) -> float:
    """A right angle less the angle between a member and its bolt, whichever way either points [deg]."""
    along = abs(float(line @ bolt)) / float(np.linalg.norm(line) * np.linalg.norm(bolt))
    return 90.0 - math.degrees(math.acos(min(along, 1.0)))


def _in_rocker(reading: Reading, bolt: Vector | None, side: SidePoint) -> Vector:
    axis = reading.axle.axis
    return axis if bolt is None else _spun(bolt, axis, side.angle)


def _carried(reading: Reading, bolt: Vector, side: SidePoint, rack: float) -> Vector:
    """A bolt of what carries the rod's outboard eye, turned with it."""
    axle = reading.axle
    if not axle.carried_by:
        turned: Vector = side.pose.frame @ bolt
        return turned
    first, *others = (axle.links[name] for name in axle.carried_by)
    outboard = side.pose.place(first.outboard - axle.wheel_centre)
    if others:
        hinge = (others[0].inboard - first.inboard) / np.linalg.norm(others[0].inboard - first.inboard)
        before, after = (
            arm - (arm @ hinge) * hinge for arm in (point - first.inboard for point in (first.outboard, outboard))
        )
        return _spun(bolt, hinge, math.atan2(float((skew(before) @ after) @ hinge), float(before @ after)))
    moved = first.inboard + np.array([0.0, rack * first.follows_rack, 0.0])
    before, after = first.outboard - first.inboard, outboard - moved
    about = skew(before) @ after
    size = float(np.linalg.norm(about))
    return bolt if size == 0.0 else _spun(bolt, about / size, math.atan2(size, float(before @ after)))


def _spun(vector: Vector, axis: Vector, angle: float) -> Vector:
    """A vector turned about a unit axis by an angle [rad]: Rodrigues' formula with the matrix of the vector product."""
    k = skew(axis)
    spun: Vector = vector + math.sin(angle) * (k @ vector) + (1.0 - math.cos(angle)) * (k @ (k @ vector))
    return spun
