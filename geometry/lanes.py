"""The kernel of a search, compiled: the rocker's loop and the struts' lengths for candidates laid out in lanes.

A batch is cut into blocks of `LANES` candidates, and in every array a block's lanes stand innermost: the loop over
lanes does the same arithmetic on neighbouring numbers, which a compiler turns into vector instructions. Axles for this
kernel have the batch axes (blocks, LANES). The formulas are those of `geometry.rocker` and `geometry.kernel`, which are
this module's slow twin; with NUMBA_DISABLE_JIT=1 these loops run as plain Python.

| symbol | meaning | array | unit |
|---|---|---|---|
| b, k, q, i | block, side state, state of the axle, lane | | |
| d | eye - centre of the rod arm's circle | eye, centre | mm |
| A, B, C | coefficients of the loop equation A cos phi + B sin phi = C | | mm^2 |
| c, s | cosine and sine of phi, then of the turn from static | cos, sin | - |
| e | from the end of the rod arm to the eye | | mm |
| u, w | a lever at static and a x u | | mm |
"""

import math
from collections.abc import Mapping

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Link, Wheel
from geometry.compiled import compiled
from geometry.hardpoints import Hardpoints
from geometry.kernel import Closing, Kernel, Pull
from geometry.rocker import Lever, Loop, Turn, static_branch
from geometry.side import Pairs, SideTree
from geometry.upright import UprightMotion, trace_upright
from geometry.upright_compiled import trace_upright_compiled

LANES = 16
"""Candidates side by side in the innermost loop: four vectors of four numbers, enough to hide a division's latency."""


def in_lanes(rows: Array) -> Array:
    """Rows (N, V) as blocks of lanes (blocks, LANES, V); the last row is repeated to fill the last block."""
    blocks = -(-len(rows) // LANES)
    filled = np.concatenate([rows, np.repeat(rows[-1:], blocks * LANES - len(rows), axis=0)])
    return filled.reshape(blocks, LANES, *rows.shape[1:])


def out_of_lanes(values: Array, count: int) -> Array:
    """Values (blocks, LANES, ...) as (count, ...): the inverse of `in_lanes`."""
    return values.reshape(-1, *values.shape[2:])[:count]


def by_lane(values: Array, tail: int) -> Array:
    """(..., K, n) as (1 or blocks, K, n, LANES): one block serves all where the values have no batch axes."""
    own = values.ndim > tail and values.shape[0] != 1
    whole = np.broadcast_to(values, (values.shape[0] if own else 1, LANES, *values.shape[-tail:]))
    return np.ascontiguousarray(np.moveaxis(whole, 1, -1))


class _Lanes:
    """The compiled kernel, for batch axes (blocks, LANES)."""

    def trace(self, wheel: Wheel, links: Mapping[str, Link], tree: SideTree) -> UprightMotion:
        """Compiled where uprights have batch axes: one alone is not worth waiting for a compiler."""
        ends = [end for link in links.values() for end in (link.inboard, link.outboard)]
        many = any(point.ndim > 1 for point in (wheel.centre, *ends))
        return (trace_upright_compiled if many else trace_upright)(wheel, links, tree)

    def close(self, eye: Array, eye_rate: Array, points: Hardpoints) -> Closing:
        blocks = points.rod_length.shape[0]
        states = eye.shape[-2]
        rates = eye_rate.reshape(*eye_rate.shape[:-2], 6)
        cos, sin, reserve, arm, along = (np.empty((blocks, states, LANES)) for _ in range(5))
        rate, slope = (np.empty((2, blocks, states, LANES)) for _ in range(2))
        angle = np.broadcast_to(points.rod_arm.angle, (blocks, LANES))
        cos0, sin0 = np.cos(angle), np.sin(angle)
        offset = np.asarray(points.rod_arm.offset)[..., None]
        _close(
            by_lane(eye, 2),
            by_lane(rates, 2),
            _vectors(points.pivot + offset * points.axis, blocks),
            _vectors(points.e0, blocks),
            _vectors(points.e1, blocks),
            _numbers(points.rod_arm.length, blocks),
            cos0,
            sin0,
            _numbers(points.rod_length**2, blocks),
            _numbers(static_branch(points), blocks),
            cos,
            sin,
            rate,
            reserve,
            slope,
            arm,
            along,
        )
        loop = Loop(Turn(_state_last(cos), _state_last(sin)), *map(_state_last, (reserve, arm, along)))
        return Closing(loop, _pair_last(rate), _pair_last(slope))

    def pull(self, left: Lever, far: Lever | Array, closing: Closing, pairs: Pairs) -> Pull:
        blocks, states = closing.reserve.shape[0], len(pairs.left)
        length, by_angle, far_by_angle, by_left, by_right = (np.empty((blocks, states, LANES)) for _ in range(5))
        fixed = not isinstance(far, Lever)
        ends = far if isinstance(far, Lever) else Lever(far, np.zeros(3), np.zeros(3))
        _pull(
            pairs.left,
            pairs.right,
            -1.0 if not fixed else 1.0,
            _lane_second(closing.turn.cos),
            _lane_second(closing.turn.sin),
            _lane_second(closing.rate[..., 0]),
            _vectors(left.centre, blocks),
            _vectors(left.u, blocks),
            _vectors(left.w, blocks),
            _vectors(ends.centre, blocks),
            _vectors(ends.u, blocks),
            _vectors(ends.w, blocks),
            length,
            by_angle,
            far_by_angle,
            by_left,
            by_right,
        )
        return Pull(*(_state_last(part) for part in (length, by_angle, far_by_angle, by_left, by_right)))


KERNEL: Kernel = _Lanes()


@compiled
def _close(
    eye: Array,
    eye_rate: Array,
    centre: Array,
    e0: Array,
    e1: Array,
    radius: Array,
    cos0: Array,
    sin0: Array,
    rod2: Array,
    branch: Array,
    cos: Array,
    sin: Array,
    rate: Array,
    reserve: Array,
    slope: Array,
    arm: Array,
    along: Array,
) -> None:
    blocks, states, lanes = cos.shape
    for b in range(blocks):
        own = b if len(eye) > 1 else 0
        for k in range(states):
            for i in range(lanes):
                x0, y0, z0 = e0[b, 0, i], e0[b, 1, i], e0[b, 2, i]
                x1, y1, z1 = e1[b, 0, i], e1[b, 1, i], e1[b, 2, i]
                length = radius[b, i]
                dx = eye[own, k, 0, i] - centre[b, 0, i]
                dy = eye[own, k, 1, i] - centre[b, 1, i]
                dz = eye[own, k, 2, i] - centre[b, 2, i]
                level = 2.0 * length * (dx * x0 + dy * y0 + dz * z0)
                rise = 2.0 * length * (dx * x1 + dy * y1 + dz * z1)
                rest = dx * dx + dy * dy + dz * dz + length * length - rod2[b, i]
                square = level * level + rise * rise
                root = branch[b, i] * math.sqrt(square - rest * rest)
                c = (level * rest - rise * root) / square
                s = (rise * rest + level * root) / square
                reserve[b, k, i] = 1.0 - rest * rest / square
                cos[b, k, i] = c * cos0[b, i] + s * sin0[b, i]
                sin[b, k, i] = s * cos0[b, i] - c * sin0[b, i]
                arm[b, k, i] = -0.5 * root
                along[b, k, i] = 0.5 * rest - length * length
                ex = dx - length * (c * x0 + s * x1)
                ey = dy - length * (c * y0 + s * y1)
                ez = dz - length * (c * z0 + s * z1)
                for j in range(2):
                    vx, vy, vz = eye_rate[own, k, j, i], eye_rate[own, k, 2 + j, i], eye_rate[own, k, 4 + j, i]
                    rate[j, b, k, i] = -2.0 * (ex * vx + ey * vy + ez * vz) / root
                    level_rate = 2.0 * length * (vx * x0 + vy * y0 + vz * z0)
                    rise_rate = 2.0 * length * (vx * x1 + vy * y1 + vz * z1)
                    rest_rate = 2.0 * (dx * vx + dy * vy + dz * vz)
                    change = rest_rate * square - rest * (level * level_rate + rise * rise_rate)
                    slope[j, b, k, i] = -2.0 * rest * change / (square * square)


@compiled
def _pull(
    left: Indices,
    right: Indices,
    mirror: float,
    cos: Array,
    sin: Array,
    rate: Array,
    centre: Array,
    u: Array,
    w: Array,
    far_centre: Array,
    far_u: Array,
    far_w: Array,
    length: Array,
    by_angle: Array,
    far_by_angle: Array,
    by_left: Array,
    by_right: Array,
) -> None:
    blocks, states, lanes = length.shape
    for b in range(blocks):
        for q in range(states):
            near, far = left[q], right[q]
            for i in range(lanes):
                c, s = cos[b, near, i], sin[b, near, i]
                far_c, far_s = cos[b, far, i], sin[b, far, i]
                lx = far_centre[b, 0, i] + far_c * far_u[b, 0, i] + far_s * far_w[b, 0, i]
                ly = mirror * (far_centre[b, 1, i] + far_c * far_u[b, 1, i] + far_s * far_w[b, 1, i])
                lz = far_centre[b, 2, i] + far_c * far_u[b, 2, i] + far_s * far_w[b, 2, i]
                lx -= centre[b, 0, i] + c * u[b, 0, i] + s * w[b, 0, i]
                ly -= centre[b, 1, i] + c * u[b, 1, i] + s * w[b, 1, i]
                lz -= centre[b, 2, i] + c * u[b, 2, i] + s * w[b, 2, i]
                long = math.sqrt(lx * lx + ly * ly + lz * lz)
                gx = c * w[b, 0, i] - s * u[b, 0, i]
                gy = c * w[b, 1, i] - s * u[b, 1, i]
                gz = c * w[b, 2, i] - s * u[b, 2, i]
                far_gx = far_c * far_w[b, 0, i] - far_s * far_u[b, 0, i]
                far_gy = mirror * (far_c * far_w[b, 1, i] - far_s * far_u[b, 1, i])
                far_gz = far_c * far_w[b, 2, i] - far_s * far_u[b, 2, i]
                pull = (lx * gx + ly * gy + lz * gz) / long
                far_pull = -(lx * far_gx + ly * far_gy + lz * far_gz) / long
                length[b, q, i] = long
                by_angle[b, q, i] = pull
                far_by_angle[b, q, i] = far_pull
                by_left[b, q, i] = pull * rate[b, near, i]
                by_right[b, q, i] = far_pull * rate[b, far, i]


def _vectors(values: Array, blocks: int) -> Array:
    """(..., 3) as (blocks, 3, LANES), lanes innermost."""
    return np.ascontiguousarray(np.swapaxes(np.broadcast_to(values, (blocks, LANES, 3)), 1, 2))


def _numbers(values: Array, blocks: int) -> Array:
    return np.ascontiguousarray(np.broadcast_to(values, (blocks, LANES)))


def _state_last(values: Array) -> Array:
    """A view of (blocks, K, LANES) as (blocks, LANES, K)."""
    return np.swapaxes(values, 1, 2)


def _lane_second(values: Array) -> Array:
    """The inverse of `_state_last`."""
    return np.ascontiguousarray(np.swapaxes(values, 1, 2))


def _pair_last(values: Array) -> Array:
    """A view of (2, blocks, K, LANES) as (blocks, LANES, K, 2)."""
    return np.moveaxis(values, (0, 2), (3, 2))
