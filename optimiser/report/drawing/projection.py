"""From the car to the paper: parallel projection, to a scale of ISO 5455."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from optimiser.report.drawing.marks import Point

SCALES = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)
"""mm of paper per mm of the car (ISO 5455)."""

ACROSS, UP = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
"""Right and up of a view from the front: the car's left, and up."""


@dataclass(frozen=True)
class View:
    """Sees `origin` (3,) [mm] of the car at `at` of the paper; `right` and `up` (3,) are unit vectors of the car."""

    origin: Array
    right: Array
    up: Array
    at: Point
    scale: float

    def place(self, point: Array) -> Point:
        """Where a point (3,) [mm] of the car stands on the paper."""
        away = point - self.origin
        return (
            self.at[0] + self.scale * float(away @ self.right),
            self.at[1] + self.scale * float(away @ self.up),
        )

    def path(self, points: Array) -> tuple[Point, ...]:
        """Where points (N, 3) [mm] of the car stand on the paper."""
        return tuple(self.place(point) for point in points)


def largest_scale(width: float, height: float, room: Point) -> float:
    """The largest scale at which `width` by `height` [mm] of the car fit into `room` [mm] of paper."""
    fits = [scale for scale in SCALES if width * scale <= room[0] and height * scale <= room[1]]
    return fits[0] if fits else SCALES[-1]


def scale_words(scale: float) -> str:
    """`1:5`, `2:1`."""
    return f"1:{1.0 / scale:g}" if scale <= 1.0 else f"{scale:g}:1"
