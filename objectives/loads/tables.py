"""What the compiled pass over load cases reads: paths as polynomials, and springs' laws as rows of numbers.

Between neighbouring wheel travels a function is a polynomial in t = (z - a) / h: of fifth degree where its value, slope
and bend are known at both ends, of third where the bend is not.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Axle, CornerStrut, CrossStrut, TorsionBar
from geometry.pose_path import PosePath, fifth_degree, trace_path
from geometry.rod import carry_rod_eye, curve_rod_eye
from geometry.side import SideTree
from geometry.upright import trace_upright
from geometry.upright_curve import curve_upright
from objectives.fittings.fitted import Fittings
from objectives.fittings.forces import carries_weight, law_of
from objectives.fittings.law import Law, side_by_side
from objectives.fittings.springs import Spring
from objectives.loads.records import CORNER, CROSS, KNEE, KNEES, TORSION
from objectives.loads.settle import Ground
from objectives.loads.wheel_work import wheel_work

PROBE = 100.0
"""The rod's eye is known for any place of it by its paths from one place and from three, this far away [mm]."""

MANY = 1e5
"""A static force [N] beyond any bend of a law's own."""


@dataclass(frozen=True)
class Paths:
    """Polynomials between the wheel travels `travel` (N,) [mm], rising.

    `eye` (N - 1, 6, 3 or 12): the rod's eye for the eye of the axle and, where it varies, three columns by which it
    moves with each coordinate of its place at static. `work` (N - 1, 6, 2 M) [N]: what the ground does in each case at
    the left, then at the right wheel. `pose`: the upright's path.
    """

    travel: Array
    eye: Array
    work: Array
    pose: PosePath


def trace_paths(axle: Axle, tree: SideTree, ground: Ground, *, eye_varies: bool) -> Paths:
    """The paths of one axle's left side along a tree at rack 0; NaN where a state is locked."""
    upright = trace_upright(axle.wheel, axle.links, tree)
    nodes = np.argsort(tree.travel)
    travel, curve = tree.travel[nodes], curve_upright(axle.links, upright, tree, nodes)

    def eye_of(one: Axle) -> tuple[Array, Array, Array]:
        eye = carry_rod_eye(one, upright, tree)[0][nodes]
        return eye, *curve_rod_eye(one, curve, eye)

    own = eye_of(axle)
    shifts = PROBE * np.eye(3) if eye_varies else np.zeros((0, 3))
    probes = [eye_of(replace(axle, rod=replace(axle.rod, outboard=axle.rod.outboard + shift))) for shift in shifts]
    parts = [np.concatenate([mine, *((probe[n] - mine) / PROBE for probe in probes)], -1) for n, mine in enumerate(own)]
    works = [
        wheel_work(axle.wheel, curve, np.broadcast_to(force, (len(nodes), 3)), np.full(len(nodes), inboard))
        for forces in (ground.left, ground.right)
        for force, inboard in zip(forces, ground.brake_inboard, strict=True)
    ]
    felt = np.array([(one.force, one.slope) for one in works]).reshape(-1, 2, len(nodes))
    eye = fifth_degree(travel, *(part[:, None] for part in parts))[:, :, 0]
    work = _third(travel, felt[:, 0].T, felt[:, 1].T)
    return Paths(travel, eye, work, trace_path(axle.links, upright, tree))


def _third(travel: Array, value: Array, slope: Array) -> Array:
    """Coefficients of t^0 to t^5, the last two 0, from values and slopes (N, F)."""
    h = np.diff(travel)[:, None]
    first, last, rise = slope[:-1] * h, slope[1:] * h, np.diff(value, axis=0)
    powers = [value[:-1], first, 3.0 * rise - 2.0 * first - last, first + last - 2.0 * rise]
    return np.stack([*powers, np.zeros_like(rise), np.zeros_like(rise)], axis=1)


@dataclass(frozen=True)
class Laws:
    """The springs of an axle by element, E of them.

    `kinds` (E, 3): kind, near lever, far lever or chassis point; `rows` (E, numbers): the law of each, see
    `objectives.loads.records`; `rest` (E,): force at static but for the carrying spring's; `carrier`: the element that
    has it, or -1.
    """

    kinds: Indices
    rows: Array
    rest: Array
    carrier: int


def write_laws(axle: Axle, fittings: Fittings, levers: Sequence[str | None]) -> Laws | None:
    """The springs of an axle in rows; None where there is one that this form cannot hold.

    Such are springs on an anti-roll bar, springs whose numbers vary, and a spring that carries the weight with a force
    that its knees do not follow in a straight line.
    """
    kinds, laws = [], []
    carrier, names = -1, [name for name in axle.elements if fittings.on(name)]
    for place, name in enumerate(names):
        match axle.elements[name]:
            case CrossStrut(left=left, right=right):
                kinds.append((CROSS, levers.index(left), levers.index(right)))
            case CornerStrut(left=left):
                kinds.append((CORNER, levers.index(left), list(_corners(axle)).index(name)))
            case TorsionBar():
                kinds.append((TORSION, 0, 0))
            case _:
                return None
        carrier = place if any(map(carries_weight, fittings.on(name))) else carrier
        laws.append(_straight_in_static(fittings.on(name)))
    if not laws or any(law is None for law in laws):
        return None
    rows = [law for law in laws if law is not None]
    width = max(map(len, rows))
    filled = np.array([np.concatenate([row, np.tile([np.inf, 0.0, 0.0], (width - len(row)) // KNEE)]) for row in rows])
    rest = np.array([_rest(fittings.on(name)) for name in names])
    return Laws(np.array(kinds, dtype=np.intp), filled, rest, carrier)


def _corners(axle: Axle) -> tuple[str, ...]:
    """The corner struts, in the order in which their chassis points are laid out."""
    return tuple(name for name, element in axle.struts.items() if isinstance(element, CornerStrut))


def _straight_in_static(springs: tuple[Spring, ...]) -> Array | None:
    """The law of springs side by side, written so that it follows the carrying spring's static force F: start, rate,
    growth of the start with F, then where each knee lies at F = 0, its growth with F, and its change of rate."""
    none, one, many = (_together(springs, static) for static in (0.0, 1.0, MANY))
    numbers = [law.rate for law in (none, one, many)] + [knee.change for law in (none, one, many) for knee in law.knees]
    if any(np.ndim(number) for number in [*numbers, none.start]):
        return None
    lines = [(none.start, one.start, many.start)]
    lines += [(a.at, b.at, c.at) for a, b, c in zip(none.knees, one.knees, many.knees, strict=True)]
    if not all(np.isclose(c - a, MANY * (b - a), rtol=1e-9, atol=1e-12) for a, b, c in lines):
        return None
    row = np.empty(KNEES + KNEE * len(none.knees))
    row[:KNEES] = none.start, none.rate, one.start - none.start
    for place, (knee, line) in enumerate(zip(none.knees, lines[1:], strict=True)):
        row[KNEES + KNEE * place :][:KNEE] = line[0], line[1] - line[0], knee.change
    return row


def _together(springs: tuple[Spring, ...], static: float) -> Law:
    given = np.asarray(static)
    return side_by_side(law_of(spring, given if carries_weight(spring) else None) for spring in springs)


def _rest(springs: tuple[Spring, ...]) -> float:
    others = [law_of(spring) for spring in springs if not carries_weight(spring)]
    return float(side_by_side(others).force(np.zeros(1))[0])
