"""The left side of axles at wheel travels that differ from candidate to candidate, at rack 0.

A side traced along a tree is the guide. Poses are read from its path, and where that does not close the links to the
second order (next to a lock, for one), they are walked to from the nearest of its states. What lies beyond a state that
the guide could not reach is not reached either.
"""

from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array, Codes, Flags, Indices, dot, pick_states
from geometry.bar import BarMotion, close_bar
from geometry.kernel import Closing
from geometry.pose_path import PosePath, poses_of, upright_of
from geometry.rocker import dips_below
from geometry.rod import carry_rod_eye
from geometry.side import untied_states
from geometry.side_motion import SideMotion, keep_turns
from geometry.status import Status
from geometry.travel import INSIDE
from geometry.upright import CLOSED, UprightMotion, walk_upright
from geometry.upright_curve import curve_upright


def side_at(guide: SideMotion, z: Array) -> SideMotion:
    """The left side at wheel travels `z` (*B, K) [mm], whose batch axes broadcast with the axle's; rack 0.

    `guide` is a traced side of the same axles. Status and NaN as along its tree; `wheel_locked` too where `z` lies
    outside the travel that the guide was traced over, or is NaN. Rates per mm of rack are not given: they are NaN.
    """
    between = _between(guide.path, z)
    upright = _upright(guide, between, z)
    tree = untied_states(z.shape[-1])
    eye, eye_rate = carry_rod_eye(guide.axle, upright, tree)
    closing = guide.kernel.close(eye, eye_rate, guide.points)
    own = between.status(guide.status, guide.closing, closing)
    status = np.where(upright.locked, Status.WHEEL_LOCKED, own).astype(np.int8)
    kept = keep_turns(closing, status != Status.OK)
    side = replace(guide, upright=upright, tree=tree, eye=eye, closing=kept, status=status)
    for name in guide.axle.anti_roll_bars:
        side.keep_bar(name, _bar(guide, side, name, between))
    return side


@dataclass(frozen=True)
class _Between:
    """The guide's states at rack 0 next to some wheel travels (*B, K): `inner` towards static, `outer` away from it.

    `step`: way from the inner one [mm]. `outside`: whether the travel lies outside those states.
    """

    inner: Indices
    outer: Indices
    step: Array
    outside: Flags

    def status(self, known: Codes, guide: Closing, closing: Closing) -> Codes:
        """Status of a loop, `closing` (*B, K), from its status and closing at the states of the guide (*B, N)."""
        low, begin = pick_states(guide.reserve, self.inner), pick_states(guide.slope[..., 0], self.inner)
        opened = dips_below(low, closing.reserve, self.step * begin, self.step * closing.slope[..., 0])
        opened |= pick_states(known, self.inner) != Status.OK
        status = np.where(opened, Status.OVER_CENTRE, Status.OK)
        return np.where(np.isfinite(closing.turn.cos), status, Status.UNREACHABLE).astype(np.int8)


def _between(path: PosePath, z: Array) -> _Between:
    travel, last = path.travel, len(path.travel) - 1
    above = np.minimum(np.searchsorted(travel, z, side="left"), last)
    below = np.maximum(np.searchsorted(travel, z, side="right") - 1, 0)
    inner, outer = path.nodes[np.where(z > 0.0, below, above)], path.nodes[np.where(z > 0.0, above, below)]
    step = z - np.where(z > 0.0, travel[below], travel[above])
    return _Between(inner, outer, step, ~((z >= travel[0] - INSIDE) & (z <= travel[-1] + INSIDE)))


def _upright(guide: SideMotion, between: _Between, z: Array) -> UprightMotion:
    """The uprights at wheel travels `z`: on the guide's path where that closes the links, else walked there."""
    pose, slope, bend = guide.path.at(np.where(between.outside, np.nan, z))
    lost = ~(between.outside | _close(guide, pose, slope, bend))
    if lost.any():
        walked, here = _walk(guide, between, np.where(lost, z, np.nan)), lost[..., None, None]
        pose, slope, bend = (np.where(here, *parts) for parts in zip(walked, (pose, slope, bend), strict=True))
    return upright_of(guide.upright.static_centre, pose, slope, bend)


def _close(guide: SideMotion, pose: Array, slope: Array, bend: Array) -> Flags:
    """Whether poses and their derivatives (*B, K, 4, 3) keep the lengths of all links to the second order (*B, K)."""
    good = np.ones(pose.shape[:-2], dtype=np.bool_)
    for link in guide.axle.links.values():
        lever, line = link.outboard - guide.upright.static_centre, link.outboard - link.inboard
        end, velocity, change = (_carried(lever, part) for part in (pose, slope, bend))
        d, length2 = end - link.inboard[..., None, :], dot(line, line)[..., None]
        allowed = CLOSED * np.sqrt(length2)
        good &= np.abs(0.5 * (dot(d, d) - length2)) < allowed
        good &= np.abs(dot(d, velocity)) < allowed
        good &= np.abs(dot(velocity, velocity) + dot(d, change)) < allowed
    return good


def _carried(lever: Array, pose: Array) -> Array:
    """A point at `lever` (..., 3) from the wheel centre at static, in poses (..., K, 4, 3): (..., K, 3)."""
    x, y, z = (lever[..., i, None, None] for i in range(3))
    return np.asarray(pose[..., 0, :] + x * pose[..., 1, :] + y * pose[..., 2, :] + z * pose[..., 3, :])


def _walk(guide: SideMotion, between: _Between, z: Array) -> tuple[Array, Array, Array]:
    """Poses and derivatives at `z`, each walked to from the nearer of its neighbours that the links reach."""
    upright, travel = guide.upright, guide.tree.travel
    inner, outer = between.inner, between.outer
    nearer = (np.abs(travel[outer] - z) < np.abs(travel[inner] - z)) & ~pick_states(upright.locked, outer)
    node = np.where(nearer, outer, inner)
    start = replace(
        upright,
        centre=pick_states(upright.centre, node, 1),
        rotation=pick_states(upright.rotation, node, 2),
        rate=pick_states(upright.rate, node, 2),
        locked=pick_states(upright.locked, node),
    )
    walked = walk_upright(guide.axle.wheel, guide.axle.links, start, travel[node], np.broadcast_to(z, node.shape))
    every = np.arange(z.shape[-1])
    return poses_of(curve_upright(guide.axle.links, walked, untied_states(len(every)), every))


def _bar(guide: SideMotion, side: SideMotion, name: str, between: _Between) -> BarMotion:
    bar, traced = guide.axle.anti_roll_bars[name], guide.bar(name)
    linkage, closing = close_bar(bar, side.points, side.pickup(bar.pickup), side.closing.rate, side.kernel)
    own = between.status(traced.status, traced.closing, closing)
    status = np.where(side.status == Status.OK, own, side.status).astype(np.int8)
    return BarMotion(linkage, keep_turns(closing, status != Status.OK), status, traced.sense)
