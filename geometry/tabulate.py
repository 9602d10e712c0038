"""One compiled pass over a batch of axles: every number that a search asks for, in a table.

`geometry.motion` computes what is asked of it step by step, for any batch; each step is a pass over memory. A search
asks the same few hundred numbers of millions of axles: here they are computed block by block of `LANES` candidates,
from the rocker's loop to the last length, before the next block is touched. The formulas are those of
`geometry.rocker`, `geometry.strut` and `geometry.angles`, which are this module's slow twin.

| symbol | meaning | array | unit |
|---|---|---|---|
| b, i | block, lane | | |
| k | side state | K of them | |
| c, s | cosine and sine of the rocker's turn | turns[0], turns[1] | - |
| rate | d turn / d wheel travel | turns[2] | rad/mm |
| arm, along | a . (r x e), r . e of the rod arm r and the line e from its end to the eye | turns[3], turns[4] | mm^2 |
| T | the table | (blocks, rows, LANES) | |
"""

import math
from enum import IntEnum

import numpy as np

from geometry.arrays import Array, Indices
from geometry.compiled import compiled
from geometry.lanes import LANES


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
    table = np.empty((len(rod), rows, LANES))
    _tabulate(entries, struts, *pairs, *tree, *eye, rod, levers, chassis, given, table)
    return table


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
    chassis: Array,
    given: Array,
    table: Array,
) -> None:
    blocks, _, lanes = table.shape
    turns = np.empty((5, len(parent), lanes))
    loop = np.empty((3, len(parent), lanes))
    static = np.empty((2, lanes))
    for b in range(blocks):
        own = b if len(eye) > 1 else 0
        _turn(eye[own], eye_rate[own], rod[b], turns, loop)
        _forbid(parent, step, turns, loop)
        for n in range(len(entries)):
            kind, subject, first, count, row = entries[n, 0], entries[n, 1], entries[n, 2], entries[n, 3], entries[n, 4]
            if kind <= 4:
                near, far, fixed = struts[subject, 0], struts[subject, 1], struts[subject, 2]
                mirror = -1.0 if far >= 0 else 1.0
                end = levers[far, b] if far >= 0 else chassis[fixed, b]
                for q in range(-1, count):
                    here = left[first + q] if q >= 0 else 0
                    there = right[first + q] if q >= 0 else 0
                    _strut(kind, q, here, there, mirror, turns, levers[near, b], end, rod[b], static, table[b, row + q])
            elif kind <= 6:
                for q in range(count):
                    _side(kind, left[first + q], turns, table[b, row + q])
            elif kind == 7:
                _top(left[first : first + count], turns, levers[subject, b], table[b, row])
            elif kind == 8:
                for i in range(lanes):
                    table[b, row, i] = given[subject, b, i]
            else:
                _extreme(kind, first, count, entries[n, 5], table[b], table[b, row])


@compiled
def _turn(eye: Array, eye_rate: Array, rod: Array, turns: Array, loop: Array) -> None:
    """Close the loop at every side state: `turns`, and in `loop` its reserve and the reserve's two slopes."""
    for k in range(eye.shape[0]):
        for i in range(eye.shape[2]):
            x0, y0, z0 = rod[3, i], rod[4, i], rod[5, i]
            x1, y1, z1 = rod[6, i], rod[7, i], rod[8, i]
            radius = rod[12, i]
            dx, dy, dz = eye[k, 0, i] - rod[0, i], eye[k, 1, i] - rod[1, i], eye[k, 2, i] - rod[2, i]
            level = 2.0 * radius * (dx * x0 + dy * y0 + dz * z0)
            rise = 2.0 * radius * (dx * x1 + dy * y1 + dz * z1)
            rest = dx * dx + dy * dy + dz * dz + radius * radius - rod[15, i]
            square = level * level + rise * rise
            root = rod[16, i] * math.sqrt(square - rest * rest)
            c, s = (level * rest - rise * root) / square, (rise * rest + level * root) / square
            turns[0, k, i] = c * rod[13, i] + s * rod[14, i]
            turns[1, k, i] = s * rod[13, i] - c * rod[14, i]
            turns[3, k, i] = -0.5 * root
            turns[4, k, i] = 0.5 * rest - radius * radius
            ex, ey = dx - radius * (c * x0 + s * x1), dy - radius * (c * y0 + s * y1)
            ez = dz - radius * (c * z0 + s * z1)
            turns[2, k, i] = -2.0 * (ex * eye_rate[k, 0, i] + ey * eye_rate[k, 2, i] + ez * eye_rate[k, 4, i]) / root
            loop[0, k, i] = 1.0 - rest * rest / square
            for j in range(2):
                vx, vy, vz = eye_rate[k, j, i], eye_rate[k, 2 + j, i], eye_rate[k, 4 + j, i]
                level_rate = 2.0 * radius * (vx * x0 + vy * y0 + vz * z0)
                rise_rate = 2.0 * radius * (vx * x1 + vy * y1 + vz * z1)
                change = 2.0 * (dx * vx + dy * vy + dz * vz) * square - rest * (level * level_rate + rise * rise_rate)
                loop[1 + j, k, i] = -2.0 * rest * change / (square * square)


@compiled
def _forbid(parent: Indices, step: Array, turns: Array, loop: Array) -> None:
    """NaN for the turns at states that lie beyond an open loop, as in `geometry.rocker.opens_between`."""
    for k in range(1, len(parent)):
        p = parent[k]
        for i in range(loop.shape[2]):
            low, high = loop[0, p, i], loop[0, k, i]
            begin = loop[1, p, i] * step[k, 0] + loop[2, p, i] * step[k, 1]
            end = loop[1, k, i] * step[k, 0] + loop[2, k, i] * step[k, 1]
            a, b = 2.0 * (low - high) + begin + end, 3.0 * (high - low) - 2.0 * begin - end
            t = -begin / (b + math.sqrt(b * b - 3.0 * a * begin))
            dips = begin < 0.0 < end and low + t * (begin + t * (b + t * a)) < 0.0
            if dips or math.isnan(turns[0, p, i]):
                for j in range(5):
                    turns[j, k, i] = math.nan


@compiled
def _strut(
    kind: int,
    q: int,
    here: int,
    there: int,
    mirror: float,
    turns: Array,
    near: Array,
    far: Array,
    rod: Array,
    static: Array,
    out: Array,
) -> None:
    """One number of a strut at one pair; `q` = -1 stands for static and keeps its signed arms in `static` alone."""
    turning = far.shape[0] > 3
    for i in range(near.shape[1]):
        c, s = turns[0, here, i], turns[1, here, i]
        fc, fs = turns[0, there, i], turns[1, there, i]
        x, y, z, hx, hy, hz = far[0, i], far[1, i], far[2, i], 0.0, 0.0, 0.0
        if turning:
            x += fc * far[3, i] + fs * far[6, i]
            y += fc * far[4, i] + fs * far[7, i]
            z += fc * far[5, i] + fs * far[8, i]
            hx, hy, hz = (
                fc * far[6, i] - fs * far[3, i],
                fc * far[7, i] - fs * far[4, i],
                fc * far[8, i] - fs * far[5, i],
            )
        lx = x - near[0, i] - c * near[3, i] - s * near[6, i]
        ly = mirror * y - near[1, i] - c * near[4, i] - s * near[7, i]
        lz = z - near[2, i] - c * near[5, i] - s * near[8, i]
        gx, gy, gz = c * near[6, i] - s * near[3, i], c * near[7, i] - s * near[4, i], c * near[8, i] - s * near[5, i]
        length = math.sqrt(lx * lx + ly * ly + lz * lz)
        pull, far_pull = (lx * gx + ly * gy + lz * gz) / length, -(lx * hx + mirror * ly * hy + lz * hz) / length
        if q < 0:
            static[0, i], static[1, i] = pull, far_pull
            continue
        value = length
        if kind == 1:
            value = pull * turns[2, here, i] + far_pull * turns[2, there, i]
        elif kind == 2:
            value = pull * turns[2, here, i] - far_pull * turns[2, there, i]
        elif kind >= 3:
            value = _angle(kind, lx, ly, lz, gx, gy, gz, rod[9, i], rod[10, i], rod[11, i])
            if turning:
                other = _angle(kind, lx, mirror * ly, lz, hx, hy, hz, rod[9, i], rod[10, i], rod[11, i])
                value = min(value, other) if kind == 3 else max(value, other)
        crossed = pull * static[0, i] < 0.0 or far_pull * static[1, i] < 0.0
        out[i] = math.nan if crossed else value


@compiled
def _angle(
    kind: int,
    lx: float,
    ly: float,
    lz: float,
    gx: float,
    gy: float,
    gz: float,
    ax: float,
    ay: float,
    az: float,
) -> float:
    """Transmission (kind 3) or tilt of a line l at an end with a x r = g, as in `geometry.angles` [deg]."""
    if kind == 3:
        level = gx * (ay * lz - az * ly) + gy * (az * lx - ax * lz) + gz * (ax * ly - ay * lx)
        return DEGREES * math.atan2(abs(gx * lx + gy * ly + gz * lz), abs(level))
    along = lx * ax + ly * ay + lz * az
    px, py, pz = lx - along * ax, ly - along * ay, lz - along * az
    return DEGREES * math.atan2(abs(along), math.sqrt(px * px + py * py + pz * pz))


@compiled
def _side(kind: int, k: int, turns: Array, out: Array) -> None:
    for i in range(turns.shape[2]):
        if kind == 5:
            out[i] = DEGREES * math.atan2(abs(turns[3, k, i]), abs(turns[4, k, i]))
        else:
            out[i] = DEGREES * math.atan2(turns[1, k, i], turns[0, k, i])


@compiled
def _top(sides: Indices, turns: Array, lever: Array, out: Array) -> None:
    for i in range(turns.shape[2]):
        out[i] = -math.inf
    for k in sides:
        for i in range(turns.shape[2]):
            z = lever[2, i] + turns[0, k, i] * lever[5, i] + turns[1, k, i] * lever[8, i]
            out[i] = z if z > out[i] or math.isnan(z) else out[i]


@compiled
def _extreme(kind: int, first: int, count: int, other: int, table: Array, out: Array) -> None:
    for i in range(table.shape[1]):
        out[i] = -math.inf
    for q in range(first, first + count):
        for i in range(table.shape[1]):
            value = table[q, i]
            if kind == 9:
                value = abs(table[other, i] - value)
            elif kind == 11:
                value = -value
            out[i] = value if value > out[i] or math.isnan(value) else out[i]
    if kind == 11:
        for i in range(table.shape[1]):
            out[i] = -out[i]
