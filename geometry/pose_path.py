"""The upright's path through its wheel travel at rack 0, as polynomials between the states at which it is known.

| symbol | meaning | shape | unit |
|---|---|---|---|
| P | pose: wheel centre, then the columns of the rotation from static | (..., 4, 3) | mm, - |
| a, b, h | neighbouring wheel travels, and b - a | | mm |
| t | (z - a) / h | | - |
| V, C | h dP/dz, h^2 d2P/dz2 | (..., 4, 3) | mm, - |

Between neighbours P is the polynomial of fifth degree that has P, V and C of both ends. It misses the pose by about
h^6 / 46080 of its sixth derivative: at neighbours of 4 mm and links of 150 mm or more, by less than 1e-11 mm.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Indices, cross, pick_states
from geometry.axle import Link
from geometry.side import SideTree
from geometry.upright import UprightMotion
from geometry.upright_curve import UprightCurve, curve_upright


@dataclass(frozen=True)
class PosePath:
    """`nodes` (N,), the states of a tree at rack 0 by their `travel` (N,) [mm], rising; N is at least 2.

    `powers` (*W, N - 1, 6, 4, 3): coefficients of t^0 to t^5 between neighbours; NaN where one of them is locked.
    """

    nodes: Indices
    travel: Array
    powers: Array

    def at(self, z: Array) -> tuple[Array, Array, Array]:
        """Pose and its first and second derivatives by wheel travel at `z` (*B, K) [mm]: each (*B, K, 4, 3)."""
        piece = np.clip(np.searchsorted(self.travel, z) - 1, 0, len(self.travel) - 2)
        begin, span = self.travel[piece], self.travel[piece + 1] - self.travel[piece]
        with np.errstate(invalid="ignore"):
            t = ((z - begin) / span)[..., None, None]
        h = span[..., None, None]
        powers = pick_states(self.powers, piece, 3)
        value, slope, bend = powers[..., 5, :, :], np.zeros(()), np.zeros(())
        for power in range(4, -1, -1):
            bend = bend * t + 2.0 * slope
            slope = slope * t + value
            value = value * t + powers[..., power, :, :]
        return value, slope / h, bend / h**2


def trace_path(links: Mapping[str, Link], upright: UprightMotion, tree: SideTree) -> PosePath:
    """The path through all states of a tree at rack 0."""
    nodes = np.flatnonzero(tree.rack == 0.0)
    nodes = nodes[np.argsort(tree.travel[nodes])]
    nodes = np.repeat(nodes, 2) if len(nodes) == 1 else nodes
    travel = tree.travel[nodes]
    return PosePath(nodes, travel, fifth_degree(travel, *poses_of(curve_upright(links, upright, tree, nodes))))


def fifth_degree(travel: Array, value: Array, slope: Array, bend: Array) -> Array:
    """Polynomials (..., N - 1, 6, m, n) between N neighbours, as in `PosePath`, of any numbers (..., N, m, n).

    `travel` (N,) [mm] rises; `value`, `slope` and `bend` are the numbers and their derivatives by it.
    """
    h = np.diff(travel)[:, None, None]
    begin, end = np.s_[..., :-1, :, :], np.s_[..., 1:, :, :]
    first, half = slope[begin] * h, 0.5 * bend[begin] * h**2
    d = value[end] - value[begin] - first - half
    e = slope[end] * h - first - 2.0 * half
    f = bend[end] * h**2 - 2.0 * half
    third, fourth, fifth = 10.0 * d - 4.0 * e + 0.5 * f, -15.0 * d + 7.0 * e - f, 6.0 * d - 3.0 * e + 0.5 * f
    return np.stack([value[begin], first, half, third, fourth, fifth], axis=-3)


def poses_of(known: UprightCurve) -> tuple[Array, Array, Array]:
    """Pose of an upright and its first and second derivatives by wheel travel, each (*W, N, 4, 3)."""
    columns = np.swapaxes(known.upright.rotation, -1, -2)
    (v, w), (v1, w1) = _halves(known.upright.rate[..., 0]), _halves(known.curve)
    turned = cross(w, columns)
    pose = np.concatenate([known.upright.centre[..., None, :], columns], axis=-2)
    bend = cross(w1, columns) + cross(w, turned)
    return pose, np.concatenate([v, turned], axis=-2), np.concatenate([v1, bend], axis=-2)


def upright_of(static_centre: Array, pose: Array, slope: Array, bend: Array) -> UprightMotion:
    """The upright with these poses and derivatives (*B, K, 4, 3), locked where NaN; rates per mm of rack are NaN.

    With c a column of the rotation, c' = w x c: half the sum of c x c' is w, and of c x c'' it is w'.
    """
    columns = pose[..., 1:, :]
    w, w1 = (0.5 * _sum_of_crosses(columns, part[..., 1:, :]) for part in (slope, bend))
    rate = np.concatenate([slope[..., 0, :], w], axis=-1)
    locked = np.isnan(pose[..., 0, 0])
    return UprightMotion(
        static_centre=static_centre,
        centre=pose[..., 0, :],
        rotation=np.swapaxes(columns, -1, -2),
        rate=np.stack([rate, np.full_like(rate, np.nan)], axis=-1),
        locked=locked,
        reached=np.where(locked, np.nan, 1.0),
        curve=np.concatenate([bend[..., 0, :], w1], axis=-1),
    )


def _sum_of_crosses(a: Array, b: Array) -> Array:
    parts = cross(a, b)
    return np.asarray(parts[..., 0, :] + parts[..., 1, :] + parts[..., 2, :])


def _halves(twist: Array) -> tuple[Array, Array]:
    """Linear and angular part of twists (..., 6), each (..., 1, 3)."""
    return twist[..., None, :3], twist[..., None, 3:]
