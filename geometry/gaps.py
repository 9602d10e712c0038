"""Two bodies of an axle at one of its states: how far they are apart; compiled.

A body is five numbers: its kind, its first point and whether that is mirrored, its second point and likewise. `here`
(K, M, 3) holds the M points of the left side at K side states, state 0 static [mm], those of the rocker at static
alone; see `geometry.nearest`. Bodies are named by their numbers and never cut out of their tables: an array of its own
takes longer than all the arithmetic.
"""

import math

from geometry.arrays import Array, Indices
from geometry.clearance_compiled import apart, box_apart, wheel_apart, wheel_box_apart
from geometry.compiled import compiled
from geometry.meetings import BOX, WHEEL, Bodies, Points

SCRATCH = 12
"""Numbers of a scratch that holds both ends of two bodies."""


@compiled
def gap(
    n: int,
    near: int,
    far: int,
    points: Points,
    bodies: Bodies,
    r: int,
    here: Array,
    share: Array,
    ends: Array,
    way: Array,
) -> float:
    """Clearance of the two bodies of meeting `r` at the state of which `near` is the left side, `far` the right [mm].

    `share` (R, 4): what is left out of either body at its first and its second end. `way` (3,) becomes the way from
    the second body's axis to the first's, all 0 where they meet.
    """
    parts, girth = bodies.parts, bodies.girth
    own, other, e = bodies.meetings[r, 0], bodies.meetings[r, 1], ends
    _put(n, near, far, points, here, parts, own, share[r, 0], share[r, 1], ends, 0)
    _put(n, near, far, points, here, parts, other, share[r, 2], share[r, 3], ends, 6)
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
def most(parts: Indices, girth: Array, p: int, far: Array) -> float:
    """How far a body gets at most from where it is at static, of points that get `far` (M,) [mm]."""
    if parts[p, 0] == WHEEL:
        return float(far[parts[p, 1]] + far[parts[p, 3]] * (girth[p, 0] + girth[p, 1]))
    return float(max(far[parts[p, 1]], far[parts[p, 3]]))


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
    n: int,
    near: int,
    far: int,
    points: Points,
    here: Array,
    parts: Indices,
    p: int,
    first: float,
    second: float,
    out: Array,
    at: int,
) -> None:
    """Both ends of a body at a state, less what is cut off."""
    px, py, pz = _spot(n, far if parts[p, 2] else near, points, here, parts[p, 1])
    qx, qy, qz = _spot(n, far if parts[p, 4] else near, points, here, parts[p, 3])
    py, qy = -py if parts[p, 2] else py, -qy if parts[p, 4] else qy
    x, y, z = qx - px, qy - py, qz - pz
    if first == 0.0 and second == 0.0:
        x = y = z = 0.0
    out[at], out[at + 1], out[at + 2] = px + first * x, py + first * y, pz + first * z
    out[at + 3], out[at + 4], out[at + 5] = qx - second * x, qy - second * y, qz - second * z


@compiled
def _spot(n: int, k: int, points: Points, here: Array, m: int) -> tuple[float, float, float]:
    """A point of the left side at a side state."""
    if m >= len(points.levers):
        return here[k, m, 0], here[k, m, 1], here[k, m, 2]
    own, c, s, levers = n if points.levers.shape[1] > 1 else 0, points.cos[n, k], points.sin[n, k], points.levers
    return (
        levers[m, own, 0] + c * levers[m, own, 3] + s * levers[m, own, 6],
        levers[m, own, 1] + c * levers[m, own, 4] + s * levers[m, own, 7],
        levers[m, own, 2] + c * levers[m, own, 5] + s * levers[m, own, 8],
    )
