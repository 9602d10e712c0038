"""One compiled pass over a batch of axles: every number that a search asks for, in a table.

`geometry.motion` computes what is asked of it step by step, for any batch; each step is a pass over memory. A search
asks the same few hundred numbers of millions of axles: here they are computed block by block of `LANES` candidates,
from the rocker's loop to the last length, before the next block is touched. The formulas are those of
`geometry.rocker`, `geometry.strut` and `geometry.angles`, which are this module's slow twin.

What the tables are made from stands in records: see `geometry.records`.

| symbol | meaning | unit |
|---|---|---|
| b, i | block, lane | |
| k | side state, K of them | |
| turns | K records of the rocker's turn: COS, SIN; RATE by wheel travel; ARM, ALONG of the rod | - rad/mm mm^2 |
| loop | K records of the loop: RESERVE and its two slopes | - 1/mm |
| ends | K records of a strut's end: its position, and its velocity per radian | mm, mm/rad |
| l | a strut's line, from its near (left) end to its far one | mm |
| T | the table | |
"""

import math
from enum import IntEnum

import numpy as np

from geometry.arrays import Array, Indices
from geometry.compiled import compiled
from geometry.lanes import LANES
from geometry.records import ALONG, ARM, AXIS, COS, END, FAR, LOOP, POINT, RATE, SIN, TURN, U, W, X, Y, Z
from geometry.turns import close_turns, swing_ends, void_beyond


class Kind(IntEnum):
    """What an entry asks for; an entry fills `count` rows of the table, from `row` on."""

    LENGTH = 0
    """Lengths of a strut at pairs of side states [mm]."""
    HEAVE_RATIO = 1
    """Its d compression / d heave there [mm/mm]."""
    ROLL_RATIO = 2
    """Its d compression / d roll there [mm/mm]."""
    TRANSMISSION = 3
    """Its angle to the arm, seen along the axis, the worse end, there [deg]."""
    TILT = 4
    """Its angle out of the rocker's plane, the worse end, there [deg]."""
    ROD_TRANSMISSION = 5
    """The rod's angle to its arm at side states [deg]."""
    TURN = 6
    """The rocker's turn at side states [deg]."""
    TOP = 7
    """Highest z of a lever's end over side states [mm]: one row."""
    GIVEN = 8
    """A number given with the batch: one row."""
    STROKE = 9
    """Largest abs(T[other] - T[first + q]) over `count` rows: one row."""
    LARGEST = 10
    """Largest of the `count` rows from `first`: one row."""
    SMALLEST = 11
    """Smallest of them: one row."""


ENTRY = ("kind", "subject", "first", "count", "row", "other")
"""Columns of an entry: `subject` is a strut, a lever or a given number; `first` and `count` choose pairs, or rows."""

STRUT = ("left", "right", "chassis")
"""Columns of a strut: its levers, or -1 and the number of its chassis point."""

DEGREES = 180.0 / math.pi


def tabulate(
    entries: Indices,
    struts: Indices,
    pairs: tuple[Indices, Indices],
    tree: tuple[Indices, Array],
    eye: tuple[Array, Array],
    rod: Array,
    levers: Array,
    chassis: Array,
    given: Array,
    rows: int,
) -> Array:
    """The table (blocks, rows, LANES) of a batch laid out in lanes; NaN where an axle cannot be at a state.

    `entries` (N, 6), `struts` (N, 3) with the columns `ENTRY`, `STRUT`; `pairs`: left and right side states (P,);
    `tree`: parents (K,) and steps (K, 2) [mm]; `eye`: the rod's outboard eye (1 or blocks, K, 3, LANES) [mm] and its
    velocities per mm of travel and rack (1 or blocks, K, 6, LANES); `rod` (blocks, 17, LANES): centre, e0, e1, axis,
    radius, cos and sin of the arm's angle, rod length squared, branch; `levers` (L, blocks, 9, LANES): centre, u, w;
    `chassis` (C, blocks, 3, LANES); `given` (G, blocks, LANES).
    """
    blocks = len(rod)
    table = np.empty((blocks, rows * LANES))
    fixed = np.zeros((len(chassis), blocks, 9, LANES))
    fixed[:, :, :3] = chassis
    ends = np.concatenate([levers, fixed])
    far = np.where(struts[:, 1] >= 0, struts[:, 1], len(levers) + struts[:, 2])
    crossing = (struts[:, 1] >= 0).astype(np.intp)
    position, velocity = (one.reshape(len(one), one.shape[1] * one.shape[2] * LANES) for one in eye)
    _tabulate(
        entries,
        np.column_stack([struts[:, 0], far, crossing]),
        *pairs,
        *tree,
        position,
        velocity,
        rod.reshape(blocks, 17 * LANES),
        ends.reshape(len(ends), blocks, 9 * LANES),
        given,
        table,
    )
    return table.reshape(blocks, rows, LANES)


@compiled
def _tabulate(
    entries: Indices,
    struts: Indices,
    left: Indices,
    right: Indices,
    parent: Indices,
    step: Array,
    eye: Array,
    eye_rate: Array,
    rod: Array,
    levers: Array,
    given: Array,
    table: Array,
) -> None:
    states = len(parent)
    turns, loop = np.empty(states * TURN), np.empty(states * LOOP)
    near, far = np.empty(states * END), np.empty(states * END)
    static, angles = np.empty(2 * LANES), np.empty(2 * LANES)
    for b in range(len(table)):
        own = b if len(eye) > 1 else 0
        close_turns(states, eye[own], eye_rate[own], rod[b], turns, loop)
        void_beyond(parent, step, turns, loop)
        present = -1
        for n in range(len(entries)):
            kind, subject, first, count, row = entries[n, 0], entries[n, 1], entries[n, 2], entries[n, 3], entries[n, 4]
            out = table[b, row * LANES : (row + count if kind <= 6 else row + 1) * LANES]
            here, there = left[first : first + count], right[first : first + count]
            if kind <= 4:
                if subject != present:
                    present = subject
                    mirror = -1.0 if struts[subject, 2] else 1.0
                    swing_ends(states, turns, levers[struts[subject, 0], b], 1.0, near)
                    swing_ends(states, turns, levers[struts[subject, 1], b], mirror, far)
                    _signed_arms(near, far, static)
                if kind == 0:
                    _lengths(here, there, near, far, static, out)
                elif kind <= 2:
                    _ratios(-1.0 if kind == 2 else 1.0, here, there, turns, near, far, static, out)
                else:
                    _angles(kind, struts[subject, 2], here, there, near, far, rod[b], static, angles, out)
            elif kind <= 6:
                _sides(kind, here, turns, out)
            elif kind == 7:
                _top(here, turns, levers[subject, b], out)
            elif kind == 8:
                out[:] = given[subject, b]
            else:
                _extreme(kind, table[b, first * LANES : (first + count) * LANES], table[b], entries[n, 5], out)


@compiled
def _record(ends: Array, k: int) -> Array:
    """The record of an end at a side state: as an array of its own its places are known not to wrap around."""
    return ends[k * END : (k + 1) * END]


@compiled
def _signed_arms(near: Array, far: Array, static: Array) -> None:
    """The strut's signed arms at static, times its length: l . g of the near end, and -l . g of the far one."""
    for i in range(LANES):
        lx, ly, lz = far[X + i] - near[X + i], far[Y + i] - near[Y + i], far[Z + i] - near[Z + i]
        static[i] = lx * near[POINT + X + i] + ly * near[POINT + Y + i] + lz * near[POINT + Z + i]
        static[FAR + i] = -lx * far[POINT + X + i] - ly * far[POINT + Y + i] - lz * far[POINT + Z + i]


@compiled
def _lengths(here: Indices, there: Indices, near: Array, far: Array, static: Array, out: Array) -> None:
    for q in range(len(here)):
        one, other, row = _record(near, here[q]), _record(far, there[q]), out[q * LANES : (q + 1) * LANES]
        for i in range(LANES):
            lx = other[X + i] - one[X + i]
            ly = other[Y + i] - one[Y + i]
            lz = other[Z + i] - one[Z + i]
            pull = lx * one[POINT + X + i] + ly * one[POINT + Y + i] + lz * one[POINT + Z + i]
            far_pull = -lx * other[POINT + X + i] - ly * other[POINT + Y + i] - lz * other[POINT + Z + i]
            crossed = (pull * static[i] < 0.0) | (far_pull * static[FAR + i] < 0.0)
            row[i] = math.nan if crossed else math.sqrt(lx * lx + ly * ly + lz * lz)


@compiled
def _ratios(
    sign: float, here: Indices, there: Indices, turns: Array, near: Array, far: Array, static: Array, out: Array
) -> None:
    """d compression / d travel of both wheels, the right one's counted by `sign`."""
    for q in range(len(here)):
        one, other, row = _record(near, here[q]), _record(far, there[q]), out[q * LANES : (q + 1) * LANES]
        rate = turns[here[q] * TURN + RATE : here[q] * TURN + RATE + LANES]
        far_rate = turns[there[q] * TURN + RATE : there[q] * TURN + RATE + LANES]
        for i in range(LANES):
            lx = other[X + i] - one[X + i]
            ly = other[Y + i] - one[Y + i]
            lz = other[Z + i] - one[Z + i]
            pull = lx * one[POINT + X + i] + ly * one[POINT + Y + i] + lz * one[POINT + Z + i]
            far_pull = -lx * other[POINT + X + i] - ly * other[POINT + Y + i] - lz * other[POINT + Z + i]
            crossed = (pull * static[i] < 0.0) | (far_pull * static[FAR + i] < 0.0)
            work = pull * rate[i] + sign * far_pull * far_rate[i]
            row[i] = math.nan if crossed else work / math.sqrt(lx * lx + ly * ly + lz * lz)


@compiled
def _angles(
    kind: int,
    crossing: int,
    here: Indices,
    there: Indices,
    near: Array,
    far: Array,
    rod: Array,
    static: Array,
    angles: Array,
    out: Array,
) -> None:
    """Transmission or tilt at the worse end [deg], NaN where an arm has changed sign."""
    own, its = angles[:LANES], angles[LANES:]
    for q in range(len(here)):
        one, other, row = _record(near, here[q]), _record(far, there[q]), out[q * LANES : (q + 1) * LANES]
        _angle(kind, one, other, one, 1.0, rod, own)
        _angle(kind, one, other, other, -1.0, rod, its)
        for i in range(LANES):
            lx = other[X + i] - one[X + i]
            ly = other[Y + i] - one[Y + i]
            lz = other[Z + i] - one[Z + i]
            pull = lx * one[POINT + X + i] + ly * one[POINT + Y + i] + lz * one[POINT + Z + i]
            far_pull = -lx * other[POINT + X + i] - ly * other[POINT + Y + i] - lz * other[POINT + Z + i]
            crossed = (pull * static[i] < 0.0) | (far_pull * static[FAR + i] < 0.0)
            worse = min(own[i], its[i]) if kind == 3 else max(own[i], its[i])
            row[i] = math.nan if crossed else worse if crossing else own[i]


@compiled
def _angle(
    kind: int,
    one: Array,
    other: Array,
    end: Array,
    mirror: float,
    rod: Array,
    out: Array,
) -> None:
    """Transmission (kind 3) or tilt of a strut at an end with a x r = g, as in `geometry.angles` [deg].

    At the far end, mirrored, the axis is the mirrored one: (a_x, -a_y, a_z), up to its sign, which no angle sees.
    """
    for i in range(LANES):
        lx = other[X + i] - one[X + i]
        ly = other[Y + i] - one[Y + i]
        lz = other[Z + i] - one[Z + i]
        gx, gy, gz = end[POINT + X + i], end[POINT + Y + i], end[POINT + Z + i]
        ax, ay, az = rod[AXIS + X + i], mirror * rod[AXIS + Y + i], rod[AXIS + Z + i]
        level = gx * (ay * lz - az * ly) + gy * (az * lx - ax * lz) + gz * (ax * ly - ay * lx)
        along = lx * ax + ly * ay + lz * az
        px, py, pz = lx - along * ax, ly - along * ay, lz - along * az
        up = abs(gx * lx + gy * ly + gz * lz) if kind == 3 else abs(along)
        out[i] = _arc(up, abs(level) if kind == 3 else math.sqrt(px * px + py * py + pz * pz))


@compiled
def _sides(kind: int, sides: Indices, turns: Array, out: Array) -> None:
    for q in range(len(sides)):
        turn, row = turns[sides[q] * TURN : (sides[q] + 1) * TURN], out[q * LANES : (q + 1) * LANES]
        if kind == 5:
            for i in range(LANES):
                row[i] = _arc(abs(turn[ARM + i]), abs(turn[ALONG + i]))
        else:
            for i in range(LANES):
                row[i] = DEGREES * math.atan2(turn[SIN + i], turn[COS + i])


@compiled
def _arc(up: float, across: float) -> float:
    """The angle whose tangent is up / across, neither below 0 [deg]: a library's own cannot be had in vectors.

    By the rational approximation of S. L. Moshier, Methods and Programs for Mathematical Functions, 1989 (Cephes,
    atan.c), to 2e-16 rad of it.
    """
    steep = across < up
    small, large = (across, up) if steep else (up, across)
    ratio = small / large
    turned = ratio > 0.66
    x = (ratio - 1.0 if turned else ratio) / (ratio + 1.0 if turned else 1.0)
    z = x * x
    above = (
        (((-8.750608600031904122785e-1 * z - 1.615753718733365076637e1) * z - 7.500855792314704667340e1) * z)
        - 1.228866684490136173410e2
    ) * z - 6.485021904942025371773e1
    below = ((z + 2.485846490142306297962e1) * z + 1.650270098316988542046e2) * z + 4.328810604912902668951e2
    below = (below * z + 4.853903996359136964868e2) * z + 1.945506571482613964425e2
    angle = x + x * z * above / below + (0.25 * math.pi if turned else 0.0)
    return DEGREES * (0.5 * math.pi - angle if steep else angle)


@compiled
def _top(sides: Indices, turns: Array, lever: Array, out: Array) -> None:
    for i in range(LANES):
        out[i] = -math.inf
    for k in sides:
        turn = turns[k * TURN : (k + 1) * TURN]
        for i in range(LANES):
            z = lever[Z + i] + turn[COS + i] * lever[U + Z + i] + turn[SIN + i] * lever[W + Z + i]
            out[i] = z if (z > out[i]) | math.isnan(z) else out[i]


@compiled
def _extreme(kind: int, rows: Array, table: Array, other: int, out: Array) -> None:
    sign, base = -1.0 if kind == 11 else 1.0, table[other * LANES : (other + 1) * LANES]
    for i in range(LANES):
        out[i] = -math.inf
    for at in range(0, len(rows), LANES):
        row = rows[at : at + LANES]
        for i in range(LANES):
            value = abs(base[i] - row[i]) if kind == 9 else sign * row[i]
            out[i] = value if (value > out[i]) | math.isnan(value) else out[i]
    for i in range(LANES):
        out[i] *= sign
