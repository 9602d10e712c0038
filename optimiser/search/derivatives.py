"""First derivatives of a problem's parts at many points at once, by differences: one call measures all the points.

Symbols: N points, V variables, R parts; u in [0, 1] is a variable between its bounds.
"""

from collections.abc import Callable

import numpy as np

from geometry.arrays import Array, Flags, Indices
from optimiser.search.parts import unmeasured

STEP = 1e-6
"""Step of a one-sided difference in u: on an axle's parts the largest error is then 6e-6 of the largest derivative of
its part, from curvature; at 1e-7 it is 1e-4, from rounding."""


def derivatives(
    measure: Callable[[Array], Array], u: Array, parts: Array, step: float = STEP, fixed: Flags | None = None
) -> Array:
    """d parts / d u (N, R, V) at points u (N, V) in the unit box, where the parts are `parts` (N, R).

    By the variables `fixed` (V,) no derivative is taken: it is 0.

    One-sided, into the box, so that no point outside is measured. Where the point beside cannot be measured the other
    side is tried; where that fails too, the derivative is 0.
    """
    steps = np.where(u + step > 1.0, -step, step)
    free = np.arange(u.shape[1]) if fixed is None else np.flatnonzero(~fixed)
    slopes, failed = _slopes(measure, u, parts, steps, free)
    rows = np.flatnonzero(failed.any(axis=1))
    if len(rows):
        again, still = _slopes(measure, u[rows], parts[rows], -steps[rows], free)
        mended = np.where(still[:, None, :], 0.0, again)
        slopes[rows] = np.where(failed[rows, None, :], mended, slopes[rows])
    return slopes


def _slopes(
    measure: Callable[[Array], Array], u: Array, parts: Array, steps: Array, free: Indices
) -> tuple[Array, Flags]:
    size, variables = u.shape
    beside = np.repeat(u[:, None, :], len(free), axis=1)
    diagonal = np.arange(len(free))
    beside[:, diagonal, free] = np.clip(u + steps, 0.0, 1.0)[:, free]
    moved = beside[:, diagonal, free] - u[:, free]
    measured = measure(beside.reshape(-1, variables)).reshape(size, len(free), parts.shape[1])
    slopes, failed = np.zeros((size, parts.shape[1], variables)), np.zeros(u.shape, dtype=np.bool_)
    failed[:, free] = unmeasured(measured) | (moved == 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        slopes[:, :, free] = ((measured - parts[:, None, :]) / moved[:, :, None]).transpose(0, 2, 1)
    return slopes, failed
