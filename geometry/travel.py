"""The travel of an axle: its ranges, their travel points, and the states made of them (design conventions).

A state of an axle is (z_left, z_right, rack) [mm]: vertical travel of each wheel centre against the sprung mass, bump
positive, and rack travel to the left. Heave h: both wheels +h. Roll r: left wheel +r, right wheel -r.
"""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from geometry.arrays import Array

Range: TypeAlias = tuple[float, float]

INSIDE = 1e-9
"""A state counts as inside a range when it oversteps its ends by no more than this [mm]."""


@dataclass(frozen=True)
class Travel:
    """Ranges of travel [mm], each (lowest, highest) around static; `rack` is None where no link follows a rack."""

    wheel: Range
    heave: Range
    roll: Range
    rack: Range | None
    step: float

    @property
    def even_roll(self) -> float:
        """The smaller end of the roll range [mm]."""
        return smaller_end(self.roll)

    @property
    def even_rack(self) -> float:
        """The smaller end of the rack range [mm]; 0 without a rack."""
        return smaller_end(self.rack) if self.rack else 0.0


@dataclass(frozen=True)
class AxleStates:
    """States of an axle, each array (S,) [mm]."""

    z_left: Array
    z_right: Array
    rack: Array

    def __len__(self) -> int:
        return len(self.z_left)


def smaller_end(span: Range) -> float:
    """The end of a range nearer to static, without its sign [mm]."""
    return min(abs(span[0]), abs(span[1]))


def travel_points(span: Range, step: float) -> Array:
    """Both ends of a range and every whole multiple of `step` between them: (N,) [mm], rising, each once."""
    low, high = span
    first, last = np.ceil((low - INSIDE) / step), np.floor((high + INSIDE) / step)
    inner = np.arange(first, last + 1) * step
    inner = inner[(inner > low + INSIDE) & (inner < high - INSIDE)]
    ends = [low, high] if high > low else [low]
    return np.sort(np.concatenate([inner, ends]) + 0.0)


def heave_states(points: Array) -> AxleStates:
    """Both wheels at each of `points` (N,) [mm]."""
    return AxleStates(points, points, np.zeros_like(points))


def roll_states(points: Array) -> AxleStates:
    """Left wheel at each of `points` (N,) [mm], right wheel at its negative."""
    return AxleStates(points, -points, np.zeros_like(points))


def one_wheel_states(points: Array) -> AxleStates:
    """Left wheel at each of `points` (N,) [mm], right wheel at static."""
    return AxleStates(points, np.zeros_like(points), np.zeros_like(points))


def rack_states(points: Array) -> AxleStates:
    """Rack at each of `points` (N,) [mm], both wheel centres at static height: a bench state."""
    return AxleStates(np.zeros_like(points), np.zeros_like(points), points)


def grid_states(travel: Travel) -> AxleStates:
    """Every (h, r) of the heave and roll points with h + r and h - r inside `wheel`, at rack 0."""
    h, r = np.meshgrid(travel_points(travel.heave, travel.step), travel_points(travel.roll, travel.step), indexing="ij")
    left, right = (h + r).ravel(), (h - r).ravel()
    low, high = travel.wheel[0] - INSIDE, travel.wheel[1] + INSIDE
    inside = (left >= low) & (left <= high) & (right >= low) & (right <= high)
    return AxleStates(left[inside], right[inside], np.zeros(int(inside.sum())))
