"""How exactly an axle is built: the errors that its parts may have, each side's on its own."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Axle, CornerStrut
from geometry.built import PIVOT, ROD_END
from geometry.hardpoints import element_pickups


class Spread(StrEnum):
    """What the numbers of a build mean."""

    ONE_SIGMA = "1_sigma"
    """One standard deviation of a normal error."""
    TWO_SIGMA = "2_sigma"
    THREE_SIGMA = "3_sigma"
    LIMITS = "limits"
    """The limits of an error, any value between them as likely as another."""

    @property
    def deviations(self) -> float:
        """How many standard deviations a number is: of an even error, its limit is the root of 3."""
        return _DEVIATIONS[self]


_DEVIATIONS = {Spread.ONE_SIGMA: 1.0, Spread.TWO_SIGMA: 2.0, Spread.THREE_SIGMA: 3.0, Spread.LIMITS: math.sqrt(3.0)}


@dataclass(frozen=True)
class Build:
    """Tolerances [mm], plus or minus, on each coordinate of a point and on the rod's length.

    `pivots`: where parts are held by the chassis: the rocker's pivot, a corner strut's chassis end, a bar's bearing.
    `pickups`: the rocker's points, the rod's end among them, and the eye of a bar's arm. `points` by path takes the
    place of both, and is the one way to put a point of the links or the rod's outboard eye off its place.
    """

    pivots: float = 0.0
    pickups: float = 0.0
    rod_length: float = 0.0
    points: Mapping[str, float] = field(default_factory=dict)
    spread: Spread = Spread.TWO_SIGMA


@dataclass(frozen=True)
class Error:
    """One way in which an axle may be off: a coordinate of a point, or (`axis` None) the rod's length."""

    side: str
    """left or right."""
    path: str
    axis: int | None
    tolerance: float
    """[mm], as in the build."""

    @property
    def name(self) -> str:
        """As in tables: `left rocker.pivot.z`, `right rod length`."""
        return f"{self.side} rod length" if self.axis is None else f"{self.side} {self.path}.{'xyz'[self.axis]}"


LEFT, RIGHT = "left", "right"
ROD = "rod"
"""In place of a path: the rod's length."""


def errors_of(build: Build, axle: Axle) -> tuple[Error, ...]:
    """The errors that an axle may have: the left side's, then the right side's in the same order."""
    points = tolerances(build, axle)
    ways: list[tuple[str, int | None, float]] = [
        (path, axis, size) for path, size in points.items() for axis in range(3)
    ]
    if build.rod_length > 0.0:
        ways.append((ROD, None, build.rod_length))
    return tuple(Error(side, *way) for side in (LEFT, RIGHT) for way in ways)


def tolerances(build: Build, axle: Axle) -> dict[str, float]:
    """The tolerance [mm] of each point that may be off, by its path."""
    pivots, pickups = [PIVOT], [ROD_END, *(f"rocker.pickups.{name}" for name in element_pickups(axle))]
    for name, element in axle.elements.items():
        if isinstance(element, CornerStrut):
            pivots.append(f"elements.{name}.chassis")
        elif isinstance(element, AntiRollBar):
            pivots.append(f"elements.{name}.arm.pivot")
            pickups.append(f"elements.{name}.arm.end")
    sizes = dict.fromkeys(pivots, build.pivots) | dict.fromkeys(pickups, build.pickups) | dict(build.points)
    return {path: size for path, size in sizes.items() if size > 0.0}


def stated(errors: tuple[Error, ...]) -> Array:
    """The errors' tolerances (E,) [mm], as in the build."""
    return np.array([error.tolerance for error in errors])
