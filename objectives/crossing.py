"""Where along a sweep, going out from static, a number first reaches a level.

| symbol | meaning | shape | unit |
|---|---|---|---|
| t | travel points of the sweep, rising, static among them | (S,) | mm |
| y, s | the number and its slope dy/dt there | (*B, S) | |
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags, Indices

STEPS = 8
"""Newton's steps on the cubic between two travel points, which is all but straight: four give all digits."""


@dataclass(frozen=True)
class Crossing:
    """`distance` (*B) from static, at least 0, in the unit of t: to the end of the sweep where not `met` (*B)."""

    distance: Array
    met: Flags


def first_crossing(t: Array, y: Array, s: Array, level: Array, way: int) -> Crossing:
    """The first travel at which y (*B, S) comes to `level` (*B) from above, going up in t (`way` 1) or down (-1).

    Between travel points y is the cubic through values and slopes. A y that is at or below the level at static has met
    it there. NaN in y or in the level: not met.
    """
    order = np.flatnonzero(way * t >= 0.0)[::way]
    out, over = np.abs(t[order]), y[..., order] - level[..., None]
    slope = np.broadcast_to(way * s[..., order], over.shape)
    if len(out) == 1:
        started: Flags = over[..., 0] <= 0.0
        return Crossing(np.zeros(started.shape), started)
    below = over <= 0.0
    met = np.asarray(below.any(axis=-1), dtype=np.bool_)
    first = np.argmax(below, axis=-1)
    before = np.maximum(np.where(met, first, 1) - 1, 0)
    width = out[before + 1] - out[before]
    ends = (_at(over, before), _at(over, before + 1), width * _at(slope, before), width * _at(slope, before + 1))
    distance = np.where(first == 0, 0.0, out[before] + _root(*ends) * width)
    return Crossing(np.where(met, distance, out[-1]), met)


def nearer(*crossings: Crossing) -> Crossing:
    """The nearest of those that are met; where none is, the least distance searched."""
    met = np.stack(np.broadcast_arrays(*(one.met for one in crossings)))
    distance = np.stack(np.broadcast_arrays(*(one.distance for one in crossings)))
    nearest = np.where(met, distance, np.inf).min(axis=0)
    any_met = np.asarray(met.any(axis=0), dtype=np.bool_)
    return Crossing(np.where(any_met, nearest, distance.min(axis=0)), any_met)


def _at(values: Array, index: Indices) -> Array:
    """One state of each candidate."""
    return np.take_along_axis(values, index[..., None], axis=-1)[..., 0]


def _root(y0: Array, y1: Array, d0: Array, d1: Array) -> Array:
    """Where in 0..1 the cubic with values y0 >= 0 >= y1 and slopes d0, d1 is 0."""
    with np.errstate(divide="ignore", invalid="ignore"):
        x = np.clip(np.nan_to_num(y0 / (y0 - y1), nan=0.0), 0.0, 1.0)
        a, b = 2.0 * (y0 - y1) + d0 + d1, 3.0 * (y1 - y0) - 2.0 * d0 - d1
        for _ in range(STEPS):
            value, slope = y0 + x * (d0 + x * (b + x * a)), d0 + x * (2.0 * b + 3.0 * x * a)
            x = np.clip(np.nan_to_num(x - value / slope, nan=0.0), 0.0, 1.0)
    return np.asarray(x)
