"""Figures of an axle under its load cases: what each measures, read from a survey. Definitions in the catalogue.

All are taken over every case and both sides.
"""

import numpy as np

from geometry.arrays import Array, Codes, Flags
from objectives.fittings.forces import NEWTON_MM
from objectives.loads.buckling import buckling_load
from objectives.readings import FigureStatus, Reading, without_meaning
from objectives.survey import Survey


def rod_force_max(survey: Survey) -> Reading:
    """Largest compression of the rod [N]; negative where every case pulls it."""
    return _read(survey, _largest(survey.cases.rod, 2))


def rod_tension_max(survey: Survey) -> Reading:
    """Largest tension of the rod [N]; negative where every case presses it."""
    return _read(survey, _largest(-survey.cases.rod, 2))


def buckling_factor(survey: Survey) -> Reading:
    """Load at which the rod's tube buckles / its largest compression [-]."""
    tube = survey.fittings.loads.rod_tube
    if tube is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    pressed = _largest(survey.cases.rod, 2)
    value = buckling_load(tube, survey.side.points.rod_length) / np.where(pressed > 0.0, pressed, np.nan)
    found = _read(survey, value)
    never = ~_void(found.status) & (pressed <= 0.0)
    return Reading(found.value, np.where(never, FigureStatus.NEVER_PRESSED, found.status).astype(np.int8))


def link_force(survey: Survey, name: str) -> Reading:
    """The force of a link that is of largest size [N], tension positive."""
    forces = link_forces(survey, name)
    biggest = np.abs(forces).argmax(axis=-1)[..., None]
    return _read(survey, np.take_along_axis(forces, biggest, axis=-1)[..., 0])


def link_bending(survey: Survey, name: str) -> Reading:
    """Largest bending moment in a link that carries the rod alone [N.m]."""
    return _read(survey, _largest(bending_moments(survey, name), 1))


def pivot_force_max(survey: Survey) -> Reading:
    """Largest force of a rocker on its bearing [N]; null without springs, since they are what the rod presses."""
    if not survey.springs:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    return _read(survey, _largest(survey.cases.pivot, 2))


def travel_reserve(survey: Survey) -> Reading:
    """Smallest travel that is left to a wheel [mm]; negative past the end of its range."""
    return _read(survey, -_largest(-survey.cases.reserve, 2))


def link_forces(survey: Survey, name: str) -> Array:
    """Every force of a link (*B, N) [N], tension positive: case by case, side by side, at both ends."""
    place = tuple(survey.axle.links).index(name)
    forces = survey.cases.tension[..., place, :]
    return forces.reshape(*forces.shape[:-3], -1)


def bending_moments(survey: Survey, name: str) -> Array:
    """Every bending moment of a link (*B, N) [N.m], at least 0."""
    place = tuple(survey.axle.links).index(name)
    moments = survey.cases.bending[..., place] / NEWTON_MM
    return moments.reshape(*moments.shape[:-2], -1)


def _largest(values: Array, axes: int) -> Array:
    """The largest over the last `axes` axes."""
    return np.asarray(values.max(axis=tuple(range(-axes, 0))))


def _void(status: Codes) -> Flags:
    return np.asarray((status != FigureStatus.OK) & (status != FigureStatus.PAST_TRAVEL))


def _read(survey: Survey, value: Array) -> Reading:
    """A reading over all cases: null where one of them has no answer, kept with a warning past the travel."""
    value, status = np.broadcast_arrays(value, survey.cases.overall)
    return Reading(np.where(_void(status), np.nan, value), status)
