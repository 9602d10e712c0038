"""How far solid bodies are apart: straight segments, boxes along the axes, and cylinders, in closed form.

A capsule is all that lies within its radius of a segment: its clearance from another body is the distance of the
segment less the radius (less both radii, of two capsules), negative where they overlap. Every function broadcasts.
`geometry.clearance_compiled` holds the same for one pair at a time.

| symbol | meaning | shape | unit |
|---|---|---|---|
| p, q | a segment's first and last point | (..., 3) | mm |
| d | q - p | (..., 3) | mm |
| t | share of the way from p to q | (...) | - |
"""

from itertools import product

import numpy as np

from geometry.arrays import Array, dot, norm, unit

HALVINGS = 54
"""Halvings of a segment that find a point of it to rounding."""


def segment_segment(p: Array, q: Array, p2: Array, q2: Array) -> Array:
    """Distance (...) [mm] of two segments, which may have no length.

    The least of five: of the points where both lines come closest, where these lie on the segments, and of each end
    from the other segment; see C. Ericson, Real-Time Collision Detection, 2005, 5.1.9, from memory. So two parallel
    segments need no case of their own.
    """
    d, e, r = q - p, q2 - p2, p - p2
    a, b, c = dot(d, d), dot(d, e), dot(e, e)
    with np.errstate(invalid="ignore", divide="ignore"):
        flat = a * c - b * b
        s, t = (b * dot(e, r) - c * dot(d, r)) / flat, (a * dot(e, r) - b * dot(d, r)) / flat
    within = (s >= 0.0) & (s <= 1.0) & (t >= 0.0) & (t <= 1.0)
    between = norm(r + np.where(within, s, 0.0)[..., None] * d - np.where(within, t, 0.0)[..., None] * e)
    ends = (point_segment(p, p2, q2), point_segment(q, p2, q2), point_segment(p2, p, q), point_segment(q2, p, q))
    least = np.minimum(np.minimum(ends[0], ends[1]), np.minimum(ends[2], ends[3]))
    return np.minimum(between, least)


def point_segment(point: Array, p: Array, q: Array) -> Array:
    """Distance (...) [mm] of a point (..., 3) from a segment."""
    d = q - p
    length2 = dot(d, d)
    t = np.clip(dot(point - p, d) / np.where(length2 > 0.0, length2, 1.0), 0.0, 1.0)
    return norm(point - p - t[..., None] * d)


def segment_box(p: Array, q: Array, low: Array, high: Array) -> Array:
    """Distance (...) [mm] of a segment from a box along the axes between `low` and `high` (..., 3); 0 where they meet.

    Half of the squared distance has a slope that only grows along the segment and is straight between the six places
    where a coordinate enters or leaves the box: the bracket of its zero is narrowed by these, then cut in a straight
    line.
    """
    d = q - p
    with np.errstate(invalid="ignore", divide="ignore"):
        breaks = np.concatenate([(low - p) / d, (high - p) / d], axis=-1)
    breaks = np.clip(np.nan_to_num(breaks, nan=0.0, posinf=0.0, neginf=0.0), 0.0, 1.0)
    start = np.zeros(breaks.shape[:-1])
    end = np.ones_like(start)
    for k in range(breaks.shape[-1]):
        t = np.clip(breaks[..., k], start, end)
        falls = dot(_beyond_box(p + t[..., None] * d, low, high), d) <= 0.0
        start, end = np.where(falls, t, start), np.where(falls, end, t)
    slopes = [dot(_beyond_box(p + t[..., None] * d, low, high), d) for t in (start, end)]
    rise = slopes[1] - slopes[0]
    share = np.clip(-slopes[0] / np.where(rise > 0.0, rise, 1.0), 0.0, 1.0)
    t = np.where(slopes[1] < 0.0, end, start + share * (end - start))
    return norm(_beyond_box(p + t[..., None] * d, low, high))


def segment_cylinder(p: Array, q: Array, centre: Array, axis: Array, radius: Array, width: Array) -> Array:
    """Distance (...) [mm] of a segment from a solid cylinder with flat ends; 0 where they meet.

    `centre` (..., 3) is its middle, `axis` (..., 3) a unit vector; `radius`, `width` (...) [mm]. Along the segment the
    distance from a convex body is convex: its lowest place is found by halving.
    """
    d = q - p
    start = np.zeros(np.broadcast_shapes(p.shape, q.shape, centre.shape, axis.shape)[:-1])
    end = np.ones_like(start)
    for _ in range(HALVINGS):
        t = 0.5 * (start + end)
        falls = dot(_beyond_cylinder(p + t[..., None] * d - centre, axis, radius, width), d) <= 0.0
        start, end = np.where(falls, t, start), np.where(falls, end, t)
    t = 0.5 * (start + end)
    return norm(_beyond_cylinder(p + t[..., None] * d - centre, axis, radius, width))


def cylinder_box(centre: Array, axis: Array, radius: Array, width: Array, low: Array, high: Array) -> Array:
    """Distance (...) [mm] of a solid cylinder with flat ends from a box along the axes, at most 0 where they meet.

    The closest point of the box lies on one of its twelve edges, or within one of its six faces: then straight below
    the cylinder's lowest point over that face. Where that point lies in the box, it is how deep; where edges alone
    meet the cylinder, 0.
    """
    found = np.full(np.broadcast_shapes(centre.shape, axis.shape, low.shape)[:-1], np.inf)
    for along in range(3):
        a, b = (k for k in range(3) if k != along)
        for first, second in product((low, high), repeat=2):
            p, q = np.array(np.broadcast_to(low, low.shape)), np.array(np.broadcast_to(high, high.shape))
            p[..., a] = q[..., a] = first[..., a]
            p[..., b] = q[..., b] = second[..., b]
            found = np.minimum(found, segment_cylinder(p, q, centre, axis, radius, width))
        for sign, face in ((-1.0, low), (1.0, high)):
            normal = np.zeros(3)
            normal[along] = sign
            lowest = _lowest(centre, axis, radius, width, normal)
            over = sign * (lowest[..., along] - face[..., along])
            inside = [(lowest[..., k] >= low[..., k]) & (lowest[..., k] <= high[..., k]) for k in (a, b)]
            counts = inside[0] & inside[1] & (over >= low[..., along] - high[..., along])
            found = np.where(counts, np.minimum(found, over), found)
    return found


def overstep(point: Array, low: Array, high: Array) -> Array:
    """How far (...) [mm] a point (..., 3) is outside of bounds (..., 3), by its worst coordinate; negative inside.

    Infinite bounds bound nothing.
    """
    return np.asarray(np.maximum(low - point, point - high).max(axis=-1))


def _beyond_box(point: Array, low: Array, high: Array) -> Array:
    """From the nearest point of the box to a point (..., 3); 0 inside."""
    return point - np.clip(point, low, high)


def _beyond_cylinder(point: Array, axis: Array, radius: Array, width: Array) -> Array:
    """From the nearest point of the cylinder to a point given from its middle (..., 3); 0 inside."""
    along = dot(point, axis)
    across = point - along[..., None] * axis
    out = norm(across)
    over = along - np.clip(along, -0.5 * width, 0.5 * width)
    share = np.where(out > radius, (out - radius) / np.where(out > 0.0, out, 1.0), 0.0)
    return np.asarray(over[..., None] * axis + share[..., None] * across)


def _lowest(centre: Array, axis: Array, radius: Array, width: Array, normal: Array) -> Array:
    """The cylinder's point that lies furthest against `normal` (..., 3)."""
    along = dot(axis, normal)
    across = normal - along[..., None] * axis
    inward = np.where(norm(across)[..., None] > 1e-12, unit(np.where(across == 0.0, 1e-300, across)), 0.0)
    half = (0.5 * width * np.sign(along))[..., None]
    return np.asarray(centre - half * axis - np.asarray(radius)[..., None] * inward)
