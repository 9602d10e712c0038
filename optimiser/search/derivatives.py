"""First derivatives of a problem's parts at many points at once, by differences: one call measures all the points.

Symbols: N points, V variables, R parts; u in [0, 1] is a variable between its bounds.
"""

from collections.abc import Callable

import numpy as np

from geometry.arrays import Array, Flags
from optimiser.search.parts import unmeasured

STEP = 1e-6
"""Step of a one-sided difference in u: on an axle's parts the largest error is then 6e-6 of the largest derivative of
its part, from curvature; at 1e-7 it is 1e-4, from rounding."""


def derivatives(measure: Callable[[Array], Array], u: Array, parts: Array, step: float = STEP) -> Array:
    """d parts / d u (N, R, V) at points u (N, V) in the unit box, where the parts are `parts` (N, R).

    One-sided, into the box, so that no point outside is measured. Where the point beside cannot be measured the other
    side is tried; where that fails too, the derivative is 0.
    """
    steps = np.where(u + step > 1.0, -step, step)
    slopes, failed = _slopes(measure, u, parts, steps)
    rows = np.flatnonzero(failed.any(axis=1))
    if len(rows):
        again, still = _slopes(measure, u[rows], parts[rows], -steps[rows])
        mended = np.where(still[:, None, :], 0.0, again)
        slopes[rows] = np.where(failed[rows, None, :], mended, slopes[rows])
    return slopes


def _slopes(measure: Callable[[Array], Array], u: Array, parts: Array, steps: Array) -> tuple[Array, Flags]:
    size, variables = u.shape
    beside = np.repeat(u[:, None, :], variables, axis=1)
    diagonal = np.arange(variables)
    beside[:, diagonal, diagonal] = np.clip(u + steps, 0.0, 1.0)
    moved = beside[:, diagonal, diagonal] - u
    measured = measure(beside.reshape(-1, variables)).reshape(size, variables, parts.shape[1])
    failed = unmeasured(measured) | (moved == 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        slopes = (measured - parts[:, None, :]) / moved[:, :, None]
    return np.ascontiguousarray(slopes.transpose(0, 2, 1)), failed
