"""The leak of a strut between the modes as 99 of 100 built axles keep it, fast: for the batches of a search.

It is what `toleranced` gives, from analytic slopes in place of differences.
"""

import numpy as np

from geometry.arrays import Array
from geometry.axle import Axle, CrossStrut
from geometry.built import PIVOT, ROD_END
from geometry.lanes import KERNEL, LANES
from geometry.rocker import lever_of
from geometry.side_motion import SideMotion
from objectives.survey import StateSet, Survey
from objectives.tolerance.build import LEFT, RIGHT, ROD, Build, errors_of, tolerances
from objectives.tolerance.cars import standard_axles
from objectives.tolerance.curves import anchor_places, anchor_weights, curve_of
from objectives.tolerance.leak_compiled import leak_quantile

STATIC_STATE = [0]
"""Place of static among the states of a side."""


def leak_p99(surveyed: Survey, name: str, build: Build) -> Array | None:
    """What 99 of 100 built axles do not exceed of a strut's crosstalk (*B) [%], NaN where an axle cannot be at a state.

    None where there is no fast way: for batches not laid out in lanes, corner struts, or errors of links and rod eyes.
    """
    element = surveyed.axle.elements[name]
    if not isinstance(element, CrossStrut) or not _is_fast(surveyed, build):
        return None
    own, foreign = StateSet.of(element.serves), StateSet.of(element.serves.other)
    points = curve_of(surveyed, f"{name}.crosstalk")
    if points is None:
        return None
    places, pairs = anchor_places(points), surveyed.plan.pairs
    states = [
        np.concatenate([foreign_states[places], STATIC_STATE, own_states])
        for foreign_states, own_states in (
            (pairs[foreign].left, pairs[own].left),
            (pairs[foreign].right, pairs[own].right),
        )
    ]
    turn, leaks = surveyed.side.closing.turn, _rows(surveyed.strut(name, foreign).compression)
    found = leak_quantile(
        turn.cos,
        turn.sin,
        _eyes(surveyed.side),
        _levers(surveyed.side, element),
        _frames(surveyed.side),
        np.stack(states),
        _rows(surveyed.strut(name, own).compression),
        leaks,
        anchor_weights(points),
        places,
        _deviations(surveyed.axle, element, build),
        standard_axles(len(places)),
    )
    return found.reshape(surveyed.batch)


def _is_fast(surveyed: Survey, build: Build) -> bool:
    own = all(
        path.startswith("rocker.") for path in tolerances(build, surveyed.axle) if not path.startswith("elements.")
    )
    return surveyed.side.kernel is KERNEL and len(surveyed.batch) == 2 and surveyed.batch[1] == LANES and own


def _eyes(side: SideMotion) -> Array:
    """The rod's outboard eyes (1 or N, K, 3) [mm]."""
    if side.eye.ndim == 2:
        return np.ascontiguousarray(side.eye[None])
    return np.broadcast_to(side.eye, (*side.batch, *side.eye.shape[-2:])).reshape(-1, *side.eye.shape[-2:])


def _levers(side: SideMotion, element: CrossStrut) -> Array:
    """Centre, u and w of the rod's end and the two pick-ups (N, 3, 9) [mm]."""
    levers = (lever_of(side.points.rod_arm, side.points), side.lever(element.left), side.lever(element.right))
    parts = [_spread(side, part) for lever in levers for part in (lever.centre, lever.u, lever.w)]
    return np.concatenate(parts, axis=-1).reshape(-1, 3, 9)


def _frames(side: SideMotion) -> Array:
    """Rocker axis and rod length (N, 4)."""
    return np.concatenate([_spread(side, side.points.axis), _spread(side, side.points.rod_length[..., None])], axis=-1)


def _spread(side: SideMotion, values: Array) -> Array:
    """Values (..., n) of each candidate: (N, n)."""
    return np.broadcast_to(values, (*side.batch, values.shape[-1])).reshape(-1, values.shape[-1])


def _rows(values: Array) -> Array:
    return values.reshape(-1, values.shape[-1])


def _deviations(axle: Axle, element: CrossStrut, build: Build) -> Array:
    """The deviation of each error that the strut answers to (SLOTS,) [mm], in the order of `leak_quantile`."""
    errors = {(error.side, error.path, error.axis): error.tolerance for error in errors_of(build, axle)}
    wanted: list[tuple[str, str, int | None]] = []
    for side, pickup in ((LEFT, element.left), (RIGHT, element.right)):
        points = (PIVOT, ROD_END, f"rocker.pickups.{pickup}")
        wanted += [*((side, path, axis) for path in points for axis in range(3)), (side, ROD, None)]
    return np.array([errors.get(one, 0.0) for one in wanted]) / build.spread.deviations
