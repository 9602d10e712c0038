"""Struts at a state of the axle: length, the angles at their ends, and their motion ratios by differences.

A state is (z_left, z_right, rack) [mm]. The right side is solved as the mirrored left at the rack's negative, so its
points are mirrored in y and its angles are those of that left side.
"""

import math
from dataclasses import dataclass

import numpy as np

from optimiser.report.handoff.second_reading.plain import MIRROR, PlainAxle, PlainElement, Vector, skew
from optimiser.report.handoff.second_reading.side import Side

State = tuple[float, float, float]
"""(z_left, z_right, rack) [mm]."""

FIRST_DIFFERENCE = 2.0
"""Half-width of the first central difference [mm]; each next one is half of it."""
DIFFERENCES = 12
"""Most central differences of one derivative."""
ENOUGH = 2e-12
"""Estimated error at which a derivative is taken [mm/mm]."""


@dataclass(frozen=True)
class StrutEnd:
    """A strut's line against its rocker at one end."""

    transmission: float
    """Angle between arm and strut line, both seen along the axis, folded to 0..90 [deg]."""
    tilt: float
    """Angle of the strut line out of the rocker's plane [deg]."""
    moment: float
    """In-plane arm times in-plane line, positive about the axis [mm^2]; its sign is that of the strut's arm."""


def strut_points(axle: PlainAxle, side: Side, element: PlainElement, state: State) -> tuple[Vector, Vector] | None:
    """Left and right eye of a strut [mm] (a corner strut's: pick-up and chassis); None where the axle is not there."""
    z_left, z_right, rack = state
    left = side.at(z_left, rack)
    if left is None or math.isnan(left.angle):
        return None
    start = side.rocker.turned(axle.pickups[element.left], left.angle)
    if element.right is None:
        return (start, element.chassis) if element.chassis is not None else None
    right = side.at(z_right, -rack)
    if right is None or math.isnan(right.angle):
        return None
    return start, MIRROR * side.rocker.turned(axle.pickups[element.right], right.angle)


def strut_length(axle: PlainAxle, side: Side, element: PlainElement, state: State) -> float:
    """Distance between the strut's eyes [mm]; NaN where the axle is not there."""
    points = strut_points(axle, side, element, state)
    return math.nan if points is None else float(np.linalg.norm(points[1] - points[0]))


def strut_ends(axle: PlainAxle, element: PlainElement, points: tuple[Vector, Vector]) -> tuple[StrutEnd, ...]:
    """The ends of a strut that sit on a rocker: both, or the left one of a corner strut."""
    left, right = points
    first = line_at_rocker(axle, left, right)
    return (first,) if element.right is None else (first, line_at_rocker(axle, MIRROR * right, MIRROR * left))


def line_at_rocker(axle: PlainAxle, point: Vector, other: Vector) -> StrutEnd:
    """The line from a point of the left rocker to `other`, against that point's arm and the rocker's plane."""
    line, arm = other - point, point - axle.pivot
    along = float(line @ axle.axis)
    flat_line, flat_arm = line - along * axle.axis, arm - (arm @ axle.axis) * axle.axis
    moment = float((skew(axle.axis) @ flat_arm) @ flat_line)
    transmission = math.degrees(math.atan2(abs(moment), abs(float(flat_arm @ flat_line))))
    tilt = math.degrees(math.atan2(abs(along), float(np.linalg.norm(flat_line))))
    return StrutEnd(transmission, tilt, moment)


def motion_ratio(axle: PlainAxle, side: Side, element: PlainElement, state: State, direction: State) -> float:
    """Minus the change of length per mm along `direction` at a state; NaN where the axle is not there.

    Central differences at halved widths, extrapolated to width zero by Richardson's scheme; the entry of the table
    whose neighbours agree best is taken (Ridders 1982). Widths at which a neighbour is out of reach are passed over.
    """
    if math.isnan(strut_length(axle, side, element, state)):
        return math.nan
    rows: list[list[float]] = []
    best, error, width = math.nan, math.inf, FIRST_DIFFERENCE
    for _ in range(DIFFERENCES):
        ahead, behind = (
            strut_length(axle, side, element, _moved(state, direction, sign * width)) for sign in (1.0, -1.0)
        )
        width /= 2.0
        if math.isnan(ahead + behind):
            continue
        row = [(behind - ahead) / (4.0 * width)]
        for k, before in enumerate(rows[-1] if rows else [], start=1):
            row.append(row[-1] + (row[-1] - before) / (4.0**k - 1.0))
            guess = max(abs(row[k] - row[k - 1]), abs(row[k] - before))
            if guess < error:
                best, error = row[k], guess
        rows.append(row)
        if error < ENOUGH:
            break
    return best


def _moved(state: State, direction: State, by: float) -> State:
    a, b, c = (s + by * d for s, d in zip(state, direction, strict=True))
    return a, b, c
