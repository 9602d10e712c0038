"""Ways in which a built axle may be off, in a designer's terms: a pivot's coordinates, an arm's length, angle, offset.

A tolerance on each coordinate of a point is the same in any square directions; points of the rocker are taken along
their arm, square to it about the axis, and along the axis. Each side is on its own: left ones first, then the right
ones in the same order, all in left-hand coordinates.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, cross
from geometry.axle import Arm, Axle
from geometry.built import ROD_END
from geometry.hardpoints import Hardpoints, place
from objectives.tolerance.build import LEFT, RIGHT, ROD, Build, tolerances

SHORTEST = 1.0
"""An arm shorter than this [mm] has no angle worth telling: what is square to it is then told in mm."""


@dataclass(frozen=True)
class Deviation:
    """One way to be off: a point along a unit vector, or (`direction` None) the rod's length."""

    side: str
    """left or right."""
    path: str
    word: str
    """x, y, z; length, angle, offset of an arm; length of the rod."""
    direction: Array | None
    """(3,)"""
    sigma: float
    """Its standard deviation [mm], from the build."""
    per_mm: float
    """What a mm of it is in `unit`."""
    unit: str
    """mm or deg."""

    @property
    def name(self) -> str:
        """As in tables: `left rocker.pivot.z`, `right rod length`, `left rocker.pickups.heave angle`."""
        return f"{self.side} {self.path}{'.' if self.word in ('x', 'y', 'z') else ' '}{self.word}"


def deviations_of(build: Build, axle: Axle) -> tuple[Deviation, ...]:
    """The ways in which one axle (no batch axes) may be off: the left side's, then the right side's."""
    return tuple(one for side in (LEFT, RIGHT) for one in _of_side(build, axle, side))


def points_off(deviations: tuple[Deviation, ...], sizes: Array, side: str) -> tuple[dict[str, Array], Array]:
    """What one side's points (..., 3), by path, and its rod (...) are off by [mm], of `sizes` (..., D) [mm]."""
    off: dict[str, Array] = {}
    rod = np.zeros(sizes.shape[:-1])
    for place_of, one in enumerate(deviations):
        if one.side != side:
            continue
        size = sizes[..., place_of]
        if one.direction is None:
            rod = rod + size
        else:
            off[one.path] = off.get(one.path, 0.0) + size[..., None] * one.direction
    return off, rod


def _of_side(build: Build, axle: Axle, side: str) -> Iterator[Deviation]:
    points, deviations = place(axle), build.spread.deviations
    arms = {ROD_END: points.rod_arm} | {f"rocker.pickups.{name}": arm for name, arm in points.arms.items()}
    for path, size in tolerances(build, axle).items():
        if path in arms:
            yield from _of_arm(arms[path], points, side, path, size / deviations)
        else:
            for word, direction in zip("xyz", np.eye(3), strict=True):
                yield Deviation(side, path, word, direction, size / deviations, 1.0, "mm")
    if build.rod_length > 0.0:
        yield Deviation(side, ROD, "length", None, build.rod_length / deviations, 1.0, "mm")


def _of_arm(arm: Arm, points: Hardpoints, side: str, path: str, sigma: float) -> Iterator[Deviation]:
    along = np.cos(arm.angle) * points.e0 + np.sin(arm.angle) * points.e1
    length = float(arm.length)
    turning = (float(np.degrees(1.0 / length)), "deg") if length >= SHORTEST else (1.0, "mm")
    yield Deviation(side, path, "length", along, sigma, 1.0, "mm")
    yield Deviation(side, path, "angle", cross(points.axis, along), sigma, *turning)
    yield Deviation(side, path, "offset", points.axis, sigma, 1.0, "mm")
