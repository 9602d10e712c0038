"""The left side of an axle in motion: upright, rod and rocker at the states of a tree, each with its status."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from geometry.angles import projected_angle, tilt
from geometry.arrays import Array, Codes, Flags
from geometry.axle import Axle
from geometry.hardpoints import Hardpoints, batch_shape, place
from geometry.rocker import Turn, close_loop, opens_between, swing_point, turn_rate
from geometry.rod import carry_rod_eye
from geometry.side import SideTree
from geometry.status import Status
from geometry.upright import UprightMotion


def trace_side(axle: Axle, upright: UprightMotion, tree: SideTree) -> "SideMotion":
    """The left side of an axle at the states of a tree, given how its upright moves there."""
    points = place(axle)
    shape = (*batch_shape(axle), len(tree))
    eye, eye_rate = carry_rod_eye(axle, upright, tree)
    loop = close_loop(eye, points)
    opened = opens_between(loop.reserve, eye, eye_rate, points, tree)
    status = np.broadcast_to(_status(upright.locked, np.isfinite(loop.turn.cos), opened, tree), shape)
    bad = status != Status.OK
    turn = Turn(np.where(bad, np.nan, loop.turn.cos), np.where(bad, np.nan, loop.turn.sin))
    return SideMotion(
        axle=axle,
        points=points,
        upright=upright,
        tree=tree,
        eye=eye,
        eye_rate=eye_rate,
        turn=turn,
        turn_rate=turn_rate(eye, eye_rate, points, turn),
        reserve=np.broadcast_to(loop.reserve, shape),
        status=status,
    )


@dataclass(frozen=True)
class SideMotion:
    """The left side of an axle at K side states.

    `eye` (*B, K, 3) [mm] and `eye_rate` (*B, K, 3, 2) [mm/mm]: the rod's outboard eye; `turn` (*B, K) and
    `turn_rate` (*B, K, 2) [rad/mm]: the rocker's angle from static; the last axis is per mm of wheel travel and of
    rack. `reserve` (*B, K): that of the rod-rocker loop (`geometry.rocker.Loop`). `status` (*B, K).
    """

    axle: Axle
    points: Hardpoints
    upright: UprightMotion
    tree: SideTree
    eye: Array
    eye_rate: Array
    turn: Turn
    turn_rate: Array
    reserve: Array
    status: Codes
    _pickups: dict[str, tuple[Array, Array]] = field(default_factory=dict)

    @property
    def batch(self) -> tuple[int, ...]:
        """The batch axes B."""
        return self.status.shape[:-1]

    def pickup(self, name: str) -> tuple[Array, Array]:
        """A pick-up of the rocker: position (*B, K, 3) [mm] and velocity per radian (*B, K, 3) [mm/rad]."""
        if name not in self._pickups:
            self._pickups[name] = swing_point(self.points.arms[name], self.points, self.turn)
        return self._pickups[name]

    @cached_property
    def rod_inboard(self) -> tuple[Array, Array]:
        """The rod's inboard eye: position (*B, K, 3) [mm] and velocity per radian (*B, K, 3) [mm/rad]."""
        return swing_point(self.points.rod_arm, self.points, self.turn)

    @cached_property
    def rod_transmission(self) -> Array:
        """Angle between rod and rocker arm, both seen along the axis, folded to 0..pi/2 (*B, K) [rad]."""
        end, swing = self.rod_inboard
        return projected_angle(self.eye - end, swing, self.points.axis[..., None, :])

    @cached_property
    def rod_tilt(self) -> Array:
        """Angle of the rod out of the rocker's plane, at least 0 (*B, K) [rad]."""
        return tilt(self.eye - self.rod_inboard[0], self.points.axis[..., None, :])


def _status(locked: Flags, closes: Flags, opened: Flags, tree: SideTree) -> Codes:
    """Status of each side state (..., K), from its own closure and from what lies on the way to it."""
    locked, closes, opened = np.broadcast_arrays(locked, closes, opened)
    passed = np.array(opened)
    for generation in tree.generations[1:]:
        parent = tree.parent[generation]
        passed[..., generation] |= passed[..., parent] | ~closes[..., parent]
    status = np.where(passed, Status.OVER_CENTRE, Status.OK)
    status = np.where(closes, status, Status.UNREACHABLE)
    return np.where(locked, Status.WHEEL_LOCKED, status).astype(np.int8)
