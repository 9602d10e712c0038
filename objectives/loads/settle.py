"""Where an axle comes to rest under each load case: springs and wheel loads balance by virtual work.

| symbol | meaning | shape | unit |
|---|---|---|---|
| z_l, z_r | travel of the left and the right wheel | (*B, C) | mm |
| U | energy in the springs | (*B, C) | N.mm |
| Q_l, Q_r | the ground's force on each wheel as its travel feels it | (*B, C) | N |

Solved: dU/dz_l = Q_l(z_l), dU/dz_r = Q_r(z_r), from static, by Newton's method with the second derivatives of U and the
slopes of Q. The forces are those of a study's case, along the axes of the sprung mass; the weight of wheels, uprights,
links, rods and rockers is neglected, so that the springs carry all of them. No stop but a spring's own holds a wheel
within its travel.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.anywhere import side_at
from geometry.arrays import MIRROR_Y, Array, Flags
from geometry.motion import Motion
from geometry.side import Pairs
from geometry.side_motion import SideMotion
from geometry.upright_curve import curve_upright
from objectives.fittings.installed import Installed
from objectives.fittings.loads import LoadCase
from objectives.loads.newton import balance
from objectives.loads.wheel_work import WheelWork, wheel_work
from objectives.strain import Strain, strain_of

NEAR = 1e-9
"""A case is in balance when no wheel's force misses by more than this share of the case's largest force."""


@dataclass(frozen=True)
class Ground:
    """Forces of the ground in C cases [N]: `left`, `right` (C, 3), each in left-hand axes, the right one mirrored.

    `brake_inboard` (C,).
    """

    left: Array
    right: Array
    brake_inboard: Flags

    @property
    def largest(self) -> Array:
        """Largest part of any force in each case (C,) [N]; 1 where all are nothing."""
        sizes = np.abs(np.concatenate([self.left, self.right], axis=-1)).max(axis=-1, initial=0.0)
        return np.where(sizes > 0.0, sizes, 1.0)


@dataclass(frozen=True)
class Settled:
    """An axle at rest in C cases: its `motion`, what its springs do, `found` (*B, C): whether they balance there."""

    motion: Motion
    strain: Strain
    travel: Array
    found: Flags


def ground_of(cases: Sequence[LoadCase]) -> Ground:
    """The forces of load cases, side by side."""
    left, right = (np.array([getattr(case, side) for case in cases]).reshape(-1, 3) for side in ("left", "right"))
    return Ground(left, right * MIRROR_Y, np.array([case.brake_inboard for case in cases], dtype=np.bool_))


def settle(side: SideMotion, installed: Mapping[str, Installed], ground: Ground) -> Settled:
    """Let an axle, or a batch, come to rest in C cases; without any spring it stays at static, and is found there.

    `side`: its left side traced over the travel in which to look, at rack 0. `installed`: the springs of each element.
    """
    start = np.zeros((*side.batch, len(ground.brake_inboard), 2))
    if not installed:
        return _at(side, installed, start, np.ones(start.shape[:-1], dtype=np.bool_))

    def equations(z: Array) -> tuple[Array, Array]:
        here = _at(side, installed, z, np.zeros(z.shape[:-1], dtype=np.bool_))
        strain = here.strain
        left, right = work_of(here.motion, ground)
        bend = strain.curvature
        miss = np.stack([strain.by_left - left.force, strain.by_right - right.force], axis=-1)
        rows = [[bend.left - left.slope, bend.across], [bend.across, bend.right - right.slope]]
        return miss, np.stack([np.stack(np.broadcast_arrays(*row), axis=-1) for row in rows], axis=-2)

    rest = balance(equations, start, np.broadcast_to(NEAR * ground.largest, start.shape[:-1]))
    return _at(side, installed, rest.at, rest.found)


def work_of(motion: Motion, ground: Ground) -> tuple[WheelWork, WheelWork]:
    """What the ground does at the left and the right wheel in C states, one a case."""
    axle, pairs = motion.side.axle, motion.pairs
    left, right = (
        wheel_work(
            axle.wheel,
            curve_upright(axle.links, motion.side.upright, motion.side.tree, index),
            force,
            ground.brake_inboard,
        )
        for index, force in ((pairs.left, ground.left), (pairs.right, ground.right))
    )
    return left, right


def _at(side: SideMotion, installed: Mapping[str, Installed], z: Array, found: Flags) -> Settled:
    cases = z.shape[-2]
    index = np.arange(cases)
    here = side_at(side, np.concatenate([z[..., 0], z[..., 1]], axis=-1))
    motion = Motion(here, Pairs(index, cases + index))
    return Settled(motion, strain_of(side.axle, installed, motion), z, found)
