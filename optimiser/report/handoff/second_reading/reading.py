"""One axle read again: its states, solved once each, and what struts and rockers do there."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimiser.report.handoff.second_reading.bars import Twisted, plain_bar
from optimiser.report.handoff.second_reading.plain import PlainAxle, PlainTravel, Vector
from optimiser.report.handoff.second_reading.rocker import Rocker
from optimiser.report.handoff.second_reading.side import OK, OVER_CENTRE, UNREACHABLE, WHEEL_LOCKED, Side, SidePoint
from optimiser.report.handoff.second_reading.states import DIRECTIONS, grid, sweeps, travel_points
from optimiser.report.handoff.second_reading.struts import (
    State,
    StrutEnd,
    line_at_rocker,
    motion_ratio,
    strut_ends,
    strut_length,
    strut_points,
)

SEVERITY = (OK, OVER_CENTRE, UNREACHABLE, WHEEL_LOCKED)
"""Statuses from the best to the worst: a state has its worse side's, a figure its worst state's."""
Reckoned = tuple[float, str]
"""A figure's value, NaN where it is null, and its status."""

TOGGLE_SEARCH = 100.0
"""How far beyond either end of `wheel` a toggle is searched [mm]."""


@dataclass(frozen=True)
class AtState:
    """What a strut does at one state: length [mm] and its rocker ends; NaN and none where the axle is not there."""

    length: float
    ends: tuple[StrutEnd, ...]


class Reading:
    """An axle and its travel, with every solved state remembered."""

    def __init__(self, axle: PlainAxle, travel: PlainTravel, side: Side | None = None) -> None:
        """`side`: the axle's left side where it is known already."""
        self.axle, self.travel = axle, travel
        furthest = max(abs(end) for end in travel.wheel) + TOGGLE_SEARCH
        self.side = side or Side(axle, furthest, max(abs(end) for end in travel.rack or (0.0, 0.0)) + 1.0)
        self._bars = {name: plain_bar(axle, self.side, bar) for name, bar in axle.bars.items()}
        self._struts: dict[tuple[str, State], AtState] = {}
        self._ratios: dict[tuple[str, State, str], float] = {}

    @property
    def rocker(self) -> Rocker:
        """The left rocker."""
        return self.side.rocker

    @cached_property
    def unsteered(self) -> list[State]:
        """Every state but the rack's: those of the grid."""
        return grid(self.travel)

    @cached_property
    def every(self) -> list[State]:
        """Every state: the grid and the rack sweep."""
        return self.unsteered + [state for _, state in sweeps(self.travel).get("rack", [])]

    def status(self, state: State) -> str:
        """The worse of the two sides' statuses."""
        z_left, z_right, rack = state
        return worst([self.side.status(z_left, rack), self.side.status(z_right, -rack)])

    def strut(self, name: str, state: State) -> AtState:
        """A strut at a state."""
        if (name, state) not in self._struts:
            element = self.axle.elements[name]
            points = strut_points(self.axle, self.side, element, state)
            ends = () if points is None else strut_ends(self.axle, element, points)
            length = strut_length(self.axle, self.side, element, state)
            self._struts[name, state] = AtState(length, ends)
        return self._struts[name, state]

    def strut_status(self, name: str, state: State) -> str:
        """The state's status, or `over_centre` where the strut's arm at an end has changed sign against static."""
        status = self.status(state)
        if status != OK:
            return status
        static, here = self.strut(name, (0.0, 0.0, 0.0)).ends, self.strut(name, state).ends
        turned = any(a.moment * b.moment < 0.0 for a, b in zip(static, here, strict=True))
        return OVER_CENTRE if turned else OK

    def compression(self, name: str, state: State) -> float:
        """Static length less length [mm]."""
        return self.strut(name, (0.0, 0.0, 0.0)).length - self.strut(name, state).length

    def motion_ratio(self, name: str, state: State, sweep: str) -> float:
        """-d(length)/d(travel of a sweep) at a state [mm/mm]."""
        key = (name, state, sweep)
        if key not in self._ratios:
            element = self.axle.elements[name]
            self._ratios[key] = motion_ratio(self.axle, self.side, element, state, DIRECTIONS[sweep])
        return self._ratios[key]

    def bar(self, name: str) -> Twisted:
        """A bar."""
        return self._bars[name]

    def twist(self, name: str, state: State) -> float:
        """A bar's twist [deg], or a left torsion bar's; NaN where it cannot be."""
        return self._bars[name].twist(state) if self.status(state) == OK else math.nan

    def rockers(self, state: State) -> tuple[SidePoint, SidePoint]:
        """Both sides at a state that is ok, the right as the mirrored left."""
        z_left, z_right, rack = state
        left, right = self.side.at(z_left, rack), self.side.at(z_right, -rack)
        if left is None or right is None:
            raise ValueError(f"the axle does not reach {state}")
        return left, right

    def rod_end(self, point: SidePoint) -> StrutEnd:
        """The rod's line against its arm at the rocker, at one state of the left side."""
        return line_at_rocker(self.axle, self.rocker.turned(self.axle.rod_inboard, point.angle), point.eye)

    def top(self, state: State) -> float:
        """Highest of the rod's inboard eyes and named pick-ups of both rockers at a state [mm]."""
        return max(
            float(self.rocker.turned(point, side.angle)[2])
            for side in self.rockers(state)
            for point in self.axle.arm_points
        )

    def toggle_margin(self) -> tuple[float, str]:
        """Travel of one wheel beyond the ends of `wheel` to the first toggle or lock [mm], with its status."""
        low, high = self.travel.wheel
        status = worst(self.side.status(z, 0.0) for z in travel_points(low, high, self.travel.step))
        if status != OK:
            return math.nan, status
        reserve = min(self.side.end(1.0, 0.0).distance - high, self.side.end(-1.0, 0.0).distance + low)
        return (reserve, OK) if reserve < TOGGLE_SEARCH else (TOGGLE_SEARCH, "beyond_search")


def worst(statuses: Iterable[str]) -> str:
    """The worst of some statuses."""
    return max(statuses, key=SEVERITY.index, default=OK)


def ground_angle(line: Vector) -> float:
    """Angle of a line to the ground plane, 0..90 [deg]."""
    return math.degrees(math.atan2(abs(float(line[2])), float(np.hypot(line[0], line[1]))))
