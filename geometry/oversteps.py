"""How far the points of a rocker get outside of bounds; compiled."""

import math

import numpy as np

from geometry.arrays import Array, Indices
from geometry.compiled import compiled


def turned_reach(cos: Array, sin: Array, levers: Array, states: Indices) -> Array:
    """The least and the largest coordinates (N, E, 2, 3) [mm] of points of the rocker at some side states (S,).

    `cos`, `sin` (N, K): the rocker's turn; `levers` (E, N, 9): centre, u and w. NaN where a turn is.
    """
    found = np.empty((len(cos), len(levers), 2, 3))
    _turned_reach(np.ascontiguousarray(cos[:, states]), np.ascontiguousarray(sin[:, states]), levers, found)
    return found


@compiled
def _turned_reach(cos: Array, sin: Array, levers: Array, found: Array) -> None:
    for n in range(len(cos)):
        own_cos, own_sin = cos[n], sin[n]
        void = 0.0 * own_cos.sum()
        for m in range(len(levers)):
            for i in range(3):
                centre, u, w = levers[m, n, i], levers[m, n, 3 + i], levers[m, n, 6 + i]
                low, high = math.inf, -math.inf
                for k in range(len(own_cos)):
                    x = own_cos[k] * u + own_sin[k] * w
                    low, high = min(low, x), max(high, x)
                found[n, m, 0, i], found[n, m, 1, i] = centre + low + void, centre + high + void
