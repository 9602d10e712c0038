"""The spherical joints of a file: read, written out again, told in words, and the goals that come with them."""

import math
from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np

from geometry.angles import tilt
from geometry.arrays import MIRROR_Y, Array, norm, unit
from geometry.axle import Axle, CornerStrut
from geometry.hardpoints import place as placed
from geometry.joints import JointPlace, joint_places
from objectives.fittings.bearing import angle_beside_bolt, angle_beside_spacer, angle_in_fork
from objectives.fittings.fitted import Fittings
from objectives.fittings.joints import Joint
from objectives.goals import Goal, Limit
from optimiser.study.faults import listing, shown, suggestion
from optimiser.study.joint_keys import STEEPEST
from optimiser.study.reading import Reading

Tree: TypeAlias = "bool | float | str | Sequence[Tree] | Mapping[str, Tree]"
"""A branch of a YAML file."""

FURTHEST = 45.0
"""A joint that is further out of true than this as drawn has its bolt along its member, not across it [deg]."""


def read_joints(reading: Reading, axle: Axle) -> dict[str, Joint]:
    """The joints of a file by name; those with a fault are left out, and their faults noted."""
    known, found = joint_places(axle), {}
    for name in reading.keys("joints"):
        if name not in known:
            _unknown(reading, axle, name, known)
        elif name in reading.names("joints"):
            joint = _joint(reading, name, known[name])
            if joint is not None:
                found[name] = joint
    return found


def joint_goals(goals: tuple[Goal, ...], fittings: Fittings) -> tuple[Goal, ...]:
    """The goals of a file with those that its joints ask for by themselves: none past its limit."""
    asked = {goal.figure for goal in goals}
    limited = [f"joint.{name}.angle_reserve" for name, joint in fittings.joints.items() if joint.limit is not None]
    return (*goals, *(Limit(figure, at_least=0.0) for figure in limited if figure not in asked))


def joint_notes(axle: Axle, joints: Mapping[str, Joint]) -> tuple[str, ...]:
    """A note for each bolt that lies along its rod or strut rather than across it, as drawn."""
    places = joint_places(axle)
    off = {
        name: float(np.degrees(tilt(_line(axle, places[name]), unit(joint.bolt))))
        for name, joint in joints.items()
        if joint.bolt is not None
    }
    return tuple(
        f"the bolt of the joint {name} lies along its rod or strut, {angle:.1f} deg out of true as drawn: is it the "
        f"direction of the bolt itself?"
        for name, angle in off.items()
        if angle > FURTHEST
    )


def joint_tree(joints: Mapping[str, Joint]) -> dict[str, Tree]:
    """The section `joints` of a study, limits as angles [deg]; nothing where nothing is said of them."""
    return {name: _tree(joint) for name, joint in joints.items()}


def joints_in_words(joints: Mapping[str, Joint]) -> list[str]:
    """All joints that something is said of, a line each."""
    return [
        f"{name}: bolt {_bolt_in_words(joint.bolt)}{_limit_in_words(joint.limit)}" for name, joint in joints.items()
    ]


def _unknown(reading: Reading, axle: Axle, name: str, known: Mapping[str, JointPlace]) -> None:
    """Note the fault of a name that no joint has, unless its element has a fault of its own."""
    member, _, end = name.rpartition("_")
    if member in reading.keys("axle.elements") and member not in axle.elements:
        return
    expected = "a joint at an end of the rod or of a strut"
    if member in axle.elements and member not in axle.struts:
        reading.key_fault(f"joints.{name}", f"a joint of the bar {member}", expected, "delete it")
        return
    ends = [one.end.value for one in known.values() if one.strut == (None if member == "rod" else member)]
    ends = ends if member == "rod" or member in axle.struts else []
    found = f"the {end or 'nameless'} end of {member}" if ends else f"the unknown joint {shown(name)}"
    hint = f"{member} ends {' and '.join(ends)}" if ends else suggestion(name, known, f"name one of {listing(known)}")
    reading.key_fault(f"joints.{name}", found, expected, hint)


def _joint(reading: Reading, name: str, where: JointPlace) -> Joint | None:
    """One joint; None where it has a fault."""
    before, path = len(reading.faults), f"joints.{name}"
    bolt = reading.point(f"{path}.bolt") if reading.has(f"{path}.bolt") else None
    if bolt is None and not where.end.on_rocker:
        hint = "add bolt: [x, y, z], a direction at static; ends on the rocker have its axis where none is written"
        reading.fault(path, "no bolt", "the direction of the bolt that the joint turns about", hint)
    elif bolt is not None and norm(bolt) == 0.0:
        reading.fault(f"{path}.bolt", "a bolt without length", "a direction", "write a vector such as [1, 0, 0]")
    limit = _limit(reading, f"{path}.limit") if reading.has(f"{path}.limit") else None
    sound = (bolt is None or np.isfinite(bolt).all()) and not (limit is not None and math.isnan(limit))
    return Joint(bolt, limit) if sound and len(reading.faults) == before else None


def _line(axle: Axle, where: JointPlace) -> Array:
    """A member's line at static, from one end to the other (3,) [mm]."""
    points = placed(axle)
    if where.strut is None:
        return points.rod_outboard - points.rod_inboard
    strut = axle.struts[where.strut]
    far = strut.chassis if isinstance(strut, CornerStrut) else MIRROR_Y * points.pickups[strut.right]
    return np.asarray(far - points.pickups[strut.left])


def _limit(reading: Reading, path: str) -> float:
    """A limit as written, or what its bearing's dimensions make of it [deg]; NaN where it has a fault."""
    beside = reading.text(f"{path}.beside")
    if beside is None:
        return reading.number(path)
    size = {key: reading.number(f"{path}.{key}") for key in reading.keys(path) if key != "beside"}
    if any(math.isnan(length) for length in size.values()):
        return math.nan
    try:
        angle = _angle(beside, size)
    except KeyError:  # a key that is missing is a fault noted already
        return math.nan
    if not 0.0 < angle <= STEEPEST:
        sizes = ", ".join(f"{key} {length:g}" for key, length in size.items())
        hint = "is the ball wider than its housing, and no wider than its own or the head's diameter? All in mm"
        reading.fault(path, f"dimensions that give no angle: {sizes}", "a bearing that can turn out of true", hint)
        return math.nan
    return angle


def _angle(beside: str, size: Mapping[str, float]) -> float:
    if beside == "fork":
        chamfer = size.get("chamfer", 0.0)
        return angle_in_fork(size["ball_width"], size["housing_width"], size["head_diameter"], chamfer)
    if beside == "spacer":
        return angle_beside_spacer(size["ball_width"], size["housing_width"], size["ball_diameter"])
    return angle_beside_bolt(size["bore"], size["housing_width"], size["ball_diameter"])


def _tree(joint: Joint) -> Tree:
    bolt: dict[str, Tree] = {} if joint.bolt is None else {"bolt": [float(value) for value in joint.bolt]}
    return bolt | ({} if joint.limit is None else {"limit": float(joint.limit)})


def _bolt_in_words(bolt: Array | None) -> str:
    return "along the rocker's axis" if bolt is None else f"[{', '.join(f'{value:g}' for value in bolt)}]"


def _limit_in_words(limit: float | None) -> str:
    return "" if limit is None else f", at most {limit:.4g} deg out of true"
