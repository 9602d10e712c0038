"""Bars at a state of the axle: how far they are twisted.

A torsion bar is twisted by its own rocker's angle; an anti-roll bar by the difference of its arms' angles. An angle is
positive in the sense in which bump turns it at static.
"""

import math
from functools import cached_property
from typing import Protocol

import numpy as np

from optimiser.report.handoff.second_reading.plain import PlainAxle, PlainBar, Vector, skew
from optimiser.report.handoff.second_reading.rocker import Rocker
from optimiser.report.handoff.second_reading.side import Side
from optimiser.report.handoff.second_reading.struts import State

NUDGE = 0.01
"""Wheel travel either way by which the sense of bump is found [mm]."""
ALONG_Y = np.array([0.0, 1.0, 0.0])


class Twisted(Protocol):
    """Any bar."""

    def twist(self, state: State) -> float:
        """Its twist at a state [deg], 0 at static; a torsion bar's is the left one's; NaN where it cannot be."""

    def link_length(self, state: State) -> float:
        """Length of the left drop link at a state [mm]; NaN where there is none, or where it cannot reach."""

    def on_pickup(self, state: State, moment: float) -> Vector:
        """The force with which a moment against bump at the left arm comes to the left rocker's pick-up [N, N.mm]."""


def plain_bar(axle: PlainAxle, side: Side, bar: PlainBar) -> Twisted:
    """The bar on an axle whose left side is `side`."""
    return _TorsionBar(side) if bar.pickup is None else _AntiRollBar(axle, side, bar, bar.pickup)


class _Arm:
    """What turns with the left wheel; `angle` is its turn from static [rad] before the sense of bump is given to it."""

    def __init__(self, side: Side) -> None:
        self._side = side

    def angle(self, z: float, rack: float) -> float:
        point = self._side.at(z, rack)
        return math.nan if point is None else point.angle

    def in_bump_sense(self, z: float, rack: float) -> float:
        return self._bump_sense * self.angle(z, rack)

    @cached_property
    def _bump_sense(self) -> float:
        return math.copysign(1.0, self.angle(NUDGE, 0.0) - self.angle(-NUDGE, 0.0))


class _TorsionBar(_Arm):
    def twist(self, state: State) -> float:
        z_left, _, rack = state
        return math.degrees(self.in_bump_sense(z_left, rack))

    def link_length(self, _state: State) -> float:
        return math.nan

    def on_pickup(self, _state: State, _moment: float) -> Vector:
        return np.zeros(3)


class _AntiRollBar(_Arm):
    def __init__(self, axle: PlainAxle, side: Side, bar: PlainBar, pickup: str) -> None:
        super().__init__(side)
        self._bar, self._pickup = bar, axle.pickups[pickup]
        self._arm = Rocker(bar.pivot, ALONG_Y, bar.end, self._pickup)
        self._known: dict[float, float] = {}

    def angle(self, z: float, rack: float) -> float:
        rocker = super().angle(z, rack)
        if math.isnan(rocker):
            return math.nan
        if rocker not in self._known:
            self._known[rocker] = self._arm.angle(self._side.rocker.turned(self._pickup, rocker))
        return self._known[rocker]

    def twist(self, state: State) -> float:
        z_left, z_right, rack = state
        return math.degrees(self.in_bump_sense(z_left, rack) - self.in_bump_sense(z_right, -rack))

    def link_length(self, state: State) -> float:
        pickup, end = self._link(state)
        return float(np.linalg.norm(pickup - end))

    def _link(self, state: State) -> tuple[Vector, Vector]:
        """The left drop link's ends at a state: the rocker's pick-up and the arm's end [mm]."""
        z, _, rack = state
        pickup = self._side.rocker.turned(self._pickup, super().angle(z, rack))
        return pickup, self._arm.turned(self._bar.end, self.angle(z, rack))

    def on_pickup(self, state: State, moment: float) -> Vector:
        """The drop link's push D w: about the arm's pivot along y it balances the moment, y . (end - pivot) x D w."""
        pickup, end = self._link(state)
        line = (pickup - end) / np.linalg.norm(pickup - end)
        lever = float((skew(end - self._bar.pivot) @ line) @ ALONG_Y)
        about_y = -self._bump_sense * moment
        pushed: Vector = about_y / lever * line
        return pushed
