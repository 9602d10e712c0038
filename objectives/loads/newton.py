"""Where a potential of two unknowns is level, for a batch, by Newton's method with steps held back.

| symbol | meaning | shape |
|---|---|---|
| z | the unknowns | (..., 2) |
| g | what is missed: the potential's slope | (..., 2) |
| K | its second derivatives, symmetric; lambda, e: its eigenvalues and eigenvectors | (..., 2, 2) |

A step is -sum of e (e . g) / lambda, without the directions in which nothing holds. Far from the answer, over a knee or
where a state cannot be, it is halved until it lessens the miss. Nothing loops over the batch.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags

STEPS = 60
"""Evaluations at most; a smooth case needs five."""
LONGEST = 60.0
"""A step moves no unknown further than this [mm]."""
SHORTEST = 2.0**-24
"""Steps halved below this share count as stuck."""
NO_HOLD = 1e-9
"""A direction holds nothing when its stiffness is below this share of the stiffest one's."""
EXACT = 1e-3
"""A miss below this share of what is near enough is not made smaller."""


@dataclass(frozen=True)
class Balance:
    """`at` (..., 2) where it ends, and whether that is a balance that lasts, `found` (...).

    It is one when no slope misses by more than was allowed and the potential falls in no direction.
    """

    at: Array
    found: Flags


Equations = Callable[[Array], tuple[Array, Array]]
"""From z (..., 2) to g (..., 2) and K (..., 2, 2); NaN where there is no such state."""


def balance(equations: Equations, start: Array, near: Array) -> Balance:
    """Solve g = 0 from `start` (..., 2) until neither part of g is larger than `near` (...). Never raises."""
    at, trial, stride = start, start, np.ones(start.shape[:-1])
    miss, slope = np.full(start.shape, np.inf), np.zeros((*start.shape, 2))
    step = np.zeros_like(start)
    for _ in range(STEPS):
        here, bend = equations(trial)
        better = _size(here) < _size(miss)
        at, miss = (np.where(better[..., None], new, old) for new, old in ((trial, at), (here, miss)))
        slope = np.where(better[..., None, None], bend, slope)
        settled = (_size(miss) <= near) & (~better | (_size(miss) <= EXACT * near))
        stride = np.where(better, np.minimum(2.0 * stride, 1.0), 0.5 * stride)
        active = ~settled & (stride > SHORTEST)
        if not active.any():
            break
        step = np.where(better[..., None], _step(miss, slope), step)
        trial = np.where(active[..., None], at + stride[..., None] * step, at)
    lowest, highest = np.moveaxis(np.linalg.eigvalsh(_finite(slope)), -1, 0)
    return Balance(at, np.asarray((_size(miss) <= near) & (lowest >= -NO_HOLD * np.abs(highest))))


def _size(miss: Array) -> Array:
    """The larger part of a miss (...); infinite where there is none."""
    largest = np.abs(miss).max(axis=-1, initial=0.0)
    return np.where(np.isfinite(largest), largest, np.inf)


def _step(miss: Array, slope: Array) -> Array:
    """The step (..., 2) that undoes the miss, shortened to `LONGEST`."""
    stiffness, along = np.linalg.eigh(_finite(slope))
    size = np.abs(stiffness)
    holds = size > NO_HOLD * size.max(axis=-1, keepdims=True)
    pushed = (np.swapaxes(along, -1, -2) @ _finite(miss)[..., None])[..., 0]
    share = np.where(holds, -pushed / np.where(holds, stiffness, 1.0), 0.0)
    step = (along @ share[..., None])[..., 0]
    return np.asarray(step * LONGEST / np.maximum(np.abs(step).max(axis=-1, keepdims=True), LONGEST))


def _finite(values: Array) -> Array:
    return np.where(np.isfinite(values), values, 0.0)
