"""A force that is straight between knees: what every spring does against compression, and every damper against speed.

| symbol | meaning | shape | unit of a spring |
|---|---|---|---|
| c | compression from static | (*B, S) | mm, rad for a bar |
| F | force, positive when it pushes its element longer | (*B, S) | N, N.mm for a bar |
| c_i, k_i | where a knee lies, and by how much the rate grows there | (*B) | as c; as the rate |

F(c) = F_0 + k_0 c + sum of k_i max(c - c_i, 0): continuous over every knee, and its integral is exact.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.arrays import Array


@dataclass(frozen=True)
class Knee:
    """Where the rate changes, `at` (*B), and by how much it grows there, `change` (*B)."""

    at: Array
    change: Array


@dataclass(frozen=True)
class Law:
    """F(c) by its line far below every knee, `start` + `rate` c (*B), and its knees. In its numbers' unit."""

    start: Array
    rate: Array
    knees: tuple[Knee, ...] = ()

    def force(self, c: Array) -> Array:
        """F at `c` (*B, S)."""
        total = self.start[..., None] + self.rate[..., None] * c
        for knee in self.knees:
            total = total + knee.change[..., None] * np.maximum(c - knee.at[..., None], 0.0)
        return np.asarray(total)

    def slope(self, c: Array) -> Array:
        """dF/dc at `c` (*B, S); at a knee, that above it."""
        total = self.rate[..., None] + np.zeros_like(c)
        for knee in self.knees:
            total = total + np.where(c >= knee.at[..., None], knee.change[..., None], 0.0)
        return np.asarray(total)

    def energy(self, c: Array) -> Array:
        """The integral of F from 0 to `c` (*B, S): the energy taken up since static."""
        total = c * (self.start[..., None] + 0.5 * self.rate[..., None] * c)
        for knee in self.knees:
            at = knee.at[..., None]
            total = total + 0.5 * knee.change[..., None] * (np.maximum(c - at, 0.0) ** 2 - np.maximum(-at, 0.0) ** 2)
        return np.asarray(total)


def straight(start: Array, rate: Array) -> Law:
    """F = start + rate c."""
    return Law(np.asarray(start), np.asarray(rate))


def pushing(*bends: tuple[Array, Array]) -> Law:
    """A force that is 0 below the first of its `bends`, each (where, the rate from there on)."""
    rates = [np.asarray(0.0), *(rate for _, rate in bends)]
    changes = [np.asarray(after - before) for before, after in pairwise(rates)]
    knees = tuple(Knee(np.asarray(at), change) for (at, _), change in zip(bends, changes, strict=True))
    return Law(np.asarray(0.0), np.asarray(0.0), knees)


def through(points: Array) -> Law:
    """The line through `points` (n, 2), the first column rising; straight beyond either end. Two points at least."""
    x, y = points[:, 0], points[:, 1]
    slopes = np.diff(y) / np.diff(x)
    knees = tuple(Knee(np.asarray(at), np.asarray(change)) for at, change in zip(x[1:], np.diff(slopes), strict=False))
    return Law(np.asarray(y[0] - slopes[0] * x[0]), np.asarray(slopes[0]), knees)


def side_by_side(laws: Iterable[Law]) -> Law:
    """The law of all together on one element: their forces add. Nothing at all gives no force."""
    laws = tuple(laws)
    start = sum((law.start for law in laws), np.asarray(0.0))
    rate = sum((law.rate for law in laws), np.asarray(0.0))
    return Law(np.asarray(start), np.asarray(rate), tuple(knee for law in laws for knee in law.knees))
