"""Where, among the states of an axle, bodies come nearest to one another: one compiled pass over a batch.

Bodies are capsules, boxes along the axes, and one cylinder, the wheel; their ends are points of the left side, or those
points mirrored. States are charts: lattices of pairs of left-side states. Two bodies are looked at

1. not at all, where spheres about them, or their clearance at static, less how far their points get from there, say
   that they are nowhere near enough to matter;
2. at every few states of a chart, all at once (`geometry.looking`);
3. from each of these that is lower than those about it and not above what matters by more than `DEEPEST`, downhill from
   state to neighbouring state, and from the lowest one along the parabola through three of them, along both of the
   chart's directions.

Bodies of which no point differs between candidates are looked at once a batch.

| symbol | meaning | unit |
|---|---|---|
| n, k, m | candidate, side state, point | |
| r, g | meeting: two bodies that may meet, of a group of such | |
| t | state of a chart: the side states `left`, `right`, and its place u, v | mm |
"""

import math
from typing import NamedTuple

import numpy as np

from geometry.arrays import Array, Flags, Indices
from geometry.compiled import compiled
from geometry.gaps import SCRATCH, gap, most, share_of
from geometry.looking import look_at_box, look_at_capsules, look_at_wheel
from geometry.meetings import BOX, WHEEL, Bodies, Charts, Points

DEEPEST = 2.0
"""No clearance between states of the first look is lower than the lowest about it by more than this [mm]."""
SHALLOWEST = 1.0
"""No parabola through states of a chart dips below them by more than this [mm]."""
ABOUT = 4
"""States of a first look no more rows and columns apart than this are about one another."""


class Scratch(NamedTuple):
    """Room to work in, of one candidate.

    `here` (K, M, 3): points at side states, those of the rocker at static alone; `spots` (M, 2, 2, 3, S): points at the
    states of the first look, for bodies of one side and of both, on the left and on the right [mm]. `far` (M,): how far
    a point gets from static; `ball` (P, 4): centre and radius of a sphere about a body at static, `reach` (P,) how far
    the body gets from there [mm]. `share` (R, 4): what is left out of the bodies of a meeting; `static` (R,): a
    clearance at static that theirs is not below [mm], `sure` (R,): whether it is theirs.
    """

    here: Array
    spots: Array
    far: Array
    ball: Array
    reach: Array
    share: Array
    static: Array
    sure: Flags
    seen: Array
    ends: Array
    way: Array
    found: Array


def nearest(
    points: Points, charts: Charts, bodies: Bodies, offset: Array, wanted: Flags, room: float
) -> tuple[Array, Indices, Array]:
    """Least clearance (N, G) [mm] less `offset` (G,) of each group of meetings, over all states.

    Where a point is NaN, so is all of that candidate. Groups that are not `wanted` (G,) are inf. A clearance less
    offset that is above the least one at static by more than `room` is given as so much; math.inf for no such limit.

    Returns also the state (N, G) where it was found, -1 where nowhere, and how far from it (N, G, 2) along the chart's
    two directions [mm].
    """
    shape = (len(points.cos), len(offset))
    least, state, beside = np.full(shape, np.nan), np.full(shape, -1, dtype=np.intp), np.zeros((*shape, 2))
    _nearest(points, charts, bodies, offset, wanted, room, _scratch(points, charts, bodies), least, state, beside)
    return least, state, beside


def _scratch(points: Points, charts: Charts, bodies: Bodies) -> Scratch:
    count, meetings, parts = len(points.own), len(bodies.meetings), len(bodies.parts)
    return Scratch(
        here=np.empty((points.cos.shape[1], count, 3)),
        spots=np.empty((count, 2, 2, 3, charts.rough.shape[1])),
        far=np.zeros(count),
        ball=np.empty((parts, 4)),
        reach=np.empty(parts),
        share=np.zeros((meetings, 4)),
        static=np.empty(meetings),
        sure=np.zeros(meetings, dtype=np.bool_),
        seen=np.empty(charts.rough.shape[1]),
        ends=np.empty(SCRATCH),
        way=np.empty(3),
        found=np.empty(3),
    )


@compiled
def _nearest(
    points: Points,
    charts: Charts,
    bodies: Bodies,
    offset: Array,
    wanted: Flags,
    room: float,
    scratch: Scratch,
    least: Array,
    state: Indices,
    beside: Array,
) -> None:
    own = _differ(points, bodies)
    alike, alike_state, alike_beside = (
        np.empty(len(offset)),
        np.empty(len(offset), dtype=np.intp),
        np.zeros((len(offset), 2)),
    )
    known, bound = True, math.inf
    for n in range(len(points.cos)):
        turns = math.isfinite(points.cos[n].sum())
        known = _place(n, points, charts, scratch) and (known or n > 0)
        if n == 0:
            _measure_out(points, bodies, scratch, True)
            bound = _at_static(n, points, charts, bodies, offset, wanted, room, scratch, own, False, math.inf)
            alike[:] = bound
            alike_state[:] = -1
            _look(n, points, charts, bodies, offset, wanted, scratch, own, False, alike, alike_state, alike_beside)
        if not (turns and known):
            continue
        _measure_out(points, bodies, scratch, False)
        limit = _at_static(n, points, charts, bodies, offset, wanted, room, scratch, own, True, bound)
        for g in range(len(offset)):
            least[n, g] = limit if wanted[g] else math.inf
            if wanted[g] and alike[g] < limit:
                least[n, g], state[n, g] = alike[g], alike_state[g]
                beside[n, g, 0], beside[n, g, 1] = alike_beside[g, 0], alike_beside[g, 1]
        _look(n, points, charts, bodies, offset, wanted, scratch, own, True, least[n], state[n], beside[n])


@compiled
def _differ(points: Points, bodies: Bodies) -> Flags:
    """Whether the bodies of a meeting differ between candidates (R,)."""
    found = np.empty(len(bodies.meetings), dtype=np.bool_)
    for r in range(len(found)):
        found[r] = False
        for side in range(2):
            p = bodies.meetings[r, side]
            found[r] |= points.own[bodies.parts[p, 1]] or points.own[bodies.parts[p, 3]]
    return found


@compiled
def _place(n: int, points: Points, charts: Charts, scratch: Scratch) -> bool:
    """Put the points where a candidate has them; whether all but the rocker's are known."""
    known, here, turning, standing = True, scratch.here, len(points.levers), len(points.levers) + len(points.still)
    lowest = points.cos[n].min()
    for m in range(len(points.own)):
        if n > 0 and not points.own[m]:
            continue
        if m < turning:
            lever = points.levers[m, n if points.levers.shape[1] > 1 else 0]
            scratch.far[m] = math.sqrt(2.0 * (1.0 - lowest) * (lever[3] ** 2 + lever[4] ** 2 + lever[5] ** 2))
            for i in range(3):
                here[0, m, i] = lever[i] + points.cos[n, 0] * lever[3 + i] + points.sin[n, 0] * lever[6 + i]
            _turn(points.cos[n], points.sin[n], lever, charts, scratch.spots[m])
        elif m < standing:
            still = points.still[m - turning, n if points.still.shape[1] > 1 else 0]
            for i in range(3):
                here[:, m, i] = still[i]
                scratch.spots[m, :, :, i] = still[i]
        else:
            path = points.paths[m - standing, n if points.paths.shape[1] > 1 else 0]
            furthest = 0.0
            for k in range(len(path)):
                square = 0.0
                for i in range(3):
                    here[k, m, i] = path[k, i]
                    square += (path[k, i] - path[0, i]) ** 2
                known &= math.isfinite(square)
                furthest = max(furthest, square)
            scratch.far[m] = math.sqrt(furthest)
            _follow(path, charts, scratch.spots[m])
        for kind in range(2 if m >= turning else 0):
            scratch.spots[m, kind, 1, 1] *= -1.0
    return known


@compiled
def _turn(cos: Array, sin: Array, lever: Array, charts: Charts, spots: Array) -> None:
    """A point of the rocker at the states of the first look."""
    for kind in range(2):
        for side in range(2):
            ends, mirror = (charts.right if side else charts.left), -1.0 if side else 1.0
            to = spots[kind, side]
            for j in range(charts.looks[kind]):
                k = ends[charts.rough[kind, j]]
                c, s = cos[k], sin[k]
                to[0, j] = lever[0] + c * lever[3] + s * lever[6]
                to[1, j] = mirror * (lever[1] + c * lever[4] + s * lever[7])
                to[2, j] = lever[2] + c * lever[5] + s * lever[8]


@compiled
def _follow(path: Array, charts: Charts, spots: Array) -> None:
    for kind in range(2):
        for side in range(2):
            for j in range(charts.looks[kind]):
                k = (charts.right if side else charts.left)[charts.rough[kind, j]]
                for i in range(3):
                    spots[kind, side, i, j] = path[k, i]


@compiled
def _measure_out(points: Points, bodies: Bodies, scratch: Scratch, every: bool) -> None:
    """Spheres about the bodies at static, and how far they get from there."""
    here, parts, girth = scratch.here, bodies.parts, bodies.girth
    for p in range(len(parts)):
        a, b = parts[p, 1], parts[p, 3]
        if not (every or points.own[a] or points.own[b]):
            continue
        scratch.reach[p] = most(parts, girth, p, scratch.far)
        x, y, z = here[0, a, 0], (-1.0 if parts[p, 2] else 1.0) * here[0, a, 1], here[0, a, 2]
        if parts[p, 0] == WHEEL:
            scratch.ball[p, 0], scratch.ball[p, 1], scratch.ball[p, 2] = x, y, z
            scratch.ball[p, 3] = math.hypot(girth[p, 0], girth[p, 1])
            continue
        u, v, w = here[0, b, 0], (-1.0 if parts[p, 4] else 1.0) * here[0, b, 1], here[0, b, 2]
        length = math.sqrt((x - u) ** 2 + (y - v) ** 2 + (z - w) ** 2)
        scratch.ball[p, 0], scratch.ball[p, 1], scratch.ball[p, 2] = 0.5 * (x + u), 0.5 * (y + v), 0.5 * (z + w)
        scratch.ball[p, 3] = 0.5 * length + girth[p, 0]


@compiled
def _at_static(
    n: int,
    points: Points,
    charts: Charts,
    bodies: Bodies,
    offset: Array,
    wanted: Flags,
    room: float,
    scratch: Scratch,
    own: Flags,
    moving: bool,
    limit: float,
) -> float:
    """What meetings are above at static, `static` (R,); returns the limit that `room` sets."""
    ball = scratch.ball
    for r in range(len(own)):
        if own[r] != moving or not wanted[bodies.meetings[r, 2]] or (charts.alike and bodies.again[r]):
            continue
        a, b, g = bodies.meetings[r, 0], bodies.meetings[r, 1], bodies.meetings[r, 2]
        x, y, z = ball[a, 0] - ball[b, 0], ball[a, 1] - ball[b, 1], ball[a, 2] - ball[b, 2]
        scratch.static[r] = math.sqrt(x * x + y * y + z * z) - ball[a, 3] - ball[b, 3]
        scratch.sure[r] = scratch.static[r] - offset[g] + room < limit
        if scratch.sure[r]:
            _cut(bodies, r, scratch)
            scratch.static[r] = gap(n, 0, 0, points, bodies, r, scratch.here, scratch.share, scratch.ends, scratch.way)
            limit = min(limit, scratch.static[r] - offset[g] + room)
    return limit


@compiled
def _cut(bodies: Bodies, r: int, scratch: Scratch) -> None:
    a, b, cuts = bodies.meetings[r, 0], bodies.meetings[r, 1], bodies.cuts
    share_of(scratch.here, bodies.parts, a, cuts[r, 0], cuts[r, 1], scratch.share, r, 0)
    share_of(scratch.here, bodies.parts, b, cuts[r, 2], cuts[r, 3], scratch.share, r, 2)


@compiled
def _look(
    n: int,
    points: Points,
    charts: Charts,
    bodies: Bodies,
    offset: Array,
    wanted: Flags,
    scratch: Scratch,
    own: Flags,
    moving: bool,
    least: Array,
    state: Indices,
    beside: Array,
) -> None:
    """Lower `least` (G,) to the least clearance of each group's meetings."""
    found = scratch.found
    for r in range(len(own)):
        g = bodies.meetings[r, 2]
        if own[r] != moving or not wanted[g] or (charts.alike and bodies.again[r]):
            continue
        reach = scratch.reach[bodies.meetings[r, 0]] + scratch.reach[bodies.meetings[r, 1]]
        if scratch.static[r] - reach - offset[g] >= least[g]:
            continue
        if not scratch.sure[r]:
            _cut(bodies, r, scratch)
            scratch.static[r] = gap(n, 0, 0, points, bodies, r, scratch.here, scratch.share, scratch.ends, scratch.way)
            if scratch.static[r] - reach - offset[g] >= least[g]:
                continue
        _first_look(bodies, r, charts, scratch)
        for c in range(len(charts.size)):
            if charts.size[c, 3] != bodies.meetings[r, 3]:
                continue
            at = _lowest(n, points, charts, bodies, c, r, least[g] + offset[g], scratch)
            if at >= 0:
                _dip(n, points, charts, bodies, c, at, r, scratch)
                if found[0] - offset[g] < least[g]:
                    least[g], state[g] = found[0] - offset[g], at
                    beside[g, 0], beside[g, 1] = found[1], found[2]


@compiled
def _lowest(
    n: int, points: Points, charts: Charts, bodies: Bodies, c: int, r: int, limit: float, scratch: Scratch
) -> int:
    """The lowest state of a chart, -1 where none is below `limit`, or hardly above; found[0] becomes its clearance."""
    best, place, seen, found = limit, -1, scratch.seen, scratch.found
    for j in range(charts.look[c, 0], charts.look[c, 1]):
        if seen[j] - DEEPEST < best and _is_lowest(j, c, charts, seen):
            at = _descend(n, points, charts, bodies, c, charts.rough[charts.size[c, 3], j], r, scratch)
            if found[0] - (SHALLOWEST if place < 0 else 0.0) < best:
                best, place = found[0], at
    found[0] = best
    return place


@compiled
def _first_look(bodies: Bodies, r: int, charts: Charts, scratch: Scratch) -> None:
    own, other, kind = bodies.meetings[r, 0], bodies.meetings[r, 1], bodies.meetings[r, 3]
    parts, girth, share, spots = bodies.parts, bodies.girth, scratch.share, scratch.spots
    p, q = spots[parts[own, 1], kind, parts[own, 2]], spots[parts[own, 3], kind, parts[own, 4]]
    u, v = spots[parts[other, 1], kind, parts[other, 2]], spots[parts[other, 3], kind, parts[other, 4]]
    out = scratch.seen[: charts.looks[kind]]
    if parts[own, 0] == WHEEL:
        for j in range(len(out)):
            out[j] = -math.inf
    elif parts[other, 0] == WHEEL:
        look_at_wheel(p, q, u, v, girth[own, 0], girth[other, 0], girth[other, 1], out)
    elif parts[other, 0] == BOX:
        look_at_box(p, q, u, v, girth[own, 0], out)
    else:
        radii = girth[own, 0] + girth[other, 0]
        look_at_capsules(p, q, u, v, share[r, 0], share[r, 1], share[r, 2], share[r, 3], radii, out)


@compiled
def _is_lowest(j: int, c: int, charts: Charts, seen: Array) -> bool:
    """Whether no state of the first look about this one is lower."""
    columns, first, kind = charts.size[c, 1], charts.size[c, 2], charts.size[c, 3]
    own = charts.rough[kind, j] - first
    row, column = own // columns, own % columns
    for i in range(charts.look[c, 0], charts.look[c, 1]):
        if seen[i] < seen[j]:
            other = charts.rough[kind, i] - first
            if abs(other // columns - row) <= ABOUT and abs(other % columns - column) <= ABOUT:
                return False
    return True


@compiled
def _descend(n: int, points: Points, charts: Charts, bodies: Bodies, c: int, at: int, r: int, scratch: Scratch) -> int:
    """The state of a chart from which no neighbour is lower, downhill from one; found[0] becomes the clearance."""
    rows, columns, first, found = charts.size[c, 0], charts.size[c, 1], charts.size[c, 2], scratch.found
    found[0] = gap(
        n, charts.left[at], charts.right[at], points, bodies, r, scratch.here, scratch.share, scratch.ends, scratch.way
    )
    moved = True
    while moved:
        moved = False
        row, column = (at - first) // columns, (at - first) % columns
        for i in range(max(row - 1, 0), min(row + 2, rows)):
            for j in range(max(column - 1, 0), min(column + 2, columns)):
                t = first + i * columns + j
                if charts.left[t] < 0 or (i == row and j == column):
                    continue
                away = gap(
                    n,
                    charts.left[t],
                    charts.right[t],
                    points,
                    bodies,
                    r,
                    scratch.here,
                    scratch.share,
                    scratch.ends,
                    scratch.way,
                )
                if away < found[0]:
                    found[0], at, moved = away, t, True
    return at


@compiled
def _dip(n: int, points: Points, charts: Charts, bodies: Bodies, c: int, at: int, r: int, scratch: Scratch) -> None:
    """Take from found[0] what the distance dips beside a state along both directions; found[1:] is where [mm]."""
    columns, first, left, right, place = charts.size[c, 1], charts.size[c, 2], charts.left, charts.right, charts.place
    found, way = scratch.found, scratch.way
    row, column = (at - first) // columns, (at - first) % columns
    middle, found[1], found[2] = found[0], 0.0, 0.0
    for axis in range(2):
        step = columns if axis == 0 else 1
        spot, count = (row, charts.size[c, 0]) if axis == 0 else (column, columns)
        below = spot > 0 and left[at - step] >= 0
        above = spot < count - 1 and left[at + step] >= 0
        if not below and not above:
            continue
        if not below and (spot + 2 >= count or left[at + 2 * step] < 0):
            continue
        if not above and (spot < 2 or left[at - 2 * step] < 0):
            continue
        one = -step if below else step
        other = 2 * one if below != above else step
        x = y = f = g = 0.0
        for b in (at, at + one, at + other):
            x, f, y = y, g, place[b, axis] - place[at, axis]
            g = gap(n, left[b], right[b], points, bodies, r, scratch.here, scratch.share, scratch.ends, way) - middle
            if b == at and way[0] == 0.0 and way[1] == 0.0 and way[2] == 0.0:
                return
        bend = (f / x - g / y) / (x - y)
        slope = f / x - bend * x
        if bend > 0.0:
            shift = -0.5 * slope / bend
            low = place[at - step, axis] - place[at, axis] if below else 0.0
            high = place[at + step, axis] - place[at, axis] if above else 0.0
            if low < shift < high:
                found[0] -= bend * shift * shift
                found[1 + axis] = shift
