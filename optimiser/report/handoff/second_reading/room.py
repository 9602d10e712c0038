"""Figures of the room that an axle has: every body at every state, from the points of this reading.

Which bodies can meet and which states are looked at is the envelope's definition, and taken from there; where the
bodies are and how far apart is worked out here, state by state, by narrowing in along one of the two.
"""

import math
from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.travel import Travel
from objectives.envelope.bodies import Assembly, Outline, assemble
from objectives.envelope.states import RoomStates, room_states
from optimiser.report.handoff.second_reading.plain import MIRROR, Tree, Vector, number, section, vector
from optimiser.report.handoff.second_reading.reading import Reading, Reckoned, worst
from optimiser.report.handoff.second_reading.side import OK

Floats = NDArray[np.float64]
"""An array of numbers."""
Known: TypeAlias = tuple[Floats, NDArray[np.intp], Floats, NDArray[np.intp], Floats]
"""Points of the left side, the bodies' parts and girths, and a meeting and what is cut off its bodies."""

SAME_POINT = 1e-6
"""Outboard points nearer than this are shared [mm]."""
NARROWINGS = 90
"""Thirds of a way cut off until a lowest place is known to rounding."""
FEW = 12
"""Thirds that tell which states may be the nearest."""
DIRECTIONS = ((1, 0), (0, 1), (1, 1), (1, -1))
"""Steps along a lattice's axes, and along its diagonals: rows and columns."""
STRAIGHT = 1e-6
"""Twice the triangle between three places of one line, at most [mm2]."""
XYZ = ("x", "y", "z")
CAPSULE, BOX, WHEEL = 0, 1, 2


def room_figures(reading: Reading, tree: Tree) -> dict[str, Reckoned]:
    """Every figure of the room by its full name; none where the file says nothing of it."""
    if "envelope" not in tree:
        return {}
    envelope = section(tree, "envelope", "")
    return _clearances(reading, envelope) | _inboard(reading, envelope)


def _clearances(reading: Reading, envelope: Tree) -> dict[str, Reckoned]:
    bodies = _optional(envelope, "bodies")
    if not bodies:
        return {}
    travel = reading.travel
    states = room_states(Travel(travel.wheel, travel.heave, travel.roll, travel.rack, travel.step))
    assembly = assemble(_outline(reading, bodies, _optional(envelope, "keep_out")))
    status = worst(
        reading.side.status(float(z), float(s))
        for z, s in zip(states.tree.travel[states.used], states.tree.rack[states.used], strict=True)
    )
    names = [f"clearance.{first}_to_{second}" for first, second in assembly.pairs]
    least = _least(reading, envelope, assembly, states) if status == OK else np.full(len(names), math.nan)
    figures: dict[str, Reckoned] = {name: (float(gap), status) for name, gap in zip(names, least, strict=True)}
    figures["clearance.min"] = (float(least.min()), status)
    if "margins" in envelope:
        margins = section(envelope, "margins", "envelope")
        fixed, moving = (number(margins, f"moving_to_{kind}", "envelope.margins") for kind in ("fixed", "moving"))
        figures["clearance.reserve"] = (float((least - np.where(assembly.fixed, fixed, moving)).min()), status)
    return figures


def _inboard(reading: Reading, envelope: Tree) -> dict[str, Reckoned]:
    """The box that holds all inboard points, and how far these get outside their bounds."""
    status = worst(reading.status(state) for state in reading.every)
    if status != OK:
        names = ["inboard.width", "inboard.height", "inboard.depth"]
        return dict.fromkeys(names + (["envelope.overstep"] if _bounds(envelope) else []), (math.nan, status))
    still = [reading.axle.pivot, *(e.chassis for e in reading.axle.elements.values() if e.chassis is not None)]
    turning = [
        reading.rocker.turned(point, side.angle)
        for state in reading.every
        for side in reading.rockers(state)
        for point in reading.axle.arm_points
    ]
    points = np.array([*still, *turning])
    extent = points.max(axis=0) - points.min(axis=0)
    figures: dict[str, Reckoned] = {
        "inboard.width": (2.0 * float(np.abs(points[:, 1]).max()), OK),
        "inboard.height": (float(extent[2]), OK),
        "inboard.depth": (float(extent[0]), OK),
    }
    over = [float((sign * (points[:, k] - bound)).max()) for k, sign, bound in _bounds(envelope)]
    return figures | ({"envelope.overstep": (max(over), OK)} if over else {})


def _bounds(envelope: Tree) -> list[tuple[int, float, float]]:
    """Coordinate, +1 for an upper and -1 for a lower bound, and the bound."""
    inside = _optional(envelope, "inside")
    found = []
    for k, name in enumerate(XYZ):
        span = inside.get(name)
        written = dict(zip(("min", "max"), span, strict=True)) if isinstance(span, list) and len(span) == 2 else {}
        written |= {end: inside[f"{name}_{end}"] for end in ("min", "max") if f"{name}_{end}" in inside}
        found += [
            (k, 1.0 if end == "max" else -1.0, number(written, end, f"envelope.inside.{name}")) for end in written
        ]
    return found


def _outline(reading: Reading, bodies: Tree, keep_out: Tree) -> Outline:
    axle = reading.axle
    same: dict[str, str] = {}
    for name, link in axle.links.items():
        alike = (o for o in same if np.all(np.abs(axle.links[o].outboard - link.outboard) < SAME_POINT))
        same[name] = next(alike, name)
    sizes = [
        (name, number(section(bodies, name, "envelope.bodies"), "thickness" if name == "rocker" else "diameter", name))
        for name in bodies
        if name != "wheel"
    ]
    wheel = section(bodies, "wheel", "envelope.bodies") if "wheel" in bodies else None
    fixed = []
    for name in keep_out:
        shape = section(keep_out, name, "envelope.keep_out")
        tube = section(shape, "cylinder", name) if "cylinder" in shape else None
        fixed.append((name, None if tube is None else number(tube, "diameter", name)))
    return Outline(
        axle.carried_by,
        tuple(same.items()),
        tuple((name, one.left, one.right) for name, one in axle.elements.items()),
        tuple(sizes),
        None if wheel is None else (number(wheel, "diameter", "wheel"), number(wheel, "width", "wheel")),
        tuple(fixed),
    )


def _least(reading: Reading, envelope: Tree, assembly: Assembly, states: RoomStates) -> Floats:
    """The least clearance of every pair [mm]: of each chart's nearest state, less the dip beside it."""
    nodes = _nodes(reading, envelope, assembly, states)
    bodies, charts = assembly.bodies, states.charts
    least = np.full(len(assembly.pairs), math.inf)
    for meeting, cuts in zip(bodies.meetings, bodies.cuts, strict=True):
        for rows, columns, first, kind in charts.size:
            if kind != meeting[3]:
                continue
            spots = slice(first, first + rows * columns)
            there = charts.left[spots] >= 0
            gaps = np.full(rows * columns, math.inf)
            known = nodes, bodies.parts, bodies.girth, meeting, cuts
            rough, _ = _gaps(*known, charts.left[spots][there], charts.right[spots][there], FEW)
            gaps[there] = rough
            asked = np.flatnonzero(gaps <= rough.min() + 2.0 * _blur(known))
            touching = np.zeros(rows * columns, dtype=np.bool_)
            gaps[asked], touching[asked] = _gaps(*known, charts.left[spots][asked], charts.right[spots][asked])
            at = int(gaps.argmin())
            row, column = divmod(at, columns)
            beside = [(row + k * i, column + k * j) for k in (-2, -1, 1, 2) for i, j in DIRECTIONS]
            inside = [i * columns + j for i, j in beside if 0 <= i < rows and 0 <= j < columns]
            asked = np.array([spot for spot in inside if there[spot]], dtype=np.intp)
            if len(asked):
                gaps[asked], _ = _gaps(*known, charts.left[spots][asked], charts.right[spots][asked])
            beneath = 0.0 if touching[at] else _beneath(gaps.reshape(rows, columns), charts.place[spots], at, known)
            least[meeting[2]] = min(least[meeting[2]], float(gaps[at]) - beneath)
    return least


def _nodes(reading: Reading, envelope: Tree, assembly: Assembly, states: RoomStates) -> Floats:
    """Every point of the left side at every side state that is looked at (K, M, 3) [mm]."""
    names = (*assembly.turning, *assembly.still, *assembly.paths)
    nodes = np.full((len(states.tree), len(names), 3), math.nan)
    for k in states.used:
        z, rack = float(states.tree.travel[k]), float(states.tree.rack[k])
        for m, name in enumerate(names):
            nodes[k, m] = _point(reading, envelope, name, z, rack)
    return nodes


def _point(reading: Reading, envelope: Tree, name: str, z: float, rack: float) -> Vector:
    axle, side = reading.axle, reading.side.at(z, rack)
    if side is None:
        return np.full(3, math.nan)
    kind, _, rest = name.partition(".")
    if kind == "turning":
        start = axle.rod_inboard if rest == "rod" else axle.pickups[rest.removeprefix("pickups.")]
        return reading.rocker.turned(start, side.angle)
    if kind in ("first", "last"):
        return _keep_out_end(envelope, kind, rest)
    if kind == "outboard":
        return side.pose.place(axle.links[rest].outboard - axle.wheel_centre)
    if kind == "inboard":
        link = axle.links[rest]
        moved: Vector = link.inboard + np.array([0.0, rack * link.follows_rack, 0.0])
        return moved
    chassis = axle.elements[rest].chassis if kind == "chassis" else None
    found = {
        "pivot": axle.pivot,
        "chassis": axle.pivot if chassis is None else chassis,
        "eye": side.eye,
        "wheel": side.pose.place(np.zeros(3)),
        "spin": side.pose.place(axle.spin_axis) - side.pose.place(np.zeros(3)),
    }
    return found[kind]


def _keep_out_end(envelope: Tree, end: str, name: str) -> Vector:
    shape = section(section(envelope, "keep_out", "envelope"), name, "envelope.keep_out")
    if "cylinder" in shape:
        return vector(section(shape, "cylinder", name), "from" if end == "first" else "to", name)
    return vector(section(shape, "box", name), "min" if end == "first" else "max", name)


def _gaps(
    nodes: Floats,
    parts: NDArray[np.intp],
    girth: Floats,
    meeting: NDArray[np.intp],
    cuts: Floats,
    left: NDArray[np.intp],
    right: NDArray[np.intp],
    times: int = NARROWINGS,
) -> tuple[Floats, NDArray[np.bool_]]:
    """Clearances at states (S,) [mm], and whether the bodies' axes meet there."""
    own, other = parts[meeting[0]], parts[meeting[1]]
    static = np.zeros(1, dtype=np.intp)
    p, q = _cut(*_ends(nodes, own, left, right), *_ends(nodes, own, static, static), cuts[0], cuts[1])
    r, s = _cut(*_ends(nodes, other, left, right), *_ends(nodes, other, static, static), cuts[2], cuts[3])
    own_girth, its = girth[meeting[0]], girth[meeting[1]]
    if own[0] == WHEEL:
        away = _wheel_over_box(p, q, own_girth, r, s, times)
        return away, away <= 0.0
    if other[0] == WHEEL:
        away = _lowest(lambda point: _off_cylinder(point - r, s, its), p, q, times)
        return away - own_girth[0], away == 0.0
    if other[0] == BOX:
        away = _lowest(lambda point: _size(point - np.clip(point, r, s)), p, q, times)
        return away - own_girth[0], away == 0.0
    away = _between(p, q, r, s)
    return away - own_girth[0] - its[0], away == 0.0


def _blur(known: Known) -> float:
    """How far a clearance told by `FEW` narrowings may be off [mm]: what they leave of the longest way."""
    nodes, parts, _, meeting, _ = known
    own, other = parts[meeting[0]], parts[meeting[1]]
    longest = max(float(_size(nodes[0, part[3]] - nodes[0, part[1]])) for part in (own, other) if part[0] != WHEEL)
    return 2.0 * longest * (2.0 / 3.0) ** FEW


def _ends(
    nodes: Floats, part: NDArray[np.intp], left: NDArray[np.intp], right: NDArray[np.intp]
) -> tuple[Floats, Floats]:
    first = nodes[right, part[1]] * MIRROR if part[2] else nodes[left, part[1]]
    second = nodes[right, part[3]] * MIRROR if part[4] else nodes[left, part[3]]
    return first, second


def _cut(p: Floats, q: Floats, p0: Floats, q0: Floats, first: float, second: float) -> tuple[Floats, Floats]:
    """What is left of segments of which lengths [mm] are cut off at the ends, measured at static."""
    if first == 0.0 and second == 0.0:
        return p, q
    length = float(_size(q0 - p0)[0])
    most = 0.5 if first > 0.0 and second > 0.0 else 1.0
    return p + min(first / length, most) * (q - p), q + min(second / length, most) * (p - q)


def _lowest(height: Callable[[Floats], Floats], p: Floats, q: Floats, times: int) -> Floats:
    """The least of a convex function of a point along segments (S, 3)."""
    low, high = np.zeros(len(p)), np.ones(len(p))
    for _ in range(times):
        one, two = (2.0 * low + high) / 3.0, (low + 2.0 * high) / 3.0
        rises = height(p + one[:, None] * (q - p)) <= height(p + two[:, None] * (q - p))
        low, high = np.where(rises, low, one), np.where(rises, two, high)
    middle = 0.5 * (low + high)
    ends = np.minimum(height(p), height(q))
    return np.minimum(height(p + middle[:, None] * (q - p)), ends)


def _off_segment(point: Floats, r: Floats, s: Floats) -> Floats:
    line = s - r
    square = np.sum(line * line, axis=-1)
    share = np.clip(np.sum((point - r) * line, axis=-1) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
    return _size(point - r - share[:, None] * line)


def _between(p: Floats, q: Floats, r: Floats, s: Floats) -> Floats:
    """Distance of two segments: the least of their ends' from the other, and of their lines' where these come closest.

    That place solves two normal equations; where it lies off a segment, an end is nearer.
    """
    ends = [_off_segment(p, r, s), _off_segment(q, r, s), _off_segment(r, p, q), _off_segment(s, p, q)]
    normal = np.cross(q - p, s - r)
    square = np.sum(normal * normal, axis=-1)
    safe = np.where(square > 0.0, square, 1.0)
    t = np.sum(np.cross(r - p, s - r) * normal, axis=-1) / safe
    u = np.sum(np.cross(r - p, q - p) * normal, axis=-1) / safe
    within = (square > 0.0) & (t >= 0.0) & (t <= 1.0) & (u >= 0.0) & (u <= 1.0)
    across = np.abs(np.sum((r - p) * normal, axis=-1)) / np.sqrt(safe)
    least: Floats = np.minimum.reduce([np.where(within, across, np.inf), *ends])
    return least


def _off_cylinder(point: Floats, axis: Floats, girth: Floats) -> Floats:
    """Distance of points from a cylinder about the origin: `girth` is its radius and half its width."""
    along = np.sum(point * axis, axis=-1)
    out = _size(point - along[:, None] * axis)
    away: Floats = np.hypot(np.maximum(np.abs(along) - girth[1], 0.0), np.maximum(out - girth[0], 0.0))
    return away


def _wheel_over_box(centre: Floats, axis: Floats, girth: Floats, low: Floats, high: Floats, times: int) -> Floats:
    """Distance of a cylinder from a box: by the box's edges, and by the cylinder's lowest point over each face."""
    found = np.full(len(centre), math.inf)
    for k in range(3):
        a, b = (i for i in range(3) if i != k)
        for first in (low, high):
            for second in (low, high):
                p, q = low.copy(), high.copy()
                p[:, a] = q[:, a] = first[:, a]
                p[:, b] = q[:, b] = second[:, b]
                found = np.minimum(
                    found, _lowest(lambda point: _off_cylinder(point - centre, axis, girth), p, q, times)
                )
        for sign, face in ((-1.0, low), (1.0, high)):
            normal = np.zeros(3)
            normal[k] = sign
            inward = normal - (axis @ normal)[:, None] * axis
            inward /= np.maximum(_size(inward), 1e-300)[:, None]
            inward[np.abs(axis[:, k]) > 1.0 - 1e-12] = 0.0
            lowest = centre - girth[1] * np.sign(axis @ normal)[:, None] * axis - girth[0] * inward
            over = sign * (lowest[:, k] - face[:, k])
            under = np.all((lowest[:, [a, b]] >= low[:, [a, b]]) & (lowest[:, [a, b]] <= high[:, [a, b]]), axis=1)
            under &= over >= low[:, k] - high[:, k]
            found = np.where(under, np.minimum(found, over), found)
    return found


def _beneath(gaps: Floats, place: Floats, at: int, known: Known) -> float:
    """How much lower than a lattice's lowest place it gets beside it [mm], along axes or diagonals.

    That is down to where axes of bodies touch, where these would be through one another before the lowest place.
    """
    _, parts, girth, meeting, _ = known
    apart = gaps.ravel()[at] + sum(float(girth[m, 0]) for m in meeting[:2] if parts[m, 0] == CAPSULE)
    rows, columns = gaps.shape
    dips = []
    for i, j in DIRECTIONS:
        line = [divmod(at, columns)[0] + k * i for k in range(-2, 3)], [at % columns + k * j for k in range(-2, 3)]
        there = [0 <= row < rows and 0 <= column < columns for row, column in zip(*line, strict=True)]
        spots = [row * columns + column if inside else at for row, column, inside in zip(*line, there, strict=True)]
        values, where = np.where(there, gaps.ravel()[spots], math.inf), place[spots, 0 if i else 1]
        dips.append(_along(values, where, place[spots, 1 if i else 0]))
        if i * j == 0 and _are_through(values - values[2] + apart, where - where[2]):
            return float(apart)
    return float(min(max(dips[0] + dips[1], dips[2] + dips[3]), apart))


def _are_through(axes: Floats, where: Floats) -> bool:
    """Whether axes of bodies, straight on from two places in a row, are through one another before the middle one."""
    pairs = ((near, far) for near, far in ((1, 0), (3, 4)) if np.isfinite(axes[far]) and np.isfinite(axes[near]))
    slopes = ((near, (axes[far] - axes[near]) / (where[far] - where[near])) for near, far in pairs)
    return any(float(axes[near] - slope * where[near]) < 0.0 for near, slope in slopes)


def _along(values: Floats, where: Floats, beside: Floats) -> float:
    """How much lower than the middle of five places the parabola through three of them gets [mm]; 0 off one line."""
    known = [bool(value < math.inf) for value in values]
    below, above, at = known[1], known[3], 2
    if below and above:
        chosen = [1, 2, 3]
    elif above and known[4]:
        chosen = [2, 3, 4]
    elif below and known[0]:
        chosen = [2, 1, 0]
    else:
        return 0.0
    first, second = (np.array([where[k] - where[chosen[0]], beside[k] - beside[chosen[0]]]) for k in chosen[1:])
    if abs(first[0] * second[1] - first[1] * second[0]) > STRAIGHT:
        return 0.0
    bend, slope, level = np.polyfit(where[chosen] - where[at], values[chosen] - values[at], 2)
    if bend <= 0.0:
        return 0.0
    low = where[at - 1] - where[at] if below else 0.0
    high = where[at + 1] - where[at] if above else 0.0
    inside = low < -0.5 * slope / bend < high
    return float(slope * slope / (4.0 * bend) - level) if inside else 0.0


def _size(vectors: Floats) -> Floats:
    size: Floats = np.sqrt(np.sum(vectors * vectors, axis=-1))
    return size


def _optional(tree: Tree, key: str) -> Tree:
    return section(tree, key, "envelope") if key in tree else {}
