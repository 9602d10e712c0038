"""Where, among the states of an axle, bodies come nearest to one another: one compiled pass over a batch.

Bodies are capsules, boxes along the axes, and one cylinder, the wheel; their ends are points of the left side, or those
points mirrored. States are charts: lattices of pairs of left-side states. A part of a chart is not looked at where a
plane between two bodies, that part's nearest or the one before's, shows that they are no nearer anywhere in it than
somewhere else already (branch and bound: what is found is what looking at every state finds).

Between the states of a chart the distance is taken along the parabola through three of them, along both of the chart's
directions.

| symbol | meaning | unit |
|---|---|---|
| n, k, m | candidate, side state, point | |
| r | meeting: two bodies that may meet, of a group of such | |
| t | state of a chart: the side states `left`, `right`, and its place u, v | mm |
"""

import math

import numpy as np

from geometry.arrays import Array, Flags, Indices
from geometry.compiled import compiled
from geometry.gaps import SCRATCH, gap, most, no_nearer, share_of, spheres_apart
from geometry.meetings import Bodies, Charts, Points

STACK = 256
"""Parts of a chart that wait to be looked at, at most: far more than any chart leaves waiting."""
MOST_BENT = 1.5
"""A path is bent between three neighbours by no more than this times what they show."""
TIE = 1e-9
"""States that are no nearer than this to the nearest one found are as near [mm]."""


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
    _nearest(
        np.ascontiguousarray(points.cos),
        np.ascontiguousarray(points.sin),
        np.ascontiguousarray(points.levers),
        np.ascontiguousarray(points.still),
        np.ascontiguousarray(points.paths),
        charts.size,
        charts.left,
        charts.right,
        charts.place,
        charts.least,
        charts.most,
        charts.chain,
        charts.reach,
        bodies.parts,
        bodies.girth,
        bodies.meetings,
        bodies.cuts,
        offset,
        wanted,
        room,
        least,
        state,
        beside,
    )
    return least, state, beside


@compiled
def _nearest(
    cos: Array,
    sin: Array,
    levers: Array,
    still: Array,
    paths: Array,
    size: Indices,
    left: Indices,
    right: Indices,
    place: Array,
    lower: Indices,
    upper: Indices,
    chain: Indices,
    reach: Array,
    parts: Indices,
    girth: Array,
    meetings: Indices,
    cuts: Array,
    offset: Array,
    wanted: Flags,
    room: float,
    least: Array,
    state: Indices,
    beside: Array,
) -> None:
    count = len(levers) + len(still) + len(paths)
    bend, far, static, share = np.zeros(count), np.zeros(count), np.empty(len(meetings)), np.zeros((len(meetings), 4))
    here = np.empty((cos.shape[1], count, 3))
    ends, way, found = np.empty(SCRATCH), np.empty(3), np.empty(3)
    stack, span, known = np.empty((STACK, 4), dtype=np.intp), np.empty(4, dtype=np.intp), True
    for n in range(len(cos)):
        _turn(n, cos, sin, levers, still, here)
        if n == 0 or paths.shape[1] > 1:
            known = _follow(n, len(levers) + len(still), paths, chain, reach, here, bend, far)
        if not (_swing(n, cos, sin, levers, chain, reach, bend, far) and known):
            continue
        limit = _at_static(here, parts, girth, meetings, cuts, offset, wanted, room, ends, way, static, share, far)
        for g in range(len(offset)):
            least[n, g] = limit if wanted[g] else math.inf
        for r in range(len(meetings)):
            g = meetings[r, 2]
            if not wanted[g] or static[r] - offset[g] >= least[n, g]:
                continue
            found[0] = min(least[n, g], gap(here, 0, 0, parts, girth, meetings, r, share, ends, way) - offset[g] + TIE)
            for c in range(len(size)):
                if size[c, 3] == meetings[r, 3]:
                    at = _search(
                        here,
                        size,
                        c,
                        left,
                        right,
                        place,
                        lower,
                        upper,
                        parts,
                        girth,
                        meetings,
                        r,
                        share,
                        bend,
                        offset[g],
                        ends,
                        way,
                        stack,
                        span,
                        found,
                    )
                    if at >= 0:
                        _dip(
                            here,
                            size,
                            c,
                            at,
                            left,
                            right,
                            place,
                            parts,
                            girth,
                            meetings,
                            r,
                            share,
                            offset[g],
                            ends,
                            way,
                            found,
                        )
                        if found[0] < least[n, g]:
                            least[n, g], state[n, g] = found[0], at
                            beside[n, g, 0], beside[n, g, 1] = found[1], found[2]


@compiled
def _turn(n: int, cos: Array, sin: Array, levers: Array, still: Array, here: Array) -> None:
    """The points of the rocker at every side state, and those that stand still."""
    for m in range(len(levers)):
        own = n if levers.shape[1] > 1 else 0
        for k in range(len(here)):
            c, s = cos[n, k], sin[n, k]
            for i in range(3):
                here[k, m, i] = levers[m, own, i] + c * levers[m, own, 3 + i] + s * levers[m, own, 6 + i]
    for m in range(len(still) if n == 0 or still.shape[1] > 1 else 0):
        own = n if still.shape[1] > 1 else 0
        for k in range(len(here)):
            for i in range(3):
                here[k, len(levers) + m, i] = still[m, own, i]


@compiled
def _swing(
    n: int, cos: Array, sin: Array, levers: Array, chain: Indices, reach: Array, bend: Array, far: Array
) -> bool:
    """How far the rocker's points get from static, and how much their paths are bent; whether all are known.

    A point at a radius R about the axis: its path is bent by R (phi'^2 + abs(phi'')) at most.
    """
    lowest, fast, change, known = 1.0, 0.0, 0.0, True
    for k in range(cos.shape[1]):
        lowest = min(lowest, cos[n, k])
        known &= math.isfinite(cos[n, k])
    for e in range(len(chain)):
        a, b, c, p, q = chain[e, 0], chain[e, 1], chain[e, 2], reach[e, 0], reach[e, 1]
        first = (sin[n, b] * cos[n, a] - cos[n, b] * sin[n, a]) / p
        second = (sin[n, c] * cos[n, b] - cos[n, c] * sin[n, b]) / q
        fast = max(fast, abs(first), abs(second))
        change = max(change, 2.0 * abs(second - first) / (p + q))
    for m in range(len(levers)):
        own = n if levers.shape[1] > 1 else 0
        x, y, z = levers[m, own, 3], levers[m, own, 4], levers[m, own, 5]
        radius = math.sqrt(x * x + y * y + z * z)
        far[m] = radius * math.sqrt(2.0 * (1.0 - lowest))
        bend[m] = MOST_BENT * radius * (fast * fast + change)
    return known


@compiled
def _follow(
    n: int, first: int, paths: Array, chain: Indices, reach: Array, here: Array, bend: Array, far: Array
) -> bool:
    """The other points, from number `first` on: how far they get, how bent their paths are; whether all are known."""
    known = True
    for m in range(first, first + len(paths)):
        own = n if paths.shape[1] > 1 else 0
        most = furthest = 0.0
        for k in range(len(here)):
            square = 0.0
            for i in range(3):
                here[k, m, i] = paths[m - first, own, k, i]
                square += (here[k, m, i] - here[0, m, i]) ** 2
            known &= math.isfinite(square)
            furthest = max(furthest, square)
        for e in range(len(chain)):
            a, b, c, p, q = chain[e, 0], chain[e, 1], chain[e, 2], reach[e, 0], reach[e, 1]
            square = 0.0
            for i in range(3):
                change = (here[c, m, i] - here[b, m, i]) / q - (here[b, m, i] - here[a, m, i]) / p
                square += change * change
            most = max(most, 4.0 * square / ((p + q) * (p + q)))
        far[m], bend[m] = math.sqrt(furthest), MOST_BENT * math.sqrt(most)
    return known


@compiled
def _at_static(
    here: Array,
    parts: Indices,
    girth: Array,
    meetings: Indices,
    cuts: Array,
    offset: Array,
    wanted: Flags,
    room: float,
    ends: Array,
    way: Array,
    static: Array,
    share: Array,
    far: Array,
) -> float:
    """A clearance that each meeting does not fall below in any state, `static` (R,); returns the limit `room` sets."""
    limit = math.inf
    for r in range(len(meetings)):
        g, own, other = meetings[r, 2], meetings[r, 0], meetings[r, 1]
        if wanted[g]:
            static[r] = spheres_apart(here, parts, girth, own, other)
            share_of(here, parts, own, cuts[r, 0], cuts[r, 1], share, r, 0)
            share_of(here, parts, other, cuts[r, 2], cuts[r, 3], share, r, 2)
            if static[r] - offset[g] + room < limit:
                static[r] = gap(here, 0, 0, parts, girth, meetings, r, share, ends, way)
                limit = min(limit, static[r] - offset[g] + room)
            static[r] -= most(parts, girth, own, far) + most(parts, girth, other, far)
    return limit


@compiled
def _search(
    here: Array,
    size: Indices,
    c: int,
    left: Indices,
    right: Indices,
    place: Array,
    lower: Indices,
    upper: Indices,
    parts: Indices,
    girth: Array,
    meetings: Indices,
    r: int,
    share: Array,
    bend: Array,
    offset: float,
    ends: Array,
    way: Array,
    stack: Indices,
    span: Indices,
    found: Array,
) -> int:
    """The state of a chart that is nearest, and nearer than found[0], which it then is; -1 for none."""
    columns, first, at = size[c, 1], size[c, 2], -1
    stack[0, 0], stack[0, 1], stack[0, 2], stack[0, 3] = 0, size[c, 0] - 1, 0, columns - 1
    waiting = 1
    while waiting:
        waiting -= 1
        low, high, start, end = stack[waiting, 0], stack[waiting, 1], stack[waiting, 2], stack[waiting, 3]
        corner, opposite = first + low * columns + start, first + high * columns + end
        span[0], span[1] = lower[corner, 0], upper[opposite, 0]
        span[2], span[3] = lower[first + low * columns + end, 1], upper[first + high * columns + start, 1]
        long = place[opposite, 0] - place[corner, 0] + place[opposite, 1] - place[corner, 1]
        if no_nearer(here, span, long, parts, girth, meetings, r, share, bend, way) - offset >= found[0]:
            continue
        row, column = (low + high) // 2, (start + end) // 2
        t = first + row * columns + column
        if left[t] >= 0:
            away = gap(here, left[t], right[t], parts, girth, meetings, r, share, ends, way) - offset
            if away < found[0]:
                found[0], at = away, t
            if way[0] == 0.0 and way[1] == 0.0 and way[2] == 0.0:
                return at
        if low < high and (high - low) * (place[opposite, 0] - place[corner, 0]) >= 0.0:
            if row > low:
                _wait(stack, waiting, low, row - 1, start, end)
                waiting += 1
            _wait(stack, waiting, row + 1, high, start, end)
            waiting += 1
            if start < end:
                if column > start:
                    _wait(stack, waiting, row, row, start, column - 1)
                    waiting += 1
                _wait(stack, waiting, row, row, column + 1, end)
                waiting += 1
        elif start < end:
            if column > start:
                _wait(stack, waiting, row, row, start, column - 1)
                waiting += 1
            _wait(stack, waiting, row, row, column + 1, end)
            waiting += 1
    return at


@compiled
def _wait(stack: Indices, at: int, low: int, high: int, start: int, end: int) -> None:
    stack[at, 0], stack[at, 1], stack[at, 2], stack[at, 3] = low, high, start, end


@compiled
def _dip(
    here: Array,
    size: Indices,
    c: int,
    at: int,
    left: Indices,
    right: Indices,
    place: Array,
    parts: Indices,
    girth: Array,
    meetings: Indices,
    r: int,
    share: Array,
    offset: float,
    ends: Array,
    way: Array,
    found: Array,
) -> None:
    """Take from found[0] what the distance dips beside a state along both directions; found[1:] is where [mm]."""
    columns, first = size[c, 1], size[c, 2]
    row, column = (at - first) // columns, (at - first) % columns
    middle, found[1], found[2] = found[0], 0.0, 0.0
    for axis in range(2):
        step = columns if axis == 0 else 1
        spot, count = (row, size[c, 0]) if axis == 0 else (column, columns)
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
            g = gap(here, left[b], right[b], parts, girth, meetings, r, share, ends, way) - offset - middle
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
