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
from geometry.gaps import SCRATCH, gap, no_nearer, share_of
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
    bend, static, share = np.zeros(count), np.empty(len(meetings)), np.empty((len(meetings), 4))
    here, ways = np.empty((cos.shape[1], count, 3)), np.empty((len(meetings), 3))
    ends, stack, span = np.empty(SCRATCH), np.empty((STACK, 4), dtype=np.intp), np.empty(4, dtype=np.intp)
    found, known = np.empty(3), True
    for n in range(len(cos)):
        _turn(n, cos[n], sin[n], levers, still, here)
        if n == 0 or paths.shape[1] > 1:
            known = _follow(n, len(levers) + len(still), paths, chain, reach, here, bend)
        if not (_bends(0, len(levers), here, chain, reach, bend) and known):
            continue
        limit = _at_static(here, parts, girth, meetings, cuts, offset, wanted, room, ends, static, share, ways)
        for g in range(len(offset)):
            least[n, g] = limit if wanted[g] else math.inf
        for r in range(len(meetings)):
            g = meetings[r, 2]
            if not wanted[g]:
                continue
            found[0] = min(least[n, g], static[r] - offset[g] + TIE)
            ends[12:15] = ways[r]
            for c in range(len(size)):
                if size[c, 3] == meetings[r, 3]:
                    at = _search(
                        here,
                        size[c],
                        left,
                        right,
                        place,
                        lower,
                        upper,
                        parts,
                        girth,
                        meetings[r],
                        share[r],
                        bend,
                        offset[g],
                        ends,
                        stack,
                        span,
                        found,
                    )
                    if at >= 0:
                        _dip(
                            here,
                            size[c],
                            at,
                            left,
                            right,
                            place,
                            parts,
                            girth,
                            meetings[r],
                            share[r],
                            offset[g],
                            ends,
                            found,
                        )
                        if found[0] < least[n, g]:
                            least[n, g], state[n, g] = found[0], at
                            beside[n, g, 0], beside[n, g, 1] = found[1], found[2]


@compiled
def _turn(n: int, cos: Array, sin: Array, levers: Array, still: Array, here: Array) -> None:
    """The points of the rocker at every side state, and those that stand still."""
    for m in range(len(levers)):
        lever = levers[m, n if levers.shape[1] > 1 else 0]
        for k in range(len(cos)):
            for i in range(3):
                here[k, m, i] = lever[i] + cos[k] * lever[3 + i] + sin[k] * lever[6 + i]
    for m in range(len(still) if n == 0 or still.shape[1] > 1 else 0):
        here[:, len(levers) + m] = still[m, n if still.shape[1] > 1 else 0]


@compiled
def _follow(n: int, first: int, paths: Array, chain: Indices, reach: Array, here: Array, bend: Array) -> bool:
    """The other points, from number `first` on; whether all are known."""
    for m in range(len(paths)):
        here[:, first + m] = paths[m, n if paths.shape[1] > 1 else 0]
    return _bends(first, first + len(paths), here, chain, reach, bend)


@compiled
def _bends(first: int, last: int, here: Array, chain: Indices, reach: Array, bend: Array) -> bool:
    """How much the path of each of some points is bent at most; whether all are known."""
    known = True
    for m in range(first, last):
        most = 0.0
        for k in range(len(here)):
            known &= math.isfinite(here[k, m, 0])
        for e in range(len(chain)):
            a, b, c, p, q = chain[e, 0], chain[e, 1], chain[e, 2], reach[e, 0], reach[e, 1]
            square = 0.0
            for i in range(3):
                change = (here[c, m, i] - here[b, m, i]) / q - (here[b, m, i] - here[a, m, i]) / p
                square += change * change
            most = max(most, 4.0 * square / ((p + q) * (p + q)))
        bend[m] = MOST_BENT * math.sqrt(most)
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
    static: Array,
    share: Array,
    ways: Array,
) -> float:
    """The clearance and the way between both bodies of every meeting at static; returns the limit that `room` sets."""
    limit = math.inf
    for r in range(len(meetings)):
        if wanted[meetings[r, 2]]:
            share_of(here, parts[meetings[r, 0]], cuts[r, 0], cuts[r, 1], share[r, :2])
            share_of(here, parts[meetings[r, 1]], cuts[r, 2], cuts[r, 3], share[r, 2:])
            static[r] = gap(here, 0, 0, parts, girth, meetings[r], share[r], ends)
            ways[r] = ends[12:15]
            limit = min(limit, static[r] - offset[meetings[r, 2]] + room)
    return limit


@compiled
def _search(
    here: Array,
    chart: Indices,
    left: Indices,
    right: Indices,
    place: Array,
    lower: Indices,
    upper: Indices,
    parts: Indices,
    girth: Array,
    meeting: Indices,
    share: Array,
    bend: Array,
    offset: float,
    ends: Array,
    stack: Indices,
    span: Indices,
    found: Array,
) -> int:
    """The state of a chart that is nearest, and nearer than found[0], which it then is; -1 for none."""
    columns, first, at = chart[1], chart[2], -1
    stack[0, 0], stack[0, 1], stack[0, 2], stack[0, 3] = 0, chart[0] - 1, 0, columns - 1
    waiting = 1
    while waiting:
        waiting -= 1
        low, high, start, end = stack[waiting, 0], stack[waiting, 1], stack[waiting, 2], stack[waiting, 3]
        corner, opposite = first + low * columns + start, first + high * columns + end
        span[0], span[1] = lower[corner, 0], upper[opposite, 0]
        span[2], span[3] = lower[first + low * columns + end, 1], upper[first + high * columns + start, 1]
        long = place[opposite, 0] - place[corner, 0] + place[opposite, 1] - place[corner, 1]
        if no_nearer(here, span, long, parts, girth, meeting, share, bend, ends) - offset >= found[0]:
            continue
        row, column = (low + high) // 2, (start + end) // 2
        t = first + row * columns + column
        if left[t] >= 0:
            away = gap(here, left[t], right[t], parts, girth, meeting, share, ends) - offset
            if away < found[0]:
                found[0], at = away, t
            if no_nearer(here, span, long, parts, girth, meeting, share, bend, ends) - offset >= found[0]:
                continue
            if ends[12] == 0.0 and ends[13] == 0.0 and ends[14] == 0.0:
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
    chart: Indices,
    at: int,
    left: Indices,
    right: Indices,
    place: Array,
    parts: Indices,
    girth: Array,
    meeting: Indices,
    share: Array,
    offset: float,
    ends: Array,
    found: Array,
) -> None:
    """Take from found[0] what the distance dips beside a state along both directions; found[1:] is where [mm]."""
    columns, first = chart[1], chart[2]
    row, column = (at - first) // columns, (at - first) % columns
    middle, found[1], found[2] = found[0], 0.0, 0.0
    gap(here, left[at], right[at], parts, girth, meeting, share, ends)
    if ends[12] == 0.0 and ends[13] == 0.0 and ends[14] == 0.0:
        return
    for way in range(2):
        step = columns if way == 0 else 1
        spot, count = (row, chart[0]) if way == 0 else (column, columns)
        below = spot > 0 and left[at - step] >= 0
        above = spot < count - 1 and left[at + step] >= 0
        if not below and not above:
            continue
        if not below and (spot + 2 >= count or left[at + 2 * step] < 0):
            continue
        if not above and (spot < 2 or left[at - 2 * step] < 0):
            continue
        x = y = f = g = 0.0
        for side in range(2):
            b = at + (step if side else -step) if below and above else at + (side + 1) * (step if above else -step)
            x, f, y = y, g, place[b, way] - place[at, way]
            g = gap(here, left[b], right[b], parts, girth, meeting, share, ends) - offset - middle
        bend = (f / x - g / y) / (x - y)
        slope = f / x - bend * x
        if bend > 0.0:
            shift = -0.5 * slope / bend
            low = place[at - step, way] - place[at, way] if below else 0.0
            high = place[at + step, way] - place[at, way] if above else 0.0
            if low < shift < high:
                found[0] -= bend * shift * shift
                found[1 + way] = shift
