"""Rods, links and rockers of one side at rest, from the balance of every part: one least-squares system.

Unknown are forces between parts, each a direction at a point: a link's tension, the rod's compression, and where links
carry the rod, all that their joints can carry. Known is the ground's force. Where a force along a wishbone's hinge may
be shared in any way, the least squares share it; what is read from it does not depend on that.
"""

from dataclasses import dataclass

import numpy as np

from optimiser.report.handoff.second_reading.plain import PlainAxle, Vector, skew
from optimiser.report.handoff.second_reading.upright import Matrix

LEVER = 100.0
"""Moments count in units of a force at this lever [mm]."""
BALANCED = 1e-6
"""Largest part of a load that may be left over in balance."""


@dataclass(frozen=True)
class Side:
    """One side where it rests, in left-hand axes [mm]: links' ends by name, the rod's eye and inboard end."""

    inboard: dict[str, Vector]
    outboard: dict[str, Vector]
    eye: Vector
    rod_inboard: Vector

    @property
    def rod(self) -> Vector:
        """Along the rod from the rocker outwards."""
        return _unit(self.eye - self.rod_inboard)


@dataclass(frozen=True)
class Carried:
    """Compression of the rod [N]; each link's tension at its outboard and its inboard end [N]; bending [N.mm]."""

    rod: float
    outer: dict[str, float]
    inner: dict[str, float]
    bending: dict[str, float]

    @property
    def is_there(self) -> bool:
        """Whether links and rod hold the wheel."""
        return bool(np.isfinite(self.rod))


@dataclass(frozen=True)
class _Force:
    """An unknown: its direction and point, the part that it acts on and the one that it acts back on, if any."""

    direction: Vector
    point: Vector
    on: int
    back: int | None = None


UPRIGHT, CARRIER = 0, 1
"""Parts: the upright, and the link or wishbone that carries the rod."""


def hold(axle: PlainAxle, side: Side, force: Vector, point: Vector, moment: Vector) -> Carried:
    """What holds the wheel against a `force` at a `point` of the upright and a `moment` besides [N, mm, N.mm]."""
    carriers = axle.carried_by
    tensions = [_pull(side, name) for name in axle.links if name not in carriers]
    rod = _Force(side.rod, side.eye, CARRIER if carriers else UPRIGHT)
    joints = _joints(side, carriers)
    unknowns = [*tensions, rod, *joints]
    columns = np.column_stack([_column(one, 2 if carriers else 1, point) for one in unknowns])
    load = np.zeros(len(columns))
    load[:6] = np.concatenate([force, moment / LEVER])
    found, *_ = np.linalg.lstsq(columns, -load, rcond=1e-12)
    if np.max(np.abs(columns @ found + load)) > BALANCED * max(np.max(np.abs(load)), 1.0):
        return Carried(float("nan"), {}, {}, {})
    names = [name for name in axle.links if name not in carriers]
    outer = dict(zip(names, found.tolist(), strict=False))
    compression = float(found[len(tensions)])
    held = np.asarray(found[len(tensions) + 1 :], dtype=np.float64).reshape(-1, 3)
    return _of_carriers(side, carriers, Carried(compression, outer, dict(outer), {}), held)


def _pull(side: Side, name: str) -> _Force:
    return _Force(_unit(side.inboard[name] - side.outboard[name]), side.outboard[name], UPRIGHT)


def _joints(side: Side, carriers: tuple[str, ...]) -> list[_Force]:
    """The carrier on the upright at their joint, then the chassis on the carrier at each inboard joint."""
    if not carriers:
        return []
    axes = np.eye(3)
    outer = [_Force(axis, side.outboard[carriers[0]], UPRIGHT, CARRIER) for axis in axes]
    return outer + [_Force(axis, side.inboard[name], CARRIER) for name in carriers for axis in axes]


def _column(one: _Force, parts: int, about: Vector) -> Vector:
    wrench = np.concatenate([one.direction, skew(one.point - about) @ one.direction / LEVER])
    column = np.zeros(6 * parts)
    column[6 * one.on : 6 * one.on + 6] = wrench
    if one.back is not None:
        column[6 * one.back : 6 * one.back + 6] = -wrench
    return column


def _of_carriers(side: Side, carriers: tuple[str, ...], known: Carried, held: Matrix) -> Carried:
    """Adds the links that carry the rod; `held` (1 + n, 3): the force at their outboard and their inboard joints."""
    if len(carriers) == 1:
        return _bent_link(side, carriers[0], known, held)
    if not carriers:
        return known
    lines = {name: _unit(side.inboard[name] - side.outboard[name]) for name in carriers}
    first, second = lines.values()
    hinge = _unit(side.inboard[carriers[1]] - side.inboard[carriers[0]])
    across = _unit(first - (first @ hinge) * hinge)
    in_plane = np.column_stack([first, second])
    pulled = np.linalg.lstsq(in_plane, held[0], rcond=None)[0]
    outer = known.outer | dict(zip(carriers, pulled.tolist(), strict=True))
    inner = {name: float(held[k] @ across) / float(lines[name] @ across) for k, name in enumerate(carriers, start=1)}
    return Carried(known.rod, outer, known.inner | inner, {})


def _bent_link(side: Side, name: str, known: Carried, held: Matrix) -> Carried:
    line = _unit(side.inboard[name] - side.outboard[name])
    across = held[1] - (held[1] @ line) * line
    moment = float(np.linalg.norm(across) * np.linalg.norm(side.eye - side.inboard[name]))
    outer, inner = {name: float(held[0] @ line)}, {name: float(held[1] @ line)}
    return Carried(known.rod, known.outer | outer, known.inner | inner, {name: moment})


def _unit(a: Vector) -> Vector:
    unit: Vector = a / np.linalg.norm(a)
    return unit
