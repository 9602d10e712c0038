"""Two bodies of an axle at one of its states: how far they are apart, and how near they can get elsewhere; compiled.

A body is five numbers: its kind, its first point and whether that is mirrored, its second point and likewise. `here`
(K, M, 3) holds the M points of the left side at K side states, state 0 static [mm]; see `geometry.nearest`. The ends of
two bodies at a state stand in a scratch of `SCRATCH` numbers: both ends of either, the way from one to the other, and
room for what `no_nearer` works with.
"""

import math

from geometry.arrays import Array, Indices
from geometry.clearance_compiled import apart, box_apart, wheel_apart, wheel_box_apart
from geometry.compiled import compiled
from geometry.meetings import BOX, CAPSULE, WHEEL

SCRATCH = 23


@compiled
def gap(
    here: Array, near: int, far: int, parts: Indices, girth: Array, meeting: Indices, share: Array, ends: Array
) -> float:
    """Clearance of two bodies at the state of which `near` is the left side and `far` the right one [mm].

    `share` (4,): what is left out of either body at its first and its second end. `ends[12:15]` becomes the way from
    the second body's axis to the first's, all 0 where they meet.
    """
    own, other = parts[meeting[0]], parts[meeting[1]]
    its = girth[meeting[1]]
    _put(here, near, far, own, share[0], share[1], ends[:6])
    _put(here, near, far, other, share[2], share[3], ends[6:12])
    e, way = ends, ends[12:15]
    if own[0] == WHEEL:
        wide = girth[meeting[0], 1]
        return wheel_box_apart(
            e[0], e[1], e[2], e[3], e[4], e[5], girth[meeting[0], 0], wide, e[6], e[7], e[8], e[9], e[10], e[11], way
        )
    if other[0] == WHEEL:
        away = wheel_apart(
            e[0], e[1], e[2], e[3], e[4], e[5], e[6], e[7], e[8], e[9], e[10], e[11], its[0], its[1], way
        )
    elif other[0] == BOX:
        away = box_apart(e[0], e[1], e[2], e[3], e[4], e[5], e[6], e[7], e[8], e[9], e[10], e[11], way)
    else:
        away = apart(e[0], e[1], e[2], e[3], e[4], e[5], e[6], e[7], e[8], e[9], e[10], e[11], way) - its[0]
    return float(away - girth[meeting[0], 0])


@compiled
def no_nearer(
    here: Array,
    span: Indices,
    long: float,
    parts: Indices,
    girth: Array,
    meeting: Indices,
    share: Array,
    bend: Array,
    ends: Array,
) -> float:
    """A clearance that two bodies do not fall below between side states, -inf where none can be told [mm].

    `span` (4,): the side states between which the left, then the right side is, `long` [mm] apart at most; `bend` (M,)
    [1/mm]: how much a point's path is bent at most. A plane across the way in `ends[12:15]` has one body before it and
    the other behind: no end is nearer to the other body's, along that way, than at one of both states, but for the
    bend, bend long^2 / 8.
    """
    x, y, z = ends[12], ends[13], ends[14]
    length = math.sqrt(x * x + y * y + z * z)
    if length == 0.0:
        return -math.inf
    x, y, z = x / length, y / length, z / length
    own, other = parts[meeting[0]], parts[meeting[1]]
    sag, behind, found = 0.125 * long * long, ends[SCRATCH - 8 :], math.inf
    ahead = ends[SCRATCH - 4 :]
    for i in range(2):
        if own[0] == WHEEL:
            behind[0] = behind[1] = -_rim(here, span, own, girth[meeting[0]], -x, -y, -z, sag, bend)
            own_side, own_sag = 2, 0.0
        else:
            own_side = _range(here, span, own, share[i], i, x, y, z, behind)
            own_sag = sag * (bend[own[1 + 2 * i]] if share[i] == 0.0 else max(bend[own[1]], bend[own[3]]))
        for j in range(2):
            if other[0] == CAPSULE:
                side = _range(here, span, other, share[2 + j], j, x, y, z, ahead)
                its_sag = sag * (bend[other[1 + 2 * j]] if share[2 + j] == 0.0 else max(bend[other[1]], bend[other[3]]))
            elif other[0] == BOX:
                low, high = here[0, other[1]], here[0, other[3]]
                out = x * (high[0] if x > 0.0 else low[0]) + y * (high[1] if y > 0.0 else low[1])
                ahead[0] = ahead[1] = out + z * (high[2] if z > 0.0 else low[2])
                side, its_sag = 2, 0.0
            else:
                ahead[0] = ahead[1] = _rim(here, span, other, girth[meeting[1]], x, y, z, sag, bend)
                side, its_sag = 2, 0.0
            if side == own_side and side < 2:
                least = min(behind[0] - ahead[0], behind[1] - ahead[1])
            else:
                least = min(behind[0], behind[1]) - max(ahead[0], ahead[1])
            found = min(found, least - own_sag - its_sag)
    thick = (girth[meeting[0], 0] if own[0] == CAPSULE else 0.0) + (
        girth[meeting[1], 0] if other[0] == CAPSULE else 0.0
    )
    return float(found - thick)


@compiled
def share_of(here: Array, part: Indices, first: float, second: float, share: Array) -> None:
    """The shares of a body that lengths [mm] cut off at its ends are at static; half of it at most where both are."""
    if first > 0.0 or second > 0.0:
        a, b = here[0, part[1]], here[0, part[3]]
        x, z = b[0] - a[0], b[2] - a[2]
        y = (-b[1] if part[4] else b[1]) - (-a[1] if part[2] else a[1])
        length = math.sqrt(x * x + y * y + z * z)
        most = 0.5 if first > 0.0 and second > 0.0 else 1.0
        share[0], share[1] = min(first / length, most), min(second / length, most)
    else:
        share[0] = share[1] = 0.0


@compiled
def _put(here: Array, near: int, far: int, part: Indices, first: float, second: float, out: Array) -> None:
    """Both ends of a body at a state, less what is cut off."""
    a, b = here[far if part[2] else near, part[1]], here[far if part[4] else near, part[3]]
    out[0], out[1], out[2] = a[0], -a[1] if part[2] else a[1], a[2]
    out[3], out[4], out[5] = b[0], -b[1] if part[4] else b[1], b[2]
    if first > 0.0 or second > 0.0:
        x, y, z = out[3] - out[0], out[4] - out[1], out[5] - out[2]
        out[0], out[1], out[2] = out[0] + first * x, out[1] + first * y, out[2] + first * z
        out[3], out[4], out[5] = out[3] - second * x, out[4] - second * y, out[5] - second * z


@compiled
def _range(
    here: Array, span: Indices, part: Indices, share: float, end: int, x: float, y: float, z: float, out: Array
) -> int:
    """How far along a direction an end of a capsule is at both states of its side; which side that is, 2 for both.

    Of an end that depends on both sides, the least and the most.
    """
    m, mirrored = part[1 + 2 * end], part[2 + 2 * end]
    out[0], out[1] = _along(here, span, m, mirrored, 0, x, y, z), _along(here, span, m, mirrored, 1, x, y, z)
    if share == 0.0:
        return int(mirrored)
    m, others = part[3 - 2 * end], part[4 - 2 * end]
    first, second = _along(here, span, m, others, 0, x, y, z), _along(here, span, m, others, 1, x, y, z)
    if others != mirrored:
        out[0], out[1] = min(out[0], out[1]), max(out[0], out[1])
        first, second = min(first, second), max(first, second)
    out[0], out[1] = out[0] + share * (first - out[0]), out[1] + share * (second - out[1])
    return int(mirrored) if others == mirrored else 2


@compiled
def _along(here: Array, span: Indices, m: int, mirrored: int, end: int, x: float, y: float, z: float) -> float:
    point = here[span[2 + end] if mirrored else span[end], m]
    return float(x * point[0] + (-y if mirrored else y) * point[1] + z * point[2])


@compiled
def _rim(
    here: Array, span: Indices, part: Indices, girth: Array, x: float, y: float, z: float, sag: float, bend: Array
) -> float:
    """How far along a direction the wheel reaches between side states."""
    found = -math.inf
    for end in range(2):
        tilt = _along(here, span, part[3], part[4], end, x, y, z)
        middle = _along(here, span, part[1], part[2], end, x, y, z)
        found = max(found, middle + girth[1] * abs(tilt) + girth[0] * math.sqrt(max(1.0 - tilt * tilt, 0.0)))
    return float(found + sag * (bend[part[1]] + 2.0 * bend[part[3]] * (girth[0] + girth[1])))
