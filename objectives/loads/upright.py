"""The upright held by five links and the rod against the ground: one system of six equations at every state.

| symbol | meaning | shape | unit |
|---|---|---|---|
| T_i | tension of link i at its outboard end | (..., 5) | N |
| N | compression of the rod | (...) | N |
| t_i | from outboard to inboard end of link i, unit vector | (..., 5, 3) | - |
| x_i, p | outboard end of link i; wheel centre | (..., 3) | mm |
| f, q | force of the rod on the upright per newton, and where it acts | (..., 3) | -, mm |
| F, c | force of the ground on the tyre, and where it acts | (..., 3) | N, mm |
| n | spin axis | (..., 3) | - |

    sum T_i t_i + N f + F = 0
    sum T_i (x_i - p) x t_i + N (q - p) x f + M = 0,   M = (c - p) x F

With the brake inboard a shaft takes M . n to the chassis, and the upright sees M - (M . n) n. The weight of wheel,
upright, links and rod is neglected.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, cross, dot, unit
from objectives.loads.footing import Footing
from objectives.loads.pose import SidePose

LEVER = 100.0
"""Moments count in units of a force at this lever [mm], so that the six equations are of one size."""
NOT_HELD = 1e-9
"""Links and rod do not hold the upright where the determinant of the six equations is no larger; they have no unit."""


@dataclass(frozen=True)
class Wrench:
    """What the wheel brings to the upright: `force` (..., 3) [N], `moment` (..., 3) [N.mm] about the wheel centre.

    `shaft` (...) [N.mm]: the moment about the spin axis that a shaft takes to the chassis instead.
    """

    force: Array
    moment: Array
    shaft: Array


@dataclass(frozen=True)
class UprightForces:
    """`rod` (...) [N], compression positive; `outer`, `tension` (..., 5) [N]: the links at their outboard and inboard
    ends, tension positive: the same but for links that carry the rod."""

    rod: Array
    outer: Array
    tension: Array


def wheel_wrench(pose: SidePose, force: Array, brake_inboard: Array) -> Wrench:
    """What a force of the ground (..., K, 3) [N] on the contact point brings to the upright.

    `brake_inboard` (K,), 0 or 1: whether a shaft takes the moment about the spin axis to the chassis.
    """
    moment = cross(pose.contact - pose.centre, force)
    shaft = np.asarray(brake_inboard * dot(moment, pose.spin_axis))
    return Wrench(force, moment - shaft[..., None] * pose.spin_axis, shaft)


def hold_upright(pose: SidePose, stands: Footing, wrench: Wrench) -> UprightForces:
    """Forces of the links and the rod that hold the upright; NaN where the links cannot hold it."""
    lines = unit(pose.inboard - pose.outboard)
    levers = pose.outboard - pose.centre[..., None, :]
    links = np.concatenate([lines, cross(levers, lines) / LEVER], axis=-1)
    rod = np.concatenate([stands.force, cross(stands.point - pose.centre, stands.force) / LEVER], axis=-1)
    load = np.concatenate(np.broadcast_arrays(wrench.force, wrench.moment / LEVER), axis=-1)
    shape = np.broadcast_shapes(links[..., 0, :].shape, rod.shape, load.shape)
    rows = np.concatenate(
        [np.broadcast_to(links, (*shape[:-1], *links.shape[-2:])), np.broadcast_to(rod, shape)[..., None, :]], axis=-2
    )
    found = _solve(np.swapaxes(rows, -1, -2), -np.broadcast_to(load, shape))
    outer, compression = found[..., :-1], found[..., -1]
    return UprightForces(compression, outer, outer + compression[..., None] * stands.tension)


def _solve(matrix: Array, right: Array) -> Array:
    """Solutions (..., 6) of systems (..., 6, 6); NaN where a matrix is as good as singular or no number."""
    sound = np.asarray(np.isfinite(matrix).all(axis=(-2, -1)))
    held = np.asarray(np.abs(np.linalg.det(np.where(sound[..., None, None], matrix, 0.0))) > NOT_HELD)
    safe = np.where(held[..., None, None], matrix, np.eye(matrix.shape[-1]))
    found = np.linalg.solve(safe, right[..., None])[..., 0]
    return np.where(held[..., None], found, np.nan)
