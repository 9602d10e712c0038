"""Figures of spherical joints: what each measures, read from a survey. Definitions stand in the catalogue."""

import numpy as np

from geometry.arrays import Array, Codes
from geometry.joints import joint_places
from geometry.status import worst
from objectives.readings import FigureStatus, Reading, read, without_meaning
from objectives.survey import Survey


def angle_max(survey: Survey, name: str) -> Reading:
    """Largest misalignment of a joint over all states and both sides [deg]."""
    if name not in survey.fittings.joints:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    return read(misalignments(survey, name).max(axis=-1), worst(_status(survey, name)))


def angle_reserve(survey: Survey, name: str) -> Reading:
    """What its limit leaves of it [deg]; negative: it is past its limit."""
    limit = survey.fittings.joints[name].limit if name in survey.fittings.joints else None
    if limit is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    largest = angle_max(survey, name)
    return Reading(limit - largest.value, largest.status)


def misalignments(survey: Survey, name: str) -> Array:
    """Misalignment of a joint of the fittings at each state of `states_of` (*B, N) [deg]; NaN where it cannot be."""
    return np.degrees(survey.misalignment(name))


def states_of(survey: Survey, name: str) -> Array:
    """(N, 3) [mm]: z_left, z_right and rack of each state; of a rod's joint its own travel twice, and its rack."""
    place = joint_places(survey.axle)[name]
    return np.concatenate([group.state(place) for group in survey.joint_states])


def _status(survey: Survey, name: str) -> Codes:
    place = joint_places(survey.axle)[name]
    groups = [group.status(place) for group in survey.joint_states]
    return np.concatenate(groups, axis=-1)
