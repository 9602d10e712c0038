"""Figures that are the largest of a curve along a sweep, and the few points that tell how errors change the curve.

How an error changes a compression or a ratio against static is a smooth curve through nothing at static. It is taken
from `ANCHORS` of the sweep's points; the polynomial through these and static gives the others, to some 1e-4 of it.
"""

from functools import lru_cache

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import CrossStrut
from objectives.survey import StateSet, Survey
from objectives.tolerance.cars import FEW

ANCHORS = FEW
"""Points of a sweep, beside static, by which a change is known along it."""


def curve_of(surveyed: Survey, name: str) -> StateSet | None:
    """The sweep along which a figure's numbers, by its full name, are a curve that is 0 at static; None for others."""
    element, _, word = name.rpartition(".")
    if word not in ("crosstalk", "ratio_drift", "ratio_spread"):
        return None
    one = surveyed.axle.elements[element]
    if word != "ratio_spread" and not isinstance(one, CrossStrut):
        return None
    mode = surveyed.mode(element)
    sweep = StateSet.of(mode if word == "ratio_spread" else mode.other)
    return sweep if np.count_nonzero(surveyed.plan.points[sweep]) >= ANCHORS else None


@lru_cache(maxsize=32)
def anchor_places(points: tuple[float, ...]) -> Indices:
    """Places (ANCHORS,) among a sweep's points, spread from end to end, none at static; there are enough of them."""
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

    Lagrange's polynomials of the anchors and static.
    """
    along = np.array(points)
    nodes = np.append(along[anchor_places(points)], 0.0)
    columns = []
    for k in range(ANCHORS):
        others = np.delete(nodes, k)
        columns.append(np.prod((along[:, None] - others) / (nodes[k] - others), axis=1))
    return np.ascontiguousarray(np.stack(columns, axis=1))
