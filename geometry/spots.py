"""Points of one candidate at all side states, and how far bodies get; compiled. See `geometry.nearest`."""

import math

from geometry.arrays import Array
from geometry.compiled import compiled
from geometry.meetings import BOX, WHEEL, Bodies, Charts, Points, Scratch


@compiled
def put_points(n: int, points: Points, charts: Charts, scratch: Scratch) -> bool:
    """Put the points where candidate n has them; whether all but the rocker's are known.

    Those that do not differ between candidates stay where the first one has them.
    """
    known, turning, standing = True, len(points.levers), len(points.levers) + len(points.still)
    arc = _arc(points.cos[n], points.sin[n])
    for m in range(len(points.own)):
        if n > 0 and not points.own[m]:
            continue
        here = scratch.here[m]
        reached = scratch.reached[m]
        if m < turning:
            lever = points.levers[m, n if points.levers.shape[1] > 1 else 0]
            _turn(points.cos[n], points.sin[n], lever, here)
            scratch.far[m] = _arc_range(arc, lever, here, reached)
        elif m < standing:
            still = points.still[m - turning, n if points.still.shape[1] > 1 else 0]
            scratch.far[m] = 0.0
            for i in range(3):
                here[i] = reached[i] = reached[3 + i] = still[i]
        else:
            path = points.paths[m - standing, n if points.paths.shape[1] > 1 else 0]
            for i in range(3):
                here[i] = path[:, i]
            known &= math.isfinite(path.sum())
            scratch.far[m] = _range(here, reached)
        _spread(here, charts, scratch.spots[m])
    return known


@compiled
def measure_out(n: int, points: Points, bodies: Bodies, scratch: Scratch) -> None:
    """Where the bodies are at static, how far they get from there, and the boxes that they stay in."""
    here, parts, girth, body, reached = scratch.here, bodies.parts, bodies.girth, scratch.body, scratch.reached
    for p in range(len(parts)):
        a, b = parts[p, 1], parts[p, 3]
        if n > 0 and not (points.own[a] or points.own[b]):
            continue
        first, second = -1.0 if parts[p, 2] else 1.0, -1.0 if parts[p, 4] else 1.0
        body[p, 0], body[p, 1], body[p, 2] = here[a, 0, 0], first * here[a, 1, 0], here[a, 2, 0]
        body[p, 3], body[p, 4], body[p, 5] = here[b, 0, 0], second * here[b, 1, 0], here[b, 2, 0]
        sweep = scratch.sweep[p]
        if parts[p, 0] == WHEEL:
            scratch.reach[p] = scratch.far[a] + scratch.far[b] * (girth[p, 0] + girth[p, 1])
            _sweep_wheel(reached[a], reached[b], first, girth[p, 0], girth[p, 1], sweep)
            continue
        scratch.reach[p] = max(scratch.far[a], scratch.far[b])
        for i in range(3):
            sweep[i] = min(_low(reached[a], i, first), _low(reached[b], i, second))
            sweep[3 + i] = max(_high(reached[a], i, first), _high(reached[b], i, second))
        sweep[6] = 0.0 if parts[p, 0] == BOX else girth[p, 0]


@compiled
def _arc(cos: Array, sin: Array) -> tuple[float, float, float, float, float]:
    """Least cosine of the rocker's turn, then cosine and sine at both ends of its arc."""
    low, high, least = 0, 0, 1.0
    for k in range(len(cos)):
        low, high, least = k if sin[k] < sin[low] else low, k if sin[k] > sin[high] else high, min(least, cos[k])
    return least, cos[low], sin[low], cos[high], sin[high]


@compiled
def _arc_range(arc: tuple[float, float, float, float, float], lever: Array, here: Array, reached: Array) -> float:
    """The box that a point of the rocker stays in; returns how far it gets from static.

    A coordinate is largest or smallest at an end of the arc, or where it turns in between: where its slope at both ends
    is not of one sign, or the arc is longer than its sine can tell, all of the circle counts.
    """
    least, cos, sin, its_cos, its_sin = arc
    square = 0.0
    for i in range(3):
        centre, u, w = lever[i], lever[3 + i], lever[6 + i]
        square += u * u
        first, second = centre + cos * u + sin * w, centre + its_cos * u + its_sin * w
        low, high = min(first, second, here[i, 0]), max(first, second, here[i, 0])
        if least <= 0.0 or (cos * w - sin * u) * (its_cos * w - its_sin * u) <= 0.0:
            most = math.sqrt(u * u + w * w)
            low, high = centre - most, centre + most
        reached[i], reached[3 + i] = low, high
    return math.sqrt(2.0 * (1.0 - least) * square)


@compiled
def _turn(cos: Array, sin: Array, lever: Array, here: Array) -> None:
    for i in range(3):
        centre, u, w, row = lever[i], lever[3 + i], lever[6 + i], here[i]
        for k in range(len(row)):
            row[k] = centre + cos[k] * u + sin[k] * w


@compiled
def _range(here: Array, reached: Array) -> float:
    """The box that a point stays in; returns how far it gets from static."""
    furthest = 0.0
    for k in range(here.shape[1]):
        x, y, z = here[0, k] - here[0, 0], here[1, k] - here[1, 0], here[2, k] - here[2, 0]
        furthest = max(furthest, x * x + y * y + z * z)
    for i in range(3):
        row = here[i]
        low = high = row[0]
        for k in range(len(row)):
            low, high = min(low, row[k]), max(high, row[k])
        reached[i], reached[3 + i] = low, high
    return math.sqrt(furthest)


@compiled
def _spread(here: Array, charts: Charts, spots: Array) -> None:
    """A point at the states of the first look."""
    x, y, z = here[0], here[1], here[2]
    for kind in range(2):
        for side in range(2):
            to, mirror = spots[kind, side], -1.0 if side else 1.0
            at = charts.rough_right[kind] if side else charts.rough_left[kind]
            for j in range(charts.looks[kind]):
                k = at[j]
                to[0, j], to[1, j], to[2, j] = x[k], mirror * y[k], z[k]


@compiled
def _sweep_wheel(centre: Array, axis: Array, mirror: float, radius: float, half: float, sweep: Array) -> None:
    """The box that the wheel stays in, of where its centre and its axis get."""
    for i in range(3):
        most = max(abs(axis[i]), abs(axis[3 + i]))
        least = 0.0 if axis[i] * axis[3 + i] < 0.0 else min(abs(axis[i]), abs(axis[3 + i]))
        out = half * min(most, 1.0) + radius * math.sqrt(max(1.0 - least * least, 0.0))
        sweep[i], sweep[3 + i] = _low(centre, i, mirror) - out, _high(centre, i, mirror) + out
    sweep[6] = 0.0


@compiled
def _low(reached: Array, i: int, mirror: float) -> float:
    return float(-reached[4] if i == 1 and mirror < 0.0 else reached[i])


@compiled
def _high(reached: Array, i: int, mirror: float) -> float:
    return float(-reached[1] if i == 1 and mirror < 0.0 else reached[3 + i])
