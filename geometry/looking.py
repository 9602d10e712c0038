"""Two bodies at many states at once, compiled.

Formulas are those of `geometry.clearance_compiled`, without branches, so that a compiler makes vectors of them. Ends of
bodies are (3, S): coordinates, at S states; `out` (S,) becomes their clearance [mm].
"""

import math

from geometry.arrays import Array
from geometry.clearance_compiled import HALVINGS, NEARLY_PARALLEL, wheel_box_apart
from geometry.compiled import compiled

NO_LENGTH = 1e-30
"""Squares of lengths below this are taken as so much [mm2]."""


@compiled
def look_at_capsules(
    p: Array, q: Array, r: Array, s: Array, f: float, g: float, h: float, k: float, radii: float, out: Array
) -> None:
    """Clearance of two capsules; `f`, `g` are the shares left out of the first at its ends, `h`, `k` of the second."""
    own, its = 1.0 - f - g, 1.0 - h - k
    for i in range(len(out)):
        dx, dy, dz = q[0, i] - p[0, i], q[1, i] - p[1, i], q[2, i] - p[2, i]
        ex, ey, ez = s[0, i] - r[0, i], s[1, i] - r[1, i], s[2, i] - r[2, i]
        wx = p[0, i] - r[0, i] + f * dx - h * ex
        wy = p[1, i] - r[1, i] + f * dy - h * ey
        wz = p[2, i] - r[2, i] + f * dz - h * ez
        dx, dy, dz, ex, ey, ez = own * dx, own * dy, own * dz, its * ex, its * ey, its * ez
        a, e = max(dx * dx + dy * dy + dz * dz, NO_LENGTH), max(ex * ex + ey * ey + ez * ez, NO_LENGTH)
        b, c, o = dx * ex + dy * ey + dz * ez, dx * wx + dy * wy + dz * wz, ex * wx + ey * wy + ez * wz
        flat = max(a * e - b * b, NEARLY_PARALLEL * a * e)
        u = min(max((b * o - c * e) / flat, 0.0), 1.0)
        v = min(max((b * u + o) / e, 0.0), 1.0)
        u = min(max((b * v - c) / a, 0.0), 1.0)
        x, y, z = wx + u * dx - v * ex, wy + u * dy - v * ey, wz + u * dz - v * ez
        out[i] = math.sqrt(x * x + y * y + z * z) - radii


@compiled
def look_at_box(p: Array, q: Array, r: Array, s: Array, radius: float, out: Array) -> None:
    """Clearance of a capsule from the box between r and s."""
    px, py, pz, qx, qy, qz = p[0], p[1], p[2], q[0], q[1], q[2]
    lx, ly, lz, hx, hy, hz = r[0, 0], r[1, 0], r[2, 0], s[0, 0], s[1, 0], s[2, 0]
    for i in range(len(out)):
        x, y, z = px[i], py[i], pz[i]
        dx, dy, dz = qx[i] - x, qy[i] - y, qz[i] - z
        start, end = 0.0, 1.0
        for k in range(6):
            along = dx if k < 2 else dy if k < 4 else dz
            low = lx - x if k < 2 else ly - y if k < 4 else lz - z
            high = hx - x if k < 2 else hy - y if k < 4 else hz - z
            t = (high if k & 1 else low) / (along if abs(along) > NO_LENGTH else NO_LENGTH)
            t = min(max(t, start), end)
            slope = _out(x + t * dx, lx, hx) * dx + _out(y + t * dy, ly, hy) * dy + _out(z + t * dz, lz, hz) * dz
            start, end = (t if slope <= 0.0 else start), (end if slope <= 0.0 else t)
        first = (
            _out(x + start * dx, lx, hx) * dx + _out(y + start * dy, ly, hy) * dy + _out(z + start * dz, lz, hz) * dz
        )
        last = _out(x + end * dx, lx, hx) * dx + _out(y + end * dy, ly, hy) * dy + _out(z + end * dz, lz, hz) * dz
        rise = last - first
        t = start - first * (end - start) / (rise if rise > 0.0 else 1.0)
        t = end if last < 0.0 else min(max(t, start), end)
        x, y, z = _out(x + t * dx, lx, hx), _out(y + t * dy, ly, hy), _out(z + t * dz, lz, hz)
        out[i] = math.sqrt(x * x + y * y + z * z) - radius


@compiled
def look_at_wheel(p: Array, q: Array, c: Array, n: Array, radius: float, wide: float, half: float, out: Array) -> None:
    """Clearance of a capsule from the wheel about c on the unit axis n, of a radius `wide`."""
    px, py, pz, qx, qy, qz = p[0], p[1], p[2], q[0], q[1], q[2]
    cx, cy, cz, nx, ny, nz = c[0], c[1], c[2], n[0], n[1], n[2]
    for i in range(len(out)):
        dx, dy, dz = qx[i] - px[i], qy[i] - py[i], qz[i] - pz[i]
        mx, my, mz = px[i] - cx[i], py[i] - cy[i], pz[i] - cz[i]
        along, by = mx * nx[i] + my * ny[i] + mz * nz[i], dx * nx[i] + dy * ny[i] + dz * nz[i]
        ux, uy, uz = mx - along * nx[i], my - along * ny[i], mz - along * nz[i]
        vx, vy, vz = dx - by * nx[i], dy - by * ny[i], dz - by * nz[i]
        uu, uv, vv = ux * ux + uy * uy + uz * uz, ux * vx + uy * vy + uz * vz, vx * vx + vy * vy + vz * vz
        start, end = 0.0, 1.0
        for _ in range(HALVINGS):
            t = 0.5 * (start + end)
            out_of = math.sqrt(max(uu + t * (2.0 * uv + t * vv), NO_LENGTH))
            slope = _out(along + t * by, -half, half) * by + max(1.0 - wide / out_of, 0.0) * (uv + t * vv)
            start, end = (t if slope <= 0.0 else start), (end if slope <= 0.0 else t)
        t = 0.5 * (start + end)
        over = _out(along + t * by, -half, half)
        rest = max(math.sqrt(max(uu + t * (2.0 * uv + t * vv), 0.0)) - wide, 0.0)
        out[i] = math.sqrt(over * over + rest * rest) - radius


@compiled
def look_at_wheel_and_box(
    c: Array, n: Array, r: Array, s: Array, wide: float, half: float, way: Array, out: Array
) -> None:
    """Clearance of the wheel from the box between r and s."""
    for i in range(len(out)):
        out[i] = wheel_box_apart(
            c[0, i],
            c[1, i],
            c[2, i],
            n[0, i],
            n[1, i],
            n[2, i],
            wide,
            half,
            r[0, i],
            r[1, i],
            r[2, i],
            s[0, i],
            s[1, i],
            s[2, i],
            way,
        )


@compiled
def _out(x: float, low: float, high: float) -> float:
    """As `beyond`, without a branch."""
    return max(x - high, 0.0) + min(x - low, 0.0)
