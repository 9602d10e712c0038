"""The lowest state of a chart downhill from one, and the lowest place beside it; compiled.

A chart is looked at in patches of `WIDE` rows and columns about a state. Between states a clearance is refined where
it is least, not bounded by how fast points move. See `geometry.nearest`.
"""

import math

from geometry.arrays import Array
from geometry.compiled import compiled
from geometry.gaps import look_at
from geometry.meetings import CAPSULE, HALF, WIDE, Bodies, Charts, Scratch

TOUCH = 1e-12
"""Axes of bodies this near to one another touch [mm]."""
STRAIGHT = 1e-6
"""Three places with a triangle between them of no more than half of this are in a straight line [mm2]."""


@compiled
def downhill(charts: Charts, bodies: Bodies, c: int, at: int, r: int, scratch: Scratch) -> int:
    """The state of a chart from which no neighbour is lower, downhill from state `at`.

    `found` becomes the clearance where parabolas along both directions of the chart, or along both of its diagonals,
    are lowest beside it, how far that is from it along both directions [mm], and the clearance at the state itself.
    """
    found, columns = scratch.found, charts.size[c, 1]
    patch, values = (scratch.line, scratch.line_values) if columns == 1 else (scratch.patch, scratch.values)
    across, wide = (0, 1) if columns == 1 else (HALF, WIDE)
    middle = HALF * wide + across
    while True:
        _look_about(charts, bodies, c, at, r, scratch, patch, values)
        lowest = middle
        for i in range(HALF - 1, HALF + 2):
            for j in range(max(across - 1, 0), min(across + 1, wide - 1) + 1):
                lowest = i * wide + j if values[i * wide + j] < values[lowest] else lowest
        if lowest == middle:
            break
        at += (lowest // wide - HALF) * columns + lowest % wide - across
    found[0] = found[3] = values[middle]
    found[1] = found[2] = 0.0
    thick = _thick(bodies, r)
    if values[middle] + thick >= TOUCH:
        _dips(charts, c, at, middle, values, found)
        if _touch(charts, c, at, middle, values, thick):
            found[0] = -thick
        found[0] = max(found[0], -thick)
    return at


@compiled
def _look_about(
    charts: Charts, bodies: Bodies, c: int, at: int, r: int, scratch: Scratch, patch: Array, values: Array
) -> None:
    """Clearances in the patch about a state, inf where it has none."""
    rows, columns, first = charts.size[c, 0], charts.size[c, 1], charts.size[c, 2]
    across, wide = (0, 1) if columns == 1 else (HALF, WIDE)
    row, column = (at - first) // columns, (at - first) % columns
    states, here, parts, count = scratch.states, scratch.here, bodies.parts, len(values)
    states[:] = at
    for i in range(max(row - HALF, 0), min(row + HALF + 1, rows)):
        for j in range(max(column - across, 0), min(column + across + 1, columns)):
            t = first + i * columns + j
            states[(i - row + HALF) * wide + j - column + across] = t if charts.left[t] >= 0 else at
    for side in range(2):
        p = bodies.meetings[r, side]
        for end in range(2):
            m, mirrored = parts[p, 1 + 2 * end], parts[p, 2 + 2 * end]
            sides, sign = charts.right if mirrored else charts.left, -1.0 if mirrored else 1.0
            to = 2 * side + end
            for slot in range(count):
                k = sides[states[slot]]
                patch[to, 0, slot], patch[to, 1, slot] = here[m, 0, k], sign * here[m, 1, k]
                patch[to, 2, slot] = here[m, 2, k]
    look_at(bodies, r, patch[0], patch[1], patch[2], patch[3], scratch.share, values)
    for slot in range(count):
        if states[slot] == at and slot != HALF * wide + across:
            values[slot] = math.inf


@compiled
def _thick(bodies: Bodies, r: int) -> float:
    """What the clearance of a meeting's bodies is less than the distance of their axes [mm]."""
    own, other, girth = bodies.meetings[r, 0], bodies.meetings[r, 1], bodies.girth
    thick = girth[own, 0] if bodies.parts[own, 0] == CAPSULE else 0.0
    return float(thick + girth[other, 0] if bodies.parts[other, 0] == CAPSULE else thick)


@compiled
def _touch(charts: Charts, c: int, at: int, middle: int, values: Array, thick: float) -> bool:
    """Whether axes touch between states: straight on from two states, they would be through before the middle one.

    The distance of axes that go through one another falls to nothing in a straight line, and no parabola follows it.
    """
    place, columns = charts.place, charts.size[c, 1]
    wide = 1 if columns == 1 else WIDE
    for axis in range(2 if columns > 1 else 1):
        far, step = (1, 1) if axis else (columns, wide)
        for way in (-1, 1):
            near, next_one = values[middle + way * step], values[middle + 2 * way * step]
            if next_one < math.inf and near < math.inf:
                x, y = place[at + way * far, axis] - place[at, axis], place[at + 2 * way * far, axis] - place[at, axis]
                if near + thick - (next_one - near) * x / (y - x) < 0.0:
                    return True
    return False


@compiled
def _dips(charts: Charts, c: int, at: int, middle: int, values: Array, found: Array) -> None:
    """Take from found[0] what parabolas beside the middle of a patch dip below it: along axes, or diagonals if more."""
    columns = charts.size[c, 1]
    dip, found[1], _ = _dip(charts.place, at, columns, 1 if columns == 1 else WIDE, 0, middle, values)
    if columns > 1:
        across, _, found[2] = _dip(charts.place, at, 1, 1, 1, middle, values)
        dip += across
        first, u, v = _dip(charts.place, at, columns + 1, WIDE + 1, 0, middle, values)
        second, x, y = _dip(charts.place, at, columns - 1, WIDE - 1, 0, middle, values)
        if first + second > dip:
            dip, found[1], found[2] = first + second, u + x, v + y
    found[0] -= dip


@compiled
def _dip(
    place: Array, at: int, far: int, step: int, axis: int, middle: int, values: Array
) -> tuple[float, float, float]:
    """How much the parabola through three states in a line dips below the middle of a patch, and where [mm].

    `far` states and `step` places of the patch lead from one to the next; it is told from the next one to either side,
    or, where a side has none, from the next two of the other side. Rows that end where a wheel's travel does may leave
    no straight line: then it is 0.
    """
    below, above = values[middle - step] < math.inf, values[middle + step] < math.inf
    one = -1 if below else 1
    other = 2 * one if below != above else 1
    if (not below and not above) or not values[middle + other * step] < math.inf:
        return 0.0, 0.0, 0.0
    x, y = place[at + one * far, axis] - place[at, axis], place[at + other * far, axis] - place[at, axis]
    x_off = place[at + one * far, 1 - axis] - place[at, 1 - axis]
    y_off = place[at + other * far, 1 - axis] - place[at, 1 - axis]
    if abs(x * y_off - y * x_off) > STRAIGHT:
        return 0.0, 0.0, 0.0
    f, g = values[middle + one * step] - values[middle], values[middle + other * step] - values[middle]
    bend = (f / x - g / y) / (x - y)
    if not bend > 0.0:
        return 0.0, 0.0, 0.0
    shift = -0.5 * (f / x - bend * x) / bend
    low = place[at - far, axis] - place[at, axis] if below else 0.0
    high = place[at + far, axis] - place[at, axis] if above else 0.0
    if not low < shift < high:
        return 0.0, 0.0, 0.0
    share = shift / x
    return (
        bend * shift * shift,
        share * (place[at + one * far, 0] - place[at, 0]),
        share * (place[at + one * far, 1] - place[at, 1]),
    )
