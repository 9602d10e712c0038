"""The left side of an axle in motion: upright, rod and rocker at the states of a tree, each with its status."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from geometry.angles import tilt
from geometry.arrays import Array, Codes, Flags
from geometry.axle import Axle
from geometry.bar import BarMotion, close_bar
from geometry.hardpoints import Hardpoints, batch_shape, place
from geometry.kernel import PLAIN, Closing, Kernel
from geometry.pose_path import PosePath, trace_path
from geometry.rocker import Lever, Turn, lever_of, opens_between, swing_point
from geometry.rod import carry_rod_eye
from geometry.side import SideTree
from geometry.status import Status
from geometry.upright import UprightMotion


def trace_side(
    axle: Axle, upright: UprightMotion, tree: SideTree, kernel: Kernel = PLAIN, longer: Array | None = None
) -> "SideMotion":
    """The left side of an axle at the states of a tree, given how its upright moves there.

    `longer` (*B) [mm], where given, is what the rod is longer by than as drawn: at static the rocker then stands turned
    from where it is drawn, and its angle and all compressions still count from there.
    """
    points, batch = place(axle), batch_shape(axle)
    if longer is not None:
        points = replace(points, rod_length=points.rod_length + longer)
        batch = np.broadcast_shapes(batch, longer.shape)
    shape = (*batch, len(tree))
    eye, eye_rate = carry_rod_eye(axle, upright, tree)
    closing = kernel.close(eye, eye_rate, points)
    opened = opens_between(closing.reserve, closing.slope, tree)
    status = np.broadcast_to(_status(upright.locked, np.isfinite(closing.turn.cos), opened, tree), shape)
    kept = keep_turns(closing, status != Status.OK)
    return SideMotion(axle, points, upright, tree, eye, kept, status, np.sign(kept.rate[..., 0, 0]), kernel)


def keep_turns(closing: Closing, bad: Flags) -> Closing:
    """A closing without the turns and rates that its status voids, `bad` (*B, K)."""
    if not bad.any():
        return closing
    cos, sin = (np.where(bad, np.nan, part) for part in (closing.turn.cos, closing.turn.sin))
    loop = replace(closing.loop, turn=Turn(cos, sin), arm=np.where(bad, np.nan, closing.loop.arm))
    return replace(closing, loop=loop, rate=np.where(bad[..., None], np.nan, closing.rate))


@dataclass(frozen=True)
class SideMotion:
    """The left side of an axle at K side states.

    `eye` (*B, K, 3) [mm]: the rod's outboard eye. `closing` (*B, K): the rod-rocker loop, its turn and rates NaN where
    `status` (*B, K) is not OK. `bump` (*B): +1 where bump turns the rocker about its axis at static, -1 where against.
    """

    axle: Axle
    points: Hardpoints
    upright: UprightMotion
    tree: SideTree
    eye: Array
    closing: Closing
    status: Codes
    bump: Array
    kernel: Kernel
    _bars: dict[str, BarMotion] = field(default_factory=dict, init=False)
    _pickups: dict[str, tuple[Array, Array]] = field(default_factory=dict, init=False)
    _levers: dict[str, Lever] = field(default_factory=dict, init=False)

    @property
    def batch(self) -> tuple[int, ...]:
        """The batch axes B."""
        return self.status.shape[:-1]

    def pickup(self, name: str) -> tuple[Array, Array]:
        """A pick-up of the rocker: position (*B, K, 3) [mm] and velocity per radian (*B, K, 3) [mm/rad]."""
        if name not in self._pickups:
            self._pickups[name] = swing_point(self.points.arms[name], self.points, self.closing.turn)
        return self._pickups[name]

    def lever(self, name: str) -> Lever:
        """A pick-up's arm as vectors (*B, 3) [mm]."""
        if name not in self._levers:
            self._levers[name] = lever_of(self.points.arms[name], self.points)
        return self._levers[name]

    def bar(self, name: str) -> BarMotion:
        """The left arm of an anti-roll bar; KeyError where the axle has no bar of this name."""
        if name not in self._bars:
            bar = self.axle.anti_roll_bars[name]
            linkage, closing = close_bar(bar, self.points, self.pickup(bar.pickup), self.closing.rate, self.kernel)
            closes, opened = np.isfinite(closing.turn.cos), opens_between(closing.reserve, closing.slope, self.tree)
            own = _status(np.zeros_like(opened), closes, opened, self.tree)
            status = np.where(self.status == Status.OK, own, self.status).astype(np.int8)
            kept = keep_turns(closing, status != Status.OK)
            self._bars[name] = BarMotion(linkage, kept, status, np.sign(kept.rate[..., 0, 0]))
        return self._bars[name]

    def keep_bar(self, name: str, motion: BarMotion) -> None:
        """Keep a bar's arm whose status no tree of states can tell, for `bar` to give."""
        self._bars[name] = motion

    def heights(self, names: Iterable[str]) -> Iterator[Array]:
        """z of the rod's inboard eye, then of each named pick-up (*B, K) [mm]."""
        turn = self.closing.turn
        for lever in (lever_of(self.points.rod_arm, self.points), *map(self.lever, names)):
            z, u, w = (part[..., 2, None] for part in (lever.centre, lever.u, lever.w))
            yield z + turn.cos * u + turn.sin * w

    @cached_property
    def path(self) -> PosePath:
        """The upright's path through the states at rack 0."""
        return trace_path(self.axle.links, self.upright, self.tree)

    @cached_property
    def rod_inboard(self) -> tuple[Array, Array]:
        """The rod's inboard eye: position (*B, K, 3) [mm] and velocity per radian (*B, K, 3) [mm/rad]."""
        return swing_point(self.points.rod_arm, self.points, self.closing.turn)

    @cached_property
    def rod_transmission(self) -> Array:
        """Angle between rod and rocker arm, both seen along the axis, folded to 0..pi/2 (*B, K) [rad]."""
        return self.closing.loop.transmission

    @cached_property
    def rod_tilt(self) -> Array:
        """Angle of the rod out of the rocker's plane, at least 0 (*B, K) [rad]."""
        return tilt(self.eye - self.rod_inboard[0], self.points.axis[..., None, :])


def _status(locked: Flags, closes: Flags, opened: Flags, tree: SideTree) -> Codes:
    """Status of each side state (..., K), from its own closure and from what lies on the way to it."""
    locked, closes, opened = np.broadcast_arrays(locked, closes, opened)
    if closes.all() and not opened.any():
        return np.where(locked, Status.WHEEL_LOCKED, Status.OK).astype(np.int8)
    passed = np.array(opened)
    for generation in tree.generations[1:]:
        parent = tree.parent[generation]
        passed[..., generation] |= passed[..., parent] | ~closes[..., parent]
    status = np.where(passed, Status.OVER_CENTRE, Status.OK)
    status = np.where(closes, status, Status.UNREACHABLE)
    return np.where(locked, Status.WHEEL_LOCKED, status).astype(np.int8)
