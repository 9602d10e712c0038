"""What steps teach about second derivatives: Powell's damped BFGS for many starts at once.

| symbol | meaning | shape |
|---|---|---|
| s | step | (N, V) |
| y | change of the Lagrangian's gradient along it | (N, V) |
| B | stand-in for the Lagrangian's Hessian, positive definite | (N, V, V) |
"""

import numpy as np

from geometry.arrays import Array, Flags

DAMPING = 0.2
"""Least share of s'Bs that s'y may be (Powell 1978)."""
FIRST = (1e-2, 1e2)
"""Least and largest diagonal that a first step gives."""


def updated(hessian: Array, step: Array, turned: Array, fresh: Flags) -> Array:
    """B after steps `step` = s that turned the gradient by `turned` = y (Nocedal and Wright 2006, procedure 18.2).

    Where B is `fresh` (N,), that is a guess, its diagonal first becomes y'y / s'y (their equation 6.20). A step of
    nothing changes nothing.
    """
    b = np.where(fresh[:, None, None], _first(hessian, step, turned), hessian)
    bs = (b @ step[:, :, None])[:, :, 0]
    sbs, sy = _inner(step, bs), _inner(step, turned)
    damped = sy < DAMPING * sbs
    theta = np.where(damped, (1.0 - DAMPING) * sbs / np.where(damped, sbs - sy, 1.0), 1.0)[:, None]
    r = theta * turned + (1.0 - theta) * bs
    sr = _inner(step, r)
    known = (sbs > 0.0) & (sr > 0.0)
    safe_sbs, safe_sr = (np.where(known, each, 1.0)[:, None, None] for each in (sbs, sr))
    new = b - bs[:, :, None] * bs[:, None, :] / safe_sbs + r[:, :, None] * r[:, None, :] / safe_sr
    return np.where(known[:, None, None], new, hessian)


def _first(hessian: Array, step: Array, turned: Array) -> Array:
    sy = _inner(step, turned)
    bent = sy > 0.0
    size = np.clip(_inner(turned, turned) / np.where(bent, sy, 1.0), *FIRST)[:, None, None]
    return np.where(bent[:, None, None], size * np.eye(step.shape[1]), hessian)


def _inner(a: Array, b: Array) -> Array:
    return np.asarray((a * b).sum(axis=1))
