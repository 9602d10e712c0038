"""How near the bodies of one axle come to one another as it stands at static: no state to move to, nothing compiled."""

from collections.abc import Callable, Mapping

import numpy as np

from geometry.arrays import MIRROR_Y, Array, Indices, norm
from geometry.axle import Axle
from geometry.clearance import cylinder_box, segment_box, segment_cylinder, segment_segment
from geometry.hardpoints import Hardpoints, place
from geometry.meetings import BOX, CAPSULE, WHEEL
from objectives.envelope.bodies import Assembly, assemble
from objectives.envelope.envelope import Envelope
from objectives.envelope.room import outline, pair_name, still_point


def static_clearances(axle: Axle, envelope: Envelope) -> dict[str, float]:
    """The clearance [mm] of every pair of bodies that can meet, by its name; negative where they overlap.

    `axle` without batch axes; the rack in its middle.
    """
    assembly = assemble(outline(axle, envelope))
    bodies, ends = assembly.bodies, _ends(assembly, axle, envelope)
    least = np.full(len(assembly.pairs), np.inf)
    kinds = bodies.parts[:, 0][bodies.meetings[:, :2]]
    for kind, apart in _APART.items():
        rows = np.flatnonzero((kinds == kind).all(axis=-1))
        own, other, group = bodies.meetings[rows, :3].T
        p, q = _cut(ends[own], bodies.cuts[rows, :2])
        r, s = _cut(ends[other], bodies.cuts[rows, 2:])
        np.minimum.at(least, group, apart(p, q, r, s, bodies.girth[own], bodies.girth[other]))
    return dict(zip((pair_name(pair) for pair in assembly.pairs), least.tolist(), strict=True))


def _ends(assembly: Assembly, axle: Axle, envelope: Envelope) -> Array:
    """First and second point of every part (P, 2, 3) [mm]; of the wheel its centre and its axis."""
    placed, parts = place(axle), assembly.bodies.parts
    moving = [_moving_point(axle, placed, end) for end in (*assembly.turning, *assembly.paths)]
    still = [still_point(axle, envelope, end) for end in assembly.still]
    turning = len(assembly.turning)
    points = np.array([*moving[:turning], *still, *moving[turning:]]).reshape(-1, 3)
    return np.stack([_on_side(points, parts[:, at], parts[:, at + 1]) for at in (1, 3)], axis=1)


def _on_side(points: Array, which: Indices, mirrored: Indices) -> Array:
    return points[which] * np.where(mirrored[:, None] == 1, MIRROR_Y, 1.0)


def _moving_point(axle: Axle, placed: Hardpoints, end: str) -> Array:
    kind, _, name = end.partition(".")
    match kind:
        case "turning":
            return placed.rod_inboard if name == "rod" else placed.pickups[name.removeprefix("pickups.")]
        case "eye":
            return placed.rod_outboard
        case "wheel":
            return axle.wheel.centre
        case "spin":
            return axle.wheel.spin_axis
    link = axle.links[name]
    return link.outboard if kind == "outboard" else link.inboard


def _cut(ends: Array, cuts: Array) -> tuple[Array, Array]:
    """Segments (R, 2, 3) less what is cut off at either end (R, 2) [mm]; half of it at most where both are cut."""
    p, q = ends[:, 0], ends[:, 1]
    length = norm(q - p)
    most = np.where((cuts > 0.0).all(axis=-1), 0.5, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.minimum(np.where(cuts > 0.0, cuts / length[:, None], 0.0), most[:, None])
    return p + share[:, :1] * (q - p), q - share[:, 1:] * (q - p)


def _capsules(p: Array, q: Array, r: Array, s: Array, own: Array, other: Array) -> Array:
    return np.asarray(segment_segment(p, q, r, s) - own[:, 0] - other[:, 0])


def _capsule_box(p: Array, q: Array, r: Array, s: Array, own: Array, _other: Array) -> Array:
    return np.asarray(segment_box(p, q, r, s) - own[:, 0])


def _capsule_wheel(p: Array, q: Array, r: Array, s: Array, own: Array, other: Array) -> Array:
    return np.asarray(segment_cylinder(p, q, r, s, other[:, 0], 2.0 * other[:, 1]) - own[:, 0])


def _wheel_box(p: Array, q: Array, r: Array, s: Array, own: Array, _other: Array) -> Array:
    return cylinder_box(p, q, own[:, 0], 2.0 * own[:, 1], r, s)


_APART: Mapping[tuple[int, int], Callable[[Array, Array, Array, Array, Array, Array], Array]] = {
    (CAPSULE, CAPSULE): _capsules,
    (CAPSULE, BOX): _capsule_box,
    (CAPSULE, WHEEL): _capsule_wheel,
    (WHEEL, BOX): _wheel_box,
}
"""Clearance of two parts by their kinds: ends of the first, ends of the second (R, 3), girths of both (R, 2)."""
