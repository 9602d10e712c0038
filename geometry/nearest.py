"""Where, among the states of an axle, bodies come nearest to one another: one compiled pass over a batch.

Bodies are capsules, boxes along the axes, and one cylinder, the wheel; their ends are points of the left side, or those
points mirrored. States are charts: lattices of pairs of left-side states. Two bodies are looked at

1. not at all, where the boxes that each stays in, or their clearance at static, less how far they get from there, say
   that they are nowhere near enough to matter, or the gap between them along one direction (`geometry.gaps`);
2. at every few states of a chart, all at once (`geometry.looking`);
3. from each of these that is lower than those about it and not above what matters by more than `DEEPEST`, downhill from
   state to neighbouring state, and from the lowest one along parabolas (`geometry.downhill`).

Bodies of which no point differs between candidates are looked at once a batch, and of two meetings that are each
other's mirror image one.

| symbol | meaning | unit |
|---|---|---|
| n, k, m | candidate, side state, point | |
| r, g | meeting: two bodies that may meet, of a group of such | |
| c, t | chart, and its state: the side states `left`, `right`, and its place u, v | mm |
"""

import math

import numpy as np

from geometry.arrays import Array, Flags, Indices
from geometry.compiled import compiled
from geometry.downhill import downhill
from geometry.gaps import gap, look_at, share_of, sure_apart
from geometry.meetings import Bodies, Charts, Points, Scratch, scratch_for
from geometry.spots import measure_out, put_points

DEEPEST = 2.0
"""No clearance between states of the first look is lower than the lowest about it by more than this [mm]."""
ALIKE = 1e-9
"""Clearances that differ by less count as the same where the first of some lowest ones is taken [mm]."""
SHALLOWEST = 1.0
"""No parabola through states of a chart dips below them by more than this [mm]."""


def nearest(
    points: Points, charts: Charts, bodies: Bodies, offset: Array, wanted: Flags, room: float
) -> tuple[Array, Indices, Array]:
    """Least clearance (N, G) [mm] less `offset` (G,) of each group of meetings, over all states.

    Where a point is NaN, so is all of that candidate. Groups that are not `wanted` (G,) are inf. A clearance less
    offset that is above the least one of all by more than `room` is given as so much; math.inf for no such limit.

    Returns also the state (N, G) where it was found, -1 where nowhere, and how far from it (N, G, 2) along the chart's
    two directions [mm].
    """
    shape = (len(points.cos), len(offset))
    least, state, beside = np.full(shape, np.nan), np.full(shape, -1, dtype=np.intp), np.zeros((*shape, 2))
    moving = np.asarray(points.own[bodies.parts[:, [1, 3]]].any(axis=1))
    differ = np.asarray(moving[bodies.meetings[:, :2]].any(axis=1))
    asked = wanted[bodies.meetings[:, 2]] & ~(bodies.again & charts.alike)
    own, shared = np.flatnonzero(asked & differ), np.flatnonzero(asked & ~differ)
    scratch = scratch_for(points, charts, bodies)
    _nearest(points, charts, bodies, offset, wanted, room, own, shared, scratch, least, state, beside)
    return least, state, beside


@compiled
def _nearest(
    points: Points,
    charts: Charts,
    bodies: Bodies,
    offset: Array,
    wanted: Flags,
    room: float,
    own: Indices,
    shared: Indices,
    scratch: Scratch,
    least: Array,
    state: Indices,
    beside: Array,
) -> None:
    alike, alike_state, alike_beside = np.empty(offset.shape), state[0].copy(), beside[0].copy()
    known, bound = True, math.inf
    for n in range(len(points.cos)):
        known &= put_points(n, points, charts, scratch)
        measure_out(n, points, bodies, scratch)
        if n == 0:
            bound = _at_static(shared, bodies, offset, room, scratch, math.inf)
            alike[:] = bound
            _look(shared, charts, bodies, offset, bound, room, scratch, alike, alike_state, alike_beside)
            bound = min(bound, alike.min() + room)
        if not (known and math.isfinite(points.cos[n].sum())):
            known = known or len(points.paths) == 0 or points.paths.shape[1] > 1
            continue
        limit = _at_static(own, bodies, offset, room, scratch, bound)
        for g in range(len(offset)):
            least[n, g] = limit if wanted[g] else math.inf
            if wanted[g] and alike[g] < limit:
                least[n, g], state[n, g] = alike[g], alike_state[g]
                beside[n, g, 0], beside[n, g, 1] = alike_beside[g, 0], alike_beside[g, 1]
        _look(own, charts, bodies, offset, limit, room, scratch, least[n], state[n], beside[n])
        _clip(least[n], wanted, room, state[n], beside[n])


@compiled
def _at_static(asked: Indices, bodies: Bodies, offset: Array, room: float, scratch: Scratch, limit: float) -> float:
    """What no clearance falls below, `floor` (R,); returns the limit that `room` sets."""
    meetings, cuts, parts, girth = bodies.meetings, bodies.cuts, bodies.parts, bodies.girth
    sweep, floor, body, share, way = scratch.sweep, scratch.floor, scratch.body, scratch.share, scratch.way
    across = scratch.across
    for r in asked:
        a, b, g = meetings[r, 0], meetings[r, 1], meetings[r, 2]
        square = 0.0
        for i in range(3):
            away = max(sweep[a, i] - sweep[b, 3 + i], sweep[b, i] - sweep[a, 3 + i], 0.0)
            square += away * away
        floor[r] = math.sqrt(square) - sweep[a, 6] - sweep[b, 6] - SHALLOWEST
        if floor[r] - offset[g] < limit:
            share_of(body, a, cuts[r, 0], cuts[r, 1], share, r, 0)
            share_of(body, b, cuts[r, 2], cuts[r, 3], share, r, 2)
            here = gap(body, parts, girth, a, b, share, r, way)
            across[r, 0], across[r, 1], across[r, 2] = way[0], way[1], way[2]
            limit = min(limit, here - offset[g] + room)
            floor[r] = max(floor[r], here - scratch.reach[a] - scratch.reach[b] - SHALLOWEST)
    return limit


@compiled
def _look(
    asked: Indices,
    charts: Charts,
    bodies: Bodies,
    offset: Array,
    limit: float,
    room: float,
    scratch: Scratch,
    least: Array,
    state: Indices,
    beside: Array,
) -> None:
    """Lower `least` (G,) to the least clearance of each group's meetings.

    What is above `limit`, or above the least of all so far by more than `room`, is not looked into; so the meeting that
    may come nearest is the first.
    """
    if len(asked) == 0:
        return
    meetings, floor, size, found, seen = bodies.meetings, scratch.floor, charts.size, scratch.found, scratch.seen
    nearest_one = _lowest_floor(asked, meetings, floor, offset)
    for place in range(-1, len(asked)):
        r = nearest_one if place < 0 else asked[place]
        g = meetings[r, 2]
        if (place >= 0 and r == nearest_one) or floor[r] - offset[g] >= min(least[g], limit):
            continue
        kind = meetings[r, 3]
        p, q = _ends(bodies, meetings[r, 0], kind, scratch.spots)
        u, v = _ends(bodies, meetings[r, 1], kind, scratch.spots)
        if sure_apart(bodies, r, p, q, u, v, scratch.across, charts.looks[kind]) - DEEPEST >= limit + offset[g]:
            continue
        look_at(bodies, r, p, q, u, v, scratch.share, seen[: charts.looks[kind]])
        if _least(seen, 0, charts.looks[kind]) - DEEPEST >= min(least[g], limit) + offset[g]:
            continue
        for c in range(len(size)):
            low = _least(seen, charts.look[c, 0], charts.look[c, 1]) if size[c, 3] == kind else math.inf
            if low - DEEPEST >= min(least[g], limit) + offset[g]:
                continue
            at = _lowest(charts, bodies, c, r, limit + offset[g], least[g] + offset[g], scratch)
            if at >= 0 and found[0] < least[g] + offset[g]:
                least[g], state[g] = found[0] - offset[g], at
                beside[g, 0], beside[g, 1] = found[1], found[2]
                limit = min(limit, least[g] + room)


@compiled
def _lowest_floor(asked: Indices, meetings: Indices, floor: Array, offset: Array) -> int:
    """The meeting whose clearance may be the least."""
    lowest = asked[0]
    for r in asked:
        if floor[r] - offset[meetings[r, 2]] < floor[lowest] - offset[meetings[lowest, 2]]:
            lowest = r
    return int(lowest)


@compiled
def _least(seen: Array, start: int, end: int) -> float:
    """The least of some clearances at the first look."""
    least = math.inf
    for j in range(start, end):
        least = min(least, seen[j])
    return least


@compiled
def _clip(least: Array, wanted: Flags, room: float, state: Indices, beside: Array) -> None:
    """Give what is above the least of all by more than `room` as so much."""
    limit = least.min() + room
    for g in range(len(least)):
        if wanted[g] and least[g] > limit:
            least[g], state[g] = limit, -1
            beside[g, 0] = beside[g, 1] = 0.0


@compiled
def _ends(bodies: Bodies, p: int, kind: int, spots: Array) -> tuple[Array, Array]:
    """Both ends of a body at the states of the first look (3, S)."""
    parts = bodies.parts
    return spots[parts[p, 1], kind, parts[p, 2]], spots[parts[p, 3], kind, parts[p, 4]]


@compiled
def _lowest(charts: Charts, bodies: Bodies, c: int, r: int, limit: float, least: float, scratch: Scratch) -> int:
    """The lowest state of a chart, -1 where none can be below `limit` or `least`.

    found[0] becomes the clearance at the lowest place of the parabolas beside it; `found[1:]` is where.
    """
    kind, best, place, seen, found = charts.size[c, 3], math.inf, -1, scratch.seen, scratch.found
    lowest, along, across = math.inf, 0.0, 0.0
    for j in range(charts.look[c, 0], charts.look[c, 1]):
        if seen[j] - DEEPEST >= min(limit, least, best) or not _is_lowest(charts.about[kind, j], seen, j):
            continue
        at = charts.rough[kind, j]
        if charts.size[c, 0] == 1 and charts.size[c, 1] == 1:
            found[0] = found[3] = seen[j]
            found[1] = found[2] = 0.0
        else:
            at = downhill(charts, bodies, c, at, r, scratch)
        if found[3] < best:
            best, place, lowest, along, across = found[3], at, found[0], found[1], found[2]
    found[0], found[1], found[2] = lowest, along, across
    return place


@compiled
def _is_lowest(about: Indices, seen: Array, j: int) -> bool:
    """Whether no state of the first look about one is lower, or as low and before it."""
    lower = 0
    for i in about:
        lower += seen[i] < seen[j] + (ALIKE if i < j else -ALIKE)
    return lower == 0
