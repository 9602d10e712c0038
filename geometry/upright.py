"""How the left upright moves: the pose that closes its five links at each wheel travel and rack position.

| symbol | meaning | shape | unit |
|---|---|---|---|
| p, R | wheel centre; rotation of the upright from static | (..., 3), (..., 3, 3) | mm, - |
| b_i, L_i | inboard point and length of link i | (..., 5, 3), (..., 5) | mm |
| x_i | its outboard point, p + R (x_i0 - p_0) | (..., 5, 3) | mm |
| d_i | x_i - b_i | (..., 5, 3) | mm |

Six equations in the pose: (|d_i|^2 - L_i^2) / 2 = 0 for the five links, and p_z = p_z0 + z. A small twist (v, w)
changes them by d_i . v + (R (x_i0 - p_0) x d_i) . w and by v_z: the Jacobian of Newton's method and of the rates.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Flags, Indices, cross, dot, norm, rotation, solve, turn
from geometry.axle import Link, Wheel
from geometry.side import SideTree

CLOSED = 1e-11
"""A link counts as closed when its length misses by no more than this [mm]."""
NEWTON_STEPS = 10
"""Steps of Newton's method a trial; from a state 8 mm away it needs three or four."""
SHORTEST_STRIDE = 1e-9
"""Where the links lock, steps are halved down to this share of the way to the next state."""


@dataclass(frozen=True)
class UprightMotion:
    """Poses of the left upright at K side states, with batch axes (W) of the wheel and links in front.

    `centre` (*W, K, 3) [mm]; `rotation` (*W, K, 3, 3) from static; `rate` (*W, K, 6, 2): its twist (velocity of the
    wheel centre [mm/mm], angular velocity [rad/mm]) per mm of wheel travel and of rack; `locked` (*W, K): the links
    cannot reach this state, and the rest is NaN there; `reached` (*W, K): the share of the way from the state's seed
    that the links allow (1 where not locked, NaN beyond a locked seed). `curve` (*W, K, 6), where it is known already:
    change of the twist per mm of wheel travel (see `geometry.upright_curve`).
    """

    static_centre: Array
    centre: Array
    rotation: Array
    rate: Array
    locked: Flags
    reached: Array
    curve: Array | None = None

    def carry(self, point: Array) -> tuple[Array, Array]:
        """A point fixed to the upright, (..., 3) [mm] at static, through all states.

        Returns its position (..., K, 3) [mm] and its velocity (..., K, 3, 2) [mm/mm] per mm of wheel travel and rack.
        """
        lever = turn(self.rotation, (point - self.static_centre)[..., None, :])
        v, w = self.rate[..., :3, :], self.rate[..., 3:, :]
        velocity = np.stack([v[..., i] + cross(w[..., i], lever) for i in (0, 1)], axis=-1)
        return self.centre + lever, velocity


def trace_upright(wheel: Wheel, links: Mapping[str, Link], tree: SideTree) -> UprightMotion:
    """Follow the upright from static along a tree of side states.

    Batch axes of the wheel's centre and the links broadcast. Never raises: a state that the links cannot reach
    continuously from static is marked as locked.
    """
    linkage, shape = _linkage(wheel, links)
    poses = _Poses(linkage, len(tree))
    for generation in tree.seed_generations[1:]:
        poses.advance(generation, tree)
    k = len(tree)
    return UprightMotion(
        static_centre=wheel.centre,
        centre=poses.centre.reshape(*shape, k, 3),
        rotation=poses.rotation.reshape(*shape, k, 3, 3),
        rate=poses.rate.reshape(*shape, k, 6, 2),
        locked=(poses.reached != 1.0).reshape(*shape, k),
        reached=poses.reached.reshape(*shape, k),
    )


def walk_upright(
    wheel: Wheel, links: Mapping[str, Link], start: UprightMotion, travel: Array, target: Array
) -> UprightMotion:
    """The upright at wheel travels `target` (*S, K) [mm], rack 0, each reached from a pose of its own.

    `start` holds those poses, (*S, K) of them, at wheel travels `travel` (*S, K) [mm], rack 0. What cannot be reached
    from there, or starts locked, is locked.
    """
    linkage, own = _linkage(wheel, links)
    shape = target.shape
    sign = np.sign(_determinant(_static(linkage).jacobian))
    alive = np.flatnonzero(~np.broadcast_to(start.locked, shape).ravel() & np.isfinite(target).ravel())
    rows = np.broadcast_to(np.arange(len(sign)).reshape(*own, 1), shape).ravel()[alive]
    begin = np.stack([travel.ravel()[alive], np.zeros(len(alive))], axis=-1)
    step = np.stack([(target - travel).ravel()[alive], np.zeros(len(alive))], axis=-1)
    poses = (start.centre.reshape(-1, 3), start.rotation.reshape(-1, 3, 3), start.rate.reshape(-1, 6, 2))
    walk = _Walk(linkage.of(rows), sign[rows], begin, step, *(part[alive] for part in poses))
    walk.run()
    done = walk.reached == 1.0
    ends = [np.full((*shape, *part.shape[1:]), np.nan) for part in (*poses, travel.ravel())]
    for end, part in zip(ends, (walk.centre, walk.rotation, walk.rate, walk.reached), strict=True):
        end.reshape(target.size, *part.shape[1:])[alive[done]] = part[done]
    centre, turned, rate, reached = ends
    return UprightMotion(wheel.centre, centre, turned, rate, reached != 1.0, reached)


@dataclass(frozen=True)
class _Linkage:
    """The links of M axles: `inboard`, `lever` = x_i0 - p_0 (M, 5, 3), `length2` (M, 5), `follows_rack` (5,)."""

    inboard: Array
    lever: Array
    length2: Array
    follows_rack: Array
    centre: Array

    def of(self, rows: Indices) -> "_Linkage":
        return _Linkage(self.inboard[rows], self.lever[rows], self.length2[rows], self.follows_rack, self.centre[rows])


def _linkage(wheel: Wheel, links: Mapping[str, Link]) -> tuple[_Linkage, tuple[int, ...]]:
    parts = [wheel.centre, *(p for link in links.values() for p in (link.inboard, link.outboard))]
    shape = np.broadcast_shapes(*(part.shape[:-1] for part in parts))
    centre, *ends = (np.broadcast_to(part, (*shape, 3)).reshape(-1, 3) for part in parts)
    inboard, outboard = np.stack(ends[::2], axis=1), np.stack(ends[1::2], axis=1)
    follows = np.array([float(link.follows_rack) for link in links.values()])
    d = outboard - inboard
    return _Linkage(inboard, outboard - centre[:, None], dot(d, d), follows, centre), shape


@dataclass(frozen=True)
class _Closure:
    """A pose of M uprights, with the residual (M, 6) [mm^2, mm] of the six equations there and their Jacobian."""

    centre: Array
    rotation: Array
    residual: Array
    jacobian: Array


class _Poses:
    """Poses of N axles at K side states, filled in generation by generation."""

    def __init__(self, linkage: _Linkage, k: int) -> None:
        n = len(linkage.centre)
        self.linkage = linkage
        self.centre = np.full((n, k, 3), np.nan)
        self.rotation = np.full((n, k, 3, 3), np.nan)
        self.rate = np.full((n, k, 6, 2), np.nan)
        self.reached = np.full((n, k), np.nan)
        self.centre[:, 0] = linkage.centre
        self.rotation[:, 0] = np.eye(3)
        static = _static(linkage)
        self.sign = np.sign(_determinant(static.jacobian))
        self.rate[:, 0] = _rates(linkage, static)
        self.reached[:, 0] = np.where(self.sign != 0.0, 1.0, np.nan)

    def advance(self, generation: Indices, tree: SideTree) -> None:
        """Reach the states of one generation from their seeds, all axles at once."""
        n = len(self.linkage.centre)
        rows, nodes = (grid.ravel() for grid in np.meshgrid(np.arange(n), generation, indexing="ij"))
        alive = self.reached[rows, tree.seed[nodes]] == 1.0
        rows, nodes = rows[alive], nodes[alive]
        seeds = tree.seed[nodes]
        walk = _Walk(
            self.linkage.of(rows),
            self.sign[rows],
            start=tree.state[seeds],
            step=tree.state[nodes] - tree.state[seeds],
            centre=self.centre[rows, seeds],
            rotation=self.rotation[rows, seeds],
            rate=self.rate[rows, seeds],
        )
        walk.run()
        done = walk.reached == 1.0
        self.reached[rows, nodes] = walk.reached
        rows, nodes = rows[done], nodes[done]
        self.centre[rows, nodes] = walk.centre[done]
        self.rotation[rows, nodes] = walk.rotation[done]
        self.rate[rows, nodes] = walk.rate[done]


class _Walk:
    """M uprights on their way from one state to the next: whole steps first, halved where the links resist.

    A trial counts when Newton's method closes the links, on static's side of any lock (the Jacobian keeps its sign),
    and corrects the prediction by less than the prediction itself moved: it has not jumped to another assembly.
    """

    def __init__(
        self, linkage: _Linkage, sign: Array, start: Array, step: Array, centre: Array, rotation: Array, rate: Array
    ) -> None:
        self.linkage, self.sign, self.start, self.step = linkage, sign, start, step
        self.centre, self.rotation, self.rate = centre, rotation, rate
        self.reached = np.zeros(len(sign))

    def run(self) -> None:
        stride = np.ones_like(self.reached)
        active = np.arange(len(self.reached))
        with np.errstate(all="ignore"):
            while len(active):
                good = self._try(active, stride[active])
                stride[active[good]] *= 2.0
                stride[active[~good]] *= 0.5
                stride = np.minimum(stride, 1.0 - self.reached)
                active = active[(self.reached[active] < 1.0) & (stride[active] > SHORTEST_STRIDE)]

    def _try(self, rows: Indices, stride: Array) -> Flags:
        linkage, target = self.linkage.of(rows), self.reached[rows] + stride
        move = np.einsum("mij,mj->mi", self.rate[rows], self.step[rows] * stride[:, None])
        centre, turned = self.centre[rows] + move[:, :3], rotation(move[:, 3:]) @ self.rotation[rows]
        travel, rack = (self.start[rows] + self.step[rows] * target[:, None]).T
        end, closed = _close(linkage, travel, rack, centre, turned)
        rate = _rates(linkage, end)
        good = closed & (np.sign(_determinant(end.jacobian)) == self.sign[rows]) & np.isfinite(rate).all(axis=(1, 2))
        reach = norm(linkage.lever).max(axis=1)
        corrected = norm(end.centre - centre) + reach * np.linalg.norm(end.rotation - turned, axis=(1, 2))
        good &= corrected <= norm(move[:, :3]) + reach * norm(move[:, 3:]) + CLOSED
        kept = rows[good]
        self.centre[kept], self.rotation[kept], self.rate[kept] = end.centre[good], end.rotation[good], rate[good]
        self.reached[kept] = target[good]
        return np.asarray(good)


def _close(linkage: _Linkage, travel: Array, rack: Array, centre: Array, turned: Array) -> tuple[_Closure, Flags]:
    """Newton's method on the six equations from a guess of the pose: where it ends, and whether the links close."""
    shortest = np.sqrt(linkage.length2.min(axis=1))
    for _ in range(NEWTON_STEPS):
        closure = _equations(linkage, centre, turned, travel, rack)
        miss = np.abs(closure.residual)
        closed = (miss[:, :5].max(axis=1) < CLOSED * shortest) & (miss[:, 5] < CLOSED)
        if closed.all():
            break
        twist = -solve(closure.jacobian, closure.residual[..., None])[..., 0]
        centre = centre + twist[:, :3]
        turned = rotation(twist[:, 3:]) @ turned
    return closure, closed


def _equations(linkage: _Linkage, centre: Array, turned: Array, travel: Array, rack: Array) -> _Closure:
    lever = linkage.lever @ np.swapaxes(turned, 1, 2)
    d = centre[:, None] + lever - linkage.inboard
    d[..., 1] -= rack[:, None] * linkage.follows_rack
    residual = np.empty((len(centre), 6))
    residual[:, :5] = 0.5 * (dot(d, d) - linkage.length2)
    residual[:, 5] = centre[:, 2] - linkage.centre[:, 2] - travel
    jacobian = np.zeros((len(centre), 6, 6))
    jacobian[:, :5, :3] = d
    jacobian[:, :5, 3:] = cross(lever, d)
    jacobian[:, 5, 2] = 1.0
    return _Closure(centre, turned, residual, jacobian)


def _static(linkage: _Linkage) -> _Closure:
    m = len(linkage.centre)
    nothing = np.zeros(m)
    return _equations(linkage, linkage.centre, np.broadcast_to(np.eye(3), (m, 3, 3)), nothing, nothing)


def _rates(linkage: _Linkage, closure: _Closure) -> Array:
    """Twist per mm of wheel travel (v_z = 1) and per mm of rack (d_i . (v_i - e_y) = 0 on the rack's link)."""
    drive = np.zeros((len(closure.centre), 6, 2))
    drive[:, 5, 0] = 1.0
    drive[:, :5, 1] = closure.jacobian[:, :5, 1] * linkage.follows_rack
    return solve(closure.jacobian, drive)


def _determinant(matrix: Array) -> Array:
    return np.asarray(np.linalg.det(matrix))
