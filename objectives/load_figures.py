"""Figures of an axle under its load cases: what each measures, read from a survey. Definitions in the catalogue.

Each is the largest, the smallest or the one of largest size among numbers (*B, N), case by case and side by side, which
stand here too.
"""

import numpy as np

from geometry.arrays import Array, Codes, Flags
from objectives.fittings.forces import NEWTON_MM
from objectives.fittings.loads import RodTube
from objectives.loads.buckling import buckling_load
from objectives.readings import FigureStatus, Reading, without_meaning
from objectives.survey import Survey

NOT_PRESSED = 1e6
"""Stands for the buckling factor of a rod that a case does not press."""


def rod_force_max(survey: Survey) -> Reading:
    """Largest compression of the rod [N]; negative where every case pulls it."""
    return _read(survey, rod_forces(survey).max(axis=-1))


def rod_tension_max(survey: Survey) -> Reading:
    """Largest tension of the rod [N]; negative where every case presses it."""
    return _read(survey, -rod_forces(survey).min(axis=-1))


def buckling_factor(survey: Survey) -> Reading:
    """Load at which the rod's tube buckles / its largest compression [-]."""
    tube = survey.fittings.loads.rod_tube
    if tube is None:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    found = _read(survey, buckling_factors(survey, tube).min(axis=-1))
    never = found.value == NOT_PRESSED
    status = np.where(never, FigureStatus.NEVER_PRESSED, found.status).astype(np.int8)
    return Reading(np.where(never, np.nan, found.value), status)


def pivot_force_max(survey: Survey) -> Reading:
    """Largest force of a rocker on its bearing [N]; null without springs, since they are what the rod presses."""
    if not survey.springs:
        return without_meaning(survey.batch, FigureStatus.NOTHING_FITTED)
    return _read(survey, pivot_forces(survey).max(axis=-1))


def travel_reserve(survey: Survey) -> Reading:
    """Smallest travel that is left to a wheel [mm]; negative past the end of its range."""
    return _read(survey, travels_left(survey).min(axis=-1))


def link_force(survey: Survey, name: str) -> Reading:
    """The force of a link that is of largest size [N], tension positive."""
    forces = link_forces(survey, name)
    biggest = np.abs(forces).argmax(axis=-1)[..., None]
    return _read(survey, np.take_along_axis(forces, biggest, axis=-1)[..., 0])


def link_bending(survey: Survey, name: str) -> Reading:
    """Largest bending moment in a link that carries the rod alone [N.m]."""
    return _read(survey, bending_moments(survey, name).max(axis=-1))


def rod_forces(survey: Survey) -> Array:
    """Every compression of a rod [N]."""
    return _flat(survey.cases.rod, 2)


def buckling_factors(survey: Survey, tube: RodTube) -> Array:
    """Every buckling factor of a rod, at most `NOT_PRESSED` [-]."""
    return factors_of(buckling_load(tube, survey.side.points.rod_length), rod_forces(survey))


def factors_of(load: Array, pressed: Array) -> Array:
    """Buckling factors (*B, N) of rods that buckle under `load` (*B) [N], under compressions `pressed` (*B, N) [N]."""
    load = load[..., None]
    factor = np.where(pressed > load / NOT_PRESSED, load / np.where(pressed > 0.0, pressed, 1.0), NOT_PRESSED)
    return np.where(np.isnan(pressed), np.nan, factor)


def pivot_forces(survey: Survey) -> Array:
    """Every force of a rocker on its bearing [N], its size."""
    return _flat(survey.cases.pivot, 2)


def travels_left(survey: Survey) -> Array:
    """Every travel left to a wheel [mm]."""
    return _flat(survey.cases.reserve, 2)


def link_forces(survey: Survey, name: str) -> Array:
    """Every force of a link [N], tension positive, at both of its ends."""
    return _flat(survey.cases.tension[..., tuple(survey.axle.links).index(name), :], 3)


def bending_moments(survey: Survey, name: str) -> Array:
    """Every bending moment of a link [N.m], at least 0."""
    return _flat(survey.cases.bending[..., tuple(survey.axle.links).index(name)] / NEWTON_MM, 2)


def _flat(values: Array, axes: int) -> Array:
    """The last `axes` axes as one."""
    return values.reshape(*values.shape[:-axes], int(np.prod(values.shape[-axes:])))


def _read(survey: Survey, value: Array) -> Reading:
    """A reading over all cases: null where one of them has no answer, kept with a warning past the travel."""
    value, status = np.broadcast_arrays(value, survey.cases.overall)
    return Reading(np.where(_void(status), np.nan, value), status)


def _void(status: Codes) -> Flags:
    return np.asarray((status != FigureStatus.OK) & (status != FigureStatus.PAST_TRAVEL))
