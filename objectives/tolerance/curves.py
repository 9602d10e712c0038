"""Figures that are the largest of a curve along a sweep, and the few points that tell how errors change the curve.

How an error changes a compression or a ratio against static is a smooth curve through nothing at static. It is taken
from `ANCHORS` of the sweep's points; the polynomial through these and static gives the others, to some 1e-4 of it.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import Axle, CrossStrut, Mode
from objectives.survey import Plan, StateSet, Survey
from objectives.tolerance.cars import FEW

ANCHORS = FEW
"""Points of a sweep, beside static, by which a change is known along it."""


def curve_of(surveyed: Survey, name: str) -> tuple[float, ...] | None:
    """The points [mm] along which a figure's numbers, by its full name, are a curve that is 0 at static.

    The figure is the largest absolute value of the curve. None for figures that are no such thing, and for sweeps of
    too few points; one point for the one number of `left_right_split`.
    """
    return points_of(surveyed.axle, surveyed.plan, name)


def points_of(axle: Axle, plan: Plan, name: str) -> tuple[float, ...] | None:
    """The same for axles made like `axle`, at a plan's states."""
    element, _, word = name.rpartition(".")
    one = axle.elements.get(element)
    if (
        word not in _SWEEPS
        or not isinstance(one, CrossStrut)
        or (word == "left_right_split" and one.serves is Mode.HEAVE)
    ):
        return None
    points = plan.points[_SWEEPS[word](one.serves)]
    if word == "left_right_split":
        return (float(points[0]),)
    return tuple(points.tolist()) if np.count_nonzero(points) >= ANCHORS else None


_SWEEPS: Mapping[str, Callable[[Mode], StateSet]] = {
    "crosstalk": lambda mode: StateSet.of(mode.other),
    "ratio_drift": lambda mode: StateSet.of(mode.other),
    "ratio_spread": StateSet.of,
    "left_right_split": lambda _mode: StateSet.EVEN_ROLL,
}


@lru_cache(maxsize=32)
def anchor_places(points: tuple[float, ...]) -> Indices:
    """Places (ANCHORS,) among a sweep's points, spread from end to end, none at static; of one point its own."""
    if len(points) == 1:
        return np.zeros(1, dtype=np.intp)
    moved = [place for place, point in enumerate(points) if point != 0.0]
    low, high = points[0], points[-1]
    wanted = low + (high - low) * (0.5 - 0.5 * np.cos(np.pi * np.arange(ANCHORS + 1) / ANCHORS))
    far = np.delete(wanted, np.abs(wanted).argmin())
    found = {min(moved, key=lambda place: abs(points[place] - one)) for one in far}
    rest = [place for place in moved if place not in found]
    return np.array(sorted([*found, *rest[: ANCHORS - len(found)]]), dtype=np.intp)


@lru_cache(maxsize=32)
def anchor_weights(points: tuple[float, ...]) -> Array:
    """By which a curve that is 0 at static and known at the anchors is given at all points (Q, ANCHORS).

    Lagrange's polynomials of the anchors and static; of one point alone 1.
    """
    if len(points) == 1:
        return np.ones((1, 1))
    along = np.array(points)
    nodes = np.append(along[anchor_places(points)], 0.0)
    columns = []
    for k in range(ANCHORS):
        others = np.delete(nodes, k)
        columns.append(np.prod((along[:, None] - others) / (nodes[k] - others), axis=1))
    return np.ascontiguousarray(np.stack(columns, axis=1))
