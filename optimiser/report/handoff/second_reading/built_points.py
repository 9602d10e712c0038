"""An axle with one point off its place, or its rod off its length: the left side at static, its rocker settled.

A rocker is one part: it goes along with its pivot. The wheel stands as drawn, the rod keeps its own length, and so the
rocker settles at another angle.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq

from optimiser.report.handoff.second_reading.plain import PlainAxle, PlainLink, Vector, skew
from optimiser.report.handoff.second_reading.rocker import outboard_eye
from optimiser.report.handoff.second_reading.upright import Upright

PIVOT, ROD_END, ROD_EYE, ROD = "rocker.pivot", "rocker.rod", "rod.outboard", "rod"
"""What may be off: three points by their paths, and the rod's length."""
SETTLES = 0.05
"""A rocker settles within this angle of where it is drawn [rad]."""


@dataclass(frozen=True)
class Error:
    """One error: whether it is the right side's, what is off, which coordinate, its tolerance [mm]."""

    right: bool
    path: str
    axis: int
    size: float


def with_error(axle: PlainAxle, error: Error, size: float) -> PlainAxle:
    """The left side with one error of `size` [mm]; its rod ends at NaN where no angle takes it."""
    shift = size * np.eye(3)[error.axis]
    moved = _moved(axle, error.path, shift)
    longer = size if error.path == ROD else 0.0
    length = float(np.linalg.norm(axle.rod_outboard - axle.rod_inboard)) + longer
    eye = outboard_eye(moved)(Upright(moved).static, 0.0)

    def turned(point: Vector, angle: float) -> Vector:
        arm = point - moved.pivot
        along = (arm @ moved.axis) * moved.axis
        across = arm - along
        there: Vector = moved.pivot + along + math.cos(angle) * across + math.sin(angle) * (skew(moved.axis) @ across)
        return there

    def miss(angle: float) -> float:
        return float(np.linalg.norm(eye - turned(moved.rod_inboard, angle))) - length

    if not miss(-SETTLES) * miss(SETTLES) < 0.0:
        return replace(moved, rod_inboard=np.full(3, math.nan))
    angle = float(brentq(miss, -SETTLES, SETTLES, xtol=1e-16))
    pickups = {name: turned(point, angle) for name, point in moved.pickups.items()}
    return replace(moved, rod_outboard=eye, rod_inboard=turned(moved.rod_inboard, angle), pickups=pickups)


def _moved(axle: PlainAxle, path: str, shift: Vector) -> PlainAxle:
    """The axle with one point off its place; where that is the pivot, with the whole rocker."""
    kind, _, name = path.rpartition(".")
    carried = shift if path == PIVOT else np.zeros(3)
    pickups = {
        each: point + carried + (shift if path == f"rocker.pickups.{each}" else 0.0)
        for each, point in axle.pickups.items()
    }
    elements = {
        each: replace(one, chassis=one.chassis + shift)
        if one.chassis is not None and path == f"elements.{each}.chassis"
        else one
        for each, one in axle.elements.items()
    }
    links = {each: _link(one, name, shift) if kind == f"links.{each}" else one for each, one in axle.links.items()}
    return replace(
        axle,
        pivot=axle.pivot + carried,
        rod_inboard=axle.rod_inboard + carried + (shift if path == ROD_END else 0.0),
        rod_outboard=axle.rod_outboard + (shift if path == ROD_EYE else 0.0),
        pickups=pickups,
        elements=elements,
        links=links,
    )


def _link(link: PlainLink, end: str, shift: Vector) -> PlainLink:
    return (
        replace(link, inboard=link.inboard + shift)
        if end == "inboard"
        else replace(link, outboard=link.outboard + shift)
    )
