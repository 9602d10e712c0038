"""Figures of the room that an axle has: what each measures, read from a survey. Definitions stand in the catalogue."""

import numpy as np

from geometry.arrays import Array, Codes
from geometry.axle import CornerStrut
from geometry.clearance import overstep
from geometry.hardpoints import element_pickups
from geometry.status import worst
from objectives.readings import FigureStatus, Reading, read, without_meaning
from objectives.survey import Survey


def clearance_min(survey: Survey) -> Reading:
    """Smallest clearance of all pairs of bodies [mm]."""
    if survey.room is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    return read(survey.room.nearest().least.min(axis=-1), survey.room.status)


def clearance_reserve(survey: Survey) -> Reading:
    """Smallest clearance of all pairs, each less its margin [mm]."""
    if survey.room is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    return read(survey.room.nearest(less_margins=True).least.min(axis=-1), survey.room.status)


def clearance(survey: Survey, pair: str) -> Reading:
    """Clearance of one pair of bodies [mm]."""
    if survey.room is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    least = survey.room.nearest(pair=pair).least[..., survey.room.names.index(pair)]
    return read(least, survey.room.status)


def envelope_overstep(survey: Survey) -> Reading:
    """How far an inboard point gets outside its bounds [mm]; negative: what is left."""
    over = oversteps(survey)
    if over is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    return read(over.max(axis=-1), _status(survey))


def width(survey: Survey) -> Reading:
    """Extent in y of all inboard points of both sides [mm]."""
    if survey.fittings.envelope is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    y = np.abs(inboard_points(survey)[..., 1])
    return read(2.0 * y.max(axis=-1), _status(survey))


def height(survey: Survey) -> Reading:
    """Extent in z of all inboard points [mm]."""
    return _extent(survey, 2)


def depth(survey: Survey) -> Reading:
    """Extent in x of all inboard points [mm]."""
    return _extent(survey, 0)


def oversteps(survey: Survey) -> Array | None:
    """How far each inboard point gets outside its bounds, state by state (*B, N) [mm]; None where there are none."""
    envelope = survey.fittings.envelope
    if envelope is None or not envelope.is_bounded:
        return None
    return overstep(inboard_points(survey), envelope.low, envelope.high)


def inboard_points(survey: Survey) -> Array:
    """Pivot, rod end, pick-ups of elements and chassis points of corner struts, left, in all states (*B, N, 3) [mm]."""
    side, states = survey.side, survey.plan.all_sides
    moving = [side.rod_inboard[0], *(side.pickup(name)[0] for name in element_pickups(survey.axle))]
    still = [survey.axle.rocker.pivot]
    still += [one.chassis for one in survey.axle.elements.values() if isinstance(one, CornerStrut)]
    points = [np.broadcast_to(point[..., states, :], (*survey.batch, len(states), 3)) for point in moving]
    points += [np.broadcast_to(point, (*survey.batch, 3))[..., None, :] for point in still]
    return np.concatenate(points, axis=-2)


def _extent(survey: Survey, axis: int) -> Reading:
    if survey.fittings.envelope is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    values = inboard_points(survey)[..., axis]
    return read(values.max(axis=-1) - values.min(axis=-1), _status(survey))


def _status(survey: Survey) -> Codes:
    return worst(survey.side.status[..., survey.plan.all_sides])
