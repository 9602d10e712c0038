"""Springs and load cases of a batch of candidates in one compiled pass, for axles whose links do not vary.

The formulas are those of `geometry.rocker`, `geometry.squeeze`, `objectives.strain`, `objectives.loads.settle`,
`objectives.loads.newton` and `objectives.loads.rocker`, which are this module's slow twin. Here a wheel's path comes
from polynomials between known states, and the rod's compression from virtual work, N = -Q / (u . E'). The loop between
static and a state counts as closed where it closes at all known states between.

| symbol | meaning | place |
|---|---|---|
| b, i, e, m | block, lane, element, case | |
| z | wheel travel; the right side is the mirrored left one | |
| E, E', E'' | the rod's eye and its derivatives by z | side[EYE], 9 numbers |
| c, s, phi', phi'' | cosine and sine of the rocker's turn, its rate and its change | side[TURN], 4 numbers |
| r, u | the rod's inboard end; along the rod, outwards | side[ROD], 6 numbers |
| P, P', P'' | an element's end and its derivatives by its wheel's travel | 9 numbers |
| g | dU by z_l, z_r; spring part of d2U: ll, rr, lr; geometric part | 8 numbers |
| Q, Q' | the ground's force as wheel travel feels it, and its slope | |
"""

import math

import numpy as np

from geometry.arrays import Array
from geometry.compiled import compiled
from objectives.loads.newton import EXACT, LONGEST, NO_HOLD, SHORTEST, STEPS
from objectives.loads.records import (
    EYE,
    FOUND,
    KNEE,
    KNEES,
    LEAP,
    RATE,
    ROD,
    START,
    START_BY,
    TURN,
    Candidate,
    Room,
    Tables,
    room_for,
)
from objectives.loads.settle import NEAR
from objectives.readings import NOTHING


def settle_all(tables: Tables, carried: Array, rod: Array, levers: Array, chassis: Array) -> tuple[Array, Array]:
    """Rates at the states and the rest in all cases, for every candidate.

    `carried` (blocks, 3, LANES): the eye's shift; `rod` (blocks, 17, LANES), `levers` (ends, blocks, 9, LANES),
    `chassis` (C, blocks, 3, LANES). Returns (blocks, S, 6, LANES): spring part ll, rr, lr, geometric part; and
    (blocks, M, FOUND, LANES): travels, rods, pivots, u, left and right. NaN where there is no such state or no rest.
    """
    blocks, lanes = rod.shape[0], rod.shape[2]
    rates = np.empty((blocks, len(tables.states), 6, lanes))
    cases = np.empty((blocks, len(tables.largest), FOUND, lanes))
    _settle_all(tables, room_for(tables), carried, rod, levers, chassis, rates, cases)
    return rates, cases


@compiled
def _settle_all(
    tables: Tables, room: Room, carried: Array, rod: Array, levers: Array, chassis: Array, rates: Array, cases: Array
) -> None:
    for b in range(rod.shape[0]):
        for i in range(rod.shape[2]):
            for x in range(3):
                room.shift[x] = carried[b, x, i]
            one = Candidate(rod[b], levers[:, b], chassis[:, b], i, 1.0, 0.0)
            _stand(tables, one, 0.0, room, room.left)
            _stand(tables, one, 0.0, room, room.right)
            bump = 1.0 if room.left[TURN + 2] > 0.0 else -1.0
            one = Candidate(one.rod, one.levers, one.chassis, i, bump, 0.0)
            one = Candidate(one.rod, one.levers, one.chassis, i, bump, _static_force(tables, one, room))
            _strain(tables, one, room)
            room.static_arms[:] = room.arms
            for s in range(len(tables.states)):
                _rates(tables, one, s, room, rates[b])
            for m in range(len(tables.largest)):
                _rest(tables, one, m, room)
                for part in range(len(room.found)):
                    cases[b, m, part, i] = room.found[part]


@compiled
def _stand(tables: Tables, one: Candidate, z: float, room: Room, side: Array) -> None:
    """One side at travel `z`: its record, NaN where the loop is open or the travel is not known."""
    moved, shift, count = room.moved, room.shift, tables.eye.shape[2]
    _follow(tables.eye, tables.travel, z, 0, count, moved)
    for order in range(3):
        for x in range(3):
            at = count * order + x
            value = moved[at]
            if count > 3:
                value += moved[at + 3] * shift[0] + moved[at + 6] * shift[1] + moved[at + 9] * shift[2]
            side[EYE + 3 * order + x] = value
    _turn(one.rod, one.i, side)


@compiled
def _follow(powers: Array, travel: Array, z: float, first: int, count: int, out: Array) -> None:
    """`count` functions of wheel travel, from `first` on, by their polynomials: values, slopes and bends in `out`."""
    low, high = 0, len(travel) - 1
    while high - low > 1:
        middle = (low + high) // 2
        if travel[middle] < z:
            low = middle
        else:
            high = middle
    h = travel[low + 1] - travel[low]
    inside = (z >= travel[0]) & (z <= travel[-1])
    t = (z - travel[low]) / h if inside else math.nan
    for f in range(count):
        value, slope, bend = powers[low, 5, first + f], 0.0, 0.0
        for power in range(4, -1, -1):
            bend = bend * t + 2.0 * slope
            slope = slope * t + value
            value = value * t + powers[low, power, first + f]
        out[f], out[count + f], out[2 * count + f] = value, slope / h, bend / (h * h)


@compiled
def _turn(rod: Array, i: int, side: Array) -> None:
    """Close the loop, as in `geometry.rocker.close_loop`.

    e . (E' - phi' g) = 0, with e from the arm's end to the eye and g the end's velocity per radian, and its derivative
    phi'' e . g = |E' - phi' g|^2 + e . E'' + phi'^2 e . arm give the rocker's rate and its change.
    """
    radius = rod[12, i]
    along, across, rest = 0.0, 0.0, radius * radius - rod[15, i]
    for x in range(3):
        d = side[EYE + x] - rod[x, i]
        along += 2.0 * radius * d * rod[3 + x, i]
        across += 2.0 * radius * d * rod[6 + x, i]
        rest += d * d
    square = along * along + across * across
    root = rod[16, i] * math.sqrt(square - rest * rest) if square >= rest * rest else math.nan
    cos, sin = (along * rest - across * root) / square, (across * rest + along * root) / square
    side[TURN] = cos * rod[13, i] + sin * rod[14, i]
    side[TURN + 1] = sin * rod[13, i] - cos * rod[14, i]
    moved, pressed, length, bent, inward = 0.0, 0.0, 0.0, 0.0, 0.0
    for x in range(3):
        arm = radius * (cos * rod[3 + x, i] + sin * rod[6 + x, i])
        swing = radius * (cos * rod[6 + x, i] - sin * rod[3 + x, i])
        side[ROD + x] = rod[x, i] + arm
        line = side[EYE + x] - side[ROD + x]
        side[ROD + 3 + x] = line
        length += line * line
        moved += line * side[EYE + 3 + x]
        pressed += line * swing
        bent += line * side[EYE + 6 + x]
        inward += line * arm
    rate, length, change = moved / pressed, math.sqrt(length), 0.0
    for x in range(3):
        swing = radius * (cos * rod[6 + x, i] - sin * rod[3 + x, i])
        change += (side[EYE + 3 + x] - rate * swing) ** 2
        side[ROD + 3 + x] /= length
    side[TURN + 2] = rate
    side[TURN + 3] = (change + bent + rate * rate * inward) / pressed


@compiled
def _static_force(tables: Tables, one: Candidate, room: Room) -> float:
    """The carrying spring's static force, as in `objectives.fittings.installed`; fills the lengths at static."""
    pull = room.line
    borne, lifted = 0.0, 0.0
    for e in range(len(tables.kinds)):
        slope = 2.0 * one.bump * room.left[TURN + 2]
        if tables.kinds[e, 0] != 2:
            _line(tables, e, one, room.left, room.right, room)
            room.lengths[e] = pull[0]
            slope = pull[1] + pull[2] if tables.kinds[e, 0] == 0 else 2.0 * pull[1]
        borne += tables.rest[e] * slope
        if e == tables.carrier:
            lifted = slope
    if tables.carrier < 0:
        return 0.0
    return (tables.weight - borne) / lifted if abs(lifted) >= NOTHING else math.nan


@compiled
def _line(tables: Tables, e: int, one: Candidate, near: Array, other: Array, room: Room) -> None:
    """A strut from the side `near`: in `room.line` its length, slopes and bends of its compression, u."""
    here, there, out, far = room.here, room.there, room.line, tables.kinds[e, 2]
    _end(one.levers, tables.kinds[e, 1], one.i, near, 1.0, here)
    if tables.kinds[e, 0] == 0:
        _end(one.levers, far, one.i, other, -1.0, there)
    else:
        for x in range(3):
            there[x], there[3 + x], there[6 + x] = one.chassis[far, x, one.i], 0.0, 0.0
    length = math.sqrt((there[0] - here[0]) ** 2 + (there[1] - here[1]) ** 2 + (there[2] - here[2]) ** 2)
    left, right, left2, right2, both, bend_left, bend_right = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for x in range(3):
        u = (there[x] - here[x]) / length
        out[6 + x] = u
        left += u * here[3 + x]
        right += u * there[3 + x]
        left2 += here[3 + x] ** 2
        right2 += there[3 + x] ** 2
        both += here[3 + x] * there[3 + x]
        bend_left += u * here[6 + x]
        bend_right += u * there[6 + x]
    out[0], out[1], out[2] = length, left, -right
    out[3] = (left * left - left2) / length + bend_left
    out[4] = (right * right - right2) / length - bend_right
    out[5] = (both - left * right) / length


@compiled
def _end(levers: Array, n: int, i: int, side: Array, mirror: float, out: Array) -> None:
    """A pick-up P, P', P''; `mirror` -1 for one of the right rocker."""
    c, s, rate, curve = side[TURN], side[TURN + 1], side[TURN + 2], side[TURN + 3]
    for x in range(3):
        u, w = levers[n, 3 + x, i], levers[n, 6 + x, i]
        sign = mirror if x == 1 else 1.0
        arm, swing = c * u + s * w, c * w - s * u
        out[x] = sign * (levers[n, x, i] + arm)
        out[3 + x] = sign * rate * swing
        out[6 + x] = sign * (curve * swing - rate * rate * arm)


@compiled
def _force(laws: Array, e: int, static: float, c: float) -> tuple[float, float]:
    """Force and rate of an element's springs at compression `c`, as in `objectives.fittings.law`."""
    force, rate = laws[e, START] + laws[e, START_BY] * static + laws[e, RATE] * c, laws[e, RATE]
    for at in range(KNEES, laws.shape[1], KNEE):
        beyond = c - laws[e, at] - laws[e, at + 1] * static
        if beyond >= 0.0:
            force += laws[e, at + 2] * beyond
            rate += laws[e, at + 2]
    return force, rate


@compiled
def _strain(tables: Tables, one: Candidate, room: Room) -> None:
    """What the springs do at both sides of the room: `room.g`, `room.pushed`, `room.arms`."""
    g, pushed, arms, pull = room.g, room.pushed, room.arms, room.line
    g[:], pushed[:], arms[:] = 0.0, 0.0, 1.0
    for e in range(len(tables.kinds)):
        kind = tables.kinds[e, 0]
        for half in range(1 if kind == 0 else 2):
            near, other = (room.left, room.right) if half == 0 else (room.right, room.left)
            if kind == 2:
                force, rate = _force(tables.laws, e, one.static, one.bump * math.atan2(near[TURN + 1], near[TURN]))
                g[half] += force * one.bump * near[TURN + 2]
                g[2 + half] += rate * near[TURN + 2] ** 2
                g[5 + half] += force * one.bump * near[TURN + 3]
                continue
            _line(tables, e, one, near, other, room)
            force, rate = _force(tables.laws, e, one.static, room.lengths[e] - pull[0])
            g[half] += force * pull[1]
            g[2 + half] += rate * pull[1] ** 2
            g[5 + half] += force * pull[3]
            arms[e, half] = pull[1] / near[TURN + 2]
            if kind == 0:
                g[1] += force * pull[2]
                g[3] += rate * pull[2] ** 2
                g[4] += rate * pull[1] * pull[2]
                g[6] += force * pull[4]
                g[7] += force * pull[5]
                arms[e, 1] = pull[2] / other[TURN + 2]
            for x in range(3):
                pushed[half, x] -= force * pull[6 + x]
                if kind == 0:
                    pushed[1, x] += force * pull[6 + x] * (-1.0 if x == 1 else 1.0)


@compiled
def _rates(tables: Tables, one: Candidate, s: int, room: Room, out: Array) -> None:
    """Both parts of d2U at a state; NaN beyond an open loop or where a strut has crossed its own centre."""
    left, right = tables.states[s, 0], tables.states[s, 1]
    _stand(tables, one, left, room, room.left)
    _stand(tables, one, right, room, room.right)
    _strain(tables, one, room)
    beyond = _opens_to(tables, one, left, right, room)
    for e in range(len(tables.kinds)):
        for half in range(2):
            beyond = beyond or room.arms[e, half] * room.static_arms[e, half] < 0.0
    for part in range(6):
        out[s, part, one.i] = math.nan if beyond else room.g[2 + part]


@compiled
def _rest(tables: Tables, one: Candidate, m: int, room: Room) -> None:
    """One case, from where such axles rest or else from static; rods and pivots, all in `room.found`."""
    found, at = room.found, room.newton
    rests = _settle(tables, one, m, tables.start[m, 0], tables.start[m, 1], room)
    if not rests and (tables.start[m, 0] != 0.0 or tables.start[m, 1] != 0.0):
        rests = _settle(tables, one, m, 0.0, 0.0, room)
    found[:] = math.nan
    for half in range(2 if rests else 0):
        found[half] = at[half]
        _bear(room.left if half == 0 else room.right, room.felt[2 * half], room.pushed, half, found)


@compiled
def _settle(tables: Tables, one: Candidate, m: int, left: float, right: float, room: Room) -> bool:
    """Newton's method as in `objectives.loads.newton` from two travels: whether it finds a rest, and there the room."""
    g, at = room.g, room.newton
    at[0], at[1], at[2], at[3], at[4], at[5] = left, right, left, right, left, right
    near, miss, stride, low, better = NEAR * tables.largest[m], math.inf, 1.0, 0.0, True
    for _ in range(STEPS):
        _try(tables, one, m, at[2], at[3], room)
        size = max(abs(g[0]), abs(g[1]))
        if stride * max(abs(at[4]), abs(at[5])) > LEAP and _opens_to(tables, one, at[2], at[3], room):
            size = math.inf
        better = size < miss
        if better:
            at[0], at[1], miss, low = at[2], at[3], size, _newton(g, at)
        stride = min(2.0 * stride, 1.0) if better else 0.5 * stride
        if (miss <= near and (not better or miss <= EXACT * near)) or stride <= SHORTEST or miss == math.inf:
            break
        at[2], at[3] = at[0] + stride * at[4], at[1] + stride * at[5]
    if not better:
        _try(tables, one, m, at[0], at[1], room)
    return miss <= near and low >= -NO_HOLD and not _opens_to(tables, one, at[0], at[1], room)


@compiled
def _try(tables: Tables, one: Candidate, m: int, left: float, right: float, room: Room) -> None:
    """Springs against the ground at two travels: `room.g` with what is missed and its slopes ll, rr, lr."""
    g, felt, cases = room.g, room.felt, len(tables.largest)
    _stand(tables, one, left, room, room.left)
    _stand(tables, one, right, room, room.right)
    _strain(tables, one, room)
    for half in range(2):
        _follow(tables.work, tables.travel, left if half == 0 else right, half * cases + m, 1, room.work)
        felt[2 * half], felt[2 * half + 1] = room.work[0], room.work[1]
        g[half] -= felt[2 * half]
        g[2 + half] += g[5 + half] - felt[2 * half + 1]
    g[4] += g[7]
    if math.isnan(g[0] + g[1]):
        g[:] = math.nan


@compiled
def _newton(g: Array, at: Array) -> float:
    """Newton's step in `at[4:6]`, as in `objectives.loads.newton`; returns the lowest eigenvalue over the highest."""
    a, d, b = g[2], g[3], g[4]
    middle, half = 0.5 * (a + d), math.sqrt(0.25 * (a - d) ** 2 + b * b)
    high, low = middle + half, middle - half
    x, y = (high - d, b) if a >= d else (b, high - a)
    size = math.sqrt(x * x + y * y)
    x, y = (x / size, y / size) if size > 0.0 else (1.0, 0.0)
    largest = max(abs(high), abs(low))
    first = -(x * g[0] + y * g[1]) / high if abs(high) > NO_HOLD * largest else 0.0
    second = -(x * g[1] - y * g[0]) / low if abs(low) > NO_HOLD * largest else 0.0
    at[4], at[5] = x * first - y * second, y * first + x * second
    longest = max(abs(at[4]), abs(at[5]), LONGEST)
    at[4], at[5] = at[4] * LONGEST / longest, at[5] * LONGEST / longest
    return low / abs(high) if high != 0.0 else 0.0


@compiled
def _bear(side: Array, felt: float, pushed: Array, half: int, found: Array) -> None:
    """The rod's compression, the size of the pivot's force, and u on one side."""
    moving, square = 0.0, 0.0
    for x in range(3):
        moving += side[ROD + 3 + x] * side[EYE + 3 + x]
    pressed = -felt / moving
    for x in range(3):
        square += (pushed[half, x] - pressed * side[ROD + 3 + x]) ** 2
    found[2 + half], found[4 + half] = pressed, math.sqrt(square)
    for x in range(3):
        found[6 + 3 * half + x] = side[ROD + 3 + x]


@compiled
def _opens_to(tables: Tables, one: Candidate, left: float, right: float, room: Room) -> bool:
    """Whether the loop is open on the way from static, on either side."""
    return _opens(tables, one, left, room.shift) or _opens(tables, one, right, room.shift)


@compiled
def _opens(tables: Tables, one: Candidate, z: float, shift: Array) -> bool:
    """Whether the loop is open at a known state between static and travel `z`."""
    travel, eye, rod, i = tables.travel, tables.eye, one.rod, one.i
    for k in range(len(travel) - 1):
        if (travel[k] < 0.0 and travel[k] > z) or (travel[k] > 0.0 and travel[k] < z):
            along, across, rest = 0.0, 0.0, rod[12, i] * rod[12, i] - rod[15, i]
            for x in range(3):
                d = eye[k, 0, x] - rod[x, i]
                if eye.shape[2] > 3:
                    d += eye[k, 0, 3 + x] * shift[0] + eye[k, 0, 6 + x] * shift[1] + eye[k, 0, 9 + x] * shift[2]
                along += 2.0 * rod[12, i] * d * rod[3 + x, i]
                across += 2.0 * rod[12, i] * d * rod[6 + x, i]
                rest += d * d
            if not along * along + across * across >= rest * rest:
                return True
    return False
