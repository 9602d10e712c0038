"""Distances of one pair of bodies, compiled; `geometry.clearance` is this module's slow twin.

Points and boxes are given number by number: so they stay in registers.
"""

import math

from geometry.arrays import Array
from geometry.compiled import compiled

NEARLY_PARALLEL = 1e-15
"""Two segments count as parallel where the squared sine of their angle is below this."""
HALVINGS = 52


@compiled
def apart(
    px: float,
    py: float,
    pz: float,
    qx: float,
    qy: float,
    qz: float,
    rx: float,
    ry: float,
    rz: float,
    sx: float,
    sy: float,
    sz: float,
    way: Array,
) -> float:
    """Distance of the segments p q and r s [mm], either of which may have no length; `way` (3,) from r s to p q.

    C. Ericson, Real-Time Collision Detection, 2005, 5.1.9, from memory.
    """
    dx, dy, dz = qx - px, qy - py, qz - pz
    ex, ey, ez = sx - rx, sy - ry, sz - rz
    wx, wy, wz = px - rx, py - ry, pz - rz
    a, e = dx * dx + dy * dy + dz * dz, ex * ex + ey * ey + ez * ez
    b, c, f = dx * ex + dy * ey + dz * ez, dx * wx + dy * wy + dz * wz, ex * wx + ey * wy + ez * wz
    flat = a * e - b * b
    s = min(max((b * f - c * e) / flat, 0.0), 1.0) if flat > NEARLY_PARALLEL * a * e else 0.0
    t = (b * s + f) / e if e > 0.0 else 0.0
    if t < 0.0 or e == 0.0:
        t = 0.0
        s = min(max(-c / a, 0.0), 1.0) if a > 0.0 else 0.0
    elif t > 1.0:
        t = 1.0
        s = min(max((b - c) / a, 0.0), 1.0) if a > 0.0 else 0.0
    way[0], way[1], way[2] = wx + s * dx - t * ex, wy + s * dy - t * ey, wz + s * dz - t * ez
    return math.sqrt(way[0] * way[0] + way[1] * way[1] + way[2] * way[2])


@compiled
def beyond(x: float, low: float, high: float) -> float:
    """How far a number lies above `high`, or, negative, below `low`."""
    return x - high if x > high else x - low if x < low else 0.0


@compiled
def box_apart(
    px: float,
    py: float,
    pz: float,
    qx: float,
    qy: float,
    qz: float,
    lx: float,
    ly: float,
    lz: float,
    hx: float,
    hy: float,
    hz: float,
    way: Array,
) -> float:
    """Distance of the segment p q from the box between l and h [mm], 0 where they meet; `way` (3,) from the box."""
    dx, dy, dz = qx - px, qy - py, qz - pz
    start, end = 0.0, 1.0
    for k in range(6):
        along = dx if k < 2 else dy if k < 4 else dz
        if along == 0.0:
            continue
        side = (
            (hx if k == 1 else lx) - px
            if k < 2
            else (hy if k == 3 else ly) - py
            if k < 4
            else (hz if k == 5 else lz) - pz
        )
        t = side / along
        if t <= start or t >= end:
            continue
        slope = beyond(px + t * dx, lx, hx) * dx + beyond(py + t * dy, ly, hy) * dy + beyond(pz + t * dz, lz, hz) * dz
        if slope <= 0.0:
            start = t
        else:
            end = t
    begin = (
        beyond(px + start * dx, lx, hx) * dx
        + beyond(py + start * dy, ly, hy) * dy
        + beyond(pz + start * dz, lz, hz) * dz
    )
    last = beyond(px + end * dx, lx, hx) * dx + beyond(py + end * dy, ly, hy) * dy + beyond(pz + end * dz, lz, hz) * dz
    t = start
    if last < 0.0:
        t = end
    elif begin < 0.0:
        t = start - begin * (end - start) / (last - begin)
    way[0], way[1], way[2] = beyond(px + t * dx, lx, hx), beyond(py + t * dy, ly, hy), beyond(pz + t * dz, lz, hz)
    return math.sqrt(way[0] * way[0] + way[1] * way[1] + way[2] * way[2])


@compiled
def wheel_apart(
    px: float,
    py: float,
    pz: float,
    qx: float,
    qy: float,
    qz: float,
    cx: float,
    cy: float,
    cz: float,
    ax: float,
    ay: float,
    az: float,
    radius: float,
    half: float,
    way: Array,
) -> float:
    """Distance of the segment p q from a cylinder about c with the unit axis a, `half` wide to either side [mm].

    0 where they meet; `way` (3,) from the cylinder. The lowest place of a convex function is found by halving.
    """
    dx, dy, dz = qx - px, qy - py, qz - pz
    mx, my, mz = px - cx, py - cy, pz - cz
    along0, along1 = mx * ax + my * ay + mz * az, dx * ax + dy * ay + dz * az
    ux, uy, uz = mx - along0 * ax, my - along0 * ay, mz - along0 * az
    vx, vy, vz = dx - along1 * ax, dy - along1 * ay, dz - along1 * az
    uu, uv, vv = ux * ux + uy * uy + uz * uz, ux * vx + uy * vy + uz * vz, vx * vx + vy * vy + vz * vz
    start, end = 0.0, 1.0
    for _ in range(HALVINGS):
        t = 0.5 * (start + end)
        out = math.sqrt(max(uu + t * (2.0 * uv + t * vv), 0.0))
        slope = beyond(along0 + t * along1, -half, half) * along1
        slope += (out - radius) * (uv + t * vv) / out if out > radius else 0.0
        if slope <= 0.0:
            start = t
        else:
            end = t
    t = 0.5 * (start + end)
    over = beyond(along0 + t * along1, -half, half)
    out = math.sqrt(max(uu + t * (2.0 * uv + t * vv), 0.0))
    share = (out - radius) / out if out > radius else 0.0
    way[0] = over * ax + share * (ux + t * vx)
    way[1] = over * ay + share * (uy + t * vy)
    way[2] = over * az + share * (uz + t * vz)
    return math.sqrt(way[0] * way[0] + way[1] * way[1] + way[2] * way[2])


@compiled
def wheel_box_apart(
    cx: float,
    cy: float,
    cz: float,
    ax: float,
    ay: float,
    az: float,
    radius: float,
    half: float,
    lx: float,
    ly: float,
    lz: float,
    hx: float,
    hy: float,
    hz: float,
    way: Array,
) -> float:
    """Distance of the same cylinder from the box between l and h [mm]; at most 0 where they meet.

    `way` (3,) from the nearest of the box's edges.
    """
    found, gx, gy, gz = math.inf, 0.0, 0.0, 0.0
    for k in range(12):
        x, y, z = hx if k & 1 else lx, hy if k & 1 else ly, hz if k & 2 else lz
        y = y if k < 8 else hy if k & 2 else ly
        u, v, w = lx if k < 4 else x, ly if 4 <= k < 8 else y, lz if k >= 8 else z
        x, y, z = hx if k < 4 else x, hy if 4 <= k < 8 else y, hz if k >= 8 else z
        away = wheel_apart(u, v, w, x, y, z, cx, cy, cz, ax, ay, az, radius, half, way)
        if away < found:
            found, gx, gy, gz = away, -way[0], -way[1], -way[2]
    way[0], way[1], way[2] = gx, gy, gz
    found = min(found, _over_face(cx, cy, cz, ax, ay, az, radius, half, lx, hx, ly, hy, lz, hz))
    found = min(found, _over_face(cy, cz, cx, ay, az, ax, radius, half, ly, hy, lz, hz, lx, hx))
    return min(found, _over_face(cz, cx, cy, az, ax, ay, radius, half, lz, hz, lx, hx, ly, hy))


@compiled
def _over_face(
    cx: float,
    cy: float,
    cz: float,
    ax: float,
    ay: float,
    az: float,
    radius: float,
    half: float,
    lx: float,
    hx: float,
    ly: float,
    hy: float,
    lz: float,
    hz: float,
) -> float:
    """Height of the cylinder's lowest point over either face square to the first axis, where it is over that face."""
    flat = 1.0 - ax * ax
    out = math.sqrt(max(flat, 0.0))
    share = radius / out if out > 1e-12 else 0.0
    end = half if ax > 0.0 else -half if ax < 0.0 else 0.0
    found = math.inf
    for sign in (-1.0, 1.0):
        x = cx - sign * end * ax - sign * share * flat
        y = cy - sign * end * ay + sign * share * ax * ay
        z = cz - sign * end * az + sign * share * ax * az
        over = x - hx if sign > 0.0 else lx - x
        if ly <= y <= hy and lz <= z <= hz and over >= lx - hx:
            found = min(found, over)
    return found
