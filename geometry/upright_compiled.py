"""How the left upright moves, compiled: for batches in which every candidate has links of its own.

The method, its constants and its rules of what counts as closed, locked or reached are those of `geometry.upright`,
which is this module's slow twin; here each candidate and each state is a loop over scalars, and no candidate depends on
the others of its batch. With NUMBA_DISABLE_JIT=1 these loops run as plain Python.

| symbol | meaning | array | unit |
|---|---|---|---|
| b, r | inboard point; lever of the outboard one from the wheel centre | links[:, 0:3], links[:, 3:6] | mm |
| L^2, f | length squared; 1 on the rack's link, else 0 | links[:, 6], links[:, 7] | mm^2, - |
| p, R | wheel centre, rotation from static | pose: p, then the rows of R | mm, - |
| v, w | a small twist | v_x, v_y, v_z, w_x, w_y, w_z | mm, rad |
| d | from inboard to outboard point | | mm |

The sixth equation, p_z = p_z0 + z, says what v_z is: what is left are five equations in v_x, v_y and w, whose matrix
has the determinant of all six but for its sign.
"""

import math
from collections.abc import Mapping

import numpy as np

from geometry.arrays import Array, Indices, dot
from geometry.axle import Link, Wheel
from geometry.compiled import compiled
from geometry.side import SideTree
from geometry.upright import CLOSED, NEWTON_STEPS, SHORTEST_STRIDE, UprightMotion

NEWTON, TRAVEL, RACK, ROW = 5, 6, 7, 8
"""Columns of the five equations behind their matrix: right sides of a Newton step and of the two rates; where the row
stood before it was swapped."""


def trace_upright_compiled(wheel: Wheel, links: Mapping[str, Link], tree: SideTree) -> UprightMotion:
    """Follow the upright from static along a tree of side states, as `geometry.upright.trace_upright` does.

    Batch axes of the wheel's centre and the links broadcast. Never raises: a state that the links cannot reach
    continuously from static is marked as locked.
    """
    static, columns, shape = _linkage(wheel, links)
    m, k = len(columns), len(tree)
    poses, rates, reached = (np.full((m, k, *tail), np.nan) for tail in ((4, 3), (6, 2), ()))
    _trace(columns, static, tree.state, tree.seed, poses, rates, reached)
    return UprightMotion(
        static_centre=wheel.centre,
        centre=poses[:, :, 0].reshape(*shape, k, 3),
        rotation=poses[:, :, 1:].reshape(*shape, k, 3, 3),
        rate=rates.reshape(*shape, k, 6, 2),
        locked=(reached != 1.0).reshape(*shape, k),
        reached=reached.reshape(*shape, k),
    )


def _linkage(wheel: Wheel, links: Mapping[str, Link]) -> tuple[Array, Array, tuple[int, ...]]:
    """Static wheel centres (M, 3), links (M, 5, 8) with the columns b, r, L^2, f, and the batch axes."""
    parts = [wheel.centre, *(p for link in links.values() for p in (link.inboard, link.outboard))]
    shape = np.broadcast_shapes(*(part.shape[:-1] for part in parts))
    centre, *ends = (np.broadcast_to(part, (*shape, 3)).reshape(-1, 3) for part in parts)
    inboard, outboard = np.stack(ends[::2], axis=1), np.stack(ends[1::2], axis=1)
    d = outboard - inboard
    columns = np.empty((len(centre), len(links), 8))
    columns[..., :3], columns[..., 3:6], columns[..., 6] = inboard, outboard - centre[:, None], dot(d, d)
    columns[..., 7] = [link.follows_rack for link in links.values()]
    return np.ascontiguousarray(centre), columns, shape


@compiled
def _trace(
    links: Array, static: Array, states: Array, seed: Indices, poses: Array, rates: Array, reached: Array
) -> None:
    """Fill `poses` (M, K, 4, 3), `rates` (M, K, 6, 2) and `reached` (M, K), which come as NaN."""
    pose, guess, trial = np.empty((4, 3)), np.empty((4, 3)), np.empty((4, 3))
    rate, system, way, ordered = np.empty((6, 2)), np.zeros((5, ROW + 1)), np.empty(4), np.empty((5, 8))
    for m in range(len(links)):
        nearest, farthest = _sizes(links[m])
        _order(links[m], static[m], pose, system, ordered)
        determinant = _begin(ordered, static[m], nearest, poses[m, 0], rates[m, 0], system)
        reached[m, 0] = math.nan if determinant == 0.0 else 1.0
        for k in range(1, len(seed)):
            s = seed[k]
            if reached[m, s] != 1.0:
                continue
            way[0], way[1] = static[m, 2] + states[s, 0], states[s, 1]
            way[2], way[3] = states[k, 0] - states[s, 0], states[k, 1] - states[s, 1]
            _copy(poses[m, s], pose)
            _copy(rates[m, s], rate)
            done = _walk(ordered, nearest, farthest, determinant, way, pose, rate, guess, trial, system)
            reached[m, k] = done
            if done == 1.0:
                _copy(pose, poses[m, k])
                _copy(rate, rates[m, k])


@compiled
def _sizes(links: Array) -> tuple[float, float]:
    """The length of the shortest link, and of the longest lever from the wheel centre [mm]."""
    shortest, longest = math.inf, 0.0
    for i in range(5):
        x, y, z = links[i, 3], links[i, 4], links[i, 5]
        shortest, longest = min(shortest, links[i, 6]), max(longest, x * x + y * y + z * z)
    return math.sqrt(shortest), math.sqrt(longest)


@compiled
def _order(links: Array, static: Array, pose: Array, system: Array, ordered: Array) -> None:
    """Write the links in the order of their pivots at static, so that there is little to swap at other states."""
    _stand(static, pose)
    _equations(links, 0.0, static[2], 0.0, pose, system)
    for i in range(5):
        system[i, ROW] = i
    _eliminate(system, TRAVEL, ROW)
    for i in range(5):
        for j in range(8):
            ordered[i, j] = links[int(system[i, ROW]), j]


@compiled
def _stand(static: Array, pose: Array) -> None:
    for j in range(3):
        pose[0, j] = static[j]
        for i in range(3):
            pose[1 + i, j] = 1.0 if i == j else 0.0


@compiled
def _begin(links: Array, static: Array, nearest: float, pose: Array, rate: Array, system: Array) -> float:
    """Pose and rates at static, and the determinant there: 0 where the links are locked at once."""
    _stand(static, pose)
    _equations(links, nearest, static[2], 0.0, pose, system)
    determinant = _eliminate(system, TRAVEL, ROW)
    _read_rates(system, rate)
    if determinant == 0.0:
        rate[:] = math.nan
    return determinant


@compiled
def _copy(source: Array, target: Array) -> None:
    for i in range(source.shape[0]):
        for j in range(source.shape[1]):
            target[i, j] = source[i, j]


@compiled
def _walk(
    links: Array,
    nearest: float,
    farthest: float,
    determinant: float,
    way: Array,
    pose: Array,
    rate: Array,
    guess: Array,
    trial: Array,
    system: Array,
) -> float:
    """Move `pose` and `rate` along a way (height and rack at its start, and their steps) as far as the links allow.

    Returns the share of the way. A trial counts by the rules of `geometry.upright`.
    """
    done, stride = 0.0, 1.0
    while done < 1.0 and stride > SHORTEST_STRIDE:
        target = done + stride
        travel, rack = way[2] * stride, way[3] * stride
        moved = _shift(
            pose,
            rate[0, 0] * travel + rate[0, 1] * rack,
            rate[1, 0] * travel + rate[1, 1] * rack,
            rate[2, 0] * travel + rate[2, 1] * rack,
            rate[3, 0] * travel + rate[3, 1] * rack,
            rate[4, 0] * travel + rate[4, 1] * rack,
            rate[5, 0] * travel + rate[5, 1] * rack,
            farthest,
            guess,
        )
        _copy(guess, trial)
        good = _close(links, nearest, way[0] + way[2] * target, way[1] + way[3] * target, trial, system)
        good = good and _eliminate(system, TRAVEL, ROW) * determinant > 0.0
        good = good and _corrected(guess, trial, farthest) <= moved + CLOSED and _are_finite(system)
        if good:
            _copy(trial, pose)
            _read_rates(system, rate)
            done = target
        stride = min(2.0 * stride if good else 0.5 * stride, 1.0 - done)
    return done


@compiled
def _close(links: Array, nearest: float, height: float, rack: float, trial: Array, system: Array) -> bool:
    """Newton's method on `trial`: whether the links close, with the equations where it ends in `system`."""
    for _ in range(NEWTON_STEPS):
        if _equations(links, nearest, height, rack, trial, system):
            return True
        if _eliminate(system, NEWTON, NEWTON + 1) == 0.0:
            return False
        x, y, z = system[0, NEWTON], system[1, NEWTON], height - trial[0, 2]
        _shift(trial, x, y, z, system[2, NEWTON], system[3, NEWTON], system[4, NEWTON], 0.0, trial)
    return False


@compiled
def _equations(links: Array, nearest: float, height: float, rack: float, pose: Array, system: Array) -> bool:
    """Write the five equations at a pose; whether they are closed there."""
    rise = height - pose[0, 2]
    closed = bool(abs(rise) < CLOSED)
    for i in range(5):
        a, b, c = links[i, 3], links[i, 4], links[i, 5]
        lx = pose[1, 0] * a + pose[1, 1] * b + pose[1, 2] * c
        ly = pose[2, 0] * a + pose[2, 1] * b + pose[2, 2] * c
        lz = pose[3, 0] * a + pose[3, 1] * b + pose[3, 2] * c
        x = pose[0, 0] + lx - links[i, 0]
        y = pose[0, 1] + ly - links[i, 1] - rack * links[i, 7]
        z = pose[0, 2] + lz - links[i, 2]
        miss = 0.5 * (x * x + y * y + z * z - links[i, 6])
        closed = closed and bool(abs(miss) < CLOSED * nearest)
        system[i, 0], system[i, 1] = x, y
        system[i, 2], system[i, 3], system[i, 4] = ly * z - lz * y, lz * x - lx * z, lx * y - ly * x
        system[i, NEWTON] = -miss - z * rise
        system[i, TRAVEL], system[i, RACK] = -z, y * links[i, 7]
    return closed


@compiled
def _eliminate(system: Array, first: int, last: int) -> float:
    """Gaussian elimination with partial pivoting: the right sides from `first` up to `last` become solutions.

    Returns the determinant; where it is 0, what the columns hold means nothing.
    """
    determinant = 1.0
    for i in range(5):
        p, largest = i, abs(system[i, i])
        for r in range(i + 1, 5):
            if abs(system[r, i]) > largest:
                p, largest = r, abs(system[r, i])
        if p != i:
            determinant = -determinant
            for c in range(ROW + 1):
                system[i, c], system[p, c] = system[p, c], system[i, c]
        determinant *= system[i, i]
        if determinant == 0.0:
            return 0.0
        inverse = 1.0 / system[i, i]
        for r in range(i + 1, 5):
            factor = system[r, i] * inverse
            for c in range(ROW):  # whole rows: faster than the part that matters
                system[r, c] -= factor * system[i, c]
        system[i, i] = inverse
    for c in range(first, last):
        for i in range(4, -1, -1):
            value = system[i, c]
            for r in range(i + 1, 5):
                value -= system[i, r] * system[r, c]
            system[i, c] = value * system[i, i]
    return determinant


@compiled
def _read_rates(system: Array, rate: Array) -> None:
    """Twists per mm of wheel travel (v_z = 1) and of rack (v_z = 0) from the solved equations."""
    for j in range(2):
        rate[0, j], rate[1, j], rate[2, j] = system[0, TRAVEL + j], system[1, TRAVEL + j], 1.0 - j
        rate[3, j], rate[4, j], rate[5, j] = system[2, TRAVEL + j], system[3, TRAVEL + j], system[4, TRAVEL + j]


@compiled
def _are_finite(system: Array) -> bool:
    finite = True
    for i in range(5):
        finite = finite and math.isfinite(system[i, TRAVEL]) and math.isfinite(system[i, RACK])
    return finite


@compiled
def _corrected(guess: Array, trial: Array, farthest: float) -> float:
    """How far a pose lies from its guess [mm]; `farthest` makes a length of how far it has turned."""
    moved, turned = 0.0, 0.0
    for j in range(3):
        moved += (trial[0, j] - guess[0, j]) ** 2
        for i in range(1, 4):
            turned += (trial[i, j] - guess[i, j]) ** 2
    return math.sqrt(moved) + farthest * math.sqrt(turned)


@compiled
def _shift(
    pose: Array, x: float, y: float, z: float, a: float, b: float, c: float, farthest: float, shifted: Array
) -> float:
    """A pose moved by (x, y, z) [mm] and turned by (a, b, c) [rad], as in `geometry.arrays.rotation`; how far [mm]."""
    square = a * a + b * b + c * c
    angle = math.sqrt(square)
    if angle < 1e-4:
        first, second = 1.0 - square / 6.0, 0.5 - square / 24.0
    else:
        first, second = math.sin(angle) / angle, (1.0 - math.cos(angle)) / square
    shifted[0, 0], shifted[0, 1], shifted[0, 2] = pose[0, 0] + x, pose[0, 1] + y, pose[0, 2] + z
    for j in range(3):
        u, v, w = pose[1, j], pose[2, j], pose[3, j]
        along, cosine = second * (a * u + b * v + c * w), 1.0 - second * square
        shifted[1, j] = cosine * u + first * (b * w - c * v) + along * a
        shifted[2, j] = cosine * v + first * (c * u - a * w) + along * b
        shifted[3, j] = cosine * w + first * (a * v - b * u) + along * c
    return math.sqrt(x * x + y * y + z * z) + farthest * angle
