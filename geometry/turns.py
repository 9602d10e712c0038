"""The rocker's turn and the ends of its levers, compiled, in records of lanes: the first half of a table.

The formulas are those of `geometry.rocker`, which is this module's slow twin.

| symbol | meaning | unit |
|---|---|---|
| i, k | lane, side state | |
| turns | K records of the rocker's turn: COS, SIN; RATE by wheel travel; ARM, ALONG of the rod | - rad/mm mm^2 |
| loop | K records of the loop: RESERVE and its two slopes | - 1/mm |
| ends | K records of a strut's end: its position, and its velocity per radian | mm, mm/rad |
| level, rise, rest | coefficients of the loop equation A cos phi + B sin phi = C | mm^2 |
"""

import math

import numpy as np

from geometry.arrays import Array, Indices
from geometry.compiled import compiled
from geometry.lanes import LANES
from geometry.records import (
    ALONG,
    ARM,
    BRANCH,
    BY_RACK,
    BY_TRAVEL,
    COS,
    COS0,
    E0,
    E1,
    END,
    LOOP,
    POINT,
    RADIUS,
    RATE,
    RESERVE,
    ROD2,
    SIN,
    SIN0,
    TURN,
    U,
    W,
    X,
    Y,
    Z,
)


@compiled
def close_turns(states: int, eye: Array, eye_rate: Array, rod: Array, turns: Array, loop: Array) -> None:
    """Close the loop at every side state: `turns`, and in `loop` its reserve and the reserve's two slopes."""
    for k in range(states):
        point, v = eye[k * POINT : (k + 1) * POINT], eye_rate[k * 2 * POINT : (k + 1) * 2 * POINT]
        turn, out = turns[k * TURN : (k + 1) * TURN], loop[k * LOOP : (k + 1) * LOOP]
        for i in range(LANES):
            x0, y0, z0 = rod[E0 + X + i], rod[E0 + Y + i], rod[E0 + Z + i]
            x1, y1, z1 = rod[E1 + X + i], rod[E1 + Y + i], rod[E1 + Z + i]
            radius = rod[RADIUS + i]
            dx, dy, dz = point[X + i] - rod[X + i], point[Y + i] - rod[Y + i], point[Z + i] - rod[Z + i]
            level = 2.0 * radius * (dx * x0 + dy * y0 + dz * z0)
            rise = 2.0 * radius * (dx * x1 + dy * y1 + dz * z1)
            rest = dx * dx + dy * dy + dz * dz + radius * radius - rod[ROD2 + i]
            square = level * level + rise * rise
            share = 1.0 / square
            root = rod[BRANCH + i] * math.sqrt(square - rest * rest)
            c, s = (level * rest - rise * root) * share, (rise * rest + level * root) * share
            turn[COS + i] = c * rod[COS0 + i] + s * rod[SIN0 + i]
            turn[SIN + i] = s * rod[COS0 + i] - c * rod[SIN0 + i]
            turn[ARM + i] = -0.5 * root
            turn[ALONG + i] = 0.5 * rest - radius * radius
            vx, vy, vz = v[i], v[2 * LANES + i], v[4 * LANES + i]
            ex, ey = dx - radius * (c * x0 + s * x1), dy - radius * (c * y0 + s * y1)
            ez = dz - radius * (c * z0 + s * z1)
            turn[RATE + i] = -2.0 * (ex * vx + ey * vy + ez * vz) / root
            out[RESERVE + i] = 1.0 - rest * rest * share
            scale = -2.0 * rest * share * share
            level_rate = 2.0 * radius * (vx * x0 + vy * y0 + vz * z0)
            rise_rate = 2.0 * radius * (vx * x1 + vy * y1 + vz * z1)
            change = 2.0 * (dx * vx + dy * vy + dz * vz) * square - rest * (level * level_rate + rise * rise_rate)
            out[BY_TRAVEL + i] = scale * change
            vx, vy, vz = v[LANES + i], v[3 * LANES + i], v[5 * LANES + i]
            level_rate = 2.0 * radius * (vx * x0 + vy * y0 + vz * z0)
            rise_rate = 2.0 * radius * (vx * x1 + vy * y1 + vz * z1)
            change = 2.0 * (dx * vx + dy * vy + dz * vz) * square - rest * (level * level_rate + rise * rise_rate)
            out[BY_RACK + i] = scale * change


@compiled
def void_beyond(parent: Indices, step: Array, turns: Array, loop: Array) -> None:
    """NaN for the turns at states that lie beyond an open loop, as in `geometry.rocker.opens_between`."""
    void, slope = np.empty(LANES), np.empty(2 * LANES)
    for k in range(1, len(parent)):
        before, after = loop[parent[k] * LOOP : (parent[k] + 1) * LOOP], loop[k * LOOP : (k + 1) * LOOP]
        past, here = turns[parent[k] * TURN : (parent[k] + 1) * TURN], turns[k * TURN : (k + 1) * TURN]
        travel, rack, sinking = step[k, 0], step[k, 1], 0
        for i in range(LANES):
            slope[i] = before[BY_TRAVEL + i] * travel + before[BY_RACK + i] * rack
            slope[LANES + i] = after[BY_TRAVEL + i] * travel + after[BY_RACK + i] * rack
            sinking += (slope[i] < 0.0) & (slope[LANES + i] > 0.0)
            void[i] = 0.0 * past[COS + i]
        for i in range(LANES if sinking else 0):
            low, high, begin, end = before[RESERVE + i], after[RESERVE + i], slope[i], slope[LANES + i]
            a, b = 2.0 * (low - high) + begin + end, 3.0 * (high - low) - 2.0 * begin - end
            t = -begin / (b + math.sqrt(b * b - 3.0 * a * begin))
            dips = (begin < 0.0) & (end > 0.0) & (low + t * (begin + t * (b + t * a)) < 0.0)
            void[i] = math.nan if dips else void[i]
        for j in range(0, TURN, LANES):
            row = here[j : j + LANES]
            for i in range(LANES):
                row[i] += void[i]


@compiled
def swing_ends(states: int, turns: Array, lever: Array, mirror: float, ends: Array) -> None:
    """A lever's end at every side state, as in `geometry.rocker.swing_point`; `mirror` -1 for the right side's."""
    for k in range(states):
        turn, end = turns[k * TURN : (k + 1) * TURN], ends[k * END : (k + 1) * END]
        for i in range(LANES):
            c, s = turn[COS + i], turn[SIN + i]
            ux, uy, uz = lever[U + X + i], mirror * lever[U + Y + i], lever[U + Z + i]
            wx, wy, wz = lever[W + X + i], mirror * lever[W + Y + i], lever[W + Z + i]
            end[X + i] = lever[X + i] + c * ux + s * wx
            end[Y + i] = mirror * lever[Y + i] + c * uy + s * wy
            end[Z + i] = lever[Z + i] + c * uz + s * wz
            end[POINT + X + i] = c * wx - s * ux
            end[POINT + Y + i] = c * wy - s * uy
            end[POINT + Z + i] = c * wz - s * uz
