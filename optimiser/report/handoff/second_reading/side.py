"""The left side along its path from static: each pose from the one before, and how far the path goes.

A side depends on its own wheel's travel and the rack alone, and the right side is the mirrored left at the rack's
negative: so every state of the axle is two left sides, each solved once.
"""

import math
from dataclasses import dataclass

from scipy.optimize import brentq, minimize_scalar

from optimiser.report.handoff.second_reading.plain import PlainAxle, Vector
from optimiser.report.handoff.second_reading.rocker import Rocker, outboard_eye
from optimiser.report.handoff.second_reading.upright import Pose, Upright

STEP = 2.0
"""Step of the path [mm]."""
SHORTEST = 1e-3
"""Steps are halved down to this before a pose counts as out of reach [mm]."""
END = 1e-9
"""Width to which the end of a path is bracketed [mm]."""
STEEPEST = 3.0
"""No rod's gap falls faster than this [mm per mm of travel] without the path being looked at between its steps."""

OK, UNREACHABLE, WHEEL_LOCKED, OVER_CENTRE = "ok", "unreachable", "wheel_locked", "over_centre"


@dataclass(frozen=True)
class SidePoint:
    """One solved state of the left side."""

    pose: Pose
    eye: Vector
    """The rod's outboard eye [mm]."""
    gap: float
    """Distance from a toggle [mm of rod]; below 0 the loop is open."""
    angle: float
    """Rocker angle against static [rad]; NaN where the loop is open."""


@dataclass(frozen=True)
class End:
    """Where a path from static ends: its length [mm], infinite if it was not found; whether the links lock there."""

    distance: float
    locks: bool


class Side:
    """The left side of an axle; `at` and `status` remember what they solved."""

    def __init__(self, axle: PlainAxle, wheel: float, rack: float) -> None:
        """Paths are followed to `wheel` [mm] of travel and to `rack` [mm] of the rack, either way."""
        self._upright = Upright(axle)
        self._eye = outboard_eye(axle)
        self.rocker = Rocker(axle.pivot, axle.axis, axle.rod_inboard, axle.rod_outboard)
        self._furthest = {True: wheel, False: rack}
        self._points: dict[tuple[float, float], SidePoint | None] = {}
        self._ends: dict[tuple[float, float], End] = {}

    def at(self, z: float, rack: float) -> SidePoint | None:
        """The state at wheel travel `z` and rack travel `rack` [mm]; None where the links cannot follow from static."""
        key = (round(z, 10), round(rack, 10))
        if key not in self._points:
            self._points[key] = self._solve(*key)
        return self._points[key]

    def status(self, z: float, rack: float) -> str:
        """`ok`, `unreachable`, `wheel_locked` or `over_centre`; one of `z` and `rack` is 0."""
        distance = math.hypot(z, rack)
        if distance == 0.0:
            return OK
        end = self.end(z / distance, rack / distance)
        if distance <= end.distance:
            return OK
        point = None if end.locks else self.at(z, rack)
        if point is None:
            return WHEEL_LOCKED
        return UNREACHABLE if point.gap < 0.0 else OVER_CENTRE

    def end(self, dz: float, drack: float) -> End:
        """The first toggle or lock on the straight path from static along the unit direction (dz, drack)."""
        if (dz, drack) not in self._ends:
            self._ends[dz, drack] = self._walk(dz, drack)
        return self._ends[dz, drack]

    def _solve(self, z: float, rack: float) -> SidePoint | None:
        distance = math.hypot(z, rack)
        if distance == 0.0:
            return self._point(self._upright.static, 0.0)
        done = STEP * (math.ceil(distance / STEP - 1e-9) - 1)
        start = self.at(z * done / distance, rack * done / distance)
        if start is None:
            return None
        pose = self._advance(start.pose, done / distance, 1.0, z, rack)
        return None if pose is None else self._point(pose, rack)

    def _advance(self, start: Pose, done: float, share: float, z: float, rack: float) -> Pose | None:
        """The pose at `share` of the way to (z, rack), from `start` at share `done`, in halved steps where need be."""
        pose = self._upright.follow(start, share * z, share * rack)
        if pose is not None or (share - done) * math.hypot(z, rack) < SHORTEST:
            return pose
        middle = (done + share) / 2.0
        half = self._advance(start, done, middle, z, rack)
        return None if half is None else self._advance(half, middle, share, z, rack)

    def _point(self, pose: Pose, rack: float) -> SidePoint:
        eye = self._eye(pose, rack)
        return SidePoint(pose, eye, self.rocker.gap(eye), self.rocker.angle(eye))

    def _walk(self, dz: float, drack: float) -> End:
        for k in range(math.ceil(self._furthest[dz != 0.0] / STEP)):
            low, high = k * STEP, (k + 1) * STEP
            locks = self.at(high * dz, high * drack) is None
            if locks:
                high = self._lock(low, high, dz, drack)
            toggle = self._toggle(low, high, dz, drack)
            if toggle is not None:
                return End(toggle, False)
            if locks:
                return End(high, True)
        return End(math.inf, False)

    def _lock(self, low: float, high: float, dz: float, drack: float) -> float:
        point = self.at(low * dz, low * drack)
        pose = self._upright.static if point is None else point.pose
        while high - low > END:
            middle = (low + high) / 2.0
            reached = self._upright.follow(pose, middle * dz, middle * drack)
            if reached is None:
                high = middle
            else:
                low, pose = middle, reached
        self._points[round(low * dz, 10), round(low * drack, 10)] = self._point(pose, low * drack)
        return low

    def _toggle(self, low: float, high: float, dz: float, drack: float) -> float | None:
        """The first distance in [low, high] at which the rod's gap closes; None if it stays open to the end."""

        def gap(distance: float) -> float:
            point = self.at(distance * dz, distance * drack)
            return -math.inf if point is None else point.gap

        at_low, at_high = gap(low), gap(high)
        if at_high > 0.0 and min(at_low, at_high) < STEEPEST * (high - low):
            least = minimize_scalar(gap, bounds=(low, high), method="bounded", options={"xatol": 1e-6})
            high, at_high = (float(least.x), float(least.fun)) if least.fun < 0.0 else (high, at_high)
        if at_high > 0.0:
            return None
        return float(brentq(gap, low, high, xtol=END)) if at_low > 0.0 else low
