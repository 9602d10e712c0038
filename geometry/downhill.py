"""The lowest state of a chart downhill from one, and the lowest place beside it; compiled.

A chart is looked at in patches of `WIDE` rows and columns about a state. See `geometry.nearest`.
"""

import math

from geometry.arrays import Array
from geometry.compiled import compiled
from geometry.gaps import look_at
from geometry.meetings import CAPSULE, HALF, PATCH, WIDE, Bodies, Charts, Scratch

TOUCH = 1e-12
"""Axes of bodies this near to one another touch [mm]."""


@compiled
def downhill(charts: Charts, bodies: Bodies, c: int, at: int, r: int, scratch: Scratch) -> int:
    """The state of a chart from which no neighbour is lower, downhill from state `at`.

    `found` becomes the clearance where parabolas along both directions of the chart are lowest beside it, how far that
    is from it along both [mm], and the clearance at the state itself.
    """
    found, values = scratch.found, scratch.values
    columns, middle = charts.size[c, 1], HALF * WIDE + HALF
    while True:
        _look_about(charts, bodies, c, at, r, scratch)
        lowest = middle
        for i in range(HALF - 1, HALF + 2):
            for j in range(HALF - 1, HALF + 2):
                lowest = i * WIDE + j if values[i * WIDE + j] < values[lowest] else lowest
        if lowest == middle:
            break
        at += (lowest // WIDE - HALF) * columns + lowest % WIDE - HALF
    found[0] = found[3] = values[middle]
    found[1] = found[2] = 0.0
    if not _touch(bodies, r, values[middle]):
        _dip(charts, c, at, 0, WIDE, values, found)
        if columns > 1:
            _dip(charts, c, at, 1, 1, values, found)
    return at


@compiled
def _look_about(charts: Charts, bodies: Bodies, c: int, at: int, r: int, scratch: Scratch) -> None:
    """Clearances in the patch about a state, inf where it has none."""
    rows, columns, first = charts.size[c, 0], charts.size[c, 1], charts.size[c, 2]
    row, column = (at - first) // columns, (at - first) % columns
    states, here, patch, parts = scratch.states, scratch.here, scratch.patch, bodies.parts
    states[:] = at
    for i in range(max(row - HALF, 0), min(row + HALF + 1, rows)):
        for j in range(max(column - HALF, 0), min(column + HALF + 1, columns)):
            t = first + i * columns + j
            states[(i - row + HALF) * WIDE + j - column + HALF] = t if charts.left[t] >= 0 else at
    for side in range(2):
        p = bodies.meetings[r, side]
        for end in range(2):
            m, mirrored = parts[p, 1 + 2 * end], parts[p, 2 + 2 * end]
            sides, sign = charts.right if mirrored else charts.left, -1.0 if mirrored else 1.0
            x, y, z = here[m, 0], here[m, 1], here[m, 2]
            to = patch[2 * side + end]
            for slot in range(PATCH):
                k = sides[states[slot]]
                to[0, slot], to[1, slot], to[2, slot] = x[k], sign * y[k], z[k]
    look_at(bodies, r, patch[0], patch[1], patch[2], patch[3], scratch.share, scratch.values)
    for slot in range(PATCH):
        if states[slot] == at and slot != HALF * WIDE + HALF:
            scratch.values[slot] = math.inf


@compiled
def _touch(bodies: Bodies, r: int, clearance: float) -> bool:
    """Whether axes touch, so that no parabola leads to anything nearer."""
    own, other, girth = bodies.meetings[r, 0], bodies.meetings[r, 1], bodies.girth
    thick = girth[own, 0] if bodies.parts[own, 0] == CAPSULE else 0.0
    thick += girth[other, 0] if bodies.parts[other, 0] == CAPSULE else 0.0
    return bool(clearance + thick < TOUCH)


@compiled
def _dip(charts: Charts, c: int, at: int, axis: int, step: int, values: Array, found: Array) -> None:
    """Take from found[0] what the parabola through three states dips below the middle of a patch; where it does [mm].

    The next state to either side, or, where a side has none, the next two of the other side.
    """
    place, middle, far = charts.place, HALF * WIDE + HALF, charts.size[c, 1] if axis == 0 else 1
    below, above = values[middle - step] < math.inf, values[middle + step] < math.inf
    one = -1 if below else 1
    other = 2 * one if below != above else 1
    if (not below and not above) or not values[middle + other * step] < math.inf:
        return
    x, y = place[at + one * far, axis] - place[at, axis], place[at + other * far, axis] - place[at, axis]
    f, g = values[middle + one * step] - values[middle], values[middle + other * step] - values[middle]
    bend = (f / x - g / y) / (x - y)
    if bend > 0.0:
        shift = -0.5 * (f / x - bend * x) / bend
        low = place[at - far, axis] - place[at, axis] if below else 0.0
        high = place[at + far, axis] - place[at, axis] if above else 0.0
        if low < shift < high:
            found[0] -= bend * shift * shift
            found[1 + axis] = shift
