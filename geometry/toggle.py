"""How far one wheel can travel beyond its range before the linkage toggles: rod and arm line up, or the links lock.

The rod's eye is carried along wheel travel at rack 0 from static to the end of the search. Between two neighbours its
path is read from the cubic through both positions and velocities (at the steps taken, within 1e-8 mm of the true
path), and the loop's reserve along that path is searched for its first zero by bisection.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from geometry.arrays import Array, Codes, Flags, Indices, Scalar, pick_states
from geometry.axle import Axle
from geometry.rocker import close_loop, lowest_of_cubic
from geometry.rod import carry_rod_eye
from geometry.side import SideTree, pair_up
from geometry.side_motion import SideMotion, trace_side
from geometry.status import Status, worst
from geometry.travel import Range, heave_states, travel_points
from geometry.upright import UprightMotion

SEARCHED = 100.0
"""Travel searched beyond either end of the wheel's range [mm]."""
STEP = 2.0
"""Distance of the states between which a toggle is looked for [mm]."""
DIVISIONS, PIECES = 2, 50
"""How often a step in which the links lock is divided, and into how many: to below 1e-3 mm."""
BISECTIONS = 48
"""Halvings of one step: to 1e-14 of it."""


@dataclass(frozen=True)
class ToggleMargin:
    """`margin` (*B) [mm], the smaller of both directions, `SEARCHED` where nothing was met (`beyond` (*B) says so).

    NaN where the linkage fails inside the wheel's range already: `status` (*B) then says how.
    """

    margin: Array
    beyond: Flags
    status: Codes


def toggle_margin(axle: Axle, trace: Callable[[SideTree], UprightMotion], wheel: Range) -> ToggleMargin:
    """Search both directions beyond `wheel`; `trace` gives the motion of the axle's upright along a tree.

    Where the links lock within a step, the loop may open before them in the same step: such steps are divided, twice,
    and searched again.
    """
    points = _coarse_points(wheel)
    for division in range(DIVISIONS + 1):
        tree = _chain(points)
        side = trace_side(axle, trace(tree), tree)
        rising, rising_locks = _reach(side, np.flatnonzero(tree.travel > wheel[1]))
        falling, falling_locks = _reach(side, np.flatnonzero(tree.travel < wheel[0]))
        if division == DIVISIONS or not (rising_locks | falling_locks):
            break
        points = _divided(points, rising_locks | falling_locks)
    inside = (tree.travel >= wheel[0]) & (tree.travel <= wheel[1])
    status = worst(side.status[..., inside])
    margin = np.minimum(np.minimum(rising - wheel[1], wheel[0] - falling), SEARCHED)
    return ToggleMargin(np.where(status == Status.OK, margin, np.nan), margin >= SEARCHED, status)


@lru_cache(maxsize=32)
def _coarse_points(wheel: Range) -> tuple[float, ...]:
    """Wheel travel to `SEARCHED` beyond either end, in steps."""
    low, high = wheel
    below, above = travel_points((low - SEARCHED, low), STEP), travel_points((high, high + SEARCHED), STEP)
    points: list[float] = np.concatenate([below[:-1], travel_points(wheel, STEP), above[1:]]).tolist()
    return tuple(points)


@lru_cache(maxsize=32)
def _chain(points: tuple[float, ...]) -> SideTree:
    return pair_up(heave_states(np.array(points)))[0]


def _divided(points: tuple[float, ...], locks: frozenset[tuple[float, float]]) -> tuple[float, ...]:
    """The points with each step of `locks` cut into `PIECES`."""
    inner = [begin + (end - begin) * piece / PIECES for begin, end in sorted(locks) for piece in range(1, PIECES)]
    return tuple(sorted({*points, *inner}))


def _reach(side: SideMotion, chain: Indices) -> tuple[Array, frozenset[tuple[float, float]]]:
    """How far a chain of states goes.

    Returns the wheel travel (*B) [mm] at which the first toggle lies, or the chain's last travel; and the steps within
    which the links of some candidate lock, each as the travel of its two ends.
    """
    tree, failed = side.tree, side.status[..., chain] != Status.OK
    if not failed.any():
        return np.full(side.batch, tree.travel[chain[-1]]), frozenset()
    node = chain[np.argmax(failed, axis=-1)]
    parent, seed = tree.parent[node], tree.seed[node]
    locked = failed.any(axis=-1) & (_at(side.status, node) == Status.WHEEL_LOCKED)
    share = np.where(locked, _at(side.upright.reached, node), _share_open(side, node, parent))
    origin = tree.travel[np.where(locked, seed, parent)]
    toggle = origin + share * (tree.travel[node] - origin)
    steps = {(float(tree.travel[tree.parent[one]]), float(tree.travel[one])) for one in set(node[locked].tolist())}
    return np.asarray(np.where(failed.any(axis=-1), toggle, tree.travel[chain[-1]])), frozenset(steps)


def _share_open(side: SideMotion, node: Indices, parent: Indices) -> Array:
    """Share (*B) of the way from `parent` to `node` (*B) at which the loop first opens, by bisection."""
    step = (side.tree.travel[node] - side.tree.travel[parent])[..., None]
    eye_rate = carry_rod_eye(side.axle, side.upright, side.tree)[1]
    begin, end = _at(side.eye, parent, 1), _at(side.eye, node, 1)
    begin_rate, end_rate = (step * _at(eye_rate[..., 0], index, 1) for index in (parent, node))

    def opens(share: Array) -> Flags:
        t = share[..., None]
        eye = (
            begin * (1.0 + 2.0 * t) * (1.0 - t) ** 2
            + begin_rate * t * (1.0 - t) ** 2
            + end * t**2 * (3.0 - 2.0 * t)
            + end_rate * t**2 * (t - 1.0)
        )
        return np.asarray(close_loop(eye[..., None, :], side.points).reserve[..., 0] < 0.0)

    closed, opened = np.zeros(node.shape), _share_lowest(side, node, parent)
    for _ in range(BISECTIONS):
        middle = 0.5 * (closed + opened)
        beyond = opens(middle)
        closed, opened = np.where(beyond, closed, middle), np.where(beyond, middle, opened)
    return opened


def _share_lowest(side: SideMotion, node: Indices, parent: Indices) -> Array:
    """1 where the loop is open at `node`; else the share at which its reserve is lowest on the way."""
    step = side.tree.travel[node] - side.tree.travel[parent]
    slope = side.closing.slope[..., 0]
    low, high = _at(side.closing.reserve, parent), _at(side.closing.reserve, node)
    begin, end = step * _at(slope, parent), step * _at(slope, node)
    dips = (high >= 0.0) & (begin < 0.0) & (end > 0.0)
    share, _ = lowest_of_cubic(low, high, np.where(dips, begin, -1.0), np.where(dips, end, 1.0))
    return np.where(dips, share, 1.0)


def _at(values: NDArray[Scalar], index: Indices, trailing: int = 0) -> NDArray[Scalar]:
    """values (*W, K, ...) at one state a candidate, `index` (*B): (*B, ...) with `trailing` axes behind K."""
    picked = pick_states(values, index[..., None], trailing)
    return picked.reshape((*index.shape, *picked.shape[index.ndim + 1 :]))
