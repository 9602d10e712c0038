"""The figures of the front study's goals by a scalar script: one candidate, one wheel position, one root at a time.

This is how such a study is usually scripted: the wheel's motion is solved once and tabled, and for each candidate a
root finder turns the rocker until the rod fits, position after position. It is the yardstick of the batch evaluator's
speed and, as a second reading of the same definitions, of its answers. Lengths in mm, angles in rad.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, fsolve
from scipy.spatial.transform import Rotation

from geometry.arrays import Array
from geometry.axle import Arm, Axle
from geometry.travel import Travel, grid_states, travel_points

Point = tuple[float, float, float]
Side = tuple[float, float]
"""Wheel travel and rack position [mm] of one side."""


@dataclass(frozen=True)
class WheelTable:
    """The rod's outboard eye at every side state, and its velocity per mm of wheel travel."""

    eye: dict[Side, Point]
    velocity: dict[Side, Point]


@dataclass(frozen=True)
class Position:
    """The rocker at one side state: its angle, d angle / d wheel travel, its points and the rod's transmission."""

    angle: float
    rate: float
    points: dict[str, Point]
    transmission: float


def wheel_table(axle: Axle, travel: Travel) -> WheelTable:
    """Solve the five links at every side state of the travel: once for all candidates. The upright carries the rod."""
    grid = grid_states(travel)
    heights = sorted({float(z) for z in (*grid.z_left, *grid.z_right)}, key=abs)
    racks = [] if travel.rack is None else [float(s) for s in travel_points(travel.rack, travel.step)]
    sides: list[Side] = [*((z, 0.0) for z in heights), *((0.0, s) for s in sorted({*racks, *(-s for s in racks)}))]
    eye: dict[Side, Point] = {}
    velocity: dict[Side, Point] = {}
    for z, rack in sides:
        eye[z, rack], velocity[z, rack] = _eye_at(axle, z, rack)
    return WheelTable(eye, velocity)


def front_figures(table: WheelTable, axle: Axle, travel: Travel) -> dict[str, float]:
    """The figures of the front study's goals, of one axle with a heave strut `heave` and a crossed roll strut."""
    rocker = _ScalarRocker(axle)
    at = {side: rocker.position(eye, table.velocity[side]) for side, eye in table.eye.items()}

    def heave_length(left: float, right: float) -> float:
        return _across(at[left, 0.0].points["heave"], at[right, 0.0].points["heave"])

    def roll_length(left: float, right: float) -> float:
        return _across(at[left, 0.0].points["roll_upper"], at[right, 0.0].points["roll_lower"])

    def heave_ratio(h: float) -> float:
        return -rocker.length_rate(at[h, 0.0], at[h, 0.0], "heave", "heave", 1.0)

    heaves = [float(h) for h in travel_points(travel.heave, travel.step)]
    rolls = [float(r) for r in travel_points(travel.roll, travel.step)]
    r = travel.even_roll
    c_plus = roll_length(0.0, 0.0) - roll_length(r, -r)
    c_minus = roll_length(0.0, 0.0) - roll_length(-r, r)
    return {
        "heave.motion_ratio": heave_ratio(0.0),
        "roll.motion_ratio": -rocker.length_rate(at[0.0, 0.0], at[0.0, 0.0], "roll_upper", "roll_lower", -1.0),
        "roll.crosstalk": 100 * _stroke(roll_length, heaves, 1.0) / _stroke(roll_length, rolls, -1.0),
        "roll.left_right_split": 200 * abs(c_plus + c_minus) / abs(c_plus - c_minus),
        "rocker.transmission_min": math.degrees(min(position.transmission for position in at.values())),
        "heave.length_static": heave_length(0.0, 0.0),
        "roll.length_static": roll_length(0.0, 0.0),
        "heave.progressivity": 100 * (heave_ratio(max(heaves)) / heave_ratio(0.0) - 1.0),
        "heave.crosstalk": 100 * _stroke(heave_length, rolls, -1.0) / _stroke(heave_length, heaves, 1.0),
        "rocker.arm_sum": rocker.arm_sum,
        "rocker.top_height": max(point[2] for position in at.values() for point in position.points.values()),
    }


def _stroke(length: Callable[[float, float], float], points: Iterable[float], right: float) -> float:
    """Largest compression of a strut over a sweep whose right wheel moves `right` times the left one's travel."""
    static = length(0.0, 0.0)
    return max(abs(static - length(z, right * z)) for z in points)


def _across(left: Point, right: Point) -> float:
    """Distance from a left-hand point to the mirror image of another."""
    return math.sqrt((left[0] - right[0]) ** 2 + (left[1] + right[1]) ** 2 + (left[2] - right[2]) ** 2)


class _ScalarRocker:
    """The rocker of one candidate, in plain numbers: each end by its radius, angle and offset about the axis."""

    def __init__(self, axle: Axle) -> None:
        axis = np.asarray(axle.rocker.axis, dtype=np.float64)
        axis = axis / np.linalg.norm(axis)
        e0 = np.array([0.0, 1.0, 0.0]) - axis[1] * axis
        self.e0 = e0 / np.linalg.norm(e0)
        self.axis, self.e1, self.pivot = axis, np.cross(axis, self.e0), axle.rocker.pivot
        ends = {"rod": axle.rocker.rod, **axle.rocker.pickups}
        self.arms = {
            name: (float(arm.length), float(arm.angle), float(arm.offset))
            for name, arm in ends.items()
            if isinstance(arm, Arm)
        }
        self.arm_sum = sum(arm[0] for arm in self.arms.values())
        eye = self._in_rocker_axes(_point(axle.rod.outboard))
        self.rod_length2 = sum((a - b) ** 2 for a, b in zip(eye, self._end("rod", 0.0), strict=True))
        self.side = math.copysign(1.0, self._toggle(eye))

    def position(self, eye: Point, velocity: Point) -> Position:
        """Turn the rocker by a root finder until the rod fits, then everything that follows from its angle."""
        u, v, w = self._in_rocker_axes(eye)

        def miss(angle: float) -> float:
            p, q, s = self._end("rod", angle)
            return (u - p) ** 2 + (v - q) ** 2 + (w - s) ** 2 - self.rod_length2

        toggle = self._toggle((u, v, w))
        ends = (toggle - math.pi, toggle) if self.side > 0 else (toggle, toggle + math.pi)
        angle = float(brentq(miss, *ends, xtol=1e-14, rtol=1e-14))
        p, q, s = self._end("rod", angle)
        du, dv, dw = self._turned(velocity)
        rate = ((u - p) * du + (v - q) * dv + (w - s) * dw) / ((v - q) * p - (u - p) * q)
        between = math.atan2(abs(p * (v - q) - q * (u - p)), abs(p * (u - p) + q * (v - q)))
        points = {name: self._in_space(self._end(name, angle)) for name in self.arms}
        return Position(angle, rate, points, between)

    def length_rate(self, left: Position, right: Position, left_end: str, right_end: str, way: float) -> float:
        """d(strut length) per mm of left wheel travel while the right wheel moves `way` times as much."""
        a, b = left.points[left_end], right.points[right_end]
        across = (a[0] - b[0], a[1] + b[1], a[2] - b[2])
        va, vb = self._velocity(left_end, left), self._velocity(right_end, right)
        relative = (va[0] - way * vb[0], va[1] + way * vb[1], va[2] - way * vb[2])
        return sum(x * y for x, y in zip(across, relative, strict=True)) / math.hypot(*across)

    def _velocity(self, name: str, position: Position) -> Point:
        p, q, _ = self._end(name, position.angle)
        return _point(position.rate * (p * self.e1 - q * self.e0))

    def _toggle(self, eye: Point) -> float:
        """Rocker angle from static at which the rod's arm points at the eye, within half a turn either way."""
        return math.remainder(math.atan2(eye[1], eye[0]) - self.arms["rod"][1], 2 * math.pi)

    def _end(self, name: str, angle: float) -> Point:
        """An end of the rocker in its own axes e0, e1, a, from the pivot, with the rocker turned by `angle`."""
        length, at_static, offset = self.arms[name]
        return length * math.cos(at_static + angle), length * math.sin(at_static + angle), offset

    def _in_rocker_axes(self, point: Point) -> Point:
        return self._turned(_point(np.asarray(point) - self.pivot))

    def _turned(self, vector: Point) -> Point:
        direction = np.asarray(vector)
        return float(direction @ self.e0), float(direction @ self.e1), float(direction @ self.axis)

    def _in_space(self, point: Point) -> Point:
        return _point(self.pivot + point[0] * self.e0 + point[1] * self.e1 + point[2] * self.axis)


def _point(array: Array) -> Point:
    return float(array[0]), float(array[1]), float(array[2])


def _eye_at(axle: Axle, z: float, rack: float) -> tuple[Point, Point]:
    """The rod's eye on the upright with all links closed, and its velocity per mm of wheel travel."""
    static = axle.wheel.centre
    links = list(axle.links.values())
    inboard = np.array([link.inboard + np.array([0.0, rack * link.follows_rack, 0.0]) for link in links])
    lever = np.array([link.outboard - static for link in links])
    length = np.linalg.norm(np.array([link.outboard - link.inboard for link in links]), axis=1)

    def pose(x: Array) -> tuple[Array, Array]:
        return np.array([static[0] + x[0], static[1] + x[1], static[2] + z]), Rotation.from_rotvec(x[2:]).as_matrix()

    def misses(x: Array) -> Array:
        centre, turned = pose(x)
        return np.asarray(np.linalg.norm(centre + lever @ turned.T - inboard, axis=1) - length)

    x = fsolve(misses, np.zeros(5), xtol=1e-10)
    x = x - np.linalg.solve(_slopes(misses, x), misses(x))
    centre, turned = pose(x)
    arms = lever @ turned.T
    lines = centre + arms - inboard
    jacobian = np.vstack([np.hstack([lines, np.cross(arms, lines)]), [0, 0, 1, 0, 0, 0]])
    twist = np.linalg.solve(jacobian, [0, 0, 0, 0, 0, 1])
    eye = turned @ (axle.rod.outboard - static)
    return _point(centre + eye), _point(twist[:3] + np.cross(twist[3:], eye))


def _slopes(function: Callable[[Array], Array], x: Array) -> Array:
    """Jacobian by central differences, for one last step of Newton's method."""
    steps = 1e-6 * np.eye(len(x))
    return np.stack([(function(x + step) - function(x - step)) / 2e-6 for step in steps], axis=1)
