"""Two bodies of an axle at one of its states: how far they are apart, and how near they can get elsewhere; compiled.

A body is five numbers: its kind, its first point and whether that is mirrored, its second point and likewise. `here`
(K, M, 3) holds the M points of the left side at K side states, state 0 static [mm]; see `geometry.nearest`. Bodies are
named by their numbers and never cut out of their tables: an array of its own takes longer than all the arithmetic.
"""

import math

from geometry.arrays import Array, Indices
from geometry.clearance_compiled import apart, box_apart, wheel_apart, wheel_box_apart
from geometry.compiled import compiled
from geometry.meetings import BOX, CAPSULE, WHEEL

SCRATCH = 12
"""Numbers of a scratch that holds both ends of two bodies."""


@compiled
def gap(
    here: Array,
    near: int,
    far: int,
    parts: Indices,
    girth: Array,
    meetings: Indices,
    r: int,
    share: Array,
    ends: Array,
    way: Array,
) -> float:
    """Clearance of the two bodies of meeting `r` at the state of which `near` is the left side, `far` the right [mm].

    `share` (R, 4): what is left out of either body at its first and its second end. `way` (3,) becomes the way from
    the second body's axis to the first's, all 0 where they meet.
    """
    own, other, e = meetings[r, 0], meetings[r, 1], ends
    _put(here, near, far, parts, own, share[r, 0], share[r, 1], ends, 0)
    _put(here, near, far, parts, other, share[r, 2], share[r, 3], ends, 6)
    radius, its = girth[own, 0], girth[other, 0]
    if parts[own, 0] == WHEEL:
        half = girth[own, 1]
        return wheel_box_apart(
            e[0], e[1], e[2], e[3], e[4], e[5], radius, half, e[6], e[7], e[8], e[9], e[10], e[11], way
        )
    if parts[other, 0] == WHEEL:
        half = girth[other, 1]
        away = wheel_apart(e[0], e[1], e[2], e[3], e[4], e[5], e[6], e[7], e[8], e[9], e[10], e[11], its, half, way)
    elif parts[other, 0] == BOX:
        away = box_apart(e[0], e[1], e[2], e[3], e[4], e[5], e[6], e[7], e[8], e[9], e[10], e[11], way)
    else:
        away = apart(e[0], e[1], e[2], e[3], e[4], e[5], e[6], e[7], e[8], e[9], e[10], e[11], way) - its
    return float(away - radius)


@compiled
def no_nearer(
    here: Array,
    span: Indices,
    long: float,
    parts: Indices,
    girth: Array,
    meetings: Indices,
    r: int,
    share: Array,
    bend: Array,
    way: Array,
) -> float:
    """A clearance that two bodies do not fall below between side states, -inf where none can be told [mm].

    `span` (4,): the side states between which the left, then the right side is, `long` [mm] apart at most; `bend` (M,)
    [1/mm]: how much a point's path is bent at most. A plane across `way` has one body before it and the other behind:
    no end is nearer to the other body's, along that way, than at one of both states, but for the bend, bend long^2 / 8.
    """
    length = math.sqrt(way[0] * way[0] + way[1] * way[1] + way[2] * way[2])
    if length == 0.0:
        return -math.inf
    x, y, z = way[0] / length, way[1] / length, way[2] / length
    own, other, sag, found = meetings[r, 0], meetings[r, 1], 0.125 * long * long, math.inf
    for i in range(2):
        if parts[own, 0] == WHEEL:
            a0 = a1 = -_rim(here, span, parts, girth, own, -x, -y, -z, sag, bend)
            side = 2
        else:
            a0, a1, side = _range(here, span, parts, own, share[r, i], i, x, y, z)
            out = sag * _bent(parts, own, share[r, i], i, bend)
            a0, a1 = a0 - out, a1 - out
        for j in range(2):
            if parts[other, 0] == CAPSULE:
                b0, b1, its = _range(here, span, parts, other, share[r, 2 + j], j, x, y, z)
                out = sag * _bent(parts, other, share[r, 2 + j], j, bend)
                b0, b1 = b0 + out, b1 + out
            elif parts[other, 0] == BOX:
                low, high = parts[other, 1], parts[other, 3]
                b0 = x * here[0, high if x > 0.0 else low, 0] + y * here[0, high if y > 0.0 else low, 1]
                b1 = b0 = b0 + z * here[0, high if z > 0.0 else low, 2]
                its = 3
            else:
                b0 = b1 = _rim(here, span, parts, girth, other, x, y, z, sag, bend)
                its = 3
            found = min(found, min(a0 - b0, a1 - b1) if side == its and side < 2 else min(a0, a1) - max(b0, b1))
    thick = girth[own, 0] if parts[own, 0] == CAPSULE else 0.0
    return float(found - thick - (girth[other, 0] if parts[other, 0] == CAPSULE else 0.0))


@compiled
def most(parts: Indices, girth: Array, p: int, far: Array) -> float:
    """How far a body gets at most from where it is at static, of points that get `far` (M,) [mm]."""
    if parts[p, 0] == WHEEL:
        return float(far[parts[p, 1]] + far[parts[p, 3]] * (girth[p, 0] + girth[p, 1]))
    return float(max(far[parts[p, 1]], far[parts[p, 3]]))


@compiled
def spheres_apart(here: Array, parts: Indices, girth: Array, own: int, other: int) -> float:
    """Distance at static of spheres about two bodies [mm]."""
    x, y, z, radius = _sphere(here, parts, girth, own)
    u, v, w, its = _sphere(here, parts, girth, other)
    return math.sqrt((x - u) ** 2 + (y - v) ** 2 + (z - w) ** 2) - radius - its


@compiled
def _sphere(here: Array, parts: Indices, girth: Array, p: int) -> tuple[float, float, float, float]:
    a, b = parts[p, 1], parts[p, 3]
    x, y, z = here[0, a, 0], (-1.0 if parts[p, 2] else 1.0) * here[0, a, 1], here[0, a, 2]
    if parts[p, 0] == WHEEL:
        return x, y, z, math.hypot(girth[p, 0], girth[p, 1])
    u, v, w = here[0, b, 0], (-1.0 if parts[p, 4] else 1.0) * here[0, b, 1], here[0, b, 2]
    length = math.sqrt((x - u) ** 2 + (y - v) ** 2 + (z - w) ** 2)
    return 0.5 * (x + u), 0.5 * (y + v), 0.5 * (z + w), 0.5 * length + girth[p, 0]


@compiled
def share_of(here: Array, parts: Indices, p: int, first: float, second: float, share: Array, r: int, at: int) -> None:
    """The shares of a body that lengths [mm] cut off at its ends are at static; half of it at most where both are."""
    share[r, at] = share[r, at + 1] = 0.0
    if first > 0.0 or second > 0.0:
        a, b = parts[p, 1], parts[p, 3]
        x, z = here[0, b, 0] - here[0, a, 0], here[0, b, 2] - here[0, a, 2]
        y = (-1.0 if parts[p, 4] else 1.0) * here[0, b, 1] - (-1.0 if parts[p, 2] else 1.0) * here[0, a, 1]
        length = math.sqrt(x * x + y * y + z * z)
        most = 0.5 if first > 0.0 and second > 0.0 else 1.0
        share[r, at], share[r, at + 1] = min(first / length, most), min(second / length, most)


@compiled
def _put(
    here: Array, near: int, far: int, parts: Indices, p: int, first: float, second: float, out: Array, at: int
) -> None:
    """Both ends of a body at a state, less what is cut off."""
    a, b = parts[p, 1], parts[p, 3]
    k, kk = far if parts[p, 2] else near, far if parts[p, 4] else near
    px, py, pz = here[k, a, 0], (-1.0 if parts[p, 2] else 1.0) * here[k, a, 1], here[k, a, 2]
    qx, qy, qz = here[kk, b, 0], (-1.0 if parts[p, 4] else 1.0) * here[kk, b, 1], here[kk, b, 2]
    x, y, z = qx - px, qy - py, qz - pz
    if first == 0.0 and second == 0.0:
        x = y = z = 0.0
    out[at], out[at + 1], out[at + 2] = px + first * x, py + first * y, pz + first * z
    out[at + 3], out[at + 4], out[at + 5] = qx - second * x, qy - second * y, qz - second * z


@compiled
def _range(
    here: Array, span: Indices, parts: Indices, p: int, share: float, end: int, x: float, y: float, z: float
) -> tuple[float, float, int]:
    """How far along a direction an end of a capsule is at both states of its side; which side that is, 2 for both.

    Of an end that depends on both sides, the least and the most.
    """
    mirrored, others = parts[p, 2 + 2 * end], parts[p, 4 - 2 * end]
    low = _along(here, span, parts[p, 1 + 2 * end], mirrored, 0, x, y, z)
    high = _along(here, span, parts[p, 1 + 2 * end], mirrored, 1, x, y, z)
    if share == 0.0:
        return low, high, mirrored
    first = _along(here, span, parts[p, 3 - 2 * end], others, 0, x, y, z)
    second = _along(here, span, parts[p, 3 - 2 * end], others, 1, x, y, z)
    if others != mirrored:
        low, high = min(low, high), max(low, high)
        first, second = min(first, second), max(first, second)
    return low + share * (first - low), high + share * (second - high), mirrored if others == mirrored else 2


@compiled
def _bent(parts: Indices, p: int, share: float, end: int, bend: Array) -> float:
    """How much the path of a capsule's end is bent at most [1/mm]."""
    own, other = bend[parts[p, 1 + 2 * end]], bend[parts[p, 3 - 2 * end]]
    return float(own if share == 0.0 else max(own, other))


@compiled
def _along(here: Array, span: Indices, m: int, mirrored: int, end: int, x: float, y: float, z: float) -> float:
    k = span[2 + end] if mirrored else span[end]
    return float(x * here[k, m, 0] + (-y if mirrored else y) * here[k, m, 1] + z * here[k, m, 2])


@compiled
def _rim(
    here: Array,
    span: Indices,
    parts: Indices,
    girth: Array,
    p: int,
    x: float,
    y: float,
    z: float,
    sag: float,
    bend: Array,
) -> float:
    """How far along a direction the wheel reaches between side states."""
    found, radius, half = -math.inf, girth[p, 0], girth[p, 1]
    for end in range(2):
        tilt = _along(here, span, parts[p, 3], parts[p, 4], end, x, y, z)
        middle = _along(here, span, parts[p, 1], parts[p, 2], end, x, y, z)
        found = max(found, middle + half * abs(tilt) + radius * math.sqrt(max(1.0 - tilt * tilt, 0.0)))
    return float(found + sag * (bend[parts[p, 1]] + 2.0 * bend[parts[p, 3]] * (radius + half)))
