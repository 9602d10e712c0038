"""The rocker with a pick-up in one of its holes."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Arm, Axle, RockerPoint
from geometry.hardpoints import arm_of, place
from objectives.adjustment.records import COORDINATES, POLAR, Hole


def with_hole(axle: Axle, pickup: str, holes: Sequence[Hole], index: Indices) -> Axle:
    """The axle, or batch of axles, with `pickup` in the hole `index` (...) of `holes`, counted from 0.

    A hole given by an arm's numbers makes an arm of a pick-up given as a point. Raises KeyError where the rocker has no
    such pick-up.
    """
    point = _in_form(axle, pickup, holes)
    if isinstance(point, Arm):
        numbers = dict(zip(POLAR, (point.length, point.angle, point.offset), strict=True))
        moved: Arm | Array = Arm(**{name: _in_hole(name, own, holes, index) for name, own in numbers.items()})
    else:
        found = [_in_hole(name, point[..., at], holes, index) for at, name in enumerate(COORDINATES)]
        moved = np.stack(np.broadcast_arrays(*found), axis=-1)
    return replace(axle, rocker=replace(axle.rocker, pickups={**axle.rocker.pickups, pickup: moved}))


def completed(axle: Axle, pickup: str, holes: Sequence[Hole]) -> tuple[Hole, ...]:
    """The holes of a pick-up of an axle (no batch axes), each with every number that any of them gives.

    What a hole leaves it has from the pick-up as it stands here, wherever the pick-up may stand later.
    """
    point = _in_form(axle, pickup, holes)
    own = (point.length, point.angle, point.offset) if isinstance(point, Arm) else point
    names = POLAR if isinstance(point, Arm) else COORDINATES
    given = [name for name in names if any(name in hole for hole in holes)]
    stands = {name: float(value) for name, value in zip(names, own, strict=True)}
    return tuple({name: hole.get(name, stands[name]) for name in given} for hole in holes)


def is_polar(holes: Sequence[Hole]) -> bool:
    """Whether holes are given by an arm's numbers."""
    return any(name in hole for hole in holes for name in POLAR)


def _in_form(axle: Axle, pickup: str, holes: Sequence[Hole]) -> RockerPoint:
    """The pick-up as an arm where its holes are given so."""
    point = axle.rocker.pickups[pickup]
    if isinstance(point, Arm) or not is_polar(holes):
        return point
    with np.errstate(all="ignore"):
        points = place(axle)
    return arm_of(point, points.pivot, points.axis, axle.rocker.reference)


def _in_hole(name: str, own: Array, holes: Sequence[Hole], index: Indices) -> Array:
    """One number of the pick-up (...): each hole's, or the pick-up's own where the hole leaves it; nothing where none
    gives it, so that it keeps its shape."""
    value = own
    for number, hole in enumerate(holes):
        if name in hole:
            value = np.where(index == number, hole[name], value)
    return np.asarray(value)
