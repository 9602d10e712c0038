"""Figures of the wheel against the body: its steering axis, and what heave does to it. Definitions in the catalogue."""

from collections.abc import Callable

import numpy as np

from geometry.arrays import Array
from geometry.attitude import attitude_rate, contact_shift
from geometry.motion import Motion
from geometry.status import worst
from geometry.steering import SteeringAxis, steering_axis
from objectives.readings import FigureStatus, Reading, read
from objectives.survey import StateSet, Survey
from objectives.vehicle.centres import lateral_lift
from objectives.vehicle.centres import roll_centre as height_of_roll_centre


def castor(survey: Survey) -> Reading:
    """Castor angle at static [deg]."""
    return _of_axis(survey, lambda axis: np.degrees(axis.castor))


def steering_axis_inclination(survey: Survey) -> Reading:
    """Steering-axis inclination at static [deg]."""
    return _of_axis(survey, lambda axis: np.degrees(axis.inclination))


def castor_offset_at_ground(survey: Survey) -> Reading:
    """Castor offset at ground at static [mm]."""
    return _of_axis(survey, lambda axis: axis.castor_offset_at_ground)


def castor_offset_at_centre(survey: Survey) -> Reading:
    """Castor offset at the wheel centre at static [mm]."""
    return _of_axis(survey, lambda axis: axis.castor_offset_at_centre)


def steering_axis_offset_at_ground(survey: Survey) -> Reading:
    """Steering-axis offset at ground at static [mm]."""
    return _of_axis(survey, lambda axis: axis.offset_at_ground)


def steering_axis_offset_at_centre(survey: Survey) -> Reading:
    """Steering-axis offset at the wheel centre at static [mm]."""
    return _of_axis(survey, lambda axis: axis.offset_at_centre)


def roll_centre_height(survey: Survey) -> Reading:
    """Height of the roll centre above the ground at static [mm]."""
    return _at_static(survey, height_of_roll_centre(survey.motion(StateSet.STATIC).contact))


def jacking(survey: Survey) -> Reading:
    """Vertical force of the springs' change per lateral force at the left tyre at static [N/N]."""
    return _at_static(survey, lateral_lift(survey.motion(StateSet.STATIC).contact))


def camber_gradient(survey: Survey) -> Reading:
    """Change of camber per mm of wheel travel at static [deg/mm]."""
    return _at_static(survey, np.degrees(attitude_rate(survey.motion(StateSet.STATIC)).camber))


def toe_gradient(survey: Survey) -> Reading:
    """Change of toe per mm of wheel travel at static [deg/mm]."""
    return _at_static(survey, np.degrees(attitude_rate(survey.motion(StateSet.STATIC)).toe))


def camber_change(survey: Survey) -> Reading:
    """Largest abs(camber less that at static) over heave [deg]."""
    return _largest(survey, camber_changes)


def toe_change(survey: Survey) -> Reading:
    """Largest abs(toe less that at static) over heave [deg]."""
    return _largest(survey, toe_changes)


def track_change(survey: Survey) -> Reading:
    """Largest abs(track less that at static) over heave [mm]."""
    return _largest(survey, track_changes)


def wheelbase_change(survey: Survey) -> Reading:
    """Largest abs(contact point's way along the car from static) over heave [mm]."""
    return _largest(survey, wheelbase_changes)


def camber_changes(motion: Motion) -> Array:
    """Camber less that at static (*W, S) [deg], the parts of `camber_change`."""
    return np.degrees(motion.wheel.camber - motion.side.axle.wheel.camber[..., None])


def toe_changes(motion: Motion) -> Array:
    """Toe less that at static (*W, S) [deg]."""
    return np.degrees(motion.wheel.toe - motion.side.axle.wheel.toe[..., None])


def track_changes(motion: Motion) -> Array:
    """Track between both contact points less that at static, in heave (*W, S) [mm]."""
    return np.asarray(2.0 * contact_shift(motion)[..., 1])


def wheelbase_changes(motion: Motion) -> Array:
    """The contact point's way forward from static (*W, S) [mm]."""
    return np.asarray(contact_shift(motion)[..., 0])


def _largest(survey: Survey, changes: Callable[[Motion], Array]) -> Reading:
    motion = survey.motion(StateSet.HEAVE)
    return read(np.abs(changes(motion)).max(axis=-1), worst(motion.status))


def _of_axis(survey: Survey, of: Callable[[SteeringAxis], Array]) -> Reading:
    return _at_static(survey, of(steering_axis(survey.motion(StateSet.STATIC))))


def _at_static(survey: Survey, values: Array) -> Reading:
    """The one state's value; `no_motion` where there is no axis to speak of."""
    status = worst(survey.motion(StateSet.STATIC).status)
    value, status = np.broadcast_arrays(values[..., 0], status)
    lost = (status == FigureStatus.OK) & ~np.isfinite(value)
    return read(value, np.where(lost, FigureStatus.NO_MOTION, status).astype(np.int8))
