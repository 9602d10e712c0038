"""Two bodies of an axle: how far they are apart at static, and at many states at once; compiled.

Bodies are named by their numbers and never cut out of their tables where one state is looked at: an array of its own
takes longer than all the arithmetic. See `geometry.nearest`.
"""

import math

import numpy as np

from geometry.arrays import Array, Indices
from geometry.clearance_compiled import apart, box_apart, wheel_apart, wheel_box_apart
from geometry.compiled import compiled
from geometry.looking import look_at_box, look_at_capsules, look_at_wheel, look_at_wheel_and_box
from geometry.meetings import BOX, CAPSULE, WHEEL, Bodies


@compiled
def gap(body: Array, parts: Indices, girth: Array, a: int, b: int, share: Array, r: int, way: Array) -> float:
    """Clearance of bodies `a` and `b` with the ends `body` (P, 6) [mm].

    `share` (R, 4): what is left out of either body of meeting `r` at its first and its second end. `way` (3,) is
    written over.
    """
    px, py, pz, qx, qy, qz = body[a, 0], body[a, 1], body[a, 2], body[a, 3], body[a, 4], body[a, 5]
    rx, ry, rz, sx, sy, sz = body[b, 0], body[b, 1], body[b, 2], body[b, 3], body[b, 4], body[b, 5]
    if parts[a, 0] == WHEEL:
        radius, half = girth[a, 0], girth[a, 1]
        return wheel_box_apart(px, py, pz, qx, qy, qz, radius, half, rx, ry, rz, sx, sy, sz, way)
    if parts[b, 0] == WHEEL:
        away = wheel_apart(px, py, pz, qx, qy, qz, rx, ry, rz, sx, sy, sz, girth[b, 0], girth[b, 1], way)
        return float(away - girth[a, 0])
    if parts[b, 0] == BOX:
        return float(box_apart(px, py, pz, qx, qy, qz, rx, ry, rz, sx, sy, sz, way) - girth[a, 0])
    x, y, z, u, v, w = qx - px, qy - py, qz - pz, sx - rx, sy - ry, sz - rz
    f, g, h, k = share[r, 0], share[r, 1], share[r, 2], share[r, 3]
    px, py, pz, qx, qy, qz = px + f * x, py + f * y, pz + f * z, qx - g * x, qy - g * y, qz - g * z
    rx, ry, rz, sx, sy, sz = rx + h * u, ry + h * v, rz + h * w, sx - k * u, sy - k * v, sz - k * w
    return float(apart(px, py, pz, qx, qy, qz, rx, ry, rz, sx, sy, sz, way) - girth[a, 0] - girth[b, 0])


@compiled
def share_of(body: Array, p: int, first: float, second: float, share: Array, r: int, at: int) -> None:
    """The shares of a body that lengths [mm] cut off at its ends are at static; half of it at most where both are."""
    share[r, at] = share[r, at + 1] = 0.0
    if first > 0.0 or second > 0.0:
        x, y, z = body[p, 3] - body[p, 0], body[p, 4] - body[p, 1], body[p, 5] - body[p, 2]
        length = math.sqrt(x * x + y * y + z * z)
        most = 0.5 if first > 0.0 and second > 0.0 else 1.0
        share[r, at], share[r, at + 1] = min(first / length, most), min(second / length, most)


@compiled
def sure_apart(bodies: Bodies, r: int, p: Array, q: Array, u: Array, v: Array, across: Array, count: int) -> float:
    """What no clearance of two capsules is below at `count` states, their ends as in `look_at`; -inf of other bodies.

    It is the gap between them along one direction, that of `across` (R, 3), which leads from one to the other at
    static.
    """
    own, other, parts, girth = bodies.meetings[r, 0], bodies.meetings[r, 1], bodies.parts, bodies.girth
    x, y, z = across[r, 0], across[r, 1], across[r, 2]
    length = math.sqrt(x * x + y * y + z * z)
    if parts[own, 0] != CAPSULE or parts[other, 0] != CAPSULE or length == 0.0:
        return -math.inf
    least = math.inf
    for i in range(count):
        first, second = x * p[0, i] + y * p[1, i] + z * p[2, i], x * q[0, i] + y * q[1, i] + z * q[2, i]
        its, last = x * u[0, i] + y * u[1, i] + z * u[2, i], x * v[0, i] + y * v[1, i] + z * v[2, i]
        least = min(least, min(first, second) - max(its, last))
    return float(least / length - girth[own, 0] - girth[other, 0])


@compiled
def look_at(bodies: Bodies, r: int, p: Array, q: Array, u: Array, v: Array, share: Array, out: Array) -> None:
    """Clearances `out` (S,) of the bodies of a meeting, one with its ends at p and q, the other at u and v (3, S)."""
    own, other, parts, girth = bodies.meetings[r, 0], bodies.meetings[r, 1], bodies.parts, bodies.girth
    if parts[own, 0] == WHEEL:
        look_at_wheel_and_box(p, q, u, v, girth[own, 0], girth[own, 1], np.empty(3), out)
    elif parts[other, 0] == WHEEL:
        look_at_wheel(p, q, u, v, girth[own, 0], girth[other, 0], girth[other, 1], out)
    elif parts[other, 0] == BOX:
        look_at_box(p, q, u, v, girth[own, 0], out)
    else:
        radii = girth[own, 0] + girth[other, 0]
        look_at_capsules(p, q, u, v, share[r, 0], share[r, 1], share[r, 2], share[r, 3], radii, out)
