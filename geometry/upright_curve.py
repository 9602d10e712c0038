"""Second derivatives of the upright's motion by wheel travel, the rack held.

With v, w the twist per mm of wheel travel and r_i = x_i - p (symbols of `geometry.upright`), the links' equations
d_i . (v + w x r_i) = 0 differentiated once more give

    d_i . (v' + w' x r_i) = -|v + w x r_i|^2 - d_i . (w x (w x r_i)),    v'_z = 0:

the matrix of the rates with other right sides.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array, Indices, cross, dot, solve, turn
from geometry.axle import Link
from geometry.side import SideTree
from geometry.upright import UprightMotion


@dataclass(frozen=True)
class UprightCurve:
    """The left upright at N side states, with how it moves and how that changes by wheel travel; the rack is held.

    `curve` (*W, N, 6): change of the twist `upright.rate[..., 0]` per mm: of the wheel centre's velocity [1/mm], of the
    angular velocity [rad/mm^2]; NaN where the links are locked.
    """

    upright: UprightMotion
    curve: Array

    def carry(self, point: Array) -> tuple[Array, Array, Array]:
        """A point fixed to the upright, (..., 3) [mm] at static, through all states.

        Returns its position [mm], velocity [mm/mm] and second derivative [1/mm] by wheel travel, each (..., N, 3).
        """
        lever = turn(self.upright.rotation, (point - self.upright.static_centre)[..., None, :])
        v, w = self.upright.rate[..., :3, 0], self.upright.rate[..., 3:, 0]
        spin = cross(w, lever)
        bend = self.curve[..., :3] + cross(self.curve[..., 3:], lever) + cross(w, spin)
        return self.upright.centre + lever, v + spin, bend


def curve_upright(links: Mapping[str, Link], upright: UprightMotion, tree: SideTree, nodes: Indices) -> UprightCurve:
    """Second derivatives of an upright's motion at the states `nodes` (N,) of its tree."""
    here = upright_at(upright, nodes)
    if here.curve is not None:
        return UprightCurve(here, here.curve)
    v, w = here.rate[..., :3, 0], here.rate[..., 3:, 0]
    matrix = np.zeros((*here.centre.shape[:-1], 6, 6))
    right = np.zeros((*here.centre.shape[:-1], 6))
    for row, link in enumerate(links.values()):
        lever = turn(here.rotation, (link.outboard - upright.static_centre)[..., None, :])
        d = here.centre + lever - link.inboard[..., None, :]
        d[..., 1] -= tree.rack[nodes] * link.follows_rack
        spin = cross(w, lever)
        matrix[..., row, :3], matrix[..., row, 3:] = d, cross(lever, d)
        right[..., row] = -dot(v + spin, v + spin) - dot(d, cross(w, spin))
    matrix[..., 5, 2] = 1.0
    return UprightCurve(here, solve(matrix, right[..., None])[..., 0])


def upright_at(upright: UprightMotion, nodes: Indices) -> UprightMotion:
    """The motion of an upright at some of its states, (N,)."""
    return replace(
        upright,
        centre=upright.centre[..., nodes, :],
        rotation=upright.rotation[..., nodes, :, :],
        rate=upright.rate[..., nodes, :, :],
        locked=upright.locked[..., nodes],
        reached=upright.reached[..., nodes],
        curve=None if upright.curve is None else upright.curve[..., nodes, :],
    )
