"""What a rig reads on a built axle: lengths or compressions of struts at states of the wheels and the rack."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags
from geometry.axle import Axle
from geometry.built import built
from geometry.kernel import PLAIN
from geometry.motion import Motion
from geometry.side import Pairs, SideTree, pair_up
from geometry.side_motion import SideMotion, trace_side
from geometry.travel import AxleStates
from objectives.fit.deviations import Deviation, points_off
from objectives.tolerance.build import LEFT, RIGHT


@dataclass(frozen=True)
class Measured:
    """R readings: at `states`, of the struts `strut`, of a corner strut on `side`; arrays (R,) [mm].

    `compressed`: whether `value` is a compression from static, positive when squeezed; else it is an eye-to-eye length.
    `error` is the instrument's, one standard deviation.
    """

    states: AxleStates
    strut: tuple[str, ...]
    side: tuple[str, ...]
    compressed: Flags
    value: Array
    error: Array

    def __len__(self) -> int:
        return len(self.strut)


def expected(axle: Axle, measured: Measured, deviations: tuple[Deviation, ...], sizes: Array) -> Array:
    """What the rig would read (N, R) [mm] on axles off by `sizes` (N, D) [mm]; NaN where one does not get there.

    The axle has no batch axes, and its numbers none. Values and errors of `measured` are not looked at.
    """
    tree, (pairs,) = pair_up(measured.states)
    left, right = (_side(axle, tree, *points_off(deviations, sizes, side)) for side in (LEFT, RIGHT))
    from_left = Motion(left, pairs, right)
    from_right = Motion(right, Pairs(pairs.right, pairs.left), left)
    found = np.empty((len(sizes), len(measured)))
    for strut, side, compressed in dict.fromkeys(_kinds(measured)):
        rows = np.array([one == (strut, side, compressed) for one in _kinds(measured)])
        motion = (from_right if side == RIGHT else from_left).strut(strut)
        found[:, rows] = (motion.compression if compressed else motion.length)[:, rows]
    return found


def _kinds(measured: Measured) -> list[tuple[str, str, bool]]:
    return list(zip(measured.strut, measured.side, measured.compressed.tolist(), strict=True))


def _side(axle: Axle, tree: SideTree, off: dict[str, Array], rod: Array) -> SideMotion:
    """A side in left-hand coordinates. Its rack is right already: a pair's right state has the rack's negative."""
    one = built(axle, off, rod)
    return trace_side(one, PLAIN.trace(one.wheel, one.links, tree), tree)
