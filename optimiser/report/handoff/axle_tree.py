"""An axle written out as points: the `axle` entry of a hand-off file, and its right side."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np

from geometry.arrays import MIRROR_Y, Array
from geometry.axle import AntiRollBar, Axle, CornerStrut, CrossStrut, Element, Link, TorsionBar
from geometry.hardpoints import place

Tree: TypeAlias = "bool | int | float | str | Sequence[Tree] | Mapping[str, Tree] | None"
"""A branch of a YAML file."""


def axle_tree(axle: Axle) -> dict[str, Tree]:
    """One axle (no batch axes) as in a study, every arm written as a point and the rocker's axis as a unit vector."""
    points = place(axle)
    return {
        "wheel": {
            "centre": coordinates(axle.wheel.centre),
            "toe": degrees(float(axle.wheel.toe)),
            "camber": degrees(float(axle.wheel.camber)),
        },
        "links": {name: _link(link) for name, link in axle.links.items()},
        "rod": {"outboard": coordinates(points.rod_outboard), "carried_by": _carried_by(axle.rod.carried_by)},
        "rocker": {
            "pivot": coordinates(points.pivot),
            "axis": coordinates(points.axis),
            **({} if axle.rocker.reference is None else {"reference": coordinates(axle.rocker.reference)}),
            "rod": coordinates(points.rod_inboard),
            "pickups": {name: coordinates(point) for name, point in points.pickups.items()},
        },
        "elements": {name: _element(element) for name, element in axle.elements.items()},
    }


def right_side_tree(axle: Axle) -> dict[str, Tree]:
    """Every point of the right side at static [mm]: the left side's, mirrored in y."""
    points = place(axle)
    mirrored = {name: _mirrored_element(element) for name, element in axle.elements.items()}
    fixed: dict[str, Tree] = {name: tree for name, tree in mirrored.items() if tree}
    side: dict[str, Tree] = {
        "wheel": {"centre": _mirrored(axle.wheel.centre)},
        "links": {
            name: {"inboard": _mirrored(link.inboard), "outboard": _mirrored(link.outboard)}
            for name, link in axle.links.items()
        },
        "rod": {"outboard": _mirrored(points.rod_outboard)},
        "rocker": {
            "pivot": _mirrored(points.pivot),
            "axis": _mirrored(points.axis),
            "rod": _mirrored(points.rod_inboard),
            "pickups": {name: _mirrored(point) for name, point in points.pickups.items()},
        },
    }
    return side | ({"elements": fixed} if fixed else {})


def coordinates(point: Array) -> list[float]:
    """A point (3,) as plain numbers, without negative zeros."""
    return [float(value) + 0.0 for value in point]


def degrees(angle: float) -> float:
    """An angle [rad] in degrees: the shortest decimal that gives the same angle back."""
    exact = float(np.degrees(angle))
    rounded = (round(exact, places) for places in range(17))
    return next((value for value in rounded if float(np.radians(value)) == angle), exact) + 0.0


def _link(link: Link) -> dict[str, Tree]:
    points: dict[str, Tree] = {"inboard": coordinates(link.inboard), "outboard": coordinates(link.outboard)}
    return points | ({"inboard_moves_with": "rack"} if link.follows_rack else {})


def _carried_by(carriers: tuple[str, ...]) -> Tree:
    if not carriers:
        return "upright"
    return carriers[0] if len(carriers) == 1 else list(carriers)


def _element(element: Element) -> dict[str, Tree]:
    match element:
        case CornerStrut(left=left, chassis=chassis):
            return {"kind": "strut", "left": left, "chassis": coordinates(chassis)}
        case CrossStrut(left=left, right=right, serves=serves):
            return {"kind": "strut", "left": left, "right": right, "serves": serves.value}
        case TorsionBar():
            return {"kind": "torsion_bar"}
        case AntiRollBar(pickup=pickup, pivot=pivot, end=end):
            return {"kind": "bar", "pickup": pickup, "arm": {"pivot": coordinates(pivot), "end": coordinates(end)}}


def _mirrored_element(element: Element) -> dict[str, Tree]:
    """The points of an element that are no rocker's, on the right side."""
    match element:
        case CornerStrut(chassis=chassis):
            return {"chassis": _mirrored(chassis)}
        case AntiRollBar(pivot=pivot, end=end):
            return {"arm": {"pivot": _mirrored(pivot), "end": _mirrored(end)}}
        case _:
            return {}


def _mirrored(point: Array) -> list[float]:
    return coordinates(MIRROR_Y * point)
