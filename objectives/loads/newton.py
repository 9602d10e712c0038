"""Two equations in two unknowns for a batch, by Newton's method with steps held back; nothing loops over the batch.

Far from the answer, over a knee or where a state cannot be, a step is halved until it lessens the miss. A direction in
which nothing holds is left alone (K. Levenberg, Quart. Appl. Math. 2 (1944), 164, with a damping that is all but none).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags

STEPS = 60
"""Evaluations at most; a smooth case needs five."""
LONGEST = 15.0
"""A step moves no unknown further than this [mm]."""
SHORTEST = 2.0**-24
"""Steps halved below this share count as stuck."""
DAMPING = 1e-12
"""Share of the squared stiffness that damps directions without any."""


@dataclass(frozen=True)
class Balance:
    """`at` (..., 2) where the equations hold to `miss` (...), and whether that is near enough, `found` (...)."""

    at: Array
    miss: Array
    found: Flags


Equations = Callable[[Array], tuple[Array, Array]]
"""From unknowns (..., 2) to what is missed (..., 2) and its slope (..., 2, 2); NaN where there is no such state."""


def balance(equations: Equations, start: Array, near: Array, exact: float = 1e-3) -> Balance:
    """Solve from `start` (..., 2) until no equation misses by more than `near` (...), aiming at `exact` of that."""
    at, trial, stride = start, start, np.ones(start.shape[:-1])
    miss, slope = (np.full((*start.shape[:-1], *rest), np.inf) for rest in ((2,), (2, 2)))
    step = np.zeros_like(start)
    for _ in range(STEPS):
        found, steep = equations(trial)
        better = _size(found) < _size(miss)
        at = np.where(better[..., None], trial, at)
        miss = np.where(better[..., None], found, miss)
        slope = np.where(better[..., None, None], steep, slope)
        stride = np.where(better, np.minimum(2.0 * stride, 1.0), 0.5 * stride)
        settled = (_size(miss) <= near) & (~better | (_size(miss) <= exact * near))
        active = ~settled & (stride > SHORTEST)
        if not active.any():
            break
        step = np.where(better[..., None], _newton(miss, slope), step)
        trial = np.where(active[..., None], at + stride[..., None] * step, at)
    largest = _size(miss)
    return Balance(at, largest, np.asarray(largest <= near))


def _size(miss: Array) -> Array:
    """The larger of both misses (...); infinite where there is none."""
    largest = np.abs(miss).max(axis=-1)
    return np.where(np.isfinite(largest), largest, np.inf)


def _newton(miss: Array, slope: Array) -> Array:
    """The step (..., 2) that undoes the miss, shortened to `LONGEST`."""
    transposed = np.swapaxes(slope, -1, -2)
    square = transposed @ slope
    damped = square + DAMPING * np.trace(square, axis1=-2, axis2=-1)[..., None, None] * np.eye(2)
    sound = np.isfinite(damped).all(axis=(-2, -1)) & (np.linalg.det(damped) > 0.0) & np.isfinite(miss).all(axis=-1)
    damped = np.where(sound[..., None, None], damped, np.eye(2))
    right = np.where(sound[..., None], -(transposed @ np.where(np.isfinite(miss), miss, 0.0)[..., None])[..., 0], 0.0)
    step = np.linalg.solve(damped, right[..., None])[..., 0]
    return np.asarray(step * np.minimum(1.0, LONGEST / np.maximum(np.abs(step).max(axis=-1, keepdims=True), LONGEST)))
