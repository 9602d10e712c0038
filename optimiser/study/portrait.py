"""The axle of a study as the reader has understood it: every point and length placed, in the file's units.

Plain records of numbers and words; a table or a JSON document is made of them elsewhere.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import MIRROR_Y, Array, norm
from geometry.axle import (
    AntiRollBar,
    Arm,
    AxisAligned,
    AxisAngles,
    Axle,
    CornerStrut,
    CrossStrut,
    Element,
    RockerPoint,
    TorsionBar,
)
from geometry.hardpoints import Hardpoints, element_pickups, place
from geometry.travel import Range, Travel, grid_states, travel_points
from objectives.catalogue.catalogue import describe
from objectives.goals import Band, Goal, Limit, Miss
from optimiser.study.adjust_tree import adjust_in_words
from optimiser.study.envelope_words import RoomPortrait, portray_room
from optimiser.study.fitting_tree import Tree, fitting_tree
from optimiser.study.fitting_words import (
    CasePortrait,
    FittingPortrait,
    cases_in_words,
    dampers_in_words,
    springs_in_words,
    tube_in_words,
)
from optimiser.study.joints import joints_in_words
from optimiser.study.study import Study, Variable
from optimiser.study.tolerances import build_in_words


@dataclass(frozen=True)
class LinkPortrait:
    """A link: its ends and length [mm]."""

    name: str
    inboard: list[float]
    outboard: list[float]
    length: float
    moves_with_rack: bool
    bends: bool


@dataclass(frozen=True)
class EndPortrait:
    """A point of the rocker: as an arm [mm, deg] and as a point [mm]; `written` says which form the file has.

    `rides`: whether it goes along when pivot or axis change.
    """

    name: str
    length: float
    angle: float
    offset: float
    point: list[float]
    rides: bool
    used: bool


@dataclass(frozen=True)
class ElementPortrait:
    """An element: what it joins, and its length at static [mm]: a bar's drop link's, None for a torsion bar."""

    name: str
    kind: str
    ends: str
    serves: str | None
    length: float | None


@dataclass(frozen=True)
class RangePortrait:
    """A range of travel [mm] and its travel points."""

    name: str
    low: float
    high: float
    points: int


@dataclass(frozen=True)
class Portrait:
    """All that `check` tells. Lengths in mm, angles in deg."""

    name: str
    wheel_centre: list[float]
    toe: float
    camber: float
    loaded_radius: float
    links: list[LinkPortrait]
    rod_outboard: list[float]
    rod_length: float
    rod_carrier: str
    pivot: list[float]
    axis: list[float]
    axis_azimuth: float
    axis_elevation: float
    axis_written: str
    ends: list[EndPortrait]
    elements: list[ElementPortrait]
    springs: list[FittingPortrait]
    dampers: list[FittingPortrait]
    sprung_per_wheel: float | None
    cases: list[CasePortrait]
    rod_tube: str | None
    joints: list[str]
    """Joints that something is said of, a line each."""
    adjust: list[str]
    """What can be set on the built car, a line each."""
    build: list[str]
    """Tolerances by what they are of, and what they mean, a line each."""
    room: RoomPortrait | None
    """Bodies, keep-outs, bounds, margins, and the pairs that are watched."""
    fittings: dict[str, Tree]
    """Springs, dampers, loads, build and adjustments as a study writes them."""
    travel: list[RangePortrait]
    step: float
    states: int
    variables: list[Variable]
    goals: list[str]
    seed: int
    notes: list[str]


def portray(study: Study) -> Portrait:
    """The axle of a study as understood, at static."""
    axle = study.axle
    points = place(axle)
    axis = _xyz(points.axis)
    return Portrait(
        name=study.name,
        wheel_centre=_xyz(axle.wheel.centre),
        toe=_deg(axle.wheel.toe),
        camber=_deg(axle.wheel.camber),
        loaded_radius=float(axle.wheel.centre[2] / np.cos(axle.wheel.camber)),
        links=_links(axle),
        rod_outboard=_xyz(points.rod_outboard),
        rod_length=float(points.rod_length),
        rod_carrier=" and ".join(axle.rod.carried_by) or "upright",
        pivot=_xyz(points.pivot),
        axis=axis,
        axis_azimuth=_deg(np.arctan2(points.axis[1], points.axis[0])),
        axis_elevation=_deg(np.arcsin(np.clip(points.axis[2], -1.0, 1.0))),
        axis_written=_axis_form(axle),
        ends=_ends(axle, points),
        elements=[_element(name, element, points) for name, element in axle.elements.items()],
        springs=springs_in_words(study.fittings),
        dampers=dampers_in_words(study.fittings),
        sprung_per_wheel=study.fittings.loads.sprung_per_wheel,
        cases=cases_in_words(study.fittings),
        rod_tube=tube_in_words(study.fittings.loads.rod_tube),
        joints=joints_in_words(study.fittings.joints),
        adjust=adjust_in_words(study.fittings.adjust),
        build=build_in_words(study),
        room=portray_room(study),
        fittings=fitting_tree(study.fittings),
        travel=_travel(study.travel),
        step=study.travel.step,
        states=len(grid_states(study.travel)),
        variables=list(study.variables),
        goals=[goal_in_words(goal) for goal in study.goals],
        seed=study.seed,
        notes=list(study.notes),
    )


def goal_in_words(goal: Goal) -> str:
    """A goal as a sentence: the figure, what is asked, its unit."""
    unit = describe(goal.figure).unit
    if isinstance(goal, Band):
        asked = f"within {goal.within:g} of {goal.aim:g} {unit} (must hold)"
    elif isinstance(goal, Limit):
        limits = {"at least": goal.at_least, "at most": goal.at_most}
        words = " and ".join(f"{word} {value:g}" for word, value in limits.items() if value is not None)
        asked = f"{words} {unit} (must hold)"
    elif isinstance(goal, Miss):
        asked = f"as near to {goal.aim:g} {unit} as can be, in units of {goal.scale:g}"
    else:
        asked = f"as {'small' if goal.direction == 'minimise' else 'large'} as can be"
    return f"{goal.figure} {asked}"


def _links(axle: Axle) -> list[LinkPortrait]:
    bent = axle.rod.carried_by if len(axle.rod.carried_by) == 1 else ()
    return [
        LinkPortrait(
            name,
            _xyz(link.inboard),
            _xyz(link.outboard),
            float(norm(link.outboard - link.inboard)),
            link.follows_rack,
            name in bent,
        )
        for name, link in axle.links.items()
    ]


def _axis_form(axle: Axle) -> str:
    form = {AxisAligned: "as aligned", AxisAngles: "by its angles"}.get(type(axle.rocker.axis), "as a vector")
    return form if axle.rocker.reference is None else f"{form}, with a reference"


def _ends(axle: Axle, points: Hardpoints) -> list[EndPortrait]:
    used = element_pickups(axle)
    pickups = axle.rocker.pickups
    rod = _end("rod", axle.rocker.rod, points.rod_arm, points.rod_inboard, True)
    return [
        rod,
        *(_end(name, pickups[name], points.arms[name], points.pickups[name], name in used) for name in pickups),
    ]


def _end(name: str, written: RockerPoint, arm: Arm, point: Array, used: bool) -> EndPortrait:
    rides = isinstance(written, Arm)
    return EndPortrait(name, float(arm.length), _deg(arm.angle), float(arm.offset), _xyz(point), rides, used)


def _element(name: str, element: Element, points: Hardpoints) -> ElementPortrait:
    match element:
        case CrossStrut(left=left, right=right, serves=serves):
            length = norm(points.pickups[left] - MIRROR_Y * points.pickups[right])
            return ElementPortrait(name, "cross-car strut", f"left {left} - right {right}", serves.value, float(length))
        case CornerStrut(left=left, chassis=chassis):
            ends = f"{left} - chassis {_brief(chassis)}"
            length = norm(points.pickups[left] - chassis)
            return ElementPortrait(name, "corner strut, one a side", ends, None, float(length))
        case TorsionBar():
            return ElementPortrait(name, "torsion bar, one a side", "rocker - chassis, on the axis", None, None)
        case AntiRollBar(pickup=pickup, pivot=pivot, end=end):
            ends = f"{pickup} - {_brief(end)} about {_brief(pivot)}"
            return ElementPortrait(name, "anti-roll bar", ends, None, float(norm(points.pickups[pickup] - end)))


def _brief(point: Array) -> str:
    return f"[{', '.join(f'{x:g}' for x in _xyz(point))}]"


def _travel(travel: Travel) -> list[RangePortrait]:
    spans: dict[str, Range] = {"wheel": travel.wheel, "heave": travel.heave, "roll": travel.roll}
    if travel.rack:
        spans["rack"] = travel.rack
    return [
        RangePortrait(name, low, high, len(travel_points((low, high), travel.step)))
        for name, (low, high) in spans.items()
    ]


def _xyz(point: Array) -> list[float]:
    return [float(value) for value in point]


def _deg(angle: Array) -> float:
    return float(np.rad2deg(angle))
